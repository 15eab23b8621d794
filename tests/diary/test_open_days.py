"""Which days of a promise are open, over many rules at once, and what speaks of those missed."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from dateutil.rrule import rrulestr
from hypothesis import example, given, settings
from hypothesis import strategies as st

from store.book.act import Act
from store.book.book import Book
from store.diary.desk import rule_days
from store.diary.desk.about import about_of
from store.diary.desk.open_of_rule import OpenOfRule, open_of_rule
from store.diary.desk.rule_days import RuleDays
from store.diary.kept.promised.follow_ups import (
    drop_day,
    end_follow_up,
    keep_day,
    move_day,
    promise,
)
from store.diary.kept.promised.open_days import OpenDay, open_days, resting
from store.diary.times.repeats import days_of, repeat_of
from store.errors import BadInput
from tests.book.entries import add_pond, row_of

MARCH = tuple(date(2026, 3, day) for day in (1, 8, 15, 22, 29))
RULES = (
    "FREQ=WEEKLY", "FREQ=DAILY;INTERVAL=10", "FREQ=MONTHLY;BYDAY=1MO", "FREQ=DAILY",
    "FREQ=WEEKLY;INTERVAL=2;BYDAY=TU", "FREQ=WEEKLY;INTERVAL=3;BYDAY=MO,SU;WKST=SU",
    "FREQ=YEARLY;BYMONTH=3,10", "FREQ=YEARLY", "FREQ=MONTHLY", "FREQ=MONTHLY;BYMONTHDAY=31",
    "FREQ=MONTHLY;INTERVAL=2", "FREQ=MONTHLY;INTERVAL=5;BYDAY=-1FR", "FREQ=YEARLY;INTERVAL=2",
    "FREQ=MONTHLY;BYMONTHDAY=-1", "FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-1",
    "FREQ=YEARLY;BYYEARDAY=60,-1", "FREQ=YEARLY;BYDAY=20MO", "FREQ=WEEKLY;COUNT=6",
    "FREQ=MONTHLY;COUNT=4;BYDAY=1MO", "FREQ=WEEKLY;UNTIL=20270301", "FREQ=YEARLY;BYWEEKNO=1,53",
    "FREQ=DAILY;INTERVAL=3;BYDAY=MO,TH", "FREQ=DAILY;INTERVAL=2;BYMONTH=3",
)  # fmt: skip
firsts = st.dates(date(2019, 12, 20), date(2027, 3, 1))


def later(act: Act, day: date, hour: int = 9) -> Act:
    return Act(act.by, datetime(day.year, day.month, day.day, hour, tzinfo=UTC))


def owner_of(book: Book, pond: Any) -> Any:
    return row_of(book, "site", row_of(book, "pond", pond).site_id).client_id


def promised(book: Book, act: Act, pond: Any, **values: Any) -> Any:
    given = {
        "client_id": owner_of(book, pond), "pond_id": pond, "kind": "water_test",
        "says": "Test the water", "first_on": date(2026, 3, 15), "early_days": 0, "late_days": 0,
    }  # fmt: skip
    with book.writing(act) as writing:
        return promise(writing, **(given | values))


def said(found: tuple[OpenDay, ...]) -> list[tuple[str, str]]:
    return [(str(one.due_on), one.says) for one in found]


class TestRuleDays:
    """Shared sequences give what each rule gives by itself."""

    @settings(max_examples=120, deadline=None)
    @given(st.sampled_from(RULES), st.lists(firsts, min_size=1, max_size=6), firsts)
    @example("FREQ=YEARLY", [date(2024, 2, 29), date(2020, 2, 29)], date(2020, 1, 1))
    @example("FREQ=MONTHLY", [date(2026, 1, 31), date(2025, 8, 31)], date(2025, 1, 1))
    @example("FREQ=WEEKLY;INTERVAL=3;BYDAY=MO,SU;WKST=SU", [date(2026, 1, 4)], date(2025, 1, 1))
    def test_the_days_are_those_of_the_rule_alone(
        self, rule: str, begun: list[date], since: date
    ) -> None:
        until = date(2028, 3, 1)
        shared = RuleDays(since, until)
        for first in begun:  # in any order, the same object for all of them
            assert tuple(shared.of(rule, first)) == days_of(rule, first, since, until), first
            try:
                words = repeat_of(rule, first).said
            except BadInput:  # it ends before it begins
                continue
            assert shared.said(rule, first) == words

    @settings(max_examples=100, deadline=None)
    @given(
        st.sampled_from(["FREQ=WEEKLY", "FREQ=DAILY;INTERVAL=10", "FREQ=MONTHLY",
                         "FREQ=MONTHLY;BYMONTHDAY=31", "FREQ=YEARLY;INTERVAL=2"]),
        firsts,
    )  # fmt: skip
    def test_against_python_dateutil(self, rule: str, first: date) -> None:
        start = datetime(first.year, first.month, first.day)  # noqa: DTZ001
        until = datetime(2028, 3, 1)  # noqa: DTZ001
        theirs = {at.date() for at in rrulestr(rule, dtstart=start).between(start, until, inc=True)}
        # RFC 5545, section 3.8.5.3: the first day counts, whether or not the rule gives it.
        assert set(RuleDays(first, until.date()).of(rule, first)) == theirs | {first}

    def test_many_promises_share_few_expansions(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """Thousands of promises must not each pay for an expansion of their own."""
        asked: list[str] = []

        def counted(rule: str, *days: date) -> tuple[date, ...]:
            asked.append(rule)
            return days_of(rule, *days)

        monkeypatch.setattr(rule_days, "days_of", counted)
        shared = RuleDays(date(2020, 1, 1), date(2028, 3, 1))
        for place in range(700):
            first = date(2024, 1, 1) + timedelta(days=place)
            for rule in (
                "",
                "FREQ=MONTHLY;BYDAY=1MO",
                "FREQ=DAILY;INTERVAL=10",
                "FREQ=WEEKLY;COUNT=9",
            ):
                shared.of(rule, first)
                shared.said(rule, first)
        assert len(asked) == 1 + 10 + 7

    def test_once_is_one_day(self) -> None:
        shared = RuleDays(date(2026, 1, 1), date(2026, 12, 31))
        assert list(shared.of("", date(2026, 3, 1))) == [date(2026, 3, 1)]
        assert list(shared.of("", date(2027, 3, 1))) == []
        assert list(shared.of("", date(2025, 3, 1))) == []
        assert shared.said("", date(2026, 3, 1)) == ""

    def test_a_rule_that_is_none_is_refused(self) -> None:
        with pytest.raises(BadInput):
            RuleDays(date(2026, 1, 1), date(2026, 12, 31)).of("FREQ=SOMETIMES", date(2026, 3, 1))


class TestWhichSpeak:
    """Of missed days the oldest speaks; nothing is lost in the count."""

    def test_missed_three_times(self) -> None:
        found = open_of_rule(MARCH, (), {}, date(2026, 3, 17), date(2026, 3, 24))
        assert found == (
            OpenOfRule(MARCH[0], MARCH[0], 2, MARCH[2]), OpenOfRule(MARCH[3], MARCH[3]),
        )  # fmt: skip
        assert found[0].more_said == "and 2 more since"
        assert found[0].passed_said == "2 more days of it came since, the last 15 Mar 2026."

    def test_the_newest_speaks_itself_while_it_can_be_kept_in_time(self) -> None:
        found = open_of_rule(MARCH, (), {}, date(2026, 3, 17), date(2026, 3, 17), late_days=2)
        assert [(one.due_on, one.more_since) for one in found] == [(MARCH[0], 1), (MARCH[2], 0)]
        assert found[0].passed_said == "One more day of it came since, 8 Mar 2026."
        found = open_of_rule(MARCH, (), {}, date(2026, 3, 17), date(2026, 3, 17), late_days=1)
        assert [(one.due_on, one.more_since) for one in found] == [(MARCH[0], 2)]

    def test_one_that_is_due_today_is_not_missed(self) -> None:
        assert open_of_rule(MARCH, MARCH[:2], {}, MARCH[2], MARCH[2]) == (
            OpenOfRule(MARCH[2], MARCH[2]),
        )

    def test_a_moved_day_keeps_its_place(self) -> None:
        moved = {MARCH[1]: date(2026, 3, 19)}
        found = open_of_rule(MARCH, MARCH[:1], moved, date(2026, 3, 16), date(2026, 3, 22))
        assert [(one.rule_day.day, one.due_on.day) for one in found] == [
            (15, 15),
            (8, 19),
            (22, 22),
        ]

    def test_a_day_moved_beyond_what_is_looked_at_is_silent(self) -> None:
        moved = {MARCH[0]: date(2026, 5, 1)}
        assert open_of_rule(MARCH[:1], (), moved, date(2026, 3, 16), date(2026, 3, 22)) == ()

    @settings(max_examples=120, deadline=None)
    @given(
        st.sets(st.dates(date(2026, 1, 1), date(2026, 4, 30)), max_size=30),
        st.sets(st.dates(date(2026, 1, 1), date(2026, 4, 30)), max_size=20),
        st.dictionaries(
            st.dates(date(2026, 1, 1), date(2026, 4, 30)),
            st.dates(date(2026, 1, 1), date(2026, 5, 30)),
            max_size=6,
        ),
        st.dates(date(2026, 1, 15), date(2026, 4, 15)),
        st.integers(0, 30),
        st.integers(0, 20),
    )
    def test_every_open_day_speaks_or_is_counted(
        self,
        days: set[date],
        closed: set[date],
        moved: dict[date, date],
        today: date,
        ahead: int,
        late: int,
    ) -> None:
        until = today + timedelta(days=ahead)
        found = open_of_rule(sorted(days), closed, moved, today, until, late)
        stand = sorted(moved.get(day, day) for day in (days | set(moved)) - closed)
        assert len(found) + sum(one.more_since for one in found) == sum(d <= until for d in stand)
        assert [one.due_on for one in found] == sorted(one.due_on for one in found)
        came = [one for one in found if one.due_on <= today]
        assert len(came) <= 2
        if came:
            assert came[0].due_on == stand[0]
        if came[1:]:
            assert came[1].due_on + timedelta(days=late) >= today
        assert not {one.rule_day for one in found} & closed


class TestInTheBook:
    """What stands in the book speaks, on both databases."""

    def test_three_missed_weeks_are_one_line(self, book: Book, act: Act) -> None:
        pond = add_pond(book, act)
        key = promised(book, act, pond, repeats="FREQ=WEEKLY")
        found = open_days(book, date(2026, 4, 1), date(2026, 4, 8))
        assert said(found) == [
            ("2026-03-15", "Test the water, and 2 more since"), ("2026-04-05", "Test the water"),
        ]  # fmt: skip
        first = found[0]
        assert (first.more_since, first.repeats) == (2, "every week on Sun")
        assert first.because == (
            "Promised by Ada Vet on 14 Mar 2026. 2 more days of it came since, the last "
            "29 Mar 2026."
        )
        about = about_of(first.about)
        assert (about.thing, about.key, about.day) == ("hand", key, date(2026, 3, 15))
        assert (first.client_id, first.pond_id) == (owner_of(book, pond), pond)
        assert first.site_id == row_of(book, "pond", pond).site_id
        assert (first.origin, first.promised_by, first.needs) == ("by hand", "Ada Vet", "call")

    def test_the_window_is_that_of_the_kind_unless_another_was_said(
        self, book: Book, act: Act
    ) -> None:
        pond = add_pond(book, act)
        promised(book, act, pond, early_days=None, late_days=None)
        promised(book, act, pond, kind="seasonal", early_days=3, late_days=None)
        windows = [
            ((one.due_on - one.first_on).days, (one.last_on - one.due_on).days)
            for one in open_days(book, date(2026, 3, 14), date(2026, 3, 15))
        ]
        assert windows == [(2, 3), (3, 14)]  # store/facts/follow_ups.toml

    def test_what_is_kept_in_the_middle_leaves_the_others_open(self, book: Book, act: Act) -> None:
        promised(book, act, add_pond(book, act), repeats="FREQ=WEEKLY")
        now = later(act, date(2026, 4, 1))
        about = open_days(book, date(2026, 3, 22), date(2026, 3, 22))[0].about
        about = about.replace("2026-03-15", "2026-03-22")
        with book.writing(now) as writing:
            keep_day(writing, about, date(2026, 3, 23))
        found = open_days(book, date(2026, 4, 1), date(2026, 4, 8))
        assert [(one.due_on.day, one.more_since) for one in found] == [(15, 1), (5, 0)]

    def test_a_day_moved_out_and_one_moved_in(self, book: Book, act: Act) -> None:
        pond = add_pond(book, act)
        promised(book, act, pond, first_on=date(2026, 3, 16))
        promised(book, act, pond, says="Look at the koi", first_on=date(2026, 6, 1))
        soon, far = open_days(book, date(2026, 3, 14), date(2026, 6, 1))
        with book.writing(act) as writing:
            move_day(writing, soon.about, date(2026, 4, 20), "The owner is away.")
            move_day(writing, far.about, date(2026, 3, 18), "The owner asked for it.")
        (found,) = open_days(book, date(2026, 3, 14), date(2026, 3, 20))
        assert (found.about, found.due_on) == (far.about, date(2026, 3, 18))
        assert found.moved_from == date(2026, 6, 1)
        assert found.because.endswith(
            "Moved from 1 Jun 2026 to 18 Mar 2026: The owner asked for it."
        )

    def test_a_moved_day_that_was_missed_speaks_from_where_it_stands(
        self, book: Book, act: Act
    ) -> None:
        promised(book, act, add_pond(book, act), repeats="FREQ=WEEKLY")
        about = open_days(book, date(2026, 3, 15), date(2026, 3, 15))[0].about
        with book.writing(act) as writing:
            move_day(writing, about, date(2026, 3, 24), "The owner is away.")
        found = open_days(book, date(2026, 3, 25), date(2026, 3, 25))
        assert [(one.due_on.day, one.more_since) for one in found] == [(22, 1)]
        assert open_days(book, date(2026, 3, 21), date(2026, 3, 21)) == ()

    def test_ended_and_struck_promises_are_silent(self, book: Book, act: Act) -> None:
        pond = add_pond(book, act)
        ended, struck = promised(book, act, pond), promised(book, act, pond)
        with book.writing(act) as writing:
            end_follow_up(writing, ended, 1, "The pond was emptied.")
            writing.strike("follow_up", struck, "Entered twice.")
        assert open_days(book, date(2026, 4, 1), date(2026, 4, 1)) == ()

    @pytest.mark.parametrize("name", ["client", "site", "pond"])
    def test_what_was_struck_through_rests_and_comes_back(
        self, book: Book, act: Act, name: Any
    ) -> None:
        pond = add_pond(book, act)
        keys = {
            "pond": pond,
            "site": row_of(book, "pond", pond).site_id,
            "client": owner_of(book, pond),
        }
        promised(book, act, pond)
        today = date(2026, 3, 20)
        assert len(open_days(book, today, today)) == 1
        assert resting(book) == ()
        with book.writing(act) as writing:
            writing.strike(name, keys[name], "They moved away.")
        assert open_days(book, today, today) == ()
        (rests,) = resting(book)
        assert rests.why == f"The {name} was struck through: They moved away."
        with book.writing(act) as writing:
            writing.restore(name, keys[name], "They are back.")
        assert len(open_days(book, today, today)) == 1

    def test_a_promise_to_a_client_without_a_place(self, book: Book, act: Act) -> None:
        client = owner_of(book, add_pond(book, act))
        with book.writing(act) as writing:
            promise(writing, client_id=client, kind="ring", says="Ring", first_on=date(2026, 3, 16))
            # A writing sees what it wrote itself.
            (found,) = open_days(writing.connection, date(2026, 3, 14), date(2026, 3, 21))
        assert (found.site_id, found.pond_id) == (None, None)

    def test_29_february_and_the_31st_leave_out_what_is_not_there(
        self, book: Book, act: Act
    ) -> None:
        """RFC 5545, section 3.3.10: a day that a month does not have is left out."""
        pond = add_pond(book, act)
        promised(book, act, pond, first_on=date(2026, 3, 31), repeats="FREQ=MONTHLY")
        dues = [
            one.due_on for one in open_days(book, date(2026, 3, 14), date(2026, 8, 31))
        ]  # fmt: skip
        assert [str(day) for day in dues] == [
            "2026-03-31",
            "2026-05-31",
            "2026-07-31",
            "2026-08-31",
        ]
        promised(book, act, pond, first_on=date(2028, 2, 29), repeats="FREQ=YEARLY")
        leap = [
            one.due_on for one in open_days(book, date(2028, 2, 1), date(2033, 1, 1))
            if one.repeats.startswith("every year")
        ]  # fmt: skip
        assert [str(day) for day in leap] == ["2028-02-29", "2032-02-29"]

    def test_a_rule_of_a_newer_program_is_not_passed_over(self, book: Book, act: Act) -> None:
        promised(book, act, add_pond(book, act), repeats="FREQ=WEEKLY")
        with book.writing(act) as writing:
            key = about_of(open_days(book, date(2026, 3, 15), date(2026, 3, 15))[0].about).key
            writing.change("follow_up", key, 1, repeats="FREQ=LUNAR")
        (found,) = open_days(book, date(2026, 4, 1), date(2026, 4, 8))
        assert found.due_on == date(2026, 3, 15)
        assert found.repeats == "a rule that cannot be read here: FREQ=LUNAR"

    def test_days_closed_in_any_order_are_all_counted(self, book: Book, act: Act) -> None:
        promised(book, act, add_pond(book, act), repeats="FREQ=DAILY", first_on=date(2026, 3, 14))
        (first,) = open_days(book, date(2026, 3, 14), date(2026, 3, 14))
        for day in (22, 14, 25, 15):
            about = first.about.replace("2026-03-14", f"2026-03-{day}")
            with book.writing(later(act, date(2026, 3, 20))) as writing:
                drop_day(writing, about, "Nobody is there.")
        found = open_days(book, date(2026, 3, 20), date(2026, 3, 26))
        assert [(one.due_on.day, one.more_since) for one in found] == [
            (16, 3), (20, 0), (21, 0), (23, 0), (24, 0), (26, 0),
        ]  # fmt: skip
