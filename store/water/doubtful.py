"""What makes the readings of a test doubtful: how it was taken, not what it shows."""

from __future__ import annotations

import re
from datetime import timedelta

from store.text import plain
from store.water.given import said_minutes
from store.water.water_tests import NewTest, WaterTest

_NITROGEN = ("tan_mg_l", "nitrite_mg_l")
_SAMPLE_LASTS = {
    "oxygen_mg_l": ("oxygen", timedelta(minutes=10)),
    "tan_mg_l": ("ammonia", timedelta(hours=2)),
}
"""How long a sample keeps before it is tested; common practice, no source."""

_AIRED = re.compile(
    r"\b(?:(?:water)?falls?|inlets?|returns?|jets?|fountains?|air ?stones?|aerators?|showers?"
    r"|venturis?|cascades?|streams?|spray ?bars?)\b",
    re.IGNORECASE,
)
"""Places where water has just been mixed with air; common practice, no source."""
_OXYGEN = ("oxygen_mg_l", "oxygen_percent")

SOON_AFTER_MIN = 120.0
BINDER_DAYS = 3.0


def doubts_of(test: WaterTest | NewTest) -> tuple[str, ...]:
    """Sentences on why a test should be read with care; empty when nothing speaks against it.

    Parameters
    ----------
    test
        The test with how it was taken, in the book or about to be saved.

    Returns
    -------
    tuple of str
        One a doubt. The times are common practice, without a source.
    """
    typed = test.readings if isinstance(test, NewTest) else test.readings.values()
    readings = {reading.parameter: reading for reading in typed}
    found = []
    bound = test.binder_days is not None and test.binder_days <= BINDER_DAYS
    if bound and "tan_mg_l" in readings:
        found.append(
            f"A dechlorinator or binder went in {test.binder_days:.3g} d before: some kits "
            "then read ammonia falsely, others still show what is bound."
        )
    if test.since_feeding_min is not None and test.since_feeding_min < SOON_AFTER_MIN:
        found.append(f"Taken {test.since_feeding_min:.0f} min after feeding.")
    if test.since_water_change_min is not None and test.since_water_change_min < SOON_AFTER_MIN:
        found.append(f"Taken {test.since_water_change_min:.0f} min after a water change.")
    if test.tested_at is not None:
        waited = test.tested_at - test.taken_at
        changed = [
            name
            for code, (name, lasts) in _SAMPLE_LASTS.items()
            if code in readings and waited > lasts
        ]
        if changed:
            found.append(
                f"The sample stood {said_minutes(waited.total_seconds() / 60.0)} before it was "
                f"tested: {' and '.join(changed)} may have changed."
            )
    if any(code in readings for code in _OXYGEN) and _AIRED.search(test.place):
        found.append(
            f"The oxygen was taken at “{plain(test.place)[:40]}”, where the water has just been "
            "aired: the rest of the pond may hold less."
        )
    for code in _NITROGEN:
        reading = readings.get(code)
        if reading is not None and reading.form == "unknown":
            found.append(
                f"What the kit reports as {code.split('_')[0].upper()} was not stated: the "
                "highest reading of it is used."
            )
    return tuple(found)
