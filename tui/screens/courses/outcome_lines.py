"""The lines of the pages that ask whether a course, or an agent, worked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal
from uuid import UUID

from rich.text import Text
from textual.content import Content

from store.text import day_said
from tui.said import said_date
from tui.screens.ponds.pond_lines import head_name
from tui.widgets.grid import Row
from tui.widgets.literal import one_line, wrapped
from tui.widgets.strip import Told

if TYPE_CHECKING:
    from datetime import date

    from store.courses.kept.outcome import Control, HazardOutcome, Outcome
    from store.courses.kept.outcome_agents import AgentHazard, CourseResult
    from store.exams.before_after import Change, Compared
    from store.exams.over_ponds import OverPonds

WORDS: dict[Change, str] = {
    "fewer": "fewer", "not shown": "not shown", "no fewer": "no fewer", "not told": "not told",
}  # fmt: skip
STYLES: dict[Change, str] = {
    "fewer": "calm", "not shown": "watch", "no fewer": "act", "not told": "quiet",
}  # fmt: skip
_GUTTER = 11


@dataclass(frozen=True, slots=True)
class LookKey:
    """A line of a course's page: which hazard, and the examination."""

    kind: Literal["before", "control", "none"]
    hazard: int
    number: int = 0
    exam: UUID | None = None


def says_lines(found: Outcome, width: int, most: int) -> Content:
    """The answer for each hazard, the word for it at the left edge."""
    if found.why:
        return Content("\n").join(Content(line) for line in wrapped(one_line(found.why), width))
    lines: list[Content] = []
    each = max(1, most // max(1, len(found.hazards)))
    for one in found.hazards:
        broken = wrapped(one_line(one.says), width - _GUTTER)
        if len(broken) > each:
            broken = [*broken[: each - 1], f"{broken[each - 1][: width - _GUTTER - 1]}…"]
        for number, text in enumerate(broken):
            said, style = _answer(one)
            word = said if number == 0 else ""
            lines.append(Content.assemble((f"{word:<{_GUTTER}}", style), text))
    return Content("\n").join(lines[:most])


def _answer(one: HazardOutcome) -> tuple[str, str]:
    """The word at the left edge with its style: fewer before the next hatch is no answer yet."""
    if one.told is not None and one.change == "fewer" and one.told.timely == "too early":
        return "too early", "bold $level-watch"
    if one.change == "not told":
        return WORDS[one.change], "$quiet"
    return WORDS[one.change], f"bold $level-{STYLES[one.change]}"


def said_facts(found: Outcome, today: date) -> str:
    """When it was given, and against what."""
    parts: list[str] = [found.course.state]
    if found.first_dose is not None and found.treated_until is not None:
        first, last = (said_date(one, today) for one in (found.first_dose, found.treated_until))
        parts.append(f"given on {first}" if first == last else f"given {first} to {last}")
    parts.append(f"against {one_line(found.course.plan.reason)}")
    return " · ".join(parts)


def course_title(found: Outcome) -> str:
    """Pond and agents."""
    return f"{head_name(found.card)}: {one_line(found.name)}, did it work?"


def look_rows(found: Outcome, today: date) -> list[Row]:
    """Each hazard with the examination before the course and those after it."""
    rows = []
    for place, one in enumerate(found.hazards):
        name = one_line(one.name)
        if one.before is None or one.before_on is None:
            rows.append(
                Row(LookKey("none", place), ("", name, Text("no count before", "quiet"), "", ""))
            )
            continue
        rows.append(
            Row(
                LookKey("before", place, 0, one.before),
                (said_date(one.before_on, today), name, "before the first dose", "", ""),
            )
        )
        rows += [
            Row(
                LookKey("control", place, number, control.exam),
                (
                    said_date(control.on_day, today), name,
                    Text(said_result(control.compared), STYLES[control.compared.change]),
                    f"{control.days_after} d", _timely(control, one),
                ),
            )
            for number, control in enumerate(one.controls)
        ]  # fmt: skip
        if not one.controls:
            after = "" if one.recount is None or one.recount.after is None else (
                f"after {said_date(one.recount.after, today)}"
            )  # fmt: skip
            rows.append(
                Row(LookKey("none", place, 1), ("", name, Text("not looked at again", "quiet"), "",
                                                after))
            )  # fmt: skip
    return rows


def _timely(control: Control, one: HazardOutcome) -> Text | str:
    if control.timely == "too early":
        return Text("too early", "watch")
    return "in time" if control.timely == "in time" else Text("not known", "quiet")


def said_result(one: Compared) -> str:
    """The figure in as few words as leave no doubt."""
    if one.found is not None:
        limits, percent = one.found.shown, one.found.percent
        word = "fewer" if percent >= 0.0 else "more"
        if limits is None:
            spread = "no limits"
        elif limits.low < 0.0:
            other = f"{limits.high:.0f} fewer" if limits.high > 0.0 else f"{-limits.high:.0f} more"
            spread = f"{-limits.low:.0f} more to {other}"
        else:
            spread = f"{limits.low:.0f} to {limits.high:.0f}"
        said = f"{_whole(abs(percent))} % {word}" if percent else "as many"
        return f"{said} ({spread})"
    if one.share is not None:
        before, after = one.share.before, one.share.after
        return f"{after.positive} of {after.examined} fish, from {before.positive} of " + str(
            before.examined
        )
    return "cannot be told"


def look_told(found: Outcome, key: LookKey) -> Told:
    """The sentence, its arithmetic and source, and what is to be read beside it."""
    one = found.hazards[key.hazard]
    if key.kind != "control":
        due = one.recount
        said = one.why or f"{one.name[0].upper()}{one.name[1:]}: the burden before the course"
        return Told(
            one_line(said),
            "" if due is None else one_line(due.arithmetic),
            "" if due is None else one_line(due.source),
            one_line(" ".join((*((due.said,) if due is not None else ()), *one.remarks))),
        )
    control = one.controls[key.number]
    compared = control.compared
    minded = [*one.remarks, *((compared.why,) if compared.why not in ("", compared.said) else ())]
    if control.timely == "too early" and one.recount is not None:
        minded.insert(0, one.recount.said)
    minded += compared.remarks
    way = f"{compared.way}: " if compared.way else ""
    return Told(
        one_line(f"{way}{compared.said}"), one_line(compared.arithmetic),
        one_line(compared.source), one_line(" ".join(minded)),
    )  # fmt: skip


def said_short(one: Compared) -> str:
    """As `said_result`, for a narrow column."""
    if one.found is None:
        share = one.share
        return "" if share is None else f"{share.after.positive} of {share.after.examined} fish"
    limits = one.found.shown
    spread = "" if limits is None else f" ({limits.low:.0f} to {limits.high:.0f})"
    return f"{_whole(one.found.percent)} %{spread}"


def _whole(percent: float) -> str:
    """Without decimals, but never 100 where it is not."""
    shown = f"{percent:.0f}"
    return f"{percent:.1f}" if shown == "100" and percent < 100.0 else shown


# Agents


@dataclass(frozen=True, slots=True)
class AgentKey:
    """A line of the agents: the agent itself, or one of its courses."""

    row: int
    result: int | None = None


def agent_rows(rows: tuple[AgentHazard, ...], opened: set[int]) -> list[Row]:
    """An agent and a hazard a line; under one that is opened its courses, the worst first."""
    shown = []
    for place, row in enumerate(rows):
        cells = (
            one_line(row.name), one_line(row.hazard_name), str(len(row.results)), str(row.ponds),
            str(row.count("fewer")), _failed(row.count("not shown"), "watch"),
            _failed(row.count("no fewer"), "act"), said_middle(row.over),
        )  # fmt: skip
        shown.append(Row(AgentKey(place), cells))
        if place in opened:
            shown += [_result(place, number, one) for number, one in enumerate(row.results)]
    return shown


def _failed(count: int, style: str) -> Text | str:
    return Text(str(count), style) if count else "0"


def said_middle(over: OverPonds | None) -> str:
    """The reduction in the middle with its interval, or of the one course."""
    if over is None or not over.worst_first:
        return ""
    if over.median is None:
        first = over.worst_first[0].found
        return "" if first is None else f"{first.percent:.0f} %, one course"
    limits = over.limits
    return f"{over.median:.0f} %" + (
        "" if limits is None else f" ({limits.low:.0f} to {limits.high:.0f})"
    )


def _result(place: int, number: int, one: CourseResult) -> Row:
    told = one.outcome.told
    said = "" if told is None else said_short(told.compared)
    return Row(
        AgentKey(place, number),
        (
            Text(f"  {one_line(one.where)}", "quiet"), Text(one.change, STYLES[one.change]), "", "",
            "", "", "", Text(said, "quiet"),
        ),
    )  # fmt: skip


def agent_told(rows: tuple[AgentHazard, ...], key: AgentKey) -> Told:
    """What came of it in a sentence, how that was reckoned, and what is to be minded."""
    row = rows[key.row]
    if key.result is not None:
        one = row.results[key.result]
        told = one.outcome.told
        return Told(
            one_line(f"{one.where}, until {day_said(one.treated_until)}"),
            "" if told is None else one_line(told.compared.arithmetic),
            "" if told is None else one_line(told.compared.source),
            one_line(f"{one.outcome.says} Enter opens it."),
        )
    over = row.over
    remarks = () if over is None else over.remarks
    return Told(
        one_line(row.said), "" if over is None else one_line(over.arithmetic),
        "" if over is None else one_line(over.source),
        one_line(" ".join(("Enter shows its courses.", *remarks))),
    )  # fmt: skip
