"""The line of keys: what fits, and what a click does."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from paper import Paper
from textual.app import App
from textual.binding import Binding

from tui.widgets.foot import Foot, FootKey, fitting

KEYS = tuple(
    FootKey(key, shown, word)
    for key, shown, word in (
        ("enter", "⏎", "open"), ("e", "e", "explain"), ("slash", "/", "find"), ("f1", "F1", "help"),
    )
)  # fmt: skip


def test_help_stays_when_the_line_is_short() -> None:
    assert [key.key for key in fitting(KEYS, 80)] == ["enter", "e", "slash", "f1"]
    assert [key.key for key in fitting(KEYS, 20)] == ["enter", "f1"]
    # A short key after one that did not fit would stand out of its order.
    assert [key.key for key in fitting(KEYS, 26)] == ["enter", "f1"]


@given(st.integers(9, 200))
def test_never_wider_than_the_line(width: int) -> None:
    shown = fitting(KEYS, width)
    assert sum(key.cells for key in shown) <= width
    assert shown[-1].key == "f1"


class Pressed(Paper):
    """Counts what its keys do."""

    BINDINGS = [  # noqa: RUF012
        Binding("x", "count(1)", "one", tooltip="One"),
        Binding("y", "count(10)", "ten", tooltip="Ten"),
        Binding("z", "count(100)", "hidden", show=False, tooltip="Hidden"),
    ]
    counted = 0

    def action_count(self, by: int) -> None:
        self.counted += by


async def test_a_click_presses_the_key_under_it() -> None:
    app = Pressed(Foot())
    async with app.run_test(size=(40, 10), notifications=True) as pilot:
        await pilot.pause()
        assert isinstance(app, App)
        text = app.query_one(Foot).render().plain
        assert text == " x one  y ten "
        await pilot.click(Foot, offset=(text.index("ten"), 0))
        await pilot.click(Foot, offset=(30, 0))
        assert app.counted == 10
        await pilot.press("z")
        assert app.counted == 110
