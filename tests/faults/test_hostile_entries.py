"""Every hostile text through what understands typed words, and through what people enter by forms."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from datetime import UTC, date
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from sqlalchemy import String, select

from store.book.act import Act
from store.book.book import Book
from store.book.columns import Base
from store.book.days import typed_day, typed_time
from store.book.events import record_event
from store.book.find import directory, find
from store.book.letterhead import set_practice_head
from store.book.opening import open_book
from store.book.visits import plan_visit
from store.diary.calling.typed import (
    read_temperature,
    signs_in,
    typed_count,
    typed_litres,
    typed_safe,
    typed_span_days,
)
from store.diary.kept.calls.call_notes import note_call
from store.diary.kept.promised.attempts import log_attempt
from store.diary.kept.promised.follow_ups import promise
from store.diary.kept.roster.days_off import add_day_off
from store.diary.kept.roster.staff_hours import set_hours
from store.diary.kept.roster.way_home import set_way_home
from store.diary.times.hours_typed import hear
from store.diary.times.repeats_typed import typed_repeat
from store.errors import PondroundError
from store.exams.deaths import typed_signs
from store.exams.head_counts import record_head_count
from store.exams.line import understand_fish
from store.exams.specimens import add_sample
from store.exchange.demo.practice import make_demo
from store.exchange.told.days import typed_clock
from store.exchange.told.found import Setting
from store.exchange.told.look import look
from store.text import plain
from store.watch.until import typed_until
from store.water.entered import save_new_pond
from store.water.line import understand
from store.water.measures import quantity
from store.water.plan import typed_seasons
from store.water.understood import KitForms
from tests.faults.hostile import TALLY, Hostile, harmful, hostile, one_sentence
from tests.faults.hostile_demo import NOW

QUICK_S = 10.0
DAY, TOMORROW = date(2026, 3, 13), date(2026, 3, 15)


def tried(name: str, one: Hostile, does: Callable[[], Any]) -> Any:
    """What came of it; a refusal must be a sentence, and quick."""
    begun = time.perf_counter()
    made = None
    try:
        made = does()
        TALLY.kept[name] += 1
    except PondroundError as trouble:
        TALLY.refused[name] += 1
        one_sentence(plain(trouble.message))
    took = time.perf_counter() - begun
    assert took < QUICK_S, (name, str(one), took)
    return made


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    path: Path = tmp_path_factory.mktemp("entries") / "book.pondround"
    make_demo(path, NOW).close()
    with open_book(path, now=NOW) as opened:
        yield opened


def first(book: Book, table: str) -> UUID:
    with book.reading() as connection:
        key = connection.execute(select(Base.metadata.tables[table].c.id)).scalars().first()
    assert isinstance(key, UUID)
    return key


KIT = KitForms(ammonia="n", nitrite="no2", nitrate="no3")
HEARD: dict[str, Callable[[str], Any]] = {
    "the line of a water test": lambda text: understand(text, kit=KIT, now=NOW, zone=UTC),
    "the line of a fish": understand_fish,
    "an owner's message": lambda text: look(text, Setting(KIT, UTC, NOW), sent=DAY),
    "a day": lambda text: typed_day(text, DAY, ahead=True),
    "a time": typed_time,
    "a day until which": lambda text: typed_until(text, DAY),
    "hours": hear,
    "a repeat": lambda text: typed_repeat(text, DAY),
    "seasons": typed_seasons,
    "a quantity": lambda text: quantity(text, "volume"),
    "signs": typed_signs,
    "a count of a call": typed_count,
    "litres of a call": typed_litres,
    "a span of a call": typed_span_days,
    "what is safe of a call": typed_safe,
    "signs of a call": signs_in,
    "the temperature of a call": read_temperature,
    "a clock of a message": typed_clock,
}


def test_what_is_typed_is_understood_or_asked() -> None:
    for name, hears in HEARD.items():
        for one in hostile(huge=False):  # a field takes no megabyte
            tried(f"heard as {name}", one, lambda one=one, hears=hears: hears(one.text))


def entered(book: Book, act: Act) -> dict[str, Callable[[str], Any]]:
    """Forms and keys by which a person writes words into the book, by what they are."""
    pond, client, staff = (first(book, name) for name in ("pond", "client", "staff"))

    def within(does: Callable[..., Any], *given: Any, **more: Any) -> Any:
        with book.writing(act) as writing:
            return does(writing, *given, **more)

    return {
        "a new pond": lambda text: save_new_pond(
            book,
            act,
            {"client.name": text, "site.name": text, "pond.name": text, "pond.notes": text},
        ),
        "an event": lambda text: within(record_event, pond, "new_fish", DAY, note=text),
        "a visit": lambda text: within(plan_visit, pond, TOMORROW, note=text),
        "a promise": lambda text: within(
            promise, client_id=client, kind="ring", says=text, first_on=TOMORROW, note=text
        ),
        "an attempt": lambda text: within(log_attempt, client, "no answer", note=text),
        "a call": lambda text: within(
            note_call, client, caller=text, said=text, advised=text, next_step=text
        ),
        "a day off": lambda text: within(
            add_day_off, staff, first_day=DAY, last_day=DAY, says=text
        ),
        "working hours": lambda text: within(set_hours, staff, text, DAY, start_place=text),
        "the way home": lambda text: within(set_way_home, staff, text, DAY),
        "a letterhead": lambda text: within(
            set_practice_head, practice=text, telephone=text, address=text, email="", foot=text
        ),
        "a sample": lambda text: within(
            add_sample, pond, label=text, taken_on=DAY, material=text, laboratory=text, asked=text
        ),
        "a head count": lambda text: within(
            record_head_count, pond, DAY, 9, species=text, note=text
        ),
        "searching": lambda text: find(book, text),
        "searching the directory": lambda text: directory(book, text),
    }


def test_what_is_entered_is_kept_harmless_or_refused(book: Book) -> None:
    act = Act(first(book, "staff"), NOW)
    for name, does in entered(book, act).items():
        for one in hostile(huge=not name.startswith("searching")):
            tried(f"entered as {name}", one, lambda one=one, does=does: does(one.text))
    with book.reading() as connection:
        for table in Base.metadata.sorted_tables:
            words = [one for one in table.columns if isinstance(one.type, String)]
            for row in connection.execute(select(*words)) if words else ():
                assert not any(harmful(str(value)) for value in row), (table.name, row)
