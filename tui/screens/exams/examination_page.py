"""One examination: fish by fish what was found, what it means, and what followed from it."""

from __future__ import annotations

from collections.abc import Coroutine
from typing import TYPE_CHECKING, Any, ClassVar, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content

from store.errors import PondroundError
from tui.said import said_moment
from tui.screens.exams.examination_lines import (
    ExamKey,
    exam_rows,
    finding_of,
    meaning_lines,
    said_facts,
    told,
)
from tui.screens.parts.dialogs import Tell
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.page import PageScreen
from tui.screens.ponds.pond_lines import head_name
from tui.widgets.columns import Column
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.literal import cut
from tui.widgets.static import Static
from tui.widgets.strip import BottomStrip
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.courses.kept.exam_page import ExamPage
    from tui.app import PondroundApp

COLUMNS = (Column("part", "", 7), Column("said", "", 20, weight=1))
_LOW_LINES = 24


class ExaminationPageScreen(PageScreen):
    """Everything about one examination on one screen.

    Parameters
    ----------
    examination
        Its key.
    """

    CSS_PATH = "../sheets/examination.tcss"
    QUESTION = "What was found, what does it mean, and what followed from it?"
    ABOUT = (
        "At the top what the findings mean, the heaviest first; it is never a verdict, and each "
        "has its source in the strip below. Then fish by fish its preparations and findings. A "
        "finding is corrected with a reason; the first one stays to be read. Below the fish stand "
        "samples at a laboratory, the course that this examination controls, and the courses that "
        "answered it. Enter opens a course, enters a report, or corrects a finding."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", show=False, id="examined.back", tooltip="Back one step"),
        Binding("c", "correct", "correct", id="examined.correct",
                tooltip="Correct the finding under the cursor, with a reason"),
        Binding("l", "sample", "sample", id="examined.sample",
                tooltip="Note a sample for a laboratory, of the fish under the cursor"),
        Binding("p", "plan", "plan a course", id="examined.plan",
                tooltip="Plan a course against what was found"),
        Binding("a", "controls", "control of", id="examined.controls",
                tooltip="Say which course this examination controls"),
        Binding("n", "add", "add", id="examined.add",
                tooltip="Add a finding that was forgotten, to the preparation under the cursor"),
        Binding("x", "strike", "strike", show=False, id="examined.strike",
                tooltip="Strike the examination through; it stays readable and no longer counts"),
        Binding("o", "pond", "pond", show=False, id="examined.pond", tooltip="Open the pond"),
        Binding("f5", "again", "look again", show=False, id="examined.again",
                tooltip="Read the examination anew"),
    ]  # fmt: skip

    def __init__(self, examination: UUID) -> None:
        super().__init__()
        self.examination = examination
        self.page: ExamPage | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, what it means, fish by fish, strip."""
        yield Top("reading the examination …", id="examined-head")
        yield Static("", id="examined-facts", markup=False)
        yield Static("", id="examined-means", markup=False)
        yield Line()
        yield LineGrid(COLUMNS, empty="reading …", gutter="mark", id="examined-list")
        yield Line()
        yield BottomStrip(id="examined-strip")
        yield Foot()

    @property
    def was_read(self) -> bool:
        """Whether there is something to show already."""
        return self.page is not None

    def on_mount(self) -> None:
        """The lines have the keys; the examination is read behind the first paint."""
        self.query_one(LineGrid).focus()
        self._read()

    @work(exclusive=True, group="examined-read")
    async def _read(self) -> None:
        from store.courses.kept.exam_page import exam_page

        app = self.ponds_app
        try:
            self.page = await app.ask_store(exam_page, app.book, self.examination, app.now())
        except PondroundError as trouble:
            self.query_one(Top).place = trouble.title
            app.tell(trouble)
            return
        self.query_one(LineGrid).show(exam_rows(self.page))
        self._show_head()
        self._explain()
        self.refresh_bindings()

    # Showing

    def _show_head(self) -> None:
        page = self.page
        if page is None:
            return
        width = self.size.width - 2
        top = self.query_one(Top)
        top.place = f"{head_name(page.card)}: examination"
        top.moment = said_moment(page.kept.exam.at, page.zone, page.today)
        facts = self.query_one("#examined-facts", Static)
        facts.update(Content.styled(cut(said_facts(page), width), "$quiet"))
        most = 2 if self.size.height < _LOW_LINES else 4 if self.size.height < 36 else 8
        self.query_one("#examined-means", Static).update(meaning_lines(page, width, most))

    def _here(self) -> ExamKey | None:
        key = self.query_one(LineGrid).cursor_key
        return key if isinstance(key, ExamKey) else None

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        key = self._here()
        shown = told(self.page, key) if self.page is not None and key is not None else None
        self.query_one(BottomStrip).show(shown)
        self.refresh_bindings()

    # Keys

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """What can be done depends on the line, and on whether the examination still counts."""
        page = self.page
        if page is not None and action in {
            "correct", "sample", "plan", "controls", "add", "strike"
        }:  # fmt: skip
            if page.kept.struck_why:
                return False
            key = self._here()
            if action == "correct":
                return key is not None and key.kind == "finding" and _stands(page, key)
            if action == "add":
                return key is not None and key.fish is not None and key.kind != "sample"
            if action == "plan":
                return bool(page.kept.exam.hazards)
            if action == "controls":
                return bool(page.others)
        return super().check_action(action, parameters)

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)

    def action_again(self) -> None:
        """Read the examination anew."""
        self._read()

    def action_pond(self) -> None:
        """Open the pond."""
        if self.page is not None:
            self.ponds_app.open_pond(self.page.kept.pond_id)

    def action_correct(self) -> None:
        """Correct the finding under the cursor."""
        from tui.screens.exams.examination_acts import CorrectFindingScreen

        key = self._here()
        if self.page is not None and key is not None and key.kind == "finding":
            one, prep = finding_of(self.page, key.key)
            self.app.push_screen(CorrectFindingScreen(one, prep))

    def action_add(self) -> None:
        """Add a finding that was forgotten."""
        from tui.screens.exams.examination_acts import AddFindingScreen

        key = self._here()
        if self.page is None or key is None or key.fish is None:
            return
        prep = key.key if key.kind == "prep" else None
        if key.kind == "finding":
            prep = self.page.kept.finding(key.key).preparation_id
        self.app.push_screen(AddFindingScreen(self.page, key.fish, prep))

    def action_sample(self) -> None:
        """Note a sample for a laboratory."""
        from tui.screens.exams.specimen_forms import SampleScreen

        key = self._here()
        if self.page is not None:
            self.app.push_screen(SampleScreen(self.page, None if key is None else key.fish))

    def action_plan(self) -> None:
        """Plan a course against what was found."""
        from tui.screens.exams.examination_acts import plan_from

        if self.page is not None:
            plan_from(self.app, self.page)

    def action_controls(self) -> None:
        """Say which course it controls."""
        from tui.screens.exams.examination_acts import choose_course

        if self.page is not None:
            self._flow(choose_course(self.app, self.page))

    def action_strike(self) -> None:
        """Strike the examination through."""
        from tui.screens.exams.examination_acts import strike

        if self.page is not None:
            self._flow(strike(self.app, self.page))

    @on(LineGrid.Opened)
    def _opened(self, opened: LineGrid.Opened) -> None:
        from tui.screens.courses.course import CourseScreen
        from tui.screens.exams.specimen_forms import ReportScreen

        page, key = self.page, opened.key
        if page is None or not isinstance(key, ExamKey):
            return
        if key.kind in ("controls", "answer"):
            self.app.push_screen(CourseScreen(key.key))
            return
        if key.kind == "sample":
            one = next(one for one in page.samples if one.id == key.key)
            if one.struck_at is None:
                self.app.push_screen(ReportScreen(one))
                return
        elif key.kind == "finding" and _stands(page, key) and not page.kept.struck_why:
            self.action_correct()
            return
        whole = told(page, key)
        parts = (whole.arithmetic, whole.source, whole.advice)
        self.app.push_screen(Tell(whole.head, "\n\n".join(part for part in parts if part)))

    def _flow(self, flow: Coroutine[Any, Any, None]) -> None:
        self.run_worker(flow, group="examined-flow", exclusive=True)


def _stands(page: ExamPage, key: ExamKey) -> bool:
    return page.kept.finding(key.key).stands
