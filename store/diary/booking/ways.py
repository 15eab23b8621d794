"""The ways of one question: each is reckoned when it is first asked for, and then kept."""

from __future__ import annotations

from collections.abc import Collection
from uuid import UUID

from store.diary.booking.values import DrivesOn, Visiting
from store.facts.driving import driving
from store.travel.place import Place, place_of
from store.travel.ways import Basis, DriveTable, End, Stop, Way, site_end, way_between


class Ways:
    """Ways between places, by the practice's own table of drives, else reckoned.

    Parameters
    ----------
    table
        The practice's own drives, see `store.travel.ways`; None where it has none.
    """

    def __init__(self, table: DriveTable | None = None) -> None:
        self._table: DriveTable = {} if table is None else table
        self._ends = frozenset(end for pair in self._table for end in pair)
        self._stops: dict[tuple[str, UUID | None, Place | None, End | None], Stop] = {}
        # By the identity of stops and visits that are kept here: a search asks for ways so often
        # that the hash of a stop would cost more than the way.
        self._ways: dict[tuple[int, int], Way] = {}
        self._own: set[int] = set()
        self._both: dict[tuple[int, int], tuple[Way, Way]] = {}
        self._visits: dict[int, tuple[Visiting, Stop]] = {}

    def stop(self, end: End, name: str, place: Place | None, also: End | None = None) -> Stop:
        """An end of ways; the same object for the same end and place.

        Parameters
        ----------
        end, name, place, also
            As for `store.travel.ways.Stop`.
        """
        key = end.kind, end.key, place, also
        found = self._stops.get(key)
        if found is None:
            found = self._stops[key] = Stop(end, name, place, also)
            self._own.add(id(found))
        return found

    def site(self, site_id: UUID, name: str, place: Place | None) -> Stop:
        """A site as an end of ways.

        Parameters
        ----------
        site_id, name, place
            Its key, its name, and where it lies.
        """
        return self.stop(site_end(site_id), name, place)

    def visit(self, visit: Visiting) -> Stop:
        """Where a visit goes as an end of ways.

        Parameters
        ----------
        visit
            The visit.
        """
        found = self._visits.get(id(visit))
        if found is None:
            place = place_of(visit.latitude, visit.longitude)
            found = self._visits[id(visit)] = visit, self.site(visit.site_id, visit.client, place)
        return found[1]

    def way(self, one: Stop, other: Stop) -> Way:
        """The way from one end to another.

        Parameters
        ----------
        one, other
            Both ends.
        """
        key = id(one), id(other)
        found = self._ways.get(key)
        if found is None:
            found = way_between(one, other, self._table)
            if id(one) in self._own and id(other) in self._own:
                self._ways[key] = found
                if found.basis in ("reckoned", "same place"):  # as long in either direction
                    self._ways[key[::-1]] = found
        return found

    def there_and_back(self, here: Stop, visit: Visiting) -> tuple[Way, Way]:
        """The way from an end to a visit, and the way back.

        Parameters
        ----------
        here
            The end.
        visit
            The visit.
        """
        key = id(here), id(visit)
        found = self._both.get(key)
        if found is None:
            there = self.visit(visit)
            found = self.way(here, there), self.way(there, here)
            if id(here) in self._own:
                self._both[key] = found
        return found

    def knows(self, stop: Stop) -> bool:
        """Whether ways to or from an end can be known at all.

        Parameters
        ----------
        stop
            The end.
        """
        return stop.place is not None or not self._ends.isdisjoint(stop.ends)

    @property
    def used(self) -> frozenset[Basis]:
        """What all the ways rest on that were asked for so far."""
        return frozenset(way.basis for way in self._ways.values())


def together(bases: Collection[Basis]) -> DrivesOn:
    """What some ways rest on together; a stand-in counts as reckoned.

    Parameters
    ----------
    bases
        Of each way.

    Examples
    --------
    >>> together(["table", "same place"]), together(["table", "reckoned"]), together([])
    ('table', 'both', '')
    """
    by_table = "table" in bases
    other = bool({"reckoned", "unknown"} & set(bases))
    if by_table:
        return "both" if other else "table"
    return "reckoned" if other else ""


def said_drives(used: Collection[Basis]) -> str:
    """On what the minutes of drives rest, in a sentence or two; empty where there are none.

    Parameters
    ----------
    used
        What the ways rest on that were asked for.
    """
    facts = driving()
    reckoned = (
        f"{facts.detour:g} × the straight distance at {facts.short_km_h:g}–{facts.long_km_h:g} "
        "km/h, common practice"
    )
    said = []
    if "table" in used:
        own = "Drives: the practice's table"
        said.append(f"{own}, else {reckoned}." if "reckoned" in used else f"{own}.")
    elif "reckoned" in used:
        said.append(f"Drives: {reckoned}.")
    if "unknown" in used:
        said.append(f"Where a drive is not known, {facts.unknown_min} min stand in.")
    return " ".join(said)
