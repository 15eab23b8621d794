"""The legend beside a map of rounds, and what the strip says of its lines."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal
from uuid import UUID

from rich.style import Style
from rich.text import Text

from store.rounds.day.map import MapCells, MapPoint, RoundMap, Tour
from store.rounds.solving.said import clock_said
from tui.screens.rounds.round_lines import Across, said_many, said_standing, whole
from tui.widgets.columns import Column
from tui.widgets.grid import Row
from tui.widgets.literal import one_line
from tui.widgets.round_map import SIGNS
from tui.widgets.strip import Told

if TYPE_CHECKING:
    from store.rounds.day.values import DayPlan, RoundStop

LEGEND = (
    Column("number", "No", 3, align="right"),
    Column("name", "Where", 10, weight=1),
    Column("time", "Time", 5),
    Column("standing", "Stands", 8, drop_order=1),
)
STRAIGHT = "straight lines, no roads"
LOST = "Not on the map: place not known"
_STRONG = Style(bold=True)


@dataclass(frozen=True, slots=True)
class LegendKey:
    """A line of the legend that is no point: who drives, or that some are not on the map."""

    kind: Literal["who", "lost"]
    staff_id: UUID | None = None


def stop_at(plan: DayPlan, point: MapPoint) -> RoundStop | None:
    """The stop of a point; None where it is a start or an end.

    Parameters
    ----------
    plan
        The day.
    point
        Of its map.
    """
    one = plan.round_of(point.staff_id)
    return one.stops[point.nth] if one is not None and point.what == "stop" else None


def legend_rows(plan: DayPlan, found: RoundMap) -> list[Row]:
    """Every point in its order, and at the end those that are not on the map.

    Parameters
    ----------
    plan
        The day.
    found
        Its map.
    """
    rows: list[Row] = []
    for nth, tour in enumerate(found.tours):
        if tour.letter:
            said = f"{tour.letter} {SIGNS[nth % len(SIGNS)]} {one_line(tour.who)}"
            key = LegendKey("who", tour.staff_id)
            rows.append(Across(key, (Text(said, style=_STRONG),)))
        rows += [_row(plan, point) for point in tour.points if point.place is not None]
    if found.lost:
        rows.append(Across(LegendKey("lost"), (Text(LOST, style=_STRONG),)))
        rows += [_row(plan, point) for point in found.lost]
    return rows


def _row(plan: DayPlan, point: MapPoint) -> Row:
    stop = stop_at(plan, point)
    time = clock_said(point.at)
    if stop is None:
        name = one_line(point.name)
        said = f"back: {name}" if point.what == "end" else name
        label, at = Text(point.label, style="quiet"), Text(time, style="quiet")
        return Row(point, (label, whole(said), at, ""))
    standing = said_standing(stop.errand.standing)
    return Row(point, (point.label, one_line(point.name), time, standing))


def told_line(
    plan: DayPlan, found: RoundMap, key: object, drawn: MapCells | None = None
) -> Told | None:
    """What the strip says of a line of the legend.

    Parameters
    ----------
    plan
        The day.
    found
        Its map.
    key
        Of the line.
    drawn
        The map as it is drawn, by which it is known who shares a label.
    """
    if isinstance(key, MapPoint):
        stop = stop_at(plan, key)
        shared = "; ".join(_shared(key, drawn))
        if stop is not None:
            return _told_stop(key, stop, shared)
        return _told_end(plan, key, shared)
    if isinstance(key, LegendKey) and key.kind == "lost":
        return Told(
            said_many(len(found.lost), "place is", "places are") + " not on the map",
            "Where they lie is not known; the line between their neighbours is left out.",
            "",
            "Next: enter the latitude and longitude of the site, among clients and ponds (2).",
        )
    for tour in found.tours:
        if isinstance(key, LegendKey) and key.staff_id == tour.staff_id:
            return _told_tour(plan, tour)
    return None


def _shared(point: MapPoint, drawn: MapCells | None) -> Iterator[str]:
    for mark in drawn.marks if drawn is not None else ():
        others = [one.label for one in mark.points if one.label != point.label]
        if point in mark.points and others:
            yield f"lies too near to {', '.join(dict.fromkeys(others))} for a label of its own"


def _told_stop(point: MapPoint, stop: RoundStop, shared: str) -> Told:
    name, standing = one_line(point.name), one_line(stop.errand.standing)
    times = (
        f"There {clock_said(stop.arrives)}, begins {clock_said(stop.begins)}, leaves "
        f"{clock_said(stop.leaves)}."
    )
    way = f"The way there takes {stop.way.planned_min} min, {one_line(stop.way.said)}."
    if stop.way.basis == "unknown":
        way = f"The way there: {one_line(stop.way.said)}."
    where = f"On the map it {shared}." if shared else ""
    advice = "Next: enter opens the pond."
    if point.place is None:
        advice = "Next: enter the latitude and longitude of the site, among clients and ponds (2)."
    return Told(f"{point.label}  {name}: {standing}", f"{times} {way}", where, advice)


def _told_end(plan: DayPlan, point: MapPoint, shared: str) -> Told:
    one = plan.round_of(point.staff_id)
    assert one is not None
    where, who = one_line(point.name), one_line(one.driver.who)
    clock = clock_said(point.at)
    head = f"{who} sets out at {clock} from {where}"
    way = ""
    if point.what == "end":
        head = f"{who} is back at {clock}: {where}"
        home = one.way_home
        way = f"The way takes {home.planned_min} min, {one_line(home.said)}." if home else ""
    if point.place is None:
        shared = "is not drawn, for its latitude and longitude are not known"
    return Told(
        f"{point.label}  {head}",
        way,
        f"On the map it {shared}." if shared else "",
        f"The round has {one.drive_min} min of driving in all.",
    )


def _told_tour(plan: DayPlan, tour: Tour) -> Told:
    one = plan.round_of(tour.staff_id)
    assert one is not None
    return Told(
        f"{tour.letter}  {one_line(tour.who)}: {said_many(len(tour.stops), 'stop')}",
        f"From {clock_said(one.sets_out)} to {clock_said(one.back)}, {one.drive_min} min of "
        "driving.",
        "",
        "Next: v shows one round alone.",
    )
