"""Stretches of time: what is free of a day, over clock changes too."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from store.diary.booking.free import (
    Span,
    instant_of,
    is_left_out,
    minutes_in,
    shared,
    span_of,
    spans_of,
    spells_of,
    taken,
    without,
)
from store.diary.times.spell import MIDNIGHT, Spell
from tests.diary.booking_days import LONDON, away, vet_day, visit

ZONES = [
    ZoneInfo(name)
    for name in (
        "Europe/London", "America/St_Johns", "America/Los_Angeles", "Australia/Lord_Howe",
        "Pacific/Auckland", "Asia/Kathmandu", "Pacific/Kiritimati", "Pacific/Honolulu",
        "America/Santiago", "Africa/Cairo",
    )
]  # fmt: skip
START = datetime(2026, 3, 29, tzinfo=UTC)
DAYS = st.dates(date(2024, 1, 1), date(2028, 12, 31))


@st.composite
def spans(draw: st.DrawFn) -> tuple[Span, ...]:
    marks = sorted(draw(st.sets(st.integers(0, 600), max_size=8)))
    pairs = zip(marks[::2], marks[1::2], strict=False)
    return tuple(Span(START + timedelta(minutes=a), START + timedelta(minutes=b)) for a, b in pairs)


@st.composite
def spells(draw: st.DrawFn) -> tuple[Spell, ...]:
    marks = sorted(draw(st.sets(st.integers(0, 1439), max_size=6)))
    hours = [time(*divmod(mark, 60)) for mark in marks]
    return tuple(Spell(a, b) for a, b in zip(hours[::2], hours[1::2], strict=False))


def minutes_of(row: tuple[Span, ...]) -> set[int]:
    found: set[int] = set()
    for one in row:
        first = int((one.begins - START) / timedelta(minutes=1))
        assert not found & set(range(first, first + one.minutes)), "none meets another"
        found |= set(range(first, first + one.minutes))
    return found


@given(spans(), spans())
def test_taking_out_and_sharing_are_those_of_sets_of_minutes(
    here: tuple[Span, ...], there: tuple[Span, ...]
) -> None:
    assert minutes_of(without(here, there)) == minutes_of(here) - minutes_of(there)
    assert minutes_of(shared(here, there)) == minutes_of(here) & minutes_of(there)
    assert minutes_in(here) == len(minutes_of(here))


@given(spans(), st.lists(spans(), max_size=3))
def test_what_is_taken_may_overlap_and_come_in_any_order(
    here: tuple[Span, ...], there: list[tuple[Span, ...]]
) -> None:
    out = [one for row in there for one in row]
    forwards, backwards = without(here, out), without(here, reversed(out))
    assert forwards == backwards


@pytest.mark.parametrize(
    ("zone", "day", "hours"),
    [
        ("Europe/London", date(2026, 3, 29), 23), ("Europe/London", date(2026, 10, 25), 25),
        ("Europe/London", date(2028, 2, 29), 24), ("America/New_York", date(2026, 3, 8), 23),
        ("America/New_York", date(2026, 11, 1), 25), ("Australia/Lord_Howe", date(2026, 4, 5), 24.5),
        ("Australia/Lord_Howe", date(2026, 10, 4), 23.5), ("Pacific/Auckland", date(2026, 4, 5), 25),
        # The clock changes at midnight: the day begins at one.
        ("America/Santiago", date(2026, 9, 6), 23), ("Asia/Kathmandu", date(2026, 3, 29), 24),
    ],
)  # fmt: skip
def test_a_day_has_the_hours_it_has(zone: str, day: date, hours: float) -> None:
    whole = spans_of(day, [Spell(time(0), MIDNIGHT)], ZoneInfo(zone))
    assert minutes_in(whole) == hours * 60
    begins = whole[0].begins.astimezone(ZoneInfo(zone))
    assert begins.date() == day
    assert whole[0].ends == instant_of(day + timedelta(days=1), time(0), ZoneInfo(zone))


@given(DAYS, spells(), st.sampled_from(ZONES))
@example(date(2026, 10, 25), (Spell(time(1, 15), time(1, 45)),), LONDON)
@example(date(2026, 3, 29), (Spell(time(0, 30), time(3, 0)),), LONDON)
def test_hours_come_back_as_they_were_said(
    day: date, said: tuple[Spell, ...], zone: ZoneInfo
) -> None:
    if any(is_left_out(day, at, zone) for one in said for at in (one.begins, one.ends)):
        return
    made = spans_of(day, said, zone)
    assert spells_of(made, zone) == said
    assert all(one.begins < one.ends for one in made)
    assert all(one.ends < other.begins for one, other in pairwise(made))


@given(DAYS, st.times(), st.sampled_from(ZONES))
def test_an_hour_is_left_out_or_comes_back(day: date, at: time, zone: ZoneInfo) -> None:
    at = at.replace(second=0, microsecond=0)
    if at == MIDNIGHT:
        return
    there = instant_of(day, at, zone).astimezone(zone)
    assert is_left_out(day, at, zone) == ((there.date(), there.time()) != (day, at))


@given(DAYS, st.times(), st.integers(5, 1440), st.sampled_from(ZONES))
def test_a_visit_takes_as_long_as_it_takes(
    day: date, at: time, minutes: int, zone: ZoneInfo
) -> None:
    assert taken(day, at, minutes, zone).minutes == minutes
    there = visit(day, at, minutes=minutes)
    assert span_of(there, zone) == taken(day, at, minutes, zone)
    assert span_of(visit(day, None), zone) is None


def test_stretches_that_touch_are_one_and_empty_ones_are_none() -> None:
    day = date(2026, 3, 18)
    touching = [Spell(time(13), time(17)), Spell(time(9), time(12)), Spell(time(12), time(13))]
    assert spells_of(spans_of(day, touching, LONDON), LONDON) == (Spell(time(9), time(17)),)
    assert spans_of(day, [Spell(time(9), time(9))], LONDON) == ()


def test_free_is_what_visits_and_leave_leave_over() -> None:
    day = vet_day(
        visit(at_time=time(10)),
        visit(at_time=None),
        away=(away(begins=time(14), ends=time(15)),),
        near_visits=(visit(date(2026, 3, 17), time(23), minutes=615),),
    )
    assert spells_of(day.free_spans(LONDON), LONDON) == (
        Spell(time(9, 15), time(10)), Spell(time(11), time(14)), Spell(time(15), time(17)),
    )  # fmt: skip
    assert day.work_min(LONDON) == 7 * 60


def test_two_stretches_that_only_touch_do_not_meet() -> None:
    one = Span(START, START + timedelta(minutes=30))
    other = Span(one.ends, one.ends + timedelta(minutes=30))
    assert not one.meets(other)
    assert not other.meets(one)
    assert one.holds(one)
    assert not one.holds(other)
