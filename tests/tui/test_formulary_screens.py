"""The formulary on screens: the list, one agent, own doses, products and agents."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from faults import each_is_told
from screen_text import a_moment, looks_as, screen_text
from small_app import SmallApp
from textual.screen import Screen

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.formulary import own_agents, own_doses, products
from store.courses.kept.formulary_keeping import keep_own_agent, keep_own_dose
from store.courses.kept.shelf import keep_product
from store.facts.agent import LOCAL_LAW
from store.facts.agents import agents
from tui.screens.courses.courses import CoursesScreen
from tui.screens.formulary.formulary import FormularyScreen
from tui.screens.formulary.formulary_agent import AgentScreen
from tui.screens.formulary.own_agent import OwnAgentScreen
from tui.screens.formulary.own_dose import OwnDoseScreen
from tui.screens.formulary.own_product import OwnProductScreen
from tui.screens.parts.dialogs import AskReason, Tell
from tui.themes import NIGHT
from tui.widgets.fields import Form
from tui.widgets.grid import LineGrid

WHY = "the flukes of this valley come back after half of it"


@pytest.fixture
def own(sqlite_book: Book, act: Act) -> None:
    with sqlite_book.writing(act) as writing:
        keep_own_dose(
            writing, "trichlorfon", "pond_bath", dose_low=0.5, dose_high=1.0, unit="mg/L",
            basis="active", why=WHY, interval_low_days=7, doses=3, hazards=["gill_flukes"],
        )  # fmt: skip
        keep_product(
            writing, "Fluke powder", "trichlorfon", strength_percent=97.0, strength_basis="w/w",
            pack_size=250.0, note="the white tub",
        )  # fmt: skip
        keep_own_agent(
            writing, "Kelp [/b] extract", family="dye", handling=["Gloves."], why="a trial"
        )


@pytest.fixture
def desk(sqlite_book: Book, act: Act, tmp_path: Path) -> Callable[..., SmallApp]:
    def make(first: Callable[[], Screen[Any]] = FormularyScreen, by: Act = act) -> SmallApp:
        return SmallApp(sqlite_book, by, first, tmp_path / "drafts.json", theme=NIGHT)

    return make


async def shown(pilot: Any) -> None:
    for _ in range(150):
        await a_moment(0.02)
        if not any(one.is_running and one.group in ("formulary", "agent", "courses")
                   for one in pilot.app.workers):  # fmt: skip
            break
    await pilot.pause()


async def until(pilot: Any, kind: type[Screen[Any]]) -> Any:
    for _ in range(150):
        if isinstance(pilot.app.screen, kind):
            await shown(pilot)
            return pilot.app.screen
        await a_moment(0.02)
    raise AssertionError(f"{pilot.app.screen} is not {kind}: {screen_text(pilot.app)}")


async def fill(pilot: Any, **texts: str) -> None:
    pilot.app.screen.query_one(Form).fill(texts)
    await pilot.pause(0.05)


async def test_every_agent_with_its_doses(desk: Callable[..., SmallApp], own: None) -> None:
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        assert f"{len(agents()) + 1} agents, 2 with a word of the practice's own" in screen_text(
            app
        )
        await looks_as(pilot, "formulary_80")
        await pilot.press("slash", *"anchor")
        await pilot.pause(0.1)
        assert "Trichlorfon" in screen_text(app)
        assert "Acriflavine" not in screen_text(app)
        await pilot.press(*" xyz")
        await pilot.pause(0.1)
        assert "Nothing fits “anchor xyz”" in screen_text(app)
        await pilot.press("escape", "o", "home")
        await pilot.pause(0.1)
        grid = app.screen.query_one(LineGrid)
        assert grid.cursor_key == "kelp_b_extract"
        assert "Kelp [/b] extract" in screen_text(app)
        assert "no dose yet" in screen_text(app)


async def test_one_agent_with_every_statement(desk: Callable[..., SmallApp], own: None) -> None:
    app = desk(lambda: AgentScreen("trichlorfon"))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await looks_as(pilot, "formulary_agent_80")
        await pilot.press("down", "down", "down")
        await pilot.pause(0.1)
        said = " ".join(re.sub("[\u2581-\u2588]", " ", screen_text(app)).split())
        assert "The practice's own dose, set by" in said
        assert WHY in said
        text = app.screen.query_one("#agent-text")
        for _ in range(20):
            await pilot.press("space")
        await pilot.pause(0.1)
        assert text.scroll_y == text.max_scroll_y > 0
        assert LOCAL_LAW in screen_text(app)


@pytest.mark.parametrize("size", [(60, 20), (120, 40)])
async def test_an_agent_can_be_read_in_other_windows(
    desk: Callable[..., SmallApp], own: None, size: tuple[int, int]
) -> None:
    app = desk(lambda: AgentScreen("trichlorfon"))
    async with app.run_test(size=size, notifications=True) as pilot:
        await shown(pilot)
        assert all(len(line) <= size[0] for line in screen_text(app).splitlines())
        assert "Published: Piper" in screen_text(app)
        assert "0.25 mg/L" in screen_text(app)


async def test_an_own_dose_is_set_with_its_reason(
    desk: Callable[..., SmallApp], sqlite_book: Book
) -> None:
    app = desk(lambda: AgentScreen("formalin"))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("d")
        form = await until(pilot, OwnDoseScreen)
        assert "Published: " in screen_text(app)
        await looks_as(pilot, "own_dose_80")
        await fill(pilot, dose="30 µL/L", basis="product", interval="3-5 d", doses="2",
                   temperature="up to 20 °C")  # fmt: skip
        await pilot.press("f2")
        await pilot.pause(0.3)
        assert app.screen is form, "without a reason nothing is kept"
        assert "Please say why" in " ".join(screen_text(app).split())
        await fill(pilot, why=WHY)
        await pilot.press("f2")
        await until(pilot, AgentScreen)
        assert "practice's own" in screen_text(app)
    (dose,) = own_doses(sqlite_book, "formalin")
    assert (dose.dose_low, dose.dose_high, dose.unit, dose.basis) == (30.0, 30.0, "uL/L", "product")
    assert (dose.interval_low_days, dose.interval_high_days, dose.doses) == (3, 5, 2)
    assert (dose.temp_low_c, dose.temp_high_c, dose.why) == (None, 20.0, WHY)


_DOSES_THAT_CANNOT_BE = (
    ("30", "The dose has no unit"),
    ("30 furlong", "is not the unit of a dose"),
    ("30 ppm", "by weight or by volume"),
    ("2-1 mg/L", "lies above the high one"),
    ("0 mg/L", "more than 0"),
    ("nan", "is not a number"),
    ("-3 mg/L", "more than 0"),
    ("3 mg/kg/d", "A dose of a bath is in mg/L"),
)


async def test_a_dose_that_cannot_be_is_told_at_the_field(
    desk: Callable[..., SmallApp], sqlite_book: Book
) -> None:
    app = desk(lambda: AgentScreen("formalin"))
    async with app.run_test(size=(100, 30), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("d")
        await until(pilot, OwnDoseScreen)
        await fill(pilot, dose="30 mg/L", why=WHY)
        await each_is_told(
            pilot, [({"dose": dose}, "dose", says) for dose, says in _DOSES_THAT_CANNOT_BE]
        )
    assert own_doses(sqlite_book) == ()


async def test_what_was_typed_is_offered_again(desk: Callable[..., SmallApp]) -> None:
    app = desk(lambda: AgentScreen("formalin"))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("d")
        await until(pilot, OwnDoseScreen)
        await fill(pilot, dose="30 µL/L")
        await pilot.press("escape")
        await until(pilot, AgentScreen)
        await pilot.press("d")
        await until(pilot, OwnDoseScreen)
        assert app.screen.query_one(Form).values["dose"] == "30 µL/L"


async def test_an_own_dose_is_changed_and_struck_through(
    desk: Callable[..., SmallApp], sqlite_book: Book, own: None
) -> None:
    app = desk(lambda: AgentScreen("trichlorfon"))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("x")
        await pilot.pause(0.1)
        assert isinstance(app.screen, AgentScreen), "what is published is not struck through"
        await pilot.press("down", "down", "down", "enter")
        await until(pilot, OwnDoseScreen)
        assert app.screen.query_one(Form).values["dose"] == "0.5–1 mg/L"
        await fill(pilot, dose="up to 0.8 mg/L", why="less was enough")
        await pilot.press("f2")
        await until(pilot, AgentScreen)
        (now,) = own_doses(sqlite_book, "trichlorfon")
        assert (now.dose_low, now.dose_high, now.why) == (None, 0.8, "less was enough")
        assert "struck through" in screen_text(app)
        await pilot.press("x")
        await until(pilot, AskReason)
        await pilot.press(*"enough", "enter")
        await until(pilot, AgentScreen)
        for _ in range(50):
            if not own_doses(sqlite_book):
                break
            await a_moment(0.02)
    assert own_doses(sqlite_book) == ()
    assert len(own_doses(sqlite_book, struck=True)) == 2


async def test_a_product_is_put_on_the_shelf_and_changed(
    desk: Callable[..., SmallApp], sqlite_book: Book
) -> None:
    app = desk(lambda: AgentScreen("formalin"))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("p")
        await until(pilot, OwnProductScreen)
        await fill(pilot, name="Shelf formalin", strength="137 %", basis="product",
                   density="1,09", pack="1 L", withdrawal_days="3")  # fmt: skip
        await pilot.press("f2")
        await pilot.pause(0.3)
        assert "cannot be more than 100" in " ".join(screen_text(app).split())
        await fill(pilot, strength="37 %")
        await pilot.press("f2")
        await until(pilot, AgentScreen)
        (tub,) = products(sqlite_book, "formalin")
        assert (tub.strength_percent, tub.density_g_ml) == (37.0, 1.09)
        assert (tub.pack_size, tub.pack_unit, tub.withdrawal_days) == (1000.0, "mL", 3)
        await pilot.press("end", "enter")
        await until(pilot, OwnProductScreen)
        await fill(pilot, strength="38 %")
        await pilot.press("f2")
        await pilot.pause(0.3)
        assert "Please say why" in " ".join(screen_text(app).split())
        await fill(pilot, why="a new label")
        await pilot.press("f2")
        await until(pilot, AgentScreen)
    assert products(sqlite_book, "formalin")[0].strength_percent == 38.0


async def test_an_own_agent_is_added_from_the_list(
    desk: Callable[..., SmallApp], sqlite_book: Book
) -> None:
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("n")
        await until(pilot, OwnAgentScreen)
        await fill(pilot, name="Formalin", family="dye", off="UV, pump", why="a trial")
        await pilot.press("f2")
        await pilot.pause(0.3)
        assert "is nothing that is switched off" in " ".join(screen_text(app).split())
        await fill(pilot, off="UV, activated carbon", handling="Gloves.\nGoggles.")
        await pilot.press("f2")
        await pilot.pause(0.3)
        assert "is in the published formulary already" in " ".join(screen_text(app).split())
        await fill(pilot, name="Kelp")
        await pilot.press("f2")
        await until(pilot, FormularyScreen)
    (found,) = own_agents(sqlite_book)
    assert (found.name, found.off, found.handling) == (
        "Kelp", ("uv", "carbon"), ("Gloves.", "Goggles.")
    )  # fmt: skip


async def test_whoever_is_no_vet_is_refused_with_a_sentence(
    desk: Callable[..., SmallApp], sqlite_book: Book, act: Act
) -> None:
    with sqlite_book.writing(act) as writing:
        other = Act(writing.add("staff", name="Bo Desk", role="receptionist"), act.at)
    app = desk(lambda: AgentScreen("formalin"), by=other)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("d")
        await until(pilot, OwnDoseScreen)
        await fill(pilot, dose="30 µL/L", why=WHY)
        await pilot.press("f2")
        await until(pilot, Tell)
        said = " ".join(screen_text(app).split())
        assert "Only a vet can set a dose" in said
        await pilot.press("escape")
        assert app.screen.query_one(Form).values["dose"] == "30 µL/L", "nothing typed is lost"
    assert own_doses(sqlite_book) == ()


async def test_the_formulary_opens_from_the_courses(desk: Callable[..., SmallApp]) -> None:
    app = desk(CoursesScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("f")
        await until(pilot, FormularyScreen)
        await pilot.press("escape")
        await until(pilot, CoursesScreen)
