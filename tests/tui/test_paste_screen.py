"""What an owner told, pasted: looked through, ticked by hand, kept in words; the same by command."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

from called import Call
from one_pond import add_one_pond
from screen_text import a_moment, looks_as, screen_text
from small_app import SmallApp
from textual import events as textual_events

from store.book.act import Act
from store.book.book import Book
from store.book.events import events
from store.book.ponds import cards
from store.exams.deaths import deaths_of
from store.water.water_tests import list_tests
from tui.screens.exchange.bring_in import BringInScreen
from tui.screens.exchange.paste_in import PasteScreen
from tui.screens.exchange.paste_when import WhenTold
from tui.screens.parts.dialogs import Ask, Choose
from tui.widgets.fields import Form

MESSAGE = (
    "temp 12.5 this morning, ammonia 0.25, two koi flashing, did a 20 % change on Mon.\n"
    "Added 2 kg of salt. Lost 1 koi. pH 68"
)


async def _until(pilot: Any, kind: type[Any], text: str = "") -> Any:
    for _ in range(300):
        await a_moment(0.01)
        screen = pilot.app.screen
        if isinstance(screen, kind) and text in " ".join(screen_text(pilot.app).split()):
            return screen
    raise AssertionError(screen_text(pilot.app))


async def test_a_message_is_pasted_ticked_and_kept(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    pond = add_one_pond(sqlite_book, act)
    before = len(list_tests(sqlite_book, pond))
    app = SmallApp(sqlite_book, act, lambda: PasteScreen(None, pond), tmp_path / "drafts")
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await _until(pilot, PasteScreen, "Told of Alder Row")
        app.post_message(textual_events.Paste(MESSAGE))
        await _until(pilot, PasteScreen, "6 seen 0 ticked")
        # Nothing of it is a value yet, and no day stands in it: it is asked.
        await pilot.press("tab", "enter")
        await _until(pilot, WhenTold, "When was it written?")
        await pilot.press(*"Fri", "enter")
        await _until(pilot, PasteScreen, "Fri 13 Mar")
        await pilot.press("home", "down")
        await looks_as(pilot, "paste_80")
        # The hour that was only supposed is shown to be confirmed, once for both readings.
        await pilot.press("space")
        await _until(pilot, WhenTold, "12.5 °C: when?")
        await pilot.press("enter")
        await _until(pilot, PasteScreen, "1 ticked")
        await pilot.press("down", "space", "down", "down", "space")
        # Mon was reckoned: the person sees from what.
        await _until(pilot, WhenTold, "“on Mon” is 9 Mar 2026, reckoned from 13 Mar 2026.")
        await pilot.press("enter")
        await _until(pilot, PasteScreen, "3 ticked")
        await pilot.press("down", "space")
        await _until(pilot, PasteScreen, "is never taken as a dose that was given. Enter it by")
        await pilot.press("down", "space")
        await _until(pilot, PasteScreen, "4 ticked")
        await pilot.press("down", "space")
        await _until(pilot, Choose, "“pH 68” cannot be. pH 6.8?")
        await pilot.press("escape")
        # What is left stays as a draft, with its ticks.
        await _until(pilot, PasteScreen, "4 ticked")
        await pilot.press("escape")
        await pilot.pause()
        app.push_screen(PasteScreen(None, pond))
        await _until(pilot, PasteScreen, "4 ticked")
        await pilot.press("f2")
        await _until(pilot, Ask, "Mon 9 Mar: water changed")
        assert len(list_tests(sqlite_book, pond)) == before
        await pilot.press("right", "enter")
        for _ in range(300):
            await a_moment(0.01)
            if app.changes:
                break
    (test,) = [one for one in list_tests(sqlite_book, pond) if one.way == "file"]
    assert set(test.readings) == {"temperature_c", "tan_mg_l"}
    assert test.taken_at.astimezone(sqlite_book.zone).isoformat() == "2026-03-13T09:00:00+00:00"
    assert "told by the owner (13 Mar 2026): “temp 12.5 this morning”" in test.note
    told = {one.kind: one for one in events(sqlite_book, pond, since=date(2026, 3, 9))}
    assert told["note"].note == MESSAGE
    assert told["water_changed"].on_day == date(2026, 3, 9)
    assert "salt_added" not in told
    assert [one.dead for one in deaths_of(sqlite_book, pond)] == [1]
    assert app.drafts.of("paste-in", pond).values == {}


async def test_from_the_form_for_files_a_text_is_opened_or_pasted(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_one_pond(sqlite_book, act)
    path = tmp_path / "diary.txt"
    path.write_text("2 March 2026: pH 7.8\n3 March 2026: one koi dead\n", encoding="utf-8")
    app = SmallApp(sqlite_book, act, lambda: BringInScreen("lower pond"), tmp_path / "drafts")
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        form = (await _until(pilot, BringInScreen)).query_one(Form)
        form.fill({"file": str(path), "kind": "messages"})
        await pilot.press("f2")
        await _until(pilot, PasteScreen, "2 parts 2 seen")
        await pilot.press("escape")
        await _until(pilot, BringInScreen)
        form.fill({"file": "", "kind": "messages"})
        await pilot.press("f2")
        await _until(pilot, PasteScreen, "Paste or type what was told")
    assert deaths_of(sqlite_book, cards(sqlite_book)[0].pond.id) == ()


def test_the_command_lists_first_and_saves_what_is_named(own: Path, call: Call) -> None:
    Path("chat.txt").write_text(
        "[12/03/2026, 19:02] Ann: temp 9, nitrite 0.1\n[13/03/2026, 7:10] Ann: pH 68, one koi died",
        encoding="utf-8",
    )
    words = ("--book", own, "--as", "Rafe Kestrick", "import", "told", "chat.txt", "--pond")
    name = "Roof pond"
    code, out, _ = call(*words, name)
    assert code == 0
    assert "  3  pH 6.8 (typed 68): “pH 68”" in out
    assert out.endswith("Nothing was saved; --take 1,3 takes what you name.\n")
    code, _, wrong = call(*words, name, "--take", "all")
    assert (code, "--hour message" in wrong) == (1, True)
    code, out, _ = call(*words, name, "--take", "all,3:1,4", "--hour", "message")
    assert (code, out.splitlines()[-1]) == (
        0, "Saved 2 notes in words, 3 readings, 1 death count.",
    )  # fmt: skip
    code, out, _ = call(*words, name, "--take", "1,4", "--hour", "8:00", "--json")
    saved = json.loads(out)["saved"]
    assert (code, saved["already"], saved["readings"], saved["words"]) == (0, 2, 0, 0)
    code, _, wrong = call(*words, name, "--take", "9")
    assert (code, wrong) == (1, "There is no line 9; nothing was saved. The list shows which.\n")
