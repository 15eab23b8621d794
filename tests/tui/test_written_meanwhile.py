"""What somebody else writes while a page is open is shown there; a page that does not says why."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from courses_on_screen import kept, logged, shown, two_agents, until
from diary_on_screen import MONDAY, WEDNESDAY, add_practice, app_with, quiet, wish_with, words
from one_pond import KIT, add_one_pond
from screen_text import a_moment, screen_text
from small_app import SmallApp
from textual.screen import ModalScreen, Screen

import tui.screens
from store.book.act import Act
from store.book.book import Book
from store.book.volumes import record_estimate
from store.courses.kept.records import course
from store.diary.kept.roster.days_off import add_day_off
from store.water.line import understand
from store.water.water_tests import NewTest, list_tests, save_test, strike_test
from tui.messages import BookChanged
from tui.screens.courses.course_plan import PlanCourseScreen
from tui.screens.courses.dose import DoseScreen
from tui.screens.diary.booking import BookingScreen
from tui.screens.parts.edit import FormPage
from tui.screens.parts.history import HistoryScreen
from tui.screens.ponds.volume import VolumeScreen
from tui.screens.water.opened_test import OpenedTestScreen
from tui.widgets.fields import Form, FormField

_FORM = "a form: what is typed stays, and saving says what another wrote"
_FILE = "what a file would bring; the store looks again when it is saved"
STAND_STILL = {
    "TickScreen": _FORM,
    "PondEntry": _FORM,
    "SheetOfFish": _FORM,
    "FishFormScreen": _FORM,
    "OccasionScreen": _FORM,
    "FindingScreen": _FORM,
    "WaterTestScreen": _FORM,
    "UnpackScreen": _FILE,
    "ClientsFileScreen": _FILE,
    "ClientsInScreen": _FILE,
    "LoggerInScreen": _FILE,
    "PasteScreen": _FILE,
    "PlanInScreen": _FILE,
    "WaterInScreen": _FILE,
    "RecordLineScreen": "a line of the record never changes",
    "MapScreen": "drawn of the round that lies below, which says so",
    "GuardScreen": "backups are files, and no records",
    "ProofScreen": "a replay of the past takes long: r makes it anew",
    "SheetScreen": "a form: the course is read when the sheet is written",
}
"""Screens that show what is in the book and do not listen, each with the reason."""


def screens() -> set[type[Screen[Any]]]:
    """Every screen of the application that is no dialog."""
    for one in pkgutil.walk_packages(tui.screens.__path__, "tui.screens."):
        importlib.import_module(one.name)
    found, new = set(), {Screen}
    while new:
        new = {sub for one in new for sub in one.__subclasses__()} - found
        found |= new
    return {
        one
        for one in found
        if one.__module__.startswith("tui.screens.") and not issubclass(one, ModalScreen)
    }


def test_every_screen_listens_or_says_why_not() -> None:
    deaf = {
        one
        for one in screens()
        if not hasattr(one, "on_book_changed") and not issubclass(one, FormPage)
    }
    bases = {name for one in deaf for name in (base.__name__ for base in one.__mro__)}
    unsaid = {
        one.__name__
        for one in deaf
        if one.__subclasses__() == []
        and not {base.__name__ for base in one.__mro__} & set(STAND_STILL)
    }
    assert unsaid == set()
    assert set(STAND_STILL) <= bases, "named, but listens or is gone"


@pytest.fixture
def pond(sqlite_book: Book, act: Act) -> UUID:
    return add_one_pond(sqlite_book, act)


def _another_volume(book: Book, act: Act, pond: UUID) -> None:
    with book.writing(act) as writing:
        record_estimate(
            writing, pond, method="salt", litres=7_777.0, low_l=7_000.0, high_l=8_000.0,
            measured_on=book.today(act.at),
        )  # fmt: skip


def _struck(book: Book, act: Act, pond: UUID) -> None:
    newest = list_tests(book, pond)[0]
    strike_test(book, act, newest.key, newest.rev, "the wrong pond")


def _renamed(book: Book, act: Act, pond: UUID) -> None:
    with book.writing(act) as writing:
        writing.change("pond", pond, 2, notes="seen by another")


PAGES: dict[str, tuple[Callable[[Book, UUID], Screen[Any]], Any, str]] = {
    "volume": (lambda _book, pond: VolumeScreen(pond), _another_volume, "7,777"),
    "history": (lambda _book, pond: HistoryScreen("pond", pond, "it"), _renamed, "seen by another"),
    "test": (
        lambda book, pond: OpenedTestScreen(pond, list_tests(book, pond)[0].key),
        _struck,
        "Struck through: the wrong pond",
    ),
}


@pytest.mark.parametrize("page", PAGES)
async def test_a_page_shows_what_was_written(
    sqlite_book: Book, act: Act, pond: UUID, tmp_path: Path, page: str
) -> None:
    make, write, says = PAGES[page]
    app = SmallApp(sqlite_book, act, lambda: make(sqlite_book, pond), tmp_path / "drafts.json")
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        assert says not in screen_text(app)
        write(sqlite_book, act, pond)
        app.screen.post_message(BookChanged(own=False))
        for _ in range(100):
            await a_moment(0.02)
            if says in screen_text(app):
                return
    raise AssertionError(screen_text(app))


async def test_a_dose_that_somebody_else_logged_is_not_logged_again(
    sqlite_book: Book, act: Act, pond: UUID, tmp_path: Path
) -> None:
    key = kept(sqlite_book, act, pond, two_agents(act, sqlite_book, days_ago=2), days_ago=2)
    app = SmallApp(sqlite_book, act, lambda: DoseScreen(key), tmp_path / "drafts.json")
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await until(pilot, DoseScreen)
        screen.query_one(Form).fill({"observed": "one fish rubs"})
        await shown(pilot)
        logged(sqlite_book, act, key, 1, days_ago=0)
        await pilot.press("f2")  # quicker than what another wrote is looked for
        for _ in range(100):
            await a_moment(0.02)
            if "Somebody else has logged this dose" in screen_text(app):
                break
        assert "Somebody else has logged this dose" in screen_text(app)
        assert len(course(sqlite_book, key).log) == 1
        app.screen.post_message(BookChanged(own=False))
        await shown(pilot)
        assert screen.query_one(Form).values["observed"] == "one fish rubs"


async def test_a_course_is_planned_anew_in_the_water_that_another_measured(
    sqlite_book: Book, act: Act, pond: UUID, tmp_path: Path
) -> None:
    app = SmallApp(sqlite_book, act, lambda: PlanCourseScreen(pond), tmp_path / "drafts.json")
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        for _ in range(100):
            await a_moment(0.02)
            if "17.7 °C" in screen_text(app):
                break
        form = app.screen.query_one(Form)
        form.fill({"reason": "half typed"})
        read = understand("9.3C pH 7.0", kit=KIT, now=act.at, zone=sqlite_book.zone)
        save_test(sqlite_book, act, pond, NewTest(act.at, read.readings, way="line"))
        app.screen.post_message(BookChanged(own=False))
        for _ in range(100):
            await a_moment(0.02)
            if "9.3 °C" in screen_text(app):
                break
        assert "9.3 °C" in screen_text(app)
        assert form.values["reason"] == "half typed"
        await pilot.pause()


async def test_what_another_booked_speaks_against_the_hour_that_is_typed(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    practice = add_practice(sqlite_book, act)
    wish = wish_with(sqlite_book, practice.bound, MONDAY, WEDNESDAY)
    app = app_with(sqlite_book, act, tmp_path, lambda: BookingScreen(wish))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        form = app.screen.query_one(Form)
        form.fill({"on_day": MONDAY.isoformat(), "at_time": "11:00"})
        next(iter(form.query(FormField))).entry.focus()
        await quiet(pilot)
        assert "closed" not in words(app)
        with sqlite_book.writing(act) as writing:
            add_day_off(writing, None, MONDAY, MONDAY, says="closed")
        app.screen.post_message(BookChanged(own=False))
        for _ in range(200):
            await a_moment(0.02)
            if "closed" in words(app):
                break
        assert "closed" in words(app)
        await quiet(pilot)
        assert form.values["at_time"] == "11:00"
        assert MONDAY not in {one.on_day for one in app.screen.slots}  # type: ignore[attr-defined]
