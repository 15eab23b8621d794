"""A desk of plain values, and an application around one of its screens."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import UUID

from courses_on_screen import kept, two_agents
from one_pond import add_one_pond
from screen_text import a_moment, screen_text
from small_app import SmallApp
from sqlalchemy import select
from textual.screen import Screen

from store.book.act import Act
from store.book.book import Book
from store.book.clients import sites
from store.book.tables import table
from store.book.visits import close_visit, plan_visit
from store.diary.desk.due import Attempt, Booked, DeskList, DueLine, Promised
from store.diary.kept.promised.attempts import log_attempt
from store.diary.kept.promised.follow_ups import promise
from tui.messages import BookChanged

TODAY = date(2026, 3, 14)

BUSY = ("desk", "desk-beside", "desk-seek", "desk-log", "desk-act", "desk-open", "client-page", "client-open",
        "when-save")  # fmt: skip


class DeskApp(SmallApp):
    """Opens clients as the application does, and tells every screen that the book grew."""

    opened: UUID | None = None

    def open_client(self, client: UUID) -> None:
        from tui.screens.desk.client import ClientScreen

        self.opened = client
        self.push_screen(ClientScreen(client))

    def changed(self) -> None:
        super().changed()
        for screen in self.screen_stack:
            screen.post_message(BookChanged())


async def shown(pilot: Any) -> None:
    """Everything that was asked of the store has been shown."""
    for _ in range(200):
        await a_moment(0.02)
        if not any(one.is_running and one.group in BUSY for one in pilot.app.workers):
            break
    await pilot.pause()


async def until(pilot: Any, kind: type[Screen[Any]]) -> Any:
    """The topmost screen, once it is one of that kind."""
    for _ in range(200):
        if isinstance(pilot.app.screen, kind):
            await a_moment(0.05)
            return pilot.app.screen
        await a_moment(0.02)
    raise AssertionError(f"{pilot.app.screen} is not {kind}: {screen_text(pilot.app)}")


async def until_said(pilot: Any, *words: str) -> str:
    """The text of the screen, once all of these words stand on it."""
    for _ in range(200):
        text = screen_text(pilot.app)
        if all(word in text for word in words):
            return text
        await a_moment(0.02)
    raise AssertionError(f"not all of {words}: {screen_text(pilot.app)}")


def due_line(
    number: int, client: str, says: str, due_on: date, today: date, *, pond: str = "",
    kind: str = "visit", needs: Any = "visit", last_on: date | None = None, phone: str = "",
    because: str = "", by: str = "", thing: str = "test", weighed: str = "",
    tried: Iterable[Attempt] = (), booked: Booked | None = None, ring_on: date | None = None,
    ring_at: time | None = None, origin: Any = "course",
) -> DueLine:  # fmt: skip
    key, last = UUID(int=number), last_on or due_on
    attempts = tuple(tried)
    about = f"{thing}:{key.hex}" + (f":{due_on.isoformat()}" if thing == "hand" else "")
    promised = Promised(
        about, kind, UUID(int=number % 1000), UUID(int=5000 + number % 1000),
        UUID(int=7000 + number) if pond else None, says, because, origin, by,
        today - timedelta(days=9), due_on, due_on, last, needs,
    )  # fmt: skip
    return DueLine(
        promised, client, "garden", pond, "Nether Wick", phone, "", (today - last).days, 1.0,
        weighed, len(attempts), attempts[-1] if attempts else None, ring_on, ring_at, booked,
    )  # fmt: skip


def tried(number: int, at: datetime, outcome: Any = "no answer", note: str = "") -> Attempt:
    return Attempt(UUID(int=number), UUID(int=1), None, "", at, "AV", outcome, None, None, note)


def a_desk(now: datetime, today: date) -> DeskList:
    """Something of every kind that the desk tells apart, worst first."""
    day = timedelta(days=1)
    visit = UUID(int=9)
    lines = (
        due_line(
            1, "Alder Row", "formalin 2 of 3", today - 4 * day, today, pond="lower pond",
            kind="dose", last_on=today - 3 * day, phone="01632 960 123", thing="dose",
            because="formalin, then trichlorfon against costia, then flukes",
            weighed="dose of a course: stake 8 × (1 + 3 d late ÷ 1 d) = 32",
            tried=(tried(31, now - 3 * day), tried(32, now - timedelta(hours=5))),
        ),
        due_line(
            2, "Harbour Hotel", "ring back", today, today, kind="ring_back", needs="call",
            phone="+44 1632 960456", thing="ring", ring_on=today, ring_at=time(14, 30),
            tried=(tried(33, now - 2 * day, "ring back", "asked for the afternoon"),),
            because="asked to be rung back on 14 Mar 2026 at 14:30", by="Ada Vet", origin="by hand",
            weighed="ring back: stake 4, today is the last day of its window = 4",
        ),
        due_line(
            3, "Mossgate Nursery and Garden Centre", "un-ionised NH3 0.11 mg/L", today, today,
            pond="vat 3", kind="concern", needs="call", phone="01632 960789", thing="concern",
            origin="alert rule", because="un-ionised ammonia over its limit, no visit is planned",
        ),
        due_line(
            4, "Beech House", "look again at the gills of the sturgeon", today - day, today,
            pond="pool", kind="look_again", last_on=today + 2 * day, phone="", thing="hand",
            by="Ada Vet", origin="by hand",
        ),
        due_line(
            5, "Brook House", "gill flukes without an answer", today + 2 * day, today,
            pond="upper pond", kind="finding", needs="vet", phone="01632 960 222", thing="finding",
            origin="examination", tried=(tried(34, now - 41 * day, "left word"),),
        ),
        due_line(
            6, "Temple Green Primary School", "water test", today + 5 * day, today, pond="pond",
            kind="water_test", needs="call", phone="01632 960 333", origin="test plan",
            tried=(tried(35, now - 6 * day, "reached"),),
        ),
        due_line(
            7, "Sallow Court", "control", today + day, today, pond="long pond", kind="control",
            last_on=today + 4 * day, phone="01632 960 444", thing="control",
            booked=Booked(visit, today + 2 * day, time(10, 0), "Ada Vet", True),
        ),
    )  # fmt: skip
    return DeskList(now, today, lines, 1, 3, 2, 1)


def owner_of(book: Book, pond: UUID) -> UUID:
    places, ponds = table("site"), table("pond")
    query = (
        select(places.c.client_id)
        .join(ponds, ponds.c.site_id == places.c.id)
        .where(ponds.c.id == pond)
    )
    with book.reading() as connection:
        found = connection.execute(query).scalar_one()
    assert isinstance(found, UUID)
    return found


def usual_client(book: Book, act: Act) -> UUID:
    """A pond under treatment with a dose late, a second pond, a note, attempts, a visit ahead."""
    pond = add_one_pond(book, act)
    owner = owner_of(book, pond)
    (place,) = sites(book, owner)
    then = Act(act.by, act.at - timedelta(days=11))
    with book.writing(then) as writing:
        writing.change(
            "client", owner, 1, phone="01632 960 123", phone2="07700 900 456",
            email="rowan@example.com", notes="ring after 17:00",
        )  # fmt: skip
        writing.change(
            "site", place.id, 1, address="4 Mill Lane", postcode="ZZ9 9ZZ",
            access_hours="Mon-Fri 9-17", access_notes="side gate, the dog is friendly",
        )  # fmt: skip
        second = writing.add("pond", site_id=place.id, name="quarantine", use="not asked")
        visit = plan_visit(
            writing, pond, TODAY - timedelta(days=11), at_time=time(10, 0), staff_id=act.by,
            kind="first visit",
        )  # fmt: skip
        close_visit(writing, visit, 1, "done", note="Fish flash in the mornings, gills pale.")
        plan_visit(writing, second, TODAY + timedelta(days=20), kind="round")
        log_attempt(writing, owner, "left word", pond_id=pond)
    kept(book, act, pond, two_agents(act, book, days_ago=2), days_ago=2)
    with book.writing(Act(act.by, act.at - timedelta(days=2))) as writing:
        promise(
            writing, client_id=owner, kind="ring", says="ring about the quote for a filter",
            first_on=TODAY,
        )  # fmt: skip
        promise(
            writing, client_id=owner, kind="seasonal", says="spring check", pond_id=second,
            first_on=TODAY + timedelta(days=200), repeats="FREQ=YEARLY",
        )  # fmt: skip
        log_attempt(writing, owner, "no answer")
        log_attempt(
            writing, owner, "ring back", ring_on=TODAY, ring_at=time(17, 30), note="at work"
        )  # fmt: skip
    return owner


Made = Callable[..., DeskApp]
