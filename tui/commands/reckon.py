"""`pondround reckon`: every calculator of the water room at the command line."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable
from typing import Any

from store.errors import BadInput
from store.text import plain
from tui.commands import reckoned as calculators
from tui.commands.parsing import OneSentenceParser
from tui.commands.reckoned import Answer


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
        dest="calculator", metavar="CALCULATOR", parser_class=OneSentenceParser, required=True
    )

    one = _calculator(
        kinds, "ammonia", "un-ionised ammonia from total ammonia", calculators.ammonia
    )
    one.add_argument("--tan", required=True, metavar="MG_L", help="total ammonia as the kit reads")
    one.add_argument(
        "--as", dest="form", choices=("n", "nh3", "nh4"), default="n",
        help="what the kit reports: nitrogen (the default), NH3 or NH4",
    )  # fmt: skip
    _add(one, "--ph", "pH", required=True)
    _add(one, "--temp", "water temperature, °C unless it says F", required=True)
    _add(one, "--salinity", "salt, g/L unless it says %% or ppm", default="0")

    one = _calculator(
        kinds, "oxygen", "oxygen at saturation, and percent of it", calculators.oxygen
    )
    _add(one, "--temp", "water temperature, °C unless it says F", required=True)
    _add(one, "--salinity", "salt, g/L unless it says %% or ppm", default="0")
    _add(one, "--altitude", "height above the sea, m unless it says ft", default="0")
    _add(one, "--do", "measured dissolved oxygen, mg/L")

    one = _calculator(kinds, "co2", "free carbon dioxide", calculators.co2)
    either = one.add_mutually_exclusive_group(required=True)
    either.add_argument("--kh", metavar="DEGREES", help="carbonate hardness, German degrees")
    either.add_argument("--alkalinity", metavar="MG_L", help="alkalinity, mg/L as CaCO3")
    _add(one, "--ph", "pH", required=True)
    _add(one, "--temp", "water temperature, °C unless it says F", required=True)

    one = _calculator(
        kinds, "nitrite", "chloride to nitrite, and the salt it takes", calculators.nitrite
    )
    one.add_argument("--nitrite", required=True, metavar="MG_L", help="nitrite as the kit reads")
    one.add_argument(
        "--as", dest="form", choices=("no2", "n"), required=True,
        help="what the kit reports: the nitrite ion or nitrogen",
    )  # fmt: skip
    _add(one, "--chloride", "chloride that is there, mg/L", required=True)
    _add(one, "--volume", "pond volume, L unless it says m3, USgal, UKgal")
    _add(one, "--ratio", "wanted chloride to nitrite ion", default="10")

    one = _calculator(
        kinds, "criteria", "EPA 2013 criteria for total ammonia", calculators.criteria
    )
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
    reckon: Callable[[argparse.Namespace], Answer] = args.reckon
    try:
        answer = reckon(args)
    except BadInput as error:
        print(plain(error.message), file=sys.stderr)
        return 2
    print(_as_json(answer) if args.json else _as_text(answer))
    return 0


def _calculator(
    kinds: Any, name: str, summary: str, reckon: Callable[[argparse.Namespace], Answer]
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
        dest="way", metavar="WAY", parser_class=OneSentenceParser, required=True
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
        one = _calculator(ways, way, f"volume of a pond: {way}", calculators.shape)
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
    one = _calculator(ways, "salt", "volume from a weighed amount of salt", calculators.salt)
    _add(one, "--salt", "salt dissolved, g unless it says kg or lb", required=True)
    _add(one, "--before", "salinity before, g/L unless it says %% or ppm", required=True)
    _add(one, "--after", "salinity after mixing", required=True)
    _add(one, "--step", "one step of the meter; else the last digit typed")
    _add(one, "--purity", "share of NaCl in the salt, 0-1", default="1")
    _add(one, "--hours", "how long the salt had mixed, h")


def _as_json(answer: Answer) -> str:
    return json.dumps(
        {
            **answer.values,
            "units": dict(answer.units),
            "arithmetic": answer.arithmetic,
            "source": answer.source,
            "remarks": list(answer.remarks),
        },
        allow_nan=False,
        indent=2,
    )


def _as_text(answer: Answer) -> str:
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
