"""A logger lifted out of the water: the temperature jumps to that of the air, and jumps back.

A pond holds its heat: 3 °C within half an hour, and 2 °C more for every further hour, is more than
sun, rain and night do to it (common practice, without a publication). What lies between such a jump
and the jump back to about the level before is doubted, never taken away silently.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from store.exchange.logger.spool import VALUE, Table

_MINUTE_MS = 60_000
_WINDOW_MS = 30 * _MINUTE_MS
_FARTHEST_MS = 180 * _MINUTE_MS
_LONGEST_MS = 48 * 60 * _MINUTE_MS
_JUMP_C = 3.0
_MORE_C_PER_H = 2.0
_LEVEL_C = 0.5
"""So near to a level counts as being at it [°C]."""
_BACK_C = 1.0
_BACK_SHARE = 0.3
_MOST_EDGES = 20_000
_LOOK_AHEAD = 200


@dataclass(frozen=True, slots=True)
class Edge:
    """One jump: the first row off the level before, the last row off the level after."""

    first_ms: int
    last_ms: int
    base_c: float
    settled_c: float
    jump_c: float


@dataclass(frozen=True, slots=True)
class Lifted:
    """Stretches of time in which the values are doubted, first and last instant [ms]."""

    first_ms: NDArray[np.int64]
    last_ms: NDArray[np.int64]
    jumps: tuple[int, ...]
    """Instants of jumps without a way back [ms]."""

    def within(self, at_ms: NDArray[np.int64]) -> NDArray[np.bool_]:
        """Which instants lie in one of the stretches.

        Parameters
        ----------
        at_ms
            Instants [ms since 1970].
        """
        if not len(self.first_ms):
            return np.zeros(len(at_ms), np.bool_)
        place = np.searchsorted(self.first_ms, at_ms, side="right") - 1
        return (place >= 0) & (at_ms <= self.last_ms[np.maximum(place, 0)])


def find_lifted(blocks: Iterable[Table], first_ms: int, last_ms: int) -> Lifted:
    """Where a series of water temperature jumps away and back.

    Parameters
    ----------
    blocks
        Rows of the type `VALUE` by time, one an instant, values in °C.
    first_ms, last_ms
        The first and last instant of the series [ms].

    Returns
    -------
    Lifted
        Stretches of two days at the most; nothing where the series jumps all the time.
    """
    edges = _edges(blocks)
    if len(edges) >= _MOST_EDGES:
        return Lifted(np.empty(0, np.int64), np.empty(0, np.int64), ())
    spans, jumps = _paired(edges, first_ms, last_ms)
    spans.sort()
    joined: list[tuple[int, int]] = []
    for start, end in spans:
        if joined and start <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        else:
            joined.append((start, end))
    return Lifted(
        np.array([one[0] for one in joined], np.int64),
        np.array([one[1] for one in joined], np.int64),
        tuple(jumps),
    )


def _paired(
    edges: Sequence[Edge], first_ms: int, last_ms: int
) -> tuple[list[tuple[int, int]], list[int]]:
    spans, jumps = [], []
    place = 0
    while place < len(edges):
        edge = edges[place]
        back = _way_back(edges, place)
        if back is not None:
            spans.append((edge.first_ms, edges[back].last_ms))
            place = back + 1
            continue
        before, behind = edge.first_ms - first_ms, last_ms - edge.first_ms
        if behind <= _LONGEST_MS and before >= 2 * behind:
            spans.append((edge.first_ms, last_ms))
            break
        if before <= _LONGEST_MS and behind >= 2 * before and not spans:
            spans.append((first_ms, edge.last_ms))
        else:
            jumps.append(edge.first_ms)
        place += 1
    return spans, jumps


def _way_back(edges: Sequence[Edge], place: int) -> int | None:
    edge = edges[place]
    near = max(_BACK_C, _BACK_SHARE * abs(edge.jump_c))
    for other in range(place + 1, min(place + 1 + _LOOK_AHEAD, len(edges))):
        back = edges[other]
        if back.last_ms - edge.first_ms > _LONGEST_MS:
            return None
        if back.jump_c * edge.jump_c < 0 and abs(back.settled_c - edge.base_c) <= near:
            return other
    return None


def _edges(blocks: Iterable[Table]) -> list[Edge]:
    found: list[Edge] = []
    carry = np.empty(0, VALUE)
    scanned_ms: int | None = None
    for block in blocks:
        rows = np.concatenate((carry, block)) if len(carry) else block
        carry, scanned_ms = _scan(rows, scanned_ms, found, last=False)
        if len(found) >= _MOST_EDGES:
            return found
    if len(carry):
        _scan(carry, scanned_ms, found, last=True)
    return found


def _scan(
    rows: Table, scanned_ms: int | None, found: list[Edge], *, last: bool
) -> tuple[Table, int | None]:
    """Add the jumps that are over; give the rows that are needed again, and how far this went."""
    at, value = rows["at"], rows["value"]
    n = len(at)
    index = np.arange(n)
    since = np.searchsorted(at, at - _WINDOW_MS)
    since = np.maximum(np.where(since == index, index - 1, since), 0)
    apart = at - at[since]
    change = value - value[since]
    limit = _JUMP_C + _MORE_C_PER_H * np.maximum(0, apart - _WINDOW_MS) / (60 * _MINUTE_MS)
    fast = (np.abs(change) >= limit) & (apart <= _FARTHEST_MS)
    if scanned_ms is not None:
        fast &= at > scanned_ms
    sign = np.where(fast, np.sign(change), 0)
    keep_from = int(np.searchsorted(at, at[-1] - _FARTHEST_MS))
    scanned = int(at[-1])
    if fast.any():
        edges = np.flatnonzero(np.diff(sign, prepend=0, append=0))
        for start, end in pairwise(edges):
            if sign[start] == 0:
                continue
            if end == n and not last:
                keep_from = min(keep_from, int(since[start]))
                scanned = int(at[start]) - 1
                break
            found.append(_edge(at, value, change, int(since[start]), int(start), int(end) - 1))
    return rows[keep_from:], scanned


def _edge(
    at: NDArray[np.int64],
    value: NDArray[np.float64],
    change: NDArray[np.float64],
    base: int,
    start: int,
    end: int,
) -> Edge:
    leaving = np.flatnonzero(np.abs(value[base + 1 : start + 1] - value[base]) > _LEVEL_C)
    first = base + 1 + int(leaving[0]) if len(leaving) else start
    coming = np.flatnonzero(np.abs(value[base : end + 1] - value[end]) > _LEVEL_C)
    behind = base + int(coming[-1]) if len(coming) else start
    run = change[start : end + 1]
    return Edge(
        int(at[first]), int(at[behind]), float(value[base]), float(value[end]),
        float(run[np.argmax(np.abs(run))]),
    )  # fmt: skip
