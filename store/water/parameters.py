"""What a water test measures: one entry a parameter, with the unit it is stored in.

Concentrations are stored in mg/L, temperature in °C, salinity in g/L, conductivity in µS/cm as a
meter shows it for 25 °C. Total ammonia is stored as
nitrogen, nitrite as the NO2 ion, nitrate as the NO3 ion, alkalinity and hardness as CaCO3. What was
typed is kept beside the stored value, see `store.water.line`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Parameter:
    """One thing that is measured.

    `possible` bounds are physical (a value outside is refused); `usual` bounds are what a pond
    shows (a value outside is asked about before it is saved). Both are in the stored unit and are
    common practice, without a source. `decimals` is how finely a pond-side meter or kit reads.
    """

    code: str
    label: str
    short: str
    unit: str
    decimals: int
    possible_low: float
    possible_high: float
    usual_low: float
    usual_high: float
    shown_unit: str
    per_shown: float = 1.0
    """Stored value for one of the shown unit (17.848 mg/L CaCO3 for one degree)."""

    def shown(self, value: float) -> str:
        """The number as a person reads it, without its unit (`4.0` for 71.4 mg/L CaCO3)."""
        return f"{value / self.per_shown:.{self.decimals}f}"

    def shown_limit(self, value: float) -> str:
        """A limit as it was set, not rounded to what a meter shows (`0.002` for chlorine)."""
        shown = value / self.per_shown
        rounded = f"{shown:.{self.decimals}f}"
        return rounded if abs(float(rounded) - shown) <= 0.01 * abs(shown) else f"{shown:.3g}"

    def shown_with_unit(self, value: float) -> str:
        """The number with its unit (`4.0 dKH`; pH has none)."""
        number = self.shown(value)
        return f"{number} {self.shown_unit}" if self.shown_unit else number


# One German degree is 10 mg/L CaO, that is 17.848 mg/L CaCO3 by molar masses (56.077, 100.087).
CACO3_PER_DEGREE_MG_L = 10.0 * 100.0869 / 56.0774

_ALL = (
    Parameter("temperature_c", "temperature", "T", "°C", 1, -2.0, 50.0, 0.5, 33.0, "°C"),
    Parameter("ph", "pH", "pH", "", 1, 0.0, 14.0, 5.5, 10.2, ""),
    Parameter("tan_mg_l", "total ammonia as N", "TAN", "mg/L N", 2,
              0.0, 500.0, 0.0, 8.0, "mg/L"),
    Parameter("nitrite_mg_l", "nitrite as NO2", "NO2", "mg/L NO2", 2,
              0.0, 500.0, 0.0, 10.0, "mg/L"),
    Parameter("nitrate_mg_l", "nitrate as NO3", "NO3", "mg/L NO3", 0,
              0.0, 5000.0, 0.0, 300.0, "mg/L"),
    Parameter("alkalinity_mg_l", "alkalinity (KH)", "KH", "mg/L CaCO3", 1,
              0.0, 5000.0, 5.0, 400.0, "dKH", CACO3_PER_DEGREE_MG_L),
    Parameter("hardness_mg_l", "total hardness (GH)", "GH", "mg/L CaCO3", 1,
              0.0, 20000.0, 5.0, 700.0, "dGH", CACO3_PER_DEGREE_MG_L),
    Parameter("oxygen_mg_l", "dissolved oxygen", "DO", "mg/L", 1,
              0.0, 60.0, 1.0, 18.0, "mg/L"),
    Parameter("oxygen_percent", "oxygen saturation", "DO%", "%", 0,
              0.0, 500.0, 10.0, 200.0, "%"),
    Parameter("salinity_g_l", "salinity", "Sal", "g/L", 2, 0.0, 350.0, 0.0, 10.0, "g/L"),
    Parameter("chloride_mg_l", "chloride", "Cl", "mg/L", 0,
              0.0, 200000.0, 0.0, 6000.0, "mg/L"),
    Parameter("chlorine_mg_l", "chlorine", "Cl2", "mg/L Cl2", 2,
              0.0, 100.0, 0.0, 3.0, "mg/L"),
    Parameter("conductivity_us_cm", "conductivity", "EC", "µS/cm", 0,
              0.0, 200000.0, 20.0, 12000.0, "µS/cm"),
)  # fmt: skip

PARAMETERS: Mapping[str, Parameter] = MappingProxyType({entry.code: entry for entry in _ALL})
"""Every parameter by its code, in the order in which a test is shown."""
