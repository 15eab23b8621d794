"""Which end of a drive a cell means: a site, a person's start, the practice; never by guessing."""

from __future__ import annotations

from sqlalchemy import select

from store.book.book import Book
from store.book.people import staff
from store.book.practice import practice
from store.book.tables import table
from store.errors import BadInput, NotFound
from store.text import plain
from store.travel.ways import PRACTICE, End

_SHOWN = 4


class PlaceNames:
    """The ends of drives by everything that names exactly one of them.

    A site goes by its key, by the code of a pond that lies there, by its name, by its client where
    the client has but one site, and by client and name with a comma between. A person goes by name
    or initials, the practice by its name or as `practice`.

    Parameters
    ----------
    book
        The book; it is read once.
    """

    def __init__(self, book: Book) -> None:
        self._first: dict[str, dict[End, str]] = {}
        self._then: dict[str, dict[End, str]] = {}
        sites, clients, ponds = table("site").c, table("client").c, table("pond").c
        standing = (sites.struck_at.is_(None), clients.struck_at.is_(None))
        every = (
            select(sites.id, sites.name, clients.name.label("client"))
            .join_from(table("site"), table("client"), clients.id == sites.client_id)
            .where(*standing)
        )
        coded = (
            select(ponds.code, ponds.site_id)
            .join_from(table("pond"), table("site"), sites.id == ponds.site_id)
            .join(table("client"), clients.id == sites.client_id)
            .where(*standing, ponds.struck_at.is_(None), ponds.code != "")
        )
        with book.reading() as connection:
            rows = connection.execute(every).all()
            codes = connection.execute(coded).all()
        told = {row.id: f"{row.client}, {row.name}" for row in rows}
        for row in rows:
            end = End("site", row.id)
            self._add(self._first, str(row.id), end, told[row.id])
            self._add(self._then, row.name, end, told[row.id])
            self._add(self._then, told[row.id], end, told[row.id])
            self._add(self._then, row.client, end, told[row.id])
        for code, site_id in codes:
            self._add(self._first, code, End("site", site_id), told[site_id])
        for person in staff(book):
            end, said = End("vet", person.id), f"{person.name}'s start"
            self._add(self._then, person.name, end, said)
            self._add(self._then, person.initials, end, said)
        holder = practice(book)
        for name in ("practice", "the practice", "" if holder is None else holder.name):
            self._add(self._then, name, PRACTICE, "the practice")

    def _add(self, names: dict[str, dict[End, str]], name: str, end: End, said: str) -> None:
        if folded := _folded(name):
            names.setdefault(folded, {})[end] = said

    def one(self, text: str) -> End:
        """The end that is meant.

        Parameters
        ----------
        text
            A key, a code, a name; a code goes before a name.

        Returns
        -------
        End
            For `store.travel.ways`.

        Raises
        ------
        NotFound
            When nothing goes by that, or more than one; the sentence says how to tell them apart.
        BadInput
            When nothing is given.
        """
        wanted = _folded(text)
        if not wanted:
            raise BadInput("The row does not say from where to where. Fill in both places.")
        shown = f"“{plain(text.strip()):.60}”"
        for names in (self._first, self._then):
            found = names.get(wanted, {})
            if len(found) == 1:
                return next(iter(found))
            if found:
                few = "; ".join(list(found.values())[:_SHOWN])
                more = " …" if len(found) > _SHOWN else ""
                raise NotFound(
                    f"{shown} may be {len(found)} places: {few}{more}. Write client and site with "
                    "a comma between, or the code of a pond that lies there."
                )
        raise NotFound(
            f"No place goes by {shown}. Write client and site with a comma between, the code of a "
            "pond that lies there, the name of a person, or “practice”."
        )


def _folded(text: str) -> str:
    return " ".join(plain(text).casefold().split())
