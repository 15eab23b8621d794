"""The lines of a course's page in words: head, what is due, and the plan day by day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Literal
from uuid import UUID

from rich.text import Text
from textual.content import Content

from tui.backing import said_backing
from tui.said import said_date, said_moment, said_since
from tui.screens.ponds.pond_lines import said_litres
from tui.widgets.grid import Row
from tui.widgets.literal import cut, one_line
from tui.widgets.strip import Told

if TYPE_CHECKING:
    from store.courses.kept.course_page import Beside, CoursePage, Curve, DoseLine
    from store.courses.kept.records import Answered, KeptTask, LoggedDose
    from store.courses.planning.course import PlanStep, PondWater

_LEVEL_CELLS = 9
_DATE_CELLS = len("23 Nov")
_STYLES = {
    "act": "bold $level-act", "watch": "bold $level-watch", "calm": "$level-calm",
    "stop": "bold $level-act", "anew": "bold $level-watch", "tasks": "bold $level-watch",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class CourseKey:
    """What a line of the page is, so that enter knows what to open."""

    kind: Literal[
        "dose", "given", "task", "control", "turn", "answer", "course", "remark", "likely"
    ]
    place: int = 0
    number: int = 0
    key: UUID | None = None


def said_facts(page: CoursePage) -> str:
    """The second line: what against, in how much water, in what state it is."""
    plan, course = page.course.plan, page.course
    water = plan.water
    begun = course.started_on
    state = {
        "planned": "planned, not begun",
        "running": f"since {said_since(begun, page.today)}" if begun else "runs",
        "completed": "completed",
        "stopped": "stopped early",
        "changed": "changed to another course",
    }[course.state]
    if course.ended_on is not None:
        state += f" {said_since(course.ended_on, page.today)}"
    if course.end_why:
        state += f": {one_line(course.end_why)}"
    beside = [f"in place of {page.before.name}"] if page.before is not None else []
    beside += [f"followed by {one.name}" for one in page.after]
    parts = [state, *beside, f"against {one_line(plan.reason)}", said_water(water)]
    return " · ".join(part for part in parts if part)


def said_water(water: PondWater) -> str:
    """The water in which it was planned."""
    parts = [said_litres(water.volume_l, water.volume_low_l, water.volume_high_l)]
    if water.temperature_c is not None:
        parts.append(f"{water.temperature_c:.1f} °C")
    if water.ph is not None:
        parts.append(f"pH {water.ph:.1f}")
    return ", ".join(parts) + " when planned"


def due_lines(page: CoursePage, width: int, most: int) -> Content:
    """What is due, worst first; then what planning anew would say."""
    said: list[tuple[str, str]] = [
        ("act", f"a answers: {one.what}")
        for one in page.line.waiting
        if one.promise.kind == "answer"
    ]
    if page.course.state == "running":
        waits = [
            (one.level, one.what)
            for one in page.line.waiting
            if one.level != "calm" and one.promise.kind not in {"turn", "answer"}
        ]
        said += [one for one in waits if one[0] == "act"]
        from store.courses.kept.morning import NEW_PLAN

        turns = [one for one in page.line.waiting if one.promise.kind == "turn"]
        if page.turn is not None and turns:
            sentences = page.turn.said
            more = f" and {len(sentences) - 1} more" if len(sentences) > 1 else ""
            by = "n plans the rest anew: " if turns[0].promise.says == NEW_PLAN else ""
            said.append(("anew", f"{by}{sentences[0]}{more}"))
        said += [("stop", one.said) for one, before in page.stops if before is None]
        said += [one for one in waits if one[0] != "act"]
        if page.line.tasks_said:
            said.append(("tasks", page.line.tasks_said))
        said += [
            ("answered", f"{said_answer(page, before)}: {one.said}")
            for one, before in page.stops
            if before is not None
        ]
        if not said:
            said.append(("calm", page.line.due.said or "Nothing is due."))
    elif page.course.state == "planned":
        said.append(("planned", "A vet begins it with b; until then no dose can be logged."))
    else:
        said += _ended_lines(page)
    lines = []
    for number, (word, text) in enumerate(said[:most], 1):
        hidden = f"  and {len(said) - most} more" if number == most and len(said) > most else ""
        style = _STYLES.get(word, "$quiet")
        room = width - _LEVEL_CELLS - len(hidden)
        lines.append(
            Content.assemble(
                (f"{word:<{_LEVEL_CELLS}}", style),
                cut(one_line(text), room),
                (hidden, "$quiet"),
            )
        )
    return Content("\n").join(lines)


def _ended_lines(page: CoursePage) -> list[tuple[str, str]]:
    """What is left of a course that has ended: its control, and what was not switched on again."""
    given = f"{page.line.given} of {page.line.doses} doses were given"
    said: list[tuple[str, str]] = [
        (one.level, f"{one.what}: e enters it, t marks it as made")
        for one in page.line.waiting
        if one.promise.kind == "control"
    ]
    said.append(("ended", given if said else f"{given}; nothing more is due."))
    if page.line.tasks_said:
        said.append(("tasks", page.line.tasks_said))
    return said


def said_answer(page: CoursePage, one: Answered) -> str:
    """The reason given against a stop, by whom and when: `MB, Thu 12 Mar: air on`."""
    who = one_line(page.people.get(one.by, ""))
    when = said_since(one.at.astimezone(page.zone).date(), page.today)
    return f"{who}, {when}: {one_line(one.reason)}"


def course_rows(page: CoursePage) -> list[Row]:
    """The plan day by day with what was given; then how it was planned anew."""
    entries: list[tuple[date, int, Row]] = []
    many = len(page.course.plan.steps) > 1
    for line in page.doses:
        entries.append((line.planned.due_on, 0, _dose_row(page, line, many)))
        name = said_dose(line, many)
        entries += [(one.given.on_day, 1, _given_row(page, one, name)) for one in line.log]
    entries += [(one.task.on_day, 2, _task_row(page, one)) for one in page.course.tasks]
    control = page.course.plan.control_on
    told_of = any(
        one.code.startswith("control") and one.on_day == control for one in page.course.plan.tasks
    )
    if control is not None and not told_of:
        row = Row(
            CourseKey("control"), (_when(control, page.today), "control examination", "practice")
        )
        entries.append((control, 3, row))
    entries.sort(key=lambda entry: entry[:2])
    rows = [row for _, _, row in entries]
    for number, (at, said) in enumerate(page.course.turns):
        when = _when(at.astimezone(page.zone).date(), page.today)
        text = Text(f"planned anew: {one_line(said)}", style="quiet")
        rows.append(Row(CourseKey("turn", number=number), (when, text, "")))
    for number, answer in enumerate(page.course.answered):
        if answer.level == "stop":
            when = _when(answer.at.astimezone(page.zone).date(), page.today)
            words = f"stop answered: {one_line(answer.reason)}"
            text = Text(words, style="quiet")
            if not answer.reason:
                text = Text("logged against a stop, which a vet answers later", style="watch")
            text.append(f"  {one_line(answer.said)}", "quiet")
            who = one_line(page.people.get(answer.by, ""))
            rows.append(Row(CourseKey("answer", number=number), (when, text, who)))
    rows += [
        Row(
            CourseKey("likely", number=number),
            ("", Text(one_line(one.in_short), style="quiet"), ""),
        )
        for number, one in enumerate(page.likely)
    ]
    rows += [
        Row(CourseKey("remark", number=number), ("", Text(one_line(said), style="quiet"), ""))
        for number, said in enumerate(remarks_now(page))
    ]
    rows += [_beside_row(page, one, "followed by") for one in page.after]
    if page.before is not None:
        rows.insert(0, _beside_row(page, page.before, "takes the place of"))
    return rows


def remarks_now(page: CoursePage) -> tuple[str, ...]:
    """What the days of the course meet, as it would go on today; nothing once it has ended."""
    if page.course.ended_on is not None:
        return ()
    return (page.course.plan if page.turn is None else page.turn.plan).remarks


def _task_row(page: CoursePage, one: KeptTask) -> Row:
    from tui.screens.courses.course_tasks import said_done

    text = Text()
    who = one.task.share
    if one.done_at is not None:
        text.append(f"{said_done(page, one)}  ", "calm")
    elif one.id in page.overdue:
        text.append("not ticked  ", "watch")
    if one.note:
        text.append(f"{one_line(one.note)}  ")
    text.append(one_line(one.task.says), "quiet")
    return Row(CourseKey("task", key=one.id), (_when(one.task.on_day, page.today), text, who))


def _beside_row(page: CoursePage, one: Beside, words: str) -> Row:
    day = one.started_on if words == "followed by" else one.ended_on
    state = {
        "planned": "planned", "running": "runs", "completed": "completed",
        "stopped": "stopped early", "changed": "changed",
    }[one.state]  # fmt: skip
    text = Text(f"{words} {one_line(one.name)}")
    text.append(f"  {state}", "quiet")
    when = "" if day is None else _when(day, page.today)
    return Row(CourseKey("course", key=one.id), (when, text, ""))


def first_key(page: CoursePage) -> CourseKey | None:
    """Where the cursor stands at first: on the dose that is due next."""
    for line in page.doses:
        if line.stands in {"late", "due today", "in part", "due"}:
            return CourseKey("dose", line.step.place, line.planned.number)
    return None


def said_name(step: PlanStep) -> str:
    """What the agent of a step is called."""
    from store.facts.agents import agents

    known = agents().get(step.agent)
    return one_line(step.called or (step.agent if known is None else known.plain_name))


def said_amount(amount: float, unit: str) -> str:
    """An amount as it was weighed or poured, `9.2 g`; digits as kept, none added."""
    return f"{amount:,.4g} {unit}" if amount < 1000.0 else f"{amount:,.0f} {unit}"


def said_unit(step: PlanStep) -> str:
    """The unit of a step's dose as people write it."""
    return step.unit.replace("uL", "µL")


def said_dose(line: DoseLine, many: bool) -> str:
    """What a dose is called, by its agent where the course has more than one."""
    from store.courses.planning.fed import dose_word

    word = dose_word(line.step)
    named = said_name(line.step) if many else word
    return f"{named} {word} {line.planned.number}" if many and word == "batch" else (
        f"{named} {line.planned.number}"
    )  # fmt: skip


def _when(day: date, today: date) -> str:
    return f"{said_date(day, today):>{_DATE_CELLS}}"


def _dose_row(page: CoursePage, line: DoseLine, many: bool) -> Row:
    dose, step = line.planned, line.step
    text = Text(said_dose(line, many))
    said = {
        "given": "",
        "in part": "  given in part",
        "due today": "  due today",
        "late": f"  {line.late_days} d late",
        "due": "",
        "missed": "  missed",
        "dropped": "  dropped",
    }[line.stands]
    if page.course.ended_on is not None and line.stands in {"late", "due today", "due"}:
        said = "  not given"
    text.append(said, "act" if line.stands in {"late", "due today", "in part"} else "watch")
    amount = said_amount(dose.amount, dose.amount_unit)
    change = f", after {dose.water_change_percent:g} % change" if dose.water_change_percent else ""
    if step.ration is not None:
        change = f" {_said_days(line)}"
    text.append(f"  {amount} = {dose.dose:.4g} {said_unit(step)}{change}")
    if dose.added:
        text.append(f"  added {dose.added}", "quiet")
    key = CourseKey("dose", step.place, dose.number)
    return Row(key, (_when(dose.due_on, page.today), text, dose.share))


def _said_days(line: DoseLine) -> str:
    from store.courses.planning.fed import batch_days

    return f"for {batch_days(line.step, line.planned)} d"


def _given_row(page: CoursePage, one: LoggedDose, name: str) -> Row:
    given = one.given
    text = Text()
    if one.struck_why:
        text.append(f"struck: {one_line(one.struck_why)}  ", "quiet")
    amount = said_amount(given.amount, given.amount_unit)
    style = "quiet" if one.struck_why else "calm"
    step = page.course.plan.steps[given.place - 1]
    change = "" if step.ration is not None else f", {given.water_change_percent:g} % change"
    text.append(f"{name} given: {amount}{change}", style)
    if one.observed:
        text.append(f"  {one_line(one.observed)}", "quiet")
    key = CourseKey("given", given.place, given.number, one.id)
    return Row(key, (_when(given.on_day, page.today), text, one_line(one.given_by)))


def told(page: CoursePage, key: CourseKey, curve: Curve | None) -> Told:
    """What the strip says of a line of the page."""
    if key.kind == "dose":
        line = next(
            one
            for one in page.doses
            if (one.step.place, one.planned.number) == (key.place, key.number)
        )
        return _told_dose(page, line, curve)
    if key.kind == "given":
        one = next(one for one in page.course.log if one.id == key.key)
        when = said_moment(one.given.at, page.zone, page.today)
        batch = f"; batch {one_line(one.batch)}" if one.batch else ""
        logged = page.people.get(one.logged_by, "")
        return Told(
            f"Given {when} by {one_line(one.given_by)}: "
            f"{said_amount(one.given.amount, one.given.amount_unit)}{batch}",
            f"{one.given.dose:.4g} in the unit of the plan; logged by {one_line(logged)}",
            one_line(one.struck_why and f"Struck through: {one.struck_why}"),
            one_line(one.observed) or "enter strikes it through, with a reason; it stays readable.",
        )
    if key.kind == "task":
        from tui.screens.courses.course_tasks import told_task

        return told_task(page, next(one for one in page.course.tasks if one.id == key.key))
    if key.kind == "answer":
        answer = page.course.answered[key.number]
        if not answer.reason:
            who = one_line(page.people.get(answer.by, ""))
            when = said_since(answer.at.astimezone(page.zone).date(), page.today)
            waits = any(one.stop == answer for one in page.unanswered)
            return Told(
                one_line(answer.said),
                f"A dose was logged against it by {who}, {when}, who is no vet",
                "",
                "Next: a vet answers it in writing with a." if waits else "",
            )
        return Told(one_line(answer.said), f"Answered by {said_answer(page, answer)}")
    if key.kind == "course":
        return Told("Another course of this pond", "", "", "Next: enter opens it.")
    if key.kind == "remark":
        return Told("What the days of this plan meet", one_line(remarks_now(page)[key.number]))
    if key.kind == "likely":
        likely = page.likely[key.number]
        return Told(
            "Likely, by estimate of the water to come; it moves no dose and no control",
            one_line(likely.says),
            one_line(" ".join(likely.rests_on)),
            "Next: read the temperature; what is planned anew rests on measured water alone.",
        )
    if key.kind == "turn":
        return Told("Planned anew", one_line(page.course.turns[key.number][1]))
    return Told(
        "Control examination",
        "A course is proven by what is found afterwards.",
        "Common practice, without a source",
        "Next: look at the fish again with the microscope; e enters what was found.",
    )


def _told_ration(line: DoseLine) -> str:
    """What a batch of feed was reckoned for, and what of it is weighed."""
    from store.water.given import figures

    step, dose, ration = line.step, line.planned, line.step.ration
    assert ration is not None
    product = f"{step.product.name or said_name(step)}, {step.product.strength_percent:g} %"
    return (
        f"{dose.dose:.4g} mg/kg × {figures(ration.biomass_kg)} kg {_said_days(line)} by "
        f"{one_line(product)} = {said_amount(dose.amount, dose.amount_unit)}; "
        f"{figures(ration.mg_per_kg_feed)} mg in 1 kg of feed, {figures(ration.rate_percent, 3)} % "
        f"of their weight a day, bound with {ration.binder}"
    )


def _told_dose(page: CoursePage, line: DoseLine, curve: Curve | None) -> Told:
    from store.courses.planning.fed import dose_word

    step, dose = line.step, line.planned
    strength = (
        f"{step.product.name or said_name(step)}, {step.product.strength_percent:g} % "
        f"({step.product.basis})"
    )
    arithmetic = (
        f"{dose.dose:g} {said_unit(step)} × {step.volume_l:,.0f} L by {one_line(strength)} = "
        f"{said_amount(dose.amount, dose.amount_unit)}"
    )
    if step.ration is not None:
        arithmetic = _told_ration(line)
    if curve is not None:
        unit = said_unit(step)
        most = ""
        if step.safe_most is not None:
            most = f"; most {page.course.plan.most_word(step)} {step.safe_most:g} {unit}"
        loss = "" if step.half_life_h is None else f", at most {curve.highest:.3g} with its loss"
        arithmetic += f". In the water up to {curve.bound:.3g} {unit}{loss}{most}"
    every = f"; {step.interval_why}" if step.interval_why else ""
    due = page.course.state == "running" and line.stands in {"late", "due today", "in part"}
    advice = "Next: d logs it." if due else ""
    return Told(
        f"{said_name(step)}, {dose_word(step)} {dose.number} of {len(step.doses)}, planned for "
        f"{said_since(dose.due_on, page.today)}; {dose.share}",
        arithmetic,
        f"{said_backing(one_line(step.source), step.standing)}{one_line(every)}",
        advice,
    )
