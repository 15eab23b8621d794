"""Asking for a reading from the desk: typed in one line, and both lists move."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from desk_on_screen import DeskApp, until, until_said
from screen_text import screen_text

from store.book.act import Act
from store.book.book import Book
from store.book.clients import clients
from store.diary.kept.due.whom_to_ask import whom_to_ask
from store.diary.kept.promised.attempts import attempts_of
from store.water.water_tests import read_tests
from tests.diary.ponds_at_an_edge import add_ponds_at_an_edge
from tui.app import PondroundApp
from tui.screens.desk.asking import AskingScreen
from tui.screens.desk.asking_lines import NOT_LEARNT
from tui.screens.desk.desk import DeskScreen
from tui.screens.morning.morning import MorningScreen
from tui.screens.water.water_test import WaterTestScreen
from tui.widgets.grid import LineGrid


def abouts(screen: Any) -> list[object]:
    return [row.key for row in screen.query_one(LineGrid)._rows]


async def gone(pilot: Any, screen: AskingScreen, key: object) -> None:
    """Until a line has left the list."""
    for _ in range(200):
        if key not in abouts(screen):
            return
        await pilot.pause(0.02)
    raise AssertionError(screen_text(pilot.app))


async def test_a_reading_typed_on_the_telephone_moves_both_lists(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    book = sqlite_book
    ponds = add_ponds_at_an_edge(book, act)
    app = PondroundApp(
        lambda: book, now=lambda: act.at, person="Ada Vet", drafts=tmp_path / "drafts.json"
    )
    async with app.run_test(size=(80, 24)) as pilot:
        await until_said(pilot, "hill pond")
        before = screen_text(app)
        await pilot.press("5")
        await until_said(pilot, "g 5 to ask")
        await pilot.press("g")
        page = await until(pilot, AskingScreen)
        text = await until_said(pilot, "hill pond", "brook po", "By estimate about")
        assert "reading" in text.splitlines()[-1]
        first, second, *_ = whom_to_ask(book, act.at).lines
        assert abouts(page)[:2] == [first.about, second.about]
        assert f"{second.mean_c:.1f}, {second.low_c:.1f} to {second.high_c:.1f}" in text

        # Nobody answered: it is logged under this name, and the pond goes behind the others.
        await pilot.press("n")
        await until_said(pilot, "nobody answered")
        await gone(pilot, page, first.about)
        await pilot.press("u")
        await until_said(pilot, "Taken back")
        for _ in range(200):
            if first.about in abouts(page):
                break
            await pilot.pause(0.02)
        assert page.query_one(LineGrid).move_to(first.about)

        await pilot.press("enter")
        line = await until(pilot, WaterTestScreen)
        await until_said(pilot, "hill pond")
        assert line._line.text == "temp "
        await pilot.press(*"17.6 at 07:10")
        await until_said(pilot, "17.6 °C", "at 07:10")
        await pilot.press("enter")
        page = await until(pilot, AskingScreen)
        text = await until_said(pilot, "Saved for", "koi herpesvirus")
        await gone(pilot, page, first.about)
        with book.reading() as connection:
            (test,) = read_tests(connection, ponds["hill pond"], 5)
        assert test.taken_at.astimezone(book.zone).strftime("%H:%M") == "07:10"
        now = {one.about: one for one in whom_to_ask(book, act.at).lines}
        assert now[second.about].mean_c > second.mean_c  # its neighbour was read warmer
        assert f"{now[second.about].mean_c:.1f}, {now[second.about].low_c:.1f} to" in screen_text(
            app
        )

        # Who was reached is asked at once; the pond is not asked for again today.
        page.query_one(LineGrid).move_to(second.about)
        await pilot.press("r")
        await until(pilot, WaterTestScreen)
        await pilot.press("escape")
        await until(pilot, AskingScreen)
        await until_said(pilot, "1 asked today")
        assert second.about not in abouts(page)
        owner = next(one for one in clients(book) if one.id == second.client_id)
        (attempt,) = attempts_of(book, owner.id)
        assert (attempt.outcome, attempt.about) == ("reached", second.about)

        await pilot.press("escape")
        await until(pilot, DeskScreen)
        await pilot.press("1")
        await until(pilot, MorningScreen)
        after = await until_said(pilot, "hill pond")
        assert after != before
        assert "17.6" in after


async def test_where_nothing_is_learnt_it_says_so(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    app = DeskApp(sqlite_book, act, AskingScreen, tmp_path / "drafts.json")
    async with app.run_test(size=(80, 24)) as pilot:
        await until_said(pilot, NOT_LEARNT[:40])
        await pilot.press("n", "enter", "o")
        assert isinstance(app.screen, AskingScreen)
        assert app.changes == 0
