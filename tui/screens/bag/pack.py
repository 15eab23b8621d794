"""A bag packed by keys: of which day, for whom, what else, into which file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import UUID

from store.errors import BadInput
from tui.screens.parts.to_file import FileForm
from tui.to_file import path_of
from tui.widgets.fields import Field

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.book.people import Staff
    from store.exchange.bag.packing import Packed
    from tui.app import PondroundApp

_CELLS = 34


class PackScreen(FileForm):
    """The bag of a day into a file.

    Parameters
    ----------
    day
        The day that is proposed.
    people
        Who may drive.
    vet
        Who is proposed.
    """

    WHAT = "the bag"
    QUESTION = "What goes into the bag for a day without signal?"
    ABOUT = (
        "A bag is one file: the ponds at the sites of the visits that are booked for this person "
        "on this day, with all their records, and what belongs to the practice as a whole. Other "
        "clients are not in it. On the laptop it is opened like a book: pondround --book FILE. "
        "What is entered there comes back with “bring in a file” (i in the directory). Ponds and "
        "clients that may be needed besides can be named, with ; between. The file is not "
        "encrypted."
    )

    def __init__(self, day: date, people: Sequence[Staff], vet: UUID | None) -> None:
        drivers = tuple((str(one.id), one.name) for one in people)
        proposed = vet if vet in {one.id for one in people} else people[0].id if people else None
        fields = (
            Field("day", "day", "2026-05-03", day.isoformat(), width=12),
            Field("vet", "who drives", "", str(proposed or ""), choices=drivers, width=_CELLS),
            Field("also", "ponds, clients", "also these: A; B", width=_CELLS),
            Field("file", "file", "empty: in this folder", width=_CELLS),
        )
        super().__init__("Pack the bag", fields, f"bag-{day.isoformat()}")

    def care(self, values: Mapping[str, str]) -> str:
        """What is to be taken care of."""
        from store.exchange.bag.packing import CARE

        return CARE

    async def write(self, texts: dict[str, str]) -> str:
        """Pack it, and say what is in it."""
        from tui.commands.bag import packed_lines

        app = self.ponds_app
        act = await app.acting()
        if act is None:
            raise BadInput("Say who packs; nothing was written.", field="vet")
        packed = await app.ask_store(_packed, app.book, act, texts)
        return " ".join(packed_lines(packed))


def _packed(book: Book, act: Act, texts: Mapping[str, str]) -> Packed:
    from store.book.people import person
    from store.exchange.bag.packing import file_name, pack
    from tui.commands.bag import also_named
    from tui.commands.typed import day

    if not texts["vet"]:
        raise BadInput("Who drives? Please choose.", field="vet")
    vet = person(book, UUID(texts["vet"]))
    on_day = day(texts["day"], "day")
    names = [one.strip() for one in texts["also"].split(";") if one.strip()]
    ponds, clients = also_named(book, names)
    path: Path = path_of(texts["file"], file_name(on_day, vet.name))
    return pack(book, act, on_day, vet.id, path, also_ponds=ponds, also_clients=clients)


async def pack_bag(app: PondroundApp, day: date, vet: UUID | None) -> None:
    """Ask what goes into the bag of a day, and pack it.

    Within a worker of a screen or of the application.

    Parameters
    ----------
    app
        The application.
    day
        The day that is proposed.
    vet
        Who is proposed; None proposes the first who drives.
    """
    from store.book.people import staff

    people = await app.ask_store(staff, app.book)
    await app.push_screen_wait(PackScreen(day, [one for one in people if one.is_vet], vet))
