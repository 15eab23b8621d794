"""Every hostile text through every column of the book, out as files and in again."""

from __future__ import annotations

import csv
import json
import time
from collections import Counter
from collections.abc import Iterable, Sequence
from pathlib import Path

from sqlalchemy import JSON

from store.book.opening import open_book
from store.exchange.back.back import bring_back
from store.exchange.out.book_folder import export_book
from store.exchange.out.json_lines import export_json
from store.text import plain
from tests.exchange.any_book import tables_of
from tests.faults.hostile import (
    MOST_MARKS,
    TALLY,
    harmful,
    hostile,
    longest_pile,
    runs_as_formula,
)
from tests.faults.hostile_columns import NOW, any_book, kept_or_refused, put_in, text_columns

QUICK_S = 5.0
"""A megabyte must be refused in less, on a machine that is busy with other work."""


def test_every_column_keeps_a_text_harmless_or_refuses_it(tmp_path: Path) -> None:
    texts = hostile()
    small = [one for one in texts if one.kind != "huge"]
    huge = [one for one in texts if one.kind == "huge"]
    book, act = any_book(tmp_path / "all.pondround")
    tried_huge: set[str] = set()
    for name, column in text_columns():
        info = repr(sorted((key, str(value)) for key, value in column.info.items()))
        if info not in tried_huge:  # columns that take the same are checked by the same lines
            tried_huge.add(info)
            for one in huge:
                begun = time.perf_counter()
                kept, refused = kept_or_refused(column, [one])
                took = time.perf_counter() - begun
                assert took < QUICK_S, f"{name}.{column.name}: {took:.1f} s for {one}"
                assert refused or isinstance(column.type, JSON) or not one.text.strip(), one
                TALLY.refused["columns, a megabyte"] += refused
                TALLY.kept["columns, a megabyte"] += len(kept)
        kept, refused = kept_or_refused(column, small)
        TALLY.refused["columns"] += refused
        TALLY.kept["columns"] += len(kept)
        for one, value in kept:
            lines = column.info.get("lines", False)
            if not isinstance(column.type, JSON):
                assert value == plain(one.text, lines=lines).strip(), (name, column.name, one)
            inside = value if isinstance(value, str) else "".join(_texts(value))
            assert not harmful(inside, lines=lines or not isinstance(value, str)), one
            assert longest_pile(inside) <= MOST_MARKS
        back = put_in(book, act, name, column, kept)
        meant = [value for _, value in kept]
        if len(back) == len(meant):
            assert back == meant, f"{name}.{column.name}"
        else:
            assert all(value in meant for value in back)
        TALLY.kept["columns, written and read again"] += len(back)
    book.close()
    _out_and_back(tmp_path)


def _texts(value: object) -> list[str]:
    if isinstance(value, dict):
        return [text for one in value.items() for text in map(str, one)]
    return [str(one) for one in value] if isinstance(value, list) else []


def _out_and_back(folder: Path) -> None:
    """The whole book as files that are harmless, and the same book of them."""
    before = set(folder.iterdir())
    with open_book(folder / "all.pondround", now=NOW) as book:
        export_book(book, folder / "out", NOW)
        export_json(book, folder / "all.jsonl", NOW)
        stands = tables_of(book)
    made = {one.name for one in set(folder.iterdir()) - before if "pondround" not in one.name}
    assert made == {"out", "all.jsonl"}
    cells = 0
    for path in sorted((folder / "out").rglob("*")):
        if path.is_dir():
            continue
        text = path.read_bytes().decode("utf-8-sig")
        bad = harmful(text.replace("\r\n", "\n"))
        assert not bad, (path.name, bad, next(one for one in text.splitlines() if bad & set(one)))
        if path.suffix == ".csv":
            for row in csv.reader(text.splitlines(keepends=True), strict=True):
                cells += len(row)
                assert not any(map(runs_as_formula, row)), row
    with (folder / "all.jsonl").open(encoding="utf-8") as file:
        lines = [json.loads(line) for line in file]
    out = Counter(one["table"] for one in lines if "row" in one)
    of_its_own = {"book_meta"}  # what this copy says of itself alone is left out of what stands
    assert {one: out[one] for one in stands if one not in of_its_own} == {
        one: len(rows) for one, rows in stands.items() if one not in of_its_own
    }
    bring_back(folder / "out", str(folder / "again.pondround"), NOW)
    with open_book(folder / "again.pondround", now=NOW) as again:
        kept = tables_of(again)
        for each in (kept, stands):  # in a book made of files everybody sets a passphrase anew
            each["sign_in"] = [(one[0], *one[2:]) for one in each["sign_in"]]
        for name, rows in stands.items():
            assert _in_order(kept[name]) == _in_order(rows), name
    TALLY.shown["cells of exported tables"] += cells


def _in_order(rows: Iterable[Sequence[object]]) -> list[str]:
    """Rows as texts; named values come back by name, since PostgreSQL keeps no order of theirs."""
    return sorted(json.dumps(list(row), default=repr, sort_keys=True) for row in rows)
