"""Portions summed by agent, the margin, the packs: by hand, and what holds for any portions."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from store.courses.planning.course import Product
from store.errors import BadInput
from store.rounds.kit.amounts import (
    amount_said,
    kept_apart,
    label_of,
    needs,
    packs_for,
    rounded_up,
    with_margin,
)
from store.rounds.kit.values import Packs, ShelfPack
from tests.rounds.kit_portions import POWDER, portion, told

PRAZI = told("praziquantel")
PACK = ShelfPack("powder", 98.0, "w/w", None, 100.0, "g")
FORMALIN = Product("formalin, 37 %", 37.0, "product", 1.09)


def test_two_ponds_are_summed_with_a_margin_and_packed_whole() -> None:
    """12.4 g + 8.1 g = 20.5 g; × 1.1 = 22.55 g, told rounded up; one pack of 100 g holds it."""
    (one,) = needs(
        [portion(12.4), portion(8.1, nth=2)], {"praziquantel": PRAZI}, {"praziquantel": [PACK]},
        10.0,
    )  # fmt: skip
    assert one.need == pytest.approx(20.5)
    assert one.with_margin == pytest.approx(22.55)
    assert one.packs == Packs("powder", 1, 100.0, "g")
    assert one.arithmetic == ("12.4 g + 8.1 g = 20.5 g, with 10 % margin 22.6 g → 1 pack of 100 g")
    assert one.product_said == "powder, 98 % by weight"


def test_the_margin_can_open_another_pack() -> None:
    """95 g would fit one pack of 100 g; with 10 % they are 104.5 g, which takes two."""
    (one,) = needs([portion(95.0)], {"praziquantel": PRAZI}, {"praziquantel": [PACK]}, 10.0)
    assert one.packs == Packs("powder", 2, 100.0, "g")
    assert one.arithmetic == "95 g, with 10 % margin 105 g → 2 packs of 100 g"


def test_a_pack_that_just_holds_it_is_not_doubled_by_binary_noise() -> None:
    """Ten portions of 9.1 g with 10 % are 100.1 g; of 1/1.1 of 10 g they are 100 g exactly."""
    (one,) = needs(
        [portion(10.0 / 1.1, nth=nth) for nth in range(1, 11)], {"praziquantel": PRAZI},
        {"praziquantel": [PACK]}, 10.0,
    )  # fmt: skip
    assert one.packs == Packs("powder", 1, 100.0, "g")


def test_kilograms_and_litres_are_said_where_they_are_easier() -> None:
    assert amount_said(2500.0, "g") == "2.5 kg"
    assert amount_said(17_600.0, "mL") == "17.6 L"
    assert amount_said(999.0, "g") == "999 g"
    assert amount_said(12.4 + 8.1, "g") == "20.5 g"


def test_what_is_told_of_the_margin_is_rounded_up() -> None:
    assert [rounded_up(one) for one in (22.55, 22.0, 20.0 * 1.1, 1523.5, 0.01234, 0.0)] == [
        22.6, 22.0, 22.0, 1530.0, 0.0124, 0.0,
    ]  # fmt: skip


def test_a_liquid_is_packed_by_its_density_where_the_pack_is_weighed() -> None:
    """1000 mL × 1.09 g/mL = 1090 g: two packs of 1 kg."""
    shelf = ShelfPack("formalin", 37.0, "product", 1.09, 1000.0, "g")
    packs, remarks = packs_for(1000.0, "mL", FORMALIN, [shelf])
    assert packs == Packs("formalin", 2, 1000.0, "g")
    assert remarks == ()


def test_a_pack_in_another_unit_without_a_density_is_not_guessed() -> None:
    shelf = ShelfPack("formalin", 37.0, "product", None, 1000.0, "g")
    packs, (said,) = packs_for(1000.0, "mL", FORMALIN, [shelf])
    assert packs is None
    assert "pure amounts are told" in said


def test_nothing_on_the_shelf_is_said() -> None:
    assert packs_for(5.0, "g", POWDER, [])[1] == (
        "No product of it stands on the shelf: pure amounts are told.",
    )


def test_a_product_of_half_the_strength_takes_twice_as_much() -> None:
    """98 g of a powder of 98 % hold 96.04 g; of one of 49 % that is 196 g: two packs of 100 g."""
    weak = ShelfPack("premix", 49.0, "w/w", None, 100.0, "g")
    packs, (said,) = packs_for(98.0, "g", POWDER, [weak])
    assert packs == Packs("premix", 2, 100.0, "g")
    assert "196 g hold as much" in said
    assert "a vet changes the product" in said


def test_strengths_that_count_the_product_are_not_turned_into_others() -> None:
    other = ShelfPack("formaldehyde", 10.0, "w/v", None, 1000.0, "mL")
    packs, (said,) = packs_for(100.0, "mL", FORMALIN, [other])
    assert packs is None
    assert "a vet says what is weighed" in said


def test_the_product_of_that_name_goes_first_then_the_least_left_over() -> None:
    large = ShelfPack("bulk", 98.0, "w/w", None, 1000.0, "g")
    small = ShelfPack("sachet", 98.0, "w/w", None, 25.0, "g")
    assert packs_for(22.0, "g", POWDER, [large, small])[0] == Packs("sachet", 1, 25.0, "g")
    assert packs_for(22.0, "g", POWDER, [large, small, PACK])[0] == Packs("powder", 1, 100.0, "g")


def test_what_waits_is_in_no_sum() -> None:
    found = needs(
        [portion(12.4), portion(8.1, nth=2, waits="A vet begins it.")], {"praziquantel": PRAZI}, {},
        10.0,
    )  # fmt: skip
    assert [one.need for one in found] == [12.4]


def test_an_amount_below_zero_is_refused() -> None:
    with pytest.raises(BadInput):
        needs([portion(-0.1)], {"praziquantel": PRAZI}, {}, 10.0)
    with pytest.raises(BadInput):
        with_margin(1.0, -1.0)
    with pytest.raises(BadInput):
        with_margin(math.nan, 10.0)


def test_two_strengths_of_one_agent_are_two_lines() -> None:
    """Grams of one are not grams of the other, and are never summed."""
    other = Product("premix", 50.0)
    found = needs(
        [portion(12.4), portion(8.1, nth=2, product=other)], {"praziquantel": PRAZI}, {}, 10.0
    )
    assert [(one.need, one.product_said) for one in found] == [
        (12.4, "powder, 98 % by weight"), (8.1, "premix, 50 % by weight"),
    ]  # fmt: skip


def test_an_oxidiser_is_kept_apart_from_what_the_formulary_names_either_way_round() -> None:
    known = {
        "formalin": told("formalin", "aldehyde", ("oxidiser", "They destroy each other.")),
        "potassium_permanganate": told("potassium_permanganate", "oxidiser"),
        "salt": told("salt", "salt"),
    }
    says = ("Keep apart from formalin: They destroy each other.",)
    assert kept_apart("potassium_permanganate", list(known), known) == says
    assert kept_apart("formalin", list(known), known) == (
        "Keep apart from potassium permanganate: They destroy each other.",
    )
    assert kept_apart("salt", list(known), known) == ()
    assert kept_apart("formalin", ["formalin", "salt"], known) == ()


def test_a_label_names_agent_amount_pond_day_and_cautions() -> None:
    label = label_of(portion(12.4), PRAZI, "Monday 16 March 2026")
    assert label == (
        "praziquantel: powder, 98 % by weight", "12.4 g", "lower pond, stop 1",
        "dose 1 of 2, Monday 16 March 2026", "Gloves.",
        "Local law, the label and the prescribing vet decide.",
    )  # fmt: skip


amounts = st.lists(
    st.floats(min_value=0.01, max_value=50_000.0, allow_nan=False), min_size=1, max_size=12
)


@settings(max_examples=200, deadline=None)
@given(amounts, st.floats(0.0, 60.0), st.floats(0.5, 25_000.0))
def test_portions_sum_to_the_need_and_packs_cover_it_with_its_margin(
    given_amounts: list[float], margin: float, size: float
) -> None:
    shelf = ShelfPack("powder", 98.0, "w/w", None, size, "g")
    portions = [portion(one, nth=nth) for nth, one in enumerate(given_amounts, start=1)]
    (found,) = needs(portions, {"praziquantel": PRAZI}, {"praziquantel": [shelf]}, margin)
    assert found.need == pytest.approx(sum(given_amounts))
    assert found.need == math.fsum(one.amount for one in found.portions)
    assert found.with_margin >= found.need > 0.0
    assert rounded_up(found.with_margin) >= found.with_margin * (1.0 - 1e-9)
    assert found.packs is not None
    held = found.packs.count * found.packs.size
    assert held >= found.with_margin * (1.0 - 1e-9)
    assert held - found.packs.size < found.with_margin * (1.0 + 1e-9)


@settings(max_examples=100, deadline=None)
@given(amounts, st.lists(st.booleans(), min_size=12, max_size=12))
def test_every_portion_is_packed_or_told_to_wait(
    given_amounts: list[float], waits: list[bool]
) -> None:
    portions = [
        portion(one, nth=nth, waits="A vet decides." if waits[nth - 1] else "")
        for nth, one in enumerate(given_amounts, start=1)
    ]
    found = needs(portions, {"praziquantel": PRAZI}, {}, 10.0)
    packed = [one for need in found for one in need.portions]
    assert packed == [one for one in portions if not one.waits]
