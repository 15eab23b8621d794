"""Slopes, swings and degree-days against check values on measured stream and pond temperatures.

Temperatures: NEON (National Ecological Observatory Network), Temperature (PRT) in surface water
DP1.20053.001 and Temperature at specific depth in surface water DP1.20264.001, daily means, CC0
1.0. The check values were reckoned apart from this project, with pandas and scipy.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from published import published

from store.water.trends import degree_days, largest_change_24h, theil_sen


@pytest.fixture(scope="module")
def series() -> dict[str, dict[date, float]]:
    found: dict[str, dict[date, float]] = {}
    for row in published("neon_daily_temperature"):
        found.setdefault(row["site"], {})[date.fromisoformat(row["date"])] = float(row["temp_c"])
    return found


# Printed to five decimals; the median of slopes that share two decimals is exact to that.
@pytest.mark.parametrize(
    ("site", "before", "per_day"),
    [
        ("HOPB", date(2021, 5, 1), 0.29778),
        ("MCDI", date(2022, 5, 1), 0.64250),
        ("PRIN", date(2021, 3, 15), 0.64556),
        ("PRPO", date(2021, 6, 15), 0.40000),
    ],
)
def test_theil_sen_slope_of_fourteen_days(series, site, before, per_day) -> None:
    days = [before - timedelta(days=back) for back in range(14, 0, -1)]
    kept = [day for day in days if day in series[site]]
    slope = theil_sen([float(day.toordinal()) for day in kept], [series[site][day] for day in kept])
    assert slope is not None
    assert slope.per_day == pytest.approx(per_day, abs=5e-6)
    assert slope.n == len(kept)


@pytest.mark.parametrize(
    ("site", "first", "total"),
    [
        ("HOPB", date(2021, 4, 1), 242.08),
        ("MCDI", date(2022, 4, 1), 374.21),
        ("PRIN", date(2021, 4, 1), 432.65),
        ("PRPO", date(2021, 6, 1), 635.28),
    ],
)
def test_degree_days_of_thirty_days(series, site, first, total) -> None:
    days = [first + timedelta(days=on) for on in range(30)]
    assert degree_days(series[site].get(day) for day in days) == pytest.approx(total, abs=0.005)


@pytest.mark.parametrize(
    ("site", "change", "on"),
    [
        ("HOPB", -4.89, date(2021, 4, 16)),
        ("MCDI", -4.07, date(2022, 10, 7)),
        ("PRIN", -6.04, date(2021, 12, 19)),
        ("PRPO", -2.97, date(2021, 8, 21)),
    ],
)
def test_largest_change_from_day_to_day(series, site, change, on) -> None:
    days = list(series[site])
    times = [datetime(day.year, day.month, day.day, 12, tzinfo=UTC) for day in days]
    found = largest_change_24h(times, [series[site][day] for day in days])
    assert found is not None
    assert found.size == pytest.approx(change, abs=0.005)
    assert found.to_time.date() == on
