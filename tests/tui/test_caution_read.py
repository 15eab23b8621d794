"""What is to be minded is read to its end before anything goes on."""

from __future__ import annotations

from typing import Any

import pytest
from paper import HARMFUL, HOSTILE
from screen_text import a_moment, screen_text
from textual.app import App
from textual.widgets import Button

from store.courses.planning.course import Caution
from tui.screens.courses.caution_read import ReadCautions, all_read
from tui.themes import LATER, LOOK, NIGHT, variable_defaults, wear

FEW = (Caution("zeolite", "mind", "Salt: take the zeolite out first."),)
MANY = tuple(
    Caution(f"n{number}", "mind", f"Thing {number} to mind. " + "It goes on. " * 12, "1 + 1 = 2")
    for number in range(1, 13)
)
STOP = Caution("peak", "stop", "Too much.")


class Reader(App[None]):
    """An application that asks whether everything was read."""

    CSS_PATH = [LOOK, *LATER]  # noqa: RUF012

    def __init__(self, cautions: tuple[Caution, ...]) -> None:
        super().__init__()
        wear(self, NIGHT)
        self.cautions, self.answer = cautions, "asked"  # type: ignore[var-annotated]

    def get_theme_variable_defaults(self) -> dict[str, str]:
        return variable_defaults(self.current_theme)

    def on_mount(self) -> None:
        self.run_worker(self._ask())

    async def _ask(self) -> None:
        self.answer: Any = await all_read(self, self.cautions)


async def waited(pilot: Any) -> None:
    for _ in range(50):
        await a_moment(0.02)
        if isinstance(pilot.app.screen, ReadCautions):
            await pilot.pause()
            return


async def test_what_is_in_sight_is_read_with_one_key() -> None:
    app = Reader((STOP, *FEW))
    async with app.run_test(size=(80, 24)) as pilot:
        await waited(pilot)
        assert "To mind, 1 thing" in screen_text(app)
        assert "All read" in screen_text(app)
        assert "Too much" not in screen_text(app)  # it asks for a reason by itself
        await pilot.press("enter")
        await pilot.pause()
        assert app.answer == {"zeolite": "read"}


@pytest.mark.parametrize(("width", "height"), [(80, 24), (60, 20)])
async def test_a_long_list_is_not_read_before_its_end_was_seen(width: int, height: int) -> None:
    app = Reader(MANY)
    async with app.run_test(size=(width, height)) as pilot:
        await waited(pilot)
        seen, presses = screen_text(app), 0
        assert "Read on" in seen
        while app.answer == "asked" and presses < 60:
            await pilot.press("enter")
            await pilot.pause(0.02)
            if isinstance(app.screen, ReadCautions):
                seen += screen_text(app)
            presses += 1
        assert presses > 3
        assert all(f"Thing {number} to mind" in seen for number in range(1, 13))
        assert app.answer == {one.code: "read" for one in MANY}


@pytest.mark.parametrize("keys", [("escape",), ("left", "enter")])
async def test_going_back_means_not_read(keys: tuple[str, ...]) -> None:
    app = Reader(FEW)
    async with app.run_test(size=(80, 24)) as pilot:
        await waited(pilot)
        await pilot.press(*keys)
        await pilot.pause()
        assert app.answer is None


async def test_the_button_does_as_the_key() -> None:
    app = Reader(MANY)
    async with app.run_test(size=(80, 24)) as pilot:
        await waited(pilot)
        button = app.screen.query_one("#on", Button)
        for _ in range(60):
            if app.answer != "asked":
                break
            button.press()
            await a_moment(0.02)
        assert set(app.answer) == {one.code for one in MANY}


async def test_without_anything_to_mind_nobody_is_asked() -> None:
    app = Reader((STOP,))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause(0.1)
        assert app.answer == {}


async def test_hostile_words_do_no_harm() -> None:
    app = Reader((Caution("x", "mind", "".join(HOSTILE)),))
    async with app.run_test(size=(60, 20)) as pilot:
        await waited(pilot)
        assert not HARMFUL & set(screen_text(app).replace("\n", ""))
