"""A glance at a window never tells another thing than the close look."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from temperature_series import BAND, START, TODAY, bands, every_day, series

from store.facts.hazards import Window
from store.watch.glance import at_a_glance, band_of, glance
from store.watch.track import track
from store.watch.windows import state_in, window_level


@given(series, bands, st.integers(0, 20), st.booleans())
def test_a_glance_agrees_with_a_close_look(
    values: tuple[list[date], list[float]], band: Window, later: int, daily: bool
) -> None:
    days, temps = every_day(*values[1]) if daily else values
    today = (days[-1] if days else START) + timedelta(days=later)
    seen = track(days, temps, today)
    now = glance(seen)
    close = state_in(seen, band)
    assert (now is None) == (close.state == "unknown")
    if now is not None and (said := at_a_glance(now, band_of(band))) != "look":
        assert close.state in {"outside": ("outside", "left"), "staying": ("staying",)}[said]
        assert window_level(close) == "calm"


@pytest.mark.parametrize(
    ("temps", "window", "said"),
    [
        ([25.0] * 30, Window(2.0, 15.0), "outside"),
        ([5.0] * 30, BAND, "outside"),
        ([15.0] * 30, BAND, "staying"),
        ([15.0] * 30, Window(2.0, 15.0, needs_fall_c=5.0), "look"),
        ([15.0] * 10, BAND, "look"),
        ([9.5] * 30, BAND, "look"),
        ([*[5.0] * 29, 12.0], BAND, "look"),
        ([*[12.0] * 29, 5.0], BAND, "outside"),
        ([*[12.0] * 29, 9.5], BAND, "staying"),
        ([*[5.0] * 20, *[12.0] * 9, 9.5], BAND, "look"),
        ([step * 0.3 for step in range(28)], BAND, "look"),
    ],
)
def test_what_a_glance_can_tell(temps: list[float], window: Window, said: str) -> None:
    now = glance(track(*every_day(*temps), TODAY))
    assert now is not None
    assert at_a_glance(now, band_of(window)) == said
