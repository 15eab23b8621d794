"""Ponds of many kinds: what one of them does not bear stops the course, and no half dose excuses it.

Half a dose for the sake of orfe or sturgeon, and a product for koi poured on goldfish, are common
practice of the field, and common mistakes. Which fish bear what is from the formulary's sources.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from caution_plans import DAY, FORMALIN_STEP, GOOD, PHOSPHATE_STEP, codes, one

from store.courses.cautions.before import cautions, cautions_before
from store.courses.cautions.sensitive import named_in
from store.courses.planning.course import Caution, StepWish
from store.courses.planning.plan import plan_course
from store.facts.agent import Agent, Statement
from store.facts.agents import agents

SALT = StepWish("salt", "pond_bath", 3000.0)
WORMER = StepWish("praziquantel", "pond_bath", 2.0)


def both(wish: StepWish, stock: str) -> tuple[tuple[Caution, ...], tuple[Caution, ...]]:
    """Before the course, and before its dose."""
    water = replace(GOOD, species=stock)
    plan = plan_course([wish], hazards=["gill_flukes"], reason="", water=water, first_day=DAY)
    step = plan.steps[0]
    return cautions(plan), cautions_before(plan, step, step.doses[0], water)


@pytest.mark.parametrize("share", [1.0, 0.5, 0.1])
@pytest.mark.parametrize(
    ("wish", "stock", "named"),
    [
        (PHOSPHATE_STEP, "14 koi, 3 golden orfe", "orfe"),
        (PHOSPHATE_STEP, "koi; tench", "tench"),
        (SALT, "9 koi and a sterlet", "sterlet"),
        (SALT, "koi, 2 Sturgeons", "sturgeon"),
    ],
)
def test_half_a_dose_is_stopped_as_a_whole_one_is(
    wish: StepWish, stock: str, named: str, share: float
) -> None:
    for found in both(replace(wish, dose=share * wish.dose), stock):
        assert one(found, "species").level == "stop"
        assert f"the stock list names {named}." in one(found, "species").said
    for found in both(replace(wish, dose=share * wish.dose), "14 koi"):
        assert "species" not in codes(found)


def test_where_a_publication_asks_for_care_it_is_minded_and_no_stop() -> None:
    for found in both(WORMER, "koi, 1 sturgeon"):
        assert one(found, "species").level == "mind"
        assert "Care with fish without scales" in one(found, "species").said


def test_formalin_has_no_word_against_sturgeon_and_invents_none() -> None:
    for found in both(FORMALIN_STEP, "koi, 1 sturgeon"):
        assert "species" not in codes(found)


def for_koi_alone(says: str) -> dict[str, Agent]:
    """The formulary with a statement that one agent does not spare goldfish."""
    known = dict(agents())
    told = Statement(says, "noga_2010", "published")
    known["formalin"] = replace(known["formalin"], species_not=(told,))
    return known


@pytest.mark.parametrize(
    "stock", ["5 koi, 2 goldfish", "koi + gold fish", "Koi, Shubunkins", "koi, 3 comets", "sarasa"]
)
def test_a_product_for_koi_stops_where_there_are_goldfish(stock: str) -> None:
    known = for_koi_alone("Not for goldfish.")
    water = replace(GOOD, species=stock)
    plan = plan_course(
        [FORMALIN_STEP], hazards=["costia"], reason="", water=water, first_day=DAY,
        formulary=known,
    )  # fmt: skip
    assert one(cautions(plan), "species").level == "stop"


def test_a_product_for_koi_does_not_stop_where_there_are_koi_alone() -> None:
    known = for_koi_alone("Goldfish do not bear it.")
    water = replace(GOOD, species="12 koi, 3 ghost koi")
    plan = plan_course(
        [FORMALIN_STEP], hazards=["costia"], reason="", water=water, first_day=DAY,
        formulary=known,
    )  # fmt: skip
    assert "species" not in codes(cautions(plan))
    unknown = replace(plan, water=replace(GOOD, species=""))
    assert "Ask for goldfish" in one(cautions(unknown), "species_unknown").said


def test_copper_is_told_by_soft_water_for_goldfish_as_for_koi() -> None:
    copper = StepWish("copper_sulfate", "pond_bath", 0.6)
    soft = replace(GOOD, alkalinity_mg_l=60.0, hardness_mg_l=60.0, species="3 shubunkin")
    plan = plan_course([copper], hazards=["costia"], reason="", water=soft, first_day=DAY)
    assert one(cautions(plan), "species").level == "stop"


def test_names_of_goldfish_are_whole_words() -> None:
    assert named_in("goldfish", "a gold coloured koi, some fish") == ()
    assert named_in("goldfish", "gold-fish and oranda") == ("gold fish", "oranda")
