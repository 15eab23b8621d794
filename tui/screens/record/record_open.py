"""From a line of the record to the page of what it is about."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from uuid import UUID

from textual.screen import Screen

from tui.screens.parts.dialogs import Tell

if TYPE_CHECKING:
    from store.record.told import Told


def open_page(screen: Screen[Any], line: Told) -> None:
    """Open the page of what a line is about, or of the nearest thing that has one."""
    page = None if line.page is None else page_of(*line.page, line.pond)
    if page is None:
        screen.app.push_screen(
            Tell(
                "No page of its own",
                f"A {line.kind} has no page of its own, and belongs to nothing that has one. "
                "e shows everything that this line says; the practice, its people and kits stand "
                "in the directory under p.",
            )
        )
    else:
        screen.app.push_screen(page)


def page_of(table: str, key: UUID, pond: UUID | None) -> Screen[Any] | None:
    """The page of a row; None where there is none.

    Parameters
    ----------
    table, key
        Of the row.
    pond
        The pond it belongs to.
    """
    if table == "water_test" and pond is not None:
        from tui.screens.water.opened_test import OpenedTestScreen

        return OpenedTestScreen(pond, key)
    if table == "course":
        from tui.screens.courses.course import CourseScreen

        return CourseScreen(key)
    if table == "visit":
        from tui.screens.diary.visit import VisitScreen

        return VisitScreen(key)
    if table == "examination":
        from tui.screens.exams.examination_page import ExaminationPageScreen

        return ExaminationPageScreen(key)
    if table == "call_note":
        from tui.screens.desk.call_page import CallPageScreen

        return CallPageScreen(key)
    if table == "pond":
        from tui.screens.ponds.pond import PondScreen

        return PondScreen(key)
    if table == "client":
        from tui.screens.desk.client import ClientScreen

        return ClientScreen(key)
    return None
