"""What every row of a record carries."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from sqlalchemy.orm import Mapped, mapped_column

from store.book.columns import Key, instant, to, whole, words

MOST_LITRES = 1e10
"""Ten million cubic metres: larger than any lake that a pond practice looks after."""


class Kept:
    """Key, revision, who made and changed the row and when, and whether it is struck through."""

    id: Mapped[UUID] = mapped_column(Key, primary_key=True)
    rev: Mapped[int] = whole(1, 1_000_000_000, default=1)
    created_at: Mapped[datetime] = instant()
    created_by: Mapped[UUID] = to("staff")
    changed_at: Mapped[datetime] = instant()
    changed_by: Mapped[UUID] = to("staff")
    struck_at: Mapped[datetime | None] = instant()
    struck_by: Mapped[UUID | None] = to("staff")
    struck_why: Mapped[str] = words(2000)
