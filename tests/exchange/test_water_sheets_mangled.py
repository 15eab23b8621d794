"""However a good file is mangled, it gives the same readings, or a refusal that says why."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

import openpyxl
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from sheets import NOW, add_ponds

from store.book.act import Act
from store.book.book import Book
from store.errors import PondroundError
from store.exchange.columns import Shape
from store.exchange.plain.planned import Plan
from store.exchange.water.rows import PlannedTest
from store.exchange.water.sheets import read_water

HEADINGS = {
    "pond": ("pond", "Pond", "Teich", "POND CODE"),
    "date": ("date", "Date", "Datum", "day"),
    "time": ("time", "Uhrzeit", "Time of day"),
    "temp": ("Temp (°C)", "water temp *C", "Wassertemperatur [°C]", "temperature_c", "Temp Â°C"),
    "ph": ("pH", "PH", "pH-Wert", "ph value"),
    "no2": ("NO2 mg/L", "Nitrit (mg/L NO2)", "nitrite ppm as NO2", "NO2 [mg/l]"),
    "kh": ("KH dKH", "KH (°dH)", "Karbonathärte dKH"),
    "note": ("note", "Bemerkungen", "Comments"),
}
GOOD = (
    ("P-1", (2026, 1, 14), "09:15", "9.5", "7.42", "<0.05", "4.5", "clear; calm"),
    ("P-2", (2026, 1, 15), "09:40", "12.1", "7.8", "trace", "", "rain, wind"),
    ("P-1", (2026, 2, 3), "18:05", "10.05", "8.2 ish", "0-0.25", "5", ""),
    ("P-2", (2026, 2, 28), "07:00", "", "7.1", "n/a", "4.25", "é ü"),
    ("P-1", (2026, 3, 2), "12:30", "8.4", "7.35", "0.3", "6", "x"),
)
EXPECTED = {
    ("P-1", datetime(2026, 1, 14, 9, 15, tzinfo=UTC)): (9.5, 7.42, 0.05, "<", 80.316),
    ("P-2", datetime(2026, 1, 15, 9, 40, tzinfo=UTC)): (12.1, 7.8, 0.0, ">", None),
    ("P-1", datetime(2026, 2, 3, 18, 5, tzinfo=UTC)): (10.05, 8.2, 0.25, "~", 89.24),
    ("P-2", datetime(2026, 2, 28, 7, 0, tzinfo=UTC)): (None, 7.1, None, "", 75.854),
    ("P-1", datetime(2026, 3, 2, 12, 30, tzinfo=UTC)): (8.4, 7.35, 0.3, "=", 107.088),
}  # one German degree is 17.848 mg/L CaCO3, see store.water.parameters


@dataclass(frozen=True)
class Way:
    """How the good file is written down this time."""

    order: tuple[int, ...]
    names: tuple[int, ...]
    encoding: str
    separator: str
    comma: bool
    quoted: bool
    days: str
    titles: int
    blank_rows: tuple[int, ...]
    total: bool
    spare: bool
    end: str
    workbook: bool


WAYS = st.builds(
    Way,
    order=st.permutations(range(8)).map(tuple),
    names=st.tuples(*(st.integers(0, 4) for _ in range(8))),
    encoding=st.sampled_from(
        ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252", "utf-32"]
    ),
    separator=st.sampled_from([",", ";", "\t", "|"]),
    comma=st.booleans(),
    quoted=st.booleans(),
    days=st.sampled_from(["{0}-{1:02}-{2:02}", "{2}/{1}/{0}", "{1}/{2}/{0}", "{2}.{1}.{3}", "{2} {4} {0}"]),
    titles=st.integers(0, 3),
    blank_rows=st.lists(st.integers(0, 5), max_size=4).map(tuple),
    total=st.booleans(),
    spare=st.booleans(),
    end=st.sampled_from(["\n", "\r\n", "\r"]),
    workbook=st.booleans(),
)  # fmt: skip
PLAIN = Way(tuple(range(8)), (0,) * 8, "utf-8", ",", False, False, "{0}-{1:02}-{2:02}", 0, (), False, False, "\n", False)  # fmt: skip
MONTHS = ("", "Jan", "Feb", "März")


def rows_of(way: Way) -> list[list[str]]:
    """The good file as rows, in that way."""
    rows = [["Log of the ponds"], ["kept by the family"], ["Winter 2025/26"]][: way.titles]
    kinds = list(HEADINGS)
    head = [HEADINGS[kind][name % len(HEADINGS[kind])] for kind, name in zip(kinds, way.names, strict=True)]  # fmt: skip
    table = [head]
    for pond, (year, month, day), *rest in GOOD:
        written = way.days.format(year, month, day, year % 100, MONTHS[month])
        clock, *cells = rest
        if way.comma:
            cells = [cell.replace(".", ",") for cell in cells[:-1]] + cells[-1:]
        table.append([pond, written, clock, *cells])
    if way.total:
        table.append(["Average", "", "", "10", "7,5" if way.comma else "7.5", "", "", ""])
    for place in sorted(way.blank_rows, reverse=True):
        table.insert(1 + place, [""] * 8)
    ordered = [[row[place] for place in way.order] for row in table]
    if way.total and way.order[0] != 0:
        # A total says so in its first cell.
        for row in ordered:
            if "Average" in row:
                row[row.index("Average")], row[0] = "", "Average"
    rows.extend([*row, ""] if way.spare else row for row in ordered)
    return rows


def written(folder: Path, way: Way) -> Path:
    rows = rows_of(way)
    if way.workbook:
        book = openpyxl.Workbook()
        for row in rows:
            book.active.append([_typed(cell) for cell in row])
        book.save(folder / "log.xlsx")
        return folder / "log.xlsx"
    text = io.StringIO()
    quoting = csv.QUOTE_ALL if way.quoted else csv.QUOTE_MINIMAL
    csv.writer(text, delimiter=way.separator, lineterminator=way.end, quoting=quoting).writerows(rows)  # fmt: skip
    path = folder / "log.csv"
    path.write_bytes(text.getvalue().encode(way.encoding))
    return path


def _typed(cell: str) -> str | float | None:
    """Numbers as numbers, as a spreadsheet keeps them."""
    try:
        return float(cell)
    except ValueError:
        return cell or None


def check(plan: Plan[PlannedTest], codes: dict[object, str]) -> set[object]:
    """Every test planned is one of the good file, with its readings and no others."""
    seen: set[object] = set()
    for one in plan.items:
        key = (codes[one.pond], one.test.taken_at)
        temperature, ph, nitrite, bound, alkalinity = EXPECTED[key]
        values = {each.parameter: each for each in one.test.readings}
        wanted = {"temperature_c": temperature, "ph": ph, "nitrite_mg_l": nitrite, "alkalinity_mg_l": alkalinity}  # fmt: skip
        assert set(values) == {name for name, value in wanted.items() if value is not None}
        for name, reading in values.items():
            assert abs(reading.value - wanted[name]) < 1e-3, (name, reading)  # type: ignore[operator]
        if nitrite is not None:
            assert values["nitrite_mg_l"].bound == bound
        seen.add(key)
    return seen


@given(way=WAYS)
@example(way=PLAIN)
@settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_the_same_readings_however_the_file_is_written(
    sqlite_book: Book, act: Act, tmp_path: Path, way: Way
) -> None:
    codes = _ponds(sqlite_book, act)
    path = written(tmp_path, way)
    plan = read_water(path, sqlite_book, NOW)
    assert plan.refused == ()
    assert check(plan, codes) == set(EXPECTED)


@given(way=WAYS, order=st.sampled_from(["dmy", "mdy", "ymd", "each", ""]), cut=st.integers(0, 400), junk=st.binary(max_size=3))  # fmt: skip
@settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_a_damaged_file_gives_good_readings_or_a_reason(
    sqlite_book: Book, act: Act, tmp_path: Path, way: Way, order: str, cut: int, junk: bytes
) -> None:
    """Bytes lost at the end, commas for everything, and an order of days that is not its own."""
    codes = _ponds(sqlite_book, act)
    path = written(tmp_path, way)
    if not way.workbook and way.comma and way.separator == ",":
        path.write_bytes(path.read_bytes().replace(b'"', b""))
    elif cut and not way.workbook:
        path.write_bytes(path.read_bytes()[:-cut] + junk)
    try:
        plan = read_water(path, sqlite_book, NOW, shape=Shape(order=order))
    except PondroundError as error:
        assert error.message  # noqa: PT017
        return
    for one in plan.refused:
        assert one.reason
    wrong_order = bool(order) and way.days[:3] != "{0}" and "{4}" not in way.days
    commas = way.comma and way.separator == "," and not way.workbook
    if not commas and not wrong_order:
        last = max((one.line for one in (*plan.items, *plan.refused)), default=0)
        certain = [one for one in plan.items if way.workbook or not cut or one.line < last]
        check(replace(plan, items=tuple(certain)), codes)


def _ponds(book: Book, act: Act) -> dict[object, str]:
    from store.book.ponds import cards

    if not cards(book):
        add_ponds(book, act, "Upper pond", "Lower pond")
    return {card.pond.id: card.pond.code for card in cards(book)}
