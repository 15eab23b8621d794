"""Four ponds of one valley, one of them not read for ten days, for what is told by estimate."""

from __future__ import annotations

import math
from datetime import timedelta
from uuid import UUID

from store.book.act import Act
from store.book.book import Book

DAYS_BACK, LAST_READ = 430, 10
ODD_DAY = 24
"""Days before today of a reading that the water cannot have had: 19 °C in a cold February."""


def add_ponds_read_seldom(book: Book, act: Act) -> UUID:
    """A pond with three neighbours that were read to the last day; nothing is learnt of them yet."""
    today = book.today(act.at)
    with book.writing(act) as writing:
        owner = writing.add("client", name="Alder Row")
        ponds = []
        for n, name in enumerate(("lower pond", "mill pool", "upper pond", "tarn")):
            site = writing.add(
                "site", client_id=owner, name=name, latitude=51.0 + n / 50, longitude=-1.0,
                elevation_m=100.0 + 30 * n,
            )  # fmt: skip
            ponds.append(writing.add("pond", site_id=site, name=name))
        rows = []
        for n, pond in enumerate(ponds):
            for back in range(DAYS_BACK, LAST_READ - 1 if n == 0 else -1, -2):
                day = today - timedelta(days=back)
                mean = 19.0 if n == 0 and back == ODD_DAY else _water(day.toordinal(), n)
                rows.append(
                    {"pond_id": pond, "parameter": "temperature_c", "day": day, "n": 24,
                     "mean": mean, "low": mean - 1.0, "high": mean + 1.0}
                )  # fmt: skip
        writing.add_many("logger_day", rows)
    return ponds[0]


def _water(day: int, pond: int) -> float:
    """One season and one weather over the valley; higher up it is colder [°C]."""
    season = 11.0 - pond / 2 - 7.0 * math.cos(2 * math.pi * (day - 735_620) / 365.25)
    return round(season + 1.2 * math.sin(day / 6.0) + 0.6 * math.sin(day / 2.3), 1)
