"""The day's sheet on paper: the head, the round at a glance, then stop by stop.

Nothing is decided here; all strings from people stand as they are, on one line.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from store.paper.paper import Paper, Part, address_rows, date_in_words, one_line
from store.rounds.day.sheet import DaySheet, Job, PondSheet, StopSheet, WhyLine
from store.rounds.papers.gear import gear_parts
from store.rounds.solving.said import clock_said, listed
from store.text import day_said, joined

TITLE = "The day on the road"
NOBODY = "Nobody is on the road with a stop that day."
_NOTES = 3
"""Lines to write on at each stop."""
_AUTHORITY = "Authority, its number, when rung, whom"
_WINDOWS = 3
"""From so many on, concerns without haste stand on one line."""


@dataclass(frozen=True, slots=True)
class FromPractice:
    """What of the practice's letterhead stands on its own sheets; each may be empty."""

    telephone: str = ""
    address: str = ""
    email: str = ""

    @property
    def rows(self) -> list[tuple[str, str]]:
        """Rows of a head."""
        rung = one_line(self.telephone)
        rows = [("Telephone", rung)] if rung else []
        return rows + address_rows(self.address, self.email)


_NO_LETTERHEAD = FromPractice()


def sheet_paper(
    sheet: DaySheet, kit_parts: Sequence[Part] = (), practice: FromPractice = _NO_LETTERHEAD
) -> Paper:
    """The sheet of one person's day.

    Parameters
    ----------
    sheet
        The day.
    kit_parts
        The kit list, printed on a page of its own behind the stops.
    practice
        Its letterhead.

    Returns
    -------
    Paper
        For `as_text`, `as_markdown` and `as_pdf`.
    """
    return Paper(
        title=f"{TITLE}: {one_line(sheet.who)}, {date_in_words(sheet.day)}",
        head=tuple(head_rows(sheet, practice)),
        parts=(*_parts(sheet), *_fresh(kit_parts)),
        foot=f"{one_line(sheet.who)}, {date_in_words(sheet.day)}",
        written_on=sheet.written_on,
    )


def day_paper(
    sheets: Sequence[DaySheet],
    kit_parts: Sequence[Part] = (),
    practice: FromPractice = _NO_LETTERHEAD,
) -> Paper:
    """The sheets of several people in one; from the second on each begins on a page of its own.

    Parameters
    ----------
    sheets
        At least one, of one day.
    kit_parts
        The kit list of all of them.
    practice
        Its letterhead.
    """
    first = sheets[0]
    if len(sheets) == 1:
        return sheet_paper(first, kit_parts, practice)
    day = date_in_words(first.day)
    parts: list[Part] = []
    for one in sheets:
        lines = tuple(f"{name}: {value}" for name, value in _round_rows(one))
        parts += [Part(one_line(one.who), lines, "facts", fresh=one is not first), *_parts(one)]
    who = listed([one_line(one.who) for one in sheets])
    return Paper(
        title=f"{TITLE}, {day}",
        head=(("For", who), *_practice_rows(first, practice), ("Written", _written(first))),
        parts=(*parts, *_fresh(kit_parts)),
        foot=f"{TITLE}, {day}",
        written_on=first.written_on,
    )


def head_rows(
    sheet: DaySheet, practice: FromPractice = _NO_LETTERHEAD
) -> Iterator[tuple[str, str]]:
    """Names and values of the head.

    Parameters
    ----------
    sheet
        The day.
    practice
        Its letterhead.
    """
    yield "For", one_line(sheet.who)
    yield "Day", date_in_words(sheet.day)
    yield from _practice_rows(sheet, practice)
    yield from _round_rows(sheet)
    yield "Written", _written(sheet)


def _practice_rows(sheet: DaySheet, practice: FromPractice) -> Iterator[tuple[str, str]]:
    if sheet.practice:
        yield "Practice", one_line(sheet.practice)
    yield from practice.rows


def _round_rows(sheet: DaySheet) -> Iterator[tuple[str, str]]:
    """What is one person's alone: when it begins and ends, the ways between."""
    if sheet.stops:
        yield "Sets out", f"{clock_said(sheet.sets_out)}, {one_line(sheet.start)}"
        way = f"; the way home: {one_line(sheet.way_home)}" if sheet.way_home else ""
        yield "Back", f"{clock_said(sheet.back)}, {one_line(sheet.home)}{way}"
        yield "Driving", driving_said(sheet)
        yield "Break", one_line(sheet.rest)
        yield "Order", one_line(sheet.proof)
        if sheet.price:
            yield "Its price", one_line(sheet.price)


def driving_said(sheet: DaySheet) -> str:
    """All minutes on the road, and kilometres where they are known of every way.

    Parameters
    ----------
    sheet
        The day.
    """
    ways = "not every way is known in km" if sheet.km is None else f"{sheet.km:.0f} km by road"
    return f"{sheet.drive_min} min, {ways}, {_many(len(sheet.stops), 'stop')}"


def places_said(sheets: Sequence[DaySheet]) -> str:
    """How many stops no map can show, in a sentence; empty where all are known.

    Parameters
    ----------
    sheets
        Of one day.
    """
    lost = [one for sheet in sheets for one in sheet.without_place]
    if not lost:
        return ""
    names = listed([one_line(one.name) for one in lost])
    has = "has" if len(lost) == 1 else "have"
    return (
        f"{_many(len(lost), 'stop')} {has} no coordinates and {'is' if len(lost) == 1 else 'are'} "
        f"not on the map: {names}."
    )


def _parts(sheet: DaySheet) -> Iterator[Part]:
    if sheet.broken:
        yield Part("The order from clean to infected is broken", _lines(sheet.broken))
    if sheet.stops:
        yield Part("At a glance", tuple(glance_said(one) for one in sheet.stops), "words")
    else:
        yield Part("At a glance", ("No stop is planned.",), "words")
    remarks = (*sheet.remarks, places_said([sheet]))
    if any(remarks):
        yield Part("To know", _lines(remarks))
    if sheet.left_out:
        yield Part("In nobody's round", _lines(sheet.left_out))
    for one in sheet.stops:
        yield from stop_parts(one)


def glance_said(stop: StopSheet) -> str:
    """A stop on one line: number, times, name, town, standing, whether to ring first.

    Parameters
    ----------
    stop
        The stop.
    """
    ring = ", ring first" if stop.ring else ""
    return (
        f"{stop.number}. {clock_said(stop.stop.begins)} to {clock_said(stop.stop.ends)}  "
        f"{one_line(stop.where)}; {one_line(stop.standing)}{ring}"
    )


def stop_parts(stop: StopSheet) -> tuple[Part, ...]:
    """All that stands on the sheet about one stop.

    Parameters
    ----------
    stop
        The stop.

    Returns
    -------
    tuple of Part
        The first has the number, the times and the name as its title.
    """
    times = f"{clock_said(stop.stop.begins)} to {clock_said(stop.stop.ends)}"
    parts = [
        Part(
            f"{stop.number}.  {times}  {one_line(stop.where)}", tuple(_facts(stop)), "facts",
            keeps=True,
        )
    ]  # fmt: skip
    if stop.warnings:
        title = "STOP: a notifiable disease is suspected here"
        parts.append(Part(title, _lines(stop.warnings), level=2))
    whys = tuple(line for one in stop.whys for line in _why(one, stop))
    parts.append(Part("Why we come", whys or (_booked_as(stop),), level=2))
    parts += [
        Part(one_line(one.name) or "The pond", tuple(_pond(one)), "facts", level=2)
        for one in stop.ponds
    ]
    jobs = tuple(line for one in stop.jobs for line in _job(one, stop))
    parts.append(Part("To do", jobs or ("As the visit is booked.",), "checks", level=2))
    parts += gear_parts(stop)
    rung = (_AUTHORITY,) if stop.warnings else ()
    parts.append(Part("Notes", (*rung, *("",) * _NOTES), "blanks", level=2))
    return tuple(parts)


def _facts(stop: StopSheet) -> Iterator[str]:
    at = stop.stop
    wait = f", begins {clock_said(at.begins)}" if at.begins > at.arrives else ""
    stay = f", disinfects until {clock_said(at.leaves)}" if at.leaves > at.ends else ""
    yield (
        f"Times: there {clock_said(at.arrives)}{wait}, done {clock_said(at.ends)}{stay}, leaves "
        f"{clock_said(at.leaves)}"
    )
    yield f"Way there: {one_line(stop.way)}"
    kind = one_line(at.errand.kind) or "visit"
    yield f"Booked: {kind}, {at.errand.minutes} min; {one_line(stop.agreed)}"
    if stop.ring:
        yield f"RING: {one_line(stop.ring)}"
    yield f"Address: {one_line(', '.join(stop.address)) or 'none is written down'}"
    yield f"Telephone: {one_line(', '.join(stop.phones)) or 'none is written down'}"
    yield f"Way in: {one_line(stop.way_in) or 'nothing is written down'}"
    yield f"Hours: {one_line(stop.hours)}"
    yield f"Standing: {one_line(stop.standing_said)}"
    if stop.slot_said:
        yield f"Best hour: {one_line(stop.slot_said)}"
    by = f" ({one_line(stop.terms_said)})" if stop.terms_said else ""
    prices = one_line(stop.prices) or "none are written down"
    yield f"Terms: prices: {prices}; consent form: {one_line(stop.consent)}{by}"
    if stop.note.strip():
        yield f"Note: {one_line(stop.note)}"


def _why(one: WhyLine, stop: StopSheet) -> Iterator[str]:
    where = f"{one_line(one.pond)}: " if one.pond and len(stop.ponds) > 1 else ""
    yield f"{where}{one_line(one.says)} ({one_line(one.due)})"
    if one.before and one == next(each for each in stop.whys if each.before == one.before):
        yield f"The owner, before it: {' '.join(map(one_line, one.before))}"


def _booked_as(stop: StopSheet) -> str:
    kind = one_line(stop.stop.errand.kind)
    return f"No promise is named; it is booked as {kind}." if kind else "No promise is named."


def _pond(one: PondSheet) -> Iterator[str]:
    apart = f". {one_line(one.apart)}" if one.apart else ""
    yield f"Volume: {one_line(one.volume)}{apart}"
    eating = f". {one_line(one.eating)}" if one.eating else ""
    yield f"Food: {one_line(one.use)}{eating}"
    if one.fish:
        yield f"Fish: {one_line(one.fish)}"
    if one.system:
        yield f"System: {one_line(one.system)}"
    values = f": {', '.join(map(one_line, one.readings))}" if one.readings else ""
    yield f"Last test: {one_line(one.tested)}{values}"
    if one.doubts:
        yield f"With care: {joined(map(one_line, one.doubts))}"
    for each in (flag for flag in one.flagged if flag.level == "act"):
        yield f"ACT: {_stopped(each.says)} {one_line(each.advice)}"
    rest = [flag for flag in one.flagged if flag.level != "act"]
    if len(rest) < _WINDOWS:
        for each in rest:
            yield f"{each.level.capitalize()}: {_stopped(each.says)} {one_line(each.advice)}"
    else:
        yield f"Watch: {joined(one_line(flag.says) for flag in rest)}"
    for course in one.courses:
        said = (course.says, course.last, course.next and f"next: {course.next}", course.control)
        yield f"Runs: {joined(map(one_line, filter(None, said)))}"
        for waits in course.waits:
            yield f"Waits: {one_line(waits)}"
    for finding in one.findings:
        yield f"Open: {one_line(finding)}"
    for sample in one.samples:
        yield f"Sample: {one_line(sample)}"


def _job(one: Job, stop: StopSheet) -> Iterator[str]:
    where = f"{one_line(one.pond)}: " if one.pond and len(stop.ponds) > 1 else ""
    told = " ".join(map(one_line, one.details))
    yield f"{where}{_stopped(one.says)} {told}".rstrip()


def _stopped(text: str) -> str:
    """One line that ends as a sentence does."""
    said = one_line(text)
    return said if said.endswith((".", "!", "?")) else f"{said}."


def _lines(said: Sequence[str]) -> tuple[str, ...]:
    return tuple(one_line(one) for one in said if one.strip())


def _written(sheet: DaySheet) -> str:
    at = sheet.written_at.astimezone(sheet.zone)
    return f"{day_said(at.date())}, {at:%H:%M}; readings and concerns as they stood then"


def _fresh(parts: Sequence[Part]) -> Iterator[Part]:
    for place, one in enumerate(parts):
        yield replace(one, fresh=True) if place == 0 else one


def _many(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"
