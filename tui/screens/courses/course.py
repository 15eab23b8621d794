"""The page of one course: what goes in, when, what was given, and what is in the water."""

from __future__ import annotations

from collections.abc import Coroutine
from typing import TYPE_CHECKING, Any, ClassVar, Literal, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content

from store.errors import PondroundError
from tui.screens.courses.course_chart import chart_data
from tui.screens.courses.course_lines import (
    CourseKey,
    course_rows,
    due_lines,
    first_key,
    said_facts,
    said_name,
    told,
)
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.page import PageScreen
from tui.screens.ponds.pond_lines import head_name
from tui.widgets.chart import TimeChart
from tui.widgets.columns import Column
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.literal import cut
from tui.widgets.static import Static
from tui.widgets.strip import BottomStrip
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.courses.kept.course_page import CoursePage, Curve
    from tui.app import PondroundApp

Asks = Literal["answer", "anew"]
COLUMNS = (
    Column("when", "When", 6),
    Column("what", "What", 20, weight=1),
    Column("who", "Who", 9, drop_order=1),
)
_LOW_LINES = 24
"""On fewer lines the chart gives way to the plan."""


class CourseScreen(PageScreen):
    """Everything about one course on one screen.

    Parameters
    ----------
    course
        Key of the course.
    asks
        What a vet is asked at once: to answer a stop, or to plan anew; None only shows the course.
    """

    CSS_PATH = "../sheets/course.tcss"
    QUESTION = "What goes in, when, and is it safe?"
    ABOUT = (
        "At the top what is due and what slipped. The chart shows what the doses bring into the "
        "water: reckoned from what was given and, dimmer, as it would go on with what is overdue "
        "given today, under the highest dose that is published; it follows the agent of the line. "
        "Below stands the plan day by day with what was given; the strip tells where a number "
        "comes from. Where the pond's temperature can be estimated, a dim line at the end tells "
        "between which days the last egg is likely to have hatched. Enter on a dose logs it, on "
        "an entry of the log strikes it through; t opens the tasks to be ticked; e enters the "
        "control examination. l goes to the course before or after this one, w tells whether it "
        "worked. Where a dose was logged against a stop, a vet answers it in writing with a."
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", show=False, id="course.back", tooltip="Back one step"),
        Binding("d", "dose", "log dose", id="course.dose",
                tooltip="Log the dose that is due, or the one under the cursor"),
        Binding("n", "anew", "plan anew", id="course.anew",
                tooltip="Plan what remains anew; what would change is told first"),
        Binding("b", "begin", "begin", id="course.begin",
                tooltip="Begin a course that is planned; for a vet"),
        Binding("x", "end", "end", id="course.end",
                tooltip="End the course: completed, stopped early, or changed"),
        Binding("t", "tasks", "tasks", id="course.tasks",
                tooltip="The tasks of the course, to be ticked; the control examination too"),
        Binding("s", "sheet", "sheet", id="course.sheet",
                tooltip="Write the owner's sheet, or how a feed is mixed, to a file"),
        Binding("a", "answer", "answer a stop", show=False, id="course.answer",
                tooltip="Answer in writing a stop against which a dose was logged; for a vet"),
        Binding("p", "step(1)", "next agent", show=False, id="course.step",
                tooltip="Chart the next agent of the course"),
        Binding("o", "pond", "pond", show=False, id="course.pond", tooltip="Open the pond"),
        Binding("c", "another", "another", show=False, id="course.another",
                tooltip="Plan another course for this pond; in the place of one that was changed"),
        Binding("l", "beside", "course beside", show=False, id="course.beside",
                tooltip="The course that this one takes the place of, or that follows it"),
        Binding("e", "control", "control", show=False, id="course.control",
                tooltip="Enter the control examination: fish by fish what the microscope shows"),
        Binding("f", "eating", "eating", show=False, id="course.eating",
                tooltip="May the fish be eaten, and from which day"),
        Binding("w", "outcome", "did it work", show=False, id="course.outcome",
                tooltip="Did it work: what was found before against what was found after"),
        Binding("v", "visit", "visit", show=False, id="course.visit",
                tooltip="Book the visit for what is due: slots with their reasons"),
        Binding("H", "record", "record", show=False, id="course.record",
                tooltip="Who changed what of this course, when, and why"),
        Binding("f5", "again", "look again", show=False, id="course.again",
                tooltip="Read the course anew"),
    ]  # fmt: skip

    def __init__(self, course: UUID, *, asks: Asks | None = None) -> None:
        super().__init__()
        self.course, self._asks = course, asks
        self.page: CoursePage | None = None
        self._step = 0

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, what is due, chart, plan, strip."""
        yield Top("reading the course …", id="course-head")
        yield Static("", id="course-facts", markup=False)
        yield Static("", id="course-due", markup=False)
        yield Line()
        yield TimeChart(id="course-chart")
        yield Line(id="course-chart-line")
        yield LineGrid(COLUMNS, empty="reading the course …", gutter="mark", id="course-list")
        yield Line()
        yield BottomStrip(id="course-strip")
        yield Foot()

    @property
    def was_read(self) -> bool:
        """Whether there is something to show already."""
        return self.page is not None

    def on_mount(self) -> None:
        """The plan has the keys; the course is read behind the first paint."""
        self.query_one(LineGrid).focus()
        self._read()

    @work(exclusive=True, group="course-page")
    async def _read(self) -> None:
        from store.courses.kept.course_page import course_page

        app = self.ponds_app
        try:
            page = await app.ask_store(course_page, app.book, self.course, app.now())
        except PondroundError as trouble:
            self.query_one(Top).place = trouble.title
            app.tell(trouble)
            return
        first_look = self.page is None
        self.page = page
        # Before the rows are shown: the strip asks for the cursor's line.
        grid = self.query_one(LineGrid)
        grid.show(course_rows(page))
        if first_look and (key := first_key(page)) is not None:
            grid.move_to(key, at_top=True)
        self._show_head()
        self._show_chart()
        self._explain()
        self.refresh_bindings()
        asks, self._asks = self._asks, None
        if asks == "answer" and page.unanswered:
            self.action_answer()
        elif asks == "anew" and page.course.state == "running":
            self.action_anew()

    # Showing

    def _show_head(self) -> None:
        page = self.page
        if page is None:
            return
        width = self.size.width
        top = self.query_one(Top)
        top.place = f"{head_name(page.line.card)}: {page.line.name}"
        top.moment = f"{page.line.given} of {page.line.doses} given"
        facts = self.query_one("#course-facts", Static)
        facts.update(Content.styled(cut(said_facts(page), width - 2), "$quiet"))
        most = 1 if self.size.height < _LOW_LINES else 2 if self.size.height < 36 else 5
        self.query_one("#course-due", Static).update(due_lines(page, width - 2, most))

    def _curve(self) -> Curve | None:
        if self.page is None or not self.page.curves:
            return None
        return self.page.curves[self._step % len(self.page.curves)]

    def _show_chart(self) -> None:
        chart, line = self.query_one(TimeChart), self.query_one("#course-chart-line")
        curve = self._curve()
        chart.display = line.display = curve is not None and self.size.height >= _LOW_LINES
        if curve is not None:
            chart.show(chart_data(curve, said_name(curve.step)))

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        key = self.query_one(LineGrid).cursor_key
        strip = self.query_one(BottomStrip)
        if self.page is None or not isinstance(key, CourseKey):
            strip.show(None)
            return
        curves = {one.step.place: one for one in self.page.curves}
        strip.show(told(self.page, key, curves.get(key.place)))
        if key.place in curves and curves[key.place] is not self._curve():
            # The chart follows the cursor from one agent to the next.
            self._step = list(curves).index(key.place)
            self._show_chart()

    # Keys

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """What can be done depends on whether the course is planned, runs, or has ended."""
        if self.page is not None:
            state = self.page.course.state
            if action == "begin":
                return state == "planned"
            if action in {"dose", "anew"}:
                return state == "running"
            if action == "answer":
                return bool(self.page.unanswered)
            if action == "control":
                return state != "planned"
            if action == "end":
                return state in {"planned", "running"}
        return super().check_action(action, parameters)

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)

    def action_again(self) -> None:
        """Read the course anew."""
        self._read()

    def action_step(self, by: int) -> None:
        """Chart the next agent."""
        self._step += by
        self._show_chart()

    def action_pond(self) -> None:
        """Open the pond."""
        if self.page is not None:
            self.ponds_app.open_pond(self.page.course.pond_id)

    def action_record(self) -> None:
        """All that was entered and changed of this course."""
        from tui.screens.record.record import RecordScreen

        if self.page is not None:
            reason = self.page.course.plan.reason
            self.app.push_screen(RecordScreen(("course", self.course), f"the course: {reason}"))

    @work(exclusive=True, group="course-flow")
    async def action_visit(self) -> None:
        """Book the visit for what is due of the course."""
        from tui.screens.diary.book_for import book_for_pond

        if self.page is not None:
            pond = self.page.course.pond_id
            await book_for_pond(self.ponds_app, pond, lambda one: one.origin == "course")

    def action_eating(self) -> None:
        """May the fish of the pond be eaten."""
        from tui.screens.ponds.eating import EatingScreen

        if self.page is not None:
            self.app.push_screen(EatingScreen(self.page.course.pond_id))

    def action_outcome(self) -> None:
        """Did it work."""
        from tui.screens.courses.outcome import OutcomeScreen

        if self.page is not None:
            self.app.push_screen(OutcomeScreen(self.course))

    def action_control(self) -> None:
        """Enter the control examination."""
        from tui.screens.exams.examination import ExaminationScreen

        if self.page is not None:
            self.app.push_screen(ExaminationScreen(self.page.course.pond_id, self.course))

    def action_another(self) -> None:
        """Plan another course for the pond."""
        from tui.screens.courses.course_acts import plan_another

        page = self.page
        if page is not None:
            changed = page.course.state == "changed" and not page.after
            plan_another(self.app, page.course.pond_id, page.course if changed else None)

    def action_tasks(self) -> None:
        """The tasks, to be ticked."""
        self._open_tasks(None)

    def _open_tasks(self, task: UUID | None) -> None:
        from tui.screens.courses.course_tasks import TasksScreen

        self.app.push_screen(TasksScreen(self.course, task))

    def action_beside(self) -> None:
        """The course before this one, or after it."""
        from tui.screens.courses.course_acts import open_beside

        if self.page is not None:
            self._flow(open_beside(self.app, self.page))

    def action_dose(self) -> None:
        """Log the dose under the cursor where it is open, else the one that is due."""
        from tui.screens.courses.dose import DoseScreen

        key = self.query_one(LineGrid).cursor_key
        which = ""
        if isinstance(key, CourseKey) and key.kind == "dose":
            which = f"{key.place}:{key.number}"
        self.app.push_screen(DoseScreen(self.course, which))

    def action_anew(self) -> None:
        """Plan what remains anew."""
        from tui.screens.courses.course_acts import plan_anew

        if self.page is not None:
            self._flow(plan_anew(self.app, self.page))

    def action_answer(self) -> None:
        """Answer the stops against which a dose was logged."""
        from tui.screens.courses.course_acts import answer_stops

        if self.page is not None:
            self._flow(answer_stops(self.app, self.page))

    def action_begin(self) -> None:
        """Begin a planned course."""
        from tui.screens.courses.course_acts import begin

        if self.page is not None:
            self._flow(begin(self.app, self.page))

    def action_end(self) -> None:
        """End the course."""
        from tui.screens.courses.course_acts import end

        if self.page is not None:
            self._flow(end(self.app, self.page))

    def action_sheet(self) -> None:
        """The owner's sheet to a file; of a medicated feed its mix sheet as well."""
        from tui.screens.courses.course_acts import open_sheet

        if self.page is not None:
            self._flow(open_sheet(self.app, self.page))

    @on(LineGrid.Opened)
    def _opened(self, opened: LineGrid.Opened) -> None:
        from tui.screens.courses.course_acts import open_given, read_line

        key = opened.key
        if self.page is None or not isinstance(key, CourseKey):
            return
        if key.kind == "given":
            self._flow(open_given(self.app, self.page, key))
        elif key.kind == "dose" and self.page.course.state == "running":
            self.action_dose()
        elif key.kind == "task" and key.key is not None:
            self._open_tasks(key.key)
        elif key.kind == "course" and key.key is not None:
            self.app.push_screen(CourseScreen(key.key))
        else:
            curves = {one.step.place: one for one in self.page.curves}
            self._flow(read_line(self.app, told(self.page, key, curves.get(key.place))))

    def _flow(self, flow: Coroutine[Any, Any, None]) -> None:
        self.run_worker(flow, group="course-flow", exclusive=True)
