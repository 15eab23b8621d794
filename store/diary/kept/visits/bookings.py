"""Booking, moving, cancelling and finishing visits.

Everything that speaks against a day and hour is asked anew inside the transaction that writes, with
others kept out until it ends: of two people who book the same hour the second is told.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date, time
from uuid import UUID

from sqlalchemy import Connection, select, text

from store.book.book import Book
from store.book.tables import table
from store.book.told.history import Change, history
from store.book.visits import close_visit
from store.book.writing import Writing
from store.diary.booking.slots import Proposal
from store.diary.booking.values import Objection, Stood, Visiting, Wish
from store.diary.kept.promised.follow_up_days import keep_day
from store.diary.kept.visits.asking import Question, question
from store.diary.kept.visits.diary import visiting
from store.diary.kept.visits.proposing import marks, objections, propose, spoken_against
from store.diary.kept.visits.wishes import wish_for, wish_of, wish_of_visit
from store.errors import BadInput, NotAllowed, NotFound
from store.travel.drive_times import drive_table

__all__ = [
    "Proposal", "book_visit", "cancel_visit", "finish_visit", "marks", "move_visit", "objections",
    "propose", "visit_history", "visiting", "wish_for", "wish_of", "wish_of_visit",
]  # fmt: skip


def book_visit(
    writing: Writing,
    wish: Wish,
    on_day: date,
    at_time: time | None,
    staff_id: UUID | None,
    *,
    minutes: int | None = None,
    in_spite: str = "",
    answered: Collection[Objection] | None = None,
    standings: Mapping[UUID, Stood] | None = None,
) -> UUID:
    """Book a visit, after everything was asked anew with others kept out.

    Parameters
    ----------
    writing
        The action of the person.
    wish
        What is booked, with the promises that it is to keep.
    on_day, at_time
        Local day and hour; None while no hour was agreed.
    staff_id
        Who goes; None while nobody is chosen.
    minutes
        Length beside the pond; None for that of the wish [min].
    in_spite
        Why it goes all the same; needed where something speaks against it.
    answered
        The objections that the person had seen when giving the reason: what came since is told and
        nothing is saved. None takes the reason for whatever there is.
    standings
        How the sites stand that may meet, by site, as the rounds know them;
        None asks nothing of the order from clean to infected.

    Returns
    -------
    UUID
        Key of the visit.

    Raises
    ------
    BadInput
        At the field that it is about: it can never be, or it needs a reason, or somebody else took
        the hour meanwhile.
    NotFound
        There is no such site or pond.
    """
    keep_others_out(writing.connection)
    _check_pond(writing.connection, wish)
    length = minutes or wish.minutes
    found = _asked_again(writing, wish, on_day, None, standings)
    spoken = spoken_against(found, wish, on_day, at_time, staff_id, length, None)
    _refuse(spoken, in_spite, answered)
    key = writing.add(
        "visit",
        site_id=wish.site_id,
        pond_id=wish.pond_id,
        on_day=on_day,
        at_time=at_time,
        staff_id=staff_id,
        kind=wish.kind,
        note=wish.note,
    )
    writing.add(
        "booking",
        visit_id=key,
        minutes=length,
        fixed=wish.fixed,
        agreed_with=wish.agreed_with,
        in_spite=in_spite,
    )
    for one in wish.purposes:
        writing.add(
            "visit_purpose",
            visit_id=key,
            pond_id=one.pond_id,
            about=one.about,
            kind=one.kind,
            says=one.says,
            due_on=one.due_on,
            first_on=one.first_on,
            last_on=one.last_on,
        )
    return key


def move_visit(
    writing: Writing,
    visit_id: UUID,
    rev: int,
    on_day: date,
    at_time: time | None,
    staff_id: UUID | None,
    *,
    why: str,
    minutes: int | None = None,
    in_spite: str = "",
    answered: Collection[Objection] | None = None,
    standings: Mapping[UUID, Stood] | None = None,
) -> int:
    """Move a planned visit to another day, hour or person; the record of changes keeps each.

    Parameters
    ----------
    writing
        The action of the person.
    visit_id, rev
        The visit, as the person saw it.
    on_day, at_time, staff_id, in_spite, answered, standings
        As for `book_visit`.
    why
        Why it is moved; never empty.
    minutes
        Length beside the pond; None leaves it as it is [min].

    Returns
    -------
    int
        The visit's revision afterwards.

    Raises
    ------
    BadInput
        As for `book_visit`, or without a reason.
    NotAllowed
        It is done or cancelled.
    ChangedMeanwhile, NotFound
        As for `Writing.change`.
    """
    keep_others_out(writing.connection)
    visit = visiting(writing.connection, visit_id)
    if visit.state != "planned":
        raise NotAllowed(f"This visit is {visit.state} already; it was left as it is.")
    if not why.strip():
        raise BadInput("Please say why it is moved. Nothing was changed.", field="why")
    if rev == visit.rev:  # else the change below says who was first
        wish = wish_of_visit(visit)
        length = minutes or visit.minutes
        found = _asked_again(writing, wish, on_day, visit_id, standings)
        spoken = spoken_against(found, wish, on_day, at_time, staff_id, length, visit_id)
        _refuse(spoken, in_spite, answered)
    after = writing.change(
        "visit", visit_id, rev, why, on_day=on_day, at_time=at_time, staff_id=staff_id
    )
    _agree(writing, visit, minutes, in_spite, why)
    return after


def _agree(writing: Writing, visit: Visiting, minutes: int | None, in_spite: str, why: str) -> None:
    """Keep length and reason beside a moved visit, also of one that had no booking yet."""
    bookings = table("booking").c
    query = (
        select(bookings.id, bookings.rev)
        .where(bookings.visit_id == visit.id, bookings.struck_at.is_(None))
        .order_by(bookings.created_at.desc(), bookings.id.desc())
        .limit(1)
    )
    row = writing.connection.execute(query).one_or_none()
    if row is not None:
        values = {"in_spite": in_spite} | ({} if minutes is None else {"minutes": minutes})
        writing.change_values("booking", row.id, row.rev, values, why)
    elif in_spite.strip() or (minutes is not None and minutes != visit.minutes):
        writing.add(
            "booking",
            log_why=why,
            visit_id=visit.id,
            minutes=minutes or visit.minutes,
            in_spite=in_spite,
        )


def cancel_visit(writing: Writing, visit_id: UUID, rev: int, why: str) -> int:
    """Cancel a planned visit; what it was to keep is open again.

    Parameters
    ----------
    writing
        The action of the person.
    visit_id, rev
        The visit, as the person saw it.
    why
        The reason; never empty.

    Returns
    -------
    int
        The visit's revision afterwards.

    Raises
    ------
    BadInput, NotAllowed, ChangedMeanwhile, NotFound
        As for `store.book.visits.close_visit`.
    """
    return close_visit(writing, visit_id, rev, "cancelled", why=why)


def finish_visit(
    writing: Writing, visit_id: UUID, rev: int, on_day: date | None = None, note: str = ""
) -> int:
    """Enter that a visit took place, and that the days promised by hand were kept with it.

    What courses, examinations and tests promise is kept by their own records and left to them.

    Parameters
    ----------
    writing
        The action of the person.
    visit_id, rev
        The visit, as the person saw it.
    on_day
        The day on which it took place, never ahead; None for the day that was planned.
    note
        What was found; added to the note there is.

    Returns
    -------
    int
        The visit's revision afterwards.

    Raises
    ------
    BadInput, NotAllowed, ChangedMeanwhile, NotFound
        As for `store.book.visits.close_visit`.
    """
    visit = visiting(writing.connection, visit_id)
    after = close_visit(writing, visit_id, rev, "done", on_day=on_day, note=note)
    for one in visit.purposes:
        if one.about.startswith("hand:"):
            try:
                keep_day(writing, one.about, on_day or visit.on_day, visit_id=visit_id)
            except (NotAllowed, NotFound):
                continue  # kept, dropped or ended by itself meanwhile: that stands as it was said
    return after


def visit_history(book: Book, visit_id: UUID) -> tuple[Change, ...]:
    """What was done to a visit, to what was agreed for it, its terms and promises, newest first.

    Parameters
    ----------
    book
        The practice's book.
    visit_id
        Key of the visit.
    """
    bookings, purposes = table("booking").c, table("visit_purpose").c
    terms = table("visit_terms").c
    with book.reading() as connection:
        agreed = connection.scalars(select(bookings.id).where(bookings.visit_id == visit_id)).all()
        kept = connection.scalars(select(purposes.id).where(purposes.visit_id == visit_id)).all()
        written = connection.scalars(select(terms.id).where(terms.visit_id == visit_id)).all()
    found = [
        *history(book, "visit", visit_id),
        *(change for key in agreed for change in history(book, "booking", key)),
        *(change for key in kept for change in history(book, "visit_purpose", key)),
        *(change for key in written for change in history(book, "visit_terms", key)),
    ]
    return tuple(sorted(found, key=lambda one: one.at, reverse=True))


def keep_others_out(connection: Connection) -> None:
    """Let nobody else write a visit or an absence until the transaction ends; reading goes on.

    On SQLite a writing keeps all others out already.

    Parameters
    ----------
    connection
        Within a writing, before it wrote to these tables.
    """
    if connection.dialect.name == "postgresql":
        connection.execute(
            text("LOCK TABLE day_off, visit, visit_purpose IN SHARE ROW EXCLUSIVE MODE")
        )


def _asked_again(
    writing: Writing, wish: Wish, on_day: date, visit_id: UUID | None,
    standings: Mapping[UUID, Stood] | None,
) -> Question:  # fmt: skip
    return question(
        writing.connection,
        writing.book.zone,
        wish,
        writing.act.at,
        on_day,
        on_day,
        visit_id=visit_id,
        drives=drive_table(writing.book),
        standings=standings,
    )


def _refuse(
    spoken: Sequence[Objection], in_spite: str, answered: Collection[Objection] | None
) -> None:
    for one in spoken:
        if one.bars == "never":
            raise BadInput(f"{one.says} Nothing was saved.", field=one.field)
    new = [] if answered is None else [one for one in spoken if one not in answered]
    if new:
        said = " ".join(one.says for one in new)
        raise BadInput(
            f"{said} This came up since you looked; nothing was saved.", field=new[0].field
        )
    if spoken and not in_spite.strip():
        said = " ".join(one.says for one in spoken)
        raise BadInput(
            f"{said} Please say why it goes all the same; nothing was saved.",
            field=spoken[0].field,
        )


def _check_pond(connection: Connection, wish: Wish) -> None:
    if wish.pond_id is None:
        return
    ponds = table("pond").c
    query = select(ponds.site_id).where(ponds.id == wish.pond_id, ponds.struck_at.is_(None))
    site_id = connection.execute(query).scalar()
    if site_id != wish.site_id:
        raise NotFound("There is no such pond at this site, or it was struck through.")
