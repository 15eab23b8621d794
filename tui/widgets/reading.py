"""A text that scrolls inside a sheet, while what stands above and below it stays in sight."""

from __future__ import annotations

from textual.containers import VerticalScroll
from textual.widget import Widget

_SHARE = 0.9
"""Part of the terminal's height that a sheet may take, as in the style sheet."""


class Reading(VerticalScroll, can_focus=False):
    """As high as its text, and never so high that its neighbours in the sheet are pushed out."""

    def on_mount(self) -> None:
        """Find the room once everything has its height."""
        self.call_after_refresh(self._fit)

    def on_resize(self) -> None:
        """Find the room again."""
        self._fit()

    def _fit(self) -> None:
        sheet = self.parent
        if not isinstance(sheet, Widget):
            return
        taken = sum(
            neighbour.outer_size.height + neighbour.styles.margin.height
            for neighbour in sheet.children
            if neighbour is not self and neighbour.display
        )
        whole = int(self.app.size.height * _SHARE)
        self.styles.max_height = max(1, whole - sheet.styles.gutter.height - taken)

    def read(self, by: int) -> None:
        """Move by most of what is in sight."""
        self.scroll_relative(y=by * max(1, self.size.height - 1), animate=False)
