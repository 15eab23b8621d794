"""Ponds with courses, products on the shelf and a day that visits them, for kit lists."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.dose_log import log_dose
from store.courses.kept.dose_now import AMOUNT_OFF
from store.courses.kept.keeping import keep_plan, start_course
from store.courses.kept.records import course
from store.courses.kept.shelf import keep_product
from store.courses.planning.course import Plan, PlannedDose, PlanStep, PondWater, Product
from store.rounds.day.values import DayPlan, Errand
from store.rounds.kept.kits.kit import kit_list
from store.rounds.kit.values import KitLine, KitList
from store.water.line import understand
from store.water.understood import KitForms
from store.water.water_tests import NewTest, save_test
from tests.book.entries import NOW
from tests.rounds.day_plans import ADA, driver, errand, plan_of

TODAY = date(2026, 3, 14)
DAY = timedelta(days=1)
POWDER = Product("powder", 98.0)


def pond(book: Book, act: Act, client: str = "Alder Row", **values: Any) -> UUID:
    """A pond of 9000 L, 8000 to 10 000 L, on well water."""
    said: dict[str, Any] = {
        "name": "lower pond", "volume_l": 9000.0, "volume_low_l": 8000.0, "volume_high_l": 10_000.0,
        "volume_method": "salt", "source_water": "well", "use": "ornamental",
    } | values  # fmt: skip
    with book.writing(act) as writing:
        owner = writing.add("client", name=client)
        site = writing.add("site", client_id=owner, name="Garden")
        return writing.add("pond", site_id=site, **said)


def treat(
    book: Book, act: Act, where: UUID, *due: date, agent: str = "praziquantel", dose: float = 2.0,
    amount: float = 18.3, product: Product = POWDER, begun: bool = True, begun_on: date = TODAY,
    **values: Any,
) -> UUID:  # fmt: skip
    """A course with a dose on each of some days; it began on the first, or is only planned."""
    of_dose = {
        one: values.pop(one)
        for one in ("water_change_percent", "share", "amount_unit")
        if one in values
    }
    fixed: dict[str, Any] = {
        "amount_unit": "g", "water_change_percent": 0.0, "share": "practice",
    } | of_dose  # fmt: skip
    doses = tuple(
        PlannedDose(number=nth, due_on=day, dose=dose, amount=amount, **fixed)
        for nth, day in enumerate(due or (TODAY,), start=1)
    )
    step = PlanStep(
        place=1, agent=agent, route="pond_bath", dose=dose, unit="mg/L", product=product,
        volume_l=9000.0, doses=doses, interval_days=7, interval_why="typed", exposure_h=None,
        half_life_h=None, safe_most=None, source="common_practice", standing="common practice",
    )  # fmt: skip
    water = PondWater(
        9000.0, 8000.0, 10_000.0, temperature_c=18.0, use="ornamental",
        **{key: values.pop(key) for key in ("salinity_g_l",) if key in values},
    )  # fmt: skip
    plan = Plan((), "as the vet found", water, (replace(step, **values),), (), None)
    then = Act(act.by, min(act.at, _at(begun_on)))
    with book.writing(then) as writing:
        key = keep_plan(writing, where, plan)
        if begun:
            start_course(writing, key, 1, (), {})
    return key


def _at(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, 7, tzinfo=NOW.tzinfo)


def give(
    book: Book, act: Act, key: UUID, number: int, day: date, amount: float = 18.3, why: str = ""
) -> None:
    """Log a dose, or a part of one."""
    with book.writing(Act(act.by, min(act.at, _at(day)))) as writing:
        log_dose(
            writing, course(book, key).dose_ids[1, number], given_at=_at(day), amount=amount,
            amount_unit="g", water_change_percent=0.0, given_by="Ada", reasons={AMOUNT_OFF: why},
        )  # fmt: skip


def shelve(book: Book, act: Act, name: str = "powder", **values: Any) -> UUID:
    """A product on the shelf: a powder of 98 % in packs of 100 g."""
    said: dict[str, Any] = {
        "agent": "praziquantel", "strength_percent": 98.0, "strength_basis": "w/w",
        "pack_size": 100.0,
    } | values  # fmt: skip
    with book.writing(act) as writing:
        return keep_product(writing, name, **said)


def visiting(*ponds: UUID, on_day: date = TODAY, **values: Any) -> DayPlan:
    """A day on which each pond is a stop, in that order."""
    return plan_of((driver(), stops(ponds, **values)), on_day=on_day)


def stops(ponds: Sequence[UUID], **values: Any) -> tuple[Errand, ...]:
    """An errand a pond; a course dose where nothing else is said."""
    kind = values.pop("kind", "course dose")
    return tuple(
        replace(errand(nth, f"Stop {nth}, pond", (53.05, -1.66), ponds=[one], **values), kind=kind)
        for nth, one in enumerate(ponds, start=1)
    )


def listed(book: Book, plan: DayPlan, now: datetime = NOW) -> KitList:
    """The kit list of Ada's round."""
    return kit_list(book, plan, ADA, now)


def line(kit: KitList, group: Any, what: str) -> KitLine:
    """The one line of a part that begins with some words."""
    found = [one for one in kit.of(group) if one.what.startswith(what)]
    assert len(found) == 1, [one.what for one in kit.of(group)]
    return found[0]


def enter_test(book: Book, act: Act, where: UUID, typed: str, days: float = 0.5) -> None:
    """A water test of some days ago, as it is typed."""
    read = understand(typed, kit=KitForms("n", "no2", "no3"), now=act.at, zone=book.zone)
    assert not read.doubts, read.doubts
    save_test(book, act, where, NewTest(act.at - timedelta(days=days), read.readings, way="line"))
