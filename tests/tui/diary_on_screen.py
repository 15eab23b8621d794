"""A practice with two vets, three ponds and some visits, for the screens of the diary."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, time
from pathlib import Path
from typing import Any
from uuid import UUID

from screen_text import a_moment, screen_text
from small_app import SmallApp
from textual.screen import Screen

from store.book.act import Act
from store.book.book import Book
from store.diary.booking.values import Purpose, Wish
from store.diary.kept.roster.days_off import add_day_off
from store.diary.kept.roster.holiday_region import set_holiday_region
from store.diary.kept.roster.staff_hours import set_hours
from store.diary.kept.visits.bookings import book_visit, wish_of

TODAY = date(2026, 3, 14)
"""A Saturday."""
MONDAY, TUESDAY, WEDNESDAY = date(2026, 3, 16), date(2026, 3, 17), date(2026, 3, 18)
ASKS = {"entry-save", "diary-ask", "visit-act", "away-ask", "pond-open", "course-flow", "edit"}
"""Workers that may wait for a person's answer."""


@dataclass(frozen=True, slots=True)
class Practice:
    """Keys of what was entered."""

    ada: UUID
    bram: UUID
    near: UUID
    far: UUID
    bound: UUID
    first: UUID
    second: UUID


def add_practice(book: Book, act: Act) -> Practice:
    """Ada works from Monday to Friday, Bram three days; Bram is away on Wednesday."""
    with book.writing(act) as writing:
        bram = writing.add("staff", name="Bram Oystercatch", role="vet", initials="BO")
        ponds = [
            _pond(writing, "Alder Row", "lower pond", "Ashbourne", 53.01, -1.73, ""),
            _pond(writing, "Teal Mill", "race", "Hartsop", 53.20, -1.60, ""),
            _pond(writing, "Gorse Cottage", "koi pond", "Ashbourne", 53.02, -1.72, "Mon-Fri 9-12"),
        ]
        set_hours(writing, act.by, "Mon-Fri 8-16", date(2026, 1, 1), break_min=30)
        set_hours(writing, bram, "Mon-Wed 9-17", date(2026, 1, 1), start_place="the boathouse")
        add_day_off(writing, bram, WEDNESDAY, WEDNESDAY, says="leave")
        set_holiday_region(writing, "GB", "ENG")
    visits = []
    for pond, at in ((ponds[0], time(9)), (ponds[1], time(13, 30))):
        wish = wish_of(book, pond_id=pond, kind="examination")
        with book.writing(act) as writing:
            visits.append(book_visit(writing, wish, MONDAY, at, act.by))
    return Practice(act.by, bram, *ponds, *visits)


def _pond(
    writing: Any, client: str, pond: str, town: str, north: float, east: float, access: str
) -> Any:
    owner = writing.add("client", name=client, phone="01632 960555")
    site = writing.add(
        "site", client_id=owner, name="garden", town=town, latitude=north, longitude=east,
        access_hours=access, access_notes="the gate is stiff",
    )  # fmt: skip
    return writing.add("pond", site_id=site, name=pond, use="ornamental")


def wish_with(book: Book, pond: UUID, first: date, last: date) -> Wish:
    """An examination that was promised for days between two."""
    about = f"control:{pond.hex}"
    purpose = Purpose(about, "control", "control after salt", pond, first, first, last)
    return wish_of(book, pond_id=pond, kind="examination", purposes=(purpose,))


def app_with(book: Book, act: Act, tmp_path: Path, first: Callable[[], Screen[Any]]) -> SmallApp:
    """A small application that opens with that screen."""
    return SmallApp(book, act, first, tmp_path / "drafts.json")


async def quiet(pilot: Any) -> None:
    """All that was asked of the store has been shown."""
    still = 0
    for _ in range(600):
        await a_moment(0.01)
        busy = [one for one in pilot.app.workers if one.is_running and one.group not in ASKS]
        still = 0 if busy else still + 1
        if still == 5:
            await pilot.pause()  # what was shown last is laid out
            return
    raise AssertionError(f"{pilot.app.screen} still reads.\n{screen_text(pilot.app)}")


async def on(pilot: Any, kind: type[Any]) -> Any:
    """The topmost screen once it is one of that kind and has been read."""
    for _ in range(600):
        await a_moment(0.01)
        if isinstance(pilot.app.screen, kind):
            await quiet(pilot)
            return pilot.app.screen
    raise AssertionError(f"{pilot.app.screen} is no {kind}.\n{screen_text(pilot.app)}")


def words(app: Any) -> str:
    """What the screen says, whatever lines it is broken into."""
    return " ".join(screen_text(app).split())
