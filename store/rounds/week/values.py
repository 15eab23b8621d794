"""A week ahead as it is asked for, and as it is planned; minutes are of the local day [min].

A week is a row of days on the road, see `store.rounds.day.values`: each day holds the visits that
may be made on it, so that a visit nobody has booked stands in several of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from uuid import UUID

from store.rounds.day.values import DayAsked, Driver, Errand, Round, RoundStop
from store.rounds.solving.found import Found
from store.rounds.solving.problem import Problem

MOST_DUE = 24
"""So many visits that nobody has booked are spread over a week, the heaviest first."""
FEWEST_DAYS, MOST_DAYS = 5, 7


@dataclass(frozen=True, slots=True)
class WeekWish:
    """What is asked for.

    `staff` are those who drive, all vets who work where it is empty. `most_due` is how many visits
    that nobody has booked are spread at most. `ordered` is whether each round goes from clean to
    infected.
    """

    first: date
    days: int = MOST_DAYS
    staff: tuple[UUID, ...] = ()
    most_due: int = MOST_DUE
    ordered: bool = True

    @property
    def last(self) -> date:
        """The last day."""
        return self.first + timedelta(days=self.days - 1)


@dataclass(frozen=True, slots=True)
class Limit:
    """Between which days a visit that nobody has booked is to be made.

    `first_on` is when the first of its windows that closes has opened, `last_on` when that closes:
    what is counted as late counts from there. `until` is the last day that is borne, `said` why.
    """

    first_on: date
    last_on: date
    until: date
    said: str

    def late_days(self, day: date) -> int:
        """How late a visit is on a day, below zero while days are left [d].

        Parameters
        ----------
        day
            The day.
        """
        return (day - self.last_on).days


@dataclass(frozen=True, slots=True)
class WeekAsked:
    """All that a week is planned from.

    `errands` are all visits, each once, the booked ones and then the heaviest first; each of `days`
    holds those that may be made on it, with the hours of that day, and its ways know the sites of
    all. `limits` are by the key of an errand that nobody has booked. `holidays` names the public
    holidays among the days, `closed` says of errands that stand in no day why. `remarks` are
    sentences on what is not known or was left aside, `rests_on` on what all of it rests.
    """

    wish: WeekWish
    today: date
    errands: tuple[Errand, ...]
    days: tuple[DayAsked, ...]
    limits: Mapping[UUID, Limit]
    holidays: Mapping[date, str] = field(default_factory=dict)
    closed: Mapping[UUID, str] = field(default_factory=dict)
    remarks: tuple[str, ...] = ()
    rests_on: tuple[str, ...] = ()

    @property
    def vet_days(self) -> tuple[tuple[int, Driver], ...]:
        """Every person of every day, with the place of the day."""
        return tuple((nth, who) for nth, day in enumerate(self.days) for who in day.drivers)


@dataclass(frozen=True, slots=True)
class WeekLine:
    """One visit of a week: when, who, where, and what it adds.

    `late_days` counts from the last day of its window, below zero while days are left; None of a
    booked visit that keeps no promise [d]. `added_min` is the drive that the round would be shorter
    by without it [min]. `widened` tells that it comes later than is borne, since nothing earlier
    was free.
    """

    day: date
    driver: Driver
    stop: RoundStop
    late_days: int | None
    added_min: int
    widened: bool = False

    @property
    def errand(self) -> Errand:
        """The visit."""
        return self.stop.errand


@dataclass(frozen=True, slots=True)
class WeekDay:
    """One day of the week with everybody's round; `holiday` names a public holiday."""

    asked: DayAsked
    rounds: tuple[Round, ...]
    holiday: str = ""

    @property
    def day(self) -> date:
        """The day."""
        return self.asked.wish.day

    @property
    def drive_min(self) -> int:
        """All minutes on the road [min]."""
        return sum(one.drive_min for one in self.rounds)


@dataclass(frozen=True, slots=True)
class WeekLeft:
    """A visit that is in no day, and why, in a sentence."""

    errand: Errand
    says: str


@dataclass(frozen=True, slots=True)
class WeekPlan:
    """The days of a week with their visits, what is known of how good they are, what is left out.

    `problem` and `found` are the same as plain numbers: stops in the order of the errands, one vet
    for each of `asked.vet_days`, minutes counted from the first midnight. Nothing of it is booked:
    `lines` are proposals, but for the visits that stand in the diary already.
    """

    asked: WeekAsked
    problem: Problem
    found: Found
    days: tuple[WeekDay, ...]
    lines: tuple[WeekLine, ...]
    left_out: tuple[WeekLeft, ...]
    proof: str
    remarks: tuple[str, ...] = ()

    @property
    def drive_min(self) -> int:
        """All minutes on the road [min]."""
        return self.found.drive_min

    def lines_of(self, day: date) -> Iterator[WeekLine]:
        """The visits of one day, by person and hour.

        Parameters
        ----------
        day
            The day.
        """
        return (one for one in self.lines if one.day == day)
