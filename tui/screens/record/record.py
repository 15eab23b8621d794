"""The record of changes over the whole book, or over one thing: page by page, newest first."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, tzinfo
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.events import Key
from textual.screen import Screen
from textual.widgets import Input
from textual.worker import get_current_worker

from store.errors import PondroundError
from store.text import day_said
from tui.said import said_head
from tui.screens.parts.dialogs import Choose, Option
from tui.screens.parts.help import HELP, open_help
from tui.screens.record.record_asked import ASKED, Asked, heard, said_asked
from tui.screens.record.record_line import RecordLineScreen
from tui.screens.record.record_lines import COLUMNS, content_of, fitted, row_of, told_parts
from tui.screens.record.record_open import open_page
from tui.widgets.entry import TextLine
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.literal import one_line
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.tables import TableName
    from store.book.told.record import Cursor
    from store.record.told import Told, ToldPage
    from tui.app import PondroundApp

PAGE = 60
"""Lines that are asked for at once."""
AHEAD = 30
"""So near the last line that was read the next ones are asked for."""
READING = "Reading the record of changes …"
NOTHING = "Nothing was recorded."
_EVERYBODY = "everybody"


class RecordScreen(Screen[None]):
    """Who changed what, when and why; newest first.

    Parameters
    ----------
    about
        Table and key of a thing: its lines and those of all that hangs on it; None for the book.
    name
        How it is called.
    """

    CSS_PATH = "../sheets/record.tcss"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (70, "-wide"), (110, "-broad")]  # noqa: RUF012
    VERTICAL_BREAKPOINTS = [(0, "-low"), (24, "-middle"), (34, "-high")]  # noqa: RUF012
    QUESTION = "Who changed what, when, and why?"
    ABOUT = (
        "Everything that was entered, changed, struck through or restored, newest first, from the "
        "beginning of the book; more is read as the cursor goes down. Below, or at the side, the "
        "line under the cursor: why, and each field before and after. What was agreed for a whole "
        "site stands with the client, not with one of its ponds. Names are those of today, values "
        "those of then. / looks for words in what, whose, by whom, why and in values; d takes days "
        "such as “Mon”, “1 Mar – 12 Mar”, “since 2 weeks”; o a kind of record such as “dose”. Esc "
        "puts all of that away. Nothing here can be changed: the book only adds to it."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("slash", "ask('find')", "find", key_display="/", id="record.find",
                tooltip="Words that a line must say; enter looks, esc puts them away"),
        Binding("p", "person", "person", id="record.person", tooltip="Only what one person did"),
        Binding("d", "ask('days')", "days", id="record.days",
                tooltip="Only some days: Mon, 12 Mar, 1 Mar – 12 Mar, since 2 weeks"),
        Binding("o", "ask('kind')", "kind", id="record.kind",
                tooltip="Only one kind of record: water test, dose, visit, client"),
        Binding("e", "everything", "everything", id="record.everything",
                tooltip="Everything that this line says, in full"),
        Binding("r", "row", "this row", show=False, id="record.row",
                tooltip="Only the lines of the same row; once more, all of them again"),
        Binding("D", "differs", "what differs", show=False, id="record.differs",
                tooltip="What was changed both here and in a bag: one of both sides is taken"),
        Binding("escape", "back", "back", show=False, id="record.back",
                tooltip="Stop looking, or put away what was asked for; then back one step"),
        Binding("f5", "again", "look again", show=False, id="record.again",
                tooltip="Read the record anew"),
    ]  # fmt: skip

    def __init__(self, about: tuple[TableName, UUID] | None = None, name: str = "") -> None:
        super().__init__()
        self._about, self._name = about, name
        self._asked = Asked()
        self._lines: list[Told] = []
        self._next: Cursor | None = None
        self._behind = False
        self._zone: tzinfo | None = None
        self._today: date | None = None
        self._asking = ""

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, the line that asks, the lines, the one under the cursor."""
        yield Top(self._head(), id="record-head")
        with Horizontal(id="record-ask"):
            yield Static("", id="record-label", markup=False)
            yield TextLine(id="record-text")
            yield Static("", id="record-heard", markup=False)
        yield Line()
        with Vertical(id="record-middle"):
            yield LineGrid(COLUMNS, empty=READING, header=True, gutter="mark", id="record-list")
            yield Static("", id="record-told", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """The list has the keys; it fills behind the first paint."""
        self.query_one("#record-ask").display = False
        self.query_one(LineGrid).focus()
        self._anew()

    def on_screen_resume(self) -> None:
        """Something may have been entered meanwhile."""
        self._newest()

    def on_book_opened(self) -> None:
        """The book can be asked now."""
        self._anew()

    def on_book_changed(self) -> None:
        """Something was written: the newest lines are read, the cursor stays."""
        self._newest()

    def on_resize(self) -> None:
        """Text is broken for the room there is."""
        self.call_after_refresh(self._tell)

    # Reading

    def _anew(self) -> None:
        if getattr(self.app, "book_is_open", True):
            self._lines, self._next, self._behind = [], None, False
            self._read(None)

    def _newest(self) -> None:
        if not getattr(self.app, "book_is_open", True):
            return
        if self._is_reading():
            self._behind = True  # a long look is not begun anew each time that somebody writes
        else:
            self._read_newest()

    def _is_reading(self) -> bool:
        return any(one.group == "record" and one.is_running for one in self.workers)

    @work(exclusive=True, group="record")
    async def _read(self, before: Cursor | None) -> None:
        """Lines before some place, until there are enough or none is left."""
        wanted = len(self._lines) + PAGE
        while True:
            page = await self._page(before)
            if page is None or get_current_worker().is_cancelled:
                return
            self._lines += page.lines
            self._next = before = page.next
            enough = len(self._lines) >= wanted
            self._show(looking=before is not None and not enough)
            if enough or before is None:
                break
        if self._behind:
            self._read_newest()

    @work(exclusive=True, group="record")
    async def _read_newest(self) -> None:
        """What stands above and round the cursor once more.

        A copy that came in has lines of other days, so that new ones may stand anywhere. What comes
        below is read again when the cursor comes there.
        """
        self._behind = False
        if self._asked != Asked():
            await self._read_newest_asked()
            return
        here = self._here()
        lines: list[Told] = []
        before, below = None, 0
        while True:
            page = await self._page(before)
            if page is None or get_current_worker().is_cancelled:
                return
            lines += page.lines
            before = page.next
            if here is not None:
                below += sum((one.at, one.key) <= (here.at, here.key) for one in page.lines)
            if before is None or here is None or below > AHEAD:
                break
        self._lines, self._next = lines, before
        self._show()

    async def _read_newest_asked(self) -> None:
        """Of what was asked for, the newest lines; it is not looked for in the whole book again."""
        page = await self._page(None)
        if page is None or get_current_worker().is_cancelled:
            return
        kept: list[Told] = []
        read = {one.key for one in page.lines}
        if page.next is not None and (
            len(read) < PAGE or any(one.key in read for one in self._lines)
        ):
            end = (page.next.at, page.next.id)
            kept = [one for one in self._lines if one.key not in read and (one.at, one.key) < end]
        self._lines = [*page.lines, *kept]
        if not kept:
            self._next = page.next
        self._show()

    async def _page(self, before: Cursor | None) -> ToldPage | None:
        from store.record.told import told_record

        app, asked = self.ponds_app, self._asked
        try:
            if self._zone is None:
                self._zone = await app.ask_store(lambda: app.book.zone)
            page = await app.ask_store(
                told_record,
                app.book,
                asked.wish(self._about),
                asked.text,
                before=before,
                limit=PAGE,
            )
            self._today = await app.ask_store(app.today)
        except PondroundError as trouble:
            app.tell(trouble)
            return None
        return page

    def _show(self, *, looking: bool = False) -> None:
        zone, today = self._zone, self._today
        if zone is None or today is None:
            return
        top, grid = self.query_one(Top), self.query_one(LineGrid)
        top.place = self._head()
        top.moment = said_head(self.ponds_app.now(), zone)
        if looking and self._next is not None:
            back = day_said(self._next.at.astimezone(zone).date())
            top.moment = f"looked back to {back}; esc stops"
            grid.empty = f"Looking, from {back} backwards …"
        else:
            grid.empty = NOTHING if self._asked == Asked() else (
                "Nothing of what you asked for was recorded. Esc puts away what was asked."
            )  # fmt: skip
        grid.show([row_of(one, zone, today) for one in self._lines])
        self._tell()

    def _head(self) -> str:
        of = f" of {one_line(self._name)}" if self._name else ""
        asked = said_asked(self._asked, self._today)
        return f"Record of changes{of}" + (f": {asked}" if asked else "")

    def _here(self) -> Told | None:
        key = self.query_one(LineGrid).cursor_key
        return next((one for one in self._lines if one.key == key), None)

    @on(LineGrid.CursorMoved)
    def _moved(self) -> None:
        self._tell()
        keys = [one.key for one in self._lines[-AHEAD:]]
        near = self.query_one(LineGrid).cursor_key in keys
        if near and self._next is not None and not self._is_reading():
            self._read(self._next)

    def _tell(self) -> None:
        """The line under the cursor, with so much of it as there is room for."""
        line, zone, today = self._here(), self._zone, self._today
        told = self.query_one("#record-told", Static)
        if line is None or zone is None or today is None:
            told.update("")
            return
        width, height = told.content_size.width, told.content_size.height
        parts = list(told_parts(line, width, zone, today))
        told.update(content_of(fitted(parts, height, width)))

    # Asking

    def action_ask(self, what: str) -> None:
        """To the line that asks for words, days or a kind of record."""
        self._asking = what
        label, placeholder = ASKED[what]
        self.query_one("#record-label", Static).update(Content(label))
        entry = self.query_one("#record-text", Input)
        entry.placeholder = placeholder
        entry.value = self._asked.typed(what)
        self.query_one("#record-ask").display = True
        # At once: what is typed behind the key goes into the line, and starts nothing else.
        self.set_focus(entry)
        self._hear()

    @on(Input.Changed, "#record-text")
    def _hear(self) -> None:
        if self._asking and self._today is not None:
            text = self.query_one("#record-text", Input).value
            said, _ = heard(self._asked, self._asking, text, self._today)
            self.query_one("#record-heard", Static).update(Content(one_line(said)))

    @on(Input.Submitted, "#record-text")
    def _take(self) -> None:
        if self._today is None:
            return
        text = self.query_one("#record-text", Input).value
        _, asked = heard(self._asked, self._asking, text, self._today)
        if asked is not None:
            self._leave_line()
            self._ask_anew(asked)

    def _leave_line(self) -> None:
        self._asking = ""
        self.query_one("#record-ask").display = False
        self.query_one(LineGrid).focus()

    def _ask_anew(self, asked: Asked) -> None:
        if asked != self._asked:
            self._asked = asked
            self.query_one(Top).place = self._head()
            self._anew()

    def on_key(self, event: Key) -> None:
        """From the line that asks, the arrows go on into the list."""
        if event.key in ("down", "up", "pagedown") and isinstance(self.focused, TextLine):
            event.stop()
            event.prevent_default()
            self._leave_line()

    @work(group="record-person", exclusive=True)
    async def action_person(self) -> None:
        """Only what one person did."""
        from store.book.people import staff

        app = self.ponds_app
        try:
            people = await app.ask_store(staff, app.book, struck=True)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        options = [
            Option(_EVERYBODY, "everybody"),
            *(Option(one.id, one.name, one.role) for one in people),
        ]
        chosen = await app.push_screen_wait(
            Choose("Whose changes?", options, start=self._asked.by or _EVERYBODY)
        )
        if chosen is None:
            return
        by = chosen if isinstance(chosen, UUID) else None
        name = next((one.name for one in people if one.id == by), "")
        self._ask_anew(replace(self._asked, by=by, person=name))

    def action_row(self) -> None:
        """Only the lines of the same row, or all of them again."""
        line = self._here()
        if self._asked.row is not None:
            self._ask_anew(replace(self._asked, row=None, row_name=""))
        elif line is not None:
            row = (line.entry.table, line.entry.row)
            self._ask_anew(replace(self._asked, row=row, row_name=f"only {line.what}"))

    # Going on

    @on(LineGrid.Opened)
    def _opened(self) -> None:
        if (line := self._here()) is not None:
            open_page(self, line)

    def action_everything(self) -> None:
        """Everything that the line says."""
        line = self._here()
        if line is not None and self._zone is not None and self._today is not None:
            self.app.push_screen(RecordLineScreen(line, self._zone, self._today))

    def action_differs(self) -> None:
        """What both sides changed."""
        from tui.screens.bag.differs import DiffersScreen

        if getattr(self.app, "book_is_open", True):
            self.app.push_screen(DiffersScreen())

    def action_again(self) -> None:
        """Read the record anew."""
        self._anew()

    def action_back(self) -> None:
        """Stop looking, put away what was asked for, or go back one step."""
        if self._asking:
            self._leave_line()
        elif self._is_reading():
            self.workers.cancel_group(self, "record")
            self._show()
        elif self._asked != Asked():
            self._ask_anew(Asked())
        elif len(self.app.screen_stack) > 1 and self.app.screen_stack[0] is not self:
            self.dismiss(None)

    def action_help(self) -> None:
        """What this screen is for, and its keys."""
        open_help(self.app)
