"""The mix sheet of a medicated feed: what to weigh for each batch, the order of work, the label."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from store.courses.baths.weighing import Measured, measured
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
    """One substance in the feed: its inclusion in dry feed, and the strength of the product."""

    name: str
    mg_per_kg_feed: float
    strength_percent: float = 100.0


@dataclass(frozen=True, slots=True)
class Weighed:
    """One product as it is weighed for one batch, and for all batches together."""

    name: str
    each: Measured
    total_g: float


@dataclass(frozen=True, slots=True)
class MixSheet:
    """What to do, in order. Feed is dry feed; `finished_kg` is what it weighs with its binder.

    `ration_share` is how many kilograms of finished feed stand for one of dry feed: a wet gel must
    be fed by that much more.
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
    for_whom: str = "",
) -> MixSheet:
    """The mix sheet for a course: equal batches, none heavier than is wished.

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
    given(batches, "number of batches", high=10_000.0)
    batch_feed_kg = feed_kg / batches
    weighed = tuple(_weighed(one, batch_feed_kg, batches) for one in ingredients)
    binder_each = measured(binder.amount_per_kg * batch_feed_kg, binder.unit)
    water = (
        measured(binder.water_ml_per_kg * batch_feed_kg, "mL") if binder.water_ml_per_kg else None
    )
    product_g = math.fsum(one.total_g for one in weighed)
    finished_kg = feed_kg + (product_g + binder.added_g_per_kg * feed_kg) / 1000.0
    last_day = use_by(mixed_on, binder_code)
    share = finished_kg / feed_kg
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
        ration_share=share,
        mixed_on=mixed_on,
        use_by=last_day,
        steps=_steps(binder, batches, batch_feed_kg, weighed, binder_each, water, share),
        cautions=(*FOR_PEOPLE, *binder.cautions,
                  "Not for fish that have stopped eating: they get nothing from it."),
        label=_label(for_whom, ingredients, share, feed_kg / days, mixed_on, last_day, binder),
        source=cite_with_standing(binder.source, binder.standing),
        remarks=tuple(remarks),
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
        product_g += one.mg_per_kg_feed / 10.0 / one.strength_percent
    if product_g > 1000.0:
        raise BadInput(
            f"It would take {figures(product_g)} g of product in a kilogram of feed.",
            field="inclusion",
        )


def _weighed(one: Ingredient, batch_feed_kg: float, batches: int) -> Weighed:
    each_g = one.mg_per_kg_feed * batch_feed_kg / 10.0 / one.strength_percent
    return Weighed(plain(one.name), measured(each_g, "g"), each_g * batches)


def _steps(
    binder: Binder,
    batches: int,
    batch_feed_kg: float,
    weighed: tuple[Weighed, ...],
    binder_each: Measured,
    water: Measured | None,
    share: float,
) -> tuple[str, ...]:
    products = ", ".join(f"{one.each.said} {one.name}" for one in weighed)
    each = "" if batches == 1 else f" (the first of {batches} equal batches)"
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
            f"{plain(one.name)}: {figures(one.mg_per_kg_feed / share)} mg in 1 kg as fed"
            for one in ingredients
        ),
        f"Feed {measured(dry_kg_day * share * 1000.0, 'g').said} a day",
        f"Mixed {day_said(mixed_on)}, use by {day_said(last_day)}",
        f"Keep {binder.kept}, out of reach of children",
        "Not for people or other animals",
    )
