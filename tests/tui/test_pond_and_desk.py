"""The page of a pond and the desk: calls in its list, what is due at its head, keys that lead on."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from courses_on_screen import kept, two_agents
from desk_on_screen import DeskApp, owner_of, until, until_said
from one_pond import add_one_pond
from paper import HARMFUL, HOSTILE_PAGES
from screen_text import looks_as, screen_lines, screen_text
from small_app import settled

from store.book.act import Act
from store.book.book import Book
from store.diary.desk.about import about_of
from store.diary.kept.calls.call_notes import call_notes, close_call, note_call, raise_call
from store.diary.kept.promised.follow_ups import follow_ups_of, promise
from tui.screens.desk.call import CallScreen
from tui.screens.desk.call_note import CallNoteScreen
from tui.screens.desk.call_page import CallPageScreen
from tui.screens.desk.client import ClientScreen
from tui.screens.desk.promise import PromiseScreen
from tui.screens.parts.help import Help
from tui.screens.ponds.pond import PondScreen
from tui.screens.ponds.pond_due_lines import due_lines
from tui.screens.ponds.pond_lines import LineKey
from tui.screens.ponds.pond_page import read_page
from tui.themes import DAY, NIGHT
from tui.widgets.fields import Form
from tui.widgets.grid import LineGrid


@pytest.fixture
def pond(sqlite_book: Book, act: Act) -> UUID:
    return add_one_pond(sqlite_book, act)


def app_of(book: Book, act: Act, pond: UUID, folder: Path, theme: str = NIGHT) -> DeskApp:
    return DeskApp(book, act, lambda: PondScreen(pond), folder / "drafts.json", theme=theme)


def noted(
    book: Book, act: Act, pond: UUID, said: str = "two lie at the bottom", *,
    caller: str = "Ina Marsh", advised: str = "air on, no feed", next_step: str = "ring her at six",
) -> UUID:  # fmt: skip
    owner = owner_of(book, pond)
    with book.writing(act) as writing:
        return note_call(
            writing, owner, pond_id=pond, caller=caller, said=said, advised=advised,
            next_step=next_step,
        )  # fmt: skip


def promised(
    book: Book, act: Act, pond: UUID, days: int, says: str, repeats: str = "", **more: Any
) -> UUID:
    owner, today = owner_of(book, pond), book.today(act.at)
    given = {"kind": "visit", "pond_id": pond} | more
    with book.writing(act) as writing:
        return promise(
            writing, client_id=owner, says=says, first_on=today + timedelta(days=days),
            repeats=repeats, **given,
        )  # fmt: skip


def usual(book: Book, act: Act, pond: UUID) -> None:
    """Calls, open and closed, and something promised late, near and far ahead."""
    noted(
        book, Act(act.by, act.at - timedelta(days=9)), pond, "asks what the filter costs",
        advised="a quote by mail", next_step="",
    )  # fmt: skip
    noted(book, Act(act.by, act.at - timedelta(hours=1)), pond)
    promised(
        book, Act(act.by, act.at - timedelta(days=20)), pond, 2, "ring about the liner", kind="ring"
    )
    promised(book, act, pond, 12, "salt reading", "FREQ=MONTHLY")
    promised(book, act, pond, 200, "winter check")


@pytest.mark.parametrize(
    ("size", "theme"), [((80, 24), NIGHT), ((120, 40), DAY), ((60, 20), NIGHT)]
)
async def test_it_looks_as_it_was_looked_at(
    sqlite_book: Book, act: Act, pond: UUID, tmp_path: Path, size: tuple[int, int], theme: str
) -> None:
    usual(sqlite_book, act, pond)
    app = app_of(sqlite_book, act, pond, tmp_path, theme)
    async with app.run_test(size=size, notifications=True) as pilot:
        await settled(pilot)
        await looks_as(pilot, f"pond_desk_{size[0]}")


async def test_a_call_stands_in_the_list_and_enter_opens_it(
    sqlite_book: Book, act: Act, pond: UUID, tmp_path: Path
) -> None:
    key = noted(sqlite_book, act, pond)
    app = app_of(sqlite_book, act, pond, tmp_path)
    async with app.run_test(size=(120, 40), notifications=True) as pilot:
        await settled(pilot)
        assert (
            "14 Mar 07:30  open  call of Ina Marsh, routine: ring her at six  "
            "advised: air on, no feed"
        ) in screen_text(app)
        assert app.screen.query_one(LineGrid).move_to(LineKey("call", key))
        await pilot.press("enter")
        page = await until(pilot, CallPageScreen)
        assert page.call == key
        (note,) = call_notes(sqlite_book)
        with sqlite_book.writing(act) as writing:
            rev = raise_call(writing, key, note.rev, "same day", "she cries")
            close_call(writing, key, rev, "seen")
        await pilot.press("escape")
        await until(pilot, PondScreen)
        await until_said(pilot, "call of Ina Marsh, same day: ring her at six  advised")
        assert "open  call of" not in screen_text(app)


async def test_a_call_that_was_struck_is_shown_when_asked(
    sqlite_book: Book, act: Act, pond: UUID, tmp_path: Path
) -> None:
    key = noted(sqlite_book, act, pond)
    with sqlite_book.writing(act) as writing:
        writing.strike("call_note", key, "it was another pond", 1)
    app = app_of(sqlite_book, act, pond, tmp_path)
    async with app.run_test(size=(120, 40), notifications=True) as pilot:
        await settled(pilot)
        assert "Ina Marsh" not in screen_text(app)
        await pilot.press("s")
        await until_said(pilot, "struck  call of Ina Marsh", "it was another pond")


def test_what_weighs_most_is_told_first_and_the_rest_counted(
    sqlite_book: Book, act: Act, pond: UUID
) -> None:
    usual(sqlite_book, act, pond)
    page = read_page(sqlite_book, pond, act.at)
    first, *others = (one.promised for one in page.due)
    assert first.says == "ring about the liner"
    for width in (58, 78, 118):
        (line,) = due_lines(page, width).plain.splitlines()
        assert len(line) <= width
        assert line.startswith("due      ring about the liner  late ")
        assert line.endswith(f"  and {len(others)} more: O")
    whole = due_lines(page, 118, 1 + len(others)).plain
    assert "promised by Ada Vet" in whole
    assert "more" not in whole
    assert [len(cell) for cell in whole.splitlines() if not cell.startswith("due")]
    for one in others:
        assert one.says in whole


def test_what_comes_stands_by_its_day_whatever_it_weighs(
    sqlite_book: Book, act: Act, pond: UUID
) -> None:
    for days, kind, says in (
        (30, "visit", "last"), (9, "seasonal", "second"), (8, "ring", "first"),
        (0, "look_again", "now"),
    ):  # fmt: skip
        promised(sqlite_book, act, pond, days, says, kind=kind, early_days=0, late_days=0)
    page = read_page(sqlite_book, pond, act.at)
    said = [line.split()[-1] for line in (
        cell.partition("  in ")[0].partition("  today")[0].partition("  booked")[0]
        for cell in due_lines(page, 118, 9).plain.splitlines()
    )]  # fmt: skip
    assert said == ["now", "first", "second", "last", "test"]


def test_the_doses_of_a_course_are_told_by_its_line_alone(
    sqlite_book: Book, act: Act, pond: UUID
) -> None:
    key = kept(sqlite_book, act, pond, two_agents(act, sqlite_book, days_ago=2), days_ago=2)
    page = read_page(sqlite_book, pond, act.at)
    assert [one.course.id for one in page.courses.under_way] == [key]
    things = {about_of(one.promised.about).thing for one in page.due}
    assert {"dose", "control", "test"} <= things
    said = due_lines(page, 118, 9).plain
    assert "formalin" not in said
    assert "control" not in said
    assert "water test" in said


def test_when_it_is_due_stays_where_there_is_no_room(
    sqlite_book: Book, act: Act, pond: UUID
) -> None:
    promised(sqlite_book, act, pond, 3, "ring about the liner " * 6, kind="ring")
    page = read_page(sqlite_book, pond, act.at)
    (line,) = due_lines(page, 58).plain.splitlines()
    assert len(line) <= 58
    assert "…  in 3 d  and 1 more: O" in line


async def test_the_keys_lead_to_notes_calls_promises_and_the_client(
    sqlite_book: Book, act: Act, pond: UUID, tmp_path: Path
) -> None:
    app = app_of(sqlite_book, act, pond, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        for key, screen, said in (
            ("T", CallNoteScreen, "Note of a call: Alder Row, lower pond"),
            ("C", CallScreen, "whom      Alder Row, lower pond"),
            ("a", PromiseScreen, "Promise to Alder Row"),
            ("O", ClientScreen, "Alder Row"),
        ):  # fmt: skip
            await pilot.press(key)
            await until(pilot, screen)
            await until_said(pilot, said)
            await pilot.press("escape")
            await until(pilot, PondScreen)
            await settled(pilot)
        assert app.opened == owner_of(sqlite_book, pond)
        foot = screen_lines(app)[-1]
        assert not any(word in foot for word in ("note", "promise", "owner", "call"))
        await pilot.press("f1")
        await until(pilot, Help)
        shown = screen_text(app)
        for _ in range(6):
            await pilot.press("pagedown")
            shown += screen_text(app)
        for words in ("A short note of a call about this pond", "whole picture", "Promise some"):
            assert words in shown, words
        assert "upper" not in shown, "keys are said as they stand on the keyboard"
    assert app.told == []


async def test_a_note_taken_here_is_in_the_list_at_once(
    sqlite_book: Book, act: Act, pond: UUID, tmp_path: Path
) -> None:
    app = app_of(sqlite_book, act, pond, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await pilot.press("T")
        screen = await until(pilot, CallNoteScreen)
        screen.query_one(Form).fill(
            {"caller": "Ina Marsh", "said": "koi gasping", "advised": "air on", "next_step": "go"}
        )
        await pilot.pause()
        await pilot.press("f2")
        await until(pilot, PondScreen)
        await until_said(pilot, "call of Ina Marsh, same day: go", "due      call: go  today")
    (note,) = call_notes(sqlite_book)
    assert note.pond_id == pond


async def test_a_promise_made_here_is_for_this_pond_and_stands_at_the_head(
    sqlite_book: Book, act: Act, pond: UUID, tmp_path: Path
) -> None:
    app = app_of(sqlite_book, act, pond, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await pilot.press("a")
        screen = await until(pilot, PromiseScreen)
        await until_said(pilot, "Promise to Alder Row")
        screen.query_one(Form).fill({"says": "look at the liner", "first_on": "today"})
        await pilot.pause()
        await pilot.press("f2")
        await until(pilot, PondScreen)
        await until_said(pilot, "due      look at the liner  today")
    (one,) = follow_ups_of(sqlite_book, owner_of(sqlite_book, pond))
    assert (one.pond_id, one.says) == (pond, "look at the liner")


async def test_before_the_pond_was_read_the_keys_do_nothing(
    sqlite_book: Book, act: Act, pond: UUID, tmp_path: Path
) -> None:
    screen = PondScreen(pond)
    app = DeskApp(sqlite_book, act, lambda: screen, tmp_path / "drafts.json")
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        screen.page = None
        await pilot.press("T", "C", "a", "O")
        await pilot.pause()
        assert app.screen is screen


async def test_a_pond_that_was_struck_has_nothing_due_and_keeps_its_calls(
    sqlite_book: Book, act: Act, pond: UUID, tmp_path: Path
) -> None:
    noted(sqlite_book, act, pond)
    promised(sqlite_book, act, pond, 1, "look at the liner")
    with sqlite_book.writing(act) as writing:
        writing.strike("pond", pond, "filled in")
    app = app_of(sqlite_book, act, pond, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        assert "Struck through: no rule looks at it." in screen_text(app)
        assert "struck through: filled in" in screen_text(app)
        assert "Press t" not in screen_text(app)
        assert "look at the liner" not in screen_text(app)
        assert app.screen.query_one(LineGrid).move_to(
            LineKey("call", call_notes(sqlite_book)[0].id)
        )


@pytest.mark.parametrize("text", HOSTILE_PAGES)
async def test_what_callers_said_stays_text(
    sqlite_book: Book, act: Act, pond: UUID, tmp_path: Path, text: str
) -> None:
    noted(sqlite_book, act, pond, f"x{text}", caller=f"x{text[:100]}", advised=f"x{text}",
          next_step=f"x{text}")  # fmt: skip
    promised(sqlite_book, act, pond, 1, f"x{text[:400]}")
    app = app_of(sqlite_book, act, pond, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        assert not HARMFUL & set(screen_text(app).replace("\n", ""))
        await pilot.press("f1")
        await until(pilot, Help)
    assert app.told == []
