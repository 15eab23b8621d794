"""What is asked of the record of changes on the screen, and how it is heard while it is typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING
from uuid import UUID

from store.errors import BadInput
from store.text import with_days
from tui.said import said_date
from tui.widgets.literal import one_line

if TYPE_CHECKING:
    from store.book.tables import TableName
    from store.book.told.record import Wish

ASKED: Mapping[str, tuple[str, str]] = {
    "find": ("find", "words in what, whose, why"),
    "days": ("days", "Mon, 1 Mar – 12 Mar, since 2 weeks"),
    "kind": ("kind", "water test, dose, visit"),
}
"""The label of the line that asks, and what may be typed there."""
_SHOWN_KINDS = 3


@dataclass(frozen=True, slots=True)
class Asked:
    """What a person asked for; the first fields as they are looked for, the others as typed."""

    by: UUID | None = None
    since: date | None = None
    until: date | None = None
    tables: tuple[str, ...] | None = None
    row: tuple[str, UUID] | None = None
    text: str = ""
    days: str = ""
    kind: str = ""
    person: str = ""
    row_name: str = ""

    def typed(self, what: str) -> str:
        """What was typed before at the line that asks for this."""
        return {"find": self.text, "days": self.days, "kind": self.kind}[what]

    def wish(self, about: tuple[TableName, UUID] | None) -> Wish:
        """The same for the store."""
        from store.book.told.record import Wish

        return Wish(
            by=self.by, since=self.since, until=self.until, tables=self.tables, about=about,
            row=self.row,
        )  # fmt: skip


def heard(asked: Asked, what: str, text: str, today: date) -> tuple[str, Asked | None]:
    """What a text at the line that asks means.

    Parameters
    ----------
    asked
        What was asked for before.
    what
        `find`, `days` or `kind`.
    text
        As it was typed.
    today
        The practice's calendar day.

    Returns
    -------
    tuple
        What was understood or is wrong, in words; and what is asked for now, None where it cannot
        be taken.
    """
    text = " ".join(text.split())
    if what == "find":
        return "", replace(asked, text=text)
    if what == "kind":
        return _kind(asked, text)
    from store.record.span import said_span, typed_span

    try:
        since, until = typed_span(text, today)
    except BadInput as wrong:
        return wrong.message, None
    said = with_days(said_span(since, until), lambda day: said_date(day, today))
    return said or "all days", replace(asked, since=since, until=until, days=text)


def _kind(asked: Asked, text: str) -> tuple[str, Asked | None]:
    from store.record.kinds import kind_of, tables_called

    if not text:
        return "every kind", replace(asked, tables=None, kind="")
    tables = tables_called(text)
    if not tables:
        return "no kind of record is called so", None
    said = ", ".join(kind_of(one).said for one in tables[:_SHOWN_KINDS])
    more = len(tables) - _SHOWN_KINDS
    return (f"{said} and {more} more" if more > 0 else said), replace(
        asked, tables=tables, kind=text
    )


def said_asked(asked: Asked, today: date | None) -> str:
    """All that is asked for, in one line; empty for nothing."""
    days = ""
    if asked.days and today is not None:
        from store.record.span import said_span

        said = said_span(asked.since, asked.until)
        days = with_days(said, lambda day: said_date(day, today))
    parts = (
        asked.row_name,
        asked.kind,
        f"by {asked.person}" if asked.person else "",
        days,
        f"“{asked.text}”" if asked.text else "",
    )
    return one_line(", ".join(part for part in parts if part))
