"""What is done to an examination: a finding corrected or added, a course planned from it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from uuid import UUID

from textual.app import App

from store.errors import BadInput
from store.text import day_said
from tui.said import said_since
from tui.screens.exams.examination_fields import CELLS, MOTILE, SURE, hazard_choices
from tui.screens.parts.dialogs import AskReason, Choose, Option, Reason
from tui.screens.parts.edit import FormScreen
from tui.screens.ponds.pond_entry import written
from tui.widgets.fields import Field
from tui.widgets.literal import one_line

if TYPE_CHECKING:
    from collections.abc import Mapping

    from store.book.act import Act
    from store.book.book import Book
    from store.book.writing import Writing
    from store.courses.kept.exam_page import ExamPage
    from store.exams.examinations import KeptFinding, KeptPrep


def _finding_fields(texts: Mapping[str, str], *, nothing: bool) -> tuple[Field, ...]:
    """The four fields of a finding; with `nothing` it can be taken back."""
    return (
        Field("hazard", "found", "nothing found takes it back" if nothing else "letters find",
              texts.get("hazard", ""), choices=hazard_choices(nothing=nothing), width=CELLS),
        Field("much", "how much", "all fields, or + to +++", texts.get("much", ""),
              width=CELLS),
        Field("motile", "motile", "", texts.get("motile", "not looked"), choices=MOTILE,
              width=CELLS),
        Field("sure", "sure", "", texts.get("sure", "seen"), choices=SURE, width=CELLS),
    )  # fmt: skip


class CorrectFindingScreen(FormScreen):
    """A finding as it should be, and why; the first one stays to be read.

    Parameters
    ----------
    finding
        As it stands.
    prep
        The preparation in which it was found; None for the naked eye.
    """

    QUESTION = "What was really found, and why is it corrected?"
    ABOUT = (
        "The finding as it stands is struck through with your name and reason, and stays to be "
        "read; the corrected one counts. “Nothing found” takes it back altogether. F2 saves."
    )

    def __init__(self, finding: KeptFinding, prep: KeptPrep | None) -> None:
        from store.exams.fish_form import found_texts
        from store.facts.hazards import hazards

        name = hazards()[finding.found.hazard].plain_name
        where = "by eye" if prep is None else prep.prep.looked_as
        fields = (
            *_finding_fields(found_texts(finding.found), nothing=True),
            Field("why", "why", "the reason stays beside it", lines=2),
        )
        super().__init__(
            one_line(f"Correct: {name}, {where}"), fields, f"correct-finding-{finding.id}"
        )
        self._finding = finding
        self._counted_in = None if prep is None else prep.prep.fields

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """Strike the first through and keep the second."""
        app = self.ponds_app
        return await app.ask_store(
            _correct, app.book, act, self._finding, texts, self._counted_in
        )  # fmt: skip


def _correct(
    book: Book, act: Act, finding: KeptFinding, texts: Mapping[str, str], fields: int | None
) -> UUID:
    from store.exams.examining import correct_finding, strike_finding
    from store.exams.fish_form import NOTHING, read_found

    found = read_found(texts, fields)
    if found is None and texts["hazard"] != NOTHING:
        raise BadInput("What was found? Choose it, or “nothing found”.", field="hazard")
    if not texts["why"].strip():
        raise BadInput("Please write why, in a few words. Nothing was changed.", field="why")
    if found == finding.found:
        raise BadInput("It stands there like that already. Nothing was changed.", field="much")
    with book.writing(act) as writing:
        if found is None:
            strike_finding(writing, finding.id, finding.rev, texts["why"])
            return finding.id
        return correct_finding(writing, finding.id, finding.rev, found, texts["why"])


class AddFindingScreen(FormScreen):
    """A finding that was forgotten.

    Parameters
    ----------
    page
        The examination.
    fish
        Key of the fish.
    prep
        Key of the preparation; None for the naked eye.
    """

    QUESTION = "What else was found?"
    ABOUT = "It is added with your name and the time; what stands there stays as it is. F2 saves."

    def __init__(self, page: ExamPage, fish: UUID, prep: UUID | None) -> None:
        kept = next(one for one in page.kept.fish if one.id == fish)
        under = next((one for one in kept.preparations if one.id == prep), None)
        where = "by eye" if under is None else under.prep.looked_as
        title = one_line(f"Add: fish {kept.fish.nth}, {where}")
        fields = _finding_fields({}, nothing=False)
        super().__init__(title, fields, f"add-finding-{prep or fish}")
        self._fish, self._prep = fish, prep
        self._counted_in = None if under is None else under.prep.fields
        standing = kept.fish.by_eye if under is None else under.prep.found
        self._there = {one.hazard for one in standing}

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """Add it."""
        app = self.ponds_app
        return await app.ask_store(self._add, app.book, act, texts)

    def _add(self, book: Book, act: Act, texts: Mapping[str, str]) -> UUID:
        from store.exams.examining import add_finding
        from store.exams.fish_form import read_found

        found = read_found(texts, self._counted_in)
        if found is None:
            raise BadInput("What was found? Choose it from the list.", field="hazard")
        if found.hazard in self._there:
            raise BadInput("It stands there already; c corrects it.", field="hazard")
        with book.writing(act) as writing:
            return add_finding(writing, self._fish, found, self._prep)


def plan_from(app: App[Any], page: ExamPage) -> None:
    """The form of a course with what was found standing in it; what was kept is opened."""
    from store.facts.hazards import hazards
    from tui.screens.courses.course_plan import PlanCourseScreen

    found = page.kept.exam.hazards
    begun = dict(zip(("hazard", "other_hazard"), found, strict=False))
    named = ", ".join(hazards()[code].plain_name for code in found)
    when = day_said(page.kept.exam.at.astimezone(page.zone).date())  # still true in a week
    begun["reason"] = f"{named}, examination of {when}"

    def kept(key: UUID | None) -> None:
        from tui.screens.courses.course import CourseScreen

        if key is not None:
            app.push_screen(CourseScreen(key))

    app.push_screen(PlanCourseScreen(page.kept.pond_id, None, begun), kept)
    if len(found) > 2:
        app.notify(
            "The form asks for two of what was found; the others stand in the reason.",
            markup=False,
        )


async def choose_course(app: App[Any], page: ExamPage) -> None:
    """Ask which course an examination controls, and keep the answer."""
    options = [
        Option(
            one.id, one_line(one.name),
            f"{one.state}, begun {said_since(one.started_on, page.today)}",
        )
        for one in page.others
    ]  # fmt: skip
    chosen = await app.push_screen_wait(Choose("Which course does it control?", options))
    if not isinstance(chosen, UUID):
        return
    said: list[str] = []
    if await written(app, _say_controls, page, chosen, said):
        app.notify(" ".join(said), markup=False)


def _say_controls(writing: Writing, page: ExamPage, course: UUID, said: list[str]) -> None:
    from store.courses.kept.examined import say_controls

    said.append(say_controls(writing, page.kept.id, page.kept.rev, course).said)


async def strike(app: App[Any], page: ExamPage) -> None:
    """Ask why, and strike an examination through."""
    why = await app.push_screen_wait(
        AskReason(
            "Strike this examination through",
            "Why? It stays readable; nothing of it counts any more. A control that rested on it is "
            "to be made again.",
        )
    )
    if not isinstance(why, Reason):
        return
    opened: list[bool] = []
    if await written(app, _strike, page, why.text, opened) and any(opened):
        app.notify("The control of its course is open again.", markup=False)


def _strike(writing: Writing, page: ExamPage, why: str, opened: list[bool]) -> None:
    from store.courses.kept.examined import strike_control

    opened.append(strike_control(writing, page.kept.id, page.kept.rev, why))
