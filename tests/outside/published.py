"""The published values beside these tests: small CSV files, each row with its publication."""

from __future__ import annotations

import csv
from pathlib import Path


def published(name: str) -> list[dict[str, str]]:
    with (Path(__file__).parent / "data" / f"{name}.csv").open(encoding="utf-8") as lines:
        return list(csv.DictReader(lines))


def half_unit(printed: str) -> float:
    """Half a unit of the last printed digit."""
    decimals = len(printed.partition(".")[2])
    return 0.5 * 10.0**-decimals
