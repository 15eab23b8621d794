"""The water of running courses since their first day, as it was measured and as it is expected."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from math import isfinite
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from store.book.book import Book
from store.courses.food.water_since import EXPECT_DAYS, GAP_DAYS, LOWEST_C
from store.courses.food.withdrawal import HIGHEST_C
from store.courses.kept.records import Course
from store.courses.kept.water_daily import daily_of
from store.courses.planning.course import Plan
from store.courses.planning.timing import TREND_DAYS, temperatures
from store.courses.turning.water_moved import first_day
from store.watch.track import last_piece

Temps = tuple[float | None, ...]
"""Daily water temperatures from the plan's first day on [°C]; None is a day without a reading."""


def temps_of(book: Book, courses: Sequence[Course], today: date) -> dict[UUID, Temps]:
    """The daily water of each running course, in one query for all their ponds.

    Parameters
    ----------
    book
        The practice's book.
    courses
        Courses; those that do not run are left out.
    today
        The practice's calendar day.

    Returns
    -------
    dict
        Key of the course to its temperatures, as `course_temps` gives them; one of which nothing is
        known is not there.
    """
    if not any(one.state == "running" for one in courses):
        return {}
    with book.reading() as connection:
        return temps_within(connection, book.zone, courses, today)


def temps_within(
    connection: Connection, zone: ZoneInfo, courses: Sequence[Course], today: date
) -> dict[UUID, Temps]:
    """As `temps_of`, as a transaction sees it.

    Parameters
    ----------
    connection
        Reading, or within a writing.
    zone
        Of the practice.
    courses, today
        As for `temps_of`.
    """
    running = [one for one in courses if one.state == "running"]
    since: dict[UUID, date] = {}
    for one in running:
        begins = first_day(one.plan)
        since[one.pond_id] = min(begins, since.get(one.pond_id, begins))
    daily = daily_of(connection, zone, since, today)
    found = {one.id: course_temps(one.plan, daily[one.pond_id], today) for one in running}
    return {key: temps for key, temps in found.items() if temps is not None}


def course_temps(plan: Plan, daily_c: Mapping[date, float], today: date) -> Temps | None:
    """The water since the first day of a plan, and for some days ahead.

    Parameters
    ----------
    plan
        The plan.
    daily_c
        Daily mean water temperatures by calendar day, also of days before the first [°C].
    today
        The practice's calendar day.

    Returns
    -------
    tuple or None
        As measured until the newest reading; from today on the present trend for a week, then as it
        is, as a course is planned. A day without a reading between two is None: the warmer of them
        counts for the earliest hatch, the colder for the last. A reading too old to tell a trend is
        taken to stay. None as a whole where nothing was measured since the first day.
    """
    begins = first_day(plan)
    record = {
        day: temp_c
        for day, temp_c in sorted(daily_c.items())
        if day <= today and isfinite(temp_c) and LOWEST_C <= temp_c <= HIGHEST_C
    }
    newest = max(record, default=None)
    if newest is None or newest < begins:
        return None
    measured: list[float | None] = [
        record.get(begins + timedelta(place)) for place in range((newest - begins).days + 1)
    ]
    before = max((day for day in record if day < begins), default=None)
    if measured[0] is None and before is not None and (begins - before).days <= GAP_DAYS:
        measured[0] = record[before]
    held = [record[newest]] * max(0, (today - newest).days - 1)
    slope = None
    if (today - newest).days <= EXPECT_DAYS:
        piece = last_piece([(day.toordinal(), one) for day, one in record.items()], today)
        slope = piece.slope_c_per_day
    now = replace(plan.water, temperature_c=record[newest], trend_c_per_day=slope)
    ahead = temperatures(now, TREND_DAYS + 1)
    return (*measured, *held, *(ahead if newest < today else ahead[1:]))
