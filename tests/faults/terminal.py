"""The application in a real pseudo-terminal."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import signal
import struct
import sys
import termios
import time
from pathlib import Path

_ESCAPES = re.compile(
    rb"\x1b(?:\[[0-?]*[ -/]*[@-~]|\][^\x07\x1b]*(?:\x07|\x1b\\)|P[^\x1b]*\x1b\\|[@-_])"
)
ROOT = Path(__file__).parents[2]


class Terminal:
    """A program in a terminal of its own: type, look at what it writes, resize, end it.

    Parameters
    ----------
    words
        What stands behind `pondround` on the command line.
    home
        Where its drafts and settings are kept.
    """

    def __init__(self, words: list[str], home: Path, columns: int = 80, rows: int = 24) -> None:
        self.home = home
        self.pid, self.master = pty.fork()
        if self.pid == 0:
            os.chdir(ROOT)
            size = struct.pack("HHHH", rows, columns, 0, 0)
            fcntl.ioctl(0, termios.TIOCSWINSZ, size)
            environ = os.environ | {
                "TERM": "xterm-256color", "HOME": str(home), "XDG_STATE_HOME": str(home / "state"),
                "XDG_CONFIG_HOME": str(home / "config"), "XDG_DATA_HOME": str(home / "data"),
            }  # fmt: skip
            os.execve(sys.executable, [sys.executable, "-m", "tui", *words], environ)
        self.written = b""
        self.over = False

    @property
    def drafts(self) -> Path:
        """The file of its drafts."""
        return self.home / "state" / "pondround" / "drafts.json"

    def read(self, seconds: float) -> str:
        """What it writes within a while, without the signs that move and colour."""
        until = time.monotonic() + seconds
        found = b""
        while (left := until - time.monotonic()) > 0 and not self.over:
            ready, _, _ = select.select([self.master], [], [], left)
            if ready:
                try:
                    found += os.read(self.master, 65536)
                except OSError:
                    self.over = True
        self.written += found
        return _ESCAPES.sub(b"", found).decode("utf-8", "replace")

    def wait_for(self, word: str, within_s: float = 60.0) -> str:
        """Read until it has written a word."""
        until = time.monotonic() + within_s
        found = ""
        while word not in found:
            assert not self.over, f"it ended: {found[-3000:]}"
            assert time.monotonic() < until, f"no {word!r} in {found[-3000:]!r}"
            found += self.read(0.05)
        return found

    def type(self, keys: str) -> None:
        """Press keys."""
        os.write(self.master, keys.encode())

    def resize(self, columns: int, rows: int) -> None:
        """As a person drags the corner of the window."""
        fcntl.ioctl(self.master, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))

    def end(self, how: int) -> int:
        """Send a signal and wait; what `waitpid` gives. SIGHUP closes the window as well."""
        os.kill(self.pid, how)
        if how == signal.SIGHUP:
            os.close(self.master)
            self.over = True
        until = time.monotonic() + 20
        while time.monotonic() < until:
            pid, status = os.waitpid(self.pid, os.WNOHANG)
            if pid:
                return status
            if not self.over:
                self.read(0.05)
            else:
                time.sleep(0.05)
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        raise AssertionError(f"signal {how} did not end it")

    def close(self) -> None:
        """Let go of the terminal."""
        if not self.over:
            os.close(self.master)
