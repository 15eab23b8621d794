"""The client under the cursor of a wide desk, at its right: what the page of the client shows."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final, cast
from uuid import UUID

from rich.text import Text
from textual import work
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.timer import Timer
from textual.worker import get_current_worker

from store.errors import PondroundError
from tui.screens.desk.client_lines import ClientKey, facts, rows_of, said_phones
from tui.widgets.hanging import beside
from tui.widgets.literal import one_line
from tui.widgets.static import Static

if TYPE_CHECKING:
    from store.diary.kept.due.client_picture import ClientPicture
    from tui.app import PondroundApp
    from tui.widgets.grid import Row

READ_AFTER_S: Final = 0.08
"""The cursor rests this long before the client under it is read, so that a run of moves is quick.
"""
BESIDE_CELLS: Final = 34
"""Of the width in the style sheet, without its edge, its padding and the bar to scroll."""
_GUTTER: Final = 12


class ClientBeside(VerticalScroll, can_focus=False):
    """One client in the words of its page, read once the cursor rests on it."""

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self._client: UUID | None = None
        self._waiting: Timer | None = None
        self._read: dict[UUID, ClientPicture] = {}
        self._text = Static("", markup=False)

    def compose(self) -> ComposeResult:
        """The text."""
        yield self._text

    def show(self, client: UUID | None) -> None:
        """Show this client; None leaves the place empty."""
        if not self.display:
            return
        if client != self._client:
            self._client = client
            self._fill()
        if self._waiting is not None:
            self._waiting.stop()
        if client is not None and client not in self._read:
            self._waiting = self.set_timer(READ_AFTER_S, self._read_client)

    def forget(self) -> None:
        """Something was written: what was read may be out of date, and stands until it is anew."""
        self._read.clear()

    @work(group="desk-beside", exclusive=True)
    async def _read_client(self) -> None:
        from store.diary.kept.due.client_picture import client_picture

        app, client = cast("PondroundApp", self.app), self._client
        if client is None:
            return
        try:
            picture = await app.ask_store(client_picture, app.book, client, app.now())
        except PondroundError as trouble:
            self._text.update(Content(one_line(trouble.message)))
            return
        if get_current_worker().is_cancelled:
            return
        self._read[client] = picture
        self._fill()

    def _fill(self) -> None:
        picture = self._read.get(self._client) if self._client is not None else None
        self._text.update(Content("") if picture is None else panel(picture))


def panel(picture: ClientPicture, width: int = BESIDE_CELLS) -> Content:
    """The client in so many cells; lines that go on are indented under their text.

    Parameters
    ----------
    picture
        What was read of the client.
    width
        Cells of the panel.
    """
    parts = [
        Content.styled(one_line(picture.client.name), "bold"),
        Content(said_phones(picture)),
        facts(picture, width, 1),
        Content(""),
        *_lines(rows_of(picture), width),
    ]
    return Content("\n").join(parts)


def _lines(rows: list[Row], width: int) -> Iterator[Content]:
    for row in rows:
        label, what = (cell.plain if isinstance(cell, Text) else str(cell) for cell in row.cells)
        style = row.cells[0].style if isinstance(row.cells[0], Text) else ""
        named = f"$level-{style}" if style in ("act", "watch") else "$quiet"
        text = beside(one_line(label), what, width, _GUTTER)
        line = Content.assemble((text[:_GUTTER], named), text[_GUTTER:])
        if isinstance(row.key, ClientKey) and row.key.kind == "pond":
            name = what.partition("  ")[0]  # what stands beside it is quieter
            line = line.stylize("$quiet", _GUTTER + len(name)).stylize(
                "bold", _GUTTER, _GUTTER + len(name)
            )
        yield line
