"""A medicated feed that is being planned, in words: what is weighed, what the fish get."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from textual.content import Content

from tui.said import said_age
from tui.screens.courses.course_said import (
    Part,
    said_cautions,
    said_lines,
    said_tasks,
    said_weekday,
)
from tui.screens.parts.reasons import counted
from tui.widgets.hanging import beside, hanging
from tui.widgets.literal import one_line

if TYPE_CHECKING:
    from store.courses.kept.feed_proposal import Batch, FeedLine, FeedProposal
    from store.courses.kept.proposal import Ground

_GUTTER = 6
_LEVELS = {"stop": "bold $level-act", "mind": "bold $level-watch", "": "$level-calm"}


def said_feed(proposal: FeedProposal, ground: Ground, width: int) -> Content:
    """Everything that a vet looks at before a medicated feed is given.

    Parameters
    ----------
    proposal
        The plan, each substance beside what is published, what stands against it.
    ground
        What it is planned on.
    width
        Cells of the place.
    """
    plan = proposal.plan
    style = "bold $level-act" if proposal.stops else "bold"
    parts: list[Part] = [(counted(proposal.cautions), style)]
    if plan.control_on is not None:
        parts.append(f"; control examination {said_weekday(plan.control_on, ground.today)}")
    parts.append((f"\n{hanging(_said_fed(proposal, ground), width, 0)}", "$quiet"))
    parts.append((f"\n\n{hanging(_said_ration(proposal), width, 0)}", "bold"))
    for line in proposal.lines:
        parts += _line(line, width)
    parts += _batches(proposal, ground.today, width)
    parts += said_cautions("What stands against it", proposal.stops, width)
    minds = [one for one in proposal.cautions if one.level != "stop"]
    parts += said_cautions("What is to be minded", minds, width)
    parts += said_lines("What the fish and the rate rest on", plan.remarks, width)
    why = list(dict.fromkeys(step.interval_why for step in plan.steps))
    parts += said_lines("What the batches rest on", why, width)
    tasks = said_tasks(plan.tasks, ground.today)
    parts += said_lines("What is to be done beside it", tasks, width)
    told = {
        one.said
        for line in proposal.lines if line.stands is not None
        for one in (line.stands.nearest, *line.stands.others)
    }  # fmt: skip
    rest = [
        said
        for said in dict.fromkeys(said for step in plan.steps for said in step.remarks)
        if not said.endswith(tuple(told))
    ]
    parts += said_lines("What the amounts rest on", rest, width, "$quiet")
    return Content.assemble(*parts)


def _said_fed(proposal: FeedProposal, ground: Ground) -> str:
    """Which fish at which temperature."""
    from store.water.given import figures

    ration = proposal.plan.steps[0].ration
    assert ration is not None
    said = f"{figures(ration.biomass_kg)} kg of fish"
    seen = ground.water.readings.get("temperature_c")
    if seen is None:
        return f"{said}; no temperature that is still believed."
    age = said_age(int(seen.age_days))
    return f"{said}, {seen.value:.1f} °C, read {age if age == 'today' else f'{age} ago'}."


def _said_ration(proposal: FeedProposal) -> str:
    from store.water.given import figures

    ration = proposal.plan.steps[0].ration
    assert ration is not None
    return (
        f"Feed {_kilos(proposal.feed_kg_day)} a day ({figures(ration.rate_percent, 3)} %) × "
        f"{ration.feed_days} d = {_kilos(ration.feed_kg)}, bound with {proposal.binder.name}"
    )


def _kilos(kg: float) -> str:
    from store.water.given import figures

    return f"{figures(kg, 3)} kg" if kg >= 1.0 else f"{figures(kg * 1000.0, 3)} g"


def _line(line: FeedLine, width: int) -> list[Part]:
    """What each kilogram of fish gets a day and each of feed holds, beside what is published."""
    from store.water.given import figures

    name = one_line(line.name)
    name = f"{name[:1].upper()}{name[1:]}"
    gets = (
        f"{name}: {figures(line.mg_kg_day)} mg per kg fish and day, "
        f"{figures(line.mg_per_kg_feed)} mg per kg feed"
    )
    parts: list[Part] = [(f"\n\n{hanging(gets, width, 0)}", "bold")]
    if line.stands is None:
        return [*parts, ("\n  no dose with the feed is published: stop", _LEVELS["stop"])]
    for number, one in enumerate((line.stands.nearest, *line.stands.others)):
        level = one.judged.level if number == 0 else ""
        said = one.said if not level else f"{level}: {one.said}"
        parts.append((f"\n{hanging(said, width)}", _LEVELS[level] if level else "$quiet"))
    return parts


def _batches(proposal: FeedProposal, today: date, width: int) -> list[Part]:
    """Each batch: its first day, for how many days, the feed, and what is weighed into it."""
    from store.courses.kept.feed_proposal import weighed_out
    from store.water.given import figures

    count = len(proposal.batches)
    title = "To weigh" if count == 1 else f"To weigh, {count} batches"
    parts: list[Part] = [(f"\n\n{title}", "bold")]
    parts += [
        f"\n{beside(f'{batch.number:>4}', _batch(proposal, batch, today), width, _GUTTER)}"
        for batch in proposal.batches
    ]
    for line in proposal.lines:
        if line.packs:
            taken = f"{one_line(line.product)} takes {one_line(line.packs)}"
            parts.append((f"\n{hanging(taken, width, _GUTTER)}", "$quiet"))
        out = weighed_out(line, proposal.batches[0])
        if out.short_percent > 0.0:
            said = (
                f"{one_line(line.product)} rounded down once, from {figures(out.exact, 5)} "
                f"{out.unit}, {figures(out.short_percent, 2)} % less"
            )
            parts.append((f"\n{hanging(said, width, _GUTTER)}", "$quiet"))
    return parts


def _batch(proposal: FeedProposal, batch: Batch, today: date) -> str:
    from store.water.given import figures

    weighed = ", ".join(
        f"{figures(dose.amount)} {dose.amount_unit} {one_line(line.product)}"
        for line, dose in zip(proposal.lines, batch.doses, strict=True)
    )
    first = said_weekday(batch.doses[0].due_on, today)
    return f"{first} for {batch.days} d: {weighed} into {_kilos(batch.feed_kg)} of feed"
