"""Values of a logger in order of time, one an instant, without those that are doubted."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from store.exchange.logger.fast import Ints
from store.exchange.logger.keep import instant_of
from store.exchange.logger.left import LISTED, Tally
from store.exchange.logger.lifted import Lifted, find_lifted
from store.exchange.logger.read import Progress, Reading, Tell
from store.exchange.logger.spool import Spool, Table, one_an_instant
from store.water.parameters import PARAMETERS

Lift = Literal["leave", "keep"]
_GAP_STEPS = 3


@dataclass(slots=True)
class Clean:
    """The clean series of one parameter."""

    parameter: str
    spool: Spool = field(default_factory=Spool)
    low: float = 0.0
    high: float = 0.0
    step_ms: int = 0
    """How far apart its values usually are [ms]; 0 for one value."""


@dataclass(slots=True)
class _Gaps:
    """Times in which a logger that writes in even steps wrote nothing."""

    step_ms: int = 0
    n: int = 0
    longest_ms: int = 0
    longest_from: int = 0
    before: int | None = None

    def take(self, block: Table, place: int, tally: Tally) -> None:
        at, lines = block["at"], block["line"]
        if not len(at):
            return
        if self.before is not None:
            at = np.concatenate(([self.before], at))
            lines = np.concatenate(([0], lines))
        self.before = int(at[-1])
        steps = np.diff(at)
        if not len(steps):
            return
        if not self.step_ms:
            self.step_ms = max(1, int(np.median(steps)))
        wide = np.flatnonzero(steps > _GAP_STEPS * self.step_ms)
        self.n += len(wide)
        if len(wide):
            self._list(at, lines, steps, wide, place, tally)
            place = wide[np.argmax(steps[wide])]
            if int(steps[place]) > self.longest_ms:
                self.longest_ms, self.longest_from = int(steps[place]), int(at[place])

    @staticmethod
    def _list(at: Ints, lines: Ints, steps: Ints, wide: Ints, place: int, tally: Tally) -> None:
        first = wide[:LISTED]
        tally.add(
            "gap", len(wide), lines[first + 1].tolist(),
            [f"{instant_of(int(at[one])):%Y-%m-%d %H:%M} to "
             f"{instant_of(int(at[one + 1])):%Y-%m-%d %H:%M} UTC" for one in first],
        )  # fmt: skip
        tally.keep("gap", lines[wide + 1], column=place, when=at[wide], value=steps[wide])

    def told(self, label: str) -> tuple[str, ...]:
        if not self.n:
            return ()
        start, end = instant_of(self.longest_from), instant_of(self.longest_from + self.longest_ms)
        gaps = "1 gap" if self.n == 1 else f"{self.n} gaps, the longest"
        return (
            f"{gaps} in {label} from {start:%Y-%m-%d %H:%M} to {end:%Y-%m-%d %H:%M} UTC; the "
            f"logger writes every {_said(self.step_ms)}.",
        )


def _said(step_ms: int) -> str:
    seconds = step_ms / 1000
    for unit, length in (("d", 86_400), ("h", 3600), ("min", 60)):
        if seconds >= length:
            return f"{seconds / length:.3g} {unit}"
    return f"{seconds:.3g} s"


def clean_series(
    reading: Reading, lifted: Lift, tell: Tell | None = None
) -> tuple[tuple[Clean, ...], tuple[str, ...]]:
    """The clean series of every column that has a value, and what is to be told of gaps.

    Parameters
    ----------
    reading
        A file that was read to its end; its tally is counted up.
    lifted
        Whether values of a logger lifted out of the water are left out or kept.
    tell
        Is called after every block.
    """
    doubted = _lifted(reading)
    found: list[Clean] = []
    told: list[str] = []
    whole = sum(spool.n for spool in reading.spools)
    done = 0
    for place, column in enumerate(reading.how.roles.columns):
        clean, gaps = Clean(column.parameter), _Gaps()
        for block in _kept(reading, place, doubted, lifted):
            if len(block):
                low, high = float(block["value"].min()), float(block["value"].max())
                clean.low = low if not clean.spool.n else min(low, clean.low)
                clean.high = high if not clean.spool.n else max(high, clean.high)
                clean.spool.append(block)
                gaps.take(block, place, reading.tally)
            done += len(block)
            if tell is not None:
                tell(Progress("ordering", done, whole, done))
        clean.step_ms = gaps.step_ms
        if clean.spool.n:
            found.append(clean)
            told += gaps.told(PARAMETERS[column.parameter].label)
    return tuple(found), tuple(told)


def _lifted(reading: Reading) -> Lifted:
    for place, column in enumerate(reading.how.roles.columns):
        spool = reading.spools[place]
        if column.parameter == "temperature_c" and spool.n:
            found = find_lifted(
                (block for block, _ in one_an_instant(spool)), spool.first_at, spool.last_at
            )
            reading.tally.add(
                "jump", len(found.jumps), [0] * min(5, len(found.jumps)),
                [f"{instant_of(at):%Y-%m-%d %H:%M} UTC" for at in found.jumps[:5]],
            )  # fmt: skip
            return found
    return Lifted(np.empty(0, np.int64), np.empty(0, np.int64), ())


def _kept(reading: Reading, place: int, doubted: Lifted, lifted: Lift) -> Iterator[Table]:
    for block, again in one_an_instant(reading.spools[place]):
        _count(reading, place, "again", again)
        within = doubted.within(block["at"])
        if lifted == "leave" and within.any():
            _count(reading, place, "lifted", block[within])
            yield block[~within]
        else:
            yield block


def _count(reading: Reading, place: int, reason: str, rows: Table) -> None:
    if not len(rows):
        return
    parameter = PARAMETERS[reading.how.roles.columns[place].parameter]
    listed = rows[:LISTED]
    reading.tally.keep(
        reason, rows["line"], column=place, when=rows["at"], value=rows["value"]
    )  # fmt: skip
    reading.tally.add(
        reason, len(rows), [int(row["line"]) for row in listed],
        [f"{instant_of(int(row['at'])):%Y-%m-%d %H:%M:%S} UTC, "
         f"{parameter.shown_with_unit(float(row['value']))}" for row in listed],
    )  # fmt: skip
