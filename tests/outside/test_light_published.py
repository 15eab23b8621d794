"""Sunrise and sunset against the worked example and the method of a published almanac.

Almanac for Computers 1990, Nautical Almanac Office, United States Naval Observatory, Washington DC:
the section on sunrise and sunset. Its method and its example, Wayne (New Jersey) on 25 June 1990,
are given as E. Williams reprints them (edwilliams.org); `store.rounds.day.light` goes another way,
that of Meeus. Both take the sun's centre 50' below the horizon.
"""

from __future__ import annotations

from datetime import date, timedelta
from math import acos, asin, atan, cos, degrees, floor, radians, sin, tan
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.rounds.day.light import light_on, middle_of
from store.travel.place import Place

UTC = ZoneInfo("UTC")
WAYNE = Place(40.9, -74.3)
NEW_YORK = ZoneInfo("America/New_York")


def almanac_ut_h(place: Place, day: date, *, rising: bool) -> float:
    """Sunrise or sunset by the almanac's method, in universal time [h from midnight]."""
    number, east_h = day.timetuple().tm_yday, place.longitude / 15
    about = number + ((6 if rising else 18) - east_h) / 24
    anomaly = 0.9856 * about - 3.289
    true = anomaly + 1.916 * sin(radians(anomaly)) + 0.020 * sin(radians(2 * anomaly)) + 282.634
    true %= 360
    ascension = degrees(atan(0.91764 * tan(radians(true)))) % 360
    ascension += floor(true / 90) * 90 - floor(ascension / 90) * 90
    sin_dec = 0.39782 * sin(radians(true))
    cos_dec, north = cos(asin(sin_dec)), radians(place.latitude)
    cos_h = (-0.01454 - sin_dec * sin(north)) / (cos_dec * cos(north))
    hour = 360 - degrees(acos(cos_h)) if rising else degrees(acos(cos_h))
    return (hour / 15 + ascension / 15 - 0.06571 * about - 6.622 - east_h) % 24


def test_the_worked_example_of_the_almanac() -> None:
    day = date(1990, 6, 25)
    # Its UT of 9.441 h is 05:26 by the clock of New Jersey in summer.
    assert almanac_ut_h(WAYNE, day, rising=True) == pytest.approx(9.441, abs=0.005)
    assert light_on(WAYNE, day, NEW_YORK).rises == pytest.approx(5 * 60 + 26, abs=1)


@given(
    st.floats(-58.0, 58.0), st.floats(-20.0, 20.0),
    st.dates(date(1950, 1, 1), date(2049, 12, 31)),
)  # fmt: skip
def test_both_methods_agree_to_minutes(north: float, east: float, day: date) -> None:
    """The almanac states 2 min up to 65° for its half of the century; nearer the poles it is less.

    Its day number knows no leap years, which costs up to a day of the sun's way.
    """
    place = Place(north, east)
    light = light_on(place, day, UTC)
    for minute, rising in ((light.rises, True), (light.sets, False)):
        theirs = almanac_ut_h(place, day, rising=rising) * 60
        assert minute == pytest.approx(theirs, abs=6)


def test_at_the_equinox_the_day_is_twelve_hours_and_some_minutes() -> None:
    # 50' of the sun's edge and of refraction on either side, 4 min a degree on the equator.
    light = light_on(Place(0.0, 0.0), date(2026, 3, 20), UTC)
    assert light.sets - light.rises == pytest.approx(720 + 2 * 4 * 50 / 60, abs=1)


def test_where_the_sun_stays_up_or_down() -> None:
    tromso, oslo = Place(69.65, 18.96), ZoneInfo("Europe/Oslo")
    summer, winter = (light_on(tromso, date(2026, month, 21), oslo) for month in (6, 12))
    assert (summer.rises, summer.sets, summer.polar) == (0, 1440, "all day")
    assert (winter.rises, winter.sets, winter.polar) == (720, 720, "all night")
    reykjavik = light_on(Place(64.14, -21.9), date(2026, 6, 21), ZoneInfo("Atlantic/Reykjavik"))
    assert reykjavik.rises == pytest.approx(176, abs=2)
    assert reykjavik.sets == 1440


def test_the_clock_on_the_wall_is_that_of_the_day() -> None:
    """The hour of the change, and no more, between two days around it."""
    london, zone = Place(51.5, 0.0), ZoneInfo("Europe/London")
    before = light_on(london, date(2026, 3, 28), zone)
    after = light_on(london, date(2026, 3, 28) + timedelta(days=1), zone)
    assert after.rises - before.rises == pytest.approx(60 - 2, abs=1)


def test_the_middle_of_places() -> None:
    assert middle_of([]) is None
    assert middle_of([Place(50.0, 0.0), Place(52.0, 2.0)]) == Place(51.0, 1.0)
