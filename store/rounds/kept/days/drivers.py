"""Who is on the road on a day: working hours less leave, break, where they begin and end."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from store.diary.booking.free import Span, instant_of, spells_of
from store.diary.booking.said import said_span, said_spells
from store.diary.booking.values import Visiting
from store.diary.booking.vet_day import VetDay
from store.diary.kept.roster.way_home import WayHome
from store.diary.kept.visits.agenda import Agenda
from store.diary.times.spell import MIDNIGHT, minute_of
from store.rounds.day.stretched import hours_of_visits
from store.rounds.day.values import DayWish, Driver
from store.rounds.day.work import break_said, work_of
from store.rounds.solving.problem import Window
from store.rounds.solving.said import clock_said
from store.text import day_said
from store.travel.ways import End, Stop, at_practice, home_end, vet_end


@dataclass(frozen=True, slots=True)
class Drivers:
    """Who drives, where their days end if not where they began, and who does not drive.

    What is to be known of those who drive stands with each of them; `away` are those among them
    who are away for a part of the day.
    """

    drivers: tuple[Driver, ...]
    homes: tuple[Stop, ...]
    remarks: tuple[str, ...]
    away: frozenset[UUID]


def drivers_of(
    agenda: Agenda, wish: DayWish, homes: Mapping[UUID, WayHome], visits: Sequence[Visiting]
) -> Drivers:
    """Those who drive on a day.

    Parameters
    ----------
    agenda
        The day.
    wish
        Whom it is asked for: nobody named asks for all vets, and for who else has visits.
    homes
        Where days end that do not end where they began.
    visits
        The planned visits of the day.

    Returns
    -------
    Drivers
        Without those who do not work on that day or are away all of it; they are named.
    """
    drivers, ends, remarks = list[Driver](), list[Stop](), list[str]()
    away = set[UUID]()
    busy = {one.staff_id for one in visits}
    for staff_id, who, is_vet in agenda.staff.people:
        if (staff_id not in wish.staff) if wish.staff else (not is_vet and staff_id not in busy):
            continue
        vet = agenda.day_of(staff_id, wish.day)
        if vet is None:
            continue
        own = [one for one in visits if one.staff_id == staff_id]
        driver = _driver(vet, staff_id, homes.get(staff_id), agenda.zone, own)
        if isinstance(driver, str):
            remarks.append(driver)
            continue
        drivers.append(driver)
        if vet.away:
            away.add(staff_id)
        if (home := homes.get(staff_id)) is not None:
            also = at_practice(home.place, home.at)
            ends.append(Stop(home_end(staff_id), f"the end of {who}'s day", home.at, also))
    known = {key for key, _who, _is_vet in agenda.staff.people}
    if any(one not in known for one in wish.staff):
        remarks.append("Somebody who is asked for does not work here any more.")
    return Drivers(tuple(drivers), tuple(ends), tuple(remarks), frozenset(away))


def _driver(
    vet: VetDay, staff_id: UUID, home: WayHome | None, zone: ZoneInfo, own: Sequence[Visiting]
) -> Driver | str:
    spells = spells_of(vet.work_spans(zone), zone)
    work = work_of(
        [Window(minute_of(one.begins), minute_of(one.ends)) for one in spells], vet.break_min
    )
    if work is None and not vet.away and not vet.hours_unknown:
        work = hours_of_visits(own)
    if work is None:
        return _not_there(vet)
    start = vet_end(staff_id)
    start_said = vet.start_place or "a place that is not entered"
    remarks = [f"{vet.who} {one}" for one in work.remarks]
    if not spells:
        remarks.append(f"{_not_there(vet)} What was booked all the same is planned.")
    elif vet.usual:
        remarks.append(f"No working hours are entered for {vet.who}; {vet.usual} is taken.")
    if vet.hours_unknown:
        remarks.append(
            f"Of the working hours of {vet.who} “{vet.hours_unknown}” was not understood."
        )
    if vet.away:
        remarks.append(f"{_away_said(vet, zone)}; {said_spells(spells)} is left.")
    if (pause := break_said(work)) and not vet.away and len(spells) == 1:
        remarks.append(f"{vet.who} has {pause}: common practice, the middle of the hours.")
    end: End = start if home is None else home_end(staff_id)
    return Driver(
        staff_id, vet.who, work.begins, work.ends, work.break_min, work.break_from,
        work.break_until, start, end, start_said, start_said if home is None else home.place,
        tuple(remarks), vet.is_vet,
    )  # fmt: skip


def _not_there(vet: VetDay) -> str:
    if not vet.work:
        if vet.hours_unknown:
            return (
                f"The working hours of {vet.who} were not understood (“{vet.hours_unknown}”), so "
                "that no round is planned; enter them anew."
            )
        usual = f"; no working hours are entered, {vet.usual} is taken" if vet.usual else ""
        return f"{vet.who} does not work on {vet.day:%A}s{usual}."
    why = next((one.says for one in vet.away if one.says), "")
    closed = any(one.whole_practice for one in vet.away)
    what = "The practice is closed" if closed else f"{vet.who} is away"
    return f"{what} on {day_said(vet.day)}{f': {why}' if why else ''}."


def _away_said(vet: VetDay, zone: ZoneInfo) -> str:
    whole = Span(instant_of(vet.day, time(0), zone), instant_of(vet.day, MIDNIGHT, zone))
    said = []
    for one in vet.away:
        who = "the practice is closed" if one.whole_practice else f"{vet.who} is away"
        because = f" ({one.says})" if one.says else ""
        said.append(f"{who} {said_span(one.span, whole, zone)}{because}")
    text = " and ".join(said)
    return text[:1].upper() + text[1:]


def clock_change_said(drivers: Sequence[Driver], wish: DayWish, zone: ZoneInfo) -> str:
    """A sentence where the clock is changed while somebody works; else the empty text.

    Parameters
    ----------
    drivers
        Who drives.
    wish
        The day that is asked for.
    zone
        The practice's time zone.
    """
    if not drivers:
        return ""
    first = min(one.begins for one in drivers)
    last = max(one.ends for one in drivers)
    midnight = datetime.combine(wish.day, time(0))
    before = (midnight + timedelta(minutes=first)).replace(tzinfo=zone).utcoffset()
    after = (midnight + timedelta(minutes=last)).replace(tzinfo=zone).utcoffset()
    if before == after or before is None or after is None:
        return ""
    goes = "forward" if after > before else "back"
    return (
        f"The clock goes {goes} on this day between {clock_said(first)} and {clock_said(last)}: "
        "times are those of the clock on the wall, and a drive over the change is an hour off."
    )
