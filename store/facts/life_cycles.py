"""How long the stages of parasites take by water temperature, and what that asks of a course.

Every series keeps its own publication; nothing here is interpolated. A laboratory egg at a constant
temperature is cleaner than one in a pond: each figure is a centre, not a limit.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any, Literal

from store.facts.entry import Entry, Finding, Standing, entries, file_tables, refuse
from store.facts.hazards import hazards
from store.facts.sources import source_standings

FILE = "life_cycles.toml"

BREEDING = ("eggs", "cysts", "live young", "division", "virus")

Timing = Literal["eggs", "cycle", "none"]
"""What times the repeats: hatching and growing up; one whole cycle; nothing, for no stage outlives
a dose that works."""

TIMINGS: tuple[Timing, ...] = ("eggs", "cycle", "none")

STAGES: Mapping[str, str] = MappingProxyType(
    {
        "whole_cycle": "one generation, from a stage to the same stage again",
        "on_the_fish": "growth on the fish",
        "first_hatch": "from laying until the first egg hatches",
        "last_hatch": "from laying until the last egg has hatched",
        "maturity": "from hatching until the first of the young can lay",
        "doubling": "in which their number doubles",
        "life_span": "of one worm",
        "birth_to_birth": "from being born to giving birth",
        "death": "from exposure until a fish dies",
        "shedding": "from exposure, while virus is shed",
    }
)
"""The stages that can be timed."""

_NEEDED: Mapping[Timing, tuple[str, ...]] = MappingProxyType(
    {"eggs": ("first_hatch",), "cycle": ("whole_cycle",), "none": ()}
)
_LOW_C, _HIGH_C, _MOST_DAYS = -2.0, 45.0, 400.0
_PAIR, _TRIPLE = 2, 3


@dataclass(frozen=True, slots=True)
class Point:
    """One published point: a water temperature, °C, and the least and most days there."""

    temp_c: float
    low_days: float
    high_days: float


@dataclass(frozen=True, slots=True)
class Series:
    """The points of one publication on one stage, from cold to warm.

    `of` is the organism that was watched, which can be a relative of the one in the pond.
    """

    of: str
    points: tuple[Point, ...]
    note: str
    source: str
    standing: Standing


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage with every series on it; `warmer_as` names the stage with which it is shortened
    above its own warmest point, an assumption that must be said wherever it is used."""

    code: str
    name: str
    series: tuple[Series, ...]
    warmer_as: str


@dataclass(frozen=True, slots=True)
class Remark:
    """A published statement on timing that is not a point of a curve."""

    says: str
    source: str
    standing: Standing


@dataclass(frozen=True, slots=True)
class LifeCycle:
    """The timing of one hazard.

    `headline` is the stage that is told first. `reached` says what a dose reaches, `why` what that
    asks of a course; `source` and `standing` belong to these two. `interval` holds advice on the
    days between two doses, `least_doses` how many doses are given at least.
    """

    hazard: str
    organism: str
    breeding: str
    headline: str
    timing: Timing
    least_doses: int
    reached: str
    why: str
    source: str
    standing: Standing
    stages: Mapping[str, Stage]
    interval: tuple[Series, ...]
    statements: tuple[Remark, ...]


def _points(entry: Entry) -> tuple[Point, ...]:
    raw = entry.raw("points")
    if not isinstance(raw, list) or not raw:
        entry.fault("points", "must be a list of points")
        return ()
    found: list[Point] = []
    for one in raw:
        good = isinstance(one, list) and len(one) in {_PAIR, _TRIPLE}
        if not good or any(isinstance(x, bool) or not isinstance(x, int | float) for x in one):
            entry.fault("points", f"{one!r} must be [°C, days] or [°C, least days, most days]")
            continue
        temp_c, low, high = float(one[0]), float(one[1]), float(one[-1])
        if not (_LOW_C <= temp_c <= _HIGH_C and 0.0 < low <= high <= _MOST_DAYS):
            entry.fault("points", f"{one!r} lies outside what can be")
        elif found and temp_c <= found[-1].temp_c:
            entry.fault("points", f"{one!r} does not follow from cold to warm")
        else:
            found.append(Point(temp_c, low, high))
    return tuple(found)


def _series(entry: Entry, standings: Mapping[str, Standing]) -> Series:
    of = entry.text("of")
    points = _points(entry)
    note = entry.text("note", needed=False)
    source, standing = entry.backing(standings)
    entry.finish()
    return Series(of, points, note, source, standing)


def _stage(entry: Entry, standings: Mapping[str, Standing]) -> Stage:
    stage = Stage(
        code=entry.choice("code", STAGES),
        name=entry.text("name"),
        series=tuple(_series(one, standings) for one in entry.parts("series")),
        warmer_as=entry.choice("warmer_as", STAGES, needed=False),
    )
    if not stage.series:
        entry.fault("series", "is missing")
    entry.finish()
    return stage


def _remark(entry: Entry, standings: Mapping[str, Standing]) -> Remark:
    says = entry.text("says")
    source, standing = entry.backing(standings)
    entry.finish()
    return Remark(says, source, standing)


def _timing(word: str) -> Timing:
    return next((one for one in TIMINGS if one == word), "none")


def _cycle(entry: Entry, standings: Mapping[str, Standing], known: Collection[str]) -> LifeCycle:
    if entry.name not in known:
        entry.fault("entry", "is not a hazard")
    stages: dict[str, Stage] = {}
    for part in entry.parts("stages"):
        stage = _stage(part, standings)
        if stage.code in stages:
            part.fault("code", f"{stage.code!r} stands twice")
        stages[stage.code] = stage
    course = entry.part("course") or Entry(entry.file, f"{entry.name}.course", {}, [])
    timing = _timing(course.choice("rule", TIMINGS))
    least = course.number("least_doses", low=0.0, high=20.0)
    reached, why = course.text("reached"), course.text("why")
    source, standing = course.backing(standings)
    course.finish()
    interval = tuple(_series(one, standings) for one in entry.parts("interval"))
    for code in _NEEDED[timing]:
        if code not in stages:
            entry.fault("stages", f"need {code!r} where the rule is {timing!r}")
    if timing == "cycle" and not interval:
        entry.fault("interval", "is missing, though the rule is 'cycle'")
    if timing == "eggs" and not interval and "maturity" not in stages:
        entry.fault("interval", "or a stage 'maturity' is needed where the rule is 'eggs'")
    if timing == "none" and interval:
        entry.fault("interval", "is there, though the rule is 'none'")
    headline = entry.choice("headline", STAGES)
    for code in (headline, *(stage.warmer_as for stage in stages.values())):
        if code and code not in stages:
            entry.fault("stages", f"do not have {code!r}")
    cycle = LifeCycle(
        hazard=entry.name,
        organism=entry.text("organism"),
        breeding=entry.choice("breeding", BREEDING),
        headline=headline,
        timing=timing,
        least_doses=int(least or 0.0),
        reached=reached,
        why=why,
        source=source,
        standing=standing,
        stages=MappingProxyType(stages),
        interval=interval,
        statements=tuple(_remark(one, standings) for one in entry.parts("statements")),
    )
    entry.finish()
    return cycle


def read_life_cycles(
    raw: Mapping[str, Any], standings: Mapping[str, Standing], known: Collection[str]
) -> tuple[dict[str, LifeCycle], list[Finding]]:
    """Every good life cycle of the tables of a file, and everything wrong with the others.

    Parameters
    ----------
    raw
        The tables of the file, as TOML gives them.
    standings
        Standing of every source by its key; see `store.facts.sources.source_standings`.
    known
        Codes of the hazards that there are.

    Returns
    -------
    tuple of dict and list
        Life cycles by the code of their hazard, and the findings.
    """
    findings: list[Finding] = []
    found: dict[str, LifeCycle] = {}
    for entry in entries(FILE, raw, findings):
        before = len(findings)
        cycle = _cycle(entry, standings, known)
        if len(findings) == before:
            found[cycle.hazard] = cycle
    return found, findings


@cache
def life_cycles() -> Mapping[str, LifeCycle]:
    """Every life cycle by the code of its hazard, in the order of the file.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.
    """
    found, findings = read_life_cycles(file_tables(FILE), source_standings(), hazards().keys())
    refuse(findings)
    return MappingProxyType(found)
