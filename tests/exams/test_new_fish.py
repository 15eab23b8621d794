"""Until when fish that came are watched: the times from contact to deaths of Yuasa et al."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from store.exams.new_fish import watch_new_fish

DAY = date(2026, 5, 1)


@pytest.mark.parametrize(
    ("temp_c", "days"), [(16.0, 52), (23.0, 20), (20.0, 52), (28.0, 14), (10.0, 60), (None, 52)]
)
def test_the_longest_published_time_at_the_water_counts(temp_c: float | None, days: int) -> None:
    """21 to 52 days at 16 °C, 5 to 20 at 23 °C, 7 to 14 at 28 °C: Yuasa et al."""
    found = watch_new_fish(DAY, temp_c)
    assert found is not None
    assert found.until == DAY + timedelta(days=days)
    assert "Yuasa" in found.said
    assert found.short.startswith("keep apart until ")


def test_cold_water_and_an_unknown_temperature_are_said() -> None:
    cold, unknown = watch_new_fish(DAY, 10.0), watch_new_fish(DAY, None)
    assert cold is not None
    assert unknown is not None
    assert "slower in colder water" in cold.said
    assert "temperature not known" in unknown.said
