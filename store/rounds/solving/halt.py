"""Ending a search from outside, and being told of what it finds."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Lock


class Halt:
    """Ends whatever search it was given to; the best so far is kept.

    `stop` may be called from another thread, before the search or at any time in it.
    """

    def __init__(self) -> None:
        self._lock = Lock()
        self._running: list[Callable[[], None]] = []
        self._stopped = False

    @property
    def stopped(self) -> bool:
        """Whether the search is to end."""
        return self._stopped

    def stop(self) -> None:
        """End the search."""
        with self._lock:
            self._stopped = True
            running = tuple(self._running)
        for end in running:
            end()

    @contextmanager
    def ends(self, end: Callable[[], None]) -> Iterator[None]:
        """While inside, `stop` calls a function that ends what is running."""
        with self._lock:
            self._running.append(end)
        try:
            yield
        finally:
            with self._lock:
                self._running.remove(end)
