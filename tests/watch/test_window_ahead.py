"""What an estimate says of the temperature windows, and what it never says.

Chances by hand are of the table of the normal distribution: 0.6915 of it lie below half a standard
deviation above the mean, 0.8413 below one, 0.9772 below two.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta
from math import inf

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from store.book.act import Act
from store.book.book import Book
from store.errors import BadInput
from store.facts.hazards import Window
from store.warmth.estimate import Ahead
from store.watch.concern import Concern
from store.watch.glance import band_of
from store.watch.judge import judge, rule_set
from store.watch.kinds import KINDS
from store.watch.kinds.window_ahead import SOON, STILL, Expected, expected, reach, touches
from store.watch.morning import morning_list, watch_pond
from store.watch.rule import Finding, Rule
from store.watch.rule_page import read_number
from store.watch.rulebook import change_rule, published
from store.watch.said import said_from_packed
from store.watch.seen import Circumstance, PondSeen
from store.watch.window_settings import USUAL_SETTINGS, WindowSettings
from tests.book.entries import NOW
from tests.watch.ponds import TODAY, ZONE, ahead_of, days_ago, pond

FLUKES = "window_gill_flukes"
"""Its window is 15 to 30 °C (the facts on hazards)."""
NEW_FISH = Circumstance("new_fish", TODAY - timedelta(days=5), None, "")
SEEN = Circumstance("hazard_seen", TODAY - timedelta(days=40), None, "gill_flukes")
CAME_IN = (*[10.0] * 10, 16.0)
"""Far outside until five days before today, inside by one degree since the fourth."""


def rule_of(code: str = FLUKES, **numbers: float) -> Rule:
    rule = published()[code]
    return replace(rule, params={**rule.params, **numbers})


def found(seen: PondSeen, rule: Rule | None = None) -> Finding | None:
    rule = rule or rule_of()
    return KINDS["window"].find(rule, seen, TODAY)


def told(seen: PondSeen, rule: Rule | None = None) -> Concern:
    rule = rule or rule_of()
    finding = found(seen, rule)
    assert finding is not None
    return KINDS["window"].tell(rule, seen, finding, said_from_packed(ZONE), TODAY)


def test_an_unread_pond_that_came_into_the_window_is_watched() -> None:
    for seen in (
        pond(ahead=ahead_of(*CAME_IN)),
        pond(days_ago(20, temperature_c=11.0), ahead=ahead_of(*CAME_IN)),
        pond(days_ago(20, temperature_c=16.0), ahead=ahead_of(*CAME_IN)),
        pond(days_ago(4, temperature_c=11.0), ahead=ahead_of(*CAME_IN)),
    ):
        finding = found(seen)
        assert finding is not None
        assert finding.level == "watch"
        assert finding.value == pytest.approx(84.13, abs=0.01)
        assert finding.since == TODAY - timedelta(days=4)
        assert not finding.or_earlier
        assert told(seen).what == "gill flukes 84 % by estimate"


@pytest.mark.parametrize(
    ("mean_c", "spread_c", "percent"),
    [(15.0, 1.0, 50.0), (16.0, 2.0, 69.15), (16.0, 1.0, 84.13), (16.0, 0.5, 97.72),
     (22.5, 7.5, 68.27), (22.5, 11.5, None), (14.9, 0.5, None)],
)  # fmt: skip
def test_the_chance_is_of_the_normal_table(
    mean_c: float, spread_c: float, percent: float | None
) -> None:
    # 68.27 % of a normal distribution lie within one standard deviation to both sides.
    finding = found(pond(ahead=ahead_of(*[5.0] * 14, mean_c, spread_c=spread_c)))
    if percent is None:
        assert finding is None
    else:
        assert finding is not None
        assert finding.value == pytest.approx(percent, abs=0.01)


def test_inside_for_longer_is_a_calm_note_whatever_favours_it() -> None:
    for circumstances in ((), (NEW_FISH, SEEN)):
        seen = pond(ahead=ahead_of(17.0), circumstances=circumstances)
        concern = told(seen)
        assert (concern.level, concern.what) == ("calm", "gill flukes still, 98 % by estimate")
        assert concern.or_earlier
        assert (concern.stays_in, concern.by_estimate) == ("gill flukes", True)
    # Outside by an estimate that is not likelier than not, 14 days ago; inside from the day after.
    news = found(pond(ahead=ahead_of(14.9, 15.1)))
    assert news is not None
    assert (news.level, news.since) == ("watch", TODAY - timedelta(days=13))
    longer = found(pond(ahead=ahead_of(14.9, 15.1)), rule_of(watch_days=5.0))
    assert longer is not None
    assert longer.level == "calm"


def test_a_pond_at_the_edge_does_not_begin_anew_every_day() -> None:
    # 14.6 °C is outside but not beyond the margin of 1 °C: 34 % inside, 73 % with the margin.
    to_and_fro = [15.3, 14.6] * 7 + [15.3]
    assert found(pond(ahead=ahead_of(*to_and_fro))).level == "calm"  # type: ignore[union-attr]
    left = [*to_and_fro[:8], 13.0, *to_and_fro[9:]]
    assert found(pond(ahead=ahead_of(*left))).since == TODAY - timedelta(days=4)  # type: ignore[union-attr]


def test_it_never_asks_for_anybody_and_a_precondition_orders_it() -> None:
    plain = found(pond(ahead=ahead_of(*CAME_IN)))
    favoured = found(pond(ahead=ahead_of(*CAME_IN), circumstances=(NEW_FISH, SEEN)))
    assert plain is not None
    assert favoured is not None
    assert (plain.level, favoured.level) == ("watch", "watch")
    assert favoured.severity > plain.severity
    measured = found(pond(days_ago(0, temperature_c=16.0), days_ago(7, temperature_c=12.0)))
    assert measured is not None
    assert measured.severity > plain.severity


def test_what_was_measured_speaks_as_before() -> None:
    weeks = [days_ago(7 * week + 1, temperature_c=16.0 - 1.4 * week) for week in range(8)]
    for ahead in (ahead_of(5.0), ahead_of(16.0), ahead_of(*CAME_IN)):
        for circumstances in ((), (SEEN,)):
            alone = found(pond(*weeks, circumstances=circumstances))
            beside = found(pond(*weeks, circumstances=circumstances, ahead=ahead))
            assert beside == alone
            assert alone is not None
            assert alone.level == ("act" if circumstances else "watch")
    old = [days_ago(14, temperature_c=16.0), days_ago(21, temperature_c=11.0)]
    assert found(pond(*old, ahead=ahead_of(5.0))) == found(pond(*old))
    older = [days_ago(15, temperature_c=16.0), days_ago(22, temperature_c=11.0)]
    assert found(pond(*older)) is None
    assert found(pond(*older, ahead=ahead_of(5.0))) is None


def test_a_fresh_reading_outside_stands_against_an_estimate_of_today() -> None:
    fresh = found(pond(days_ago(3, temperature_c=12.0), ahead=ahead_of(*CAME_IN)))
    assert fresh is not None
    assert (fresh.variant, fresh.since) == (SOON, TODAY)
    of_today = found(pond(days_ago(0, temperature_c=12.0), ahead=ahead_of(*CAME_IN)))
    assert of_today is not None
    assert (of_today.variant, of_today.since) == (SOON, TODAY + timedelta(days=1))
    sooner = found(pond(days_ago(3, temperature_c=12.0), ahead=ahead_of(*CAME_IN)),
                   rule_of(fresh_days=2.0))  # fmt: skip
    assert sooner is not None
    assert sooner.variant not in (SOON, STILL)


def test_heading_rests_on_the_forecast_where_there_is_one() -> None:
    rising = [days_ago(day, temperature_c=14.0 - 0.4 * day) for day in range(8)]
    flat = [days_ago(day, temperature_c=12.0) for day in range(8)]
    trend = found(pond(*rising))
    assert trend is not None
    assert trend.variant == "heading"
    assert found(pond(*rising, ahead=ahead_of(14.0))) is None, "the forecast knows better"
    coming = ahead_of(*[12.0] * 19, 14.0, 16.0)  # on the fifth and the sixth day from today
    assert found(pond(*flat)) is None
    seen = pond(*flat, ahead=coming)
    concern = told(seen)
    assert concern.what == "gill flukes soon, 84 % by estimate"
    assert (concern.level, concern.since) == ("watch", TODAY + timedelta(days=6))
    assert found(seen, rule_of(heading_within_days=5.0)) is None
    assert found(pond(ahead=coming)).variant == SOON  # type: ignore[union-attr]
    assert found(seen, rule_of(heading_within_days=60.0)) == found(seen), "as far as it reaches"


def test_what_no_estimate_speaks_of() -> None:
    treated = pond(ahead=ahead_of(*CAME_IN))
    treated.treated = frozenset({"gill_flukes"})
    assert found(treated) is None
    needs_fall = [rule for rule in published().values() if "needs_fall_c" in rule.params]
    assert needs_fall
    for rule in needs_fall:
        for mean_c in range(0, 30, 3):
            assert found(pond(ahead=ahead_of(float(mean_c))), rule) is None
    yesterday = ahead_of(16.0, today=TODAY - timedelta(days=1))
    assert found(pond(ahead=yesterday)) is None
    silent = rule_set([replace(rule_of(), enabled=False)])
    assert not judge(silent, pond(ahead=ahead_of(*CAME_IN)), TODAY).speaking


def test_it_tells_its_estimate_its_grounds_and_what_to_do() -> None:
    asked = []
    seen = pond(days_ago(20, temperature_c=11.0), ahead=ahead_of(*CAME_IN), circumstances=(SEEN,))

    def grounds() -> tuple[str, ...]:
        asked.append(1)
        return ("The season of this pond says 14.1 °C.",)

    seen.grounds = grounds
    finding = found(seen)
    assert not asked, "only a pond that is told pays"
    concern = told(seen)
    assert asked == [1]
    assert concern.arithmetic == (
        "window 15 to 30 °C, left beyond a margin of 1 °C",
        # 1.2816 standard deviations to both sides hold four in five
        "estimate for today: about 16.0 °C, 14.7 to 17.3",
        "chance of lying inside 84 %; inside by estimate since about 2026-06-13, 4 days ago; "
        "told from 50 % on (common practice)",
    )
    assert concern.readings == ("The season of this pond says 14.1 °C.",)
    assert concern.remarks[0] == (
        "By estimate, not measured: it stays at watch until somebody has measured."
    )
    assert "it was seen here before" in concern.remarks[1]
    assert concern.advice.startswith("Ask for a thermometer reading.")
    assert concern.by_estimate
    assert (concern.value, concern.unit) == (finding.value if finding else None, "%")
    coming = told(pond(days_ago(1, temperature_c=11.0), ahead=ahead_of(*[11.0] * 19, 16.0)))
    assert coming.arithmetic[1:] == (
        "estimate for 2026-06-22: about 16.0 °C, 14.7 to 17.3",
        "expected inside on 2026-06-22: chance 84 %; told from 50 % on (common practice)",
    )
    assert coming.readings == ("11.0 °C on 2026-06-16 (tests of the day)",)


def test_that_the_readings_are_too_old_stays_told_beside_it() -> None:
    seen = pond(days_ago(41, temperature_c=11.0), ahead=ahead_of(*CAME_IN))
    verdict = judge(rule_set(published().values()), seen, TODAY)
    levels = {rule.code: finding.level for rule, finding in verdict.speaking}
    assert verdict.level == "watch"
    assert (levels["reading_too_old"], levels[FLUKES]) == ("unknown", "watch")


# --- properties -----------------------------------------------------------------------------------

means = st.lists(st.floats(0.0, 35.0), min_size=29, max_size=29) | st.builds(
    lambda start, a_day: [max(start + a_day * day, 0.0) for day in range(29)],
    st.floats(0.0, 35.0),
    st.floats(-1.0, 1.0),
)
aheads = st.builds(
    lambda some, spread: ahead_of(*some, spread_c=spread), means, st.floats(0.1, 4.0)
)
bands = st.builds(
    lambda low, width, open_end: Window(
        None if open_end == "low" else low, None if open_end == "high" else low + width
    ),
    st.floats(0.0, 30.0),
    st.floats(0.5, 20.0),
    st.sampled_from(["low", "high", "", ""]),
)
numbers = st.builds(
    WindowSettings,
    heading_within_days=st.integers(0, 20).map(float),
    watch_days=st.floats(0.0, 30.0),
    fresh_days=st.integers(0, 20).map(float),
    estimate_chance=st.sampled_from([0.5, 0.6, 0.9, 1.0]),
)
measured = st.none() | st.integers(0, 40)


def plainly(
    ahead: Ahead, window: Window, settings: WindowSettings, age: int | None
) -> Expected | None:
    """The same as `expected`, day by day and without a glance."""
    low_c = -inf if window.low_c is None else window.low_c
    high_c = inf if window.high_c is None else window.high_c
    first, last, needed = ahead.first, ahead.first + 28, settings.estimate_chance

    def chance(days: int, margin_c: float = 0.0) -> float:
        return ahead.inside(ahead.today + days, low_c - margin_c, high_c + margin_c)

    if (age is None or age > min(settings.fresh_days, 14.0)) and chance(0) >= needed:
        since = days = 0
        while days - 1 >= -settings.watch_days and ahead.today + days - 1 >= first:
            days -= 1
            if chance(days) >= needed:
                since = days
            elif chance(days, window.margin_c) < needed:
                days = -99
        earliest = max(-int(settings.watch_days), first - ahead.today)
        longer = since == earliest
        return Expected(STILL if longer else "by estimate", ahead.today + since, chance(0), longer)
    for days in range(1 if age == 0 else 0, int(settings.heading_within_days) + 1):
        if ahead.today + days <= last and chance(days) >= needed:
            return Expected(SOON, ahead.today + days, chance(days))
    return None


@given(aheads, bands, numbers, measured)
def test_a_few_comparisons_never_tell_another_thing_than_every_day_by_itself(
    ahead: Ahead, window: Window, settings: WindowSettings, age: int | None
) -> None:
    today = TODAY.toordinal()
    now = reach(ahead, today, None if age is None else today - age, settings)
    assert now is not None
    said = plainly(ahead, window, settings, age)
    assert expected(now, band_of(window), window, settings) == said
    assert said is None or touches(now, band_of(window))


histories = st.lists(st.tuples(st.integers(0, 40), st.floats(0.0, 35.0)), max_size=6)


def findings(seen: PondSeen) -> Mapping[str, Finding]:
    verdict = judge(rule_set(published().values()), seen, TODAY)
    return {rule.code: one for rule, one in (*verdict.speaking, *verdict.notes)}


@settings(max_examples=60)
@given(histories, aheads, st.booleans())
def test_an_estimate_never_raises_act_nor_moves_what_was_measured(
    history: list[tuple[int, float]], ahead: Ahead, favoured: bool
) -> None:
    tests = [days_ago(days, temperature_c=temp) for days, temp in dict(history).items()]
    happened = (NEW_FISH, SEEN) if favoured else ()
    alone = findings(pond(*tests, circumstances=happened))
    beside = findings(pond(*tests, circumstances=happened, ahead=ahead))
    by_estimate = {code for code, one in beside.items() if "by estimate" in one.variant}
    assert all(beside[code].level in ("watch", "calm") for code in by_estimate)
    was_heading = {code for code, one in alone.items() if one.variant == "heading"}
    assert {code: one for code, one in beside.items() if code not in by_estimate} == {
        code: one for code, one in alone.items() if code not in was_heading
    }
    other_day = ahead._replace(today=ahead.today - 1)
    assert findings(pond(*tests, circumstances=happened, ahead=other_day)) == alone


# --- through the book -----------------------------------------------------------------------------


def test_estimates_reach_the_list_and_the_page_and_a_pond_has_its_own_numbers(
    sqlite_book: Book, act: Act
) -> None:
    book, today = sqlite_book, date(2026, 3, 14)
    with book.writing(act) as writing:
        client = writing.add("client", name="Brook House")
        site = writing.add("site", client_id=client, name="Garden")
        pond_ids = [writing.add("pond", site_id=site, name=name) for name in ("upper", "lower")]
    of = {pond_ids[0]: ahead_of(*CAME_IN, today=today)}
    without, listed = morning_list(book, NOW), morning_list(book, NOW, estimated=of)
    assert {line.level for line in without.lines} == {"unknown"}
    assert [(line.pond, line.level) for line in listed.lines] == [
        (pond_ids[0], "watch"), (pond_ids[1], "unknown"),
    ]  # fmt: skip
    assert "by estimate" in listed.lines[0].what
    asked = []

    def grounds(pond_id: object) -> tuple[str, ...]:
        asked.append(pond_id)
        return ("Its season.",)

    page = watch_pond(book, pond_ids[0], NOW, estimated=of.get, grounds=grounds)
    by_rule = {one.rule: one for one in page.concerns}
    assert by_rule[FLUKES].readings == ("Its season.",)
    assert set(asked) == {pond_ids[0]}
    assert by_rule["reading_too_old"].level == "unknown"
    change_rule(book, act, FLUKES, params={"estimate_chance": 0.9}, why="sure", pond=pond_ids[0])
    page = watch_pond(book, pond_ids[0], NOW, estimated=of)
    assert FLUKES not in {one.rule for one in page.concerns}
    for wrong in (0.49, 1.01):
        with pytest.raises(BadInput, match=r"between 0\.5 and 1") as refused:
            change_rule(book, act, FLUKES, params={"estimate_chance": wrong}, why="x")
        assert refused.value.field == "estimate_chance"
    assert read_number("estimate_chance", "65 %") == 0.65
    assert USUAL_SETTINGS.estimate_chance == published()[FLUKES].number("estimate_chance") == 0.5
