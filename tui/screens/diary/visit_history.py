"""Who changed a visit and what was agreed for it, when, from what to what."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any, cast
from uuid import UUID

from textual import work

from store.errors import PondroundError
from tui.screens.diary.diary_lines import said_long_day
from tui.screens.parts.history import HistoryScreen, changes_said
from tui.widgets.static import Static

if TYPE_CHECKING:
    from store.book.book import Book
    from store.book.told.history import Change
    from store.water.entered import RecordName

_WORDS = {
    "on_day": "Day", "at_time": "Hour", "staff_id": "Who goes", "kind": "What for",
    "state": "State", "note": "Note", "minutes": "Length, min", "fixed": "Not to be moved",
    "agreed_with": "Agreed with", "in_spite": "In spite, because", "says": "To keep",
    "prices": "Prices", "consent": "Consent form", "due_on": "Due",
    "first_on": "At the earliest", "last_on": "At the latest",
}  # fmt: skip
"""The columns of a visit and of what was agreed for it, in our words; no other is shown."""
_DAYS = frozenset({"on_day", "due_on", "first_on", "last_on"})


class VisitHistoryScreen(HistoryScreen):
    """The record of one visit, newest first: its day, and what was agreed for it.

    Parameters
    ----------
    visit
        Key of the visit.
    name
        How it is called.
    """

    def __init__(self, visit: UUID, name: str) -> None:
        super().__init__(cast("RecordName", "visit"), visit, name)
        self._visit = visit

    @work(exclusive=True, group="history")
    async def _read(self) -> None:
        app = self.ponds_app
        try:
            changes = await app.ask_store(changes_of, app.book, self._visit)
            zone = await app.ask_store(lambda: app.book.zone)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        # Every column has our word already; the names of another record do not matter.
        text = changes_said("practice", changes, zone, app.today(), {})
        self.query_one("#history-text", Static).update(text)

    @property
    def ponds_app(self) -> Any:
        """The application, by its own contract."""
        return self.app


def changes_of(book: Book, visit: UUID) -> tuple[Change, ...]:
    """What was done to a visit and to what was agreed for it, newest first; runs in a thread."""
    from store.book.people import staff
    from store.diary.kept.visits.bookings import visit_history

    people = {str(one.id): one.name for one in staff(book, struck=True)}
    found = [
        replace(one, before=_said(one.before, people), after=_said(one.after, people))
        for one in visit_history(book, visit)
    ]
    return tuple(found)


def _said(values: Mapping[str, Any], people: Mapping[str, str]) -> dict[str, Any]:
    return {_WORDS[name]: _value(name, value, people) for name, value in values.items()
            if name in _WORDS}  # fmt: skip


def _value(name: str, value: Any, people: Mapping[str, str]) -> Any:
    if name in _DAYS and value:
        return said_long_day(date.fromisoformat(str(value)))
    if name == "at_time" and value:
        return str(value)[:5]
    if name == "kind" and value:
        from store.facts.follow_ups import follow_up_kinds

        promised = follow_up_kinds().get(str(value))
        return value if promised is None else promised.label
    if name == "staff_id" and value:
        return people.get(str(value), "somebody")
    return value
