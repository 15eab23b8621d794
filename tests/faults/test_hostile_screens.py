"""Every screen of the application on a practice in hostile words."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from sqlalchemy import select

from store.book.columns import Base
from store.book.opening import open_book
from tests.faults.hostile import TALLY, hostile
from tests.faults.hostile_demo import NOW, dress_raw, hostile_demo
from tests.faults.hostile_walk import Walk

DEPTH = int(os.environ.get("PONDROUND_HOSTILE_DEPTH", "3"))


@pytest.mark.parametrize("written", ["kept", "raw"])
async def test_every_screen_shows_words_as_words(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, written: str
) -> None:
    texts = hostile(huge=False)
    path = tmp_path / "book.pondround"
    hostile_demo(path, texts)
    if written == "raw":
        dress_raw(path, texts[::-1])
    work = tmp_path / "work"
    work.mkdir()
    monkeypatch.chdir(work)
    with open_book(path, now=NOW) as book:
        with book.reading() as connection:
            ponds, clients = (
                list(connection.execute(select(Base.metadata.tables[name].c.id)).scalars())
                for name in ("pond", "client")
            )
        walk = Walk(book, tmp_path / "drafts.json", texts)
        async with walk.app.run_test(size=(120, 60), notifications=True) as pilot:
            walk.pilot = pilot
            await walk.opened()
            for pond in ponds:
                walk.app.open_pond(pond)
                await walk.rest()
                await walk.press("f1")
                await walk.press("escape")
                for key in ("pagedown", "end", "escape"):
                    await walk.press(key)
            for client in clients:
                walk.app.open_client(client)
                await walk.rest()
                for key in ("down", "pagedown", "end", "escape"):
                    await walk.press(key)
            if written == "kept":
                await walk.all_places(DEPTH)
            else:
                for place in "1234567":
                    await walk.press(place)
                    for key in ("down", "enter", "end", "escape", "escape"):
                        await walk.press(key)
        print(len(walk.seen), dict(walk.seen), walk.typed)
    TALLY.kept["fields of screens"] += walk.typed
    assert len(walk.seen) > (30 if written == "kept" else 8), walk.seen
    with open_book(path, now=NOW) as book:
        assert book.today(NOW)
    outside = {one.name for one in tmp_path.iterdir() if "pondround" not in one.name}
    assert outside <= {"work", "drafts.json"}
