"""A water test as the caseload query hands it over."""

from __future__ import annotations

from typing import NamedTuple


class PackedTest(NamedTuple):
    """One water test with its readings still packed."""

    at_ms: int
    """When the water was taken, in milliseconds since 1970 (UTC)."""
    temperature_c: float | None
    packed: str | None
    """A JSON object of parameter code to stored value, on the cautious side; None where the
    readings were not asked for yet."""
