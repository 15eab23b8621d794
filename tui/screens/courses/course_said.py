"""A course that is being planned, in words: days and amounts, peaks, cautions, what it rests on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING

from textual.content import Content

from tui.said import DAYS, said_age, said_date
from tui.screens.parts.reasons import counted
from tui.screens.ponds.pond_lines import said_litres
from tui.widgets.hanging import beside, hanging
from tui.widgets.literal import one_line

if TYPE_CHECKING:
    from store.courses.kept.proposal import Ground, Peak, Proposal
    from store.courses.planning.course import Caution, PlannedDose, PlanStep, Task

Part = str | tuple[str, str]
_GUTTER = 6


def said_water(ground: Ground) -> str:
    """The water that a course is planned on, with what is not known and what is too old."""
    from store.water.parameters import PARAMETERS

    water = ground.water
    pond = water.water
    parts = [said_litres(pond.volume_l, pond.volume_low_l, pond.volume_high_l)]
    for code, one in water.readings.items():
        parameter = PARAMETERS[code]
        name = "" if code == "temperature_c" else f"{parameter.short} "
        parts.append(f"{name}{parameter.shown_with_unit(one.value)}")
        if code == "temperature_c" and pond.trend_c_per_day is not None:
            parts[-1] += f" {pond.trend_c_per_day:+.2f} a day"
    if pond.age_days is None:
        parts.append("nothing measured that is still believed")
    said = ", ".join(parts)
    if pond.age_days is not None:
        said += f"; the oldest: {said_age(int(pond.age_days))}"
    old = [PARAMETERS[code].label for code in water.too_old]
    return f"{said}. Too old to be believed: {', '.join(old)}." if old else f"{said}."


def said_proposal(proposal: Proposal, ground: Ground, width: int) -> Content:
    """Everything that a vet looks at before a course begins.

    Parameters
    ----------
    proposal
        The plan with its peaks and cautions.
    ground
        What it is planned on.
    width
        Cells of the place.
    """
    plan, today = proposal.plan, ground.today
    style = "bold $level-act" if proposal.stops else "bold"
    parts: list[Part] = [(counted(proposal.cautions), style)]
    if plan.control_on is not None:
        parts.append(f"; control examination {said_weekday(plan.control_on, today)}")
    parts.append((f"\n{hanging(said_water(ground), width, 0)}", "$quiet"))
    for peak in proposal.peaks:
        parts += _step(peak, today, width)
    minds = [one for one in proposal.cautions if one.level != "stop"]
    parts += said_lines("What the days meet", plan.remarks, width)
    if not proposal.cautions:
        parts.append("\n\nNothing that the formulary knows of stands against it.")
    parts += said_cautions("What stands against it", proposal.stops, width)
    why = [f"Interval: {step.interval_why}" for step in plan.steps if step.interval_why]
    parts += said_lines("What the days rest on", why, width)
    parts += said_cautions("What is to be minded", minds, width)
    tasks = said_tasks(plan.tasks, today)
    parts += said_lines("What is to be done beside the doses", tasks, width)
    rest = dict.fromkeys(said for step in plan.steps for said in step.remarks)
    less = [said for said in rest if said not in plan.remarks]
    parts += said_lines("What the amounts rest on", less, width, "$quiet")
    return Content.assemble(*parts)


def said_weekday(day: date, today: date) -> str:
    """The day with its weekday, `Mon 16 Mar`."""
    return f"{DAYS[day.weekday()]} {said_date(day, today)}"


def said_step(step: PlanStep, name: str) -> str:
    """One agent in a line, `Formalin 20 µL/L, 3 doses every 5 d`."""
    from store.facts.agent import ROUTES
    from store.water.given import figures

    dose = f"{figures(step.dose)} {step.unit.replace('uL', 'µL')}"
    count = len(step.doses)
    said = f"{name[:1].upper()}{name[1:]} {dose}, {count} dose{'s' if count > 1 else ''}"
    if step.interval_days is not None and count > 1:
        said += f" every {step.interval_days} d"
    return f"{said}, {ROUTES.get(step.route, step.route)}"


def _step(peak: Peak, today: date, width: int) -> list[Part]:
    from store.water.given import figures

    step = peak.step
    parts: list[Part] = [(f"\n\n{one_line(said_step(step, peak.name))}", "bold")]
    days = [said_weekday(dose.due_on, today) for dose in step.doses]
    amounts = [f"{figures(dose.amount)} {dose.amount_unit}" for dose in step.doses]
    if peak.weighed:
        amounts = [f"{one} = {also}" for one, also in zip(amounts, peak.weighed, strict=True)]
    wide, most = max(map(len, days)), max(map(len, amounts))
    for dose, day, amount in zip(step.doses, days, amounts, strict=True):
        parts.append(f"\n  {dose.number:>2}  {day:<{wide}}  {amount:>{most}}{_beside(dose)}")
    if len(step.doses) > 1 or peak.packs:
        packs = f": {peak.packs}" if peak.packs else ""
        parts.append(f"\n  In all {peak.whole}{packs}")
    unit = step.unit.replace("uL", "µL")
    over = peak.most is not None and peak.bound > peak.most * (1.0 + 1e-9)
    limit = (
        "no highest dose is published" if peak.most is None
        else f"published at most {figures(peak.most)} {unit}"
    )  # fmt: skip
    said = f"In the water at most {figures(peak.bound)} {unit}, {limit}"
    if over:
        said += ": stop"
    parts.append((f"\n{hanging(said, width)}", "$level-act" if over else ""))
    if len(step.doses) > 1 and not peak.thrown_away and not over:
        how = f"{peak.arithmetic}; without any loss"
        if step.half_life_h is not None:
            how += f". With the half-life it would be {figures(peak.reached)} {unit}"
        parts.append((f"\n{hanging(f'{how} ({peak.source}).', width, 4)}", "$quiet"))
    return parts


def _beside(dose: PlannedDose) -> str:
    from store.water.given import figures

    said = "  owner" if dose.share == "owner" else ""
    if dose.water_change_percent:
        said += f"  after {figures(dose.water_change_percent)} % new water"
    return said


def said_cautions(title: str, found: Sequence[Caution], width: int) -> list[Part]:
    """Cautions under a title, each with its level, numbers and source; nothing where none is."""
    parts: list[Part] = [(f"\n\n{title}", "bold")] if found else []
    for one in found:
        style = "bold $level-act" if one.level == "stop" else ""
        said = beside(one.level, one.said, width, _GUTTER)
        parts += ["\n", (said[:_GUTTER], style), said[_GUTTER:]]
        more = ". ".join(text.rstrip(".") for text in (one.arithmetic, one.source) if text)
        if more:
            parts.append((f"\n{hanging(more, width, _GUTTER)}", "$quiet"))
    return parts


def said_lines(title: str, found: Sequence[str], width: int, style: str = "") -> list[Part]:
    """Sentences under a title, a line each; nothing where there is none."""
    parts: list[Part] = [(f"\n\n{title}", "bold")] if found else []
    return parts + [(f"\n{hanging(said, width)}", style) for said in found]


def said_tasks(tasks: tuple[Task, ...], today: date) -> list[str]:
    """What is said on several days is said once, with its days."""
    days: dict[tuple[str, str], list[date]] = {}
    for task in tasks:
        days.setdefault((task.says, task.share), []).append(task.on_day)
    return [
        f"{', '.join(said_date(day, today) for day in on)}: "
        f"{'Owner: ' if share == 'owner' else ''}{says}"
        for (says, share), on in days.items()
    ]


def said_trouble(message: str, ground: Ground, width: int) -> Content:
    """What is still missing, with the water that is known already."""
    return Content.assemble(
        hanging(message, width, 0), (f"\n{hanging(said_water(ground), width, 0)}", "$quiet")
    )


def without_hidden(values: Mapping[str, str], shown: frozenset[str]) -> dict[str, str]:
    """Only what stands in a field that is in sight counts."""
    return {name: text for name, text in values.items() if name in shown}
