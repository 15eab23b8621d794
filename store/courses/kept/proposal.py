"""A course as it is being planned: what was typed beside what is known of the pond, then kept."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from uuid import UUID

from store.book.act import Act
from store.book.allowed import refuse_but_vets
from store.book.book import Book
from store.book.days import typed_day
from store.book.events import events
from store.courses.baths.weighing import measured
from store.courses.cautions.before import cautions
from store.courses.kept.formulary import ShelfProduct, formulary, products
from store.courses.kept.keeping import keep_plan, start_course
from store.courses.kept.water_now import Beside, WaterNow, beside, water_seen
from store.courses.planning.course import Caution, Plan, PlannedDose, PlanStep
from store.courses.planning.level import Level, at_level, level_now
from store.courses.planning.plan import plan_course
from store.courses.planning.predicted import predicted
from store.courses.planning.route import FRESH
from store.courses.planning.timing import LONGEST_SPAN_DAYS
from store.courses.planning.wished import at_field, wished
from store.errors import BadInput
from store.facts.agent import Agent
from store.facts.agents import agents
from store.warmth.estimate import Ahead
from store.warmth.kept.estimates import estimates_far
from store.water.given import figures

FOUND_DAYS = 30
"""A hazard seen so lately is proposed as the reason; common practice, without a source [d]."""


@dataclass(frozen=True, slots=True)
class Ground:
    """What a course of a pond is planned on."""

    today: date
    water: WaterNow
    beside: Beside
    found: tuple[str, ...]
    """Codes of the hazards seen lately, newest first."""
    formulary: Mapping[str, Agent] = field(default_factory=agents, compare=False, repr=False)
    """What is planned with: what is published, and what the practice added of its own."""
    shelf: tuple[ShelfProduct, ...] = ()
    """The products of the practice."""
    ahead: Ahead | None = field(default=None, compare=False, repr=False)
    """The pond's water to come by estimate, for the interval that is proposed alone."""


@dataclass(frozen=True, slots=True)
class Peak:
    """The most that a step brings into the water, beside the most that is published.

    In the unit of the step. `bound` is without any loss, which is what the plan is judged by;
    `reached` is with the half-life where one is published.
    """

    step: PlanStep
    name: str
    bound: float
    reached: float
    most: float | None
    thrown_away: bool
    arithmetic: str
    source: str
    weighed: tuple[str, ...] = ()
    """What each dose of a liquid weighs, `401 g`; empty for a powder, or without a density."""
    whole: str = ""
    """What all doses of the step come to, `1.1 L`."""
    packs: str = ""
    """How many packs of the product on the shelf that takes, `2 packs of 500 g`."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """A plan with everything that a vet looks at before it begins."""

    plan: Plan
    peaks: tuple[Peak, ...]
    cautions: tuple[Caution, ...]

    @property
    def stops(self) -> tuple[Caution, ...]:
        """What needs a written reason."""
        return tuple(one for one in self.cautions if one.level == "stop")


def ground(book: Book, pond: UUID, now: datetime) -> Ground:
    """What a course of a pond is planned on.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    now
        The present instant, with a time zone.

    Raises
    ------
    BadInput
        The volume of the pond is not known.
    NotFound
        No such pond, or it was struck through.
    """
    today = book.today(now)
    seen = [
        one
        for one in events(book, pond, since=today - timedelta(days=FOUND_DAYS))
        if one.hazard and one.on_day <= today
    ]
    newest = sorted(seen, key=lambda one: one.on_day, reverse=True)
    return Ground(
        today,
        water_seen(book, pond, now),
        beside(book, pond, today),
        tuple(dict.fromkeys(one.hazard for one in newest if one.hazard)),
        formulary(book),
        products(book),
        _ahead(book, pond, now),
    )


def _ahead(book: Book, pond: UUID, now: datetime) -> Ahead | None:
    far = estimates_far(book, (pond,), now, 2 * LONGEST_SPAN_DAYS)
    return None if far is None else far.ahead(pond)


def first_day_of(texts: Mapping[str, str], today: date) -> date:
    """The day of the first dose, today where nothing was typed.

    Parameters
    ----------
    texts
        As typed, by name.
    today
        The practice's calendar day.

    Raises
    ------
    BadInput
        No day, or one that lies behind.
    """
    day = typed_day(texts.get("first_day", ""), today, ahead=True, field="first_day")
    if day < today:
        raise BadInput("The first dose cannot be planned on a day that is over.", field="first_day")
    return day


def propose(on: Ground, texts: Mapping[str, str], steps: int, *, by: str = "") -> Proposal:
    """The plan that follows from what was typed, with its peaks and cautions.

    Parameters
    ----------
    on
        What is known of the pond.
    texts
        As typed, by the names of `store.courses.planning.wished`.
    steps
        How many steps the form shows.
    by
        Who plans, by name; empty while nobody said.

    Raises
    ------
    BadInput
        What cannot be understood or planned, at its field.
    """
    try:
        wish = wished(texts, steps, by=by)
        full = on.water.water
        level = level_now(texts.get("level", ""), full.volume_l)
        plan = plan_course(
            wish.wishes,
            hazards=wish.hazards,
            reason=wish.reason,
            water=at_level(full, level),
            first_day=first_day_of(texts, on.today),
            formulary=on.formulary,
            ahead=on.ahead,
        )
        if level is not None:
            plan = replace(plan, steps=tuple(_at_level(step, level) for step in plan.steps))
        stated = cautions(plan, running=on.beside.running, last=on.beside.last)
    except BadInput as trouble:
        raise at_field(trouble) from trouble
    peaks = tuple(_peak(plan, step, shelf_of(on, texts, step.place)) for step in plan.steps)
    return Proposal(plan, peaks, stated)


def _at_level(step: PlanStep, level: Level) -> PlanStep:
    """A step of the pond says that it rests on a level; a tank has a volume of its own."""
    if step.route in FRESH:
        return step
    return replace(step, remarks=(level.said, *step.remarks))


def shelf_of(on: Ground, texts: Mapping[str, str], place: int) -> ShelfProduct | None:
    """The product of the shelf that was chosen for a step, while it still is what is given.

    Parameters
    ----------
    on
        What is known of the practice.
    texts
        As typed.
    place
        Of the step.
    """
    key, agent = texts.get(f"{place}.shelf", ""), texts.get(f"{place}.agent", "")
    return next((one for one in on.shelf if str(one.id) == key and one.agent == agent), None)


def packs_said(amount: float, unit: str, product: ShelfProduct) -> str:
    """The packs that an amount takes, `2 packs of 500 g`; empty where no pack is known.

    Parameters
    ----------
    amount
        Of all doses together [g or mL].
    unit
        `g` or `mL`.
    product
        From the shelf; in another unit than its pack only where its density is known.
    """
    size, density = product.pack_size, product.density_g_ml
    if not size or (unit != product.pack_unit and not density):
        return ""
    if unit != product.pack_unit and density:
        amount = amount * density if unit == "mL" else amount / density
    count = max(1, math.ceil(amount / size - 1e-9))
    return f"{count} pack{'' if count == 1 else 's'} of {figures(size)} {product.pack_unit}"


def _peak(plan: Plan, step: PlanStep, product: ShelfProduct | None) -> Peak:
    answer, whole = predicted(step), sum(one.amount for one in step.doses)
    return Peak(
        step=step,
        name=plan.plain_name(step.agent),
        bound=max(answer.bound_mg_l),
        reached=answer.highest_mg_l,
        most=step.safe_most,
        thrown_away=step.route in FRESH and step.exposure_h is not None,
        arithmetic=answer.arithmetic,
        source=answer.source,
        weighed=tuple(_weighed(step, dose) for dose in step.doses) if _is_heavy(step) else (),
        whole=measured(whole, step.doses[0].amount_unit).said,
        packs="" if product is None else packs_said(whole, step.doses[0].amount_unit, product),
    )


def _is_heavy(step: PlanStep) -> bool:
    return step.doses[0].amount_unit == "mL" and step.product.density_g_ml is not None


def _weighed(step: PlanStep, dose: PlannedDose) -> str:
    return f"{figures(dose.amount * (step.product.density_g_ml or 0.0), 3)} g"


def refuse_others(book: Book, act: Act) -> None:
    """Refuse anybody who is no vet, before reasons are asked for in vain; nothing is written.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who, and when.

    Raises
    ------
    NotAllowed
        The person is no vet.
    """
    with book.reading() as connection:
        refuse_but_vets(connection, act.by, "plan a course")


def keep_proposal(
    book: Book,
    act: Act,
    pond: UUID,
    proposal: Proposal,
    *,
    start: bool,
    reasons: Mapping[str, str] | None = None,
    note: str = "",
    follows: UUID | None = None,
) -> UUID:
    """Keep a proposal as a course, and start it where that is wanted: all in one action.

    Parameters
    ----------
    book
        The practice's book.
    act
        Of a vet.
    pond
        Key of the pond.
    proposal
        As it was shown.
    start
        False keeps the course as planned; its cautions are asked when it starts.
    reasons
        Code of a caution to the reason in writing; every `stop` needs one to start.
    note
        In words.
    follows
        The course that this one takes the place of.

    Returns
    -------
    UUID
        Key of the course.

    Raises
    ------
    NotAllowed, NotFound, BadInput
        As for `keep_plan` and `start_course`; nothing was saved then.
    """
    with book.writing(act) as writing:
        key = keep_plan(writing, pond, proposal.plan, follows=follows, note=note)
        if start:
            start_course(writing, key, 1, proposal.cautions, reasons or {})
    return key
