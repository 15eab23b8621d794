"""The water of a pond in its history: tests, what was noted beside them, charts."""

from __future__ import annotations

from collections.abc import Iterator

from store.courses.kept.of_pond import courses_here
from store.paper.chart import Chart
from store.reports.history_paper import HistoryTable
from store.reports.kept.charts import paper_charts
from store.reports.kept.history_span import Span
from store.reports.kept.water import figure_said
from store.watch.chart import CHART_CODES, pond_series
from store.water.derived import derive
from store.water.parameters import PARAMETERS
from store.water.water_tests import WaterTest

_NH3 = "nh3_n_mg_l"


def water_tests(span: Span) -> HistoryTable:
    """Water tests, a column a reading.

    Parameters
    ----------
    span
        The pond and the days.
    """
    codes = [code for code in PARAMETERS if any(code in one.readings for one in span.water)]
    reckoned = {one.key: _nh3(span, one) for one in span.water}
    has_nh3 = any(reckoned.values())
    columns = ["Day and hour", *map(_column, codes)]
    columns += ["NH3-N mg/L"] if has_nh3 else []
    rows = []
    for one in span.water:
        cells = [f"{one.taken_at.astimezone(span.zone):%Y-%m-%d %H:%M}"]
        cells += [figure_said(one.readings[code]) if code in one.readings else "" for code in codes]
        cells += [reckoned[one.key]] if has_nh3 else []
        rows.append((*cells, one.by))
    many = range(1, 1 + len(codes) + has_nh3)
    return HistoryTable("Water tests", (*columns, "By"), tuple(rows), frozenset(many))


def water_notes(span: Span) -> Iterator[HistoryTable]:
    """What was noted beside the tests, under them, as a column of words leaves numbers no room.

    Parameters
    ----------
    span
        The pond and the days.
    """
    rows = [(span.when(one.taken_at), one.note) for one in span.water if one.note.strip()]
    if span.notes and rows:
        yield HistoryTable("Notes beside the water tests", ("Day and hour", "Note"), tuple(rows))


def _nh3(span: Span, test: WaterTest) -> str:
    if "tan_mg_l" not in test.readings:
        return ""
    reading = test.readings["tan_mg_l"]
    if reading.bound == "<" and reading.high is None:
        return ""
    values = {code: each.value for code, each in test.readings.items()}
    found = derive(values, span.here.site.elevation_m or 0.0)[_NH3]
    if found.value is None:
        return ""
    sign, said = "" if reading.bound == "=" else reading.bound, f"{found.value:.{found.decimals}f}"
    if found.value and not float(said):  # a trace is never shown as nothing
        sign, said = "<", f"{10.0**-found.decimals:.{found.decimals}f}"
    return f"{sign}{said}"


def water_charts(span: Span) -> tuple[Chart, ...]:
    """The series of the span.

    Parameters
    ----------
    span
        The pond and the days.
    """
    end = min(span.end, span.now) if span.now > span.begin else span.end
    if end <= span.begin or span.here.struck:
        return ()
    drawn = pond_series(span.book, span.pond, CHART_CODES, span.begin, end, now=span.now)
    doses = courses_here(span.book, span.pond, span.now).marks
    return paper_charts(drawn, doses, span.water, span.zone)


def _column(code: str) -> str:
    parameter = PARAMETERS[code]
    unit = "mg/L N" if code == "tan_mg_l" else parameter.shown_unit
    return f"{parameter.short} {unit}".strip()
