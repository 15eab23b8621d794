"""The concerns of a pond in full, as paragraphs that a screen and a printed page share."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Literal
from uuid import UUID

from tui.said import began, said_date
from tui.screens.morning.glance import said_source

if TYPE_CHECKING:
    from store.book.book import Book
    from store.book.ponds import PondCard
    from store.watch.concern import Concern, PondWatch
    from store.watch.warmth_told import WarmthTold

Voice = Literal["title", "level", "part", "text", "air"]


@dataclass(frozen=True, slots=True)
class Said:
    """A paragraph: how it is said, the text, the level it belongs to or an empty text."""

    voice: Voice
    text: str
    level: str = ""


@dataclass(frozen=True, slots=True)
class Explained:
    """Everything the watch has to say of a pond, with who changed its rules."""

    card: PondCard
    watch: PondWatch
    changed: dict[str, str]
    """Rule to the sentence that says who changed it, when and why."""
    today: date
    warmth: WarmthTold | None = None
    """The temperature by estimate; None where no fit is at hand."""


def read_explained(book: Book, pond: UUID, now: datetime) -> Explained:
    """The concerns of a pond explained.

    Raises
    ------
    PondroundError
        No such pond, or the book cannot be read.
    """
    from store.book.ponds import card
    from store.courses.kept.morning import watch_pond
    from store.watch.rulebook import rulebook
    from store.watch.warmth_told import warmth_told

    watch, rules, zone = watch_pond(book, pond, now), rulebook(book), book.zone
    changed: dict[str, str] = {}
    spoken = (*watch.concerns, *(concern for concern, _ in watch.at_rest), *watch.notes)
    for code in {concern.rule for concern in spoken}:
        says = [
            change.said(zone)
            for change in (rules.change(code, None), rules.change(code, pond))
            if change is not None
        ]
        if says:
            changed[code] = " ".join(says)
    warmth = warmth_told(book, pond, now)
    return Explained(card(book, pond), watch, changed, book.today(now), warmth)


def paragraphs(explained: Explained) -> Iterator[Said]:
    """Worst first; then what is at rest, then the calm notes."""
    watch, today = explained.watch, explained.today
    for concern in watch.concerns:
        yield from _concern(concern, explained)
    for concern, rest in watch.at_rest:
        yield from _concern(
            concern,
            explained,
            f"At rest until {said_date(rest.until, today)}, by {rest.by}: {rest.reason} It speaks "
            "again on that day, or earlier when it gets worse.",
        )
    for concern in watch.notes:
        yield from _concern(concern, explained)
    if not (watch.concerns or watch.at_rest or watch.notes):
        yield Said("text", "No rule speaks of this pond.")
    if explained.warmth is not None:
        yield from _warmth(explained.warmth)


def _warmth(warmth: WarmthTold) -> Iterator[Said]:
    """The temperature by estimate, what it rests on, what is to come, what is to be settled."""
    coming = tuple(
        f"in {(day.day - warmth.today).days} days, {said_date(day.day, warmth.today)}: {words}"
        for day, words in warmth.ahead
    )
    today = f"{warmth.says}; four in five lie between." if warmth.says else ""
    if not warmth.measured_today:
        today = today or warmth.why_not
    parts = (
        ("Today", (today,)),
        ("Coming", coming),
        ("Rests on", warmth.grounds),
        ("To settle", (*warmth.to_settle, warmth.settle)),
    )
    if any(any(texts) for _, texts in parts):
        yield Said("title", "Temperature by estimate")
        yield from _parts(parts)
        yield Said("air", "")


def _parts(parts: Iterable[tuple[str, tuple[str, ...]]]) -> Iterator[Said]:
    """Titles with their texts; a title without any is left out."""
    for title, texts in parts:
        shown = [text for text in texts if text]
        if shown:
            yield Said("part", title)
            for text in shown:
                yield Said("text", text)


def _concern(concern: Concern, explained: Explained, at_rest: str = "") -> Iterator[Said]:
    said = began(concern.since, explained.today, or_earlier=concern.or_earlier, what=concern.what)
    since = f", {said}" if said else ""
    yield Said("level", f"{concern.title}{since}", concern.level)
    yield Said("text", concern.what)
    if at_rest:
        yield Said("text", at_rest)
    yield from _parts(
        (
            ("Readings", concern.readings),
            ("Arithmetic", concern.arithmetic),
            ("Source", (said_source_alone(concern),)),
            ("To keep in mind", concern.remarks),
            ("Next", (concern.advice,)),
            ("Rule", (f"{concern.rule}: {explained.changed.get(concern.rule, 'as published')}",)),
        )
    )
    yield Said("air", "")


def said_source_alone(concern: Concern) -> str:
    """The publication with its standing, without the remarks."""
    from dataclasses import replace

    return said_source(replace(concern, remarks=()))
