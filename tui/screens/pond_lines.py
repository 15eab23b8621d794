"""The lines of a pond's page in words: head, concerns, and the list of what happened."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import TYPE_CHECKING, Literal
from uuid import UUID

from rich.text import Text
from textual.content import Content

from tui.said import said_date, said_moment, said_since
from tui.widgets.grid import Row
from tui.widgets.literal import cut, one_line

if TYPE_CHECKING:
    from store.book.events import PondEvent
    from store.book.ponds import PondCard
    from store.book.visits import Visit
    from store.water.understood import ReadingValue
    from store.water.water_tests import WaterTest
    from tui.screens.pond_page import PondPage

CONCERNS_SHOWN = 4
"""On 24 lines; what does not fit is counted, and stands in full behind the explaining key."""


@dataclass(frozen=True, slots=True)
class LineKey:
    """What a line of the list is, so that enter knows what to open."""

    kind: Literal["test", "visit", "event"]
    key: UUID


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
        parts.append("struck through")
    if page.apart is not None:
        one, other = page.apart.one, page.apart.other
        parts.append(
            f"volumes disagree by {page.apart.percent:.0f} %: {one.litres:,.0f} L "
            f"{said_method(one.method)}, {other.litres:,.0f} L {said_method(other.method)}"
        )
    parts.append(use)
    parts += [one_line(text) for text in (pond.species, page.card.site.town) if text]
    return " · ".join(parts)


def concern_lines(page: PondPage, width: int, most: int = CONCERNS_SHOWN) -> Content:
    """One line a concern, worst first; those at rest quieter, with the day they return."""
    watch = page.watch
    if watch is None:
        return Content.styled("Struck through: no rule looks at it.", "$quiet")
    lines: list[Content] = []
    for concern in watch.concerns:
        since = "" if concern.since is None else f"  since {said_since(concern.since, page.today)}"
        text = cut(f"{one_line(concern.what)}{since}", max(0, width - 10))
        lines.append(
            Content.assemble((f"{concern.level:<9}", f"bold $level-{concern.level}"), text)
        )
    for concern, rest in watch.at_rest:
        until = said_since(rest.until, page.today)
        text = f"at rest  {one_line(concern.what)}, until {until}: {one_line(rest.reason)}"
        lines.append(Content.styled(cut(text, width - 1), "$quiet"))
    if not lines:
        calm = "No rule speaks." if page.tests else "No water test yet. Press t to enter one."
        lines.append(Content.assemble(("calm     ", "$level-calm"), calm))
    hidden = len(lines) - most
    if hidden > 0:
        lines = lines[: most - 1]
        lines.append(Content.styled(f"and {hidden + 1} more: e explains all", "$quiet"))
    return Content("\n").join(lines)


def grid_rows(page: PondPage) -> list[Row]:
    """Tests, visits and events in one list, newest first; planned visits stand on top."""
    entries: list[tuple[datetime, Row]] = []
    for test in page.tests:
        moment = test.taken_at.astimezone(page.zone).replace(tzinfo=None)
        entries.append((moment, _test_row(page, test)))
    entries += [
        (_moment(visit.on_day, visit.at_time), _visit_row(page, visit)) for visit in page.visits
    ]
    for event in page.events:
        at = None if event.at is None else event.at.astimezone(page.zone).time()
        entries.append((_moment(event.on_day, at), _event_row(page, event)))
    entries.sort(key=lambda entry: entry[0], reverse=True)
    return [row for _, row in entries]


def _moment(day: date, at: time | None) -> datetime:
    return datetime.combine(day, at or time(12))


def _test_row(page: PondPage, test: WaterTest) -> Row:
    from store.water.doubtful import doubts_of

    said = "  ".join(short_reading(reading) for reading in test.readings.values())
    note = one_line(test.note)
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
        (said_moment(test.taken_at, page.zone, page.today), text, one_line(test.by)),
    )


def short_reading(reading: ReadingValue) -> str:
    """A reading in a few cells, `TAN 1.50`, `<0.05` where it was below a limit."""
    from store.water.parameters import PARAMETERS

    parameter = PARAMETERS[reading.parameter]
    sign = "" if reading.bound == "=" else reading.bound
    number = parameter.shown(reading.value)
    if reading.parameter == "temperature_c":
        return f"{sign}{number} °C"
    return f"{parameter.short} {sign}{number}"


def _visit_row(page: PondPage, visit: Visit) -> Row:
    when = said_date(visit.on_day, page.today)
    if visit.at_time is not None:
        when += f" {visit.at_time:%H:%M}"
    words = [f"visit {visit.state}", one_line(visit.kind), one_line(visit.note)]
    text = Text("  ".join(word for word in words if word))
    if visit.pond_id is None:
        text.append("  (whole site)", "quiet")
    return Row(LineKey("visit", visit.id), (when, text, _who(page.people, visit.staff_id)))


def _event_row(page: PondPage, event: PondEvent) -> Row:
    from store.book.events import EVENT_KINDS
    from store.facts.hazards import hazards

    when = said_date(event.on_day, page.today)
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


def _who(people: Mapping[UUID, str], key: UUID | None) -> str:
    return "" if key is None else one_line(people.get(key, ""))
