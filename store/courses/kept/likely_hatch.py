"""When what a course waits for is likely to be over, by estimate of the water to come.

It moves no dose and no control examination: what is due follows from the plan, and what is planned
anew from the water that was measured.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, NamedTuple
from uuid import UUID

from store.book.book import Book
from store.courses.cycles.coverage import LONGEST_COURSE_DAYS, Verdict, covers, ends_by
from store.courses.food.water_since import water_since
from store.courses.kept.records import Course
from store.courses.kept.water_daily import daily_of
from store.courses.planning.course import PlanStep
from store.courses.planning.fed import is_fed
from store.courses.planning.timing import aimed_at
from store.courses.turning.still_covered import GOOD
from store.courses.turning.tally import tallies
from store.errors import BadInput
from store.facts.agents import agent_by_code
from store.facts.hazards import hazards as known_hazards
from store.facts.life_cycles import life_cycles
from store.text import day_said
from store.warmth.dates import FAR_DAYS, TOGETHER, Reached, onwards, reached, said
from store.warmth.kept.estimates import estimates_far

if TYPE_CHECKING:
    from store.warmth.estimate import Ahead


@dataclass(frozen=True, slots=True)
class LikelyHatch:
    """What one hazard of a course is likely to do, and what that rests on.

    `over` are days by which nothing laid before the first dose is left to hatch, or a whole cycle
    is over. `verdict` is that of the doses in the water expected, `if_colder` and `if_warmer` in
    the coldest and the warmest of four in five; None where nothing published bears one. `says` is
    one sentence, `in_short` what fits a line, `rests_on` several sentences.
    """

    hazard: str
    over: Reached
    last_dose: date
    verdict: Verdict
    if_colder: Verdict | None
    if_warmer: Verdict | None
    says: str
    in_short: str
    rests_on: tuple[str, ...]


def likely_hatch(
    book: Book, courses: Sequence[Course], now: datetime
) -> dict[UUID, tuple[LikelyHatch, ...]]:
    """When what courses wait for is likely to be over, by estimate.

    Parameters
    ----------
    book
        The practice's book.
    courses
        Courses; only those that run, or are completed and wait for their control, are looked at.
    now
        The present instant, with a time zone.

    Returns
    -------
    dict
        Key of a course to its hazards; one without any is not there. Empty where no fit is at hand.

    Notes
    -----
    Days are counted from the first dose that counts. Measured water comes first, a day between two
    readings not more than two weeks apart with the lower of them; then the pond's estimate goes on.
    A dose that is overdue is taken to be given today.
    """
    today = book.today(now)
    looked = [one for one in courses if _is_open(one)]
    far = None
    if looked:
        far = estimates_far(book, {one.pond_id for one in looked}, now, FAR_DAYS)
    if far is None:
        return {}
    from store.warmth.words import grounds
    from store.watch.warmth_told import names_of

    rows = {one.id: _rows(one, today) for one in looked}
    since: dict[UUID, date] = {}
    for one in looked:
        days = [day for _, own in rows[one.id] for day in own]
        if days:
            since[one.pond_id] = min(*days, since.get(one.pond_id, days[0]))
    with book.reading() as connection:
        daily = daily_of(connection, book.zone, since, today)
    answers = {}
    for one in looked:
        ahead, estimate = far.ahead(one.pond_id), far.told(one.pond_id)
        if ahead is None or estimate is None or one.pond_id not in since:
            continue
        with book.reading() as connection:
            names = names_of(connection, (each.pond for each in estimate.neighbours))
        found = _of(one, rows[one.id], daily[one.pond_id], ahead, today)
        rests_on = (*grounds(estimate, names), TOGETHER)
        if found:
            answers[one.id] = tuple(_told(each, rests_on) for each in found)
    return answers


class _Judged(NamedTuple):
    code: str
    over: Reached
    last_dose: date
    colder: Verdict | None
    expected: Verdict
    warmer: Verdict | None


_Rows = list[tuple[PlanStep, list[date]]]


def _is_open(course: Course) -> bool:
    if course.state == "completed":
        return course.control_done is None
    return course.state == "running"


def _rows(course: Course, today: date) -> _Rows:
    """Of each bath the days of its doses, given and still due."""
    found = []
    for step in course.plan.steps:
        days = [
            one.counts_on or max(one.planned.due_on, today)
            for one in tallies(course.plan, step, course.given, today)
            if one.counts_on is not None
            or (course.state == "running" and one.planned.state == "due")
        ]
        if days and not is_fed(step):
            found.append((step, sorted(days)))
    return found


def _of(
    course: Course, rows: _Rows, daily: Mapping[date, float], ahead: Ahead, today: date
) -> list[_Judged]:
    found = []
    for code in course.plan.hazards:
        cycle = life_cycles().get(code)
        if cycle is None or cycle.timing == "none":
            continue
        judged = []
        for _, days in [row for row in rows if _is_against(row[0], course, code)] or rows:
            water = water_since(daily, days[0] - timedelta(days=1), today)
            path = onwards(water.known_c, days[0].toordinal(), ahead)
            expected = _verdict(code, days, path.mean_c)
            if expected is not None:
                colder, warmer = (_verdict(code, days, one) for one in (path.low_c, path.high_c))
                over = reached(path, 1.0, ends_by(code).share).later(1)
                judged.append(_Judged(code, over, days[-1], colder, expected, warmer))
        best = min(
            judged,
            key=lambda one: (one.expected not in GOOD, -one.last_dose.toordinal()),
            default=None,
        )
        if best is not None and (best.over.latest is None or best.over.latest > today):
            found.append(best)
    return found


def _is_against(step: PlanStep, course: Course, code: str) -> bool:
    try:
        agent = agent_by_code(step.agent, course.plan.formulary)
    except BadInput:
        return False
    return bool(aimed_at(agent, (code,)))


def _verdict(code: str, days: Sequence[date], temps_c: Sequence[float | None]) -> Verdict | None:
    counted = [(day - days[0]).days for day in days]
    try:
        return covers(counted, code, temps_c[:LONGEST_COURSE_DAYS]).verdict
    except BadInput:
        return None


def _told(one: _Judged, rests_on: tuple[str, ...]) -> LikelyHatch:
    name, over, end = known_hazards()[one.code].plain_name, one.over, ends_by(one.code)
    day = "" if over.expected is None else f"Expected on {day_said(over.expected)}. "
    return LikelyHatch(
        hazard=one.code,
        over=over,
        last_dose=one.last_dose,
        verdict=one.expected,
        if_colder=one.colder,
        if_warmer=one.warmer,
        says=f"{name.capitalize()}: {end.said} {said(over)} by estimate; last dose "
        f"{day_said(one.last_dose)}, {_judgement(one)}.",
        in_short=f"{end.short} {said(over)} by estimate: {name}",
        rests_on=(f"{day}{rests_on[0]}", *rests_on[1:]),
    )


def _judgement(one: _Judged) -> str:
    if one.expected == "not known":
        return "and how long hatching goes on is not published"
    if one.expected not in GOOD:
        return f"not covered: {one.expected}"
    wrong = [
        word for word, each in (("colder", one.colder), ("warmer", one.warmer)) if each not in GOOD
    ]
    return f"covered, but not surely in {' or '.join(wrong)} water" if wrong else "covered"
