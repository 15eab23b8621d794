"""Which list is to be looked at, and opening what is in it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import UUID

from store.errors import BadInput, NotAllowed, PondroundError
from tui.screens.parts.edit import FormScreen
from tui.screens.parts.once import once
from tui.widgets.fields import Field, Form

if TYPE_CHECKING:
    from store.book.book import Book
    from store.exchange.catch_up.clients_plan import CatchUp
    from store.exchange.catch_up.read_clients import ClientList
    from tui.app import PondroundApp

    Looked = tuple[ClientList, CatchUp, dict[str, str]]

_CELLS = 40


class ListFileScreen(FormScreen):
    """The file of a client list; F2 reads it and shows what it would bring."""

    QUESTION = "Which list of clients and ponds is to be looked at?"
    ABOUT = (
        "F2 reads the file (CSV or .xlsx) and shows, line by line, who is new, who is in the book "
        "and what has to be asked; nothing is saved before you say so there. The columns are found "
        "by their headings."
    )

    def __init__(self) -> None:
        fields = (
            Field("file", "file", "such as clients.xlsx", width=_CELLS),
            Field("sheet", "sheet", "of a workbook with several", width=_CELLS),
        )
        super().__init__("Clients and ponds from a list", fields, "clients-list-file")
        self.looked: Looked | None = None
        """The list that was read; None until then."""

    @once("edit")
    async def _saving(self, texts: dict[str, str]) -> None:
        app, form = self.ponds_app, self.query_one(Form)
        form.clear_errors()
        try:
            self.looked = await app.ask_store(looked_at, app.book, texts)
        except BadInput as trouble:
            form.show_error(BadInput(trouble.message, field=trouble.field or "file"))
            return
        except PondroundError as trouble:
            app.tell(trouble)
            return
        form.saved()
        self.dismiss(None)

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """Nothing is saved by looking."""
        raise NotAllowed("A list is looked at here; nothing was saved.")


def looked_at(book: Book, texts: Mapping[str, str]) -> Looked:
    """A list as it would go into the book, with the answers that stand beside it already.

    Parameters
    ----------
    book
        The practice's book.
    texts
        `file` and `sheet`, as typed.

    Raises
    ------
    BadInput
        The list cannot be read.
    """
    from store.exchange.catch_up.answers_file import answers_beside
    from store.exchange.catch_up.read_clients import ClientList

    if not texts["file"].strip():
        raise BadInput("Which file? Nothing was read yet.", field="file")
    path = Path(texts["file"].strip()).expanduser()
    opened = ClientList(path, book, sheet=texts.get("sheet", "").strip() or None)
    found = opened.look()
    answers = answers_beside(found)
    return opened, (opened.look(answers) if answers else found), answers


async def look_at_list(app: PondroundApp) -> None:
    """Ask which list, and show what it would bring."""
    from tui.screens.exchange.clients_in import ClientsInScreen

    form = ListFileScreen()
    await app.push_screen_wait(form)
    if form.looked is not None:
        await app.push_screen(ClientsInScreen(*form.looked))
