"""What the rules see of one pond: its recent tests, its logger, its circumstances.

A caseload of thousands of ponds is looked at every morning, so the readings of a test stay packed
as the database handed them over until a rule asks for that test.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, tzinfo
from math import inf
from statistics import fmean
from typing import NamedTuple
from uuid import UUID

from store.warmth.estimate import Ahead
from store.watch.found import OpenFinding
from store.watch.lost import Losses
from store.water.packed import PackedTest
from store.water.plan import Season

DAY_MS = 86_400_000
_HALF_S = 43_200
_HALF_MS = 1000 * _HALF_S
_unpack = json.JSONDecoder().raw_decode
"""The database wrote it: nothing stands before or behind the object."""


SEEN_SAME_DAY = "hazard_same_day"
"""Kind of the circumstance that a hazard was seen at a pond visited on the same day by the same
person, and no disinfection was recorded in between."""


class LoggerDay(NamedTuple):
    """One day of a logger, in the practice's zone."""

    day: date
    mean: float
    low: float
    high: float


class Circumstance(NamedTuple):
    """Something that happened at a pond or holds there, and may raise a level."""

    kind: str
    first: date
    until: date | None
    hazard: str
    at_ms: int | None = None
    """Its instant in epoch milliseconds, where the hour is known."""
    says: str = ""
    """More of it in words, where the rules have something to repeat."""


class Promise(NamedTuple):
    """Something that was promised to a pond for a day: a dose of a course, or its control."""

    kind: str
    """A code of `store.facts.rules.PROMISES`."""
    due: date
    says: str
    """What it is in a few words, such as `dose 2 of 3`."""
    of: str
    """The course it belongs to, in words."""
    share: str
    """Who is to do it: the practice, or the owner."""
    beside: str = ""
    """What else of the course was to be done and is not, in a sentence; empty for nothing."""


@dataclass(slots=True)
class PondSeen:
    """One pond with what the rules may look at; tests and logger days run from new to old."""

    pond: UUID
    altitude_m: float
    indoor: bool
    every_days: int | None
    seasons: tuple[Season, ...]
    tests: Sequence[PackedTest]
    local_day: DayOf
    """Calendar day in the practice's zone of an instant in epoch milliseconds."""
    local_hour: Callable[[int], float]
    """Hour of the day, 0 up to 24, in the practice's zone of an instant in epoch milliseconds."""
    added: date
    """Day on which the pond was entered."""
    midnight_ms: int
    """Beginning of today in the practice's zone, in epoch milliseconds."""
    logger: Mapping[str, Sequence[LoggerDay]] = field(default_factory=dict)
    """Logger days by parameter code, new to old."""
    last_hours: Mapping[str, Sequence[tuple[int, float]]] = field(default_factory=dict)
    """Logger readings of the last two days by parameter code, old to new."""
    circumstances: Sequence[Circumstance] = ()
    treated: frozenset[str] = frozenset()
    """Codes of hazards against which a course runs; their window rules stay silent."""
    promises: Sequence[Promise] = ()
    """What is still due of running courses."""
    found: Sequence[OpenFinding] = ()
    """What examinations found that nothing has answered yet."""
    ahead: Ahead | None = None
    """An estimate of the temperature by day; None where nothing is known to make one from."""
    grounds: Callable[[], Sequence[str]] = tuple
    """What the estimate rests on, in sentences; asked for only when it is told."""
    losses: Losses | None = None
    """Deaths, signs and what was named at the pond; None where nothing of it was lately."""
    kits: Callable[[], Mapping[int, object]] = dict
    """The kit and batch of each test by its instant in epoch milliseconds, where one is stated;
    asked for only when a change or a trend is about to be told."""
    whole: Callable[[UUID], Sequence[PackedTest]] | None = None
    """Reads the same tests with all their readings, where some came with their temperature only."""
    _unpacked: dict[int, dict[str, float]] = field(default_factory=dict)
    water: object = None
    """What the temperatures come to for the windows, made by the first of them that asks."""
    _daily: list[tuple[int, float]] | None = None
    _texts: str | None = None
    _unread_ms: float = -inf
    _kits: Mapping[int, object] | None = None

    def oldest_ms(self, days: float) -> int:
        """The instant before which a reading is older than that many calendar days."""
        return self.midnight_ms - int(days * DAY_MS)

    def values(self, index: int) -> dict[str, float]:
        """Readings of the test at `index` (0 is the newest): parameter code to stored value."""
        try:
            return self._unpacked[index]
        except KeyError:
            packed = self.tests[index].packed
            if packed is None:
                self.see_whole(self.whole(self.pond) if self.whole else ())
                packed = self.tests[index].packed or "{}"
            found: dict[str, float] = _unpack(packed)[0]
            self._unpacked[index] = found
            return found

    def has(self, index: int, code: str) -> bool:
        """Whether the test at `index` holds that parameter; nothing is unpacked to know it."""
        known = self._unpacked.get(index)
        if known is None and (packed := self.tests[index].packed) is not None:
            return f'"{code}"' in packed
        return code in (self.values(index) if known is None else known)

    def lacks(self, code: str, since_ms: int) -> bool:
        """Whether no test since that instant holds the parameter; False also where it is not
        certain without reading more."""
        if self._texts is None:
            texts = [test.packed for test in self.tests if test.packed is not None]
            self._texts = "".join(texts)
            whole = len(texts) == len(self.tests)
            self._unread_ms = -inf if whole else self.tests[len(texts)].at_ms
        return self._unread_ms < since_ms and f'"{code}"' not in self._texts

    @property
    def is_whole(self) -> bool:
        """Whether every test came with all its readings."""
        return not self.tests or self.tests[-1].packed is not None

    def see_whole(self, tests: Sequence[PackedTest]) -> None:
        """Take the same tests with all their readings."""
        self.tests = tests
        self._texts = None

    def day(self, index: int) -> date:
        """Calendar day of the test at `index`, in the practice's zone."""
        return self.local_day(self.tests[index].at_ms)

    def kit(self, at_ms: int) -> object:
        """Something that stands for the kit and batch of the test of that instant, or None."""
        if self._kits is None:
            self._kits = self.kits()
        return self._kits.get(at_ms)

    def other_kits(self, one_ms: int, other_ms: int) -> bool:
        """Whether the tests of two instants are known to have been made with different kits."""
        one, other = self.kit(one_ms), self.kit(other_ms)
        return one is not None and other is not None and one != other

    def newest_with(self, code: str) -> int | None:
        """The newest test that has the parameter; None when none of those at hand has."""
        for place in range(len(self.tests)):
            if self.has(place, code):
                return place
        return None

    def history(self, code: str) -> list[tuple[int, float]]:
        """All values of a parameter within the tests at hand, old to new, with epoch ms."""
        found = []
        for index in range(len(self.tests) - 1, -1, -1):
            value = self.values(index).get(code)
            if value is not None:
                found.append((self.tests[index].at_ms, value))
        return found

    def daily_temperatures(self) -> list[tuple[int, float]]:
        """Daily mean water temperature [°C] by the day's ordinal, old to new.

        By logger where it has the day, else by tests; several tests of a day count with their mean.
        """
        if self._daily is None:
            ordinal = self.local_day.ordinal
            daily = [
                (ordinal(at_ms), temperature_c)
                for at_ms, temperature_c, _ in reversed(self.tests)
                if temperature_c is not None
            ]
            if len(dict(daily)) < len(daily):
                daily = [(day, fmean(one)) for day, one in _by_day(daily).items()]
            logged = self.logger.get("temperature_c")
            if logged:
                means = dict(daily)
                means.update((one.day.toordinal(), one.mean) for one in logged)
                daily = sorted(means.items())
            self._daily = daily
        return self._daily


def _by_day(values: Sequence[tuple[int, float]]) -> dict[int, list[float]]:
    found: dict[int, list[float]] = {}
    for day, value in values:
        found.setdefault(day, []).append(value)
    return found


class DayOf:
    """Calendar days of instants in one zone, remembered by the half of a day in UTC.

    Midnights of a zone lie at least 23 hours apart, so that at most one of them falls into a half.
    """

    def __init__(self, zone: tzinfo) -> None:
        self._zone = zone
        self._known: dict[int, tuple[int, int, int]] = {}
        """Half to its midnight in epoch milliseconds, and the ordinals before it and from it on."""

    def __call__(self, at_ms: int) -> date:
        """The calendar day of an instant in epoch milliseconds."""
        return date.fromordinal(self.ordinal(at_ms))

    def ordinal(self, at_ms: int) -> int:
        """The calendar day of an instant in epoch milliseconds, by its ordinal."""
        known = self._known.get(at_ms // _HALF_MS)
        midnight_ms, before, after = known or self._half(at_ms)
        return before if at_ms < midnight_ms else after

    def _half(self, at_ms: int) -> tuple[int, int, int]:
        half = at_ms // _HALF_MS
        first = datetime.fromtimestamp(half * _HALF_S, self._zone)
        last = datetime.fromtimestamp((half + 1) * _HALF_S - 1, self._zone)
        before, after = first.date(), last.date()
        if first.utcoffset() != last.utcoffset():
            # A clock put back just after midnight begins the day twice: asked each time.
            day = datetime.fromtimestamp(at_ms // 1000, self._zone).toordinal()
            return at_ms, day, day
        midnight = datetime.combine(after, time(), self._zone).timestamp()
        found = round(midnight * 1000), before.toordinal(), after.toordinal()
        self._known[half] = found
        return found

    def hour(self, at_ms: int) -> float:
        """The hour of the day in the zone, with its fraction."""
        at = datetime.fromtimestamp(at_ms / 1000, self._zone)
        return at.hour + at.minute / 60
