"""The site that a name means, for a calendar of it."""

from __future__ import annotations

from uuid import UUID

from store.book.book import Book
from store.book.clients import clients, sites
from store.errors import BadInput, NotFound
from store.text import plain

_SHOWN = 6


def site_named(book: Book, name: str) -> UUID:
    """The one site of a client's name, its own, or both with a comma between.

    Parameters
    ----------
    book
        The practice's book.
    name
        As typed; capitals do not matter.

    Raises
    ------
    NotFound
        None is called so, or more than one.
    BadInput
        Nothing was typed.
    """
    wanted = _folded(name)
    if not wanted:
        raise BadInput("Please name the site.", field="site")
    owners = {one.id: one.name for one in clients(book)}
    found = [
        (one.id, f"{owners[one.client_id]}, {one.name}")
        for one in sites(book)
        if one.client_id in owners
        and wanted
        in (
            _folded(one.name),
            _folded(owners[one.client_id]),
            _folded(f"{owners[one.client_id]}, {one.name}"),
        )
    ]
    if len(found) == 1:
        return found[0][0]
    shown = plain(name.strip())[:60]
    if not found:
        raise NotFound(
            f"No site goes by “{shown}”. Write its name, that of the client, or both with a comma "
            "between; “pondround find” finds them."
        )
    named = "; ".join(said for _key, said in found[:_SHOWN])
    more = " …" if len(found) > _SHOWN else ""
    raise NotFound(f"“{shown}” is the name of {len(found)} sites: {named}{more}. Write both names.")


def _folded(text: str) -> str:
    return " ".join(plain(text).casefold().split())
