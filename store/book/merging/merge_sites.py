"""Two sites of one client that are one place: all that points to the one moves to the other.

One action, as for clients: every row that moves gets its line in the log, what the kept site lacked
is filled in, and the emptied one is struck through with its record whole.
"""

from __future__ import annotations

from collections import Counter
from typing import Any
from uuid import UUID

from sqlalchemy import and_, select

from store.book.act import Act
from store.book.book import Book
from store.book.clients import Site
from store.book.merging.repointing import (
    Merged,
    asked_for,
    both_standing,
    keep_filled,
    notes_of_both,
    repoint,
)
from store.book.tables import TableName, table
from store.book.writing import Writing
from store.errors import BadInput
from store.text import day_said

POINTING: tuple[tuple[TableName, str], ...] = (
    ("pond", "site_id"),
    ("visit", "site_id"),
    ("call_note", "site_id"),
    ("follow_up", "site_id"),
    ("drive_time", "from_site_id"),
    ("drive_time", "to_site_id"),
)
"""Every column that points at a site. A test finds them by the tables' own keys."""

_GROUPS = (("address", "town", "postcode"), ("latitude", "longitude", "elevation_m"))
"""Fields that belong together: filled in all at once, or not."""
_ALONE = ("access_hours", "water_supply")
_LABELS = {"access_hours": "access", "water_supply": "water"}


def merge_sites(
    book: Book,
    act: Act,
    kept: UUID,
    emptied: UUID,
    why: str,
    *,
    kept_rev: int | None = None,
    emptied_rev: int | None = None,
) -> Merged:
    """Move everything of one site to another of the same client, and strike the emptied one.

    What the kept site lacks is taken over; what differs is written into its access notes.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who says that the two are one, and when.
    kept, emptied
        Keys of the two sites.
    why
        By what the person knows; never empty.
    kept_rev, emptied_rev
        The revisions that the person saw; left out, the present ones are taken.

    Returns
    -------
    Merged
        What moved, and what is to be looked at.

    Raises
    ------
    BadInput
        No reason, one site given twice, or sites of two clients.
    NotAllowed
        One of the two is struck through.
    NotFound, ChangedMeanwhile
        As for `Writing.change`.
    """
    reason = asked_for(kept, emptied, why, "site")
    with book.writing(act) as writing:
        both = both_standing(writing, Site, "site", {kept: kept_rev, emptied: emptied_rev})
        into, out = both[kept], both[emptied]
        if into.client_id != out.client_id:
            raise BadInput(
                f"{into.name} and {out.name} belong to two clients; nothing was changed. If the "
                "clients are one, merge them first."
            )
        said = f"the same site as {out.name:.200}: {reason}"[:2000]
        moved: Counter[TableName] = Counter()
        for name, column in POINTING:
            moved[name] += repoint(writing, name, column, emptied, kept, said)
        told = [*_ways(writing, kept, said), *_ponds(writing, kept), *_visits(writing, kept)]
        if (
            into.access_hours
            and out.access_hours
            and not _alike({"access_hours": into.access_hours}, {"access_hours": out.access_hours})
        ):
            told.append(
                f"One gets in there {_hours(into)}, as before; of the other it was said: "
                f"{_hours(out)}."
            )
        filled = _filled(into, out)
        keep_filled(writing, "site", kept, into.rev, filled, said)
        gone = f"the same site as {into.name:.200}: {reason}"[:2000]
        writing.strike("site", emptied, gone, out.rev)
        return Merged(kept, emptied, +moved, tuple(filled), tuple(told))


def _ways(writing: Writing, kept: UUID, why: str) -> list[str]:
    """The way from the one to the other leads nowhere now."""
    ways = table("drive_time").c
    query = select(ways.id, ways.rev).where(
        and_(ways.from_site_id == kept, ways.to_site_id == kept, ways.struck_at.is_(None))
    )
    found = writing.connection.execute(query).all()
    for key, rev in found:
        writing.strike("drive_time", key, f"both ends are one place: {why}"[:2000], rev)
    if not found:
        return []
    return [f"{len(found)} drive time{'s' * (len(found) > 1)} between the two struck through."]


def _ponds(writing: Writing, kept: UUID) -> list[str]:
    """Ponds of one name that the site has twice by now."""
    ponds = table("pond").c
    query = select(ponds.name).where(ponds.site_id == kept, ponds.struck_at.is_(None))
    names = Counter(writing.connection.execute(query.order_by(ponds.id)).scalars())
    return [
        f"{many} ponds of the site are called {name:.60} now; if they are one, merge them."
        for name, many in names.items()
        if many > 1
    ]


def _visits(writing: Writing, kept: UUID) -> list[str]:
    """Days on which somebody drives there twice by now."""
    visits = table("visit").c
    query = select(visits.on_day).where(
        visits.site_id == kept,
        visits.state == "planned",
        visits.struck_at.is_(None),
        visits.on_day >= writing.book.today(writing.act.at),
    )
    days = Counter(writing.connection.execute(query.order_by(visits.on_day)).scalars())
    return [
        f"{many} visits are planned there on {day_said(day)} now; one may be enough."
        for day, many in days.items()
        if many > 1
    ]


def _hours(site: Site) -> str:
    return "; ".join(site.access_hours.split("\n"))


def _filled(into: Site, out: Site) -> dict[str, Any]:
    """What the kept site gets of the other; what differs, for its notes."""
    filled: dict[str, Any] = {}
    also: list[str] = []
    for group in (*_GROUPS, *((one,) for one in _ALONE)):
        theirs = {name: getattr(out, name) for name in group}
        mine = {name: getattr(into, name) for name in group}
        if _blank(theirs) or _alike(mine, theirs):
            continue
        if _blank(mine):
            filled.update(theirs)
        else:
            also.append(f"{_LABELS.get(group[0], group[0])} {_said(theirs)}")
    if also or into.name.casefold() != out.name.casefold():
        also.insert(0, f"Also entered as {out.name}")
    if notes := notes_of_both(into.access_notes, out.access_notes, also):
        filled["access_notes"] = notes
    return filled


def _blank(values: dict[str, Any]) -> bool:
    return all(value in (None, "") for value in values.values())


def _alike(mine: dict[str, Any], theirs: dict[str, Any]) -> bool:
    return all(
        value in (None, "") or str(value).casefold().split() == str(mine[name]).casefold().split()
        for name, value in theirs.items()
    )


def _said(values: dict[str, Any]) -> str:
    parts = (", ".join(str(one).split("\n")) for one in values.values() if one not in (None, ""))
    return ", ".join(parts)
