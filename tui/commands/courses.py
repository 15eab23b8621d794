"""`pondround courses`: the courses that are planned or run, and what is due of them."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from store.errors import NotFound
from tui.commands.where import NO_BOOK, is_missing, now, open_place, place_of
from tui.said import said_day
from tui.widgets.literal import fit, one_line

if TYPE_CHECKING:
    from datetime import date
    from uuid import UUID

    from store.courses.kept.likely_hatch import LikelyHatch
    from store.courses.kept.under_way import UnderWay

NONE = "No course is planned or runs."


def run_courses(args: argparse.Namespace) -> int:
    """Print the courses that are planned or run, worst first."""
    at, place = now(), place_of(args)
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    with open_place(place, at) as book:
        from store.courses.kept.likely_hatch import likely_hatch
        from store.courses.kept.under_way import under_way

        found, today = under_way(book, at), book.today(at)
        likely = likely_hatch(book, [one.course for one in found], at)
    if args.json:
        print(json.dumps(as_json(found, likely), indent=2, allow_nan=False))
    else:
        for line in as_text(found, today, likely):
            print(line)
    return 0


def as_text(
    found: Sequence[UnderWay],
    today: date,
    likely: Mapping[UUID, tuple[LikelyHatch, ...]] | None = None,
) -> Iterator[str]:
    """The list in lines for a terminal or a pipe.

    Parameters
    ----------
    found
        From `store.courses.kept.under_way.under_way`.
    today
        The practice's calendar day.
    likely
        From `store.courses.kept.likely_hatch`; None says nothing.
    """
    if not found:
        yield NONE
        return
    yield "  ".join(
        (fit("level", 7), fit("client and pond", 34), fit("course", 30), fit("given", 7),
         fit("due", 30), "control")
    )  # fmt: skip
    for one in found:
        planned = one.course.state == "planned"
        yield "  ".join(
            (
                fit("planned" if planned else one.level, 7),
                fit(one_line(f"{one.card.client.name}, {one.card.pond.name}"), 34),
                fit(one_line(one.name), 30),
                fit(f"{one.given} of {one.doses}", 7),
                fit("not begun" if planned else one.first.what if one.first else "nothing", 30),
                said_day(one.course.plan.control_on, today),
            )
        ).rstrip()
        for each in (likely or {}).get(one.course.id, ()):
            yield f"  {one_line(each.says)}"


def as_json(
    found: Sequence[UnderWay], likely: Mapping[UUID, tuple[LikelyHatch, ...]] | None = None
) -> dict[str, Any]:
    """The list as one object.

    Key `courses`: each with `course` and `pond` (keys), `client`, `pond_name`, `state`, `reason`,
    `agents`, `level`, `doses`, `given`, `started_on`, `control_on`, `tasks_overdue` (how many),
    `likely_by_estimate`: what it waits for in the pond, each with `hazard`, `earliest`, `expected`
    and `latest` (by when all has hatched, or a cycle is over; ISO 8601, null beyond
    `looked_until`), `covered`, `covered_if_colder` and `covered_if_warmer` (verdicts in words, or
    null), `says` and `rests_on`, and `due`: what it waits for, each with `kind`, `says`, `on` (ISO
    8601), `late_days`, `level` and `share`.

    Parameters
    ----------
    found
        From `store.courses.kept.under_way.under_way`.
    likely
        From `store.courses.kept.likely_hatch`; None says nothing.
    """
    known = likely or {}
    return {"courses": [_course(one, known.get(one.course.id, ())) for one in found]}


def _course(one: UnderWay, likely: Sequence[LikelyHatch]) -> dict[str, Any]:
    course = one.course
    return {
        "course": str(course.id),
        "pond": str(course.pond_id),
        "client": one.card.client.name,
        "pond_name": one.card.pond.name,
        "state": course.state,
        "reason": course.plan.reason,
        "agents": [step.agent for step in course.plan.steps],
        "level": one.level,
        "doses": one.doses,
        "given": one.given,
        "started_on": course.started_on.isoformat() if course.started_on else None,
        "control_on": course.plan.control_on.isoformat() if course.plan.control_on else None,
        "tasks_overdue": one.tasks,
        "likely_by_estimate": [
            {
                "hazard": each.hazard,
                "earliest": _day(each.over.earliest),
                "expected": _day(each.over.expected),
                "latest": _day(each.over.latest),
                "looked_until": each.over.until.isoformat(),
                "covered": each.verdict,
                "covered_if_colder": each.if_colder,
                "covered_if_warmer": each.if_warmer,
                "says": each.says,
                "rests_on": list(each.rests_on),
            }
            for each in likely
        ],
        "due": [
            {
                "kind": wait.promise.kind,
                "says": wait.promise.says,
                "on": wait.promise.due.isoformat(),
                "late_days": wait.late_days,
                "level": wait.level,
                "share": wait.promise.share,
            }
            for wait in one.waiting
        ],
    }


def _day(day: date | None) -> str | None:
    return None if day is None else day.isoformat()
