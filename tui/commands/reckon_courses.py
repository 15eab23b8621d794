"""What the calculators of treatment courses take at the command line."""

from __future__ import annotations

from typing import Any

from tui.commands import reckoned_courses as calculators
from tui.commands import reckoned_timing as timing
from tui.commands.answer import add_calculator, add_number


def add_courses(kinds: Any) -> None:
    """Add the calculators of treatment courses to `reckon`.

    Parameters
    ----------
    kinds
        What `ArgumentParser.add_subparsers` returned.
    """
    one = add_calculator(kinds, "bath", "what to weigh or measure out for a bath", calculators.bath)
    add_number(one, "--dose", "dose, mg/L unless it says g/L or uL/L", required=True)
    add_number(one, "--volume", "water, L unless it says m3, USgal, UKgal", required=True)
    add_number(one, "--strength", "active substance in the product, %% [100]")
    add_number(one, "--density", "density of a liquid, g/mL; left out for a powder")
    one.add_argument(
        "--basis", choices=("w/w", "w/v", "product"),
        help="strength by weight (the default) or in 100 mL; or the dose is of the product itself",
    )  # fmt: skip
    add_number(one, "--low", "the least that the volume may be")
    add_number(one, "--high", "the greatest that the volume may be")

    one = add_calculator(
        kinds, "residue", "what is in the water over a course of doses", calculators.residue
    )
    add_number(one, "--dose", "each dose, mg/L", required=True)
    add_number(one, "--doses", "how many", required=True)
    add_number(one, "--every", "days from one to the next", required=True)
    add_number(one, "--water-change", "water replaced before each dose, %%", default="0")
    add_number(one, "--half-life", "published half-life, hours; without it nothing is lost")

    one = add_calculator(kinds, "feed", "medicated feed, forward and back", calculators.feed)
    either = one.add_mutually_exclusive_group(required=True)
    either.add_argument("--dose", metavar="NUMBER", help="active substance, mg per kg fish and day")
    either.add_argument("--inclusion", metavar="NUMBER", help="or what the feed holds, mg/kg feed")
    add_number(one, "--biomass", "weight of the fish, kg unless it says g or lb", required=True)
    either = one.add_mutually_exclusive_group(required=True)
    either.add_argument("--rate", metavar="NUMBER", help="what they eat, %% of biomass a day")
    either.add_argument("--feed", metavar="NUMBER", help="or the feed for all the days, kg")
    add_number(one, "--days", "days of medicated feed", required=True)
    add_number(one, "--strength", "active substance in the product, %% [100]")
    add_number(one, "--temp", "water temperature: whether they feed, and how much")
    one.add_argument("--agent", metavar="CODE", help="set it beside the published oral dose")

    one = add_calculator(
        kinds, "feeding", "the ammonia that a day's feed makes", calculators.feeding
    )
    add_number(one, "--biomass", "weight of the fish, kg unless it says g or lb", required=True)
    add_number(one, "--rate", "feed of a day, %% of biomass", required=True)
    add_number(one, "--protein", "protein in the feed, %%", required=True)
    add_number(one, "--volume", "water, L unless it says m3, USgal, UKgal", required=True)
    add_number(one, "--temp", "water temperature: whether they feed, and how much")

    one = add_calculator(
        kinds, "cycle", "how long a parasite takes, and the interval of doses", timing.cycle
    )
    one.add_argument("hazard", metavar="HAZARD", help="its code, such as gill_flukes")
    add_number(one, "--temp", "water temperature, °C unless it says F", required=True)

    one = add_calculator(
        kinds, "withdrawal", "until when treated fish must not be eaten", timing.withdrawal
    )
    add_number(one, "--degree-days", "the period, °C times days", required=True)
    add_number(one, "--temp", "water temperature of the days to come", required=True)
    one.add_argument(
        "--from", required=True, metavar="DATE", dest="last_dose",
        help="day of the last dose, as 2026-05-03",
    )  # fmt: skip
    add_number(one, "--spread", "how far the temperature may be out, °C")

    one = add_calculator(kinds, "salt", "salt to a wanted salinity", calculators.salt)
    add_number(one, "--volume", "water, L unless it says m3, USgal, UKgal", required=True)
    add_number(
        one, "--from", "salinity that is there, g/L unless it says %% or ppm", required=True,
        dest="present",
    )  # fmt: skip
    add_number(one, "--to", "salinity wanted", required=True)
    add_number(one, "--purity", "share of NaCl in the salt, 0-1 [1]")
    add_number(one, "--low", "the least that the volume may be")
    add_number(one, "--high", "the greatest that the volume may be")
