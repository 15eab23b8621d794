"""Two clients of the book who are one: looked at side by side, merged with a reason."""

from __future__ import annotations

from typing import TYPE_CHECKING
from uuid import UUID

from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import OptionList, Static

from store.errors import PondroundError
from tui.screens.exchange.clients_in_lines import side_by_side
from tui.screens.parts.dialogs import AskReason, Choose, Option, Reason
from tui.widgets.literal import one_line
from tui.widgets.reading import Reading

if TYPE_CHECKING:
    from store.exchange.catch_up.book_doubles import BookDouble
    from tui.app import PondroundApp

NOBODY = (
    "Nobody in the book has a like name, the same telephone, mail or address. Correct one of the "
    "two first, if they are one."
)
_CELLS, _SHARE, _FRAME = 68, 0.94, 6


class WhichStays(Choose):
    """Both clients beside each other, and which of the two stays.

    Parameters
    ----------
    pair
        The two.
    """

    QUESTION = "Are these two one client, and which of the two stays?"
    ABOUT = (
        "Both stand beside each other as the book has them. The one that stays gets all sites, "
        "ponds, promises and calls of the other, and what it lacked; the other is struck through "
        "and keeps its record. Esc leaves both as they are."
    )

    def __init__(self, pair: BookDouble) -> None:
        self._pair = pair
        options = [
            Option(pair.client_id, f"{pair.name} stays"),
            Option(pair.other_id, f"{pair.other_name} stays"),
        ]
        super().__init__(f"{pair.name} and {pair.other_name}: one client?", options)

    def content(self) -> ComposeResult:
        """Both sides and the reasons over the answers."""
        pair = self._pair
        cells = min(_CELLS, int(self.app.size.width * _SHARE)) - _FRAME
        with Reading(id="message"):
            yield Static(Content(side_by_side(pair.left, pair.right, cells)), id="merge-sides")
            yield Static(Content(one_line(f"{pair.score} of 100: {pair.said}.")))
        yield from super().content()

    def on_mount(self) -> None:
        """The sides take what the answers leave."""
        self.query_one("#message", Reading).styles.max_height = max(4, self.app.size.height - 13)
        self.query_one(OptionList).focus()


async def merge_client(app: PondroundApp, client: UUID, name: str) -> bool:
    """Ask with whom a client is one, and merge the two; whether it was done."""
    from store.book.merge_clients import merge_clients
    from store.exchange.catch_up.book_doubles import doubles_of

    try:
        found = await app.ask_store(doubles_of, app.book, client)
    except PondroundError as trouble:
        app.tell(trouble)
        return False
    options = [
        Option(one.other_id, one.other_name, f"{one.score} of 100: {one.said}") for one in found
    ]
    chosen = await app.push_screen_wait(
        Choose(f"Who is the same client as {one_line(name)}?", options, empty=NOBODY)
    )
    pair = next((one for one in found if one.other_id == chosen), None)
    if pair is None:
        return False
    stays = await app.push_screen_wait(WhichStays(pair))
    if stays not in (pair.client_id, pair.other_id):
        return False
    first = stays == pair.client_id
    kept, kept_rev, kept_name = pair.client_id, pair.rev, pair.name
    gone, gone_rev, gone_name = pair.other_id, pair.other_rev, pair.other_name
    if not first:
        kept, kept_rev, kept_name, gone, gone_rev, gone_name = (
            gone, gone_rev, gone_name, kept, kept_rev, kept_name,
        )  # fmt: skip
    why = await app.push_screen_wait(
        AskReason(
            f"Merge {one_line(gone_name)} into {one_line(kept_name)}",
            "All sites, ponds, promises and calls move; the emptied client is struck through and "
            "keeps its record, and the log tells what moved. By what do you know they are one?",
            accept="Merge",
        )
    )
    act = await app.acting() if isinstance(why, Reason) else None
    if not isinstance(why, Reason) or act is None:
        return False
    try:
        merged = await app.ask_store(
            merge_clients, app.book, act, kept, gone, why.text,
            kept_rev=kept_rev, emptied_rev=gone_rev,
        )  # fmt: skip
    except PondroundError as trouble:
        app.tell(trouble)
        return False
    app.changed()
    moved = ", ".join(
        f"{count} {table.replace('_', ' ')}{'s' * (count > 1)}"
        for table, count in merged.moved.items()
    )
    app.notify(
        " ".join([f"Merged: {moved or 'nothing'} moved.", *merged.told]),
        markup=False,
    )
    return True
