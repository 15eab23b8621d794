"""Keepers' sheets with all that people do to them: read rightly, or refused with a reason."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.styles import Font
from sheets import NOW, add_ponds, sheet

from store.book.act import Act
from store.book.book import Book
from store.errors import BadInput
from store.exchange.columns import AskFirst, Shape
from store.exchange.plain.planned import Plan, write_refused
from store.exchange.water.rows import PlannedTest
from store.exchange.water.sheets import look_at_water, read_water, save_water
from store.water.water_tests import list_tests

LOG: list[list[Any]] = [
    ["Garden ponds, my log"],
    [None, "Upper pond", None, None, None, "Lower pond", None, None],
    ["Date", "Water temp (*F)", "pH", "NH3", "NO2", "Temp F", "pH", "NO2", "notes", "Air temp"],
    ["2/3", "50", "8.2 ish", "<0.1", "0-.25", "51", "7.4(morn)", "trace", "salt 2 cups", 44],
    ["9/3 am", 52, "7,6", "n/a", "-"],
    ["Sat am", 52, 7.6, "0.25", "5+", None, None, None, "x"],
    ["16/3 & 17/3", 52, 7.6, 0.25, 0.1, 52, 7.5, 0.1],
    ["23/3", 53, 7.6, 0.25, 0.1, "OVR", "----", "ND"],
    ["Average", 52, 7.6, 0.2, 0.1, 52, 7.5, 0.1],
    ["* measured with drops"],
    ["Date", "Temp C", "pH", "NH3", "NO2", "Temp C", "pH", "NO2", "notes", "Air temp"],
    ["30/3", 11.5, 7.6, 0.25, 0.1, 12, 7.5, 0.1],
]


def log_book(folder: Path) -> Path:
    book = openpyxl.Workbook()
    page = book.active
    for row in LOG:
        page.append(row)
    for cells in ("A1:H1", "B2:E2", "F2:H2"):
        page.merge_cells(cells)
    path = folder / "log.xlsx"
    book.save(path)
    return path


def at(plan: Plan[PlannedTest]) -> list[tuple[int, str]]:
    return [(one.line, f"{one.test.taken_at:%m-%d %H}") for one in plan.items]


def reasons(plan: Plan[PlannedTest]) -> dict[int, str]:
    return {one.line: one.reason for one in plan.refused}


def test_a_keepers_workbook(book: Book, act: Act, tmp_path: Path) -> None:
    upper, lower = add_ponds(book, act, "Upper pond", "Lower pond")
    path = log_book(tmp_path)
    with pytest.raises(AskFirst) as asked:
        read_water(path, book, NOW)
    (year,) = asked.value.questions
    assert (year.field, [one.value for one in year.answers][:2]) == ("year", ["2026", "2025"])

    plan = read_water(path, book, NOW, shape=Shape(year=2025))
    assert any("day before month" in one and "23/3" in one for one in plan.told)
    assert at(plan) == [
        (4, "03-02 12"), (4, "03-02 12"), (5, "03-09 09"), (8, "03-23 12"), (8, "03-23 12"),
        (12, "03-30 11"), (12, "03-30 11"),
    ]  # fmt: skip
    assert [one.called for one in plan.items[:2]] == ["Upper pond", "Lower pond"]
    assert "weekday" in reasons(plan)[6]
    assert "two days" in reasons(plan)[7]
    assert set(reasons(plan)) == {6, 7}
    assert any("Line 9 is a total" in one for one in plan.told)
    assert any("Line 10 is a footnote" in one for one in plan.told)
    assert any("“Air temp”" in one for one in plan.told)
    save_water(book, act, plan)

    first = list_tests(book, upper)[-1]
    assert first.readings["temperature_c"].value == pytest.approx(10.0)
    assert (first.readings["ph"].bound, first.readings["ph"].typed) == ("~", "8.2 ish")
    ammonia = first.readings["tan_mg_l"]
    assert (ammonia.bound, ammonia.typed, ammonia.value > 0) == ("<", "<0.1", True)
    nitrite = first.readings["nitrite_mg_l"]
    assert (nitrite.low, nitrite.high, nitrite.typed) == (0.0, 0.25, "0-.25")
    assert "salt 2 cups" in first.note
    low = list_tests(book, lower)[-1]
    assert low.readings["ph"].value == 7.4
    assert "7.4(morn)" in low.note
    assert (low.readings["nitrite_mg_l"].bound, low.readings["nitrite_mg_l"].value) == (">", 0.0)
    over = list_tests(book, lower)[1]
    assert set(over.readings) == {"nitrite_mg_l"}
    assert over.readings["nitrite_mg_l"].bound == "<"  # not detected, and not zero
    assert "OVR" in over.note
    assert "----" in over.note
    assert list_tests(book, lower)[0].readings["temperature_c"].value == 12.0  # the later headings
    morning = list_tests(book, upper)[2]
    assert "“am” typed for the time, 09:00 supposed" in morning.note
    assert set(morning.readings) == {"temperature_c", "ph"}

    again = read_water(path, book, NOW, shape=Shape(year=2025))
    assert (again.items, again.already) == ((), 7)


def test_refused_rows_come_back_under_their_own_headings(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    path = log_book(tmp_path)
    broken = openpyxl.load_workbook(path)
    broken.active["B12"] = 115
    broken.save(path)
    plan = read_water(path, sqlite_book, NOW, shape=Shape(year=2025))
    assert set(reasons(plan)) == {6, 7, 12}
    assert "Upper pond: " in reasons(plan)[12]
    save_water(sqlite_book, act, plan)
    beside = write_refused(plan)
    assert beside is not None
    text = beside.read_text(encoding="utf-8")
    text = text.replace("Sat am", "14/3").replace("16/3 & 17/3", "16/3").replace(",115,", ",11.5,")
    beside.write_text(text, encoding="utf-8")
    second = read_water(beside, sqlite_book, NOW, shape=Shape(year=2025, order="dmy"))
    assert second.refused == ()
    assert second.already == 1  # the pond beside the one that was refused
    temperatures = [
        reading.value
        for one in second.items
        for reading in one.test.readings
        if reading.parameter == "temperature_c"
    ]
    assert temperatures == pytest.approx([100 / 9, 100 / 9, 100 / 9, 11.5])  # 52 °F, then °C


DAYS = "pond,date,pH\nP-1,{},7.1\nP-1,{},7.2\n"


@pytest.mark.parametrize(
    ("days", "order", "found"),
    [
        (("2/5/2025", "13/5/2025"), "", ["05-02", "05-13"]),
        (("2/5/2025", "5/13/2025"), "", ["02-05", "05-13"]),
        (("2/5/2025", "3/5/2025"), "dmy", ["05-02", "05-03"]),
        (("2/5/2025", "3/5/2025"), "mdy", ["02-05", "03-05"]),
        (("5/5/2025", "7.7.2025"), "", ["05-05", "07-07"]),
        (("Fri 2/5/2025", "3/5/2025"), "", ["05-02", "05-03"]),  # 2 May 2025 was a Friday
        (("2 May 2025", "May 3, 2025"), "", ["05-02", "05-03"]),
        (("2. Mai 2025", "3. März 25"), "", ["05-02", "03-03"]),
        (("20250502", "2025/05/03"), "", ["05-02", "05-03"]),
        (("25-05-28", "25-05-29"), "ymd", ["05-28", "05-29"]),
    ],
)
def test_days_in_every_way(
    sqlite_book: Book,
    act: Act,
    tmp_path: Path,
    days: tuple[str, str],
    order: str,
    found: list[str],
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    text = DAYS.format(*(f'"{day}"' for day in days))
    plan = read_water(sheet(tmp_path, text), sqlite_book, NOW, shape=Shape(order=order))
    assert [f"{one.test.taken_at:%Y-%m-%d}" for one in plan.items] == [
        f"2025-{day}" for day in found
    ]


def test_an_order_that_no_day_shows_is_asked_once(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    path = sheet(tmp_path, DAYS.format("2/5/2025", "3/5/2025"))
    with pytest.raises(AskFirst, match="either order") as asked:
        read_water(path, sqlite_book, NOW)
    assert [one.value for one in asked.value.questions[0].answers] == ["dmy", "mdy", "each"]
    assert asked.value.field == "order"


def test_both_orders_in_one_column(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    text = DAYS.format("13/5/2025", "5/14/2025") + "P-1,2/6/2025,7.3\n"
    path = sheet(tmp_path, text)
    with pytest.raises(AskFirst, match="both ways"):
        read_water(path, sqlite_book, NOW)
    plan = read_water(path, sqlite_book, NOW, shape=Shape(order="each"))
    assert [one.line for one in plan.items] == [2, 3]
    assert "either order" in reasons(plan)[4]
    plan = read_water(path, sqlite_book, NOW, shape=Shape(order="dmy"))
    assert [one.line for one in plan.items] == [2, 4]
    assert "no day of the calendar" in reasons(plan)[3]


def test_a_heading_may_state_the_order(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    text = "pond,Date (mm/dd/yyyy),pH\nP-1,2/5/2025,7.1\n"
    plan = read_water(sheet(tmp_path, text), sqlite_book, NOW)
    assert plan.items[0].test.taken_at.date() == date(2025, 2, 5)


def test_a_year_turns_where_the_months_begin_anew(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    text = "pond,date,pH\n" + "".join(
        f"P-1,{day},7.{place}\n" for place, day in enumerate(["20 Nov", "24 Dec", "3 Jan", "7 Feb"])
    )
    plan = read_water(sheet(tmp_path, text), sqlite_book, NOW, shape=Shape(year=2025))
    assert [one.test.taken_at.date() for one in plan.items] == [
        date(2025, 11, 20), date(2025, 12, 24), date(2026, 1, 3), date(2026, 2, 7),
    ]  # fmt: skip


def test_blank_is_never_taken_for_the_row_above_by_itself(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    text = 'date,pond,pH\n2026-03-01,P-1,7.1\n"""",P-2,7.3\n,P-2,7.2\n2026-03-03,,7.4\n'
    path = sheet(tmp_path, text)
    preview = look_at_water(path, sqlite_book, NOW)
    assert [(one.field, one.needed) for one in preview.questions] == [("blank", False)]
    plan = read_water(path, sqlite_book, NOW)
    assert [one.line for one in plan.items] == [2, 3]  # a ditto mark says so by itself
    assert "no day" in reasons(plan)[4]
    plan = read_water(path, sqlite_book, NOW, shape=Shape(blank="same"))
    assert [one.line for one in plan.items] == [2, 3, 5]
    assert plan.items[1].test.taken_at.date() == date(2026, 3, 1)
    assert "same time" in reasons(plan)[4]


def test_a_refused_row_is_still_the_one_above(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    text = "date,pond,pH\n2026-03-01,P-1,7.1\n2026-03-02,P-1,68,,\n,P-2,7.2\n2026-02-30,P-1,7\n,P-2,7\n"
    plan = read_water(sheet(tmp_path, text), sqlite_book, NOW, shape=Shape(blank="same"))
    assert [(one.line, one.test.taken_at.day) for one in plan.items] == [(2, 1), (4, 2)]
    assert set(reasons(plan)) == {3, 5, 6}


def test_a_column_without_unit_is_asked_about_where_its_numbers_do_not_suit(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    text = "pond,date,Temp,KH\nP-1,2026-03-01,35,80\nP-1,2026-03-02,50,120\n"
    path = sheet(tmp_path, text)
    with pytest.raises(AskFirst) as asked:
        read_water(path, sqlite_book, NOW)
    assert [(one.field, one.about) for one in asked.value.questions] == [
        ("column", "Temp"), ("column", "KH"),
    ]  # fmt: skip
    shape = Shape({"temp": "temperature °F", "kh": "alkalinity mg/L CaCO3"})
    plan = read_water(path, sqlite_book, NOW, shape=shape)
    values = [[reading.value for reading in one.test.readings] for one in plan.items]
    assert values[0] == pytest.approx([5 / 3, 80.0])
    assert values[1] == pytest.approx([10.0, 120.0])


def test_what_is_unusual_is_saved_once_a_person_says_it_is_right(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    text = "date,pH,NO2 mg/L\n2026-03-01,10.4,80+\n2026-03-02,72,1\n2026-03-03,7.4 x,1\n"
    path = sheet(tmp_path, text)
    assert read_water(path, sqlite_book, NOW, pond="P-1").items == ()
    plan = read_water(path, sqlite_book, NOW, pond="P-1", shape=Shape(unusual="right"))
    assert [[each.value for each in one.test.readings] for one in plan.items] == [[10.4, 80.0]]
    assert set(reasons(plan)) == {3, 4}  # what cannot be stays refused


def test_a_column_that_mixes_units_is_asked_about(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    text = "date,Temp\n2026-03-01,48F\n2026-03-02,9C\n2026-03-03,10*\n"
    plan = read_water(sheet(tmp_path, text), sqlite_book, NOW, pond="P-1")
    values = [one.test.readings[0].value for one in plan.items]
    assert values == pytest.approx([80 / 9, 9.0, 10.0])
    assert not any("names no unit" in one for one in plan.told)  # every cell says it
    with pytest.raises(AskFirst, match="48F"):
        read_water(sheet(tmp_path, text + "2026-03-04,30\n"), sqlite_book, NOW, pond="P-1")


def test_what_was_said_is_remembered_for_the_next_file_of_that_source(
    book: Book, act: Act, tmp_path: Path
) -> None:
    (pond,) = add_ponds(book, act, "Upper pond")
    said = Shape({"t1": "temperature °F", "k": "ignore"}, order="dmy", year=2025)
    head = "pond,date,t1,k,pH\n"
    first = look_at_water(sheet(tmp_path, head + "P-1,2/5/2025,50,9,7.1\n"), book, NOW, shape=said)
    assert first.plan is not None
    save_water(book, act, first.plan, first)
    again = sheet(tmp_path, "pH,k,t1,date,pond\n7.2,9,59,3/5/2025,P-1\n", "second.csv")
    second = look_at_water(again, book, NOW)
    assert second.plan is not None
    assert any("sheet.csv" in one for one in second.told)
    assert second.shape.year is None
    save_water(book, act, second.plan, second)
    assert [
        (test.taken_at.month, round(test.readings["temperature_c"].value, 6))
        for test in list_tests(book, pond)
    ] == [(5, 15.0), (5, 10.0)]
    with pytest.raises(AskFirst):
        read_water(sheet(tmp_path, "pond,date,t1,k,pH,x\nP-1,3/5/2025,1,1,7,\n"), book, NOW)
    afresh = look_at_water(again, book, NOW, use_remembered=False)
    assert [one.field for one in afresh.needed] == ["order"]


def test_a_meters_export(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    text = (
        "Date;Time;Temp[\xb0C];pH;ORP[mV];EC[\xb5S/cm];DO[%];DO[mg/L];Baro[mbar];Mode\n"
        "02.03.2026;09:15:00;9,8;7,42;180;412;98,2;11,1;1012;LOG\n"
        "02.03.2026;09:20:00;9,8;7,01;180;----;OVR;11,1;1012;CAL\n"
        "13.03.2026;09:15:00;9,9;7,40;180;----;OVR;11,0;1012;LOG\n"
    )
    plan = read_water(sheet(tmp_path, text, encoding="cp1252"), sqlite_book, NOW, pond="P-1")
    assert [one.line for one in plan.items] == [2, 4]
    assert [len(one.test.readings) for one in plan.items] == [5, 3]
    assert "oxygen saturation: OVR" in plan.items[1].test.note
    assert any("Line 3 is a calibration" in one for one in plan.told)
    assert any("Windows-1252" in one for one in plan.told)
    assert plan.items[0].test.taken_at == datetime(2026, 3, 2, 9, 15, tzinfo=UTC)


def test_units_on_the_second_line(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    text = "date,temp,pH,NO2,EC\n,°F,-,mg/L,mS/cm\n2026-03-01,50,7.2,0.1,0.41\n"
    (one,) = read_water(sheet(tmp_path, text), sqlite_book, NOW, pond="P-1").items
    assert [reading.value for reading in one.test.readings] == pytest.approx([10, 7.2, 0.1, 410])


def test_ponds_in_the_headings_and_blocks_without_a_name(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    upper, lower = add_ponds(sqlite_book, act, "Upper", "Lower pond")
    text = "date,Upper pH,Upper temp °C,Lower pond pH\n2026-03-01,7.1,9,7.4\n"
    plan = read_water(sheet(tmp_path, text), sqlite_book, NOW)
    assert [(one.pond, one.test.readings[0].value) for one in plan.items] == [
        (upper, 7.1), (lower, 7.4),
    ]  # fmt: skip
    text = "date,pH,temp °C,pH,temp °C\n2026-03-01,7.1,9,7.4,9.5\n"
    path = sheet(tmp_path, text)
    with pytest.raises(AskFirst, match="Which pond") as asked:
        read_water(path, sqlite_book, NOW)
    assert [one.about for one in asked.value.questions] == ["1", "2"]
    plan = read_water(path, sqlite_book, NOW, shape=Shape(blocks={"1": "P-1", "2": "ignore"}))
    assert [(one.pond, one.test.readings[0].value) for one in plan.items] == [(upper, 7.1)]


def test_blocks_with_days_of_their_own(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    upper, lower = add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    text = (
        "Upper pond,,,,Lower pond,,\ndate,pH,temp °C,,date,pH,temp °C\n"
        "2026-03-01,7.1,9,,2026-03-02,7.4,9.5\n,,,,2026-03-03,7.5,\n"
    )
    plan = read_water(sheet(tmp_path, text), sqlite_book, NOW)
    assert [(one.pond, one.test.taken_at.day) for one in plan.items] == [
        (upper, 1), (lower, 2), (lower, 3),
    ]  # fmt: skip
    assert plan.refused == ()


def test_ponds_below_each_other_with_their_names_above(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    upper, lower = add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    text = (
        "Upper pond\ndate,pH\n2026-03-01,7.1\n2026-03-02,7.2\n\n"
        "Lower pond\ndate,pH\n2026-03-01,7.4\nTotal,29\n"
    )
    plan = read_water(sheet(tmp_path, text), sqlite_book, NOW)
    assert [(one.pond, one.line) for one in plan.items] == [(upper, 3), (upper, 4), (lower, 8)]


def test_hidden_columns_and_what_is_crossed_out(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    made = openpyxl.Workbook()
    page = made.active
    for row in (["date", "pH", "NO2", "KH dKH"], [date(2026, 3, 1), 7.1, 0.5, 4],
                [date(2026, 3, 2), 7.2, 0.6, 5]):  # fmt: skip
        page.append(row)
    page.column_dimensions["C"].hidden = True
    page["B3"].font = Font(strike=True)
    made.save(tmp_path / "log.xlsx")
    plan = read_water(tmp_path / "log.xlsx", sqlite_book, NOW, pond="P-1")
    assert [[each.parameter for each in one.test.readings] for one in plan.items] == [
        ["ph", "alkalinity_mg_l"]
    ]
    assert "crossed out" in reasons(plan)[3]
    assert any("NO2" in one and "hidden" in one for one in plan.told)
    shape = Shape({"no2": "nitrite mg/L NO2"})
    plan = read_water(tmp_path / "log.xlsx", sqlite_book, NOW, pond="P-1", shape=shape)
    assert len(plan.items[0].test.readings) == 3


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("date,temp C,pH\n2026-03-01,9,5,7,2\n2026-03-02,9,6,7,3\n2026-03-03,10,7\n", "commas"),
        ("Nothing here\nat all\n", "no column"),
        ("date,date,pH\n", "Two columns"),
    ],
)
def test_files_that_cannot_be_certain(
    sqlite_book: Book, act: Act, tmp_path: Path, text: str, part: str
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    with pytest.raises(BadInput, match=part):
        read_water(sheet(tmp_path, text), sqlite_book, NOW, pond="P-1")


@pytest.mark.parametrize(
    "cell", ["1.234", "0.25/0.5", "off the chart", "7\N{REPLACEMENT CHARACTER}2", "none", "same", "-999", "ok"]
)  # fmt: skip
def test_cells_that_are_refused_with_a_reason(
    sqlite_book: Book, act: Act, tmp_path: Path, cell: str
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    text = f"date;NO3 mg/L;pH\n2026-03-01;{cell};7,2\n2026-03-02;20;7,3\n"
    plan = read_water(sheet(tmp_path, text), sqlite_book, NOW, pond="P-1")
    assert [one.line for one in plan.items] == [3]
    assert cell in reasons(plan)[2]
