"""How many litres a pond of a measured shape holds, and what the tape's error makes of it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from store.errors import BadInput
from store.water.given import figures, given
from store.water.volume import Volume

MEASURING_ERROR_M = 0.05
"""How far a measured length or depth may be out, m; common practice with a tape at the water."""
FEWEST_SOUNDINGS = 9
"""Soundings under which a depth grid is called coarse; common practice."""


def rectangle(
    length_m: float, width_m: float, depth_m: float, error_m: float = MEASURING_ERROR_M
) -> Volume:
    """The volume of a pond with straight sides and a level floor: length x width x depth.

    Parameters
    ----------
    length_m, width_m
        Sides at the water line [m].
    depth_m
        Depth of the water [m].
    error_m
        How far each measurement may be out [m].

    Returns
    -------
    Volume
        Litres, with the volume if every measurement was too long or too short by the error [L].

    Raises
    ------
    BadInput
        A length that is not above zero.

    Examples
    --------
    >>> rectangle(5.0, 3.0, 1.5).litres
    22500.0
    """
    return _by_shape(
        "rectangle",
        {"length": length_m, "width": width_m, "depth": depth_m},
        lambda length, width, depth: length * width * depth,
        "{length} × {width} × {depth} m",
        error_m,
    )


def circle(diameter_m: float, depth_m: float, error_m: float = MEASURING_ERROR_M) -> Volume:
    """The volume of a round pond with upright walls: pi/4 x diameter^2 x depth.

    Parameters
    ----------
    diameter_m
        Diameter at the water line [m].
    depth_m
        Depth of the water [m].
    error_m
        How far each measurement may be out [m].

    Returns
    -------
    Volume
        Litres with their bounds [L].

    Raises
    ------
    BadInput
        A length that is not above zero.

    Examples
    --------
    >>> round(circle(7.5, 2.0).litres)
    88357
    """
    return _by_shape(
        "circle",
        {"diameter": diameter_m, "depth": depth_m},
        lambda diameter, depth: math.pi / 4.0 * diameter * diameter * depth,
        "pi/4 × {diameter}^2 × {depth} m",
        error_m,
    )


def ellipse(
    length_m: float, width_m: float, depth_m: float, error_m: float = MEASURING_ERROR_M
) -> Volume:
    """The volume of an oval pond with upright walls: pi/4 x length x width x depth.

    Parameters
    ----------
    length_m, width_m
        Longest and shortest way across, the full axes [m].
    depth_m
        Depth of the water [m].
    error_m
        How far each measurement may be out [m].

    Returns
    -------
    Volume
        Litres with their bounds [L].

    Raises
    ------
    BadInput
        A length that is not above zero.

    Examples
    --------
    >>> round(ellipse(6.0, 4.0, 1.2).litres)
    22619
    """
    return _by_shape(
        "ellipse",
        {"length": length_m, "width": width_m, "depth": depth_m},
        lambda length, width, depth: math.pi / 4.0 * length * width * depth,
        "pi/4 × {length} × {width} × {depth} m",
        error_m,
    )


def l_shape(
    length_m: float,
    width_m: float,
    corner_length_m: float,
    corner_width_m: float,
    depth_m: float,
    *,
    error_m: float = MEASURING_ERROR_M,
) -> Volume:
    """The volume of an L: the rectangle around it, less the corner that is missing.

    Parameters
    ----------
    length_m, width_m
        Sides of the rectangle around the whole pond [m].
    corner_length_m, corner_width_m
        Sides of the missing corner, along the length and along the width [m].
    depth_m
        Depth of the water [m].
    error_m
        How far each measurement may be out [m].

    Returns
    -------
    Volume
        Litres with their bounds [L].

    Raises
    ------
    BadInput
        A length that is not above zero, or a corner as large as the pond.

    Examples
    --------
    >>> l_shape(6.0, 4.0, 2.0, 2.0, 1.0).litres
    20000.0
    """
    if corner_length_m >= length_m or corner_width_m >= width_m:
        raise BadInput(
            "The missing corner must be smaller than the rectangle around the pond.", field="corner"
        )
    return _by_shape(
        "L-shape",
        {
            "length": length_m,
            "width": width_m,
            "corner_length": corner_length_m,
            "corner_width": corner_width_m,
            "depth": depth_m,
        },
        lambda length, width, corner_length, corner_width, depth: (
            (length * width - corner_length * corner_width) * depth
        ),
        "({length} × {width} - {corner_length} × {corner_width}) × {depth} m",
        error_m,
        shrinking=frozenset({"corner_length", "corner_width"}),
    )


def sloping_floor(
    length_m: float,
    width_m: float,
    shallow_m: float,
    deep_m: float,
    error_m: float = MEASURING_ERROR_M,
) -> Volume:
    """The volume of a rectangular pond whose floor slopes evenly from one end to the other.

    Parameters
    ----------
    length_m, width_m
        Sides at the water line [m].
    shallow_m, deep_m
        Depth of the water at the two ends [m].
    error_m
        How far each measurement may be out [m].

    Returns
    -------
    Volume
        Litres with their bounds [L].

    Raises
    ------
    BadInput
        A length that is not above zero, or a shallow end below zero.

    Examples
    --------
    >>> sloping_floor(8.0, 4.0, 0.5, 1.5).litres
    32000.0
    """
    given(shallow_m, "shallow end", "m", low=0.0, high=10_000.0)
    return _by_shape(
        "sloping floor",
        {"length": length_m, "width": width_m, "shallow": shallow_m, "deep": deep_m},
        lambda length, width, shallow, deep: length * width * (shallow + deep) / 2.0,
        "{length} × {width} × ({shallow} + {deep})/2 m",
        error_m,
        may_be_zero=frozenset({"shallow"}),
    )


def depth_grid(
    depths_m: Sequence[Sequence[float]],
    cell_length_m: float,
    cell_width_m: float,
    error_m: float = MEASURING_ERROR_M,
) -> Volume:
    """The volume of an irregular pond from soundings at the middles of a grid of equal cells.

    Parameters
    ----------
    depths_m
        Rows of depths, one for each cell; 0 where there is dry land [m].
    cell_length_m, cell_width_m
        Sides of one cell [m].
    error_m
        How far each sounding may be out [m].

    Returns
    -------
    Volume
        Litres, with the volume if every sounding was too deep or too shallow by the error [L].

    Raises
    ------
    BadInput
        No wet cell, a depth below zero, or a cell without size.

    Examples
    --------
    >>> depth_grid([[0.0, 0.5], [1.0, 1.5]], 1.0, 1.0).litres
    3000.0
    """
    cell_length = given(cell_length_m, "cell", "m", above=0.0, high=10_000.0)
    cell_width = given(cell_width_m, "cell", "m", above=0.0, high=10_000.0)
    given(error_m, "measuring error", "m", low=0.0, high=10_000.0)
    soundings = [
        given(depth, "depth", "m", low=0.0, high=10_000.0) for row in depths_m for depth in row
    ]
    wet = [depth for depth in soundings if depth > 0.0]
    if not wet:
        raise BadInput("The grid has no depth above zero; please give the soundings.", field="grid")
    cell_l = cell_length * cell_width * 1000.0
    litres = math.fsum(wet) * cell_l
    return Volume(
        litres=litres,
        low_l=math.fsum(max(0.0, depth - error_m) for depth in wet) * cell_l,
        high_l=math.fsum(depth + error_m for depth in wet) * cell_l,
        method="depth grid",
        workings=f"sum of {len(wet)} depths {figures(math.fsum(wet))} m × {figures(cell_length)} × "
        f"{figures(cell_width)} m × 1000 = {figures(litres)} L; each depth "
        f"\N{PLUS-MINUS SIGN}{figures(error_m)} m",
        remarks=()
        if len(wet) >= FEWEST_SOUNDINGS
        else (
            f"Fewer than {FEWEST_SOUNDINGS} soundings: a finer grid tells more (common practice).",
        ),
    )


def _by_shape(
    method: str,
    sizes_m: dict[str, float],
    cubic_metres: Callable[..., float],
    formula: str,
    error_m: float,
    *,
    shrinking: frozenset[str] = frozenset(),
    may_be_zero: frozenset[str] = frozenset(),
) -> Volume:
    """A shape's volume; each formula grows with every size, or shrinks where it is said so."""
    given(error_m, "measuring error", "m", low=0.0, high=10_000.0)
    for name, size_m in sizes_m.items():
        if name not in may_be_zero:
            given(size_m, name.replace("_", " "), "m", above=0.0, high=10_000.0)

    def with_error(sign: float) -> float:
        moved = {
            name: max(0.0, size_m + (-sign if name in shrinking else sign) * error_m)
            for name, size_m in sizes_m.items()
        }
        return max(0.0, cubic_metres(**moved) * 1000.0)

    litres = cubic_metres(**sizes_m) * 1000.0
    written = formula.format(**{name: figures(size_m) for name, size_m in sizes_m.items()})
    return Volume(
        litres=litres,
        low_l=with_error(-1.0),
        high_l=with_error(1.0),
        method=method,
        workings=f"{written} × 1000 = {figures(litres)} L; each measurement "
        f"\N{PLUS-MINUS SIGN}{figures(error_m)} m",
        remarks=(),
    )
