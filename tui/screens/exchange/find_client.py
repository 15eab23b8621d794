"""One client of the book, found by typing part of what one knows."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.content import Content
from textual.events import Key
from textual.widgets import Button, Input, OptionList
from textual.widgets.option_list import Option as ListOption

from tui.screens.parts.dialogs import Dialog
from tui.widgets.entry import TextLine
from tui.widgets.literal import one_line
from tui.widgets.static import Static

if TYPE_CHECKING:
    from store.book.book import Book
    from store.book.find import Found
    from tui.app import PondroundApp

_MOST, _LOOKED_AT = 8, 60


class FindClient(Dialog[UUID | None]):
    """A line to type in, and who fits it.

    Parameters
    ----------
    title
        For what somebody is looked for.
    but
        A client that is not meant.
    """

    QUESTION = "Which client is meant?"
    ABOUT = (
        "Type part of a name, pond, town or telephone number, misspelt too. Down goes to those who "
        "fit, enter takes the one under the cursor, or the first. Esc goes back."
    )

    def __init__(self, title: str, but: UUID) -> None:
        super().__init__(title)
        self._but = but
        self._found: tuple[Found, ...] = ()

    def content(self) -> ComposeResult:
        """The line, who fits, and what to do."""
        yield TextLine(placeholder="part of a name, town or telephone number", id="find-client")
        yield OptionList(id="found-clients")
        yield Static("", id="find-client-said", markup=False)

    def buttons(self) -> ComposeResult:
        """Back only: enter chooses."""
        yield Button(Content("Back"), id="back", compact=True)

    def on_mount(self) -> None:
        """Ready to type."""
        self.query_one(OptionList).display = False
        self.query_one("#find-client-said", Static).update(Content("Enter takes the first."))
        self.query_one(Input).focus()

    @on(Input.Changed, "#find-client")
    def _typed(self, changed: Input.Changed) -> None:
        self._look(changed.value)

    @work(exclusive=True, group="find-client")
    async def _look(self, text: str) -> None:
        app = cast("PondroundApp", self.app)
        self._found = await app.ask_store(_fitting, app.book, text, self._but)
        options = self.query_one(OptionList)
        options.clear_options()
        options.add_options([ListOption(_said(one)) for one in self._found])
        options.display = bool(self._found)
        if self._found:
            options.highlighted = 0
        said = "Enter takes the first." if self._found or not text.strip() else "Nobody fits."
        self.query_one("#find-client-said", Static).update(Content(said))

    def on_key(self, event: Key) -> None:
        """From the line the arrows go into those who fit, and back."""
        options = self.query_one(OptionList)
        if event.key == "down" and self.query_one(Input).has_focus and self._found:
            event.stop()
            event.prevent_default()
            options.focus()
        elif event.key == "up" and options.has_focus and not options.highlighted:
            event.stop()
            event.prevent_default()
            self.query_one(Input).focus()

    @on(Input.Submitted, "#find-client")
    def _first(self) -> None:
        if self._found:
            self.dismiss(self._found[0].client_id)

    @on(OptionList.OptionSelected)
    def _chosen(self, chosen: OptionList.OptionSelected) -> None:
        self.dismiss(self._found[chosen.option_index].client_id)

    @on(Button.Pressed, "#back")
    def _gone_back(self) -> None:
        self.action_back()


def _fitting(book: Book, text: str, but: UUID) -> tuple[Found, ...]:
    """Each client once, by what fits best of it."""
    from store.book.find import find

    found: dict[UUID, Found] = {}
    for one in find(book, text, limit=_LOOKED_AT):
        if one.client_id != but:
            found.setdefault(one.client_id, one)
    return tuple(found.values())[:_MOST]


def _said(one: Found) -> Content:
    about = ", ".join(part for part in (one.town, one.phone, one.pond) if part)
    return Content.assemble(one_line(one.client), (f"  {one_line(about)}", "$quiet"))
