"""The form for a water test: one field a reading, then how the test was taken."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, tzinfo
from typing import TYPE_CHECKING

from tui.widgets.fields import Field, Form

if TYPE_CHECKING:
    from store.water.understood import KitForms, Understood

_FORM_SAID = {"n": "as N", "nh3": "as NH3", "nh4": "as NH4", "no2": "as NO2", "no3": "as NO3"}
_FORMS_THERE_ARE = {
    "tan_mg_l": "as N, NH3 or NH4: say which",
    "nitrite_mg_l": "as NO2 or N: say which",
    "nitrate_mg_l": "as NO3 or N: say which",
}

_CELLS = 18
"""Every entry is as wide, so that units and hints stand under each other."""

_CIRCUMSTANCES = (
    ("taken_at", "taken at", "now; or 07:40, yesterday 16:20"),
    ("tested_at", "tested at", "at once; or 10:20, or 40 min later"),
    ("place", "where in the pond", "skimmer, by the inlet"),
    ("depth", "depth of the sample", "metres, or 2 ft"),
    ("since_feeding", "since feeding", "minutes, or 2 h"),
    ("since_water_change", "since water change", "minutes, 2 h, 1 d"),
    ("binder_days", "since a binder", "days; dechlorinator, ammonia binder"),
)


class WaterForm(Form):
    """The form; beside each field stands what was understood of it."""

    def say(self, understood: Understood, taken_at: datetime, now: datetime, zone: tzinfo) -> None:
        """Say at each field what was understood, or asked."""
        from store.water.form import DETAILS, said_details
        from store.water.parameters import PARAMETERS
        from store.water.understood import shown, shown_time

        said: dict[str, str] = {one.parameter: shown(one) for one in understood.readings}
        said |= {doubt.parameter or "taken_at": doubt.question for doubt in understood.doubts}
        if understood.taken_at is not None:
            said.setdefault("taken_at", shown_time(understood.taken_at))
        said |= said_details(self.values, taken_at=taken_at, now=now, zone=zone)
        for name in (*PARAMETERS, "taken_at", *DETAILS):
            self.remark(name, said.get(name))


def form_fields(texts: Mapping[str, str], kit: KitForms) -> tuple[Field, ...]:
    """One field a parameter, then times, circumstances and note, filled with these texts."""
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
        Field(name, label, hint, texts.get(name, ""), width=_CELLS)
        for name, label, hint in _CIRCUMSTANCES
    ]
    return (*fields, Field("note", "note", "what was seen", texts.get("note", ""), lines=2))
