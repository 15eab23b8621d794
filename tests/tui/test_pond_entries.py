"""Events, visits and volumes of one pond, entered by keyboard."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from faults import each_is_told
from one_pond import add_one_pond
from paper import HARMFUL, HOSTILE_PAGES
from screen_text import looks_as, screen_lines, screen_text
from small_app import SmallApp, settled

from store.book.act import Act
from store.book.book import Book
from store.book.events import events
from store.book.ponds import pond as pond_of
from store.book.volumes import estimates
from tui.screens.parts.edit import FormScreen
from tui.screens.ponds.event import EventScreen
from tui.screens.ponds.finding import FindingScreen
from tui.screens.ponds.pond_entry import PondEntry
from tui.screens.ponds.volume import VolumeScreen
from tui.widgets.fields import Form


@pytest.fixture
def pond(sqlite_book: Book, act: Act) -> UUID:
    return add_one_pond(sqlite_book, act)


@pytest.fixture
def app_of(sqlite_book: Book, act: Act, tmp_path: Path) -> Callable[[Callable[[], Any]], SmallApp]:
    return lambda first: SmallApp(sqlite_book, act, first, tmp_path / "drafts.json")


async def test_an_event_is_entered(
    sqlite_book: Book, pond: UUID, app_of: Callable[..., SmallApp]
) -> None:
    app = app_of(lambda: EventScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        form = app.screen.query_one(Form)
        await pilot.press("f2")
        await settled(pilot)
        assert "Please choose what happened" in screen_text(app)
        form.fill({"kind": "new_fish", "on_day": "Mon", "amount": "3", "note": "from a dealer"})
        await settled(pilot)
        assert "Fish came in from elsewhere." in " ".join(screen_text(app).split())
        await looks_as(pilot, "event_80")
        await pilot.press("f2")
        for _ in range(3):
            await settled(pilot)
        said = " ".join(one.message for one in app._notifications)
        # 17.7 °C: the points at 16 °C and 23 °C, of which the longest is 52 days.
        assert "watch for koi herpesvirus until 30 Apr 2026 (17.7 °C now)" in said
        assert "21 to 52 d at 16 °C, 5 to 20 d at 23 °C" in said
    found = next(one for one in events(sqlite_book, pond) if one.kind == "new_fish")
    assert (found.on_day, found.amount, found.unit, found.note) == (
        date(2026, 3, 9), 3.0, "fish", "from a dealer",
    )  # fmt: skip
    assert app.changes == 1


_DOES_NOT_FIT: tuple[tuple[dict[str, str], str, str], ...] = (
    ({"kind": "heavy_rain", "on_day": "2027-01-01"}, "on_day", "lies ahead"),
    ({"kind": "heavy_rain", "on_day": "today", "at_time": "23:59"}, "at_time", "time lies ahead"),
    ({"kind": "heavy_rain", "on_day": "today", "at_time": "noonish"}, "at_time", "no time of day"),
    ({"kind": "heavy_rain", "on_day": "some day"}, "on_day", "is not a day"),
    ({"kind": "hazard_seen"}, "hazard", "needs the name of the hazard"),
    ({"kind": "new_fish", "amount": "a few"}, "amount", "is not a number"),
    ({"kind": "heavy_rain", "until_day": "today"}, "until_day", "has no last day"),
    ({"kind": "medicine_given"}, "note", "what was given"),
    (
        {"kind": "not_for_eating", "note": "label", "on_day": "2026-03-01", "until_day": "28 d"},
        "until_day",
        "the last day as a date",
    ),
    ({"kind": "not_for_eating", "note": "label", "until_day": "2026-03-01"}, "until_day", "before"),
)


async def test_an_event_that_does_not_fit_is_told_and_kept(
    sqlite_book: Book, pond: UUID, app_of: Callable[..., SmallApp]
) -> None:
    before = len(events(sqlite_book, pond))
    app = app_of(lambda: EventScreen(pond))
    async with app.run_test(size=(80, 40), notifications=True) as pilot:
        await settled(pilot)
        await each_is_told(pilot, _DOES_NOT_FIT)
        assert len(events(sqlite_book, pond)) == before
        assert app.drafts.of("event", pond).values["kind"] == "not_for_eating"


async def test_in_a_narrow_window_the_hint_stands_where_one_types(
    pond: UUID, app_of: Callable[..., SmallApp]
) -> None:
    app = app_of(lambda: EventScreen(pond))
    async with app.run_test(size=(60, 20), notifications=True) as pilot:
        await settled(pilot)
        # Opening and closing the list of kinds leaves the field where it was: here.
        await pilot.press("enter", "down", "enter")
        await settled(pilot)
        assert "Fish came in from elsewhere." in screen_text(app)
        assert "today, Mon, 12 Mar" not in screen_text(app)
        await pilot.press("tab")
        await settled(pilot)
        assert "Fish came in from elsewhere." not in screen_text(app)
        await looks_as(pilot, "event_60")


def test_a_form_that_cannot_be_saved_cannot_be_made(pond: UUID) -> None:
    with pytest.raises(TypeError, match="abstract"):
        PondEntry(pond)  # type: ignore[abstract]
    with pytest.raises(TypeError, match="abstract"):
        FormScreen("New", (), "new")  # type: ignore[abstract]


async def test_the_volume_by_salt_is_reckoned_live_and_put_in_force(
    sqlite_book: Book, pond: UUID, app_of: Callable[..., SmallApp]
) -> None:
    app = app_of(lambda: VolumeScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await looks_as(pilot, "volume_80")
        await pilot.press("n")
        await settled(pilot)
        await pilot.press("7")
        await settled(pilot)
        assert isinstance(app.screen, FindingScreen)
        await pilot.press(*"12kg", "enter", *"0.04 %", "enter", *"0.11 %", "enter", "enter", *"24")
        await settled(pilot)
        assert "17,143 L ±17 %, between 15,000 and 20,000 L" in screen_text(app)
        await pilot.press("f2")
        for _ in range(3):
            await settled(pilot)
        assert "Put this finding in force?" in screen_text(app)
        await pilot.press("right", "enter")
        for _ in range(4):
            await settled(pilot)
        assert isinstance(app.screen, VolumeScreen)
        assert "17,143 L" in screen_text(app)
    after = pond_of(sqlite_book, pond)
    assert round(after.volume_l or 0) == 17_143
    newest = next(one for one in estimates(sqlite_book, pond) if one.id == after.volume_estimate_id)
    assert newest.inputs == {"salt": "12kg", "before": "0.04 %", "after": "0.11 %", "hours": "24"}


async def test_another_finding_is_put_in_force_with_a_reason(
    sqlite_book: Book, pond: UUID, app_of: Callable[..., SmallApp]
) -> None:
    app = app_of(lambda: VolumeScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await pilot.press("enter")  # the one in force already
        await settled(pilot)
        await pilot.press("x")
        while not app.told:
            await pilot.pause(0.02)
        await settled(pilot)
        assert "Put another one in force first." in app.told[0].message
        await pilot.press("enter")
        await settled(pilot)
        await pilot.press("down", "enter")
        await settled(pilot)
        await pilot.press(*"measured twice", "enter")
        while not app.changes:
            await pilot.pause(0.02)
    assert pond_of(sqlite_book, pond).volume_l == 23_000.0


@pytest.mark.parametrize("name", HOSTILE_PAGES)
async def test_strange_names_are_shown_literally(
    sqlite_book: Book, act: Act, app_of: Callable[..., SmallApp], name: str
) -> None:
    pond = add_one_pond(sqlite_book, act, client=name[:200], pond=name[:200])
    for make in (EventScreen, VolumeScreen):
        app = app_of(lambda make=make: make(pond))
        async with app.run_test(size=(60, 20), notifications=True) as pilot:
            await settled(pilot)
            assert not any(HARMFUL & set(line) for line in screen_lines(app))
            assert app.told == []
