"""The line of keys at the foot: as many as fit, help always among them."""

from __future__ import annotations

from dataclasses import dataclass

from rich.cells import cell_len
from textual.content import Content
from textual.events import Click
from textual.screen import Screen
from textual.widget import Widget

from tui.widgets.literal import one_line

_HELP = "f1"
_OUR_WORDS = {"Dismiss menu": "close the list"}
"""Keys of a list that opens in a form have words of their own library."""


@dataclass(frozen=True, slots=True)
class FootKey:
    """A key of the foot, how it is shown, and what it does in a word."""

    key: str
    shown: str
    word: str

    @property
    def cells(self) -> int:
        """Cells it takes: one before, one between, one after."""
        return cell_len(self.shown) + cell_len(self.word) + 3


class Foot(Widget, can_focus=False):
    """One line of keys, drawn as a whole; the last are left out rather than cut in two.

    What is left out stays in force, and stands on the page of F1. A click on a key presses it.
    """

    def __init__(self) -> None:
        super().__init__()
        self._keys: tuple[FootKey, ...] = ()

    def on_mount(self) -> None:
        """Follow what has the keys."""
        self.screen.bindings_updated_signal.subscribe(self, self._follow)
        self._follow(self.screen)

    def _follow(self, screen: Screen[object]) -> None:
        if screen is not self.screen or not self.app.app_focus:
            return
        keys: dict[str, FootKey] = {}
        for active in screen.active_bindings.values():
            binding = active.binding
            if binding.show and active.enabled:
                shown = one_line(self.app.get_key_display(binding))
                one = FootKey(
                    binding.key,
                    shown,
                    _OUR_WORDS.get(binding.description) or one_line(binding.description),
                )
                keys.setdefault(binding.action, one)
        if self._keys != (now := tuple(keys.values())):
            self._keys = now
            self.refresh()

    def render(self) -> Content:
        """The keys that fit."""
        return Content("").join(
            Content.assemble(
                (f" {key.shown} ", "bold $footer-key-foreground"),
                (f"{key.word} ", "$footer-description-foreground"),
            )
            for key in fitting(self._keys, self.size.width)
        )

    def on_click(self, click: Click) -> None:
        """Press the key under the pointer."""
        left = 0
        for key in fitting(self._keys, self.size.width):
            if left <= click.x < left + key.cells:
                self.app.simulate_key(key.key)
            left += key.cells


def fitting(keys: tuple[FootKey, ...], width: int) -> tuple[FootKey, ...]:
    """The keys in their order until the line is full; room for the help is kept."""
    room = width - sum(key.cells for key in keys if key.key == _HELP)
    shown: list[FootKey] = []
    full = False
    for key in keys:
        if key.key != _HELP:
            full = full or key.cells > room
            if full:
                continue
            room -= key.cells
        shown.append(key)
    return tuple(shown)
