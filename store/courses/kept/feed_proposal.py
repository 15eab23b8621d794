"""A medicated feed as it is proposed to a vet: the plan, what stands against it, its sheet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from store.courses.baths.weighing import Measured
from store.courses.cautions.before import cautions
from store.courses.feeding.appetite import Feeding, feeding_at
from store.courses.feeding.product import product_for
from store.courses.kept.formulary import ShelfProduct
from store.courses.kept.proposal import (
    Ground,
    Proposal,
    first_day_of,
    packs_said,
    shelf_of,
)
from store.courses.planning.course import Plan, PlannedDose, PlanStep
from store.courses.planning.fed import batch_days
from store.courses.planning.feed_step import plan_feed
from store.courses.planning.feed_wished import feed_at_field, feed_wished
from store.courses.planning.oral import Oral, oral
from store.errors import BadInput
from store.facts.binders import Binder, binders


@dataclass(frozen=True, slots=True)
class FeedLine:
    """One substance in the feed, beside what is published for it; None where nothing is.

    `mg_kg_day` is what the fish get [mg per kg fish and day], `mg_per_kg_feed` what is in dry feed.
    """

    step: PlanStep
    name: str
    mg_kg_day: float
    mg_per_kg_feed: float
    stands: Oral | None
    packs: str = ""
    """How many packs of the product on the shelf that takes, `2 packs of 500 g`."""

    @property
    def product(self) -> str:
        """What is weighed: the name on the label, else that of the substance."""
        return self.step.product.name or self.name


@dataclass(frozen=True, slots=True)
class Batch:
    """One batch: its first day with the doses of all substances, for how many days, of how much.

    `feed_kg` is dry feed [kg].
    """

    number: int
    doses: tuple[PlannedDose, ...]
    days: int
    feed_kg: float


@dataclass(frozen=True, slots=True)
class FeedProposal(Proposal):
    """A plan of medicated feed with everything that a vet looks at before it begins."""

    lines: tuple[FeedLine, ...]
    batches: tuple[Batch, ...]
    binder: Binder
    fed: Feeding | None

    @property
    def feed_kg_day(self) -> float:
        """Dry feed a day [kg]."""
        ration = self.plan.steps[0].ration
        assert ration is not None
        return ration.feed_kg / ration.feed_days


def propose_feed(on: Ground, texts: Mapping[str, str], medicines: int) -> FeedProposal:
    """The medicated feed that follows from what was typed, with what stands against it.

    Parameters
    ----------
    on
        What is known of the pond.
    texts
        As typed, by the names of `store.courses.planning.feed_wished`.
    medicines
        How many substances the form shows.

    Raises
    ------
    BadInput
        What cannot be understood or planned, at its field.
    """
    water = on.water.water
    try:
        wished = feed_wished(texts, medicines, water.temperature_c)
        plan = plan_feed(
            wished.wish,
            hazards=wished.hazards,
            reason=wished.reason,
            water=water,
            first_day=first_day_of(texts, on.today),
            formulary=on.formulary,
        )
        stated = cautions(plan, running=on.beside.running, last=on.beside.last)
    except BadInput as trouble:
        raise feed_at_field(trouble) from trouble
    steps = plan.steps
    rate = steps[0].ration
    assert rate is not None
    daily_kg = rate.feed_kg / rate.feed_days
    days = [batch_days(steps[0], one) for one in steps[0].doses]
    return FeedProposal(
        plan=plan,
        peaks=(),
        cautions=stated,
        lines=tuple(_line(step, plan, shelf_of(on, texts, step.place)) for step in steps),
        batches=tuple(
            Batch(place + 1, tuple(step.doses[place] for step in steps), long, daily_kg * long)
            for place, long in enumerate(days)
        ),
        binder=binders()[rate.binder],
        fed=None
        if water.temperature_c is None
        else feeding_at(water.temperature_c, rate.rate_percent),
    )


def weighed_out(line: FeedLine, batch: Batch) -> Measured:
    """What is weighed or measured out of a product for a batch, with what was reckoned [g or mL].

    Parameters
    ----------
    line
        The substance.
    batch
        The batch.
    """
    ration, product = line.step.ration, line.step.product
    assert ration is not None
    active_mg = line.mg_kg_day * ration.biomass_kg * batch.days
    return product_for(
        active_mg, product.strength_percent, product.basis, product.density_g_ml
    )[0]  # fmt: skip


def _line(step: PlanStep, plan: Plan, product: ShelfProduct | None) -> FeedLine:
    assert step.ration is not None
    agent = plan.formulary[step.agent]
    return FeedLine(
        step=step,
        name=agent.plain_name,
        mg_kg_day=step.dose,
        mg_per_kg_feed=step.ration.mg_per_kg_feed,
        stands=oral(
            agent, plan.hazards,
            mg_kg_day=step.dose, mg_per_kg_feed=step.ration.mg_per_kg_feed,
            days=step.ration.feed_days,
        ),
        packs=""
        if product is None
        else packs_said(
            sum(one.amount for one in step.doses), step.doses[0].amount_unit, product
        ),
    )  # fmt: skip
