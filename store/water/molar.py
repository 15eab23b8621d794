"""Molar masses, and the factors of pond chemistry that follow from them.

Atomic weights: IUPAC 2005 (Wieser 2006, Pure Appl. Chem. 78:2051-2066; from memory). Every factor
is reckoned here from the masses, so that there and back always agree.
"""

from __future__ import annotations

_H, _C, _N, _O = 1.00794, 12.0107, 14.0067, 15.9994
_NA, _CL, _CA = 22.98976928, 35.453, 40.078

CO2_G_MOL = _C + 2 * _O
CACO3_G_MOL = _CA + _C + 3 * _O
CAO_G_MOL = _CA + _O
NACL_G_MOL = _NA + _CL
CHLORIDE_G_MOL = _CL
N_G_MOL = _N

NH3_PER_N = (_N + 3 * _H) / _N
"""Grams of NH3 that hold one gram of nitrogen."""
NH4_PER_N = (_N + 4 * _H) / _N
"""Grams of NH4+ that hold one gram of nitrogen."""
NO2_PER_N = (_N + 2 * _O) / _N
"""Grams of NO2- that hold one gram of nitrogen."""
NO3_PER_N = (_N + 3 * _O) / _N
"""Grams of NO3- that hold one gram of nitrogen."""
CHLORIDE_PER_SALT = _CL / NACL_G_MOL
"""Grams of chloride in one gram of NaCl."""
CACO3_MG_PER_MEQ = CACO3_G_MOL / 2
"""Milligrams of CaCO3 that stand for one milliequivalent of alkalinity or hardness."""
BICARBONATE_PER_CACO3 = 2 * (_H + _C + 3 * _O) / CACO3_G_MOL
"""Grams of HCO3- that stand for one gram of CaCO3 alkalinity."""
CALCIUM_PER_CACO3 = _CA / CACO3_G_MOL
"""Grams of Ca2+ that stand for one gram of CaCO3 hardness."""
