"""What is said of estimates: with their interval, what they rest on, what is to be settled."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from uuid import UUID

import pytest

from store.warmth.estimate import (
    APART,
    NOT_YET,
    TOO_LITTLE,
    Doubt,
    Estimate,
    EstimatedDay,
    Neighbour,
)
from store.warmth.words import doubt_says, grounds, in_words, why_not

TODAY = date(2026, 5, 20)
POND, LOWER, UPPER = UUID(int=1), UUID(int=2), UUID(int=3)
DAY = EstimatedDay(TODAY, 16.42, 15.1, 17.74)
WHOLE = Estimate(
    POND, TODAY, (DAY,), 15.23, 41.6, TODAY - timedelta(days=20), 12.9,
    (
        Neighbour(LOWER, 0.93, TODAY - timedelta(days=1), 1.21),
        Neighbour(UPPER, 0.55, TODAY, -0.04),
    ),
    own_doubted=False,
)  # fmt: skip
ONE = Doubt(POND, TODAY, TODAY, 1, 61.0, 15.4, fahrenheit=True)


def test_an_estimate_is_about_and_has_its_interval() -> None:
    assert in_words(DAY) == "about 16.4 °C, 15.1 to 17.7"
    assert in_words(EstimatedDay(TODAY, 0.04, 0.0, 0.96)) == "about 0.0 °C, 0.0 to 1.0"


def test_what_it_rests_on() -> None:
    assert grounds(WHOLE, {LOWER: "Ash Court, Lower pond"}) == (
        "Its season rests on 42 separate readings of its own: the season alone would say 15.2 °C "
        "of today.",
        "Its own last reading was 12.9 °C 20 days ago (30 Apr 2026).",
        "Ash Court, Lower pond has gone with it very closely (likeness 0.93 of 1); it was read "
        "yesterday, 1.2 °C above its season.",
        "Another pond has gone with it fairly closely (likeness 0.55 of 1); it was read today, "
        "just as its season.",
    )


def test_what_it_rests_on_where_little_is_known() -> None:
    doubted = replace(WHOLE, own_doubted=True, counted=3.0, neighbours=())
    said = grounds(doubted, {})
    assert "leans on ponds like it" in said[0]
    assert said[1].endswith("is doubted and left aside.")
    assert said[2] == "No pond that goes with it was read within a month."
    silent = replace(WHOLE, counted=0.2, own_last_on=None, own_last_c=None)
    said = grounds(silent, {})
    assert said[0].startswith("Its season is taken from ponds like it")
    assert said[1] == "It has no reading of its own within two months."
    five = replace(WHOLE, neighbours=WHOLE.neighbours * 3)
    assert grounds(five, {})[-1] == "3 ponds more lend their readings."
    four = replace(WHOLE, neighbours=WHOLE.neighbours * 2)
    assert grounds(four, {})[-1] == "One pond more lends its readings."


@pytest.mark.parametrize("code", [NOT_YET, APART, TOO_LITTLE])
def test_no_estimate_is_a_sentence_without_a_number(code: str) -> None:
    said = why_not(code)
    assert said.endswith(".")
    assert not any(sign.isdigit() for sign in said)
    assert why_not("") == ""


def test_a_doubt_says_what_to_settle() -> None:
    said = doubt_says(ONE)
    assert "61.0 °C, where about 15.4 °C was to be expected (45.6 °C warmer)" in said
    assert "Was it 61.0 °F? That would be 16.1 °C" in said
    run = ONE._replace(first=TODAY - timedelta(days=9), readings=6, read_c=4.0, fahrenheit=False)
    said = doubt_says(run)
    assert said.startswith("6 temperatures from 11 May 2026 to 20 May 2026 are hard to believe")
    assert "(11.4 °C colder)" in said
    assert "thermometer" in said
