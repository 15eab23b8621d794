"""The tables of what goes in and out: how a source's sheets are read, what stands on papers."""

from __future__ import annotations

from typing import Any

from sqlalchemy.orm import Mapped

from store.book import checks
from store.book.columns import Base, data, words
from store.book.kept import Kept


class SheetShapeRow(Kept, Base):
    """How sheets of one source are read, as a person said it; the newest of a source is in force.

    `source` tells sheets apart by their headings; `shape` holds what each column means, the order
    of dates, the zone, the unit of what has none.
    """

    __tablename__ = "sheet_shape"
    kind: Mapped[str] = words(40, required=True)
    source: Mapped[str] = words(200, required=True, index=True)
    name: Mapped[str] = words()
    shape: Mapped[dict[str, Any]] = data(checks.mapping, default=dict)


class LetterheadRow(Kept, Base):
    """What stands at the head of the practice's papers; the newest is in force."""

    __tablename__ = "letterhead"
    practice: Mapped[str] = words(required=True)
    address: Mapped[str] = words(2000, lines=True)
    telephone: Mapped[str] = words(60)
    email: Mapped[str] = words()
    foot: Mapped[str] = words(2000, lines=True)
