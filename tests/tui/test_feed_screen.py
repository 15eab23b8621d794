"""Medicated feed by keyboard: what follows at once, kept with reasons, its sheet in a file."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from courses_on_screen import kept, read_through, shown
from faults import each_is_told
from one_pond import add_one_pond
from screen_text import a_moment, looks_as, screen_text
from small_app import SmallApp
from textual.widgets import Static

from store.book.act import Act
from store.book.book import Book
from store.courses.feeding.stock import stock
from store.courses.kept.formulary_keeping import keep_own_dose
from store.courses.kept.records import course, courses_of
from store.courses.kept.shelf import keep_product
from store.courses.planning.course import PondWater, Product
from store.courses.planning.feed_step import FeedWish, Medicine, plan_feed
from tui.screens.courses.caution_read import ReadCautions
from tui.screens.courses.course import CourseScreen
from tui.screens.courses.dose import DoseScreen
from tui.screens.courses.feed import FeedScreen
from tui.screens.courses.feed_sheet import MixSheetScreen
from tui.screens.parts.dialogs import AskReason, Choose
from tui.screens.ponds.pond import PondScreen
from tui.widgets.fields import Form, FormField

FLORFENICOL = {
    "reason": "ulcers on four fish", "1.dose": "10 mg/kg/d", "1.product": "premix",
    "1.strength": "50 %", "fish": "45 kg", "eating": "yes", "rate": "1 %",
}  # fmt: skip
ACCEPTANCE = {
    "reason": "ulcers", "1.dose": "60 mg/kg feed", "fish": "7 kg", "eating": "yes",
    "rate": "1 kg", "days": "14",
}  # fmt: skip


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
    for _ in range(300):
        await a_moment(0.02)
        if not any(one.is_running and one.group != "entry-save" for one in pilot.app.workers):
            break
    await pilot.pause()


async def waits_for(pilot: Any, screen: type[Any]) -> Any:
    for _ in range(200):
        if isinstance(pilot.app.screen, screen):
            await pilot.pause()
            return pilot.app.screen
        await a_moment(0.02)
    raise AssertionError(f"{screen.__name__} did not come: {pilot.app.screen}")


def follows(app: SmallApp) -> str:
    """All that stands below the form, on one line."""
    return " ".join(str(app.screen.query_one("#plan-said", Static).content).split())


def asked_for(app: SmallApp) -> list[str]:
    return [field.field.name for field in app.screen.query(FormField) if field.display]


async def fill(pilot: Any, agent: str, values: dict[str, str]) -> Form:
    form = pilot.app.screen.query_one(Form)
    form.fill({"1.agent": agent})
    await settled(pilot)
    form.fill(values)
    await settled(pilot)
    return form


async def more(pilot: Any, place: int) -> Form:
    """The fields of one more substance have come."""
    await pilot.press("f4")
    form = pilot.app.screen.query_one(Form)
    for _ in range(100):
        if f"{place}.density" in form.values:
            break
        await a_moment(0.02)
    await settled(pilot)
    return form


async def two_in_it(pilot: Any) -> Form:
    """Common practice, without a source: a potentiated sulphonamide and vitamin C."""
    await fill(pilot, "trimethoprim_sulfadiazine", ACCEPTANCE)
    form = await more(pilot, 2)
    form.fill({"2.agent": "vitamin_c", "2.dose": "700 mg/kg feed"})
    await settled(pilot)
    return form


async def test_what_is_weighed_follows_from_what_is_typed(
    pond: UUID, app_of: Callable[..., SmallApp]
) -> None:
    app = app_of(lambda: FeedScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        assert "Choose what goes into the feed." in follows(app)
        form = await fill(pilot, "florfenicol", {})
        assert form.values["days"] == "10"  # as published
        assert "published 10 mg/kg/d" in screen_text(app)
        await fill(pilot, "florfenicol", FLORFENICOL)
        said = follows(app)
        assert "Feed 450 g a day (1 %) × 10 d = 4.5 kg, bound with vegetable or fish oil" in said
        assert "Florfenicol: 10 mg per kg fish and day, 1000 mg per kg feed" in said
        assert "published 10: within it." in said
        # 45 kg × 10 mg × 10 d of a premix of 50 %, as the UK data sheet tabulates it.
        assert "1 Sat 14 Mar for 10 d: 9 g premix into 4.5 kg of feed" in said
        assert "no stop, " in said
        assert "Give no other feed until 23 Mar 2026" in said
        await looks_as(pilot, "feed_80")


async def test_two_in_one_feed_beside_what_is_published(
    pond: UUID, app_of: Callable[..., SmallApp]
) -> None:
    app = app_of(lambda: FeedScreen(pond))
    async with app.run_test(size=(120, 40), notifications=True) as pilot:
        await settled(pilot)
        await two_in_it(pilot)
        said = follows(app)
        assert "1 stop, " in said
        assert "0.6122 mg per kg fish and day, 60 mg per kg feed" in said
        assert "stop: 0.6122 mg per kg fish and day, published 30: 49 times less." in said
        assert "Vitamin C: 7.143 mg per kg fish and day, 700 mg per kg feed" in said
        assert "rounded down once, from 0.06 g" not in said
        await looks_as(pilot, "feed_120")
        # A third may go in.
        await more(pilot, 3)
        assert "3.agent" in asked_for(app)


async def test_what_is_asked_depends_on_what_is_typed(
    pond: UUID, app_of: Callable[..., SmallApp]
) -> None:
    app = app_of(lambda: FeedScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        assert not {"relation", "1.basis"} & set(asked_for(app))
        await fill(pilot, "florfenicol", {**FLORFENICOL, "fish": "10 × 40 cm", "rate": ""})
        assert {"relation", "1.basis"} <= set(asked_for(app))
        assert "how they were measured" in follows(app)
        app.screen.query_one(Form).fill({"relation": "carp_total"})
        await settled(pilot)
        # 10 fish of 820.8 g, by the relation of total length.
        assert "8.208 kg of fish" in follows(app)
        # 17.7 °C: between 0.40 % at 12 °C and 0.75 % at 18 °C.
        assert "(0.73 %)" in follows(app)


_FAULTS: tuple[tuple[dict[str, str], str, str], ...] = (
    ({"1.strength": "140 %"}, "1.strength", "140"),
    ({"1.dose": "10 mg/kg"}, "1.dose", "Of what?"),
    ({"fish": "0 kg"}, "fish", "above zero"),
    ({"eating": ""}, "eating", "Do they eat?"),
    ({"rate": "-1 %"}, "rate", "more than 0"),
)


async def test_a_fault_stands_at_its_field(
    sqlite_book: Book, pond: UUID, app_of: Callable[..., SmallApp]
) -> None:
    app = app_of(lambda: FeedScreen(pond))
    async with app.run_test(size=(80, 40), notifications=True) as pilot:
        await settled(pilot)
        await fill(pilot, "florfenicol", FLORFENICOL)
        await each_is_told(pilot, _FAULTS)
        await pilot.press("escape")
    assert courses_of(sqlite_book, pond) == ()
    assert app.drafts.of("feed", pond).values["rate"] == "-1 %"


async def test_a_stop_is_answered_and_the_feed_begins(
    sqlite_book: Book, pond: UUID, app_of: Callable[..., SmallApp]
) -> None:
    """From the pond's page to a course that runs, with the reason in the record."""
    app = app_of(lambda: PondScreen(pond))
    async with app.run_test(size=(100, 40), notifications=True) as pilot:
        await waits_for(pilot, PondScreen)
        await settled(pilot)
        await pilot.press("m")
        await waits_for(pilot, FeedScreen)
        await settled(pilot)
        await two_in_it(pilot)
        await pilot.press("f2")
        chosen = await waits_for(pilot, Choose)
        assert "First fed on Sat 14 Mar" in screen_text(app), chosen
        await pilot.press("enter")
        await read_through(pilot)
        await waits_for(pilot, AskReason)
        assert "49 times less" in screen_text(app)
        await pilot.press(*"culture", "enter")
        await waits_for(pilot, CourseScreen)
        await settled(pilot)
        assert "batch" in screen_text(app)
    (found,) = courses_of(sqlite_book, pond)
    assert found.state == "running"
    assert [one.agent for one in found.plan.steps] == ["trimethoprim_sulfadiazine", "vitamin_c"]
    (answered,) = [one for one in found.answered if one.level == "stop"]
    assert (answered.code, answered.reason) == ("oral_low.1", "culture")
    assert {one.share for step in found.plan.steps for one in step.doses} == {"owner"}
    ration = course(sqlite_book, found.id).plan.steps[0].ration
    assert ration is not None
    assert (ration.binder, ration.feed_days, ration.mg_per_kg_feed) == ("oil", 14, 60.0)
    assert app.drafts.of("feed", pond).values == {}


async def test_the_mix_sheet_goes_to_a_file(
    pond: UUID, app_of: Callable[..., SmallApp], tmp_path: Path
) -> None:
    app = app_of(lambda: FeedScreen(pond))
    target = tmp_path / "mix.txt"
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await pilot.press("f6")
        await pilot.pause()
        assert isinstance(app.screen, FeedScreen)  # nothing is to be mixed yet, and it says so
        await two_in_it(pilot)
        await pilot.press("f6")
        screen = await waits_for(pilot, MixSheetScreen)
        await settled(pilot)
        screen.query_one(Form).fill(
            {"practice": "The practice", "telephone": "0100", "shape": "txt", "file": str(target)}
        )
        await pilot.pause()
        await pilot.press("f2")
        await waits_for(pilot, FeedScreen)
    text = target.read_text()
    assert "Medicated feed: how to mix it" in text
    assert "Alder Row, lower pond" in text
    assert "0.06 g of potentiated sulphonamide (trimethoprim)" in text
    assert "0.7 g of vitamin C" in text
    assert "MEDICATED FISH FEED" in text
    assert "makes a film on the water" in text


# A feed that runs, on the screens of courses


@pytest.fixture
def fed(sqlite_book: Book, act: Act, pond: UUID) -> UUID:
    """Florfenicol with vitamin C, bound with gelatin, due since yesterday."""
    day = sqlite_book.today(act.at) - timedelta(days=1)
    plan = plan_feed(
        FeedWish(
            Medicine("florfenicol", 10.0, product=Product("premix", 50.0)), stock("45 kg"), 14,
            rate_percent=1.0, also=(Medicine("vitamin_c", inclusion_mg_kg=700.0),),
            binder="gelatin", share="owner",
        ),
        hazards=("columnaris",), reason="columnaris on two fish", first_day=day,
        water=PondWater(18_400.0, 16_200.0, 20_600.0, temperature_c=17.7, use="ornamental"),
    )  # fmt: skip
    return kept(sqlite_book, act, pond, plan, days_ago=1)


async def test_a_feed_stands_on_its_page_without_any_water_in_it(
    fed: UUID, app_of: Callable[..., SmallApp]
) -> None:
    app = app_of(lambda: CourseScreen(fed))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await waits_for(pilot, CourseScreen)
        await settled(pilot)
        said = screen_text(app)
        assert "florfenicol with vitamin C" in said
        assert "florfenicol batch 1  1 d late  4.5 g = 10 mg/kg/d for 5 d" in said
        assert "10 mg/kg × 45 kg for 5 d by premix, 50 % = 4.5 g" in " ".join(said.split())
        assert "mg/L" not in said
        assert " L by" not in said
        await looks_as(pilot, "course_feed_80")


async def test_a_batch_is_logged_and_the_page_follows(
    sqlite_book: Book, fed: UUID, app_of: Callable[..., SmallApp]
) -> None:
    app = app_of(lambda: CourseScreen(fed))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await waits_for(pilot, CourseScreen)
        await settled(pilot)
        await pilot.press("d")
        screen = await waits_for(pilot, DoseScreen)
        await shown(pilot)
        assert "change" not in asked_for(app)
        form = screen.query_one(Form)
        assert form.values["amount"] == "4.5 g"
        assert "See that they still eat" in screen_text(app)
        await looks_as(pilot, "dose_feed_80")
        form.fill({"batch": "P-7", "given_by": "owner"})
        await pilot.press("f2")
        for _ in range(200):
            if isinstance(app.screen, CourseScreen):
                break
            if isinstance(app.screen, ReadCautions):
                await pilot.press("enter")
            await a_moment(0.02)
        await shown(pilot)
        await pilot.press("f5")
        await shown(pilot)
        said = screen_text(app)
        assert "1 of 6 given" in said
        assert "florfenicol batch 1 given: 4.5 g" in said
        assert "% change" not in said
    (entry,) = course(sqlite_book, fed).log
    assert (entry.given.dose, entry.batch, entry.given.water_change_percent) == (10.0, "P-7", 0.0)


async def test_from_the_course_the_mix_sheet_or_that_of_the_owner(
    fed: UUID, app_of: Callable[..., SmallApp], tmp_path: Path
) -> None:
    app = app_of(lambda: CourseScreen(fed))
    target = tmp_path / "feed.md"
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await waits_for(pilot, CourseScreen)
        await settled(pilot)
        await pilot.press("s")
        await waits_for(pilot, Choose)
        await pilot.press("enter")
        screen = await waits_for(pilot, MixSheetScreen)
        await shown(pilot)
        screen.query_one(Form).fill({"telephone": "0100", "shape": "md", "file": str(target)})
        screen.query_one(Form).fill({"practice": "The practice"})
        await pilot.pause()
        await pilot.press("f2")
        await waits_for(pilot, CourseScreen)
    assert "The last batch is for 4 d only" in target.read_text()


async def test_a_product_of_the_shelf_and_a_dose_of_the_practice(
    sqlite_book: Book, act: Act, pond: UUID, app_of: Callable[..., SmallApp]
) -> None:
    with sqlite_book.writing(act) as writing:
        keep_product(
            writing, "Premix of the trade", "florfenicol", strength_percent=50.0,
            strength_basis="w/w", pack_size=5.0, pack_unit="g",
        )  # fmt: skip
        keep_own_dose(
            writing, "florfenicol", "feed", dose_low=None, dose_high=25.0, unit="mg/kg/d",
            basis="active", why="our own cultures",
        )  # fmt: skip
    app = app_of(lambda: FeedScreen(pond))
    async with app.run_test(size=(120, 40), notifications=True) as pilot:
        await settled(pilot)
        form = await fill(pilot, "florfenicol", {})
        assert (form.values["1.product"], form.values["1.strength"]) == (
            "Premix of the trade", "50 %",
        )  # fmt: skip
        await fill(
            pilot, "florfenicol",
            {"reason": "ulcers", "fish": "45 kg", "rate": "1 %", "eating": "yes",
             "1.dose": "25 mg/kg/d"},
        )  # fmt: skip
        said = follows(app)
        # 22.5 g out of packs of 5 g.
        assert "Premix of the trade takes 5 packs of 5 g" in said
        # The practice's own dose raises nothing: what is published decides, and it is told.
        assert "mind: 25 mg per kg fish and day" in said
        assert "our own cultures" in said


async def test_a_substance_is_put_away_and_back(
    pond: UUID, app_of: Callable[..., SmallApp]
) -> None:
    app = app_of(lambda: FeedScreen(pond))
    async with app.run_test(size=(120, 40), notifications=True) as pilot:
        await settled(pilot)
        form = await two_in_it(pilot)
        await pilot.press("f7")
        await settled(pilot)
        assert "2.agent" not in asked_for(app)
        assert "Vitamin C" not in follows(app)
        await pilot.press("f4")
        await settled(pilot)
        assert form.values["2.dose"] == "700 mg/kg feed"
        assert "Vitamin C: 7.143 mg per kg fish and day" in follows(app)
        await pilot.press("escape")
    assert app.drafts.of("feed", pond).values["steps"] == "2"
