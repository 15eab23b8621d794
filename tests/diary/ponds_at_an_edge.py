"""Six invented ponds under one weather: two were not read lately and may lie at a window's edge.

No fact rests on them. Their year is warmest on the day it is, so that no season moves them; gill
flukes and others begin at 15 °C, about where the two lie.
"""

from __future__ import annotations

import math
from datetime import timedelta
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.warmth.kept.fits import make_fit

DAYS_BACK, SELDOM = 430, 12
AT_EDGE = ("brook pond", "hill pond")


def add_ponds_at_an_edge(book: Book, act: Act) -> dict[str, UUID]:
    """The ponds by name, with what is learnt of them; none of them was read today."""
    today = book.today(act.at).toordinal()
    made: dict[str, UUID] = {}
    rows = []
    with book.writing(act) as writing:
        for n, name in enumerate((*AT_EDGE, "pool", "tarn", "mere", "basin")):
            owner = writing.add("client", name=f"Owner of {name}", phone=f"01632 9600{n}0")
            site = writing.add(
                "site", client_id=owner, name=name, town="Nether Wick", latitude=51.0 + n / 100,
                longitude=-1.0, elevation_m=100.0,
            )  # fmt: skip
            made[name] = writing.add("pond", site_id=site, name=name)
            usual_c = 15.0 + 0.1 * n if name in AT_EDGE else 18.2 + 0.05 * n
            last = SELDOM if name in AT_EDGE else 1
            for back in range(DAYS_BACK, last - 1, -2):
                day = today - back
                weather_c = 1.1 * (math.sin(day / 6.1) - math.sin(today / 6.1)) + 0.5 * (
                    math.sin(day / 2.3) - math.sin(today / 2.3)
                )
                own_c = 0.5 * math.sin(day / 4.7 + 2.1 * n)
                season_c = 5.0 * (math.cos(2.0 * math.pi * back / 365.25) - 1.0)
                mean = round(usual_c + season_c + weather_c + own_c, 1)
                rows.append(
                    {"pond_id": made[name], "parameter": "temperature_c", "n": 24, "mean": mean,
                     "low": mean, "high": mean, "day": book.today(act.at) - timedelta(days=back)}
                )  # fmt: skip
        writing.add_many("logger_day", rows)
    assert make_fit(book, act.at) is not None
    return made
