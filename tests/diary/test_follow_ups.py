"""Follow-ups by hand: promised, kept, dropped, moved, ended; all of it in the record of changes."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime, time
from threading import Barrier
from typing import Any
from uuid import uuid4

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.visits import close_visit, plan_visit
from store.diary.desk.about import About
from store.diary.kept.promised.follow_ups import (
    days_of_follow_up,
    drop_day,
    follow_up,
    follow_ups_of,
    keep_day,
    missed_before,
    move_day,
    take_back_day,
)
from store.diary.kept.promised.open_days import open_days
from store.errors import BadInput, NotAllowed, NotFound
from tests.book.entries import add_pond, log_of, row_of
from tests.diary.hand_entries import FIRST, at, named, owner_of, promised


class TestPromising:
    """What is promised is kept as it was said, or refused at its field."""

    def test_it_stands_in_the_book_and_in_the_record_of_changes(self, book: Book, act: Act) -> None:
        pond = add_pond(book, act)
        key = promised(book, act, pond, repeats="rrule:freq=weekly", note="Gate code 12.")
        one = follow_up(book, key)
        assert (one.client_id, one.pond_id) == (owner_of(book, pond), pond)
        assert one.site_id == row_of(book, "pond", pond).site_id
        assert (one.promised_by, one.promised_on) == (act.by, date(2026, 3, 14))
        assert (one.repeats, one.state, one.origin) == ("FREQ=WEEKLY", "open", "by hand")
        assert one.window(FIRST) == (date(2026, 3, 13), date(2026, 3, 18))
        (line,) = log_of(book, key)
        assert (line.what, line.after["says"], line.by) == ("add", "Test the water", act.by)

    @pytest.mark.parametrize(
        ("values", "field"),
        [
            ({"says": "  "}, "says"),
            ({"kind": "dose"}, "kind"),
            ({"kind": "nothing"}, "kind"),
            ({"first_on": date(2026, 3, 13)}, "first_on"),
            ({"first_on": date(2062, 3, 13)}, "first_on"),
            ({"early_days": -1}, "early_days"),
            ({"late_days": 367}, "late_days"),
            ({"repeats": "FREQ=HOURLY"}, "repeats"),
            ({"repeats": "now and then"}, "repeats"),
            ({"says": "x" * 2001}, "says"),
        ],
    )
    def test_what_cannot_be_is_told_at_its_field(
        self, sqlite_book: Book, act: Act, values: dict[str, Any], field: str
    ) -> None:
        pond = add_pond(sqlite_book, act)
        with pytest.raises(BadInput) as refused:
            promised(sqlite_book, act, pond, **values)
        assert refused.value.field == field
        assert follow_ups_of(sqlite_book, owner_of(sqlite_book, pond), ended=True) == ()

    def test_today_can_be_promised_by_the_day_of_the_practice(
        self, sqlite_book: Book, act: Act
    ) -> None:
        """At 23:30 UTC of the day on which the clocks went forward it is past midnight here."""
        pond = add_pond(sqlite_book, act)
        night = Act(act.by, datetime(2026, 3, 29, 23, 30, tzinfo=UTC))
        with pytest.raises(BadInput, match="29 Mar 2026 lies behind"):
            promised(sqlite_book, night, pond, first_on=date(2026, 3, 29))
        key = promised(sqlite_book, night, pond, first_on=date(2026, 3, 30))
        assert follow_up(sqlite_book, key).promised_on == date(2026, 3, 30)

    @pytest.mark.parametrize(
        ("zone", "today"),
        [("Pacific/Auckland", date(2026, 3, 15)), ("America/Los_Angeles", date(2026, 3, 14))],
    )
    def test_the_day_is_the_practices_east_and_west(
        self, sqlite_book: Book, act: Act, zone: str, today: date
    ) -> None:
        pond = add_pond(sqlite_book, act)
        with sqlite_book.reading() as connection:
            from sqlalchemy import select

            from store.book.tables import table

            practice = connection.execute(select(table("practice").c.id)).scalar_one()
        with sqlite_book.writing(act) as writing:
            writing.change("practice", practice, 1, time_zone=zone)
        noon = Act(act.by, datetime(2026, 3, 14, 20, tzinfo=UTC))
        key = promised(sqlite_book, noon, pond, first_on=today)
        assert follow_up(sqlite_book, key).promised_on == today

    def test_client_site_and_pond_belong_together(self, sqlite_book: Book, act: Act) -> None:
        pond, other = add_pond(sqlite_book, act), add_pond(sqlite_book, act)
        site = row_of(sqlite_book, "pond", other).site_id
        for values, field in (
            ({"client_id": owner_of(sqlite_book, other)}, "pond_id"),
            ({"site_id": site}, "pond_id"),
            ({"pond_id": None, "site_id": site}, "site_id"),
        ):
            with pytest.raises(BadInput) as refused:
                promised(sqlite_book, act, pond, **values)
            assert refused.value.field == field

    @pytest.mark.parametrize("name", ["client", "site", "pond"])
    def test_nothing_is_promised_for_what_was_struck_through(
        self, sqlite_book: Book, act: Act, name: Any
    ) -> None:
        pond = add_pond(sqlite_book, act)
        keys = {
            "pond": pond,
            "site": row_of(sqlite_book, "pond", pond).site_id,
            "client": owner_of(sqlite_book, pond),
        }
        with sqlite_book.writing(act) as writing:
            writing.strike(name, keys[name], "They moved away.")
        with pytest.raises(NotFound, match=name):
            promised(sqlite_book, act, pond)

    @pytest.mark.parametrize(
        "values",
        [{"promised_by": uuid4()}, {"course_id": uuid4()}, {"call_note_id": uuid4()},
         {"client_id": uuid4()}, {"pond_id": uuid4()}],
    )  # fmt: skip
    def test_keys_of_nothing_are_told(
        self, sqlite_book: Book, act: Act, values: dict[str, Any]
    ) -> None:
        with pytest.raises(NotFound):
            promised(sqlite_book, act, add_pond(sqlite_book, act), **values)

    def test_another_origin_may_promise_what_nobody_promises_by_hand(
        self, sqlite_book: Book, act: Act
    ) -> None:
        pond = add_pond(sqlite_book, act)
        key = promised(sqlite_book, act, pond, kind="concern", origin="alert rule", rule="no_air")
        assert (follow_up(sqlite_book, key).rule, follow_up(sqlite_book, key).origin) == (
            "no_air", "alert rule",
        )  # fmt: skip


class TestKeeping:
    """A day is kept once, never ahead, and what was missed before is dropped only when asked."""

    def test_kept_on_its_day_and_in_the_record_of_changes(self, book: Book, act: Act) -> None:
        key = promised(book, act, add_pond(book, act), repeats="FREQ=WEEKLY")
        with book.writing(at(act, date(2026, 3, 16))) as writing:
            row = keep_day(writing, named(key), date(2026, 3, 16), why="By telephone.")
        (day,) = days_of_follow_up(book, key)
        assert (day.id, day.state, day.kept_on) == (row, "kept", date(2026, 3, 16))
        (line,) = log_of(book, row)
        assert (line.what, line.why, line.after["state"]) == ("add", "By telephone.", "kept")
        assert follow_up(book, key).state == "open"

    def test_not_ahead_not_before_it_was_promised_not_twice(self, book: Book, act: Act) -> None:
        key = promised(book, act, add_pond(book, act), repeats="FREQ=WEEKLY")
        now = at(act, date(2026, 3, 16))
        for on, words in ((date(2026, 3, 17), "lies ahead"), (date(2026, 3, 13), "was promised")):
            with pytest.raises(BadInput, match=words) as refused, book.writing(now) as writing:
                keep_day(writing, named(key), on)
            assert refused.value.field == "on_day"
        assert days_of_follow_up(book, key) == ()
        with book.writing(now) as writing:
            keep_day(writing, named(key), date(2026, 3, 15))
        with (
            pytest.raises(NotAllowed, match="kept already on 15 Mar 2026"),
            book.writing(now) as writing,
        ):
            keep_day(writing, named(key), date(2026, 3, 16))
        assert [day.kept_on for day in days_of_follow_up(book, key)] == [date(2026, 3, 15)]

    def test_a_day_ahead_can_be_kept_before_it_comes(self, sqlite_book: Book, act: Act) -> None:
        key = promised(sqlite_book, act, add_pond(sqlite_book, act), repeats="FREQ=WEEKLY")
        with sqlite_book.writing(act) as writing:
            keep_day(writing, named(key, date(2026, 3, 22)), date(2026, 3, 14))
        dues = [one.due_on.day for one in open_days(sqlite_book, FIRST, date(2026, 3, 29))]
        assert dues == [15, 29]

    def test_only_days_of_the_rule(self, sqlite_book: Book, act: Act) -> None:
        key = promised(sqlite_book, act, add_pond(sqlite_book, act), repeats="FREQ=WEEKLY")
        with (
            pytest.raises(NotFound, match="no day on 16 Mar 2026"),
            sqlite_book.writing(at(act, date(2026, 3, 20))) as writing,
        ):
            keep_day(writing, named(key, date(2026, 3, 16)), date(2026, 3, 16))
        for about in (str(About("test", key)), str(About("dose", key))):
            with pytest.raises(BadInput, match="by hand"), sqlite_book.writing(act) as writing:
                keep_day(writing, about, date(2026, 3, 14))
        with pytest.raises(NotFound), sqlite_book.writing(act) as writing:
            keep_day(writing, named(uuid4()), date(2026, 3, 14))

    def test_the_last_day_ends_the_promise_and_taking_it_back_opens_it(
        self, book: Book, act: Act
    ) -> None:
        pond = add_pond(book, act)
        once = promised(book, act, pond)
        twice = promised(book, act, pond, repeats="FREQ=WEEKLY;COUNT=2")
        now = at(act, date(2026, 3, 23))
        with book.writing(now) as writing:
            keep_day(writing, named(once), date(2026, 3, 23))
            keep_day(writing, named(twice, date(2026, 3, 22)), date(2026, 3, 23))
        assert follow_up(book, once).state == "ended"
        assert follow_up(book, once).ended_on == date(2026, 3, 23)
        assert follow_up(book, twice).state == "open"
        with book.writing(now) as writing:
            drop_day(writing, named(twice), "Nobody was in.")
        assert follow_up(book, twice).ended_why == "Every day of it was kept or dropped."
        with book.writing(now) as writing:
            take_back_day(writing, named(twice), "It was the other pond.")
        assert follow_up(book, twice).state == "open"
        (found,) = open_days(book, date(2026, 3, 23), date(2026, 3, 30))
        assert found.about == named(twice)
        states = [(day.state, day.struck_at is None) for day in
                  days_of_follow_up(book, twice, struck=True)]  # fmt: skip
        assert states == [("dropped", False), ("kept", True)]
        assert [line.what for line in log_of(book, twice)] == ["add", "change", "change"]

    def test_missed_days_before_are_named_and_dropped_only_when_asked(
        self, book: Book, act: Act
    ) -> None:
        pond = add_pond(book, act)
        now = at(act, date(2026, 4, 5))
        kept, dropped = (
            promised(book, act, pond, repeats="FREQ=WEEKLY", first_on=FIRST) for _ in range(2)
        )
        last = date(2026, 4, 5)
        missed = missed_before(book, named(kept, last), last)
        assert [one.rule_day.day for one in missed] == [15, 22, 29]
        with book.writing(now) as writing:
            keep_day(writing, named(kept, last), last)
            drop_day(writing, named(dropped, last), "The pond is frozen.", and_before=True)
        assert [one.more_since for one in open_days(book, last, last)] == [2]
        assert [day.state for day in days_of_follow_up(book, kept)] == ["kept"]
        days = days_of_follow_up(book, dropped)
        assert [day.state for day in days] == ["dropped"] * 4
        assert days[0].why == (
            "Not kept; dropped when the day of 5 Apr 2026 was dropped. The pond is frozen."
        )
        assert log_of(book, days[0].id)[0].why == days[0].why

    def test_keeping_one_can_drop_those_before_and_never_those_after(
        self, book: Book, act: Act
    ) -> None:
        key = promised(book, act, add_pond(book, act), repeats="FREQ=WEEKLY")
        with book.writing(at(act, date(2026, 4, 5))) as writing:
            keep_day(writing, named(key, date(2026, 3, 22)), date(2026, 4, 5), and_before=True)
        assert [(day.due_on.day, day.state) for day in days_of_follow_up(book, key)] == [
            (15, "dropped"), (22, "kept"),
        ]  # fmt: skip
        found = open_days(book, date(2026, 4, 5), date(2026, 4, 5))
        assert [(one.due_on, one.more_since) for one in found] == [
            (date(2026, 3, 29), 0), (date(2026, 4, 5), 0),
        ]  # fmt: skip

    def test_a_day_that_was_moved_behind_it_is_not_dropped_with_it(
        self, sqlite_book: Book, act: Act
    ) -> None:
        key = promised(sqlite_book, act, add_pond(sqlite_book, act), repeats="FREQ=WEEKLY")
        with sqlite_book.writing(act) as writing:
            move_day(writing, named(key), date(2026, 4, 20), "The owner is away.")
        about = named(key, date(2026, 3, 29))
        missed = missed_before(sqlite_book, about, date(2026, 3, 30))
        assert [one.rule_day for one in missed] == [date(2026, 3, 22)]

    def test_the_visit_that_kept_it(self, sqlite_book: Book, act: Act) -> None:
        pond, other = add_pond(sqlite_book, act), add_pond(sqlite_book, act)
        key = promised(sqlite_book, act, pond, repeats="FREQ=WEEKLY")
        with sqlite_book.writing(act) as writing:
            good, off, elsewhere = (
                plan_visit(writing, place, date(2026, 3, 14), at_time=time(9))
                for place in (pond, pond, other)
            )
            close_visit(writing, off, 1, "cancelled", why="Snow.")
        for visit, words in ((off, "cancelled"), (elsewhere, "of this client"), (uuid4(), "visit")):
            with pytest.raises(BadInput, match=words), sqlite_book.writing(act) as writing:
                keep_day(writing, named(key), date(2026, 3, 14), visit_id=visit)
        with sqlite_book.writing(act) as writing:
            keep_day(writing, named(key), date(2026, 3, 14), visit_id=good)
        assert days_of_follow_up(sqlite_book, key)[0].visit_id == good


def test_two_people_who_keep_the_same_day_at_once(book: Book, act: Act) -> None:
    """One of them is told; the day is kept once."""
    key = promised(book, act, add_pond(book, act), repeats="FREQ=WEEKLY")
    both = Barrier(2)

    def keep(_person: int) -> str:
        both.wait()
        try:
            with book.writing(at(act, FIRST)) as writing:
                keep_day(writing, named(key), FIRST)
        except NotAllowed as told:
            return told.message
        return "kept"

    with ThreadPoolExecutor(2) as people:
        answers = sorted(people.map(keep, range(2)))
    assert answers == ["This day was kept already on 15 Mar 2026; it was left as it is.", "kept"]
    assert len(days_of_follow_up(book, key)) == 1
