"""Water tests that plans ask for on the desk, on both databases."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from store.book.act import Act
from store.book.book import Book
from store.diary.desk.about import about_of
from store.diary.desk.due import Promised
from store.diary.kept.due.gather.tests import from_test_plans
from store.diary.kept.due.gather.whereabouts import whereabouts
from store.water.plan import typed_seasons
from store.water.water_tests import strike_test
from tests.book.entries import NOW
from tests.diary.desk_entries import DAY, GOOD, TODAY, own, sample


def due(book: Book, ahead: int = 400, client: Any = None) -> list[Promised]:
    where = whereabouts(book, client)
    return list(from_test_plans(book, where, TODAY, TODAY + ahead * DAY))


def test_the_next_test_counts_from_the_last(book: Book, act: Act) -> None:
    pond = own(book, act, pond={"test_every_days": 14}).pond
    for ago in (40, 20, 60):
        sample(book, act, pond, NOW - ago * DAY, GOOD)
    (one,) = due(book)
    day = date(2026, 3, 8)  # 22 February and 14 days, counted in the calendar
    assert (one.due_on, one.first_on, one.last_on) == (day, day - 2 * DAY, day + 3 * DAY)
    assert (one.kind, one.needs, one.origin) == ("water_test", "call", "test plan")
    assert about_of(one.about).key == pond
    assert one.because == "Test plan: every 14 days. The last test was on 22 Feb 2026."
    assert one.repeats == "every 14 days"


def test_a_pond_without_a_plan_is_no_line(book: Book, act: Act) -> None:
    pond = own(book, act).pond
    sample(book, act, pond, NOW - 90 * DAY, GOOD)
    assert due(book) == []


def test_a_pond_that_was_never_tested_counts_from_its_entry(book: Book, act: Act) -> None:
    own(book, act, pond={"test_every_days": 7})
    (one,) = due(book)
    assert one.due_on == TODAY + 7 * DAY
    assert "entered on 14 Mar 2026 and never tested" in one.because


def test_the_season_of_the_day_says_how_often(book: Book, act: Act) -> None:
    seasons = typed_seasons("1 Nov – 28 Feb every 30 d; Mar – Oct weekly")
    pond = own(book, act, pond={"test_seasons": seasons}).pond
    sample(book, act, pond, datetime(2026, 2, 20, 9, tzinfo=UTC), GOOD)
    (one,) = due(book)
    # A week after 20 February is winter still; on 1 March the spring's week has passed already.
    assert one.due_on == date(2026, 3, 1)
    assert one.repeats == "every 7 days in this season"


def test_a_test_that_was_struck_does_not_count(book: Book, act: Act) -> None:
    pond = own(book, act, pond={"test_every_days": 7}).pond
    sample(book, act, pond, NOW - 10 * DAY, GOOD)
    wrong = sample(book, act, pond, NOW - DAY, GOOD)
    assert due(book)[0].due_on == TODAY + 6 * DAY
    strike_test(book, act, wrong, 1, "another pond")
    assert due(book)[0].due_on == TODAY - 3 * DAY


def test_a_test_late_at_night_belongs_to_the_practices_day(book: Book, act: Act) -> None:
    # 23:30 UTC on the first day of summer time is half past midnight of the next in London.
    pond = own(book, act, pond={"test_every_days": 7}).pond
    at = datetime(2026, 3, 29, 23, 30, tzinfo=UTC)
    sample(book, Act(act.by, at + timedelta(hours=1)), pond, at, GOOD)
    (one,) = due(book)
    assert one.due_on == date(2026, 4, 6)


def test_only_what_begins_within_the_days_asked_for(book: Book, act: Act) -> None:
    pond = own(book, act, pond={"test_every_days": 30}).pond
    sample(book, act, pond, NOW, GOOD)
    assert due(book, ahead=27) == []
    assert len(due(book, ahead=28)) == 1  # two days early it can be made


@pytest.mark.parametrize("part", ["pond", "site", "client"])
def test_nothing_of_what_was_struck(book: Book, act: Act, part: Any) -> None:
    owned = own(book, act, pond={"test_every_days": 7})
    assert due(book)
    key = {"pond": owned.pond, "site": owned.site, "client": owned.client}[part]
    with book.writing(act) as writing:
        writing.strike(part, key, "moved away")
    assert due(book) == []


def test_of_one_client_his_own(book: Book, act: Act) -> None:
    own(book, act, pond={"test_every_days": 7})
    other = own(book, act, "Ferry Cottage", pond={"test_every_days": 7})
    assert [one.pond_id for one in due(book, client=other.client)] == [other.pond]
    assert len(due(book)) == 2
