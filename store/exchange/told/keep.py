"""What an owner told goes into the book: the whole text in words, and what was taken by hand.

All of it is one action. The same text again adds nothing twice: words are known by themselves, what
was taken by the line in its note that quotes it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from hashlib import sha256
from typing import Final
from uuid import UUID

from sqlalchemy import select

from store.book.act import Act
from store.book.book import Book
from store.book.events import record_event
from store.book.kits import own_kit
from store.book.tables import table
from store.book.writing import Writing
from store.errors import BadInput
from store.exams.deaths import NewDeaths, doubts_of_deaths, record_deaths
from store.exchange.plain.moments import read_moment
from store.exchange.told.found import Found, Looked
from store.exchange.told.texts import check_length, phrase, quoted, teller, word_parts
from store.text import day_said, plain
from store.water.parameters import PARAMETERS
from store.water.understood import ReadingValue, shown
from store.water.water_tests import NewTest, add_test

KIND: Final = "told"
PASTED: Final = "pasted text"
NOON: Final = time(12)


@dataclass(frozen=True, slots=True)
class Take:
    """One thing found that a person took.

    `reading` is the one of its choices that is right, for a reading. Without `clock` the hour is
    not known: a reading is then kept at noon and its note says so.
    """

    found: Found
    day: date
    clock: time | None = None
    reading: ReadingValue | None = None
    by_hand: bool = False
    """Whether a person typed or changed the hour, so that nothing of it is supposed."""


@dataclass(frozen=True, slots=True)
class KeptTold:
    """What was saved, counted; with `doubts` nothing was."""

    words: int = 0
    """Notes with the text, one for each day of it."""
    readings: int = 0
    deaths: int = 0
    events: int = 0
    already: int = 0
    """Things taken that the book had from this text before."""
    words_already: int = 0
    doubts: tuple[str, ...] = ()


def keep_told(
    book: Book,
    act: Act,
    pond: UUID,
    looked: Looked,
    takes: Sequence[Take],
    *,
    name: str = PASTED,
    sure: bool = False,
) -> KeptTold:
    """Keep a text in words, and what was taken from it, in one action.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who brings it in, and when.
    pond
        Key of the pond.
    looked
        The text as it was looked through.
    takes
        What a person took from it. Nothing else becomes a value.
    name
        Of the file, where it is one.
    sure
        True once the questions about dead fish were answered.

    Returns
    -------
    KeptTold
        Counted; or questions, and then nothing was saved.

    Raises
    ------
    BadInput
        No words; one parameter twice at the same hour; an hour that lies ahead or that the clock
        skipped. Nothing was saved.
    NotFound
        No such pond.
    """
    if not looked.text.strip():
        raise BadInput("There are no words yet; nothing was saved. Paste or type what was told.")
    check_length(looked.text)
    kit = own_kit(book, pond)
    tests = _tests(looked, takes, book, None if kit is None else kit.id)
    with book.writing(act) as writing:
        there = _There(writing, pond)
        dead = [
            one for one in takes if one.found.dead is not None and not there.has_deaths(looked, one)
        ]
        doubts = () if sure else _doubts(writing, pond, looked, dead)
        if doubts:
            return KeptTold(doubts=doubts)
        words = word_parts(looked, book.today(act.at))
        new_words = [one for one in words if one[1].strip() and not there.has_words(one[1])]
        fresh = [one for one in (there.fresh(each) for each in tests) if one is not None]
        readings = sum(len(one.test.readings) for one in fresh)
        events = [one for one in takes if one.found.event and not there.has_event(looked, one)]
        already = len(takes) - readings - len(dead) - len(events)
        if not (new_words or fresh or dead or events):
            return KeptTold(already=already, words_already=len(words))
        file = writing.add(
            "import_file",
            name=plain(name)[:500] or PASTED,
            sha256=sha256(looked.text.encode()).hexdigest(),
            kind=KIND,
            rows_read=len(looked.messages),
            rows_saved=readings + len(dead) + len(events),
            rows_refused=0,
            shift_s=0,
        )
        for day, text in new_words:
            record_event(writing, pond, "note", day, note=text.strip())
        for one in fresh:
            add_test(writing, pond, one.test, import_file=file)
        for take in dead:
            record_deaths(writing, pond, _new_deaths(looked, take), sure=True)
        for take in events:
            record_event(
                writing, pond, take.found.event, take.day, at=_event_at(take, book),
                amount=take.found.litres, note=quoted(looked, take.found),
            )  # fmt: skip
    return KeptTold(
        len(new_words), readings, len(dead), len(events), already, len(words) - len(new_words)
    )


def _new_deaths(looked: Looked, take: Take) -> NewDeaths:
    found = take.found
    return NewDeaths(take.day, found.dead or 0, found.species, note=quoted(looked, found))


def _doubts(writing: Writing, pond: UUID, looked: Looked, dead: Sequence[Take]) -> tuple[str, ...]:
    doubts: dict[str, None] = {}
    for one in dead:
        doubts.update(dict.fromkeys(doubts_of_deaths(writing, pond, _new_deaths(looked, one))))
    return tuple(doubts)


def _event_at(take: Take, book: Book) -> datetime | None:
    if take.clock is None or (take.found.clock_part and not take.by_hand):
        return None  # an hour that is only supposed is none of an event
    return datetime.combine(take.day, take.clock, book.zone)


@dataclass(frozen=True, slots=True)
class _Test:
    """A test with the lines of its note by which each reading is known again."""

    test: NewTest
    lines: dict[str, tuple[str, str]]
    """Who told it and the phrase, by parameter."""


def _tests(looked: Looked, takes: Sequence[Take], book: Book, kit: UUID | None) -> list[_Test]:
    """The readings taken, those of one instant in one test."""
    by_instant: dict[datetime, list[tuple[Take, ReadingValue, str]]] = {}
    for take in takes:
        reading = take.reading
        if take.found.kind != "reading":
            continue
        if reading is None:
            raise BadInput(
                f"“{plain(take.found.raw):.60}”: which value is meant was not said; nothing was "
                "saved."
            )
        moment = read_moment(f"{take.day} {(take.clock or NOON):%H:%M}", book.zone)
        supposed = _supposed(take)
        if moment.told == "twice":
            twice = "the clock showed that hour twice, the first of them supposed"
            supposed = f"{supposed}; {twice}" if supposed else twice
        by_instant.setdefault(moment.at, []).append((take, reading, supposed))
    tests = []
    for at, group in by_instant.items():
        lines: dict[str, tuple[str, str]] = {}
        told: dict[str, dict[str, None]] = {}
        hours: dict[str, None] = {}
        for take, reading, of_hour in group:
            if reading.parameter in lines:
                label = PARAMETERS[reading.parameter].label
                local = at.astimezone(book.zone)
                raise BadInput(
                    f"Two values of {label} were taken for {day_said(local.date())} "
                    f"{local:%H:%M}, the second {shown(reading)}; nothing was saved. Give "
                    "one of them another hour, or leave it."
                )
            who, words = teller(looked, take.found), phrase(take.found)
            lines[reading.parameter] = who, words
            told.setdefault(who, {})[words] = None
            if of_hour:
                hours[of_hour] = None
        note = "; ".join([*(f"{who}: {', '.join(words)}" for who, words in told.items()), *hours])
        readings = tuple(reading for _, reading, _ in group)
        tests.append(_Test(NewTest(at, readings, note, "file", kit_id=kit), lines))
    return tests


def _supposed(take: Take) -> str:
    """What is supposed of the hour, for the note."""
    if take.clock is None:
        return "time of day not stated, noon supposed"
    if take.by_hand:
        return ""
    if take.found.clock_part:
        return f"{take.clock:%H:%M} supposed for “{take.found.clock_part}”"
    return "hour of the message" if take.found.clock_how == "message" else ""


class _There:
    """What a pond has of a text already, standing or struck through on purpose.

    Parameters
    ----------
    writing
        The action.
    pond
        Key of the pond.
    """

    def __init__(self, writing: Writing, pond: UUID) -> None:
        connection = writing.connection
        events, deaths = table("pond_event").c, table("death_count").c
        tests, files = table("water_test").c, table("import_file").c
        reading = table("reading").c
        query = select(events.kind, events.note).where(events.pond_id == pond, events.note != "")
        self._events = {(one.kind, one.note) for one in connection.execute(query)}
        counts = select(deaths.dead, deaths.species, deaths.note).where(deaths.pond_id == pond)
        self._deaths = {(one.dead, one.species, one.note) for one in connection.execute(counts)}
        told = (
            select(reading.parameter, tests.note)
            .join(table("water_test"), tests.id == reading.test_id)
            .join(table("import_file"), files.id == tests.import_file_id)
            .where(tests.pond_id == pond, files.kind == KIND)
        )
        self._readings = [(one.parameter, one.note) for one in connection.execute(told)]

    def has_words(self, text: str) -> bool:
        """Whether these words are a note of the pond."""
        return ("note", text.strip()) in self._events

    def has_event(self, looked: Looked, take: Take) -> bool:
        """Whether this was taken before."""
        return (take.found.event, quoted(looked, take.found)) in self._events

    def has_deaths(self, looked: Looked, take: Take) -> bool:
        """Whether these dead fish were taken before."""
        new = _new_deaths(looked, take)
        return (new.dead, new.species, new.note) in self._deaths

    def fresh(self, one: _Test) -> _Test | None:
        """The test without readings that were taken before; None where none is left."""
        left = tuple(
            reading
            for reading in one.test.readings
            if not any(
                parameter == reading.parameter
                and all(part in note for part in one.lines[parameter])
                for parameter, note in self._readings
            )
        )
        if not left:
            return None
        test = one.test
        return _Test(
            NewTest(test.taken_at, left, test.note, test.way, kit_id=test.kit_id), one.lines
        )


def takes_of(found: Sequence[Found], *, hour: time | None = None) -> Iterator[Take]:
    """All readings that are beyond doubt and whose day is known, as `take all` means it.

    Parameters
    ----------
    found
        From a text looked through.
    hour
        For readings whose hour does not stand in the text.
    """
    for one in found:
        if one.kind == "reading" and not one.doubt and one.day is not None:
            clock = one.clock if one.clock_how in ("said", "reckoned") else hour
            yield Take(one, one.day, clock, one.choices[0], by_hand=clock is hour)
