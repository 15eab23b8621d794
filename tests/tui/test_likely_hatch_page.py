"""A course's page where the water to come can be estimated."""

from __future__ import annotations

from pathlib import Path

from courses_on_screen import shown
from screen_text import screen_text
from small_app import SmallApp

from store.book.act import Act
from store.book.book import Book
from store.warmth.kept.fits import make_fit
from tests.courses.test_likely_hatch import TODAY, fluke_course
from tests.courses.treated_ponds import at_noon
from tui.screens.courses.course import CourseScreen
from tui.screens.courses.course_lines import CourseKey
from tui.widgets.grid import LineGrid


async def test_the_end_of_hatching_by_estimate_is_a_line_that_tells_what_it_rests_on(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    _, key = fluke_course(sqlite_book, act)
    now = at_noon(TODAY)
    assert make_fit(sqlite_book, now) is not None
    app = SmallApp(
        sqlite_book, Act(act.by, now), lambda: CourseScreen(key), tmp_path / "drafts.json"
    )
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        app.screen.query_one(LineGrid).move_to(CourseKey("likely"))
        await shown(pilot)
        said = " ".join(screen_text(app).split())
        assert "last hatch between" in said
        assert "Gill flukes: the last egg has hatched between" in said
        assert "moves no dose" in said
        await pilot.press("enter")
        await pilot.pause(0.05)
        whole = " ".join(screen_text(app).replace("│", " ").split())
        assert "by estimate; last dose" in whole
