"""The tasks of a course: ticked off as they are done, with who and when, and taken back."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from rich.text import Text
from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen

from store.errors import BadInput, PondroundError
from tui.said import said_date, said_since
from tui.screens.parts.abstract import NARROW, drafts_of
from tui.screens.parts.dialogs import Ask
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.once import once
from tui.screens.ponds.pond_entry import written
from tui.screens.ponds.pond_lines import head_name, short_name
from tui.widgets.columns import Column
from tui.widgets.fields import Field, Form
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid, Row
from tui.widgets.literal import one_line
from tui.widgets.strip import BottomStrip, Told
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.writing import Writing
    from store.courses.kept.course_page import CoursePage
    from store.courses.kept.records import KeptTask
    from tui.app import PondroundApp

COLUMNS = (
    Column("when", "Day", 6),
    Column("done", "Done", 15),
    Column("what", "What", 20, weight=1),
    Column("who", "Falls to", 8, drop_order=1),
)
_DATE_CELLS = len("23 Nov")
_CELLS = 28


class TasksScreen(Screen[None]):
    """What is done beside the doses, and what of it is done.

    Parameters
    ----------
    course
        Key of the course.
    task
        The task on which the cursor stands at first; None for the first that is not done.
    """

    CSS_PATH = "../sheets/course.tcss"
    QUESTION = "What is switched off, taken out and looked at, and is it done?"
    ABOUT = (
        "Every task of the course by its day. Enter or space ticks the one under the cursor as "
        "done now; on one that is ticked it takes the tick back. With n it was done on another "
        "day, or there is something to write beside it. The control examination asks what was "
        "found. Everybody may tick; the record keeps who, when and every tick that was taken back."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", show=False, id="tasks.back", tooltip="Back one step"),
        Binding("space", "tick", "tick", key_display="space", id="tasks.tick",
                tooltip="Done now; on a tick: take it back"),
        Binding("n", "note", "day and note", id="tasks.note",
                tooltip="Tick it for another day, or with a sentence beside it"),
        Binding("f5", "again", "look again", show=False, id="tasks.again",
                tooltip="Read the course anew"),
    ]  # fmt: skip

    def __init__(self, course: UUID, task: UUID | None = None) -> None:
        super().__init__()
        self.course, self._start = course, task
        self.page: CoursePage | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, the tasks, the strip."""
        yield Top("Tasks", id="tasks-head")
        yield Line()
        yield LineGrid(
            COLUMNS, empty="reading the course …", header=True, gutter="mark", id="tasks-list"
        )
        yield Line()
        yield BottomStrip(id="tasks-strip")
        yield Foot()

    def on_mount(self) -> None:
        """The list has the keys; it fills behind the first paint."""
        self.query_one(LineGrid).focus()
        self._read()

    def on_screen_resume(self) -> None:
        """A note may have been written meanwhile."""
        if self.page is not None:
            self._read()

    def on_book_changed(self) -> None:
        """The book has grown: read the course anew."""
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
        tasks = page.course.tasks
        done = sum(one.done_at is not None for one in tasks)
        top = self.query_one(Top)
        top.place = f"Tasks: {head_name(page.line.card)}, {page.line.name}"
        top.moment = f"{done} of {len(tasks)} done"
        grid = self.query_one(LineGrid)
        grid.empty = "This course has no tasks; they come with its plan."
        grid.show([_row(page, one) for one in tasks])
        if first_look:
            waiting = next((one.id for one in tasks if one.done_at is None), None)
            grid.move_to(self._start or waiting, at_top=False)
        self._explain()

    def _here(self) -> KeptTask | None:
        key = self.query_one(LineGrid).cursor_key
        tasks = () if self.page is None else self.page.course.tasks
        return next((one for one in tasks if one.id == key), None)

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        one = self._here()
        told = None if one is None or self.page is None else told_task(self.page, one)
        self.query_one(BottomStrip).show(told)

    @on(LineGrid.Opened)
    def action_tick(self) -> None:
        """Tick the task under the cursor, or take its tick back."""
        from store.courses.kept.records import CONTROL

        one = self._here()
        if one is None:
            return
        if one.done_at is None and one.task.code == CONTROL:
            self.action_note()
        else:
            self.run_worker(self._tick(one), group="course-flow", exclusive=True)

    async def _tick(self, one: KeptTask) -> None:
        done = one.done_at is None
        if not done and not await self.app.push_screen_wait(
            Ask(
                "Take the tick back?",
                f"{one_line(one.task.says)}\nThe record keeps that it was ticked, and by whom.",
                yes="Take it back",
                no="Back",
            )
        ):
            return
        if await written(self.app, _set, one.id, done):
            self._read()

    def action_note(self) -> None:
        """Tick it for another day, or with a sentence beside it."""
        one = self._here()
        if one is not None and one.done_at is not None:
            self.notify("This is ticked already; enter takes the tick back.", markup=False)
        elif one is not None:
            self.app.push_screen(TickScreen(one))

    def action_again(self) -> None:
        """Read the course anew."""
        self._read()

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)


class TickScreen(Screen[None]):
    """A task that was done on a day, with what was seen.

    Parameters
    ----------
    task
        As it stands in the book.
    """

    CSS_PATH = ["../sheets/course.tcss", "../sheets/narrow.tcss"]  # noqa: RUF012
    HORIZONTAL_BREAKPOINTS = NARROW
    QUESTION = "When was it done, and what was seen?"
    ABOUT = (
        "The day on which the task was done, and a sentence that the record keeps beside the tick. "
        "A control examination needs the sentence: what was found, counted in the same places and "
        "in the same unit as before the course."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", id="tick.back",
                tooltip="Back one step; what was typed is kept"),
    ]  # fmt: skip

    def __init__(self, task: KeptTask) -> None:
        super().__init__()
        self.kept = task

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head and form."""
        from store.courses.kept.tasks import short

        yield Top(f"Done: {one_line(short(self.kept.task))}", id="tick-head")
        yield Line()
        yield Form(
            (
                Field("on_day", "day", "today, Mon, 12 Mar", "today", width=_CELLS),
                Field("note", "what was seen", "in words", lines=3),
            ),
            draft=drafts_of(self.app).of("task", self.kept.id),
        )
        yield Foot()

    def on_mount(self) -> None:
        """Ready to type what was seen: most often it is done today."""
        self.query("FormField").last().query("*").first().focus()

    @on(Form.Submitted)
    def _submitted(self, submitted: Form.Submitted) -> None:
        submitted.stop()
        self._save(submitted.form, submitted.values)

    @once("entry-save")
    async def _save(self, form: Form, values: Mapping[str, str]) -> None:
        app = self.ponds_app
        act = await app.acting()
        if act is None:
            return
        try:
            await app.ask_store(self._keep, act, values)
        except BadInput as trouble:
            form.show_error(trouble)
            return
        except PondroundError as trouble:
            app.tell(trouble)
            return
        form.saved()
        app.changed()
        self.dismiss(None)

    def _keep(self, act: Act, values: Mapping[str, str]) -> None:
        from store.book.days import typed_day
        from store.courses.kept.tasks import tick_task

        day = typed_day(values["on_day"], self.ponds_app.today(), ahead=False)
        with self.ponds_app.book.writing(act) as writing:
            tick_task(writing, self.kept.id, True, on=day, note=values["note"])

    def action_back(self) -> None:
        """Back one step; the draft stays."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this screen is for, and its keys."""
        open_help(self.app)


def _set(writing: Writing, key: UUID, done: bool) -> None:
    from store.courses.kept.tasks import tick_task

    tick_task(writing, key, done)


def said_done(page: CoursePage, one: KeptTask) -> str:
    """Who ticked a task and when, `done Thu 12 Mar by MB`; empty where it is open."""
    if one.done_at is None:
        return ""
    when = said_since(one.done_at.astimezone(page.zone).date(), page.today)
    who = "" if one.done_by is None else short_name(page.people.get(one.done_by, ""))
    return f"done {when} by {who}" if who else f"done {when}"


def _who_when(page: CoursePage, one: KeptTask) -> str:
    """As `said_done`, for a narrow column: `12 Mar by MB`."""
    if one.done_at is None:
        return ""
    day = one.done_at.astimezone(page.zone).date()
    when = "today" if day == page.today else said_date(day, page.today)
    who = "" if one.done_by is None else short_name(page.people.get(one.done_by, ""))
    return f"{when} by {who}" if who else when


def told_task(page: CoursePage, one: KeptTask) -> Told:
    """What the strip says of a task: its sentence, who did it, what it rests on."""
    task, note = one.task, one_line(one.note)
    arithmetic = f"Falls to the {task.share}, planned for {said_since(task.on_day, page.today)}"
    if one.done_at is not None:
        arithmetic += f"; {said_done(page, one)}"
    if note:
        arithmetic += f": {note}"
    advice = "Enter takes the tick back." if one.done_at is not None else "Next: enter ticks it."
    return Told(one_line(task.says), arithmetic, one_line(task.source), advice)


def _row(page: CoursePage, one: KeptTask) -> Row:
    task = one.task
    when = f"{said_date(task.on_day, page.today):>{_DATE_CELLS}}"
    late = (page.today - task.on_day).days
    if one.done_at is not None:
        done = Text(_who_when(page, one), style="calm")
    elif late >= 0:
        done = Text(f"{late} d ago" if late else "today", style="watch")
    else:
        done = Text("")
    what = Text(one_line(task.says), style="quiet" if one.done_at is not None else "")
    if one.note:
        what = Text.assemble((one_line(one.note), ""), "  ", (one_line(task.says), "quiet"))
    return Row(one.id, (when, done, what, task.share))
