"""All courses over all ponds: what is due and how late, worst first; then what has ended."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from rich.text import Text
from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.content import Content
from textual.events import Key
from textual.screen import Screen
from textual.widgets import Input

from store.errors import PondroundError
from store.text import day_said
from tui.backing import said_backing
from tui.said import said_day, said_head, said_since
from tui.screens.parts.help import HELP, open_help
from tui.screens.ponds.pond_lines import head_name
from tui.widgets.columns import Column
from tui.widgets.entry import TextLine
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid, Row
from tui.widgets.literal import one_line
from tui.widgets.static import Static
from tui.widgets.strip import BottomStrip, Told
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.courses.kept.over_all import CourseList, EndedCourse
    from store.courses.kept.under_way import UnderWay
    from tui.app import PondroundApp

COLUMNS = (
    Column("pond", "Pond", 12, weight=2),
    Column("what", "Due", 27, weight=2),
    Column("agent", "Course", 12, weight=1, drop_order=1),
    Column("tasks", "Tasks", 6, align="right", drop_order=2),
    Column("given", "Given", 5, align="right", drop_order=3),
    Column("next", "Day", 6, align="right"),
)
EMPTY = (
    "No course runs. Open a pond and press c to plan one; here stands then what goes in, and when."
)


class CoursesScreen(Screen[None]):
    """Every course under way, worst first; all that have ended, where they are asked for."""

    CSS_PATH = "../sheets/course.tcss"
    QUESTION = "Which courses run, and what is due today?"
    ABOUT = (
        "Every course that runs, over all ponds: what is due next and how late it is, worst first; "
        "planned ones stand last. e shows those that have ended as well; / and words look through "
        "all of them: client, pond, agent, reason, state, year. The strip tells why a line stands "
        "where it does. Enter opens a course, d logs a dose of it."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("slash", "find", "find", key_display="/", id="courses.find", priority=True,
                tooltip="Find while typing, also what has ended; esc goes back"),
        Binding("d", "dose", "log a dose", id="courses.dose",
                tooltip="Log a dose of the course under the cursor"),
        Binding("o", "pond", "pond", id="courses.pond", tooltip="Open the pond of the course"),
        Binding("e", "ended", "ended", id="courses.ended",
                tooltip="Show or hide the courses that have ended"),
        Binding("f", "formulary", "formulary", id="courses.formulary",
                tooltip="What can be given: every agent with its doses, and the practice's own"),
        Binding("w", "agents", "did they work", show=False, id="courses.outcome",
                tooltip="Where each agent works and where it fails, over all ponds"),
        Binding("l", "samples", "samples", show=False, id="courses.samples",
                tooltip="Samples at laboratories over all ponds, those awaited first"),
        Binding("escape", "back", "back", show=False, id="courses.back",
                tooltip="Empty the line that is searched for"),
        Binding("f5", "again", "look again", show=False, id="courses.again",
                tooltip="Read the courses anew"),
    ]  # fmt: skip

    def __init__(self) -> None:
        super().__init__()
        self._all: CourseList | None = None
        self._lines: dict[UUID, UnderWay | EndedCourse] = {}
        self._ended = False
        self._today: date | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, the line to search with, the courses, the strip."""
        yield Top("Courses", id="courses-head")
        with Horizontal(id="courses-find"):
            yield Static(Content("find"), id="courses-find-label")
            yield TextLine(
                placeholder="client, pond, agent, reason, state, year", id="courses-text"
            )
        yield Line()
        yield LineGrid(COLUMNS, empty="reading the courses …", header=True, id="courses-list")
        yield Line()
        yield BottomStrip(id="courses-strip")
        yield Foot()

    def on_mount(self) -> None:
        """The list has the keys; it fills behind the first paint."""
        self.query_one("#courses-find").display = False
        self.query_one(LineGrid).focus()
        self._read()

    def on_screen_resume(self) -> None:
        """A dose may have been logged meanwhile."""
        self._read()

    def on_book_opened(self) -> None:
        """The book can be asked now."""
        self._read()

    def on_book_changed(self) -> None:
        """The book has grown: read the courses anew."""
        self._read()

    def _read(self) -> None:
        if getattr(self.app, "book_is_open", True):
            self._read_courses()

    @work(exclusive=True, group="courses")
    async def _read_courses(self) -> None:
        from store.courses.kept.over_all import course_list

        app = self.ponds_app
        try:
            self._all = await app.ask_store(course_list, app.book, app.now())
            self._today = await app.ask_store(app.today)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        self.query_one(Top).moment = said_head(app.now(), app.book.zone)
        self._show()

    def _show(self) -> None:
        from store.courses.kept.over_all import fitting

        today = self._today
        if self._all is None or today is None:
            return
        text = self.query_one("#courses-text", Input).value
        found = fitting(self._all, text, ended=self._ended)
        self._lines = {one.course.id: one for one in found.waiting}
        self._lines |= {one.id: one for one in found.ended}
        self.query_one(Top).place = said_count(found)
        grid = self.query_one(LineGrid)
        grid.empty = (
            f"Nothing fits “{one_line(text.strip())}”. Fewer letters find more; esc goes back."
            if text.strip()
            else EMPTY
        )
        rows = [row_of(one, today) for one in found.waiting]
        grid.show([*rows, *(ended_row(one, today) for one in found.ended)])
        self._explain()

    def _here(self) -> UnderWay | EndedCourse | None:
        key = self.query_one(LineGrid).cursor_key
        return self._lines.get(key) if isinstance(key, UUID) else None

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        from store.courses.kept.over_all import EndedCourse

        line, today = self._here(), self._today
        shown = None
        if line is not None and today is not None:
            shown = told_ended(line, today) if isinstance(line, EndedCourse) else told(line)
        self.query_one(BottomStrip).show(shown)

    @on(Input.Changed, "#courses-text")
    def _typed(self) -> None:
        self._show()

    @on(Input.Submitted, "#courses-text")
    def _found(self) -> None:
        self.query_one(LineGrid).focus()

    def on_key(self, event: Key) -> None:
        """From the line that is searched with, the arrows go on into the list."""
        if event.key in ("down", "up", "pagedown") and isinstance(self.focused, TextLine):
            event.stop()
            event.prevent_default()
            self.query_one(LineGrid).focus()

    @on(LineGrid.Opened)
    def _opened(self, opened: LineGrid.Opened) -> None:
        from tui.screens.courses.course import CourseScreen

        if isinstance(opened.key, UUID):
            self.app.push_screen(CourseScreen(opened.key))

    def action_find(self) -> None:
        """To the line that is searched with."""
        self.query_one("#courses-find").display = True
        # At once: what is typed behind the key goes into the line, and starts nothing else.
        self.set_focus(self.query_one("#courses-text", Input))

    def action_back(self) -> None:
        """From the line to the list; there, back to what is under way."""
        line = self.query_one("#courses-text", Input)
        if line.has_focus and line.value:
            line.value = ""
            return
        line.value = ""
        self.query_one(LineGrid).focus()
        self.query_one("#courses-find").display = False

    def action_ended(self) -> None:
        """Show the courses that have ended as well, or hide them again."""
        self._ended = not self._ended
        self._show()

    def action_dose(self) -> None:
        """Log a dose of the course under the cursor."""
        from tui.screens.courses.dose import DoseScreen

        key = self.query_one(LineGrid).cursor_key
        if isinstance(key, UUID):
            self.app.push_screen(DoseScreen(key))

    def action_pond(self) -> None:
        """Open the pond of the course."""
        line = self._here()
        if line is not None:
            self.ponds_app.open_pond(_pond_of(line))

    def action_agents(self) -> None:
        """Where each agent works, and where it fails."""
        from tui.screens.courses.outcome_agents import AgentsOutcomeScreen

        self.app.push_screen(AgentsOutcomeScreen())

    def action_formulary(self) -> None:
        """What can be given."""
        from tui.screens.formulary.formulary import FormularyScreen

        self.app.push_screen(FormularyScreen())

    def action_samples(self) -> None:
        """Samples at laboratories."""
        from tui.screens.exams.specimens import SpecimensScreen

        self.app.push_screen(SpecimensScreen())

    def action_again(self) -> None:
        """Read the courses anew."""
        self._read()

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Letters are for typing while the line that is searched with has the focus."""
        letters = {"find", "dose", "pond", "ended", "formulary", "agents", "samples"}
        if action in letters and isinstance(self.focused, TextLine):
            return False
        return super().check_action(action, parameters)


def _pond_of(line: UnderWay | EndedCourse) -> UUID:
    from store.courses.kept.over_all import EndedCourse

    return line.pond_id if isinstance(line, EndedCourse) else line.course.pond_id


def said_count(found: CourseList) -> str:
    """How many run, wait and are planned, and of those that have ended how many are shown."""
    states = [one.course.state for one in found.waiting]
    running, planned = states.count("running"), states.count("planned")
    due = sum(bool(one.due.now) and one.course.state == "running" for one in found.waiting)
    runs = f"{running} {'course runs' if running == 1 else 'courses run'}"
    control = len(states) - running - planned
    parts = [f"{runs}, {due or 'none'} with a dose due"]
    if control:
        parts.append(f"{control} to be controlled")
    if planned:
        parts.append(f"{planned} planned")
    if found.ended:
        parts.append(f"{len(found.ended):,} ended")
    return ", ".join(parts)


def row_of(line: UnderWay, today: date) -> Row:
    """One course: pond, what is due, agents, tasks overdue, doses given, the day."""
    first = line.first
    if line.course.state == "planned":
        what, day = Text("planned, not begun", style="quiet"), ""
    elif first is None:
        what, day = Text("all given, no control planned"), ""
    else:
        what, day = Text(one_line(first.what)), said_day(first.promise.due, today)
    tasks = Text(f"{line.tasks} late", style="watch") if line.tasks else ""
    cells = (
        head_name(line.card),
        what,
        one_line(line.name),
        tasks,
        f"{line.given}/{line.doses}",
        day,
    )
    return Row(line.course.id, cells, "" if line.course.state == "planned" else line.level)


def ended_row(line: EndedCourse, today: date) -> Row:
    """A course that has ended: pond, how, agents, doses given, the day."""
    cells = (
        one_line(f"{line.client}, {line.pond}" if line.pond else line.client),
        Text(line.said, style="quiet"),
        one_line(line.name),
        "",
        f"{line.given}/{line.doses}",
        said_day(line.ended_on, today),
    )
    return Row(line.id, cells)


def told_ended(line: EndedCourse, today: date) -> Told:
    """What it was against, how long it ran, how it ended and why."""
    since = f"from {said_since(line.started_on, today)} " if line.started_on is not None else ""
    until = f"{since}until {said_since(line.ended_on, today)}"
    return Told(
        f"{one_line(line.name)} against {one_line(line.reason)}: {line.said}",
        f"{until}; {line.given} of {line.doses} doses logged",
        one_line(line.end_why),
        "Next: enter opens it.",
    )


def told(line: UnderWay) -> Told:
    """What waits, why it stands where it does, what the rule rests on, what to do."""
    plan = line.course.plan
    against = f"{line.name} against {one_line(plan.reason)}"
    first = line.first
    if line.course.state == "planned":
        return Told(
            f"{against}: planned, not begun", "", "", "Next: enter opens it; there a vet begins it."
        )
    if first is None:
        return Told(against, "", "", "Next: enter opens it; x ends it.")
    others = ", then ".join(
        f"{one.promise.says} on {day_said(one.promise.due)}" for one in line.waiting[1:3]
    )
    then = f"Then {others}." if others else ""
    return Told(
        f"{first.what}: {against}; {first.promise.share}",
        " ".join(part for part in (f"{first.arithmetic}.", line.tasks_said, then) if part),
        said_backing(one_line(first.source), first.standing),
        f"Next: {one_line(first.advice)}" if first.advice else "",
    )
