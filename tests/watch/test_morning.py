"""The morning list from a book, on both databases."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from uuid import UUID

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.events import record_event
from store.errors import BadInput, NotFound
from store.watch.morning import morning_list, watch_pond
from store.watch.rests import put_to_rest, wake
from store.watch.rulebook import change_rule, changes_of, rulebook
from store.water.line import understand
from store.water.understood import KitForms, ReadingValue
from store.water.water_tests import (
    NewTest,
    add_test,
    correct_test,
    list_tests,
    save_test,
    strike_test,
)
from tests.book.entries import NOW

KIT = KitForms("n", "no2", "no3")
GOOD = "22C pH 7.6 TAN 0.05 NO2 0.02 KH 7 DO 8.4 Cl 120"


def water_test(book: Book, line: str, at: datetime) -> NewTest:
    understood = understand(line, kit=KIT, now=at, zone=book.zone)
    assert not understood.doubts
    return NewTest(at, understood.readings, way="line")


def add_ponds(book: Book, act: Act, *names: str) -> list[UUID]:
    with book.writing(act) as writing:
        client = writing.add("client", name="Brook House", phone="01632 960101")
        site = writing.add("site", client_id=client, name="Garden", town="Overwater")
        return [writing.add("pond", site_id=site, name=name, test_every_days=7) for name in names]


@pytest.fixture
def ponds(book: Book, act: Act) -> list[UUID]:
    keys = add_ponds(book, act, "quiet", "burning", "old", "new")
    with book.writing(act) as writing:
        for week in range(8):
            at = NOW - timedelta(days=7 * week + 1)
            add_test(writing, keys[0], water_test(book, GOOD, at))
            add_test(writing, keys[1], water_test(book, "22C pH 8.4 TAN 1.5 KH 7", at))
        add_test(writing, keys[2], water_test(book, GOOD, NOW - timedelta(days=41)))
    return keys


def test_the_worst_pond_stands_first_and_nothing_is_lost(book: Book, ponds: list[UUID]) -> None:
    listed = morning_list(book, NOW)
    assert [line.pond_name for line in listed.lines] == ["burning", "new", "old", "quiet"]
    assert [line.level for line in listed.lines] == ["act", "unknown", "unknown", "calm"]
    assert (listed.act, listed.watch, listed.unknown, listed.calm) == (1, 0, 2, 1)
    assert listed.total == 4
    burning = listed.lines[0]
    assert burning.what == "NH3-N 0.15 mg/L > 0.05"
    assert burning.since == date(2026, 1, 23)
    assert burning.age_days == 1
    assert burning.where == "Brook House, burning"
    assert burning.spark is not None
    assert len(burning.spark.values) == 8
    assert all(burning.spark.over)
    assert listed.lines[2].what == "no test for 41 days"


def test_a_concern_tells_its_readings_as_typed(book: Book, ponds: list[UUID]) -> None:
    watch = watch_pond(book, ponds[1], NOW)
    first = watch.concerns[0]
    assert first.rule == "ammonia_un_ionised"
    assert "TAN 1.50 mg/L N" in first.readings[0]
    assert "(Ada Vet)" in first.readings[0]
    assert watch.level == "act"
    with pytest.raises(NotFound):
        watch_pond(book, UUID(int=5), NOW)


def test_a_struck_test_no_longer_counts(book: Book, act: Act, ponds: list[UUID]) -> None:
    for test in list_tests(book, ponds[1]):
        strike_test(book, act, test.key, test.rev, "wrong pond")
    assert list_tests(book, ponds[1]) == ()
    assert len(list_tests(book, ponds[1], struck=True)) == 8
    line = next(line for line in morning_list(book, NOW).lines if line.pond == ponds[1])
    assert line.what == "never tested"


def test_a_correction_keeps_the_first_test(book: Book, act: Act, ponds: list[UUID]) -> None:
    before = list_tests(book, ponds[1], 1)[0]
    with pytest.raises(BadInput):
        correct_test(
            book, act, before.key, before.rev, water_test(book, GOOD, before.taken_at), " "
        )
    assert list_tests(book, ponds[1], 1)[0].key == before.key
    key = correct_test(
        book, act, before.key, before.rev, water_test(book, GOOD, before.taken_at), "misread"
    )
    after = list_tests(book, ponds[1], 1)[0]
    assert (after.key, after.replaces) == (key, before.key)
    kept = [test for test in list_tests(book, ponds[1], struck=True) if test.struck]
    assert [(test.key, test.struck_why) for test in kept] == [(before.key, "misread")]
    assert kept[0].readings["tan_mg_l"].value == 1.5


def test_a_test_is_refused_whole(book: Book, act: Act, ponds: list[UUID]) -> None:
    ahead = water_test(book, GOOD, NOW + timedelta(days=1))
    with pytest.raises(BadInput, match="lies ahead"):
        save_test(book, act, ponds[3], ahead)
    with pytest.raises(BadInput, match="Nothing was measured"):
        save_test(book, act, ponds[3], NewTest(NOW, ()))
    twice = water_test(book, GOOD, NOW)
    with pytest.raises(BadInput, match="two values"):
        save_test(book, act, ponds[3], NewTest(NOW, twice.readings * 2))
    with pytest.raises(NotFound):
        save_test(book, act, UUID(int=9), twice)
    assert list_tests(book, ponds[3], struck=True) == ()


def test_rest_and_return(book: Book, act: Act, ponds: list[UUID]) -> None:
    with pytest.raises(BadInput):
        put_to_rest(
            book, act, ponds[1], watch_pond(book, ponds[1], NOW).concerns[0], date(2026, 3, 14), "x"
        )
    for concern in watch_pond(book, ponds[1], NOW).concerns:
        put_to_rest(book, act, ponds[1], concern, date(2026, 3, 20), "owner is changing water")
    listed = morning_list(book, NOW)
    assert (listed.act, listed.resting) == (0, 1)
    resting = watch_pond(book, ponds[1], NOW).at_rest
    assert resting[0][1].reason == "owner is changing water"
    assert morning_list(book, NOW + timedelta(days=6)).act == 1
    worse = water_test(book, "22C pH 8.9 TAN 2.5 KH 7", NOW)
    save_test(book, act, ponds[1], worse)
    assert morning_list(book, NOW + timedelta(hours=1)).act == 1


def test_a_rest_can_be_ended(book: Book, act: Act, ponds: list[UUID]) -> None:
    concern = watch_pond(book, ponds[1], NOW).concerns[0]
    put_to_rest(book, act, ponds[1], concern, date(2026, 3, 20), "waiting")
    wake(book, act, ponds[1], concern.rule, "owner rang")
    assert watch_pond(book, ponds[1], NOW).concerns[0].rule == concern.rule
    with pytest.raises(NotFound):
        wake(book, act, ponds[1], concern.rule, "again")


def test_rules_are_changed_for_the_practice_and_for_one_pond(
    book: Book, act: Act, ponds: list[UUID]
) -> None:
    code = "ammonia_un_ionised"
    mild = {"watch_above_nh3_mg_l": 0.4, "act_above_nh3_n_mg_l": 0.5}
    change_rule(book, act, code, params=mild, why="trying it", pond=ponds[1])
    concerns = {one.rule for one in watch_pond(book, ponds[1], NOW).concerns}
    assert code not in concerns
    change_rule(book, act, code, params={}, why="back", pond=ponds[1])
    told = watch_pond(book, ponds[1], NOW).concerns[0]
    assert told.rule == code
    assert any("Changed for this pond by Ada Vet" in remark for remark in told.remarks)
    change_rule(book, act, code, params={"act_above_nh3_n_mg_l": 0.1}, why="stricter")
    told = watch_pond(book, ponds[1], NOW).concerns[0]
    assert told.source == (f"the practice's own, changed by Ada Vet on {act.at:%Y-%m-%d}: stricter")
    assert told.standing == "practice's own"
    assert "Published: 0.05 mg/L NH3-N; " in told.remarks[-3], "the published one stands beside it"
    assert not any("Changed for" in remark for remark in told.remarks), "said once"
    change_rule(book, act, code, params={}, enabled=False, why="off")
    assert {rule.code: rule for rule in rulebook(book).practice}[code].enabled is False
    assert [one.why for one in changes_of(book, code)] == ["off", "stricter", "back", "trying it"]
    for bad in (
        {"nonsense": 1.0},
        {"act_above_nh3_n_mg_l": float("nan")},
        {"act_above_nh3_n_mg_l": -1.0},
    ):
        with pytest.raises(BadInput):
            change_rule(book, act, code, params=bad, why="no")
    with pytest.raises(BadInput):
        change_rule(book, act, code, params=mild, why=" ")
    with pytest.raises(NotFound):
        change_rule(book, act, "no such", params={}, why="x")


def test_limits_must_lie_in_order(book: Book, act: Act) -> None:
    with pytest.raises(BadInput, match="must lie beyond"):
        change_rule(book, act, "oxygen_low", params={"act_below_mg_l": 9.0}, why="typo")


def test_how_long_a_reading_is_believed_can_be_changed(
    book: Book, act: Act, ponds: list[UUID]
) -> None:
    change_rule(book, act, "reading_too_old", params={"tan_mg_l_days": 0.0}, why="x")
    rules = {rule.code: rule for rule in rulebook(book).practice}
    assert rules["ammonia_un_ionised"].trusted_days == 0.0
    assert "ammonia_un_ionised" not in {
        concern.rule for concern in watch_pond(book, ponds[1], NOW).concerns
    }


def test_a_planned_visit_and_a_struck_client(book: Book, act: Act, ponds: list[UUID]) -> None:
    with book.writing(act) as writing:
        site = writing.add("site", client_id=writing.add("client", name="Other"), name="Yard")
        other = writing.add("pond", site_id=site, name="tank")
        writing.add("visit", site_id=site, on_day=date(2026, 3, 18), kind="check")
        writing.add("visit", site_id=site, pond_id=other, on_day=date(2026, 3, 16), kind="check")
        writing.add("visit", site_id=site, on_day=date(2026, 3, 1), kind="check")
    line = next(line for line in morning_list(book, NOW).lines if line.pond == other)
    assert line.next_visit == date(2026, 3, 16)
    with book.writing(act) as writing:
        writing.strike("client", line_client(book, other), "moved away")
    assert other not in {line.pond for line in morning_list(book, NOW).lines}


def line_client(book: Book, pond: UUID) -> UUID:
    from store.book.ponds import card

    return card(book, pond).client.id


def test_a_pond_tested_twice_in_the_hour_that_comes_twice(book: Book, act: Act) -> None:
    (pond,) = add_ponds(book, act, "clock")
    first = datetime(2025, 10, 26, 0, 30, tzinfo=UTC)  # 01:30 summer time
    later = Act(act.by, NOW)
    for at, line in ((first, "12C pH 7.5"), (first + timedelta(hours=1), "12C pH 7.6")):
        save_test(book, later, pond, water_test(book, line, at))
    newest = list_tests(book, pond)
    assert [test.readings["ph"].value for test in newest] == [7.6, 7.5]
    now = datetime(2025, 10, 26, 12, 0, tzinfo=UTC)
    line = next(line for line in morning_list(book, now).lines if line.pond == pond)
    assert line.last_test_day == date(2025, 10, 26)
    assert line.age_days == 0


def test_two_kits_and_the_hours_of_corrections_reach_the_list(book: Book, act: Act) -> None:
    with book.writing(act) as writing:
        owner = writing.add("client", name="Brook House")
        site = writing.add("site", client_id=owner, name="Garden")
        kits = [writing.add("kit", name="Drops"), writing.add("kit", name="Strips")]
        ponds = [writing.add("pond", site_id=site, name=name) for name in ("Two kits", "One kit")]
        for hour in (3, 8):
            at = act.at - timedelta(hours=hour)
            record_event(writing, ponds[1], "buffer_added", at.date(), at=at)
    for pond, first, last in ((ponds[0], *kits), (ponds[1], kits[0], kits[0])):
        for days, ph, kit in ((1, 7.4, first), (0.01, 8.2, last)):
            value = ReadingValue("ph", ph, None, None, "=", f"{ph:g}", "", "")
            taken = act.at - timedelta(days=days)
            save_test(book, act, pond, NewTest(taken, (value,), kit_id=kit))
    parted, joined = (watch_pond(book, pond, act.at) for pond in ponds)
    assert "pH +0.8 between two kits" in [one.what for one in parted.notes]
    assert "pH +0.8 in a day > 0.5" in [one.what for one in joined.concerns]
    assert "2 corrections within 5 h" in [one.what for one in joined.concerns]
    levels = {line.pond: line.level for line in morning_list(book, act.at).lines}
    assert levels == {ponds[0]: "calm", ponds[1]: "watch"}


@pytest.mark.parametrize("every_hours", [12, 24, 48, 24 * 7])
@pytest.mark.parametrize("course", ["inside for weeks", "entered lately", "alkalinity falls"])
def test_the_list_and_the_page_judge_alike_however_often_a_pond_is_tested(
    sqlite_book: Book, act: Act, course: str, every_hours: int
) -> None:
    """Twelve daily tests are no fortnight: the list looks as far back in days as the rules do."""
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    tests = []
    for number in range(70 * 24 // every_hours):
        taken = act.at - timedelta(hours=1 + number * every_hours)
        days = number * every_hours / 24
        warm = {"inside for weeks": 17.0, "entered lately": 19.0 - 0.6 * days}.get(course, 12.0)
        soft = 30.0 + 1.2 * days if course == "alkalinity falls" else 110.0
        values = {"temperature_c": max(warm, 4.0), "alkalinity_mg_l": soft}
        readings = tuple(
            ReadingValue(code, value, None, None, "=", f"{value:g}", "", "")
            for code, value in values.items()
        )
        tests.append(NewTest(taken, readings))
    for one in reversed(tests):
        save_test(sqlite_book, act, pond, one)
    (line,) = morning_list(sqlite_book, act.at).lines
    page = watch_pond(sqlite_book, pond, act.at)
    assert line.level == page.level
    assert line.concerns == len(page.concerns)
    assert line.what == (page.concerns[0].what if page.concerns else "")
    speaks = {concern.rule for concern in page.concerns}
    assert ("window_gill_flukes" in speaks) == (course == "entered lately")
    assert ("alkalinity_falling" in speaks) == (course == "alkalinity falls")
