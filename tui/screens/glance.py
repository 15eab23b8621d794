"""One pond at a glance, beside the morning list and in the strip under it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING
from uuid import UUID

from textual.content import Content

from tui.said import said_date, said_day, said_moment, said_since
from tui.widgets.literal import one_line
from tui.widgets.strip import Told

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from store.book.book import Book
    from store.book.ponds import PondCard
    from store.watch.concern import Concern, MorningLine, PondWatch
    from store.water.water_tests import WaterTest


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
    from store.watch.morning import watch_pond
    from store.water.understood import shown
    from store.water.water_tests import list_tests

    watch = watch_pond(book, pond, now)
    newest = list_tests(book, pond, 1)
    last = newest[0] if newest else None
    readings = tuple(shown(one) for one in last.readings.values()) if last else ()
    return Glance(pond, watch, card(book, pond), last, readings, book.zone, book.today(now))


def said_source(concern: Concern) -> str:
    """The publication; what is not published says so, with the remarks on validity."""
    source = concern.source
    if concern.standing != "published" and concern.standing not in source:
        source = f"{source} ({concern.standing})" if source else concern.standing
    return ". ".join(part.rstrip(".") for part in (source, *concern.remarks) if part)


def told_of(line: MorningLine, glance: Glance | None, today: date) -> Told:
    """What the strip says of a line; at first what the line itself knows, then all of it."""
    if glance is None:
        return Told(f"{line.where}: {line.what}" if line.what else line.where)
    watch = glance.watch
    concern = next((one for one in watch.concerns if one.rule == line.rule), None)
    concern = concern or next(iter(watch.concerns), None)
    if concern is None:
        return _told_of_calm(line, watch, today)
    since = f" since {said_since(concern.since, today)}" if concern.since else ""
    return Told(
        f"{line.where}: {concern.title}{since}",
        "; ".join(concern.arithmetic),
        said_source(concern),
        f"Next: {concern.advice}" if concern.advice else "",
    )


def _told_of_calm(line: MorningLine, watch: PondWatch, today: date) -> Told:
    if watch.at_rest:
        concern, rest = watch.at_rest[0]
        return Told(
            f"{line.where}: {concern.title}, at rest until {said_date(rest.until, today)}",
            "; ".join(concern.arithmetic),
            f"{rest.by}: {rest.reason}",
            "It speaks again on that day, or earlier when it gets worse.",
        )
    notes = "; ".join(note.what for note in watch.notes)
    return Told(f"{line.where}: nothing asks for anybody", notes)


def panel(line: MorningLine, glance: Glance) -> Content:
    """The pond under the cursor as it stands at the right of a wide screen."""
    card, today = glance.card, glance.today
    parts: list[Content] = [
        Content.styled(one_line(line.where), "bold"),
        _quiet(", ".join(part for part in (card.site.name, card.site.town) if part)),
        _quiet(_said_pond(glance)),
        Content(""),
    ]
    parts += _last_and_next(line, glance)
    parts.append(Content(""))
    parts += [_concern(concern, today) for concern in glance.watch.concerns]
    for concern, rest in glance.watch.at_rest:
        parts.append(
            _quiet(f"at rest  {concern.title}, until {said_date(rest.until, today)}: {rest.reason}")
        )
    parts += [_quiet(f"calm     {note.what}") for note in glance.watch.notes]
    if not (glance.watch.concerns or glance.watch.at_rest or glance.watch.notes):
        parts.append(_quiet("Nothing asks for anybody."))
    return Content("\n").join(parts)


def _last_and_next(line: MorningLine, glance: Glance) -> list[Content]:
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
        parts.append(Content(one_line("  ".join(glance.last_shown))))
        if glance.last.note:
            parts.append(_quiet(glance.last.note))
    visit = said_day(line.next_visit, today) if line.next_visit else "none planned"
    parts.append(Content.assemble(("Next visit ", "$quiet"), visit))
    phones = [phone for phone in (card.client.phone, card.client.phone2) if phone]
    if phones:
        parts.append(Content.assemble(("Telephone ", "$quiet"), one_line(", ".join(phones))))
    return parts


def _concern(concern: Concern, today: date) -> Content:
    since = f", since {said_since(concern.since, today)}" if concern.since else ""
    return Content.assemble(
        (f"{concern.level:<7}", f"bold $level-{concern.level}"),
        f"  {one_line(concern.what)}{since}",
    )


def _said_pond(glance: Glance) -> str:
    pond = glance.card.pond
    volume = "volume not known" if pond.volume_l is None else f"{pond.volume_l:,.0f} L"
    method = f" by {pond.volume_method}" if pond.volume_l is not None and pond.volume_method else ""
    use = {"food": "food fish", "not asked": "use not asked"}.get(pond.use, pond.use)
    return f"{volume}{method}, {use}"


def _quiet(text: str) -> Content:
    return Content.styled(one_line(text), "$quiet")
