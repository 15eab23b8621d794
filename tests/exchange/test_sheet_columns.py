"""What a column means, where the headings stand, and how a day is written."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from store.errors import BadInput
from store.exchange.columns import (
    Shape,
    YearRun,
    column_said,
    day_cell,
    fingerprint,
    guess_of,
    lay_out,
    order_of,
    resolved,
    shape_from,
)
from store.exchange.sheets import Grid, RawRow


def grid(*rows: str) -> Grid:
    return Grid(
        "",
        tuple(RawRow(line, tuple(row.split("|"))) for line, row in enumerate(rows, 1) if row),
    )


@pytest.mark.parametrize(
    ("title", "words"),
    [
        ("Date", "date"), ("Datum/Uhrzeit", "date and time"), ("Teich", "pond"), ("Notes", "note"),
        ("Water temp (*F)", "temperature, in °F"), ("Temp (\ufffdC)", "temperature, in °C"),
        ("Temp degrees C", "temperature, in °C"), ("temp fahrenheit", "temperature, in °F"),
        ("Sauerstoffsättigung %", "oxygen saturation, in %"), ("pH-Wert", "pH"),
        ("Leitfähigkeit [µS/cm]", "conductivity, in µS/cm"), ("Air temp", "ignore"),
        ("Water change", "ignore"), ("", "ignore"), ("why refused", "ignore"),
        ("NH3 / NH4 (ppm)", "total ammonia as N, in ppm"), ("ORP", "ignore"),
    ],
)  # fmt: skip
def test_headings(title: str, words: str) -> None:
    assert guess_of(title, 0, Shape()).words == words


def test_what_is_said_by_number_goes_before_what_is_said_by_heading() -> None:
    shape = Shape({"do": "dissolved oxygen mg/L", "3": "oxygen saturation %"})
    assert [guess_of("DO", place, shape).words for place in (1, 2)] == [
        "dissolved oxygen, in mg/L", "oxygen saturation, in %",
    ]  # fmt: skip


def test_what_a_person_says_goes_before_the_heading() -> None:
    shape = Shape(dict(map(column_said, ["Temp = temperature °F", "2=note"])))
    guess = guess_of("temp.", 0, shape)
    assert (guess.words, guess.sure) == ("temperature, in °F", "said")
    assert guess_of("pH", 1, shape).meaning == "note"
    assert guess_of("pH", 2, shape).meaning == "reading"


@pytest.mark.parametrize("text", ["Temp", "=pH", "Temp=", "Temp=colour"])
def test_what_cannot_be_said_of_a_column(text: str) -> None:
    with pytest.raises(BadInput):
        column_said(text)


def test_titles_units_totals_footnotes_and_headings_once_more() -> None:
    layout = lay_out(
        grid(
            "Log of the garden",
            "",
            "kept|by hand",
            "Date|Temp|pH|x",
            "|°C|-|",
            "2026-03-01|9|7|a",
            "Date|Temp|pH|x",
            "|°C|-|",
            "2026-03-02|9|7|b",
            "Total|18|14",
            "* drops",
            "mean of all: 9",
        )
    )
    (section,) = layout.sections
    assert section.header.line == 4
    assert section.title == "Log of the garden"
    assert section.guesses[1].words == "temperature, in °C"
    assert [row.line for row in section.rows] == [6, 9]
    assert [(one.line, one.why) for one in layout.left_out] == [
        (7, "the headings once more"), (10, "a total, no test"), (11, "a footnote or title"),
        (12, "a total, no test"),
    ]  # fmt: skip


def test_later_headings_with_another_unit_are_a_section_of_their_own() -> None:
    layout = lay_out(grid("Date|Temp F", "2026-03-01|50", "Date|Temp C", "2026-03-02|10"))
    assert [one.guesses[1].words for one in layout.sections] == [
        "temperature, in F", "temperature, in C",
    ]  # fmt: skip
    assert [[row.line for row in one.rows] for one in layout.sections] == [[2], [4]]


def test_days_are_found_by_their_cells_where_no_heading_names_them() -> None:
    layout = lay_out(grid("|pH|NO2|x", "2026-03-01|7|0.1|a", "2 Mar 2026|7|0.1|b"))
    first = layout.sections[0].guesses[0]
    assert (first.meaning, first.sure) == ("taken_at", "likely")
    numbers = lay_out(grid("x|pH|NO2", "7.4|7|0.1", "7.5|7|0.1"))
    assert numbers.sections[0].guesses[0].meaning == "ignore"  # 7.4 is no seventh of April


def test_an_hour_beside_the_day_and_a_note_are_found_by_their_cells() -> None:
    rows = (
        "Day|When|pH|Colour|What I did", "2026-03-07|am|7.6|green|", "2026-03-14|07:40|7.8|red|fed again",
        "2026-03-21|||clear|filter rinsed in pond water",
    )  # fmt: skip
    (section,) = lay_out(grid(*rows)).sections
    assert [one.words for one in section.guesses] == ["date", "time", "pH", "ignore", "note"]
    (section,) = lay_out(grid(*rows), Shape({"whatidid": "ignore", "when": "ignore"})).sections
    assert [one.words for one in section.guesses][1::3] == ["ignore", "ignore"]
    days = [f"2026-03-0{day}|{other}|7.6" for day, other in ((1, "2026-03-02"), (3, "am"))]
    (section,) = lay_out(grid("Day|When|pH", *days)).sections
    assert section.guesses[1].meaning == "taken_at", "two columns of days are not settled here"


def test_blocks_side_by_side() -> None:
    layout = lay_out(
        grid(
            "||Upper||Lower||",
            "day|weather|pH|temp C|pH|temp C|notes",
            "2026-03-01|dry|7|9|7.1|9|n",
        )
    )
    (section,) = layout.sections
    assert [(one.name, one.columns) for one in section.blocks] == [
        ("Upper", (2, 3)), ("Lower", (4, 5)),
    ]  # fmt: skip
    assert [one.block for one in section.guesses] == [None, None, 0, 0, 1, 1, None]


def test_a_source_is_known_by_its_headings_in_any_order() -> None:
    one = lay_out(grid("Date|pH|NO2", "2026-03-01|7|0"))
    other = lay_out(grid("title", "line|why refused|no2|PH|date", "1|x|0|7|2026-03-01"))
    third = lay_out(grid("Date|pH|NO3", "2026-03-01|7|0"))
    assert fingerprint(one) == fingerprint(other) != fingerprint(third)


@pytest.mark.parametrize(
    ("cell", "part"),
    [
        ("Sat am", "weekday"), ("", "no day"), ("7:40", "a time"), ("2/5 & 3/5", "two days"),
        ("2-3 May", "two days"), ("2/5/26\n3/5/26", "two days"), ("46144", "no day"),
        ("Average", "no day"), ("mid May", "no day"), ("2/5/26?", "no day"), ("1/2/3/4", "two days"),
    ],
)  # fmt: skip
def test_cells_that_are_no_day(cell: str, part: str) -> None:
    with pytest.raises(BadInput, match=part):
        day_cell(cell)


def test_a_weekday_that_is_another_is_refused() -> None:
    assert resolved(day_cell("Sat 2 May 2026"), "") == date(2026, 5, 2)
    with pytest.raises(BadInput, match="another day of the week"):
        resolved(day_cell("Mon 2 May 2026"), "")


def test_a_year_of_two_figures_may_stand_in_front() -> None:
    found = order_of([day_cell(one) for one in ("26-03-01", "26-03-02", "26-03-03", "26-03-30")])
    assert found.order == "ymd"
    assert order_of([day_cell("26-05-02")]).question is not None
    assert order_of([day_cell(f"{day}/3/26") for day in (1, 2, 13)]).order == "dmy"


def test_years_run_backwards_too() -> None:
    run = YearRun(2026)
    years = [run.of(day_cell(one), "dmy") for one in ("3/2", "5/1", "28/12", "1/12", "2/11")]
    assert years == [2026, 2026, 2025, 2025, 2025]
    assert YearRun(None).of(day_cell("3/2"), "dmy") is None


DAYS = st.dates(date(1990, 1, 1), date(2069, 12, 31))
FORMS = {
    "ymd": ("{0:%Y-%m-%d}", "{0:%Y/%m/%d}", "{0:%Y%m%d}", "{0:%Y-%m-%d} 07:40", "{0:%d %b %Y}", "{0:%a %d %B %Y}", "{0:%B %d, %Y} 7.40 am"),
    "dmy": ("{0:%d/%m/%Y}", "{0:%d.%m.%y}", "{0:%a %d-%m-%Y}", "{0.day}/{0.month}/{0:%y} pm"),
    "mdy": ("{0:%m/%d/%Y}", "{0:%m/%d/%y}", "{0:%m-%d-%Y} 7:40 PM", "{0.month}/{0.day}/{0:%Y} (morn)"),
}  # fmt: skip


@given(day=DAYS, way=st.sampled_from(list(FORMS)), form=st.integers(0, 6))
@example(day=date(2024, 2, 29), way="dmy", form=1)
def test_a_day_written_is_that_day_read(day: date, way: str, form: int) -> None:
    text = FORMS[way][form % len(FORMS[way])].format(day)
    assert resolved(day_cell(text), way) == day  # type: ignore[arg-type]


@given(days=st.lists(DAYS, min_size=1, max_size=12), way=st.sampled_from(["dmy", "mdy"]))
def test_an_order_is_found_rightly_or_asked(days: list[date], way: str) -> None:
    form = "{0:%d/%m/%Y}" if way == "dmy" else "{0:%m/%d/%Y}"
    cells = [day_cell(form.format(day)) for day in days]
    found = order_of(cells)
    if found.question is None:
        assert [resolved(cell, found.order) for cell in cells] == days
    else:
        assert all(day.day <= 12 for day in days)


@given(text=st.text(max_size=30))
def test_any_cell_is_a_day_or_a_sentence(text: str) -> None:
    try:
        found = day_cell(text)
    except BadInput as error:
        assert error.message  # noqa: PT017
        return
    for order in ("dmy", "mdy", "ymd", "each"):
        try:
            resolved(found, order, 2026)  # type: ignore[arg-type]
        except BadInput:
            continue


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=8,
)  # fmt: skip


@given(kept=st.dictionaries(st.sampled_from(list(Shape().__slots__)) | st.text(max_size=5), JSON))
def test_any_shape_that_is_kept_can_be_read(kept: dict[str, object]) -> None:
    shape = shape_from(kept)
    assert shape_from(shape.as_json()) == shape
    assert shape.over(Shape()) == shape
    assert (shape.lasting().year, shape.lasting().blocks) == (None, {})


def test_every_meaning_that_can_be_chosen_is_understood() -> None:
    from store.exchange.columns.meanings import meanings, units_of
    from store.water.parameters import PARAMETERS
    from store.water.understood import Doubt, KitForms

    for meaning in meanings():
        for unit in units_of(meaning.value):
            key, what = column_said(f"x={unit.value}")
            guess = guess_of("x", 0, Shape({key: what}))
            if meaning.value not in PARAMETERS:
                assert guess.meaning == meaning.value
                continue
            assert guess.heading is not None
            assert guess.heading.parameter == meaning.value
            read = guess.heading.read("50", KitForms())
            # Whether 50 is likely does not matter, only that the unit is one.
            said = read.question if isinstance(read, Doubt) else ""
            assert "no unit" not in said
            assert "does not suit" not in said
