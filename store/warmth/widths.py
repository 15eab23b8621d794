"""How wide an interval must be to hold what it says: by how far off the last year's estimates were.

A fit that knows nothing of the last year is made, and every pond's readings of that year are
guessed from it and from what was known on each day. Where four in five lie further off than the
reckoned spread says, the pond's intervals are widened by as much; ponds with few readings lean on
all of them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from store.warmth.ahead import estimated, newest
from store.warmth.departure import last_known
from store.warmth.fit import fit

if TYPE_CHECKING:
    from store.warmth.values import Floats, Grid, Trait, Whole

HELD_BACK_DAYS = 365
EVERY_DAYS = 5
MANY_PONDS, MANY_EVERY_DAYS = 300, 14
"""One reading of a pond in so many days is guessed, of many ponds fewer: they lean on others."""
HIDDEN, AHEAD = ((0, 14), (0, 30)), ((7, 0), (14, 0))
FRESH = ((1, 0), (2, 0), (0, 1), (0, 2))
"""Days ahead, and days of the pond's own readings that are hidden."""
EIGHTY = 1.2815515655446004
"""Half the width of an interval that holds four in five, in standard deviations."""
HOLDS = 0.82
NARROWEST, WIDEST = 0.4, 2.5
UNTRIED = 1.25
"""Where the record is too short to tell: a quarter wider; common practice of this project."""
_LEAN = 12.0
_LEAST = 40


def widths(
    grid: Grid, traits: Sequence[Trait], *, progress: Callable[[float], None] | None = None
) -> Floats:
    """By how much the errors of ponds are wider than reckoned.

    Parameters
    ----------
    grid, traits
        As for `store.warmth.fit.fit`.
    progress
        Called with the share that is done [0 to 1].

    Returns
    -------
    array
        Three factors for each pond, of today, of days to come, and beside a reading of its own;
        `UNTRIED` where the record is too short to tell.
    """
    import numpy as np

    untried = np.full((len(traits), 3), UNTRIED)
    back = grid.first_day + grid.days - 1 - HELD_BACK_DAYS
    done = progress or (lambda share: None)
    before = None
    if back > grid.first_day:
        before = fit(grid.until(back), traits, progress=lambda share: done(0.8 * share))
    if before is None:
        return untried
    now = newest(before, grid)
    asked = ~np.isnan(grid.temp_c) & ~now.doubted & ~(before.apart | before.air)[:, None]
    asked[:, : back - grid.first_day + 1] = False
    pond, day = np.nonzero(asked)
    # One reading in so many days of each pond: those between would say the same again.
    every = EVERY_DAYS if len(traits) <= MANY_PONDS else MANY_EVERY_DAYS
    block = pond * grid.days + day // every
    keep = np.concatenate([[True], block[1:] != block[:-1]]) if len(block) else np.zeros(0, bool)
    pond, day = pond[keep], day[keep]
    marked = last_known(~np.isnan(grid.temp_c))
    found = untried
    for at, cases in enumerate((HIDDEN, AHEAD, FRESH)):
        who, off = [], []
        for ahead, hidden in cases:
            seen = day - ahead
            own = marked[pond, np.maximum(seen - hidden, 0)]
            some = (seen > back - grid.first_day) & (own >= 0) & (seen - own <= hidden + 35)
            if not some.any():
                continue
            target = (day[some] + grid.first_day)[:, None]
            mean, spread, _ = estimated(
                before, now, pond[some], seen[some] + grid.first_day, target, hidden_days=hidden
            )
            who.append(pond[some])
            off.append(np.abs(grid.temp_c[pond[some], day[some]] - mean[:, 0]) / spread[:, 0])
        if who and sum(map(len, who)) >= _LEAST:
            found[:, at] = _by_pond(np.concatenate(who), np.concatenate(off), len(traits))
    return found


def _by_pond(who: Whole, off: Floats, ponds: int) -> Floats:
    import numpy as np

    typical = float(np.quantile(off, HOLDS)) / EIGHTY
    found = np.full(ponds, typical)
    for one in np.unique(who):
        mine = off[who == one]
        counted = len(mine) / 2.0
        own = float(np.quantile(mine, HOLDS)) / EIGHTY
        found[one] = (counted * own + _LEAN * typical) / (counted + _LEAN)
    return np.asarray(np.clip(found, NARROWEST, WIDEST))
