"""Tables and charts on sheets of paper: as text, Markdown and PDF."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from io import BytesIO
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from store.paper.chart import (
    Chart,
    ChartLimit,
    ChartMark,
    chart_lines,
    chart_words,
    drawn_limits,
    runs,
    scale,
)
from store.paper.paper import Paper, Part, as_markdown, as_text
from store.paper.pdf import as_pdf
from store.paper.table import Table, table_lines

DAY = datetime(2026, 1, 5, 8, 0)  # noqa: DTZ001 - local, as charts are
ON = date(2026, 3, 14)


def paper_with(*parts: Part) -> Paper:
    return Paper("Sheet", (("Pond", "lower"),), parts, "foot", ON)


def chart_of(values: tuple[float, ...], **more: Any) -> Chart:
    times = more.pop("times", tuple(DAY + timedelta(days=7 * n) for n in range(len(values))))
    usual = {"label": "nitrite", "unit": "mg/L", "decimals": 2}
    start = more.pop("start", DAY - timedelta(days=1))
    end = more.pop("end", None) or times[-1] + timedelta(days=1)
    return Chart(**{**usual, **more}, start=start, end=end, times=times, values=values)


def letters(data: bytes) -> str:
    pages = PdfReader(BytesIO(data)).pages
    return "".join("".join(page.extract_text().split()) for page in pages)


def test_a_table_in_three_shapes() -> None:
    table = Table(("Day", "pH"), (("5 Jan", "7.9"), ("a | b *", "")), frozenset({1}))
    paper = paper_with(Part("Tests", (), "table", table=table))
    assert "Day       pH" in as_text(paper)
    assert "5 Jan    7.9" in as_text(paper)
    marked = as_markdown(paper)
    assert "| Day | pH |\n| --- | ---: |\n| 5 Jan | 7.9 |\n| a \\| b \\* |   |" in marked
    assert letters(as_pdf(paper).data).count("7.9") == 1


def test_a_row_without_a_cell_is_a_fault() -> None:
    with pytest.raises(ValueError, match="cell"):
        Table(("a", "b"), (("1",),))


@given(
    st.lists(st.lists(st.text("ab -", max_size=40), min_size=4, max_size=4), max_size=6),
    st.integers(40, 100),
)
def test_no_line_is_too_long_and_no_word_is_lost(rows: list[list[str]], width: int) -> None:
    table = Table(("one", "two", "three", "four"), tuple(map(tuple, rows)))
    lines = table_lines(table, width)
    assert all(len(line) <= width for line in lines)
    told = "".join("".join(lines).split())
    for row in rows:
        for cell in row:
            for word in cell.split():
                assert len(word) > 3 or set(word) <= set(told)


def test_a_table_too_wide_for_columns_is_told_row_by_row() -> None:
    names = tuple(f"parameter{n:02d}" for n in range(12))
    table = Table(names, (tuple("123456789012345" for _ in names),))
    lines = table_lines(table, 78)
    assert lines[0].startswith("- parameter00 123456789012345; parameter01")
    assert all(len(line) <= 78 for line in lines)


def test_a_long_table_names_itself_again_on_every_page() -> None:
    rows = tuple((f"row{n:03d}", "words " * (n % 30)) for n in range(200))
    made = as_pdf(paper_with(Part("Tests", (), "table", table=Table(("Row", "What"), rows))))
    pages = [page.extract_text() for page in PdfReader(BytesIO(made.data)).pages]
    assert made.pages > 3
    assert all("RowWhat" in "".join(page.split()) for page in pages)
    assert all("Tests(continued)" in "".join(page.split()) for page in pages[1:])
    text = letters(made.data)
    for row in rows:
        assert text.count(row[0]) == 1


def test_a_wide_table_is_printed_smaller_before_a_number_is_broken() -> None:
    few = Table(("Day", "pH"), (("5 Jan", "7.9"),), frozenset({1}))
    names = ("Day and hour", *(f"kind {n} mg/L" for n in range(12)), "By")
    cells = ("2026-01-05 10:00", *("1234.5" for _ in range(12)), "Ada Vet")
    many = Table(names, (cells,), frozenset(range(1, 13)))
    sizes = {}
    for name, table in (("few", few), ("many", many)):
        found: set[float] = set()

        def seen(
            text: str, _cm: object, _tm: object, _font: object, size: float,
            found: set[float] = found,
        ) -> None:  # fmt: skip
            if "7.9" in text or "1234.5" in text:
                found.add(size)

        made = as_pdf(paper_with(Part("Tests", (), "table", table=table)))
        text = PdfReader(BytesIO(made.data)).pages[0].extract_text(visitor_text=seen)
        assert "1234.5" in text or name == "few"
        (sizes[name],) = found
    assert sizes["few"] == 10.0
    assert 8.5 <= sizes["many"] < 10.0


def test_no_heading_stands_alone_before_a_chart() -> None:
    words = Part("Before", tuple(f"line {n}" for n in range(34)))
    lead = Part("The last months", ("Up to this day.",), "words", pictured=("Gaps are gaps.",))
    drawn = Part("Nitrite", (), "chart", 2, chart=chart_of((0.1, 0.2)))
    made = as_pdf(paper_with(words, lead, drawn))
    pages = [page.extract_text() for page in PdfReader(BytesIO(made.data)).pages]
    (where,) = [page for page in pages if "The last months" in page]
    assert "Nitrite" in where
    assert "Gaps are gaps." in where
    assert "Gaps are gaps." not in as_text(paper_with(words, lead, drawn))


def test_what_the_drawing_shows_is_said_and_nothing_else() -> None:
    plain = chart_of((0.1, 0.2))
    assert "mark" not in chart_words([plain])
    before = chart_of((0.1, 0.2), marks=(ChartMark(DAY - timedelta(99), "dose"),))
    assert "triangle" not in chart_words([before])
    marked = chart_of((0.1, 0.2), marks=(ChartMark(DAY, "dose"),), hollow=frozenset({0}))
    assert "triangle" in chart_words([plain, marked])
    assert "open mark" in chart_words([plain, marked])


def test_a_long_foot_leaves_the_number_of_the_page_its_room() -> None:
    made = as_pdf(Paper("Sheet", (), (Part("A", ("a",)),), "a long foot " * 30, ON))
    (page,) = PdfReader(BytesIO(made.data)).pages
    said = page.extract_text()
    assert "…" in said
    assert "page 1 of 1" in said


def test_a_cell_that_is_higher_than_a_page_goes_on() -> None:
    cell = " ".join(f"w{n:04d}" for n in range(3000))
    made = as_pdf(paper_with(Part("Long", (), "table", table=Table(("A", "B"), (("x", cell),)))))
    text = letters(made.data)
    for n in (0, 1500, 2999):
        assert f"w{n:04d}" in text


def test_no_line_crosses_a_gap_or_another_kit() -> None:
    days = tuple(DAY + timedelta(days=n) for n in (0, 7, 28, 50, 60))
    chart = chart_of((1.0, 2.0, 3.0, 4.0, 5.0), times=days, breaks=frozenset({4}))
    assert runs(chart) == ((0, 1, 2), (3,), (4,))  # 21 days are still joined, 22 are not
    assert chart_lines(chart)[0].count(" … ") == 2


def test_a_harmless_line_looks_flat() -> None:
    """The scale lies between the limits, not between the smallest and the largest reading."""
    chart = chart_of((0.01, 0.02, 0.01), limits=(ChartLimit(0.2, "mind above 0.20"),))
    foot, head = scale(chart)
    assert foot == 0.0
    assert head >= 0.2
    assert chart_lines(chart)[0] == "▁▁▁"
    far = chart_of((0.01,), limits=(ChartLimit(0.2, "near"), ChartLimit(9.0, "far")))
    assert [one.label for one in drawn_limits(far)] == ["near"]
    beyond = chart_of((0.3,), limits=(ChartLimit(0.2, "near"), ChartLimit(9.0, "far")))
    assert [one.label for one in drawn_limits(beyond)] == ["near", "far"]


@given(st.lists(st.floats(-5.0, 500.0), min_size=1, max_size=40))
def test_every_reading_and_drawn_limit_lies_on_the_scale(values: list[float]) -> None:
    chart = chart_of(tuple(values), limits=(ChartLimit(8.0, "a"), ChartLimit(2.0, "b")))
    foot, head = scale(chart)
    assert foot < head
    assert all(foot <= value <= head for value in values)


def test_what_is_too_small_to_show_is_not_shown_as_nothing() -> None:
    chart = chart_of((0.0004, 0.0, 0.3), said=("", "not detected", ""))
    assert chart.called(0) == "below 0.01"
    figures = chart_lines(chart)[-1]
    assert "not detected; " in figures
    assert "not detected mg/L" not in figures
    assert "0.30 mg/L" in figures
    assert chart.figure(0.002) == "0.002"


def test_many_readings_are_told_in_short() -> None:
    lines = chart_lines(chart_of(tuple(0.1 + n % 5 for n in range(200))))
    assert len(lines[0]) == 60
    assert lines[1].startswith("the newest 60 of 200 readings")
    assert lines[-1].startswith("192 readings before that, since 5 Jan 2026: from 0.10 to 4.10")


@pytest.mark.parametrize("page", ["A4", "Letter"])
@pytest.mark.parametrize("count", [1, 2, 30, 500])
def test_charts_print(page: Any, count: int) -> None:
    values = tuple(0.1 + (n * 7 % 11) / 10 for n in range(count))
    marks = (ChartMark(DAY + timedelta(hours=3), "dose"), ChartMark(DAY - timedelta(99), "before"))
    chart = chart_of(
        values, marks=marks, hollow=frozenset({0}), limits=(ChartLimit(1.5, "mind above 1.50"),)
    )
    parts = tuple(Part(f"Chart {n}", ("Under it.",), "chart", 2, chart=chart) for n in range(6))
    made = as_pdf(paper_with(*parts), page=page)
    text = letters(made.data)
    assert text.count("mindabove1.50") == 6
    assert text.count("dose") == 6
    assert "before" not in text
    assert as_pdf(paper_with(*parts), page=page).data == made.data


def test_letters_of_a_chart_without_a_picture_are_told() -> None:
    chart = chart_of((1.0, 2.0), limits=(ChartLimit(5.0, "鯉 above 5"),))
    made = as_pdf(paper_with(Part("Chart", (), "chart", chart=chart)))
    assert made.not_shown == "鯉"


def test_a_chart_cannot_be_made_of_nothing() -> None:
    with pytest.raises(ValueError, match="one at least"):
        chart_of((), times=(), start=DAY, end=DAY + timedelta(1))
    with pytest.raises(ValueError, match="end after"):
        chart_of((1.0,), start=DAY, end=DAY)
    with pytest.raises(ValueError, match="all of them"):
        chart_of((1.0, 2.0), said=("one",))
