"""Oxygen saturation against GSW, against percentages that buoys reported, and at altitude."""

from __future__ import annotations

import gsw
import pytest
from published import published

from store.water.oxygen import oxygen, saturation_mg_l, standard_pressure_atm


@pytest.mark.parametrize("temperature_c", [float(t) for t in range(0, 41, 4)])
@pytest.mark.parametrize("salinity_g_l", [0.0, 1.0, 3.0, 5.0, 10.0, 20.0, 35.0])
def test_saturation_meets_gsw(temperature_c: float, salinity_g_l: float) -> None:
    # GSW (TEOS-10; McDougall & Barker 2011): solubility after Garcia & Gordon 1992, fitted to the
    # same data of Benson & Krause 1984, in µmol/kg; with the density, mg/L. The two fits differ by
    # 0.002 mg/L in fresh water; the form in g/L salt adds a little in brackish water.
    absolute = salinity_g_l * 35.16504 / 35.0
    expected = (
        float(gsw.O2sol_SP_pt(salinity_g_l, temperature_c))
        * float(gsw.rho_t_exact(absolute, temperature_c, 0.0))
        * 31.9988e-6
    )
    assert saturation_mg_l(temperature_c, salinity_g_l) == pytest.approx(expected, abs=0.005)


@pytest.mark.parametrize("row", published("oxygen_percent"), ids=lambda row: row["time"])
def test_percent_meets_what_buoys_reported(row: dict[str, str]) -> None:
    # U.S. EPA buoys report percent of saturation at one atmosphere. Readings carry half a unit of
    # their last digit: 0.01 °C is 0.02 %, 0.005 mg/L of 10 is 0.05 %, 0.05 of 120 is 0.04 %; over
    # the 13,662 readings of these files the ratio was 0.9999 to 1.0026.
    answer = oxygen(float(row["temperature_c"]), oxygen_mg_l=float(row["oxygen_mg_l"]))
    assert answer.percent == pytest.approx(float(row["percent"]), rel=0.003), row["source"]


# Manual of the ICAO Standard Atmosphere, Doc 7488: pressure in hPa (from memory).
@pytest.mark.parametrize(("altitude_m", "hpa"), [(0, 1013.25), (1000, 898.75), (2000, 794.95)])
def test_pressure_meets_the_standard_atmosphere(altitude_m: float, hpa: float) -> None:
    assert standard_pressure_atm(altitude_m) * 1013.25 == pytest.approx(hpa, abs=0.02)


@pytest.mark.parametrize("altitude_m", [500.0, 1000.0, 2000.0, 3000.0])
# Vapour pressure of water in mmHg, CRC Handbook of Chemistry and Physics (from memory).
@pytest.mark.parametrize(
    ("temperature_c", "vapour_mmhg"), [(10.0, 9.209), (20.0, 17.535), (30.0, 31.824)]
)
def test_altitude_meets_daltons_law(
    temperature_c: float, vapour_mmhg: float, altitude_m: float
) -> None:
    # Without oxygen's small departure from an ideal gas the saturation goes with the pressure less
    # the vapour: that departure is under 0.01 mg/L to 3000 m.
    vapour_atm = vapour_mmhg / 760.0
    expected = (
        saturation_mg_l(temperature_c)
        * (standard_pressure_atm(altitude_m) - vapour_atm)
        / (1.0 - vapour_atm)
    )
    reckoned = saturation_mg_l(temperature_c, altitude_m=altitude_m)
    assert reckoned == pytest.approx(expected, abs=0.01)
