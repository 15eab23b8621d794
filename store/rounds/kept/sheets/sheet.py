"""The sheet of one person's day, put together from the plan and the records of its sites."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from uuid import UUID

from store.book.book import Book
from store.book.clients import Client, Site
from store.book.practice import practice
from store.diary.booking.values import Purpose
from store.diary.kept.visits.terms import CONSENTS
from store.errors import NotFound
from store.facts.dead_fish import sayings
from store.facts.follow_ups import follow_up_kinds
from store.rounds.day.sheet import SUSPECT, DaySheet, StopSheet, WhyLine, way_said
from store.rounds.day.values import DayPlan, Errand, Round, RoundStop
from store.rounds.kept.sheets.sheet_jobs import jobs_of
from store.rounds.kept.sheets.sheet_ponds import pond_sheet
from store.rounds.kept.sheets.sheet_rows import SheetRows, read_rows
from store.rounds.solving.said import clock_said
from store.text import day_said

NOT_AGREED = "not agreed: ring first"
NO_BREAK = "no break falls into the round"


def day_sheet(book: Book, plan: DayPlan, staff_id: UUID, now: datetime) -> DaySheet:
    """The sheet of one person's day.

    Parameters
    ----------
    book
        The practice's book.
    plan
        The day.
    staff_id
        Whose round.
    now
        The present instant, with a time zone.

    Raises
    ------
    NotFound
        The person is not on the road that day, or a site is not in the book any more.
    """
    return day_sheets(book, plan, now, [staff_id])[0]


def day_sheets(
    book: Book, plan: DayPlan, now: datetime, staff: Sequence[UUID] | None = None
) -> tuple[DaySheet, ...]:
    """The sheets of several people's day, read in one go.

    Parameters
    ----------
    book
        The practice's book.
    plan
        The day.
    now
        The present instant, with a time zone.
    staff
        Whose rounds; None for all that have a stop.

    Raises
    ------
    NotFound
        As for `day_sheet`.
    """
    rounds = []
    for key in staff or [one.driver.staff_id for one in plan.rounds if one.stops]:
        one = plan.round_of(key)
        if one is None:
            raise NotFound("This person is not on the road that day.")
        rounds.append(one)
    errands = [stop.errand for one in rounds for stop in one.stops]
    rows = read_rows(book, errands, plan.asked.wish.day, now)
    holder = practice(book)
    return tuple(_day(rows, plan, one, "" if holder is None else holder.name) for one in rounds)


def _day(rows: SheetRows, plan: DayPlan, one: Round, practice_name: str) -> DaySheet:
    who = one.driver
    ways = [stop.way for stop in one.stops] + ([] if one.way_home is None else [one.way_home])
    known = [way.km for way in ways if way.km is not None]
    return DaySheet(
        staff_id=who.staff_id,
        who=who.who,
        practice=practice_name,
        day=plan.asked.wish.day,
        zone=rows.book.zone,
        written_at=rows.now,
        sets_out=one.sets_out,
        start=who.start_said,
        back=one.back,
        home=who.home_said,
        way_home="" if one.way_home is None else way_said(one.way_home),
        drive_min=one.drive_min,
        km=sum(known) if ways and len(known) == len(ways) else None,
        rest=_rest(one),
        break_after=one.break_after,
        proof=plan.proof,
        price="" if plan.price is None else plan.price.says,
        stops=tuple(_stop(rows, number, each) for number, each in enumerate(one.stops, start=1)),
        broken=plan.broken,
        left_out=tuple(" ".join((each.says, *each.helps)) for each in plan.left_out),
        remarks=(*plan.remarks, *who.remarks),
    )


def _rest(one: Round) -> str:
    if one.break_at is None or one.break_after is None or not one.stops:
        return NO_BREAK
    minutes = one.driver.break_min
    until = clock_said(one.break_at + minutes)
    after = (
        f"after stop {one.break_after}" if one.break_after else "before the first stop"
    )  # fmt: skip
    return f"{clock_said(one.break_at)} to {until}, {minutes} min, {after}"


def _stop(rows: SheetRows, number: int, stop: RoundStop) -> StopSheet:
    errand = stop.errand
    site, client = rows.places[errand.site_id]
    ponds = tuple(pond_sheet(rows, one) for one in rows.cards[errand.key])
    names = {one.pond_id: one.name for one in ponds}
    visit = errand.visit
    terms = None if visit is None else rows.terms.get(visit.id)
    written = ""
    if terms is not None:
        written = f"{terms.by}, {day_said(terms.at.astimezone(rows.book.zone).date())}"
    return StopSheet(
        number=number,
        stop=stop,
        client=client.name,
        site=site.name,
        address=_address(site),
        way_in=site.access_notes,
        hours=_hours(site, errand),
        phones=tuple(_phones(rows, client, errand)),
        agreed=_agreed(errand),
        ring=_ring(stop),
        way=way_said(stop.way),
        standing=errand.standing,
        standing_said=errand.standing_said,
        whys=tuple(
            WhyLine(
                names.get(one.pond_id, "") if one.pond_id is not None else "",
                one.says,
                _due(one),
                kind.before if (kind := follow_up_kinds().get(one.kind)) is not None else (),
            )
            for one in errand.purposes
        ),
        note="" if visit is None else visit.note,
        ponds=ponds,
        jobs=tuple(jobs_of(rows, errand, ponds)),
        prices="" if terms is None else terms.prices,
        consent=CONSENTS[0] if terms is None else terms.consent,
        terms_said=written,
        slot_said=errand.slot_said,
        warnings=tuple(one.says for one in sayings("stop")) if errand.standing == SUSPECT else (),
    )


def _address(site: Site) -> tuple[str, ...]:
    """Line by line; town and postcode last, unless they stand there already."""
    lines = [part.strip(" ,") for part in site.address.splitlines()]
    told = " ".join(lines)
    last = [part for part in (site.postcode, site.town) if part and part not in told]
    return (*filter(None, lines), *([" ".join(last)] if last else []))


def _hours(site: Site, errand: Errand) -> str:
    typed = " ".join(site.access_hours.split())
    said = errand.hours_said
    if not typed:
        return said or "none are stated"
    return typed if not said or said == typed or typed in said else f"{typed} ({said})"


def _phones(rows: SheetRows, client: Client, errand: Errand) -> Iterator[str]:
    """Numbers of the client, then of who rang, each once."""
    told = {number: "" for number in (client.phone, client.phone2, errand.phone) if number.strip()}
    for note in rows.calls.values():
        if note.client_id == client.id and note.phone.strip():
            told.setdefault(note.phone, note.caller)
    for number, who in told.items():
        yield f"{number} ({who})" if who else number


def _agreed(errand: Errand) -> str:
    visit = errand.visit
    if visit is None:
        return NOT_AGREED
    by = f" with {visit.agreed_with}" if visit.agreed_with else ""
    if visit.at_time is None:
        return f"the day is agreed{by}, no hour"
    fixed = ", fixed" if visit.fixed else ""
    return f"agreed for {visit.at_time:%H:%M}{by}{fixed}"


def _ring(stop: RoundStop) -> str:
    if not stop.errand.booked:
        return "Ring first: nobody has agreed this visit yet."
    if not stop.ring:
        return ""
    moved = stop.moved_min
    if not moved:
        return "Ring first: this is not what was agreed."
    way = "later" if moved > 0 else "earlier"
    return f"Ring first: {abs(moved)} min {way} than was agreed."


def _due(one: Purpose) -> str:
    window = ""
    if one.first_on < one.last_on:
        window = f", any day from {day_said(one.first_on)} to {day_said(one.last_on)}"
    return f"due {day_said(one.due_on)}{window}"
