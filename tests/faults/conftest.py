"""What the long runs tell at their end."""

from __future__ import annotations

from typing import Any

from tests.faults.hostile import TALLY


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """How many inputs were tried, and what became of them."""
    if TALLY.kept or TALLY.refused:
        terminalreporter.write_line(TALLY.line())
