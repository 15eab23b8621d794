"""The chart of a course: what a step brings into the water, in the widget's own values."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from tui.widgets.chart_data import ChartData, Limit, Mark, Series

if TYPE_CHECKING:
    from store.courses.kept.course_page import Curve

_NEVER_DAYS = 10_000.0
"""The line is reckoned throughout: it has no gaps."""


def chart_data(curve: Curve, name: str) -> ChartData:
    """What the widget draws: reckoned from what was given, dimmer what would be.

    Parameters
    ----------
    curve
        From the course's page.
    name
        Of the agent.
    """
    unit = curve.step.unit.replace("uL", "µL")
    points = list(zip(curve.times, curve.values, strict=True))
    gone, ahead, label = points[: curve.known], points[curve.known :], f"{name}, reckoned"
    if gone and ahead:
        ahead = [gone[-1], *ahead]
    elif not gone:  # before its first dose a course has no past
        gone, ahead, label = points, [], f"{name}, as planned"
    decimals = 1 if curve.bound >= 10.0 else 2

    def series(shown: list[tuple[datetime, float]], label: str) -> Series:
        times, values = tuple(at for at, _ in shown), tuple(value for _, value in shown)
        return Series(label, unit, times, values, decimals)

    limit = curve.step.safe_most
    return ChartData(
        series=(series(gone, label),),
        start=curve.times[0],
        end=curve.times[-1],
        limits=() if limit is None else (Limit(limit, f"highest published {limit:g} {unit}"),),
        marks=tuple(
            Mark(at, f"{number}" if given else f"{number}?") for at, number, given in curve.doses
        ),
        forecast=series(ahead, label) if ahead else None,
        gap_days=_NEVER_DAYS,
    )
