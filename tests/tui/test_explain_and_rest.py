"""Explaining the concerns of a pond, putting one to rest and letting it speak again."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from one_pond import add_one_pond
from screen_text import screen_text
from textual.widgets import Static

from store.book.act import Act
from store.book.book import Book
from store.watch.morning import watch_pond
from store.watch.rests import put_to_rest
from store.watch.rulebook import change_rule
from tui.app import PondroundApp
from tui.screens.morning.explain import ExplainScreen
from tui.screens.morning.morning import MorningScreen
from tui.screens.morning.rest import RestScreen
from tui.widgets.fields import Form


@pytest.fixture
def make_app(sqlite_book: Book, act: Act, tmp_path: Path) -> Callable[[], PondroundApp]:
    return lambda: PondroundApp(
        lambda: sqlite_book, now=lambda: act.at, drafts=tmp_path / "drafts.json"
    )


async def until(pilot: Any, holds: Callable[[], bool]) -> None:
    for _ in range(300):
        await pilot.pause()
        if holds():
            return
        await asyncio.sleep(0.01)
    raise AssertionError(screen_text(pilot.app))


async def shows(pilot: Any, text: str) -> str:
    """The screen, once that text stands on it, broken at the end of a line or not."""
    await until(pilot, lambda: text in " ".join(screen_text(pilot.app).split()))
    return screen_text(pilot.app)


def explanation(app: PondroundApp) -> str:
    """The whole of the page, in sight or not, with every line end a space."""
    text = "\n".join(str(part.render()) for part in app.screen.query(Static))
    return " ".join(text.split())


async def form(pilot: Any) -> Form:
    await until(pilot, lambda: bool(pilot.app.screen.query(Form)))
    await pilot.pause()
    found: Form = pilot.app.screen.query_one(Form)
    return found


async def saved(pilot: Any, **values: str) -> None:
    (await form(pilot)).fill(values)
    await pilot.pause()
    await pilot.press("f2")


async def test_an_explanation_gives_everything_the_watch_says(
    make_app: Callable[[], PondroundApp], sqlite_book: Book, act: Act
) -> None:
    key = add_one_pond(sqlite_book, act)
    watch = watch_pond(sqlite_book, key, act.at)
    assert len(watch.concerns) > 1
    app = make_app()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shows(pilot, "Alder Row")
        await pilot.press("e")
        await shows(pilot, watch.concerns[0].title)
        whole = explanation(app)
        for concern in (*watch.concerns, *watch.notes):
            told = (
                concern.title, concern.what, *concern.readings, *concern.arithmetic,
                concern.source, *concern.remarks, concern.advice,
            )  # fmt: skip
            for text in told:
                assert " ".join(text.split()) in whole, text
            if concern.standing != "published":
                assert concern.standing in whole.casefold()
        top = screen_text(app)
        await pilot.press("pagedown")
        await pilot.pause()
        assert screen_text(app) != top
        await pilot.press("pageup")
        await pilot.pause()
        assert screen_text(app) == top
        await pilot.press("end")
        await pilot.pause()
        assert screen_text(app) != top
        await pilot.press("home")
        await pilot.pause()
        assert screen_text(app) == top
        await pilot.press("escape")
        assert isinstance(app.screen, MorningScreen)


async def test_it_tells_who_changed_the_rule(
    make_app: Callable[[], PondroundApp], sqlite_book: Book, act: Act
) -> None:
    key = add_one_pond(sqlite_book, act)
    change_rule(
        sqlite_book, act, "ammonia_un_ionised", params={"watch_above_nh3_mg_l": 0.001},
        why="fry in this pond", pond=key,
    )  # fmt: skip
    app = make_app()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shows(pilot, "Alder Row")
        app.push_screen(ExplainScreen(key))
        await until(pilot, lambda: "fry in this pond" in explanation(app))
        assert "Ada Vet" in explanation(app)


async def test_a_concern_rests_until_its_day(
    make_app: Callable[[], PondroundApp], sqlite_book: Book, act: Act
) -> None:
    key = add_one_pond(sqlite_book, act)
    before = watch_pond(sqlite_book, key, act.at)
    app = make_app()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shows(pilot, "Alder Row")
        await pilot.press("r")
        assert isinstance(app.screen, RestScreen)
        await form(pilot)
        await pilot.press(*"2 weeks")
        await shows(pilot, "28 Mar")
        await pilot.press("enter", *"new filter", "enter")
        await until(pilot, lambda: isinstance(app.screen, MorningScreen))
        await shows(pilot, "28 Mar")
    after = watch_pond(sqlite_book, key, act.at)
    (resting,) = after.at_rest
    assert resting[0].rule == before.concerns[0].rule
    assert resting[1].until == date(2026, 3, 28)
    assert (resting[1].reason, resting[1].by) == ("new filter", "Ada Vet")
    assert len(after.concerns) == len(before.concerns) - 1


async def test_what_cannot_be_saved_is_said_at_its_field_and_kept(
    make_app: Callable[[], PondroundApp], sqlite_book: Book, act: Act
) -> None:
    key = add_one_pond(sqlite_book, act)
    app = make_app()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shows(pilot, "Alder Row")
        await pilot.press("r")
        await saved(pilot, until="soon [/x]", reason="new filter")
        await shows(pilot, "Please give a day")
        assert (await form(pilot)).values["reason"] == "new filter"
        await saved(pilot, until="3 d", reason="  ")
        await shows(pilot, "Please say why")
        await pilot.press("escape")
        assert isinstance(app.screen, MorningScreen)
        await pilot.press("r")
        assert (await form(pilot)).values["until"] == "3 d"
    assert watch_pond(sqlite_book, key, act.at).at_rest == ()


async def test_what_rests_can_be_woken(
    make_app: Callable[[], PondroundApp], sqlite_book: Book, act: Act
) -> None:
    key = add_one_pond(sqlite_book, act)
    before = watch_pond(sqlite_book, key, act.at)
    ahead = sqlite_book.today(act.at) + timedelta(days=9)
    for concern in before.concerns:
        put_to_rest(sqlite_book, act, key, concern, ahead, "new filter")
    app = make_app()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shows(pilot, "1 calm not shown")
        await shows(pilot, "at rest")
        app.push_screen(ExplainScreen(key))
        await until(pilot, lambda: "until 23 Mar" in explanation(app))
        assert "new filter" in explanation(app)
        await pilot.press("r")
        await saved(pilot, rule=f"wake:{before.concerns[0].rule}", reason="it smells")
        await until(pilot, lambda: isinstance(app.screen, ExplainScreen))
    after = watch_pond(sqlite_book, key, act.at)
    assert [concern.rule for concern in after.concerns] == [before.concerns[0].rule]


async def test_a_calm_pond_has_nothing_to_put_to_rest(
    make_app: Callable[[], PondroundApp], sqlite_book: Book, act: Act
) -> None:
    with sqlite_book.writing(act) as writing:
        client = writing.add("client", name="Brook House")
        site = writing.add("site", client_id=client, name="Garden")
        key = writing.add("pond", site_id=site, name="new")
    change_rule(sqlite_book, act, "reading_too_old", params={}, why="a test", enabled=False)
    change_rule(sqlite_book, act, "test_overdue", params={}, why="a test", enabled=False)
    assert watch_pond(sqlite_book, key, act.at).concerns == ()
    app = make_app()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shows(pilot, "1 calm not shown")
        app.push_screen(RestScreen(key))
        await shows(pilot, "nothing to put to rest")
        await pilot.press("f2", "enter", "escape")
        assert isinstance(app.screen, MorningScreen)
