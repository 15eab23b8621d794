"""A pond with a spring behind it, for the screens that show one pond."""

from __future__ import annotations

from datetime import date, timedelta
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.book.events import record_event
from store.book.visits import plan_visit
from store.book.volumes import record_estimate
from store.water.line import understand
from store.water.understood import KitForms
from store.water.water_tests import NewTest, save_test

KIT = KitForms("n", "no2", "no3")


def add_one_pond(
    book: Book, act: Act, *, client: str = "Alder Row", pond: str = "lower pond", note: str = ""
) -> UUID:
    """A pond whose water warms up and whose ammonia climbs, with two volumes that disagree."""
    today = book.today(act.at)
    with book.writing(act) as writing:
        owner = writing.add("client", name=client)
        site = writing.add("site", client_id=owner, name="garden", town="Ashbourne Green")
        key = writing.add(
            "pond", site_id=site, name=pond, use="ornamental", species="31 koi, 42 kg",
            test_every_days=7,
        )  # fmt: skip
        record_estimate(
            writing, key, method="salt", litres=18_400.0, low_l=16_200.0, high_l=20_600.0,
            measured_on=today - timedelta(days=40), pond_rev=1,
        )  # fmt: skip
        record_estimate(
            writing, key, method="stated", litres=23_000.0, low_l=16_100.0, high_l=29_900.0,
            measured_on=today - timedelta(days=400),
        )  # fmt: skip
        record_event(writing, key, "water_changed", today - timedelta(days=30), amount=2000.0)
        record_event(
            writing, key, "hazard_seen", today - timedelta(days=12), hazard="costia", note=note
        )
        plan_visit(writing, key, today + timedelta(days=5), staff_id=act.by, kind="scrape")
    for week in range(13, -1, -1):
        warm, tan = 6.0 + 0.9 * (13 - week), max(0.05, 1.5 - 0.25 * week)
        line = (
            f"{warm:.1f}C pH {7.4 + 0.06 * (13 - week):.1f} TAN {tan:.2f} NO2 0.10 KH 6 "
            f"DO {11.5 - 0.2 * (13 - week):.1f}"
        )
        taken = act.at - timedelta(days=7 * week, minutes=20)
        read = understand(line, kit=KIT, now=act.at, zone=book.zone)
        assert not read.doubts, read.doubts
        save_test(book, act, key, NewTest(taken, read.readings, note=note, way="line"))
    return key


TODAY = date(2026, 3, 14)
