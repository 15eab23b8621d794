"""Rules of change compare what can be compared: like hours, and one kit."""

from __future__ import annotations

from datetime import timedelta

import pytest

from store.watch.concern import Concern
from store.watch.hours import Moment, alike, later_in_the_light
from store.watch.judge import judge, rule_set
from store.watch.kinds import KINDS
from store.watch.rule import Finding
from store.watch.rulebook import published
from store.watch.said import said_from_packed
from store.watch.seen import PondSeen
from store.water.packed import PackedTest
from tests.watch.ponds import TODAY, ZONE, days_ago, pond


def found(code: str, seen: PondSeen) -> Finding | None:
    rule = published()[code]
    return KINDS[rule.kind].find(rule, seen, TODAY)


def told(code: str, seen: PondSeen) -> Concern:
    rule = published()[code]
    finding = found(code, seen)
    assert finding is not None
    return KINDS[rule.kind].tell(rule, seen, finding, said_from_packed(ZONE), TODAY)


def with_kits(kits: dict[PackedTest, str], *others: PackedTest) -> PondSeen:
    seen = pond(*kits, *others)
    seen.kits = lambda: {test.at_ms: kit for test, kit in kits.items()}
    return seen


# Bands of the day are common practice: the pH of green water is lowest at dawn and highest in the
# late afternoon, often by more than the 0.5 that the published rule allows a day.


def test_the_same_hour_of_two_days_is_compared() -> None:
    fast = pond(days_ago(0, 8, ph=8.4), days_ago(1, 7, ph=7.6))
    concern = told("ph_change", fast)
    assert (concern.level, concern.what) == ("watch", "pH +0.8 in a day > 0.5")
    assert "within 25 h, both in the morning" in concern.arithmetic[0]
    assert any("like hours" in remark and "morning from 4" in remark for remark in concern.remarks)
    assert len(concern.readings) == 2
    assert found("ph_change", pond(days_ago(0, 8, ph=8.4), days_ago(7, 8, ph=7.6))) is None
    earlier = pond(days_ago(0, 8, ph=8.4), days_ago(2, 8, ph=8.4), days_ago(3, 9, ph=7.6))
    verdict = judge(rule_set(published().values()), earlier, TODAY, {})
    assert "ph_change" in {rule.code for rule, _ in verdict.speaking}


def test_breakfast_and_tea_are_no_trend() -> None:
    swing = pond(days_ago(0, 16, ph=8.4), days_ago(0, 8, ph=7.6))
    concern = told("ph_change", swing)
    assert (concern.level, concern.what) == ("calm", "pH +0.8 between other hours")
    assert "morning to afternoon" in concern.arithmetic[0]
    # One at tea, the next at breakfast: the fall of a night, not of a day.
    assert told("ph_change", pond(days_ago(0, 8, ph=7.6), days_ago(1, 16, ph=8.4))).level == "calm"
    small = pond(days_ago(0, 16, ph=8.0), days_ago(0, 8, ph=7.6))
    assert found("ph_change", small) is None


def test_a_fall_by_daylight_is_none_of_the_lights_doing() -> None:
    crash = pond(days_ago(0, 16, ph=6.9), days_ago(0, 8, ph=7.6))
    assert told("ph_change", crash).level == "watch"
    assert told("ph_change", pond(days_ago(0, 22, ph=6.9), days_ago(0, 16, ph=7.6))).level == "calm"


def test_a_logger_is_compared_with_itself_a_day_before() -> None:
    def logged(shift: float, fall: float = 0.0) -> PondSeen:
        # Every hour of two days, highest at 16 h, by 1.0 more than at 4 h.
        values = []
        for hour in range(48):
            at = days_ago(1, hour % 24).at_ms + (hour // 24) * 86_400_000
            ph = 7.5 + 0.5 * (1.0 - abs((hour - 16) % 24 - 12) / 6.0) * -1.0
            values.append((at, ph + (shift if hour >= 24 else 0.0) - (fall if hour == 38 else 0.0)))
        seen = pond(days_ago(0, 6, temperature_c=20.0))
        seen.last_hours = {"ph": values}
        return seen

    assert found("ph_change", logged(0.0)).level == "calm"
    jumped = told("ph_change", logged(0.7))
    assert (jumped.level, jumped.value) == ("watch", pytest.approx(0.7))
    assert jumped.readings == ("From the logger's values.",)
    assert found("ph_change", logged(0.0, fall=0.8)).level == "watch"


def test_temperature_is_compared_at_any_hours() -> None:
    warmed = pond(days_ago(0, 16, temperature_c=20.0), days_ago(0, 7, temperature_c=16.0))
    assert told("temperature_change", warmed).level == "watch"


def test_two_kits_are_not_joined() -> None:
    new, old = (
        days_ago(0, 8, ph=8.4, temperature_c=20.0),
        days_ago(1, 8, ph=7.6, temperature_c=15.5),
    )
    assert told("ph_change", with_kits({new: "a", old: "a"})).level == "watch"
    parted = told("ph_change", with_kits({new: "a", old: "b"}))
    assert (parted.level, parted.what) == ("calm", "pH +0.8 between two kits")
    assert any("not joined" in remark for remark in parted.remarks)
    # A kit that is not stated may be the same one; a thermometer belongs to none.
    assert told("ph_change", with_kits({new: "a"}, old)).level == "watch"
    assert told("temperature_change", with_kits({new: "a", old: "b"})).level == "watch"


def test_a_trend_is_drawn_within_each_kit() -> None:
    # The second kit reads 30 mg/L less than the first; the water itself stays where it is.
    steady = [
        days_ago(7 * week + 1, alkalinity_mg_l=75.0 if week > 2 else 45.0) for week in range(6)
    ]
    assert found("alkalinity_falling", pond(*steady)).level == "watch"
    kits = {test: "new" if place < 3 else "old" for place, test in enumerate(steady)}
    assert found("alkalinity_falling", with_kits(kits)) is None
    # Both kits fall by 7 mg/L a week: the slope is theirs, the step between them is nobody's.
    falling = [
        days_ago(7 * week + 1, alkalinity_mg_l=40.0 + 7.0 * week + (30.0 if week > 2 else 0.0))
        for week in range(6)
    ]
    concern = told(
        "alkalinity_falling",
        with_kits({test: "new" if place < 3 else "old" for place, test in enumerate(falling)}),
    )
    assert concern.value == pytest.approx(20.0 / 1.0 - 1.0)
    assert any("two kits" in remark for remark in concern.remarks)
    assert told("alkalinity_falling", pond(*falling)).value < 15.0


def test_hours_are_alike_across_midnight_and_not_across_days() -> None:
    evening = Moment(0, TODAY, "night")
    after = Moment(1, TODAY + timedelta(days=1), "night")
    assert alike(evening, after)
    assert not alike(evening, Moment(2, TODAY + timedelta(days=2), "night"))
    assert not later_in_the_light(evening, after)
    morning = Moment(3, TODAY, "morning")
    assert later_in_the_light(morning, Moment(4, TODAY, "midday"))
    assert not later_in_the_light(Moment(4, TODAY, "midday"), morning)
