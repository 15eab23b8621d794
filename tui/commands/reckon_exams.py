"""What the calculators of examinations take at the command line."""

from __future__ import annotations

from typing import Any

from tui.commands import reckoned_deaths as deaths
from tui.commands import reckoned_exams as calculators
from tui.commands.answer import add_calculator, add_number

_SHARE = "as 5%% or 0.05"


def add_exams(kinds: Any) -> None:
    """Add the calculators of examinations to `reckon`.

    Parameters
    ----------
    kinds
        What `ArgumentParser.add_subparsers` returned.
    """
    one = add_calculator(
        kinds, "sample", "how many fish to examine, and what a clean sample proves",
        calculators.sample,
    )  # fmt: skip
    one.add_argument(
        "--population", required=True, metavar="FISH",
        help="fish in the stock, or inf for a large one",
    )  # fmt: skip
    either = one.add_mutually_exclusive_group(required=True)
    either.add_argument(
        "--prevalence", metavar="SHARE", help=f"the share diseased that is to be found, {_SHARE}"
    )
    either.add_argument(
        "--examined", metavar="FISH",
        help="or how many were examined, all of them negative: what that proves",
    )  # fmt: skip
    _add_confidence(one)
    one.add_argument(
        "--sensitivity", default="100%", metavar="SHARE",
        help="share of diseased fish that the test finds [100%%]",
    )  # fmt: skip
    one.add_argument(
        "--rounding", choices=("up", "nearest", "down", "fraction"), default="up",
        help="what becomes of a number diseased that is not whole [up]; down is the cautious "
        "choice, fraction follows the table of Cannon & Roe 1982",
    )  # fmt: skip

    one = add_calculator(
        kinds, "prevalence", "share of fish that are positive, with intervals",
        calculators.prevalence,
    )  # fmt: skip
    add_number(one, "--positive", "fish found positive", required=True)
    add_number(one, "--examined", "fish examined", required=True)
    add_number(one, "--population", "fish in the pond, where it is known")
    _add_confidence(one)

    one = add_calculator(
        kinds, "reduction", "did it work: counts of parasites before against after",
        calculators.reduction,
    )  # fmt: skip
    one.add_argument(
        "--before", required=True, metavar="COUNTS", help="one count a fish, as 42,35,60"
    )
    one.add_argument("--after", required=True, metavar="COUNTS", help="the same after the course")
    one.add_argument(
        "--same-fish", action="store_true", help="the two lists are of the same fish, in order"
    )
    one.add_argument(
        "--scores", action="store_true",
        help="these are scores of 0 to 3: only the share of fish with any is compared",
    )  # fmt: skip
    _add_confidence(one)
    add_number(one, "--draws", "how often the fish are drawn anew [10000]", default="10000")
    add_number(one, "--seed", "from which the drawing starts [1]", default="1")

    one = add_calculator(
        kinds, "mortality", "deaths over a stock, a day, a week and in all", deaths.mortality
    )
    add_number(one, "--stock", "fish that were counted", required=True)
    one.add_argument(
        "--counted", required=True, metavar="DATE", help="day of the count, as 2026-06-09"
    )
    one.add_argument(
        "--deaths", required=True, metavar="NUMBERS",
        help="dead on each day after the count, as 2,0,-,3; - is a day that nobody looked at",
    )  # fmt: skip
    for name, what in (("added", "came"), ("removed", "were taken out")):
        one.add_argument(
            f"--{name}", action="append", default=[], metavar="DATE:FISH",
            help=f"fish that {what}, as 2026-06-11:4; may be given several times",
        )  # fmt: skip
    _add_confidence(one)


def _add_confidence(one: Any) -> None:
    one.add_argument(
        "--confidence", default="95%", metavar="SHARE", help="how sure it is to be [95%%]"
    )
