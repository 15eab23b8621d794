"""What was agreed for a visit about money and consent, to be written down."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any
from uuid import UUID

from tui.screens.parts.edit import FormScreen
from tui.widgets.fields import Field

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.diary.kept.visits.terms import Terms

_CELLS = 28
_CONSENTS = (
    ("not asked", "not asked for"),
    ("to be signed", "to be signed there"),
    ("signed", "signed"),
)
"""How far the consent form is, by what the book keeps, in words."""


class TermsScreen(FormScreen):
    """Prices and the consent form of one visit.

    Parameters
    ----------
    visit
        Key of the visit.
    where
        How it is called.
    terms
        What is in force; None where nothing was written down.
    """

    QUESTION = "What was agreed about prices and consent?"
    ABOUT = (
        "Prices in the words in which they were agreed, and how far the consent form is: both "
        "stand on the sheet that goes along. What was agreed before stays readable with its day."
    )

    def __init__(self, visit: UUID, where: str, terms: Terms | None) -> None:
        fields = (
            Field("prices", "prices", "in words, as agreed", "" if terms is None else terms.prices,
                  lines=3),
            Field("consent", "consent form", "", _CONSENTS[0][0] if terms is None
                  else terms.consent, choices=_CONSENTS, width=_CELLS),
        )  # fmt: skip
        super().__init__(f"Agreed for the visit: {where}", fields, f"terms-{visit}")
        self._visit = visit

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """Keep what was agreed."""
        app = self.ponds_app
        return await app.ask_store(_set_terms, app.book, act, self._visit, texts)


def _set_terms(book: Book, act: Act, visit: UUID, texts: Mapping[str, str]) -> UUID:
    from store.diary.kept.visits.terms import set_terms

    with book.writing(act) as writing:
        set_terms(writing, visit, texts["prices"], texts["consent"])
    return visit


def said_consent(consent: str) -> str:
    """How far the consent form is, in words."""
    return f"consent form {dict(_CONSENTS).get(consent, consent)}"
