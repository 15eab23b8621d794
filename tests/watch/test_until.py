"""The day until which a concern rests, as people type it."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.errors import BadInput
from store.watch.until import LONGEST_DAYS, typed_until

WEDNESDAY = date(2026, 11, 25)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("3 d", "2026-11-28"),
        ("3d", "2026-11-28"),
        ("1 day", "2026-11-26"),
        ("tomorrow", "2026-11-26"),
        ("2 weeks", "2026-12-09"),
        (" 2  W ", "2026-12-09"),
        ("1 month", "2026-12-25"),
        ("3 months", "2027-02-25"),
        ("Mon", "2026-11-30"),
        ("thursday", "2026-11-26"),
        ("Wed", "2026-12-02"),
        ("12 Dec", "2026-12-12"),
        ("12 december", "2026-12-12"),
        ("24 Nov", "2027-11-24"),
        ("1 Feb 2027", "2027-02-01"),
        ("2026-12-12", "2026-12-12"),
    ],
)
def test_a_day_as_people_type_it(text: str, day: str) -> None:
    assert typed_until(text, WEDNESDAY).isoformat() == day


def test_a_month_from_the_last_day_ends_on_the_last_day() -> None:
    assert typed_until("1 month", date(2027, 1, 31)) == date(2027, 2, 28)
    assert typed_until("1 month", date(2028, 1, 31)) == date(2028, 2, 29)
    assert typed_until("3 months", date(2026, 11, 30)) == date(2027, 2, 28)


@pytest.mark.parametrize(
    "text",
    ["", "soon", "monkey", "12 marbles", "0 d", "400 d", "31 Feb", "2026-11-25", "2026-13-01",
     "2020-01-01", "3 d ago", "yesterday", "25 Nov", "2 fortnights", "٣ d", "[/x]", "\x1b[2J", "x" * 500],
)  # fmt: skip
def test_what_is_no_day_ahead_is_refused_at_its_field(text: str) -> None:
    with pytest.raises(BadInput) as refused:
        typed_until(text, WEDNESDAY)
    assert refused.value.field == "until"
    assert "\x1b" not in refused.value.message
    assert len(refused.value.message) < 160


@given(st.dates(date(2000, 1, 1), date(2100, 1, 1)), st.integers(1, LONGEST_DAYS))
def test_every_day_of_the_coming_year_can_be_typed(today: date, ahead: int) -> None:
    day = today + timedelta(days=ahead)
    assert typed_until(day.isoformat(), today) == day
    assert typed_until(f"{ahead} d", today) == day
    if ahead < 7:
        assert typed_until(f"{day:%A}", today) == day
