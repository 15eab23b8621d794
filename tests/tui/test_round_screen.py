"""The round of a day: what stands there while it is planned, its lines, its keys."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from diary_on_screen import MONDAY, TODAY, TUESDAY, Practice, add_practice, on, words
from paper import HARMFUL, HOSTILE
from round_on_screen import Planner, RoundApp, quiet, replace_day, round_app, shows
from rounds.day_plans import driver, errand, nine_stops, plan_of, two_drivers
from screen_text import looks_as, screen_text

from store.book.act import Act
from store.book.book import Book
from store.diary.kept.visits.bookings import book_visit, wish_of
from store.rounds.day.values import DayPlan, DayWish
from tui.screens.diary.diary import DiaryScreen
from tui.screens.parts.dialogs import Ask, Choose, Tell
from tui.screens.rounds.kit import KitScreen
from tui.screens.rounds.map import MapScreen
from tui.screens.rounds.round import RoundScreen
from tui.screens.rounds.round_lines import RoundKey
from tui.screens.rounds.round_out import RoundOutScreen
from tui.screens.rounds.round_work import first_day
from tui.screens.rounds.sheet import SheetScreen
from tui.screens.rounds.week import WeekScreen
from tui.widgets.grid import LineGrid

DAY = nine_stops().asked.wish.day


@pytest.fixture
def practice(sqlite_book: Book, act: Act) -> Practice:
    return add_practice(sqlite_book, act)


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (60, 20)])
async def test_a_round_shows_times_standings_and_what_is_left_out(
    sqlite_book: Book, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    size: tuple[int, int],
) -> None:  # fmt: skip
    Planner(monkeypatch, nine_stops())
    app = round_app(sqlite_book, act, tmp_path, lambda: RoundScreen(DAY))
    async with app.run_test(size=size, notifications=True) as pilot:
        await quiet(pilot)
        await pilot.press("down", "down")
        await quiet(pilot)
        await looks_as(pilot, f"round_{size[0]}")


async def _open(app: RoundApp, pilot: Any) -> RoundScreen:
    await quiet(pilot)
    screen = app.screen
    assert isinstance(screen, RoundScreen), screen
    return screen


def _held(plan: DayPlan, key: UUID) -> DayPlan:
    wish = replace(plan.asked.wish, held=frozenset({key}))
    return replace(plan, asked=replace(plan.asked, wish=wish))


def _line(app: RoundApp, part: str) -> str:
    return next(one for one in screen_text(app).splitlines() if part in one)


def _to(screen: RoundScreen, key: UUID) -> None:
    assert screen.query_one(LineGrid).move_to(RoundKey("errand", key))


async def test_while_it_is_planned_the_booked_visits_stand_there_and_esc_keeps_the_best(
    sqlite_book: Book, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    practice: Practice,
) -> None:  # fmt: skip
    planner = Planner(monkeypatch, replace_day(two_drivers(), MONDAY))
    planner.waits = True
    app = round_app(sqlite_book, act, tmp_path, lambda: RoundScreen(MONDAY))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shows(pilot, "best so far")
        text = screen_text(app)
        assert "planning, 0 s; best so far 127 min of driving, esc keeps it" in text
        assert "09:00 10:00 Alder Row, lower pond examination" in words(app)
        assert "sets out" not in text
        await pilot.press("escape")
        screen = await _open(app, pilot)
        assert "sets out" in screen_text(app)
        assert screen.plan is planner.plans[MONDAY]
        assert planner.ended.is_set()


async def test_leaving_the_screen_ends_the_search(
    sqlite_book: Book, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    planner = Planner(monkeypatch, nine_stops())
    planner.waits = True
    app = round_app(sqlite_book, act, tmp_path, lambda: RoundScreen(DAY))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shows(pilot, "best so far")
    assert planner.ended.wait(10)


async def test_a_book_that_changed_is_said_and_the_plan_stays(
    sqlite_book: Book, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    practice: Practice,
) -> None:  # fmt: skip
    planner = Planner(monkeypatch, replace_day(nine_stops(), MONDAY))
    app = round_app(sqlite_book, act, tmp_path, lambda: RoundScreen(MONDAY))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await _open(app, pilot)
        before = screen.plan
        screen.on_book_changed()
        await quiet(pilot)
        assert "has changed" not in screen_text(app)
        wish = wish_of(sqlite_book, pond_id=practice.bound, kind="examination")
        with sqlite_book.writing(act) as writing:
            book_visit(writing, wish, MONDAY, time(11), practice.ada)
        screen.on_book_changed()
        await quiet(pilot)
        assert "The diary has changed since: f5 plans again" in screen_text(app)
        assert screen.plan is before
        assert len(planner.wishes) == 1
        await pilot.press("f5")
        await quiet(pilot)
        assert "has changed" not in screen_text(app)
        with sqlite_book.writing(act) as writing:
            writing.change("pond", practice.far, 1, depth_m=1.4)
        screen.on_book_changed()
        await quiet(pilot)
        assert "The book has changed since: f5 plans again" in screen_text(app)
        assert len(planner.wishes) == 2


async def test_keys_change_what_is_wished_for_and_another_day_forgets_it(
    sqlite_book: Book, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    planner = Planner(monkeypatch, nine_stops())
    app = round_app(sqlite_book, act, tmp_path, lambda: RoundScreen(DAY))
    async with app.run_test(size=(120, 40), notifications=True) as pilot:
        screen = await _open(app, pilot)
        await pilot.press("g")
        await quiet(pilot)
        assert planner.wishes[-1] == DayWish(DAY, agreed="free")
        assert "agreed hours free (g): nobody to ring; as agreed 9 visits, 158 min" in words(app)
        await pilot.press("g", "a")
        await quiet(pilot)
        assert planner.wishes[-1] == DayWish(DAY, add_due=0)
        await pilot.press("a")
        await quiet(pilot)
        assert planner.wishes[-1] == DayWish(DAY)
        due = next(one for one in nine_stops().asked.errands if not one.booked)
        _to(screen, due.key)
        await pilot.press("i")
        await quiet(pilot)
        assert planner.wishes[-1].held == {due.key}
        planner.plans[DAY] = _held(nine_stops(), due.key)
        await pilot.press("f5")
        await quiet(pilot)
        assert "held in" in _line(app, "Osier")
        assert "Held in: i lets it go, d leaves it out." in words(app)
        await pilot.press("d")
        await quiet(pilot)
        assert planner.wishes[-1] == DayWish(DAY, left=frozenset({due.key}))
        await pilot.press("right")
        await quiet(pilot)
        assert planner.wishes[-1] == DayWish(DAY + timedelta(days=1))
        assert "Nothing is booked on this day" in words(app)
        await pilot.press("left")
        await quiet(pilot)
        assert planner.wishes[-1] == DayWish(DAY)
        await pilot.press("t")
        await quiet(pilot)
        assert planner.wishes[-1] == DayWish(TODAY)


async def test_a_key_that_can_do_nothing_here_says_so(
    sqlite_book: Book, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    planner = Planner(monkeypatch, nine_stops())
    app = round_app(sqlite_book, act, tmp_path, lambda: RoundScreen(DAY))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await _open(app, pilot)
        for nth, key in enumerate("idp", start=1):  # the cursor stands on who drives
            await pilot.press(key)
            await quiet(pilot)
            assert words(app).count("This line is no visit: move to one.") == nth
        assert len(planner.wishes) == 1
        planner.plans.clear()
        planner.plans[TODAY] = nine_stops()
        await pilot.press("right")
        await quiet(pilot)
        await pilot.press("m")
        await quiet(pilot)
        assert "There is no round on this day." in words(app)


async def test_what_is_booked_is_not_left_out(
    sqlite_book: Book, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    planner = Planner(monkeypatch, nine_stops())
    app = round_app(sqlite_book, act, tmp_path, lambda: RoundScreen(DAY))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await _open(app, pilot)
        _to(screen, nine_stops().asked.errands[1].key)
        await pilot.press("d")
        await quiet(pilot)
        assert "It is booked and stays booked" in words(app)
        assert len(planner.wishes) == 1


async def test_what_was_left_out_by_hand_stands_below_and_comes_in_again(
    sqlite_book: Book, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = nine_stops()
    planner = Planner(monkeypatch, plan)
    due = plan.asked.errands[-1]
    app = round_app(sqlite_book, act, tmp_path, lambda: RoundScreen(DAY))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await _open(app, pilot)
        _to(screen, due.key)
        asked = replace(plan.asked, errands=plan.asked.errands[:-1])
        planner.plans[DAY] = replace(plan, asked=asked, left_out=())
        await pilot.press("d")
        await quiet(pilot)
        assert "Left out by hand" in screen_text(app)
        _to(screen, due.key)
        await quiet(pilot)
        assert "Left out by you: Willow Lodge, pond" in words(app)
        assert "Next: d lets it in again, i holds it i" in words(app)
        assert "d leaves it out" not in words(app)
        await pilot.press("d")
        await quiet(pilot)
        assert planner.wishes[-1] == DayWish(DAY)
        assert "Left out by hand" not in screen_text(app)


async def test_the_order_rule_is_given_up_only_after_a_question(
    sqlite_book: Book, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = nine_stops()
    says = "Ada Vet is at Alder Row (clean) after Reed Hall (suspect): against the rule."
    planner = Planner(monkeypatch, plan)
    app = round_app(sqlite_book, act, tmp_path, lambda: RoundScreen(DAY))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        await pilot.press("o")
        await on(pilot, Ask)
        assert "a sick pond may come before a clean one" in words(app)
        await pilot.press("escape")
        await on(pilot, RoundScreen)
        assert len(planner.wishes) == 1
        planner.plans[DAY] = replace(plan, broken=(says,))
        await pilot.press("o")
        await on(pilot, Ask)
        await pilot.press("right", "enter")
        await on(pilot, RoundScreen)
        assert planner.wishes[-1] == DayWish(DAY, ordered=False)
        assert "order rule off (o)" in words(app)
        assert says[:60] in screen_text(app)  # in sight, above the rounds
        planner.plans[DAY] = plan
        await pilot.press("o")  # kept again without a question
        await on(pilot, RoundScreen)
        assert planner.wishes[-1] == DayWish(DAY)


async def test_the_strip_tells_of_every_line_what_it_rests_on(
    sqlite_book: Book, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = nine_stops()
    Planner(monkeypatch, plan)
    app = round_app(sqlite_book, act, tmp_path, lambda: RoundScreen(DAY))
    async with app.run_test(size=(120, 40), notifications=True) as pilot:
        screen = await _open(app, pilot)
        grid = screen.query_one(LineGrid)
        assert grid.move_to(RoundKey("driver", plan.rounds[0].driver.staff_id))
        await quiet(pilot)
        text = words(app)
        assert "Ada Vet: sets out 08:00 from the practice, back there 17:18" in text
        assert "158 min of driving" in text
        assert plan.proof in text
        _to(screen, plan.asked.errands[4].key)  # due, and where it lies is not known
        await quiet(pilot)
        text = words(app)
        assert "20 min?" in text
        assert "without coordinates; 20 min stand in" in text
        assert "Worth 25 min. Not booked: i holds it in, d leaves it out." in text
        _to(screen, plan.asked.errands[8].key)
        await quiet(pilot)
        assert "Disinfect for 45 min, leave 16:57." in words(app)
        assert "Is a suspect: alone on its own day is better." in words(app)
        _to(screen, plan.asked.errands[9].key)
        await quiet(pilot)
        assert "Left out: Willow Lodge, pond" in words(app)
        assert "Does not fit." in words(app)
        await pilot.press("e")
        await on(pilot, Tell)
        assert "Does not fit." in words(app)
        await pilot.press("escape")
        await on(pilot, RoundScreen)
        await pilot.press("r")
        await on(pilot, Tell)
        assert "Reed Hall, moat is a suspect: alone" in words(app)


async def test_a_visit_that_moves_says_whom_to_ring(
    sqlite_book: Book, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    moved = plan_of((driver(), [
        errand(1, "Alder Row, lower pond", (53.05, -1.66), hour=time(8, 40)),
        errand(2, "Teal Mill, race", (53.09, -1.58), hour=time(9, 5), fixed=True),
    ]))  # fmt: skip
    Planner(monkeypatch, moved)
    app = round_app(sqlite_book, act, tmp_path, lambda: RoundScreen(DAY))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        await pilot.press("down")
        await quiet(pilot)
        text = words(app)
        assert "ring: 08:40" in text
        assert "26 min earlier than the agreed 08:40: ring 01632 960100." in text
        assert "fixed 09:05" in text


async def test_names_are_shown_as_they_stand(
    sqlite_book: Book, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    order = [
        replace(errand(nth, "Brook House", (53.05, -1.66), minutes=10), name=name, kind=name)
        for nth, name in enumerate(HOSTILE, start=1)
    ]
    Planner(monkeypatch, plan_of((driver(who=HOSTILE[1]), order), remarks=HOSTILE))
    app = round_app(sqlite_book, act, tmp_path, lambda: RoundScreen(DAY))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        assert HOSTILE[1] in screen_text(app)
        for _ in HOSTILE:
            await pilot.press("down")
        await quiet(pilot)
        text = screen_text(app)
        assert "[/nope]" in text
        assert not (HARMFUL - {"\n"}) & set(text)
        await pilot.press("r")
        await on(pilot, Tell)
        assert not (HARMFUL - {"\n"}) & set(screen_text(app))


async def test_enter_opens_the_pond_of_a_stop(
    sqlite_book: Book, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = nine_stops()
    Planner(monkeypatch, plan)
    app = round_app(sqlite_book, act, tmp_path, lambda: RoundScreen(DAY))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        await pilot.press("down", "enter")
        await quiet(pilot)
        assert app.opened == [plan.asked.errands[0].pond_ids[0]]


async def test_a_day_without_a_vet_says_so_with_what_is_booked(
    sqlite_book: Book, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    practice: Practice,
) -> None:  # fmt: skip
    plan = replace_day(nine_stops(), MONDAY)
    planner = Planner(monkeypatch, plan)
    planner.plans[MONDAY] = replace(plan, asked=replace(plan.asked, drivers=()))
    app = round_app(sqlite_book, act, tmp_path, lambda: RoundScreen(MONDAY))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        assert "Nobody works on this day, so there is no round." in words(app)
        assert "Teal Mill, race" in screen_text(app)
        await pilot.press("y")
        await quiet(pilot)
        assert "There is no round on this day." in words(app)


async def test_one_vet_is_chosen_and_in_the_evening_the_next_working_day_comes_first(
    sqlite_book: Book, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    practice: Practice,
) -> None:  # fmt: skip
    planner = Planner(monkeypatch, replace_day(two_drivers(), MONDAY))
    app = round_app(sqlite_book, act, tmp_path, RoundScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)  # on a Saturday nobody works until Monday
        assert "Mon 16 Mar 2026" in screen_text(app)
        assert "Ada Vet: sets out" in screen_text(app)
        assert "Bram Oystercatch: sets out" in screen_text(app)
        await pilot.press("v")
        await on(pilot, Choose)
        await pilot.press("3")
        await on(pilot, RoundScreen)
        assert planner.wishes[-1] == DayWish(MONDAY, staff=(practice.bram,))
        assert "Round of Bram Oystercatch" in screen_text(app)


async def test_the_diary_opens_the_round_of_its_day(
    sqlite_book: Book, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    practice: Practice,
) -> None:  # fmt: skip
    Planner(monkeypatch, replace_day(two_drivers(), MONDAY))
    app = round_app(sqlite_book, act, tmp_path, lambda: DiaryScreen(MONDAY))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        await pilot.press("r")
        await on(pilot, RoundScreen)
        assert "Round: Mon 16 Mar 2026" in screen_text(app)
        await pilot.press("escape")
        await on(pilot, DiaryScreen)


async def test_a_day_of_the_book_is_planned_and_every_key_opens_its_page(
    sqlite_book: Book, act: Act, tmp_path: Path, practice: Practice
) -> None:
    app = round_app(sqlite_book, act, tmp_path, lambda: RoundScreen(effort=0.2))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await quiet(pilot)
        text = words(app)
        assert "Mon 16 Mar 2026" in text
        assert "Ada Vet: sets out" in text
        assert "2 visits" in text
        pages: tuple[tuple[str, type[Any]], ...] = (
            ("k", KitScreen), ("s", SheetScreen), ("m", MapScreen), ("x", RoundOutScreen),
            ("w", WeekScreen),
        )  # fmt: skip
        for key, page in pages:
            await pilot.press(key)
            await on(pilot, page)
            await pilot.press("escape")
            await on(pilot, RoundScreen)


@pytest.mark.parametrize(
    ("at", "day"),
    [
        (datetime(2026, 3, 16, 12, 0, tzinfo=UTC), MONDAY),  # both still work
        (datetime(2026, 3, 16, 16, 30, tzinfo=UTC), MONDAY),  # Bram works until five
        (datetime(2026, 3, 16, 17, 1, tzinfo=UTC), TUESDAY),
        (datetime(2026, 3, 20, 19, 0, tzinfo=UTC), date(2026, 3, 23)),  # over the weekend
    ],
)
def test_once_the_work_is_over_the_next_working_day_comes_first(
    sqlite_book: Book, practice: Practice, at: datetime, day: date
) -> None:
    assert first_day(sqlite_book, at) == day
