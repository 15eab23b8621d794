"""A pond whose koi die beside well goldfish at 22 °C, in the book."""

from __future__ import annotations

from datetime import date, timedelta
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.book.events import record_event
from store.exams.deaths import NewDeaths, record_deaths
from store.exams.head_counts import record_head_count
from store.water.line import understand
from store.water.understood import KitForms
from store.water.water_tests import NewTest, save_test

KIT = KitForms("n", "no2", "no3")
SIGNS = ("gills_mottled", "sunken_eyes")


def add_pond(book: Book, act: Act, species: str = "26 koi, 40 goldfish") -> UUID:
    """A pond of 20,000 L without a reading."""
    with book.writing(act) as writing:
        owner = writing.add("client", name="Wren Lane")
        site = writing.add("site", client_id=owner, name="garden")
        return writing.add(
            "pond", site_id=site, name="long pond", use="ornamental", species=species,
            volume_l=20_000.0,
        )  # fmt: skip


def warm(book: Book, act: Act, pond: UUID, temp_c: float = 22.0, days: int = 9) -> None:
    """A test a day, good water but for its warmth."""
    for day in range(days):
        line = f"{temp_c:.1f}C pH 7.8 TAN 0.3 NO2 0.05 DO 7.4"
        at = act.at - timedelta(days=day, minutes=20)
        read = understand(line, kit=KIT, now=act.at, zone=book.zone)
        save_test(book, act, pond, NewTest(at, read.readings, way="line"))


def add_dying_pond(book: Book, act: Act, *, temp_c: float = 22.0) -> UUID:
    """26 koi of which 2, 3, 4 and 2 die on four days, 19 days after 6 new ones came."""
    today = book.today(act.at)
    pond = add_pond(book, act)
    warm(book, act, pond, temp_c)
    with book.writing(act) as writing:
        record_event(
            writing,
            pond,
            "new_fish",
            ago(today, 19),
            amount=6,
            note="koi from a show, no quarantine",
        )
        record_head_count(writing, pond, ago(today, 19), 26, species="koi")
        record_head_count(writing, pond, ago(today, 19), 40, species="goldfish", how="estimated")
        for days, dead in ((3, 2), (2, 3), (1, 4), (0, 2)):
            entered = record_deaths(
                writing, pond, NewDeaths(ago(today, days), dead, "koi", signs=SIGNS)
            )
            assert entered.key is not None, entered.doubts
    return pond


def ago(today: date, days: int) -> date:
    return today - timedelta(days=days)
