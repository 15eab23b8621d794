"""`pondround reckon`: the calculators of water, courses and examinations at the command line."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from typing import Any

from store.errors import BadInput, NotFound
from store.text import plain
from tui.commands import reckoned as calculators
from tui.commands.answer import Answer, add_calculator, add_number, as_json, as_text
from tui.commands.parsing import OneSentenceParser
from tui.commands.reckon_courses import add_courses
from tui.commands.reckon_exams import add_exams


def add_reckon(subparsers: Any) -> None:
    """Add `reckon` and its calculators to the command line.

    Parameters
    ----------
    subparsers
        What `ArgumentParser.add_subparsers` returned.
    """
    reckon = subparsers.add_parser(
        "reckon",
        help="work out ammonia, oxygen, nitrite, volume, a bath, medicated feed and more",
        description="Each calculator prints its result, the arithmetic, the publication behind it "
        "and what must be said about its validity. Numbers may carry a decimal comma and a unit.",
    )
    kinds = reckon.add_subparsers(
        dest="calculator", metavar="CALCULATOR", parser_class=OneSentenceParser, required=True
    )

    one = add_calculator(
        kinds, "ammonia", "un-ionised ammonia from total ammonia", calculators.ammonia
    )
    one.add_argument("--tan", required=True, metavar="MG_L", help="total ammonia as the kit reads")
    one.add_argument(
        "--as", dest="form", choices=("n", "nh3", "nh4"), default="n",
        help="what the kit reports: nitrogen (the default), NH3 or NH4",
    )  # fmt: skip
    add_number(one, "--ph", "pH", required=True)
    add_number(one, "--temp", "water temperature, °C unless it says F", required=True)
    add_number(one, "--salinity", "salt, g/L unless it says %% or ppm", default="0")

    one = add_calculator(
        kinds, "oxygen", "oxygen at saturation, and percent of it", calculators.oxygen
    )
    add_number(one, "--temp", "water temperature, °C unless it says F", required=True)
    add_number(one, "--salinity", "salt, g/L unless it says %% or ppm", default="0")
    add_number(one, "--altitude", "height above the sea, m unless it says ft", default="0")
    add_number(one, "--do", "measured dissolved oxygen, mg/L")

    one = add_calculator(kinds, "co2", "free carbon dioxide", calculators.co2)
    either = one.add_mutually_exclusive_group(required=True)
    either.add_argument("--kh", metavar="DEGREES", help="carbonate hardness, German degrees")
    either.add_argument("--alkalinity", metavar="MG_L", help="alkalinity, mg/L as CaCO3")
    add_number(one, "--ph", "pH", required=True)
    add_number(one, "--temp", "water temperature, °C unless it says F", required=True)

    one = add_calculator(
        kinds, "nitrite", "chloride to nitrite, and the salt it takes", calculators.nitrite
    )
    one.add_argument("--nitrite", required=True, metavar="MG_L", help="nitrite as the kit reads")
    one.add_argument(
        "--as", dest="form", choices=("no2", "n"), required=True,
        help="what the kit reports: the nitrite ion or nitrogen",
    )  # fmt: skip
    add_number(one, "--chloride", "chloride that is there, mg/L", required=True)
    add_number(one, "--volume", "pond volume, L unless it says m3, USgal, UKgal")
    add_number(one, "--ratio", "wanted chloride to nitrite ion", default="10")

    one = add_calculator(
        kinds, "criteria", "EPA 2013 criteria for total ammonia", calculators.criteria
    )
    add_number(one, "--ph", "pH", required=True)
    add_number(one, "--temp", "water temperature, °C unless it says F", required=True)
    one.add_argument("--salmonids", action="store_true", help="trout or salmon live in the water")

    _add_volume(kinds)
    add_courses(kinds)
    add_exams(kinds)


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
    except (BadInput, NotFound) as error:
        print(plain(error.message), file=sys.stderr)
        return 2
    print(as_json(answer) if args.json else as_text(answer))
    return 0


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
        one = add_calculator(ways, way, f"volume of a pond: {way}", calculators.shape)
        for name in names:
            add_number(
                one, f"--{name}", f"{name.replace('-', ' ')}, m unless it says ft", required=True
            )
        if way == "grid":
            one.add_argument(
                "--row", action="append", required=True, metavar="DEPTHS",
                help="one row of depths in m, parted by blanks; once for each row",
            )  # fmt: skip
        add_number(one, "--error", "how far each measurement may be out (0.05 m)", default="0.05")
        add_number(one, "--filter", "water in filter and pipework, L", default="0")
        one.set_defaults(names=names)
    one = add_calculator(ways, "salt", "volume from a weighed amount of salt", calculators.salt)
    add_number(one, "--salt", "salt dissolved, g unless it says kg or lb", required=True)
    add_number(one, "--before", "salinity before, g/L unless it says %% or ppm", required=True)
    add_number(one, "--after", "salinity after mixing", required=True)
    add_number(one, "--step", "one step of the meter; else the last digit typed")
    add_number(one, "--purity", "share of NaCl in the salt, 0-1", default="1")
    add_number(one, "--hours", "how long the salt had mixed, h")
