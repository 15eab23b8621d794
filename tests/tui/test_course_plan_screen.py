"""Planning a course by keyboard: what follows at once, stops with reasons, kept and started."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from courses_on_screen import read_through
from one_pond import add_one_pond
from paper import HARMFUL, HOSTILE
from screen_text import a_moment, looks_as, screen_text
from small_app import SmallApp
from sqlalchemy import select
from textual.widgets import Static

from store.book.act import Act
from store.book.book import Book
from store.book.tables import table
from store.courses.kept.formulary import products
from store.courses.kept.records import active_courses, courses_of
from store.courses.kept.shelf import keep_product
from store.courses.planning.course import Product
from tui.screens.courses.course_plan import PlanCourseScreen
from tui.screens.parts.dialogs import AskReason, Choose, Tell
from tui.widgets.fields import Form, FormField

FORMALIN = {
    "hazard": "gill_flukes",
    "reason": "flukes on two of three clips",
    "1.agent": "formalin",
    "1.dose": "20 µL/L",
    "1.doses": "3",
    "1.change": "50 %",
    "1.product": "formalin 37",
    "1.strength": "37 %",
    "1.basis": "product",
    "1.density": "1.09",
}
OVER = {**FORMALIN, "1.dose": "60 µL/L"}


@pytest.fixture
def pond(sqlite_book: Book, act: Act) -> UUID:
    return add_one_pond(sqlite_book, act)


@pytest.fixture
def app_of(sqlite_book: Book, act: Act, tmp_path: Path) -> Callable[..., SmallApp]:
    def made(first: Callable[[], Any], by: Act = act) -> SmallApp:
        return SmallApp(sqlite_book, by, first, tmp_path / "drafts.json")

    return made


async def settled(pilot: Any) -> None:
    """What was asked of the store has been shown; saving may wait for a dialog."""
    quiet = 0
    for _ in range(200):
        await a_moment(0.01)
        busy = [
            one for one in pilot.app.workers if one.group != "entry-save" and not one.is_finished
        ]
        quiet = 0 if busy else quiet + 1
        if quiet == 4:
            return
    raise AssertionError("The store still reckons.")


async def waits_for(pilot: Any, screen: type[Any]) -> None:
    """Saving has come so far that it asks this."""
    for _ in range(200):
        if isinstance(pilot.app.screen, screen):
            await pilot.pause()
            return
        await a_moment(0.02)
    raise AssertionError(f"{screen.__name__} did not come: {pilot.app.screen}")


def follows(app: SmallApp) -> str:
    """All that stands below the form, on one line."""
    said = app.screen.query_one("#plan-said", Static).content
    return " ".join(str(said).split())


def asked_for(app: SmallApp) -> list[str]:
    return [field.field.name for field in app.screen.query(FormField) if field.display]


async def fill(pilot: Any, values: dict[str, str]) -> Form:
    form = pilot.app.screen.query_one(Form)
    form.fill(values)
    await settled(pilot)
    return form


async def test_the_plan_follows_from_what_is_typed(
    pond: UUID, app_of: Callable[..., SmallApp]
) -> None:
    app = app_of(lambda: PlanCourseScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        form = app.screen.query_one(Form)
        assert form.values["hazard"] == "costia"  # seen twelve days ago
        assert "Choose what is given." in follows(app)
        assert "18,400 L ±12 %, 17.7 °C +0.13 a day, pH 8.2" in follows(app)
        await fill(pilot, {"1.agent": "formalin"})
        assert form.values["1.route"] == "pond_bath"
        assert "How much? Type the dose with its unit" in follows(app)
        await fill(pilot, FORMALIN)
        said = follows(app)
        assert "Formalin 20 µL/L, 3 doses every 5 d, bath of the whole pond" in said
        # 20 µL in each of 18,400 L.
        assert "1 Sat 14 Mar 368 mL = 401 g 2 Thu 19 Mar 368 mL = 401 g after 50" in said
        assert "In all 1.1 L" in said
        # 20, then 10 + 20, then 15 + 20.
        assert "In the water at most 35 µL/L, published at most 36.7 µL/L" in said
        assert "Interval: gill flukes at 17.7 °C" in said
        assert "Not covered: eggs may hatch until day" in said
        assert "no stop, 4 to mind; control examination" in said
        assert "it takes 4.36 mg/L of oxygen" in said
        assert "Switch off the UV lamp before the dose." in said
        assert "proposed: every 5 d" in screen_text(app)
        await looks_as(pilot, "course_plan_80")


async def test_beside_the_form_where_there_is_room(
    pond: UUID, app_of: Callable[..., SmallApp]
) -> None:
    app = app_of(lambda: PlanCourseScreen(pond))
    async with app.run_test(size=(120, 40), notifications=True) as pilot:
        await settled(pilot)
        await fill(pilot, OVER)
        assert "dose_high" in {one.code for one in app.screen.proposal.stops}
        await looks_as(pilot, "course_plan_120")


async def test_only_what_matters_is_asked(pond: UUID, app_of: Callable[..., SmallApp]) -> None:
    app = app_of(lambda: PlanCourseScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        assert {"1.interval", "1.basis", "1.volume", "2.agent"}.isdisjoint(asked_for(app))
        await fill(pilot, FORMALIN)
        assert {"1.interval", "1.basis", "1.change_first"} <= set(asked_for(app))
        await fill(pilot, {"1.route": "tank_bath"})
        assert "1.volume" in asked_for(app)
        assert "1.change" not in asked_for(app)
        assert "Give the volume of the tank" in follows(app)
        await fill(pilot, {"1.agent": "potassium_permanganate", "1.route": "pond_bath"})
        assert "1.demand" in asked_for(app)
        await pilot.press("f4")
        await settled(pilot)
        assert {"2.agent", "2.gap"} <= set(asked_for(app))
        assert app.screen.focused is app.screen.query_one(Form)._fields["2.agent"].entry
        await pilot.press("f7")
        await settled(pilot)
        assert "2.agent" not in asked_for(app)


async def test_a_fault_is_told_at_its_field_and_what_was_typed_is_kept(
    sqlite_book: Book, pond: UUID, app_of: Callable[..., SmallApp]
) -> None:
    app = app_of(lambda: PlanCourseScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        form = await fill(pilot, {**FORMALIN, "1.dose": "20"})
        await pilot.press("f2")
        for _ in range(20):
            await pilot.pause(0.02)
        assert "Without a unit it is not a dose of a bath" in " ".join(screen_text(app).split())
        assert app.screen.focused is form._fields["1.dose"].entry
        await pilot.press("f4")
        await fill(pilot, {"2.agent": "trichlorfon"})
        await pilot.press("escape")
        await settled(pilot)
    assert courses_of(sqlite_book, pond) == ()
    again = app_of(lambda: PlanCourseScreen(pond))
    async with again.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        values = again.screen.query_one(Form).values
        assert (values["1.dose"], values["2.agent"]) == ("20", "trichlorfon")
        assert "2.agent" in asked_for(again)
        assert "Taken up again" in screen_text(again)


async def test_each_stop_asks_for_a_reason_before_the_course_begins(
    sqlite_book: Book, pond: UUID, app_of: Callable[..., SmallApp]
) -> None:
    app = app_of(lambda: PlanCourseScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await fill(pilot, {**OVER, "note": "tried on four fish"})
        stops = app.screen.proposal.stops
        assert stops
        await pilot.press("f2")
        await waits_for(pilot, Choose)
        await pilot.press("1")
        await read_through(pilot)
        await waits_for(pilot, AskReason)
        assert f"stop 1 of {len(stops)}" in screen_text(app)
        await pilot.press("enter")
        await pilot.pause()
        assert "Please give a reason" in screen_text(app)
        await pilot.press(*"tested")
        await pilot.press("escape")  # back: nothing begins, what was typed stays
        await settled(pilot)
        assert courses_of(sqlite_book, pond) == ()
        await pilot.press("f2")
        await waits_for(pilot, Choose)
        await pilot.press("1")
        await read_through(pilot)
        for number in range(1, len(stops) + 1):
            for _ in range(200):
                await a_moment(0.02)
                if f"stop {number} of" in screen_text(app):
                    break
            await pilot.press(*" twice", "enter")
        await app.workers.wait_for_complete()
    (found,) = active_courses(sqlite_book)
    assert found.plan.steps[0].doses[0].amount == pytest.approx(1104.0, abs=5)
    reasons = [one.reason for one in found.answered if one.level == "stop"]
    assert len(reasons) == len(stops)
    assert "tested twice" in reasons
    assert {one.reason for one in found.answered if one.level == "mind"} == {"read"}
    assert found.note == "tried on four fish"
    assert app.changes == 1
    assert app.drafts.of("course", pond).values == {}


async def test_two_agents_are_kept_as_planned_without_a_start(
    sqlite_book: Book, pond: UUID, app_of: Callable[..., SmallApp]
) -> None:
    app = app_of(lambda: PlanCourseScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await pilot.press("f4")
        await fill(
            pilot,
            {
                **FORMALIN, "1.doses": "1", "first_day": "Mon",
                "2.agent": "trichlorfon", "2.dose": "0.25 mg/L", "2.doses": "3",
                "2.interval": "7", "2.change": "30", "2.gap": "7", "2.share": "owner",
            },
        )  # fmt: skip
        assert "Trichlorfon 0.25 mg/L, 3 doses every 7 d" in follows(app)
        await pilot.press("f2")
        await waits_for(pilot, Choose)
        assert "First dose on Mon 16 Mar" in screen_text(app)
        await pilot.press("2")
        await app.workers.wait_for_complete()
    (found,) = courses_of(sqlite_book, pond)
    assert found.state == "planned"
    assert [len(step.doses) for step in found.plan.steps] == [1, 3]
    assert found.plan.steps[1].doses[0].due_on.isoformat() == "2026-03-23"
    assert found.answered == ()


async def test_a_second_agent_that_was_put_away_does_not_count_but_is_kept(
    sqlite_book: Book, pond: UUID, app_of: Callable[..., SmallApp]
) -> None:
    app = app_of(lambda: PlanCourseScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await pilot.press("f4")
        await settled(pilot)
        await fill(pilot, {**FORMALIN, "2.agent": "trichlorfon", "2.dose": "0.25 mg/L"})
        assert len(app.screen.proposal.plan.steps) == 2
        await pilot.press("f7")
        await settled(pilot)
        assert len(app.screen.proposal.plan.steps) == 1
        assert app.drafts.of("course", pond).values["2.dose"] == "0.25 mg/L"
        await pilot.press("f4")
        await settled(pilot)
        assert len(app.screen.proposal.plan.steps) == 2


async def test_an_agent_is_put_away_wherever_it_stands_and_comes_back(
    sqlite_book: Book, pond: UUID, app_of: Callable[..., SmallApp]
) -> None:
    """Three agents; without the second one the third moves up, and what was typed is kept."""
    app = app_of(lambda: PlanCourseScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await pilot.press("f4", "f4", "f4", "f4")
        await settled(pilot)
        assert app.screen.steps == 4  # no more are asked for
        await pilot.press("f7")
        await settled(pilot)
        form = await fill(
            pilot,
            {
                **FORMALIN, "1.doses": "1",
                "2.agent": "salt", "2.dose": "0.1 %", "2.route": "pond_bath",
                "3.agent": "potassium_permanganate", "3.route": "tank_bath", "3.dose": "2 mg/L",
            },
        )  # fmt: skip
        form._fields["2.dose"].entry.focus()
        await pilot.press("f7")
        await settled(pilot)
        assert app.screen.steps == 2
        values = form.values
        assert (values["2.agent"], values["2.route"]) == ("potassium_permanganate", "tank_bath")
        assert (values["2.dose"], values["3.agent"], values["3.dose"]) == (
            "2 mg/L",
            "salt",
            "0.1 %",
        )
        assert "3.agent" not in asked_for(app)
        assert app.screen.focused is form._fields["2.agent"].entry
    again = app_of(lambda: PlanCourseScreen(pond))
    async with again.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert again.screen.steps == 2
        await pilot.press("f4")
        await settled(pilot)
        values = again.screen.query_one(Form).values
        assert (values["3.agent"], values["3.dose"]) == ("salt", "0.1 %")
        assert "3.agent" in asked_for(again)
    assert courses_of(sqlite_book, pond) == ()


async def test_a_half_life_stands_with_who_typed_it_and_where_it_is_from(
    sqlite_book: Book, pond: UUID, app_of: Callable[..., SmallApp]
) -> None:
    app = app_of(lambda: PlanCourseScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await fill(pilot, {**FORMALIN, "1.half_life": "30 h"})
        assert "1.half_life_from" in asked_for(app)
        assert "Where is this half-life from?" in follows(app)
        await pilot.press("f2")
        for _ in range(30):
            await pilot.pause(0.02)
        form = app.screen.query_one(Form)
        assert app.screen.focused is form._fields["1.half_life_from"].entry
        await fill(pilot, {"1.half_life_from": "measured here in May"})
        assert "from measured here in May; it is not published" in follows(app)
        await pilot.press("f2")
        await waits_for(pilot, Choose)
        await pilot.press("2")
        await app.workers.wait_for_complete()
    (found,) = courses_of(sqlite_book, pond)
    step = found.plan.steps[0]
    assert step.half_life_h == 30.0
    assert any("30 h is typed by Ada Vet, from measured here" in one for one in step.remarks)


async def test_the_level_of_today_scales_the_amounts(
    sqlite_book: Book, pond: UUID, app_of: Callable[..., SmallApp]
) -> None:
    app = app_of(lambda: PlanCourseScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await fill(pilot, {**FORMALIN, "level": "50 %"})
        # 20 µL in each of 9,200 L.
        assert "1 Sat 14 Mar 184 mL" in follows(app)
        assert "The level is 50 %: 18400 L × 0.5 = 9200 L are treated." in follows(app)
        await fill(pilot, {"level": "9200"})
        assert "Type the level as 80 % or as 14000 L" in follows(app)


async def test_somebody_who_is_no_vet_is_told_before_anything_is_asked(
    sqlite_book: Book, act: Act, pond: UUID, app_of: Callable[..., SmallApp]
) -> None:
    with sqlite_book.writing(act) as writing:
        desk = replace(act, by=writing.add("staff", name="Bo Desk", role="receptionist"))
    app = app_of(lambda: PlanCourseScreen(pond), desk)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await fill(pilot, FORMALIN)
        await pilot.press("f2")
        await waits_for(pilot, Tell)
        assert "Only a vet can plan a course; Bo Desk" in " ".join(screen_text(app).split())
    assert courses_of(sqlite_book, pond) == ()
    assert app.drafts.of("course", pond).values["1.dose"] == "20 µL/L"


async def test_a_pond_without_a_volume_says_what_to_do(
    sqlite_book: Book, act: Act, app_of: Callable[..., SmallApp]
) -> None:
    with sqlite_book.writing(act) as writing:
        owner = writing.add("client", name="Quince Row")
        bare = writing.add("pond", site_id=writing.add("site", client_id=owner, name="y"), name="p")
    app = app_of(lambda: PlanCourseScreen(bare))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert "The volume of this pond is not known" in screen_text(app)
        await pilot.press("escape", "f4", "f2", "pagedown")
        await settled(pilot)
        assert isinstance(app.screen, PlanCourseScreen)


async def test_hostile_names_do_no_harm(
    sqlite_book: Book, act: Act, app_of: Callable[..., SmallApp]
) -> None:
    named = "".join(HOSTILE)[:150]
    pond = add_one_pond(sqlite_book, act, client=named, pond=named, note=named)
    app = app_of(lambda: PlanCourseScreen(pond))
    async with app.run_test(size=(60, 20)) as pilot:
        await settled(pilot)
        await fill(pilot, {**FORMALIN, "reason": named, "1.product": named})
        assert not HARMFUL & set(screen_text(app).replace("\n", ""))
        assert "Formalin 20 µL/L" in follows(app)


async def test_what_follows_is_read_by_page_while_typing(
    pond: UUID, app_of: Callable[..., SmallApp]
) -> None:
    app = app_of(lambda: PlanCourseScreen(pond))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await fill(pilot, FORMALIN)
        text = app.screen.query_one("#plan-follows")
        await pilot.press("pagedown", "pagedown")
        await pilot.pause()
        assert text.scroll_y > 10
        await pilot.press("pageup")
        await pilot.pause()
        assert 0 < text.scroll_y <= 10
        await fill(pilot, {"1.doses": "2"})
        assert text.scroll_y == 0  # another plan is read from its beginning
        await pilot.press("f1")
        await pilot.pause()
        assert "What goes in, when, and is it safe?" in screen_text(app)


@pytest.fixture
def shelf(sqlite_book: Book, act: Act) -> None:
    with sqlite_book.writing(act) as writing:
        keep_product(
            writing, "Bottle of the trade", "formalin", strength_percent=37.0,
            strength_basis="product", density_g_ml=1.09, pack_size=500.0, pack_unit="mL",
        )  # fmt: skip
        keep_product(
            writing, "Powder", "trichlorfon", strength_percent=98.0, strength_basis="w/w",
            pack_size=500.0,
        )  # fmt: skip


async def test_a_product_of_the_shelf_fills_what_stands_on_its_label(
    sqlite_book: Book, pond: UUID, shelf: None, app_of: Callable[..., SmallApp]
) -> None:
    app = app_of(lambda: PlanCourseScreen(pond))
    async with app.run_test(size=(120, 40), notifications=True) as pilot:
        await settled(pilot)
        assert "1.shelf" not in asked_for(app)
        # The only product of that agent is taken; what it fills in can still be changed.
        form = await fill(pilot, {"hazard": "gill_flukes", "1.agent": "formalin"})
        values = form.values
        assert (values["1.product"], values["1.strength"]) == ("Bottle of the trade", "37 %")
        assert (values["1.basis"], values["1.density"]) == ("product", "1.09")
        await fill(pilot, {"1.dose": "20 µL/L", "1.doses": "3", "1.change": "50 %"})
        # 3 × 368 mL = 1.1 L out of bottles of half a litre.
        assert "In all 1.1 L: 3 packs of 500 mL" in follows(app)
        await looks_as(pilot, "course_plan_shelf_120")
        await pilot.press("f2")
        await waits_for(pilot, Choose)
        await pilot.press("2")
        await app.workers.wait_for_complete()
    (found,) = courses_of(sqlite_book, pond)
    step = found.plan.steps[0]
    assert step.product == Product("Bottle of the trade", 37.0, "product", 1.09)
    with sqlite_book.reading() as connection:
        rests = connection.execute(select(table("step_rests_on").c.product_id)).scalars().all()
    assert rests == [one.id for one in products(sqlite_book, "formalin")]


async def test_a_product_of_another_agent_is_put_back(
    pond: UUID, shelf: None, app_of: Callable[..., SmallApp]
) -> None:
    app = app_of(lambda: PlanCourseScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        form = await fill(pilot, {"1.agent": "formalin"})
        assert form.values["1.shelf"]
        await fill(pilot, {"1.agent": "praziquantel"})
        assert form.values["1.shelf"] == ""
