"""What the pages of one thing share: they are read anew when the book has grown, or one is back."""

from __future__ import annotations

from abc import abstractmethod
from typing import Any

from textual.screen import Screen

from tui.screens.parts.abstract import AbstractScreen


class PageScreen(Screen[None], metaclass=AbstractScreen):
    """A page that is read behind the first paint, and read anew while it is open."""

    @property
    @abstractmethod
    def was_read(self) -> bool:
        """Whether there is something to show already."""

    @abstractmethod
    def _read(self) -> Any:
        """Ask the store and show what it says; a worker."""

    @abstractmethod
    def _show_head(self) -> None:
        """Show the lines that are cut to the width there is."""

    def on_screen_resume(self) -> None:
        """Something may have been entered meanwhile."""
        if self.was_read:
            self._read()

    def on_book_changed(self) -> None:
        """The book has grown."""
        self._read()

    def on_resize(self) -> None:
        """Lines are cut to the width there is."""
        if self.was_read:
            self.call_after_refresh(self._show_head)
