"""What is shown of a sheet before it is saved: raw cells, doubles, what is asked and remembered."""

from __future__ import annotations

from pathlib import Path

import pytest
from sheets import NOW, add_ponds, sheet

from store.book.act import Act
from store.book.book import Book
from store.exchange.columns import Shape
from store.exchange.sheets import read_file
from store.exchange.water.looked import Preview, look_at_sheet
from store.exchange.water.sheets import look_at_water, save_water


def test_the_raw_cell_stands_beside_every_value(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    text = "Date,Water temp (*F),pH am,pH pm,NO2\n2026-03-01,50*F,7.4(morn),8.2 ish,\n"
    preview = look_at_water(sheet(tmp_path, text), sqlite_book, NOW, pond="P-1")
    assert preview.plan is not None
    assert [one.raw for one in preview.plan.items] == [
        (("Water temp (*F)", "50*F"),), (("pH am", "7.4(morn)"),), (("pH pm", "8.2 ish"),),
    ]  # fmt: skip
    text = "date,parameter,value,unit\n2026-03-01,temp,50,F\n2026-03-01,NH3,<0.1,\n"
    preview = look_at_water(sheet(tmp_path, text), sqlite_book, NOW, pond="P-1")
    assert preview.plan is not None
    assert preview.plan.items[0].raw == (("temp", "50 F"), ("NH3", "<0.1"))
    for one in preview.plan.items:
        assert len(one.raw) == len(one.test.readings)


def test_doubles_say_where_the_same_test_is(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    path = sheet(tmp_path, "date,pH\n2026-03-01,7.1\n2026-03-02,7.2\n2026-03-02,7.2\nTotal,21\n")
    first = look_at_water(path, sqlite_book, NOW, pond="P-1")
    assert first.plan is not None
    assert [(one.test.line, one.why) for one in first.doubled] == [
        (4, "the same as line 3 of this file")
    ]
    assert [one.line for one in first.left_out] == [5]
    save_water(sqlite_book, act, first.plan, first)
    again = look_at_water(path, sqlite_book, NOW, pond="P-1")
    assert again.plan is not None
    assert (len(again.doubled), again.plan.already) == (3, 3)
    assert {one.why for one in again.doubled} == {"in the book already"}


def test_what_is_unusual_is_asked_once(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    path = sheet(tmp_path, "date,pH,NO2 mg/L\n2026-03-01,10.4,80+\n2026-03-02,7.2,1\n")

    def looked(said: str) -> Preview:
        return look_at_water(path, sqlite_book, NOW, pond="P-1", shape=Shape(unusual=said))

    (asked,) = looked("").questions
    assert not asked.needed
    assert "pH 10.4 (line 2)" in asked.text
    assert [one.value for one in asked.answers] == ["right", "refuse"]
    for answer, lines in (("right", [2, 3]), ("refuse", [3])):
        preview = looked(answer)
        assert preview.questions == ()
        assert preview.plan is not None
        assert [one.line for one in preview.plan.items] == lines


def test_columns_that_make_no_tests_are_shown_to_be_mended(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    file = read_file(sheet(tmp_path, "Tag X,Säure\n2026-03-01,7.1\n2026-03-02,7.2\n"))
    preview = look_at_sheet(file, sqlite_book, NOW, pond="P-1")
    assert preview.plan is None
    assert preview.trouble is not None
    assert "no column with a reading" in preview.trouble.message
    assert [one.meaning for one in preview.columns] == ["taken_at", "ignore"]
    seen: list[tuple[int, int]] = []
    mended = look_at_sheet(
        file, sqlite_book, NOW, pond="P-1", shape=Shape({"säure": "pH"}),
        progress=lambda done, whole: seen.append((done, whole)),
    )  # fmt: skip
    assert mended.trouble is None
    assert mended.plan is not None
    assert len(mended.plan.items) == 2
    assert seen == [(0, 2)]


def test_ponds_are_proposed_for_the_next_file_and_never_taken(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    text = ",Top,,Bottom,\ndate,pH,temp C,pH,temp C\n2026-03-0{},7.1,9,7.2,9\n"
    said = Shape(blocks={"top": "P-1", "2": "P-2"})
    first = look_at_water(sheet(tmp_path, text.format(1)), sqlite_book, NOW, shape=said)
    assert first.plan is not None
    save_water(sqlite_book, act, first.plan, first)
    second = look_at_water(sheet(tmp_path, text.format(2), "2.csv"), sqlite_book, NOW)
    assert second.plan is None
    assert [one.about for one in second.needed] == ["Top", "Bottom"]
    assert dict(second.proposed) == {("block", "Top"): "P-1"}  # by its name, never by its number
    text = "date,pH\n2026-03-0{},7.1\n"
    first = look_at_water(sheet(tmp_path, text.format(3)), sqlite_book, NOW, pond="P-2")
    assert first.plan is not None
    save_water(sqlite_book, act, first.plan, first)
    second = look_at_water(sheet(tmp_path, text.format(4)), sqlite_book, NOW)
    assert dict(second.proposed) == {("pond", ""): "P-2"}
    assert second.plan is None


def test_an_owners_own_names_of_ponds_are_asked_about(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    text = "date,pond,pH\n2026-03-0{0},Top,7.1\n2026-03-0{0},P-2,7.2\n2026-03-0{0},?,7.3\n"
    path = sheet(tmp_path, text.format(1))
    first = look_at_water(path, sqlite_book, NOW)
    assert [(one.field, one.about, one.needed) for one in first.questions] == [
        ("block", "Top", False), ("block", "?", False),
    ]  # fmt: skip
    assert first.plan is not None
    assert [one.line for one in first.plan.items] == [3]
    said = Shape(blocks={"Top": "P-1", "?": "ignore"})
    second = look_at_water(path, sqlite_book, NOW, shape=said)
    assert second.plan is not None
    assert second.questions == ()
    assert [one.line for one in second.plan.items] == [2, 3]
    assert [one.line for one in second.plan.refused] == [4]
    save_water(sqlite_book, act, second.plan, second)
    third = look_at_water(sheet(tmp_path, text.format(2), "2.csv"), sqlite_book, NOW)
    assert dict(third.proposed) == {("block", "Top"): "P-1", ("block", "?"): "ignore"}


def test_what_was_said_by_number_holds_for_the_same_order_alone(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    said = Shape({"3": "temperature °F"})
    first = look_at_water(
        sheet(tmp_path, "date,pH,fluid\n2026-03-01,7.1,50\n"),
        sqlite_book,
        NOW,
        pond="P-1",
        shape=said,
    )
    assert first.plan is not None
    save_water(sqlite_book, act, first.plan, first)
    alike = look_at_water(
        sheet(tmp_path, "date,pH,fluid\n2026-03-02,7.1,50\n"), sqlite_book, NOW, pond="P-1"
    )
    assert alike.columns[2].words == "temperature, in °F"
    turned = look_at_water(
        sheet(tmp_path, "date,fluid,pH\n2026-03-02,50,7.1\n"), sqlite_book, NOW, pond="P-1"
    )
    assert [one.meaning for one in turned.columns] == ["date", "ignore", "reading"]
    assert turned.columns[2].words == "pH"


@pytest.mark.parametrize("again", [False, True])
def test_the_same_is_remembered_once(
    sqlite_book: Book, act: Act, tmp_path: Path, again: bool
) -> None:
    from sqlalchemy import func, select

    from store.book.tables import table

    add_ponds(sqlite_book, act, "Upper pond")
    said = Shape({"x": "pH"}, order="dmy")
    for day in (1, 2) if again else (1,):
        path = sheet(tmp_path, f"date,x\n{day}/3/2026,7.1\n")
        preview = look_at_water(path, sqlite_book, NOW, pond="P-1", shape=said)
        assert preview.plan is not None
        save_water(sqlite_book, act, preview.plan, preview)
    with sqlite_book.reading() as connection:
        query = select(func.count()).select_from(table("sheet_shape"))
        assert connection.execute(query).scalar_one() == 1
