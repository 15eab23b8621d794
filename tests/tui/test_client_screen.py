"""The page of a client: the whole picture in one look, and what is done from there."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from desk_on_screen import DeskApp, owner_of, shown, until, until_said, usual_client
from one_pond import add_one_pond
from paper import HARMFUL, HOSTILE_PAGES
from screen_text import looks_as, screen_lines, screen_text

from store.book.act import Act
from store.book.book import Book
from store.book.clients import client
from store.book.visits import visits_of
from store.diary.kept.promised.attempts import attempts_of, log_attempt
from store.diary.kept.promised.follow_ups import follow_up, promise
from tui.screens.courses.course import CourseScreen
from tui.screens.desk.client import ClientScreen
from tui.screens.desk.client_lines import ClientKey
from tui.screens.diary.booking import BookingScreen
from tui.screens.parts.dialogs import AskReason, Choose
from tui.screens.ponds.pond import PondScreen
from tui.themes import DAY, NIGHT
from tui.widgets.grid import LineGrid

TODAY = date(2026, 3, 14)


@pytest.fixture
def owner(sqlite_book: Book, act: Act) -> UUID:
    return usual_client(sqlite_book, act)


def app_of(book: Book, act: Act, key: UUID, folder: Path, theme: str = NIGHT) -> DeskApp:
    return DeskApp(book, act, lambda: ClientScreen(key), folder / "drafts.json", theme=theme)


def put_on(app: DeskApp, kind: str, place: int = 0) -> ClientKey:
    """Put the cursor on the line of that kind."""
    grid = app.screen.query_one(LineGrid)
    keys = [row.key for row in grid._rows]
    found = [key for key in keys if isinstance(key, ClientKey) and key.kind == kind][place]
    grid.move_to(found)
    return found


@pytest.mark.parametrize(("width", "height", "theme"), [(80, 24, NIGHT), (120, 40, DAY)])
async def test_it_looks_as_it_was_looked_at(
    sqlite_book: Book, act: Act, owner: UUID, tmp_path: Path, width: int, height: int, theme: str
) -> None:
    app = app_of(sqlite_book, act, owner, tmp_path, theme)
    async with app.run_test(size=(width, height), notifications=True) as pilot:
        await shown(pilot)
        await looks_as(pilot, f"client_{width}")


async def test_the_whole_picture_of_a_usual_client_needs_no_scrolling(
    sqlite_book: Book, act: Act, owner: UUID, tmp_path: Path
) -> None:
    app = app_of(sqlite_book, act, owner, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        text = " ".join(screen_text(app).split())
        for part in (
            "01632 960 123 or 07700 900 456", "ring after 17:00", "ring 17:30",
            "4 Mill Lane", "access Mon-Fri 9-17", "lower pond", "quarantine", "formalin",
            "gills pale", "next", "3 Mar left", "no answer", "spring check",
        ):  # fmt: skip
            assert part in text, part
        grid = app.screen.query_one(LineGrid)
        assert grid.max_scroll_y == 0, screen_text(app)


async def test_calls_are_logged_and_taken_back_here_too(
    sqlite_book: Book, act: Act, owner: UUID, tmp_path: Path
) -> None:
    app = app_of(sqlite_book, act, owner, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        assert "ring 17:30" in screen_text(app)
        await pilot.press("r")
        await until_said(pilot, "Logged 07:30: Alder Row was reached.", "today reached")
        await until_said(pilot, "ring after 17:00")
        await shown(pilot)
        assert "ring 17:30" not in screen_text(app)
        await pilot.press("u")
        await until_said(pilot, "Taken back: Alder Row was reached")
        await pilot.press("home")
        await until_said(pilot, "ring 17:30")
    assert [one.outcome for one in attempts_of(sqlite_book, owner)] == [
        "ring back", "no answer", "left word"
    ]  # fmt: skip


async def test_enter_opens_what_the_cursor_is_on(
    sqlite_book: Book, act: Act, owner: UUID, tmp_path: Path
) -> None:
    app = app_of(sqlite_book, act, owner, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        for kind, screen in (("pond", PondScreen), ("course", CourseScreen)):
            put_on(app, kind)
            await pilot.press("enter")
            await until(pilot, screen)
            await pilot.press("escape")
            await until(pilot, ClientScreen)
            await shown(pilot)
        rows = app.screen.query_one(LineGrid)._rows
        dose = next(row.key for row in rows if "dose:" in getattr(row.key, "name", ""))
        app.screen.query_one(LineGrid).move_to(dose)
        await pilot.press("d")
        await until(pilot, CourseScreen)


async def test_what_is_promised_to_a_client_of_several_places_asks_which(
    sqlite_book: Book, act: Act, owner: UUID, tmp_path: Path
) -> None:
    with sqlite_book.writing(act) as writing:
        promise(writing, client_id=owner, kind="visit", says="see all ponds", first_on=TODAY)
        lake = writing.add("site", client_id=owner, name="lake")
    app = app_of(sqlite_book, act, owner, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        picture = app.screen.picture  # type: ignore[attr-defined]
        (line,) = (one for one in picture.all_due if one.promised.says == "see all ponds")
        app.screen.query_one(LineGrid).move_to(ClientKey("due", line.promised.about))
        await pilot.press("b")
        choose = await until(pilot, Choose)
        names = [one.label for one in choose._options]
        await pilot.press(str(names.index("lake") + 1))
        booking = await until(pilot, BookingScreen)
        assert booking.wish.site_id == lake
        assert [one.says for one in booking.wish.purposes] == ["see all ponds"]


async def test_a_promise_far_ahead_is_ended_with_its_reason(
    sqlite_book: Book, act: Act, owner: UUID, tmp_path: Path
) -> None:
    app = app_of(sqlite_book, act, owner, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        key = put_on(app, "later")
        await pilot.press("enter")
        await until(pilot, Choose)
        await pilot.press("1")
        await until(pilot, AskReason)
        await pilot.press(*"sold", "enter")
        await until_said(pilot, "Ended: spring check.")
        await shown(pilot)
        found = follow_up(sqlite_book, UUID(key.name))
        assert (found.state, found.ended_why) == ("ended", "sold")
        await pilot.press("u")
        await until_said(pilot, "Taken back: ended: spring check.")
    assert follow_up(sqlite_book, UUID(key.name)).state == "open"


async def test_a_planned_visit_that_passed_is_asked_about(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    pond = add_one_pond(sqlite_book, act)
    later = Act(act.by, act.at + timedelta(days=30))
    (planned,) = visits_of(sqlite_book, pond)
    assert planned.on_day < sqlite_book.today(later.at)
    app = app_of(sqlite_book, later, owner_of(sqlite_book, pond), tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        assert "nobody said what became of it" in screen_text(app)


async def test_a_client_without_anything_says_what_to_do(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    with sqlite_book.writing(act) as writing:
        key = writing.add("client", name="Nobody Yet")
    app = app_of(sqlite_book, act, key, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        text = screen_text(app)
        assert "no telephone number" in text
        assert "c takes a call" in text
        await pilot.press("b", "d", "o", "enter")
        await shown(pilot)
        assert isinstance(app.screen, ClientScreen)


async def test_the_foot_names_the_keys_of_the_telephone(
    sqlite_book: Book, act: Act, owner: UUID, tmp_path: Path
) -> None:
    app = app_of(sqlite_book, act, owner, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        foot = screen_lines(app)[-1]
        words = ("open", "reached", "word", "no answer", "ring back", "book", "back", "help")
        assert [word for word in words if word not in foot] == []


@pytest.mark.parametrize("text", HOSTILE_PAGES)
async def test_texts_of_people_stay_text(
    sqlite_book: Book, act: Act, tmp_path: Path, text: str
) -> None:
    pond = add_one_pond(sqlite_book, act, client=text[:150] or "x", pond=text[:150] or "y")
    owner = owner_of(sqlite_book, pond)
    changes: dict[str, Any] = {"notes": text, "phone": text[:30]}
    with sqlite_book.writing(act) as writing:
        writing.change("client", owner, 1, **changes)
        log_attempt(writing, owner, "no answer", note=text)
        promise(writing, client_id=owner, kind="ring", says=text[:400] or "ring", first_on=TODAY)
    app = app_of(sqlite_book, act, owner, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        for _ in range(8):
            assert not HARMFUL & set(screen_text(app).replace("\n", ""))
            await pilot.press("down")
    assert client(sqlite_book, owner).notes.replace("\N{REPLACEMENT CHARACTER}", "") is not None


async def test_a_call_that_is_open_stands_once_and_leads_to_its_page(
    sqlite_book: Book, act: Act, owner: UUID, tmp_path: Path
) -> None:
    from store.diary.kept.calls.call_notes import note_call
    from tui.screens.desk.call_page import CallPageScreen

    with sqlite_book.writing(act) as writing:
        key = note_call(
            writing, owner, caller="Rowan", said="two dead since Friday", advised="air on",
            next_step="somebody looks at it",
        )  # fmt: skip
    app = app_of(sqlite_book, act, owner, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        rows = app.screen.query_one(LineGrid)._rows
        (row,) = [one for one in rows if key.hex in one.key.name.replace("-", "")]  # type: ignore[attr-defined]
        app.screen.query_one(LineGrid).move_to(row.key)
        await pilot.press("enter")
        screen = await until(pilot, CallPageScreen)
        assert screen.call == key


async def test_where_there_is_room_the_strip_tells_all_of_it(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    with sqlite_book.writing(act) as writing:
        key = writing.add("client", name="Beech House")
        promise(writing, client_id=key, kind="ring", says="the quote", first_on=TODAY)
    app = app_of(sqlite_book, act, key, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        text = screen_text(app)
        for part in (
            "Promised by Ada Vet today.",
            "stake 3",
            "Not rung yet.",
            "Due today.",
        ):
            assert part in text
