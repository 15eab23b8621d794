"""Books with a row in every table, filled from the models with whatever the columns can hold."""

from __future__ import annotations

import csv
import json
import random
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

from sqlalchemy import JSON, Boolean, Column, Double, Integer, Table, Time, insert, select, text

from store.book.book import Book
from store.book.columns import EARLIEST, LATEST, Base, Day, Instant, Key
from store.exchange.out.described import table_names
from store.water.parameters import PARAMETERS

HOSTILE = (
    "=1+1", "+44 1632 960001", "-5", "@SUM(A1)", "\t=1", "\r=1", "'quoted'", "''", "'", "'=1",
    " leading", "a;=cmd|' /C calc'!A0", "a\n=1", "a\n- b\n- c", "a\t'=1", "a;''@x", ";=", "＝1",
    'say "so", then', "comma, here", "line\r\nline", "null", "None", "yes", "[]", "{}", "0012",
    "1e5", "2026-03-14", "鯉 🐟", "e\u0301", "\ufeffmark", "a\u2028b", "\x0b", "\x85=1", ";\u00a0=",
    "-", "=", "\\", "\\u003d", "%s %(a)s {0}", "x" * 500, "0.1,-2", "<0.05",
)  # fmt: skip
"""Texts that files have been known to lose or to run."""

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


OWN = ("copy", "chain")
"""What a copy of the book says of itself alone: one made of files is a copy of its own."""


def files_of(folder: Path) -> dict[str, bytes]:
    """Every file of a folder, the manifest among them, without which copy wrote it."""
    found = {
        str(one.relative_to(folder)): one.read_bytes() for one in folder.rglob("*") if one.is_file()
    }
    lines = found["tables/book_meta.csv"].splitlines(keepends=True)
    own = [line for line in lines if next(csv.reader([line.decode()]))[0] in OWN]
    assert len(own) == len(OWN)
    found["tables/book_meta.csv"] = b"".join(line for line in lines if line not in own)
    said = json.loads(found["manifest.json"])
    del said["tables"]["book_meta"]["size"], said["tables"]["book_meta"]["sha256"]
    found["manifest.json"] = json.dumps(said).encode()
    return found


def tables_of(book: Book) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table, in the order of its key, but not which copy of the book it is."""
    found = {}
    with book.reading() as connection:
        for name in table_names():
            table = Base.metadata.tables[name]
            rows = connection.execute(select(table)).all()
            found[name] = sorted((tuple(row) for row in rows), key=repr)
    found["book_meta"] = [row for row in found["book_meta"] if row[0] not in OWN]
    return found


def fill_any(book: Book, dice: random.Random, most: int = 3) -> None:
    """Rows into every table, past every check that is not the database's own."""
    keys: dict[str, list[UUID]] = {
        "staff": [_read(book, "staff")], "practice": [_read(book, "practice")]
    }  # fmt: skip
    with (
        book.engine.connect().execution_options(pondround_writes=True) as connection,
        connection.begin(),
    ):
        for name in table_names():
            table = Base.metadata.tables[name]
            keys.setdefault(name, [])
            for _ in range(dice.randint(1, most)):
                row = {one.name: _value(one, dice, keys) for one in table.columns}
                _agree(name, row, dice)
                if name in {"logger_reading", "logger_day", "reading"}:
                    row["parameter"] = dice.choice(tuple(PARAMETERS))
                if "id" not in row and name != "book_meta" and _there(connection, table, row):
                    continue
                if name == "book_meta":
                    row["key"] = f"{row['key'][:60]}{dice.random()}"
                connection.execute(insert(table), [row])
                if "id" in row:
                    keys[name].append(row["id"])
        for pond in keys["pond"]:  # the tables that come later are there now
            connection.execute(
                text("UPDATE pond SET kit_id = :kit, volume_estimate_id = :estimate WHERE id = :id"),
                {
                    "kit": _raw(book, dice.choice(keys["kit"])),
                    "estimate": _raw(book, dice.choice(keys["volume_estimate"])),
                    "id": _raw(book, pond),
                },
            )  # fmt: skip


def _raw(book: Book, key: UUID) -> Any:
    return key.bytes if book.engine.dialect.name == "sqlite" else key


def _read(book: Book, name: str) -> UUID:
    with book.reading() as connection:
        return connection.execute(select(Base.metadata.tables[name].c.id)).scalars().first()


def _there(connection: Any, table: Table, row: dict[str, Any]) -> bool:
    same = [one == row[one.name] for one in table.primary_key.columns]
    return connection.execute(select(table).where(*same)).first() is not None


def _value(column: Column[Any], dice: random.Random, keys: dict[str, list[UUID]]) -> Any:
    if column.name != "struck_why" and column.nullable and dice.random() < 0.4:
        return None
    kind, info = column.type, column.info
    if column.foreign_keys:
        target = next(iter(column.foreign_keys)).column.table.name
        there = keys.get(target) or []
        return dice.choice(there) if there else None
    if isinstance(kind, Key):
        return UUID(int=dice.getrandbits(128))
    if isinstance(kind, Instant):
        low, high = (_ms(EARLIEST), _ms(LATEST)) if dice.random() < 0.3 else (0, 10**12 * 2)
        at = dice.choice((low, high, dice.randint(low, high), dice.randint(0, 10**9) * 1000))
        return _EPOCH + timedelta(milliseconds=at)
    if isinstance(kind, Day):
        return date(1900, 1, 1) + timedelta(days=dice.randint(0, 100_000))
    if isinstance(kind, Time):
        return dice.choice((time(7, 30), time(0), time(23, 59, 59, 999_999), time(6, 5, 4)))
    if isinstance(kind, Boolean):
        return dice.random() < 0.5
    if isinstance(kind, Double):
        low, high = info["low"], info["high"]
        return float(dice.choice((low, high, dice.uniform(low, high), max(low, 1e-7) if high > 0
                                  else low, max(low, min(high, -0.5)))))  # fmt: skip
    if isinstance(kind, Integer):
        return dice.choice((info["low"], info["high"], dice.randint(info["low"], info["high"])))
    if isinstance(kind, JSON):
        return _json(column, dice)
    if "choices" in info:
        return dice.choice(info["choices"])
    return _text(dice, info["shortest"], info["longest"])


def _ms(at: datetime) -> int:
    return (at - _EPOCH) // timedelta(milliseconds=1)


def _text(dice: random.Random, shortest: int, longest: int) -> str:
    if shortest == longest:
        return "".join(dice.choice("0123456789abcdef") for _ in range(longest))
    made = dice.choice(HOSTILE) if dice.random() < 0.7 else _letters(dice)
    if dice.random() < 0.2:
        made = made + dice.choice(HOSTILE)
    if shortest == 0 and dice.random() < 0.2:
        return ""
    return (made or "x")[:longest]


def _letters(dice: random.Random) -> str:
    signs = "=+-@'\t\r\n;,\"ab \u00e9\u9bc9\U0001f41f\x01\u200b＝"
    return "".join(dice.choice(signs) for _ in range(dice.randint(1, 12)))


def _json(column: Column[Any], dice: random.Random) -> Any:
    texts = [_text(dice, 0, 50) for _ in range(dice.randint(0, 3))]
    if column.name in {
        "hazards", "remarks", "off", "handling", "behaviour", "signs", "photos", "urgent_by",
        "advised", "seen",
    }:  # fmt: skip
        return texts
    if column.name == "test_seasons":
        return [{"from": "04-01", "to": "10-31", "every_days": dice.randint(1, 366)}]
    return {
        one: dice.choice((None, True, -0.1, 3, 1e-7, [1, -2, {"a": "b;=c"}], one)) for one in texts
    }


def _agree(name: str, row: dict[str, Any], dice: random.Random) -> None:
    """What the checks of a table ask of several columns at once."""
    for low, mid, high in (
        ("volume_low_l", "volume_l", "volume_high_l"), ("low_l", "litres", "high_l"),
        ("length_low_cm", "", "length_high_cm"), ("started_on", "", "ended_on"),
        ("on_day", "", "until_day"), ("first_day", "", "last_day"), ("first_on", "", "last_on"),
        ("dose_low", "", "dose_high"), ("interval_low_days", "", "interval_high_days"),
        ("temp_low_c", "", "temp_high_c"),
    ):  # fmt: skip
        names = [one for one in (low, mid, high) if one in row]
        if low in row and high in row:
            there = sorted(row[one] for one in names if row[one] is not None)
            if len(there) == len(names):  # all may lie between the same bounds
                row.update(zip(names, there, strict=True))
            else:  # one alone keeps to its own bounds
                for one in [name for name in names if row[name] is not None][1:]:
                    row[one] = None
    if name == "exam_finding" and row["counted"] is not None:
        row["score"] = None
    if name == "practice":
        row["time_zone"] = "Europe/London"
    if name == "drive_time":
        _agree_on_ends(row)
    if name == "visit_length":
        row["minutes"] = dice.randint(5, 1440)


def _agree_on_ends(row: dict[str, Any]) -> None:
    """An end of a drive points at a site, at a person, or at nothing."""
    for end in ("from", "to"):
        kind = row[f"{end}_kind"]
        for what, of in (("site", "site"), ("staff", "vet")):
            if kind != of:
                row[f"{end}_{what}_id"] = None
        if (kind == "site" and row[f"{end}_site_id"] is None) or (
            kind == "vet" and row[f"{end}_staff_id"] is None
        ):
            row[f"{end}_kind"] = "practice"


def a_book(folder: Path, template: Path, dice: random.Random) -> Path:
    """A copy of a book that was begun, with rows in every table."""
    import shutil

    from store.book.opening import open_book

    path = folder / f"any-{dice.getrandbits(32):08x}.pondround"
    shutil.copyfile(template, path)
    with open_book(path, now=datetime(2026, 3, 14, 7, 30, tzinfo=UTC)) as book:
        fill_any(book, dice, most=12)
    return path
