"""Salt to a target, from the salinity that is there; over the bounds of the volume too."""

from __future__ import annotations

from dataclasses import dataclass

from store.facts.entry import Standing
from store.facts.sources import cite
from store.water.given import figures, given
from store.water.volume import salt_to_raise_g

LONG_BATH_MOST_G_L = 3.0
"""The most that is published for an indefinite bath, against nitrite (WSAVA 2018) [g/L]."""
BATH_MOST_G_L = 10.0
"""The most of a bath of several hours (UF/IFAS VM007); beyond it are dips [g/L]."""


@dataclass(frozen=True, slots=True)
class SaltDose:
    """Salt to add, with what it makes of the salinity where the volume is not what was thought.

    `low_g` and `high_g` are the salt for the least and the greatest volume; `reached_low_g_l` and
    `reached_high_g_l` are the salinities that `grams` makes in the greatest and the least volume.
    All four are None where no bounds are given. `water_change_percent` is the change with
    salt-free water that brings a salinity down to the target; 0 where it must rise.
    """

    grams: float
    low_g: float | None
    high_g: float | None
    reached_low_g_l: float | None
    reached_high_g_l: float | None
    water_change_percent: float
    arithmetic: str
    source: str
    standing: Standing
    remarks: tuple[str, ...]


def salt_to_target(
    volume_l: float,
    present_g_l: float,
    target_g_l: float,
    *,
    purity: float = 1.0,
    volume_low_l: float | None = None,
    volume_high_l: float | None = None,
    zeolite: bool | None = None,
) -> SaltDose:
    """The salt that brings a pond from its present salinity to a target; zero where it is there.

    grams = (target - present) x litres / purity. Mass balance, which needs no authority.

    Parameters
    ----------
    volume_l
        Volume of the pond with its filter [L].
    present_g_l, target_g_l
        Salinity that is there and that is wanted [g/L].
    purity
        Share of NaCl in the salt, 1 for pure [-].
    volume_low_l, volume_high_l
        Bounds of the volume [L]; None where they are not known.
    zeolite
        Whether there is zeolite in the filter; None where nobody knows.

    Returns
    -------
    SaltDose
        Salt [g], and the salinities that it makes within the bounds of the volume [g/L].

    Raises
    ------
    BadInput
        A number that cannot exist, or bounds that do not hold the volume.

    Examples
    --------
    >>> salt_to_target(12_000.0, 0.5, 3.0).grams
    30000.0
    """
    grams = salt_to_raise_g(volume_l, present_g_l, target_g_l, purity)
    low_g = high_g = reached_low = reached_high = None
    if volume_low_l is not None:
        given(volume_low_l, "least volume", "L", above=0.0, high=volume_l)
        low_g = salt_to_raise_g(volume_low_l, present_g_l, target_g_l, purity)
        reached_high = present_g_l + grams * purity / volume_low_l
    if volume_high_l is not None:
        given(volume_high_l, "greatest volume", "L", low=volume_l, high=1e12)
        high_g = salt_to_raise_g(volume_high_l, present_g_l, target_g_l, purity)
        reached_low = present_g_l + grams * purity / volume_high_l
    change = 0.0
    if target_g_l < present_g_l:
        change = 100.0 * (1.0 - target_g_l / present_g_l)
    return SaltDose(
        grams=grams,
        low_g=low_g,
        high_g=high_g,
        reached_low_g_l=reached_low,
        reached_high_g_l=reached_high,
        water_change_percent=change,
        arithmetic=_arithmetic(volume_l, present_g_l, target_g_l, purity, grams),
        source="mass balance: what is added stays in the water",
        standing="published",
        remarks=_remarks(present_g_l, target_g_l, change, reached_high, zeolite),
    )


def three_forms(salinity_g_l: float) -> str:
    """A salinity in the three ways it is said, so that none is taken for another.

    Parameters
    ----------
    salinity_g_l
        The salinity [g/L].

    Examples
    --------
    >>> three_forms(3.0)
    '3 g/L = 0.3 % = 3000 mg/L'
    """
    return (
        f"{figures(salinity_g_l)} g/L = {figures(salinity_g_l / 10.0)} % = "
        f"{figures(salinity_g_l * 1000.0)} mg/L"
    )


def _arithmetic(
    volume_l: float, present_g_l: float, target_g_l: float, purity: float, grams: float
) -> str:
    if grams == 0.0:
        return (
            f"{figures(present_g_l)} g/L is there, {figures(target_g_l)} g/L is wanted: nothing to "
            "add"
        )
    pure = "" if purity == 1.0 else f" / {figures(purity)}"
    return (
        f"({figures(target_g_l)} - {figures(present_g_l)}) g/L × {figures(volume_l)} L{pure} = "
        f"{figures(grams)} g salt; wanted {three_forms(target_g_l)}"
    )


def _remarks(
    present_g_l: float,
    target_g_l: float,
    change: float,
    reached_high_g_l: float | None,
    zeolite: bool | None,
) -> tuple[str, ...]:
    if change > 0.0:
        return (
            f"It is above the target: a change of {figures(change, 3)} % with salt-free water "
            "brings it down; salt does not leave by itself.",
        )
    if target_g_l == present_g_l:
        return ()
    remarks: list[str] = []
    if zeolite is not False:
        remarks.append(
            "Zeolite in the filter: take it out first, salt frees the ammonia it holds (common "
            "practice)."
            if zeolite
            else "Is there zeolite in the filter? Take it out first: salt frees the ammonia it "
            "holds (common practice)."
        )
    if reached_high_g_l is not None and reached_high_g_l > target_g_l:
        remarks.append(
            "In the least volume that the pond may have this makes "
            f"{three_forms(reached_high_g_l)}."
        )
    reached = max(target_g_l, reached_high_g_l or 0.0)
    if reached > BATH_MOST_G_L:
        remarks.append(
            f"Above {figures(BATH_MOST_G_L)} g/L only dips of minutes are published "
            f"({cite('ufifas_vm007')})."
        )
    elif reached > LONG_BATH_MOST_G_L:
        remarks.append(
            f"Above {figures(LONG_BATH_MOST_G_L)} g/L baths of hours are published, for an "
            f"indefinite bath 1-3 g/L ({cite('ufifas_vm007')}; {cite('wsava_2018')})."
        )
    remarks.append("Plants and some fish without scales do not bear it.")
    remarks.append(
        "Pure salt (NaCl) is meant, dissolved first and given in parts over a day or two (common "
        "practice). It stays when water evaporates: measure before the next dose."
    )
    return tuple(remarks)
