"""What an examination found, as a concern until it is answered. All of it common practice."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.facts.hazards import hazards
from store.watch.concern import Concern
from store.watch.found import OpenFinding
from store.watch.judge import Rest, judge, rule_set
from store.watch.kinds import KINDS
from store.watch.rulebook import published
from store.watch.said import said_from_packed
from store.watch.seen import SEEN_SAME_DAY, Circumstance, PondSeen
from tests.watch.ponds import TODAY, ZONE, days_ago, pond

RULE = published()["finding_open"]
NOW_MS = round(datetime(2026, 6, 17, 8, tzinfo=UTC).timestamp() * 1000)


def open_one(hazard: str, days: int = 2, **values: Any) -> OpenFinding:
    day = TODAY - timedelta(days=days)
    said = {"fish": 2, "of": 3, "places": ("fish 1, skin scrape: found",), "by": "Ada Vet"} | values
    return OpenFinding(hazard, day, said.pop("first", day), said.pop("suspected", False), **said)


def seen_with(*found: OpenFinding) -> PondSeen:
    return replace(pond(days_ago(1, ph=7.5)), found=found)


def told(*found: OpenFinding) -> Concern:
    seen = seen_with(*found)
    finding = KINDS["finding"].find(RULE, seen, TODAY)
    assert finding is not None
    return KINDS["finding"].tell(RULE, seen, finding, said_from_packed(ZONE), TODAY)


@pytest.mark.parametrize(
    ("one", "level", "what"),
    [
        (open_one("costia"), "watch", "costia found"),
        (open_one("gill_flukes", heavy="on the skin as well"), "act", "gill flukes, heavy"),
        (open_one("white_spot"), "act", "white spot found"),
        (open_one("white_spot", suspected=True), "watch", "white spot suspected"),
        (open_one("gill_flukes", suspected=True, heavy="on the skin"), "watch",
         "gill flukes suspected"),
        (open_one("costia", after_course="praziquantel"), "watch", "costia still found"),
        (open_one("trichodina", score=1), "calm", "trichodina found"),
        (open_one("trichodina", per_field=3.0), "calm", "trichodina found"),
        (open_one("trichodina", per_field=3.4), "watch", "trichodina found"),
        (open_one("trichodina", per_field=1.0, score=2), "watch", "trichodina found"),
        (open_one("trichodina"), "watch", "trichodina found"),
    ],
)  # fmt: skip
def test_how_urgent_a_finding_is(one: OpenFinding, level: str, what: str) -> None:
    concern = told(one)
    assert (concern.level, concern.what) == (level, what)


def test_several_findings_are_told_together_and_the_worst_first() -> None:
    spot = open_one("white_spot", 1)
    costia = open_one("costia", 0, first=TODAY - timedelta(days=6), per_field=4.6)
    concern = told(costia, spot)
    assert concern.what == "white spot found, and 1 more"
    assert concern.since == spot.first
    assert concern.arithmetic == (
        "white spot on 2 of 3 fish; not answered since 16 Jun 2026, 1 day",
        "costia on 2 of 3 fish; at most 4.6 a field; not answered since 11 Jun 2026, 6 days",
    )
    assert concern.readings[0] == "16 Jun 2026, Ada Vet: fish 1, skin scrape: found"
    # Each hazard says what it asks for, with its source.
    assert any(hazards()["white_spot"].response in remark for remark in concern.remarks)
    assert concern.source
    assert concern.advice.startswith("Plan a course")


def test_nothing_found_says_nothing() -> None:
    assert KINDS["finding"].find(RULE, seen_with(), TODAY) is None


def _codes(seen: PondSeen, **rests: Rest) -> list[str]:
    return [rule.code for rule, _ in judge(rule_set([RULE]), seen, TODAY, rests).speaking]


def test_a_finding_at_rest_returns_for_what_was_found_since() -> None:
    costia = open_one("costia", entered_ms=NOW_MS)
    severity = KINDS["finding"].find(RULE, seen_with(costia), TODAY).severity  # type: ignore[union-attr]
    rest = Rest(
        "finding_open", TODAY + timedelta(days=9), "few", "A", "watch", severity, NOW_MS + 1
    )
    assert _codes(seen_with(costia)) == ["finding_open"]
    assert _codes(seen_with(costia), finding_open=rest) == []
    # The same hazard found again, and another in its place, were not known when it was put to rest.
    later = open_one("costia", 0, entered_ms=NOW_MS + 9)
    assert _codes(seen_with(later), finding_open=rest) == ["finding_open"]
    other = open_one("anchor_worm", 0, entered_ms=NOW_MS + 9)
    assert _codes(seen_with(other), finding_open=rest) == ["finding_open"]


FOUND = st.builds(
    open_one,
    st.sampled_from(sorted(hazards())),
    st.integers(0, 30),
    suspected=st.booleans(),
    heavy=st.sampled_from(["", "on the skin"]),
    per_field=st.none() | st.floats(0.1, 50.0),
    score=st.none() | st.integers(1, 3),
)


@given(st.lists(FOUND, min_size=1, max_size=5))
def test_the_quick_look_finds_what_the_rule_finds_and_it_explains_itself(
    found: list[OpenFinding],
) -> None:
    seen = seen_with(*found)
    alone = KINDS["finding"].find(RULE, seen, TODAY)
    verdict = judge(rule_set(published().values()), seen, TODAY)
    quick = {rule.code: one for rule, one in (*verdict.speaking, *verdict.notes)}
    assert quick["finding_open"] == alone
    concern = told(*found)
    assert len(concern.arithmetic) == len(found)
    assert concern.level == min(
        (told(one).level for one in found), key=["act", "watch", "calm"].index
    )


@given(st.lists(FOUND, min_size=1, max_size=4), FOUND)
def test_one_more_finding_always_wakes_a_rest(found: list[OpenFinding], more: OpenFinding) -> None:
    kind = KINDS["finding"]
    before = kind.find(RULE, seen_with(*found), TODAY)
    after = kind.find(RULE, seen_with(*found, more), TODAY)
    assert before is not None
    assert after is not None
    assert after.severity > before.severity


# --- the window of a hazard, raised by what was found elsewhere on the same day ---


def window_of_gill_flukes(*circumstances: Circumstance) -> Concern:
    rule = published()["window_gill_flukes"]
    tests = [days_ago(days, temperature_c=22.0 - 0.1 * days) for days in range(0, 20, 2)]
    seen = pond(*tests, circumstances=circumstances)
    finding = KINDS["window"].find(rule, seen, TODAY)
    if finding is None:
        pytest.fail("the pond lies in the window")
    return KINDS["window"].tell(rule, seen, finding, said_from_packed(ZONE), TODAY)


def same_day(hazard: str, days: int, says: str = "") -> Circumstance:
    return Circumstance(SEEN_SAME_DAY, TODAY - timedelta(days=days), None, hazard, None, says)


def test_a_hazard_seen_the_same_day_elsewhere_raises_its_window_and_names_the_pond() -> None:
    says = "it was seen the same day at Brook House, lower pond, and gear was not disinfected"
    plain = window_of_gill_flukes(same_day("costia", 1, says))
    raised = window_of_gill_flukes(same_day("gill_flukes", 1, says))
    assert raised.severity > plain.severity
    assert f"Raised because {says}." in raised.remarks
    old = window_of_gill_flukes(same_day("gill_flukes", 61, says))
    assert old.severity == plain.severity
    unnamed = window_of_gill_flukes(same_day("gill_flukes", 1))
    assert any("visited the same day" in remark for remark in unnamed.remarks)
