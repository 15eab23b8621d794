"""What can flare in a pond: temperature windows, what favours it, signs, how it is confirmed.

A window is a band in which to look, not a diagnosis: no publication gives a chance of disease as a
function of temperature. Treatment is the vet's, so `response` says what to do next and no more.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any, Literal

from store.facts.entry import Entry, Finding, Standing, file_tables, read_each, refuse
from store.facts.sources import source_standings

FILE = "hazards.toml"

KINDS = ("flagellate", "ciliate", "fluke", "crustacean", "water mould", "bacterium", "virus",
         "environment")  # fmt: skip

PRECONDITIONS: Mapping[str, str] = MappingProxyType(
    {
        "rising_in_spring": "the water is rising after a cold spell",
        "crowding": "the pond is crowded",
        "poor_water": "the water is poor",
        "new_fish": "new fish came in",
        "seen_here_before": "it was seen here before",
        "seen_same_day": "it was seen at a pond visited the same day with gear not disinfected",
    }
)
"""The preconditions that can raise a level, in words; every hazard names those that fit it."""

_LOW_C, _HIGH_C = -2.0, 45.0


@dataclass(frozen=True, slots=True)
class Window:
    """The water temperatures in which a hazard is likely to flare, °C; None is an open end.

    `margin_c` is how far beyond an end the water must go before the pond counts as having left.
    With `needs_fall_c` the band alone is not enough: the water must also have fallen by that much
    within `fall_hours`, not more than `fall_counts_days` ago.
    """

    low_c: float | None
    high_c: float | None
    optimum_low_c: float | None = None
    optimum_high_c: float | None = None
    margin_c: float = 1.0
    needs_fall_c: float | None = None
    fall_hours: float = 48.0
    fall_counts_days: float = 14.0


@dataclass(frozen=True, slots=True)
class Alternate:
    """Another statement on the same window, with its own source; never averaged with the default.

    `says` tells what the band is: a flare, a survival range, a laboratory range.
    """

    low_c: float | None
    high_c: float | None
    optimum_low_c: float | None
    optimum_high_c: float | None
    says: str
    source: str
    standing: Standing


@dataclass(frozen=True, slots=True)
class Suspicion:
    """What makes a notifiable disease suspected before any laboratory has spoken.

    `species` are words of a stock list that name fish which fall ill, `not_species` names that hold
    such a word and mean another fish. `leading_signs` and `signs` are codes of
    `store.facts.signs`: one of the leading says much, of the others several are wanted.
    """

    species: tuple[str, ...]
    not_species: tuple[str, ...]
    leading_signs: tuple[str, ...]
    signs: tuple[str, ...]

    def concerns(self, species: str) -> bool:
        """Whether a kind of fish, as typed, is one that falls ill.

        Parameters
        ----------
        species
            In words, in any case, one fish or several; empty is none.

        Examples
        --------
        >>> one = Suspicion(("koi", "carp"), ("grass carp",), (), ())
        >>> one.concerns("Ghost Carps"), one.concerns("grass carp"), one.concerns("goldfish")
        (True, False, False)
        """
        words = " ".join(re.findall(r"[^\W\d_]+", species.casefold()))
        for other in self.not_species:
            words = re.sub(rf"\b{other}s?\b", " ", words)
        return any(re.search(rf"\b{one}s?\b", words) for one in self.species)


@dataclass(frozen=True, slots=True)
class Hazard:
    """One parasite, disease or state of the water.

    `window` is None where temperature does not tell. `watched_by` names the alert rule that speaks
    for the hazard when that is not its temperature window. `legal` tells the legal standing, as far
    as documents dated `legal_as_of` say; local law is always to be looked up.
    """

    code: str
    name: str
    plain_name: str
    kind: str
    hosts: str
    notifiable: bool
    window: Window | None
    window_note: str
    source: str
    standing: Standing
    preconditions: tuple[str, ...]
    favoured_by: tuple[str, ...]
    signs: tuple[str, ...]
    identify: tuple[str, ...]
    confirm: str
    response: str
    cautions: tuple[str, ...]
    alternates: tuple[Alternate, ...]
    watched_by: str
    legal: str
    legal_as_of: str
    suspicion: Suspicion | None = None
    """Of a notifiable disease alone."""
    found_level: Literal["act", "watch"] = "watch"
    """What one of it found asks for, as `response` says it."""
    few_are_normal: bool = False
    """Whether a few of it are found on sound fish, so that the count matters."""

    @property
    def widest(self) -> tuple[float, float] | None:
        """The widest band of temperature among the window and what else is published, °C, an open
        end infinite; what is common practice widens nothing. None without a window."""
        if self.window is None:
            return None
        other = [one for one in self.alternates if one.standing != "common practice"]
        lows = [one.low_c for one in other if one.low_c is not None]
        highs = [one.high_c for one in other if one.high_c is not None]
        low, high = self.window.low_c, self.window.high_c
        return (
            -math.inf if low is None else min([low, *lows]),
            math.inf if high is None else max([high, *highs]),
        )


def _suspicion(entry: Entry) -> Suspicion:
    found = Suspicion(
        species=entry.texts("species"),
        not_species=entry.texts("not_species", needed=False),
        leading_signs=entry.texts("leading_signs", needed=False),
        signs=entry.texts("signs"),
    )
    entry.finish()
    return found


def _band(entry: Entry, low: str, high: str) -> tuple[float | None, float | None]:
    low_c = entry.number(low, low=_LOW_C, high=_HIGH_C, needed=False)
    high_c = entry.number(high, low=_LOW_C, high=_HIGH_C, needed=False)
    if low_c is not None and high_c is not None and low_c > high_c:
        entry.fault(low, f"is {low_c:g}, above {high}, which is {high_c:g}")
    return low_c, high_c


def _window(entry: Entry) -> Window:
    low_c, high_c = _band(entry, "low_c", "high_c")
    best_low_c, best_high_c = _band(entry, "optimum_low_c", "optimum_high_c")
    if low_c is None and high_c is None:
        entry.fault("low_c", "a window needs at least one end")
    if None not in (low_c, best_low_c) and (best_low_c or 0.0) < (low_c or 0.0):
        entry.fault("optimum_low_c", "lies below the window")
    if None not in (high_c, best_high_c) and (best_high_c or 0.0) > (high_c or 0.0):
        entry.fault("optimum_high_c", "lies above the window")
    margin_c = entry.number("margin_c", low=0.0, high=5.0)
    fall_c = entry.number("needs_fall_c", low=0.5, high=20.0, needed=False)
    hours = entry.number("fall_hours", low=24.0, high=240.0, needed=fall_c is not None)
    days = entry.number("fall_counts_days", low=1.0, high=90.0, needed=fall_c is not None)
    if fall_c is None and (hours is not None or days is not None):
        entry.fault("needs_fall_c", "is missing, though fall_hours or fall_counts_days is there")
    entry.finish()
    plain_window = Window(low_c, high_c, best_low_c, best_high_c, margin_c or 0.0)
    if fall_c is None or hours is None or days is None:
        return plain_window
    return Window(low_c, high_c, best_low_c, best_high_c, margin_c or 0.0, fall_c, hours, days)


def _alternate(entry: Entry, standings: Mapping[str, Standing]) -> Alternate:
    low_c, high_c = _band(entry, "low_c", "high_c")
    best_low_c, best_high_c = _band(entry, "optimum_low_c", "optimum_high_c")
    says = entry.text("says")
    source, standing = entry.backing(standings)
    entry.finish()
    return Alternate(low_c, high_c, best_low_c, best_high_c, says, source, standing)


def _hazard(entry: Entry, standings: Mapping[str, Standing]) -> Hazard:
    notifiable = entry.flag("notifiable")
    part = entry.part("window", needed=False)
    window = None if part is None else _window(part)
    watched_by = entry.text("watched_by", needed=window is None)
    source, standing = entry.backing(standings)
    suspected = entry.part("suspicion", needed=notifiable)
    if suspected is not None and not notifiable:
        entry.fault("suspicion", "stands at a disease that is not notifiable")
    preconditions = entry.texts("preconditions", needed=window is not None and not watched_by)
    for code in preconditions:
        if code not in PRECONDITIONS:
            entry.fault("preconditions", f"{code!r} is not one of {', '.join(PRECONDITIONS)}")
    response = entry.text("response")
    if notifiable:
        for word in ("movement", "competent authority", "local law"):
            if word not in response:
                entry.fault("response", f"of a notifiable disease must speak of {word!r}")
    hazard = Hazard(
        code=entry.name,
        name=entry.text("name"),
        plain_name=entry.text("plain_name"),
        kind=entry.choice("kind", KINDS),
        hosts=entry.text("hosts"),
        notifiable=notifiable,
        window=window,
        window_note=entry.text("window_note"),
        source=source,
        standing=standing,
        preconditions=preconditions,
        favoured_by=entry.texts("favoured_by"),
        signs=entry.texts("signs"),
        identify=entry.texts("identify"),
        confirm=entry.text("confirm"),
        response=response,
        cautions=entry.texts("cautions", needed=False),
        alternates=tuple(_alternate(one, standings) for one in entry.parts("alternates")),
        watched_by=watched_by,
        legal=entry.text("legal", needed=notifiable),
        legal_as_of=entry.text("legal_as_of", needed=notifiable),
        suspicion=None if suspected is None else _suspicion(suspected),
        found_level="act"
        if entry.choice("found_level", ("act", "watch"), needed=False) == "act"
        else "watch",
        few_are_normal=entry.has("few_are_normal") and entry.flag("few_are_normal"),
    )
    entry.finish()
    return hazard


def read_hazards(
    raw: Mapping[str, Any], standings: Mapping[str, Standing]
) -> tuple[dict[str, Hazard], list[Finding]]:
    """Every good hazard of the tables of a file, and everything that is wrong with the others.

    Parameters
    ----------
    raw
        The tables of the file, as TOML gives them.
    standings
        Standing of every source by its key; see `store.facts.sources.source_standings`.

    Returns
    -------
    tuple of dict and list
        Hazards by code, and the findings.
    """
    return read_each(FILE, raw, lambda entry: _hazard(entry, standings))


@cache
def hazards() -> Mapping[str, Hazard]:
    """Every hazard by its code, in the order of the file.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.
    """
    found, findings = read_hazards(file_tables(FILE), source_standings())
    refuse(findings)
    return MappingProxyType(found)
