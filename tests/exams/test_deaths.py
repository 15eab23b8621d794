"""Dead fish and head counts in the book, and what follows from them.

The numbers of the dying pond: 11 of 26 koi, 42.3 %, exact interval 23.4 to 63.1 % (Clopper & Pearson
1934); 22 °C lies in every published window of koi herpesvirus disease, and 16 to 19 days after
contact between those of 16 and 23 °C (Yuasa et al. 2008).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as some

from store.book.act import Act
from store.book.book import Book
from store.book.events import events, record_event
from store.courses.cautions.suspected import suspicion_cautions
from store.courses.kept.water_now import water_now
from store.errors import BadInput, NotAllowed, NotFound
from store.exams.deaths import (
    NewDeaths,
    correct_deaths,
    deaths_of,
    record_deaths,
    signs_typed_as,
    typed_signs,
)
from store.exams.head_counts import correct_head_count, head_counts_of, record_head_count, stock
from store.exams.losses import advice, loss_page, outbreak_began
from store.exams.suspicion import suspicions
from store.facts.signs import signs
from store.watch.morning import morning_list, watch_pond
from store.watch.rests import put_to_rest
from store.watch.stock import Move
from tests.exams.dying_pond import add_dying_pond, add_pond, ago, warm


@pytest.fixture
def pond(book: Book, act: Act) -> UUID:
    return add_pond(book, act)


def enter(book: Book, act: Act, pond: UUID, days: int, dead: int, **more: Any) -> Any:
    sure = more.pop("sure", False)
    today = book.today(act.at)
    with book.writing(act) as writing:
        found = NewDeaths(ago(today, days), dead, **more)
        return record_deaths(writing, pond, found, sure=sure)


# --- the dying pond ---


def test_the_share_of_the_dying_koi_with_its_interval(book: Book, act: Act) -> None:
    page = loss_page(book, add_dying_pond(book, act), act.at)
    (koi,) = page.kinds
    assert (koi.dead, koi.of) == (11, 26)
    assert koi.said.endswith("42.3 % (95 % interval 23.4 to 63.1 %).")
    assert [round(100 * one.share, 2) for one in koi.days] == [7.69, 12.5, 19.05, 11.76]
    assert (page.stock.of("koi").fish, page.stock.total) == (15, 55)
    assert page.stock.of("koi").counted_on == ago(page.today, 19)
    assert [(one.dead, one.week) for one in page.days] == [(2, 2), (3, 5), (4, 9), (2, 11)]
    assert page.days[-1].percent == pytest.approx(100 * 11 / 66)
    assert page.outbreak == ago(page.today, 3)


def test_the_dying_pond_is_stopped_everywhere(book: Book, act: Act) -> None:
    pond = add_dying_pond(book, act)
    line = next(one for one in morning_list(book, act.at).lines if one.pond == pond)
    assert (line.level, line.what) == ("act", "STOP: koi herpesvirus disease?")
    concern = watch_pond(book, pond, act.at).concerns[0]
    assert concern.rule == "suspected_khv"
    (found,) = [one for one in suspicions(book, pond, act.at) if one.found.level == "act"]
    assert found.head == "STOP: koi herpesvirus disease is suspected"
    assert [one.said for one in found.contacts] == [
        "6 fish came on 23 Feb 2026: koi from a show, no quarantine"
    ]
    said = " ".join(one.says for one in found.stop)
    assert "confirmed" not in said
    assert "until the vet releases" in said
    water = water_now(book, pond, act.at)
    (stop,) = suspicion_cautions(water)
    assert (stop.code, stop.level) == ("suspected_khv", "stop")
    assert "sample before any treatment" in stop.said


def test_a_pond_without_deaths_is_not_suspected(book: Book, act: Act, pond: UUID) -> None:
    warm(book, act, pond)
    assert suspicions(book, pond, act.at) == ()
    assert suspicion_cautions(water_now(book, pond, act.at)) == []
    assert all(one.rule not in ("deaths", "suspected_khv") for one in
               watch_pond(book, pond, act.at).concerns)  # fmt: skip


# --- entering ---


def test_none_dead_is_a_count_and_no_entry_is_none(book: Book, act: Act, pond: UUID) -> None:
    nothing = loss_page(book, pond, act.at)
    assert (nothing.days, nothing.whole, nothing.looked) == ((), None, 0)
    enter(book, act, pond, 2, 0)
    looked = loss_page(book, pond, act.at)
    assert looked.looked == 1
    assert looked.days[0].dead == 0
    assert looked.outbreak is None
    enter(book, act, pond, 1, 1)
    enter(book, act, pond, 0, 0)
    page = loss_page(book, pond, act.at)
    assert [one.dead for one in page.whole.days] == [1, 0]
    assert page.whole.not_looked == ()


def test_entries_of_one_day_add_up(book: Book, act: Act, pond: UUID) -> None:
    enter(book, act, pond, 1, 2, species="koi")
    enter(book, act, pond, 1, 3, species="koi")
    enter(book, act, pond, 1, 2, species="goldfish")
    page = loss_page(book, pond, act.at)
    assert [one.dead for one in page.days] == [7]
    assert len(page.entries) == 3


def test_the_same_entry_by_somebody_else_is_asked_about(book: Book, act: Act, pond: UUID) -> None:
    enter(book, act, pond, 1, 2, species="koi")
    with book.writing(act) as writing:
        other = Act(writing.add("staff", name="Bo Desk", role="receptionist"), act.at)
    asked = enter(book, other, pond, 1, 2, species="Koi")
    assert asked.key is None
    assert "Ada Vet entered 2 koi dead for 13 Mar 2026 already" in asked.doubts[0]
    assert len(deaths_of(book, pond)) == 1
    assert enter(book, other, pond, 1, 2, species="koi", sure=True).key is not None
    assert enter(book, other, pond, 1, 0).doubts == ()
    assert enter(book, other, pond, 1, 0).doubts == ()
    assert enter(book, other, pond, 2, 2, species="koi").doubts == ()


def test_an_old_event_counts_and_the_same_number_is_asked_about(
    book: Book, act: Act, pond: UUID
) -> None:
    today = book.today(act.at)
    with book.writing(act) as writing:
        record_event(writing, pond, "fish_died", ago(today, 1), amount=3)
        record_event(writing, pond, "fish_died", ago(today, 2))
        record_event(writing, pond, "fish_removed", ago(today, 1), amount=1)
        record_head_count(writing, pond, ago(today, 9), 30)
    assert "3 fish died" in enter(book, act, pond, 1, 3).doubts[0]
    page = loss_page(book, pond, act.at)
    assert sum(one.dead for one in page.days) == 4
    assert len(page.events) == 2
    assert page.stock.lines[0].fish == 26
    assert "was not said" in page.stock.lines[0].doubt
    assert len(events(book, pond)) == 3


def test_more_dead_than_there_were_is_asked_about(book: Book, act: Act, pond: UUID) -> None:
    today = book.today(act.at)
    with book.writing(act) as writing:
        record_head_count(writing, pond, ago(today, 9), 5, species="koi")
    assert enter(book, act, pond, 1, 4, species="koi").doubts == ()
    asked = enter(book, act, pond, 2, 2, species="koi")
    assert "2 koi dead are more than there were: 1 on 13 Mar 2026" in asked.doubts[0]
    enter(book, act, pond, 2, 2, species="koi", sure=True)
    page = loss_page(book, pond, act.at)
    assert page.stock.short
    assert page.stock.total is None
    assert any("count them again" in one for one in page.stock.remarks)


@pytest.mark.parametrize(
    ("days", "dead", "more", "field"),
    [
        (-1, 1, {}, "on_day"),
        (0, -1, {}, "dead"),
        (0, 10_000_001, {}, "dead"),
        (0, 1, {"length_low_cm": 40.0, "length_high_cm": 30.0}, "length"),
        (0, 0, {"signs": ("sunken_eyes",)}, "dead"),
        (0, 1, {"signs": ("blue",)}, "signs"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(
    book: Book, act: Act, pond: UUID, days: int, dead: int, more: dict[str, Any], field: str
) -> None:
    with pytest.raises(BadInput) as refused:
        enter(book, act, pond, days, dead, **more)
    assert refused.value.field == field
    assert deaths_of(book, pond) == ()


def test_a_pond_that_is_not_there_is_refused(book: Book, act: Act, pond: UUID) -> None:
    with pytest.raises(NotFound):
        enter(book, act, uuid4(), 0, 1)
    with book.writing(act) as writing:
        writing.strike("pond", pond, "filled in")
    with pytest.raises(NotFound):
        enter(book, act, pond, 0, 1)


def test_a_correction_strikes_the_old_entry_and_keeps_it(book: Book, act: Act, pond: UUID) -> None:
    key = enter(book, act, pond, 1, 2, species="koi").key
    (old,) = deaths_of(book, pond)
    new = NewDeaths(old.on_day, 2, "ghost koi", 30.0, 45.0, ("sunken_eyes",), "by the filter")
    with book.writing(act) as writing:
        entered = correct_deaths(writing, key, old.rev, "looked again", new)
    assert entered.key is not None
    (stands,) = deaths_of(book, pond)
    assert (stands.species, stands.length_high_cm, stands.signs) == (
        "ghost koi", 45.0, ["sunken_eyes"]
    )  # fmt: skip
    assert {one.struck_why for one in deaths_of(book, pond, struck=True)} == {"", "looked again"}
    with pytest.raises(NotAllowed), book.writing(act) as writing:
        correct_deaths(writing, key, old.rev + 1, "again", new)
    with pytest.raises(NotFound), book.writing(act) as writing:
        correct_deaths(writing, uuid4(), 1, "again", new)


def test_a_correction_to_the_same_number_is_not_asked_about(
    book: Book, act: Act, pond: UUID
) -> None:
    today = book.today(act.at)
    with book.writing(act) as writing:
        record_head_count(writing, pond, ago(today, 9), 5, species="koi")
    key = enter(book, act, pond, 1, 4, species="koi").key
    (old,) = deaths_of(book, pond)
    with book.writing(act) as writing:
        entered = correct_deaths(
            writing, key, old.rev, "size", NewDeaths(old.on_day, 4, "koi", 20.0, 20.0)
        )
    assert entered.doubts == ()
    assert stock(book, pond, today).of("koi").fish == 1


def test_head_counts_are_kept_and_put_right(book: Book, act: Act, pond: UUID) -> None:
    today = book.today(act.at)
    with book.writing(act) as writing:
        record_head_count(writing, pond, ago(today, 40), 30, species="koi", how="told")
        key = record_head_count(writing, pond, ago(today, 5), 62, species="koi")
    (newest, _) = head_counts_of(book, pond)
    with book.writing(act) as writing:
        correct_head_count(
            writing, key, newest.rev, "two digits swapped", pond, newest.on_day, 26, species="koi"
        )
    assert stock(book, pond, today).of("koi").fish == 26
    assert stock(book, pond, ago(today, 6)).of("koi").fish == 30
    assert len(head_counts_of(book, pond, struck=True)) == 3
    with pytest.raises(BadInput) as refused, book.writing(act) as writing:
        record_head_count(writing, pond, today + timedelta(days=1), 3)
    assert refused.value.field == "on_day"
    with pytest.raises(BadInput), book.writing(act) as writing:
        record_head_count(writing, pond, today, -3)


# --- signs, advice, runs of deaths ---


def test_every_sign_is_understood_as_it_is_shown() -> None:
    assert typed_signs("") == ()
    for code in signs():
        assert typed_signs(signs_typed_as([code])) == (code,)
    with pytest.raises(BadInput) as refused:
        typed_signs("eyes sunkn")
    assert "eyes sunken" in refused.value.message
    assert refused.value.field == "signs"


def test_the_hose_stands_first_and_every_sentence_has_its_standing() -> None:
    parts = advice()
    assert "hose" in parts[0][1][0].says
    assert all(one.standing and one.says.endswith((".", "?")) for _, them in parts for one in them)
    sampling = " ".join(one.says for one in parts[-1][1]).casefold()
    for wanted in ("dying", "do not freeze", "bag", "label", "laboratory"):
        assert wanted in sampling


def test_an_outbreak_begins_after_a_quiet_time() -> None:
    day = date(2026, 6, 30)
    died = [Move(day - timedelta(days=ago_), "died", 1) for ago_ in (0, 20, 42)]
    assert outbreak_began(died, day) == day - timedelta(days=20)
    assert outbreak_began([Move(day, "died", 0)], day) is None
    assert outbreak_began([Move(day, "added", 4)], day) is None


@settings(
    max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None
)
@given(some.lists(some.tuples(some.integers(0, 12), some.integers(0, 4)), max_size=6))
def test_the_cumulative_share_never_falls(
    sqlite_book: Book, act: Act, entries: list[tuple[int, int]]
) -> None:
    pond = add_pond(sqlite_book, act)
    today = sqlite_book.today(act.at)
    with sqlite_book.writing(act) as writing:
        record_head_count(writing, pond, ago(today, 20), 40)
    for days, dead in entries:
        enter(sqlite_book, act, pond, days, dead, sure=True)
    page = loss_page(sqlite_book, pond, act.at)
    shares = [one.percent for one in page.days]
    assert None not in shares
    assert shares == sorted(shares)
    assert sum(one.dead for one in page.days) == sum(dead for _, dead in entries)
    assert page.stock.total == 40 - sum(dead for _, dead in entries)
    assert all(one.week >= one.dead for one in page.days)


def test_struck_deaths_do_not_count(book: Book, act: Act) -> None:
    pond = add_dying_pond(book, act)
    with book.writing(act) as writing:
        for one in deaths_of(book, pond):
            writing.strike("death_count", one.id, "another pond", one.rev)
    page = loss_page(book, pond, act.at, struck=True)
    assert (page.outbreak, page.suspicions, len(page.entries)) == (None, (), 4)
    assert page.stock.of("koi").fish == 26


def test_a_plan_under_suspicion_is_stopped(sqlite_book: Book, act: Act) -> None:
    pond = add_dying_pond(sqlite_book, act)
    water = water_now(sqlite_book, pond, act.at)
    assert "suspected_khv" in water.things
    calm = replace(water, things=frozenset())
    assert suspicion_cautions(calm) == []


def test_only_a_vet_puts_a_suspicion_to_rest(book: Book, act: Act) -> None:
    pond = add_dying_pond(book, act)
    concern = watch_pond(book, pond, act.at).concerns[0]
    until = book.today(act.at) + timedelta(days=3)
    with book.writing(act) as writing:
        desk = Act(writing.add("staff", name="Bo Desk", role="receptionist"), act.at)
    with pytest.raises(NotAllowed):
        put_to_rest(book, desk, pond, concern, until, "heard nothing")
    assert watch_pond(book, pond, act.at).concerns[0].rule == "suspected_khv"
    put_to_rest(book, act, pond, concern, until, "not detected by the laboratory")
    assert watch_pond(book, pond, act.at).concerns[0].rule != "suspected_khv"
