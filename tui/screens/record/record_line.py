"""One line of the record of changes with everything that it says."""

from __future__ import annotations

from datetime import date, tzinfo
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen

from tui.screens.parts.help import HELP, open_help
from tui.screens.record.record_lines import content_of, told_parts
from tui.screens.record.record_open import open_page
from tui.widgets.foot import Foot
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.record.told import Told


class RecordLineScreen(Screen[None]):
    """One line in full.

    Parameters
    ----------
    line
        From `store.record.told`.
    zone, today
        Of the practice.
    """

    CSS_PATH = "../sheets/record.tcss"
    QUESTION = "What exactly was done here, by whom and why?"
    ABOUT = (
        "One line of the record: what was entered, or each field before and after it was changed, "
        "with its unit; the reason; for a water test its readings as they were typed. Nothing here "
        "can be changed: the book only adds to it."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape,e", "back", "back", key_display="esc", id="told.back",
                tooltip="Back to the record"),
        Binding("enter", "open", "open", id="told.open",
                tooltip="Open the page of what this line is about"),
    ]  # fmt: skip

    def __init__(self, line: Told, zone: tzinfo, today: date) -> None:
        super().__init__()
        self._line, self._zone, self._today = line, zone, today

    def compose(self) -> ComposeResult:
        """Head, the text, keys."""
        yield Top(f"{self._line.kind.capitalize()}, {self._line.did}")
        yield Line()
        with VerticalScroll(id="record-page"):
            yield Static("", id="record-page-text", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """The text has the keys."""
        self.query_one("#record-page").focus()
        self._show()

    def on_resize(self) -> None:
        """Lines are broken for the width there is."""
        self._show()

    def _show(self) -> None:
        width = self.size.width - 3
        parts = list(told_parts(self._line, width, self._zone, self._today, whole=True))
        self.query_one("#record-page-text", Static).update(content_of(parts))

    def action_open(self) -> None:
        """Open the page of what it is about."""
        open_page(self, self._line)

    def action_back(self) -> None:
        """Back to the record."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)
