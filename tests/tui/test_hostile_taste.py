"""Forty hostile texts in a practice, and what shows it; all thousand go through `tests/faults`."""

from __future__ import annotations

from pathlib import Path

import pytest
from called import NOW, Call
from paper import Paper
from screen_text import screen_text
from textual.events import Paste

from store.book.act import Act
from store.book.opening import open_book
from store.book.people import staff
from store.book.ponds import card
from store.exchange.plain.whose import PondNames
from tests.faults.hostile import MEGABYTE, harmful, hostile
from tests.faults.hostile_calls import judge_file
from tests.faults.hostile_demo import dress
from tests.faults.hostile_walk import Walk
from tui.widgets.entry import TextBox, TextLine

MARKUP = "[@click=app.quit]x[/]"
TABLES = {"client", "site", "pond", "staff", "practice", "visit", "course", "follow_up"}


@pytest.fixture
def hostile_book(own: Path) -> Path:
    texts = hostile(40, huge=False)
    with open_book(own, now=NOW) as book:
        kept = dress(book, Act(staff(book)[0].id, NOW), texts, tables=TABLES)
        one = PondNames(book).one("PEN-1")
        with book.writing(Act(staff(book)[0].id, NOW)) as writing:
            writing.change("pond", one, card(book, one).pond.rev, name=MARKUP)
    assert len(kept) > 35
    return own


async def test_a_whole_text_put_into_some_lines_is_harmless() -> None:
    box = TextBox("")
    async with Paper(box).run_test() as pilot:
        box.text = "one\x1b[2J\n\u202etwo"
        await pilot.pause()
        assert box.text == "one\ufffd[2J\n\ufffdtwo"


async def test_a_megabyte_is_not_pasted_into_a_line() -> None:
    line = TextLine()
    async with Paper(line).run_test() as pilot:
        line.focus()
        line.value = "koi"
        line.cursor_position = 3
        line.post_message(Paste("x" * MEGABYTE))
        await pilot.pause()
        assert line.value == "koi"
        line.post_message(Paste(" pond"))
        await pilot.pause()
        assert line.value == "koi pond"


async def test_a_practice_in_hostile_words_is_shown_literally_and_goes_out_harmless(
    hostile_book: Path, call: Call, tmp_path: Path
) -> None:
    said = ""
    for words in (
        ("morning", "--all"), ("desk",), ("pond", "PEN-1"), ("calendar", "c.ics"),
        ("export", "table", "pond", "p.csv"), ("reminders", "--folder", "."),
        ("report", "visit", "--shape", "pdf", "--telephone", "1", "PEN-1"),
        ("report", "history", "--shape", "markdown", "--telephone", "1", "--out=h.md", "PEN-1"),
    ):  # fmt: skip
        code, out, err = call(*words, "--book", hostile_book)
        assert code == 0, (words, err)
        assert not harmful(out + err), words
        said += out
    assert MARKUP in said
    files = [one for one in Path().iterdir() if one.is_file()]
    assert {one.suffix for one in files} == {".ics", ".csv", ".txt", ".pdf", ".md"}
    for one in files:
        judge_file(one)
    with open_book(hostile_book, now=NOW) as book:
        walk = Walk(book, tmp_path / "drafts.json", hostile(40, huge=False))
        async with walk.app.run_test(size=(100, 50), notifications=True) as pilot:
            walk.pilot = pilot
            await walk.opened()
            walk.judge()
            walk.app.open_pond(PondNames(book).one("PEN-1"))
            await walk.rest()
            assert MARKUP in screen_text(walk.app)
            for key in ("f1", "escape", "end", "escape", "2", "5"):
                await walk.press(key)
    assert len(walk.seen) >= 4
