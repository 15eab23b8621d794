"""The stops of a day as a map of cells: where each lies, which share a label, the scale.

The projection is the plain equirectangular one with the cosine of the middle latitude, fit for
what one drives in a day: x = R Δλ cos φ, y = R Δφ (Snyder 1987, p. 90). Lines between stops are
straight and no roads.

References
----------
Snyder, J. P. 1987, Map Projections: A Working Manual, US Geological Survey Professional Paper 1395.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from math import cos, floor, isfinite, log10, radians
from typing import Literal
from uuid import UUID

from store.rounds.day.values import DayPlan, Round
from store.travel.place import EARTH_RADIUS_KM, Place, place_of
from store.travel.ways import End

CELL_ASPECT = 2.0
"""How many times as high as wide the cell of a terminal is; common practice."""
LEAST_KM = 0.5
"""What a map shows from edge to edge at least [km]; places nearer than that lie close together."""
LONGEST_LABEL = 12
"""A label that would be longer names its first point and how many more there are [cells]."""
_STEPS = (5.0, 2.0, 1.0)
_MARGIN = 1
"""Columns that stay free at either side, for what marks a label."""
What = Literal["start", "stop", "end"]


@dataclass(frozen=True, slots=True)
class MapPoint:
    """A place of a round, and how it is labelled: `group` and `item`, such as `B` and `3`.

    `nth` is the place of a stop in its round, from 0; `at` when it is reached, or left where it is
    the start [min]. `place` is None where it is not known.
    """

    staff_id: UUID
    what: What
    nth: int
    group: str
    item: str
    name: str
    at: int
    place: Place | None

    @property
    def label(self) -> str:
        """What stands on the map for it alone."""
        return f"{self.group}{self.item}"


@dataclass(frozen=True, slots=True)
class Tour:
    """One person's round as points in their order; `letter` is empty where nobody else drives.

    `ends_apart` tells that it does not end where it begins; without it the last point has the label
    of the first.
    """

    staff_id: UUID
    who: str
    letter: str
    points: tuple[MapPoint, ...]
    ends_apart: bool

    @property
    def stops(self) -> tuple[MapPoint, ...]:
        """The points that are stops."""
        return tuple(one for one in self.points if one.what == "stop")


@dataclass(frozen=True, slots=True)
class RoundMap:
    """The rounds of a map, those without a stop left out."""

    tours: tuple[Tour, ...]

    @property
    def points(self) -> tuple[MapPoint, ...]:
        """All points, round after round."""
        return tuple(point for tour in self.tours for point in tour.points)

    @property
    def lost(self) -> tuple[MapPoint, ...]:
        """Points that are not on the map, for nobody knows where they lie."""
        return tuple(one for one in self.points if one.place is None)


def round_map(plan: DayPlan, staff_id: UUID | None) -> RoundMap:
    """The points of one person's round, or of all.

    Parameters
    ----------
    plan
        The day.
    staff_id
        Whose round; None for all of the day.
    """
    rounds = [
        one
        for one in plan.rounds
        if one.stops and (staff_id is None or one.driver.staff_id == staff_id)
    ]
    ends = {one.end: _known(one.place) for one in plan.asked.travel.stops}
    together = len({one.driver.start for one in rounds}) == 1
    tours = []
    for nth, one in enumerate(rounds):
        letter = _letter(nth) if len(rounds) > 1 else ""
        tours.append(_tour(one, letter, "" if together else letter, ends))
    return RoundMap(tuple(tours))


def _letter(nth: int) -> str:
    more, rest = divmod(nth, 26)
    return (_letter(more - 1) if more else "") + chr(ord("A") + rest)


def _known(place: Place | None) -> Place | None:
    """A place on the earth, None for anything else."""
    if place is None or not (isfinite(place.latitude) and isfinite(place.longitude)):
        return None
    return place if abs(place.latitude) <= 90 else None


def _tour(one: Round, letter: str, start: str, ends: dict[End, Place | None]) -> Tour:
    who, key = one.driver, one.driver.staff_id
    apart = who.home != who.start
    points = [
        MapPoint(key, "start", 0, "S", start, who.start_said, one.sets_out, ends.get(who.start)),
        *(
            MapPoint(
                key, "stop", nth, letter, str(nth + 1), stop.errand.name, stop.begins,
                _known(place_of(stop.errand.latitude, stop.errand.longitude)),
            )
            for nth, stop in enumerate(one.stops)
        ),
        MapPoint(
            key, "end", len(one.stops), "E" if apart else "S", letter if apart else start,
            who.home_said, one.back, ends.get(who.home),
        ),
    ]  # fmt: skip
    return Tour(key, who.who, letter, tuple(points), apart)


# The projection


def in_the_plane(places: Sequence[Place]) -> tuple[tuple[float, float], ...]:
    """Where places lie in the plane, east and north of the middle of them all [km].

    Parameters
    ----------
    places
        Some of them may lie beyond the date line of the others.

    Returns
    -------
    tuple of (float, float)
        x to the east, y to the north [km].

    Examples
    --------
    A degree to the north is 111.2 km, and to the east half of that at 60°:

    >>> spots = in_the_plane([Place(59.5, 10.0), Place(60.5, 11.0)])
    >>> [(round(x, 1), round(y, 1)) for x, y in spots]
    [(-27.8, -55.6), (27.8, 55.6)]
    """
    if not places:
        return ()
    east = _unrolled([one.longitude for one in places])
    low, high = min(one.latitude for one in places), max(one.latitude for one in places)
    lat, lon = (low + high) / 2, (min(east) + max(east)) / 2
    shrunk = cos(radians(lat))
    return tuple(
        (
            EARTH_RADIUS_KM * radians(along - lon) * shrunk,
            EARTH_RADIUS_KM * radians(one.latitude - lat),
        )
        for one, along in zip(places, east, strict=True)
    )


def _unrolled(longitudes: Sequence[float]) -> list[float]:
    """Longitudes counted on from the end of the widest gap, so that none is cut off [degrees]."""
    around = [one % 360.0 for one in longitudes]
    known = sorted(set(around))
    gaps = [(after - before, after) for before, after in pairwise(known)]
    gaps.append((known[0] + 360.0 - known[-1], known[0]))
    first = max(gaps)[1]
    return [one if one >= first else one + 360.0 for one in around]


# The scale


@dataclass(frozen=True, slots=True)
class ScaleBar:
    """So many km are so many whole cells, exactly."""

    km: float
    cells: int

    @property
    def km_per_column(self) -> float:
        """What one cell is from west to east [km]."""
        return self.km / self.cells

    @property
    def said(self) -> str:
        """The length in words: `20 km`, `0.5 km`."""
        return f"{self.km:g} km"


def scale_bar(km_per_column: float, most_cells: int) -> ScaleBar:
    """The longest bar of 1, 2 or 5 times a power of ten that has room, and its whole cells.

    The scale of the map follows the bar, a little coarser than asked for, so that the bar is exact.

    Parameters
    ----------
    km_per_column
        What one cell has to be at least [km].
    most_cells
        The longest bar, from 1 on [cells].

    Examples
    --------
    >>> bar = scale_bar(0.45, 12)
    >>> bar.said, bar.cells, bar.km_per_column
    ('5 km', 11, 0.45454545454545453)
    """
    # What is the longest but for the last digit is taken for it.
    longest = km_per_column * most_cells * (1 + 1e-9)
    power = 10.0 ** floor(log10(longest))
    km = next((step * power for step in _STEPS if step * power <= longest), power)
    if km < km_per_column:  # no room for a bar of more than a cell: the map is coarser instead
        km = next(step * power for step in (2.0, 5.0, 10.0) if step * power >= km_per_column)
    cells = min(most_cells, floor(km / km_per_column * (1 + 1e-9)))
    return ScaleBar(float(f"{km:.12g}"), cells)


# The cells


@dataclass(frozen=True, slots=True)
class MapMark:
    """A label on the map: the cell it stands for, where its text begins, and who shares it."""

    column: int
    row: int
    left: int
    label: str
    points: tuple[MapPoint, ...]


@dataclass(frozen=True, slots=True)
class Track:
    """The cells of one round in their order, in stretches between points that are not known."""

    staff_id: UUID
    stretches: tuple[tuple[tuple[int, int], ...], ...]


@dataclass(frozen=True, slots=True)
class MapCells:
    """A map of `columns` by `rows` cells, counted from the upper left; north is up."""

    columns: int
    rows: int
    marks: tuple[MapMark, ...]
    tracks: tuple[Track, ...]
    bar: ScaleBar | None


def map_cells(found: RoundMap, columns: int, rows: int) -> MapCells:
    """The map of that size; without a known place it has no mark and no scale.

    Parameters
    ----------
    found
        The points.
    columns, rows
        Cells there are, from 1 on.

    Returns
    -------
    MapCells
        A cell is `CELL_ASPECT` times as high as wide, so that 1 km east is as long as 1 km north.
        Points of one cell share a label, and so do those whose labels would run into each other.
    """
    points = [one for one in found.points if one.place is not None]
    if not points or columns < 1 or rows < 1:
        return MapCells(columns, rows, (), (), None)
    spots = in_the_plane([one.place for one in points if one.place is not None])
    wide = max(1, columns - 2 * _MARGIN - 1)
    reach = 2 * max(abs(x) for x, _ in spots), 2 * max(abs(y) for _, y in spots)
    tall = max(1, rows - 1) * CELL_ASPECT
    needed = max(reach[0] / wide, reach[1] / tall, LEAST_KM / wide)
    bar = scale_bar(needed, max(1, columns // 2))
    step = bar.km_per_column
    cells = [
        (
            _inside(round((columns - 1) / 2 + x / step), columns),
            _inside(round((rows - 1) / 2 - y / (CELL_ASPECT * step)), rows),
        )
        for x, y in spots
    ]
    at = dict(zip(points, cells, strict=True))
    tracks = tuple(Track(tour.staff_id, _stretches(tour, at)) for tour in found.tours)
    return MapCells(columns, rows, _marks(points, cells, columns), tracks, bar)


def _inside(at: int, size: int) -> int:
    return min(max(0, at), size - 1)


def _stretches(
    tour: Tour, cells: dict[MapPoint, tuple[int, int]]
) -> tuple[tuple[tuple[int, int], ...], ...]:
    runs = groupby(tour.points, key=lambda one: one.place is not None)
    return tuple(tuple(cells[one] for one in run) for known, run in runs if known)


# The labels


def _marks(
    points: Sequence[MapPoint], cells: Sequence[tuple[int, int]], columns: int
) -> tuple[MapMark, ...]:
    """Labels that stand apart: those that would touch are joined until none does."""
    at: dict[tuple[int, int], list[int]] = {}
    for nth, cell in enumerate(cells):
        at.setdefault(cell, []).append(nth)
    groups = list(at.values())
    while True:
        placed: list[tuple[MapMark, list[int]]] = []
        for group in groups:
            column, row = cells[group[0]]
            label = shared_label(points[nth] for nth in group)
            beside = [one for one in placed if one[0].row == row]
            left = _room(column, len(label), [mark for mark, _ in beside], columns)
            if left is None:
                near = _nearest(column, beside)
                groups = [one for one in groups if one is not group and one is not near]
                groups = sorted([*groups, sorted([*near, *group])])
                break
            mark = MapMark(column, row, left, label, tuple(points[nth] for nth in group))
            placed.append((mark, group))
        else:
            return tuple(mark for mark, _ in placed)


def _nearest(column: int, beside: Sequence[tuple[MapMark, list[int]]]) -> list[int]:
    return min(beside, key=lambda one: abs(one[0].column - column))[1]


def _room(column: int, length: int, beside: Sequence[MapMark], columns: int) -> int | None:
    """Where a label over its own cell begins without touching another, None where it cannot."""
    for wished in range(column, column - length, -1):
        left = min(max(0, wished), max(0, columns - length))
        if all(left + length < one.left or one.left + len(one.label) < left for one in beside):
            return left
    return None


def shared_label(points: Iterable[MapPoint]) -> str:
    """The label of points that share one: `3,4`, `1–4`, `S,A2,B1`; `3+7` where that is too long.

    Parameters
    ----------
    points
        In their order; what has the same label counts once.
    """
    shared = tuple(points)
    groups: dict[str, list[str]] = {}
    for one in shared:
        items = groups.setdefault(one.group, [])
        if one.item not in items:
            items.append(one.item)
    label = ",".join(f"{group}{_listed(items)}" for group, items in groups.items())
    if len(label) <= LONGEST_LABEL:
        return label
    return f"{shared[0].label}+{sum(map(len, groups.values())) - 1}"


def _listed(items: Sequence[str]) -> str:
    numbers = sorted(int(one) for one in items if one.isdecimal())
    if len(numbers) != len(items):
        return ",".join(items)
    said = []
    for _, run in groupby(enumerate(numbers), key=lambda one: one[1] - one[0]):
        row = [number for _, number in run]
        said += [f"{row[0]}–{row[-1]}"] if len(row) > 2 else [str(number) for number in row]
    return ",".join(said)
