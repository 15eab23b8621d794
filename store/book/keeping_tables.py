"""The tables that guard the book itself: the chain through the log, and who may sign in.

They are no records of the practice: rows of `change_link` are written with the line of the log they
belong to and never again; `sign_in` holds what a person proves to be themselves with.
"""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from sqlalchemy import ForeignKey, Index, String
from sqlalchemy.orm import Mapped, mapped_column

from store.book import checks
from store.book.columns import Base, Key, data, instant, to, whole, words

HASH_LENGTH = 64
"""Characters of a SHA-256 in hexadecimal digits."""


def _hash(shortest: int) -> Mapped[str]:
    info = {"shortest": shortest, "longest": HASH_LENGTH}
    return mapped_column(String(HASH_LENGTH), info=info)


class ChangeLinkRow(Base):
    """A line of the log as a link of the chain that one copy of the book wrote.

    `copy` is the copy of the book in which it was written, `nth` its place there. `seen` holds the
    keys of the newest lines of the same row that its writer saw: where two lines saw the same one,
    the row was changed on both sides. `readings` is the hash of the readings of a water test that
    was added with it, `prior` the hash of the link before, `hash` that of all together.
    """

    __tablename__ = "change_link"
    change_id: Mapped[UUID] = mapped_column(
        Key, ForeignKey("change.id", ondelete="RESTRICT"), primary_key=True
    )
    copy: Mapped[UUID] = mapped_column(Key)
    nth: Mapped[int] = whole(1, 1 << 62)
    seen: Mapped[list[str]] = data(checks.texts)
    readings: Mapped[str] = _hash(0)
    prior: Mapped[str] = _hash(0)
    hash: Mapped[str] = _hash(HASH_LENGTH)
    __table_args__ = (Index(None, "copy", "nth"), {"sqlite_with_rowid": False})


class SignInRow(Base):
    """How a person signs in: the hash of a passphrase, the login at the database server."""

    __tablename__ = "sign_in"
    staff_id: Mapped[UUID] = to("staff", primary=True)
    passphrase: Mapped[str] = words(500)
    login: Mapped[str] = words(63)
    changed_at: Mapped[datetime] = instant()
    changed_by: Mapped[UUID] = to("staff")
