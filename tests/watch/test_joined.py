"""What is seen or done on single days and means more when it is joined. All of it common practice."""

from __future__ import annotations

from datetime import timedelta

import pytest

from store.facts.rules import SIGNS
from store.watch.concern import Concern
from store.watch.judge import judge, rule_set
from store.watch.kinds import KINDS
from store.watch.rule import Finding
from store.watch.rulebook import published
from store.watch.said import said_from_packed
from store.watch.seen import Circumstance, LoggerDay, PondSeen
from tests.watch.ponds import TODAY, ZONE, days_ago, pond, taken_at


def found(code: str, seen: PondSeen) -> Finding | None:
    rule = published()[code]
    return KINDS[rule.kind].find(rule, seen, TODAY)


def told(code: str, seen: PondSeen) -> Concern:
    rule = published()[code]
    finding = found(code, seen)
    assert finding is not None
    return KINDS[rule.kind].tell(rule, seen, finding, said_from_packed(ZONE), TODAY)


def happened(kind: str, days: int, hour: int | None = None) -> Circumstance:
    day = TODAY - timedelta(days=days)
    at_ms = None if hour is None else taken_at(day, hour).at_ms
    return Circumstance(kind, day, None, "", at_ms)


def after(*circumstances: Circumstance) -> PondSeen:
    return pond(days_ago(1, 13, oxygen_mg_l=7.5), circumstances=circumstances)


# --- signs of low oxygen ---


def test_three_signs_within_three_days_are_joined() -> None:
    two = (happened("sign_off_feed", 3), happened("sign_water_turned", 2))
    assert found("low_oxygen_signs", after(*two)) is None
    assert found("low_oxygen_signs", after(*two, happened("sign_off_feed", 0))) is None  # the same
    assert found("low_oxygen_signs", after(*two, happened("sign_seen", 0))) is None  # some other
    seen = after(*two, happened("sign_at_inlet", 0))
    concern = told("low_oxygen_signs", seen)
    assert (concern.level, concern.what) == ("watch", "3 signs of low oxygen")
    assert concern.since == TODAY - timedelta(days=3)
    assert all(SIGNS[one.kind] in concern.arithmetic[0] for one in seen.circumstances)
    assert "7.5" in concern.readings[0]
    assert "before dawn" in concern.advice
    assert "low_oxygen_signs" in {
        rule.code for rule, _ in judge(rule_set(published().values()), seen, TODAY).speaking
    }


def test_signs_that_are_long_past_are_not_joined() -> None:
    old = (
        happened("sign_off_feed", 4),
        happened("sign_water_turned", 2),
        happened("sign_at_inlet", 0),
    )
    assert found("low_oxygen_signs", after(*old)) is None


def test_more_signs_stand_further_up() -> None:
    kinds = ["sign_off_feed", "sign_water_turned", "sign_at_inlet", "sign_gasping"]
    three = found("low_oxygen_signs", after(*(happened(kind, 1) for kind in kinds[:3])))
    four = found("low_oxygen_signs", after(*(happened(kind, 1) for kind in kinds)))
    assert four.severity > three.severity


# --- corrections ---


def test_a_correction_on_top_of_another_is_watched() -> None:
    both = (happened("buffer_added", 0, 8), happened("buffer_added", 0, 13))
    concern = told("corrections_stacked", after(*both))
    assert (concern.level, concern.what) == ("watch", "2 corrections within 5 h")
    assert "5.0 h between two; at least 24 h" in concern.arithmetic[2]
    # Over midnight as well, where the hours are known.
    night = (happened("water_changed", 1, 20), happened("water_changed", 0, 6))
    assert told("corrections_stacked", after(*night)).value == pytest.approx(10.0)
    apart = (happened("water_changed", 1, 8), happened("water_changed", 0, 9))
    assert found("corrections_stacked", after(*apart)) is None


def test_without_the_hour_one_day_is_too_close_and_two_are_not_known() -> None:
    one_day = (happened("salt_added", 1), happened("buffer_added", 1))
    assert told("corrections_stacked", after(*one_day)).what == "2 corrections on one day"
    two_days = (happened("salt_added", 1), happened("buffer_added", 0))
    assert found("corrections_stacked", after(*two_days)) is None


def test_what_goes_in_with_a_water_change_is_one_correction() -> None:
    change = (happened("water_changed", 0), happened("salt_added", 0), happened("binder_added", 0))
    assert found("corrections_stacked", after(*change)) is None


def test_stacked_corrections_are_told_for_two_days_and_many_are_noted() -> None:
    def both(days: int) -> PondSeen:
        return after(happened("water_changed", days), happened("water_changed", days))

    assert found("corrections_stacked", both(2)).level == "watch"
    assert found("corrections_stacked", both(3)) is None
    many = after(*(happened("water_changed", days) for days in (0, 2, 4, 6, 7)))
    concern = told("corrections_stacked", many)
    assert (concern.level, concern.what) == ("calm", "4 corrections in 7 days")
    assert "4 water changes and 0 additions within 7 days" in concern.arithmetic


# --- feeding again ---


def cold_then(*days_c: float) -> PondSeen:
    logged = [
        LoggerDay(TODAY - timedelta(days=ago), mean, mean - 1.0, mean + 1.0)
        for ago, mean in enumerate(days_c)
    ]
    return pond(
        days_ago(20, temperature_c=5.0),
        logger={"temperature_c": logged},
        circumstances=(happened("feeding_stopped", 90),),
    )


def test_feeding_begins_by_the_mean_of_a_week() -> None:
    ready = told("feeding_again", cold_then(11.5, 11.0, 10.8, 10.4, 10.2, 9.8, 9.9))
    assert (ready.level, ready.what) == ("calm", "7-day mean 10.5 °C: feed again?")
    assert ready.value == pytest.approx(73.6 / 7)
    warm_day = told("feeding_again", cold_then(14.0, 8.0, 7.0, 7.5, 7.0, 6.5, 6.0))
    assert warm_day.what == "warm day, 7-day mean only 8.0 °C"
    assert any("no spring" in remark for remark in warm_day.remarks)
    assert found("feeding_again", cold_then(9.0, 12.0, 12.0, 12.0, 12.0)) is None


def test_one_reading_does_not_restart_feeding() -> None:
    stopped = (happened("feeding_stopped", 90),)
    seen = pond(
        days_ago(0, temperature_c=14.0), days_ago(7, temperature_c=12.0), circumstances=stopped
    )
    concern = told("feeding_again", seen)
    assert concern.what == "warm, but too few days for a 7-day mean"
    assert "mean of 1 of the last 7 days" in concern.arithmetic[0]


def test_where_feeding_was_not_stopped_nothing_is_said() -> None:
    warm = cold_then(*[12.0] * 7)
    assert found("feeding_again", warm) is not None
    warm.circumstances = (Circumstance("feeding_stopped", TODAY - timedelta(days=90),
                                       TODAY - timedelta(days=1), ""),)  # fmt: skip
    assert found("feeding_again", warm) is None
    warm.circumstances = ()
    assert found("feeding_again", warm) is None
