"""The pond's water as it is now, for planning a course and before a dose; and what is under way."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import NamedTuple
from uuid import UUID

from store.book.book import Book
from store.book.ponds import pond as pond_of
from store.courses.cautions.clash import CLASH_DAYS
from store.courses.cautions.peak import EarlierDose
from store.courses.cautions.suspected import suspected_things
from store.courses.kept.records import Course, courses_of
from store.courses.planning.course import Plan, PlannedDose, PlanStep, PondWater
from store.courses.planning.fed import last_day
from store.errors import BadInput
from store.facts.rules import rules
from store.watch.look import look
from store.watch.rulebook import STALE, read_rulebook
from store.watch.seen import DAY_MS, PondSeen
from store.watch.track import last_piece

FILTER_DISTURBED = ("filter_disturbed", "filter_restarted")
ZEOLITE = "zeolite_in_filter"
_CODES = (
    "temperature_c", "ph", "alkalinity_mg_l", "hardness_mg_l", "oxygen_mg_l", "salinity_g_l"
)  # fmt: skip


class Believed(NamedTuple):
    """A reading that is still believed: its value in the stored unit, and its age [d]."""

    value: float
    age_days: float


@dataclass(frozen=True, slots=True)
class WaterNow:
    """The water with the age of each reading, and the codes of those too old to be believed."""

    water: PondWater
    readings: Mapping[str, Believed]
    too_old: tuple[str, ...]


def water_now(book: Book, pond: UUID, now: datetime) -> PondWater:
    """The pond's water as a course is planned on it, or a dose given into it.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    now
        The present instant, with a time zone.

    Returns
    -------
    PondWater
        As in `WaterNow.water`; see `water_seen`.

    Raises
    ------
    BadInput
        The volume of the pond is not known.
    NotFound
        No such pond, or it was struck through.
    """
    return water_seen(book, pond, now).water


def water_seen(book: Book, pond: UUID, now: datetime) -> WaterNow:
    """The pond's water as it is now, with the age of every reading.

    Of each parameter the newest reading counts, if it is not older than the practice's rule on old
    readings lets it be believed; a logger's temperature counts where it is newer. The volume is the
    one in force with its bounds, the trend that of the temperature windows.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    now
        The present instant, with a time zone.

    Returns
    -------
    WaterNow
        What is not known is None; `age_days` is that of the oldest reading in it [d].

    Raises
    ------
    BadInput
        The volume of the pond is not known.
    NotFound
        No such pond, or it was struck through.
    """
    with book.reading() as connection:
        caseload = look(connection, now, book.zone, pond=pond)
        in_force = read_rulebook(connection, book.zone).of(pond)
    seen, today = caseload.seen[pond], caseload.today
    kept = pond_of(book, pond)
    if kept.volume_l is None:
        raise BadInput(
            "The volume of this pond is not known, so no dose can be reckoned. Find it first: on "
            "the pond's page, with the key for its volume.",
            field="volume",
            title="Volume not known",
        )
    days = next(rule.params for rule in in_force if rule.code == STALE)
    newest = _newest(seen, now)
    believed = {
        code: one
        for code, one in newest.items()
        if one.age_days <= float(days.get(f"{code}_days", days["default_days"]))
    }
    values = {code: one.value for code, one in believed.items()}
    slope = None
    if "temperature_c" in believed:
        slope = last_piece(seen.daily_temperatures(), today).slope_c_per_day
    water = PondWater(
        volume_l=kept.volume_l,
        volume_low_l=kept.volume_l if kept.volume_low_l is None else kept.volume_low_l,
        volume_high_l=kept.volume_l if kept.volume_high_l is None else kept.volume_high_l,
        trend_c_per_day=slope,
        age_days=max((one.age_days for one in believed.values()), default=None),
        species=kept.species,
        things=_things(seen, today) | suspected_things(in_force, seen, today),
        use=kept.use,
        **values,
    )
    return WaterNow(water, believed, tuple(code for code in newest if code not in believed))


def _newest(seen: PondSeen, now: datetime) -> dict[str, Believed]:
    now_ms = round(now.timestamp() * 1000)
    found: dict[str, tuple[int, float]] = {}
    for code in _CODES:
        place = seen.newest_with(code)
        if place is not None:
            found[code] = (seen.tests[place].at_ms, seen.values(place)[code])
    logged = seen.last_hours.get("temperature_c")
    if logged and logged[-1][0] > found.get("temperature_c", (0, 0.0))[0]:
        found["temperature_c"] = logged[-1]
    return {
        code: Believed(value, max(0.0, (now_ms - at_ms) / DAY_MS))
        for code, (at_ms, value) in found.items()
    }


def _things(seen: PondSeen, today: date) -> frozenset[str]:
    """Zeolite while it lies in the filter, and a filter disturbed so lately that it is sick."""
    sick_days = float(rules()["filter_disturbed"].params["watch_days"])
    found = set()
    for one in seen.circumstances:
        if one.kind == ZEOLITE:
            found.add("zeolite")
        if one.kind in FILTER_DISTURBED and (today - one.first).days <= sick_days:
            found.add("sick_filter")
    return frozenset(found)


@dataclass(frozen=True, slots=True)
class Beside:
    """What a pond has besides a plan: courses under way, and doses of courses that are over."""

    running: tuple[Plan, ...]
    last: tuple[EarlierDose, ...]


def beside(book: Book, pond: UUID, today: date, *, but: UUID | None = None) -> Beside:
    """What else is, or was lately, in the water of a pond, for `cautions` and `cautions_before`.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    today
        The practice's calendar day.
    but
        The course that is looked at itself; left out.

    Returns
    -------
    Beside
        Running courses with their doses as they were really given; of ended ones the doses of the
        days within which agents count as meeting.
    """
    courses = [one for one in courses_of(book, pond) if one.id != but]
    since = today - timedelta(days=CLASH_DAYS)
    return Beside(
        running=tuple(as_given(one) for one in courses if one.state == "running"),
        last=tuple(
            EarlierDose(step.agent, min(today, last_day(step, one)), one.dose, step.unit)
            for course in courses
            if course.state not in ("running", "planned")
            for step in course.plan.steps
            for one in course.given
            if one.place == step.place and last_day(step, one) >= since
        ),
    )


def as_given(course: Course) -> Plan:
    """The plan of a course with the doses that were given in place of those planned.

    Parameters
    ----------
    course
        As it stands in the book.
    """
    return replace(
        course.plan, steps=tuple(_step_as_given(step, course) for step in course.plan.steps)
    )


def _step_as_given(step: PlanStep, course: Course) -> PlanStep:
    own = [one for one in course.given if one.place == step.place]
    numbers = {one.number for one in own}
    shares = {one.number: one.share for one in step.doses}
    doses = [one for one in step.doses if one.number not in numbers]
    doses += [
        PlannedDose(
            one.number, one.on_day, one.dose, one.amount, one.amount_unit,
            one.water_change_percent, shares.get(one.number, "practice"), "given",
        )
        for one in own
    ]  # fmt: skip
    return replace(step, doses=tuple(sorted(doses, key=lambda one: (one.due_on, one.number))))
