"""Deaths over a stock: rates, denominators, days not looked at, and what others call much."""

from __future__ import annotations

import math
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.errors import BadInput
from store.exams.beside import beside
from store.exams.mortality import NOT_ADDED, mortality
from store.facts.sources import source_standings
from store.facts.yardsticks import FILE, read_yardsticks, yardsticks
from store.watch.stock import Count, Move

DAY = date(2026, 6, 1)


def on(number: int) -> date:
    return DAY + timedelta(days=number)


def died(*numbers: int | None, species: str = "") -> list[Move]:
    """Deaths on the days after the count; None is a day that nobody looked at."""
    return [
        Move(on(place), "died", dead, species)
        for place, dead in enumerate(numbers, start=1)
        if dead is not None
    ]


def looked(*numbers: int | None, stock: int = 26, more: tuple[Move, ...] = ()):
    return mortality(
        [Count(DAY, "", stock, "counted")], [*died(*numbers), *more], on(1), on(len(numbers))
    )


@given(
    stock=st.integers(1, 400),
    numbers=st.lists(st.none() | st.integers(0, 20), min_size=1, max_size=30),
)
def test_what_survived_every_day_is_what_survived_in_all(stock, numbers) -> None:
    """Cumulative = 1 - product of (1 - rate), where nothing came or left."""
    answer = looked(*numbers, stock=stock)
    dead = sum(number or 0 for number in numbers)
    assert answer.dead == dead
    if dead > stock:
        assert answer.share is None
        return
    survived = math.prod(1.0 - one.share for one in answer.days if one.share is not None)
    assert answer.share == pytest.approx(1.0 - survived)
    assert answer.interval.low <= answer.share <= answer.interval.high
    assert sum(week.dead for week in answer.weeks) == dead
    assert [one.day for one in answer.days if one.dead is None] == list(answer.not_looked)


def test_a_day_without_a_count_is_not_a_day_without_deaths() -> None:
    answer = looked(0, None, None, 3, 0)
    assert [one.dead for one in answer.days] == [0, None, None, 3, 0]
    assert [one.share for one in answer.days][:3] == [0.0, None, None]
    found = answer.days[3]
    assert (found.over_days, found.alive) == (3, 26)
    assert answer.not_looked == (on(2), on(3))
    assert any("Not looked at on 2 of 5 days" in one for one in answer.remarks)
    assert "of 3 days" in answer.arithmetic


def test_arrivals_and_removals_change_the_denominator_and_are_told() -> None:
    answer = looked(
        1, 0, 2, more=(Move(on(2), "added", 10), Move(on(3), "removed", 4))
    )  # fmt: skip
    assert [one.alive for one in answer.days] == [26, 25, 35]
    assert answer.of == 36
    assert answer.share == pytest.approx(3 / 36)
    assert "26 fish when 2 Jun 2026 began" in answer.denominator
    assert "1 Jun 2026 (counted)" in answer.denominator
    assert "+ 10 that came since" in answer.denominator
    assert any("4 fish that were taken out" in one for one in answer.remarks)


def test_weeks_end_on_the_last_day_and_the_first_may_be_shorter() -> None:
    answer = looked(*[1] * 9)
    assert [(one.first, one.last) for one in answer.weeks] == [(on(1), on(2)), (on(3), on(9))]
    assert [(one.dead, one.alive) for one in answer.weeks] == [(2, 26), (7, 24)]
    assert answer.weeks[1].share == pytest.approx(7 / 24)


def test_a_week_that_nobody_looked_at_has_no_rate() -> None:
    answer = looked(1, *[None] * 7)
    assert answer.weeks[-1].share is None
    assert answer.weeks[-1].looked == 0


def test_one_kind_of_fish_by_itself() -> None:
    counts = [Count(DAY, "koi", 26), Count(DAY, "goldfish", 40)]
    moves = [*died(2, 3, 4, 2, species="koi"), *died(0, 0, 0, 1, species="goldfish")]
    koi = mortality(counts, moves, on(1), on(4), species="koi")
    assert (koi.dead, koi.of) == (11, 26)
    assert koi.said.startswith("11 of 26 koi died")
    every = mortality(counts, moves, on(1), on(4))
    assert (every.dead, every.of) == (12, 66)


def test_without_a_head_count_no_share_is_invented() -> None:
    answer = mortality([], died(2, 3), on(1), on(2))
    assert (answer.dead, answer.of, answer.share) == (5, None, None)
    assert "how large a share that is cannot be said" in answer.said
    assert answer.denominator.startswith("No head count is in the book")


def test_more_dead_than_there_were_asks_for_a_count() -> None:
    answer = looked(2, 3, stock=4)
    assert answer.share is None
    assert any("count them again" in one for one in answer.remarks)


def test_a_number_that_nobody_said_is_at_least_one() -> None:
    answer = mortality([Count(DAY, "", 26)], [Move(on(1), "died", None)], on(1), on(1))
    assert answer.days[0].at_least
    assert "at least 1" in answer.arithmetic


def test_an_estimate_is_said_to_be_one() -> None:
    answer = mortality([Count(DAY, "", 200, "estimated")], died(2), on(1), on(1))
    assert any("estimated, not counted" in one for one in answer.remarks)


def test_day_rates_are_said_not_to_add_up() -> None:
    assert NOT_ADDED in looked(2, 3).remarks
    assert NOT_ADDED not in looked(2, 0).remarks


def test_days_the_wrong_way_round() -> None:
    with pytest.raises(BadInput) as refused:
        mortality([], [], on(2), on(1))
    assert refused.value.field == "last day"
    with pytest.raises(BadInput, match="ten years"):
        mortality([], [], on(0), on(4000))


def by_code(answer) -> dict:
    return {one.code: one for one in beside(answer)}


def test_beside_what_others_call_much() -> None:
    four = by_code(looked(1, 1, 1, 1))  # each more than 1 % of 26
    assert four["canada_stocking"].reached
    assert four["canada_stocking"].on == on(4)
    assert "not for garden ponds" in four["canada_stocking"].said
    assert four["two_in_seven"].reached
    assert four["scotland_small_fish"].source.startswith("from memory")
    broken = by_code(looked(1, 1, None, 1, 1))  # a day not looked at breaks the row
    assert not broken["canada_stocking"].reached
    three = by_code(looked(1, 1, 1))
    assert not three["canada_stocking"].reached


def test_beside_in_a_large_stock() -> None:
    few = by_code(looked(2, *[0] * 6, stock=1000))
    assert few["two_in_seven"].reached
    assert not few["scotland_weeks"].reached
    much = by_code(looked(11, *[0] * 6, stock=1000))
    assert much["scotland_weeks"].reached
    assert not much["scotland_small_fish"].reached
    apart = by_code(looked(1, *[0] * 7, 1, stock=1000))
    assert not apart["two_in_seven"].reached


def test_without_a_head_count_shares_are_not_set_beside_anything() -> None:
    found = by_code(mortality([], died(2, 3), on(1), on(2)))
    assert found["scotland_weeks"].reached is None
    assert found["two_in_seven"].reached


def test_duties_without_a_figure_are_always_told_and_come_last() -> None:
    found = beside(looked(0))
    assert {one.code for one in found if one.reached is None} == {
        "larger_than_usual", "increased_eu", "a_few"
    }  # fmt: skip
    assert [one.reached for one in found] == sorted(
        (one.reached for one in found), key=[True, False, None].index
    )


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("measure", "month", "measure: is 'month'"),
        ("above_percent", 120.0, "must lie between"),
        ("running", None, "running: is missing"),
        ("says", "", "says: must be a text"),
        ("standing", "published", "is only 'from memory'"),
        ("deaths", 3, "deaths: is not a field"),
    ],
)
def test_a_mistake_in_the_file_is_found(field, value, said) -> None:
    table = {
        "measure": "week", "above_percent": 1.5, "running": 1, "says": "Much.",
        "source": "scottish_code", "standing": "from memory",
    }  # fmt: skip
    assert read_yardsticks({"one": table}, source_standings())[1] == []
    table[field] = value
    if value is None:
        del table[field]
    found, findings = read_yardsticks({"one": table}, source_standings())
    assert found == {}
    assert any(said in str(one) for one in findings)
    assert FILE in str(findings[0])
    assert yardsticks()
