"""Where the oxygen was taken; common practice."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from store.water.doubtful import doubts_of
from store.water.understood import ReadingValue
from store.water.water_tests import NewTest


def taken(place: str, code: str = "oxygen_mg_l") -> NewTest:
    reading = ReadingValue(code, 8.0, None, None, "=", "8", "", "")
    return NewTest(datetime(2026, 3, 14, 12, tzinfo=UTC), (reading,), place=place)


@pytest.mark.parametrize(
    "place", ["under the waterfall", "by the Inlet", "air stone", "at the fall"]
)
def test_oxygen_taken_where_the_water_is_aired_is_doubted(place: str) -> None:
    assert [place in one and "just been aired" in one for one in doubts_of(taken(place))] == [True]
    assert doubts_of(taken(place, "ph")) == ()


@pytest.mark.parametrize("place", ["", "skimmer", "deep end", "fallow corner", "autumn leaves"])
def test_oxygen_of_other_places_is_not(place: str) -> None:
    assert doubts_of(taken(place)) == ()


def test_a_hostile_place_is_told_harmlessly() -> None:
    said = " ".join(doubts_of(taken("fall \x1b[2J" + "x" * 500)))
    assert "\x1b" not in said
    assert len(said) < 200
