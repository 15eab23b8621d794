"""How many promises were kept on time, out of all tables of the book in which one stands."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, or_, select

from store.book.book import Book
from store.book.tables import TableName, table
from store.courses.kept.records import read_courses
from store.courses.turning.tally import tallies
from store.diary.desk.kept_on_time import (
    MOST_MONTHS,
    PromisesKept,
    Record,
    Stood,
    months_until,
    promises_tallied,
)
from store.diary.desk.rule_days import RuleDays
from store.diary.kept.due.gather.exams import RESULT_DAYS, SEND_DAYS
from store.diary.kept.score.calls_kept import calls_kept, ring_backs_kept
from store.diary.kept.score.water_tests_kept import water_tests_kept
from store.errors import BadInput
from store.exams.remembered import remembered
from store.exams.specimens import AMENDED
from store.facts.follow_ups import follow_up_kinds

_BEFORE_DAYS = 400
"""How far before the first month a day may stand that was moved into it [d]."""
TOLD = (
    "Counted are days of follow-ups, doses and control examinations of courses, water tests by the "
    "plan of the pond, samples and their results, calls that were to be made again, and calls that "
    "were taken: those are kept by a visit or by being closed.",
    "A water test that is taken before its window begins moves the next one and is not counted; "
    "one that was missed is counted once, however long it is missing.",
    f"A sample is to be sent {SEND_DAYS} day after it was taken, its result is asked for "
    f"{RESULT_DAYS} days after it was sent.",
)
"""What is counted and how, beside the definition."""

_RESTS_ON = (
    "follow_up", "follow_up_day", "client", "site", "pond", "practice", "course", "course_step",
    "course_dose", "course_task", "dose_given", "examination", "water_test", "lab_sample",
    "contact_attempt", "call_note", "visit", "visit_purpose", "own_agent", "own_dose", "product",
)  # fmt: skip
"""Tables that the numbers rest on."""

_Moves = Mapping[UUID, list[tuple[date, date | None, date | None]]]
"""By row the days on which a day was changed, with the day before and the day after."""


def promises_kept(book: Book, now: datetime, months: int = 12) -> PromisesKept:
    """How many promises were kept on time, by kind and month.

    Parameters
    ----------
    book
        The practice's book.
    now
        The present instant, with a time zone; months are those of the practice's zone.
    months
        How many months, the present one among them [months], 1 to 60.

    Returns
    -------
    PromisesKept
        Of ponds, courses and clients that stand in the book. Where a day was moved, the record of
        changes tells which day stood before.

    Raises
    ------
    BadInput
        A number of months out of bounds.
    """
    if isinstance(months, bool) or not 1 <= months <= MOST_MONTHS:
        raise BadInput(f"Please choose 1 to {MOST_MONTHS} months.", field="months")
    today = book.today(now)
    return remembered(
        book, "promises kept", _RESTS_ON, (today, months), lambda: _read(book, today, months)
    )


def _read(book: Book, today: date, months: int) -> PromisesKept:
    zone = book.zone
    since = months_until(today, months)[0].first - timedelta(days=_BEFORE_DAYS)
    with book.reading() as connection:
        records = [
            *_by_hand(connection, zone, since, today),
            *_courses(connection, zone, since, today),
            *water_tests_kept(connection, zone, since, today),
            *_laboratory(connection, since),
            *ring_backs_kept(connection, zone, since),
            *calls_kept(connection, zone, since),
        ]
    return promises_tallied(records, today, months, follow_up_kinds(), TOLD)


def _by_hand(connection: Connection, zone: ZoneInfo, since: date, today: date) -> Iterator[Record]:
    rows, days, clients = table("follow_up"), table("follow_up_day"), table("client")
    ponds, sites = table("pond").c, table("site").c
    sites_here = select(sites.id).where(sites.struck_at.is_(None))
    ponds_here = select(ponds.id).where(ponds.struck_at.is_(None), ponds.site_id.in_(sites_here))
    of_row = ("id", "kind", "promised_on", "first_on", "early_days", "late_days", "repeats",
              "ended_on")  # fmt: skip
    query = (
        select(*(rows.c[name] for name in of_row))
        .join(clients, clients.c.id == rows.c.client_id)
        .where(
            rows.c.struck_at.is_(None),
            clients.c.struck_at.is_(None),
            or_(rows.c.pond_id.is_(None), rows.c.pond_id.in_(ponds_here)),
            or_(
                rows.c.pond_id.is_not(None),
                rows.c.site_id.is_(None),
                rows.c.site_id.in_(sites_here),
            ),
            or_(rows.c.ended_on.is_(None), rows.c.ended_on >= since),
        )
    )
    follow_ups = connection.execute(query).all()
    of_day = ("id", "rev", "follow_up_id", "due_on", "moved_to", "state", "kept_on", "changed_at")
    query = select(*(days.c[name] for name in of_day)).where(
        days.c.struck_at.is_(None), or_(days.c.due_on >= since, days.c.moved_to >= since)
    )
    became: dict[UUID, dict[date, Any]] = {}
    for day in connection.execute(query):
        became.setdefault(day.follow_up_id, {})[day.due_on] = day
    moved = [day.id for of in became.values() for day in of.values() if day.moved_to or day.rev > 1]
    moves = _moves(connection, "follow_up_day", "moved_to", moved, zone)
    # Nothing is promised beyond the present month but what was kept or called off already.
    until = months_until(today, 1)[0].first + timedelta(days=31)
    rules = RuleDays(since, until)
    for row in follow_ups:
        own = became.get(row.id, {})
        try:
            given = {*rules.of(row.repeats, row.first_on), *own}
        except BadInput:
            given = {row.first_on, *own}
        for due in sorted(given):
            at = own.get(due)
            ended = row.ended_on if at is None or at.state == "open" else None
            if ended is not None and due - timedelta(days=row.early_days) > ended:
                continue  # ended before anybody could have kept it
            yield Record(
                row.kind,
                _stood(row.promised_on, due, moves.get(at.id, []) if at is not None else []),
                row.late_days,
                at.kept_on if at is not None and at.state == "kept" else None,
                _local(at.changed_at, zone) if at is not None and at.state == "dropped" else ended,
            )


def _courses(connection: Connection, zone: ZoneInfo, since: date, today: date) -> Iterator[Record]:
    courses, ponds = table("course").c, table("pond").c
    steps, doses = table("course_step"), table("course_dose")
    dosed = (
        select(steps.c.course_id)
        .join(doses, doses.c.step_id == steps.c.id)
        .where(doses.c.due_on >= since)
    )
    found = read_courses(
        connection, zone,
        courses.state != "planned",
        courses.struck_at.is_(None),
        or_(courses.control_on >= since, courses.id.in_(dosed)),
        courses.pond_id.in_(select(ponds.id).where(ponds.struck_at.is_(None))),
    )  # fmt: skip
    keys = [key for one in found for key in one.dose_ids.values()]
    moves = _moves(connection, "course_dose", "due_on", keys, zone)
    dropped = _dropped(connection, keys, zone)
    controls = _moves(connection, "course", "control_on", [one.id for one in found], zone)
    kinds = follow_up_kinds()
    for one in found:
        began = one.started_on or today
        stopped = one.ended_on if one.state in ("stopped", "changed") else None
        for step in one.plan.steps:
            for tally in tallies(one.plan, step, one.given, today):
                planned = tally.planned
                key = one.dose_ids.get((step.place, planned.number))
                if key is None or planned.added == "not planned":
                    continue
                closed = dropped.get(key) if planned.state == "dropped" else stopped
                if tally.counts_on is None and closed is None and planned.state == "dropped":
                    closed = one.ended_on or planned.due_on
                yield Record(
                    "dose",
                    _stood(began, planned.due_on, _after(moves.get(key, []), began)),
                    kinds["dose"].late_days,
                    tally.counts_on,
                    closed,
                )
        if one.plan.control_on is None:
            continue
        done = one.control_done
        yield Record(
            "control",
            _stood(began, one.plan.control_on, _after(controls.get(one.id, []), began)),
            kinds["control"].late_days,
            None if done is None or done.done_at is None else _local(done.done_at, zone),
            stopped,
        )


def _laboratory(connection: Connection, since: date) -> Iterator[Record]:
    samples, ponds = table("lab_sample"), table("pond")
    query = (
        select(samples)
        .join(ponds, ponds.c.id == samples.c.pond_id)
        .where(
            ponds.c.struck_at.is_(None),
            samples.c.taken_on >= since,
            # Of an amended report the first is what was waited for.
            or_(samples.c.struck_at.is_(None), samples.c.struck_why == AMENDED),
            samples.c.replaces_id.is_(None),
        )
    )
    late = follow_up_kinds()["laboratory"].late_days
    for row in connection.execute(query):
        due = row.taken_on + timedelta(days=SEND_DAYS)
        sent = row.sent_on or row.reported_on
        yield Record("laboratory", (Stood(row.taken_on, due),), late, sent)
        if row.sent_on is not None:
            asked = row.sent_on + timedelta(days=RESULT_DAYS)
            yield Record("laboratory", (Stood(row.sent_on, asked),), late, row.reported_on)


def _moves(
    connection: Connection, name: TableName, column: str, keys: list[UUID], zone: ZoneInfo
) -> _Moves:
    """What the record of changes knows of a day that was moved, the oldest change first."""
    change = table("change").c
    found: dict[UUID, list[tuple[date, date | None, date | None]]] = {}
    for part in range(0, len(keys), _AT_ONCE):
        query = (
            select(change.row_id, change.at, change.before, change.after)
            .where(change.table_name == name, change.row_id.in_(keys[part : part + _AT_ONCE]))
            .order_by(change.rev)
        )
        for key, at, before, after in connection.execute(query):
            if after is None or column not in after or (before is None and not after[column]):
                continue
            was = (before or {}).get(column)
            found.setdefault(key, []).append((_local(at, zone), _day(was), _day(after[column])))
    return found


def _dropped(connection: Connection, keys: list[UUID], zone: ZoneInfo) -> dict[UUID, date]:
    """The day on which a dose was dropped, as the record of changes knows it."""
    change = table("change").c
    found: dict[UUID, date] = {}
    for part in range(0, len(keys), _AT_ONCE):
        query = (
            select(change.row_id, change.at, change.after)
            .where(
                change.table_name == "course_dose",
                change.row_id.in_(keys[part : part + _AT_ONCE]),
            )
            .order_by(change.rev)
        )
        for key, at, after in connection.execute(query):
            if after is not None and after.get("state") == "dropped":
                found[key] = _local(at, zone)
    return found


_AT_ONCE = 500
"""How many keys stand in one question."""


def _stood(
    began: date, due: date, moves: list[tuple[date, date | None, date | None]]
) -> tuple[Stood, ...]:
    """The days for which something stood, by the days on which that was said.

    `due` is the day of the rule for a follow-up, else the day that stands now.
    """
    if not moves:
        return (Stood(began, due),)
    first = moves[0][1] or due
    return (Stood(began, first), *(Stood(on, after or due) for on, _before, after in moves))


def _after(
    moves: list[tuple[date, date | None, date | None]], began: date
) -> list[tuple[date, date | None, date | None]]:
    """Changes after a course began: what was moved while it was only planned slipped nowhere."""
    return [one for one in moves if one[0] > began and one[1] is not None]


def _day(text: Any) -> date | None:
    return date.fromisoformat(text) if text else None


def _local(at: datetime, zone: ZoneInfo) -> date:
    return at.astimezone(zone).date()
