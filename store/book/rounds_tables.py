"""The tables of the rounds: drives, where a day ends, what was agreed for a visit."""

from __future__ import annotations

from datetime import date
from uuid import UUID

from sqlalchemy import CheckConstraint
from sqlalchemy.orm import Mapped, mapped_column

from store.book.columns import Base, Day, choice, number, to, words
from store.book.kept import Kept

LONGEST_DRIVE_MIN = 1440.0
LONGEST_DRIVE_KM = 3000.0

_ENDS = ("site", "vet", "practice")


def _end(which: str) -> CheckConstraint:
    """An end of a drive points at a site, at a person, or at nothing where it is the practice."""
    return CheckConstraint(
        f"({which}_kind = 'site') = ({which}_site_id IS NOT NULL) AND "
        f"({which}_kind = 'vet') = ({which}_staff_id IS NOT NULL)",
        name=f"{which}_end",
    )


class DriveTimeRow(Kept, Base):
    """The practice's own say on how long one way takes; the newest is in force.

    An end is a site, the place from which a person sets out, or the practice.
    """

    __tablename__ = "drive_time"
    from_kind: Mapped[str] = choice(*_ENDS)
    from_site_id: Mapped[UUID | None] = to("site")
    from_staff_id: Mapped[UUID | None] = to("staff")
    to_kind: Mapped[str] = choice(*_ENDS)
    to_site_id: Mapped[UUID | None] = to("site")
    to_staff_id: Mapped[UUID | None] = to("staff")
    minutes: Mapped[float] = number(0.0, LONGEST_DRIVE_MIN)
    km: Mapped[float | None] = number(0.0, LONGEST_DRIVE_KM)
    source: Mapped[str] = words(required=True)
    import_file_id: Mapped[UUID | None] = to("import_file")
    __table_args__ = (_end("from"), _end("to"))


class VisitTermsRow(Kept, Base):
    """What was agreed for a visit about money and consent; the newest of a visit is in force."""

    __tablename__ = "visit_terms"
    visit_id: Mapped[UUID] = to("visit", index=True)
    prices: Mapped[str] = words(2000)
    consent: Mapped[str] = choice("not asked", "to be signed", "signed")


class WayHomeRow(Kept, Base):
    """Where a person's day on the road ends from a day on; the newest is in force.

    Without a place in words it ends where it began.
    """

    __tablename__ = "way_home"
    staff_id: Mapped[UUID] = to("staff", index=True)
    from_day: Mapped[date] = mapped_column(Day)
    place: Mapped[str] = words()
    latitude: Mapped[float | None] = number(-90.0, 90.0)
    longitude: Mapped[float | None] = number(-180.0, 180.0)
