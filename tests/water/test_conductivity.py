"""Salt reckoned from conductivity with the fixed factor of cheap pens."""

from __future__ import annotations

import pytest

from store.errors import BadInput
from store.water.conductivity import salt_by_conductivity
from store.water.derived import derive

# Equivalent conductivity of sodium chloride at 25 °C [S cm2/mol] by concentration [mol/L]: Robinson
# & Stokes, Electrolyte Solutions, appendix (from memory). 58.443 g/mol.
SODIUM_CHLORIDE = ((0.005, 120.64), (0.01, 118.51), (0.02, 115.76), (0.05, 111.06), (0.1, 106.74))


@pytest.mark.parametrize(("mol_l", "equivalent"), SODIUM_CHLORIDE)
def test_the_factor_is_within_a_tenth_of_pure_salt(mol_l: float, equivalent: float) -> None:
    us_cm = 1000.0 * mol_l * equivalent
    answer = salt_by_conductivity(us_cm)
    assert answer.salinity_g_l == pytest.approx(58.443 * mol_l, rel=0.1)
    assert any("too little salt" in remark for remark in answer.remarks) == (us_cm > 6000.0)


def test_the_factor_is_shown_and_a_measured_salinity_comes_first() -> None:
    derived = derive({"conductivity_us_cm": 5600.0})["salinity_by_conductivity_g_l"]
    assert derived.value == pytest.approx(2.8)
    assert "× 0.5 g/L for each 1000 µS/cm" in derived.arithmetic
    assert "common practice" in derived.source
    assert any("source water" in remark for remark in derived.remarks)
    measured = derive({"conductivity_us_cm": 5600.0, "salinity_g_l": 3.0})
    assert "salinity_by_conductivity_g_l" not in measured


@pytest.mark.parametrize("us_cm", [-1.0, float("nan"), 1e9])
def test_what_cannot_be_is_refused(us_cm: float) -> None:
    with pytest.raises(BadInput):
        salt_by_conductivity(us_cm)
