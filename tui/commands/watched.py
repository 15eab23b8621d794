"""A search at the command line: a clock on standard error, ctrl-C that keeps the best so far."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Callable
from typing import Generic, TypeVar

from store.rounds.solving.halt import Halt

T = TypeVar("T")
Say = Callable[[str], None]
"""Is given what stands beside the clock, in a few words."""
TICK_S = 0.2
STOPPING = "stopping; the best so far is kept"
_WIDTH = 79


class _Search(threading.Thread, Generic[T]):
    """The search in a thread of its own: the main one hears ctrl-C."""

    def __init__(self, search: Callable[[Halt, Say], T]) -> None:
        super().__init__(daemon=True)
        self.halt, self.says = Halt(), ""
        # Joining a thread is not safe against ctrl-C: Python 3.11 then takes it for ended.
        self.ended = threading.Event()
        self.found: list[T] = []
        self.trouble: BaseException | None = None
        self._search = search

    def run(self) -> None:
        try:
            self.found.append(self._search(self.halt, self._say))
        except BaseException as error:  # told in the thread that waits
            self.trouble = error
        finally:
            self.ended.set()

    def _say(self, text: str) -> None:
        self.says = text


def watched(
    search: Callable[[Halt, Say], T], what: str = "planning", stopping: str = STOPPING
) -> tuple[T, bool]:
    """Run a search; in a terminal with a clock on standard error, ctrl-C ends it.

    Parameters
    ----------
    search
        Is given what ends it, and a way to tell of the best so far.
    what
        The word before the clock.
    stopping
        What stands beside it once it is being ended.

    Returns
    -------
    tuple
        What was found, and whether it was ended by ctrl-C.

    Notes
    -----
    A second ctrl-C waits as well: a search that is left behind in its library ends the interpreter
    with a fault of its own.
    """
    thread, shows = _Search(search), sys.stderr.isatty()
    begun, stopped = time.monotonic(), False
    thread.start()
    try:
        while not thread.ended.is_set():
            try:
                if not thread.ended.wait(TICK_S) and shows:
                    _tick(what, time.monotonic() - begun, stopping if stopped else thread.says)
            except KeyboardInterrupt:
                stopped = True
                thread.halt.stop()
    finally:
        if shows:
            sys.stderr.write("\r\x1b[2K")
            sys.stderr.flush()
    if thread.trouble is not None:
        raise thread.trouble
    return thread.found[0], stopped


def _tick(what: str, seconds: float, says: str) -> None:
    beside = f"; {says}" if says else ""
    said = f"{what}, {seconds:.0f} s{beside} (ctrl-C ends it)"
    sys.stderr.write(f"\r\x1b[2K{said[:_WIDTH]}")
    sys.stderr.flush()
