"""Which pond of a stop is meant: the only one, or one that is chosen."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, cast
from uuid import UUID

from store.errors import PondroundError

if TYPE_CHECKING:
    from store.book.book import Book
    from store.rounds.day.values import Errand
    from tui.app import PondroundApp

NO_POND = "This visit names no pond. Open it in the diary to see what it is for."


async def pond_of_stop(app: PondroundApp, errand: Errand) -> UUID | None:
    """The pond of a visit; where it is for several, the one that is chosen.

    Within a worker of a screen or of the application.

    Parameters
    ----------
    app
        The application.
    errand
        The visit.

    Returns
    -------
    UUID or None
        None where there is no pond, or none was chosen; the first is said.
    """
    from tui.screens.parts.dialogs import Choose, Option

    if len(errand.pond_ids) == 1:
        return errand.pond_ids[0]
    if not errand.pond_ids:
        app.notify(NO_POND, markup=False)
        return None
    try:
        names = await app.ask_store(_names, app.book, errand.pond_ids)
    except PondroundError as trouble:
        app.tell(trouble)
        return None
    options = [Option(key, name) for key, name in zip(errand.pond_ids, names, strict=True)]
    chosen = await app.push_screen_wait(Choose("Which pond?", options))
    return cast("UUID | None", chosen)


def _names(book: Book, ponds: Sequence[UUID]) -> list[str]:
    from store.book.ponds import card

    return [one.pond.name or one.client.name for one in (card(book, key) for key in ponds)]
