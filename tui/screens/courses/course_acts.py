"""What is done to a course, step by step: begin it, plan it anew, end it, strike an entry."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING, Any, Literal
from uuid import UUID

from textual.app import App

from store.errors import PondroundError
from tui.said import said_since
from tui.screens.courses.course_lines import CourseKey, said_answer
from tui.screens.parts.dialogs import Ask, AskReason, Choose, Option, Reason, Tell
from tui.screens.parts.reasons import counted, reasons_for, said_caution
from tui.screens.ponds.pond_entry import written
from tui.widgets.strip import Told

if TYPE_CHECKING:
    from store.book.book import Book
    from store.book.writing import Writing
    from store.courses.kept.course_page import CoursePage
    from store.courses.kept.records import Course
    from store.courses.planning.course import Caution
    from tui.app import PondroundApp

State = Literal["completed", "stopped", "changed"]
_ANOTHER = "another"


async def read_and_told(app: App[Any], cautions: Sequence[Caution]) -> dict[str, str] | None:
    """As `reasons_for`, for somebody who is no vet and logs what was given: a vet answers later.

    Parameters
    ----------
    app
        The application.
    cautions
        As they were shown.
    """
    from tui.screens.courses.caution_read import all_read

    reasons = await all_read(app, cautions)
    stops = [one for one in cautions if one.level == "stop"]
    if reasons is None or not stops:
        return reasons
    many = "A stop speaks" if len(stops) == 1 else f"{len(stops)} stops speak"
    sure = await app.push_screen_wait(
        Ask(
            "This was given; a vet is told and answers",
            f"{many} against it. What was given is logged all the same: until a vet answers in "
            "writing it stands on the morning list. If it was not given yet, go back and ask a "
            "vet first.\n\n" + "\n\n".join(said_caution(one) for one in stops),
            yes="It was given",
            no="Back",
        )
    )
    return reasons if sure else None


async def answer_stops(app: App[Any], page: CoursePage) -> None:
    """Answer in writing the stops against which a dose was logged, one after another."""
    waits = {one.stop.code: one for one in reversed(page.unanswered)}
    if not waits:
        app.notify("No stop waits for an answer.", markup=False)
        return
    for number, code in enumerate(dict.fromkeys(one.stop.code for one in page.unanswered), 1):
        said = [
            f"{one.name[:1].upper()}{one.name[1:]}, given {said_since(one.on_day, page.today)}, "
            f"was logged against this stop.\n{one.stop.said}"
            for one in page.unanswered
            if one.stop.code == code
        ]
        given = await app.push_screen_wait(
            AskReason(f"stop {number} of {len(waits)}: a vet answers in writing", "\n\n".join(said))
        )
        if not isinstance(given, Reason):
            return
        if not await written(app, _answer, page.course.id, code, given.text):
            return
    app.notify("Answered: the record keeps it.", markup=False)


def _answer(writing: Writing, course: UUID, code: str, reason: str) -> None:
    from store.courses.kept.against_stop import answer_open

    answer_open(writing, course, code, reason)


async def open_course(app: PondroundApp, pond: UUID) -> None:
    """The course of a pond that runs or is planned; where there is none, plan one."""
    from tui.screens.courses.course import CourseScreen

    try:
        found = await app.ask_store(_open_courses, app.book, pond)
    except PondroundError as trouble:
        app.tell(trouble)
        return
    chosen: object = found[0][0] if found else _ANOTHER
    if len(found) > 1:
        options = [Option(key, name, state) for key, name, state in found]
        chosen = await app.push_screen_wait(
            Choose("Which course?", [*options, Option(_ANOTHER, "plan another")])
        )
    if chosen == _ANOTHER:
        plan_another(app, pond)
    elif isinstance(chosen, UUID):
        app.push_screen(CourseScreen(chosen))


def plan_another(app: App[Any], pond: UUID, before: Course | None = None) -> None:
    """Plan a course for a pond, in the place of another or not; what was kept is opened.

    What the course before was against and why stands in the form; the volume and the water are
    those of today.
    """
    from tui.screens.courses.course_plan import PlanCourseScreen

    def kept(key: UUID | None) -> None:
        from tui.screens.courses.course import CourseScreen

        if key is not None:
            app.push_screen(CourseScreen(key))

    if before is None:
        app.push_screen(PlanCourseScreen(pond), kept)
        return
    plan = before.plan
    begun = dict(zip(("hazard", "other_hazard"), plan.hazards, strict=False))
    begun["reason"] = plan.reason
    app.push_screen(PlanCourseScreen(pond, before.id, begun), kept)
    app.notify(
        "What it is against is that of the course before, which was planned in "
        f"{plan.water.volume_l:,.0f} L. The volume and the water are read anew: look at both.",
        markup=False,
    )


async def open_sheet(app: App[Any], page: CoursePage) -> None:
    """The owner's sheet to a file; where the course is fed, which of its two sheets is asked."""
    from tui.screens.courses.course_sheet import SheetScreen
    from tui.screens.courses.feed_sheet import MixSheetScreen

    chosen: object = "owner"
    if any(step.ration is not None for step in page.course.plan.steps):
        options = [
            Option("mix", "mix sheet and label", "what lies beside the scale"),
            Option("owner", "owner's sheet", "day by day, what the owner does"),
        ]
        chosen = await app.push_screen_wait(Choose("Which sheet?", options))
    if chosen is not None:
        screen = MixSheetScreen if chosen == "mix" else SheetScreen
        app.push_screen(screen(page.course.id))


async def open_beside(app: App[Any], page: CoursePage) -> None:
    """Open the course before this one, or after it; asked where there are several."""
    from tui.screens.courses.course import CourseScreen

    beside = [("takes the place of", one) for one in (page.before,) if one is not None]
    beside += [("followed by", one) for one in page.after]
    if not beside:
        app.notify("No course stands before or after this one.", markup=False)
        return
    chosen: object = beside[0][1].id
    if len(beside) > 1:
        options = [Option(one.id, f"{words} {one.name}", one.state) for words, one in beside]
        chosen = await app.push_screen_wait(Choose("Which course?", options))
    if isinstance(chosen, UUID):
        app.push_screen(CourseScreen(chosen))


def _open_courses(book: Book, pond: UUID) -> list[tuple[UUID, str, str]]:
    from store.courses.kept.records import courses_of
    from store.courses.kept.under_way import course_name

    return [
        (one.id, course_name(one.plan), one.state)
        for one in courses_of(book, pond)
        if one.state in {"planned", "running"}
    ]


async def plan_anew(app: App[Any], page: CoursePage) -> None:
    """Say what would change, and on yes keep it."""
    turn, course = page.turn, page.course
    if turn is None:
        return
    if not turn.said and not turn.changed:
        await app.push_screen_wait(
            Tell("Nothing slipped", "The plan stands as it is: nothing is to be planned anew.")
        )
        return
    from store.courses.kept.morning import LOOK

    if any(one.promise.says == LOOK for one in page.line.waiting):
        await app.push_screen_wait(
            Tell(
                "Nothing that can be planned helps",
                "\n\n".join([*turn.said, "Nothing of the plan is changed. Look at the fish, and "
                             "count again before and after the last dose."]),
            )
        )  # fmt: skip
        return
    sentences = [*turn.said]
    for one, before in page.stops:
        answer = "" if before is None else f"\nAnswered: {said_answer(page, before)}"
        sentences.append(f"stop: {said_caution(one)}{answer}")
    sure = await app.push_screen_wait(
        Ask(
            "Keep this plan for what remains?",
            "\n\n".join(
                [*sentences, "What was given stays as it is. A vet decides; the book keeps both."]
            ),
            yes="Keep it",
            no="Back",
        )
    )
    if not sure:
        return
    reasons = await reasons_for(app, [one for one, before in page.stops if before is None])
    if reasons is not None and await written(app, _turn, course, reasons):
        app.notify("The rest is planned anew.", markup=False)


def _turn(writing: Writing, course: Course, reasons: dict[str, str]) -> None:
    from store.courses.kept.keeping import turn_course

    turn_course(writing, course.id, course.rev, reasons)


async def begin(app: Any, page: CoursePage) -> None:
    """Show what stands against a planned course, ask for reasons, and begin it."""
    course = page.course
    try:
        cautions = await app.ask_store(_cautions, app.book, page, app.now())
    except PondroundError as trouble:
        app.tell(trouble)
        return
    said = "Nothing stands against it."
    if cautions:
        said = (
            f"{counted(cautions)}: read next, with a reason for each stop. "
            "They are those of the water as it is now."
        )
    sure = await app.push_screen_wait(Ask("Begin this course today?", said, yes="Begin", no="Back"))
    if not sure:
        return
    reasons = await reasons_for(app, cautions)
    if reasons is not None and await written(app, _start, course, cautions, reasons):
        app.notify("The course runs.", markup=False)


def _cautions(book: Book, page: CoursePage, now: datetime) -> tuple[Caution, ...]:
    """What stands against the plan in the water as it is now, not as it was when it was planned."""
    from store.courses.cautions.before import cautions
    from store.courses.kept.water_now import beside, water_now
    from store.courses.planning.fed import NOT_EATING

    pond = page.course.pond_id
    besides = beside(book, pond, page.today, but=page.course.id)
    water = water_now(book, pond, now)
    # Fish that did not eat when the feed was planned are not taken to eat now.
    said = page.course.plan.water.things & {NOT_EATING}
    plan = replace(page.course.plan, water=replace(water, things=water.things | said))
    return cautions(plan, running=besides.running, last=besides.last)


def _start(
    writing: Writing, course: Course, cautions: tuple[Caution, ...], reasons: dict[str, str]
) -> None:
    from store.courses.kept.keeping import start_course

    start_course(writing, course.id, course.rev, cautions, reasons)


async def end(app: App[Any], page: CoursePage) -> None:
    """Ask how the course ends, and why."""
    course = page.course
    left = page.line.doses - page.line.given
    options = [
        Option("completed", "completed", "all is done" if not left else f"{left} doses not given"),
        Option("stopped", "stopped early", "asks why"),
        Option("changed", "changed to another course", "asks why, then plans it"),
    ]
    state = await app.push_screen_wait(
        Choose("How does it end?", options, start="stopped" if left else "completed")
    )
    if state not in {"completed", "stopped", "changed"}:
        return
    if state == "completed" and not left:
        what = "Nothing more is due of it then."
        if course.plan.control_on is not None and course.control_done is None:
            when = said_since(course.plan.control_on, page.today)
            what = f"Its control examination, {when}, stays due until it is marked as made."
        if not await app.push_screen_wait(
            Ask("Is the course completed?", what, yes="Completed", no="Back")
        ):
            return
        why = ""
    else:
        given = await app.push_screen_wait(
            AskReason("The course ends", "Why, and what was seen? The record keeps it.")
        )
        if not isinstance(given, Reason):
            return
        why = given.text
    if await written(app, _end, course, state, why):
        app.notify("The course has ended.", markup=False)
        if state == "changed":
            plan_another(app, course.pond_id, course)


def _end(writing: Writing, course: Course, state: State, why: str) -> None:
    from store.courses.kept.keeping import end_course

    end_course(writing, course.id, course.rev, state, why)


async def open_given(app: App[Any], page: CoursePage, key: CourseKey) -> None:
    """What can be done with an entry of the log: strike it through, or read why it was."""
    one = next(one for one in page.course.log if one.id == key.key)
    if one.struck_why:
        await app.push_screen_wait(Tell("Struck through", f"{one.struck_why}\n{one.observed}"))
        return
    given = await app.push_screen_wait(
        AskReason(
            "Strike this entry through",
            "Why? It stays readable and no longer counts as given."
            + (f"\n{one.observed}" if one.observed else ""),
        )
    )
    if isinstance(given, Reason):
        await written(app, _strike, one.id, one.rev, given.text)


def _strike(writing: Writing, key: Any, rev: int, why: str) -> None:
    from store.courses.kept.dose_log import strike_given

    strike_given(writing, key, rev, why)


async def read_line(app: App[Any], told: Told) -> None:
    """A line of the page in full."""
    parts = (told.arithmetic, told.source, told.advice)
    await app.push_screen_wait(Tell(told.head, "\n\n".join(part for part in parts if part)))
