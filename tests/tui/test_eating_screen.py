"""May these fish be eaten: the answer, the sum, the declaration, and fish that leave meanwhile."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from paper import HARMFUL, HOSTILE
from screen_text import a_moment, looks_as, screen_lines, screen_text
from small_app import SmallApp

from store.book.act import Act
from store.book.book import Book
from store.book.declared import declared
from store.book.events import events, record_event
from store.courses.kept.records import courses_of
from tests.courses.treated_ponds import add_carp_pond, add_logger, treat
from tui.screens.courses.course import CourseScreen
from tui.screens.parts.dialogs import Tell
from tui.screens.ponds.eating import DeclareScreen, EatingScreen
from tui.screens.ponds.event import EventScreen
from tui.screens.ponds.pond import PondScreen
from tui.widgets.fields import Form

TODAY = date(2026, 3, 14)
LAST = TODAY - timedelta(days=20)
BUSY = ("eating", "pond-page", "course-page", "entry-read", "entry-save")


@pytest.fixture
def desk(sqlite_book: Book, act: Act, tmp_path: Path) -> Callable[..., SmallApp]:
    return lambda first: SmallApp(sqlite_book, act, first, tmp_path / "drafts.json")


@pytest.fixture
def pond(sqlite_book: Book, act: Act) -> UUID:
    """Table carp with two agents, and a logger since before the first dose."""
    pond = add_carp_pond(sqlite_book, act)
    add_logger(
        sqlite_book, act, pond, [9.0 + 0.1 * n for n in range(34)], after=LAST - timedelta(14)
    )
    days = [LAST - timedelta(days=7), LAST]
    treat(sqlite_book, act, pond, "trichlorfon", days, shelf={"withdrawal_days": 28})
    treat(sqlite_book, act, pond, "salt", [LAST])
    return pond


async def settle(pilot: Any) -> None:
    for _ in range(150):
        await a_moment(0.02)
        if not any(one.is_running and one.group in BUSY for one in pilot.app.workers):
            break
    await pilot.pause()


@pytest.mark.parametrize(("width", "height"), [(80, 24), (60, 20)])
async def test_the_page_looks_as_it_was_looked_at(
    pond: UUID, desk: Callable[..., SmallApp], width: int, height: int
) -> None:
    app = desk(lambda: EatingScreen(pond))
    async with app.run_test(size=(width, height), notifications=True) as pilot:
        await settle(pilot)
        await looks_as(pilot, f"eating_{width}")


async def test_each_condition_is_explained_where_the_cursor_is(
    pond: UUID, desk: Callable[..., SmallApp]
) -> None:
    app = desk(lambda: EatingScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        assert "must reach 500" in screen_text(app)  # the sum is drawn against it
        await pilot.press("down")
        await settle(pilot)
        assert "must reach 500" not in screen_text(app)  # days are not drawn
        assert "28 d by the label" in screen_text(app)
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(app.screen, Tell)
        assert "Days of a label belong to the water of their trial." in " ".join(
            screen_text(app).replace("│", " ").split()
        )


async def test_what_was_written_beside_the_courses_stands_in_the_list(
    sqlite_book: Book, act: Act, desk: Callable[..., SmallApp]
) -> None:
    pond = add_carp_pond(sqlite_book, act)
    with sqlite_book.writing(act) as writing:
        record_event(writing, pond, "medicine_given", LAST, note=f"Oxy {HOSTILE[3]}: 5 g; batch 7")
        record_event(
            writing, pond, "not_for_eating", LAST - timedelta(3), until_day=TODAY, note="Formalin"
        )
    app = desk(lambda: EatingScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        said = " ".join(screen_text(app).split())
        assert "Not for eating: no day can be given." in said
        assert "no end of a withdrawal is written, so no day" in said
        assert not any(HARMFUL & set(line) for line in screen_lines(app))
        await pilot.press("down")
        await settle(pilot)
        said = " ".join(screen_text(app).split())
        assert "Written down as not for eating from 19 Feb 2026, until 14 Mar 2026" in said
        assert "nothing is reckoned of it" in said
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(app.screen, Tell)


async def test_what_the_fish_are_is_declared_with_a_name(
    sqlite_book: Book, act: Act, desk: Callable[..., SmallApp]
) -> None:
    pond = add_carp_pond(sqlite_book, act, use="not asked", client=f"Hollow {HOSTILE[3]}")
    treat(sqlite_book, act, pond, "formalin", [LAST], use="not asked")
    app = desk(lambda: EatingScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        assert "Not for eating until somebody says what these fish are." in screen_text(app)
        assert "ask the owner" in " ".join(screen_text(app).split())
        assert not any(HARMFUL & set(line) for line in screen_lines(app))
        await pilot.press("d")
        await settle(pilot)
        assert isinstance(app.screen, DeclareScreen)
        form = app.screen.query_one(Form)
        await pilot.press("f2")
        await settle(pilot)
        assert "Say whether the fish may be eaten" in " ".join(screen_text(app).split())
        form.fill({"use": "ornamental"})
        await pilot.press("f2")
        await settle(pilot)
        assert "Please name the person who said so" in " ".join(screen_text(app).split())
        form.fill({"said_by": "Mrs Hollow"})
        await settle(pilot)
        await pilot.press("f2")
        for _ in range(50):
            await settle(pilot)
            if isinstance(app.screen, EatingScreen):
                break
        await settle(pilot)
        said = " ".join(screen_text(app).split())
        assert "ornamental · declared by Mrs Hollow · written down by Ada Vet, today" in said
        assert "Marked not for eating" in said
    found = declared(sqlite_book, pond)
    assert found is not None
    assert found.use == "ornamental"
    assert app.drafts.of("declare", pond).values == {}


async def test_a_pond_without_a_course_says_what_to_do(
    sqlite_book: Book, act: Act, desk: Callable[..., SmallApp]
) -> None:
    pond = add_carp_pond(sqlite_book, act)
    app = desk(lambda: EatingScreen(pond))
    async with app.run_test(size=(60, 20), notifications=True) as pilot:
        await settle(pilot)
        said = " ".join(screen_text(app).split())
        assert "Nothing was given under a course in this book. Press d to write down" in said
        assert "nobody is named who said so: d" in said
        await pilot.press("enter", "f5")
        await settle(pilot)


async def test_fish_that_leave_within_the_period_are_stopped(
    sqlite_book: Book, act: Act, pond: UUID, desk: Callable[..., SmallApp]
) -> None:
    app = desk(lambda: EventScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        form = app.screen.query_one(Form)
        form.fill({"kind": "fish_removed", "amount": "12"})
        await settle(pilot)
        said = " ".join(screen_text(app).split())
        assert "Not for eating before" in said
        assert "Say it to whoever receives them; local law decides." in said
        await looks_as(pilot, "event_leaving_80")
        await pilot.press("f2")
        await settle(pilot)
        assert "Please write in the note who receives them" in " ".join(screen_text(app).split())
        assert not any(one.kind == "fish_removed" for one in events(sqlite_book, pond))
        form.fill({"note": "to Brook Fishery, told not to sell before June"})
        await settle(pilot)
        await pilot.press("f2")
        for _ in range(3):
            await settle(pilot)
    (found,) = (one for one in events(sqlite_book, pond) if one.kind == "fish_removed")
    assert found.note.startswith("to Brook Fishery")


async def test_another_kind_of_event_is_not_stopped(
    sqlite_book: Book, pond: UUID, desk: Callable[..., SmallApp]
) -> None:
    app = desk(lambda: EventScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        form = app.screen.query_one(Form)
        form.fill({"kind": "fish_removed"})
        await settle(pilot)
        assert "Not for eating" in screen_text(app)
        form.fill({"kind": "fish_died", "amount": "1"})
        await settle(pilot)
        assert "Not for eating" not in screen_text(app)
        await pilot.press("f2")
        for _ in range(3):
            await settle(pilot)
    assert [one.kind for one in events(sqlite_book, pond)] == ["fish_died"]


async def test_from_the_course_one_key_leads_to_it(
    sqlite_book: Book, pond: UUID, desk: Callable[..., SmallApp]
) -> None:
    course = courses_of(sqlite_book, pond)[0].id
    app = desk(lambda: CourseScreen(course))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        await pilot.press("f")
        await settle(pilot)
        assert isinstance(app.screen, EatingScreen)
        assert "may they be eaten?" in screen_text(app)
        await pilot.press("escape")
        await settle(pilot)
        assert isinstance(app.screen, CourseScreen)


async def test_the_page_of_the_pond_tells_that_it_runs(
    pond: UUID, desk: Callable[..., SmallApp]
) -> None:
    app = desk(lambda: PondScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        assert "FOOD FISH: not for eating before 10 Apr 2026 (f)" in screen_text(app)
        await pilot.press("f")
        await settle(pilot)
        assert isinstance(app.screen, EatingScreen)
