"""Values of a logger on their way: kept beside the memory, in order of time, one an instant."""

from __future__ import annotations

import tempfile
import weakref
from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

Table = NDArray[Any]
VALUE = np.dtype([("at", "<i8"), ("line", "<i8"), ("value", "<f8")])
BLOCK = 100_000
_IN_MEMORY = 500_000


class Spool:
    """Rows in a file without a name, which is gone when nobody holds it any more.

    Parameters
    ----------
    kind
        What a row holds; `at` among it, by which rows are put in order.
    """

    def __init__(self, kind: np.dtype[Any] = VALUE) -> None:
        self.kind = kind
        self._file = tempfile.TemporaryFile()  # noqa: SIM115 - lives as long as the spool
        weakref.finalize(self, self._file.close)
        self.n = 0
        self.sorted = True
        self.first_at = 0
        self.last_at = 0
        self._newest = 0

    def append(self, rows: Table) -> None:
        """Add rows behind the others.

        Parameters
        ----------
        rows
            Of the spool's type.
        """
        if not len(rows):
            return
        at = rows["at"]
        if self.sorted:
            follows = not self.n or int(at[0]) > self._newest
            self.sorted = follows and bool((at[1:] > at[:-1]).all())
        self._newest = int(at[-1])
        low, high = int(at.min()), int(at.max())
        self.first_at = low if not self.n else min(self.first_at, low)
        self.last_at = high if not self.n else max(self.last_at, high)
        self._file.seek(self.n * self.kind.itemsize)
        self._file.write(np.ascontiguousarray(rows).tobytes())
        self.n += len(rows)

    def blocks(self, rows_each: int = BLOCK) -> Iterator[Table]:
        """The rows in the order in which they were added.

        Parameters
        ----------
        rows_each
            How many at a time.
        """
        for start in range(0, self.n, rows_each):
            self._file.seek(start * self.kind.itemsize)
            raw = self._file.read(min(rows_each, self.n - start) * self.kind.itemsize)
            yield np.frombuffer(raw, self.kind)

    def in_order(self, rows_each: int = BLOCK) -> Iterator[Table]:
        """The rows by time; of those of one instant in the order in which they were added.

        Rows out of order are sorted in stretches of time, so that memory does not grow with them.

        Parameters
        ----------
        rows_each
            How many at a time, about.
        """
        if self.sorted:
            yield from self.blocks(rows_each)
            return
        parts = -(-self.n // _IN_MEMORY)
        edges = self._edges(parts)
        spools = [Spool(self.kind) for _ in range(parts)]
        for block in self.blocks() if parts > 1 else ():
            which = np.searchsorted(edges, block["at"], side="right")
            for part in np.unique(which):
                spools[int(part)].append(block[which == part])
        for spool in spools if parts > 1 else [self]:
            rows = np.concatenate(list(spool.blocks())) if spool.n else np.empty(0, self.kind)
            rows = rows[np.argsort(rows["at"], kind="stable")]
            for start in range(0, len(rows), rows_each):
                yield rows[start : start + rows_each]

    def _edges(self, parts: int) -> NDArray[np.int64]:
        """Instants that part the rows into stretches of about the same number."""
        if parts < 2:
            return np.empty(0, np.int64)
        step = max(1, self.n // 50_000)
        sample = np.sort(np.concatenate([block["at"][::step] for block in self.blocks()]))
        places = (np.arange(1, parts) * len(sample)) // parts
        return np.asarray(sample[places], np.int64)


def one_an_instant(spool: Spool) -> Iterator[tuple[Table, Table]]:
    """The rows by time, of those of one instant the first; and those that were passed over.

    Parameters
    ----------
    spool
        The rows in the order of the file.
    """
    before: int | None = None
    for block in spool.in_order():
        at = block["at"]
        again = np.zeros(len(block), np.bool_)
        again[1:] = at[1:] == at[:-1]
        again[0] = before is not None and int(at[0]) == before
        before = int(at[-1])
        yield (block[~again], block[again]) if again.any() else (block, block[:0])
