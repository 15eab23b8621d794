"""What screens with a form have in common: what they leave open, and how narrow they may be."""

from __future__ import annotations

from abc import ABCMeta

from textual.message_pump import _MessagePumpMeta

NARROW = [(0, "-narrow"), (70, "-wide")]
"""Breakpoints in cells; `narrow.tcss` says what becomes of a form in a narrow window."""


class AbstractScreen(_MessagePumpMeta, ABCMeta):
    """Metaclass of a screen with abstract methods: one that lacks them cannot be made."""
