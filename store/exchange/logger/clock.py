"""A logger's own clock turned into instants, and whether it followed the changes of local time."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, time, timedelta, tzinfo
from typing import Literal

import numpy as np

from store.exchange.logger.fast import Ints, Marks
from store.exchange.logger.stamps import DAY_MS
from store.exchange.logger.zones import NO_OFFSET

_EPOCH = datetime(1970, 1, 1)  # noqa: DTZ001 - a clock on a wall has no zone
_HOUR_MS = 3_600_000
Verdict = Literal["offset", "no change", "followed", "kept", "unknown"]


@dataclass(slots=True)
class Change:
    """A day on which the clock of the zone changed, and the rows of the file near that hour."""

    day: int
    forward: bool
    first_ms: int
    behind_ms: int
    """The hour that is skipped or shown twice, on the wall [ms]."""
    before: int = 0
    within: int = 0
    after: int = 0
    second: int = 0
    """Rows of the hour shown twice that were taken as its second passing."""


@dataclass(slots=True)
class Resolved:
    """Instants of rows; those that are skipped stand in an hour that no clock showed."""

    at_ms: Ints
    skipped: Marks
    doubled: Marks


@dataclass(slots=True)
class Clock:
    """Turns the times of a file into instants, in the order of the file.

    `zone` is where a time without an offset was read; a fixed offset is a zone without changes.
    """

    zone: tzinfo
    until_ms: int
    """What is later lies ahead and tells nothing [ms]."""
    shift_days: int = 0
    descending: bool = False
    changes: dict[int, Change] = field(default_factory=dict)
    local_rows: int = 0
    """Rows with a time of day and without an offset of their own."""
    first_wall_ms: int | None = None
    last_wall_ms: int | None = None
    _offsets: dict[int, int | None] = field(default_factory=dict)
    _before_ms: int | None = None

    def resolve(self, wall_ms: Ints, offset_min: Ints, has_clock: Marks) -> Resolved:
        """The instants of rows that follow those of the last call.

        Parameters
        ----------
        wall_ms
            Calendar and clock of the rows [ms].
        offset_min
            Their own offsets from UTC [min], `NO_OFFSET` where they name none.
        has_clock
            Whether they say a time of day; a day alone stands for its noon.
        """
        wall = wall_ms + self.shift_days * DAY_MS + np.where(has_clock, 0, DAY_MS // 2)
        at = wall - offset_min * 60_000
        skipped = np.zeros(len(wall), np.bool_)
        doubled = np.zeros(len(wall), np.bool_)
        local = offset_min == NO_OFFSET
        if local.any():
            days, which = np.unique(wall[local] // DAY_MS, return_inverse=True)
            offsets = [self._offset_of(int(day)) for day in days]
            known = np.array([0 if one is None else one for one in offsets], np.int64)
            at[local] = wall[local] - known[which]
            careful = np.zeros(len(wall), np.bool_)
            careful[local] = np.array([one is None for one in offsets], np.bool_)[which]
            for row in np.flatnonzero(careful):
                before = self._before_ms if row == 0 else self._last(at, skipped, int(row))
                at[row] = self._one(int(wall[row]), before, skipped, doubled, int(row))
        self._note(wall[local & has_clock & (at <= self.until_ms)])
        kept = np.flatnonzero(~skipped)
        if len(kept):
            self._before_ms = int(at[kept[-1]])
        return Resolved(at, skipped, doubled)

    def _last(self, at: Ints, skipped: Marks, row: int) -> int | None:
        while row > 0:
            row -= 1
            if not skipped[row]:
                return int(at[row])
        return self._before_ms

    def _note(self, wall: Ints) -> None:
        if not len(wall):
            return
        self.local_rows += len(wall)
        low, high = int(wall.min()), int(wall.max())
        self.first_wall_ms = low if self.first_wall_ms is None else min(low, self.first_wall_ms)
        self.last_wall_ms = high if self.last_wall_ms is None else max(high, self.last_wall_ms)

    def _offset_of(self, day: int) -> int | None:
        """The offset of a whole day on the wall [ms], or None where it changes."""
        if day not in self._offsets:
            start = _EPOCH + timedelta(days=day)
            ends = [
                _offset_ms(start + timedelta(days=more), self.zone, fold)
                for more in (0, 1)
                for fold in (0, 1)
            ]
            self._offsets[day] = ends[0] if len(set(ends)) == 1 else None
            if self._offsets[day] is None:
                self._add_change(day, ends[0], ends[-1])
        return self._offsets[day]

    def _add_change(self, day: int, before: int, after: int) -> None:
        """Find the hour that is skipped or shown twice, to the minute."""
        low, high = day * 1440 - 180, (day + 1) * 1440 + 180
        minutes = [
            minute
            for minute in range(low, high)
            if _offset_ms(_wall(minute * 60_000), self.zone, 0)
            != _offset_ms(_wall(minute * 60_000), self.zone, 1)
        ]
        if minutes and before != after:
            self.changes[day] = Change(
                day, after > before, minutes[0] * 60_000, (minutes[-1] + 1) * 60_000
            )

    def _one(self, wall: int, before: int | None, skipped: Marks, doubled: Marks, row: int) -> int:
        said = _wall(wall)
        first = wall - _offset_ms(said, self.zone, 0)
        second = wall - _offset_ms(said, self.zone, 1)
        change = self.changes.get(wall // DAY_MS)
        near = None if change is None else _near(wall, change)
        if change is not None and near == "before":
            change.before += 1
        elif change is not None and near == "after":
            change.after += 1
        if first == second:
            return first
        if change is not None:
            change.within += 1
        if second < first:  # in a gap the later fold has the smaller instant
            skipped[row] = True
            return first
        doubled[row] = True
        if self.descending:
            late = before is None or before > second
        else:
            late = before is not None and before >= first
        if change is not None:
            change.second += late
        return second if late else first

    def verdict(self) -> tuple[Verdict, tuple[Change, ...]]:
        """What the rows tell of how the logger's clock was kept, and the changes in their time."""
        if not self.local_rows or self.first_wall_ms is None or self.last_wall_ms is None:
            return "offset", ()
        spanned = self._spanned(self.first_wall_ms, self.last_wall_ms)
        if not spanned:
            return "no change", ()
        seen = [self.changes[day] for day in spanned if day in self.changes]
        followed = [one for one in seen if _followed(one)]
        kept = [one for one in seen if _kept(one)]
        if followed:
            return "followed", tuple(seen)
        return ("kept" if kept else "unknown"), tuple(seen)

    def _spanned(self, first_ms: int, last_ms: int) -> list[int]:
        days = range(first_ms // DAY_MS, last_ms // DAY_MS + 1)
        changing = [day for day in days if self._offset_of(day) is None]
        # A change before the first or after the last row does not matter.
        return [
            day
            for day in changing
            if day in self.changes
            and self.changes[day].first_ms <= last_ms
            and self.changes[day].behind_ms > first_ms
        ]


def _near(wall: int, change: Change) -> str:
    if change.first_ms - _HOUR_MS <= wall < change.first_ms:
        return "before"
    if change.behind_ms <= wall < change.behind_ms + _HOUR_MS:
        return "after"
    return ""


def _followed(change: Change) -> bool:
    """The rows leave out the skipped hour, or run through the doubled one twice."""
    if change.forward:
        return bool(change.before and change.after and not change.within)
    return 0 < change.second < change.within


def _kept(change: Change) -> bool:
    """The rows run through the skipped hour, or only once through the doubled one."""
    if change.forward:
        return change.within > 0
    return bool(change.before and change.after and change.within and not change.second)


def _wall(ms: int) -> datetime:
    return _EPOCH + timedelta(milliseconds=ms)


def _offset_ms(wall: datetime, zone: tzinfo, fold: int) -> int:
    offset = wall.replace(tzinfo=zone, fold=fold).utcoffset()
    return 0 if offset is None else round(offset.total_seconds() * 1000)


def midnights(first_ms: int, last_ms: int, zone: tzinfo) -> tuple[list[int], Ints]:
    """The calendar days that instants fall on, and the instants at which they begin.

    Parameters
    ----------
    first_ms, last_ms
        Instants [ms since 1970].
    zone
        The practice's time zone.

    Returns
    -------
    list of int, array
        Days since 1970, and the beginnings of these and of the day behind them [ms].
    """
    day = (_EPOCH.replace(tzinfo=UTC) + timedelta(milliseconds=first_ms)).astimezone(zone).date()
    ordinal = day.toordinal() - _EPOCH.toordinal()
    days: list[int] = []
    begins: list[int] = []
    while True:
        wall = datetime.combine(_EPOCH.date() + timedelta(days=ordinal), time(), zone)
        begin = (wall.astimezone(UTC) - _EPOCH.replace(tzinfo=UTC)) // timedelta(milliseconds=1)
        begins.append(begin)
        if begin > last_ms:
            return days, np.array(begins, np.int64)
        days.append(ordinal)
        ordinal += 1
