"""All ponds by client and site: found while typing, entered, changed, struck through."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.content import Content
from textual.events import Key
from textual.screen import Screen
from textual.widgets import Input

from store.errors import PondroundError
from tui.said import said_head
from tui.screens.directory.directory_lines import COLUMNS, rows_of, said_count, told
from tui.screens.parts.help import HELP, open_help
from tui.widgets.entry import TextLine
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.static import Static
from tui.widgets.strip import BottomStrip
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.listing import Listing, ListLine
    from tui.app import PondroundApp

EMPTY = (
    "No pond yet. Press n to enter a client with a site and a pond, or i to bring in a list of "
    "clients."
)


class DirectoryScreen(Screen[None]):
    """Every pond of the practice; who to ring and how to get in."""

    CSS_PATH = "../sheets/directory.tcss"
    QUESTION = "Whose pond is it, where is it, and whom do I ring?"
    ABOUT = (
        "Type / and part of a client, pond, town, street or telephone number; a misspelt word is "
        "found as well. At the bottom stand the numbers, the address and how to get in. What was "
        "struck through is hidden; s shows it, and u restores the line under the cursor."
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("slash", "find", "find", key_display="/", id="directory.find", priority=True,
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
        Binding("i", "bring", "bring in", show=False, id="directory.bring",
                tooltip="A file into the book: clients, water, a logger's, visits, and more"),
        Binding("m", "merge", "merge", show=False, id="directory.merge",
                tooltip="This client stands in the book twice: look at both, and merge them"),
        Binding("p", "practice", "practice", id="directory.practice",
                tooltip="The practice, its people and its test kits"),
        Binding("w", "people", "who works here", show=False, id="directory.people",
                tooltip="The people: enter, change, gone, passphrase, login at a server"),
        Binding("o", "out", "out", show=False, id="directory.out",
                tooltip="Write a pond's water, a table or the whole book to a file"),
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
        self.refresh_bindings()
        self._read()

    def on_book_changed(self) -> None:
        """The book has grown: read the directory anew."""
        self._read()

    # Reading

    @work(exclusive=True, group="directory")
    async def _read_lines(self, text: str, struck: bool) -> None:
        from store.book.listing import listing

        app = self.ponds_app
        try:
            found = await app.ask_store(listing, app.book, text, struck=struck)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        self._show(found)

    @property
    def _book_open(self) -> bool:
        return bool(getattr(self.app, "book_is_open", True))

    def _read(self) -> None:
        if not self._book_open:
            return  # its coming is told
        self._read_lines(self.query_one("#directory-text", Input).value, self._struck)

    def _show(self, found: Listing) -> None:
        text = self.query_one("#directory-text", Input).value.strip()
        self._lines = {line.key: line for line in found.lines}
        grid = self.query_one(LineGrid)
        grid.empty = (
            f"Nothing fits “{text}”. Fewer letters find more; esc goes back to all."
            if text
            else EMPTY
        )
        grid.show(rows_of(found.lines))
        if self._wanted is not None and grid.move_to(self._wanted):
            self._wanted = None
        top = self.query_one(Top)
        top.place = f"Directory   {said_count(found, struck=self._struck)}"
        app = self.ponds_app
        top.moment = said_head(app.now(), app.book.zone)
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
        # At once: what is typed behind the key goes into the line, and starts nothing else.
        self.set_focus(self.query_one("#directory-text", Input))

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
        from tui.screens.directory.directory_acts import new_record

        pond = await new_record(self.ponds_app, self._here)
        if pond is not None:
            self._wanted = pond
            self._read()

    @work(exclusive=True, group="directory-act")
    async def action_change(self) -> None:
        """Change the pond, its site or its client."""
        from tui.screens.directory.directory_acts import change_part

        line = self._here
        if line is not None:
            await change_part(self.ponds_app, line)

    @work(exclusive=True, group="directory-act")
    async def action_strike(self) -> None:
        """Strike through, with a reason."""
        from tui.screens.directory.directory_acts import strike_part

        line = self._here
        if line is None:
            return
        if line.struck:
            self.notify("This line is struck through already; u restores it.", markup=False)
        elif await strike_part(self.ponds_app, line):
            self._read()

    @work(exclusive=True, group="directory-act")
    async def action_restore(self) -> None:
        """Restore the part of the line that is struck through."""
        from tui.screens.directory.directory_acts import set_struck

        line = self._here
        if line is None or line.struck is None:
            self.notify("Nothing is struck through here; s shows what is.", markup=False)
        elif await set_struck(self.ponds_app, line, line.struck, strike=False):
            self._read()

    @work(exclusive=True, group="directory-act")
    async def action_history(self) -> None:
        """Who changed it, when, from what to what."""
        from tui.screens.directory.directory_acts import show_history

        line = self._here
        if line is not None:
            await show_history(self.ponds_app, line)

    @work(exclusive=True, group="directory-act")
    async def action_practice(self) -> None:
        """The practice, its people and its kits."""
        from tui.screens.parts.edit import choose_own_record

        await choose_own_record(self.ponds_app)

    @work(exclusive=True, group="directory-act")
    async def action_people(self) -> None:
        """The people of the practice, and how they sign in."""
        from tui.screens.parts.sign_in_people import choose_person

        await choose_person(self.ponds_app)

    @work(exclusive=True, group="directory-act")
    async def action_merge(self) -> None:
        """This client stands in the book twice: look at both, and merge them."""
        from tui.screens.exchange.merge import merge_client

        line = self._here
        if line is None:
            return
        if line.struck == "client":
            self.notify("This client is struck through; u restores it.", markup=False)
        elif await merge_client(self.ponds_app, line.client_id, line.client):
            self._read()

    @work(exclusive=True, group="directory-act")
    async def action_bring(self) -> None:
        """Look at a file, and bring it in."""
        from tui.screens.exchange.bring_in import bring_in

        await bring_in(self.ponds_app)

    @work(exclusive=True, group="directory-act")
    async def action_out(self) -> None:
        """A pond's water, a table or the whole book into a file."""
        from tui.screens.exchange.out import take_out

        await take_out(self.ponds_app, self._here)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Letters are for typing while the line that is searched with has the focus.

        Before the book is open nothing of it can be asked for.
        """
        if action == "find" and isinstance(self.focused, TextLine):
            return False
        if action in _LETTERS and (isinstance(self.focused, TextLine) or not self._book_open):
            return False
        return super().check_action(action, parameters)


_LETTERS = frozenset(
    {
        "new",
        "change",
        "strike",
        "restore",
        "struck",
        "history",
        "practice",
        "bring",
        "out",
        "merge",
        "people",
    }
)
"""Keys that are letters, each of which asks the book."""
