"""How many litres a pond holds, with bounds: by salt, by what somebody says, with its filter.

By the pond's shape: see `store.water.shapes`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from store.errors import BadInput
from store.water.given import figures, given

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


def by_salt(
    salt_g: float,
    before_g_l: float,
    after_g_l: float,
    resolution_g_l: float,
    *,
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
    given(salt_g, "salt", "g", above=0.0, high=1e12)
    given(before_g_l, "salinity before", "g/L", low=0.0, high=350.0)
    given(after_g_l, "salinity after", "g/L", low=0.0, high=350.0)
    given(resolution_g_l, "meter's step", "g/L", low=1e-6, high=350.0)
    given(purity, "purity", low=0.01, high=1.0)
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
    pure = "" if purity == 1.0 else f" × {figures(purity)}"
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
    given(volume_l, "volume", "L", above=0.0, high=1e12)
    given(before_g_l, "salinity", "g/L", low=0.0, high=350.0)
    given(after_g_l, "wanted salinity", "g/L", low=0.0, high=350.0)
    given(purity, "purity", low=0.01, high=1.0)
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
    given(litres, "volume", "L", above=0.0, high=1e12)
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
    given(filter_l, "filter", "L", low=0.0, high=1e12)
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
