"""The portions of a day: every dose that is due at a pond that is visited, as it is asked for."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from uuid import UUID

from store.book.book import Book
from store.book.ponds import PondCard, card
from store.book.tables import table
from store.courses.baths.amount import Amount
from store.courses.feeding.product import product_for
from store.courses.kept.course_page import DoseLine, dose_lines
from store.courses.kept.course_water import temps_of
from store.courses.kept.dose_now import AskedNow, asked_now, left_of
from store.courses.kept.records import Course, read_courses
from store.courses.kept.water_now import Beside, beside, water_now
from store.courses.papers.sheet_step import concentration_said
from store.courses.planning.course import PondWater
from store.courses.planning.fed import batch_days, dose_word, is_fed
from store.courses.planning.plan import measured_out
from store.courses.planning.route import FRESH
from store.errors import PondroundError
from store.facts.agent import Agent
from store.facts.numbers import Number
from store.rounds.kept.kits.kit_tap import tap_portion
from store.rounds.kept.kits.kit_waits import MEASURED, MISSING, Seen, key_of, unanswered
from store.rounds.kit.amounts import amount_said
from store.rounds.kit.values import Portion, StopRef
from store.text import day_said
from store.water.given import figures

SALTED = "Weighed at the pond: the salinity is measured first, after the water change."
_OPEN = frozenset({"due", "due today", "late", "in part"})
BY_WATER = {
    "permanganate_by_demand": "What goes in hangs on the demand test of that hour and on the "
    "colour: this much was planned.",
    "copper_by_alkalinity": "What goes in hangs on the alkalinity: read it before the dose.",
    "chloramine_t_by_ph": "What goes in hangs on pH and hardness: read them before the dose.",
}
"""What is said of a dose that the pond's water sets, by the rule of its route."""


@dataclass(frozen=True, slots=True)
class DoseDue:
    """A dose that falls to a visit, with its course and its portion."""

    course: Course
    line: DoseLine
    card: PondCard
    portion: Portion


@dataclass(frozen=True, slots=True)
class Doses:
    """Every dose that falls to the visits, what the taps ask for, and the courses of the ponds."""

    due: tuple[DoseDue, ...]
    taps: tuple[Portion, ...]
    courses: tuple[Course, ...]

    @property
    def portions(self) -> tuple[Portion, ...]:
        """All of them in the order of the stops."""
        found = [*(one.portion for one in self.due), *self.taps]
        return tuple(sorted(found, key=lambda one: (one.stop.who, one.stop.nth)))


def doses_of(
    book: Book,
    ponds: Mapping[UUID, StopRef],
    day: date,
    now: datetime,
    formulary: Mapping[str, Agent],
    tap_chlorine: Number,
    named: Collection[UUID] = (),
) -> Doses:
    """What is due at the ponds that are visited on a day.

    Parameters
    ----------
    book
        The practice's book.
    ponds
        Key of each pond to the stop at which it is visited.
    day
        Of the visits.
    now
        The present instant, with a time zone.
    formulary
        Agents by code.
    tap_chlorine
        What is taken for a tap of which nobody knows the chlorine [mg/L].
    named
        Keys of the doses that the visits are to keep.

    Returns
    -------
    Doses
        Of each step one dose: that which a visit is to keep, that of the day, or the oldest that
        slipped. One that waits for a
        vet, or that the owner gives, says so in its portion.
    """
    today = book.today(now)
    courses = table("course").c
    with book.reading() as connection:
        found = read_courses(
            connection, book.zone, courses.pond_id.in_(list(ponds)),
            courses.state.in_(("planned", "running")),
        )  # fmt: skip
    temps = temps_of(book, found, today)
    due: list[DoseDue] = []
    taps: list[Portion] = []
    for one in sorted(found, key=lambda one: (ponds[one.pond_id].who, ponds[one.pond_id].nth)):
        kept = card(book, one.pond_id)
        if kept.struck:
            continue
        lines = _falling(one, day, today, named)
        if not lines:
            continue
        seen = _Portions(one, kept, ponds[one.pond_id], day, today, temps.get(one.id),
                     *_water(book, one, now, today), formulary, named)  # fmt: skip
        for line, others in lines:
            portion = seen.portion(line, others)
            due.append(DoseDue(one, line, kept, portion))
            if not portion.waits and line.planned.water_change_percent > 0.0:
                tap = tap_portion(line, kept, portion, formulary, tap_chlorine)
                taps += [] if tap is None else [tap]
    return Doses(tuple(due), tuple(taps), found)


def _water(
    book: Book, course: Course, now: datetime, today: date
) -> tuple[PondWater | None, Beside, str]:
    near = beside(book, course.pond_id, today, but=course.id)
    try:
        return water_now(book, course.pond_id, now), near, ""
    except PondroundError as trouble:
        return None, near, trouble.message


def _falling(
    course: Course, day: date, today: date, named: Collection[UUID]
) -> list[tuple[DoseLine, tuple[DoseLine, ...]]]:
    """Of each step the dose that falls to the visit, and others of it that are open by then."""
    kept = [one for one in dose_lines(course, today) if one.stands in _OPEN]
    found = []
    for step in course.plan.steps:
        own = [one for one in kept if one.step.place == step.place]
        meant = [one for one in own if key_of(course, one) in named]
        open_ = [one for one in own if one.planned.due_on <= day]
        falls = [one for one in open_ if one.planned.due_on < today or one.planned.due_on == day]
        chosen = next(iter((*meant, *falls, *open_[-1:])), None)
        if chosen is not None:
            found.append((chosen, tuple(one for one in open_ if one is not chosen)))
    return found


@dataclass(frozen=True, slots=True)
class _Portions(Seen):
    """The portions of a course."""

    def portion(self, line: DoseLine, others: Sequence[DoseLine]) -> Portion:
        """What one dose comes to, and why it waits where it does."""
        step, planned = line.step, line.planned
        asked, arithmetic = self._asked(line)
        stops = self.stops(line, asked)
        waits = self.waits(line) or unanswered(stops)
        readings = [said for code, said in stops if code.startswith(MISSING) and not waits]
        count = max(one.number for one in step.doses)
        loose = SALTED if asked.lacks is not None else ""
        return Portion(
            key=f"{self.course.id.hex}:{step.place}:{planned.number}",
            agent=step.agent,
            name=self.course.plan.plain_name(step.agent),
            product=step.product,
            amount=asked.amount,
            unit=planned.amount_unit,
            pond_id=self.course.pond_id,
            pond=where(self.card),
            stop=self.stop,
            dose=f"{dose_word(step)} {planned.number} of {count}"
            + (" (mixed into feed, never into water)" if is_fed(step) else ""),
            said=arithmetic,
            rests_on=self._rests(line),
            remarks=(
                *(f"{MEASURED} {said}" for said in readings),
                *self._remarks(line, others),
            ),
            waits=waits,
            loose=loose,
        )

    def _asked(self, line: DoseLine) -> tuple[AskedNow, str]:
        """What is asked for, and the arithmetic; salt by what the water will lack."""
        step, planned = line.step, line.planned
        plain = AskedNow(left_of(line), planned.amount_unit, 1.0, ())
        if self.water is None:
            return plain, self._dose_said(line, plain)
        water, said = self.water, ""
        change = planned.water_change_percent
        if step.agent == "salt" and water.salinity_g_l and change and step.route not in FRESH:
            after = water.salinity_g_l * (1.0 - change / 100.0)
            said = (
                f"After a change of {figures(change)} % of the water {figures(water.salinity_g_l)} "
                f"g/L come to {figures(after)} g/L. "
            )
            water = replace(water, salinity_g_l=after)
        asked = asked_now(self.course, line, water)
        if asked.lacks is None:
            return asked, self._dose_said(line, asked)
        return asked, said + " ".join(asked.said)

    def _dose_said(self, line: DoseLine, asked: AskedNow) -> str:
        step, planned = line.step, line.planned
        out = amount_said(asked.amount, planned.amount_unit)
        if step.ration is not None:
            return self._batch_said(line, asked)
        reckoned = self._reckoned(line)
        if reckoned is None:
            dose = concentration_said(planned.dose, step.unit)
            return f"{dose} in {figures(step.volume_l)} L = {out}"
        said = reckoned.arithmetic
        if math.isclose(reckoned.out.measured, asked.amount, rel_tol=1e-6):
            return said
        return f"{said}; {_other_than(line, asked)}"

    def _batch_said(self, line: DoseLine, asked: AskedNow) -> str:
        """What a batch of feed takes, to the product that is weighed."""
        step, planned = line.step, line.planned
        assert step.ration is not None
        days, weight_kg = batch_days(step, planned), step.ration.biomass_kg
        active_mg = step.dose * weight_kg * days
        said = (
            f"{figures(step.dose)} mg for each kg of fish a day × {figures(weight_kg)} kg × "
            f"{days} d = {figures(active_mg)} mg"
        )
        product = step.product
        try:
            out, how = product_for(
                active_mg, product.strength_percent, product.basis, product.density_g_ml
            )
        except PondroundError as trouble:
            return f"{said}; {trouble.message}"
        said = f"{said}; {how}"
        if math.isclose(out.measured, asked.amount, rel_tol=1e-6):
            return said
        return f"{said}; {_other_than(line, asked)}"

    def _reckoned(self, line: DoseLine) -> Amount | None:
        """What the planned dose comes to, with what it makes if the volume is wrong."""
        step, pond = line.step, self.card.pond
        low, high = pond.volume_low_l, pond.volume_high_l
        if not self._in_force(line) or low is None or high is None:
            low = high = None
        try:
            return measured_out(
                line.planned.dose, step.unit, step.product, step.volume_l, low_l=low, high_l=high
            )
        except PondroundError:
            return None

    def _in_force(self, line: DoseLine) -> bool:
        """Whether a bath was reckoned for the volume of its pond that is in force."""
        volume = self.card.pond.volume_l
        return (
            volume is not None
            and line.step.ration is None
            and line.step.route not in FRESH
            and math.isclose(line.step.volume_l, volume, rel_tol=1e-6)
        )

    def _rests(self, line: DoseLine) -> str:
        step, pond = line.step, self.card.pond
        if step.ration is not None:
            return f"weight of the fish: {step.ration.biomass_how or 'as typed'}"
        if step.route in FRESH:
            return f"{figures(step.volume_l)} L of the tank, as typed in the plan"
        if pond.volume_l is None:
            return "the volume of the pond is not known"
        low, high = pond.volume_low_l, pond.volume_high_l
        spread = "its uncertainty is not known"
        if low is not None and high is not None:
            spread = f"{figures(low)} to {figures(high)} L"
        how = pond.volume_method or "no method is stated"
        said = f"volume in force {figures(pond.volume_l)} L, {spread}, {how}"
        made = self._reckoned(line)
        if made is None or made.lowest_dose >= made.highest_dose or step.agent == "salt":
            return said
        lowest, highest = (
            concentration_said(one, made.dose_unit) for one in (made.lowest_dose, made.highest_dose)
        )
        return f"{said}: it makes {lowest} to {highest}"

    def _remarks(self, line: DoseLine, others: Sequence[DoseLine]) -> tuple[str, ...]:
        step, pond, said = line.step, self.card.pond, []
        agent = self.formulary.get(step.agent)
        rules = {} if agent is None else {
            one.rule: None for one in agent.routes if one.code == step.route and one.rule
        }  # fmt: skip
        said += [BY_WATER[rule] for rule in rules if rule in BY_WATER]
        bath = step.ration is None and step.route not in FRESH
        if bath and pond.volume_l is not None and not self._in_force(line):
            said.append(
                f"It was reckoned for {figures(step.volume_l)} L; the volume in force is "
                f"{figures(pond.volume_l)} L. A vet says which holds."
            )
        late = (self.day - line.planned.due_on).days
        if late > 0:
            said.append(f"It was due on {day_said(line.planned.due_on)}, {late} d before.")
        for one in others:
            said.append(
                f"{dose_word(step).capitalize()} {one.planned.number}, due on "
                f"{day_said(one.planned.due_on)}, is open too and not in the list: one at a time."
            )
        return tuple(said)


def _other_than(line: DoseLine, asked: AskedNow) -> str:
    """An amount that is not what the dose comes to, in words."""
    left = "what is left of it" if asked.amount < line.planned.amount else "the plan"
    return f"{left} is {amount_said(asked.amount, line.planned.amount_unit)}"


def where(found: PondCard) -> str:
    """Client and pond in a phrase, the pond left out where it says nothing new.

    Parameters
    ----------
    found
        The pond with its client.
    """
    client, pond = found.client.name, found.pond.name
    return client if pond in {"", client} else f"{client}, {pond}"
