"""How the sheet of a call begins: its questions as fields, and whom the book knows."""

from __future__ import annotations

from typing import TYPE_CHECKING
from uuid import UUID

from tui.widgets.fields import Field
from tui.widgets.literal import one_line

if TYPE_CHECKING:
    from store.book.book import Book

_WIDTH = 30
_SEEN_LINES = 3


def call_fields() -> tuple[Field, ...]:
    """The questions as fields, each with its letter before it."""
    from store.facts.call_questions import questions

    return tuple(
        Field(
            one.code, f"{one.letter} {one.label}", one.hint, width=_WIDTH,
            lines=_SEEN_LINES if one.reads == "signs" else 1,
        )
        for one in questions().values()
    )  # fmt: skip


def given(
    book: Book, client_id: UUID | None, pond_id: UUID | None
) -> tuple[dict[str, str], dict[str, str]]:
    """Whom it is about as the sheet keeps it, and what the book knows for its fields."""
    from store.book.clients import client
    from store.book.ponds import card

    if pond_id is not None:
        here = card(book, pond_id)
        keys = {"client_id": here.client.id, "site_id": here.site.id, "pond_id": pond_id}
        owner, name = here.client, f"{here.client.name}, {here.pond.name}"
    else:
        assert client_id is not None
        owner = client(book, client_id)
        keys, name = {"client_id": client_id}, owner.name
    whom = {field: str(key) for field, key in keys.items()} | {"name": one_line(name)}
    return whom, {"caller": owner.name, "phone": owner.phone}
