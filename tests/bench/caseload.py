"""A large invented caseload, for measuring: ponds with years of weekly tests, in one file.

Written straight into the tables of an SQLite book, as an import of years would fill them; the
numbers are invented and seeded.
"""

from __future__ import annotations

import math
import random
import sqlite3
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import UUID

from store.book.keys import new_key
from store.book.opening import open_book
from store.book.practice import begin

PARAMETERS = {
    "temperature_c": (2.0, 26.0), "ph": (7.2, 8.2), "tan_mg_l": (0.0, 0.25),
    "nitrite_mg_l": (0.0, 0.15), "nitrate_mg_l": (5.0, 38.0), "alkalinity_mg_l": (80.0, 150.0),
    "hardness_mg_l": (110.0, 240.0), "oxygen_mg_l": (7.0, 10.5), "salinity_g_l": (0.1, 0.4),
    "chloride_mg_l": (20.0, 140.0),
}  # fmt: skip
TROUBLED = 0.2
"""Share of the ponds whose newest readings break some limit."""


def make_caseload(path: Path, ponds: int, weeks: int, now: datetime, seed: int = 1) -> None:
    """A book of so many ponds, each tested weekly for so many weeks up to now."""
    path.unlink(missing_ok=True)
    dice = random.Random(seed)
    with open_book(path, now=now, create=True) as book:
        act = begin(
            book, now, practice="Bench", time_zone="Europe/London", person="Nobody", role="vet"
        )
        with book.writing(act) as writing:
            clients = writing.add_many(
                "client", [{"name": f"Client {place}"} for place in range(ponds // 3 + 1)]
            )
            sites = writing.add_many(
                "site",
                [{"client_id": key, "name": "Garden", "town": f"Town {place % 40}"}
                 for place, key in enumerate(clients)],
            )  # fmt: skip
            keys = writing.add_many(
                "pond",
                [{"site_id": sites[place // 3], "name": f"Pond {place}", "test_every_days": 7}
                 for place in range(ponds)],
            )  # fmt: skip
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA synchronous = OFF")
    connection.execute("PRAGMA cache_size = -400000")
    warmth = [dice.gauss(0.0, 1.5) for _ in keys]
    usual = [
        {code: dice.uniform(low, high) for code, (low, high) in PARAMETERS.items()} for _ in keys
    ]
    troubled = [dice.random() < TROUBLED for _ in keys]
    for week in range(weeks):
        tests, readings = [], []
        for place, pond in enumerate(keys):
            taken = now - timedelta(days=7 * (weeks - 1 - week), hours=dice.uniform(2.0, 150.0))
            key = new_key(taken)
            taken_ms = int(taken.timestamp() * 1000)
            tests.append((key.bytes, pond.bytes, taken_ms, act.by.bytes))
            bad = troubled[place] and week >= weeks - 3
            readings.extend(_readings(key, taken, warmth[place], usual[place], bad, dice))
        connection.executemany(
            "INSERT INTO water_test (id, rev, created_at, created_by, changed_at, changed_by, "
            "struck_why, pond_id, taken_at, place, note, way) "
            "VALUES (?1, 1, ?3, ?4, ?3, ?4, '', ?2, ?3, '', '', 'file')",
            tests,
        )
        connection.executemany(
            "INSERT INTO reading (test_id, parameter, value, bound, typed, unit, form) "
            "VALUES (?, ?, ?, '=', ?, '', '')",
            readings,
        )
        connection.commit()
    connection.execute("ANALYZE")
    connection.commit()
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()


def _readings(
    test: UUID,
    taken: datetime,
    warmth_c: float,
    usual: dict[str, float],
    bad: bool,
    dice: random.Random,
) -> Iterator[tuple[bytes, str, float, str]]:
    year = 2.0 * math.pi * (taken.timetuple().tm_yday - 105) / 365.0
    for code, (low, high) in PARAMETERS.items():
        if code == "temperature_c":
            value = max(1.0, 13.0 + 9.0 * math.sin(year) + warmth_c + dice.gauss(0.0, 0.7))
        elif bad and code in ("tan_mg_l", "nitrite_mg_l"):
            value = dice.uniform(0.5, 2.5)
        else:
            value = max(0.0, usual[code] + dice.gauss(0.0, 0.04 * (high - low)))
        rounded = round(value, 2)
        yield test.bytes, code, rounded, str(rounded)


SEASONS = {
    "spring": datetime(2026, 5, 20, 6, 30, tzinfo=UTC),
    "summer": datetime(2026, 8, 5, 6, 30, tzinfo=UTC),
    "winter": datetime(2026, 1, 20, 7, 30, tzinfo=UTC),
}
"""Mornings of measuring. In spring the water warms into the windows, which is the dearest."""
