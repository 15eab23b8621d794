"""The level of a pond as it is today: a pond that was let down holds less than its volume."""

from __future__ import annotations

from dataclasses import dataclass, replace

from store.courses.baths.weighing import refuse_household
from store.courses.planning.course import PondWater
from store.errors import BadInput
from store.water.given import figures
from store.water.measures import quantity, spelt, to_litres

LEAST_SHARE = 0.05
"""Below a twentieth of its volume a pond is empty for every purpose of a bath [-]."""
_PERCENT = ("%", "percent")


@dataclass(frozen=True, slots=True)
class Level:
    """What is in a pond now: `share` of its whole volume [-], and the arithmetic in words."""

    share: float
    volume_l: float
    said: str


def level_now(text: str, whole_l: float, *, field: str = "level") -> Level | None:
    """The level of today as it was typed.

    Parameters
    ----------
    text
        A share of the whole, `80 %`, or what is there now, `14000 L`, `14 m3`, `3700 USgal`.
    whole_l
        The pond's volume in force [L].
    field
        Where a fault is told.

    Returns
    -------
    Level or None
        None where nothing was typed: the pond is full.

    Raises
    ------
    BadInput
        No unit, a bare gallon, nothing or next to nothing in it, or more than the pond holds.

    Examples
    --------
    >>> level_now("80 %", 18_400.0).said
    'The level is 80 %: 18400 L × 0.8 = 14720 L are treated.'
    """
    if not text.strip():
        return None
    try:
        refuse_household(text)
        value, unit = quantity(text, "level")
        if not unit:
            raise BadInput("A share or an amount? Type the level as 80 % or as 14000 L.")
        if spelt(unit) in _PERCENT:
            share = value / 100.0
            said = (
                f"The level is {figures(value)} %: {figures(whole_l)} L × {figures(share)} = "
                f"{figures(whole_l * share)} L are treated."
            )
        else:
            litres = to_litres(value, unit)
            share = litres / whole_l
            said = (
                f"There are {figures(litres)} L now: {figures(litres)} / {figures(whole_l)} = "
                f"{figures(100.0 * share, 3)} % of the volume."
            )
    except BadInput as trouble:
        raise BadInput(trouble.message, field=field) from trouble
    if share < LEAST_SHARE:
        raise BadInput("With so little water there is no pond to treat.", field=field)
    if share > 1.0 + 1e-9:
        raise BadInput(
            f"That is more than the {figures(whole_l)} L that the pond holds. Put its volume right "
            "first, on the pond's page.",
            field=field,
        )
    return Level(share, whole_l * share, said)


def at_level(water: PondWater, level: Level | None) -> PondWater:
    """The pond's water at a level: its volume and both bounds by the same share.

    Parameters
    ----------
    water
        The pond when it is full.
    level
        From `level_now`; None leaves it full.
    """
    if level is None:
        return water
    return replace(
        water,
        volume_l=water.volume_l * level.share,
        volume_low_l=water.volume_low_l * level.share,
        volume_high_l=water.volume_high_l * level.share,
    )
