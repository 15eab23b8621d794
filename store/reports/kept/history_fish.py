"""The fish of a pond in its history: examinations, deaths, samples at laboratories."""

from __future__ import annotations

from store.exams.death_days import death_days
from store.exams.deaths import deaths_of
from store.exams.examinations import KeptExam, examinations_of
from store.exams.line_said import say
from store.exams.specimens import samples_of
from store.reports.history_paper import HistoryTable
from store.reports.kept.bare import bare_exam, found_short
from store.reports.kept.history_span import Span
from store.text import day_said


def examinations(span: Span) -> HistoryTable:
    """Examinations, a row each.

    Parameters
    ----------
    span
        The pond and the days.
    """
    rows = [
        (span.when(one.exam.at), one.exam.purpose, one.exam.examiner,
         found_short(one.exam),
         *((one.exam.note,) if span.notes else ()))
        for one in _exams(span)
    ]  # fmt: skip
    beside = ("Note",) if span.notes else ()
    return HistoryTable(
        "Examinations", ("Day and hour", "Why", "By", "Found", *beside), tuple(rows)
    )


def _exams(span: Span) -> list[KeptExam]:
    every = reversed(examinations_of(span.book, span.pond))
    return [one for one in every if span.within(span.day(one.exam.at))]


def fish_by_fish(span: Span) -> HistoryTable:
    """Fish by fish.

    Parameters
    ----------
    span
        The pond and the days.
    """
    rows = [
        (day_said(span.day(one.exam.at)), str(fish.nth), say(fish))
        for one in _exams(span)
        for fish in (one.exam if span.notes else bare_exam(one.exam)).fish
    ]
    return HistoryTable("Fish by fish", ("Day", "Fish", "What was found"), tuple(rows))


def deaths(span: Span) -> HistoryTable:
    """Dead fish by the day, and days on which somebody looked and found none.

    Parameters
    ----------
    span
        The pond and the days.
    """
    rows = []
    for one in reversed(death_days(deaths_of(span.book, span.pond))):
        if one.struck or not (span.within(one.on_day) or span.within(one.first)):
            continue
        day = day_said(one.on_day)
        if one.first != one.on_day:
            day = f"{day_said(one.first)} to {day}"
        beside = (one.beside,) if span.notes else ()
        rows.append((day, str(one.dead), one.says, *beside))
    note = ("Note",) if span.notes else ()
    return HistoryTable("Deaths", ("Day", "Dead", "What", *note), tuple(rows), frozenset((1,)))


def samples(span: Span) -> HistoryTable:
    """Samples at laboratories; an amended report stands in place of the first.

    Parameters
    ----------
    span
        The pond and the days.
    """
    every = [one for one in samples_of(span.book, span.pond) if one.struck_at is None]
    amended = {one.replaces_id for one in every}
    rows = [
        (day_said(one.taken_on), one.label, one.material, one.laboratory, one.asked,
         one.result, "" if one.reported_on is None else day_said(one.reported_on), one.said)
        for one in reversed(every)
        if one.id not in amended and span.within(one.taken_on)
    ]  # fmt: skip
    columns = (
        "Taken", "Label", "Material", "Laboratory", "Asked", "Result", "Reported", "Report says"
    )  # fmt: skip
    return HistoryTable("Samples at laboratories", columns, tuple(rows))
