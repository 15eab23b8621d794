"""A pond with a day of work on it, and all that an owner must never see beside it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.book.events import record_event
from store.book.letterhead import set_practice_head
from store.book.volumes import record_estimate
from store.exams.deaths import NewDeaths, record_deaths
from store.exams.examining import record_examination
from store.exams.specimens import add_sample
from store.exams.values import Exam, ExamFish, Found, Prep
from store.reports.kept.head import Head
from store.water.line import understand
from store.water.understood import KitForms
from store.water.water_tests import NewTest, save_test

TODAY = date(2026, 3, 14)
KIT = KitForms("n", "no2", "no3")
HEAD = Head(
    "Reedmace Fish Vets", "01632 960555", "4 Weir Lane\nAshbourne", "desk@example.org",
    "Registered at the chamber.", kept=True,
)  # fmt: skip
SECRETS = (
    "SECRET-CLIENT", "SECRET-POND", "SECRET-SITE", "SECRET-STOCK", "SECRET-TEST", "SECRET-EXAM",
    "SECRET-PREP", "SECRET-FOUND", "SECRET-FISH", "SECRET-PHOTO", "SECRET-EVENT", "SECRET-DEAD",
    "SECRET-VISIT", "4711", "Neighbour Teal", "01632 960999", "SECRET-RULE", "SECRET-ASKED",
)  # fmt: skip
"""What stands in the book beside the pond and is for the practice alone, or of another client."""


@dataclass(frozen=True, slots=True)
class OnePond:
    """Keys of what was entered."""

    client: UUID
    pond: UUID
    other: UUID


def one_pond(
    writing: Any, *, name: str = "lower pond", client: str = "Alder Row", use: str = "ornamental"
) -> OnePond:
    """A pond and its owner, and another client beside them."""
    owner = writing.add(
        "client", name=client, phone="01632 960111", notes="SECRET-CLIENT pays late"
    )
    site = writing.add(
        "site", client_id=owner, name="garden SECRET-SITE", town="Ashbourne",
        access_hours="Mon-Fri 9-12", access_notes="gate code 4711", elevation_m=120.0,
    )  # fmt: skip
    pond = writing.add(
        "pond", site_id=site, name=name, use=use, species="koi", volume_l=18_400.0,
        volume_low_l=16_000.0, volume_high_l=20_000.0, volume_method="by salt",
        notes="SECRET-POND", stock_notes="SECRET-STOCK", test_every_days=14,
    )  # fmt: skip
    other = writing.add("client", name="Neighbour Teal", phone="01632 960999")
    far = writing.add("site", client_id=other, name="mill")
    return OnePond(owner, pond, writing.add("pond", site_id=far, name="race", use="ornamental"))


def typed(line: str, at: datetime, note: str = "") -> NewTest:
    """A test as it is typed on a line."""
    found = understand(line, kit=KIT, now=at, zone=UTC)
    assert not found.doubts, found.doubts
    return NewTest(at, found.readings, note)


def at(day: date, hour: int = 9, minute: int = 0) -> datetime:
    """An instant of a day, in winter in London."""
    return datetime.combine(day, time(hour, minute), UTC)


def add_day(book: Book, act: Act, *, fish: bool = True) -> OnePond:
    """A pond with some months of tests with a gap, and a visit yesterday."""
    yesterday = TODAY - timedelta(days=1)
    with book.writing(act) as writing:
        keys = one_pond(writing)
        set_practice_head(
            writing, practice=HEAD.practice, telephone=HEAD.telephone, address=HEAD.address,
            email=HEAD.email, foot=HEAD.foot,
        )  # fmt: skip
        site = writing.connection.execute(_site(keys.pond)).scalar_one()
        writing.add(
            "visit", site_id=site, pond_id=keys.pond, on_day=yesterday, staff_id=act.by,
            kind="examination", state="done", note="SECRET-VISIT dog bites",
        )  # fmt: skip
        writing.add(
            "visit", site_id=site, pond_id=keys.pond, on_day=date(2026, 3, 20), at_time=time(11, 15),
            staff_id=act.by, kind="examination", state="planned", note="SECRET-VISIT",
        )  # fmt: skip
        record_event(
            writing, keys.pond, "water_changed", yesterday, amount=5000.0, note="SECRET-EVENT"
        )
        record_estimate(
            writing, keys.pond, method="by salt", litres=18_400.0, low_l=16_000.0,
            high_l=20_000.0, measured_on=date(2026, 1, 5), workings="2 kg of salt raised 0.11 g/L",
        )  # fmt: skip
        if fish:
            record_deaths(
                writing, keys.pond, NewDeaths(yesterday, 2, "koi", note="SECRET-DEAD"), sure=True
            )
            record_examination(writing, keys.pond, _exam(at(yesterday, 10, 30)))
            add_sample(
                writing, keys.pond, label="A1", taken_on=yesterday, material="gill",
                laboratory="Harbour laboratory", asked="SECRET-ASKED", sent_on=yesterday,
            )  # fmt: skip
    for days in (80, 73, 66, 20, 13):
        day = TODAY - timedelta(days=days)
        save_test(book, act, keys.pond, typed("7.5C pH 7.9 TAN 0.1 NO2 <0.05 KH 6 DO 9.1", at(day)))
    save_test(
        book, act, keys.pond,
        typed("19.5C pH 8.9 TAN 1.5 NO2 <0.05 KH 6 DO 8.2", at(yesterday, 7, 40), "SECRET-TEST"),
    )  # fmt: skip
    save_test(book, act, keys.other, typed("9C pH 6.1", at(yesterday)))
    return keys


def _site(pond: UUID) -> Any:
    from sqlalchemy import select

    from store.book.tables import table

    columns = table("pond").c
    return select(columns.site_id).where(columns.id == pond)


def _exam(when: datetime) -> Exam:
    flukes = Found("gill_flukes", counted=23, note="SECRET-FOUND")
    gill = Prep("gill clip", "left", 100, 5, "SECRET-PREP", (flukes,))
    koi = ExamFish(
        1, "koi", "Copper", 42.0, signs=("sunken_eyes",), other="SECRET-FISH",
        photos=("SECRET-PHOTO.jpg",), preparations=(gill,),
    )  # fmt: skip
    well = ExamFish(2, "koi", preparations=(Prep("skin scrape", "", 100, 5),))
    return Exam(when, "routine", "Ada Vet", (koi, well), note="SECRET-EXAM")
