"""A course of medicated feed from what the vet wishes: batches, their days, what is weighed.

Several agents in one feed are steps of one plan with the same batches: each has its own product and
its own place in the record. A plan is arithmetic and facts, no prescription.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from store.courses.feeding.feed import (
    HIGHEST_RATE_PERCENT,
    Feed,
    fish_dose,
    medicated_feed,
    rate_from_feed,
)
from store.courses.feeding.product import product_for
from store.courses.feeding.stock import Stock
from store.courses.planning.course import (
    Plan,
    PlannedDose,
    PlanStep,
    PondWater,
    Product,
    Ration,
    Share,
)
from store.courses.planning.fed import FEED, NOT_EATING, feed_ends_on
from store.courses.planning.oral import Oral, oral
from store.courses.planning.plan import SHARES, BadStep
from store.courses.planning.tasks import tasks_of
from store.courses.planning.timing import CONTROL_DAYS
from store.errors import BadInput
from store.facts.agent import Agent
from store.facts.agents import agents
from store.facts.binders import Binder, binders
from store.facts.entry import OWN
from store.facts.hazards import hazards as known_hazards
from store.facts.sources import cite_with_standing
from store.text import plain
from store.water.given import figures, given

LONGEST_FEED_DAYS = 60
"""Longer than any published course of medicated feed [d]."""
MOST_IN_FEED = 3
"""So many substances go into one feed; more are another feed [count]."""
MOST_KG_FEED = 1e6
"""A kilogram of feed cannot hold more than itself [mg]."""


@dataclass(frozen=True, slots=True)
class Medicine:
    """One substance in the feed: its dose for the fish, or how much of it goes into the feed.

    `dose_mg_kg_day` in mg per kg fish and day, `inclusion_mg_kg` in mg per kg feed: one of the two.
    """

    agent: str
    dose_mg_kg_day: float | None = None
    inclusion_mg_kg: float | None = None
    product: Product = field(default_factory=Product)


@dataclass(frozen=True, slots=True)
class FeedWish:
    """A medicated feed as the vet wishes it, before anything is reckoned.

    `rate_percent` is what the fish really eat [% of biomass a day], or `feed_kg` the dry feed that
    lasts them for all `days` [kg]: one of the two. A batch is at most `batch_kg` of dry feed [kg]
    and for `batch_days` days, each None for as much as keeps.
    """

    main: Medicine
    stock: Stock
    days: int
    rate_percent: float | None = None
    feed_kg: float | None = None
    also: tuple[Medicine, ...] = ()
    binder: str = "oil"
    share: Share = "practice"
    batch_kg: float | None = None
    batch_days: int | None = None
    eating: bool = True
    rate_how: str = ""

    @property
    def medicines(self) -> tuple[Medicine, ...]:
        """All that goes into the feed, the main substance first."""
        return (self.main, *self.also)


def plan_feed(
    wish: FeedWish,
    *,
    hazards: Sequence[str],
    reason: str,
    water: PondWater,
    first_day: date,
    formulary: Mapping[str, Agent] | None = None,
) -> Plan:
    """The plan of a medicated feed: a step for each substance, with the batches they share.

    Feed a day = biomass × rate / 100. A batch is for as many days as it keeps, or fewer where it
    would be heavier than is wished; the last may be for fewer. Product of a batch = biomass × dose
    × its days / strength, rounded down once.

    Parameters
    ----------
    wish
        What goes in, for which fish.
    hazards
        Codes of the hazards that were found.
    reason
        Why it is given, in the vet's words; may be empty where a hazard is named.
    water
        The pond as it is.
    first_day
        The first day of feeding.
    formulary
        Agents by code; None for the published ones.

    Returns
    -------
    Plan
        Batches, tasks, the day of the control examination, and remarks.

    Raises
    ------
    BadStep
        A substance that cannot be planned: its field and its place are named.
    BadInput
        No reason, an unknown hazard or binder, or a number that cannot exist.

    Examples
    --------
    >>> from store.courses.feeding.stock import stock
    >>> wish = FeedWish(Medicine("florfenicol", 10.0, product=Product("premix", 50.0)),
    ...                 stock("45 kg"), 10, rate_percent=1.0)
    >>> plan = plan_feed(wish, hazards=[], reason="ulcers", first_day=date(2026, 5, 4),
    ...                  water=PondWater(10_000.0, 9_000.0, 11_000.0, temperature_c=19.0))
    >>> [(one.due_on.isoformat(), one.amount, one.amount_unit) for one in plan.steps[0].doses]
    [('2026-05-04', 9.0, 'g')]
    """
    found_hazards = _reasons(hazards, reason)
    known = agents() if formulary is None else formulary
    binder = _checked(wish)
    rate = _rate(wish)
    feed_kg_day = wish.stock.kg * rate / 100.0
    each, why = _days_each(wish, binder, feed_kg_day)
    steps = []
    for place, medicine in enumerate(wish.medicines, start=1):
        try:
            steps.append(
                _step(
                    medicine, wish, place, known, found_hazards, water, first_day, rate, each, why
                )
            )
        except BadInput as trouble:
            raise BadStep(trouble, place, named=False) from trouble
        except OverflowError as trouble:
            late = BadInput("The course ends after the last day there is.", field="first day")
            raise BadStep(late, place, named=False) from trouble
    twice = {one.agent for one in steps if [two.agent for two in steps].count(one.agent) > 1}
    if twice:
        again = BadInput("This goes into the feed twice.", field="agent")
        raise BadStep(again, len(steps), named=False)
    control_on = feed_ends_on(steps[0]) + timedelta(CONTROL_DAYS)
    things = water.things if wish.eating else water.things | {NOT_EATING}
    return Plan(
        hazards=found_hazards,
        reason=reason,
        water=replace(water, things=things),
        steps=tuple(steps),
        tasks=tasks_of(steps, control_on, known),
        control_on=control_on,
        formulary=known,
        remarks=tuple(
            dict.fromkeys(
                (
                    f"The fish: {wish.stock.how}.",
                    *wish.stock.remarks,
                    *((wish.rate_how,) if wish.rate_how else ()),
                )
            )
        ),
    )


def _reasons(hazards: Sequence[str], reason: str) -> tuple[str, ...]:
    found = tuple(dict.fromkeys(hazards))
    for code in found:
        if code not in known_hazards():
            raise BadInput(f"There is no hazard {code!r}.", field="hazards")
    if not found and not reason.strip():
        raise BadInput(
            "Say why the feed is given: a hazard that was found, or a reason in words.",
            field="reason",
        )
    return found


def _checked(wish: FeedWish) -> Binder:
    binder = binders().get(wish.binder)
    if binder is None:
        raise BadInput(
            f"There is no binder {plain(wish.binder)[:20]!r}. There are: {', '.join(binders())}.",
            field="binder",
        )
    _whole(wish.days, "number of days", LONGEST_FEED_DAYS)
    if wish.batch_days is not None:
        _whole(wish.batch_days, "days of a batch", LONGEST_FEED_DAYS)
    if wish.batch_kg is not None:
        given(wish.batch_kg, "batch", "kg", above=0.0, high=1e6)
    if len(wish.medicines) > MOST_IN_FEED:
        raise BadInput(f"A feed holds up to {MOST_IN_FEED} substances.", field="agent")
    if wish.share not in SHARES:
        raise BadInput("The feed is given by the practice or by the owner.", field="share")
    given(wish.stock.kg, "weight of the fish", "kg", above=0.0, high=1e9)
    return binder


def _whole(value: int, name: str, high: int) -> None:
    given(value, name, "", low=1.0, high=float(high))
    if isinstance(value, bool) or value != int(value):
        raise BadInput(f"The {name} must be a whole number.", field=name)


def _rate(wish: FeedWish) -> float:
    if wish.feed_kg is not None:
        return rate_from_feed(wish.feed_kg, wish.days, wish.stock.kg)
    if wish.rate_percent is None:
        raise BadInput(
            "How much do they really eat? Type % of their weight a day, or how much feed lasts "
            "them for all days.",
            field="feeding rate",
        )
    return given(
        wish.rate_percent, "feeding rate", "% of biomass a day", above=0.0,
        high=HIGHEST_RATE_PERCENT,
    )  # fmt: skip


def _days_each(wish: FeedWish, binder: Binder, feed_kg_day: float) -> tuple[int, str]:
    """On how many days each batch is fed, and why."""
    keeps = f"with {binder.name} it keeps {binder.keep_days} d {binder.kept}"
    most, why = min(wish.days, binder.keep_days), keeps
    if wish.batch_kg is not None:
        by_size = math.floor(wish.batch_kg / feed_kg_day * (1.0 + 1e-9))
        if by_size < 1:
            raise BadInput(
                f"The feed of one day is {figures(feed_kg_day)} kg, more than the batch of "
                f"{figures(wish.batch_kg)} kg.",
                field="batch",
            )
        if by_size < most:
            most, why = by_size, f"a batch of {figures(wish.batch_kg)} kg is wished at most"
    if wish.batch_days is None:
        batches = math.ceil(wish.days / most)
        each = math.ceil(wish.days / batches)
    else:
        each = min(wish.batch_days, wish.days)
        if each > most:
            raise BadInput(
                f"A batch cannot be for {each} days: {why}, which is {most} d.", field="batch"
            )
        why = f"as typed; {keeps}"
    batches = math.ceil(wish.days / each)
    last = wish.days - each * (batches - 1)
    said = "1 batch" if batches == 1 else f"{batches} batches"
    rest = f", the last for {last} d" if last != each else ""
    all_of_them = "" if batches == 1 else " each"
    return each, f"{said} for {each} d{all_of_them}{rest}: {why} ({_cited(binder)})."


def _cited(one: Binder) -> str:
    return cite_with_standing(one.source, one.standing)


def _step(
    medicine: Medicine,
    wish: FeedWish,
    place: int,
    known: Mapping[str, Agent],
    hazards: tuple[str, ...],
    water: PondWater,
    first_day: date,
    rate: float,
    each: int,
    why: str,
) -> PlanStep:
    agent = known.get(medicine.agent)
    if agent is None:
        raise BadInput(f"There is no agent {medicine.agent!r} in the formulary.", field="agent")
    dose, back = _dose(medicine, rate)
    product = medicine.product
    given(product.strength_percent, "strength", "%", above=0.0, high=100.0)
    # In whatever it is measured, it is the active substance that must find room in the feed.
    by_weight = product.basis == "w/w"
    answer = medicated_feed(
        dose, wish.stock.kg, rate, wish.days,
        strength_percent=product.strength_percent if by_weight else 100.0,
    )  # fmt: skip
    stands = oral(
        agent, hazards,
        mg_kg_day=dose, mg_per_kg_feed=answer.mg_per_kg_feed, days=wish.days,
    )  # fmt: skip
    doses, said = _batches(product, answer, wish, each, dose, first_day)
    source, standing = (
        (cite_with_standing(agent.source, agent.standing), agent.standing)
        if stands is None
        else (cite_with_standing(stands.nearest.source, stands.nearest.standing),
              stands.nearest.standing)
    )  # fmt: skip
    name = agent.plain_name[:1].upper() + agent.plain_name[1:]
    return PlanStep(
        place=place,
        agent=agent.code,
        route=FEED,
        dose=dose,
        unit="mg/kg/d",
        product=product,
        volume_l=water.volume_l,
        doses=doses,
        interval_days=each,
        interval_why=why,
        exposure_h=None,
        half_life_h=None,
        safe_most=None,
        source=source,
        standing=standing,
        own_dose=stands.route.own_dose
        if stands is not None and stands.nearest.standing == OWN
        else None,
        called=agent.plain_name,
        remarks=tuple(
            dict.fromkeys(
                (
                    *((f"{name}: {back}.",) if back else ()),
                    f"{name}: {answer.arithmetic.split('; product')[0]}; "
                    f"inclusion {figures(dose)} × 100 / {figures(rate)} = "
                    f"{figures(answer.mg_per_kg_feed)} mg per kg feed.",
                    *said,
                    *_published(stands, name),
                )
            )
        ),
        ration=Ration(
            biomass_kg=wish.stock.kg,
            biomass_how=wish.stock.how,
            rate_percent=rate,
            feed_days=wish.days,
            feed_kg=answer.feed_kg,
            mg_per_kg_feed=answer.mg_per_kg_feed,
            binder=wish.binder,
        ),
    )


def _dose(medicine: Medicine, rate: float) -> tuple[float, str]:
    """The dose for the fish [mg per kg and day], and the way back where the feed was told."""
    dose, inclusion = medicine.dose_mg_kg_day, medicine.inclusion_mg_kg
    if (dose is None) == (inclusion is None):
        raise BadInput(
            "Give the dose for the fish (10 mg/kg/d) or what goes into the feed (60 mg/kg feed).",
            field="dose",
        )
    if inclusion is None:
        return given(dose or 0.0, "dose", "mg/kg/d", above=0.0, high=10_000.0), ""
    given(inclusion, "dose", "mg per kg feed", above=0.0, high=MOST_KG_FEED)
    found = fish_dose(inclusion, rate)
    return found.mg_kg_day, found.arithmetic


def _batches(
    product: Product, answer: Feed, wish: FeedWish, each: int, dose: float, first_day: date
) -> tuple[tuple[PlannedDose, ...], tuple[str, ...]]:
    """The batches with what is weighed for each, and the arithmetic of each size of batch."""
    doses: list[PlannedDose] = []
    said: list[str] = []
    batches = math.ceil(wish.days / each)
    for number in range(1, batches + 1):
        days = min(each, wish.days - each * (number - 1))
        out, arithmetic = product_for(
            answer.active_mg_day * days, product.strength_percent, product.basis,
            product.density_g_ml,
        )  # fmt: skip
        doses.append(
            PlannedDose(
                number=number,
                due_on=first_day + timedelta(each * (number - 1)),
                dose=dose,
                # Less than a step of the finest scale: the exact amount stands, a remark says how.
                amount=out.measured or out.exact,
                amount_unit=out.unit,
                water_change_percent=0.0,
                share=wish.share,
            )
        )
        said += [
            f"A batch for {days} d: {arithmetic}, rounded down once to {out.said}.",
            *out.remarks,
        ]
    return tuple(doses), tuple(dict.fromkeys(said))


def _published(stands: Oral | None, name: str) -> tuple[str, ...]:
    if stands is None:
        return (f"{name}: the formulary has no dose with the feed.",)
    return (
        f"{name}: {stands.nearest.said}",
        *(f"{name}, also: {one.said}" for one in stands.others),
    )
