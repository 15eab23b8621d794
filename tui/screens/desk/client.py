"""The page of a client: the whole picture in one look, while the client is on the telephone."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar
from uuid import UUID

from rich.cells import cell_len
from rich.text import Text
from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content

from store.errors import PondroundError
from tui.screens.desk.attempt import PhoneScreen, PhoneStrip, Whom
from tui.screens.desk.by_hand import end_all
from tui.screens.desk.client_lines import (
    COLUMNS,
    SITES_SHOWN,
    ClientKey,
    facts,
    rows_of,
    said_attempt,
    said_phones,
    told_due,
    told_pond,
)
from tui.screens.parts.dialogs import Choose, Option, Tell
from tui.screens.parts.help import HELP
from tui.screens.parts.page import PageScreen
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid, Row
from tui.widgets.literal import one_line
from tui.widgets.static import Static
from tui.widgets.strip import FULL_LINES, Told
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.diary.desk.due import DueLine
    from store.diary.kept.due.client_picture import ClientPicture, PondPicture


TALL_FROM = 34
"""Lines from which every site of a client has its own at the head."""
AROUND = 4
"""Lines of the head, the two rules and the keys."""


class ClientHead(Top):
    """The client at the left, the numbers to dial at the right, as strong as the name."""

    def render(self) -> Content:
        """The line; where both do not fit, the name is cut."""
        line = super().render()
        numbers = cell_len(one_line(self.moment))
        return line.stylize("bold $foreground", max(0, len(line.plain) - numbers))


class ClientScreen(PhoneScreen, PageScreen):
    """Everything that the practice has to do with one client.

    Parameters
    ----------
    client
        Key of the client.
    """

    CSS_PATH = "../sheets/desk.tcss"
    QUESTION = "What is there to say to this client?"
    ABOUT = (
        "At the head the numbers, when to ring, where the ponds are and how to get in. Below, pond "
        "by pond: what is due, what runs, the last visit, what was written last, the next visit; "
        "then what else was promised, open calls, and who rang when. One key logs how a call went, "
        "u takes it back. Enter opens what the cursor is on: the record that keeps what is due, "
        "the course, the visit, the pond."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("b", "book", "book", id="client.book",
                tooltip="Propose days and hours for what is due, or for a visit to the pond"),
        HELP,
        Binding("escape", "back", "back", key_display="esc", id="client.back",
                tooltip="Back one step"),
        Binding("d", "settle", "done", show=False, id="client.settle",
                tooltip="Open what keeps it; by hand: kept, moved, dropped with a reason"),
        Binding("c", "call", "new call", show=False, id="client.call",
                tooltip="Take a call of this client: the questions that tell how urgent it is"),
        Binding("o", "pond", "pond", show=False, id="client.pond",
                tooltip="Open the pond of this line"),
        Binding("i", "data", "data", show=False, id="client.data",
                tooltip="Change the client's numbers and notes, or a site's access"),
        Binding("h", "history", "history", show=False, id="client.history",
                tooltip="Who changed the client's record, when, from what to what"),
        Binding("H", "record", "record", show=False, id="client.record",
                tooltip="Who changed what at this client's sites and ponds, when, and why"),
        Binding("f5", "again", "look again", show=False, id="client.again",
                tooltip="Read the client anew"),
    ]  # fmt: skip

    def __init__(self, client: UUID) -> None:
        super().__init__()
        self.client = client
        self.picture: ClientPicture | None = None
        self._lines: dict[str, DueLine] = {}
        self._ponds: dict[UUID, PondPicture] = {}

    @property
    def was_read(self) -> bool:
        """Whether there is a picture already."""
        return self.picture is not None

    def compose(self) -> ComposeResult:
        """Head, facts, the list, the strip, what was logged."""
        yield ClientHead("reading the client …", id="client-head")
        yield Static("", id="client-facts", markup=False)
        yield Line()
        yield LineGrid(
            COLUMNS,
            empty="Nothing yet: no pond, nothing promised, nobody rang. c takes a call.",
            gutter="mark",
            id="client-list",
        )
        yield Line()
        yield PhoneStrip(id="client-strip")
        yield Static("", id="desk-said", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """The list has the keys; it fills behind the first paint."""
        self.query_one("#desk-said").display = False
        self.query_one(LineGrid).focus()
        self._read()

    @work(exclusive=True, group="client-page")
    async def _read(self) -> None:
        from store.diary.kept.due.client_picture import client_picture

        app = self.ponds_app
        try:
            self.picture = await app.ask_store(client_picture, app.book, self.client, app.now())
        except PondroundError as trouble:
            app.tell(trouble)
            return
        self._show()

    def _show(self) -> None:
        picture = self.picture
        if picture is None:
            return
        self._lines = {one.promised.about: one for one in picture.all_due}
        self._ponds = {one.card.pond.id: one for one in picture.ponds}
        self._show_head()
        grid, rows = self.query_one(LineGrid), rows_of(picture)
        first_look = grid.cursor_key is None
        grid.show(rows)
        if first_look:  # who rang stands on top to be read; what is due is what is acted on
            due = (row.key for row in rows if _kind(row) == "due")
            grid.move_to(next(due, grid.cursor_key))
        self._explain()

    def _show_head(self) -> None:
        picture = self.picture
        if picture is None:
            return
        top = self.query_one(Top)
        top.place, top.moment = one_line(picture.client.name), said_phones(picture)
        height = self.size.height
        most = 1 if height < 24 else SITES_SHOWN if height < TALL_FROM else 6
        head = facts(picture, self.size.width - 2, most)
        self.query_one("#client-facts", Static).update(head)
        # The strip gives its lines to the list where the whole picture needs them.
        around = len(head.plain.splitlines()) + AROUND + FULL_LINES
        self.query_one(PhoneStrip).shorten(len(rows_of(picture)) > height - around)

    @property
    def _key(self) -> ClientKey | None:
        key = self.query_one(LineGrid).cursor_key
        return key if isinstance(key, ClientKey) else None

    @property
    def _line(self) -> DueLine | None:
        key = self._key
        return None if key is None or key.kind != "due" else self._lines.get(key.name)

    @property
    def _pond(self) -> PondPicture | None:
        key = self._key
        return None if key is None or key.pond_id is None else self._ponds.get(key.pond_id)

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        picture, line, key, pond = self.picture, self._line, self._key, self._pond
        told = None
        if picture is not None and line is not None:
            told = told_due(line, picture)
        elif picture is not None and key is not None and key.kind == "pond" and pond is not None:
            told = told_pond(pond, picture)
        elif key is not None:
            told = Told(_whole(self.query_one(LineGrid).cursor_row))
        self.query_one(PhoneStrip).show(told)

    def whom(self) -> Whom | None:
        """The client, with the line and the pond under the cursor."""
        picture, pond = self.picture, self._pond
        if picture is None:
            return None
        site = None if pond is None else pond.card.site.id
        key = None if pond is None else pond.card.pond.id
        return Whom(self.client, picture.client.name, self._line, key, site)

    # Going on

    @on(LineGrid.Opened)
    def _opened(self) -> None:
        self._open()

    @work(exclusive=True, group="client-open")
    async def _open(self) -> None:
        """Open what the cursor is on."""
        from tui.screens.courses.course import CourseScreen
        from tui.screens.desk.desk_acts import settle

        key, line = self._key, self._line
        if key is None:
            return
        if line is not None:
            await settle(self, line)
        elif key.kind == "pond":
            self.ponds_app.open_pond(UUID(key.name))
        elif key.kind == "course":
            self.app.push_screen(CourseScreen(UUID(key.name)))
        elif key.kind == "visit":
            self._open_visit(UUID(key.name))
        elif key.kind == "wrote":
            self._open_wrote()
        elif key.kind == "call":
            self._open_call(UUID(key.name))
        elif key.kind == "later":
            await self._later(UUID(key.name))
        else:
            self._tell_attempts()

    def _tell_attempts(self) -> None:
        picture = self.picture
        if picture is not None:
            said = "\n".join(said_attempt(one, picture) for one in picture.attempts)
            self.app.push_screen(Tell("Who rang, and what came of it", said))

    def _open_call(self, key: UUID) -> None:
        from tui.screens.desk.call_page import CallPageScreen

        self.app.push_screen(CallPageScreen(key))

    def _open_visit(self, key: UUID) -> None:
        from tui.screens.diary.visit import VisitScreen

        self.app.push_screen(VisitScreen(key))

    def _open_wrote(self) -> None:
        from tui.screens.courses.course import CourseScreen
        from tui.screens.exams.examination_page import ExaminationPageScreen

        wrote = None if self._pond is None else self._pond.wrote
        if wrote is None:
            return
        if wrote.of == "visit":
            self._open_visit(wrote.key)
        elif wrote.of == "call":
            self._open_call(wrote.key)
        elif wrote.of == "examination":
            self.app.push_screen(ExaminationPageScreen(wrote.key))
        else:
            self.app.push_screen(CourseScreen(wrote.key))

    async def _later(self, key: UUID) -> None:
        """A promise of which no day is near: it can be ended with a reason."""
        picture = self.picture
        one = None
        if picture is not None:
            one = next((each for each in picture.follow_ups if each.id == key), None)
        if one is None:
            return
        chosen = await self.app.push_screen_wait(
            Choose(one.says, [Option("end", "End it, with a reason", "it stays to be read")])
        )
        if chosen == "end":
            await end_all(self, one.id, one.says)

    @work(exclusive=True, group="client-open")
    async def action_settle(self) -> None:
        """Open what keeps it; what was promised by hand is kept, moved or dropped."""
        from tui.screens.desk.desk_acts import settle

        if self._line is not None:
            await settle(self, self._line)

    @work(exclusive=True, group="client-open")
    async def action_book(self) -> None:
        """Propose days and hours for what is due, or for a visit to the pond."""
        from tui.screens.desk.desk_acts import book_line, book_place

        line, whom, picture = self._line, self.whom(), self.picture
        if line is not None and picture is not None:
            await book_line(self, line, picture.all_due)
        elif whom is not None and whom.pond_id is not None:
            await book_place(self, whom.pond_id, whom.site_id)
        elif picture is not None and len(picture.ponds) == 1:
            card = picture.ponds[0].card
            await book_place(self, card.pond.id, card.site.id)
        else:
            self.notify("Put the cursor on a pond: a visit goes there.", markup=False)

    def action_call(self) -> None:
        """Take a call."""
        from tui.screens.desk.desk_acts import take_call

        take_call(self.ponds_app, self.whom())

    def action_pond(self) -> None:
        """Open the pond of the line."""
        if self._pond is not None:
            self.ponds_app.open_pond(self._pond.card.pond.id)

    @work(exclusive=True, group="client-open")
    async def action_data(self) -> None:
        """Change the client or one of its sites."""
        from tui.screens.parts.edit import change_record

        picture = self.picture
        if picture is None:
            return
        options = [Option(("client", self.client), "The client", "numbers, mail, notes")]
        options += [
            Option(("site", one.id), f"Site: {one.name}", "address, access")
            for one in picture.sites
        ]
        chosen = await self.app.push_screen_wait(Choose("What is to be changed?", options))
        if isinstance(chosen, tuple):
            await change_record(self.ponds_app, *chosen)

    def action_history(self) -> None:
        """Who changed the client's record."""
        from tui.screens.parts.history import HistoryScreen

        if self.picture is not None:
            self.app.push_screen(HistoryScreen("client", self.client, self.picture.client.name))

    def action_record(self) -> None:
        """All that was entered and changed for this client."""
        from tui.screens.record.record import RecordScreen

        if self.picture is not None:
            self.app.push_screen(RecordScreen(("client", self.client), self.picture.client.name))

    def action_again(self) -> None:
        """Read the client anew."""
        self._read()

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def letters(self) -> frozenset[str]:
        """Actions whose keys are letters."""
        return super().letters() | {
            "book", "settle", "call", "pond", "data", "history", "record"
        }  # fmt: skip


def _kind(row: Row) -> str:
    return row.key.kind if isinstance(row.key, ClientKey) else ""


def _whole(row: Row | None) -> str:
    """The line in full, as the column cuts it."""
    if row is None:
        return ""
    cells = (cell.plain if isinstance(cell, Text) else str(cell) for cell in row.cells)
    return one_line(": ".join(cell for cell in cells if cell))
