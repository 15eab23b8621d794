"""Invented ponds under one weather, for the properties of estimates; no fact rests on them."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING
from uuid import UUID

import numpy as np

from store.warmth.fit import Fit, fit
from store.warmth.season import harmonics
from store.warmth.values import Grid, Trait
from store.warmth.widths import widths

if TYPE_CHECKING:
    from store.warmth.values import Floats

FIRST = 738_000
DAYS = 800
PONDS = 10
NOISE_C = 0.4


def key(at: int) -> UUID:
    """The key of a made pond."""
    return UUID(int=1000 + at)


@cache
def water() -> Floats:
    """The true water of every day, shape (PONDS, DAYS) [°C]."""
    random = np.random.default_rng(7)
    weather = np.zeros((2, DAYS))
    for day in range(1, DAYS):
        weather[0, day] = 0.78 * weather[0, day - 1] + random.normal() * 1.0
        weather[1, day] = 0.978 * weather[1, day - 1] + random.normal() * 0.25
    season = harmonics(np.arange(FIRST, FIRST + DAYS)) @ np.array([12.0, -6.0, -5.0, 0.5, 0.0])
    rows = []
    for pond in range(PONDS):
        own = np.zeros(DAYS)
        for day in range(1, DAYS):
            own[day] = 0.9 * own[day - 1] + random.normal() * 0.25
        lift = 1.0 + 0.05 * (pond - PONDS / 2)
        rows.append(season * lift + weather.sum(0) + own + 0.3 * pond)
    return np.maximum(np.array(rows), 0.0)


def grid(every: int = 5, *, until: int = DAYS, seed: int = 1) -> Grid:
    """The ponds read every few days, each on its own days."""
    random = np.random.default_rng(seed)
    temp = np.full((PONDS, DAYS), np.nan)
    for pond in range(PONDS):
        days = np.arange(pond % every, DAYS, every)
        temp[pond, days] = water()[pond, days] + random.normal(size=len(days)) * NOISE_C
    noise = np.where(np.isnan(temp), np.nan, NOISE_C)
    return Grid(tuple(key(at) for at in range(PONDS)), FIRST, temp, noise).until(FIRST + until - 1)


def traits(apart: dict[int, str] | None = None) -> tuple[Trait, ...]:
    """The made ponds lie within a few kilometres of one another."""
    return tuple(
        Trait(
            latitude=50.0 + 0.01 * at,
            longitude=8.0,
            elevation_m=100.0 + 10.0 * at,
            volume_l=4000.0 * (1 + at),
            apart=(apart or {}).get(at, ""),
        )
        for at in range(PONDS)
    )


@cache
def fitted(until: int = DAYS) -> Fit:
    """A fit to the made ponds."""
    read = grid(until=until)
    found = fit(read, traits(), width=widths(read, traits()))
    assert found is not None
    return found


def with_reading(one: Grid, pond: int, day: int, temp_c: float, noise_c: float = NOISE_C) -> Grid:
    """The same readings and one more, or another in its place; `day` is an ordinal."""
    temp, noise = one.temp_c.copy(), one.noise_c.copy()
    temp[pond, day - one.first_day], noise[pond, day - one.first_day] = temp_c, noise_c
    return Grid(one.ponds, one.first_day, temp, noise)
