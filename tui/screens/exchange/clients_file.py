"""A list of clients from its file to the page on which it is decided."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, cast
from uuid import UUID

from textual.app import ComposeResult
from textual.binding import Binding
from textual.content import Content
from textual.screen import Screen

from store.errors import BadInput, PondroundError
from tui.said import said_head
from tui.screens.exchange.plan_work import sheets_of
from tui.screens.parts.dialogs import Choose, Option
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.once import once
from tui.widgets.foot import Foot
from tui.widgets.literal import one_line
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.book import Book
    from store.exchange.catch_up.clients_plan import CatchUp
    from store.exchange.catch_up.read_clients import ClientList
    from tui.app import PondroundApp

    LookedAt = tuple[ClientList, CatchUp, dict[str, str]]


class ClientsFileScreen(Screen[PondroundError | None]):
    """Reads a list of clients, and shows it once it is read.

    Parameters
    ----------
    path
        The file.
    pond
        Not used: a list of clients is of no pond.
    """

    QUESTION = "Who of this list is new, who is in the book, and what has to be asked?"
    ABOUT = "The list is being read and compared with the book; its lines come up by themselves."
    BINDINGS = [  # noqa: RUF012
        HELP,
        Binding("escape", "back", "back", key_display="esc", id="clients_file.back",
                tooltip="Back to the file; nothing is saved"),
    ]  # fmt: skip

    def __init__(self, path: Path, pond: UUID | None = None) -> None:
        super().__init__()
        self._path = path

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, and that it is being read."""
        name = one_line(self._path.name)
        yield Top(f"Clients from {name}", id="clients-file-head")
        yield Static(Content(f" reading {name} …"), id="clients-file-state", markup=False)
        yield Line()
        yield Static("", id="clients-file-rest")
        yield Foot()

    def on_mount(self) -> None:
        """The list is read behind the first paint."""
        app = self.ponds_app
        self.query_one(Top).moment = said_head(app.now(), app.book.zone)
        self.query_one("#clients-file-rest").styles.height = "1fr"
        self._read()

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)

    def action_back(self) -> None:
        """Back to the file."""
        self.dismiss(None)

    @once("clients-file")
    async def _read(self) -> None:
        from tui.screens.exchange.clients_in import ClientsInScreen

        app = self.ponds_app
        looked = None
        sheet: str | None = None
        while looked is None:
            try:
                looked = await app.ask_store(looked_at, app.book, self._path, sheet)
            except BadInput as trouble:
                if trouble.field != "sheet" or sheet is not None:
                    self.dismiss(trouble)
                    return
                sheet = await self._which_sheet()
                if sheet is None:
                    self.dismiss(trouble)
                    return
            except PondroundError as trouble:
                self.dismiss(trouble)
                return
        await self.app.push_screen_wait(ClientsInScreen(*looked))
        self.dismiss(None)

    async def _which_sheet(self) -> str | None:
        names = await self.ponds_app.ask_store(sheets_of, self._path)
        options = [Option(name, name, note) for name, note in names]
        chosen = await self.app.push_screen_wait(Choose("Which sheet is meant?", options))
        return None if chosen is None else str(chosen)


def looked_at(book: Book, path: Path, sheet: str | None = None) -> LookedAt:
    """A list as it would go into the book, with the answers that stand beside it already.

    Parameters
    ----------
    book
        The practice's book.
    path
        The list.
    sheet
        Which sheet of a workbook.

    Raises
    ------
    BadInput
        The list cannot be read.
    """
    from store.exchange.catch_up.answers_file import answers_beside
    from store.exchange.catch_up.read_clients import ClientList

    opened = ClientList(path, book, sheet=sheet)
    found = opened.look()
    answers = answers_beside(found)
    return opened, (opened.look(answers) if answers else found), answers
