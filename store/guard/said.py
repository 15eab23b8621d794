"""What a check says of rows: which pond, which field, who changed it last by the record."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, Row, select

from store.book.columns import Base
from store.book.copies.chain import Line
from store.book.copies.lineage import Stand
from store.book.row_values import from_json, with_defaults
from store.book.tables import table
from store.record.kinds import kind_of, label_of
from store.record.names import Names
from store.record.values import keys_in, said_value
from store.text import day_said, plain

_KEPT = {
    "rev": "the number of the revision", "created_at": "when it was entered",
    "created_by": "who entered it", "changed_at": "when it was changed last",
    "changed_by": "who changed it last",
}  # fmt: skip
_NOTHING = "nothing"
_LONGEST = 80
_DONE = {"add": "entered", "change": "changed", "strike": "struck through", "restore": "restored"}


class Sayer:
    """Names rows of a book as the record of changes names them.

    Parameters
    ----------
    connection
        On the book.
    zone
        Of the practice.
    """

    def __init__(self, connection: Connection, zone: ZoneInfo) -> None:
        self._connection, self._zone = connection, zone
        self._names = Names(connection, zone)
        staff = table("staff").c
        self._staff = {row.id: row.name for row in connection.execute(select(staff.id, staff.name))}

    def row(self, name: str, key: UUID, line: Line | None = None) -> str:
        """Which row: `pond Koi house`; one that is gone by what the record says of it.

        Parameters
        ----------
        name, key
            Table and key.
        line
            A line of the record of it.
        """
        try:
            self._names.load([(name, key)])
            if line is not None and self._names.rows.get((name, key)) is None:
                self._as_recorded(name, key, line.after or {})
            if self._names.rows.get((name, key)) is not None:
                return _one_line(self._names.title(name, key))
        except Exception:  # what is damaged may be of any kind, and is told anyway
            return f"{kind_of(name).said} {str(key)[:8]}"
        return f"{kind_of(name).said} {str(key)[:8]}"

    def _as_recorded(self, name: str, key: UUID, values: Mapping[str, Any]) -> None:
        """A row that is gone is called as the record has it."""
        target = Base.metadata.tables[name]
        self._names.load(keys_in(name, values))
        self._names.rows[name, key] = with_defaults(target, from_json(target, values)) | {"id": key}

    def who(self, line: Line) -> str:
        """Who wrote a line, and when.

        Parameters
        ----------
        line
            Of the record.
        """
        did = _DONE.get(line.what, line.what)
        return f"{did} by {self._person(line.by)} on {self._moment(line.at)}"

    def line(self, line: Line) -> str:
        """Which line of the record.

        Parameters
        ----------
        line
            Of the record.
        """
        return f"{self.row(line.table_name, line.row_id, line)}, {self.who(line)}"

    def altered(
        self, name: str, key: UUID, column: str, now: Stand, row: Row[Any], newest: Line
    ) -> str:
        """That a column of a row is not what the record says.

        Parameters
        ----------
        name, key, column
            Where it is.
        now
            What the record says of the row.
        row
            What stands there.
        newest
            The newest line of the row.
        """
        kept: dict[str, Any] = {one: getattr(now, one) for one in _KEPT}
        said = kept[column] if column in kept else now.values.get(column)
        label = _KEPT.get(column) or label_of(name, column) or column
        return (
            f"The {self.row(name, key, newest)} was altered outside Pondround: {label} is "
            f"{self._value(name, key, column, getattr(row, column))} in the book, and "
            f"{self._value(name, key, column, said)} by the record, where it was last "
            f"{self.who(newest)}."
        )

    def _value(self, name: str, key: UUID, column: str, value: Any) -> str:
        if value is None or value == "":
            return _NOTHING
        if column == "rev":
            return str(value)
        try:
            self._names.load(keys_in(name, {column: value}))
            said = said_value(name, column, value, self._names, key)
        except Exception:
            said = ""
        return f"“{_one_line(said or str(value))}”"

    def _person(self, key: UUID) -> str:
        return _one_line(str(self._staff.get(key, "somebody who is not on the staff")))

    def _moment(self, at: datetime) -> str:
        local = at.astimezone(self._zone)
        return f"{day_said(local.date())} {local:%H:%M}"


def _one_line(text: str) -> str:
    line = " ".join(plain(text).split())
    return line if len(line) <= _LONGEST else line[: _LONGEST - 1] + "…"
