"""A week ahead at the command line: what is due and what is booked, spread over days and vets."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING, Any
from uuid import UUID

from store.errors import BadInput
from store.rounds.solving.problem import INFECTED
from store.rounds.solving.said import clock_said
from tui.commands.round_json import clock, way
from tui.commands.round_text import sentences
from tui.said import DAYS
from tui.widgets.literal import fit, one_line

if TYPE_CHECKING:
    from store.book.book import Book
    from store.rounds.solving.halt import Halt
    from store.rounds.week.values import WeekDay, WeekLeft, WeekLine, WeekPlan
    from tui.commands.watched import Say

_NAME, _WHO = 29, 14
"""The column in which names begin, and how wide a person's name is."""
TO_AGREE = (
    "What is to be agreed is not booked: ring the client, then book it from the week of the round, "
    "or from the desk."
)
ADDED = (
    "“+5 min” is the drive that a visit adds to its day: from the practice's own table where it "
    "has the way, else reckoned from the straight distance."
)


def print_week(
    book: Book, args: argparse.Namespace, first: date, staff: Sequence[UUID], at: datetime
) -> int:
    """Plan the seven days from a day on and print them.

    Parameters
    ----------
    book
        The practice's book.
    args
        With `free`, `any_order`, `no_due`, `effort` and `json`.
    first
        The first day.
    staff
        Who drives; all vets where it is empty.
    at
        The present instant.

    Raises
    ------
    BadInput
        A week that lies behind, or hours that are to be free.
    """
    from store.rounds.kept.days.week import week_asked
    from store.rounds.week.plan import WEEK_EFFORT, plan_week
    from store.rounds.week.values import MOST_DUE, WeekWish
    from tui.commands.watched import watched

    if args.free:
        raise BadInput("In a week agreed hours stay as they are; --free is for one day.")
    wish = WeekWish(
        first,
        staff=tuple(staff),
        most_due=0 if args.no_due else MOST_DUE,
        ordered=not args.any_order,
    )
    asked = week_asked(book, wish, at)

    def search(halt: Halt, say: Say) -> WeekPlan:
        def better(best: WeekPlan) -> None:
            say(f"best so far {best.drive_min} min of driving")

        return plan_week(asked, effort=args.effort or WEEK_EFFORT, halt=halt, better=better)

    plan, stopped = watched(search, "planning the week")
    if args.json:
        print(json.dumps(as_json(plan, at, stopped=stopped), indent=2, allow_nan=False))
        return 0
    for line in as_text(plan):
        print(line)
    return 0


def as_text(plan: WeekPlan) -> Iterator[str]:
    """The week: its sums, each day line by line, what is left out, the proof and what to know.

    Parameters
    ----------
    plan
        The week.
    """
    wish = plan.asked.wish
    yield from sentences(f"{_day(wish.first)} to {_day(wish.last)}: {sums_said(plan)}", after="  ")
    for day in plan.days:
        yield ""
        yield from _of_day(plan, day)
    if plan.lines:
        yield ""
        yield from sentences(f"{TO_AGREE} {ADDED}")
    if plan.left_out:
        yield ""
        yield "Left out:"
        for out in plan.left_out:
            yield from sentences(one_line(out.says), "  ")
    yield ""
    yield from sentences(one_line(plan.proof))
    yield from _part("To know:", plan.remarks)
    yield from _part("What it rests on:", plan.asked.rests_on)


def sums_said(plan: WeekPlan) -> str:
    """How many visits are booked, to be agreed and left out, and the driving, in a phrase.

    Parameters
    ----------
    plan
        The week.
    """
    booked = sum(line.errand.booked for line in plan.lines)
    parts = [f"{booked} booked {'visit' if booked == 1 else 'visits'}"]
    if due := len(plan.lines) - booked:
        parts.append(f"{due} to be agreed")
    if plan.left_out:
        parts.append(f"{len(plan.left_out)} left out")
    return f"{', '.join(parts)}; {plan.drive_min} min of driving"


def late_said(line: WeekLine) -> str:
    """How late a visit would be, in a few words; empty where it keeps no promise.

    Parameters
    ----------
    line
        The visit.
    """
    late = line.late_days
    if late is None:
        return ""
    if late > 0:
        return f"{late} d late"
    return "on its last day" if late == 0 else f"{-late} d left"


def _day(day: date) -> str:
    return f"{DAYS[day.weekday()]} {day:%Y-%m-%d}"


def _of_day(plan: WeekPlan, day: WeekDay) -> Iterator[str]:
    holiday = f", public holiday: {one_line(day.holiday)}" if day.holiday else ""
    lines = list(plan.lines_of(day.day))
    drive = f"{day.drive_min} min of driving" if lines else "nothing"
    yield from sentences(f"{_day(day.day)}{holiday}: {drive}", after="  ")
    for line in lines:
        yield from _line(line)


def _line(line: WeekLine) -> Iterator[str]:
    one, stop = line.errand, line.stop
    head = (
        f"  {clock_said(stop.begins)}–{clock_said(stop.ends)}  "
        f"{fit(one_line(line.driver.who), _WHO - 1)} "
    )
    yield from sentences(f"{head}{one_line(one.name)}", after=" " * _NAME)
    yield from sentences("; ".join(filter(None, _marks(line))), " " * _NAME)
    if one.level >= INFECTED:
        yield from sentences(one_line(one.standing_said), " " * _NAME)


def _marks(line: WeekLine) -> Iterator[str]:
    one = line.errand
    if one.booked:
        yield "booked"
    yield one_line(one.kind)
    if not one.booked:
        yield late_said(line)
        yield "later than is borne" if line.widened else ""
        yield f"ring {one_line(one.phone)}" if one.phone else "no telephone number"
    yield f"+{line.added_min} min"


def _part(head: str, said: Sequence[str]) -> Iterator[str]:
    if said:
        yield ""
        yield head
        for one in said:
            yield from sentences(one_line(one), "  ")


def as_json(plan: WeekPlan, now: datetime, *, stopped: bool = False) -> dict[str, Any]:
    """The week as one object; clocks are local, `HH:MM`.

    Keys: `now` (ISO 8601), `first` and `last` (days), what was asked (`most_due`, `ordered`),
    `stopped` (whether the search was ended), `days`, `left_out`, `drive_min`, `cost_min` (driving
    and the price of what is left out), `bound_min`, `proven`, `each_proven`, `proof`, `remarks`
    and `rests_on`. A day has `day`, `holiday`, `drive_min` and `visits`. A visit has `staff_id`,
    `who`, `arrives`, `begins`, `ends`, `way`, `added_min`, `late_days` (null where it keeps no
    promise), `widened` and the keys of an errand: `key`, `visit`, `booked`, `client_id`, `site_id`,
    `pond_ids`, `name`, `kind`, `visit_min`, `standing`, `standing_said`, `hours_said`, `weight`,
    `worth_min` (null where it must be), `purposes`, `last_on` and `until` (days, or null) and
    `phone`. What is left out has those of an errand and `says`.

    Parameters
    ----------
    plan
        The week.
    now
        The present instant.
    stopped
        Whether the search was ended early.
    """
    wish, found = plan.asked.wish, plan.found
    return {
        "now": now.isoformat(),
        "first": wish.first.isoformat(),
        "last": wish.last.isoformat(),
        "most_due": wish.most_due,
        "ordered": wish.ordered,
        "stopped": stopped,
        "days": [
            {
                "day": day.day.isoformat(),
                "holiday": day.holiday,
                "drive_min": day.drive_min,
                "visits": [_visit(plan, line) for line in plan.lines_of(day.day)],
            }
            for day in plan.days
        ],
        "left_out": [_left(plan, one) for one in plan.left_out],
        "drive_min": found.drive_min,
        "cost_min": found.cost,
        "bound_min": found.bound,
        "proven": found.proven,
        "each_proven": found.each_proven,
        "proof": plan.proof,
        "remarks": list(plan.remarks),
        "rests_on": list(plan.asked.rests_on),
    }


def _visit(plan: WeekPlan, line: WeekLine) -> dict[str, Any]:
    stop = line.stop
    return {
        "staff_id": str(line.driver.staff_id),
        "who": line.driver.who,
        "arrives": clock(stop.arrives),
        "begins": clock(stop.begins),
        "ends": clock(stop.ends),
        "way": way(stop.way),
        "added_min": line.added_min,
        "late_days": line.late_days,
        "widened": line.widened,
        **_errand(plan, line.errand.key),
    }


def _left(plan: WeekPlan, left: WeekLeft) -> dict[str, Any]:
    return {**_errand(plan, left.errand.key), "says": left.says}


def _errand(plan: WeekPlan, key: UUID) -> dict[str, Any]:
    one = next(each for each in plan.asked.errands if each.key == key)
    limit, visit = plan.asked.limits.get(key), one.visit
    return {
        "key": str(key),
        "visit": str(visit.id) if visit else None,
        "booked": one.booked,
        "client_id": str(one.client_id),
        "site_id": str(one.site_id),
        "pond_ids": [str(pond) for pond in one.pond_ids],
        "name": one.name,
        "kind": one.kind,
        "visit_min": one.minutes,
        "standing": one.standing,
        "standing_said": one.standing_said,
        "hours_said": one.hours_said,
        "weight": one.weight,
        "worth_min": None if one.booked else one.skip_cost,
        "purposes": [purpose.says for purpose in one.purposes],
        "last_on": limit.last_on.isoformat() if limit else None,
        "until": limit.until.isoformat() if limit else None,
        "phone": one.phone,
    }
