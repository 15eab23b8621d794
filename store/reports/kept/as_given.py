"""A course as its papers tell it: what is logged has been given, and is told without an amount."""

from __future__ import annotations

from dataclasses import replace

from store.courses.kept.course_values import Course
from store.courses.planning.course import Plan


def plan_as_given(found: Course) -> Plan:
    """The plan of a course in which every dose that stands in its log counts as given.

    The plan in the book is not touched: what was kept is what was meant. A dose of which only a
    part is logged counts as given too, since nobody at home is to make up for the rest unasked.

    Parameters
    ----------
    found
        The course.
    """
    logged = {(one.place, one.number) for one in found.given}
    steps = tuple(
        replace(
            step,
            doses=tuple(
                replace(dose, state="given")
                if dose.state == "due" and (step.place, dose.number) in logged
                else dose
                for dose in step.doses
            ),
        )
        for step in found.plan.steps
    )
    return replace(found.plan, steps=steps)
