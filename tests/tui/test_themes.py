"""Our themes can be read: contrast by the WCAG 2.1 definition of relative luminance."""

from __future__ import annotations

import pytest
from paper import Paper
from textual.color import Color
from textual.theme import BUILTIN_THEMES, Theme
from textual.widgets import Static

from tui.themes import NIGHT, TEXT_COLOURS, THEMES, variable_defaults, wear
from tui.widgets.columns import Column
from tui.widgets.grid import LineGrid, Row

READABLE = 4.5


def luminance(colour: Color) -> float:
    parts = [
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
        for part in (value / 255 for value in colour.rgb)
    ]
    return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]


def contrast(ink: str, ground: str) -> float:
    lighter, darker = sorted(
        (luminance(Color.parse(ink)), luminance(Color.parse(ground))), reverse=True
    )
    return (lighter + 0.05) / (darker + 0.05)


def test_the_measure_is_right_at_its_ends() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
def test_every_text_can_be_read_on_every_ground_it_stands_on(theme: Theme) -> None:
    values = theme.variables
    grounds = {
        "background": theme.background, "surface": theme.surface, "field": values["field"],
    }  # fmt: skip
    inks = {name: values[name] for name in TEXT_COLOURS} | {
        "foreground": theme.foreground, "primary": theme.primary, "accent": theme.accent,
    }  # fmt: skip
    poor = [
        f"{ink} on {ground}: {contrast(inks[ink] or '', grounds[ground] or ''):.2f}"
        for ink in inks
        for ground in grounds
        if contrast(inks[ink] or "", grounds[ground] or "") < READABLE
    ]
    assert not poor
    for part in ("block-cursor", "block-cursor-blurred", "input-selection", "screen-selection"):
        assert contrast(values[f"{part}-foreground"], values[f"{part}-background"]) >= READABLE


@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
def test_what_our_themes_name_is_what_every_theme_gets(theme: Theme) -> None:
    assert set(variable_defaults(theme)) <= set(theme.variables)


@pytest.mark.parametrize("name", [*(theme.name for theme in THEMES), *BUILTIN_THEMES])
async def test_every_theme_can_be_worn(name: str) -> None:
    grid = LineGrid([Column("pond", "Pond", 10)])
    async with Paper(grid, theme=name).run_test(size=(80, 24)) as pilot:
        grid.show([Row(1, ("Mill Lane",), "act")])
        await pilot.pause()
        assert pilot.app.theme == name


async def test_without_colour_a_theme_of_the_terminal_is_not_worn(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with Paper(Static("x"), theme="ansi-dark").run_test() as pilot:
        assert pilot.app.theme == NIGHT


async def test_an_unknown_theme_gives_ours() -> None:
    async with Paper(Static("x")).run_test() as pilot:
        assert wear(pilot.app, "no such theme") == NIGHT
