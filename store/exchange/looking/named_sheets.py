"""Sheets whose columns go by any names: what each column means can be said, all else is asked."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from datetime import datetime
from pathlib import Path
from typing import Any

from store.book.book import Book
from store.exchange.columns import Answer
from store.exchange.columns.named import IGNORE, NamedSheet, SheetKind
from store.exchange.looking.values import (
    Asked,
    Looked,
    Names,
    PlanLine,
    SeenColumn,
    Way,
    facts,
    nothing,
)
from store.exchange.named.planning import Preview
from store.exchange.plain.whose import PondNames
from store.text import day_said

LineOf = Callable[[Any, Names], PlanLine]


def looked(
    preview: Preview[Any], save: Any, book: Book, line_of: LineOf, meanings: tuple[Answer, ...]
) -> Looked:
    """A preview of named columns as every kind hands it out.

    Parameters
    ----------
    preview
        Of the sheet.
    save
        Saves a preview, given the book and who does it.
    book
        The practice's book.
    line_of
        One record in words.
    meanings
        What a person can say that a column is.
    """
    plan, names = preview.plan, Names(book)
    lines: Iterable[Any] = () if plan is None else plan.items
    return Looked(
        preview.questions,
        plan,
        tuple(line_of(one, names) for one in lines),
        nothing if plan is None else lambda to, act: save(to, act, preview),
        columns_of(preview.sheet),
        meanings,
        preview.told,
    )


def columns_of(sheet: NamedSheet) -> tuple[SeenColumn, ...]:
    """Every column of a sheet, with what it is taken for.

    Parameters
    ----------
    sheet
        The sheet.
    """
    often = Counter(one.title.casefold() for one in sheet.columns)
    return tuple(
        SeenColumn(
            one.title if one.title and often[one.title.casefold()] == 1 else str(one.place + 1),
            one.title or f"column {one.place + 1}",
            "not read"
            if one.meaning == IGNORE
            else sheet.kind.label(one.means) + (f", {one.unit}" if one.unit else ""),
            one.why,
        )
        for one in sheet.columns
    )


def meanings_of(kind: SheetKind, more: Iterable[Answer] = ()) -> tuple[Answer, ...]:
    """What a person can say that a column is.

    Parameters
    ----------
    kind
        Of sheet.
    more
        What it may be beside the roles of its kind.
    """
    roles = [Answer(name, kind.label(name)) for name in kind.roles]
    return (*roles, *more, Answer(IGNORE, "nothing: do not read it"))


def _deaths_meanings(book: Book) -> tuple[Answer, ...]:
    from store.exchange.fish.death_columns import deaths_kind

    return meanings_of(deaths_kind(PondNames(book)))


def _lab_meanings(_: Book) -> tuple[Answer, ...]:
    from store.exchange.lab.sheet_kind import LONG

    return meanings_of(LONG)


def _medicines_meanings(_: Book) -> tuple[Answer, ...]:
    from store.exchange.medicines.book_columns import KIND

    return meanings_of(KIND)


def _fish_meanings(_: Book) -> tuple[Answer, ...]:
    from store.exchange.fish.fish_columns import FISH
    from store.exchange.fish.fish_words import all_parasites

    return meanings_of(FISH, [Answer(one.plain, one.plain) for one in all_parasites()])


def _deaths(path: Path, book: Book, now: datetime, asked: Asked) -> Looked:
    from store.exchange.fish.deaths import PlannedDeaths, look_at_deaths, save_deaths

    def line(one: PlannedDeaths, names: Names) -> PlanLine:
        deaths = one.deaths
        return PlanLine(
            one.line, day_said(deaths.on_day), names.pond(one.pond), one.words,
            facts({"signs": ", ".join(deaths.signs), "note": deaths.note,
                   "in the file": one.called}),
        )  # fmt: skip

    preview = look_at_deaths(path, book, now, said=asked.said, sheet=asked.sheet, pond=asked.pond)
    return looked(preview, save_deaths, book, line, _deaths_meanings(book))


def _lab(path: Path, book: Book, now: datetime, asked: Asked) -> Looked:
    from store.exchange.lab.results import Planned, look_at_lab, save_lab

    def line(one: Planned, names: Names) -> PlanLine:
        result = one.result
        day = result.reported_on or result.received_on or result.taken_on
        stop = "STOP: " if one.opens_suspicion or one.takes_back else ""
        return PlanLine(
            one.line, "" if day is None else day_said(day), one.called,
            # The result first: a narrow column cuts the end.
            f"{stop}{result.result}: {result.named}",
            facts({
                "in the file": result.raw, "sample": result.label, "kind of fish": result.species,
                "organ": result.organ, "method": result.method, "laboratory": result.laboratory,
                "taken": result.taken_on, "received": result.received_on,
                "reported": result.reported_on, "how": one.how,
            }),
        )  # fmt: skip

    preview = look_at_lab(path, book, now, said=asked.said, sheet=asked.sheet, pond=asked.pond)
    return looked(preview, save_lab, book, line, _lab_meanings(book))


def _medicines(path: Path, book: Book, now: datetime, asked: Asked) -> Looked:
    from store.exchange.medicines.medicine_books import (
        PlannedGiven,
        look_at_medicines,
        save_medicines,
    )

    def line(one: PlannedGiven, names: Names) -> PlanLine:
        given = one.given
        return PlanLine(
            one.line, day_said(given.on_day), one.called, given.words,
            facts({
                "batch": given.batch, "expiry": given.expiry, "expired": given.expired,
                "withdrawal": given.withdrawal, "not for eating until": given.until,
                "client in the file": given.client, "note": given.note,
            }),
        )  # fmt: skip

    preview = look_at_medicines(
        path, book, now, said=asked.said, sheet=asked.sheet, pond=asked.pond
    )
    return looked(preview, save_medicines, book, line, _medicines_meanings(book))


def _fish(path: Path, book: Book, now: datetime, asked: Asked) -> Looked:
    from store.exchange.fish.exams import PlannedExam, look_at_fish, save_fish

    def line(one: PlannedExam, names: Names) -> PlanLine:
        exam = one.exam
        at = exam.at.astimezone(book.zone)
        many = f"{len(exam.fish)} fish" if len(exam.fish) > 1 else ""
        return PlanLine(
            one.line, day_said(at.date()), names.pond(one.pond),
            ": ".join(filter(None, (many, one.words))),
            facts({
                "time": f"{at:%H:%M}" if one.timed else "not stated, noon supposed",
                "by": exam.examiner, "for": exam.purpose, "note": exam.note,
                "in the file": one.called,
            }),
        )  # fmt: skip

    preview = look_at_fish(path, book, now, said=asked.said, sheet=asked.sheet, pond=asked.pond)
    return looked(preview, save_fish, book, line, _fish_meanings(book))


NAMED = {
    "fish": Way("examination", "examinations", _fish, _fish_meanings),
    "medicines": Way("medicine given", "medicines given", _medicines, _medicines_meanings),
    "lab": Way("result", "results", _lab, _lab_meanings),
    "deaths": Way("count of deaths", "counts of deaths", _deaths, _deaths_meanings),
}
"""Each kind by the name that the command line gives it too."""
