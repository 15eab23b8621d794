"""What speaks against a day and hour, in sentences: what cannot be, and what needs a reason."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from itertools import pairwise
from uuid import UUID
from zoneinfo import ZoneInfo

from store.diary.booking.distance import (
    UNKNOWN_DRIVE_MIN,
    Call,
    distance_km,
    drive_min,
    place_of,
    way_km,
)
from store.diary.booking.free import Span, instant_of, is_left_out, span_of, spans_of, taken
from store.diary.booking.values import Objection, Purpose, Visiting, Wish
from store.diary.booking.vet_day import WITHOUT_VET, Asked, SiteAsked, VetDay
from store.diary.times.spell import Spell, minute_of
from store.text import day_said

_WEEKDAYS = (
    "Mondays", "Tuesdays", "Wednesdays", "Thursdays", "Fridays", "Saturdays", "Sundays",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Beside:
    """Another visit with an hour, and the drive between it and the site asked about [min]."""

    visit: Visiting
    span: Span
    drive_min: int

    @property
    def kept_free(self) -> Span:
        """The visit with the drive before and behind it: nothing else fits in there."""
        drive = timedelta(minutes=self.drive_min)
        return Span(self.span.begins - drive, self.span.ends + drive)


def straight_km(site: SiteAsked, visit: Visiting) -> float | None:
    """Straight distance between a site and a visit [km], None where a place is not known.

    Parameters
    ----------
    site, visit
        The two; a visit to the same site is at no distance, known or not.
    """
    if visit.site_id == site.id:
        return 0.0
    place = place_of(visit.latitude, visit.longitude)
    return None if place is None or site.place is None else distance_km(site.place, place)


def beside(vet: VetDay, site: SiteAsked, zone: ZoneInfo, visit_id: UUID | None) -> list[Beside]:
    """The other visits of a person that have an hour, by it, those of the days beside among them.

    Parameters
    ----------
    vet
        The person's day.
    site
        Where the visit is to go.
    zone
        The practice's time zone.
    visit_id
        The visit that is moved, which does not stand in its own way; None for a new one.
    """
    found = [
        Beside(visit, span, drive_min(straight_km(site, visit)))
        for visit in (*vet.visits, *vet.near_visits)
        if visit.id != visit_id and (span := span_of(visit, zone)) is not None
    ]
    return sorted(found, key=lambda one: (one.span.begins, one.visit.id))


def objections_to(
    wish: Wish,
    site: SiteAsked,
    vet: VetDay,
    at_time: time | None,
    minutes: int,
    asked: Asked,
    visit_id: UUID | None = None,
) -> tuple[Objection, ...]:
    """Everything that speaks against a visit on a person's day at an hour.

    Parameters
    ----------
    wish
        What is to be booked.
    site
        Where it goes.
    vet
        Who goes, with everything else of that day.
    at_time
        The local hour; None while none is agreed, and what hangs on the hour is then not asked.
    minutes
        Length of the visit beside the pond [min].
    asked
        The present, and what else is known of the wish.
    visit_id
        The visit that is moved; None for a new one.

    Returns
    -------
    tuple of Objection
        What can never be first; empty where nothing speaks against it.
    """
    found = [
        *_past(vet, at_time, asked),
        *_role(wish, vet),
        *_away(vet, at_time, minutes, asked.zone),
        *_access(site, vet, at_time, minutes, asked.zone),
        *_working(vet, at_time, minutes, asked.zone),
        *_clash(site, vet, at_time, minutes, asked.zone, visit_id),
        *_overfull(site, vet, at_time, minutes, asked.zone, visit_id),
        *_window(wish.purposes, vet),
        *_holiday(vet),
        *_booked(asked),
    ]
    return tuple(sorted(found, key=lambda one: one.bars != "never"))


def _past(vet: VetDay, at_time: time | None, asked: Asked) -> Iterator[Objection]:
    local = asked.now.astimezone(asked.zone)
    day = day_said(vet.day)
    if vet.day < local.date():
        yield Objection("past", "never", f"{day} lies behind; no visit can be booked.", "on_day")
    if at_time is None:
        return
    if is_left_out(vet.day, at_time, asked.zone):
        says = f"On {day} the clock change leaves out {at_time:%H:%M}; there is no such hour."
        yield Objection("no_hour", "never", says, "at_time")
    elif vet.day == local.date() and instant_of(vet.day, at_time, asked.zone) < asked.now:
        says = f"{at_time:%H:%M} lies behind: it is {local:%H:%M} now."
        yield Objection("past", "never", says, "at_time")


def _role(wish: Wish, vet: VetDay) -> Iterator[Objection]:
    if vet.staff_id is not None and not vet.is_vet and wish.kind.casefold() not in WITHOUT_VET:
        kind = f"A visit of the kind “{wish.kind}”" if wish.kind else "Such a visit"
        says = f"{kind} needs a vet, and {vet.who} is not entered as one."
        yield Objection("no_vet", "never", says, "staff_id")


def _away(vet: VetDay, at_time: time | None, minutes: int, zone: ZoneInfo) -> Iterator[Objection]:
    day = day_said(vet.day)
    whole = Span(instant_of(vet.day, time(0), zone), instant_of(vet.day, time(23, 59), zone))
    wanted = whole if at_time is None else taken(vet.day, at_time, minutes, zone)
    for one in vet.away:
        hit = one.span.holds(whole) if at_time is None else one.span.meets(wanted)
        if not hit:
            continue
        hours = "" if one.span.holds(whole) else f" {said_span(one.span, whole, zone)}"
        when = f"on {day}{hours}"
        because = f": {one.says}" if one.says else ""
        if one.whole_practice:
            says = f"The practice is closed {when}{because}."
            yield Objection("closed", "reason", says, "on_day")
        else:
            field = "staff_id" if one.span.holds(whole) else "at_time"
            yield Objection("away", "never", f"{vet.who} is away {when}{because}.", field)


def _access(
    site: SiteAsked, vet: VetDay, at_time: time | None, minutes: int, zone: ZoneInfo
) -> Iterator[Objection]:
    if not site.is_bound:
        return
    spells = site.access[vet.day.weekday()]
    if not spells:
        says = f"{site.name} cannot be entered on {_WEEKDAYS[vet.day.weekday()]}"
        yield Objection("access", "reason", f"{says} (“{site.access_said}”).", "on_day")
        return
    if at_time is None:
        return
    wanted = taken(vet.day, at_time, minutes, zone)
    if not any(one.holds(wanted) for one in spans_of(vet.day, spells, zone)):
        says = (
            f"{site.name} can be entered {said_spells(spells)}, and the visit would take "
            f"{_clock(wanted, zone)}."
        )
        yield Objection("access", "reason", says, "at_time")


def _working(
    vet: VetDay, at_time: time | None, minutes: int, zone: ZoneInfo
) -> Iterator[Objection]:
    if vet.staff_id is None:
        return
    if not vet.work:
        if vet.hours_unknown and not vet.usual:
            return  # nothing of it was understood: a mark says so
        says = f"{vet.who} does not work on {_WEEKDAYS[vet.day.weekday()]}"
        yield Objection("hours", "reason", f"{says}{_usual(vet)}.", "on_day")
        return
    if at_time is None:
        return
    wanted = taken(vet.day, at_time, minutes, zone)
    if not any(one.holds(wanted) for one in spans_of(vet.day, vet.work, zone)):
        says = (
            f"{vet.who} works {said_spells(vet.work)}{_usual(vet)}, and the visit would take "
            f"{_clock(wanted, zone)}."
        )
        yield Objection("hours", "reason", says, "at_time")


def _clash(
    site: SiteAsked,
    vet: VetDay,
    at_time: time | None,
    minutes: int,
    zone: ZoneInfo,
    visit_id: UUID | None,
) -> Iterator[Objection]:
    if vet.staff_id is None or at_time is None:
        return
    wanted = taken(vet.day, at_time, minutes, zone)
    for one in beside(vet, site, zone, visit_id):
        if one.span.meets(wanted):
            says = f"{vet.who} is at {named(one.visit)} then, {_clock(one.span, zone)}."
            yield Objection("clash", "reason", says, "at_time")
        elif one.kept_free.meets(wanted):
            there = "from there" if one.span.ends <= wanted.begins else "there"
            gap = max(wanted.begins - one.span.ends, one.span.begins - wanted.ends)
            says = (
                f"{vet.who} is at {named(one.visit)} {_clock(one.span, zone)}, and the drive "
                f"{there} takes about {one.drive_min} min: "
                f"{int(gap / timedelta(minutes=1))} min are left for it."
            )
            yield Objection("drive", "reason", says, "at_time")


def _overfull(
    site: SiteAsked, vet: VetDay, at_time: time | None, minutes: int, zone: ZoneInfo,
    visit_id: UUID | None,
) -> Iterator[Objection]:  # fmt: skip
    there = vet.work_min(zone)
    if vet.staff_id is None or there == 0:
        return  # leave, or a day without work, is told by itself
    others = [one for one in vet.visits if one.id != visit_id]
    load = sum(one.minutes for one in others) + minutes
    calls, unknown = calls_of(others)
    if site.place is None:
        unknown += 1
    else:
        calls.append(Call(site.place, None if at_time is None else minute_of(at_time)))
    drives = drive_min(way_km(calls)) + min(unknown, len(others)) * UNKNOWN_DRIVE_MIN
    pause = break_left(vet, zone)
    if load + drives + pause > there:
        kept = f", {pause} min of break" if pause else ""
        says = (
            f"{day_said(vet.day)} would be overfull for {vet.who}: {load} min of visits, about "
            f"{drives} min of driving between them{kept}, in {there} min of work."
        )
        yield Objection("overfull", "reason", says, "on_day")


def break_left(vet: VetDay, zone: ZoneInfo) -> int:
    """The break that has to fit into the working hours [min]; none where these have a gap for it.

    Parameters
    ----------
    vet
        The person's day.
    zone
        The practice's time zone.
    """
    spans = spans_of(vet.day, vet.work, zone)
    rests = (int((b.begins - a.ends) / timedelta(minutes=1)) for a, b in pairwise(spans))
    return 0 if max(rests, default=0) >= vet.break_min else vet.break_min


def calls_of(visits: Sequence[Visiting]) -> tuple[list[Call], int]:
    """Visits as points on the way of a day, and how many have no known place.

    Parameters
    ----------
    visits
        Of one person and day.
    """
    calls = [
        Call(place, None if one.at_time is None else minute_of(one.at_time))
        for one in visits
        if (place := place_of(one.latitude, one.longitude)) is not None
    ]
    return calls, len(visits) - len(calls)


def _window(purposes: tuple[Purpose, ...], vet: VetDay) -> Iterator[Objection]:
    for one in purposes:
        if one.first_on <= vet.day <= one.last_on:
            continue
        early = vet.day < one.first_on
        days = (one.first_on - vet.day).days if early else (vet.day - one.last_on).days
        says = (
            f"{day_said(vet.day)} is {_days(days)} {'before' if early else 'after'} the window of "
            f"“{one.says}”, {said_window(one)}."
        )
        yield Objection("window", "reason", says, "on_day")


def _holiday(vet: VetDay) -> Iterator[Objection]:
    if vet.holiday:
        says = f"{day_said(vet.day)} is a public holiday: {vet.holiday}."
        yield Objection("holiday", "reason", says, "on_day")


def _booked(asked: Asked) -> Iterator[Objection]:
    for one in asked.booked:
        at = "" if one.visit.at_time is None else f" at {one.visit.at_time:%H:%M}"
        says = (
            f"“{one.says}” is to be kept by the visit on {day_said(one.visit.on_day)}{at} already."
        )
        yield Objection("booked", "reason", says, "on_day")


def said_window(purpose: Purpose) -> str:
    """The window of a promise in words, one day or from one to the other.

    Parameters
    ----------
    purpose
        The promise.
    """
    if purpose.first_on == purpose.last_on:
        return f"which is {day_said(purpose.first_on)} alone"
    return f"{day_said(purpose.first_on)} to {day_said(purpose.last_on)}"


def said_spells(spells: tuple[Spell, ...]) -> str:
    """Stretches of a day in words, such as `09:00–12:00 and 14:00–17:00`.

    Parameters
    ----------
    spells
        In order.
    """
    return " and ".join(f"{one.begins:%H:%M}–{_end(one.ends)}" for one in spells)


def said_span(span: Span, day: Span, zone: ZoneInfo) -> str:
    """The part of a stretch that lies in a day, in words.

    Parameters
    ----------
    span
        The stretch; it meets the day.
    day
        From the beginning of the local day to its end.
    zone
        The practice's time zone.
    """
    begins = max(span.begins, day.begins).astimezone(zone)
    ends = min(span.ends, day.ends)
    said = "24:00" if ends == day.ends else f"{ends.astimezone(zone):%H:%M}"
    return f"from {begins:%H:%M} to {said}"


def named(visit: Visiting) -> str:
    """Client and pond or site of a visit in one phrase.

    Parameters
    ----------
    visit
        The visit.
    """
    where = visit.pond or visit.site
    return visit.client if not where or where == visit.client else f"{visit.client}, {where}"


def _end(at: time) -> str:
    return "24:00" if (at.hour, at.minute) == (23, 59) else f"{at:%H:%M}"


def _clock(span: Span, zone: ZoneInfo) -> str:
    begins: datetime = span.begins.astimezone(zone)
    return f"{begins:%H:%M}–{span.ends.astimezone(zone):%H:%M}"


def _usual(vet: VetDay) -> str:
    return f" (usual hours, {vet.usual}; none are entered)" if vet.usual else ""


def _days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"
