"""A pond's history for a colleague to whom it is referred."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from store.facts.agent import LOCAL_LAW
from store.paper.chart import Chart, chart_words
from store.paper.paper import Letterhead, Paper, Part, date_in_words, head_rows, one_line
from store.paper.table import Table
from store.text import day_said

TITLE = "History of a pond"
ABOUT_IT = (
    "Everything here stands in the practice's records as it was entered; what was struck through "
    "there is left out. A blank cell was not measured, < is below and > above what the test shows, "
    "ND not detected, ~ a range or about, ? a kit whose form is not known (its cautious end). "
    "Nothing here is a prescription. " + LOCAL_LAW
)
NONE = "None in this span."


@dataclass(frozen=True, slots=True)
class HistoryTable:
    """One kind of record as a table; `words` stand before it, `right` are columns of numbers."""

    title: str
    columns: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    right: frozenset[int] = frozenset()
    words: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class HistoryFacts:
    """What a history tells of a span of days; `about` are lines of `Name: value` on the pond."""

    letterhead: Letterhead
    foot: tuple[str, ...]
    first: date
    last: date
    written_on: date
    about: tuple[str, ...]
    tables: tuple[HistoryTable, ...]
    charts: tuple[Chart, ...] = ()


def history_paper(facts: HistoryFacts) -> Paper:
    """The history as a sheet.

    Parameters
    ----------
    facts
        What is told.

    Raises
    ------
    BadInput
        The letterhead names no practice, or no number to ring.
    """
    head = head_rows(facts.letterhead, facts.written_on)
    at = next(place for place, (name, _) in enumerate(head) if name == "Pond") + 1
    span = f"{date_in_words(facts.first)} to {date_in_words(facts.last)}"
    return Paper(
        title=TITLE,
        head=(*head[:at], ("Days", span), *head[at:]),
        parts=tuple(_parts(facts)),
        foot=f"{dict(head)['Pond']}, {day_said(facts.first)} to {day_said(facts.last)}",
        written_on=facts.written_on,
    )


def _parts(facts: HistoryFacts) -> Iterator[Part]:
    yield Part("The pond", tuple(map(one_line, facts.about)), "facts")
    for one in facts.tables:
        words = tuple(map(one_line, one.words))
        if not one.rows:
            yield Part(one.title, words or (NONE,), "words")
            continue
        if words:
            yield Part(one.title, words, "words")
        rows = tuple(tuple(map(one_line, row)) for row in one.rows)
        table = Table(one.columns, rows, one.right, again=one.title)
        yield Part("" if words else one.title, (), "table", 2 if words else 1, table=table)
    for place, chart in enumerate(facts.charts):
        if not place:
            pictured = (chart_words(facts.charts),)
            yield Part("Charts", ("Of the same days.",), "words", pictured=pictured)
        title = chart.label if chart.label[1:2].isupper() else (
            chart.label[:1].upper() + chart.label[1:]
        )  # fmt: skip
        yield Part(title, (), "chart", level=2, chart=chart)
    yield Part("What this history is", (ABOUT_IT, *facts.foot), "words")
