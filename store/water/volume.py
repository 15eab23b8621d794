"""How many litres a pond holds: by its shape, by salt, or by what somebody says."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from store.errors import BadInput
from store.water.given import figures, given

MEASURING_ERROR_M = 0.05
"""How far a measured length or depth may be out, m; common practice with a tape at the water."""
STATED_PERCENT = 30.0
"""How far a volume that somebody states may be out, %; common practice, without a source."""
METER_STEPS = 3.0
"""The salt method needs a rise of at least so many steps of the meter; common practice."""


@dataclass(frozen=True, slots=True)
class Volume:
    """A pond's volume with the bounds that its measurements leave."""

    litres: float
    low_l: float
    high_l: float
    method: str
    workings: str
    remarks: tuple[str, ...]


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
        "{length} x {width} x {depth} m",
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
        "pi/4 x {diameter}^2 x {depth} m",
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
        "pi/4 x {length} x {width} x {depth} m",
        error_m,
    )


def l_shape(
    length_m: float,
    width_m: float,
    corner_length_m: float,
    corner_width_m: float,
    depth_m: float,
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
        "({length} x {width} - {corner_length} x {corner_width}) x {depth} m",
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
    given(shallow_m, "shallow end", "m", low=0.0)
    return _by_shape(
        "sloping floor",
        {"length": length_m, "width": width_m, "shallow": shallow_m, "deep": deep_m},
        lambda length, width, shallow, deep: length * width * (shallow + deep) / 2.0,
        "{length} x {width} x ({shallow} + {deep})/2 m",
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
    cell_length = given(cell_length_m, "cell", "m", above=0.0)
    cell_width = given(cell_width_m, "cell", "m", above=0.0)
    given(error_m, "measuring error", "m", low=0.0)
    soundings = [given(depth, "depth", "m", low=0.0) for row in depths_m for depth in row]
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
        workings=f"sum of {len(wet)} depths {figures(math.fsum(wet))} m x {figures(cell_length)} x "
        f"{figures(cell_width)} m x 1000 = {figures(litres)} L; each depth "
        f"\N{PLUS-MINUS SIGN}{figures(error_m)} m",
        remarks=()
        if len(wet) >= 9
        else ("Fewer than 9 soundings: a finer grid would tell more (common practice).",),
    )


def by_salt(
    salt_g: float,
    before_g_l: float,
    after_g_l: float,
    resolution_g_l: float,
    purity: float = 1.0,
    hours_mixed: float | None = None,
) -> Volume:
    """The volume from a weighed amount of salt and the rise of salinity that it made.

    Litres = grams x purity / (after - before). Each reading may be out by half a step of the
    meter, so the rise by a whole step either way.

    Parameters
    ----------
    salt_g
        Salt dissolved in the pond [g].
    before_g_l, after_g_l
        Salinity before, and after the salt has mixed [g/L].
    resolution_g_l
        One step of the meter's display [g/L].
    purity
        Share of NaCl in the salt, 1 for pure [-].
    hours_mixed
        How long the salt mixed before the second reading [h]; None where nobody knows.

    Returns
    -------
    Volume
        Litres, with the bounds of the meter's step [L]. Filter and pipework are counted, for the
        salt went through them.

    Raises
    ------
    BadInput
        A rise under three meter steps, or a number that cannot exist.

    Examples
    --------
    >>> answer = by_salt(12_000.0, 0.4, 1.1, 0.1, hours_mixed=24.0)
    >>> round(answer.litres), round(answer.low_l), round(answer.high_l)
    (17143, 15000, 20000)
    """
    given(salt_g, "salt", "g", above=0.0)
    given(before_g_l, "salinity before", "g/L", low=0.0, high=350.0)
    given(after_g_l, "salinity after", "g/L", low=0.0, high=350.0)
    given(resolution_g_l, "meter's step", "g/L", above=0.0)
    given(purity, "purity", above=0.0, high=1.0)
    rise_g_l = after_g_l - before_g_l
    if rise_g_l <= 0.0:
        raise BadInput(
            f"The salinity did not rise ({figures(before_g_l)} before, {figures(after_g_l)} g/L "
            "after), so there is no volume to reckon.",
            field="salinity after",
        )
    # A rise of exactly three steps must pass though 0.1 has no exact binary form.
    if rise_g_l < METER_STEPS * resolution_g_l * (1.0 - 1e-9):
        raise BadInput(
            f"The salinity rose by {figures(rise_g_l)} g/L, less than three steps of the meter "
            f"({figures(resolution_g_l)} g/L each): add more salt or use a finer meter.",
            field="salinity after",
        )
    salt_mass_g = salt_g * purity
    pure = "" if purity == 1.0 else f" x {figures(purity)}"
    litres = salt_mass_g / rise_g_l
    return Volume(
        litres=litres,
        low_l=salt_mass_g / (rise_g_l + resolution_g_l),
        high_l=salt_mass_g / (rise_g_l - resolution_g_l),
        method="salt",
        workings=f"{figures(salt_g)} g{pure} / ({figures(after_g_l)} - {figures(before_g_l)} g/L) "
        f"= {figures(litres)} L; rise {figures(rise_g_l)} "
        f"\N{PLUS-MINUS SIGN}{figures(resolution_g_l)} g/L",
        remarks=_mixing_remarks(hours_mixed),
    )


def salt_to_raise_g(
    volume_l: float, before_g_l: float, after_g_l: float, purity: float = 1.0
) -> float:
    """The salt that brings a pond from one salinity to a higher one; zero where it is there.

    Parameters
    ----------
    volume_l
        Volume of the pond [L].
    before_g_l, after_g_l
        Salinity that is there and that is wanted [g/L].
    purity
        Share of NaCl in the salt, 1 for pure [-].

    Returns
    -------
    float
        Salt [g].

    Raises
    ------
    BadInput
        A number that cannot exist.

    Examples
    --------
    >>> round(salt_to_raise_g(20_000.0, 0.0, 0.5))
    10000
    """
    given(volume_l, "volume", "L", above=0.0)
    given(before_g_l, "salinity", "g/L", low=0.0, high=350.0)
    given(after_g_l, "wanted salinity", "g/L", low=0.0, high=350.0)
    given(purity, "purity", above=0.0, high=1.0)
    return max(0.0, after_g_l - before_g_l) * volume_l / purity


def stated(litres: float, percent: float = STATED_PERCENT) -> Volume:
    """A volume that somebody states, with the doubt that belongs to it.

    Parameters
    ----------
    litres
        What was stated [L].
    percent
        How far it may be out either way [%].

    Returns
    -------
    Volume
        Litres with their bounds [L].

    Raises
    ------
    BadInput
        A volume that is not above zero, or a doubt outside 0-100 %.
    """
    given(litres, "volume", "L", above=0.0)
    given(percent, "doubt", "%", low=0.0, high=100.0)
    return Volume(
        litres=litres,
        low_l=litres * (1.0 - percent / 100.0),
        high_l=litres * (1.0 + percent / 100.0),
        method="stated",
        workings=f"{figures(litres)} L as stated, \N{PLUS-MINUS SIGN}{figures(percent)} %",
        remarks=("Stated, not measured: measure it by shape or by salt before dosing.",),
    )


def with_filter(volume: Volume, filter_l: float) -> Volume:
    """The volume of a measured shape together with the water in its filter and pipework.

    Parameters
    ----------
    volume
        Volume of the pond itself.
    filter_l
        Water in filter and pipework [L].

    Returns
    -------
    Volume
        Litres with their bounds [L].

    Raises
    ------
    BadInput
        Less than no water, or a volume by salt, which has counted the filter.
    """
    given(filter_l, "filter", "L", low=0.0)
    if volume.method == "salt":
        raise BadInput("The salt went through the filter: it is counted already.", field="filter")
    return replace(
        volume,
        litres=volume.litres + filter_l,
        low_l=volume.low_l + filter_l,
        high_l=volume.high_l + filter_l,
        workings=f"{volume.workings}; filter and pipework + {figures(filter_l)} L = "
        f"{figures(volume.litres + filter_l)} L",
    )


def difference_percent(a_l: float, b_l: float) -> float:
    """By how much the larger of two volumes exceeds the smaller: the overdose it would cause.

    Parameters
    ----------
    a_l, b_l
        Two volumes of the same pond, in either order, above zero [L].

    Returns
    -------
    float
        Difference [% of the smaller].

    Examples
    --------
    >>> round(difference_percent(17_143.0, 22_730.0))
    33
    """
    return 100.0 * (max(a_l, b_l) / min(a_l, b_l) - 1.0)


def _mixing_remarks(hours_mixed: float | None) -> tuple[str, ...]:
    if hours_mixed is None:
        return (
            (
                "It is not stated how long the salt had mixed; read the meter again after a day, "
                "at several places (common practice)."
            ),
        )
    given(hours_mixed, "mixing time", "h", low=0.0)
    if hours_mixed < 24.0:
        return (
            (
                f"Read after {figures(hours_mixed)} h: read it again after a day, at several "
                "places (common practice)."
            ),
        )
    return ()


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
    given(error_m, "measuring error", "m", low=0.0)
    for name, size_m in sizes_m.items():
        if name not in may_be_zero:
            given(size_m, name.replace("_", " "), "m", above=0.0)

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
        workings=f"{written} x 1000 = {figures(litres)} L; each measurement "
        f"\N{PLUS-MINUS SIGN}{figures(error_m)} m",
        remarks=(),
    )
