"""A day on the road as it is asked for, and as it is planned; minutes are of the local day [min].

Wherever a minute stands in a name it counts from the beginning of the practice's day.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal
from uuid import UUID

from store.diary.booking.values import Purpose, Visiting
from store.rounds.solving.found import Found
from store.rounds.solving.left_out import LeftOut
from store.rounds.solving.price import Price
from store.rounds.solving.problem import Problem, Window
from store.rounds.solving.timetable import Timetable
from store.travel.ways import End, Travel, Way

Agreed = Literal["kept", "free"]
"""`kept`: hours and people that were agreed stay; `free`: all but fixed appointments may move."""
Slot = Literal["dawn", "afternoon", "both"]
MOST_ADDED = 6
"""So many visits that nobody has booked are looked at beside those of a day, the heaviest first."""


@dataclass(frozen=True, slots=True)
class DayWish:
    """What is asked for.

    `staff` are those who drive, all vets who work that day where it is empty. `add_due` is how
    many visits that nobody has booked may be added. `ordered` is whether a round goes from clean to
    infected. `held` are errands that have to be in it, `left` those that are not to be; both by
    their keys.
    """

    day: date
    staff: tuple[UUID, ...] = ()
    agreed: Agreed = "kept"
    add_due: int = MOST_ADDED
    ordered: bool = True
    held: frozenset[UUID] = frozenset()
    left: frozenset[UUID] = frozenset()


@dataclass(frozen=True, slots=True)
class Errand:
    """One visit that a day may hold: a booked one, or one that keeps what is due at a site.

    `key` is that of the visit, or of the site where none is booked. `windows` are when one gets in
    and may be there, `hours_said` what they rest on. `level` is its standing as
    `store.rounds.solving.problem` counts it, `standing` the same in a word, `standing_said` with
    its reason; `disinfect_min` follows the visit. `skip_cost` is what it is worth [min of drive];
    `weight` that of the desk, `worth_said` the arithmetic from one to the other. `slot` is the hour
    of the day at which it is best made, `slot_said` why.
    """

    key: UUID
    visit: Visiting | None
    client_id: UUID
    site_id: UUID
    pond_ids: tuple[UUID, ...]
    name: str
    kind: str
    minutes: int
    windows: tuple[Window, ...]
    hours_said: str
    level: int
    standing: str
    standing_said: str
    disinfect_min: int
    skip_cost: int
    weight: float = 0.0
    worth_said: str = ""
    purposes: tuple[Purpose, ...] = ()
    vets: frozenset[UUID] | None = None
    slot: Slot | None = None
    slot_said: str = ""
    phone: str = ""
    latitude: float | None = None
    longitude: float | None = None

    @property
    def booked(self) -> bool:
        """Whether the visit stands in the diary."""
        return self.visit is not None


@dataclass(frozen=True, slots=True)
class Driver:
    """Who drives: working hours and break, from where and to where, and what to know of them.

    Who is no vet goes to visits that need none.
    """

    staff_id: UUID
    who: str
    begins: int
    ends: int
    break_min: int
    break_from: int
    break_until: int
    start: End
    home: End
    start_said: str
    home_said: str
    remarks: tuple[str, ...] = ()
    is_vet: bool = True


@dataclass(frozen=True, slots=True)
class DayAsked:
    """All that a day is planned from. `light` is sunrise and sunset, where a place is known [min].

    `remarks` are sentences on what is not known, strange, or left aside.
    """

    wish: DayWish
    drivers: tuple[Driver, ...]
    errands: tuple[Errand, ...]
    travel: Travel
    light: tuple[int, int] | None = None
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RoundStop:
    """One stop of a round with its times [min], and the way to it.

    `moved_min` is how much later it begins than was agreed with the client, None where nothing
    was; `ring` tells that somebody has to be rung before it can be so.
    """

    errand: Errand
    way: Way
    arrives: int
    begins: int
    ends: int
    leaves: int
    moved_min: int | None
    ring: bool


@dataclass(frozen=True, slots=True)
class Round:
    """One person's round with its times [min]; without stops nothing is driven.

    `break_after` is how many stops come before the break, None with `break_at` where there is none.
    """

    driver: Driver
    stops: tuple[RoundStop, ...]
    sets_out: int
    way_home: Way | None
    back: int
    drive_min: int
    break_after: int | None
    break_at: int | None


@dataclass(frozen=True, slots=True)
class DayPlan:
    """The rounds of a day, what is known of how good they are, and what is not in them.

    `problem` and `found` are the same day as plain numbers, its stops in the order of the errands
    and its vets in that of the drivers. `left_out` names stops by their places. `broken` says which
    rule the plan breaks, by how much, and what would help: never without being asked for.
    `remarks` are those of the plan, then those of what was asked: a search that was halted,
    suspects among others, hours that were wished for and not kept, light.
    """

    asked: DayAsked
    problem: Problem
    found: Found
    rounds: tuple[Round, ...]
    left_out: tuple[LeftOut, ...]
    price: Price | None
    proof: str
    broken: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()

    def round_of(self, staff_id: UUID) -> Round | None:
        """One person's round.

        Parameters
        ----------
        staff_id
            Who.
        """
        return next((one for one in self.rounds if one.driver.staff_id == staff_id), None)

    def timetable_of(self, staff_id: UUID) -> Timetable | None:
        """The same as plain numbers.

        Parameters
        ----------
        staff_id
            Who.
        """
        for driver, one in zip(self.asked.drivers, self.found.rounds, strict=True):
            if driver.staff_id == staff_id:
                return one
        return None
