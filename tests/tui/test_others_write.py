"""What somebody else writes into the book appears by itself; what is being typed stays."""

from __future__ import annotations

from pathlib import Path

import pytest
from one_pond import add_one_pond

from store.book.act import Act
from store.book.opening import open_book
from store.book.people import staff
from tests.conftest import NOW
from tui import others
from tui.app import PondroundApp
from tui.messages import BookChanged
from tui.screens.directory.directory import DirectoryScreen
from tui.screens.parts.edit import NewPondScreen
from tui.widgets.fields import Form


async def test_what_another_program_writes_is_seen_without_starting_anew(
    book_address: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(others, "LOOK_EVERY_S", 0.1)
    posted: list[type] = []
    post = PondroundApp._post
    monkeypatch.setattr(
        PondroundApp, "_post", lambda app, kind: (posted.append(type(kind())), post(app, kind))[1]
    )
    app = PondroundApp(
        lambda: open_book(book_address, now=NOW), now=lambda: NOW, drafts=tmp_path / "drafts.json"
    )
    async with app.run_test(size=(80, 24)) as pilot:
        for _ in range(200):
            await pilot.pause(0.02)
            if app.book_is_open:
                break
        await pilot.press("2")
        await pilot.pause(0.3)
        assert isinstance(app.screen, DirectoryScreen)
        app.push_screen(NewPondScreen())
        await pilot.pause(0.1)
        form = app.screen.query_one(Form)
        form.fill({"client.name": "Half typed"})
        assert posted.count(BookChanged) == 0
        with open_book(book_address, now=NOW) as other:
            add_one_pond(other, Act(staff(other)[0].id, NOW), client="Quarry Farm")
        for _ in range(200):
            await pilot.pause(0.02)
            if BookChanged in posted:
                break
        assert BookChanged in posted
        assert form.values["client.name"] == "Half typed"
        await pilot.press("escape")
        for _ in range(200):
            await pilot.pause(0.02)
            if "Quarry Farm" in str(app.export_screenshot()).replace("&#160;", " "):
                break
        else:
            raise AssertionError("the other one's client is not there")
        # One's own writing is not told a second time.
        count = posted.count(BookChanged)
        with app.book.writing(Act(staff(app.book)[0].id, NOW)) as writing:
            writing.add("client", name="Own")
        await pilot.pause(0.4)
        assert posted.count(BookChanged) == count
    app.book.close()
