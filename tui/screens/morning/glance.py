"""One pond at a glance, beside the morning list and in the strip under it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING
from uuid import UUID

from rich.cells import cell_len
from textual.content import Content

from tui.backing import said_backing
from tui.said import began, said_date, said_day, said_moment
from tui.widgets.hanging import beside
from tui.widgets.literal import one_line
from tui.widgets.strip import Told

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from store.book.book import Book
    from store.book.ponds import PondCard
    from store.watch.concern import Concern, MorningLine, PondWatch
    from store.water.water_tests import WaterTest

PANEL_CELLS = 34
"""Of the panel's width in the style sheet, without its edge, its padding and the bar to scroll."""
_GUTTER = 9
"""Cells of the level and what parts it from the text."""


@dataclass(frozen=True, slots=True)
class Glance:
    """What is read of a pond when the cursor comes to stand on it."""

    pond: UUID
    watch: PondWatch
    card: PondCard
    last: WaterTest | None
    last_shown: tuple[str, ...]
    """The readings of the last test, each as it is shown."""
    zone: ZoneInfo
    today: date


def read_glance(book: Book, pond: UUID, now: datetime) -> Glance:
    """What the watch says of a pond, its card and its last test.

    Raises
    ------
    PondroundError
        No such pond, or the book cannot be read.
    """
    from store.book.ponds import card
    from store.courses.kept.morning import watch_pond
    from store.water.understood import shown
    from store.water.water_tests import list_tests

    watch = watch_pond(book, pond, now)
    newest = list_tests(book, pond, 1)
    last = newest[0] if newest else None
    readings = tuple(shown(one) for one in last.readings.values()) if last else ()
    return Glance(pond, watch, card(book, pond), last, readings, book.zone, book.today(now))


def said_source(concern: Concern) -> str:
    """How far the limit can be trusted, the publication, then the remarks on validity.

    The standing stands first, because what is cut is the end.
    """
    source = said_backing(concern.source, concern.standing)
    return ". ".join(part.rstrip(".") for part in (source, *concern.remarks) if part)


def told_of(line: MorningLine, glance: Glance | None, today: date) -> Told:
    """What the strip says of a line; at first what the line itself knows, then all of it.

    Since when stands before the name, which the list shows already and which may be long.
    """
    if glance is None:
        since = began(line.since, today, or_earlier=line.or_earlier, what=line.what)
        what = " ".join(part for part in (line.what, since) if part)
        return Told(_headed(what, line.where) if what else line.where)
    watch = glance.watch
    concern = next((one for one in watch.concerns if one.rule == line.rule), None)
    concern = concern or next(iter(watch.concerns), None)
    if concern is None:
        return _told_of_calm(line, watch, today)
    since = began(concern.since, today, or_earlier=concern.or_earlier, what=concern.what)
    title = " ".join(part for part in (concern.title, since) if part)
    return Told(
        _headed(title, line.where),
        joined(concern.arithmetic),
        said_source(concern),
        f"Next: {concern.advice}" if concern.advice else "",
    )


def _told_of_calm(line: MorningLine, watch: PondWatch, today: date) -> Told:
    if watch.at_rest:
        concern, rest = watch.at_rest[0]
        return Told(
            _headed(f"{concern.title}, at rest until {said_date(rest.until, today)}", line.where),
            joined(concern.arithmetic),
            f"{rest.by}: {rest.reason}",
            "It speaks again on that day, or earlier when it gets worse.",
        )
    return Told(_headed("No rule speaks", line.where), "; ".join(said_notes(watch.notes)))


def _headed(what: str, where: str) -> str:
    return f"{what} · {where}"


def joined(steps: Iterable[str]) -> str:
    """Steps of a reckoning on one line: a sentence after a full stop, anything else after `;`.

    Examples
    --------
    >>> joined(("TAN 0.95 × 7.3 %", "limit 0.05", "At this pH it allows more"))
    'TAN 0.95 × 7.3 %; limit 0.05. At this pH it allows more'
    """
    said = ""
    for step in steps:
        sentence = step[:1].isupper() and not step[1:2].isupper()
        said += f"{'. ' if sentence else '; '}{step}" if said else step
    return said


def said_notes(notes: Iterable[Concern]) -> list[str]:
    """The calm notes in as few lines as they can be read in.

    Windows in which a pond has stayed are the longest part of most ponds' notes: those told at the
    same temperature share one line, and those told by estimate another.
    """
    lines: list[str] = []
    staying: dict[str, list[str]] = {}
    likely: list[str] = []
    for note in notes:
        if note.stays_in and note.by_estimate:
            likely.append(note.stays_in)
        elif note.stays_in and note.value is not None:
            staying.setdefault(f"{note.value:.1f} {note.unit}", []).append(note.stays_in)
        else:
            lines.append(note.what)
    for temperature, names in staying.items():
        lines.append(f"still in window time at {temperature}: {', '.join(names)}")
    if likely:
        lines.append(f"still in window time by estimate: {', '.join(likely)}")
    return lines


def panel(line: MorningLine, glance: Glance, width: int = PANEL_CELLS) -> Content:
    """The pond under the cursor as it stands at the right of a wide screen.

    Parameters
    ----------
    line, glance
        The line, and what was read of its pond.
    width
        Cells of the panel; lines that go on are indented under their text.
    """
    card, today = glance.card, glance.today
    parts: list[Content] = [
        Content.styled(one_line(line.where), "bold"),
        _quiet(", ".join(part for part in (card.site.name, card.site.town) if part)),
        _quiet(_said_pond(glance)),
        Content(""),
    ]
    parts += _last_and_next(line, glance, width)
    parts.append(Content(""))
    parts += [_concern(concern, today, width) for concern in glance.watch.concerns]
    for concern, rest in glance.watch.at_rest:
        said = f"{concern.title}, until {said_date(rest.until, today)}: {rest.reason}"
        parts.append(Content.styled(beside("at rest", said, width, _GUTTER), "$quiet"))
    parts += [
        Content.styled(beside("calm", said, width, _GUTTER), "$quiet")
        for said in said_notes(glance.watch.notes)
    ]
    if not (glance.watch.concerns or glance.watch.at_rest or glance.watch.notes):
        parts.append(_quiet("No rule speaks."))
    return Content("\n").join(parts)


def _last_and_next(line: MorningLine, glance: Glance, width: int) -> list[Content]:
    """Above the concerns, of which there may be more than there is room."""
    card, today = glance.card, glance.today
    parts: list[Content] = []
    if glance.last is None:
        parts.append(Content("No water test yet. Press t to enter one."))
    else:
        taken = said_moment(glance.last.taken_at, glance.zone, today)
        parts.append(
            Content.assemble(("Last test ", "$quiet"), f"{taken} {one_line(glance.last.by)}")
        )
        parts.append(Content(flowing(glance.last_shown, width)))
        if glance.last.note:
            parts.append(_quiet(glance.last.note))
    visit = said_day(line.next_visit, today) if line.next_visit else "none planned"
    parts.append(Content.assemble(("Next visit ", "$quiet"), visit))
    phones = [phone for phone in (card.client.phone, card.client.phone2) if phone]
    if phones:
        parts.append(
            Content.assemble(("Telephone ", "$quiet"), flowing(phones, width, len("Telephone ")))
        )
    return parts


def flowing(items: Iterable[str], width: int, indent: int = 0) -> str:
    """Short texts one after the other, parted by two spaces; a line ends between two of them.

    Examples
    --------
    >>> print(flowing(("13.8 °C", "pH 8.5", "KH 6.5 dKH"), 18))
    13.8 °C  pH 8.5
    KH 6.5 dKH
    """
    lines: list[str] = []
    for item in map(one_line, items):
        if lines and indent + cell_len(lines[-1]) + 2 + cell_len(item) <= width:
            lines[-1] += f"  {item}"
        else:
            lines.append(item)
    return f"\n{' ' * indent}".join(lines)


def _concern(concern: Concern, today: date, width: int) -> Content:
    since = began(concern.since, today, or_earlier=concern.or_earlier, what=concern.what)
    said = f"{one_line(concern.what)}, {since}" if since else one_line(concern.what)
    text = beside(concern.level, said, width, _GUTTER)
    return Content.assemble((text[:_GUTTER], f"bold $level-{concern.level}"), text[_GUTTER:])


def _said_pond(glance: Glance) -> str:
    from tui.screens.ponds.pond_lines import said_volume

    pond = glance.card.pond
    use = {"food": "food fish", "not asked": "use not asked"}.get(pond.use, pond.use)
    return f"{said_volume(glance.card)}, {use}"


def _quiet(text: str) -> Content:
    return Content.styled(one_line(text), "$quiet")
