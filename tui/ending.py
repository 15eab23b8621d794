"""Leaving in order where the system ends the application, as when the machine shuts down.

What is typed is on the disk as a draft already, letter by letter. What is being saved is waited for
a while, so that it is not offered again as if it had not been saved.
"""

from __future__ import annotations

import asyncio
import os
import signal
import sys
from collections.abc import Iterator
from contextlib import suppress
from typing import Any

from textual.app import App

from tui.asking import outage_of

SAVING_S = 5.0
"""How long it is waited for what is being saved [s]."""
_LOOKED_AGAIN_S = 0.05
_BY_SIGNAL = 128
"""Exit codes above this one name a signal, as shells do."""


class Ending:
    """Listens to the signals that end a program: asked once it leaves in order, twice at once.

    Parameters
    ----------
    app
        The application.
    """

    def __init__(self, app: App[Any]) -> None:
        self._app = app
        self._leaving: asyncio.Task[None] | None = None

    def listen(self) -> None:
        """Hear of them from now on; called where the application runs."""
        loop = asyncio.get_running_loop()
        for how in _signals():
            with suppress(NotImplementedError, RuntimeError, ValueError):  # not on this system
                loop.add_signal_handler(how, self.asked, how)

    def asked(self, how: signal.Signals) -> None:
        """The system ends the application.

        Parameters
        ----------
        how
            The signal.
        """
        loop = asyncio.get_running_loop()
        for one in _signals():
            with suppress(NotImplementedError, RuntimeError, ValueError):
                loop.remove_signal_handler(one)
        if how != signal.SIGTERM and not _terminal_is_there():
            os.kill(os.getpid(), how)  # nothing is left to be put in order: as it always ends
            return
        self._leaving = loop.create_task(self.leave(_BY_SIGNAL + how))

    async def leave(self, code: int) -> None:
        """Leave once nothing is being saved, or after a while.

        Parameters
        ----------
        code
            The exit code.
        """
        loop, outage = asyncio.get_running_loop(), outage_of(self._app)
        until = loop.time() + SAVING_S
        while outage.saving and loop.time() < until:
            await asyncio.sleep(_LOOKED_AGAIN_S)
        await asyncio.sleep(_LOOKED_AGAIN_S)  # whoever saved forgets the draft
        self._app.exit(code)


def _signals() -> Iterator[signal.Signals]:
    """Those that are not ignored, as a shell can begin a program that outlives its window."""
    for name in ("SIGTERM", "SIGHUP"):
        how = getattr(signal.Signals, name, None)
        if how is not None and signal.getsignal(how) is not signal.SIG_IGN:
            yield how


def _terminal_is_there() -> bool:
    import termios

    try:
        termios.tcgetattr(sys.__stdin__.fileno())  # type: ignore[union-attr]
    except (termios.error, OSError, ValueError, AttributeError):
        return False
    return True
