"""Pond volumes against printed worked examples."""

from __future__ import annotations

import pytest

from store.water.measures import to_grams, to_litres, to_metres
from store.water.shapes import circle, ellipse, rectangle
from store.water.volume import by_salt


def feet(value: float) -> float:
    return to_metres(value, "ft")


# Worked examples of extension sheets on pond volume, in their own units; geometry needs no other
# authority. 508.7 was reckoned with 3.14 for pi (exact 508.9), 11,220 with 7.48 gallons to the
# cubic foot (exact 11,221).
def test_rectangles() -> None:
    assert rectangle(feet(12), feet(3), feet(3)).litres == pytest.approx(
        to_litres(108.0, "ft3"), rel=1e-9
    )
    assert rectangle(feet(20), feet(15), feet(5)).litres == pytest.approx(
        to_litres(11_220.0, "USgal"), rel=1e-4
    )


def test_circles() -> None:
    assert circle(feet(12), feet(4.5)).litres == pytest.approx(to_litres(508.7, "ft3"), rel=6e-4)
    assert circle(7.5, 2.0).litres == pytest.approx(88_350.0, abs=10.0)


def test_ellipse() -> None:
    # 22.62 m³ by pi a b D with semi-axes 3 and 2 m, depth 1.2 m.
    assert ellipse(6.0, 4.0, 1.2).litres == pytest.approx(22_620.0, abs=5.0)


def test_salt_dilution() -> None:
    # 40 lb of salt, 0.60 to 1.10 ppt: 9,586 US gallons; ten kilograms, a rise of 0.50: 20 m³.
    answer = by_salt(to_grams(40.0, "lb"), 0.60, 1.10, 0.01)
    assert answer.litres == pytest.approx(to_litres(9_586.0, "USgal"), rel=1e-4)
    assert by_salt(10_000.0, 0.0, 0.5, 0.05).litres == pytest.approx(20_000.0)
