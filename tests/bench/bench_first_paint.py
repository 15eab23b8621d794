"""How soon the first screen is painted, beside a bare Textual application.

Run `python -m tests.bench.bench_first_paint BOOK`. Each program is started in a pseudo-terminal of
80×24; the clock stops at the first output that holds a known word of its screen: of ours the
sentence in the middle of the list, which is drawn with everything round it.
"""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import statistics
import struct
import sys
import termios
import time

BARE = """
from textual.app import App
from textual.widgets import Static
class Bare(App):
    def compose(self):
        yield Static("BAREWORD")
Bare().run()
"""
READING = b"Opening the book and looking"
_ESCAPES = re.compile(rb"\x1b(?:\[[0-?]*[ -/]*[@-~]|\][^\x07\x1b]*(?:\x07|\x1b\\)|[@-_])")


def first_paint(command: list[str], word: bytes, patience_s: float = 20.0) -> float:
    """Seconds from the start of a program until a word stands in what it wrote."""
    started = time.perf_counter()
    child, master = pty.fork()
    if child == 0:
        os.environ["TERM"] = "xterm-256color"
        os.environ.pop("PYTHONDONTWRITEBYTECODE", None)  # compiled once, as everybody has it
        os.execv(command[0], command)
    fcntl.ioctl(master, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    written = b""
    painted = float("nan")
    while time.perf_counter() - started < patience_s:
        ready, _, _ = select.select([master], [], [], 0.05)
        if not ready:
            continue
        try:
            written += os.read(master, 65536)
        except OSError:
            break
        if word in _ESCAPES.sub(b"", written):
            painted = time.perf_counter() - started
            break
    os.kill(child, 9)
    os.waitpid(child, 0)
    os.close(master)
    return painted


def main() -> None:
    """Start both programs in turn and print the medians and their ratio."""
    book = sys.argv[1] if len(sys.argv) > 1 else "demo"
    ours = [sys.executable, "-m", "tui", "--book", book, "--as", "nobody"]
    bare = [sys.executable, "-c", BARE]
    first_paint(ours, READING)
    pairs = [(first_paint(ours, READING), first_paint(bare, b"BAREWORD")) for _ in range(9)]
    first, other = (statistics.median(column) for column in zip(*pairs, strict=True))
    print(
        f"first screen {1000 * first:.0f} ms, bare application {1000 * other:.0f} ms: "
        f"ratio {first / other:.2f}"
    )


if __name__ == "__main__":
    main()
