"""Fourteen measured series of daily water temperature as the estimates take them.

NEON daily mean water temperature, see `data/README.md`.
"""

from __future__ import annotations

from datetime import date
from functools import lru_cache
from typing import NamedTuple
from uuid import UUID

import numpy as np
from numpy.typing import NDArray
from published import published

from store.warmth.values import Grid, Trait

NOISE_C = 0.2
FIRST = date(2017, 1, 1)
BAD = {
    "BLWA 2022": ("BLWA", date(2022, 12, 17), date(2022, 12, 18)),
    "HOPB 2020": ("HOPB", date(2020, 9, 16), date(2020, 9, 23)),
    "HOPB 2022": ("HOPB", date(2022, 6, 27), date(2022, 7, 11)),
    "KING": ("KING", date(2017, 1, 1), date(2022, 12, 31)),
    "MART 2022": ("MART", date(2022, 6, 22), date(2022, 8, 3)),
    "MAYF 2022": ("MAYF", date(2022, 7, 14), date(2022, 12, 12)),
    "PRLA 2020": ("PRLA", date(2020, 7, 2), date(2020, 7, 29)),
}
"""Spans in which the sensor is read and not the water: it lies in air, ice or mud, or drifts. A
judgement from the series alone: two days 6 and 12 °C too cold and back in one step (BLWA), 5 to
12 °C below the season (HOPB 2020, the least certain), 1.4 °C in midsummer (HOPB 2022), a brook that
dries (KING), a step from 8.4 to 2.5 °C and one to 14.7 °C (MART), from 23 °C in July to below zero
in Alabama (MAYF), 4 to 6 °C in July after 20 °C in June (PRLA)."""


class Water(NamedTuple):
    """Sites in the order of their keys, with what is known of each."""

    sites: tuple[str, ...]
    grid: Grid
    traits: tuple[Trait, ...]
    bad: NDArray[np.bool_]
    """Days within the spans of `BAD`."""

    def row(self, site: str) -> int:
        return self.sites.index(site)


@lru_cache(maxsize=1)
def measured() -> Water:
    """Read once; nobody may write into it."""
    rows = published("neon_daily_temperature_of_14")
    sites = tuple(name for name in rows[0] if name != "date")
    assert rows[0]["date"] == FIRST.isoformat()
    temp_c = np.array([[float(row[site] or "nan") for row in rows] for site in sites])
    place = {row["site"]: row for row in published("neon_sites")}
    traits = tuple(
        Trait(
            latitude=float(place[site]["latitude"]),
            longitude=float(place[site]["longitude"]),
            elevation_m=float(place[site]["elevation_m"]),
            depth_m=float(place[site]["mean_depth_m"]) if place[site]["mean_depth_m"] else None,
        )
        for site in sites
    )
    bad = np.zeros(temp_c.shape, bool)
    for site, first, last in BAD.values():
        bad[sites.index(site), (first - FIRST).days : (last - FIRST).days + 1] = True
    noise_c = np.where(np.isnan(temp_c), np.nan, NOISE_C)
    for one in (temp_c, noise_c, bad):
        one.setflags(write=False)
    keys = tuple(UUID(int=at + 1) for at in range(len(sites)))
    return Water(sites, Grid(keys, FIRST.toordinal(), temp_c, noise_c), traits, bad)
