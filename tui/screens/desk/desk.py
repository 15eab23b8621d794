"""The desk: what was promised and is due, worst first; whom to ring, and what became of it."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, ClassVar
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.content import Content
from textual.events import Key
from textual.widgets import Input
from textual.worker import get_current_worker

from store.errors import PondroundError
from tui.said import said_head
from tui.screens.desk.attempt import PhoneScreen, PhoneStrip, Whom
from tui.screens.desk.desk_beside import ClientBeside
from tui.screens.desk.desk_lines import (
    FILTERS,
    client_of,
    columns_for,
    phone_of,
    rows_of,
    said_counts,
    told,
    told_quiet,
)
from tui.screens.parts.help import HELP
from tui.widgets.entry import TextLine
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.literal import one_line
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from store.book.book import Book
    from store.diary.desk.due import Attempt, DeskList, DueLine
    from store.diary.kept.due.seeking import Quiet, Sought
    from store.watch.concern import MorningList

READING = "Looking at everything that was promised …"
EMPTY = (
    "Nothing is due, and nothing within seven days. Here stands what courses, examinations, test "
    "plans and rules promise, and what you promise by hand: / finds a client, p promises."
)
NOTHING_SHOWN = "Nothing of this kind is due. f chooses what stands here."
WIDE_FROM = 112
KEYS_FROM = 70
LOOK_AGAIN = timedelta(minutes=5)
"""Somebody else may have written meanwhile, and hours come at which clients are to be rung."""


@dataclass(frozen=True, slots=True)
class Held:
    """The morning list, which need not be reckoned anew where only attempts were logged."""

    stamp: str
    at: datetime
    morning: MorningList


class DeskScreen(PhoneScreen):
    """Everything that was promised and is due, worst first."""

    CSS_PATH = "../sheets/desk.tcss"
    QUESTION = "Whom do I ring next, and what did we promise?"
    ABOUT = (
        "One line a promise, worst first: how late it is, client and pond, what was promised, the "
        "telephone number, how the last attempt ended. What is booked within its window stands "
        "behind. The head counts what is late, what is due (today counts as kept), soon (within a "
        "week), and booked. The strip tells where it comes from, who promised it, its weight with "
        "the numbers put in, the days on which it counts as kept, who was rung, what is booked. / "
        "finds clients too that have nothing due; enter opens the client. One key logs how a call "
        "went, u takes it back. d opens what keeps the promise, or keeps, moves or drops what was "
        "promised by hand. g shows the ponds of which a thermometer reading today would settle "
        "most, where the head says that there are any."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("slash", "find", "find", key_display="/", id="desk.find", priority=True,
                tooltip="Find while typing: name, pond, street, town, any part of a number"),
        Binding("b", "book", "book", id="desk.book",
                tooltip="Propose days and hours for a visit that keeps it"),
        HELP,
        Binding("d", "settle", "done", show=False, id="desk.settle",
                tooltip="Open what keeps it; by hand: kept, moved, dropped with a reason"),
        Binding("f", "filter", "filter", show=False, id="desk.filter",
                tooltip="What stands here: all, for the desk, for a vet, booked, ring-backs"),
        Binding("c", "call", "new call", show=False, id="desk.call",
                tooltip="Take a call: the questions that tell how urgent it is"),
        Binding("o", "pond", "pond", show=False, id="desk.pond", tooltip="Open the pond"),
        Binding("g", "ask", "ask for readings", show=False, id="desk.ask",
                tooltip="Whom to ask for a thermometer reading: where it would settle most"),
        Binding("v", "kept", "kept promises", show=False, id="desk.kept",
                tooltip="How many promises were kept on time, by kind and month"),
        Binding("escape", "back", "back", show=False, id="desk.back",
                tooltip="Back to the whole list"),
        Binding("f5", "again", "look again", show=False, id="desk.look_again",
                tooltip="Read the desk anew"),
    ]  # fmt: skip

    def __init__(self) -> None:
        super().__init__()
        self._listed: DeskList | None = None
        self._lines: dict[str, DueLine] = {}
        self._quiet: dict[UUID, Quiet] = {}
        self._found: Sought | None = None
        self._chosen = "all"
        self._held: Held | None = None
        self._zone: ZoneInfo | None = None
        self._looked_at: datetime | None = None
        self._to_ask = 0
        """Of how many ponds a reading is worth asking for."""
        self._wanted: str | None = None
        """The line on which the cursor is put once it is there."""

    def compose(self) -> ComposeResult:
        """Head, the line to search with, what is due, the strip, what was logged."""
        yield Top("Desk", id="desk-head")
        with Horizontal(id="desk-find"):
            yield Static(Content("find"), id="desk-find-label")
            yield TextLine(placeholder="name, pond, street, town or telephone", id="desk-text")
            yield Static(Content("enter opens the first  ↓ to the list"), id="desk-find-keys")
        yield Line()
        with Horizontal(id="desk-middle"):
            yield LineGrid(
                columns_for(()), empty=READING, header=True, gutter="mark", id="desk-list"
            )
            yield ClientBeside(id="desk-beside")
        yield Line()
        yield PhoneStrip(id="desk-strip")
        yield Static("", id="desk-said", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """The list has the keys; it fills behind the first paint."""
        self.query_one("#desk-find").display = False
        self.query_one("#desk-said").display = False
        self.query_one(ClientBeside).display = self.app.size.width >= WIDE_FROM
        self.query_one(LineGrid).focus()
        self.set_interval(20, self._tick)
        self._read()

    def on_screen_resume(self) -> None:
        """Something may have been done meanwhile; the next name takes the place of the last."""
        line = self.query_one("#desk-text", Input)
        if line.has_focus:
            line.action_select_all()
        self._read()

    def on_book_opened(self) -> None:
        """The book can be asked now."""
        self._read()

    def on_book_changed(self) -> None:
        """The book has grown."""
        self._read()

    def on_resize(self) -> None:
        """The client under the cursor stands at the right where there is room."""
        self.query_one(ClientBeside).display = self.app.size.width >= WIDE_FROM
        self.query_one("#desk-find-keys").display = self.app.size.width >= KEYS_FROM
        # Names are cut to the width of their column, which is known after the layout.
        self.call_after_refresh(self._fill)

    def _tick(self) -> None:
        app = self.ponds_app
        if self._zone is not None:
            self.query_one(Top).moment = said_head(app.now(), self._zone)
        if self._looked_at is not None and app.now() - self._looked_at >= LOOK_AGAIN:
            self._read()

    # Reading

    def _read(self) -> None:
        if getattr(self.app, "book_is_open", True):
            self._read_desk()

    @work(exclusive=True, group="desk")
    async def _read_desk(self) -> None:
        app = self.ponds_app
        self._looked_at = app.now()
        try:
            self._listed, self._held, self._zone = await app.ask_store(
                _read, app.book, self._looked_at, self._held
            )
        except PondroundError as trouble:
            app.tell(trouble)
            return
        if get_current_worker().is_cancelled:
            return
        from tui.screens.desk.desk_acts import newly_taken

        self._wanted = newly_taken(app) or self._wanted
        self.query_one(ClientBeside).forget()
        self._tick()
        if self._typed_text:
            self._seek(self._typed_text, stay=True)
        else:
            self._fill()
        self._look_whom_to_ask()

    @work(exclusive=True, group="desk-ask")
    async def _look_whom_to_ask(self) -> None:
        """How many ponds, behind the list: nobody waits for it, and the list stands there first."""
        app = self.ponds_app
        with suppress(PondroundError):
            self._to_ask = await app.ask_store(_to_ask, app.book, app.now())
            self._say_counts()

    @property
    def _typed_text(self) -> str:
        return self.query_one("#desk-text", Input).value.strip()

    @work(exclusive=True, group="desk-seek")
    async def _seek(self, text: str, stay: bool = False) -> None:
        from store.diary.kept.due.seeking import seek

        app, listed = self.ponds_app, self._listed
        if listed is None:
            return
        try:
            self._found = await app.ask_store(seek, app.book, listed, text) if text else None
        except PondroundError as trouble:
            app.tell(trouble)
            return
        self._fill()
        grid = self.query_one(LineGrid)
        if not stay:
            grid.action_first()  # the best hit, so that enter opens it

    # Showing

    def _fill(self) -> None:
        listed, found = self._listed, self._found
        if listed is None or self._zone is None:
            return
        stays = FILTERS[self._chosen][1]
        lines = [one for one in listed.lines if stays(one)] if found is None else found.lines
        quiet = () if found is None else found.quiet
        self._lines = {one.promised.about: one for one in lines}
        self._quiet = {one.client_id: one for one in quiet}
        grid = self.query_one(LineGrid)
        grid.empty = self._why_empty(listed)
        grid.show_columns(
            columns_for([*map(phone_of, lines), *(one_line(one.phone) for one in quiet)])
        )
        grid.show(rows_of(lines, quiet, listed, grid.cells_of("where")))
        if self._wanted is not None:
            grid.move_to(self._wanted)
            self._wanted = None  # what stands under another choice is not jumped to later
        self._say_counts()
        self._explain()

    def _say_counts(self) -> None:
        listed, shown = self._listed, len(self._lines) + len(self._quiet)
        if listed is not None:
            counts = said_counts(listed, shown, self._chosen, self._found is not None)
            ask = f"   g {self._to_ask} to ask" if self._to_ask else ""
            self.query_one(Top).place = f"Desk   {counts}{ask}"

    def _why_empty(self, listed: DeskList) -> str:
        if self._found is not None:
            text = one_line(self._typed_text)
            return f"Nobody fits “{text}”. Fewer letters find more; esc goes back to the list."
        return NOTHING_SHOWN if listed.lines else EMPTY

    @property
    def _here(self) -> DueLine | None:
        key = self.query_one(LineGrid).cursor_key
        return self._lines.get(key) if isinstance(key, str) else None

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        key, line = self.query_one(LineGrid).cursor_key, self._here
        shown = None
        if line is not None and self._listed is not None and self._zone is not None:
            shown = told(line, self._listed.today, self._zone)
        elif isinstance(key, UUID) and key in self._quiet:
            shown = told_quiet(self._quiet[key])
        self.query_one(PhoneStrip).show(shown)
        self.query_one(ClientBeside).show(client_of(key, self._lines))

    def whom(self) -> Whom | None:
        """The client of the line under the cursor."""
        key, line = self.query_one(LineGrid).cursor_key, self._here
        if line is not None:
            own = line.promised
            return Whom(own.client_id, line.client, line, own.pond_id, own.site_id)
        quiet = self._quiet.get(key) if isinstance(key, UUID) else None
        return None if quiet is None else Whom(quiet.client_id, quiet.client, None)

    def attempt_shown(self, attempt: Attempt) -> None:
        """The lines of the client change at once; the desk read anew brings their order."""
        listed = self._listed
        if listed is None:
            return

        def moved(line: DueLine) -> DueLine:
            if line.promised.client_id != attempt.client_id:
                return line
            count = 0 if attempt.outcome == "reached" else line.attempts + 1
            return replace(line, attempts=count, last_attempt=attempt)

        self._listed = replace(listed, lines=tuple(moved(line) for line in listed.lines))
        if self._found is not None:
            lines = tuple(moved(line) for line in self._found.lines)
            self._found = replace(self._found, lines=lines)
        self._fill()

    # Finding

    def action_find(self) -> None:
        """To the line that is searched with."""
        self.query_one("#desk-find").display = True
        # At once: what is typed behind the key goes into the line, and starts nothing else.
        self.set_focus(self.query_one("#desk-text", Input))

    @on(Input.Changed, "#desk-text")
    def _typed(self) -> None:
        self._seek(self._typed_text)

    @on(Input.Submitted, "#desk-text")
    @work(exclusive=True, group="desk-open")
    async def _submitted(self) -> None:
        """Enter opens the best hit, once what was typed has been looked for."""
        seeking = [one for one in self.workers if one.group == "desk-seek" and one.is_running]
        if seeking:
            await self.workers.wait_for_complete(seeking)
        self._open(self.query_one(LineGrid).cursor_key)

    def on_key(self, event: Key) -> None:
        """From the line that is searched with, the arrows go on into the list."""
        if event.key in ("down", "up", "pagedown") and isinstance(self.focused, TextLine):
            event.stop()
            event.prevent_default()
            self.query_one(LineGrid).focus()

    def action_back(self) -> None:
        """Empty the line that is searched with, leave it, then back to all that is due."""
        line = self.query_one("#desk-text", Input)
        if line.value:
            line.value = ""
            if not line.has_focus:
                self._leave_find()
        elif line.has_focus:
            self._leave_find()
        elif self._chosen != "all":
            self._chosen = "all"
            self._fill()
        else:
            self.say("")

    def _leave_find(self) -> None:
        self.query_one(LineGrid).focus()
        self.query_one("#desk-find").display = False

    # Going on

    @on(LineGrid.Opened)
    def _opened(self, opened: LineGrid.Opened) -> None:
        self._open(opened.key)

    def _open(self, key: object) -> None:
        client = client_of(key, self._lines)
        if client is not None:
            self.ponds_app.open_client(client)

    def action_filter(self) -> None:
        """Choose what stands here."""
        from tui.screens.parts.dialogs import Choose, Option

        listed = self._listed
        if listed is None:
            return
        options = [
            Option(key, words, f"{sum(map(stays, listed.lines)):,}")
            for key, (words, stays) in FILTERS.items()
        ]
        self.app.push_screen(
            Choose("What stands here?", options, start=self._chosen), self._filtered
        )  # fmt: skip

    def _filtered(self, key: object) -> None:
        if isinstance(key, str) and key in FILTERS:
            self._chosen = key
            self._fill()

    @work(exclusive=True, group="desk-act")
    async def action_settle(self) -> None:
        """Open what keeps it; what was promised by hand is kept, moved or dropped."""
        from tui.screens.desk.desk_acts import settle

        if self._here is not None:
            await settle(self, self._here)

    @work(exclusive=True, group="desk-act")
    async def action_book(self) -> None:
        """Propose days and hours."""
        from tui.screens.desk.desk_acts import book_line

        if self._here is not None and self._listed is not None:
            await book_line(self, self._here, self._listed.lines)
        elif self.whom() is not None:
            self.notify("enter opens the client; there b books a visit to a pond.", markup=False)

    def action_call(self) -> None:
        """Take a call."""
        from tui.screens.desk.desk_acts import take_call

        take_call(self.ponds_app, self.whom() if self._found is not None else None)

    def action_pond(self) -> None:
        """Open the pond."""
        line = self._here
        if line is not None and line.promised.pond_id is not None:
            self.ponds_app.open_pond(line.promised.pond_id)

    def action_ask(self) -> None:
        """Whom to ask for a thermometer reading."""
        from tui.screens.desk.asking import AskingScreen

        self.app.push_screen(AskingScreen())

    def action_kept(self) -> None:
        """How many promises were kept on time."""
        from tui.screens.desk.promises import PromisesScreen

        self.app.push_screen(PromisesScreen())

    def action_again(self) -> None:
        """Read the desk anew."""
        self._held = None
        self._read()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """The key that finds is a letter like others where somebody types."""
        if action == "find" and isinstance(self.focused, TextLine):
            return False
        return super().check_action(action, parameters)

    def letters(self) -> frozenset[str]:
        """Actions whose keys are letters."""
        return super().letters() | {
            "book", "settle", "filter", "call", "pond", "kept", "ask"
        }  # fmt: skip


_MORNING_RESTS_ON = (
    "client", "site", "pond", "practice", "water_test", "logger_day", "pond_event", "rest",
    "rule_change", "visit", "course", "course_step", "course_dose", "course_task", "dose_given",
    "examination", "examined_fish", "preparation", "exam_finding", "lab_sample", "death_count",
    "head_count", "import_file",
)  # fmt: skip
"""Tables whose rows the morning list reads; what else is written leaves it as it was."""


def _read(book: Book, now: datetime, held: Held | None) -> tuple[DeskList, Held, ZoneInfo]:
    from store.courses.kept.morning import morning_list
    from store.diary.kept.due.desk import desk_list

    stamp = book.stamp(*_MORNING_RESTS_ON)
    if held is None or held.stamp != stamp or now - held.at >= LOOK_AGAIN:
        held = Held(stamp, now, morning_list(book, now))
    return desk_list(book, now, morning=held.morning), held, book.zone


def _to_ask(book: Book, now: datetime) -> int:
    from store.diary.kept.due.whom_to_ask import whom_to_ask

    return len(whom_to_ask(book, now).lines)
