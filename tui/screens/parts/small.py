"""The sentence for a terminal that is too small."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.content import Content
from textual.screen import ModalScreen

from tui.widgets.static import Static


class TooSmall(ModalScreen[None]):
    """Says which size is needed; goes away by itself when there is room again."""

    QUESTION = "How much room does Pondround need?"
    DEFAULT_CSS = """
    TooSmall {
        align: center middle;
    }
    TooSmall > Static {
        width: 1fr;
        height: auto;
        text-align: center;
    }
    """

    def __init__(self, columns: int, rows: int) -> None:
        super().__init__()
        self._sentence = (
            f"Pondround needs {columns}×{rows}. Nothing is lost; make the window larger."
        )

    def compose(self) -> ComposeResult:
        """The sentence alone."""
        yield Static(Content(self._sentence))
