"""Trying a rule on the past: counted by hand, and nothing of the future is used."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from uuid import UUID

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from store.book.act import Act
from store.book.book import Book
from store.book.events import record_event
from store.errors import BadInput, NotFound
from store.watch.kinds import KINDS
from store.watch.look import look
from store.watch.rulebook import change_rule, published
from store.watch.seen import PondSeen
from store.watch.trial import try_rule, try_rules, with_numbers
from store.water.packed import PackedTest
from store.water.understood import ReadingValue
from store.water.water_tests import NewTest, save_test, strike_test

NOW = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)
TODAY = date(2026, 3, 14)


def add_pond(book: Book, act: Act, name: str = "Lower pond", **values: object) -> UUID:
    with book.writing(act) as writing:
        client = writing.add("client", name="Brook House")
        site = writing.add("site", client_id=client, name="Garden")
        return writing.add("pond", site_id=site, name=name, **values)


def add_test(book: Book, act: Act, pond: UUID, days_ago: float, **readings: float) -> UUID:
    values = tuple(
        ReadingValue(code, value, None, None, "=", str(value), "", "")
        for code, value in readings.items()
    )
    taken = NOW - timedelta(days=days_ago)
    return save_test(book, act, pond, NewTest(taken_at=taken, readings=values))


def test_a_level_is_counted_by_hand(book: Book, act: Act) -> None:
    """pH over 8.5 is watch, over 9.0 act; a test is believed for 30 days."""
    pond, quiet = add_pond(book, act), add_pond(book, act, "Upper pond")
    add_test(book, act, pond, 100, ph=7.5)
    add_test(book, act, pond, 60, ph=8.7)
    add_test(book, act, pond, 50, ph=9.2)
    add_test(book, act, pond, 45, ph=7.5)
    add_test(book, act, pond, 3, ph=8.6)
    add_test(book, act, quiet, 20, ph=7.4)
    trial = try_rule(book, NOW, published()["ph_range"])
    # Days 60..51 ago watch (10), 50..46 act (5), 3..0 watch (4).
    assert dict(trial.by_level) == {"act": 5, "watch": 14, "unknown": 0, "calm": 0}
    assert (trial.days_spoken, trial.ponds_spoken, trial.ponds_looked_at) == (19, 1, 2)
    assert trial.times_begun == 2
    assert (trial.first_day, trial.last_day) == (date(2025, 3, 15), TODAY)
    said = trial.first_examples
    assert [(one.pond, one.where, one.day, one.level) for one in said] == [
        (pond, "Brook House, Lower pond", date(2026, 1, 13), "watch")
    ]
    assert said[0].what == "pH 8.7 > 8.5"
    assert sum(month.days_spoken for month in trial.by_month) == 19
    assert {month.first: month.days_spoken for month in trial.by_month if month.days_spoken} == {
        date(2026, 1, 1): 15, date(2026, 3, 1): 4,
    }  # fmt: skip
    assert len(trial.by_month) == 13
    assert not trial.stopped


def test_a_reading_is_believed_for_its_days_only(sqlite_book: Book, act: Act) -> None:
    """One high pH and then nothing: the rule speaks until the reading is 30 days old."""
    pond = add_pond(sqlite_book, act)
    add_test(sqlite_book, act, pond, 90, ph=8.8)
    trial = try_rule(sqlite_book, NOW, published()["ph_range"])
    assert trial.days_spoken == 31  # the day itself and thirty more


def test_changed_numbers_stand_beside_those_in_force(sqlite_book: Book, act: Act) -> None:
    pond = add_pond(sqlite_book, act)
    add_test(sqlite_book, act, pond, 9, ph=8.7)
    rule = published()["ph_range"]
    other = with_numbers(rule, {"watch_above_ph": 8.8})
    now, changed = try_rules(sqlite_book, NOW, (rule, other))
    assert (now.days_spoken, changed.days_spoken) == (10, 0)
    assert changed.rule.params["watch_above_ph"] == 8.8
    with pytest.raises(BadInput):
        with_numbers(rule, {"watch_above_ph": 9.5})  # beyond the limit of act


def test_the_days_of_an_event_are_counted(book: Book, act: Act) -> None:
    """A disturbed filter is watched for 28 days, the day itself included before them."""
    pond = add_pond(book, act)
    add_test(book, act, pond, 200, ph=7.4)
    with book.writing(act) as writing:
        record_event(writing, pond, "filter_disturbed", TODAY - timedelta(days=100))
        record_event(writing, pond, "filter_disturbed", TODAY - timedelta(days=4))
    trial = try_rule(book, NOW, published()["filter_disturbed"])
    assert (trial.days_spoken, trial.times_begun) == (29 + 5, 2)
    assert trial.first_examples[0].what.endswith("today")


def test_the_days_of_a_logger_are_counted(book: Book, act: Act) -> None:
    """The level of the logger's last day: each day over 28 °C speaks, and the day after a gap."""
    pond = add_pond(book, act)
    warm = {TODAY - timedelta(days=n): (27.0, 26.0, 28.6) for n in (40, 39, 38)}
    mild = {TODAY - timedelta(days=n): (24.0, 23.0, 25.0) for n in (37, 36, 35)}
    with book.writing(act) as writing:
        writing.add_many(
            "logger_day",
            [
                {"pond_id": pond, "parameter": "temperature_c", "day": day, "n": 24,
                 "mean": mean, "low": low, "high": high}
                for day, (mean, low, high) in (warm | mild).items()
            ],
        )  # fmt: skip
    trial = try_rule(book, NOW, published()["temperature_high"])
    assert (trial.days_spoken, trial.by_level["watch"]) == (3, 3)


def test_the_values_of_a_logger_tell_a_change_of_a_day(book: Book, act: Act) -> None:
    """4 °C up within a few hours: seen for the two days of values that are looked at."""
    pond = add_pond(book, act)
    start = datetime(2026, 3, 1, 6, 0, tzinfo=UTC)
    rows = [
        {"pond_id": pond, "parameter": "temperature_c", "at": start + timedelta(hours=hour),
         "value": 14.0 if 24 <= hour < 30 else 10.0}
        for hour in range(24 * 6)
    ]  # fmt: skip
    days = [
        {"pond_id": pond, "parameter": "temperature_c", "day": date(2026, 3, 1 + n), "n": 24,
         "mean": 10.0, "low": 10.0, "high": 14.0}
        for n in range(7)
    ]  # fmt: skip
    with book.writing(act) as writing:
        writing.add_many("logger_reading", rows)
        writing.add_many("logger_day", days)
    trial = try_rule(book, NOW, published()["temperature_change"])
    # The warm hours are 06 to 11 on 2 March. From the end of the 2nd and the 3rd they lie within
    # the last 48 hours, with the values before or after; from the end of the 4th no longer.
    assert trial.by_level["watch"] == 2
    assert [one.day for one in trial.first_examples] == [date(2026, 3, 2)]


def test_a_pond_that_nobody_tested_counts_from_its_entry(sqlite_book: Book, act: Act) -> None:
    early = Act(act.by, NOW - timedelta(days=9))
    add_pond(sqlite_book, early)
    trial = try_rule(sqlite_book, NOW, published()["reading_too_old"])
    assert (trial.by_level["unknown"], trial.days_spoken) == (10, 10)


def test_struck_tests_and_ponds_are_left_out(sqlite_book: Book, act: Act) -> None:
    pond, gone = add_pond(sqlite_book, act), add_pond(sqlite_book, act, "Old pond")
    wrong = add_test(sqlite_book, act, pond, 5, ph=9.9)
    add_test(sqlite_book, act, gone, 5, ph=9.9)
    strike_test(sqlite_book, act, wrong, 1, "mistyped")
    with sqlite_book.writing(act) as writing:
        writing.strike("pond", gone, "filled in")
    trial = try_rule(sqlite_book, NOW, published()["ph_range"])
    assert (trial.days_spoken, trial.ponds_looked_at) == (0, 1)


def test_a_pond_with_its_own_say_is_left_out_and_counted(sqlite_book: Book, act: Act) -> None:
    one, two = add_pond(sqlite_book, act), add_pond(sqlite_book, act, "Upper pond")
    for pond in (one, two):
        add_test(sqlite_book, act, pond, 1, ph=8.7)
    change_rule(
        sqlite_book, act, "ph_range", params={"watch_above_ph": 8.9}, why="Green water", pond=two
    )
    rule = published()["ph_range"]
    trial = try_rule(sqlite_book, NOW, rule)
    assert (trial.ponds_spoken, trial.ponds_looked_at, trial.own_say) == (1, 1, 1)
    alone = try_rule(sqlite_book, NOW, rule, pond=two)
    assert (alone.ponds_spoken, alone.own_say) == (1, 0)


def test_progress_is_told_and_can_stop(sqlite_book: Book, act: Act) -> None:
    for number in range(45):
        add_pond(sqlite_book, act, f"Pond {number}")
    told: list[tuple[int, int]] = []

    def go_on(done: int, in_all: int) -> bool:
        told.append((done, in_all))
        return done < 40

    stopped = try_rule(sqlite_book, NOW, published()["ph_range"], progress=go_on)
    assert told == [(20, 45), (40, 45)]
    assert stopped.stopped
    assert (stopped.ponds_looked_at, stopped.ponds_in_all) == (40, 45)
    told.clear()
    try_rule(
        sqlite_book,
        NOW,
        published()["ph_range"],
        progress=lambda *count: told.append(count) is None,
    )
    assert told[-1] == (45, 45)


def test_what_cannot_be_tried_is_refused(sqlite_book: Book) -> None:
    rule = published()["ph_range"]
    with pytest.raises(BadInput):
        try_rule(sqlite_book, NOW, rule, days=0)
    with pytest.raises(NotFound):
        try_rule(sqlite_book, NOW, rule, pond=UUID(int=7))


@pytest.mark.parametrize("code", ["ph_range", "window_gill_flukes", "test_overdue",
                                  "ammonia_un_ionised", "reading_too_old", "ph_change"])  # fmt: skip
def test_the_last_day_is_what_the_rules_see_now(sqlite_book: Book, act: Act, code: str) -> None:
    """The end of the replay is the present: the same finding as on the morning list."""
    pond = add_pond(sqlite_book, act, test_every_days=7)
    for number in range(20):
        add_test(
            sqlite_book, act, pond, 3 * number, ph=9.4 - 0.4 * (number % 2), tan_mg_l=0.6,
            temperature_c=17.0 - 0.3 * number,
        )  # fmt: skip
    rule = published()[code]
    with sqlite_book.reading() as connection:
        caseload = look(connection, NOW, sqlite_book.zone, pond=pond)
    finding = KINDS[rule.kind].find(rule, caseload.seen[pond], TODAY)
    trial = try_rule(sqlite_book, NOW, rule, days=1)
    spoken = {level for level, days in trial.by_level.items() if days}
    assert spoken == (set() if finding is None else {finding.level})


READINGS = st.lists(
    st.tuples(
        st.integers(0, 80),
        st.floats(5.0, 10.5, allow_nan=False),
        st.floats(0.5, 31.0, allow_nan=False),
        st.floats(0.0, 3.0, allow_nan=False),
    ),
    max_size=14,
)
CODES = ("ph_range", "window_gill_flukes", "ammonia_un_ionised", "test_overdue", "ph_change",
         "reading_too_old", "window_goldfish_herpesvirus")  # fmt: skip


def spoken_days(tests: list[PackedTest], code: str, template: PondSeen) -> dict[date, str]:
    """What a rule says on each of the last 81 days of a pond with these tests."""
    from zoneinfo import ZoneInfo

    from store.watch.past import Past

    first = TODAY - timedelta(days=80)
    zone = ZoneInfo("Europe/London")
    midnights = tuple(
        round(
            datetime.combine(
                first + timedelta(days=n), datetime.min.time(), zone
            ).timestamp() * 1000
        )
        for n in range(82)
    )  # fmt: skip
    key = template.pond
    ordered = sorted(tests, key=lambda test: test.at_ms, reverse=True)
    past = Past(first, TODAY, round(NOW.timestamp() * 1000), zone, midnights, {key: template},
                {key: ordered}, {}, {}, {})  # fmt: skip
    rule = published()[code]
    found = {}
    for day, seen in past.days_of(key):
        finding = KINDS[rule.kind].find(rule, seen, day)
        found[day] = "" if finding is None else f"{finding.level} {finding.value:.6g}"
    return found


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(readings=READINGS, cut=st.integers(0, 80), code=st.sampled_from(CODES))
def test_nothing_of_the_future_is_used(
    readings: list[tuple[int, float, float, float]], cut: int, code: str
) -> None:
    """Days before `cut` are the same whether the tests from then on are there or not."""
    from zoneinfo import ZoneInfo

    from store.watch.seen import DayOf

    day_of = DayOf(ZoneInfo("Europe/London"))
    template = PondSeen(
        UUID(int=1), 0.0, False, 7, (), (), day_of, day_of.hour, TODAY - timedelta(days=70), 0
    )
    start = NOW - timedelta(days=80)
    tests = [
        PackedTest(
            round((start + timedelta(days=day, minutes=place)).timestamp() * 1000),
            warm,
            f'{{"ph": {ph!r}, "temperature_c": {warm!r}, "tan_mg_l": {tan!r}}}',
        )
        for place, (day, ph, warm, tan) in enumerate(readings)
    ]
    cut_day = TODAY - timedelta(days=80 - cut)
    known = [test for test in tests if day_of(test.at_ms) < cut_day]
    whole = spoken_days(tests, code, template)
    part = spoken_days(known, code, template)
    before = {day: said for day, said in whole.items() if day < cut_day}
    assert before == {day: said for day, said in part.items() if day < cut_day}


def test_the_zone_decides_the_day(sqlite_book: Book, act: Act) -> None:
    """A test at 23:30 UTC in summer belongs to the next day in London."""
    pond = add_pond(sqlite_book, act)
    now = datetime(2026, 7, 10, 12, 0, tzinfo=UTC)
    taken = datetime(2026, 7, 7, 23, 30, tzinfo=UTC)
    reading = ReadingValue("ph", 8.8, None, None, "=", "8.8", "", "")
    save_test(sqlite_book, Act(act.by, now), pond, NewTest(taken_at=taken, readings=(reading,)))
    trial = try_rule(sqlite_book, now, replace(published()["ph_range"]))
    assert trial.first_examples[0].day == date(2026, 7, 8)


def test_a_change_between_two_kits_is_not_counted(book: Book, act: Act) -> None:
    pond = add_pond(book, act)
    with book.writing(act) as writing:
        drops, strips = writing.add("kit", name="Drops"), writing.add("kit", name="Strips")

    def enter(days_ago: float, ph: float, kit: UUID) -> None:
        value = ReadingValue("ph", ph, None, None, "=", f"{ph:g}", "", "")
        save_test(book, act, pond, NewTest(NOW - timedelta(days=days_ago), (value,), kit_id=kit))

    enter(21, 7.5, drops)
    enter(20, 8.3, strips)
    assert try_rule(book, NOW, published()["ph_change"]).days_spoken == 0
    enter(11, 7.5, strips)
    enter(10, 8.3, strips)
    assert (
        try_rule(book, NOW, published()["ph_change"]).days_spoken == 4
    )  # counts_days, and its day
