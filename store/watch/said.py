"""The readings of a test in words, for the explanation of a concern."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, tzinfo

from store.watch.rule import Said
from store.watch.seen import PondSeen
from store.water.doubtful import doubts_of
from store.water.parameters import PARAMETERS
from store.water.understood import shown
from store.water.water_tests import WaterTest


def said_from_packed(zone: tzinfo) -> Said:
    """Words for the readings as the caseload query hands them over: stored values alone.

    Parameters
    ----------
    zone
        The practice's time zone.

    Returns
    -------
    callable
        As `store.watch.rule.Said`.
    """

    def said(seen: PondSeen, index: int, codes: Sequence[str]) -> str:
        at = datetime.fromtimestamp(seen.tests[index].at_ms / 1000, zone)
        values = seen.values(index)
        parts = [
            f"{PARAMETERS[code].short} {PARAMETERS[code].shown_with_unit(values[code])}"
            for code in codes or values
            if code in values and code in PARAMETERS
        ]
        return f"{at:%Y-%m-%d %H:%M}: {', '.join(parts)}"

    return said


def said_from_tests(tests: Sequence[WaterTest], zone: tzinfo) -> Said:
    """Words for the readings with what was typed, who entered them, and what makes them doubtful.

    Parameters
    ----------
    tests
        The tests of the pond.
    zone
        The practice's time zone.

    Returns
    -------
    callable
        As `store.watch.rule.Said`.
    """
    by_instant = {round(test.taken_at.timestamp() * 1000): test for test in reversed(tests)}
    packed = said_from_packed(zone)

    def said(seen: PondSeen, index: int, codes: Sequence[str]) -> str:
        test = by_instant.get(seen.tests[index].at_ms)
        if test is None or not all(code in test.readings for code in codes):
            return packed(seen, index, codes)
        wanted = codes or tuple(test.readings)
        parts = ", ".join(shown(test.readings[code]) for code in wanted)
        at = test.taken_at.astimezone(zone)
        where = f", {test.place}" if test.place else ""
        doubts = " ".join(doubts_of(test))
        return f"{at:%Y-%m-%d %H:%M}{where}: {parts} ({test.by}). {doubts}".strip()

    return said
