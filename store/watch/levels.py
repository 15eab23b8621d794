"""The four levels in which the practice is told about a pond, worst first."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, get_args

Level = Literal["act", "watch", "unknown", "calm"]
"""`act`: somebody today. `watch`: keep an eye on it, test again. `unknown`: the readings are too
old or too few to say. `calm`: nothing asked of anybody."""

LEVELS: tuple[Level, ...] = get_args(Level)

ORDER: dict[Level, int] = {level: place for place, level in enumerate(LEVELS)}
"""Place of each level on the morning list; 0 is the worst and stands first."""


def worst(levels: Iterable[Level]) -> Level:
    """The level that stands first on the morning list; `calm` when there is none.

    Parameters
    ----------
    levels
        In any order.

    Examples
    --------
    >>> worst(["calm", "unknown", "watch"])
    'watch'
    >>> worst([])
    'calm'
    """
    return min(levels, key=ORDER.__getitem__, default="calm")
