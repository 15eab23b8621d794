"""The few ponds of which a thermometer reading today would change the morning list most."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, datetime, time
from uuid import UUID

from sqlalchemy import select

from store.book.book import Book
from store.book.tables import table
from store.courses.kept.morning import LOOK
from store.courses.kept.records import followed_courses
from store.diary.desk.about import About, about_of
from store.diary.desk.ask import AskLine, AskList, Undecided
from store.diary.desk.ask_said import band_said, because, weighed
from store.diary.kept.due.gather.courses import from_courses
from store.diary.kept.due.gather.planned import PlannedVisits, planned
from store.diary.kept.due.gather.rung import Rung, rung
from store.diary.kept.due.gather.whereabouts import Whereabouts, whereabouts
from store.errors import BadInput
from store.exams.carried import seen_lately
from store.exams.remembered import remembered
from store.facts.asking import asking_numbers
from store.facts.hazards import hazards
from store.text import joined
from store.warmth.asking import Stake, WorthAsking, most_worth, order_of, worth_asking
from store.warmth.estimate import EIGHTY, Ahead, EstimatedDay, Estimates
from store.warmth.kept.estimates import estimates
from store.watch.judge import Rest
from store.watch.kinds.window import WindowRule, would_act
from store.watch.look import look
from store.watch.rests import read_rests
from store.watch.rulebook import RuleBook, read_rulebook
from store.watch.seen import PondSeen

MOST = 5
"""So many ponds are asked for unless another number is given [ponds]."""
LEAST, GREATEST = 1, 100
_AT_ONCE = 40
"""So many ponds are looked at in one go, those that may be worth most first [ponds]."""
_UNANSWERED = "no answer"
_RESTS_ON = (
    "rule_change", "rest", "pond_event", "client", "site", "pond", "practice", "course",
    "course_step", "course_dose", "course_task", "course_turn", "dose_given", "caution_answer",
    "examination", "examined_fish", "exam_finding", "lab_sample", "visit",
)  # fmt: skip
"""Beside the estimates, which are others after every reading."""
_COURSES = ("course", "course_step", "course_dose", "course_turn", "site", "pond")
WeightOf = Callable[[WindowRule], float]


@dataclass(frozen=True, slots=True)
class _Weights:
    least_chance: float
    thermometer_c: float
    usual: float
    raised: float
    notifiable: float
    course: float


def whom_to_ask(book: Book, now: datetime, most: int = MOST) -> AskList:
    """The ponds of which one reading today would change the morning list most.

    Parameters
    ----------
    book
        The practice's book.
    now
        The present instant, with a time zone.
    most
        How many at the most, 1 to 100 [ponds].

    Returns
    -------
    AskList
        Ponds with an estimate and no reading of their own today. A window that is silenced, at
        rest, against whose hazard a course runs, or that asks for a fall of the temperature counts
        nothing. Empty where nothing has been learnt of the temperatures: nothing is asked for by
        the season alone.

    Raises
    ------
    BadInput
        A number of ponds that cannot be.
    """
    if not LEAST <= most <= GREATEST:
        raise BadInput(
            f"Readings are asked for at {LEAST} to {GREATEST} ponds, not {most}.", field="most"
        )
    today = book.today(now)
    known = estimates(book, now)
    if known is None:
        return AskList(now, today, (), 0, False)
    gathered = _Gathered(book, now, known)
    asked, in_vain = _asked_today(book, now)
    # A call changes nothing of what all ponds are worth; a reading makes other estimates.
    bounds = [
        one
        for one in remembered(book, "readings worth asking", _RESTS_ON, known, gathered.bounds)
        if one.pond not in asked
    ]
    first = gathered.best([one for one in bounds if one.pond not in in_vain], most)
    if len(first) < most:
        behind = [one for one in bounds if one.pond in in_vain]
        first += gathered.best(behind, most - len(first))
    visits, calls = planned(book, today), rung(book, today)
    lines = tuple(gathered.line(one, visits, calls) for one in first)
    return AskList(now, today, lines, len(asked & gathered.where.ponds.keys()), True)


class _Gathered:
    """What is read once, and the ponds looked at so far."""

    def __init__(self, book: Book, now: datetime, known: Estimates) -> None:
        self._book, self._now, self._known = book, now, known
        self._today, self._zone = book.today(now), book.zone
        self.where: Whereabouts = whereabouts(book)
        self._rulebook: RuleBook
        self._rests: Mapping[UUID, Mapping[str, Rest]]
        with book.reading() as connection:
            self._rulebook = read_rulebook(connection, self._zone)
            self._rests = read_rests(connection, self._today)
        self._weights = _Weights(
            *(
                asking_numbers()[name].value
                for name in (
                    "least_chance", "thermometer", "usual", "raised", "notifiable", "course",
                )
            )
        )  # fmt: skip
        self._treated = _treated(book)
        self._happened = seen_lately(book, now)
        self._waits = {
            one.pond_id: one.because.removeprefix("Course: ")
            for one in from_courses(book, self.where, self._today, self._today)
            if one.says == LOOK and one.pond_id is not None
        }
        self._seen: dict[UUID, PondSeen] = {}

    def bounds(self) -> tuple[WorthAsking, ...]:
        """What a reading may be worth at most, before it is known what holds at the ponds."""
        weights = self._weights
        raised = max(weights.raised, weights.notifiable, weights.usual)
        eventful = {*self._happened, *_eventful(self._book)}

        def raised_of(one: WindowRule) -> float:
            return raised if one.rule.preconditions else self._plainly(one)

        found = (
            self._worth(pond, raised_of if pond in eventful else self._plainly)
            for pond in self._known
            if pond in self.where.ponds
        )
        return tuple(sorted((one for one in found if one is not None), key=order_of))

    def best(self, bounds: Sequence[WorthAsking], most: int) -> list[WorthAsking]:
        """Those worth most of ponds in the order of what they may be worth."""
        found: list[WorthAsking] = []
        for begin in range(0, len(bounds), _AT_ONCE):
            part = bounds[begin : begin + _AT_ONCE]
            if len(found) >= most and order_of(part[0]) > order_of(found[most - 1]):
                break  # none of the rest can come to as much
            self._look([one.pond for one in part])
            for bound in part:
                one = self._worth(bound.pond, self._weighed_at(bound.pond))
                if one is not None and not self._read_today(bound.pond):
                    found.append(one)
            found = list(most_worth(found, most))
        return found

    def line(self, one: WorthAsking, visits: PlannedVisits, calls: Rung) -> AskLine:
        """A pond with all that is said of it."""
        place, seen = self.where.ponds[one.pond], self._seen[one.pond]
        ahead = self._ahead(one.pond)
        day = _of_today(ahead)
        measured = seen.daily_temperatures()
        last_on, last_c = None, None
        if measured:
            last_on, last_c = date.fromordinal(measured[-1][0]), measured[-1][1]
        windows = {prepared.rule.code: prepared for prepared in self._windows(one.pond)}
        undecided = tuple(
            self._undecided(windows[it.code], seen, it.chance, it.day, it.weight, it.worth)
            for it in one.decides
        )
        waits = self._waits.get(one.pond, "")
        there = [
            visit
            for visit in (
                *visits.ponds.get(one.pond, ()),
                *(visits.sites.get(place.site_id, ()) if place.site_id else ()),
            )
            if visit.on_day == self._today and visit.who
        ]
        attempts, last_attempt = calls.of(place.client_id)
        assert place.site_id is not None
        return AskLine(
            about=str(About("ask", one.pond)),
            client_id=place.client_id,
            site_id=place.site_id,
            pond_id=one.pond,
            client=place.client,
            pond=place.pond,
            town=place.town,
            phone=place.phone,
            phone2=place.phone2,
            mean_c=day.mean_c,
            low_c=day.low_c,
            high_c=day.high_c,
            last_on=last_on,
            last_c=last_c,
            undecided=undecided,
            waits=waits,
            worth=one.worth,
            because=because(day, undecided, waits, last_on, last_c, self._today),
            weighed=weighed(one.worth, undecided, one.waiting),
            going=there[0].who if there else "",
            going_at=there[0].at_time if there else None,
            attempts=attempts,
            last_attempt=last_attempt,
        )

    def _worth(self, pond: UUID, weight_of: WeightOf) -> WorthAsking | None:
        weights = self._weights
        stakes = [
            Stake(
                one.rule.code, one.band.low_c, one.band.high_c,
                math.floor(one.settings.heading_within_days), weight_of(one),
            )
            for one in self._windows(pond)
        ]  # fmt: skip
        return worth_asking(
            pond,
            self._ahead(pond),
            stakes,
            least_chance=weights.least_chance,
            thermometer_c=weights.thermometer_c,
            waiting=weights.course if pond in self._waits else 0.0,
        )

    def _windows(self, pond: UUID) -> Iterator[WindowRule]:
        """The windows in force there that a temperature by itself can decide."""
        treated, rests = self._treated.get(pond, ()), self._rests.get(pond, {})
        for one in self._rulebook.set_of(pond).windows:
            if not (one.band.needs_fall or one.rule.hazard in treated or one.rule.code in rests):
                yield one

    def _plainly(self, one: WindowRule) -> float:
        weights = self._weights
        usual = weights.usual
        return max(usual, weights.notifiable) if one.rule.notifiable else usual

    def _weighed_at(self, pond: UUID) -> WeightOf:
        seen = self._seen[pond]

        def weight_of(one: WindowRule) -> float:
            plainly = self._plainly(one)
            if seen.circumstances and would_act(one.rule, seen, self._today):
                return max(plainly, self._weights.raised)
            return plainly

        return weight_of

    def _undecided(
        self, one: WindowRule, seen: PondSeen, chance: float, day: int, weight: float, worth: float
    ) -> Undecided:
        rule = one.rule
        why = list(would_act(rule, seen, self._today))
        if rule.notifiable:
            why.append("must be reported")
        return Undecided(
            rule.code,
            hazards()[rule.hazard].plain_name,
            band_said(one.band.low_c, one.band.high_c),
            chance,
            date.fromordinal(day),
            weight,
            worth,
            joined(why),
        )

    def _ahead(self, pond: UUID) -> Ahead:
        ahead = self._known.ahead(pond)
        assert ahead is not None
        return ahead

    def _look(self, ponds: Sequence[UUID]) -> None:
        with self._book.reading() as connection:
            found = look(
                connection, self._now, self._zone, ponds=ponds, treated=self._treated,
                happened=self._happened,
            )  # fmt: skip
            for seen in found.seen.values():
                seen.daily_temperatures()  # read while the connection is open
        self._seen.update(found.seen)

    def _read_today(self, pond: UUID) -> bool:
        seen = self._seen.get(pond)
        if seen is None:
            return True  # struck through a moment ago
        measured = seen.daily_temperatures()
        return bool(measured) and measured[-1][0] >= self._today.toordinal()


def _asked_today(book: Book, now: datetime) -> tuple[set[UUID], set[UUID]]:
    """Ponds that were asked for today, and those for which nobody answered and nobody since."""
    calls = table("contact_attempt").c
    midnight = datetime.combine(book.today(now), time(), book.zone)
    query = select(calls.about, calls.outcome).where(
        calls.struck_at.is_(None), calls.at >= midnight, calls.about.like("ask:%")
    )
    asked: set[UUID] = set()
    in_vain: set[UUID] = set()
    with book.reading() as connection:
        for row in connection.execute(query):
            with suppress(BadInput):
                pond = about_of(row.about).key
                (in_vain if row.outcome == _UNANSWERED else asked).add(pond)
    return asked, in_vain - asked


def _eventful(book: Book) -> set[UUID]:
    """Ponds at which anything was ever entered as having happened."""
    events = table("pond_event").c
    query = select(events.pond_id).where(events.struck_at.is_(None)).distinct()
    with book.reading() as connection:
        return set(connection.execute(query).scalars())


def _treated(book: Book) -> dict[UUID, frozenset[str]]:
    def read() -> dict[UUID, frozenset[str]]:
        found: dict[UUID, frozenset[str]] = {}
        for one in followed_courses(book):
            if one.state == "running":
                before = found.get(one.pond_id, frozenset())
                found[one.pond_id] = before | frozenset(one.plan.hazards)
        return found

    return remembered(book, "hazards under treatment", _COURSES, None, read)


def _of_today(ahead: Ahead) -> EstimatedDay:
    mean_c, spread_c = ahead.at(ahead.today)
    half_c = EIGHTY * spread_c
    day = date.fromordinal(ahead.today)
    return EstimatedDay(day, mean_c, max(mean_c - half_c, 0.0), mean_c + half_c)
