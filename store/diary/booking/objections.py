"""What speaks against a day and hour, in sentences: what cannot be, and what needs a reason."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, time, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from store.diary.booking.beside import Beside, Edge, beside, edges
from store.diary.booking.day_load import no_break, overfull
from store.diary.booking.free import Span, instant_of, spans_of, taken
from store.diary.booking.order import out_of_order
from store.diary.booking.said import named, said_clock, said_span, said_spells
from store.diary.booking.values import Objection, Purpose, Wish
from store.diary.booking.vet_day import WITHOUT_VET, Asked, SiteAsked, VetDay
from store.diary.times.clock import at_instant
from store.errors import BadInput
from store.text import day_said
from store.travel.ways import Way

_WEEKDAYS = (
    "Mondays", "Tuesdays", "Wednesdays", "Thursdays", "Fridays", "Saturdays", "Sundays",
)  # fmt: skip


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
        The present, what else is known of the wish, the ways, and how sites stand.
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
        *_clash(site, vet, at_time, minutes, asked, visit_id),
        *out_of_order(site, vet, at_time, minutes, asked, visit_id),
        *overfull(site, vet, at_time, minutes, asked, visit_id),
        *no_break(site, vet, at_time, minutes, asked, visit_id),
        *_window(wish.purposes, vet, asked.now.astimezone(asked.zone).date()),
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
    try:
        begins = at_instant(vet.day, at_time, asked.zone)
    except BadInput as trouble:
        yield Objection("no_hour", "never", trouble.message, "at_time")
        return
    if vet.day == local.date() and begins < asked.now:
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
            f"{said_clock(wanted, zone)}."
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
            f"{said_clock(wanted, zone)}."
        )
        yield Objection("hours", "reason", says, "at_time")


def _clash(
    site: SiteAsked,
    vet: VetDay,
    at_time: time | None,
    minutes: int,
    asked: Asked,
    visit_id: UUID | None,
) -> Iterator[Objection]:
    if vet.staff_id is None or at_time is None:
        return
    zone = asked.zone
    wanted = taken(vet.day, at_time, minutes, zone)
    others = beside(vet, site, asked, visit_id)
    for one in others:
        if one.span.meets(wanted):
            says = f"{vet.who} is at {named(one.visit)} then, {said_clock(one.span, zone)}."
            yield Objection("clash", "reason", says, "at_time")
        elif one.kept_free.meets(wanted):
            gap = max(wanted.begins - one.span.ends, one.span.begins - wanted.ends)
            says = (
                f"{vet.who} is at {named(one.visit)} {said_clock(one.span, zone)}, and "
                f"{_said_between(one, wanted)}: {int(gap / timedelta(minutes=1))} min are left for "
                "it."
            )
            yield Objection("drive", "reason", says, "at_time")
    work = vet.work_spans(zone)
    if any(one.holds(wanted) for one in work):
        yield from _at_the_edge(site, vet.who, wanted, asked, edges(vet, site, asked, others, work))


def _said_between(one: Beside, wanted: Span) -> str:
    """What lies between another visit and the one asked about."""
    if one.span.ends <= wanted.begins:
        cleaning, way, there = one.after_min, one.on, "from there"
    else:
        cleaning, way, there = one.own_min, one.there, "there"
    before = f"disinfecting takes {cleaning} min and " if cleaning else ""
    return f"{before}the drive {there} {_takes(way)}"


def _takes(way: Way) -> str:
    if way.basis == "table":
        return f"takes {way.planned_min} min by the practice's table"
    if way.known:
        return f"takes about {way.planned_min} min"
    return f"is not known and put at {way.planned_min} min"


def _at_the_edge(
    site: SiteAsked, who: str, wanted: Span, asked: Asked, found: Iterable[Edge]
) -> Iterator[Objection]:
    """The drive out, and the way home, which belong to the working hours."""
    for one in found:
        if not one.span.meets(wanted):
            continue
        if one.out:
            at = one.span.begins.astimezone(asked.zone)
            says = f"{who} sets out at {at:%H:%M}, and the drive to {site.name} {_takes(one.way)}."
        else:
            at = one.span.ends.astimezone(asked.zone)
            hour = "24:00" if at.time() == time(0) else f"{at:%H:%M}"
            cleaning = one.disinfect_min
            before = f"disinfecting takes {cleaning} min and " if cleaning else ""
            says = (
                f"{who} is to be back at {hour}, and {before}the drive home from {site.name} "
                f"{_takes(one.way)}."
            )
        yield Objection("drive", "reason", says, "at_time")


def _window(purposes: tuple[Purpose, ...], vet: VetDay, today: date) -> Iterator[Objection]:
    for one in purposes:
        if one.last_on < today:
            continue  # no day that is left would answer it: `closed_windows` tells it
        if vet.day < one.first_on:
            days = _days((one.first_on - vet.day).days)
            says = f"“{one.says}” is not to be kept before {day_said(one.first_on)}, {days} later."
            yield Objection("window", "reason", says, "on_day")
        elif vet.day > one.last_on:
            yield Objection("window", "reason", _late(one, vet.day), "on_day")


def closed_windows(purposes: tuple[Purpose, ...], day: date, today: date) -> Iterator[str]:
    """What is told of promises whose window closed before today; it asks for no reason.

    Parameters
    ----------
    purposes
        What the visit is to keep.
    day
        The day that is asked about.
    today
        The practice's calendar day.

    Yields
    ------
    str
        A sentence each.
    """
    for one in purposes:
        if one.last_on < today:
            yield _late(one, day)


def _late(one: Purpose, day: date) -> str:
    days = _days((day - one.last_on).days)
    return f"“{one.says}” was to be kept by {day_said(one.last_on)}, {days} before."


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


def _usual(vet: VetDay) -> str:
    return f" (usual hours, {vet.usual}; none are entered)" if vet.usual else ""


def _days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"
