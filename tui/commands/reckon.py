"""`pondround reckon`: every calculator of the water room at the command line."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, NoReturn

from store.errors import BadInput

if TYPE_CHECKING:
    from store.water.volume import Volume


@dataclass(frozen=True, slots=True)
class _Answer:
    """What is printed: the keys of the JSON object, their units, and how they came about."""

    values: Mapping[str, float | None]
    units: Mapping[str, str]
    labels: Mapping[str, str]
    arithmetic: str
    source: str
    remarks: tuple[str, ...] = field(default=())


class _OneSentence(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        self.exit(2, f"{message.capitalize()}. {self.prog} --help shows what it takes.\n")


def add_reckon(subparsers: Any) -> None:
    """Add `reckon` and its calculators to the command line.

    Parameters
    ----------
    subparsers
        What `ArgumentParser.add_subparsers` returned.
    """
    reckon = subparsers.add_parser(
        "reckon",
        help="work out ammonia, oxygen, carbon dioxide, nitrite, volume or criteria",
        description="Each calculator prints its result, the arithmetic, the publication behind it "
        "and what must be said about its validity. Numbers may carry a decimal comma and a unit.",
    )
    kinds = reckon.add_subparsers(
        dest="calculator", metavar="CALCULATOR", parser_class=_OneSentence, required=True
    )

    one = _calculator(kinds, "ammonia", "un-ionised ammonia from total ammonia", _ammonia)
    one.add_argument("--tan", required=True, metavar="MG_L", help="total ammonia as the kit reads")
    one.add_argument(
        "--as", dest="form", choices=("n", "nh3", "nh4"), default="n",
        help="what the kit reports: nitrogen (the default), NH3 or NH4",
    )  # fmt: skip
    _add(one, "--ph", "pH", required=True)
    _add(one, "--temp", "water temperature, °C unless it says F", required=True)
    _add(one, "--salinity", "salt, g/L unless it says %% or ppm", default="0")

    one = _calculator(kinds, "oxygen", "oxygen at saturation, and percent of it", _oxygen)
    _add(one, "--temp", "water temperature, °C unless it says F", required=True)
    _add(one, "--salinity", "salt, g/L unless it says %% or ppm", default="0")
    _add(one, "--altitude", "height above the sea, m unless it says ft", default="0")
    _add(one, "--do", "measured dissolved oxygen, mg/L")

    one = _calculator(kinds, "co2", "free carbon dioxide", _co2)
    either = one.add_mutually_exclusive_group(required=True)
    either.add_argument("--kh", metavar="DEGREES", help="carbonate hardness, German degrees")
    either.add_argument("--alkalinity", metavar="MG_L", help="alkalinity, mg/L as CaCO3")
    _add(one, "--ph", "pH", required=True)
    _add(one, "--temp", "water temperature, °C unless it says F", required=True)

    one = _calculator(kinds, "nitrite", "chloride to nitrite, and the salt it takes", _nitrite)
    one.add_argument("--nitrite", required=True, metavar="MG_L", help="nitrite as the kit reads")
    one.add_argument(
        "--as", dest="form", choices=("no2", "n"), required=True,
        help="what the kit reports: the nitrite ion or nitrogen",
    )  # fmt: skip
    _add(one, "--chloride", "chloride that is there, mg/L", required=True)
    _add(one, "--volume", "pond volume, L unless it says m3, USgal, UKgal")
    _add(one, "--ratio", "wanted chloride to nitrite ion", default="10")

    one = _calculator(kinds, "criteria", "EPA 2013 criteria for total ammonia", _criteria)
    _add(one, "--ph", "pH", required=True)
    _add(one, "--temp", "water temperature, °C unless it says F", required=True)
    one.add_argument("--salmonids", action="store_true", help="trout or salmon live in the water")

    _add_volume(kinds)


def run_reckon(args: argparse.Namespace) -> int:
    """Reckon and print; 0, or 2 after one sentence on standard error.

    Parameters
    ----------
    args
        What the parser of `add_reckon` understood.
    """
    reckon: Callable[[argparse.Namespace], _Answer] = args.reckon
    try:
        answer = reckon(args)
    except BadInput as error:
        print(error.message, file=sys.stderr)
        return 2
    print(_as_json(answer) if args.json else _as_text(answer))
    return 0


def _calculator(
    kinds: Any, name: str, summary: str, reckon: Callable[[argparse.Namespace], _Answer]
) -> argparse.ArgumentParser:
    one: argparse.ArgumentParser = kinds.add_parser(name, help=summary, description=summary)
    one.add_argument("--json", action="store_true", help="print one JSON object")
    one.set_defaults(reckon=reckon)
    return one


def _add(
    one: argparse.ArgumentParser,
    name: str,
    summary: str,
    *,
    required: bool = False,
    default: str | None = None,
) -> None:
    one.add_argument(name, required=required, default=default, metavar="NUMBER", help=summary)


def _add_volume(kinds: Any) -> None:
    volume = kinds.add_parser(
        "volume", help="pond volume by shape or by salt", description="pond volume"
    )
    ways = volume.add_subparsers(
        dest="way", metavar="WAY", parser_class=_OneSentence, required=True
    )
    sizes = {
        "rectangle": ("length", "width", "depth"),
        "circle": ("diameter", "depth"),
        "ellipse": ("length", "width", "depth"),
        "l-shape": ("length", "width", "corner-length", "corner-width", "depth"),
        "slope": ("length", "width", "shallow", "deep"),
        "grid": ("cell-length", "cell-width"),
    }
    for way, names in sizes.items():
        one = _calculator(ways, way, f"volume of a pond: {way}", _shape)
        for name in names:
            _add(one, f"--{name}", f"{name.replace('-', ' ')}, m unless it says ft", required=True)
        if way == "grid":
            one.add_argument(
                "--row", action="append", required=True, metavar="DEPTHS",
                help="one row of depths in m, parted by blanks; once for each row",
            )  # fmt: skip
        _add(one, "--error", "how far each measurement may be out (0.05 m)", default="0.05")
        _add(one, "--filter", "water in filter and pipework, L", default="0")
        one.set_defaults(names=names)
    one = _calculator(ways, "salt", "volume from a weighed amount of salt", _salt)
    _add(one, "--salt", "salt dissolved, g unless it says kg or lb", required=True)
    _add(one, "--before", "salinity before, g/L unless it says %% or ppm", required=True)
    _add(one, "--after", "salinity after mixing", required=True)
    _add(one, "--step", "one step of the meter; else the last digit typed")
    _add(one, "--purity", "share of NaCl in the salt, 0-1", default="1")
    _add(one, "--hours", "how long the salt had mixed, h")


def _reading(code: str, text: str, form: str | None = None, unit: str = "") -> float:
    from store.water.measures import quantity
    from store.water.parameters import PARAMETERS
    from store.water.units import to_stored

    value, typed_unit = quantity(text, PARAMETERS[code].label.split(" as ")[0])
    return to_stored(code, value, typed_unit or unit, form)


def _in_form(code: str, text: str, stored: str, form: str) -> tuple[float, str]:
    """The kit's number in mg/L, with the form it is in; mmol/L has no other than the stored one."""
    from store.water.measures import quantity
    from store.water.units import is_molar

    unit = quantity(text, "number")[1]
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


def _ammonia(args: argparse.Namespace) -> _Answer:
    from store.water.ammonia import ammonia

    tan, form = _in_form("tan_mg_l", args.tan, "n", args.form)
    answer = ammonia(
        tan,
        form,
        _reading("ph", args.ph),
        _reading("temperature_c", args.temp),
        _reading("salinity_g_l", args.salinity),
    )
    return _Answer(
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


def _oxygen(args: argparse.Namespace) -> _Answer:
    from store.water.oxygen import oxygen

    answer = oxygen(
        _reading("temperature_c", args.temp),
        _reading("salinity_g_l", args.salinity),
        _size_m(args.altitude, "altitude"),
        None if args.do is None else _reading("oxygen_mg_l", args.do),
    )
    return _Answer(
        values={"saturation_mg_l": answer.saturation_mg_l, "percent": answer.percent},
        units={"saturation_mg_l": "mg/L", "percent": "%"},
        labels={"saturation_mg_l": "oxygen at saturation", "percent": "the reading is"},
        arithmetic=answer.arithmetic,
        source=answer.source,
        remarks=answer.remarks,
    )


def _co2(args: argparse.Namespace) -> _Answer:
    from store.water.carbonate import co2

    if args.kh is None:
        alkalinity_mg_l = _reading("alkalinity_mg_l", args.alkalinity, unit="mg/L")
    else:
        alkalinity_mg_l = _reading("alkalinity_mg_l", args.kh, unit="dKH")
    answer = co2(alkalinity_mg_l, _reading("ph", args.ph), _reading("temperature_c", args.temp))
    return _Answer(
        values={"co2_mg_l": answer.co2_mg_l},
        units={"co2_mg_l": "mg/L"},
        labels={"co2_mg_l": "free carbon dioxide"},
        arithmetic=answer.arithmetic,
        source=answer.source,
        remarks=answer.remarks,
    )


def _nitrite(args: argparse.Namespace) -> _Answer:
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
    return _Answer(
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


def _criteria(args: argparse.Namespace) -> _Answer:
    from store.water.criteria import criteria

    answer = criteria(_reading("ph", args.ph), _reading("temperature_c", args.temp), args.salmonids)
    unit = "mg/L TAN as N"
    return _Answer(
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


def _shape(args: argparse.Namespace) -> _Answer:
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


def _salt(args: argparse.Namespace) -> _Answer:
    from store.water.measures import quantity, to_grams, typed_step
    from store.water.units import to_stored
    from store.water.volume import by_salt

    after_unit = quantity(args.after, "salinity after")[1]
    before_unit = quantity(args.before, "salinity before")[1]
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


def _volume(answer: Volume, source: str, remarks: tuple[str, ...] = ()) -> _Answer:
    return _Answer(
        values={"litres": answer.litres, "low_l": answer.low_l, "high_l": answer.high_l},
        units={"litres": "L", "low_l": "L", "high_l": "L"},
        labels={"litres": "volume", "low_l": "at least", "high_l": "at most"},
        arithmetic=answer.workings,
        source=source,
        remarks=answer.remarks + remarks,
    )


def _as_json(answer: _Answer) -> str:
    return json.dumps(
        {
            **answer.values,
            "units": dict(answer.units),
            "arithmetic": answer.arithmetic,
            "source": answer.source,
            "remarks": list(answer.remarks),
        },
        ensure_ascii=False,
        allow_nan=False,
        indent=2,
    )


def _as_text(answer: _Answer) -> str:
    from store.water.given import figures

    rows = [
        (label, f"{figures(value)} {'' if answer.units[key] == '1' else answer.units[key]}".strip())
        for key, label in answer.labels.items()
        if (value := answer.values[key]) is not None
    ]
    steps = answer.arithmetic.split("; ")
    rows += [("arithmetic" if step is steps[0] else "", step) for step in steps]
    rows.append(("source", answer.source))
    rows += [("remark", remark) for remark in answer.remarks]
    width = max(len(label) for label, _ in rows)
    return "\n".join(f"{label:<{width}}  {text}" for label, text in rows)
