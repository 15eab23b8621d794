"""What interrupts: safe answers, literal text, everything by keyboard."""

from __future__ import annotations

import pytest
from paper import HARMFUL, HOSTILE_PAGES, Paper
from screen_text import looks_as, screen_lines, screen_text
from textual.widgets import Button, Input, Static

from store.errors import BookTrouble
from tui.screens.parts.dialogs import Ask, AskReason, Choose, Dialog, Option, Reason, Tell
from tui.screens.parts.help import Help
from tui.themes import DAY
from tui.widgets.entry import TextLine

OPTIONS = [Option("level", "level", "worst first"), Option("client", "client"), Option(3, "town")]


async def answer(dialog: Dialog[object], *keys: str) -> list[object]:
    """What the dialog gives back after these keys; empty while it is still open."""
    answers: list[object] = []
    app = Paper(Static("below"))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        app.push_screen(dialog, answers.append)
        await pilot.pause()
        await pilot.press(*keys)
        await pilot.pause()
    return answers


@pytest.mark.parametrize(
    ("keys", "given"),
    [(["enter"], False), (["escape"], False), (["right", "enter"], True), (["tab", "enter"], True),
     (["right", "left", "enter"], False)],
)  # fmt: skip
async def test_a_question_means_no_unless_yes_was_chosen(keys: list[str], given: bool) -> None:
    assert await answer(Ask("Strike this test?", "It stays in the record."), *keys) == [given]


@pytest.mark.parametrize(
    ("keys", "given"),
    [
        (["escape"], [None]),
        (["enter"], []),
        (["space", "enter"], []),
        ([*"away", "enter"], [Reason("away")]),
        (["enter", *"no power", "tab", "tab", "enter"], [Reason("no power")]),
        ([*"x", "tab", "enter"], [None]),
    ],
)
async def test_a_reason_is_never_empty(keys: list[str], given: list[object]) -> None:
    keys = ["space" if key == " " else key for key in keys]
    assert await answer(AskReason("Rest until Mon", "Why?"), *keys) == given


async def test_a_reason_typed_and_not_used_is_handed_out_and_taken_up_again() -> None:
    typed: list[str] = []
    await answer(AskReason("Rest", "Why?", typed=typed.append), *"away", "escape")
    assert typed[-1] == "away"
    assert await answer(AskReason("Rest", "Why?", start=typed[-1]), "s", "enter") == [
        Reason("aways")
    ]


@pytest.mark.parametrize(
    ("keys", "given"),
    [(["escape"], [None]), (["enter"], ["client"]), (["down", "enter"], [3]), (["1"], ["level"]),
     (["3"], [3]), (["9"], []), (["x"], [])],
)  # fmt: skip
async def test_a_choice_by_cursor_or_digit(keys: list[str], given: list[object]) -> None:
    assert await answer(Choose("Sort by", OPTIONS, start="client"), *keys) == given


async def test_nothing_to_choose_says_what_to_do() -> None:
    app = Paper()
    async with app.run_test(size=(80, 24)) as pilot:
        app.push_screen(Choose("Sort by", [], empty="No pond yet. Press a to add one."))
        await pilot.pause()
        assert "No pond yet. Press a to add one." in screen_text(app)
        await pilot.press("enter")
        assert not isinstance(app.screen, Choose)


async def test_a_notice_can_be_copied_and_closed() -> None:
    app = Paper()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        app.push_screen(Tell.of(BookTrouble("Locked by [/nope]. Nothing was lost.")))
        await pilot.pause()
        assert "The book cannot be used" in screen_text(app)
        await pilot.press("c")
        await pilot.pause()
        assert app.clipboard == "The book cannot be used\nLocked by [/nope]. Nothing was lost."
        assert "Handed to the terminal" in screen_text(app)
        app.screen.query_one("#copy", Button).press()
        await pilot.press("enter")
        assert not isinstance(app.screen, Tell)


async def test_a_long_message_is_scrolled_and_the_buttons_stay() -> None:
    app = Paper()
    async with app.run_test(size=(60, 20), notifications=True) as pilot:
        app.push_screen(Tell("Import", "\n".join(f"row {n}: pH 68 is no pH" for n in range(80))))
        await pilot.pause()
        assert "Close" in screen_text(app)
        assert "row 0:" in screen_text(app)
        await pilot.press("pagedown")
        await pilot.pause()
        assert "row 0:" not in screen_text(app)


@pytest.mark.parametrize("text", HOSTILE_PAGES)
async def test_strange_text_is_shown_literally(text: str) -> None:
    app = Paper()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        for dialog in (
            Tell(text, text),
            Ask(text, text, yes=text, no=text),
            AskReason(text, text, accept=text, start=text),
            Choose(text, [Option(1, text, text), Option(2, "x", text)]),
            Choose(text, [], empty=text),
        ):
            app.push_screen(dialog)
            await pilot.pause()
            lines = screen_lines(app)
            assert not any(HARMFUL & set(line) for line in lines)
            if text == "[/nope]":
                assert sum(line.count(text) for line in lines) >= 2
            dialog.action_back()
            await pilot.pause()
            assert not isinstance(app.screen, Dialog)


async def test_harm_cannot_be_typed_or_pasted_into_a_line() -> None:
    async with Paper().run_test() as pilot:
        line = TextLine("\x1b[2Ja")
        await pilot.app.mount(line)
        assert line.value == "�[2Ja"
        line.insert("\u202eb\x9bc", 0)
        await pilot.pause()
        assert line.value == "�b�c�[2Ja"
        assert isinstance(line, Input)


async def test_help_opens_over_a_dialog_and_goes_back_to_it() -> None:
    app = Paper()
    async with app.run_test(size=(80, 24)) as pilot:
        app.push_screen(Ask("Sure?", "It stays."))
        await pilot.pause()
        await pilot.press("f1")
        assert isinstance(app.screen, Help)
        assert "Close without doing anything" in screen_text(app)
        await pilot.press("escape")
        assert isinstance(app.screen, Ask)


@pytest.mark.parametrize(
    ("name", "dialog"),
    [
        ("ask", Ask("Strike this test of Alder Row?", "It stays in the record, struck through.",
                    yes="Strike it", no="Leave it")),
        ("choose", Choose("Sort the list by", OPTIONS)),
    ],
)  # fmt: skip
async def test_it_looks_as_it_was_looked_at(name: str, dialog: Dialog[object]) -> None:
    app = Paper(theme=DAY)
    async with app.run_test(size=(80, 24)) as pilot:
        app.push_screen(dialog)
        await pilot.pause()
        await looks_as(pilot, f"dialog_{name}")


async def test_without_colour_the_option_under_the_cursor_is_underlined(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    app = Paper(Static("below"))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        app.push_screen(Choose("In which order?", OPTIONS))
        await pilot.press("down")
        await pilot.pause()
        underlined = {
            segment.text.strip()
            for strip in app.screen._compositor.render_strips()
            for segment in strip
            if segment.style and segment.style.underline
        }
        assert "client" in underlined
        assert not underlined & {"level", "town"}
