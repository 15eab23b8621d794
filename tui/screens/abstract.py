"""Screens that leave something to the screens made of them."""

from __future__ import annotations

from abc import ABCMeta

from textual.message_pump import _MessagePumpMeta


class AbstractScreen(_MessagePumpMeta, ABCMeta):
    """Metaclass of a screen with abstract methods: one that lacks them cannot be made."""
