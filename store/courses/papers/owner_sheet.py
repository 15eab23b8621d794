"""What an owner gets in the hand: a course in plain words, day by day.

Nothing is decided here. Doses, days and tasks are those of the plan; what to do beside them comes
from the facts.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from store.courses.papers.owner_advice import beside_the_doses, rests_on
from store.courses.papers.owner_days import day_parts, each_time_part, is_late
from store.courses.papers.sheet_step import listed, sheet_steps, what_is_given
from store.courses.planning.course import Plan
from store.facts.agent import LOCAL_LAW, Agent
from store.facts.hazards import hazards
from store.paper.paper import Letterhead, Paper, Part, date_in_words, head_rows, one_line

TITLE = "Treating your fish: what to do, day by day"
TAKES_THE_PLACE = "This sheet takes the place of every earlier one."
NOT_BEGUN = (
    "This course is planned and has not begun: give nothing of it before we have told you that it "
    "begins."
)
LATE = "A dose is late: ring us before you give anything that stands on this sheet."
EATING = {
    "ornamental": "These fish are not for eating. Nobody may eat them, sell them or give them away "
    "as food.",
    "food": "Take no fish for eating and sell none until the day that we give you in writing.",
    "not asked": "Take no fish for eating and give none away until the vet has told you whether "
    "and when they may be eaten.",
}


def owner_sheet(
    plan: Plan,
    letterhead: Letterhead,
    written_on: date,
    *,
    formulary: Mapping[str, Agent] | None = None,
    begun: bool = True,
) -> Paper:
    """The instruction sheet of a course: what, when, how, what to watch for, when to ring.

    Parameters
    ----------
    plan
        The course. A dose that was given, missed or dropped is named as such, without an amount.
    letterhead
        Who hands it to whom; no other word about the client stands on the sheet.
    written_on
        The day on which it is handed out.
    formulary
        Agents by code; None for those of the plan.
    begun
        Whether a vet has begun the course; what is only planned says so.

    Returns
    -------
    Paper
        The sheet; every number on it has its unit, and its last part names the sources.

    Raises
    ------
    BadInput
        Nobody to ring is named, the course has no dose, or a dose that is due has no amount.
    NotFound
        An agent is not in the formulary.
    """
    head = head_rows(letterhead, written_on)
    given = sheet_steps(plan, plan.formulary if formulary is None else formulary)
    before = _before_all(begun=begun, late=is_late(given, written_on))
    parts = (
        Part("What it is for", _purpose(plan), "words"),
        Part("What is given", tuple(what_is_given(one) for one in given)),
        Part(
            "Day by day",
            (TAKES_THE_PLACE, *before),
            "words",
        ),
        *day_parts(plan, given, written_on),
        each_time_part(plan, written_on),
        *beside_the_doses(plan, given, dict(head)["Telephone"]),
        Part("Food and the law", (EATING[plan.water.use], LOCAL_LAW), "words"),
        Part("What this rests on", rests_on(plan, given)),
    )
    return Paper(
        title=TITLE,
        head=head,
        parts=tuple(part for part in parts if part.lines),
        foot=f"{dict(head)['Pond']}, {date_in_words(written_on)}",
        written_on=written_on,
    )


def _before_all(*, begun: bool, late: bool) -> tuple[str, ...]:
    if not begun:
        return (NOT_BEGUN,)
    return (LATE,) if late else ()


def _purpose(plan: Plan) -> tuple[str, ...]:
    known = hazards()
    names = [known[one].plain_name if one in known else one_line(one) for one in plan.hazards]
    reason = _sentence(one_line(plan.reason))
    return (f"Against {listed(names)}.",) if names else (reason,) if reason else ()


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:].rstrip('.')}." if text else ""
