"""Portions summed by agent, the margin on top of them, and the packs that holds."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence

from store.courses.baths.weighing import Measured
from store.courses.feeding.product import product_for
from store.courses.planning.course import Product
from store.errors import BadInput
from store.facts.agent import LOCAL_LAW
from store.rounds.kit.values import AgentNeed, AgentTold, Packs, Portion, ShelfPack, Unit
from store.water.given import figures, given

_FINE = 9
"""Decimals beyond which an amount is noise of binary fractions."""
_DIGITS = 3
"""So many figures are told of an amount with its margin, rounded up."""


def amount_said(amount: float, unit: Unit) -> str:
    """An amount as it is read to the person at the scale.

    Parameters
    ----------
    amount
        [g or mL].
    unit
        Which of the two.

    Examples
    --------
    >>> amount_said(20.5, "g"), amount_said(2500.0, "g"), amount_said(17_600.0, "mL")
    ('20.5 g', '2.5 kg', '17.6 L')
    """
    clean = round(amount, _FINE)
    return Measured(clean, clean, unit, 0.0).said


def with_margin(need: float, margin_percent: float) -> float:
    """What is packed for a need, with the margin on top.

    Parameters
    ----------
    need
        The sum of the portions [g or mL].
    margin_percent
        From `store.facts.gear` [%].

    Returns
    -------
    float
        Never less than the need [g or mL].

    Raises
    ------
    BadInput
        A need or margin below zero, or that is no number.

    Examples
    --------
    >>> round(with_margin(20.5, 10.0), 6)
    22.55
    """
    given(need, "need", low=0.0)
    given(margin_percent, "margin", "%", low=0.0)
    return need * (1.0 + margin_percent / 100.0)


def rounded_up(amount: float) -> float:
    """An amount in three figures, never less than it was.

    Parameters
    ----------
    amount
        [g or mL].

    Examples
    --------
    >>> rounded_up(22.55), rounded_up(22.0), rounded_up(1523.5)
    (22.6, 22.0, 1530.0)
    """
    clean = round(amount, _FINE)
    if clean <= 0.0:
        return 0.0
    decimals = _DIGITS - 1 - math.floor(math.log10(clean))
    step = 10.0**-decimals
    up = round(math.ceil(round(clean / step, 6)) * step, max(decimals, 0))
    return up if up >= clean else clean


def product_said(product: Product, name: str) -> str:
    """What is weighed, with the strength it was reckoned for.

    Parameters
    ----------
    product
        The product of a step.
    name
        The agent in plain words.

    Examples
    --------
    >>> product_said(Product("powder", 98.0), "praziquantel")
    'powder, 98 % by weight'
    >>> product_said(Product(), "salt")
    'salt, pure'
    """
    said = " ".join(product.name.split()) or name
    strength = figures(product.strength_percent)
    if product.basis == "product":
        return f"{said}, as it comes"
    if product.basis == "w/v":
        return f"{said}, {strength} g in 100 mL"
    if product.strength_percent >= 100.0:
        return f"{said}, pure"
    return f"{said}, {strength} % by weight"


def packs_for(
    amount: float, unit: Unit, product: Product, shelf: Sequence[ShelfPack]
) -> tuple[Packs | None, tuple[str, ...]]:
    """Whole packs of the practice's own product that hold an amount, and what is to be known.

    A product of the strength that the dose was reckoned for goes first, of several the one of that
    name, then the one of which least is left over.

    Parameters
    ----------
    amount
        What is packed, with its margin [g or mL].
    unit
        Which of the two.
    product
        As the dose was reckoned.
    shelf
        The products of this agent.

    Returns
    -------
    tuple of Packs and tuple
        None where no pack is known; sentences on a product of another strength.
    """
    same = [one for one in shelf if _same(one, product)]
    fitting = [packs for one in same if (packs := _counted(amount, unit, one)) is not None]
    if fitting:
        name = product.name.casefold()
        return min(
            fitting,
            key=lambda one: (one.name.casefold() != name, one.count * one.size, one.count),
        ), ()
    if same:
        return None, (
            f"What a pack of {same[0].name} holds is not entered, or not in a unit that its "
            "density leads to: pure amounts are told.",
        )
    for one in shelf:
        needed = _of_other(amount, unit, product, one)
        if needed is None:
            continue
        packs = _counted(*needed, one)
        if packs is not None:
            return packs, (
                f"The dose was reckoned for {product_said(product, 'the pure agent')}; of "
                f"{one.name} ({figures(one.strength_percent)} %) {amount_said(*needed)} hold as "
                "much. Portions are weighed as they were reckoned: a vet changes the product of "
                "the course before another is weighed.",
            )
    if shelf:
        return None, (
            f"{shelf[0].name} on the shelf is of another strength, or its pack is not known: a vet "
            "says what is weighed of it.",
        )
    return None, ("No product of it stands on the shelf: pure amounts are told.",)


def needs(
    portions: Sequence[Portion],
    told: Mapping[str, AgentTold],
    shelf: Mapping[str, Sequence[ShelfPack]],
    margin_percent: float,
) -> tuple[AgentNeed, ...]:
    """The portions that are packed, summed by agent and product.

    Parameters
    ----------
    portions
        Of every pond; those that wait, and those of nothing, are left out.
    told
        What the formulary says, by code of the agent.
    shelf
        The practice's products, by code of the agent.
    margin_percent
        What is packed on top [%].

    Returns
    -------
    tuple of AgentNeed
        In the order in which the stops need them.

    Raises
    ------
    BadInput
        An amount below zero, or that is no number.
    """
    groups: dict[tuple[str, Product, Unit], list[Portion]] = {}
    for one in portions:
        given(one.amount, "amount", one.unit, low=0.0)
        if not one.waits and one.amount > 0.0:
            groups.setdefault((one.agent, one.product, one.unit), []).append(one)
    carried = {one.agent for one in portions if one.amount > 0.0}
    found = []
    for (code, product, unit), own in groups.items():
        need = math.fsum(one.amount for one in own)
        packed = with_margin(need, margin_percent)
        packs, remarks = packs_for(packed, unit, product, shelf.get(code, ()))
        found.append(
            AgentNeed(
                told=told[code],
                product_said=product_said(product, told[code].name),
                unit=unit,
                portions=tuple(own),
                need=need,
                margin_percent=margin_percent,
                with_margin=packed,
                packs=packs,
                arithmetic=arithmetic([one.amount for one in own], unit, margin_percent, packs),
                remarks=remarks,
                apart=kept_apart(code, carried, told),
            )
        )
    return tuple(found)


def arithmetic(
    amounts: Sequence[float], unit: Unit, margin_percent: float, packs: Packs | None
) -> str:
    """The sum, the margin and the packs in a line.

    Parameters
    ----------
    amounts
        Of the portions [g or mL].
    unit
        Which of the two.
    margin_percent
        What is packed on top [%].
    packs
        What holds it, where that is known.

    Examples
    --------
    >>> arithmetic([12.4, 8.1], "g", 10.0, Packs("powder", 1, 100.0, "g"))
    '12.4 g + 8.1 g = 20.5 g, with 10 % margin 22.6 g → 1 pack of 100 g'
    """
    need = math.fsum(amounts)
    said = " + ".join(amount_said(one, unit) for one in amounts)
    if len(amounts) > 1:
        said += f" = {amount_said(need, unit)}"
    packed = rounded_up(with_margin(need, margin_percent))
    said += f", with {figures(margin_percent)} % margin {amount_said(packed, unit)}"
    return said if packs is None else f"{said} → {packs_said(packs)}"


def packs_said(packs: Packs) -> str:
    """Such as `2 packs of 500 g`.

    Parameters
    ----------
    packs
        How many, and of what.
    """
    many = "pack" if packs.count == 1 else "packs"
    return f"{packs.count} {many} of {amount_said(packs.size, packs.unit)}"


def kept_apart(
    code: str, carried: Collection[str], told: Mapping[str, AgentTold]
) -> tuple[str, ...]:
    """What of the same list an agent is kept apart from, as far as the formulary says.

    Parameters
    ----------
    code
        Of the agent.
    carried
        Codes of all that is carried.
    told
        What the formulary says, by code.

    Returns
    -------
    tuple of str
        A sentence for each, with its reason.
    """
    own = told[code]
    found: dict[str, str] = {}
    for other in sorted(set(carried) - {code}):
        met = told[other]
        for one, another in ((own, met), (met, own)):
            for what, why in one.meets:
                if what in (another.code, another.family):
                    found.setdefault(met.name, why)
    return tuple(f"Keep apart from {name}: {why}" for name, why in found.items())


def label_of(portion: Portion, told: AgentTold, on_day: str) -> tuple[str, ...]:
    """What is written on a portion before it goes into the van, a line each.

    Parameters
    ----------
    portion
        The portion.
    told
        What the formulary says of the agent.
    on_day
        The day of the visit, in words.
    """
    return (
        f"{told.name}: {product_said(portion.product, told.name)}",
        amount_said(portion.amount, portion.unit),
        f"{portion.pond}, stop {portion.stop.said}",
        f"{portion.dose}, {on_day}",
        *told.handling,
        LOCAL_LAW,
    )


def _same(one: ShelfPack, product: Product) -> bool:
    if one.basis != product.basis:
        return False
    if (
        one.density_g_ml
        and product.density_g_ml
        and not math.isclose(one.density_g_ml, product.density_g_ml, rel_tol=0.01)
    ):
        return False
    return math.isclose(one.strength_percent, product.strength_percent, rel_tol=1e-6)


def _counted(amount: float, unit: Unit, one: ShelfPack) -> Packs | None:
    """An amount in packs of a product; None where its pack is not known in that unit."""
    size, density = one.pack_size, one.density_g_ml
    if not size or size <= 0.0 or (unit != one.pack_unit and not density):
        return None
    if unit != one.pack_unit and density:
        amount = amount * density if unit == "mL" else amount / density
    return Packs(one.name, max(1, math.ceil(amount / size - 1e-9)), size, one.pack_unit)


def _of_other(
    amount: float, unit: Unit, product: Product, one: ShelfPack
) -> tuple[float, Unit] | None:
    """As much of a product of another strength; None where that cannot be reckoned."""
    if "product" in (product.basis, one.basis):
        return None
    grams = amount * product.strength_percent / 100.0
    if product.basis == "w/w" and unit == "mL":
        if product.density_g_ml is None:
            return None
        grams *= product.density_g_ml
    try:
        out, _ = product_for(1000.0 * grams, one.strength_percent, one.basis, one.density_g_ml)
    except BadInput:
        return None
    return out.exact, out.unit
