"""Proposed days and hours, each with the reasons for it in words."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from store.diary.booking.added import added_way
from store.diary.booking.beside import Beside, beside, calls_of, edges, ends_of, site_stop
from store.diary.booking.free import (
    Span,
    is_left_out,
    shared,
    spans_of,
    taken,
    wall_end,
    without,
)
from store.diary.booking.objections import closed_windows, objections_to
from store.diary.booking.order import is_suspect, visits_elsewhere
from store.diary.booking.reasons import marks_of, reasons_for, told_once
from store.diary.booking.search import Search
from store.diary.booking.values import Objection, Purpose, Slot, Wish
from store.diary.booking.vet_day import WITHOUT_VET, Asked, SiteAsked, VetDay
from store.diary.booking.ways import said_drives
from store.diary.times.spell import minute_of
from store.facts.driving import driving
from store.facts.follow_ups import follow_up_kinds
from store.text import day_said

GRID_MIN, FINE_GRID_MIN = 15, 5
"""Hours are proposed on the quarter, or on five minutes where a gap holds no quarter [min]."""
DAY_COSTS_MIN = 6.0
"""Common practice: a day away from the one that was promised weighs as much as this drive [min]."""
LATE_COSTS_MIN = 5.0
"""Common practice: a day outside the window of a promise weighs as much as this drive, times its
stake and by the days of lateness that it bears [min]: 40 min for a dose, under one for a routine
test."""
WAIT_COSTS_MIN = 2.0
"""Common practice: without a promised day, a day of waiting weighs as much as this drive [min]."""
IDLE_COSTS = 0.05
"""Common practice: a minute of waiting beside another visit weighs as this much driving [-].
"""
CIVIL_FROM, CIVIL_UNTIL = time(8), time(19)
"""Common practice: between these hours people expect somebody where no hours of access are stated.
"""
UNCIVIL_COSTS_MIN = 30.0
"""Common practice: an hour outside of them weighs as much as this drive [min]."""
UNCIVIL = "early or late, and no hours of access are stated."
SHARED_COSTS_MIN = 60.0
"""Common practice: a day with other visits weighs as this drive for a suspect of a notifiable
disease [min]."""
APART_MIN = 60
"""Two hours that are proposed for one person and day lie at least as far apart [min]."""
_BEARABLE = frozenset({"holiday", "window", "booked", "order"})
"""What a proposal may carry, told in its marks; all else is not proposed."""
_BEHIND = 2
"""From this tier on a slot stands outside of its window."""
_OUT_OF_ORDER = 3
"""The tier of slots that break the order from clean to infected: only where there is no other."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """The best slot of each day and person, best first, then other hours; `said` on the search.

    `until` is the last day that was looked at.
    """

    slots: tuple[Slot, ...]
    said: tuple[str, ...]
    until: date


@dataclass(frozen=True, slots=True)
class _Found:
    slot: Slot
    tier: int


def proposed(
    wish: Wish,
    site: SiteAsked,
    days: Sequence[VetDay],
    search: Search,
    asked_on: Callable[[date], Asked],
    *,
    count: int = 3,
) -> Proposal:
    """The best slots for a visit, on different days or with different people where possible.

    Free stretches are the working hours less leave, visits and the drives to and from them, within
    the site's hours of access; the drive out and the way home belong to the working hours where
    they are known. Each is weighed by the minutes of driving that it adds, by the days between it
    and the day that was promised, and by the hole that it tears; lower is better. Public holidays
    stand behind all other days, days outside the promise's window are only proposed where no day
    within has a free hour, and the nearer the more hangs on it. A day of which no drive is known
    weighs as the stand-in for one. An hour that brings a cleaner site
    behind a sicker one is only proposed where there is no other at all, with its mark.

    Parameters
    ----------
    wish
        What is to be booked.
    site
        Where it goes.
    days
        Every person's day in which may be searched.
    search
        The days that are searched, see `store.diary.booking.search`.
    asked_on
        Gives the present and what is known of the wish on a day.
    count
        How many slots at most.

    Returns
    -------
    Proposal
        Fewer slots, or none, where there are no more; the sentences say so.
    """
    found = [
        one
        for vet in days
        if search.first <= vet.day <= search.furthest and vet.staff_id is not None
        for one in _slots_of(wish, site, vet, search, asked_on(vet.day))
    ]
    every, found = found, [one for one in found if one.tier < _OUT_OF_ORDER]
    near = [one for one in found if one.tier < _BEHIND and one.slot.on_day <= search.last]
    found = near or [one for one in found if one.tier < _BEHIND] or found or every
    chosen = _chosen(found, count)
    if chosen:
        earliest = min(found, key=lambda one: _when(one.slot)).slot
        chosen = [_with_first(one, earliest, search) for one in chosen]
    said = [*_said(wish, site, days, search, chosen, count, asked_on)]
    if found is every and any(one.tier == _OUT_OF_ORDER for one in every):
        said.append("Each of these breaks the order from clean to infected; no other hour is free.")
    elif len(found) < len(every) and any(one.tier == _OUT_OF_ORDER for one in every):
        said.append("Hours that break the order from clean to infected are left out.")
    return Proposal(tuple(chosen), tuple(said), search.furthest)


def _slots_of(
    wish: Wish, site: SiteAsked, vet: VetDay, search: Search, asked: Asked
) -> Iterator[_Found]:
    zone, length = asked.zone, timedelta(minutes=wish.minutes)
    others = beside(vet, site, asked, None)
    taken_by = [one.kept_free for one in others]
    work = vet.work_spans(zone)
    taken_by += [one.span for one in edges(vet, site, asked, others, work)]
    free = without(work, taken_by)
    if site.is_bound:
        free = shared(free, spans_of(vet.day, site.access[vet.day.weekday()], zone))
    for span in free:
        begins = max(span.begins, asked.now)
        if begins + length > span.ends:
            continue
        for at_time in _hours(vet.day, Span(begins, span.ends), wish.minutes, zone, site):
            spoken = objections_to(wish, site, vet, at_time, wish.minutes, asked)
            if all(one.code in _BEARABLE for one in spoken):
                yield _weighed(wish, site, vet, search, asked, at_time, others, spoken)


def _hours(day: date, span: Span, minutes: int, zone: ZoneInfo, site: SiteAsked) -> list[time]:
    """The first and the last good hour within a stretch, and the first that people expect."""
    last_begin = span.ends - timedelta(minutes=minutes)
    expected = () if site.is_bound else (CIVIL_FROM,)
    for grid in (GRID_MIN, FINE_GRID_MIN):
        first = _up(span.begins.astimezone(zone), grid)
        last = _down(last_begin.astimezone(zone), grid)
        found = [
            at
            for at in dict.fromkeys((first, *expected, last))
            if not is_left_out(day, at, zone) and span.holds(taken(day, at, minutes, zone))
        ]
        if found:
            return found
    return []


def _up(local: datetime, grid: int) -> time:
    minute = local.hour * 60 + local.minute + (1 if local.second or local.microsecond else 0)
    return _clock(-(-minute // grid) * grid)


def _down(local: datetime, grid: int) -> time:
    return _clock((local.hour * 60 + local.minute) // grid * grid)


def _clock(minute: int) -> time:
    return time(*divmod(min(minute, 24 * 60 - 1), 60))


def _weighed(
    wish: Wish,
    site: SiteAsked,
    vet: VetDay,
    search: Search,
    asked: Asked,
    at_time: time,
    others: Sequence[Beside],
    spoken: Sequence[Objection],
) -> _Found:
    assert vet.staff_id is not None
    ways = asked.ways
    calls, here, (start, home) = (
        calls_of(vet.visits, ways),
        site_stop(site, ways),
        ends_of(vet, ways),
    )
    added = added_way(calls, here, minute_of(at_time), ways, start, home)
    score = float(driving().unknown_min if added is None else added.minutes)
    if search.aim_on is None:
        score += WAIT_COSTS_MIN * (vet.day - search.first).days
    else:
        score += DAY_COSTS_MIN * abs((vet.day - search.aim_on).days)
    score += LATE_COSTS_MIN * _lost(wish.purposes, vet.day)
    wanted = taken(vet.day, at_time, wish.minutes, asked.zone)
    score += IDLE_COSTS * _idle_min(wanted, [one for one in others if one.visit.on_day == vet.day])
    uncivil = _is_uncivil(site, wanted, asked.zone)
    score += UNCIVIL_COSTS_MIN if uncivil else 0.0
    if is_suspect(site, asked) and visits_elsewhere(site, vet):
        score += SHARED_COSTS_MIN
    codes = {one.code for one in spoken}
    tier = _BEHIND if "window" in codes else 1 if "holiday" in codes else 0
    tier = _OUT_OF_ORDER if "order" in codes else tier
    slot = Slot(
        vet.day,
        at_time,
        wish.minutes,
        vet.staff_id,
        vet.who,
        None if added is None else added.minutes,
        score,
        tuple(reasons_for(site, vet, search, added, asked)),
        (
            *_said_against(wish, vet.day, asked, spoken),
            *((UNCIVIL,) if uncivil else ()),
            *marks_of(site, vet, asked, at_time, search),
        ),
        wall_end(vet.day, at_time, wish.minutes, asked.zone),
        None if added is None else added.km,
        "" if added is None else added.rests_on,
    )
    return _Found(slot, tier)


def _lost(purposes: Sequence[Purpose], day: date) -> float:
    """How often what hangs on the promise that closes first is lost on a day outside its window."""
    if not purposes:
        return 0.0
    leading = min(purposes, key=lambda one: (one.last_on, one.first_on))
    away = max((day - leading.last_on).days, (leading.first_on - day).days, 0)
    kinds = follow_up_kinds()
    kind = kinds.get(leading.kind, kinds["visit"])
    return kind.stake * away / kind.tolerance_days


def _said_against(
    wish: Wish, day: date, asked: Asked, spoken: Sequence[Objection]
) -> Iterator[str]:
    """What speaks against a slot; of a single promise the window is told beside, once for all."""
    if len(wish.purposes) != 1:
        yield from (one.says for one in spoken)
        yield from closed_windows(wish.purposes, day, asked.now.astimezone(asked.zone).date())
        return
    yield from (one.says for one in spoken if one.code != "window")
    first, last = wish.purposes[0].first_on, wish.purposes[0].last_on
    away = max((day - last).days, (first - day).days)
    if away > 0:
        side = "after" if day > last else "before"
        yield f"{away} {'day' if away == 1 else 'days'} {side} its window."


def _is_uncivil(site: SiteAsked, wanted: Span, zone: ZoneInfo) -> bool:
    begins, ends = wanted.begins.astimezone(zone), wanted.ends.astimezone(zone)
    within = begins.time() >= CIVIL_FROM and ends.time() <= CIVIL_UNTIL
    return not site.is_bound and not (within and begins.date() == ends.date())


def _idle_min(wanted: Span, others: Sequence[Beside]) -> float:
    """Minutes between a visit and the nearest other one, beyond the drive; 0 without any."""
    waits = (
        (wanted.begins - one.kept_free.ends, one.kept_free.begins - wanted.ends) for one in others
    )
    return min((max(wait) / timedelta(minutes=1) for wait in waits), default=0.0)


def _when(slot: Slot) -> tuple[date, time]:
    return slot.on_day, slot.at_time


def _rank(one: _Found) -> tuple[int, float, date, time, str]:
    return one.tier, one.slot.score, *_when(one.slot), one.slot.who


def _chosen(found: Sequence[_Found], count: int) -> list[Slot]:
    """The best of each person and day first, other hours of the same behind, holidays last."""
    ranked = sorted(found, key=_rank)
    chosen: list[Slot] = []
    for tier in sorted({one.tier for one in found}):
        of_tier = [one.slot for one in ranked if one.tier == tier]
        for spread in (True, False):
            for slot in of_tier:
                if len(chosen) < count and _fits_beside(slot, chosen, spread):
                    chosen.append(slot)
    return chosen


def _fits_beside(slot: Slot, chosen: Sequence[Slot], spread: bool) -> bool:
    same = [one for one in chosen if (one.on_day, one.staff_id) == (slot.on_day, slot.staff_id)]
    if spread:
        return not same
    return all(abs(minute_of(one.at_time) - minute_of(slot.at_time)) >= APART_MIN for one in same)


def _with_first(slot: Slot, earliest: Slot, search: Search) -> Slot:
    if _when(slot) != _when(earliest):
        return slot
    since = f" from {day_said(search.first)} on" if search.is_later else ""
    return replace(slot, reasons=(*slot.reasons, f"first free hour{since}"))


def _said(
    wish: Wish,
    site: SiteAsked,
    days: Sequence[VetDay],
    search: Search,
    chosen: Sequence[Slot],
    count: int,
    asked_on: Callable[[date], Asked],
) -> Iterator[str]:
    yield from search.said
    people = list(dict.fromkeys(vet.who for vet in days))
    if not people:
        yield "Nobody is entered as a vet, so nobody can be proposed."
        return
    asked = asked_on(search.first)
    yield from told_once(site, days, asked)
    if not chosen:
        yield from _why_none(wish, site, days, asked_on)
        yield (
            f"No free {wish.minutes} min for {' or '.join(people)} from {day_said(search.first)} "
            f"to {day_said(search.furthest)}. Choose a day and hour, and say why it goes all "
            "the same."
        )
    elif all(one.on_day > search.last for one in chosen):
        yield f"No free hour until {day_said(search.last)}; these come after."
        within = [vet for vet in days if search.first <= vet.day <= search.last]
        yield from _why_none(wish, site, within, asked_on)
    elif len(chosen) < count:
        more = "slot" if len(chosen) == 1 else "slots"
        yield f"No more than {len(chosen)} {more} could be found."
    drives = said_drives(asked.ways.used)
    if drives:
        yield drives


def _why_none(
    wish: Wish, site: SiteAsked, days: Sequence[VetDay], asked_on: Callable[[date], Asked]
) -> Iterator[str]:
    if not any(vet.is_vet for vet in days) and wish.kind.casefold() not in WITHOUT_VET:
        yield f"{' and '.join({vet.who: 1 for vet in days})} is not entered as a vet."
    if not days:
        return
    zone = asked_on(days[0].day).zone
    work = [(vet, spans) for vet in days if (spans := vet.work_spans(zone))]
    if not work:
        yield "Nobody works on any of these days, or all are away."
        return
    if site.is_bound:
        open_then = (
            shared(spans, spans_of(vet.day, site.access[vet.day.weekday()], zone))
            for vet, spans in work
        )
        longest = max((one.minutes for spans in open_then for one in spans), default=0)
        if longest < wish.minutes:
            yield (
                f"Working hours and hours of access (“{site.access_said}”) never leave "
                f"{wish.minutes} min together."
            )
            return
    if any(vet.visits for vet, _spans in work):
        yield "Visits and the drives between them fill these days."
