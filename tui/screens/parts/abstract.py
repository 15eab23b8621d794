"""What screens with a form have in common: drafts, a narrow window, what they leave open."""

from __future__ import annotations

from abc import ABCMeta

from textual.message_pump import _MessagePumpMeta

from tui.drafts import Drafts, drafts_path

NARROW = [(0, "-narrow"), (70, "-wide")]
"""Breakpoints in cells; `narrow.tcss` says what becomes of a form in a narrow window."""


def drafts_of(app: object) -> Drafts:
    """Where the application keeps what is typed; an application without a place gets the usual."""
    kept = getattr(app, "drafts", None)
    return kept if isinstance(kept, Drafts) else Drafts(drafts_path())


class AbstractScreen(_MessagePumpMeta, ABCMeta):
    """Metaclass of a screen with abstract methods: one that lacks them cannot be made."""
