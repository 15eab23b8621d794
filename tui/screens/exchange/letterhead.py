"""What stands at the head of the practice's papers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from uuid import UUID

from tui.screens.parts.edit import FormScreen
from tui.widgets.fields import Field

if TYPE_CHECKING:
    from store.book.book import Book
    from store.reports.kept.head import Head

_CELLS = 40


class LetterheadScreen(FormScreen):
    """Name, number to ring, address: what every paper begins with.

    Parameters
    ----------
    head
        What stands there now, or the name of the practice where nothing was set yet.
    """

    QUESTION = "What stands at the head of the practice's papers?"
    ABOUT = (
        "Every paper for an owner or a colleague begins with it. The number is the one to ring "
        "when fish gasp. F2 saves; what stood there before is kept in the book, and the newest is "
        "in force."
    )

    def __init__(self, head: Head) -> None:
        super().__init__(
            "Letterhead",
            (
                Field("practice", "practice", "its name", head.practice, width=_CELLS),
                Field("telephone", "telephone", "to ring, day and night", head.telephone),
                Field("address", "address", "", head.address, lines=3),
                Field("email", "e-mail", "may stay empty", head.email, width=_CELLS),
                Field("foot", "at the end", "a registration", head.foot, lines=2),
            ),
            "practice-letterhead",
        )

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """Set it from now on."""
        app = self.ponds_app
        return await app.ask_store(_kept, app.book, act, texts)


def _kept(book: Book, act: Any, texts: dict[str, str]) -> UUID:
    from store.book.letterhead import set_practice_head

    with book.writing(act) as writing:
        return set_practice_head(
            writing,
            practice=texts["practice"],
            telephone=texts["telephone"],
            address=texts["address"],
            email=texts["email"],
            foot=texts["foot"],
        )
