"""A reading against its range, and the words that go with it."""

from __future__ import annotations

import re
from copy import deepcopy

import pytest

from store.errors import FactsTrouble
from store.facts.entry import file_tables, refuse
from store.facts.readings import FILE, read_reading_words, reading_words
from store.facts.sources import source_standings
from store.reports.kept.water import figure_said, measured, value_said
from store.reports.reading import Edge, InForce, Measured, reading_said, verdict_of
from store.water.parameters import PARAMETERS
from store.water.understood import ReadingValue

RANGE = InForce(Edge(6.7, "6.7", "a"), Edge(8.5, "8.5", "b"))


@pytest.mark.parametrize(
    ("least", "most", "verdict"),
    [
        (7.0, 7.0, "within"), (6.7, 6.7, "within"), (8.5, 8.5, "within"),
        (8.6, 8.6, "too high"), (6.6, 6.6, "too low"), (8.0, 9.0, "perhaps too high"),
        (6.0, 7.0, "perhaps too low"), (9.0, None, "too high"), (7.0, None, "perhaps too high"),
        (None, 6.0, "too low"), (None, 7.0, "perhaps too low"),
    ],
)  # fmt: skip
def test_verdicts(least: float | None, most: float | None, verdict: str) -> None:
    assert verdict_of(Measured("ph", "", least, most), RANGE) == verdict


def test_ranges_in_words() -> None:
    assert RANGE.said == "6.7 to 8.5"
    assert InForce(high=RANGE.high, unit="mg/L").said == "at most 8.5 mg/L"
    assert InForce(low=RANGE.low).said == "at least 6.7"
    assert InForce().said == ""
    assert verdict_of(Measured("ph", "7", 7.0, 7.0), InForce()) == "no range set"
    assert RANGE.sources == ("a", "b")


def reading(code: str, value: float, bound: str, **more: object) -> ReadingValue:
    usual = {"low": None, "high": None, "typed": str(value), "unit": "mg/L", "form": ""}
    return ReadingValue(code, value, bound=bound, **{**usual, **more})  # type: ignore[arg-type]


def test_bounds_reach_the_verdict() -> None:
    assert measured(reading("nitrite_mg_l", 0.05, "<", high=0.05)).least == 0.0
    assert measured(reading("nitrite_mg_l", 0.05, "<", high=0.05)).most == 0.05
    assert measured(reading("nitrite_mg_l", 8.0, ">", low=8.0)).most is None
    between = measured(reading("nitrite_mg_l", 0.5, "~", low=0.25, high=0.5, typed="0.25-0.5"))
    assert (between.least, between.most) == (0.25, 0.5)
    degrees = measured(reading("alkalinity_mg_l", 107.088, "=", unit="dKH", typed="6"))
    assert degrees.least == pytest.approx(6.0, abs=0.001)


def test_values_in_words_and_in_cells() -> None:
    below = reading("nitrite_mg_l", 0.05, "<", high=0.05, typed="<0.05", form="no2")
    assert value_said(below) == "below 0.05 mg/L"
    assert figure_said(below) == "<0.05"
    trace = reading("nitrite_mg_l", 0.0, ">", low=0.0, typed="trace")
    assert (value_said(trace), figure_said(trace)) == ("trace", "trace")
    unknown = reading("tan_mg_l", 0.5, "=", typed="0.5", form="unknown")
    assert figure_said(unknown) == "0.50?"


def test_the_side_decides_the_words() -> None:
    words = reading_words()["oxygen_mg_l"]
    low = reading_said(Measured("oxygen_mg_l", "4.1 mg/L", 4.1, 4.1), InForce(RANGE.low), words)
    assert words.low in low.means
    assert low.advice == (words.do_low,)
    good = reading_said(Measured("oxygen_mg_l", "8 mg/L", 8.0, 8.0), InForce(RANGE.low), words)
    assert good.advice == ()
    assert "within its range" in good.means


def test_every_reading_has_words_and_none_holds_a_number() -> None:
    assert set(PARAMETERS) <= set(reading_words())
    for one in reading_words().values():
        for said in (one.says, one.low, one.high, one.do_low, one.do_high, one.never):
            assert not re.search(r"\d", said), said
        assert one.standing == "common practice"


@pytest.mark.parametrize(
    ("field", "value"), [("says", ""), ("source", "nobody"), ("dose", "a spoonful")]
)
def test_a_fault_of_the_file_is_found(field: str, value: str) -> None:
    raw = deepcopy(dict(file_tables(FILE)))
    raw["ph"][field] = value
    found, findings = read_reading_words(raw, source_standings())
    assert "ph" not in found
    with pytest.raises(FactsTrouble, match="ph"):
        refuse(findings)
