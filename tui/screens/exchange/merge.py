"""Two of the book who are one: looked at side by side, merged with a reason."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING
from uuid import UUID

from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import OptionList

from store.errors import PondroundError
from tui.screens.exchange.clients_in_lines import side_by_side
from tui.screens.exchange.find_client import FindClient
from tui.screens.parts.dialogs import AskReason, Choose, Option, Reason, Tell
from tui.widgets.literal import one_line
from tui.widgets.reading import Reading
from tui.widgets.static import Static

if TYPE_CHECKING:
    from store.book.book import Book
    from store.exchange.catch_up.book_doubles import BookDouble
    from tui.app import PondroundApp

_MOVES = {
    "client": "All sites, ponds, promises and calls move",
    "site": "All ponds, visits, promises, calls and drive times move",
    "pond": "All water tests, examinations, courses, events, visits and promises move",
}
_CELLS, _SHARE, _FRAME = 68, 0.94, 6


class WhichStays(Choose):
    """Both beside each other, and which of the two stays.

    Parameters
    ----------
    pair
        The two.
    """

    QUESTION = "Are these two one, and which of the two stays?"
    ABOUT = (
        "Both stand beside each other as the book has them. The one that stays gets all that "
        "points to the other, and what it lacked; the other is struck through and keeps its "
        "record. Esc leaves both as they are."
    )

    def __init__(self, pair: BookDouble) -> None:
        self._pair = pair
        same = pair.name == pair.other_name
        left, right = (" (left)", " (right)") if same else ("", "")
        options = [
            Option(pair.one_id, f"{pair.name}{left} stays"),
            Option(pair.other_id, f"{pair.other_name}{right} stays"),
        ]
        super().__init__(f"{pair.name} and {pair.other_name}: one {pair.kind}?", options)

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


@dataclass(frozen=True, slots=True)
class Part:
    """A site or pond of the client; `within` is the site of a pond, and the client of a site."""

    key: UUID
    within: UUID
    name: str
    note: str


@dataclass(frozen=True, slots=True)
class Twice:
    """What may stand twice at a client, and the parts of which a person may name two."""

    pairs: tuple[BookDouble, ...]
    sites: tuple[Part, ...]
    ponds: tuple[Part, ...]

    @property
    def options(self) -> list[Option]:
        """Pairs that look alike first, then the ways to name two that do not."""
        found = [
            Option(at, _pair_said(pair), f"{pair.score} of 100: {pair.said}")
            for at, pair in enumerate(self.pairs)
        ]
        found.append(Option("client", "another client …", "by name, town or telephone number"))
        for kind, parts in (("site", self.sites), ("pond", self.ponds)):
            if any(_beside(parts, one) for one in parts):
                found.append(Option(kind, f"two of its {kind}s …", "that were entered twice"))
        return found


def _pair_said(pair: BookDouble) -> str:
    if pair.kind == "client":
        return pair.other_name
    return f"{pair.kind}s {pair.name} and {pair.other_name}"


def _beside(parts: Sequence[Part], one: Part) -> list[Part]:
    """What could be the same as a part: it lies in the same whole."""
    return [other for other in parts if other.within == one.within and other.key != one.key]


async def merge_client(app: PondroundApp, client: UUID, name: str) -> bool:
    """Ask what stands in the book twice at a client, and merge the two; whether it was done."""
    try:
        twice = await app.ask_store(_twice, app.book, client)
        chosen = await app.push_screen_wait(
            Choose(f"What stands in the book twice of {one_line(name)}?", twice.options)
        )
        if isinstance(chosen, int):
            pair: BookDouble | None = twice.pairs[chosen]
        elif chosen == "client":
            pair = await _found(app, client, name)
        elif chosen in ("site", "pond"):
            pair = await _any_two(app, twice.sites if chosen == "site" else twice.ponds, chosen)
        else:
            pair = None
    except PondroundError as trouble:
        app.tell(trouble)
        return False
    return pair is not None and await _merge(app, pair)


async def _found(app: PondroundApp, client: UUID, name: str) -> BookDouble | None:
    """Any other client, found by typing."""
    from store.exchange.catch_up.book_doubles import two_clients

    other = await app.push_screen_wait(
        FindClient(f"Who is the same client as {one_line(name)}?", client)
    )
    return None if other is None else await app.ask_store(two_clients, app.book, client, other)


async def _any_two(app: PondroundApp, parts: Sequence[Part], what: object) -> BookDouble | None:
    """Any two sites, or ponds of one site."""
    from store.exchange.catch_up.place_doubles import two_ponds, two_sites

    first = await _one_of(app, [one for one in parts if _beside(parts, one)], f"Which {what}?")
    if first is None:
        return None
    title = f"Which {what} is the same as {one_line(first.name)}?"
    second = await _one_of(app, _beside(parts, first), title)
    if second is None:
        return None
    beside = two_sites if what == "site" else two_ponds
    return await app.ask_store(beside, app.book, first.key, second.key)


async def _one_of(app: PondroundApp, parts: Sequence[Part], title: str) -> Part | None:
    options = [Option(one.key, one.name, one.note) for one in parts]
    chosen = await app.push_screen_wait(Choose(title, options))
    return next((one for one in parts if one.key == chosen), None)


async def _merge(app: PondroundApp, pair: BookDouble) -> bool:
    """Which of the two stays, why, and the merging itself; whether it was done."""
    from store.exchange.catch_up.book_doubles import merge_two

    stays = await app.push_screen_wait(WhichStays(pair))
    if stays not in (pair.one_id, pair.other_id):
        return False
    other_stays = stays == pair.other_id
    gone, kept = (
        (pair.name, pair.other_name) if other_stays else (pair.other_name, pair.name)
    )  # fmt: skip
    why = await app.push_screen_wait(
        AskReason(
            f"Merge {one_line(gone)} into {one_line(kept)}",
            f"{_MOVES[pair.kind]}; the emptied {pair.kind} is struck through and keeps its record, "
            "and the log tells what moved. By what do you know they are one?",
            accept="Merge",
        )
    )
    act = await app.acting() if isinstance(why, Reason) else None
    if not isinstance(why, Reason) or act is None:
        return False
    try:
        merged = await app.ask_store(
            merge_two, app.book, act, pair, why.text, other_stays=other_stays
        )
    except PondroundError as trouble:
        app.tell(trouble)
        return False
    app.changed()
    moved = ", ".join(
        f"{count:,} {table.replace('_', ' ')}{'s' * (count > 1)}"
        for table, count in merged.moved.items()
    )
    said = f"Merged: {moved or 'nothing'} moved."
    if merged.told:  # to be read and done something about, so it does not go away by itself
        await app.push_screen_wait(Tell("Merged", "\n\n".join([said, *merged.told])))
    else:
        app.notify(said, markup=False)
    return True


def _twice(book: Book, client: UUID) -> Twice:
    from store.book.clients import sites
    from store.book.ponds import ponds
    from store.exchange.catch_up.book_doubles import doubles_of
    from store.exchange.catch_up.place_doubles import pond_doubles, site_doubles

    own = sites(book, client)
    return Twice(
        (*doubles_of(book, client), *site_doubles(book, client), *pond_doubles(book, client)),
        tuple(
            Part(one.id, client, one.name, ", ".join(filter(None, (one.town, one.postcode))))
            for one in own
        ),
        tuple(
            Part(pond.id, one.id, pond.name, one.name)
            for one in own
            for pond in ponds(book, one.id)
        ),
    )
