"""Days of follow-ups that are dropped or moved, and follow-ups that end; nothing is lost."""

from __future__ import annotations

from datetime import date

import pytest

from store.book.act import Act
from store.book.book import Book
from store.diary.kept.promised.follow_ups import (
    days_of_follow_up,
    drop_day,
    end_follow_up,
    follow_up,
    follow_ups_of,
    keep_day,
    move_day,
    resume_follow_up,
    strike_follow_up,
    take_back_day,
)
from store.diary.kept.promised.open_days import open_days
from store.errors import BadInput, ChangedMeanwhile, NotAllowed, NotFound
from tests.book.entries import add_pond, log_of
from tests.diary.hand_entries import FIRST, at, named, owner_of, promised


class TestDroppingAndMoving:
    """Both need a reason; a moved day keeps its place in the rule."""

    def test_without_a_reason_nothing_is_changed(self, sqlite_book: Book, act: Act) -> None:
        key = promised(sqlite_book, act, add_pond(sqlite_book, act))
        with sqlite_book.writing(act) as writing:
            for refused in (
                lambda: drop_day(writing, named(key), " "),
                lambda: move_day(writing, named(key), date(2026, 3, 20), ""),
                lambda: end_follow_up(writing, key, 1, ""),
            ):
                with pytest.raises(BadInput) as told:
                    refused()
                assert told.value.field == "why"
        assert days_of_follow_up(sqlite_book, key) == ()

    def test_a_dropped_day_is_not_kept_until_that_is_taken_back(
        self, sqlite_book: Book, act: Act
    ) -> None:
        key = promised(sqlite_book, act, add_pond(sqlite_book, act), repeats="FREQ=WEEKLY")
        with sqlite_book.writing(act) as writing:
            drop_day(writing, named(key), "The owner is away")
        now = at(act, date(2026, 3, 16))
        with (
            pytest.raises(NotAllowed, match=r"dropped: The owner is away\. Take that back"),
            sqlite_book.writing(now) as writing,
        ):
            keep_day(writing, named(key), date(2026, 3, 16))
        with sqlite_book.writing(now) as writing:
            take_back_day(writing, named(key), "They were in after all.")
            keep_day(writing, named(key), date(2026, 3, 16))
        assert [day.state for day in days_of_follow_up(sqlite_book, key)] == ["kept"]

    def test_moved_twice_and_home_again(self, book: Book, act: Act) -> None:
        key = promised(book, act, add_pond(book, act), repeats="FREQ=WEEKLY")
        for to in (date(2026, 3, 18), date(2026, 3, 20)):
            with book.writing(act) as writing:
                row = move_day(writing, named(key), to, f"They asked for {to:%A}.")
        (day,) = days_of_follow_up(book, key)
        assert (day.due_on, day.stands_on) == (FIRST, date(2026, 3, 20))
        assert [line.why for line in log_of(book, row)] == [
            "They asked for Wednesday.", "They asked for Friday.",
        ]  # fmt: skip
        with book.writing(act) as writing:
            move_day(writing, named(key), FIRST, "As it was.")
        assert days_of_follow_up(book, key)[0].moved_to is None
        assert [one.due_on for one in open_days(book, FIRST, FIRST)] == [FIRST]

    def test_days_that_cannot_be_moved_to(self, sqlite_book: Book, act: Act) -> None:
        key = promised(sqlite_book, act, add_pond(sqlite_book, act))
        for to in (date(2026, 3, 13), date(2036, 5, 1), FIRST):
            with pytest.raises(BadInput) as told, sqlite_book.writing(act) as writing:
                move_day(writing, named(key), to, "Asked for.")
            assert told.value.field == "to"

    def test_a_moved_day_that_is_kept_keeps_why_it_was_moved(
        self, sqlite_book: Book, act: Act
    ) -> None:
        key = promised(sqlite_book, act, add_pond(sqlite_book, act), repeats="FREQ=WEEKLY")
        with sqlite_book.writing(act) as writing:
            move_day(writing, named(key), date(2026, 3, 17), "The owner is away.")
        with sqlite_book.writing(at(act, date(2026, 3, 17))) as writing:
            keep_day(writing, named(key), date(2026, 3, 17))
        (day,) = days_of_follow_up(sqlite_book, key)
        assert (day.state, day.moved_to, day.why) == (
            "kept", date(2026, 3, 17), "The owner is away.",
        )  # fmt: skip

    def test_nothing_to_take_back(self, sqlite_book: Book, act: Act) -> None:
        key = promised(sqlite_book, act, add_pond(sqlite_book, act))
        with pytest.raises(NotFound, match="Nothing was entered"), sqlite_book.writing(act) as w:
            take_back_day(w, named(key), "A slip.")


class TestEnding:
    """It ends with a reason, and everything that was written of it stays."""

    def test_ended_and_opened_again(self, book: Book, act: Act) -> None:
        pond = add_pond(book, act)
        key = promised(book, act, pond, repeats="FREQ=WEEKLY")
        client = owner_of(book, pond)
        with book.writing(at(act, date(2026, 3, 16))) as writing:
            keep_day(writing, named(key), date(2026, 3, 16))
            end_follow_up(writing, key, 1, "The pond was sold")
        assert follow_ups_of(book, client) == ()
        (one,) = follow_ups_of(book, client, ended=True)
        assert (one.ended_why, one.ended_on) == ("The pond was sold", date(2026, 3, 16))
        assert len(days_of_follow_up(book, key)) == 1
        assert log_of(book, key)[-1].why == "The pond was sold"
        with book.writing(act) as writing:
            about = named(key, date(2026, 3, 22))
            for refused in (
                lambda: keep_day(writing, about, date(2026, 3, 14)),
                lambda: drop_day(writing, about, "No."),
                lambda: move_day(writing, about, date(2026, 3, 30), "No."),
            ):
                with pytest.raises(NotAllowed, match=r"has ended: The pond was sold\. Nothing"):
                    refused()
            with pytest.raises(NotAllowed, match="ended already on 16 Mar 2026"):
                end_follow_up(writing, key, 2, "Again.")
            with pytest.raises(NotAllowed, match="Open it again first"):
                take_back_day(writing, named(key), "A slip.")
            resume_follow_up(writing, key, 2, "It was not sold.")
            with pytest.raises(NotAllowed, match="has not ended"):
                resume_follow_up(writing, key, 3, "Again.")
        assert follow_up(book, key).state == "open"
        assert [
            one.due_on.day for one in open_days(book, date(2026, 3, 22), date(2026, 3, 22))
        ] == [22]

    def test_one_that_was_all_kept_is_not_opened_again(self, sqlite_book: Book, act: Act) -> None:
        key = promised(sqlite_book, act, add_pond(sqlite_book, act))
        with sqlite_book.writing(at(act, FIRST)) as writing:
            keep_day(writing, named(key), FIRST)
            with pytest.raises(NotAllowed, match="Take one of them back"):
                resume_follow_up(writing, key, 2, "More is wanted.")

    def test_two_people_at_once(self, sqlite_book: Book, act: Act) -> None:
        key = promised(sqlite_book, act, add_pond(sqlite_book, act))
        with sqlite_book.writing(act) as writing:
            writing.change("follow_up", key, 1, note="Ring the bell twice.")
        with pytest.raises(ChangedMeanwhile), sqlite_book.writing(act) as writing:
            end_follow_up(writing, key, 1, "Not wanted.")

    def test_struck_through_it_stays_readable_and_nothing_becomes_of_it(
        self, sqlite_book: Book, act: Act
    ) -> None:
        pond = add_pond(sqlite_book, act)
        key = promised(sqlite_book, act, pond)
        with sqlite_book.writing(act) as writing:
            strike_follow_up(writing, key, 1, "Entered twice.")
        assert follow_up(sqlite_book, key).struck_why == "Entered twice."
        assert follow_ups_of(sqlite_book, owner_of(sqlite_book, pond), ended=True) == ()
        with pytest.raises(NotAllowed, match="struck through"), sqlite_book.writing(act) as writing:
            keep_day(writing, named(key), date(2026, 3, 14))
