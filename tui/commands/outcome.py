"""`pondround outcome`: did a course work, and where does an agent fail."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any
from uuid import UUID

from store.errors import BadInput, NotFound
from tui.commands.where import NO_BOOK, is_missing, now, open_place, place_of
from tui.widgets.literal import fit, one_line, wrapped

if TYPE_CHECKING:
    from datetime import date

    from store.book.book import Book
    from store.courses.kept.outcome import Control, HazardOutcome, Outcome
    from store.courses.kept.outcome_agents import AgentHazard
    from store.exams.reduction import Limits

NONE = "No dose of any course was logged here, so there is nothing to look back on."
_WIDTH = 96
COLUMNS = (
    ("agent", 30), ("against", 18), ("courses", 7), ("ponds", 5), ("fewer", 5), ("not shown", 9),
    ("no fewer", 8), ("not told", 8), ("median", 20),
)  # fmt: skip


def run_outcome(args: argparse.Namespace) -> int:
    """Print what came of one course, of those of a pond, of all, or agent by agent."""
    at, place = now(), place_of(args)
    if args.agents and args.course:
        raise BadInput("Either a course or --agents, which looks at all of them.")
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    with open_place(place, at) as book:
        if args.agents:
            from store.courses.kept.outcome_agents import agents_outcome

            rows = agents_outcome(book, at)
            shown, lines = agents_json(rows), agents_text(rows)
        else:
            found = _asked(book, at, " ".join(args.course))
            shown, lines = as_json(found), as_text(found)
    if args.json:
        print(json.dumps(shown, indent=2, allow_nan=False))
    else:
        for line in lines:
            print(line)
    return 0


def _asked(book: Book, at: Any, text: str) -> tuple[Outcome, ...]:
    from store.courses.kept.outcome import outcome
    from store.courses.kept.outcome_agents import outcomes

    if not text:
        return outcomes(book, at)
    try:
        key = UUID(text)
    except ValueError:
        from tui.commands.asked import one_pond

        return outcomes(book, at, one_pond(book, text))
    return (outcome(book, key, at),)


def as_text(found: Sequence[Outcome]) -> Iterator[str]:
    """Each course with a sentence or two for each of its hazards.

    Parameters
    ----------
    found
        From `store.courses.kept.outcome`.
    """
    if not found:
        yield NONE
        return
    for one in found:
        where = one_line(f"{one.card.client.name}, {one.card.pond.name}")
        days = "" if one.first_dose is None else f", {one.first_dose} to {one.treated_until}"
        yield f"{where}: {one_line(one.name)}{days}"
        for said in one.says:
            for line in wrapped(one_line(said), _WIDTH - 2):
                yield f"  {line}"
        for hazard in one.hazards:
            for remark in hazard.remarks:
                for line in wrapped(one_line(remark), _WIDTH - 4):
                    yield f"    {line}"


def agents_text(rows: Sequence[AgentHazard]) -> Iterator[str]:
    """One line for each agent and hazard, those that failed most often first, then why.

    Parameters
    ----------
    rows
        From `store.courses.kept.outcome_agents.agents_outcome`.
    """
    if not rows:
        yield NONE
        return
    yield "  ".join(fit(title, width) for title, width in COLUMNS).rstrip()
    for row in rows:
        median = "" if row.over is None else _middle(row)
        cells = (
            one_line(row.name), row.hazard_name, str(len(row.results)), str(row.ponds),
            str(row.count("fewer")), str(row.count("not shown")), str(row.count("no fewer")),
            str(row.count("not told")), median,
        )  # fmt: skip
        yield "  ".join(
            fit(cell, width) for cell, (_, width) in zip(cells, COLUMNS, strict=True)
        ).rstrip()
        for one in row.failures:
            yield f"  {one.change}: {one_line(one.where)}, until {one.treated_until}"


def _middle(row: AgentHazard) -> str:
    assert row.over is not None
    if row.over.median is None:
        return "one course"
    limits = row.over.limits
    spread = "" if limits is None else f" ({limits.low:.0f} to {limits.high:.0f})"
    return f"{row.over.median:.0f} %{spread}"


def as_json(found: Sequence[Outcome]) -> dict[str, Any]:
    """The courses as one object.

    Key `courses`: each with `course` and `pond` (keys), `client`, `pond_name`, `agents` in words,
    `state`, `first_dose`, `treated_until` (ISO 8601 or null), `why` (why nothing can be told) and
    `hazards`: each with `hazard`, `change` (`fewer`, `not shown`, `no fewer`, `not told`), `says`,
    `why`, `other_course`, `before` (key of the examination) and `before_on`, `count_again_after`
    (ISO 8601 or null), `remarks` and `controls`, old to new: each with `examination`, `on`,
    `days_after`, `timely`, `told` (whether the answer rests on it), `way`, `by`, `percent` with
    `low` and `high` [% fewer, null where there are none], `positive_before`, `of_before`,
    `positive_after`, `of_after` (fish), `said`, `why`, `arithmetic`, `source` and `cautions`.

    Parameters
    ----------
    found
        From `store.courses.kept.outcome`.
    """
    return {"courses": [_course(one) for one in found]}


def _course(one: Outcome) -> dict[str, Any]:
    return {
        "course": str(one.course.id),
        "pond": str(one.course.pond_id),
        "client": one.card.client.name,
        "pond_name": one.card.pond.name,
        "agents": one.name,
        "state": one.course.state,
        "first_dose": _day(one.first_dose),
        "treated_until": _day(one.treated_until),
        "why": one.why,
        "hazards": [_hazard(hazard) for hazard in one.hazards],
    }


def _hazard(one: HazardOutcome) -> dict[str, Any]:
    return {
        "hazard": one.hazard,
        "change": one.change,
        "says": one.says,
        "why": one.why,
        "other_course": one.mixed,
        "before": None if one.before is None else str(one.before),
        "before_on": _day(one.before_on),
        "count_again_after": None if one.recount is None else _day(one.recount.after),
        "remarks": list(one.remarks),
        "controls": [_control(control, control is one.told) for control in one.controls],
    }


def _control(one: Control, told: bool) -> dict[str, Any]:
    compared = one.compared
    limits: Limits | None = None if compared.found is None else compared.found.shown
    share = compared.share
    return {
        "examination": str(one.exam),
        "on": one.on_day.isoformat(),
        "days_after": one.days_after,
        "timely": one.timely,
        "told": told,
        "way": compared.way,
        "by": compared.by,
        "percent": None if compared.found is None else compared.found.percent,
        "low": None if limits is None else limits.low,
        "high": None if limits is None else limits.high,
        "positive_before": None if share is None else share.before.positive,
        "of_before": None if share is None else share.before.examined,
        "positive_after": None if share is None else share.after.positive,
        "of_after": None if share is None else share.after.examined,
        "said": compared.said,
        "why": compared.why,
        "arithmetic": compared.arithmetic,
        "source": compared.source,
        "cautions": list(compared.remarks),
    }


def agents_json(rows: Sequence[AgentHazard]) -> dict[str, Any]:
    """The agents as one object.

    Key `agents`: each with `agents` (codes in order), `name`, `hazard`, `courses` and `ponds` (how
    many), `fewer`, `not_shown`, `no_fewer`, `not_told` (courses), `median` with `low` and `high`
    [% fewer, null where there are too few], `said`, `arithmetic`, `source`, `remarks` and
    `results`: each with `course`, `pond` (keys), `where`, `treated_until`, `change`, `percent` and
    `why`.

    Parameters
    ----------
    rows
        From `store.courses.kept.outcome_agents.agents_outcome`.
    """
    return {"agents": [_agent(row) for row in rows]}


def _agent(row: AgentHazard) -> dict[str, Any]:
    over = row.over
    limits = None if over is None else over.limits
    return {
        "agents": list(row.agents),
        "name": row.name,
        "hazard": row.hazard,
        "courses": len(row.results),
        "ponds": row.ponds,
        "fewer": row.count("fewer"),
        "not_shown": row.count("not shown"),
        "no_fewer": row.count("no fewer"),
        "not_told": row.count("not told"),
        "median": None if over is None else over.median,
        "low": None if limits is None else limits.low,
        "high": None if limits is None else limits.high,
        "said": row.said,
        "arithmetic": "" if over is None else over.arithmetic,
        "source": "" if over is None else over.source,
        "remarks": [] if over is None else list(over.remarks),
        "results": [
            {
                "course": str(one.course),
                "pond": str(one.pond),
                "where": one.where,
                "treated_until": one.treated_until.isoformat(),
                "change": one.change,
                "percent": None
                if one.outcome.told is None or one.outcome.told.compared.found is None
                else one.outcome.told.compared.found.percent,
                "why": one.why,
            }
            for one in row.results
        ],
    }


def _day(day: date | None) -> str | None:
    return None if day is None else day.isoformat()
