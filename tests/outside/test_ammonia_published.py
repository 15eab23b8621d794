"""Un-ionised ammonia and its criteria against printed tables and PHREEQC."""

from __future__ import annotations

import phreeqpython
import pytest
from published import half_unit, published

from store.water.ammonia import ammonia, un_ionised_fraction, un_ionised_fraction_salted
from store.water.criteria import acute_tan_mg_l, chronic_tan_mg_l, criteria
from store.water.molar import NACL_G_MOL

FRACTIONS = published("ammonia_fraction")
CRITERIA = published("ammonia_criteria_2013")


@pytest.mark.parametrize("row", FRACTIONS, ids=lambda row: f"{row['temperature_c']}C-pH{row['ph']}")
def test_fraction_meets_the_printed_tables(row: dict[str, str]) -> None:
    # UF/IFAS FA-16 and Hadfield & Clayton 2021, Table A2.3. The 32 °C column of FA-16 lies 2-4 %
    # above the formula that it names and is left out. Half a unit of the last digit (four decimals
    # below 0.1, three above), and 1 % because the sources took 273.2 for 273.15.
    printed = float(row["fraction"])
    tolerance = (0.00005 if printed < 0.1 else 0.0005) + 0.01 * printed
    reckoned = un_ionised_fraction(float(row["ph"]), float(row["temperature_c"]))
    assert reckoned == pytest.approx(printed, abs=tolerance), row["source"]


def test_all_51_printed_fractions_are_there() -> None:
    assert len(FRACTIONS) == 51


def test_worked_example_of_the_extension_sheets() -> None:
    # UF/IFAS FA-16: 1.0 mg/L TAN, 24 °C, pH 8.0 gives 0.0502 mg/L.
    assert ammonia(1.0, "n", 8.0, 24.0).nh3_n_mg_l == pytest.approx(0.0502, abs=0.00005)
    # SRAC 463: pH 8.6, 30 °C, share 0.2422; 3 mg/L TAN gives 0.73. Its T is °C + 273.2: 0.3 %.
    answer = ammonia(3.0, "n", 8.6, 30.0)
    assert answer.fraction == pytest.approx(0.2422, rel=0.003)
    assert answer.nh3_n_mg_l == pytest.approx(0.73, abs=0.005)


@pytest.mark.parametrize(
    "row",
    [
        row
        for row in CRITERIA
        if row["criterion"].startswith("CMC_onc") or row["criterion"] == "CCC"
    ],
    ids=lambda row: f"{row['criterion']}-{row['temperature_c']}C-pH{row['ph']}",
)
def test_criteria_meet_the_printed_tables(row: dict[str, str]) -> None:
    # Printed to two significant figures, so half a unit of the last one.
    ph, temperature_c = float(row["ph"]), float(row["temperature_c"])
    reckoned = {
        "CMC_oncorhynchus_present": lambda: acute_tan_mg_l(ph, temperature_c, True),
        "CMC_oncorhynchus_absent": lambda: acute_tan_mg_l(ph, temperature_c),
        "CCC": lambda: chronic_tan_mg_l(ph, temperature_c),
    }[row["criterion"]]()
    assert float(f"{reckoned:.2g}") == float(row["tan_mg_l"]), row["source"]


def test_the_three_figures_quoted_at_ph_7_and_20_degrees() -> None:
    quoted = {row["criterion"]: row["tan_mg_l"] for row in CRITERIA}
    answer = criteria(7.0, 20.0)
    acute, chronic = quoted["CMC_at_pH7_20C"], quoted["CCC_at_pH7_20C"]
    assert answer.acute_tan_mg_l == pytest.approx(float(acute), abs=half_unit(acute))
    assert answer.chronic_tan_mg_l == pytest.approx(float(chronic), abs=half_unit(chronic))
    # The quoted 4.8 is 2.5 times the rounded 1.9; unrounded it is 4.72.
    cap = float(quoted["CCC_4day_cap_2.5xCCC_at_pH7_20C"])
    assert answer.four_day_tan_mg_l == pytest.approx(cap, rel=0.02)


def test_all_57_printed_criteria_are_there() -> None:
    assert len(CRITERIA) == 57


# PHREEQC's own accuracy in dilute NaCl is about 1 %. The Davies coefficient was chosen to lie on
# the cautious side at higher ionic strength: never more than 1 % below PHREEQC.
@pytest.mark.parametrize(
    ("strength_mol_l", "most_above"), [(0.0005, 0.01), (0.01, 0.01), (0.05, 0.04), (0.1, 0.08)]
)
@pytest.mark.parametrize("temperature_c", [5.0, 10.0, 20.0, 25.0, 30.0])
@pytest.mark.parametrize("ph", [7.0, 8.0, 9.0])
def test_salted_fraction_meets_phreeqc(
    ph: float, temperature_c: float, strength_mol_l: float, most_above: float
) -> None:
    # PHREEQC (Parkhurst & Appelo 2013, USGS Techniques and Methods 6-A43), NaCl background, pH as
    # activity.
    phreeqc = phreeqpython.PhreeqPython(database="vitens.dat")
    species = phreeqc.add_solution(
        {
            "units": "mol/kgw",
            "temp": temperature_c,
            "pH": ph,
            "Na": strength_mol_l,
            "Cl": strength_mol_l,
            "Amm": 1e-5,
        }
    ).species
    expected = species["Amm"] / (species["Amm"] + species["AmmH+"])
    salted = un_ionised_fraction_salted(ph, temperature_c, strength_mol_l * NACL_G_MOL)
    assert -0.01 <= salted / expected - 1.0 <= most_above
    assert salted < un_ionised_fraction(ph, temperature_c)
