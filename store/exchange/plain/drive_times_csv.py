"""The practice's own drive times out of a sheet: one row a way."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, select

from store.book.act import Act
from store.book.book import Book
from store.book.tables import table
from store.errors import BadInput
from store.exchange.plain.cells import cell_value
from store.exchange.plain.planned import Columns, Done, Plan, keep_file
from store.exchange.plain.simple_csv import PlannedRow, plan_rows
from store.exchange.plain.table import Row, open_sheet
from store.exchange.plain.whose_places import PlaceNames
from store.text import plain
from store.travel.drive_times import TABLE, ends_of, way_values
from store.travel.ways import End

_KNOWN = {
    "from": ("start",),
    "to": ("goal",),
    "minutes": ("min", "drive_min"),
    "km": ("distance_km",),
    "note": ("notes", "remarks"),
}
_ENDS = ("from_kind", "from_site_id", "from_staff_id", "to_kind", "to_site_id", "to_staff_id")


def read_drive_times(path: Path, book: Book) -> Plan[PlannedRow]:
    """What a sheet of drive times would bring; nothing is saved.

    Columns `from`, `to` (see `whose_places`), `minutes`, and where they are there
    `km` and `note`. A way counts in both directions unless the other has a row of its own.

    Parameters
    ----------
    path
        The file.
    book
        The practice's book; a way that has the same time already is passed over, and so is what
        the very same file brought in before, whatever was set by hand since.

    Returns
    -------
    Plan of PlannedRow
        Rows whose places are not certain, or that gainsay an earlier row, are refused.
    """
    places = PlaceNames(book)
    said: dict[tuple[End, End], tuple[int, object]] = {}

    def reads(row: Row, columns: Columns) -> Mapping[str, Any]:
        way = places.one(columns.text(row, "from")), places.one(columns.text(row, "to"))
        if not columns.text(row, "minutes"):
            raise BadInput("The row does not say how many minutes the drive takes.")
        note = " ".join(plain(columns.text(row, "note")).split())
        values = {
            **way_values(*way),
            "minutes": cell_value("drive_time", "minutes", columns.text(row, "minutes")),
            "km": cell_value("drive_time", "km", columns.text(row, "km")),
            "source": cell_value("drive_time", "source", f"{TABLE}: {note}" if note else TABLE),
        }
        line, before = said.setdefault(way, (row.line, _same(values)))
        if before != _same(values):
            raise BadInput(f"Line {line} of the file says something else of the same way.")
        return values

    sha256 = open_sheet(path).sha256
    with book.reading() as connection:
        present = _present(connection, sha256)
    return plan_rows(
        "drive times", path, book, _KNOWN, ("from", "to", "minutes"), reads, _same, present
    )


def save_drive_times(book: Book, act: Act, plan: Plan[PlannedRow]) -> Done:
    """Save the ways of a plan in one transaction; what came in meanwhile is not doubled.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who brings the file in, and when.
    plan
        From `read_drive_times`.

    Returns
    -------
    Done
        How many were added, were there already, or were refused.
    """
    added = 0
    if plan.items:
        with book.writing(act) as writing:
            present = _present(writing.connection, plan.sha256)
            new = [one for one in plan.items if _same(one.values) not in present]
            added = len(new)
            if new:
                file = keep_file(writing, plan, added)
                writing.add_many(
                    "drive_time", [{**one.values, "import_file_id": file} for one in new]
                )
    return Done(added, plan.already + len(plan.items) - added, len(plan.refused))


def _present(connection: Connection, sha256: str) -> set[object]:
    """Every way as it is in force, and every one that the same file brought in before."""
    drives, files = table("drive_time").c, table("import_file").c
    query = (
        select(*(drives[name] for name in _ENDS), drives.minutes, drives.km, files.sha256)
        .select_from(table("drive_time"))
        .join(table("import_file"), files.id == drives.import_file_id, isouter=True)
        .where(drives.struck_at.is_(None))
        .order_by(drives.created_at.desc(), drives.id.desc())
    )
    found: set[object] = set()
    in_force: set[tuple[End, End]] = set()
    for row in connection.execute(query):
        way = ends_of(row)
        if way not in in_force or row.sha256 == sha256:
            found.add(_same(row._mapping))
        in_force.add(way)
    return found


def _same(values: Mapping[Any, Any]) -> object:
    return (*(values[name] for name in _ENDS), values["minutes"], values["km"])
