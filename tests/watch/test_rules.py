"""What each kind of rule finds at a pond, and how it explains itself."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from store.book.events import EVENT_KINDS
from store.watch.concern import Concern
from store.watch.judge import Rest, judge, rule_set
from store.watch.kinds import KINDS
from store.watch.rule import Finding
from store.watch.rulebook import published
from store.watch.said import said_from_packed
from store.watch.seen import Circumstance, LoggerDay, PondSeen
from store.water.ammonia import un_ionised_fraction
from tests.watch.ponds import TODAY, ZONE, ahead_of, days_ago, pond

GOOD = {
    "ph": 7.6, "tan_mg_l": 0.05, "nitrite_mg_l": 0.02, "nitrate_mg_l": 15.0,
    "alkalinity_mg_l": 120.0, "hardness_mg_l": 150.0, "oxygen_mg_l": 8.4, "chloride_mg_l": 120.0,
}  # fmt: skip


def found(code: str, seen: PondSeen, today: date = TODAY) -> Finding | None:
    rule = published()[code]
    return KINDS[rule.kind].find(rule, seen, today)


def told(code: str, seen: PondSeen, today: date = TODAY) -> Concern:
    rule = published()[code]
    finding = KINDS[rule.kind].find(rule, seen, today)
    assert finding is not None
    return KINDS[rule.kind].tell(rule, seen, finding, said_from_packed(ZONE), today)


def verdict_of(seen: PondSeen, **rests: Rest):
    return judge(rule_set(published().values()), seen, TODAY, rests)


def test_good_water_says_nothing() -> None:
    weeks = [days_ago(7 * week + 1, temperature_c=24.0, **GOOD) for week in range(10)]
    verdict = verdict_of(pond(*weeks))
    assert verdict.level == "calm"
    assert verdict.speaking == ()


def test_the_morning_is_watched_and_warns_that_the_afternoon_was_not_measured() -> None:
    # The setting of a pond that is calm at breakfast and burns in the afternoon; fractions by
    # Emerson et al. 1975, harm line 0.05 mg/L NH3-N by UF/IFAS FA-16.
    morning = pond(days_ago(0, 7, temperature_c=21.5, ph=7.6, tan_mg_l=1.2))
    concern = told("ammonia_un_ionised", morning)
    assert concern.level == "watch"
    assert concern.value == pytest.approx(0.021, rel=0.02)
    assert any("not measured" in remark for remark in concern.remarks)
    assert any("pH 8.0" in remark for remark in concern.remarks)
    afternoon = pond(days_ago(0, 16, temperature_c=28.5, ph=8.9, tan_mg_l=1.2))
    concern = told("ammonia_un_ionised", afternoon)
    assert concern.level == "act"
    assert concern.value == pytest.approx(0.438, rel=0.01)
    assert "0.14 mg/L TAN" in concern.arithmetic[1]  # 0.137 mg/L allowed
    assert "28.5 °C" in concern.arithmetic[0]


def test_ammonia_is_never_mixed_from_two_tests() -> None:
    seen = pond(
        days_ago(0, temperature_c=25.0, ph=9.2),
        days_ago(1, temperature_c=15.0, ph=7.2, tan_mg_l=2.0),
    )
    finding = found("ammonia_un_ionised", seen)
    assert finding is None  # 2.0 mg/L at 15 °C and pH 7.2 is harmless, whatever the newer pH
    assert 2.0 * un_ionised_fraction(7.2, 15.0) < 0.0164


def test_nitrite_is_raised_by_little_chloride_and_not_silenced_by_much() -> None:
    little = pond(days_ago(1, nitrite_mg_l=0.6, chloride_mg_l=2.0))
    assert found("nitrite", little)[0] == "act"
    enough = pond(days_ago(1, nitrite_mg_l=0.6, chloride_mg_l=60.0))
    assert found("nitrite", enough)[0] == "watch"
    unknown = pond(days_ago(1, nitrite_mg_l=0.6))
    assert found("nitrite", unknown)[0] == "watch"
    assert found("nitrite", pond(days_ago(1, nitrite_mg_l=1.5)))[0] == "act"
    concern = told("nitrite", little)
    assert any("10 × 0.60 mg/L − 2 mg/L = 4 mg/L" in step for step in concern.arithmetic)
    assert "Cl 3:1" in concern.what


def test_a_value_on_its_limit_is_still_good_and_beyond_it_is_not() -> None:
    assert found("ph_range", pond(days_ago(1, ph=8.5))) is None
    assert found("ph_range", pond(days_ago(1, ph=8.6))).level == "watch"
    assert found("ph_range", pond(days_ago(1, ph=9.1))).level == "act"
    assert found("oxygen_low", pond(days_ago(1, oxygen_mg_l=4.9))).level == "act"
    assert found("oxygen_low", pond(days_ago(1, oxygen_mg_l=5.0))).level == "watch"


def test_each_reading_is_believed_for_its_own_time() -> None:
    assert found("oxygen_low", pond(days_ago(7, oxygen_mg_l=3.0))) is not None
    assert found("oxygen_low", pond(days_ago(8, oxygen_mg_l=3.0))) is None
    assert found("ph_range", pond(days_ago(20, ph=9.5))) is not None


def test_since_is_the_first_day_of_the_unbroken_run() -> None:
    seen = pond(
        days_ago(1, ph=9.2), days_ago(8, ph=8.8), days_ago(15, tan_mg_l=0.1), days_ago(22, ph=8.7),
        days_ago(29, ph=8.0), days_ago(36, ph=9.0),
    )  # fmt: skip
    assert told("ph_range", seen).since == TODAY - timedelta(days=22)


def test_oxygen_is_told_as_a_share_of_saturation_at_the_site() -> None:
    # Saturation at 20 °C: 9.09 mg/L at the sea, 8.04 at 1000 m (Benson & Krause 1984).
    low = pond(days_ago(0, temperature_c=20.0, oxygen_mg_l=5.2))
    assert found("oxygen_percent_low", low).value == pytest.approx(57.2, abs=0.1)
    high = pond(days_ago(0, temperature_c=20.0, oxygen_mg_l=5.2), altitude_m=1000.0)
    assert found("oxygen_percent_low", high) is None
    measured = pond(days_ago(0, oxygen_percent=45.0))
    assert found("oxygen_percent_low", measured).value == 45.0


def test_a_warm_night_is_silent_after_a_good_dawn() -> None:
    warm = [days_ago(0, 15, temperature_c=28.0)]
    assert found("warm_night", pond(*warm)).level == "watch"
    dawn = [*warm, days_ago(0, 6, temperature_c=27.0, oxygen_mg_l=5.5)]
    assert found("warm_night", pond(*dawn)) is None
    noon = [*warm, days_ago(0, 12, temperature_c=27.0, oxygen_mg_l=7.5)]
    concern = told("warm_night", pond(*noon))
    assert concern.level == "watch"
    assert "7.5" in concern.readings[0]
    assert any("7.5 mg/L. Taken at 12:00" in remark for remark in concern.remarks)


def test_oxygen_of_noon_in_warm_water_asks_for_one_of_dawn() -> None:
    # That oxygen is lowest at dawn is published (Texas A&M AgriLife Extension, AquaPlant); 22 °C is
    # common practice.
    noon = days_ago(1, 13, temperature_c=23.0, oxygen_mg_l=8.2)
    concern = told("warm_night", pond(noon))
    assert (concern.level, concern.what) == ("calm", "23.0 °C, no dawn oxygen")
    assert any("read it then as well" in remark for remark in concern.remarks)
    assert found("warm_night", pond(noon, days_ago(1, 6, oxygen_mg_l=6.0))) is None
    assert found("warm_night", pond(days_ago(1, 13, temperature_c=23.0))) is None
    assert found("warm_night", pond(days_ago(1, 13, temperature_c=21.0, oxygen_mg_l=8.0))) is None


def test_the_hour_of_low_oxygen_is_told() -> None:
    by_day = told("oxygen_low", pond(days_ago(0, 15, 30, temperature_c=25.0, oxygen_mg_l=5.4)))
    assert any(remark.startswith("Taken at 15:30") for remark in by_day.remarks)
    dawn = told("oxygen_low", pond(days_ago(0, 6, temperature_c=25.0, oxygen_mg_l=5.4)))
    assert not any("Taken at" in remark for remark in dawn.remarks)


def test_alkalinity_falling_tells_the_days_to_its_floor() -> None:
    # 70 mg/L, falling by 14 a week: (70 − 20) ÷ 2 a day = 25 days, one of them gone.
    weeks = [days_ago(7 * week + 1, alkalinity_mg_l=70.0 + 14.0 * week) for week in range(5)]
    concern = told("alkalinity_falling", pond(*weeks))
    assert concern.value == pytest.approx(24.0)
    assert concern.level == "watch"
    rising = [days_ago(7 * week + 1, alkalinity_mg_l=70.0 - 2.0 * week) for week in range(5)]
    assert found("alkalinity_falling", pond(*rising)) is None
    soon = [days_ago(7 * week + 1, alkalinity_mg_l=30.0 + 14.0 * week) for week in range(5)]
    assert found("alkalinity_falling", pond(*soon)).level == "act"


def test_an_old_test_makes_the_pond_unknown_and_its_readings_silent() -> None:
    verdict = verdict_of(pond(days_ago(41, ph=9.9, temperature_c=15.0)))
    assert verdict.level == "unknown"
    assert [rule.code for rule, _ in verdict.speaking] == ["reading_too_old"]
    seldom = verdict_of(pond(days_ago(41, ph=7.5), every_days=30))
    assert {rule.code for rule, _ in seldom.speaking} == {"test_overdue"}
    assert verdict_of(pond()).level == "unknown"


def test_a_late_test_is_watched_after_the_days_of_grace() -> None:
    assert found("test_overdue", pond(days_ago(8, ph=7.5))) is None
    concern = told("test_overdue", pond(days_ago(9, ph=7.5)))
    assert concern.what == "test 2 days late"
    assert concern.since == TODAY - timedelta(days=2)


def test_an_event_is_watched_for_its_days() -> None:
    def after(days: int) -> PondSeen:
        happened = Circumstance("filter_disturbed", TODAY - timedelta(days=days), None, "")
        return pond(days_ago(1, **GOOD), circumstances=(happened,))

    assert found("filter_disturbed", after(28)).level == "watch"
    assert found("filter_disturbed", after(29)) is None
    assert "filter disturbed 3 d ago" in told("filter_disturbed", after(3)).what


def test_a_logger_day_speaks_by_its_extreme() -> None:
    days = [
        LoggerDay(TODAY - timedelta(days=1), 7.0, 4.1, 9.0),
        LoggerDay(TODAY - timedelta(days=2), 7.0, 4.5, 9.0),
        LoggerDay(TODAY - timedelta(days=3), 8.0, 6.5, 9.0),
    ]
    seen = pond(days_ago(5, oxygen_mg_l=8.0), logger={"oxygen_mg_l": days})
    concern = told("oxygen_low", seen)
    assert (concern.level, concern.value) == ("act", 4.1)
    assert concern.since == TODAY - timedelta(days=2)


def warming(*circumstances: Circumstance) -> PondSeen:
    weeks = [days_ago(7 * week + 1, temperature_c=16.0 - 1.4 * week) for week in range(8)]
    return pond(*weeks, circumstances=circumstances)


def test_a_window_is_entered_in_a_warm_spell() -> None:
    concern = told("window_gill_flukes", warming())
    assert concern.level == "watch"
    assert concern.what == "gill flukes at 16.0 °C"
    assert "entered about" in concern.arithmetic[1]
    assert concern.since is not None


def test_a_circumstance_raises_a_window_and_a_course_silences_it() -> None:
    seen = warming(Circumstance("hazard_seen", TODAY - timedelta(days=40), None, "gill_flukes"))
    assert found("window_gill_flukes", seen).level == "act"
    assert found("window_fish_louse", seen).level == "watch"  # another hazard was seen
    seen.treated = frozenset({"gill_flukes"})
    assert found("window_gill_flukes", seen) is None


def test_temperature_alone_never_asks_for_anybody_today() -> None:
    verdict = verdict_of(warming())
    assert verdict.level == "watch"
    assert all(finding.level != "act" for _, finding in verdict.speaking)


def test_a_concern_at_rest_returns_on_its_day_and_when_it_gets_worse() -> None:
    seen = pond(days_ago(1, ph=8.8))
    finding = found("ph_range", seen)
    rest = Rest("ph_range", TODAY + timedelta(days=5), "known", "A", "watch", finding.severity)
    assert [rule.code for rule, _, _ in verdict_of(seen, ph_range=rest).at_rest] == ["ph_range"]
    assert verdict_of(seen, ph_range=rest).level == "calm"
    over = Rest("ph_range", TODAY, "known", "A", "watch", finding.severity)
    assert verdict_of(seen, ph_range=over).level == "watch"
    assert verdict_of(pond(days_ago(1, ph=9.3)), ph_range=rest).level == "act"


readings = st.fixed_dictionaries(
    {},
    optional={
        "temperature_c": st.floats(0.0, 35.0), "ph": st.floats(4.0, 11.0),
        "tan_mg_l": st.floats(0.0, 20.0), "nitrite_mg_l": st.floats(0.0, 10.0),
        "nitrate_mg_l": st.floats(0.0, 300.0), "alkalinity_mg_l": st.floats(0.0, 400.0),
        "hardness_mg_l": st.floats(0.0, 600.0), "oxygen_mg_l": st.floats(0.0, 20.0),
        "oxygen_percent": st.floats(0.0, 300.0), "salinity_g_l": st.floats(0.0, 30.0),
        "chloride_mg_l": st.floats(0.0, 4000.0), "chlorine_mg_l": st.floats(0.0, 3.0),
    },
)  # fmt: skip
histories = st.lists(st.tuples(st.integers(0, 70), st.integers(0, 23), readings), max_size=8)


happenings = st.lists(
    st.builds(
        lambda kind, days, hour: Circumstance(
            kind, TODAY - timedelta(days=days), None, "", days_ago(days, hour).at_ms
        ),
        st.sampled_from([code for code, kind in EVENT_KINDS.items() if not kind.names_hazard]),
        st.integers(0, 9),
        st.integers(0, 23),
    ),
    max_size=8,
)


estimates = st.none() | st.builds(
    lambda start, a_day, spread: ahead_of(
        *(max(start + a_day * day, 0.0) for day in range(29)), spread_c=spread
    ),
    st.floats(0.0, 35.0),
    st.floats(-1.0, 1.0),
    st.floats(0.1, 3.0),
)


@example([(0, 0, {"temperature_c": 4.0}), (22, 0, {"temperature_c": 2.0})], [], None)
@example([], [], ahead_of(10.0))
@given(histories, happenings, estimates)
def test_the_quick_look_finds_what_every_rule_finds_by_itself(history, happened, ahead) -> None:
    tests = {(days, hour): days_ago(days, hour, **values) for days, hour, values in history}
    seen = pond(*tests.values(), circumstances=happened, ahead=ahead)
    verdict = judge(rule_set(published().values()), seen, TODAY)
    quick = {rule.code: one for rule, one in (*verdict.speaking, *verdict.notes)}
    alone = {
        code: one
        for code in published()
        if (one := found(code, pond(*tests.values(), circumstances=happened, ahead=ahead)))
    }
    if "reading_too_old" in alone:
        alone.pop("test_overdue", None)
    assert quick == alone


@given(histories, happenings, estimates)
def test_every_concern_explains_itself(history, happened, ahead) -> None:
    tests = {(days, hour): days_ago(days, hour, **values) for days, hour, values in history}
    seen = pond(*tests.values(), circumstances=happened, ahead=ahead)
    said = said_from_packed(ZONE)
    verdict = judge(rule_set(published().values()), seen, TODAY)
    for rule, finding in (*verdict.speaking, *verdict.notes):
        concern = KINDS[rule.kind].tell(rule, seen, finding, said, TODAY)
        assert concern.arithmetic
        assert all(concern.arithmetic)
        assert concern.source
        assert concern.standing in ("published", "common practice", "from memory")
        assert concern.advice
        assert concern.since is None or rule.kind == "window" or concern.since <= TODAY
        assert "nan" not in " ".join((concern.what, *concern.arithmetic))
