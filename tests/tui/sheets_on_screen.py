"""A day of one vet on ponds that are in the book, for the screens of the day's sheet."""

from __future__ import annotations

from dataclasses import replace
from datetime import time
from typing import Any
from uuid import UUID

from diary_on_screen import MONDAY, Practice, add_practice

from store.book.act import Act
from store.book.book import Book
from store.book.ponds import card
from store.diary.kept.visits.diary import visiting
from store.rounds.day.values import DayPlan, Errand
from store.rounds.solving.problem import CLEAN, INFECTED
from tests.rounds.day_plans import driver, errand, plan_of


def own_day(book: Book, act: Act) -> tuple[Practice, DayPlan]:
    """Ada's Monday: two booked visits, and one that is due and not booked, at an infected site."""
    practice = add_practice(book, act)
    order = (
        kept(book, 1, practice.near, visit=practice.first),
        kept(book, 2, practice.bound, level=INFECTED, booked=False),
        kept(book, 3, practice.far, level=INFECTED, visit=practice.second),
    )
    return practice, plan_of((driver(practice.ada), order), on_day=MONDAY)


def kept(
    book: Book, number: int, pond: UUID, *, visit: UUID | None = None, level: int = CLEAN,
    **more: Any,
) -> Errand:  # fmt: skip
    """A visit to a pond of the book, with its own site and client."""
    of = card(book, pond)
    booked = None if visit is None else visiting(book, visit)
    hour = time(9) if booked is None else booked.at_time
    site = of.site
    made = errand(
        number, f"{of.client.name}, {of.pond.name}", (site.latitude or 0.0, site.longitude or 0.0),
        level=level, site_id=site.id, ponds=[pond], hour=hour, **more,
    )  # fmt: skip
    made = replace(made, client_id=of.client.id, hours_said="08:00 to 19:00")
    return made if booked is None else replace(made, key=booked.id, visit=booked)
