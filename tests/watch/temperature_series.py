"""Temperature series and bands, drawn or written down, for the tests of windows."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from hypothesis import strategies as st

from store.facts.hazards import Window

START = date(2026, 3, 1)
BAND = Window(10.0, 20.0)
TODAY = date(2026, 4, 16)

temperatures = st.floats(-2.0, 35.0).map(lambda value: round(value, 2))


def days_from(steps: Sequence[int]) -> list[date]:
    """Days that lie so many days apart."""
    day = START
    found = []
    for step in steps:
        day += timedelta(days=step)
        found.append(day)
    return found


series = st.lists(st.tuples(st.integers(1, 40), temperatures), max_size=60).map(
    lambda pairs: (days_from([step for step, _ in pairs]), [temp for _, temp in pairs])
)
bands = st.tuples(temperatures, st.floats(0.0, 15.0), st.floats(0.0, 3.0)).map(
    lambda band: Window(band[0], band[0] + round(band[1], 2), margin_c=round(band[2], 2))
)


def every_day(*temps_c: float, until: date = TODAY) -> tuple[list[date], list[float]]:
    """A value a day, the last on `until`."""
    first = until - timedelta(days=len(temps_c) - 1)
    return [first + timedelta(days=step) for step in range(len(temps_c))], list(temps_c)


def every_week(*temps_c: float, until: date = TODAY) -> tuple[list[date], list[float]]:
    """A value a week, the last on `until`."""
    first = until - timedelta(days=7 * (len(temps_c) - 1))
    return [first + timedelta(days=7 * step) for step in range(len(temps_c))], list(temps_c)
