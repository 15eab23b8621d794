"""Ponds that want the dawn or the afternoon."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from uuid import UUID

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.opening import open_book
from store.courses.kept.morning import morning_list
from store.rounds.kept.standing.standing import site_standings
from store.rounds.kept.standing.wishes import AFTERNOON_RULES, DAWN_RULES, HourWish, hour_wishes
from store.watch.rulebook import published
from tests.bench.caseload import make_caseload
from tests.book.entries import NOW
from tests.diary.desk_entries import GOOD
from tests.diary.desk_entries import sample as water
from tests.rounds.standing_ponds import DAY, own, rest_all

# --- the hour -------------------------------------------------------------------------------------


LOW_OXYGEN = "12C pH 7.6 TAN 0.05 NO2 0.02 KH 7 DO 4.1 Cl 120"
HIGH_PH = "12C pH 9.3 TAN 0.0 NO2 0.02 KH 7 DO 9.4 Cl 120"
BOTH = "12C pH 9.3 TAN 0.0 NO2 0.02 KH 7 DO 4.1 Cl 120"


def wish(book: Book, site: UUID, now: datetime = NOW) -> HourWish | None:
    """The same with and without the morning list at hand."""
    found = hour_wishes(book, now, [site])
    with_list = hour_wishes(book, now, [site], morning_list(book, now))
    assert {key: one.slot for key, one in found.items()} == {
        key: one.slot for key, one in with_list.items()
    }
    return found.get(site)


@pytest.mark.parametrize(
    ("line", "slot", "part"),
    [
        (LOW_OXYGEN, "dawn", "Read the oxygen at dawn"),
        (HIGH_PH, "afternoon", "Read the pH in the afternoon"),
        (BOTH, "both", "two readings or a logger"),
    ],
)
def test_oxygen_wants_the_dawn_and_ph_the_afternoon(
    book: Book, act: Act, line: str, slot: str, part: str
) -> None:
    site, pond = own(book, act)
    water(book, act, pond, NOW - DAY, line)
    found = wish(book, site)
    assert found is not None
    assert found.slot == slot
    assert part in found.said
    assert "Lower pond: " in found.said


def test_two_ponds_that_want_different_hours(book: Book, act: Act) -> None:
    site, first, second = own(book, act, "Brook House", "First", "Second")
    water(book, act, first, NOW - DAY, LOW_OXYGEN)
    water(book, act, second, NOW - DAY, HIGH_PH)
    found = wish(book, site)
    assert found is not None
    assert found.slot == "both"
    assert {one.partition(":")[0] for one in found.because} == {"First", "Second"}


def test_what_is_well_or_at_rest_wants_nothing(book: Book, act: Act) -> None:
    site, pond = own(book, act)
    water(book, act, pond, NOW - DAY, GOOD)
    assert wish(book, site) is None
    other, low = own(book, act, "Bea Ash")
    water(book, act, low, NOW - DAY, LOW_OXYGEN)
    assert wish(book, other) is not None
    assert site not in hour_wishes(book, NOW, [site, other])
    rest_all(book, act, low)
    assert wish(book, other) is None


def test_many_ponds_want_the_same_hours_as_one(tmp_path: Path) -> None:
    """Rules that look far back read older tests when they are asked."""
    path = tmp_path / "many.pondround"
    make_caseload(path, 36, 20, NOW)
    with open_book(path, now=NOW) as book:
        sites = list(site_standings(book, NOW))
        many = hour_wishes(book, NOW, sites)
        assert many
        alone = (hour_wishes(book, NOW, [site]) for site in sites)
        assert {site: one for each in alone for site, one in each.items()} == many


def test_the_rules_that_want_an_hour_are_rules() -> None:
    assert published().keys() >= DAWN_RULES | AFTERNOON_RULES
    assert not DAWN_RULES & AFTERNOON_RULES
