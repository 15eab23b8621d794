"""`pondround import daysoff`: days off out of a calendar file."""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from typing import TYPE_CHECKING

from store.errors import NotFound
from store.text import day_said, plain

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.diary.calendar.read import Stretch
    from store.diary.kept.files.calendar_in import DaysOffDone, DaysOffPlan

_SHOWN = 8


def bring_days_off(args: argparse.Namespace, book: Book, act: Act) -> int:
    """Read a calendar file, tell what is in it, and save it unless it is a dry run.

    Parameters
    ----------
    args
        What the parser of `import daysoff` understood.
    book
        The practice's book.
    act
        Who brings the file in, and when.

    Returns
    -------
    int
        0 when every line was understood, 1 when some were not.
    """
    from store.book.people import person_named, staff
    from store.diary.kept.files.calendar_in import read_days_off, save_days_off

    staff_id = None
    if not args.everybody:
        found = person_named(book, args.away)
        if found is None:
            names = ", ".join(one.name for one in staff(book)) or "nobody"
            raise NotFound(
                f"“{plain(args.away)[:60]}” is not on the staff of this book ({names}); nothing "
                "was brought in."
            )
        staff_id = found.id
    plan = read_days_off(args.file, book, staff_id, act.at)
    done = None if args.dry_run else save_days_off(book, act, plan)
    for line in _summary(plan, done):
        print(plain(line))
    return 1 if plan.faults else 0


def _summary(plan: DaysOffPlan, done: DaysOffDone | None) -> Iterable[str]:
    yield f"{plan.path.name}: {_count(plan.events, 'event')} read for {plan.who}."
    if done is None:
        yield (
            f"Would add {_days(plan.added)}, change {plan.moved} and strike through "
            f"{plan.struck}; nothing was saved."
        )
        already = plan.already
    else:
        yield f"Added {_days(done.added)}, changed {done.moved}, struck through {done.struck}."
        already = done.already
    yield from _steps(plan)
    if already:
        yield f"{already} in the book already, passed over."
    for why, count in plan.passed_over:
        yield f"{_count(count, 'event')} {'is' if count == 1 else 'are'} no absence: {why}."
    yield from plan.told
    if plan.faults:
        yield f"{_count(len(plan.faults), 'place')} could not be read:"
        for one in plan.faults[:_SHOWN]:
            yield f"  line {one.line}: {one.says}"
        if len(plan.faults) > _SHOWN:
            yield f"  and {len(plan.faults) - _SHOWN} more."


def _steps(plan: DaysOffPlan) -> Iterable[str]:
    """The entries themselves, a few of them."""
    said = []
    for step in plan.steps:
        what = step.absence.says or "away"
        said += [f"  add: {_said(one)}, {what}" for one in step.added]
        said += [
            f"  change: {day_said(old.first_day)} becomes {_said(new)}, {what}"
            for old, new in step.changed
            if (old.first_day, old.last_day, old.from_time, old.until_time)
            != (new.first_day, new.last_day, new.from_time, new.until_time)
        ]
        said += [f"  strike through: {day_said(old.first_day)}, {what}" for old in step.struck]
    yield from said[:_SHOWN]
    if len(said) > _SHOWN:
        yield f"  and {len(said) - _SHOWN} more."


def _said(one: Stretch) -> str:
    first = day_said(one.first_day)
    if one.from_time is not None:
        first = f"{first} {one.from_time:%H:%M}"
    last = "" if one.last_day == one.first_day else day_said(one.last_day)
    if one.until_time is not None:
        last = f"{last} {one.until_time:%H:%M}".strip()
    return f"{first} to {last}" if last else first


def _days(number: int) -> str:
    return _count(number, "entry", "entries")


def _count(number: int, one: str, many: str = "") -> str:
    return f"{number:,} {one if number == 1 else many or one + 's'}"
