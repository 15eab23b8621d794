"""Texts that change: always shown as if they had stood there from the beginning."""

from __future__ import annotations

import itertools

import pytest
from paper import Paper
from screen_text import screen_text
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static as LibraryStatic

from tui.widgets.entry import TextLine
from tui.widgets.static import Static

TEXTS = ("", "koi", "two\nlines", "a line that is broken where the window ends")
STYLES = ("", "width: auto;", "width: 12;", "height: 2;", "max-height: 2;", "padding: 1 2;")


def _dressed(kind: type[LibraryStatic], style: str, text: str, *, wide: str) -> Widget:
    one = kind(text, markup=False)
    one.set_styles(style)
    beside = Horizontal(one, LibraryStatic("beside", markup=False))
    beside.set_styles("height: auto;")
    around = Vertical(beside, LibraryStatic("under it", markup=False))
    around.set_styles(f"height: auto; width: {wide};")
    return around


async def _pictures(kind: type[LibraryStatic], wide: str) -> list[str]:
    shown = []
    app = Paper(*(_dressed(kind, style, "", wide=wide) for style in STYLES))
    async with app.run_test(size=(40, 60)) as pilot:
        tried = [one for one in app.query(kind) if str(one.content) not in ("beside", "under it")]
        for text in itertools.chain.from_iterable(itertools.permutations(TEXTS, 2)):
            for one in tried:
                one.update(Content(text))
            await pilot.pause(0)
            await pilot.pause(0)
            shown.append(screen_text(app))
    return shown


@pytest.mark.parametrize("wide", ["100%", "auto"])
async def test_every_text_after_any_other_looks_as_the_library_shows_it(wide: str) -> None:
    ours = await _pictures(Static, wide)
    assert len(set(ours)) == len(TEXTS)
    assert ours == await _pictures(LibraryStatic, wide)


async def test_only_what_needs_other_room_is_laid_out() -> None:
    said = Static("", markup=False)
    line = TextLine("")
    app = Paper(said, line)
    laid_out: list[bool] = []
    async with app.run_test(size=(40, 10)) as pilot:
        app.screen.screen_layout_refresh_signal.subscribe(
            app.screen, lambda _: laid_out.append(True), immediate=True
        )
        for text, needs in (
            (Content("koi"), False), (Content("carp"), False), (Content("carp"), False),
            (Content.styled("carp", "bold"), False), (Content("two\nlines"), True),
            (Content("one"), True), ("", False),
        ):  # fmt: skip
            await pilot.pause()
            laid_out.clear()
            said.update(text)
            await pilot.pause()
            assert bool(laid_out) == needs, text
            assert str(text) in screen_text(app)
        line.focus()
        await pilot.pause()
        laid_out.clear()
        await pilot.press(*"a pond is longer than the line it is typed in")
        assert not laid_out
        assert "is longer than the line it is typed in" in screen_text(app)
