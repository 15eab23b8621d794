"""Entering an examination: fish after fish, by a line or in a form, saved in one action."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from courses_on_screen import kept, two_agents
from one_pond import add_one_pond
from paper import HARMFUL, HOSTILE
from screen_text import a_moment, looks_as, screen_lines, screen_text
from small_app import SmallApp
from textual.widgets import Input

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.records import course
from store.exams.examinations import examinations_of
from store.exams.values import Found
from tests.exams.looked_at import GILL, SKIN, enter, exam, koi
from tui.screens.exams import examination_sheet
from tui.screens.exams.examination import ExaminationScreen
from tui.screens.exams.examination_fish import FishFormScreen, OccasionScreen
from tui.screens.exams.examination_page import ExaminationPageScreen
from tui.screens.exams.examination_pick import PickSigns
from tui.screens.parts.dialogs import Ask
from tui.widgets.fields import Form, FormField

FIRST = "koi 42 cm, thin, clamped; gill 100x 5 fields: gill flukes 23, trichodina +; skin 40x: nothing"  # fmt: skip
SECOND = "koi 38 cm; gill 100x 5 fields: gill flukes 4"
BUSY = ("exam-begin", "exam-save", "examined-read", "fish-more")


@pytest.fixture
def pond(sqlite_book: Book, act: Act) -> UUID:
    return add_one_pond(sqlite_book, act)


@pytest.fixture
def desk(sqlite_book: Book, act: Act, tmp_path: Path) -> Callable[..., SmallApp]:
    return lambda first: SmallApp(sqlite_book, act, first, tmp_path / "drafts.json")


async def settle(pilot: Any) -> None:
    for _ in range(150):
        await a_moment(0.02)
        if not any(one.is_running and one.group in BUSY for one in pilot.app.workers):
            break
    await pilot.pause()


async def on(pilot: Any, kind: Any) -> Any:
    for _ in range(150):
        if isinstance(pilot.app.screen, kind):
            await settle(pilot)
            return pilot.app.screen
        await a_moment(0.02)
    raise AssertionError(f"{pilot.app.screen} is not {kind}: {screen_text(pilot.app)}")


def keys_of(text: str) -> list[str]:
    """The keys that a person presses for it."""
    named = {" ": "space", ";": "semicolon", ":": "colon", ",": "comma", ".": "full_stop"}
    return [named.get(letter, letter) for letter in text]


def flat(app: Any) -> str:
    """What stands on the screen, whatever lines it is broken into."""
    return " ".join(screen_text(app).split())


async def type_line(pilot: Any, text: str, where: str = "#exam-line") -> None:
    """As a paste does; letter by letter is another test."""
    pilot.app.screen.query_one(where, Input).value = text
    await settle(pilot)


@pytest.mark.parametrize(("width", "height"), [(80, 24), (60, 20), (120, 40)])
async def test_the_screen_looks_as_it_was_looked_at(
    pond: UUID, desk: Callable[..., SmallApp], width: int, height: int
) -> None:
    app = desk(lambda: ExaminationScreen(pond))
    async with app.run_test(size=(width, height), notifications=True) as pilot:
        await settle(pilot)
        await type_line(pilot, FIRST)
        await pilot.press("enter")
        await type_line(pilot, "iodophor 10 min", "#exam-gear")
        await type_line(pilot, "koi 38 cm; gill 100x 5 fields: flukes 4")
        await looks_as(pilot, f"examination_{width}")


async def test_two_fish_are_saved_in_one_action(
    pond: UUID, desk: Callable[..., SmallApp], sqlite_book: Book
) -> None:
    app = desk(lambda: ExaminationScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        await pilot.press(*keys_of(SECOND))
        await settle(pilot)
        assert "gill flukes 4 in 5 fields (0.8 a field)" in flat(app)
        assert "four eye spots" in screen_text(app)  # what tells it from others
        await pilot.press("enter")
        await type_line(pilot, FIRST)
        await type_line(pilot, "own net", "#exam-gear")
        await pilot.press("f2")  # the fish in the line is taken as well
        await on(pilot, ExaminationPageScreen)
        assert not any("gear was not said" in one.message for one in app._notifications)
    (one,) = examinations_of(sqlite_book, pond)
    assert [fish.nth for fish in one.exam.fish] == [1, 2]
    assert (one.exam.purpose, one.exam.examiner, one.exam.gear) == (
        "first look", "Ada Vet", "own to the pond",
    )  # fmt: skip
    assert one.exam.fish[1].preparations[0].found[0] == Found("gill_flukes", counted=23)
    assert one.exam.fish[1].behaviour == ("clamped",)
    assert app.drafts.of("examination", pond).values == {}


async def test_nothing_is_saved_while_a_question_is_open(
    pond: UUID, desk: Callable[..., SmallApp], sqlite_book: Book
) -> None:
    app = desk(lambda: ExaminationScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        await type_line(pilot, "koi; gill 100x 5 fields: flukes 4")
        assert "may be gill flukes or skin flukes" in screen_text(app)
        assert "no eye spots" in screen_text(app)
        assert "four eye spots" in screen_text(app)
        await pilot.press("f2")
        await settle(pilot)
        assert not examinations_of(sqlite_book, pond)
        await pilot.press("enter")  # two answers: enter chooses none of them
        await settle(pilot)
        assert "may be gill flukes or skin flukes" in screen_text(app)
        await pilot.press("1")
        await settle(pilot)
        assert app.screen.query_one("#exam-line", Input).value.endswith("gill flukes 4")
        await pilot.press("enter", "f2")
        await on(pilot, ExaminationPageScreen)
    (one,) = examinations_of(sqlite_book, pond)
    assert one.exam.hazards == ("gill_flukes",)


async def test_what_is_not_known_can_be_kept_in_the_note(
    pond: UUID, desk: Callable[..., SmallApp], sqlite_book: Book
) -> None:
    app = desk(lambda: ExaminationScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        await type_line(pilot, "koi, zzgrumpy; skin: costia ++")
        await pilot.press("enter", "n")
        await settle(pilot)
        await pilot.press("enter", "f2")
        await on(pilot, ExaminationPageScreen)
    (one,) = examinations_of(sqlite_book, pond)
    assert one.exam.fish[0].other == "zzgrumpy"


async def test_unclear_gear_is_asked_before_saving(
    pond: UUID, desk: Callable[..., SmallApp], sqlite_book: Book
) -> None:
    app = desk(lambda: ExaminationScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        await type_line(pilot, SECOND)
        await type_line(pilot, "iodophor", "#exam-gear")
        assert "Was the gear disinfected" in screen_text(app)
        await pilot.press("f2")
        await settle(pilot)
        assert not examinations_of(sqlite_book, pond)
        assert app.screen.query_one("#exam-gear", Input).has_focus
        await type_line(pilot, "iodophor 10 min", "#exam-gear")
        await pilot.press("f2")
        await on(pilot, ExaminationPageScreen)
    (one,) = examinations_of(sqlite_book, pond)
    assert (one.exam.gear, one.exam.disinfectant, one.exam.contact_min) == (
        "disinfected", "iodophor", 10.0,
    )  # fmt: skip


async def test_what_was_typed_survives_leaving(
    pond: UUID, desk: Callable[..., SmallApp], sqlite_book: Book
) -> None:
    app = desk(lambda: ExaminationScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        await type_line(pilot, FIRST)
        await pilot.press("enter")
        await type_line(pilot, "koi 38 cm; gill: fl")
        await type_line(pilot, "own net", "#exam-gear")
        app.screen.query_one("#exam-line").focus()
        await pilot.press("escape")
        await pilot.pause(0.1)
    again = desk(lambda: ExaminationScreen(pond))
    async with again.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        shown = screen_text(again)
        assert "Taken up again" in shown
        assert again.screen.query_one("#exam-line", Input).value == "koi 38 cm; gill: fl"
        assert again.screen.query_one("#exam-gear", Input).value == "own net"
        assert "koi · 42 cm" in shown
        assert "fish 2" in shown
    assert not examinations_of(sqlite_book, pond)


async def test_letters_before_the_book_was_read_lose_no_draft(
    pond: UUID, desk: Callable[..., SmallApp], monkeypatch: pytest.MonkeyPatch
) -> None:
    app = desk(lambda: ExaminationScreen(pond))
    app.drafts.of("examination", pond).keep({"fish.1": f"line:{FIRST}", "now": "line:koi"})
    read = examination_sheet.begin

    def late(*args: Any) -> Any:
        time.sleep(0.4)
        return read(*args)

    monkeypatch.setattr(examination_sheet, "begin", late)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        app.screen.query_one("#exam-line", Input).value = "38 cm"
        await pilot.pause(0.05)
        await settle(pilot)
        assert app.screen.query_one("#exam-line", Input).value == "koi; 38 cm"
        assert "gill flukes 23" in screen_text(app)
    kept_now = app.drafts.of("examination", pond).values
    assert kept_now == {"fish.1": f"line:{FIRST}", "now": "line:koi; 38 cm"}


async def test_a_fish_is_opened_again_and_put_away(
    pond: UUID, desk: Callable[..., SmallApp], sqlite_book: Book
) -> None:
    app = desk(lambda: ExaminationScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        for line in (FIRST, SECOND, "koi; skin: nothing"):
            await type_line(pilot, line)
            await pilot.press("enter")
        await type_line(pilot, "goldfish")  # begun; it waits
        await pilot.press("up", "home", "enter")
        await settle(pilot)
        line = app.screen.query_one("#exam-line", Input)
        assert line.value == FIRST
        await type_line(pilot, FIRST.replace("23", "32"))
        await pilot.press("enter")
        await settle(pilot)
        assert line.value == "goldfish"
        assert "gill flukes 32" in app.screen.sheet.fish[0].line
        await pilot.press("up", "home", "down", "f7")
        await on(pilot, Ask)
        await pilot.press("right", "enter")
        await on(pilot, ExaminationScreen)
        await pilot.press("f2")
        await on(pilot, ExaminationPageScreen)
    (one,) = examinations_of(sqlite_book, pond)
    assert [fish.species for fish in one.exam.fish] == ["koi", "koi", "goldfish"]
    assert one.exam.fish[0].preparations[0].found[0].counted == 32
    assert one.exam.hazards == ("gill_flukes", "trichodina")


async def test_escape_leaves_an_opened_fish_as_it_was(
    pond: UUID, desk: Callable[..., SmallApp]
) -> None:
    app = desk(lambda: ExaminationScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        await type_line(pilot, SECOND)
        await pilot.press("enter", "up", "enter")
        await type_line(pilot, "koi")
        await pilot.press("escape")
        await settle(pilot)
        assert isinstance(app.screen, ExaminationScreen)
        assert "koi · 38 cm · gill flukes 4" in screen_text(app)
        assert app.screen.query_one("#exam-line", Input).value == ""


async def fill(pilot: Any, **texts: str) -> None:
    form = pilot.app.screen.query_one(Form)
    form.fill({name.replace("_", ".", 2) if name[0] == "p" else name: text
               for name, text in texts.items()})  # fmt: skip
    await settle(pilot)


async def test_the_same_fish_in_a_form(
    pond: UUID, desk: Callable[..., SmallApp], sqlite_book: Book
) -> None:
    app = desk(lambda: ExaminationScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        await type_line(pilot, SECOND)
        await pilot.press("f3")
        screen = await on(pilot, FishFormScreen)
        form = screen.query_one(Form)
        assert form.values["1.1.much"] == "4"
        assert form.values["length"] == "38 cm"
        form.fill({"treated": "cleaned; iodine", "1.1.much": "7", "weight": "900"})
        await settle(pilot)
        await pilot.press("f2")
        await settle(pilot)
        assert "Was it weighed, or reckoned?" in screen_text(app)
        form.fill({"weight_how": "reckoned"})
        await settle(pilot)
        await pilot.press("f3")  # a line cannot hold such a note
        await settle(pilot)
        assert isinstance(app.screen, FishFormScreen)
        await pilot.press("f2")
        await on(pilot, ExaminationScreen)
        assert "koi · 38 cm · 900 g reckoned · gill flukes 7" in flat(app)
        await pilot.press("f2")
        await on(pilot, ExaminationPageScreen)
    (one,) = examinations_of(sqlite_book, pond)
    (fish,) = one.exam.fish
    assert (fish.treated, fish.weight_g, fish.weight_how) == (
        "cleaned; iodine", 900.0, "reckoned",
    )  # fmt: skip
    assert fish.preparations[0].found == (Found("gill_flukes", counted=7),)


async def test_a_form_that_was_left_is_kept(pond: UUID, desk: Callable[..., SmallApp]) -> None:
    app = desk(lambda: ExaminationScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        await pilot.press("f3")
        screen = await on(pilot, FishFormScreen)
        screen.query_one(Form).fill({"length": "forty"})
        await settle(pilot)
        await pilot.press("escape")
        await on(pilot, ExaminationScreen)
        assert app.screen.query_one("#exam-line").disabled
    again = desk(lambda: ExaminationScreen(pond))
    async with again.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        assert "begun in the form: F3 goes on there" in screen_text(again)
        await pilot.press("f3")
        screen = await on(pilot, FishFormScreen)
        assert screen.query_one(Form).values["length"] == "forty"
        screen.query_one(Form).fill({"length": "40"})
        await settle(pilot)
        await pilot.press("f3")
        await on(pilot, ExaminationScreen)
        assert again.screen.query_one("#exam-line", Input).value == "40 cm"


@pytest.mark.parametrize(("width", "height"), [(80, 24), (60, 20)])
async def test_more_found_and_another_preparation(
    pond: UUID, desk: Callable[..., SmallApp], sqlite_book: Book, width: int, height: int
) -> None:
    app = desk(lambda: ExaminationScreen(pond))
    async with app.run_test(size=(width, height), notifications=True) as pilot:
        await settle(pilot)
        await type_line(pilot, SECOND)
        await pilot.press("f3")
        screen = await on(pilot, FishFormScreen)
        await pilot.press("f4")
        await settle(pilot)
        form = screen.query_one(Form)
        assert "1.2.hazard" in form.values
        assert form.values["1.1.much"] == "4"
        await pilot.press(*"tricho", "enter")
        await settle(pilot)
        assert form.values["1.2.hazard"] == "trichodina"
        form.fill({"1.2.much": "++"})
        await settle(pilot)
        form.scroll_end(animate=False)
        await pilot.pause(0.1)
        await looks_as(pilot, f"examination_form_{width}")
        await pilot.press("f5")
        await settle(pilot)
        form = screen.query_one(Form)
        form.fill({"2.kind": "by eye", "2.1.hazard": "fish_louse", "2.1.much": "3"})
        await settle(pilot)
        await pilot.press("f2")
        await on(pilot, ExaminationScreen)
        await pilot.press("f2")
        await on(pilot, ExaminationPageScreen)
    (one,) = examinations_of(sqlite_book, pond)
    assert one.exam.hazards == ("gill_flukes", "trichodina", "fish_louse")
    assert one.exam.fish[0].by_eye == (Found("fish_louse", counted=3),)


async def test_what_tells_a_hazard_stands_beside_the_list(
    pond: UUID, desk: Callable[..., SmallApp]
) -> None:
    app = desk(lambda: ExaminationScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        await pilot.press("f3")
        screen = await on(pilot, FishFormScreen)
        field = next(f for f in screen.query(FormField) if f.field.name == "1.1.hazard")
        field.entry.focus()
        await pilot.press(*keys_of("gill fl"))  # not chosen yet: the list is open
        await settle(pilot)
        assert "four eye spots" in screen_text(app)
        assert "not skin flukes" in screen_text(app)


async def test_signs_are_picked_by_their_letters(
    pond: UUID, desk: Callable[..., SmallApp], sqlite_book: Book
) -> None:
    app = desk(lambda: ExaminationScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        await type_line(pilot, SECOND)
        await pilot.press("f6")
        await on(pilot, PickSigns)
        await pilot.press(*"flash", "enter")  # what else people say for it
        await pilot.press(*"gasp", "enter")
        await settle(pilot)
        await looks_as(pilot, "examination_signs_80")
        await pilot.press("f2")
        await on(pilot, ExaminationScreen)
        line = app.screen.query_one("#exam-line", Input).value
        assert line == (
            "koi, 38 cm, rubs or flashes, gasps; gill clip 100x 5 fields: gill flukes 4"
        )
        await pilot.press("f6")
        await on(pilot, PickSigns)
        await pilot.press(*"gasp", "enter", "f2")  # and put back
        await on(pilot, ExaminationScreen)
        assert "gasps" not in app.screen.query_one("#exam-line", Input).value


async def test_occasion_and_control_of_a_course(
    pond: UUID, desk: Callable[..., SmallApp], sqlite_book: Book, act: Act
) -> None:
    plan = two_agents(act, sqlite_book, days_ago=40)
    key = kept(sqlite_book, act, pond, plan, days_ago=40)
    app = desk(lambda: ExaminationScreen(pond, key))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        assert "control · now · by whoever saves · of 2 Feb 2026: formalin" in flat(app)
        await pilot.press("f4")
        screen = await on(pilot, OccasionScreen)
        screen.query_one(Form).fill({"on_day": "yesterday", "at_time": "soon"})
        await settle(pilot)
        await pilot.press("f2")
        await settle(pilot)
        assert isinstance(app.screen, OccasionScreen)
        screen.query_one(Form).fill({"at_time": "16:20", "examiner": "Bo Desk"})
        await settle(pilot)
        await looks_as(pilot, "examination_occasion_80")
        await pilot.press("f2")
        await on(pilot, ExaminationScreen)
        assert "control · yesterday 16:20 · by Bo Desk" in flat(app)
        await type_line(pilot, SECOND)
        await pilot.press("f2")
        await on(pilot, ExaminationPageScreen)
        assert any("Brush, rinse, dip" in one.message for one in app._notifications)
    (one,) = examinations_of(sqlite_book, pond)
    assert (one.exam.course_id, one.exam.purpose, one.exam.examiner) == (key, "control", "Bo Desk")
    assert one.exam.at.hour == 16
    assert course(sqlite_book, key).control_done is None  # doses are still to be given


async def test_what_was_entered_before_is_asked_about(
    pond: UUID, desk: Callable[..., SmallApp], sqlite_book: Book, act: Act
) -> None:
    enter(
        sqlite_book, act, pond,
        exam(koi(GILL, SKIN), at=act.at - timedelta(minutes=20)),
    )  # fmt: skip
    app = desk(lambda: ExaminationScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        await type_line(
            pilot,
            "koi; gill (left) 100x 5 fields: gill flukes 23 motile; skin 100x 5 fields: costia ++ "
            "suspected",
        )
        await pilot.press("f2")
        await on(pilot, Ask)
        assert "Entered before?" in screen_text(app)
        await pilot.press("enter")  # the safe answer
        await on(pilot, ExaminationScreen)
    assert len(examinations_of(sqlite_book, pond)) == 1


async def test_hostile_words_stay_words(
    pond: UUID, desk: Callable[..., SmallApp], sqlite_book: Book
) -> None:
    app = desk(lambda: ExaminationScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        await type_line(pilot, f"koi; mark {HOSTILE[0]}; skin: nothing // {HOSTILE[3]}")
        await type_line(pilot, f"{HOSTILE[0]} 10 min", "#exam-gear")
        assert not any(HARMFUL & set(line) for line in screen_lines(app))
        await pilot.press("f2")
        await on(pilot, ExaminationPageScreen)
        assert not any(HARMFUL & set(line) for line in screen_lines(app))
    assert len(examinations_of(sqlite_book, pond)) == 1


async def test_an_empty_examination_is_not_saved(
    pond: UUID, desk: Callable[..., SmallApp], sqlite_book: Book
) -> None:
    app = desk(lambda: ExaminationScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        await pilot.press("f2")
        await settle(pilot)
        assert "at least one fish" in screen_text(app)
    assert not examinations_of(sqlite_book, pond)
