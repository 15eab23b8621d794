"""The mix sheet of a medicated feed with its label, written to a file as text, Markdown or PDF."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING
from uuid import UUID

from tui.screens.courses.course_sheet import SheetScreen

if TYPE_CHECKING:
    from store.book.ponds import PondCard
    from store.courses.planning.course import Plan
    from store.paper.paper import Letterhead, Paper
    from store.reports.kept.head import Head


class MixSheetScreen(SheetScreen):
    """What lies beside the scale: of a course in the book, or of a feed that is being planned.

    Parameters
    ----------
    key
        Key of the course; of the pond where `plan` is given.
    plan
        A feed that is not kept yet.
    """

    HEAD, DRAFT, FILE = "Mix sheet", "mix", "feed"
    QUESTION = "How is the feed mixed?"
    ABOUT = (
        "The sheet says what is weighed for each batch, the order of work, what protects the one "
        "who mixes, how long the feed keeps, and holds the label. It goes to a file; one that is "
        "there already is never written over."
    )

    def __init__(self, key: UUID, plan: Plan | None = None) -> None:
        super().__init__(key)
        self._plan = plan

    def _read(self) -> tuple[Plan, PondCard, Head, str]:
        if self._plan is None:
            return super()._read()
        from store.book.ponds import card
        from store.reports.kept.head import head_of

        book = self.ponds_app.book
        return self._plan, card(book, self.course), head_of(book), ""

    def paper_of(self, plan: Plan, letterhead: Letterhead, today: date) -> Paper:
        """The mix sheet of the plan's feed, mixed today; runs beside the screen."""
        from store.courses.papers.mix_sheet import feed_mix, mix_paper

        names = (letterhead.client, letterhead.pond)
        mix = feed_mix(plan, today, ", ".join(dict.fromkeys(names)))
        return mix_paper(mix, letterhead, today, use=plan.water.use, prescribed=self._plan is None)
