"""The fields of the form for a water test."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from tui.widgets.fields import Field

if TYPE_CHECKING:
    from store.water.understood import KitForms

_FORM_SAID = {"n": "as N", "nh3": "as NH3", "nh4": "as NH4", "no2": "as NO2", "no3": "as NO3"}
_FORMS_THERE_ARE = {
    "tan_mg_l": "as N, NH3 or NH4: say which",
    "nitrite_mg_l": "as NO2 or N: say which",
    "nitrate_mg_l": "as NO3 or N: say which",
}

_CELLS = 18
"""Every entry is as wide, so that units and hints stand under each other."""


def form_fields(texts: Mapping[str, str], kit: KitForms) -> tuple[Field, ...]:
    """One field a parameter, then time, circumstances and note, filled with these texts."""
    from store.water.parameters import PARAMETERS

    forms = {"tan_mg_l": kit.ammonia, "nitrite_mg_l": kit.nitrite, "nitrate_mg_l": kit.nitrate}
    names = {"tan_mg_l": "total ammonia", "nitrite_mg_l": "nitrite", "nitrate_mg_l": "nitrate"}
    fields = []
    for code, parameter in PARAMETERS.items():
        hint = parameter.shown_unit
        if code in forms:
            hint = f"mg/L {_FORM_SAID.get(forms[code], _FORMS_THERE_ARE[code])}"
        fields.append(
            Field(code, names.get(code, parameter.label), hint, texts.get(code, ""), width=_CELLS)
        )
    fields += [
        Field("taken_at", "taken at", "now; or 07:40, yesterday 16:20", texts.get("taken_at", ""),
              width=_CELLS),
        Field("place", "where in the pond", "skimmer, 1 m deep", texts.get("place", ""),
              width=_CELLS),
        Field("since_feeding", "since feeding", "minutes, or 2 h", texts.get("since_feeding", ""),
              width=_CELLS),
        Field("since_water_change", "since water change", "minutes, 2 h, 1 d",
              texts.get("since_water_change", ""), width=_CELLS),
        Field("binder_days", "since a binder", "days; dechlorinator, ammonia binder",
              texts.get("binder_days", ""), width=_CELLS),
        Field("note", "note", "what was seen", texts.get("note", ""), lines=2),
    ]  # fmt: skip
    return tuple(fields)
