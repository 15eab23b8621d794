"""A water test in words: how it was taken, and its readings beside their names."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, tzinfo
from typing import TYPE_CHECKING

from tui.said import said_moment
from tui.widgets.literal import one_line

if TYPE_CHECKING:
    from store.book.kits import Kit
    from store.water.understood import ReadingValue
    from store.water.water_tests import NewTest, WaterTest

_FORMS = {"n": "as N", "nh3": "as NH3", "nh4": "as NH4", "no2": "as NO2", "no3": "as NO3",
          "caco3": "as CaCO3", "hco3": "as HCO3", "unknown": "form not known"}  # fmt: skip


def value_said(reading: ReadingValue) -> str:
    """A reading to stand beside the name of its parameter, without its short name."""
    from store.water.parameters import PARAMETERS
    from store.water.understood import shown

    said = one_line(shown(reading))
    for short in (PARAMETERS[reading.parameter].short, "DO", "salt"):
        said = said.removeprefix(f"{short} ")
    return said


def typed_said(reading: ReadingValue) -> str:
    """What was typed, with unit and form."""
    form = _FORMS.get(reading.form, "")
    return one_line(" ".join(part for part in (reading.typed, reading.unit, form) if part))


def on_the_point(values: Sequence[str]) -> list[str]:
    """Readings under each other, their numbers lined up on the decimal point.

    Examples
    --------
    >>> on_the_point(["13.2 °C", "8.2", "<0.05 mg/L", "20 mg/L", "not detected"])
    ['13.2 °C', ' 8.2', '<0.05 mg/L', '20 mg/L', 'not detected']
    """
    wholes = [re.match(r"[<>~]?[0-9,]+", value) for value in values]
    widest = max((len(whole[0]) for whole in wholes if whole), default=0)
    return [
        " " * (widest - len(whole[0])) + value if whole else value
        for whole, value in zip(wholes, values, strict=True)
    ]


def circumstances(
    test: WaterTest | NewTest, zone: tzinfo, today: date, kit: Kit | None = None
) -> str:
    """Place, depth, kit and times of a test; empty where nothing of it is known."""
    from store.water.given import said_minutes

    parts = []
    if test.place:
        parts.append(one_line(test.place))
    if test.depth_m is not None:
        parts.append(f"{test.depth_m:.3g} m deep")
    if test.tested_at is not None:
        parts.append(f"tested {said_moment(test.tested_at, zone, today)}")
    if kit is not None:
        parts.append(f"kit: {one_line(kit.name)}")
    if test.since_feeding_min is not None:
        parts.append(f"{said_minutes(test.since_feeding_min)} after feeding")
    if test.since_water_change_min is not None:
        parts.append(f"{said_minutes(test.since_water_change_min)} after a water change")
    if test.binder_days is not None:
        parts.append(f"{test.binder_days:g} d after a binder")
    return ", ".join(parts)
