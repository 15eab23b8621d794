"""All courses that run or are planned, over all ponds: what is due, how late, worst first."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from rich.text import Text
from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen

from store.errors import PondroundError
from store.text import day_said
from tui.backing import said_backing
from tui.said import said_day, said_head
from tui.screens.help import HELP, open_help
from tui.screens.pond_lines import head_name
from tui.widgets.columns import Column
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid, Row
from tui.widgets.literal import one_line
from tui.widgets.strip import BottomStrip, Told
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.courses.kept.under_way import UnderWay
    from tui.app import PondroundApp

COLUMNS = (
    Column("pond", "Pond", 12, weight=2),
    Column("what", "Due", 27, weight=2),
    Column("agent", "Course", 12, weight=1, drop_order=1),
    Column("given", "Given", 5, align="right", drop_order=2),
    Column("next", "Day", 6, align="right"),
)
EMPTY = (
    "No course runs. Open a pond and press c to plan one; here stands then what goes in, and when."
)


class CoursesScreen(Screen[None]):
    """Every course under way, worst first."""

    QUESTION = "Which courses run, and what is due today?"
    ABOUT = (
        "Every course that runs, over all ponds: what is due next and how late it is, worst first; "
        "planned ones stand last. The strip tells why a line stands where it does. Enter opens a "
        "course, d logs a dose of it."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("d", "dose", "log a dose", id="courses.dose",
                tooltip="Log a dose of the course under the cursor"),
        Binding("o", "pond", "pond", id="courses.pond", tooltip="Open the pond of the course"),
        Binding("f5", "again", "look again", show=False, id="courses.again",
                tooltip="Read the courses anew"),
    ]  # fmt: skip

    def __init__(self) -> None:
        super().__init__()
        self._lines: tuple[UnderWay, ...] = ()
        self._today: date | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, the courses, the strip."""
        yield Top("Courses", id="courses-head")
        yield Line()
        yield LineGrid(COLUMNS, empty="reading the courses …", header=True, id="courses-list")
        yield Line()
        yield BottomStrip(id="courses-strip")
        yield Foot()

    def on_mount(self) -> None:
        """The list has the keys; it fills behind the first paint."""
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
        from store.courses.kept.under_way import under_way

        app = self.ponds_app
        try:
            self._lines = await app.ask_store(under_way, app.book, app.now())
            self._today = await app.ask_store(app.today)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        running = sum(line.course.state == "running" for line in self._lines)
        due = sum(bool(line.due.now) and line.course.state == "running" for line in self._lines)
        top = self.query_one(Top)
        planned = len(self._lines) - running
        runs = f"{running} {'course runs' if running == 1 else 'courses run'}"
        later = f", {planned} planned" if planned else ""
        top.place = f"{runs}, {due or 'none'} with a dose due{later}"
        top.moment = said_head(app.now(), app.book.zone)
        grid = self.query_one(LineGrid)
        grid.empty = EMPTY
        grid.show([row_of(line, self._today) for line in self._lines])
        self._explain()

    def _here(self) -> UnderWay | None:
        key = self.query_one(LineGrid).cursor_key
        return next((line for line in self._lines if line.course.id == key), None)

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        line = self._here()
        self.query_one(BottomStrip).show(None if line is None else told(line))

    @on(LineGrid.Opened)
    def _opened(self, opened: LineGrid.Opened) -> None:
        from tui.screens.course import CourseScreen

        if isinstance(opened.key, UUID):
            self.app.push_screen(CourseScreen(opened.key))

    def action_dose(self) -> None:
        """Log a dose of the course under the cursor."""
        from tui.screens.dose import DoseScreen

        line = self._here()
        if line is not None:
            self.app.push_screen(DoseScreen(line.course.id))

    def action_pond(self) -> None:
        """Open the pond of the course."""
        line = self._here()
        if line is not None:
            self.ponds_app.open_pond(line.course.pond_id)

    def action_again(self) -> None:
        """Read the courses anew."""
        self._read()

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)


def row_of(line: UnderWay, today: date) -> Row:
    """One course: pond, what is due, agents, doses given, the day."""
    first = line.first
    if line.course.state == "planned":
        what, day = Text("planned, not begun", style="quiet"), ""
    elif first is None:
        what, day = Text("all given, no control planned"), ""
    else:
        what, day = Text(one_line(first.what)), said_day(first.promise.due, today)
    cells = (
        head_name(line.card),
        what,
        one_line(line.name),
        f"{line.given}/{line.doses}",
        day,
    )
    return Row(line.course.id, cells, "" if line.course.state == "planned" else line.level)


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
    others = "; then ".join(
        f"{one.promise.says} on {day_said(one.promise.due)}" for one in line.waiting[1:3]
    )
    return Told(
        f"{first.what}: {against}; {first.promise.share}",
        first.arithmetic + (f"; then {others}" if others else ""),
        said_backing(one_line(first.source), first.standing),
        f"Next: {one_line(first.advice)}" if first.advice else "",
    )
