"""Days off out of a calendar file: looked at first, saved afterwards.

An event is known again by its UID. The file that says the higher SEQUENCE is right; of two that say
the same the one that was changed later, as RFC 5546 (2.1.5) orders them. What an event no longer
says is struck through, never wiped out.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, or_, select

from store.book.act import Act
from store.book.book import Book
from store.book.people import person
from store.book.rows import columns_of, made_of
from store.book.tables import table
from store.book.writing import Writing
from store.diary.calendar.lines import MOST_BYTES, Fault
from store.diary.calendar.read import PAST, Absence, Stretch, read_absences
from store.diary.kept.roster.days_off import DayOff
from store.errors import BadInput, NotFound
from store.text import plain

BACK_DAYS = 31
"""How far back a file is read [d]."""
AHEAD_DAYS = 400
"""How far ahead what repeats is expanded [d]."""
KIND = "days off"

_LATER = "has a day in the book that it no longer names, and says neither a higher SEQUENCE nor a "
_NOT_NEWER = f"The event {_LATER}later change than the last import; nothing of it was changed."


@dataclass(frozen=True, slots=True)
class Step:
    """What is done for one event: days to be added, changed and struck through.

    `changed` pairs an entry of the book with the days it is to have; the same days where only the
    number of its version is new.
    """

    absence: Absence
    added: tuple[Stretch, ...] = ()
    changed: tuple[tuple[DayOff, Stretch], ...] = ()
    struck: tuple[DayOff, ...] = ()

    @property
    def moved(self) -> int:
        """How many entries get other days or other words."""
        return sum(
            _stretch(old) != new or _says_else(self.absence, old) for old, new in self.changed
        )


@dataclass(frozen=True, slots=True)
class DaysOffPlan:
    """What a calendar file would bring, and what of it is left out.

    `events` counts the file's events, `absences` are what they say; `already` counts the days that
    stand in the book as they are, `passed_over` events by the reason why they are no absence.
    `faults` are lines that could not be read, `told` what had to be supposed. Repeats are expanded
    from `since` to `until`.
    """

    path: Path
    sha256: str
    staff_id: UUID | None
    who: str
    since: date
    until: date
    events: int
    absences: tuple[Absence, ...]
    steps: tuple[Step, ...]
    already: int
    passed_over: tuple[tuple[str, int], ...]
    faults: tuple[Fault, ...]
    told: tuple[str, ...]

    @property
    def added(self) -> int:
        """How many entries would be added."""
        return sum(len(one.added) for one in self.steps)

    @property
    def moved(self) -> int:
        """How many entries would be changed."""
        return sum(one.moved for one in self.steps)

    @property
    def struck(self) -> int:
        """How many entries would be struck through."""
        return sum(len(one.struck) for one in self.steps)


@dataclass(frozen=True, slots=True)
class DaysOffDone:
    """What was saved of a plan."""

    added: int
    moved: int
    struck: int
    already: int


def read_days_off(path: Path, book: Book, staff_id: UUID | None, now: datetime) -> DaysOffPlan:
    """What a calendar file would bring as days off of a person; nothing is saved.

    Parameters
    ----------
    path
        The file.
    book
        The practice's book.
    staff_id
        Whose days off; None where the whole practice rests.
    now
        The present instant, with a time zone.

    Raises
    ------
    BadInput
        The file cannot be read, or holds no calendar.
    NotFound
        No such person, or one who has left.
    """
    who = "the practice"
    if staff_id is not None:
        found = person(book, staff_id)
        if found.struck_at is not None:
            raise NotFound(f"{found.name} has left the practice; nothing was brought in.")
        who = found.name
    try:
        if path.stat().st_size > MOST_BYTES:
            raise BadInput(
                f"{path.name} is larger than {MOST_BYTES // 1_000_000} MB; nothing was brought in."
            )
        data = path.read_bytes()
    except OSError as error:
        raise BadInput(
            f"{path} cannot be read ({error.strerror or error}); nothing was brought in. "
            "Check the name and try again.",
            title="No such file",
        ) from error
    today = book.today(now)
    since, until = today - timedelta(days=BACK_DAYS), today + timedelta(days=AHEAD_DAYS)
    read = read_absences(data, book.zone, since, until)
    with book.reading() as connection:
        steps, already, faults = _steps(connection, read.absences, staff_id, since)
    passed_over: dict[str, int] = {}
    for one in read.absences:
        if one.why_not:
            passed_over[one.why_not] = passed_over.get(one.why_not, 0) + 1
    return DaysOffPlan(
        path=path,
        sha256=hashlib.sha256(data).hexdigest(),
        staff_id=staff_id,
        who=who,
        since=since,
        until=until,
        events=read.events,
        absences=read.absences,
        steps=steps,
        already=already,
        passed_over=tuple(passed_over.items()),
        faults=tuple(sorted((*read.faults, *faults), key=lambda one: one.line)),
        told=read.told,
    )


def save_days_off(book: Book, act: Act, plan: DaysOffPlan) -> DaysOffDone:
    """Save what a file brings, in one transaction; what came in meanwhile is not doubled.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who brings the file in, and when.
    plan
        From `read_days_off`.
    """
    if not plan.steps:
        return DaysOffDone(0, 0, 0, plan.already)
    with book.writing(act) as writing:
        # Looked at anew: somebody else may have brought the same file in since.
        steps, already, _faults = _steps(
            writing.connection, plan.absences, plan.staff_id, plan.since
        )
        done = DaysOffDone(
            sum(len(one.added) for one in steps),
            sum(one.moved for one in steps),
            sum(len(one.struck) for one in steps),
            already,
        )
        if steps:
            file = _keep_file(writing, plan, done)
            for step in steps:
                _save(writing, plan, step, file)
    return done


def _save(writing: Writing, plan: DaysOffPlan, step: Step, file: UUID) -> None:
    absence = step.absence
    why = f"as {plain(plan.path.name)[:200]} has it"
    for new in step.added:
        writing.add(
            "day_off",
            staff_id=plan.staff_id,
            import_file_id=file,
            uid=absence.uid,
            sequence=absence.sequence,
            says=absence.says,
            **_columns(new),
        )
    for old, new in step.changed:
        writing.change_values(
            "day_off",
            old.id,
            old.rev,
            {
                **_columns(new),
                "says": absence.says,
                "sequence": absence.sequence,
                "import_file_id": file,
            },
            why,
        )
    for old in step.struck:
        reason = absence.why_not or "no longer in the calendar"
        writing.strike("day_off", old.id, f"{reason}, {why}", old.rev)


def _keep_file(writing: Writing, plan: DaysOffPlan, done: DaysOffDone) -> UUID:
    return writing.add(
        "import_file",
        name=plain(plan.path.name)[:500],
        sha256=plan.sha256,
        kind=KIND,
        rows_read=plan.events,
        rows_saved=done.added + done.moved + done.struck,
        rows_refused=len(plan.faults),
    )


def _columns(stretch: Stretch) -> dict[str, Any]:
    return {
        "first_day": stretch.first_day,
        "last_day": stretch.last_day,
        "from_time": stretch.from_time,
        "until_time": stretch.until_time,
    }


def _stretch(row: DayOff) -> Stretch:
    return Stretch(row.first_day, row.last_day, row.from_time, row.until_time)


def _says_else(absence: Absence, row: DayOff) -> bool:
    """Whether the event says other words than the entry."""
    return plain(absence.says).strip() != row.says


def _steps(
    connection: Connection, absences: Sequence[Absence], staff_id: UUID | None, since: date
) -> tuple[tuple[Step, ...], int, tuple[Fault, ...]]:
    """What is to be done, how many days stand in the book already, and what is left alone."""
    known = _present(connection, staff_id, [one.uid for one in absences], since)
    by_hand = {_stretch(row) for row in known.get("", ())}
    steps, faults, already = [], [], 0
    for absence in absences:
        rows = known.get(absence.uid, [])
        step, there, fault = _step(absence, rows, by_hand)
        already += there
        if step is not None:
            steps.append(step)
        if fault is not None:
            faults.append(fault)
    return tuple(steps), already, tuple(faults)


def _present(
    connection: Connection, staff_id: UUID | None, uids: Sequence[str], since: date
) -> dict[str, list[DayOff]]:
    """Days off of the person from a day on, by UID; those struck through that had one as well."""
    columns = table("day_off").c
    whose = columns.staff_id.is_(None) if staff_id is None else columns.staff_id == staff_id
    query = (
        select(*columns_of(DayOff, "day_off"))
        .where(
            whose,
            columns.last_day >= since,
            or_(columns.uid != "", columns.struck_at.is_(None)),
        )
        .order_by(columns.first_day, columns.from_time, columns.id)
    )
    wanted = {"", *uids}
    found: dict[str, list[DayOff]] = {}
    for row in connection.execute(query):
        one = made_of(DayOff, row)
        if one.uid in wanted:
            found.setdefault(one.uid, []).append(one)
    return found


def _step(
    absence: Absence, rows: Sequence[DayOff], by_hand: Iterable[Stretch]
) -> tuple[Step | None, int, Fault | None]:
    """What one event asks for, beside what the book has of it."""
    standing = [one for one in rows if one.struck_at is None]
    version = max((one.sequence for one in rows), default=-1)
    if absence.sequence < version:
        return None, len(standing), None
    # A day that somebody struck through stays so, until the event itself says something newer.
    refused = {
        _stretch(one)
        for one in rows
        if one.struck_at is not None and absence.sequence <= one.sequence
    }
    there = {_stretch(one): one for one in standing}
    wanted = [one for one in absence.stretches if one not in refused]
    missing = [one for one in standing if _stretch(one) not in wanted]
    extra = [one for one in wanted if one not in there and one not in by_hand]
    same = [there[one] for one in wanted if one in there]
    already = len(absence.stretches) - len(extra)
    newer = absence.sequence > version or _is_later(absence, rows)
    if missing and not newer:
        return None, already, Fault(absence.line, _NOT_NEWER)
    if absence.why_not == PAST and not missing:
        return None, 0, None
    renewed = [
        (one, _stretch(one))
        for one in same
        if newer and (one.sequence != absence.sequence or _says_else(absence, one))
    ]
    pairs = list(zip(missing, extra, strict=False))
    step = Step(
        absence,
        added=tuple(extra[len(pairs) :]),
        changed=(*pairs, *renewed),
        struck=tuple(missing[len(pairs) :]),
    )
    idle = not (step.added or step.changed or step.struck)
    return (None if idle else step), already, None


def _is_later(absence: Absence, rows: Sequence[DayOff]) -> bool:
    """Whether the event was changed after the book last heard of it."""
    if absence.stamped_at is None or not rows:
        return False
    return absence.stamped_at > max(one.changed_at for one in rows)
