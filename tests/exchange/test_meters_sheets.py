"""Exports of meters that measure many things, and sheets with several tests of one day in a row."""

from __future__ import annotations

from pathlib import Path

import pytest
from sheets import NOW, add_ponds, sheet

from store.book.act import Act
from store.book.book import Book
from store.exchange.columns import AskFirst, Shape
from store.exchange.water.sheets import read_water

PROBE = """Site: Fallow Pond
Instrument: MX-5 s/n 10A1234
Date,Time,Temp °C,Baro mmHg,DO %Sat,DO mg/L,SPC µS/cm,C µS/cm,TDS mg/L,SAL ppt,pH,pH mV,ORP mV,Comment
03/13/2026,9:15:00 AM,9.8,756.2,98.2,11.1,412,301,268,0.20,7.42,-35.1,180,
03/13/2026,9:20:00 AM,9.8,756.2,OVR,----,412,301,268,0.20,Over range,-35.1,180,
03/13/2026,9:25:00 AM,9.8,756.2,101.5,11.2,412,301,268,0.20,7.0,0,180,Cal pH 7.00
Cal,03/13/2026,9:30:00 AM,pH 7.01 buffer,,
03/14/2026,7:00:00 AM,9.9,755.0,----,----,>999,OL,UNDER,0.19,7.40,-34,181,calibrated yesterday
"""


def test_a_probe_of_many_sensors(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    plan = read_water(sheet(tmp_path, PROBE), sqlite_book, NOW, pond="P-1")
    assert {one.line: one.words for one in plan.items} == {
        4: "9.8 °C · DO 98.2 % · DO 11.1 mg/L · EC 412 µS/cm · salt 0.20 g/L (0.02 % = 200 ppm) · "
        "pH 7.42",
        5: "9.8 °C · EC 412 µS/cm · salt 0.20 g/L (0.02 % = 200 ppm)",
        8: "9.9 °C · EC >999 µS/cm · salt 0.19 g/L (0.019 % = 190 ppm) · pH 7.40",
    }
    assert plan.items[1].test.note == (
        "oxygen saturation: OVR; dissolved oxygen: ----; pH: Over range"
    )
    assert plan.items[2].test.note.startswith("calibrated yesterday; ")
    assert [(one.line, "calibration" in one.reason) for one in plan.refused] == [(6, True)]
    told = " ".join(plan.told)
    assert "Line 7 is a calibration" in told
    for title in ("Baro mmHg", "C µS/cm", "TDS mg/L", "pH mV", "ORP mV"):
        assert f"“{title}”" in told


def test_units_and_clocks_below_the_headings(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    text = (
        "Pond: P-1;;;;;;;\nDate;Time;Temp;pH;EC;DO;DO;Pressure\n"
        "dd.mm.yyyy;hh:mm:ss;°C;;mS/cm;%;mg/L;mbar\n"
        "13.03.2026;09:15:00;9,8;7,42;0,412;98,2;11,1;1012\n"
    )
    (one,) = read_water(sheet(tmp_path, text), sqlite_book, NOW).items
    assert one.words == ("9.8 °C · pH 7.42 · EC 412 µS/cm (0,412 mS/cm) · DO 98.2 % · DO 11.1 mg/L")


def test_a_row_for_each_sensor_and_checks_among_them(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    text = (
        "Date,Time,Parameter,Value,Unit,Temp °C\n2026-03-13,09:15,pH,7.42,pH,9.8\n"
        "2026-03-13,09:15,LDO,98.2,%,9.8\n2026-03-13,09:15,LDO,11.1,mg/L,9.8\n"
        "2026-03-13,09:16,pH Cal,7.01,pH,20\n2026-03-13,10:00,pH,7.4,pH,9\n"
        "2026-03-13,10:00,LDO,98.2,%,9.8\n"
    )
    plan = read_water(sheet(tmp_path, text), sqlite_book, NOW, pond="P-1")
    assert [one.words for one in plan.items] == ["pH 7.42 · 9.8 °C · DO 98.2 % · DO 11.1 mg/L"]
    assert [one.line for one in plan.refused] == [6, 7]
    assert "9 in one row of the test and 9.8 in another" in plan.refused[1].reason
    text = (
        "Type,Date,Time,pH\nReading,2026-03-13,09:15,7.42\nCHK,2026-03-13,09:20,7.00\n"
        "Cal 4.01,2026-03-13,09:20,4.01\n7.00 buffer,2026-03-13,09:20,7.00\n"
    )
    plan = read_water(sheet(tmp_path, text), sqlite_book, NOW, pond="P-1")
    assert ([one.line for one in plan.items], plan.refused) == ([2], ())


def test_oxygen_in_two_units_without_saying_which(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    path = sheet(tmp_path, "Date,DO,DO\n2026-03-12,11.1,98\n2026-03-13,11.3,99\n")
    with pytest.raises(AskFirst) as asked:
        read_water(path, sqlite_book, NOW, pond="P-1")
    (unit,) = asked.value.questions  # by its number, as its heading is not enough
    assert (unit.about, unit.answers[1].value) == ("3", "oxygen saturation %")
    plan = read_water(path, sqlite_book, NOW, pond="P-1", shape=Shape({"3": "oxygen saturation %"}))
    assert [one.words for one in plan.items] == [
        "DO 11.1 mg/L · DO 98 %", "DO 11.3 mg/L · DO 99 %",
    ]  # fmt: skip


def test_two_columns_for_one_thing_are_asked_about(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    path = sheet(tmp_path, "Date,Temp F,Temp C\n2026-03-13,50,10\n")
    with pytest.raises(AskFirst, match="both give temperature") as asked:
        read_water(path, sqlite_book, NOW, pond="P-1")
    answer = asked.value.questions[0].answers[0]
    assert answer.label == "read “Temp F”, not “Temp C”"
    shape = Shape({"tempc": answer.value})
    (one,) = read_water(path, sqlite_book, NOW, pond="P-1", shape=shape).items
    assert one.test.readings[0].typed == "50"


@pytest.mark.parametrize(
    ("head", "hours"),
    [
        ("Date,pH am,pH pm", [9, 15]),
        ("Date,pH (morning),pH (evening)", [9, 18]),
        ("Date,AM pH,PM pH", [9, 15]),
        (",Morning,Evening\nDate,pH,pH", [9, 18]),
        ("Date,pH 7am,pH 20:00", [7, 20]),
        ("Date,pH,pH pm", [12, 15]),
    ],
)
def test_two_tests_of_one_day_side_by_side(
    sqlite_book: Book, act: Act, tmp_path: Path, head: str, hours: list[int]
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    text = f"{head}\n2026-03-01,7.2,8.4\n2026-03-02,7.3,\n"
    plan = read_water(sheet(tmp_path, text), sqlite_book, NOW, pond="P-1")
    first = [one for one in plan.items if one.test.taken_at.day == 1]
    assert [(one.test.taken_at.hour, one.test.readings[0].value) for one in first] == [
        (hours[0], 7.2), (hours[1], 8.4),
    ]  # fmt: skip
    assert len(plan.items) == 3
    for one in plan.items:  # an hour that nobody wrote is never passed off as one that was
        assert ("supposed" in one.test.note) is (one.test.taken_at.hour not in (7, 20))


def test_what_names_no_time_is_a_test_of_its_own(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    upper, lower = add_ponds(sqlite_book, act, "Upper", "Lower")
    text = "pond,Date,time,pH am,pH pm,KH dKH\nP-1,2026-03-01,07:30,7.2,8.4,5\n"
    plan = read_water(sheet(tmp_path, text), sqlite_book, NOW)
    assert [(f"{one.test.taken_at:%H:%M}", one.words[:6]) for one in plan.items] == [
        ("07:30", "pH 7.2"), ("15:00", "pH 8.4"),
    ]  # fmt: skip
    assert [each.parameter for each in plan.items[0].test.readings] == ["ph", "alkalinity_mg_l"]
    text = text.replace("07:30", "")
    plan = read_water(sheet(tmp_path, text), sqlite_book, NOW)
    assert [(f"{one.test.taken_at:%H:%M}", one.words[:6]) for one in plan.items] == [
        ("09:00", "pH 7.2"), ("15:00", "pH 8.4"), ("12:00", "KH 5.0"),
    ]  # fmt: skip
    text = "Date,Upper pH am,Upper pH pm,Lower pH am\n2026-03-01,7.2,8.4,7.1\n"
    plan = read_water(sheet(tmp_path, text), sqlite_book, NOW)
    assert [(one.pond, one.test.taken_at.hour) for one in plan.items] == [
        (upper, 9), (upper, 15), (lower, 9),
    ]  # fmt: skip


def test_a_row_of_today_without_an_hour_asks_for_it(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper")
    text = "Date,pH am,pH pm\n2026-03-14,7.2,8.4\n"  # it is half past seven
    plan = read_water(sheet(tmp_path, text), sqlite_book, NOW, pond="P-1")
    (refused,) = plan.refused
    assert "15:00, which would be supposed, lies ahead. Write the hour." in refused.reason


def test_a_lowest_value_is_no_reading_and_air_is_no_pond(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper")
    text = (
        "Date,Temp min °C,Max temp,Air temp °C,Room temp °C,pH,salt kg\n2026-03-01,4,9,8,20,7.2,2\n"
    )
    (one,) = read_water(sheet(tmp_path, text), sqlite_book, NOW, pond="P-1").items
    assert one.words == "pH 7.2"
