"""Rows of the book by their names: which pond, whose dose, the test of which day."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, Table, select

from store.book.columns import Base
from store.book.sign_in import line_key
from store.book.told.hanging import PLACES, pointing
from store.record.kinds import kind_of

_AT_ONCE = 400
_PART = re.compile(r"\[[^\]]*\]|\{[^}]*\}")
_VALUE = re.compile(r"\{([^}]*)\}")
_LONGEST_IN_TITLE = 60
PAGES = ("water_test", "course", "visit", "examination", "call_note", "pond", "client")
"""What has a page of its own, looked for from a row upwards."""


@dataclass(frozen=True, slots=True)
class Belongs:
    """Where a row belongs: keys by table of all that it hangs on, itself first."""

    keys: Mapping[str, UUID]

    @property
    def page(self) -> tuple[str, UUID] | None:
        """The nearest thing that has a page: table and key."""
        for table, key in self.keys.items():
            if table in PAGES:
                return table, key
        return None


@dataclass(slots=True)
class Names:
    """Rows that were looked up, and what they are called.

    Parameters
    ----------
    connection
        Of a reading of the book; not used after it.
    zone
        The practice's time zone.
    """

    connection: Connection
    zone: ZoneInfo
    rows: dict[tuple[str, UUID], Mapping[str, Any] | None] = field(default_factory=dict)
    _own_agents: Mapping[str, str] | None = None

    def load(self, wanted: Iterable[tuple[str, UUID]]) -> None:
        """Look up rows, and every row that they point at.

        Parameters
        ----------
        wanted
            Table and key of each.
        """
        waiting = {one for one in wanted if one not in self.rows}
        while waiting:
            by_table: dict[str, list[UUID]] = {}
            for table, key in waiting:
                self.rows[table, key] = None
                by_table.setdefault(table, []).append(key)
            waiting = set()
            for name, keys in by_table.items():
                target = Base.metadata.tables.get(name)
                if name == "sign_in":
                    waiting.update(self._sign_ins(keys))
                if target is None or "id" not in target.c:
                    continue
                for row in self._read(target, keys):
                    self.rows[name, row["id"]] = row
                    waiting.update(_pointed_at(target, row))
            waiting -= self.rows.keys()

    def _sign_ins(self, keys: list[UUID]) -> Iterator[tuple[str, UUID]]:
        """The log speaks of them by keys of their own; whose they are, people know."""
        people = self.connection.execute(select(Base.metadata.tables["staff"].c.id)).scalars()
        for person in people:
            if (key := line_key(person)) in keys:
                self.rows["sign_in", key] = {"staff_id": person}
                yield "staff", person

    def _read(self, target: Table, keys: list[UUID]) -> Iterator[Mapping[str, Any]]:
        for begin in range(0, len(keys), _AT_ONCE):
            query = select(target).where(target.c.id.in_(keys[begin : begin + _AT_ONCE]))
            for row in self.connection.execute(query):
                yield row._asdict()

    def title(self, table: str, key: UUID) -> str:
        """Which row it is, in a sentence: `water test of Koi house, 12 Mar 2026`.

        Parameters
        ----------
        table, key
            Of a row that was looked up.
        """
        return self._filled(kind_of(table).title, table, key)

    def name(self, table: str, key: UUID) -> str:
        """What other rows call it: `Koi house`.

        Parameters
        ----------
        table, key
            Of a row that was looked up.
        """
        return self._filled(kind_of(table).name, table, key)

    def value(self, table: str, key: UUID, path: str) -> str:
        """A value of a row, or of one that it points at, in words.

        Parameters
        ----------
        table, key
            Of a row that was looked up.
        path
            Names of columns with dots between; alternatives with `|`, the first that says
            something counts.
        """
        for one in path.split("|"):
            if said := self._value(table, key, one.split(".")):
                return said
        return ""

    def belongs(self, table: str, key: UUID) -> Belongs:
        """What a row hangs on, itself first, the nearest first.

        Parameters
        ----------
        table, key
            Of a row that was looked up.
        """
        found: dict[str, UUID] = {}
        waiting = [(table, key)]
        while waiting:
            name, one = waiting.pop(0)
            row = self.rows.get((name, one))
            if name in found or row is None:
                continue
            found[name] = one
            target = Base.metadata.tables[name]
            up = [
                (pointed, row[column.name])
                for column, pointed in pointing(target)
                if pointed != "staff" and row[column.name] is not None
                and (pointed in PLACES or not column.nullable)
            ]  # fmt: skip
            waiting += sorted(up, key=lambda way: _NEAREST.get(way[0], 0))
        return Belongs(found)

    def own_agents(self) -> Mapping[str, str]:
        """The names of the practice's own agents by their codes."""
        if self._own_agents is None:
            agent = Base.metadata.tables["own_agent"].c
            found = self.connection.execute(select(agent.code, agent.name))
            self._own_agents = {row.code: row.name for row in found}
        return self._own_agents

    def _filled(self, template: str, table: str, key: UUID) -> str:
        if self.rows.get((table, key)) is None:
            return f"{kind_of(table).said} that is not in this book"

        def said(found: re.Match[str]) -> str:
            part = found[0]
            if part.startswith("{"):
                return _short(self.value(table, key, part[1:-1])) or "–"
            inner = [_short(self.value(table, key, path)) for path in _VALUE.findall(part)]
            if not all(inner):
                return ""
            filled = iter(inner)
            return _VALUE.sub(lambda _: next(filled), part[1:-1])

        return _PART.sub(said, template)

    def _value(self, table: str, key: UUID, path: list[str]) -> str:
        from store.record.values import said_value

        row = self.rows.get((table, key))
        column = path[0]
        target = Base.metadata.tables.get(table)
        if row is None or target is None or column not in target.c or row[column] is None:
            return ""
        if len(path) > 1:
            name = next(iter(target.c[column].foreign_keys)).column.table.name
            return self._value(name, row[column], path[1:])
        return said_value(table, column, row[column], self, key, day_only=True)


_NEAREST = {"pond": 1, "site": 2, "client": 3}


def _pointed_at(target: Table, row: Mapping[str, Any]) -> Iterator[tuple[str, UUID]]:
    for column, name in pointing(target):
        if row[column.name] is not None:
            yield name, row[column.name]


def _short(text: str) -> str:
    line = " ".join(text.split())
    return line if len(line) <= _LONGEST_IN_TITLE else line[: _LONGEST_IN_TITLE - 1].rstrip() + "…"
