"""A course is planned of a pond whose water to come can be estimated."""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path

from screen_text import screen_text
from small_app import SmallApp
from test_course_plan_screen import fill, follows, settled

from store.book.act import Act
from store.book.book import Book
from store.book.volumes import record_estimate
from store.warmth.kept.fits import make_fit
from tests.courses.test_likely_free import TODAY, carp_pond
from tests.courses.treated_ponds import at_noon
from tui.screens.courses.course_plan import PlanCourseScreen


async def test_the_proposed_interval_says_that_it_is_by_estimate(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    pond = carp_pond(sqlite_book, act, read_until=TODAY - timedelta(days=60))
    with sqlite_book.writing(act) as writing:
        record_estimate(
            writing, pond, method="salt", litres=9000.0, low_l=8000.0, high_l=10_000.0,
            measured_on=sqlite_book.today(act.at), pond_rev=1,
        )  # fmt: skip
    now = at_noon(TODAY)
    assert make_fit(sqlite_book, now) is not None
    app = SmallApp(
        sqlite_book, Act(act.by, now), lambda: PlanCourseScreen(pond), tmp_path / "drafts.json"
    )
    typed = {
        "hazard": "gill_flukes", "1.agent": "trichlorfon", "1.dose": "0.25 mg/L", "1.doses": "3",
        "1.strength": "98 %", "1.basis": "product",
    }  # fmt: skip
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await fill(pilot, typed)
        said = follows(app)
        assert "°C by estimate: every" in said
        assert "temperature is not known" in said, "a dose asks for a measured one all the same"
        assert re.search(r"proposed: every \d d by estimate", screen_text(app))
