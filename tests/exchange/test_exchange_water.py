"""Water tests out of sheets: what goes in, what is refused, and that nothing goes in twice."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sheets import NOW, add_ponds, sheet

from store.book.act import Act
from store.book.book import Book
from store.book.practice import practice
from store.errors import BadInput, NotFound, PondroundError
from store.exchange.columns import Shape
from store.exchange.columns.headings import heading_of
from store.exchange.plain.planned import write_refused
from store.exchange.water.looked import Preview
from store.exchange.water.sheets import look_at_water, read_water, save_water
from store.water.parameters import PARAMETERS
from store.water.understood import Doubt, KitForms, ReadingValue
from store.water.water_tests import list_tests, strike_test

WIDE = """pond,date,time,Temp (°F),pH,NH3-N mg/L,NO2 mg/L,KH dKH,air temp,note,place,by
P-1,2026-03-02,09:15,50,7.4,0.25,<0.05,4,12,clear,skimmer,
Upper pond,2026-03-09,09:40,51.8,7.5,trace,n/a,,9,,,
"""


def test_one_row_a_test_on_both_databases(book: Book, act: Act, tmp_path: Path) -> None:
    pond, _ = add_ponds(book, act, "Upper pond", "Lower pond")
    plan = read_water(sheet(tmp_path, WIDE), book, NOW)
    assert (plan.rows_read, len(plan.items), plan.refused, plan.already) == (2, 2, (), 0)
    assert any("“air temp”" in sentence for sentence in plan.told)
    assert list_tests(book, pond) == ()  # reading a plan saves nothing
    assert save_water(book, act, plan).added == 2

    newest, first = list_tests(book, pond)
    assert first.taken_at == datetime(2026, 3, 2, 9, 15, tzinfo=UTC)
    assert (first.note, first.place, first.way) == ("clear", "skimmer", "file")
    assert first.readings["temperature_c"].value == pytest.approx(10.0)
    assert first.readings["temperature_c"].typed == "50"
    assert first.readings["tan_mg_l"].form == "n"
    assert first.readings["nitrite_mg_l"].bound == "<"
    assert first.readings["alkalinity_mg_l"].value == pytest.approx(71.39, abs=0.01)
    assert newest.readings["tan_mg_l"].bound == ">"
    assert set(newest.readings) == {"temperature_c", "ph", "tan_mg_l"}  # blank is not tested


def test_the_same_file_twice_adds_nothing_twice(book: Book, act: Act, tmp_path: Path) -> None:
    pond, _ = add_ponds(book, act, "Upper pond", "Lower pond")
    path = sheet(tmp_path, WIDE)
    early = read_water(path, book, NOW)
    save_water(book, act, early)
    again = read_water(path, book, NOW)
    assert (len(again.items), again.already) == (0, 2)
    assert any("This very file" in sentence for sentence in again.told)
    assert save_water(book, act, again).added == 0
    done = save_water(book, act, early)  # a plan made before the other one was saved
    assert (done.added, done.already) == (0, 2)
    assert len(list_tests(book, pond)) == 2


def test_a_test_struck_through_does_not_come_back(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    pond, _ = add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    path = sheet(tmp_path, WIDE)
    save_water(sqlite_book, act, read_water(path, sqlite_book, NOW))
    newest = list_tests(sqlite_book, pond)[0]
    strike_test(sqlite_book, act, newest.key, newest.rev, "wrong pond")
    assert read_water(path, sqlite_book, NOW).already == 2


def test_another_test_of_the_same_instant_is_refused(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    save_water(sqlite_book, act, read_water(sheet(tmp_path, WIDE), sqlite_book, NOW))
    changed = sheet(tmp_path, WIDE.replace("7.4", "7.9"), "second.csv")
    plan = read_water(changed, sqlite_book, NOW)
    assert (len(plan.items), plan.already) == (0, 1)
    assert [one.line for one in plan.refused] == [2]
    assert "same time" in plan.refused[0].reason


def test_one_row_a_reading(book: Book, act: Act, tmp_path: Path) -> None:
    pond, _ = add_ponds(book, act, "Upper pond", "Lower pond")
    text = """pond;taken_at;parameter;value;unit;form
P-1;2026-03-02T09:15+01:00;temperature;9,5;°C;
P-1;2026-03-02T08:15Z;ammonia;0,5;mg/L;as NH4
P-1;2026-03-02 08:15;pH;7,4;;
P-2;2026-03-02 08:30;pH;74;;
P-2;2026-03-02 08:30;KH;4;dKH;
"""
    plan = read_water(sheet(tmp_path, text), book, NOW)
    assert [len(one.test.readings) for one in plan.items] == [3]
    assert [(one.line, "7.4?" in one.reason) for one in plan.refused] == [(5, True), (6, False)]
    assert "line 5" in plan.refused[1].reason
    save_water(book, act, plan)
    (test,) = list_tests(book, pond)
    assert test.readings["temperature_c"].value == 9.5
    assert test.readings["tan_mg_l"].value == pytest.approx(0.388, abs=0.001)


def test_one_bad_row_does_not_stop_the_rest(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    text = """pond,taken_at,temp C,pH
P-1,2026-03-01 09:00,9.5,7.2
P-9,2026-03-01 09:00,9.5,7.2
P-1,2026-02-30 09:00,9.5,7.2
P-1,2026-03-02 25:00,9.5,7.2
P-1,3/4/2026 09:00,9.5,7.2
P-1,2026-03-20 09:00,9.5,7.2
P-1,2026-03-03 09:00,9.5,68
P-1,2026-03-04 09:00,,
P-1,2026-03-05 09:00,9.5,7.2,surplus
,2026-03-06 09:00,9.5,7.2
P-1,2026-03-07 09:00,9.5,7.2
"""
    path = sheet(tmp_path, text)
    plan = read_water(path, sqlite_book, NOW, shape=Shape(order="each"))
    assert [one.line for one in plan.items] == [2, 12]
    assert [one.line for one in plan.refused] == [3, 4, 5, 6, 7, 8, 9, 10, 11]
    reasons = [one.reason for one in plan.refused]
    for part, reason in zip(
        ("No pond goes by", "no day of the calendar", "no time", "either order", "lies ahead",
         "6.8?", "Nothing was measured", "more cells", "which pond"),
        reasons,
        strict=True,
    ):  # fmt: skip
        assert part in reason
    place = write_refused(plan)
    assert place is not None
    assert place.name == "sheet.refused.csv"
    assert place.stat().st_mode & 0o077 == 0
    assert write_refused(plan) == place  # the same rows are not written a second time
    save_water(sqlite_book, act, plan)

    corrected = place.read_text(encoding="utf-8").replace("9.5,68", "9.5,6.8")
    place.write_text(corrected, encoding="utf-8")
    second = read_water(place, sqlite_book, NOW, shape=Shape(order="each"))
    assert [one.test.readings[1].value for one in second.items] == [6.8]
    assert write_refused(second) == tmp_path / "sheet.refused-2.csv"
    assert path.read_text(encoding="utf-8") == text


def test_which_pond_is_never_guessed(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    pond, _ = add_ponds(sqlite_book, act, "Big pond", "Big pond")
    text = "pond,taken_at,pH\nBig pond,2026-03-01 09:00,7.2\n"
    plan = read_water(sheet(tmp_path, text), sqlite_book, NOW)
    assert plan.items == ()
    assert "name of 2 ponds" in plan.refused[0].reason
    assert "P-2" in plan.refused[0].reason
    nameless = sheet(tmp_path, "taken_at,pH\n2026-03-01 09:00,7.2\n")
    with pytest.raises(BadInput, match="no column pond"):
        read_water(nameless, sqlite_book, NOW)
    with pytest.raises(NotFound):
        read_water(nameless, sqlite_book, NOW, pond="big pond")
    (one,) = read_water(nameless, sqlite_book, NOW, pond="p-1").items
    assert one.pond == pond
    other = sheet(tmp_path, "pond,taken_at,pH\nP-2,2026-03-01 09:00,7.2\n")
    assert "another pond" in read_water(other, sqlite_book, NOW, pond="P-1").refused[0].reason


def test_the_kit_of_the_pond_says_the_form(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    with sqlite_book.writing(act) as writing:
        kit = writing.add("kit", name="Drops", ammonia_form="nh4", nitrite_form="no2")
    add_ponds(sqlite_book, act, "Upper pond", kit_id=kit)
    add_ponds(sqlite_book, act, "Elsewhere")
    text = "pond,date,ammonia,nitrate\nUpper pond,2026-03-01,1,20\n"
    plan = read_water(sheet(tmp_path, text), sqlite_book, NOW)
    tan, nitrate = plan.items[0].test.readings
    assert (tan.form, nitrate.form, nitrate.low) == ("nh4", "unknown", 20.0)
    assert plan.items[0].test.kit_id == kit
    assert "noon" in plan.items[0].test.note
    assert plan.items[0].test.taken_at == datetime(2026, 3, 1, 12, tzinfo=UTC)
    assert any("NO3" in sentence and "ranges" in sentence for sentence in plan.told)
    assert any("names no unit" in sentence for sentence in plan.told)
    assert any("1 test without a time of day" in sentence for sentence in plan.told)
    assert any("kept as made with “Drops”" in sentence for sentence in plan.told)


def test_the_practices_kit_speaks_only_where_a_person_says_so(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    holder = practice(sqlite_book)
    assert holder is not None
    with sqlite_book.writing(act) as writing:
        kit = writing.add("kit", name="Drops", ammonia_form="nh4", nitrite_form="no2")
        writing.change("practice", holder.id, holder.rev, kit_id=kit)
    path = sheet(tmp_path, "pond,date,ammonia\nUpper pond,2026-03-01,1\n")

    def looked(said: str) -> Preview:
        return look_at_water(path, sqlite_book, NOW, shape=Shape(kit=said))

    asked = looked("")
    (question,) = asked.questions
    assert (question.field, question.needed) == ("kit", False)
    assert "TAN" in question.text
    assert "“Drops”" in question.text
    for said, form, key in (("", "unknown", None), ("unknown", "unknown", None),
                            ("practice", "nh4", kit)):  # fmt: skip
        plan = looked(said).plan
        assert plan is not None
        (one,) = plan.items
        assert (one.test.readings[0].form, one.test.kit_id) == (form, key)
    assert looked("unknown").questions == ()
    named = sheet(tmp_path, "pond,date,ammonia mg/L N\nUpper pond,2026-03-01,1\n", "named.csv")
    assert look_at_water(named, sqlite_book, NOW).questions == ()


def test_who_took_the_test_is_noted(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    pond, _ = add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    text = "pond,taken_at,pH,by\nP-1,2026-03-01 09:00,7.2,Ada Vet\nP-1,2026-03-02 09:00,7.2,Jory\n"
    save_water(sqlite_book, act, read_water(sheet(tmp_path, text), sqlite_book, NOW))
    assert [test.note for test in list_tests(sqlite_book, pond)] == ["taken by Jory", ""]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_text_of_any_kind_is_kept_literally(
    sqlite_book: Book, act: Act, tmp_path: Path, encoding: str
) -> None:
    pond, _ = add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    text = (
        'pond,taken_at,pH,note\nP-1,2026-03-01 09:00,7.2,"[b]fish[/b] 🐟 \x1b[31mred,\ntwo lines"\n'
    )
    save_water(
        sqlite_book, act, read_water(sheet(tmp_path, text, encoding=encoding), sqlite_book, NOW)
    )
    (test,) = list_tests(sqlite_book, pond)
    assert test.note == "[b]fish[/b] 🐟 �[31mred,\ntwo lines"


@pytest.mark.parametrize(
    ("data", "part"),
    [
        (b"", "no header"),
        (b"PK\x03\x04\0\0\0\0", "as a workbook"),
        (b"%PDF-1.7", "no text"),
        (b"pond,taken_at\nP-1,2026-03-01\n", "no column with a reading"),
        (b"pond,code,taken_at,pH\n", "Two columns"),
        (b"name,pH\n", "no column with days"),
    ],
)
def test_a_file_that_is_no_sheet_is_refused_in_a_sentence(
    sqlite_book: Book, act: Act, tmp_path: Path, data: bytes, part: str
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    path = tmp_path / "odd.csv"
    path.write_bytes(data)
    with pytest.raises(BadInput, match=part):
        read_water(path, sqlite_book, NOW)


def test_a_missing_file_is_a_sentence(sqlite_book: Book, tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="cannot be read"):
        read_water(tmp_path / "none.csv", sqlite_book, NOW)


def test_a_plan_that_cannot_be_saved_leaves_nothing(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    pond, _ = add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    plan = read_water(sheet(tmp_path, WIDE), sqlite_book, NOW)
    wrong = replace(plan.items[1], test=replace(plan.items[1].test, note="x" * 30_000))
    with pytest.raises(BadInput):
        save_water(sqlite_book, act, replace(plan, items=(plan.items[0], wrong)))
    assert list_tests(sqlite_book, pond) == ()


@pytest.mark.parametrize(
    ("title", "parameter", "unit", "name"),
    [
        ("temperature_c", "temperature_c", "°C", ""),
        ("Temp_F", "temperature_c", "F", ""),
        ("Water temp. °C", "temperature_c", "°C", ""),
        ("tan_mg_l", "tan_mg_l", "mg/L N", ""),
        ("NO2", "nitrite_mg_l", "", "NO2"),
        ("NO2-N [mg/L]", "nitrite_mg_l", "mg/L NO2-N", ""),
        ("Ammonia as NH3", "tan_mg_l", "as NH3", ""),
        ("KH (mg/L CaCO3)", "alkalinity_mg_l", "mg/L CaCO3", ""),
        ("DO %", "oxygen_percent", "", ""),
        ("EC (mS/cm)", "conductivity_us_cm", "mS/cm", ""),
        ("conductivity_us_cm", "conductivity_us_cm", "µS/cm", ""),
    ],
)
def test_headings(title: str, parameter: str, unit: str, name: str) -> None:
    heading = heading_of(title)
    assert heading is not None
    assert (heading.parameter, heading.unit, heading.name) == (parameter, unit, name)


@pytest.mark.parametrize("title", ["air temp", "free ammonia", "pond", "", "phone", "TDS"])
def test_headings_of_other_things(title: str) -> None:
    assert heading_of(title) is None


@given(
    code=st.sampled_from(list(PARAMETERS)),
    text=st.text(max_size=30)
    | st.from_regex(r"[<>~]?-?[0-9]{1,4}([.,][0-9]{1,3})?[+]?", fullmatch=True),
)
def test_any_cell_gives_a_reading_that_can_be_or_a_question(code: str, text: str) -> None:
    heading = heading_of(code)
    assert heading is not None
    answer = heading.read(text, KitForms())
    assert answer is None or isinstance(answer, ReadingValue | Doubt)
    if isinstance(answer, ReadingValue):
        assert answer.parameter == code
        low, high = PARAMETERS[code].possible_low, PARAMETERS[code].possible_high
        assert low <= answer.value <= high


@given(text=st.text(max_size=60))
def test_any_heading_is_a_parameter_or_nothing(text: str) -> None:
    heading = heading_of(text)
    if heading is not None:
        answer = heading.read("1", KitForms())
        assert isinstance(answer, ReadingValue | Doubt)


def test_a_book_only_for_reading_says_so(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    plan = read_water(sheet(tmp_path, WIDE), sqlite_book, NOW)
    sqlite_book.only_read = "This book may only be read."
    with pytest.raises(PondroundError, match="only be read"):
        save_water(sqlite_book, act, plan)
