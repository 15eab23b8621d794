"""Which parameter a column's heading means, and in which unit and form its cells are."""

from __future__ import annotations

import re
from dataclasses import dataclass

from store.text import plain
from store.water.line import read_cell
from store.water.parameters import PARAMETERS
from store.water.understood import Doubt, KitForms, ReadingValue
from store.water.words import LOOKALIKES, NAME, name_of

_STORED_UNIT = {
    "temperature_c": "°C", "ph": "", "tan_mg_l": "mg/L N", "nitrite_mg_l": "mg/L NO2",
    "nitrate_mg_l": "mg/L NO3", "alkalinity_mg_l": "mg/L CaCO3", "hardness_mg_l": "mg/L CaCO3",
    "oxygen_mg_l": "mg/L", "oxygen_percent": "%", "salinity_g_l": "g/L", "chloride_mg_l": "mg/L",
    "chlorine_mg_l": "mg/L", "conductivity_us_cm": "µS/cm",
}  # fmt: skip
_OF_SATURATION = re.compile(
    r"%[ ]?(?:sat\w*\.?|air|local|l|cb|as)?(?:[ ]sat\w*\.?)?", re.IGNORECASE
)
_MARKS = re.compile(r"[\s_\[\](){}:;,]+")


@dataclass(frozen=True, slots=True)
class Heading:
    """A column of readings.

    `name` is the word written where that word alone, and not a kit, may tell the form (`NO2`):
    it is read together with each cell.
    """

    parameter: str
    unit: str
    name: str = ""

    def read(self, cell: str, kit: KitForms) -> ReadingValue | Doubt | None:
        """One cell of the column; None is not tested.

        Parameters
        ----------
        cell
            The cell.
        kit
            As what the kits of the pond report.
        """
        plainly = read_cell(self.parameter, cell, self.unit or None, kit)
        if plainly is None or not self.name:
            return plainly
        return read_cell(self.parameter, f"{self.name} {cell}", self.unit or None, kit)


def heading_of(title: str) -> Heading | None:
    """What a heading means, or nothing where a water test keeps no such thing.

    Parameters
    ----------
    title
        A code (`tan_mg_l`, in the unit that stands in it) or a name with or without unit and form
        (`Temp °F`, `NO2-N (mg/L)`, `KH dKH`, `ammonia as NH4`).

    Returns
    -------
    Heading or None
        A unit that suits no cell is found out cell by cell.

    Examples
    --------
    >>> heading_of("Temp (°F)")
    Heading(parameter='temperature_c', unit='°F', name='')
    >>> heading_of("alkalinity_mg_l").unit
    'mg/L CaCO3'
    >>> heading_of("air temp") is None
    True
    """
    written = plain(title).strip()
    code = written.casefold()
    if code in PARAMETERS:
        return Heading(code, _STORED_UNIT[code])
    text = _MARKS.sub(" ", written.translate(LOOKALIKES)).strip()
    whole = name_of(text)
    if whole is not None:
        return _heading(whole.parameter, whole.form, whole.stated, whole.unit, text, "")
    found = NAME.match(text)
    if found is None:
        return None
    name = name_of(found[0])
    if name is None:
        return None
    return _heading(
        name.parameter,
        name.form,
        name.stated,
        name.unit,
        found[0],
        text[found.end() :].strip(" .-"),
    )


def _heading(
    parameter: str, form: str, stated: bool, unit_of_name: str, word: str, rest: str
) -> Heading | None:
    if not parameter:
        return None
    unit = rest or unit_of_name
    if parameter == "oxygen_mg_l" and _OF_SATURATION.fullmatch(unit):
        return Heading("oxygen_percent", "%")
    if not form:
        return Heading(parameter, unit)
    if stated:
        return Heading(parameter, f"{unit} {word}".strip())
    return Heading(parameter, unit, word)
