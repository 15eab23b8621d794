"""How the calls went that were made for a round that runs late, or for what goes into the diary.

They stand in the book as attempts. Which of them were made for these hours is known only here,
while the application runs: a call about something else has told nobody the new hour.
"""

from __future__ import annotations

from collections.abc import Hashable
from typing import TYPE_CHECKING, Any
from uuid import UUID
from weakref import WeakKeyDictionary

from textual.app import App

from tui.screens.desk.attempt import done_of

if TYPE_CHECKING:
    from store.diary.desk.due import Attempt

_MADE_FOR: WeakKeyDictionary[App[Any], dict[UUID, set[Hashable]]] = WeakKeyDictionary()
"""What each attempt was made for: one call can tell several hours."""


def note_rung(app: App[Any], what: Hashable, attempt: Attempt) -> None:
    """Keep in mind what a call was made for.

    Parameters
    ----------
    app
        The application.
    what
        The hours that were told: those of another plan or delay are others.
    attempt
        As it was logged.
    """
    _MADE_FOR.setdefault(app, {}).setdefault(attempt.id, set()).add(what)


def rung(app: App[Any], what: Hashable) -> dict[UUID, str]:
    """How the calls went, in a word, by client; those that were taken back are not among them.

    Parameters
    ----------
    app
        The application.
    what
        The hours that were told.
    """
    made = _MADE_FOR.get(app, {})
    attempts = [done.attempt for done in done_of(app) if done.attempt is not None]
    return {one.client_id: one.outcome for one in attempts if what in made.get(one.id, ())}
