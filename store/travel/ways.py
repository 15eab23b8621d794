"""Every way between the stops of a day: the practice's own time, else reckoned, and why."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import product
from math import ceil
from typing import Literal
from uuid import UUID

from store.facts.driving import driving
from store.travel.place import Place, distance_km
from store.travel.reckoned import reckoned

EndKind = Literal["site", "vet", "practice", "home"]
Basis = Literal["table", "reckoned", "unknown", "same place"]


@dataclass(frozen=True, slots=True)
class End:
    """One end of a way: a site, the place from which a person sets out, or the practice.

    `home` is where a person's day ends, if that is another place: the practice's table knows it
    only where it is the practice. `key` is the site's or the person's, None for the practice.
    """

    kind: EndKind
    key: UUID | None = None


PRACTICE = End("practice")
_SAID_SINGLY = 2
"""More places than these, of which no drive is known, share one sentence."""


def site_end(site: UUID) -> End:
    """A site as the end of a way.

    Parameters
    ----------
    site
        Its key.
    """
    return End("site", site)


def vet_end(staff: UUID) -> End:
    """The place from which a person sets out, as the end of a way.

    Parameters
    ----------
    staff
        Key of the person.
    """
    return End("vet", staff)


def home_end(staff: UUID) -> End:
    """The place where a person's day ends, as the end of a way.

    Parameters
    ----------
    staff
        Key of the person.
    """
    return End("home", staff)


def at_practice(words: str, place: Place | None) -> End | None:
    """The practice, where somebody sets out from it; else None.

    Parameters
    ----------
    words
        Where somebody sets out, as it was typed.
    place
        The same as a place.

    Returns
    -------
    End or None
        The practice where the words are `the practice` or `practice`, a comma and more behind
        them or not, and where nothing at all was entered.

    Examples
    --------
    >>> at_practice("The practice, Mill Lane", None) == PRACTICE == at_practice("", None)
    True
    >>> at_practice("The yard", None)
    """
    named = " ".join(words.split(",", maxsplit=1)[0].casefold().split())
    if named in {"practice", "the practice"} or (not named and place is None):
        return PRACTICE
    return None


@dataclass(frozen=True, slots=True)
class Stop:
    """An end of ways with its name; `place` is None where it is not known.

    `also` is another end at the same place: its drives of the practice's table count where this one
    has none, as those of the practice do for who sets out from it.
    """

    end: End
    name: str
    place: Place | None
    also: End | None = None

    @property
    def ends(self) -> tuple[End, ...]:
        """The end, and the other one at the same place."""
        return (self.end,) if self.also is None else (self.end, self.also)


@dataclass(frozen=True, slots=True)
class Driven:
    """A drive that the practice has stated: minutes [min], distance where it was said [km].

    `said` names where it stands, such as `the practice's table of 3 May 2026`.
    """

    minutes: float
    km: float | None
    said: str


DriveTable = Mapping[tuple[End, End], Driven]
"""The practice's own drives; one that is given in one direction counts for both."""


@dataclass(frozen=True, slots=True)
class Way:
    """How long one way takes, and what that rests on.

    `minutes` is None where no number can be given; `planned_min` is then what stands in, so that
    the rest can be planned [min]. `km` is by road [km], None where it is not known.
    """

    minutes: int | None
    planned_min: int
    km: float | None
    basis: Basis
    said: str

    @property
    def known(self) -> bool:
        """Whether the minutes are more than a stand-in."""
        return self.minutes is not None


@dataclass(frozen=True, slots=True)
class Travel:
    """The ways between some stops.

    `remarks` are sentences on what is not known, and on what looks strange.
    """

    stops: tuple[Stop, ...]
    table: DriveTable
    remarks: tuple[str, ...] = ()
    _at: Mapping[End, Stop] = field(default_factory=dict, repr=False)

    def way(self, start: End, goal: End) -> Way:
        """The way from one stop to another.

        Parameters
        ----------
        start, goal
            Ends of stops that are among these.

        Raises
        ------
        KeyError
            One of them is not.
        """
        return way_between(self._at[start], self._at[goal], self.table)

    def minutes(self, order: Sequence[End]) -> list[list[int]]:
        """Whole minutes from every stop of a list to every other, for planning [min].

        Parameters
        ----------
        order
            Ends of stops that are among these; the same may stand there several times.

        Returns
        -------
        list of list of int
            `[i][j]` is from the i-th to the j-th; what is not known has its stand-in.
        """
        return [[self.way(one, other).planned_min for other in order] for one in order]


def way_between(start: Stop, goal: Stop, table: DriveTable) -> Way:
    """How long the way from one stop to another takes.

    Parameters
    ----------
    start, goal
        The stops.
    table
        The practice's own drives, which go before whatever is reckoned.

    Returns
    -------
    Way
        No time at all between a stop and itself. Minutes of the table are rounded up to whole ones.

    Examples
    --------
    >>> here = Stop(PRACTICE, "the practice", Place(51.0, 0.0))
    >>> there = Stop(site_end(UUID(int=1)), "Brook House", Place(51.1, 0.1))
    >>> way = way_between(here, there, {})
    >>> way.minutes, way.said
    (24, 'reckoned: 13.1 km straight × 1.3 at 44 km/h')
    >>> own = {(there.end, PRACTICE): Driven(17.5, None, "the practice's table of 3 May 2026")}
    >>> way_between(here, there, own).said
    "the practice's table of 3 May 2026, given for the way back"
    """
    if start.end == goal.end:
        return Way(0, 0, 0.0, "same place", "the same place")
    own = _own(start, goal, table)
    if own is not None:
        minutes = ceil(round(own.minutes, 6))
        return Way(minutes, minutes, own.km, "table", own.said)
    stand_in = driving().unknown_min
    lost = [one.name for one in (start, goal) if one.place is None]
    if start.place is None or goal.place is None:
        said = f"not known: {' and '.join(lost)} without coordinates; {stand_in} min stand in"
        return Way(None, stand_in, None, "unknown", said)
    one = reckoned(distance_km(start.place, goal.place))
    return Way(one.minutes, one.minutes, one.road_km, "reckoned", one.said)


def _own(start: Stop, goal: Stop, table: DriveTable) -> Driven | None:
    """The practice's own drive: of these very ends before that of others at the same places."""
    for one, other in product(start.ends, goal.ends):
        known = table.get((one, other))
        back = table.get((other, one)) if known is None else None
        own = known or back
        if own is None:
            continue
        said = own.said if back is None else f"{own.said}, given for the way back"
        if PRACTICE in {one, other} - {start.end, goal.end}:
            said = f"{said}, given for the practice"
        return replace(own, said=said)
    return None


def travel(stops: Iterable[Stop], table: DriveTable) -> Travel:
    """The ways between some stops, with a sentence on each that cannot be reckoned.

    Parameters
    ----------
    stops
        The stops; an end that stands there twice counts once.
    table
        The practice's own drives.

    Returns
    -------
    Travel
        Its remarks name the stops without coordinates that lack a drive of the table, and drives
        of the table that take no time.
    """
    at = {one.end: one for one in stops}
    own = tuple(at.values())
    return Travel(own, table, (*_lost(own, table), *_no_time(at, table)), at)


def _lost(stops: Sequence[Stop], table: DriveTable) -> Iterable[str]:
    stand_in = driving().unknown_min
    lost = [one for one in stops if one.place is None]
    bare = [
        one for one in lost
        if not any(way_between(one, other, table).known for other in stops if other.end != one.end)
    ]  # fmt: skip
    if len(bare) > _SAID_SINGLY:
        yield (
            f"Where {len(bare)} places lie is not known, so no drive to or from them can be "
            f"reckoned; {stand_in} min stand in for each, so that the rest can be planned: "
            f"{'; '.join(one.name for one in bare)}. Enter their latitude and longitude, or their "
            "drives in the practice's table."
        )
        lost = [one for one in lost if one not in bare]
    for one in lost:
        others = [other for other in stops if other.end != one.end]
        missing = sum(not way_between(one, other, table).known for other in others)
        if missing:
            which = (
                "no drive to or from it can be reckoned"
                if missing == len(others)
                else f"{missing} of its {len(others)} drives cannot be reckoned"
            )
            yield (
                f"Where {one.name} lies is not known, so {which}; {stand_in} min stand in for "
                "each, so that the rest can be planned. Enter its latitude and longitude, or its "
                "drives in the practice's table."
            )


def _no_time(at: Mapping[End, Stop], table: DriveTable) -> Iterable[str]:
    named = {end: one.name for one in at.values() for end in one.ends}
    for (start, goal), driven in table.items():
        if driven.minutes == 0 and start in named and goal in named:
            yield (
                f"From {named[start]} to {named[goal]} the practice's table has 0 min: they "
                "are planned as one place. Set it again if that is not meant."
            )
