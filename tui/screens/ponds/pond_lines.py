"""The lines of a pond's page in words: head, concerns, and the list of what happened."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import TYPE_CHECKING, Literal
from uuid import UUID

from rich.cells import cell_len
from rich.text import Text
from textual.content import Content

from tui.said import began, said_date, said_since
from tui.widgets.grid import Row
from tui.widgets.literal import cut, one_line

if TYPE_CHECKING:
    from store.book.events import PondEvent
    from store.book.ponds import PondCard
    from store.book.visits import Visit
    from store.courses.kept.of_pond import CourseEntry
    from store.diary.kept.calls.call_notes import CallNote
    from store.exams.death_days import DeathDay
    from store.exams.examinations import KeptExam
    from store.water.understood import ReadingValue
    from store.water.water_tests import WaterTest
    from tui.screens.ponds.pond_page import PondPage

CONCERNS_SHOWN = 4
"""On 24 lines; what does not fit is counted, and stands in full behind the explaining key."""
_LEVEL_CELLS = 9
_WHO_CELLS = 3
_DATE_CELLS, _YEAR_CELLS = len("23 Nov"), len("23 Nov 2025")


@dataclass(frozen=True, slots=True)
class LineKey:
    """What a line of the list is, so that enter knows what to open."""

    kind: Literal["test", "visit", "event", "call", "course", "exam", "deaths", "older"]
    key: UUID
    """Of the record, the course; of the pond for deaths, and where older tests are not shown."""
    part: str = ""
    """What of a course it is; the day of deaths."""


def head_name(card: PondCard) -> str:
    """Client and pond."""
    name = one_line(card.pond.name)
    client = one_line(card.client.name)
    return client if not name or name == client else f"{client}, {name}"


def said_volume(card: PondCard) -> str:
    """The volume in force with its bounds and method, `18,400 L ±12 % by salt`."""
    pond = card.pond
    if pond.volume_l is None:
        return "volume not known"
    low, high = pond.volume_low_l, pond.volume_high_l
    said = said_litres(
        pond.volume_l,
        pond.volume_l if low is None else low,
        pond.volume_l if high is None else high,
    )
    return f"{said} {said_method(pond.volume_method)}".rstrip()


def said_litres(litres: float, low_l: float, high_l: float) -> str:
    """Litres with how far they may be out, `18,400 L ±12 %`."""
    widest = max(litres - low_l, high_l - litres)
    return f"{litres:,.0f} L" + (f" ±{100.0 * widest / litres:.0f} %" if widest > 0.0 else "")


def said_method(method: str) -> str:
    """How a volume was found, as people say it."""
    return "by salt" if method == "salt" else one_line(method)


def said_facts(page: PondPage) -> str:
    """The second line of the head: use, species, filter, where two volumes disagree."""
    pond = page.card.pond
    use = {"ornamental": "ornamental", "food": "FOOD FISH", "not asked": "use not asked"}[pond.use]
    parts = []
    if page.card.struck:
        struck = (page.card.pond, page.card.site, page.card.client)
        why = next((one.struck_why for one in struck if one.struck_at is not None), "")
        parts.append(f"struck through: {one_line(why)}" if why else "struck through")
    if page.apart is not None:
        one, other = page.apart.one, page.apart.other
        parts.append(
            f"volumes disagree by {page.apart.percent:.0f} %: {one.litres:,.0f} L "
            f"{said_method(one.method)}, {other.litres:,.0f} L {said_method(other.method)}"
        )
    if page.eating:
        use += f": {page.eating[:1].lower()}{page.eating[1:].rstrip('.')} (f)"
    parts.append(use)
    parts += [one_line(text) for text in (pond.species, page.card.site.town) if text]
    return " · ".join(parts)


def concern_lines(page: PondPage, width: int, most: int = CONCERNS_SHOWN) -> Content:
    """One line a concern, worst first; those at rest quieter, with the day they return.

    The courses that run stand under them, whatever has to be cut; where none does, the last one.
    """
    watch = page.watch
    if watch is None:
        return Content.styled("Struck through: no rule looks at it.", "$quiet")
    said: list[tuple[str, str, str]] = []
    for concern in watch.concerns:
        what = one_line(concern.what)
        since = began(concern.since, page.today, or_earlier=concern.or_earlier, what=what)
        said.append((concern.level, what, f"  {since}" if since else ""))
    for concern, rest in watch.at_rest:
        until = said_since(rest.until, page.today)
        said.append(
            ("at rest", f"{one_line(concern.what)}, until {until}", f": {one_line(rest.reason)}")
        )
    if not said:
        tested = "No rule speaks." if page.tests else "No water test yet. Press t to enter one."
        said.append(("calm", tested, ""))
    courses = course_lines(page)[: max(0, most - 1)]
    most -= len(courses)
    hidden = len(said) - most
    more = f"  and {hidden} more: e" if hidden > 0 else ""
    lines: list[Content] = []
    for number, (level, text, besides) in enumerate(said[:most], 1):
        after = more if number == most else ""
        room = max(0, width - _LEVEL_CELLS - 1 - len(after))
        at_rest = level == "at rest"
        # What stands beside the words goes before the words are cut.
        shown = cut(text + besides if at_rest or cell_len(text + besides) <= room else text, room)
        lines.append(
            Content.assemble(
                (f"{level:<{_LEVEL_CELLS}}", "$quiet" if at_rest else f"bold $level-{level}"),
                (shown, "$quiet" if at_rest else ""),
                (after, "$quiet"),
            )
        )
    for text in courses:
        shown = cut(text, max(0, width - _LEVEL_CELLS - 1))
        lines.append(Content.assemble((f"{'course':<{_LEVEL_CELLS}}", "$quiet"), shown))
    return Content("\n").join(lines)


def course_lines(page: PondPage) -> list[str]:
    """A line for each course that runs or is planned; else one for the course that ended last."""
    said = []
    for line in page.courses.under_way:
        if line.course.state == "planned":
            said.append(f"{one_line(line.name)}: planned, not begun")
            continue
        waits = "nothing is left to do" if line.first is None else one_line(line.first.what)
        said.append(f"{one_line(line.name)}: {line.given} of {line.doses} given, {waits}")
    last = page.courses.last
    if not said and last is not None:
        course = last.course
        state = {"completed": "completed", "stopped": "stopped early"}.get(course.state, "changed")
        when = "" if course.ended_on is None else f" {said_since(course.ended_on, page.today)}"
        waits = "" if last.first is None else f", {one_line(last.first.what)}"
        said.append(
            f"{one_line(last.name)} {state}{when}: {last.given} of {last.doses} given{waits}"
        )
    return said


def grid_rows(page: PondPage) -> list[Row]:
    """All that happened in one list, newest first; what is planned on top."""
    entries: list[tuple[datetime, Row]] = []
    for test in page.tests:
        moment = test.taken_at.astimezone(page.zone).replace(tzinfo=None)
        entries.append((moment, _test_row(page, test)))
    entries += [
        (_moment(visit.on_day, visit.at_time), _visit_row(page, visit)) for visit in page.visits
    ]
    for event in page.events:
        entries.append((_moment(event.on_day, _hour(page, event)), _event_row(page, event)))
    for call in page.calls:
        moment = call.called_at.astimezone(page.zone).replace(tzinfo=None)
        entries.append((moment, _call_row(page, call)))
    entries += [(one.at, _course_row(page, one)) for one in page.courses.entries]
    for exam in page.exams:
        moment = exam.exam.at.astimezone(page.zone).replace(tzinfo=None)
        entries.append((moment, _exam_row(page, exam)))
    entries += [(_moment(one.on_day, None), _death_row(page, one)) for one in page.deaths]
    if page.older:
        oldest = page.tests[-1].taken_at.astimezone(page.zone).replace(tzinfo=None)
        entries.append((oldest, _older_row(page)))
    # Where two stand at the same moment they stay in their order: the older ones after the oldest.
    entries.sort(key=lambda entry: entry[0], reverse=True)
    return [row for _, row in entries]


def _moment(day: date, at: time | None) -> datetime:
    return datetime.combine(day, at or time(12))


def said_when(day: date, at: time | None, today: date) -> str:
    """Day and time in a narrow column, days under days; of another year the day with its year.

    Examples
    --------
    >>> said_when(date(2026, 11, 3), time(15, 10), date(2026, 11, 25))
    ' 3 Nov 15:10'
    >>> said_when(date(2025, 11, 23), time(15, 10), date(2026, 11, 25))
    '23 Nov 2025'
    """
    said = f"{said_date(day, today):>{_DATE_CELLS if day.year == today.year else _YEAR_CELLS}}"
    return said if at is None or day.year != today.year else f"{said} {at:%H:%M}"


def _older_row(page: PondPage) -> Row:
    tests = "test" if page.older == 1 else "tests"
    text = Text(f"{page.older:,} older {tests} not shown: o shows more", style="quiet")
    return Row(LineKey("older", page.card.pond.id), ("older", text, ""))


def _test_row(page: PondPage, test: WaterTest) -> Row:
    from store.water.doubtful import doubts_of

    said = "  ".join(short_reading(reading) for reading in test.readings.values())
    note = one_line(test.note)
    taken = test.taken_at.astimezone(page.zone)
    text = Text()
    if test.struck:
        text.append("struck  ", "quiet")
    text.append(said if not test.struck else f"{said}  ({one_line(test.struck_why)})")
    if note:
        text.append(f"  {note}", "quiet")
    if doubts_of(test) and not test.struck:
        text.append("  doubtful", "watch")
    return Row(
        LineKey("test", test.key),
        (said_when(taken.date(), taken.time(), page.today), text, short_name(test.by)),
    )


def short_reading(reading: ReadingValue) -> str:
    """A reading in a few cells, `TAN 1.50`, `<0.05` where it was below a limit."""
    from store.water.parameters import PARAMETERS

    parameter = PARAMETERS[reading.parameter]
    if reading.bound == "<" and reading.high is None:
        return f"{parameter.short} not detected"
    if reading.bound == ">" and reading.value == 0.0:
        return f"{parameter.short} trace"
    sign = "" if reading.bound == "=" else reading.bound
    number = parameter.shown(reading.value)
    if reading.value and not float(number):  # a little is never shown as nothing
        number = parameter.shown_limit(reading.value)
    if reading.parameter == "temperature_c":
        return f"{sign}{number} °C"
    return f"{parameter.short} {sign}{number}"


def _visit_row(page: PondPage, visit: Visit) -> Row:
    when = said_when(visit.on_day, visit.at_time, page.today)
    words = [f"visit {visit.state}", one_line(visit.kind), one_line(visit.note)]
    text = Text("  ".join(word for word in words if word))
    if visit.pond_id is None:
        text.append("  (whole site)", "quiet")
    return Row(LineKey("visit", visit.id), (when, text, _who(page.people, visit.staff_id)))


def _hour(page: PondPage, event: PondEvent) -> time | None:
    return None if event.at is None else event.at.astimezone(page.zone).time()


def _event_row(page: PondPage, event: PondEvent) -> Row:
    from store.book.events import EVENT_KINDS
    from store.facts.hazards import hazards

    when = said_when(event.on_day, _hour(page, event), page.today)
    known = EVENT_KINDS.get(event.kind)
    words = [event.kind if known is None else known.label]
    if event.hazard:
        hazard = hazards().get(event.hazard)
        words[0] = f"{event.hazard if hazard is None else hazard.plain_name} seen"
    if event.amount is not None:
        words[0] += f" {event.amount:g} {event.unit}"
    if known is not None and known.lasts:
        words.append(
            "still lasting"
            if event.until_day is None
            else f"until {said_date(event.until_day, page.today)}"
        )
    if event.struck_at is not None:
        words.append(f"struck: {event.struck_why}")
    text = Text(", ".join(one_line(word) for word in words))
    if event.note:
        text.append(f"  {one_line(event.note)}", "quiet")
    return Row(LineKey("event", event.id), (when, text, _who(page.people, event.created_by)))


def _call_row(page: PondPage, call: CallNote) -> Row:
    at = call.called_at.astimezone(page.zone)
    text = Text()
    if call.struck_at is not None:
        text.append("struck  ", "quiet")
    elif call.state == "open":
        text.append("open  ", "watch")
    text.append(one_line(call.said))
    if call.struck_at is not None:
        text.append(f"  {one_line(call.struck_why)}", "quiet")
    told = "; ".join(one_line(one).rstrip(".") for one in call.advised)
    if told:
        text.append(f"  advised: {told}", "quiet")
    when = said_when(at.date(), at.time(), page.today)
    return Row(LineKey("call", call.id), (when, text, _who(page.people, call.created_by)))


def _course_row(page: PondPage, one: CourseEntry) -> Row:
    when = said_when(one.at.date(), one.at.time() if one.hour else None, page.today)
    text = Text()
    if one.struck_why:
        text.append("struck  ", "quiet")
    text.append(one_line(one.says), "quiet" if one.struck_why else "")
    beside = " ".join(part for part in (one.beside, one.struck_why) if part)
    if beside:
        text.append(f"  {one_line(beside)}", "quiet")
    return Row(LineKey("course", one.course, one.part), (when, text, _who(page.people, one.by)))


def _exam_row(page: PondPage, one: KeptExam) -> Row:
    from store.courses.kept.examined import said_in_short

    at = one.exam.at.astimezone(page.zone)
    text = Text("struck  " if one.struck_why else "", style="quiet")
    text.append(one_line(f"{_EXAMS[one.exam.purpose]}, {said_in_short(one.exam)}"))
    if one.struck_why:
        text.append(f"  {one_line(one.struck_why)}", "quiet")
    when = said_when(at.date(), at.time(), page.today)
    return Row(LineKey("exam", one.id), (when, text, short_name(one.exam.examiner)))


def _death_row(page: PondPage, one: DeathDay) -> Row:
    text = Text("struck  " if one.struck else "", style="quiet")
    text.append(one_line(one.says), "" if one.dead and not one.struck else "quiet")
    if one.days > 1:
        text.append(f" since {said_date(one.first, page.today)}", "quiet")
    if one.beside:
        text.append(f"  {one_line(one.beside)}", "quiet")
    when = said_when(one.on_day, None, page.today)
    key = LineKey("deaths", page.card.pond.id, f"{one.on_day} {one.says} {one.struck}")
    return Row(key, (when, text, _who(page.people, one.by)))


_EXAMS = {
    "first look": "examination", "routine": "examination", "control": "control examination",
    "losses": "examination after losses",
}  # fmt: skip


def _who(people: Mapping[UUID, str], key: UUID | None) -> str:
    return "" if key is None else short_name(people.get(key, ""))


def short_name(name: str) -> str:
    """Initials as they are; of a name without any, the first letters of its words.

    Examples
    --------
    >>> short_name("MB"), short_name("Ada Vet")
    ('MB', 'AV')
    """
    said = one_line(name)
    return said if len(said) <= _WHO_CELLS else "".join(word[0] for word in said.split())
