"""The practice's own drive times: set by hand or out of a file, the newest of each way in force.

Nothing is overwritten: a new time is a new row, and the older ones stay readable.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from sqlalchemy import select

from store.book.book import Book
from store.book.tables import table
from store.book.writing import Writing
from store.errors import BadInput, NotFound
from store.text import day_said, plain
from store.travel.ways import Driven, DriveTable, End

TABLE = "the practice's table"
"""What stands as the source of a time that came out of a file."""
_BY_HAND = "stated by hand"


@dataclass(frozen=True, slots=True)
class DriveTime:
    """One way that the practice has stated: minutes [min], distance where it was said [km].

    `source` is in words, `by` and `on_day` tell who entered it and when, `file` the name of the
    file it came from, empty where it was set by hand.
    """

    id: UUID
    rev: int
    start: End
    goal: End
    minutes: float
    km: float | None
    source: str
    by: str
    on_day: date
    file: str

    @property
    def said(self) -> str:
        """Where it stands, such as `the practice's table of 3 May 2026`."""
        day = day_said(self.on_day)
        if self.file:
            head, _colon, note = self.source.partition(": ")
            return f"{head} of {day}" + (f": {note}" if note else "")
        return f"entered by {self.by} on {day}: {self.source}"


def drive_times(book: Book) -> tuple[DriveTime, ...]:
    """The drives that are in force, newest first: of each way and direction the newest.

    Parameters
    ----------
    book
        The practice's book.

    Returns
    -------
    tuple of DriveTime
        Without those that were struck through.
    """
    drives, staff, files = table("drive_time").c, table("staff").c, table("import_file").c
    query = (
        select(
            drives.id, drives.rev, drives.from_kind, drives.from_site_id, drives.from_staff_id,
            drives.to_kind, drives.to_site_id, drives.to_staff_id, drives.minutes, drives.km,
            drives.source, drives.created_at, staff.name.label("who"), files.name.label("file"),
        )
        .select_from(table("drive_time"))
        .join(table("staff"), staff.id == drives.created_by)
        .join(table("import_file"), files.id == drives.import_file_id, isouter=True)
        .where(drives.struck_at.is_(None))
        .order_by(drives.created_at.desc(), drives.id.desc())
    )  # fmt: skip
    zone = book.zone
    with book.reading() as connection:
        rows = connection.execute(query).all()
    found: dict[tuple[End, End], DriveTime] = {}
    for row in rows:
        way = ends_of(row)
        if way not in found:
            found[way] = DriveTime(
                row.id, row.rev, *way, row.minutes, row.km, row.source, row.who,
                row.created_at.astimezone(zone).date(), row.file or "",
            )  # fmt: skip
    return tuple(found.values())


def ends_of(row: Any) -> tuple[End, End]:
    """Start and goal of a row of the table.

    Parameters
    ----------
    row
        With the columns of both ends.
    """
    start = End(row.from_kind, row.from_site_id or row.from_staff_id)
    return start, End(row.to_kind, row.to_site_id or row.to_staff_id)


def drive_table(book: Book) -> DriveTable:
    """The drives in force, for `store.travel.ways`.

    Parameters
    ----------
    book
        The practice's book.

    Returns
    -------
    Mapping
        By start and goal as they were given; the way back is looked for by whoever reads it.
    """
    return {
        (one.start, one.goal): Driven(one.minutes, one.km, one.said) for one in drive_times(book)
    }


def way_values(start: End, goal: End) -> dict[str, Any]:
    """Both ends as columns of the table.

    Parameters
    ----------
    start, goal
        The ends.

    Raises
    ------
    BadInput
        They are the same.
    """
    if start == goal:
        raise BadInput(
            "The way from a place to itself takes no time; nothing was saved.", field="to"
        )
    values: dict[str, Any] = {}
    for name, end in (("from", start), ("to", goal)):
        values[f"{name}_kind"] = end.kind
        values[f"{name}_site_id"] = end.key if end.kind == "site" else None
        values[f"{name}_staff_id"] = end.key if end.kind == "vet" else None
    return values


def set_drive_time(
    writing: Writing,
    start: End,
    goal: End,
    minutes: float,
    *,
    km: float | None = None,
    source: str = "",
) -> UUID:
    """State how long a drive takes; it counts for the way back too, unless that has its own.

    Parameters
    ----------
    writing
        The action it belongs to.
    start, goal
        Two different ends: sites, places from which people set out, the practice.
    minutes
        From 0 to 1440, from gate to gate [min].
    km
        How long the way is by road [km]; None where it is not known.
    source
        What it rests on, such as `driven on a market day`.

    Returns
    -------
    UUID
        Key of the entry.

    Raises
    ------
    BadInput
        Twice the same end, or a number out of its bounds.
    NotFound
        No such site or person, or struck through.
    """
    for end in (start, goal):
        _must_stand(writing, end)
    said = " ".join(plain(source).split()) or _BY_HAND
    return writing.add("drive_time", **way_values(start, goal), minutes=minutes, km=km, source=said)


def _must_stand(writing: Writing, end: End) -> None:
    if end.kind == "practice":
        return
    columns = table("site" if end.kind == "site" else "staff").c
    query = select(columns.id).where(columns.id == end.key, columns.struck_at.is_(None))
    if writing.connection.execute(query).scalar() is None:
        what = "site" if end.kind == "site" else "person"
        raise NotFound(f"There is no such {what} in the book; nothing was saved.")
