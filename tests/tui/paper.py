"""The smallest application that wears our look, to put one widget into, and texts to fear."""

from __future__ import annotations

from collections.abc import Callable

from textual.app import App, ComposeResult
from textual.widget import Widget

from tui.themes import LATER, LOOK, NIGHT, variable_defaults, wear

HOSTILE = (
    "[/nope]",
    "[@click=app.quit]x[/]",
    "[red]x[/red]",
    "\x1b]0;owned\x07\x1b[2J",
    "\x9b2Jx",
    "\u202elive\u202c\u200b",
    "x" * 500,
    "🐟🐠 koi 鯉 👩‍🔬 pond",
    "e\u0301" + "\u0301" * 60,
    "line one\nline two\r\n\tthree",
    "\\[b]x[/b]\\",
    "$quiet [$error]",
    "",
)
"""Names that people and files have been known to bring."""

HOSTILE_PAGES = (
    "[/nope]\x1b]0;owned\x07\u202elive\u200b[red]x[/red]",
    "one\ntwo\r\n\t\x9b2J[@click=app.quit]x[/]",
    "e\u0301" + "\u0301" * 60 + "🐟 鯉 👩‍🔬 \\[b]x\\ $quiet [$error]",
    "x" * 500,
)
"""The same, put together for pages: what every widget bears one by one, each page bears at once."""

HARMFUL = frozenset(
    chr(code) for code in (*range(32), 127, *range(0x80, 0xA0), 0x202E, 0x202C, 0x200B)
)
"""Characters of `HOSTILE` that must never reach the terminal."""


class Paper(App[None]):
    """Shows the widgets it was given."""

    CSS_PATH = [LOOK, *LATER]  # noqa: RUF012
    ENABLE_COMMAND_PALETTE = False

    def __init__(
        self, *widgets: Widget, theme: str = NIGHT, prepare: Callable[[], None] | None = None
    ) -> None:
        super().__init__()
        wear(self, theme)
        self._given = widgets
        self._prepare = prepare

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """Our variables for any theme."""
        return variable_defaults(self.current_theme)

    def compose(self) -> ComposeResult:
        """The widgets, one under the other."""
        yield from self._given

    def on_mount(self) -> None:
        """Fill the widgets before the first look at them."""
        if self._prepare is not None:
            self._prepare()
