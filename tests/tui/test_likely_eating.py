"""The page on eating where the water to come can be estimated."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

from screen_text import a_moment, screen_text
from small_app import SmallApp

from store.book.act import Act
from store.book.book import Book
from store.warmth.kept.fits import make_fit
from tests.courses.test_likely_free import TODAY, carp_pond
from tests.courses.treated_ponds import at_noon
from tui.screens.parts.dialogs import Tell
from tui.screens.ponds.eating import EatingScreen


async def test_the_likely_days_stand_under_the_answer_and_are_told_in_full(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    pond = carp_pond(sqlite_book, act, read_until=TODAY - timedelta(days=5))
    now = at_noon(TODAY)
    assert make_fit(sqlite_book, now) is not None
    app = SmallApp(
        sqlite_book, Act(act.by, now), lambda: EatingScreen(pond), tmp_path / "drafts.json"
    )
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        for _ in range(150):
            await a_moment(0.02)
            if "by estimate" in screen_text(app).casefold():
                break
        await pilot.pause()
        lines = screen_text(app).splitlines()
        rule = next(at for at, line in enumerate(lines) if "Not for eating before" in line)
        said = lines[rule + 1]
        assert "Likely free between" in said
        assert "by estimate; it frees no fish." in said
        assert "must reach 500" in screen_text(app)
        assert any("trichlorfon" in line for line in lines), "the list keeps its place"
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(app.screen, Tell)
        whole = " ".join(screen_text(app).replace("│", " ").split())
        assert "Expected on" in whole
