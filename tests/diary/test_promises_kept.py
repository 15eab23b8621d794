"""How many promises were kept on time: the arithmetic, and every table in which one stands."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.keeping import end_course
from store.courses.kept.records import course
from store.diary.desk.about import About
from store.diary.desk.kept_on_time import (
    FEW,
    Judged,
    KindKept,
    PromisesKept,
    Record,
    Stood,
    Tally,
    judged,
    months_until,
    promises_tallied,
)
from store.diary.kept.promised.attempts import log_attempt
from store.diary.kept.promised.follow_ups import (
    drop_day,
    end_follow_up,
    keep_day,
    move_day,
    promise,
)
from store.diary.kept.score.promises_kept import promises_kept
from store.diary.kept.score.water_tests_kept import PlanFrom, asked_tests
from store.errors import BadInput
from store.exams.specimens import add_sample, report_result, send_sample
from store.facts.follow_ups import follow_up_kinds
from tests.book.entries import row_of
from tests.courses.treated_ponds import add_carp_pond, give, treat

DUE = date(2026, 3, 9)
DAY = timedelta(days=1)
KINDS = follow_up_kinds()


def stood(*pairs: tuple[int, int]) -> tuple[Stood, ...]:
    """Days of March: since, for."""
    return tuple(Stood(date(2026, 3, since), date(2026, 3, due)) for since, due in pairs)


def at(act: Act, day: date, hour: int = 9) -> Act:
    return Act(act.by, datetime(day.year, day.month, day.day, hour, tzinfo=UTC))


def owner_of(book: Book, pond: Any) -> Any:
    return row_of(book, "site", row_of(book, "pond", pond).site_id).client_id


def of_kind(found: PromisesKept, kind: str) -> KindKept:
    return next(one for one in found.kinds if one.kind == kind)


def counts(tally: Tally) -> tuple[int, int, int, int, int]:
    """On time, late, not kept, called off, open."""
    return tally.on_time, tally.late, tally.not_kept, tally.called_off, tally.open


class TestJudging:
    """On time is up to the last day of the window; what slipped first was late."""

    @pytest.mark.parametrize(
        ("kept", "verdict", "late"),
        [(1, "on time", 0), (9, "on time", 0), (11, "on time", 0), (12, "late", 1),
         (20, "late", 9)],
    )  # fmt: skip
    def test_the_window_includes_its_last_day(self, kept: int, verdict: Any, late: int) -> None:
        one = Record("ring", stood((1, 9)), 2, kept_on=date(2026, 3, kept))
        assert judged(one, date(2026, 3, 31)) == Judged("ring", DUE, verdict, late)

    @pytest.mark.parametrize(("today", "verdict"), [(9, "open"), (11, "open"), (12, "not kept")])
    def test_open_until_its_window_ends(self, today: int, verdict: Any) -> None:
        assert judged(Record("ring", stood((1, 9)), 2), date(2026, 3, today)).verdict == verdict

    @pytest.mark.parametrize(("closed", "verdict"), [(11, "called off"), (12, "not kept")])
    def test_called_off_only_before_it_was_late(self, closed: int, verdict: Any) -> None:
        one = Record("ring", stood((1, 9)), 2, closed_on=date(2026, 3, closed))
        assert judged(one, date(2026, 3, 31)).verdict == verdict

    def test_moved_within_its_window_it_is_judged_by_the_new_day(self) -> None:
        one = Record("ring", stood((1, 9), (11, 20)), 2, kept_on=date(2026, 3, 22))
        assert judged(one, date(2026, 3, 31)) == Judged("ring", date(2026, 3, 20), "on time")

    def test_moved_after_its_window_it_was_late_already(self) -> None:
        one = Record("ring", stood((1, 9), (12, 20)), 2, kept_on=date(2026, 3, 20))
        assert judged(one, date(2026, 3, 31)) == Judged("ring", DUE, "late", 9)
        open_one = Record("ring", stood((1, 9), (12, 20)), 2)
        assert judged(open_one, date(2026, 3, 15)).verdict == "not kept"

    def test_the_first_day_that_slipped_counts(self) -> None:
        one = Record("ring", stood((1, 5), (4, 9), (12, 20), (25, 28)), 1)
        assert judged(one, date(2026, 3, 31)).due_on == DUE

    @given(
        st.integers(0, 20),
        st.lists(st.tuples(st.integers(0, 60), st.integers(0, 60)), min_size=1, max_size=4),
        st.integers(0, 80),
    )
    def test_kept_sooner_is_never_worse(
        self, late: int, moves: list[tuple[int, int]], kept: int
    ) -> None:
        days = tuple(
            Stood(DUE + since * DAY, DUE + due * DAY) for since, due in sorted(moves)
        )  # fmt: skip
        today = DUE + 100 * DAY
        worse, better = (
            judged(Record("ring", days, late, kept_on=DUE + (kept - less) * DAY), today)
            for less in (0, 1)
        )
        assert better.late_by_days <= worse.late_by_days
        assert (worse.verdict, better.verdict) != ("on time", "late")


class TestTallying:
    """Shares with count and interval; few cases say so."""

    @given(st.integers(0, 200), st.integers(0, 100), st.integers(0, 100))
    def test_the_interval_is_wilsons(self, on_time: int, late: int, missed: int) -> None:
        tally = Tally(on_time, late, missed, called_off=7, open=3)
        total = on_time + late + missed
        assert tally.counted == total
        if not total:
            assert (tally.share, tally.interval) == (None, None)
            return
        theirs = binomtest(on_time, total).proportion_ci(0.95, "wilson")
        assert tally.interval is not None
        assert tally.interval.low == pytest.approx(theirs.low, abs=1e-9)
        assert tally.interval.high == pytest.approx(theirs.high, abs=1e-9)

    def test_a_printed_interval(self) -> None:
        """Newcombe 1998, Stat. Med. 17:857-872, Table I, method 3: 81 of 263 is 0.2553 to 0.3662.

        The same row stands in `tests/outside/data/prevalence_intervals.csv`.
        """
        limits = Tally(on_time=81, late=100, not_kept=82).interval
        assert limits is not None
        assert (round(limits.low, 4), round(limits.high, 4)) == (0.2553, 0.3662)

    def test_said_with_its_count(self) -> None:
        assert Tally(18, 2).said == "18 of 20 on time, 90 % (95 % interval 69.9 to 97.2 %)."
        assert Tally(2, 1).said.endswith("So few say little.")
        assert Tally(FEW).few is False
        assert Tally(FEW - 1).few is True
        assert Tally(open=2).said == "Nothing to count yet. 2 still open."
        assert Tally(1, 2, 3, 4, 5).beside == "2 late, 3 not kept, 4 called off, 5 still open"

    def test_months_over_the_turn_of_a_year(self) -> None:
        assert [str(one) for one in months_until(date(2028, 2, 29), 4)] == [
            "2027-11", "2027-12", "2028-01", "2028-02",
        ]  # fmt: skip

    def test_by_kind_and_month_and_all_together(self) -> None:
        records = [
            Record("ring", stood((1, 9)), 2, kept_on=DUE),
            Record("ring", stood((1, 9)), 2, kept_on=DUE + 7 * DAY),
            Record("ring", stood((1, 9)), 2, kept_on=DUE + 3 * DAY),
            Record("dose", (Stood(date(2026, 2, 1), date(2026, 2, 28)),), 1),
            Record("dose", (Stood(date(2025, 2, 1), date(2025, 2, 28)),), 1),
        ]
        found = promises_tallied(records, date(2026, 3, 31), 2, KINDS)
        assert [one.kind for one in found.kinds] == ["ring", "dose"]
        ring, dose = found.kinds
        assert [counts(month) for month in ring.months] == [(0,) * 5, (1, 2, 0, 0, 0)]
        assert [counts(month) for month in dose.months] == [(0, 0, 1, 0, 0), (0,) * 5]
        assert counts(found.whole) == (1, 2, 1, 0, 0)
        assert [month.counted for month in found.by_month] == [1, 3]
        assert (ring.late_by_days, dose.late_by_days) == (3.0, None)
        assert ring.window_said == "up to 2 days after its day"

    def test_windows_that_differ_are_said_so(self) -> None:
        records = [Record("ring", stood((1, 9)), late) for late in (0, 3)]
        (one,) = promises_tallied(records, date(2026, 3, 31), 1, KINDS).kinds
        assert one.late_days is None
        assert one.window_said == "up to the end of the window that was promised"


class TestWaterTests:
    """The plan asks for a test so many days after the last; a window of 2 before to 3 after."""

    def records(self, plans: list[PlanFrom], *taken: int, today: int = 31) -> list[Record]:
        days = [date(2026, 3, day) for day in taken]
        return list(asked_tests(plans, days, date(2026, 3, 1), date(2026, 3, today)))

    def test_each_test_makes_the_next_one_due(self) -> None:
        weekly = [PlanFrom(date(2026, 3, 1), 7, ())]
        found = [judged(one, date(2026, 3, 31)) for one in self.records(weekly, 1, 8, 18, 25)]
        assert [(one.due_on.day, one.verdict) for one in found] == [
            (8, "on time"), (15, "on time"), (25, "on time"), (1, "open"),
        ]  # fmt: skip
        late = [judged(one, date(2026, 3, 31)) for one in self.records(weekly, 1, 12)]
        assert [(one.verdict, one.late_by_days) for one in late] == [("late", 1), ("not kept", 0)]

    def test_tests_taken_every_day_keep_nothing(self) -> None:
        weekly = [PlanFrom(date(2026, 3, 1), 7, ())]
        (last,) = self.records(weekly, *range(1, 21))
        assert (last.kept_on, last.stood[0].due_on) == (None, date(2026, 3, 27))

    def test_a_pond_that_was_never_tested_counts_from_its_entry(self) -> None:
        (one,) = self.records([PlanFrom(date(2026, 3, 1), 7, ())])
        assert judged(one, date(2026, 3, 31)) == Judged("water_test", date(2026, 3, 8), "not kept")

    def test_a_plan_that_was_changed_in_time_is_judged_by_the_new_one(self) -> None:
        plans = [PlanFrom(date(2026, 3, 1), 7, ()), PlanFrom(date(2026, 3, 6), 14, ())]
        (first, _open) = self.records(plans, 1, 16)
        assert judged(first, date(2026, 3, 31)).verdict == "on time"
        (slipped, _open) = self.records([plans[0], PlanFrom(date(2026, 3, 12), 14, ())], 1, 16)
        assert judged(slipped, date(2026, 3, 31)) == Judged(
            "water_test", date(2026, 3, 8), "late", 5
        )

    def test_a_plan_that_was_taken_away_asks_for_nothing(self) -> None:
        plans = [PlanFrom(date(2026, 3, 1), 7, ()), PlanFrom(date(2026, 3, 6), None, ())]
        (one,) = self.records(plans, 1)
        assert judged(one, date(2026, 3, 31)).verdict == "called off"
        assert self.records([PlanFrom(date(2026, 3, 20), 7, ())], 1, 5) == [
            Record("water_test", (Stood(date(2026, 3, 20), date(2026, 3, 20)),), 3)
        ]


class TestInTheBook:
    """Each table in which a promise stands, on both databases."""

    def test_days_of_follow_ups(self, book: Book, act: Act) -> None:
        pond = add_carp_pond(book, act)
        with book.writing(act) as writing:
            key, other = (
                promise(
                    writing, client_id=owner_of(book, pond), pond_id=pond, kind="visit", says="Go",
                    first_on=date(2026, 3, 15), early_days=0, late_days=2, repeats="FREQ=WEEKLY",
                )
                for _ in range(2)
            )  # fmt: skip

        def about(day: date, of: Any = key) -> str:
            return str(About("hand", of, day=day))

        def write(day: date, change: Any, *args: Any) -> None:
            with book.writing(at(act, day)) as writing:
                change(writing, *args)

        write(date(2026, 3, 17), keep_day, about(date(2026, 3, 15)), date(2026, 3, 17))  # on time
        write(date(2026, 3, 30), keep_day, about(date(2026, 3, 22)), date(2026, 3, 30))  # late
        write(date(2026, 3, 31), move_day, about(date(2026, 3, 29)), date(2026, 4, 3), "Away.")
        write(date(2026, 4, 5), keep_day, about(date(2026, 3, 29)), date(2026, 4, 5))  # on time
        write(date(2026, 4, 8), move_day, about(date(2026, 4, 5)), date(2026, 4, 20), "Away.")
        write(date(2026, 4, 20), keep_day, about(date(2026, 4, 5)), date(2026, 4, 20))  # slipped
        write(date(2026, 4, 10), drop_day, about(date(2026, 4, 12)), "Frozen.")  # called off
        write(date(2026, 4, 25), drop_day, about(date(2026, 4, 19)), "Nobody rang.")  # not kept
        write(date(2026, 3, 20), end_follow_up, other, 1, "Sold.")  # one missed, one called off
        found = promises_kept(book, datetime(2026, 4, 27, 12, tzinfo=UTC), months=2)
        visits = of_kind(found, "visit")
        # The day of 26 April is open: its window runs to the 28th.
        assert [counts(month) for month in visits.months] == [(1, 1, 1, 0, 0), (1, 1, 1, 1, 1)]
        assert visits.late_days == 2
        assert found.by_month == visits.months
        # Late by 6 days (24 to 30 March) and by 13 (7 to 20 April).
        assert visits.late_by_days == 9.5

    def test_a_follow_up_that_ended_before_its_window_is_not_counted(
        self, sqlite_book: Book, act: Act
    ) -> None:
        pond = add_carp_pond(sqlite_book, act)
        with sqlite_book.writing(act) as writing:
            key = promise(
                writing, client_id=owner_of(sqlite_book, pond), kind="visit", says="Go",
                first_on=date(2026, 3, 25), early_days=1, late_days=2,
            )  # fmt: skip
            end_follow_up(writing, key, 1, "Sold.")
        found = promises_kept(sqlite_book, datetime(2026, 3, 30, 12, tzinfo=UTC))
        assert found.kinds == ()

    def test_doses_by_the_day_that_stood_in_the_plan(self, book: Book, act: Act) -> None:
        pond = add_carp_pond(book, act)
        days = [date(2026, 3, day) for day in (1, 8, 15, 22)]
        key = treat(book, act, pond, "potassium_permanganate", days, given=0)
        ids = course(book, key).dose_ids
        give(book, act, ids[1, 1], date(2026, 3, 2))  # a day after: within its window
        give(book, act, ids[1, 2], date(2026, 3, 11))  # two days beyond
        with book.writing(at(act, date(2026, 3, 20))) as writing:
            writing.change(
                "course_dose", ids[1, 3], row_of(book, "course_dose", ids[1, 3]).rev,
                "Planned anew.", due_on=date(2026, 3, 20),
            )  # fmt: skip
        give(book, act, ids[1, 3], date(2026, 3, 20))  # on its new day, but the 15th had passed
        doses = of_kind(promises_kept(book, datetime(2026, 3, 22, 12, tzinfo=UTC), 1), "dose")
        assert counts(doses.whole) == (1, 2, 0, 0, 1)
        assert doses.late_by_days == 3.0  # 2 d and 4 d
        with book.writing(at(act, date(2026, 3, 22))) as writing:
            end_course(
                writing, key, row_of(book, "course", key).rev, "stopped", "The fish were sold."
            )
        doses = of_kind(promises_kept(book, datetime(2026, 4, 22, 12, tzinfo=UTC), 2), "dose")
        assert counts(doses.whole) == (1, 2, 0, 1, 0)

    def test_samples_and_their_results(self, book: Book, act: Act) -> None:
        pond = add_carp_pond(book, act)
        taken = date(2026, 3, 2)
        with book.writing(act) as writing:
            key = add_sample(writing, pond, label="A1", taken_on=taken, sent_on=taken)
            add_sample(writing, pond, label="A2", taken_on=taken)
        with book.writing(at(act, date(2026, 3, 20))) as writing:
            again = report_result(writing, key, 1, "detected", date(2026, 3, 20))
        with book.writing(at(act, date(2026, 3, 21))) as writing:
            rev = row_of(book, "lab_sample", again).rev
            report_result(writing, again, rev, "not detected", date(2026, 3, 21))
        found = of_kind(promises_kept(book, datetime(2026, 3, 22, 12, tzinfo=UTC), 1), "laboratory")
        # Sent in time, its result 2 days after the window; the other was never sent.
        assert counts(found.whole) == (1, 1, 1, 0, 0)
        with book.writing(at(act, date(2026, 3, 22))) as writing:
            send_sample(writing, key=_only(book, "A2"), rev=1, sent_on=date(2026, 3, 22))

    def test_calls_that_were_to_be_made_again(self, book: Book, act: Act) -> None:
        client = owner_of(book, add_carp_pond(book, act))

        def call(day: date, hour: int, outcome: Any, ring_on: date | None = None) -> None:
            with book.writing(at(act, day, hour)) as writing:
                log_attempt(writing, client, outcome, ring_on=ring_on)

        call(date(2026, 3, 16), 9, "ring back", date(2026, 3, 17))
        call(date(2026, 3, 17), 9, "no answer", date(2026, 3, 18))  # on time
        # 23:30 UTC is still the same day in winter, and already the next one in summer.
        call(date(2026, 3, 19), 9, "ring back", date(2026, 3, 30))  # a day late
        call(date(2026, 3, 30), 23, "reached")  # 31 March, 00:00 in London: a day late
        found = of_kind(promises_kept(book, datetime(2026, 4, 2, 12, tzinfo=UTC), 2), "ring_back")
        assert counts(found.whole) == (1, 2, 0, 0, 0)

    def test_water_tests_by_the_plan_and_its_changes(self, book: Book, act: Act) -> None:
        pond = add_carp_pond(book, act)
        with book.writing(act) as writing:
            writing.change("pond", pond, 1, test_every_days=7)
        for day in (15, 22, 29):
            with book.writing(at(act, date(2026, 3, day))) as writing:
                writing.add(
                    "water_test", pond_id=pond, taken_at=writing.act.at, way="form"
                )  # fmt: skip
        found = of_kind(promises_kept(book, datetime(2026, 4, 2, 12, tzinfo=UTC), 2), "water_test")
        # From the entry on 14 March: the 15th is too soon to count; 22 and 29 March; 5 April ahead.
        assert counts(found.whole) == (2, 0, 0, 0, 1)
        with book.writing(act) as writing:
            writing.strike("pond", pond, "Filled in.")
        assert promises_kept(book, datetime(2026, 4, 2, 12, tzinfo=UTC), 2).kinds == ()

    def test_months_are_those_of_the_practice(self, sqlite_book: Book, act: Act) -> None:
        """At 23:30 UTC on the last of June it is July in London."""
        found = promises_kept(sqlite_book, datetime(2026, 6, 30, 23, 30, tzinfo=UTC), 2)
        assert [str(month) for month in found.months] == ["2026-06", "2026-07"]
        assert found.today == date(2026, 7, 1)

    @pytest.mark.parametrize("months", [0, 61, True])
    def test_months_out_of_bounds(self, sqlite_book: Book, months: int) -> None:
        with pytest.raises(BadInput):
            promises_kept(sqlite_book, datetime(2026, 6, 30, 12, tzinfo=UTC), months)

    def test_an_empty_book_has_nothing_to_count(self, sqlite_book: Book) -> None:
        found = promises_kept(sqlite_book, datetime(2026, 6, 30, 12, tzinfo=UTC))
        assert found.kinds == ()
        assert found.whole.said == "Nothing to count yet."
        assert len(found.by_month) == 12


def _only(book: Book, label: str) -> Any:
    from sqlalchemy import select

    from store.book.tables import table

    samples = table("lab_sample")
    with book.reading() as connection:
        return connection.execute(select(samples.c.id).where(samples.c.label == label)).scalar_one()


def test_control_examinations_wait_for_their_day(sqlite_book: Book, act: Act) -> None:
    pond = add_carp_pond(sqlite_book, act)
    key = treat(sqlite_book, act, pond, "potassium_permanganate", [date(2026, 3, 1)])
    with sqlite_book.writing(at(act, date(2026, 3, 2))) as writing:
        rev = row_of(sqlite_book, "course", key).rev
        writing.change("course", key, rev, control_on=date(2026, 3, 10))
        writing.add(
            "course_task", course_id=key, code="control", on_day=date(2026, 3, 10), says="Look.",
            done_at=datetime.combine(date(2026, 3, 14), time(8), UTC),
        )  # fmt: skip
    found = promises_kept(sqlite_book, datetime(2026, 3, 22, 12, tzinfo=UTC), 1)
    control = of_kind(found, "control")
    assert (counts(control.whole), control.late_by_days) == ((0, 1, 0, 0, 0), 1.0)
