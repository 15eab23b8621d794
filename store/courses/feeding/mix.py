"""The mix sheet of a medicated feed: what to weigh for each batch, the order of work, the label."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from store.courses.baths.weighing import Measured, measured
from store.courses.feeding.product import Basis, product_for
from store.errors import BadInput
from store.facts.binders import Binder, binders
from store.facts.sources import cite_with_standing
from store.text import day_said, plain
from store.water.given import figures, given

FOR_PEOPLE = (
    "Mix outdoors or under a hood, with gloves, goggles and a dust mask: powder in the air is "
    "breathed in.",
    "Keep apart from food and from vessels that food is made in; wash hands, wipe up what was "
    "spilt, and bring rests back to the practice, never into water or drain.",
    "Local law, the label and the prescribing vet decide.",
)
"""Mask, gloves and goggles stand in UK summaries of product characteristics of fish premixes; the
rest is common practice."""
MOST_INGREDIENTS = 6


@dataclass(frozen=True, slots=True)
class Ingredient:
    """One substance in the feed: its inclusion in dry feed, and what the product holds of it.

    `strength_percent` is by weight or in g per 100 mL, as `basis` says; with a density [g/mL] a
    product is measured in millilitres.
    """

    name: str
    mg_per_kg_feed: float
    strength_percent: float = 100.0
    basis: Basis = "w/w"
    density_g_ml: float | None = None
    substance: str = ""
    """What it holds, for the label; empty where the name says it."""


@dataclass(frozen=True, slots=True)
class Weighed:
    """One product as it is weighed for one batch, for the last one, and for all together.

    `last` differs from `each` where the last batch is for fewer days; `total` is not rounded [g or
    mL]. `density_g_ml` of what is measured in millilitres is 1 where nobody knows it.
    """

    name: str
    each: Measured
    last: Measured
    total: float
    density_g_ml: float = 1.0

    @property
    def total_g(self) -> float:
        """The product for all batches by weight [g]."""
        return self.total * (self.density_g_ml if self.each.unit == "mL" else 1.0)


@dataclass(frozen=True, slots=True)
class MixSheet:
    """What to do, in order. Feed is dry feed; `finished_kg` is what it weighs with its binder.

    `ration_share` is how many kilograms of finished feed stand for one of dry feed: a wet gel must
    be fed by that much more. A batch is for `batch_days` days, the last for `last_days`; both are 0
    where the batches are equal whatever the days.
    """

    binder: Binder
    batches: int
    batch_feed_kg: float
    feed_kg: float
    weighed: tuple[Weighed, ...]
    batch_binder: Measured
    batch_water: Measured | None
    finished_kg: float
    ration_share: float
    mixed_on: date
    use_by: date
    steps: tuple[str, ...]
    cautions: tuple[str, ...]
    label: tuple[str, ...]
    source: str
    remarks: tuple[str, ...]
    batch_days: int = 0
    last_days: int = 0


def use_by(mixed_on: date, binder_code: str) -> date:
    """The last day on which a medicated feed is fed.

    Parameters
    ----------
    mixed_on
        The day it was mixed.
    binder_code
        What binds it: `oil`, `gelatin` or `agar`.

    Returns
    -------
    date
        The last day.

    Raises
    ------
    BadInput
        There is no such binder.

    Examples
    --------
    >>> use_by(date(2026, 2, 20), "oil").isoformat()
    '2026-03-06'
    """
    return mixed_on + timedelta(days=_binder(binder_code).keep_days)


def mix_sheet(
    feed_kg: float,
    ingredients: Sequence[Ingredient],
    binder_code: str,
    mixed_on: date,
    *,
    days: int,
    batch_kg: float | None = None,
    batch_days: int | None = None,
    for_whom: str = "",
) -> MixSheet:
    """The mix sheet for a course: equal batches, none heavier than is wished.

    Where a batch is for a number of days, the last is for what is left of them.

    Product in a batch = inclusion x dry feed of the batch / 1000 / (strength / 100), rounded down
    once to a step of the scale. Enough batches are made that each is eaten before it spoils.

    Parameters
    ----------
    feed_kg
        Dry feed for the whole course [kg].
    ingredients
        What goes into it, 1 to 6.
    binder_code
        What binds it: `oil`, `gelatin` or `agar`.
    mixed_on
        The day the first batch is mixed.
    days
        Days on which the feed is given.
    batch_kg
        The most dry feed that can be turned at once [kg]; None for no limit.
    batch_days
        On how many days one batch is fed [d]; None for equal batches.
    for_whom
        Client and pond, for the label.

    Returns
    -------
    MixSheet
        Weights for each batch [g], order of work, last day of the first batch, label.

    Raises
    ------
    BadInput
        A number that cannot exist, no ingredient, more product than feed, or no such binder.
    """
    given(feed_kg, "feed", "kg", above=0.0, high=1e6)
    given(days, "number of days", low=1.0, high=366.0)
    if batch_kg is not None:
        given(batch_kg, "batch", "kg", above=0.0, high=1e6)
    binder = _binder(binder_code)
    _check_ingredients(ingredients)

    by_size = 1 if batch_kg is None else math.ceil(feed_kg / batch_kg * (1.0 - 1e-12))
    by_age = math.ceil(days / binder.keep_days)
    batches = max(by_size, by_age)
    share, last_share = 1.0 / batches, 1.0 / batches
    last_days = 0
    if batch_days is not None:
        given(batch_days, "days of a batch", low=1.0, high=float(binder.keep_days))
        batches = math.ceil(days / batch_days)
        last_days = days - batch_days * (batches - 1)
        share, last_share = min(batch_days, days) / days, last_days / days
    given(batches, "number of batches", high=10_000.0)
    batch_feed_kg = feed_kg * share
    weighed = tuple(
        _weighed(one, feed_kg, batch_feed_kg, feed_kg * last_share) for one in ingredients
    )
    binder_each = measured(binder.amount_per_kg * batch_feed_kg, binder.unit)
    water = (
        measured(binder.water_ml_per_kg * batch_feed_kg, "mL") if binder.water_ml_per_kg else None
    )
    product_g = math.fsum(one.total_g for one in weighed)
    finished_kg = feed_kg + (product_g + binder.added_g_per_kg * feed_kg) / 1000.0
    last_day = use_by(mixed_on, binder_code)
    wet = finished_kg / feed_kg
    remarks = list(binder.note and (binder.note,))
    if by_age > 1:
        remarks.append(
            f"{days} days are longer than it keeps ({binder.keep_days} days {binder.kept}): mix "
            f"{by_age} times or more, each time afresh."
        )
    remarks += [remark for one in weighed for remark in one.each.remarks]
    return MixSheet(
        binder=binder,
        batches=batches,
        batch_feed_kg=batch_feed_kg,
        feed_kg=feed_kg,
        weighed=weighed,
        batch_binder=binder_each,
        batch_water=water,
        finished_kg=finished_kg,
        ration_share=wet,
        mixed_on=mixed_on,
        use_by=last_day,
        steps=(
            *_steps(
                binder, _first_of(batches, equal=last_share == share), batch_feed_kg, weighed,
                binder_each, water, wet,
            ),
            *(
                _last_said(binder, weighed, feed_kg * last_share, last_days)
                if last_share < share * (1.0 - 1e-9)
                else ()
            ),
        ),
        cautions=(*FOR_PEOPLE, *binder.cautions,
                  "Not for fish that have stopped eating: they get nothing from it."),
        label=_label(for_whom, ingredients, wet, feed_kg / days, mixed_on, last_day, binder),
        source=cite_with_standing(binder.source, binder.standing),
        remarks=tuple(remarks),
        batch_days=batch_days or 0,
        last_days=last_days,
    )  # fmt: skip


def _binder(code: str) -> Binder:
    found = binders().get(code)
    if found is None:
        raise BadInput(
            f"There is no binder {plain(code)[:20]!r}. There are: {', '.join(binders())}.",
            field="binder",
        )
    return found


def _check_ingredients(ingredients: Sequence[Ingredient]) -> None:
    if not 1 <= len(ingredients) <= MOST_INGREDIENTS:
        raise BadInput(
            f"A feed holds 1 to {MOST_INGREDIENTS} substances; {len(ingredients)} were named.",
            field="substance",
        )
    product_g = 0.0
    for one in ingredients:
        if not plain(one.name).strip():
            raise BadInput("A substance has no name.", field="substance")
        given(one.mg_per_kg_feed, "inclusion", "mg per kg feed", above=0.0, high=1e6)
        given(one.strength_percent, "strength", "%", above=0.0, high=100.0)
        share = 100.0 if one.basis == "product" else one.strength_percent
        product_g += one.mg_per_kg_feed / 10.0 / share
    if product_g > 1000.0:
        raise BadInput(
            f"It would take {figures(product_g)} g of product in a kilogram of feed.",
            field="inclusion",
        )


def _weighed(one: Ingredient, feed_kg: float, batch_kg: float, last_kg: float) -> Weighed:
    each, last, total = (
        product_for(one.mg_per_kg_feed * dry_kg, one.strength_percent, one.basis, one.density_g_ml)[
            0
        ]
        for dry_kg in (batch_kg, last_kg, feed_kg)
    )
    return Weighed(plain(one.name), each, last, total.exact, one.density_g_ml or 1.0)


def _last_said(
    binder: Binder, weighed: tuple[Weighed, ...], feed_kg: float, days: int
) -> tuple[str, ...]:
    """What the last batch takes, which is for fewer days than the others."""
    parts = [f"{measured(feed_kg * 1000.0, 'g').said} of dry feed"]
    parts += [f"{one.last.said} of {one.name}" for one in weighed]
    parts.append(f"{measured(binder.amount_per_kg * feed_kg, binder.unit).said} of {binder.name}")
    if binder.water_ml_per_kg:
        parts.append(f"{measured(binder.water_ml_per_kg * feed_kg, 'mL').said} of water")
    return (f"The last batch is for {days} d only: {', '.join(parts)}.",)


def _first_of(batches: int, *, equal: bool) -> str:
    if batches == 1:
        return ""
    return f" (the first of {batches} {'equal ' if equal else ''}batches)"


def _steps(
    binder: Binder,
    each: str,
    batch_feed_kg: float,
    weighed: tuple[Weighed, ...],
    binder_each: Measured,
    water: Measured | None,
    share: float,
) -> tuple[str, ...]:
    products = ", ".join(f"{one.each.said} {one.name}" for one in weighed)
    wet = "" if water is None else f" and {water.said} of water"
    steps = [
        "Put on gloves, goggles and dust mask; lay out scale, vessels and label.",
        f"Weigh {measured(batch_feed_kg * 1000.0, 'g').said} of dry feed{each}.",
        f"Weigh {products}; have a second person read the scale.",
        f"Measure {binder_each.said} of {binder.name}{wet}.",
        *binder.steps,
    ]
    if share > 1.1:
        steps.append(
            f"It weighs more than dry feed: feed {figures(share, 3)} times the weight of the dry "
            "ration."
        )
    return (*steps, f"Label it and keep it {binder.kept}.")


def _label(
    for_whom: str,
    ingredients: Sequence[Ingredient],
    share: float,
    dry_kg_day: float,
    mixed_on: date,
    last_day: date,
    binder: Binder,
) -> tuple[str, ...]:
    head = (plain(for_whom).strip(),) if for_whom.strip() else ()
    return (
        "MEDICATED FISH FEED",
        *head,
        *(
            f"{plain(one.substance or one.name)}: {figures(one.mg_per_kg_feed / share)} mg in 1 kg "
            "as fed"
            for one in ingredients
        ),
        f"Feed {measured(dry_kg_day * share * 1000.0, 'g').said} a day",
        f"Mixed {day_said(mixed_on)}, use by {day_said(last_day)}",
        f"Keep {binder.kept}, out of reach of children",
        "Not for people or other animals",
    )
