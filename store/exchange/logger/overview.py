"""The clean series of a logger as a person looks at it: range, median, few points, what is gone."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from store.exchange.logger.clean import Clean
from store.exchange.logger.csv_file import LoggerPlan
from store.exchange.logger.keep import instant_of
from store.exchange.logger.left import NO_TIME, REASONS
from store.exchange.logger.spool import Spool, Table
from store.water.parameters import PARAMETERS

_BINS = 8192
_DRAWN = frozenset({"lifted", "marked"})
"""Left-out values that water could have had: they are drawn beside the series."""
_NAMED = {
    "gap": "gap", "lifted": "lifted out", "nothing": "no probe", "impossible": "impossible",
    "marked": "bad", "missing": "missing", "twice": "double", "again": "double",
    "doubled": "clock back", "jump": "jump",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Gone:
    """Values of one reason from one place of the chart to the next without any: where it begins."""

    at: datetime
    """On the practice's clock, without a zone."""
    word: str
    n: int


@dataclass(frozen=True, slots=True)
class SeriesSeen:
    """A series in the unit in which it is shown; times on the practice's clock, without a zone."""

    parameter: str
    label: str
    unit: str
    decimals: int
    n: int
    first: datetime
    last: datetime
    step_s: float
    """How far apart its values usually are [s]; 0 for one value."""
    low: float
    median: float
    high: float
    points: tuple[tuple[datetime, float], ...]
    """The lowest and the highest of every stretch of time."""
    doubted: tuple[tuple[datetime, float], ...]
    """The same of values that were left out and that water could have had."""
    gone: tuple[Gone, ...]
    start: datetime
    end: datetime
    """From the first to the last value, left-out ones that water could have had among them."""
    gap_days: float
    """No line is drawn over more than this [d]."""


def series_seen(planned: LoggerPlan, place: int, stretches: int = 160) -> SeriesSeen:
    """One of the series as a person looks at it.

    Parameters
    ----------
    planned
        From `read_logger`.
    place
        Which of its clean series, counted from 0.
    stretches
        Into how many stretches of time the points are gathered.

    Returns
    -------
    SeriesSeen
        The median is exact; of an even number of values it is the mean of the two in the middle.
    """
    clean = planned.clean[place]
    parameter = PARAMETERS[clean.parameter]
    spool, per = clean.spool, parameter.per_shown
    column = next(
        at for at, one in enumerate(planned.how.roles.columns) if one.parameter == clean.parameter
    )

    start, end = _reach(planned.tally.listed, column, spool)
    span = max(1, end - start)

    def local(ms: int) -> datetime:
        return instant_of(ms).astimezone(planned.zone).replace(tzinfo=None)

    doubted, gone = _gone(planned.tally.listed, column, start, span, stretches)
    return SeriesSeen(
        clean.parameter, parameter.label, parameter.shown_unit, parameter.decimals, spool.n,
        local(spool.first_at), local(spool.last_at), clean.step_ms / 1000, clean.low / per,
        median_of(clean) / per, clean.high / per,
        tuple((local(at), value / per) for at, value in _ends(spool, start, span, stretches)),
        tuple((local(at), value / per) for at, value in doubted),
        tuple(Gone(local(at), word, n) for at, word, n in gone),
        local(start), local(end),
        max(3 * clean.step_ms, 2.5 * span / stretches) / 86_400_000,
    )  # fmt: skip


def median_of(clean: Clean) -> float:
    """The median of a series [stored unit], found in two passes in little memory.

    Parameters
    ----------
    clean
        A series of at least one value.
    """
    low, high = clean.low, clean.high
    if not high > low:
        return low
    counts = np.zeros(_BINS, np.int64)
    for block in clean.spool.blocks():
        counts += np.bincount(_bin(block["value"], low, high), minlength=_BINS)
    before = np.concatenate(([0], np.cumsum(counts)))
    ranks = ((clean.spool.n - 1) // 2, clean.spool.n // 2)
    bins = [int(np.searchsorted(before, rank, side="right")) - 1 for rank in ranks]
    near: Counter[float] = Counter()
    for block in clean.spool.blocks():
        which = _bin(block["value"], low, high)
        kinds, each = np.unique(
            block["value"][(which >= bins[0]) & (which <= bins[1])], return_counts=True
        )
        near.update(dict(zip(kinds.tolist(), each.tolist(), strict=True)))
    found = [_ranked(near, rank - int(before[bins[0]])) for rank in ranks]
    return sum(found) / 2


def _bin(values: NDArray[np.float64], low: float, high: float) -> NDArray[np.int64]:
    share = (values - low) / (high - low)
    return np.minimum((share * _BINS).astype(np.int64), _BINS - 1)


def _ranked(near: Counter[float], rank: int) -> float:
    for value in sorted(near):
        if rank < near[value]:
            return value
        rank -= near[value]
    raise AssertionError(rank)  # pragma: no cover - the ranks are of these values


def _reach(listed: Spool, column: int, spool: Spool) -> tuple[int, int]:
    """The first and the last instant to be drawn [ms]: a logger is carried to the pond and back."""
    first, last = spool.first_at, spool.last_at
    drawn = [REASONS.index(reason) for reason in _DRAWN]
    for block in listed.blocks():
        some = block[(block["column"] == column) & np.isin(block["reason"], drawn)]["when"]
        if len(some):
            first, last = min(first, int(some.min())), max(last, int(some.max()))
    return first, last


def _ends(spool: Spool, first: int, span: int, stretches: int) -> list[tuple[int, float]]:
    """The lowest and highest value of every stretch of time, by time."""
    ends: dict[int, tuple[tuple[int, float], tuple[int, float]]] = {}
    for block in spool.blocks():
        _add_ends(ends, block["at"], block["value"], first, span, stretches)
    return _in_order(ends)


def _add_ends(
    ends: dict[int, tuple[tuple[int, float], tuple[int, float]]],
    at: NDArray[np.int64], value: NDArray[np.float64], first: int, span: int, stretches: int,
) -> None:  # fmt: skip
    which = np.clip((at - first) * stretches // (span + 1), 0, stretches - 1)
    edges = np.flatnonzero(np.diff(which, prepend=-1, append=-1))
    for start, end in pairwise(edges):
        part = value[start:end]
        lowest, highest = int(start + part.argmin()), int(start + part.argmax())
        low = (int(at[lowest]), float(value[lowest]))
        high = (int(at[highest]), float(value[highest]))
        known = ends.get(int(which[start]))
        if known is not None:
            low = min(low, known[0], key=lambda one: one[1])
            high = max(high, known[1], key=lambda one: one[1])
        ends[int(which[start])] = (low, high)


def _in_order(
    ends: dict[int, tuple[tuple[int, float], tuple[int, float]]],
) -> list[tuple[int, float]]:
    return sorted({point for pair in ends.values() for point in pair})


def _gone(
    listed: Spool, column: int, first: int, span: int, stretches: int
) -> tuple[list[tuple[int, float]], list[tuple[int, str, int]]]:
    """What was left out of a series: values for the chart, and where of each reason begins."""
    doubted: dict[int, tuple[tuple[int, float], tuple[int, float]]] = {}
    counts: dict[str, Counter[int]] = {}
    for block in listed.blocks():
        of = (block["column"] == column) | (block["column"] == -1)
        known = block[of & (block["when"] != NO_TIME)]
        within = known[(known["when"] >= first) & (known["when"] <= first + span)]
        for reason in np.unique(within["reason"]):
            name = REASONS[reason]
            if name not in _NAMED:
                continue
            some: Table = within[within["reason"] == reason]
            which = (some["when"] - first) * stretches // (span + 1)
            kinds, each = np.unique(which, return_counts=True)
            counts.setdefault(_NAMED[name], Counter()).update(
                dict(zip(kinds.tolist(), each.tolist(), strict=True))
            )
            if name in _DRAWN:
                some = some[np.argsort(some["when"], kind="stable")]
                _add_ends(doubted, some["when"], some["value"], first, span, stretches)
    gone = [
        (first + start * (span + 1) // stretches, word, n)
        for word, of_place in counts.items()
        for start, n in _stretches(of_place)
    ]
    return _in_order(doubted), sorted(gone)


def _stretches(counts: Counter[int]) -> list[tuple[int, int]]:
    """Neighbouring places of one reason as one: where it begins, and how many."""
    found: list[tuple[int, int]] = []
    before: int | None = None
    for place in sorted(counts):
        if before is not None and place == before + 1:
            found[-1] = (found[-1][0], found[-1][1] + counts[place])
        else:
            found.append((place, counts[place]))
        before = place
    return found
