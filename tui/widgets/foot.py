"""The line of keys at the foot: as many as fit, help always among them."""

from __future__ import annotations

from rich.cells import cell_len
from textual.app import ComposeResult
from textual.widgets import Footer
from textual.widgets._footer import FooterKey

_AROUND = 3
"""Cells beside key and word: one before, one between, one after."""


class Foot(Footer):
    """A footer that leaves out the last keys rather than cutting them in two.

    What is left out stays in force, and stands on the page of F1.
    """

    def compose(self) -> ComposeResult:
        """The keys that fit."""
        room = self.screen.size.width
        keys = [widget for widget in super().compose() if isinstance(widget, FooterKey)]
        taken = sum(_cells(key) for key in keys if key.key == "f1")
        full = False
        for key in keys:
            if key.key != "f1":
                full = full or taken + _cells(key) > room
                taken += 0 if full else _cells(key)
                if full:
                    continue
            yield key

    async def on_resize(self) -> None:
        """Another width has room for other keys."""
        await self.recompose()


def _cells(key: FooterKey) -> int:
    return cell_len(key.key_display) + cell_len(key.description) + _AROUND
