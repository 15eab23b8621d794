"""Of what a dose is an amount, as the form of a plan proposes it."""

from __future__ import annotations

from collections import defaultdict

import pytest

from tui.screens.courses.course_fields import asked, fitting


def values(**typed: str) -> dict[str, str]:
    texts: dict[str, str] = defaultdict(str)
    texts |= {f"1.{name}": text for name, text in {"basis": "", "shelf": "", **typed}.items()}
    return texts


def test_where_only_the_product_is_published_the_dose_is_of_the_product() -> None:
    found = fitting(values(agent="formalin"), 1)
    assert (found["1.route"], found["1.basis"]) == ("pond_bath", "product")
    assert "1.basis" in asked(values(agent="formalin", route="pond_bath", basis="product"), 1)


@pytest.mark.parametrize("agent", ["praziquantel", "trichlorfon"])
def test_an_active_substance_is_never_proposed_as_a_product(agent: str) -> None:
    assert "1.basis" not in fitting(values(agent=agent), 1)
    # What the agent before brought along goes with it.
    assert fitting(values(agent=agent, basis="product"), 1)["1.basis"] == ""


def test_what_somebody_typed_stands() -> None:
    typed = values(agent="formalin", strength="37 %", basis="w/v")
    assert "1.basis" not in fitting(typed, 1)
    typed = values(agent="trichlorfon", strength="50 %", basis="product")
    assert "1.basis" not in fitting(typed, 1)
