"""Which pond a cell means: by its key, its code or its exact name, and never by guessing."""

from __future__ import annotations

from uuid import UUID

from store.book.book import Book
from store.book.ponds import PondCard, cards
from store.errors import BadInput, NotFound
from store.text import plain

_SHOWN = 4


class PondNames:
    """The ponds of a book by everything that names exactly one of them.

    Parameters
    ----------
    book
        The book; it is read once.
    """

    def __init__(self, book: Book) -> None:
        self._by_code: dict[str, list[PondCard]] = {}
        self._by_name: dict[str, list[PondCard]] = {}
        self._by_key: dict[str, PondCard] = {}
        for card in cards(book):
            self._by_key[str(card.pond.id)] = card
            if card.pond.code:
                self._by_code.setdefault(_folded(card.pond.code), []).append(card)
            client, name = card.client.name, card.pond.name
            for names in {
                _folded(name),
                _folded(f"{client}, {name}"),
                _folded(f"{client}, {card.site.name}, {name}"),
            }:
                self._by_name.setdefault(names, []).append(card)

    def one(self, text: str) -> UUID:
        """The key of the pond that is meant.

        Parameters
        ----------
        text
            A key, a code, the name, or client and name with a comma between. A code goes before a
            name.

        Returns
        -------
        UUID
            Key of the pond.

        Raises
        ------
        NotFound
            When no pond goes by that, or more than one; the sentence says how to tell them apart.
        BadInput
            When nothing is given.
        """
        wanted = _folded(text)
        if not wanted:
            raise BadInput("The row does not say which pond. Fill in the pond, or give --pond.")
        if (card := self._by_key.get(wanted)) is not None:
            return card.pond.id
        for found in (self._by_code.get(wanted, []), self._by_name.get(wanted, [])):
            if len(found) == 1:
                return found[0].pond.id
            if found:
                raise NotFound(
                    f"“{plain(text.strip()):.60}” is the name of {len(found)} ponds: "
                    f"{_told_apart(found)}. Write the code of the one that is meant."
                )
        raise NotFound(
            f"No pond goes by “{plain(text.strip()):.60}”. Write its code or its exact name."
        )


def _folded(text: str) -> str:
    return " ".join(plain(text).casefold().split())


def _told_apart(found: list[PondCard]) -> str:
    told = [
        f"{card.client.name}, {card.site.name}" + (f" ({card.pond.code})" if card.pond.code else "")
        for card in found[:_SHOWN]
    ]
    return "; ".join(told) + (" …" if len(found) > _SHOWN else "")
