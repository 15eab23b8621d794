"""A day on the road through the keys: planned, drawn, printed, delayed, planned anew, exported."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from uuid import UUID
from xml.etree import ElementTree

import practice_day
import pytest
from called import NOW
from diary_on_screen import ASKS
from ical.calendar_stream import IcsCalendarStream
from practice_day import Day

from store.book.act import Act
from store.book.opening import open_book
from store.book.people import person_named, staff
from store.book.ponds import card
from store.diary.kept.due.desk import desk_list
from store.diary.kept.visits.bookings import propose
from store.diary.kept.visits.diary import visits_between
from store.diary.kept.visits.wishes import wish_for
from store.exchange.demo.round import VISITS, round_day
from store.exchange.plain.whose import PondNames
from store.rounds.day.values import DayPlan
from store.travel.drive_times import set_drive_time
from store.travel.ways import site_end
from tui.screens.desk.client import ClientScreen
from tui.screens.desk.desk import DeskScreen
from tui.screens.diary.booking import BookingScreen
from tui.screens.rounds.late import LateScreen
from tui.screens.rounds.late_form import LateForm
from tui.screens.rounds.map import MapScreen
from tui.screens.rounds.round import RoundScreen
from tui.screens.rounds.round_lines import DayGrid, RoundKey
from tui.screens.rounds.round_out import RoundOutScreen
from tui.screens.rounds.sheet import SheetScreen
from tui.widgets.round_map import RoundMapView

LATE_MIN, DONE = 40, 2
RANK = ("clean", "doubtful", "infected", "suspect")


@pytest.fixture(autouse=True)
def waiting(monkeypatch: pytest.MonkeyPatch) -> None:
    """Workers of the round, too, may wait for a person's answer."""
    asks = ASKS | {"round-ask", "late-ask", "agree-ask", "desk-act", "client-open"}
    monkeypatch.setattr(practice_day, "WAITS", practice_day.WAITS | asks)


@pytest.fixture
def day(own: Path, tmp_path: Path) -> Iterator[Day]:
    with open_book(own, now=NOW) as book:
        yield Day(book, tmp_path / "drafts.json")


async def go_to_the_round(day: Day) -> tuple[RoundScreen, DayPlan]:
    """Place 7, and by the arrow to the day on which both vets work."""
    await day.until(lambda: day.app.book_is_open)
    await day.press("7")
    screen = await day.on(RoundScreen)
    wanted = round_day(day.book, NOW)
    today = day.book.today(NOW)
    assert screen.wish is not None
    assert screen.wish.day == today
    await day.press(*["right"] * (wanted - today).days)
    await day.until(lambda: screen.plan is not None and screen.plan.asked.wish.day == wanted)
    await day.quiet()
    assert screen.plan is not None
    return screen, screen.plan


def keeps_the_order(plan: DayPlan) -> None:
    """Clean before doubtful before infected in every round, a suspect last."""
    for one in plan.rounds:
        levels = [RANK.index(stop.errand.standing) for stop in one.stops]
        assert levels == sorted(levels)
        assert levels.count(3) <= 1
    assert plan.broken == ()


async def write(day: Day, shape: str, path: Path) -> bytes:
    """The round as a file, by the keys of the round."""
    await day.press("x")
    await day.on(RoundOutScreen)
    await day.fill({"shape": shape, "file": str(path), "staff_id": "everybody"})
    await day.press("f2")
    await day.on(RoundScreen)
    return path.read_bytes()


async def test_nine_visits_are_planned_drawn_printed_delayed_and_exported(
    day: Day, tmp_path: Path
) -> None:
    vet = person_named(day.book, "Maren Birkholt")
    assert vet is not None
    async with day.app.run_test(size=(120, 40), notifications=True) as day.pilot:
        screen, plan = await go_to_the_round(day)
        booked = {one.id for one in visits_between(day.book, plan.asked.wish.day,
                                                   plan.asked.wish.day)}  # fmt: skip
        stops = [stop for one in plan.rounds for stop in one.stops]
        assert len(booked) == VISITS
        assert {stop.errand.key for stop in stops if stop.errand.booked} == booked
        standings = Counter(stop.errand.standing for stop in stops if stop.errand.booked)
        assert standings["infected"] >= 2
        assert standings["suspect"] == 1
        keeps_the_order(plan)
        assert plan.found.proven
        assert plan.price is not None
        text = day.text
        assert f"{plan.found.drive_min} min of driving" in text
        for one in plan.rounds:
            assert one.driver.who in text

        await drawn(day, plan)
        assert day.app.screen.query_one(DayGrid).move_to(RoundKey("errand", stops[0].errand.key))
        await printed(day, vet.id)
        await delayed(day, screen, plan, vet.id)
        await exported(day, plan, tmp_path)
        assert {one.id for one in visits_between(day.book, plan.asked.wish.day,
                                                 plan.asked.wish.day)} == booked  # fmt: skip


async def drawn(day: Day, plan: DayPlan) -> None:
    """Every stop stands on the map."""
    await day.press("m")
    drawing = await day.on(MapScreen)
    view = drawing.query_one(RoundMapView)
    await day.until(lambda: view.laid is not None)
    assert drawing.staff_id is None or len(drawing.plan.rounds) > 1
    legend = day.text
    for one in plan.rounds:
        if drawing.staff_id in (None, one.driver.staff_id):
            named = [stop.errand.name.partition(", ") for stop in one.stops]
            assert all(client[:4] in legend and pond[:4] in legend for client, _, pond in named)
    await day.press("escape")
    await day.on(RoundScreen)


async def printed(day: Day, vet: UUID) -> None:
    """The day's sheet, stop by stop, and what stands on the last one."""
    await day.press("s")
    sheet = await day.on(SheetScreen)
    assert sheet.staff_id == vet
    for _ in range(20):
        if "Idris Fallowmere" in day.text and "suspect" in day.text:
            break
        await day.press("right")
        await day.quiet()
    assert "01632 960193" in day.text
    assert sheet.here is not None
    assert "urgent call 140" in sheet.here.prices
    await day.press("escape")
    await day.on(RoundScreen)


async def delayed(day: Day, screen: RoundScreen, plan: DayPlan, vet: UUID) -> None:
    """Forty minutes late behind the second stop: who is rung, and another order from there."""
    one = plan.round_of(vet)
    assert one is not None
    await day.press("l")
    await day.until(lambda: isinstance(day.app.screen, LateForm))
    await day.quiet()
    await day.fill({"left": str(DONE), "late": str(LATE_MIN)})
    await day.press("f2")
    page = await day.on(LateScreen)
    await day.until(lambda: page.late is not None)
    late = page.late
    assert late is not None
    assert (late.done, late.late_min) == (DONE, LATE_MIN)
    left = [stop.errand.key for stop in one.stops[DONE:]]
    assert [stop.errand.key for stop in late.kept.stops] == left
    assert late.kept.stops[0].begins == one.stops[DONE].begins + LATE_MIN
    assert late.kept.to_ring
    assert all(stop.errand.phone for stop in late.kept.to_ring)
    assert "ring" in day.text
    # The day would be too long by so much, so that another order is looked for.
    assert late.kept.too_late_min
    assert late.other is not None
    assert not late.other.too_late_min
    anew = [stop.errand.key for stop in late.other.stops]
    assert set(anew) | {errand.key for errand, _, _ in late.other.out} == set(left)
    levels = [stop.errand.level for stop in late.other.stops]
    assert levels == sorted(levels)
    await day.press("escape")
    await day.on(RoundScreen)
    assert screen.plan is plan, "a delay changes nothing of the plan"


async def exported(day: Day, plan: DayPlan, folder: Path) -> None:
    """Each kind of file, read back by what knows the kind."""
    stops = [stop for one in plan.rounds for stop in one.stops]
    paper = (await write(day, "text", folder / "round.txt")).decode()
    told = " ".join(paper.split())
    assert all(stop.errand.name.partition(",")[0] in told for stop in stops)
    assert (await write(day, "pdf A4", folder / "round.pdf")).startswith(b"%PDF")
    places = json.loads(await write(day, "geojson", folder / "round.geojson"))["features"]
    assert sum(one["geometry"]["type"] == "Point" for one in places) >= len(stops)
    tree = ElementTree.fromstring(await write(day, "gpx", folder / "round.gpx"))
    assert len([one for one in tree.iter() if one.tag.endswith("rtept")]) >= len(stops)
    text = (await write(day, "calendar", folder / "round.ics")).decode()
    (calendar,) = IcsCalendarStream.from_ics(text).calendars
    assert len(calendar.events) >= len(stops)


async def to_the_slots(day: Day, text: str, says: str) -> BookingScreen:
    """From the desk to the slots for what was promised to a client."""
    await day.press("5")
    await day.on(DeskScreen)
    await day.press("slash", *text)
    await day.quiet()
    await day.press("enter")
    client = await day.on(ClientScreen)
    for _ in range(20):
        line = client._line
        if line is not None and line.promised.says == says:
            break
        await day.press("down")
    await day.press("b")
    booking = await day.on(BookingScreen)
    await day.until(lambda: len(booking.slots) == 3)
    return booking


async def test_the_desk_proposes_by_the_driving_that_a_visit_adds(day: Day) -> None:
    """The orchard pond of that day is near; a way of an hour between them would change that."""
    near, book = PondNames(day.book).one("HAR-2"), day.book
    school = PondNames(day.book).one("NET-1")
    wanted = round_day(book, NOW)
    async with day.app.run_test(size=(120, 40), notifications=True) as day.pilot:
        await day.until(lambda: day.app.book_is_open)
        booking = await to_the_slots(
            day, "nethervane", "show the teacher what may be netted, and when"
        )
        best = booking.slots[0]
        assert (best.on_day, best.who) == (wanted, "Maren Birkholt")
        assert best.added_min is not None
        assert all(best.added_min <= (one.added_min or 0) for one in booking.slots[1:])
        assert any(f"adds {best.added_min} min" in said for said in best.reasons)
        await day.shows(f"adds {best.added_min} min")
        asked = wish_for(
            book, [line.promised for line in desk_list(book, NOW).lines
                   if line.promised.says.startswith("show the teacher")]
        )  # fmt: skip
    ends = [site_end(card(book, pond).site.id) for pond in (near, school)]
    with book.writing(Act(staff(book)[0].id, NOW)) as writing:
        set_drive_time(writing, ends[0], ends[1], 60, source="bridge closed")
    again = propose(book, asked, NOW).slots
    slot = next((one for one in again if (one.on_day, one.who) == (wanted, best.who)), None)
    assert slot is None or slot.added_min > best.added_min
