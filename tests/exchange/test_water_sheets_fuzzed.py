"""Thousands of sheets that nobody would make: cells or a sentence, nothing lost, nothing half-saved.

`PONDROUND_FUZZ=10000` runs that many instead of a few hundred.
"""

from __future__ import annotations

import io
import os
import random
from pathlib import Path

import openpyxl
import pytest
from sheets import NOW, add_ponds
from sqlalchemy import func, select

from store.book.act import Act
from store.book.book import Book
from store.book.tables import table
from store.errors import PondroundError
from store.exchange.columns import Shape, lay_out
from store.exchange.columns.shape import shape_from
from store.exchange.sheets import read_file
from store.exchange.water.cells import as_reading
from store.exchange.water.sheets import Preview, look_at_water, save_water
from store.water.parameters import PARAMETERS

INPUTS = int(os.environ.get("PONDROUND_FUZZ", "300"))
SLICES = 4
HEADS = (
    "date", "Date", "Datum", "day", "time", "date and time", "pond", "client", "note", "Notes", "by",
    "parameter", "value", "unit", "form", "place", "Temp", "Temp °F", "water temp (*C)", "pH", "PH",
    "NH3", "NH4-N mg/L", "ammonia", "NO2", "NO2-N [mg/l]", "NO3 ppm", "KH", "KH dKH", "GH", "DO %",
    "DO mg/L", "EC µS/cm", "salt", "Upper pH", "Lower pH", "pH pond 2", "air temp", "", "  ", "x",
    "pH am", "pH pm", "Morning temp °C", "NO2 (evening)", "Upper pH am", "pH 8am", "Temp min °C",
    "DO %Sat", "SPC µS/cm", "pH mV", "Type", "Temp F", "Baro mmHg", "line", "why refused", "Date (dd/mm/yyyy)", "Average", "=1+1", "\N{REPLACEMENT CHARACTER}",
)  # fmt: skip
DAYS = (
    "2026-03-01", "2026-03-01 09:00", "1/3/2026", "13/2/2026", "2/13/2026", "1.3.", "1/3/26", "Sat am",
    "2 Mar", "Mar 2nd, 2026", "3. März 26 10.30 Uhr", "1/3 & 2/3", "2-3 Mar", "2026-02-30", "", "“",
    "Total", "Average", "30 Feb", "0/0/0", "99/99/9999", "2026-03-29 01:30", "1/1/0001", "31/12/9999",
    "9999-12-31", "2026-03-01T09:00:00+99:99", "20260301", "46082", "Mon 1/3/2026", "1/3/2026 24:00",
)  # fmt: skip
CELLS = (
    "7.4", "7,4", "8.2 ish", "7.4(morn)", "0-.25", "80+", "trace", "<0.1", "-", "n/a", "ND", "19*",
    "66*F", "12.1 Â°C", "OVR", "----", "0", "-999", "1,234", "1.234", "1e400", "nan", "inf", "-0",
    "0.25/0.5", "7..4", "none", "ok", "\"", "ditto", "9" * 120, "९", "①", "½", "7\0", "\x1b[2J", "[/]",
    "<", ">", "~", "<<1", "< 0,05 mg/l", "5 mmol/L", "3 %", "#N/A", "=SUM(A1)", "cal", "pH 7.01 buffer", "CHK", "over range", "+++", "7.2*", "🐟", "\u202e7",
)  # fmt: skip
GOOD = (("7.4", "5", "7,2", "<5", "6 ish", ""), ("2026-03-01", "13/2/2026", "2 Mar", "1/3/26 am"))
PONDS = ("P-1", "P-2", "Upper pond", "lower pond", "", "nowhere", '"', "Upper pond, x", "-")
ENCODINGS = (
    "utf-8",
    "utf-8-sig",
    "utf-16",
    "utf-16-le",
    "utf-16-be",
    "cp1252",
    "utf-32",
    "latin-1",
)


_DOUBLES = ("Date", "Datum", "day", "date and time", "Date (dd/mm/yyyy)", "PH")


def grid_of(dice: random.Random) -> list[list[str]]:
    """A sheet of a few rows: headings that mean something more often than not."""
    width = dice.randint(1, 9)
    head = [dice.choice(HEADS) for _ in range(width)]
    if dice.random() < 0.9:
        head[0] = dice.choice(("date", "taken_at"))
        if width > 1 and dice.random() < 0.5:
            head[1] = "pond"
        if dice.random() < 0.6:
            # One column for each thing, as sheets mostly have them.
            head = [head[0], *dict.fromkeys(title for title in head[1:] if title != head[0])]
            head = [one for one in head if one not in _DOUBLES]
            width = len(head)
    rows = [["A log"]] * dice.choice((0, 0, 0, 1, 2))
    if dice.random() < 0.15:
        rows.append([dice.choice(("", "Upper pond", "Lower pond")) for _ in range(width)])
    rows.append(head)
    if dice.random() < 0.1:
        rows.append([dice.choice(("", "°F", "mg/L", "-", "dKH")) for _ in range(width)])
    for _ in range(dice.randint(0, 7)):
        if dice.random() < 0.05:
            rows.append(list(head))
            continue
        row = []
        for title in head:
            kind = title.casefold()
            pool = DAYS if "dat" in kind or kind == "day" else PONDS if kind == "pond" else CELLS
            if dice.random() < 0.7:
                pool = pool[:4] if pool is PONDS else GOOD[pool is DAYS]
            row.append(dice.choice(pool if dice.random() < 0.95 else CELLS + DAYS))
        if dice.random() < 0.1:
            row = row[: dice.randint(0, width)]
        if dice.random() < 0.05:
            row.append(dice.choice(CELLS))
        rows.append(row)
    return rows


def bytes_of(dice: random.Random, rows: list[list[str]]) -> bytes:
    """The sheet as a file, some of them damaged."""
    if dice.random() < 0.06:
        book = openpyxl.Workbook()
        for row in rows:
            book.active.append([cell.translate(_NO_CONTROL) for cell in row])
        if dice.random() < 0.3 and len(rows) > 1:
            book.active.merge_cells("A1:B2")
        made = io.BytesIO()
        book.save(made)
        data = made.getvalue()
    else:
        separator = dice.choice(",;\t|")
        quote = dice.choice((True, True, False))
        text = dice.choice(("\n", "\r\n", "\r")).join(
            separator.join(
                '"' + cell.replace('"', '""') + '"' if quote and dice.random() < 0.8 else cell
                for cell in row
            )
            for row in rows
        )
        data = text.encode(dice.choice(ENCODINGS), "replace")
    if dice.random() < 0.15 and data:
        spoilt = bytearray(data)
        for _ in range(dice.randint(1, 6)):
            place = dice.randrange(len(spoilt))
            what = dice.random()
            if what < 0.5:
                spoilt[place] = dice.randrange(256)
            elif what < 0.75:
                del spoilt[place : place + dice.randint(1, 9)]
            else:
                spoilt[place:place] = dice.randbytes(dice.randint(1, 5))
            if not spoilt:
                break
        data = bytes(spoilt)
    return data if dice.random() < 0.98 else dice.randbytes(dice.randint(0, 300))


_NO_CONTROL = dict.fromkeys(range(32)) | {0x202E: None}


_UNITS = {
    "temp": "temperature °F", "kh": "KH dKH", "gh": "GH dGH", "salt": "salt g/L", "x": "ignore",
}  # fmt: skip
_BLOCKS = {"1": "P-1", "2": "P-2", "3": "ignore", "4": "ignore", "upper": "P-1", "lower": "P-2"}


def shape_of(dice: random.Random) -> Shape:
    return shape_from(
        {
            "order": dice.choice(("", "dmy", "mdy", "ymd", "each", "each", "each")),
            "year": dice.choice((None, 2026, 2026, 2025, 1)),
            "blank": dice.choice(("", "", "same", "none")),
            "columns": dice.choice(({}, {}, {"x": "pH"}, _UNITS, _UNITS, {"1": "ignore"})),
            "blocks": dice.choice(({}, _BLOCKS, _BLOCKS, {"upper": "P-1"})),
            "header_line": dice.choice((*[None] * 20, 1, 2, 7)),
        }
    )


def counted(book: Book) -> tuple[int, ...]:
    names = ("water_test", "reading", "import_file", "sheet_shape")
    with book.reading() as connection:
        return tuple(
            connection.execute(select(func.count()).select_from(table(name))).scalar_one()
            for name in names
        )


def hold_good(preview: Preview, path: Path, shape: Shape, sheet_width: int) -> None:
    """What must be true of every plan."""
    plan = preview.plan
    assert plan is not None
    for one in plan.items:
        assert len(one.raw) == len(one.test.readings)
        for reading in one.test.readings:
            parameter = PARAMETERS[reading.parameter]
            assert parameter.possible_low <= reading.value <= parameter.possible_high
            assert reading.typed.strip()
            if reading.typed.lstrip().startswith("<") or reading.typed.casefold() == "nd":
                assert reading.bound == "<", reading
    assert all(one.reason.strip() for one in plan.refused)
    told = {one.line for one in plan.items} | {one.line for one in plan.refused}
    told |= {one.test.line for one in preview.doubled}
    assert len(preview.doubled) == plan.already
    layout = lay_out(read_file(path).grid(), preview.shape)
    data = {row.line for section in layout.sections for row in section.rows}
    assert told <= data
    assert plan.rows_read == len(data)
    lost = data - told
    if not any(section.blocks for section in layout.sections):
        grouped = any(one.meaning == "parameter" for one in preview.columns)
        assert grouped or not lost, (lost, plan)


@pytest.mark.parametrize("part", range(SLICES))
def test_any_sheet_is_read_or_refused_in_a_sentence(
    sqlite_book: Book, act: Act, tmp_path: Path, part: int
) -> None:
    add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    planned = asked = refused = saved = 0
    path = tmp_path / "fuzzed.csv"
    for number in range(part, INPUTS, SLICES):
        dice = random.Random(number)
        rows = grid_of(dice)
        path.write_bytes(bytes_of(dice, rows))
        shape = shape_of(dice)
        pond = dice.choice((None, "P-1", "P-1"))
        try:
            preview = look_at_water(path, sqlite_book, NOW, shape=shape, pond=pond)
        except PondroundError as error:
            refused += 1
            assert error.message.strip(), number  # noqa: PT017
            continue
        except Exception as error:
            raise AssertionError(f"input {number}: {error!r}") from error
        if preview.plan is None:
            asked += 1
            assert all(one.text for one in preview.needed)
            continue
        planned += 1
        hold_good(preview, path, shape, len(rows[0]))
        if saved < 20 and preview.plan.items:
            before = counted(sqlite_book)
            try:
                done = save_water(sqlite_book, act, preview.plan, preview)
            except PondroundError:
                assert counted(sqlite_book) == before, number
                continue
            saved += 1
            assert counted(sqlite_book)[0] == before[0] + done.added
    print(f"{planned} planned, {asked} asked, {refused} refused, {saved} saved")
    assert planned > INPUTS / SLICES / 10


def test_any_cell_is_a_reading_or_a_sentence() -> None:
    dice = random.Random(8)
    letters = "0123456789.,<>~-+ ()/ampnCFlgo%*°\"'\n\0µ½"
    for _ in range(INPUTS * 10):
        cell = "".join(dice.choices(letters, k=dice.randint(0, 14)))
        try:
            read, aside = as_reading(cell, commas=dice.random() < 0.5)
        except PondroundError:
            continue
        figures = [letter for letter in read if letter.isdigit()]
        assert len(figures) <= sum(letter.isdigit() for letter in cell)
        assert not aside or aside == " ".join(aside.split())
