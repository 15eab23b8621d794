"""What the application tells its screens about the book."""

from __future__ import annotations

from textual.message import Message


class BookOpened(Message):
    """The book is open; a screen that waited for it may ask."""


class BookChanged(Message):
    """Something was written; what a screen shows may be out of date.

    Parameters
    ----------
    own
        Whether it was written here, and not by somebody else.
    """

    def __init__(self, own: bool = True) -> None:
        super().__init__()
        self.own = own
