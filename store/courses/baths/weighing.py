"""What a pond-side scale and a measuring jug can tell apart: rounding once, and saying so.

An amount is rounded down, never up: what is weighed out does not exceed what was asked for.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Literal

from store.errors import BadInput
from store.water.given import figures, given

Unit = Literal["g", "mL"]

SCALE_STEPS_G = (100.0, 10.0, 1.0, 0.1, 0.01)
"""Steps of the scales that a practice carries, coarse to fine: platform, kitchen and pocket
scale [g]; common practice, without a source."""
JUG_STEPS_ML = (100.0, 50.0, 10.0, 5.0, 1.0, 0.1, 0.01)
"""Steps of bucket, jug, cylinder and syringes, coarse to fine [mL]; common practice."""
COARSENESS = 0.01
"""The coarsest step is taken that is no more than this share of the amount [-]; common practice."""

_HOUSEHOLD = re.compile(
    r"(?<![a-z])(tsps?|tbsps?|(?:tea|table|dessert)?[ -]?spoons?(?:fuls?)?|cups?(?:fuls?)?"
    r"|caps?(?:fuls?)|scoops?|drops?|pinch(?:es)?|handfuls?|dash(?:es)?|glass(?:es)?)(?![a-z])"
)
_STEPS: dict[Unit, tuple[float, ...]] = {"g": SCALE_STEPS_G, "mL": JUG_STEPS_ML}


@dataclass(frozen=True, slots=True)
class Measured:
    """An amount as it can be weighed or measured out.

    `exact` is what was reckoned, `measured` what the scale or jug shows, both in `unit`; `step` is
    one step of that scale. `measured` is zero where the amount is less than the finest step.
    """

    exact: float
    measured: float
    unit: Unit
    step: float

    @property
    def short_percent(self) -> float:
        """How much less than asked is measured out [% of what was asked]; never below zero."""
        return max(0.0, 100.0 * (1.0 - self.measured / self.exact)) if self.exact else 0.0

    @property
    def said(self) -> str:
        """The amount as it is read to the person at the scale: `15.3 g`, `2.5 kg`, `17.6 L`."""
        if self.measured >= 1000.0:
            return f"{figures(self.measured / 1000.0, 8)} {'kg' if self.unit == 'g' else 'L'}"
        return f"{figures(self.measured, 8)} {self.unit}"

    @property
    def remarks(self) -> tuple[str, ...]:
        """What must be said where the finest scale is too coarse for this amount."""
        named = "scale" if self.unit == "g" else "syringe"
        if self.exact and not self.measured:
            return (
                (
                    f"{figures(self.exact)} {self.unit} is less than one step of the finest "
                    f"{named} ({figures(self.step)} {self.unit}): make a weighed stock and measure "
                    "out a share of it."
                ),
            )
        if self.short_percent > 100.0 * COARSENESS:
            return (
                (
                    f"One step of the finest {named} is {figures(self.step)} {self.unit}: what is "
                    f"measured out falls short by {figures(self.short_percent, 2)} %."
                ),
            )
        return ()


def refuse_household(text: str) -> None:
    """Refuse spoons, cups, caps and drops: no two of them hold the same.

    Parameters
    ----------
    text
        An amount as typed.

    Raises
    ------
    BadInput
        One of them is named.

    """
    found = _HOUSEHOLD.search(text.casefold())
    if found is not None:
        raise BadInput(
            f"\N{LEFT DOUBLE QUOTATION MARK}{found[1]}\N{RIGHT DOUBLE QUOTATION MARK} is no "
            "measure: no two hold the same, and a powder weighs otherwise than water. Weigh it in "
            "g, or measure a liquid in mL."
        )


def measured(exact: float, unit: Unit) -> Measured:
    """An amount rounded down to a step of the scale or jug that suits it.

    The coarsest step is taken that is no more than one hundredth of the amount, so that rounding
    takes less than one percent away; below that the finest step there is.

    Parameters
    ----------
    exact
        What was reckoned [g or mL].
    unit
        Which of the two it is.

    Returns
    -------
    Measured
        The exact and the measured amount [g or mL].

    Raises
    ------
    BadInput
        An amount below zero, or not a number.

    Notes
    -----
    An amount that meets a step but for the noise of binary fractions counts as meeting it.

    Examples
    --------
    >>> measured(15.306, "g").said, measured(17_671.5, "mL").said, measured(125.0, "mL").said
    ('15.3 g', '17.6 L', '125 mL')
    """
    given(exact, "amount", unit, low=0.0, high=1e15)
    steps = _STEPS[unit]
    step = next((one for one in steps if one <= COARSENESS * exact * (1.0 + 1e-9)), steps[-1])
    count = math.floor(exact / step * (1.0 + 1e-12) + 1e-9)
    return Measured(exact=exact, measured=_steps_of(count, step), unit=unit, step=step)


def _steps_of(count: int, step: float) -> float:
    # 153 x 0.1 is 15.3, not 15.299999999999999.
    return count * step if step >= 1.0 else count / round(1.0 / step)
