"""Temperature windows: properties over any series, and the states one by one."""

from __future__ import annotations

import math
from datetime import date, timedelta

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from temperature_series import (
    BAND,
    START,
    TODAY,
    bands,
    every_day,
    every_week,
    series,
    temperatures,
)

from store.errors import BadInput
from store.facts.hazards import Window, hazards
from store.facts.rules import rules
from store.watch.levels import LEVELS, ORDER, Level, worst
from store.watch.track import first_day_at_least, rising_in_spring, track
from store.watch.window_settings import USUAL_SETTINGS, WindowSettings, settings_of, window_of
from store.watch.windows import (
    SinceIs,
    State,
    WindowState,
    state_in,
    window_events,
    window_level,
    window_state,
)

# --- events ---------------------------------------------------------------------------------------


@given(series, bands)
def test_events_take_turns_and_come_in_order(
    values: tuple[list[date], list[float]], band: Window
) -> None:
    found = window_events(*values, band.low_c, band.high_c, band.margin_c)
    assert [event.what for event in found] == [
        "enters" if place % 2 == 0 else "leaves" for place in range(len(found))
    ]
    assert [event.day for event in found] == sorted({event.day for event in found})


@given(temperatures, st.integers(0, 30), bands)
def test_a_constant_series_has_at_most_one_event(temp: float, n: int, band: Window) -> None:
    found = window_events(*every_day(*[temp] * n), band.low_c, band.high_c, band.margin_c)
    assert len(found) == (1 if n and band.low_c <= temp <= band.high_c else 0)  # type: ignore[operator]


@given(st.lists(st.floats(9.0, 21.0), max_size=60))
@example([9.0, 10.0, 9.0, 20.0, 21.0])
def test_nothing_flaps_inside_the_margin(temps: list[float]) -> None:
    assert len(window_events(*every_day(*temps), 10.0, 20.0, 1.0)) <= 1


@given(series, bands, st.randoms(use_true_random=False))
def test_order_of_the_values_does_not_matter(
    values: tuple[list[date], list[float]], band: Window, random: object
) -> None:
    pairs = list(zip(*values, strict=True))
    random.shuffle(pairs)  # type: ignore[attr-defined]
    days, temps = [day for day, _ in pairs], [temp for _, temp in pairs]
    ends = band.low_c, band.high_c, band.margin_c
    assert window_events(days, temps, *ends) == window_events(*values, *ends)
    today = START + timedelta(days=400)
    assert window_state(days, temps, band, today) == window_state(*values, band, today)


@given(series, bands, st.lists(st.sampled_from([None, math.nan]), max_size=20))
def test_missing_days_change_nothing(
    values: tuple[list[date], list[float]], band: Window, missing: list[float | None]
) -> None:
    days, temps = values
    before = [START - timedelta(days=place) for place in range(len(missing))]
    ends = band.low_c, band.high_c, band.margin_c
    assert window_events([*before, *days], [*missing, *temps], *ends) == window_events(
        days, temps, *ends
    )


def test_a_missing_day_within_a_series_changes_nothing() -> None:
    days, temps = every_day(9.0, 10.5, 8.5, 12.0)
    holed: list[float | None] = [9.0, 10.5, None, 12.0]
    assert len(window_events(days, temps, 10.0, 20.0)) == 3
    assert len(window_events(days, holed, 10.0, 20.0)) == 1


def test_a_value_on_the_margin_has_not_left_though_the_difference_is_not_exact() -> None:
    """2.1 less 0.9 is 1.2000000000000002 in binary."""
    for low, margin, edge in ((2.1, 0.9, 1.2), (2.2, 1.0, 1.2), (2.2, 0.8, 1.4)):
        assert low - margin > edge
        assert len(window_events(*every_day(low, edge), low, 20.0, margin)) == 1
        assert len(window_events(*every_day(low, edge - 0.01), low, 20.0, margin)) == 2


def test_one_day_with_two_values_is_refused() -> None:
    with pytest.raises(BadInput, match="2026-04-16 has two temperatures"):
        window_events([TODAY, TODAY], [9.0, 12.0], 10.0, 20.0)


def test_days_and_values_must_be_as_many() -> None:
    with pytest.raises(BadInput, match="1 days and 2 temperatures"):
        window_state([TODAY], [9.0, 12.0], BAND, TODAY)


def test_an_open_end_never_leaves_on_that_side() -> None:
    events = window_events(*every_day(20.0, 27.0, 45.0, 25.9, 25.6), 26.7, None, 1.0)
    assert [event.what for event in events] == ["enters", "leaves"]
    assert events[1].temp_c == 25.6


# --- state ----------------------------------------------------------------------------------------


@given(series, bands)
def test_state_over_daily_values_agrees_with_the_events(
    values: tuple[list[date], list[float]], band: Window
) -> None:
    days, temps = every_day(*values[1])
    events = window_events(days, temps, band.low_c, band.high_c, band.margin_c)
    now = window_state(days, temps, band, TODAY)
    inside = bool(events) and events[-1].what == "enters"
    assert (now.state in ("entered", "staying")) == inside
    if inside:
        assert now.since == events[-1].day
        assert now.days_in == (TODAY - events[-1].day).days
    if now.state == "left":
        assert now.since == events[-1].day
        assert now.days_in <= 7


@given(series, bands, st.integers(0, 60))
def test_a_state_is_well_formed(
    values: tuple[list[date], list[float]], band: Window, later: int
) -> None:
    days, temps = values
    today = (days[-1] if days else START) + timedelta(days=later)
    now = window_state(days, temps, band, today)
    assert (now.since is not None) == (now.state in ("entered", "staying", "left"))
    assert (now.expected_on is not None) == (now.state == "heading")
    assert (now.state == "unknown") == (not days or later > 14)
    assert now.since is None or (now.since <= today and now.days_in == (today - now.since).days)
    assert window_level(now) in LEVELS


@given(series, bands)
def test_days_after_today_are_not_looked_at(
    values: tuple[list[date], list[float]], band: Window
) -> None:
    days, temps = values
    today = START + timedelta(days=100)
    known = [(day, temp) for day, temp in zip(days, temps, strict=True) if day <= today]
    assert window_state(days, temps, band, today) == window_state(
        [day for day, _ in known], [temp for _, temp in known], band, today
    )


@pytest.mark.parametrize(
    ("temps", "state", "level", "days_in"),
    [
        ((8.0, 9.5, 10.0), "entered", "watch", 0),
        ((9.9, *[12.0] * 8), "entered", "watch", 7),
        ((9.9, *[12.0] * 9), "staying", "watch", 8),
        ((9.9, *[12.0] * 15), "staying", "watch", 14),
        ((9.9, *[12.0] * 16), "staying", "calm", 15),
        ((9.0, 12.0, 11.0, 9.0, 9.4), "entered", "watch", 3),
        ((9.0, 12.0, 11.0, 10.0, 8.9), "left", "calm", 0),
        ((12.0, *[21.5] * 8), "left", "calm", 7),
        ((12.0, *[21.5] * 9), "outside", "calm", 0),
        ((5.0, 5.0, 5.0), "outside", "calm", 0),
        ((6.0, 6.5, 7.0, 7.5, 8.0), "heading", "watch", 0),
        ((26.0, 25.0, 24.0, 23.0), "heading", "watch", 0),
        ((5.0, 5.1, 5.2, 5.3), "outside", "calm", 0),
        ((9.99, 9.99, 9.99), "outside", "calm", 0),
    ],
)
def test_states_over_daily_values(
    temps: tuple[float, ...], state: State, level: Level, days_in: int
) -> None:
    now = window_state(*every_day(*temps), BAND, TODAY)
    assert (now.state, window_level(now), now.days_in) == (state, level, days_in)
    assert now.last_c == temps[-1]
    assert now.last_on == TODAY


def test_heading_says_when_and_how_fast() -> None:
    now = window_state(*every_day(6.0, 6.5, 7.0, 7.5, 8.0), BAND, TODAY)
    assert now.slope_c_per_day == pytest.approx(0.5)
    assert now.expected_on == TODAY + timedelta(days=4)


def test_heading_takes_the_place_of_left() -> None:
    now = window_state(*every_day(10.0, 6.0, 7.0, 8.0, 9.0), BAND, TODAY)
    assert now.state == "heading"


def test_a_trend_needs_three_values() -> None:
    assert window_state(*every_day(7.0, 9.0), BAND, TODAY).state == "outside"


def test_weekly_tests_are_enough_for_a_trend() -> None:
    now = window_state(*every_week(4.0, 6.8, 8.6), BAND, TODAY)
    assert now.state == "heading"
    assert now.expected_on == TODAY + timedelta(days=5)


def test_the_entering_day_between_two_tests_is_interpolated() -> None:
    """8 to 15 °C within a week reaches 10 after two days."""
    now = window_state(*every_week(6.0, 8.0, 15.0), BAND, TODAY)
    assert (now.state, now.since, now.since_is) == ("entered", TODAY - timedelta(days=5), "about")
    cooling = window_state(*every_week(30.0, 27.0, 13.0), BAND, TODAY)
    assert (cooling.since, cooling.since_is) == (TODAY - timedelta(days=3), "about")


@given(st.floats(-2.0, 9.9), st.floats(10.0, 20.0), st.integers(2, 21))
def test_an_interpolated_day_lies_between_the_two_tests(
    before_c: float, temp: float, gap: int
) -> None:
    days = [TODAY - timedelta(days=gap), TODAY]
    now = window_state(days, [before_c, temp], BAND, TODAY)
    assert now.since_is == "about"
    assert now.since is not None
    assert days[0] < now.since <= TODAY


@pytest.mark.parametrize(
    ("before_c", "state", "level"),
    [(15.0, "staying", "calm"), (8.0, "entered", "watch")],
)
def test_pieces_with_a_long_gap_between_them_are_not_joined(
    before_c: float, state: State, level: Level
) -> None:
    """A logger that was away: no interpolation across, and no news of what was known before."""
    days = [TODAY - timedelta(days=step) for step in (40, 39, 1, 0)]
    now = window_state(days, [before_c, before_c, 15.0, 15.0], BAND, TODAY)
    since: SinceIs = "or earlier"
    assert (now.state, now.since_is, now.since) == (state, since, days[2])
    assert window_level(now) == level
    assert now.slope_c_per_day is None


def test_a_pond_first_seen_inside_is_staying_and_calm() -> None:
    now = window_state([TODAY], [15.0], BAND, TODAY)
    assert (now.state, now.since_is, window_level(now)) == ("staying", "or earlier", "calm")
    assert window_level(now, {"new_fish"}) == "watch"


def test_old_readings_say_nothing() -> None:
    days, temps = every_day(12.0, 12.0, until=TODAY - timedelta(days=14))
    assert window_state(days, temps, BAND, TODAY).state == "staying"
    now = window_state(days, temps, BAND, TODAY + timedelta(days=1))
    assert (now.state, now.unknown_for, window_level(now)) == (
        "unknown",
        "readings too old",
        "unknown",
    )
    assert now.last_on == TODAY - timedelta(days=14)
    assert window_state([], [], BAND, TODAY).unknown_for == "no readings"


# --- a fall rather than a level -------------------------------------------------------------------

MOULD = Window(2.0, 15.0, needs_fall_c=5.0, fall_hours=48.0, fall_counts_days=21.0)


@pytest.mark.parametrize(
    ("temps", "state", "fell_days_ago"),
    [
        ((17.0, 17.0, 12.0), "entered", 0),
        ((17.0, 14.5, 12.0), "entered", 0),
        ((17.0, 15.0, 13.5, 12.0, 11.9), "outside", None),
        ((13.0, 8.0, 8.0), "entered", 1),
        ((12.0, 12.0, 12.0), "outside", None),
        ((22.0, 17.0, 17.0), "outside", None),
        ((13.0, 8.0, *[8.0] * 10), "staying", 10),
        ((13.0, 8.0, *[8.0] * 22), "outside", None),
    ],
)
def test_a_hazard_that_needs_a_fall(
    temps: tuple[float, ...], state: State, fell_days_ago: int | None
) -> None:
    now = window_state(*every_day(*temps), MOULD, TODAY)
    assert now.state == state
    expected = None if fell_days_ago is None else TODAY - timedelta(days=fell_days_ago)
    assert now.fell_on == expected


def test_a_fall_does_not_show_in_weekly_tests_and_nobody_is_sent() -> None:
    now = window_state(*every_week(14.0, 13.0, 8.0), MOULD, TODAY)
    assert (now.state, now.unknown_for, window_level(now)) == (
        "unknown",
        "fall not measured",
        "calm",
    )


def test_nothing_heads_for_a_hazard_that_needs_a_fall() -> None:
    assert window_state(*every_day(20.0, 19.0, 18.0, 17.0), MOULD, TODAY).state == "outside"


# --- level ----------------------------------------------------------------------------------------

STATES: tuple[State, ...] = ("outside", "heading", "entered", "staying", "left", "unknown")


@pytest.mark.parametrize("state", STATES)
def test_temperature_alone_never_asks_for_anybody_today(state: State) -> None:
    for days_in in (0, 10, 40):
        now = WindowState(state, days_in=days_in)
        assert window_level(now) != "act"
        assert window_level(now, {"rising_in_spring"}) != "act"


@pytest.mark.parametrize(
    ("state", "days_in", "raised_by", "level"),
    [
        ("entered", 3, {"crowding"}, "act"),
        ("entered", 3, {"rising_in_spring", "new_fish"}, "act"),
        ("heading", 0, {"new_fish"}, "watch"),
        ("staying", 10, {"new_fish"}, "watch"),
        ("staying", 40, {"new_fish"}, "watch"),
        ("staying", 40, {"rising_in_spring"}, "calm"),
        ("staying", 40, set(), "calm"),
        ("left", 1, {"new_fish"}, "calm"),
        ("outside", 0, {"new_fish"}, "calm"),
    ],
)
def test_preconditions_raise_the_level(
    state: State, days_in: int, raised_by: set[str], level: Level
) -> None:
    assert window_level(WindowState(state, days_in=days_in), raised_by) == level


def test_levels_stand_worst_first() -> None:
    assert sorted(LEVELS, key=ORDER.__getitem__) == ["act", "watch", "unknown", "calm"]
    assert worst(["calm", "act", "unknown"]) == "act"


# --- spring, settings, first days -----------------------------------------------------------------


def test_rising_in_spring_is_a_rise_after_cold_water() -> None:
    assert rising_in_spring(track(*every_day(6.0, 7.0, 8.0, 9.0, 10.0), TODAY))
    assert not rising_in_spring(track(*every_day(16.0, 17.0, 18.0), TODAY))
    assert not rising_in_spring(track(*every_day(10.0, 9.0, 8.0), TODAY))
    assert not rising_in_spring(track(*every_day(8.0, 8.05, 8.1), TODAY))
    assert not rising_in_spring(track([], [], TODAY))


def test_settings_come_from_the_numbers_of_a_rule() -> None:
    params = rules()["window_khv"].params
    assert settings_of(params) == USUAL_SETTINGS
    own = settings_of({**params, "watch_days": 30.0})
    assert own == WindowSettings(watch_days=30.0)


@pytest.mark.parametrize("code", [code for code in rules() if code.startswith("window_")])
def test_the_band_comes_from_the_numbers_of_a_rule(code: str) -> None:
    window = window_of(rules()[code].params)
    published = hazards()[code.removeprefix("window_")].window
    assert published is not None
    assert (window.low_c, window.high_c, window.margin_c) == (
        published.low_c,
        published.high_c,
        published.margin_c,
    )
    assert (window.needs_fall_c, window.fall_hours, window.fall_counts_days) == (
        published.needs_fall_c,
        published.fall_hours,
        published.fall_counts_days,
    )


def test_a_run_of_warm_days_is_broken_by_a_missing_day() -> None:
    days, _ = every_day(*range(6))
    assert first_day_at_least(days, [15.0, 15.0, None, 15.0, 15.0, 15.0], 15.0, 3) == days[3]
    assert first_day_at_least(days, [15.0, None, 15.0, 14.0, 15.0, 15.0], 15.0, 3) is None
    assert first_day_at_least([], [], 15.0) is None


def test_one_track_serves_many_bands() -> None:
    days, temps = every_day(8.0, 9.0, 10.0, 11.0, 12.0)
    seen = track(days, temps, TODAY)
    for hazard in hazards().values():
        if hazard.window is not None:
            assert state_in(seen, hazard.window) == window_state(days, temps, hazard.window, TODAY)
