"""Windows and trends over four measured years, against figures reckoned without this project.

The series: NEON daily mean water temperature, see `data/README.md`. The figures beside them were
made with pandas, numpy and scipy from the same file.
"""

from __future__ import annotations

import csv
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from store.facts.hazards import Window
from store.watch.track import first_day_at_least
from store.watch.windows import window_events, window_state
from store.water.trends import degree_days, largest_change_24h, theil_sen

FILE = Path(__file__).parent / "data" / "neon_daily_temperature.csv"
YEARS = {"HOPB": 2021, "MCDI": 2022, "PRIN": 2021, "PRPO": 2021}


def _read() -> dict[str, dict[date, float]]:
    series: dict[str, dict[date, float]] = {site: {} for site in YEARS}
    with FILE.open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            series[row["site"]][date.fromisoformat(row["date"])] = float(row["temp_c"])
    return series


SERIES = _read()

# Band 10 to 20 °C, margin 1: E enters, L leaves.
EVENTS = {
    "HOPB": "E 04-08 10.11, L 04-13 8.30, E 04-14 10.83, L 04-16 5.21, E 04-28 10.47, L 05-01 8.86, "
    "E 05-03 11.18, L 06-28 21.58, E 07-02 18.71, L 08-12 22.24, E 08-16 18.69, L 08-22 21.06, "
    "E 08-23 19.93, L 08-26 21.16, E 08-29 18.60, L 10-29 8.04, E 10-31 11.14, L 11-02 8.72",
    "MCDI": "E 03-29 10.28, L 03-31 8.02, E 04-02 11.23, L 05-11 21.01, E 05-14 19.30, L 06-12 22.00, "
    "E 06-27 19.72, L 07-02 21.40, E 09-12 19.87, L 09-18 21.86, E 09-22 19.96, L 11-12 8.83",
    "PRIN": "E 01-24 10.17, L 01-26 8.82, E 01-30 10.01, L 02-01 6.99, E 02-04 11.29, L 02-05 8.63, "
    "E 02-24 11.54, L 05-27 22.62, E 05-30 19.99, L 06-08 21.84, E 09-22 19.68, L 11-19 7.97, "
    "E 11-21 12.04, L 11-23 8.55, E 11-24 10.75, L 11-26 7.08, E 12-01 10.35, L 12-07 7.08, "
    "E 12-10 11.34, L 12-12 6.04, E 12-15 13.77, L 12-19 7.46, E 12-24 11.28",
    "PRPO": "E 05-01 10.56, L 06-05 21.76, E 06-21 19.86, L 06-24 21.13, E 08-13 19.16, L 08-15 21.54, "
    "E 08-22 19.30, L 10-14 8.72",
}  # fmt: skip

# First day at least so warm, and first day of three such days in a row.
FIRST_DAYS = {
    "HOPB": {10: ("04-08", "04-08"), 15: ("05-19", "05-19"), 20: ("06-09", "06-27")},
    "MCDI": {10: ("03-29", "04-02"), 15: ("04-12", "04-22"), 20: ("05-10", "05-10")},
    "PRIN": {10: ("01-24", "02-27"), 15: ("03-10", "03-10"), 20: ("05-09", "05-26")},
    "PRPO": {10: ("05-01", "05-01"), 15: ("05-15", "05-15"), 20: ("06-04", "06-04")},
}

DEGREE_DAYS = {"HOPB": (4, 242.08), "MCDI": (4, 374.21), "PRIN": (4, 432.65), "PRPO": (6, 635.28)}

LARGEST_CHANGES = {
    "HOPB": (-4.89, "04-16"),
    "MCDI": (-4.07, "10-07"),
    "PRIN": (-6.04, "12-19"),
    "PRPO": (-2.97, "08-21"),
}

SLOPES = {
    "HOPB": ("05-01", 0.29778),
    "MCDI": ("05-01", 0.64250),
    "PRIN": ("03-15", 0.64556),
    "PRPO": ("06-15", 0.40000),
}


def _day(site: str, month_day: str) -> date:
    return date.fromisoformat(f"{YEARS[site]}-{month_day}")


@pytest.mark.parametrize(
    ("site", "days"), [("HOPB", 365), ("MCDI", 365), ("PRIN", 364), ("PRPO", 209)]
)
def test_the_slice_is_whole(site: str, days: int) -> None:
    assert len(SERIES[site]) == days


@pytest.mark.parametrize("site", YEARS)
def test_window_events_are_those_of_the_measured_year(site: str) -> None:
    found = window_events(list(SERIES[site]), list(SERIES[site].values()), 10.0, 20.0, 1.0)
    said = ", ".join(
        f"{'E' if event.what == 'enters' else 'L'} {event.day:%m-%d} {event.temp_c:.2f}"
        for event in found
    )
    assert said == EVENTS[site]


@pytest.mark.parametrize("site", YEARS)
def test_the_state_of_every_day_agrees_with_the_events(site: str) -> None:
    """Day by day, as a practice would have seen it, with daily values and no gap."""
    series = SERIES[site]
    events = window_events(list(series), list(series.values()), 10.0, 20.0, 1.0)
    days = sorted(series)
    inside_since = None
    at = {event.day: event for event in events}
    checked = 0
    for place, today in enumerate(days):
        if today in at:
            inside_since = today if at[today].what == "enters" else None
        seen = days[max(0, place - 200) : place + 1]
        now = window_state(seen, [series[day] for day in seen], Window(10.0, 20.0), today)
        assert (now.state in ("entered", "staying")) == (inside_since is not None)
        if now.since_is == "measured" and inside_since is not None:
            assert now.since == inside_since
            checked += 1
    assert checked > 90


@pytest.mark.parametrize("site", YEARS)
@pytest.mark.parametrize("at_least_c", [10, 15, 20])
def test_first_days_at_a_temperature(site: str, at_least_c: int) -> None:
    days, temps = list(SERIES[site]), list(SERIES[site].values())
    single, run = FIRST_DAYS[site][at_least_c]
    assert first_day_at_least(days, temps, at_least_c) == _day(site, single)
    assert first_day_at_least(days, temps, at_least_c, run_days=3) == _day(site, run)


def test_a_day_at_exactly_the_temperature_counts() -> None:
    """15.00 on 22 April opens the run at MCDI."""
    assert SERIES["MCDI"][date(2022, 4, 22)] == 15.0


@pytest.mark.parametrize("site", YEARS)
def test_degree_days_of_a_month(site: str) -> None:
    month, expected = DEGREE_DAYS[site]
    daily = [temp for day, temp in SERIES[site].items() if day.month == month]
    assert len(daily) == 30
    assert degree_days(daily, 0.0) == pytest.approx(expected, abs=0.005)


@pytest.mark.parametrize("site", YEARS)
def test_largest_change_from_day_to_day(site: str) -> None:
    times = [datetime(day.year, day.month, day.day) for day in SERIES[site]]  # noqa: DTZ001
    found = largest_change_24h(times, list(SERIES[site].values()))
    size, to_day = LARGEST_CHANGES[site]
    assert found is not None
    assert found.size == pytest.approx(size, abs=0.005)
    assert found.to_time.date() == _day(site, to_day)


@pytest.mark.parametrize("site", YEARS)
def test_slope_of_the_fourteen_days_before(site: str) -> None:
    month_day, expected = SLOPES[site]
    until = _day(site, month_day)
    days = [day for day in SERIES[site] if until - timedelta(days=14) <= day < until]
    found = theil_sen([day.toordinal() for day in days], [SERIES[site][day] for day in days])
    assert found is not None
    assert found.n == 14
    assert found.per_day == pytest.approx(expected, abs=5e-6)
