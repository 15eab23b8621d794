"""What was found over all ponds of the book, and whether the windows in the rules had spoken."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.book import Book
from store.book.ponds import standing
from store.book.tables import table
from store.errors import BadInput, NotFound
from store.exams.across import (
    LOOKED_IN,
    NEAR_DAYS,
    WITHIN_DAYS,
    Days,
    FoundThere,
    LookedThere,
    Score,
    score,
)
from store.exams.before_after import looked_for
from store.exams.examinations import KeptExam, read_examinations
from store.exams.values import BY_EYE
from store.facts.hazards import hazards
from store.watch.kept_score import BLIND, NOTED, SPOKE, Tried, WindowDays, window_days, window_rules
from store.watch.rule import Rule
from store.watch.trial import MOST_DAYS, Progress

DAYS = 730
"""How far back it is looked, unless it is said: two of each month [d]."""
STEP_C = 1.0
"""By how much an edge is moved to see what another one would have done [°C]."""


@dataclass(frozen=True, slots=True)
class OfHazard:
    """One hazard over all ponds; `rule` and `score` None where no window rule speaks of it."""

    hazard: str
    name: str
    found: tuple[FoundThere, ...]
    looked: tuple[LookedThere, ...]
    rule: Rule | None
    score: Score | None
    own_say: int

    @property
    def ponds(self) -> int:
        """At how many ponds it was found."""
        return len({one.pond for one in self.found})


@dataclass(frozen=True, slots=True)
class Edge:
    """What the rule would have done with one number changed."""

    name: str
    value: float
    instead_of: float
    score: Score


@dataclass(frozen=True, slots=True)
class Findings:
    """All hazards that were found or looked for in the days up to today, those found most first."""

    first: date
    last: date
    within_days: int
    hazards: tuple[OfHazard, ...]
    examinations: int
    ponds: int
    stopped: bool


def findings_over_all(
    book: Book,
    now: datetime,
    *,
    days: int = DAYS,
    within_days: int = WITHIN_DAYS,
    progress: Progress | None = None,
) -> Findings:
    """What was found where, and how the windows did.

    Parameters
    ----------
    book
        The practice's book; of ponds that stand in it.
    now
        The present instant, with a time zone.
    days
        How far back, today included, at most ten years [d].
    within_days
        How long before a finding the window may have spoken [d].
    progress
        Called now and then with the ponds looked at and all of them; False stops.

    Raises
    ------
    BadInput
        A number of days that cannot be.

    Notes
    -----
    The rules are taken as they are in force now. A hazard noted at a pond as an event counts as
    found, not as looked for; so does one that a laboratory detected, on the day of the sample.
    """
    _check(days, within_days)
    last = book.today(now)
    first = last - timedelta(days=days - 1)
    read = _read(book, first, last)
    rules = window_rules(book)
    codes = sorted({*(one.hazard for one in read.found), *(one.hazard for one in read.looked)})
    asked = [Tried(rules[code].code) for code in codes if code in rules]
    seen = 0

    def count(done: int, in_all: int) -> bool:
        nonlocal seen
        seen = in_all - done
        return progress is None or progress(done, in_all)

    answers = _days(book, now, asked, days + within_days, count) if asked else ()
    told = {one.rule.hazard: one for one in answers}
    rows = [_of(code, read, told.get(code), within_days, first) for code in codes]
    rows.sort(key=lambda one: (-len(one.found), -len(one.looked), one.name))
    return Findings(
        first, last, within_days, tuple(rows), read.examinations, read.ponds, bool(seen)
    )


def edges_of(
    book: Book,
    now: datetime,
    hazard: str,
    *,
    days: int = DAYS,
    within_days: int = WITHIN_DAYS,
    step_c: float = STEP_C,
    progress: Progress | None = None,
) -> tuple[Edge, ...]:
    """What a window would have done with each of its edges moved a little.

    Parameters
    ----------
    book, now, days, within_days, progress
        As for `findings_over_all`.
    hazard
        Its code.
    step_c
        By how much each edge is moved, either way [°C].

    Returns
    -------
    tuple of Edge
        The lower edge down and up, the upper edge down and up; without those that cross.

    Raises
    ------
    BadInput
        A number that cannot be.
    NotFound
        No window rule speaks of the hazard.
    """
    _check(days, within_days)
    if not 0.1 <= step_c <= 10.0:
        raise BadInput(f"An edge is moved by 0.1 to 10 °C, not by {step_c:g}.", field="step")
    rule = window_rules(book).get(hazard)
    if rule is None:
        raise NotFound("No window rule speaks of this hazard.")
    low_c, high_c = (rule.params.get(name) for name in ("low_c", "high_c"))
    moved = [
        (name, value, value + by)
        for name, value in (("low_c", low_c), ("high_c", high_c))
        if isinstance(value, float)
        for by in (-step_c, step_c)
        if not (name == "low_c" and isinstance(high_c, float) and value + by >= high_c)
        and not (name == "high_c" and isinstance(low_c, float) and value + by <= low_c)
    ]
    last = book.today(now)
    first = last - timedelta(days=days - 1)
    read = _read(book, first, last)
    asked = [Tried(rule.code, ((name, value),)) for name, _, value in moved]
    answers = _days(book, now, asked, days + within_days, progress) if asked else ()
    return tuple(
        Edge(name, value, was, _score(hazard, read, told, within_days, first))
        for (name, was, value), told in zip(moved, answers, strict=True)
    )


def _days(
    book: Book, now: datetime, asked: Sequence[Tried], days: int, progress: Progress | None
) -> tuple[WindowDays, ...]:
    """Some days more than are asked for: the window may have spoken before the first finding."""
    return window_days(book, now, asked, days=min(days, MOST_DAYS), progress=progress)


def _check(days: int, within_days: int) -> None:
    if not 1 <= days <= MOST_DAYS:
        raise BadInput(f"It is looked back on 1 to {MOST_DAYS} days, not on {days}.", field="days")
    score((), (), {}, within_days)


@dataclass(frozen=True, slots=True)
class _Read:
    found: tuple[FoundThere, ...]
    looked: tuple[LookedThere, ...]
    examinations: int
    ponds: int


def _of(code: str, read: _Read, told: WindowDays | None, within_days: int, first: date) -> OfHazard:
    return OfHazard(
        code, hazards()[code].plain_name,
        tuple(one for one in read.found if one.hazard == code),
        tuple(one for one in read.looked if one.hazard == code),
        None if told is None else told.rule,
        None if told is None else _score(code, read, told, within_days, first),
        0 if told is None else told.own_say,
    )  # fmt: skip


def _score(code: str, read: _Read, told: WindowDays, within_days: int, first: date) -> Score:
    days = {
        pond: Days(begun, letters, SPOKE, NOTED, BLIND)
        for pond, (begun, letters) in told.ponds.items()
    }
    return score(
        (one for one in read.found if one.hazard == code),
        (one for one in read.looked if one.hazard == code),
        days,
        within_days,
        first,
    )


def _read(book: Book, first: date, last: date) -> _Read:
    pond, site, client = (table(name) for name in ("pond", "site", "client"))
    event = table("pond_event").c
    here = (
        select(pond.c.id, pond.c.name, client.c.name.label("client"))
        .join(site, site.c.id == pond.c.site_id)
        .join(client, client.c.id == site.c.client_id)
        .where(standing())
    )
    with book.reading() as connection:
        where = {row.id: f"{row.client}, {row.name}" for row in connection.execute(here)}
        exams = [
            one
            for one in read_examinations(connection)
            if one.pond_id in where and first <= book.today(one.exam.at) <= last
        ]
        noted = [
            (row.pond_id, row.hazard, row.on_day)
            for row in connection.execute(
                select(event.pond_id, event.hazard, event.on_day)
                .where(
                    event.kind == "hazard_seen", event.struck_at.is_(None),
                    event.on_day >= first, event.on_day <= last,
                )
                .order_by(event.on_day, event.id)
            )
            if row.pond_id in where and row.hazard in hazards()
        ]  # fmt: skip
        detected = [
            one for one in _detected(connection, first, last)
            if one.pond_id in where and one.hazard in hazards()
        ]  # fmt: skip
        wanted = {one.pond_id for one in exams if one.exam.hazards}
        wanted |= {key for key, _, _ in noted} | {one.pond_id for one in detected}
        water = _temperatures(connection, book, wanted)
    found, looked = [], []
    for exam in exams:
        day = book.today(exam.exam.at)
        for code in exam.exam.hazards:
            temperature, away = _near(water.get(exam.pond_id, ()), day)
            found.append(
                FoundThere(
                    code, exam.pond_id, where[exam.pond_id], day, exam.id, temperature, away,
                    _measure(exam, code),
                )
            )  # fmt: skip
        looked += [
            LookedThere(
                code, exam.pond_id, where[exam.pond_id], day, exam.id, code in exam.exam.hazards
            )
            for code in hazards()
            if looked_for(exam.exam, code, LOOKED_IN.get(code, ()))
        ]
    known = {(one.pond, one.hazard, one.on_day) for one in found}
    for lab in detected:
        this = (lab.pond_id, lab.hazard, lab.taken_on)
        if this not in known:
            known.add(this)
            temperature, away = _near(water.get(lab.pond_id, ()), lab.taken_on)
            found.append(
                FoundThere(
                    lab.hazard, lab.pond_id, where[lab.pond_id], lab.taken_on, lab.examination_id,
                    temperature, away,
                    f"detected by {lab.laboratory or 'a laboratory'}: "
                    f"{lab.material or 'sample'} “{lab.label}”",
                )
            )  # fmt: skip
    for key, code, day in noted:
        if (key, code, day) not in known:
            known.add((key, code, day))
            temperature, away = _near(water.get(key, ()), day)
            found.append(
                FoundThere(code, key, where[key], day, None, temperature, away, "noted as seen")
            )
    found.sort(key=lambda one: (one.on_day, one.where, str(one.exam)), reverse=True)
    looked.sort(key=lambda one: (one.on_day, one.where, str(one.exam)), reverse=True)
    return _Read(tuple(found), tuple(looked), len(exams), len({one.pond_id for one in exams}))


def _detected(connection: Connection, first: date, last: date) -> Sequence[Any]:
    """Samples in which a laboratory detected what it is about, the earliest taken first."""
    samples = table("lab_sample").c
    query = select(
        samples.pond_id, samples.hazard, samples.taken_on, samples.examination_id, samples.material,
        samples.label, samples.laboratory,
    ).where(
        samples.struck_at.is_(None), samples.result == "detected",
        samples.taken_on >= first, samples.taken_on <= last,
    )  # fmt: skip
    return connection.execute(query.order_by(samples.taken_on, samples.id)).all()


def _measure(exam: KeptExam, code: str) -> str:
    """How much, and how it was looked at, in words."""
    said = [
        f"{one.measure(None if prep is None else prep.fields)}, "
        f"{BY_EYE if prep is None else prep.looked_as}"
        + (" (suspected)" if one.confidence == "suspected" else "")
        for fish in exam.exam.fish
        for prep, one in fish.found
        if one.hazard == code and one.present
    ]
    return "; ".join(dict.fromkeys(said))


def _temperatures(
    connection: Connection, book: Book, ponds: Iterable[UUID]
) -> Mapping[UUID, Sequence[tuple[date, float]]]:
    """Every measured temperature of some ponds by its day, old to new [°C]."""
    tests, readings, loggers = (table(name).c for name in ("water_test", "reading", "logger_day"))
    tested: dict[UUID, dict[date, list[float]]] = defaultdict(lambda: defaultdict(list))
    logged: dict[UUID, dict[date, float]] = defaultdict(dict)
    for pond in ponds:
        by_test = select(tests.taken_at, readings.value).where(
            readings.test_id == tests.id, tests.pond_id == pond, tests.struck_at.is_(None),
            readings.parameter == "temperature_c",
        )  # fmt: skip
        for taken_at, value in connection.execute(by_test):
            tested[pond][book.today(taken_at)].append(value)
        by_logger = select(loggers.day, loggers.mean).where(
            loggers.pond_id == pond, loggers.parameter == "temperature_c"
        )
        logged[pond] = {row.day: row.mean for row in connection.execute(by_logger)}
    return {
        pond: sorted(
            (
                logged[pond]
                | {day: sum(values) / len(values) for day, values in tested[pond].items()}
            ).items()
        )
        for pond in {*tested, *logged}
    }


def _near(water: Sequence[tuple[date, float]], day: date) -> tuple[float | None, int | None]:
    """The temperature nearest in time and how far away [d]; the earlier of two as near."""
    place = bisect_left(water, day, key=lambda one: one[0])
    near = [
        (abs((one - day).days), one, value) for one, value in water[max(0, place - 1) : place + 1]
    ]
    if not near or min(near)[0] > NEAR_DAYS:
        return None, None
    away, _, value = min(near)
    return value, away
