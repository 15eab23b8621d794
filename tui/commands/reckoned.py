"""The calculators behind `pondround reckon`: typed text goes in, an answer to print comes out."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import TYPE_CHECKING

from store.errors import BadInput
from tui.commands.answer import Answer

if TYPE_CHECKING:
    from store.water.volume import Volume


def _quantity(code: str, text: str) -> tuple[float, str]:
    from store.water.measures import quantity
    from store.water.parameters import PARAMETERS

    return quantity(text, PARAMETERS[code].label.split(" as ")[0])


def _reading(code: str, text: str, form: str | None = None, unit: str = "") -> float:
    from store.water.units import to_stored

    value, typed_unit = _quantity(code, text)
    return to_stored(code, value, typed_unit or unit, form)


def _in_form(code: str, text: str, stored: str, form: str) -> tuple[float, str]:
    """The kit's number in mg/L, with the form it is in; mmol/L has no other than the stored one."""
    from store.water.units import is_molar

    unit = _quantity(code, text)[1]
    return _reading(code, text, stored), stored if is_molar(unit) else form


def _size_m(text: str, name: str) -> float:
    from store.water.measures import quantity, to_metres

    return to_metres(*quantity(text, name))


def _bare(text: str, name: str) -> float:
    from store.water.measures import quantity

    value, unit = quantity(text, name)
    if unit:
        raise BadInput(f"The {name} takes a bare number, without a unit.", field=name)
    return value


def ammonia(args: argparse.Namespace) -> Answer:
    """Un-ionised ammonia from total ammonia, pH and temperature."""
    from store.water.ammonia import ammonia

    tan, form = _in_form("tan_mg_l", args.tan, "n", args.form)
    answer = ammonia(
        tan,
        form,
        _reading("ph", args.ph),
        _reading("temperature_c", args.temp),
        _reading("salinity_g_l", args.salinity),
    )
    return Answer(
        values={
            "fraction": answer.fraction,
            "nh3_n_mg_l": answer.nh3_n_mg_l,
            "nh3_mg_l": answer.nh3_mg_l,
            "fraction_fresh": answer.fraction_fresh,
            "nh3_n_fresh_mg_l": answer.nh3_n_fresh_mg_l,
        },
        units={
            "fraction": "1",
            "nh3_n_mg_l": "mg/L as N",
            "nh3_mg_l": "mg/L as NH3",
            "fraction_fresh": "1",
            "nh3_n_fresh_mg_l": "mg/L as N",
        },
        labels={
            "fraction": "share that is NH3",
            "nh3_n_mg_l": "un-ionised ammonia",
            "nh3_mg_l": "the same as NH3",
        },
        arithmetic=answer.arithmetic,
        source=answer.source,
        remarks=answer.remarks,
    )


def oxygen(args: argparse.Namespace) -> Answer:
    """Oxygen at saturation, and the percentage that a reading is of it."""
    from store.water.oxygen import oxygen

    answer = oxygen(
        _reading("temperature_c", args.temp),
        _reading("salinity_g_l", args.salinity),
        _size_m(args.altitude, "altitude"),
        None if args.do is None else _reading("oxygen_mg_l", args.do),
    )
    return Answer(
        values={"saturation_mg_l": answer.saturation_mg_l, "percent": answer.percent},
        units={"saturation_mg_l": "mg/L", "percent": "%"},
        labels={"saturation_mg_l": "oxygen at saturation", "percent": "the reading is"},
        arithmetic=answer.arithmetic,
        source=answer.source,
        remarks=answer.remarks,
    )


def co2(args: argparse.Namespace) -> Answer:
    """Free carbon dioxide from alkalinity or KH."""
    from store.water.carbonate import co2

    if args.kh is None:
        alkalinity_mg_l = _reading("alkalinity_mg_l", args.alkalinity, unit="mg/L")
    else:
        alkalinity_mg_l = _reading("alkalinity_mg_l", args.kh, unit="dKH")
    answer = co2(alkalinity_mg_l, _reading("ph", args.ph), _reading("temperature_c", args.temp))
    return Answer(
        values={"co2_mg_l": answer.co2_mg_l},
        units={"co2_mg_l": "mg/L"},
        labels={"co2_mg_l": "free carbon dioxide"},
        arithmetic=answer.arithmetic,
        source=answer.source,
        remarks=answer.remarks,
    )


def nitrite(args: argparse.Namespace) -> Answer:
    """Chloride to nitrite and the salt it takes."""
    from store.water.measures import quantity, to_litres
    from store.water.nitrite import nitrite

    nitrite_read, form = _in_form("nitrite_mg_l", args.nitrite, "no2", args.form)
    answer = nitrite(
        nitrite_read,
        form,
        _reading("chloride_mg_l", args.chloride),
        None if args.volume is None else to_litres(*quantity(args.volume, "volume")),
        _bare(args.ratio, "ratio"),
    )
    return Answer(
        values={
            "ratio": answer.ratio,
            "salt_g": answer.salt_g,
            "nitrite_mg_l": answer.nitrite_mg_l,
            "chloride_target_mg_l": answer.chloride_target_mg_l,
            "chloride_needed_mg_l": answer.chloride_needed_mg_l,
        },
        units={
            "ratio": "mg chloride per mg NO2",
            "salt_g": "g NaCl",
            "nitrite_mg_l": "mg/L as NO2",
            "chloride_target_mg_l": "mg/L",
            "chloride_needed_mg_l": "mg/L",
        },
        labels={
            "nitrite_mg_l": "nitrite",
            "ratio": "chloride to nitrite",
            "chloride_target_mg_l": "chloride wanted",
            "chloride_needed_mg_l": "chloride to add",
            "salt_g": "salt to add",
        },
        arithmetic=answer.arithmetic,
        source=answer.source,
        remarks=answer.remarks,
    )


def criteria(args: argparse.Namespace) -> Answer:
    """The EPA's acute and chronic criteria."""
    from store.water.criteria import criteria

    answer = criteria(_reading("ph", args.ph), _reading("temperature_c", args.temp), args.salmonids)
    unit = "mg/L TAN as N"
    return Answer(
        values={
            "acute_tan_mg_l": answer.acute_tan_mg_l,
            "chronic_tan_mg_l": answer.chronic_tan_mg_l,
            "four_day_tan_mg_l": answer.four_day_tan_mg_l,
        },
        units={
            "acute_tan_mg_l": unit,
            "chronic_tan_mg_l": unit,
            "four_day_tan_mg_l": unit,
        },
        labels={
            "acute_tan_mg_l": "acute, one hour",
            "chronic_tan_mg_l": "chronic, 30 days",
            "four_day_tan_mg_l": "highest 4 days",
        },
        arithmetic=answer.arithmetic,
        source=answer.source,
        remarks=answer.remarks,
    )


def shape(args: argparse.Namespace) -> Answer:
    """Volume of a pond of a measured shape, with its filter."""
    from store.water import shapes
    from store.water.measures import quantity, to_litres
    from store.water.volume import with_filter

    error_m = _size_m(args.error, "measuring error")
    sizes_m = [
        _size_m(getattr(args, name.replace("-", "_")), name.replace("-", " "))
        for name in args.names
    ]
    if args.way == "grid":
        rows = [[_size_m(depth, "depth") for depth in row.split()] for row in args.row]
        answer = shapes.depth_grid(rows, sizes_m[0], sizes_m[1], error_m)
    else:
        by_way: dict[str, Callable[..., Volume]] = {
            "rectangle": shapes.rectangle,
            "circle": shapes.circle,
            "ellipse": shapes.ellipse,
            "l-shape": shapes.l_shape,
            "slope": shapes.sloping_floor,
        }
        answer = by_way[args.way](*sizes_m, error_m=error_m)
    filter_l = to_litres(*quantity(args.filter, "filter"))
    return _volume(with_filter(answer, filter_l) if filter_l else answer, "geometry")


def salt(args: argparse.Namespace) -> Answer:
    """Volume from a weighed amount of salt."""
    from store.water.measures import quantity, to_grams, typed_step
    from store.water.units import to_stored
    from store.water.volume import by_salt

    after_unit = quantity(args.after, "salinity after")[1]
    before_g_l, before_unit = quantity(args.before, "salinity before")
    if bool(before_unit) != bool(after_unit) and before_g_l:
        raise BadInput("Please give both salinities with their unit, or both without.")
    if args.step is None:
        step_g_l = min(
            to_stored("salinity_g_l", typed_step(args.before), before_unit),
            to_stored("salinity_g_l", typed_step(args.after), after_unit),
        )
    else:
        step_g_l = _reading("salinity_g_l", args.step, unit=after_unit)
    answer = by_salt(
        to_grams(*quantity(args.salt, "salt")),
        _reading("salinity_g_l", args.before),
        _reading("salinity_g_l", args.after),
        step_g_l,
        purity=_bare(args.purity, "purity"),
        hours_mixed=None if args.hours is None else _bare(args.hours, "mixing time"),
    )
    remark = () if args.step else ("The meter's step was taken from the last digit typed.",)
    return _volume(answer, "dilution of a weighed amount of salt", remark)


def _volume(answer: Volume, source: str, remarks: tuple[str, ...] = ()) -> Answer:
    return Answer(
        values={"litres": answer.litres, "low_l": answer.low_l, "high_l": answer.high_l},
        units={"litres": "L", "low_l": "L", "high_l": "L"},
        labels={"litres": "volume", "low_l": "at least", "high_l": "at most"},
        arithmetic=answer.workings,
        source=source,
        remarks=answer.remarks + remarks,
    )
