"""What each pond was really given: agent by agent, with its last day and the product's label."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from sqlalchemy import Select, and_, func, select

from store.book.book import Book
from store.book.tables import table
from store.courses.food.needs import Shelf
from store.facts.agents import agents


@dataclass(frozen=True, slots=True)
class AgentGiven:
    """One agent of one course as the log of doses has it, struck entries left out.

    `last_day` is the day of the last dose, or for medicated feed the last on which it is fed, which
    may lie ahead. `still_due` counts the doses that a running course has yet to see. `shelf` is the
    product that the step rests on, else that of the same name on the shelf.
    """

    course_id: UUID
    agent: str
    name: str
    fed: bool
    doses: int
    first_day: date
    last_day: date
    still_due: int
    shelf: Shelf | None


def agents_given(
    book: Book, today: date, pond: UUID | None = None
) -> dict[UUID, tuple[AgentGiven, ...]]:
    """What ponds were really given under the courses of the book.

    Parameters
    ----------
    book
        The practice's book.
    today
        The practice's calendar day; a dose still due counts from it on.
    pond
        The one pond that is wanted; None for all.

    Returns
    -------
    dict
        Pond to its agents, one for each step of a course of which something was given.
    """
    courses, steps, doses = (table(name) for name in ("course", "course_step", "course_dose"))
    log, rests, products, rations = (
        table(name) for name in ("dose_given", "step_rests_on", "product", "feed_ration")
    )
    own = table("own_agent")
    shelf = (
        select(
            rests.c.step_id, products.c.name, products.c.withdrawal_degree_days,
            products.c.withdrawal_days,
        )
        .join(products, products.c.id == rests.c.product_id)
        .where(rests.c.struck_at.is_(None))
        .subquery()
    )  # fmt: skip
    fed = (
        select(rations.c.step_id, func.max(rations.c.feed_days).label("feed_days"))
        .where(rations.c.struck_at.is_(None))
        .group_by(rations.c.step_id)
        .subquery()
    )
    query = (
        select(
            courses.c.pond_id, courses.c.id.label("course_id"), courses.c.state, steps.c.id,
            steps.c.agent, steps.c.route, steps.c.product, doses.c.nth, doses.c.due_on,
            doses.c.state.label("dose_state"), doses.c.struck_at, log.c.given_at, fed.c.feed_days,
            shelf.c.name.label("shelf"), shelf.c.withdrawal_degree_days, shelf.c.withdrawal_days,
            own.c.name.label("own_name"),
        )
        .join(steps, steps.c.course_id == courses.c.id)
        .join(doses, doses.c.step_id == steps.c.id)
        .outerjoin(log, and_(log.c.dose_id == doses.c.id, log.c.struck_at.is_(None)))
        .outerjoin(fed, fed.c.step_id == steps.c.id)
        .outerjoin(shelf, shelf.c.step_id == steps.c.id)
        .outerjoin(own, and_(own.c.code == steps.c.agent, own.c.struck_at.is_(None)))
        .where(
            courses.c.struck_at.is_(None),
            steps.c.struck_at.is_(None),
            courses.c.state != "planned",
        )
        .order_by(courses.c.pond_id, courses.c.created_at, steps.c.place, doses.c.nth)
    )  # fmt: skip
    if pond is not None:
        query = query.where(courses.c.pond_id == pond)
    by_step: dict[UUID, list[Any]] = {}
    on_shelf: dict[tuple[str, str], Shelf] = {}
    with book.reading() as connection:
        for row in connection.execute(query):
            by_step.setdefault(row.id, []).append(row)
        for row in connection.execute(_standing_products()):
            on_shelf[row.agent, row.name] = _longer(
                on_shelf.get((row.agent, row.name)),
                Shelf(row.name, row.withdrawal_degree_days, row.withdrawal_days),
            )
    found: dict[UUID, tuple[AgentGiven, ...]] = {}
    for rows in by_step.values():
        one = _given(book, rows, on_shelf)
        if one is not None:
            key = rows[0].pond_id
            found[key] = (*found.get(key, ()), one)
    return found


def _standing_products() -> Select[Any]:
    products = table("product").c
    return select(
        products.agent, products.name, products.withdrawal_degree_days, products.withdrawal_days
    ).where(products.struck_at.is_(None))


def _longer(one: Shelf | None, other: Shelf) -> Shelf:
    """Of two products of one name the longer of each period."""
    if one is None:
        return other
    degree_days = [n for n in (one.degree_days, other.degree_days) if n is not None]
    days = [n for n in (one.days, other.days) if n is not None]
    return Shelf(one.name, max(degree_days, default=None), max(days, default=None))


def _given(
    book: Book, rows: list[Any], on_shelf: Mapping[tuple[str, str], Shelf]
) -> AgentGiven | None:
    """One step, of whose doses at least one was given."""
    given = [row for row in rows if row.given_at is not None]
    if not given:
        return None
    first = rows[0]
    days: dict[int, date] = {}
    for row in given:
        day = row.given_at.astimezone(book.zone).date()
        days[row.nth] = max(day, days.get(row.nth, day))
    fed = first.route == "feed"
    lasts = _feed_days(rows) if fed else {}
    known = agents().get(first.agent)
    name = first.agent if known is None else known.plain_name
    due = {
        row.nth
        for row in rows
        if row.dose_state == "due" and row.given_at is None and row.struck_at is None
    }
    rests: Shelf | None = None
    for row in rows:
        if row.shelf is not None:
            one = Shelf(row.shelf, row.withdrawal_degree_days, row.withdrawal_days)
            rests = _longer(rests, one)
    return AgentGiven(
        course_id=first.course_id,
        agent=first.agent,
        name=first.own_name if known is None and first.own_name else name,
        fed=fed,
        doses=len(days),
        first_day=min(row.given_at.astimezone(book.zone).date() for row in given),
        last_day=max(day + timedelta(days=lasts.get(nth, 1) - 1) for nth, day in days.items()),
        still_due=len(due) if first.state == "running" else 0,
        shelf=rests or on_shelf.get((first.agent, first.product)),
    )


def _feed_days(rows: list[Any]) -> dict[int, int]:
    """For how many days each batch is fed: until the next, the last until the course is fed.

    Where a batch would come out at less than a day it is taken for the whole course.
    """
    due = sorted({row.nth: row.due_on for row in rows}.items())
    whole = int(rows[0].feed_days or 1)
    found = {}
    for place, (nth, day) in enumerate(due):
        ends = due[place + 1][1] if place + 1 < len(due) else due[0][1] + timedelta(days=whole)
        found[nth] = days if (days := (ends - day).days) >= 1 else whole
    return found
