"""Client lists as accounts programs and people keep them, of invented people."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from pathlib import Path

from store.book.act import Act
from store.book.book import Book
from store.exchange.catch_up.clients_plan import CatchUp
from store.exchange.catch_up.read_clients import read_clients
from store.exchange.catch_up.save_clients import save_clients
from store.exchange.plain.planned import Done

HEADER = [
    "A/C",
    "Name",
    "Tel",
    "Address 1",
    "Address 2",
    "Address 3",
    "Address 4",
    "Remarks",
    "Balance",
]
MESSY: list[list[str]] = [
    ["Client list, March", "", "", "", "", "", "", "", ""],
    ["", "", "", "", "", "", "", "", ""],
    HEADER,
    ["1", "ALDER, Mr & Mrs J.", "01632 960111 / 07700 900222 (ask for Mrs Alder)", "3 Mill Lane",
     "Wick", "Hampshire", "SO99 9ZZ", "koi pond 12,000 l, 1.4 m deep", "12.50"],
    ["", "", "07700 900333", "", "", "", "", "quarantine tank 800 l", ""],
    ["2", "Brook House Hotel", "01632 960200", "High St", "Wick", "", "SO99 9ZY", "two ponds, goldfish", "0"],
    ["", "", "", "", "", "", "", "", ""],
    ["3", "Rowan, Prof. Iris", "01632 960300", "8 Weir Road, Wick, SO99 9ZX", "", "", "", "dog bites", "0"],
    HEADER,
    ["4", "Alder J", "+44 1632 960 111", "3 Mill Ln", "Wick", "", "so999zz", "pays late", "0"],
    ["5", "Rowan I", "01632 960999", "1 Far Street", "Tarn", "", "TA99 1AA", "", "0"],
    ["", "Total", "", "", "", "", "", "", "12.50"],
    ["* closed accounts are left out"],
]  # fmt: skip


def write_csv(
    path: Path, rows: Sequence[Sequence[str]], *, separator: str = ",", encoding: str = "utf-8"
) -> Path:
    with path.open("w", newline="", encoding=encoding) as file:
        csv.writer(file, delimiter=separator).writerows(rows)
    return path


def write_xlsx(path: Path, rows: Sequence[Sequence[object]]) -> Path:
    from openpyxl import Workbook

    book = Workbook()
    sheet = book.active
    assert sheet is not None
    for row in rows:
        sheet.append(list(row))
    book.save(path)
    return path


def bring(
    book: Book, act: Act, path: Path, answers: dict[str, str] | None = None
) -> tuple[CatchUp, Done]:
    looked_at = read_clients(path, book, answers=answers)
    return looked_at, save_clients(book, act, looked_at)
