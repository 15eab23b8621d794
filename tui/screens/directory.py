"""All ponds by client and site: found while typing, entered, changed, struck through."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar, cast
from uuid import UUID

from rich.text import Text
from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.content import Content
from textual.events import Key
from textual.screen import Screen
from textual.widgets import Input, Static
from textual.worker import Worker, WorkerState

from store.errors import PondroundError
from tui.screens.dialogs import AskReason, Choose, Option, Reason
from tui.screens.help import HELP, open_help
from tui.widgets.columns import Column
from tui.widgets.entry import TextLine
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid, Row
from tui.widgets.literal import one_line
from tui.widgets.strip import BottomStrip, Told
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.listing import Listing, ListLine, Part
    from tui.app import PondroundApp

COLUMNS = (
    Column("client", "Client", 18, weight=2),
    Column("site", "Site", 14, weight=3, drop_order=2),
    Column("pond", "Pond", 15, weight=1),
    Column("town", "Town", 12, weight=1, drop_order=1),
    Column("phone", "Telephone", 14, drop_order=3),
)
EMPTY = "No pond yet. Press n to enter a client with a site and a pond."


class DirectoryScreen(Screen[None]):
    """Every pond of the practice; who to ring and how to get in."""

    CSS_PATH = "directory.tcss"
    QUESTION = "Whose pond is it, where is it, and whom do I ring?"
    ABOUT = (
        "Type / and part of a client, pond, town, street or telephone number; a misspelt word is "
        "found as well. At the bottom stand the numbers, the address and how to get in. What was "
        "struck through is hidden; s shows it, and u restores the line under the cursor."
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("slash", "find", "find", key_display="/", id="directory.find",
                tooltip="Find while typing; esc leaves, and then empties the line"),
        Binding("n", "new", "new", id="directory.new",
                tooltip="Enter a client, a site or a pond"),
        Binding("c", "change", "change", id="directory.change",
                tooltip="Change the pond, its site or its client"),
        Binding("x", "strike", "strike", id="directory.strike",
                tooltip="Strike through with a reason; it stays in the book"),
        Binding("u", "restore", "restore", show=False, id="directory.restore",
                tooltip="Restore what was struck through"),
        Binding("s", "struck", "struck", show=False, id="directory.struck",
                tooltip="Show or hide what was struck through"),
        Binding("h", "history", "history", id="directory.history",
                tooltip="Who changed it, when, from what to what"),
        Binding("p", "practice", "practice", id="directory.practice",
                tooltip="The practice, its people and its test kits"),
        Binding("f5", "again", "look again", show=False, id="directory.again",
                tooltip="Read the directory anew"),
        Binding("escape", "back", "back", show=False, id="directory.back",
                tooltip="Empty the line that is searched for"),
    ]  # fmt: skip

    def __init__(self) -> None:
        super().__init__()
        self._lines: dict[UUID, ListLine] = {}
        self._struck = False
        self._wanted: UUID | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, the line to search with, the list, the strip."""
        yield Top("Directory", id="directory-head")
        with Horizontal(id="directory-find"):
            yield Static(Content("find"), id="directory-find-label")
            yield TextLine(
                placeholder="/ and part of a name, town or telephone number", id="directory-text"
            )
        yield Line()
        yield LineGrid(
            COLUMNS,
            empty="reading the directory …",
            header=True,
            gutter="mark",
            id="directory-list",
        )
        yield Line()
        yield BottomStrip(id="directory-strip")
        yield Foot()

    def on_mount(self) -> None:
        """The list has the keys; it fills behind the first paint."""
        self.query_one(LineGrid).focus()
        self._read()

    def on_screen_resume(self) -> None:
        """Something may have been entered meanwhile."""
        self._read()

    def on_book_opened(self) -> None:
        """The book can be asked now."""
        self._read()

    def on_book_changed(self) -> None:
        """The book has grown: read the directory anew."""
        self._read()

    # Reading

    @work(thread=True, exclusive=True, group="directory", exit_on_error=False)
    def _read_lines(self, text: str, struck: bool) -> Listing:
        from store.book.listing import listing

        return listing(self.ponds_app.book, text, struck=struck)

    def _read(self) -> None:
        if not getattr(self.app, "book_is_open", True):
            return  # its coming is told
        self._read_lines(self.query_one("#directory-text", Input).value, self._struck)

    @on(Worker.StateChanged)
    def _have_read(self, changed: Worker.StateChanged) -> None:
        if changed.worker.group != "directory":
            return
        if changed.state is WorkerState.SUCCESS and changed.worker.result is not None:
            self._show(changed.worker.result)
        elif changed.state is WorkerState.ERROR:
            if isinstance(changed.worker.error, PondroundError):
                self.ponds_app.tell(changed.worker.error)
            elif changed.worker.error is not None:
                raise changed.worker.error

    def _show(self, found: Listing) -> None:
        text = self.query_one("#directory-text", Input).value.strip()
        self._lines = {line.key: line for line in found.lines}
        grid = self.query_one(LineGrid)
        grid.empty = (
            f"Nothing fits “{text}”. Fewer letters find more; esc goes back to all."
            if text
            else EMPTY
        )
        grid.show(_rows(found.lines))
        if self._wanted is not None and grid.move_to(self._wanted):
            self._wanted = None
        shown = sum(1 for line in found.lines if line.pond_id and not line.struck)
        count = (
            f"{found.ponds} ponds" if shown == found.ponds else f"{shown} of {found.ponds} ponds"
        )
        if found.struck:
            count += f"   {found.struck} struck {'shown' if self._struck else 'not shown'}"
        # The right side of the head is the application's clock.
        self.query_one(Top).place = f"Directory   {count}"
        self._explain()

    @on(Input.Changed, "#directory-text")
    def _typed(self) -> None:
        self._read()

    @on(Input.Submitted, "#directory-text")
    def _found(self) -> None:
        self.query_one(LineGrid).focus()

    def on_key(self, event: Key) -> None:
        """From the line that is searched with, the arrows go on into the list."""
        if event.key in ("down", "up", "pagedown") and isinstance(self.focused, TextLine):
            event.stop()
            event.prevent_default()
            self.query_one(LineGrid).focus()

    @on(LineGrid.CursorMoved)
    def _moved(self) -> None:
        self._explain()

    def _explain(self) -> None:
        line = self._here
        self.query_one(BottomStrip).show(None if line is None else told(line))

    @property
    def _here(self) -> ListLine | None:
        key = self.query_one(LineGrid).cursor_key
        return self._lines.get(key) if isinstance(key, UUID) else None

    # Keys

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)

    def action_find(self) -> None:
        """To the line that is searched with."""
        self.query_one("#directory-text", Input).focus()

    def action_back(self) -> None:
        """From the line to the list; there, back to all ponds."""
        line = self.query_one("#directory-text", Input)
        if line.has_focus and line.value:
            line.value = ""
        elif line.has_focus:
            self.query_one(LineGrid).focus()
        else:
            line.value = ""

    def action_again(self) -> None:
        """Read the directory anew."""
        self._read()

    def action_struck(self) -> None:
        """Show what was struck through as well, or hide it again."""
        self._struck = not self._struck
        self._read()

    @on(LineGrid.Opened)
    def _opened(self) -> None:
        line = self._here
        if line is None:
            self.action_new()
        elif line.struck:
            self.notify("This line is struck through; u restores it.", markup=False)
        elif line.pond_id is not None:
            self.ponds_app.open_pond(line.pond_id)
        else:
            self.action_new()

    @work(exclusive=True, group="directory-act")
    async def action_new(self) -> None:
        """Enter a client, a site or a pond; what the cursor is on decides what is offered."""
        from tui.screens.edit import NewPondScreen

        line = self._here
        chosen: object = "client"
        if line is not None and line.struck not in ("client", "site"):
            options = [Option("client", "A new client, with site and pond")]
            if line.struck is None or line.struck == "pond":
                options.insert(
                    0, Option("site", "A new site and pond for this client", line.client)
                )
                if line.site_id is not None:
                    options.insert(0, Option("pond", "A new pond at this site", _site_said(line)))
            chosen = await self.app.push_screen_wait(Choose("What is new?", options))
        if chosen is None:
            return
        client = line.client_id if line is not None and chosen in ("site", "pond") else None
        site = line.site_id if line is not None and chosen == "pond" else None
        said = "" if line is None else line.client if chosen == "site" else _site_said(line)
        pond = await self.app.push_screen_wait(NewPondScreen(client, site, said if client else ""))
        if pond is not None:
            self._wanted = pond
            self._read()

    @work(exclusive=True, group="directory-act")
    async def action_change(self) -> None:
        """Change the pond, its site or its client."""
        from tui.screens.edit import change_record

        line = self._here
        if line is None:
            return
        part = await self._part(line, "What is to be changed?")
        if part is not None:
            key = line.part(part)
            assert key is not None
            await change_record(self.ponds_app, part, key)

    @work(exclusive=True, group="directory-act")
    async def action_strike(self) -> None:
        """Strike through, with a reason."""
        line = self._here
        if line is None:
            return
        if line.struck:
            self.notify("This line is struck through already; u restores it.", markup=False)
            return
        part = await self._part(line, "What is to be struck through?")
        if part is not None:
            await self._set_struck(line, part, strike=True)

    @work(exclusive=True, group="directory-act")
    async def action_restore(self) -> None:
        """Restore the part of the line that is struck through."""
        line = self._here
        if line is None or line.struck is None:
            self.notify("Nothing is struck through here; s shows what is.", markup=False)
            return
        await self._set_struck(line, line.struck, strike=False)

    async def _set_struck(self, line: ListLine, part: Part, *, strike: bool) -> None:
        from tui.screens.records import struck_through

        name = {"client": line.client, "site": line.site, "pond": line.pond}[part]
        what = "Strike through" if strike else "Restore"
        prompt = STRIKE[part] if strike else f"It was struck through: {line.struck_why}"
        answer = await self.app.push_screen_wait(
            AskReason(f"{what}: {part} {name}", prompt, accept=what)
        )
        act = await self.ponds_app.acting() if isinstance(answer, Reason) else None
        key = line.part(part)
        if not isinstance(answer, Reason) or act is None or key is None:
            return
        app = self.ponds_app
        try:
            await app.ask_store(
                struck_through, app.book, act, part, key, answer.text, strike=strike
            )
        except PondroundError as trouble:
            app.tell(trouble)
            return
        app.changed()
        self._read()
        self.notify(
            "Struck through. It stays in the book; s shows it." if strike else "Restored.",
            markup=False,
        )

    @work(exclusive=True, group="directory-act")
    async def action_history(self) -> None:
        """Who changed it, when, from what to what."""
        from tui.screens.history import HistoryScreen

        line = self._here
        if line is None:
            return
        part = await self._part(line, "The history of what?")
        key = None if part is None else line.part(part)
        if part is not None and key is not None:
            self.app.push_screen(HistoryScreen(part, key, getattr(line, part)))

    @work(exclusive=True, group="directory-act")
    async def action_practice(self) -> None:
        """The practice, its people and its kits."""
        from tui.screens.edit import choose_own_record

        await choose_own_record(self.ponds_app)

    async def _part(self, line: ListLine, question: str) -> Part | None:
        parts: list[Option] = [Option("client", "The client", line.client)]
        if line.site_id is not None:
            parts.insert(0, Option("site", "The site", line.site))
        if line.pond_id is not None:
            parts.insert(0, Option("pond", "The pond", line.pond))
        chosen = await self.app.push_screen_wait(Choose(question, parts))
        return cast("Part | None", chosen)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Letters are for typing while the line that is searched with has the focus."""
        if action in _LETTERS and isinstance(self.focused, TextLine):
            return False
        return super().check_action(action, parameters)


_LETTERS = frozenset({"new", "change", "strike", "restore", "struck", "history", "practice"})
STRIKE = {
    "client": "The client leaves the lists with all sites and ponds, and can be restored with "
    "them. Nothing is lost. Why?",
    "site": "The site leaves the lists with all its ponds, and can be restored with them. Nothing "
    "is lost. Why?",
    "pond": "The pond leaves the lists and the morning, and can be restored. Nothing is lost. Why?",
}
"""What striking through does, told before the reason is asked."""


def _site_said(line: ListLine) -> str:
    return f"{line.client}, {line.site}"


def _rows(lines: tuple[ListLine, ...]) -> list[Row]:
    """One row a line; a client or site that repeats the line above is dimmed."""
    rows: list[Row] = []
    above: ListLine | None = None
    for line in lines:
        same_client = above is not None and above.client_id == line.client_id
        same_site = same_client and above is not None and above.site_id == line.site_id
        pond = line.pond or ("–" if line.site_id else "no site yet")
        cells: tuple[Any, ...] = (
            _dim(line.client) if same_client else line.client,
            _dim(line.site) if same_site else line.site,
            pond,
            _dim(line.town),
            line.phone or line.phone2,
        )
        if line.struck:
            struck = f"struck: {one_line(pond if line.struck == 'pond' else line.struck)}"
            cells = (
                _dim(line.client), _dim(line.site), _dim(struck), _dim(line.town),
                _dim(line.phone),
            )  # fmt: skip
        rows.append(Row(line.key, cells))
        above = line
    return rows


def _dim(text: str) -> Text:
    return Text.assemble((one_line(text), "quiet"), end="")


def told(line: ListLine) -> Told:
    """Whom to ring, where it is, how to get in."""
    phones = " or ".join(one_line(phone) for phone in (line.phone, line.phone2) if phone.strip())
    head = f"{one_line(line.client)}, {f'tel. {phones}' if phones else 'no telephone number'}"
    place = ", ".join(
        one_line(part) for part in (line.address, line.town, line.postcode) if part.strip()
    )
    hours = f"access {one_line(line.access_hours)}" if line.access_hours.strip() else ""
    notes = one_line(line.access_notes)
    if line.struck:
        notes = f"Struck through ({line.struck}): {one_line(line.struck_why)}"
    elif not notes and line.site_id is not None:
        notes = "No access notes."
    return Told(head, place or "No address.", hours, notes)
