"""Seasons of a test plan as people write them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.errors import BadInput
from store.water.plan import read_seasons, said_seasons, typed_seasons


@pytest.mark.parametrize(
    ("text", "first", "last", "days"),
    [
        ("1 Nov – 28 Feb every 30 d", "11-01", "02-28", 30),
        ("1 Nov - 28 Feb every 30 days", "11-01", "02-28", 30),
        ("1st November to 28th February, every 30d", "11-01", "02-28", 30),
        ("Nov 1 until Feb 28: every 2 weeks", "11-01", "02-28", 14),
        ("nov–feb monthly", "11-01", "02-29", 30),
        ("Apr - Sept weekly", "04-01", "09-30", 7),
        ("1. May — 31. Aug every week", "05-01", "08-31", 7),
        ("1 jun to 5 jun daily.", "06-01", "06-05", 1),
    ],
)
def test_a_season_is_read(text: str, first: str, last: str, days: int) -> None:
    assert typed_seasons(text) == [{"from": first, "to": last, "every_days": days}]


def test_several_seasons_and_none() -> None:
    assert len(typed_seasons("Mar - May weekly; Nov - Feb every 30 d\n Jun - Aug daily")) == 3
    assert typed_seasons("  ") == []


@pytest.mark.parametrize(
    "text",
    ["winter", "1 Nov – 28 Feb", "30 Feb – 1 Mar weekly", "1/11 - 28/2 weekly", "Ju - Aug weekly",
     "1 Nov – 28 Feb every 900 d", "1 Nov – 28 Feb every 0 d", "Nov – Dec – Feb weekly",
     "1 Nov 2 – 3 Feb weekly", "[/x] – 1 Feb weekly"],
)  # fmt: skip
def test_what_is_no_season_is_refused_at_its_field(text: str) -> None:
    with pytest.raises(BadInput) as refused:
        typed_seasons(text)
    assert refused.value.field == "test_seasons"


DAYS = st.dates().map(lambda day: f"{day:%m-%d}")


@given(st.lists(st.tuples(DAYS, DAYS, st.integers(1, 366)), max_size=4))
def test_what_is_said_is_read_again(seasons: list[tuple[str, str, int]]) -> None:
    entries: list[dict[str, object]] = [
        {"from": first, "to": last, "every_days": days} for first, last, days in seasons
    ]
    assert typed_seasons(said_seasons(entries)) == entries
    assert len(read_seasons(entries)) == len(entries)
