"""Two agents against two hazards, kept and begun, and what tests of their screens share."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import Any
from uuid import UUID

from screen_text import a_moment, screen_text
from textual.screen import Screen

from store.book.act import Act
from store.book.book import Book
from store.courses.cautions.before import cautions
from store.courses.kept.dose_log import log_dose
from store.courses.kept.keeping import keep_plan, start_course
from store.courses.kept.records import course
from store.courses.planning.course import Caution, Plan, PondWater, Product, StepWish
from store.courses.planning.plan import plan_course
from tui.screens.courses.caution_read import ReadCautions
from tui.screens.parts.dialogs import AskReason


def two_agents(act: Act, book: Book, *, days_ago: int, reason: str = "costia, then flukes") -> Plan:
    return plan_course(
        [
            StepWish("formalin", "pond_bath", 15.0, doses=2, interval_days=3),
            StepWish(
                "trichlorfon", "pond_bath", 0.5, doses=3, interval_days=7,
                water_change_percent=30.0, share="owner", product=Product("shelf", 98.0),
            ),
        ],
        hazards=("costia", "gill_flukes"), reason=reason,
        water=PondWater(
            18_400.0, 16_200.0, 20_600.0, temperature_c=17.7, ph=7.0, alkalinity_mg_l=107.0,
            hardness_mg_l=120.0, oxygen_mg_l=9.0, age_days=0.1, species="31 koi, 42 kg",
            use="ornamental",
        ),
        first_day=book.today(act.at) - timedelta(days=days_ago),
    )  # fmt: skip


def kept(book: Book, act: Act, pond: UUID, plan: Plan, *, days_ago: int = 0, begin: bool = True) -> UUID:  # fmt: skip
    then = Act(act.by, act.at - timedelta(days=days_ago))
    with book.writing(then) as writing:
        key = keep_plan(writing, pond, plan)
        if begin:
            found = cautions(plan)
            start_course(writing, key, 1, found, {one.code: "seen" for one in found})
    return key


BUSY = ("courses", "course-page", "entry-read", "dose-look")


async def shown(pilot: Any) -> None:
    """Everything that was asked of the store has been shown."""
    for _ in range(150):
        await a_moment(0.02)
        if not any(one.is_running and one.group in BUSY for one in pilot.app.workers):
            break
    await pilot.pause()


async def until(pilot: Any, kind: type[Screen[Any]]) -> Any:
    """The topmost screen, once it is one of that kind."""
    for _ in range(150):
        if isinstance(pilot.app.screen, kind):
            await shown(pilot)
            return pilot.app.screen
        await a_moment(0.02)
    raise AssertionError(f"{pilot.app.screen} is not {kind}: {screen_text(pilot.app)}")


async def act_on(pilot: Any, kind: type[Screen[Any]], *keys: str) -> None:
    """Wait for a dialog of that kind and press these keys in it."""
    await until(pilot, kind)
    await pilot.press(*keys)
    await pilot.pause(0.05)


async def read_through(pilot: Any) -> None:
    """Every caution that waits to be read is read to its end."""
    await until(pilot, ReadCautions)
    for _ in range(40):
        if not isinstance(pilot.app.screen, ReadCautions):
            return
        await pilot.press("enter")
        await a_moment(0.03)
    raise AssertionError(screen_text(pilot.app))


async def back_on(pilot: Any, kind: type[Screen[Any]]) -> str:
    """The text of the screen of that kind, once every dialog over it is gone and it was read."""
    for _ in range(100):
        while isinstance(pilot.app.screen, AskReason | ReadCautions):
            if isinstance(pilot.app.screen, AskReason):
                await pilot.press(*"seen")
            await pilot.press("enter")
            await a_moment(0.05)
        if isinstance(pilot.app.screen, kind):
            break
        await a_moment(0.02)
    for _ in range(50):
        if not any(one.is_running and one.group == "course-flow" for one in pilot.app.workers):
            break
        await a_moment(0.02)
    await until(pilot, kind)
    await pilot.press("f5")  # the application itself would tell every screen that the book grew
    await shown(pilot)
    return screen_text(pilot.app)


def logged(book: Book, act: Act, key: UUID, number: int, *, days_ago: int, amount: float = 276.0, cautions: Sequence[Caution] = ()) -> None:  # fmt: skip
    at = act.at - timedelta(days=days_ago)
    with book.writing(Act(act.by, at)) as writing:
        log_dose(
            writing, course(book, key).dose_ids[1, number], given_at=at, amount=amount,
            amount_unit="g", water_change_percent=0.0, given_by="Ada", cautions=cautions,
        )  # fmt: skip
