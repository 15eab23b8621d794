"""Whether a notifiable disease is suspected at a pond: what speaks for it, and what against.

No publication gives a chance of disease from such points: how many of them make a suspicion is
common practice, on the side of asking the authority once too often. Only a laboratory tells.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import inf
from typing import Literal, NamedTuple

from store.facts.hazards import Hazard, Suspicion
from store.facts.life_cycles import life_cycles
from store.facts.signs import signs
from store.facts.sources import sources
from store.text import day_said
from store.watch.levels import Level
from store.watch.lost import Died, Losses, Shown, number
from store.watch.seen import PondSeen

InBand = Literal["inside", "outside", "not known"]

EVENT_SIGNS: Mapping[str, str] = {"sign_gasping": "gasping"}
"""Events at a pond that are a sign of `store.facts.signs`."""
LEADING_POINTS = 2
SIGNS_TOGETHER = 2
"""So many signs that are not leading make a point [count]."""
_OTHERS = re.compile(
    r"\b(?:goldfish|shubunkin|comet|fantail|tench|orfe|ide|rudd|roach|sturgeon|sterlet|minnow|bream"
    r"|chub|dace|barbel|gudgeon|trout|perch|pike|catfish|wels|crucian|grass carp|silver carp"
    r"|bitterling|stickleback|weatherfish|loach)s?\b"
)
"""Fish of a stock list, as whole words."""


class Settings(NamedTuple):
    """The numbers of a rule; days back from today, and points."""

    deaths_days: int
    signs_days: int
    contact_days: int
    named_days: int
    watch_points: int
    act_points: int
    well_deaths: int


class Contact(NamedTuple):
    """Fish that came or left on a day; `fits` where the time until the deaths is published so."""

    on_day: date
    kind: str
    fits: bool


class Spans(NamedTuple):
    """How long after contact deaths came [d], with every published point that this rests on."""

    low_days: float
    high_days: float
    said: str
    source: str


@dataclass(frozen=True, slots=True)
class Suspected:
    """What is suspected at a pond, and why.

    `temp_c` is the newest daily mean of `temp_on`; `band` the widest published, °C. `for_it` and
    `against` are sentences; `contacts` what came or left within the days asked for.
    """

    hazard: str
    level: Level
    points: int
    deaths: tuple[Died, ...]
    since: date
    where: InBand
    temp_c: float | None
    temp_on: date | None
    band: tuple[float, float]
    named: bool
    for_it: tuple[str, ...]
    against: tuple[str, ...]
    contacts: tuple[Contact, ...]
    spans: Spans | None


def suspect(hazard: Hazard, seen: PondSeen, today: date, settings: Settings) -> Suspected | None:
    """What is suspected of one notifiable disease at a pond; None where nothing is.

    Parameters
    ----------
    hazard
        The disease; one that is not notifiable is never suspected so.
    seen
        The pond.
    today
        The practice's calendar day.
    settings
        The numbers in force.

    Returns
    -------
    Suspected or None
        `act` for a suspicion, `watch` where something speaks for it and not enough.

    Notes
    -----
    A leading sign is two points; several other signs together, other fish well beside the dead,
    and fish that came within the published time are a point each. With no death, one point more is
    wanted. A temperature that is not known clears nothing; one outside every published band leaves
    a `watch` at most, since fish infected in the cold fall ill when it warms.
    """
    losses, facts, band = seen.losses, hazard.suspicion, hazard.widest
    if losses is None or facts is None or band is None:
        return None
    named = [
        one for one in losses.named
        if one.hazard == hazard.code and (today - one.on_day).days <= settings.named_days
    ]  # fmt: skip
    since = today - timedelta(days=settings.deaths_days)
    dead = losses.deaths(since, today)
    mine = tuple(one for one in dead if _falls_ill(one.species, facts, losses))
    shown = _signs(hazard, seen, losses, today, settings)
    if not named and not mine and not shown:
        return None
    where, temp_c, temp_on, coldest, warmest = _water(seen, band, mine, today)
    contacts, spans = _contacts(hazard, seen, mine, today, settings, (coldest, warmest))
    for_it: list[str] = [f"{day_said(one.on_day)}: {one.how}." for one in named]
    points = 0
    if mine:
        for_it.append(_said_deaths(mine, facts))
    leading = [code for code in shown if code in facts.leading_signs]
    if leading:
        points += LEADING_POINTS
    if len(shown) - len(leading) >= SIGNS_TOGETHER:
        points += 1
    if shown:
        for_it.append(f"Signs: {', '.join(signs()[code].words for code in shown)}.")
    against: list[str] = []
    others = sorted({one.species for one in dead if one not in mine and one.species})
    if others:
        against.append(
            f"Others died too ({', '.join(others)}): think of low oxygen, chlorine and poison as "
            "well."
        )
    elif number(mine) >= settings.well_deaths and _others_live(losses, facts):
        points += 1
        for_it.append("Other kinds of fish live in the pond, and none of them is noted dead.")
    if any(one.fits for one in contacts):
        points += 1
        days = ", ".join(day_said(one.on_day) for one in contacts if one.fits)
        for_it.append(f"Fish came on {days}: within the time from contact to deaths.")
    if where == "outside":
        against.append(
            f"The water stood outside every published band. That clears no pond: {_COLD}"
        )
    level = _level(points, bool(mine), where, settings)
    if named:
        level = "act"
    if level is None:
        return None
    began = [one.on_day for one in mine] + [one.on_day for one in named]
    return Suspected(
        hazard=hazard.code,
        level=level,
        points=points,
        deaths=mine,
        since=min(began) if began else min(shown.values()),
        where=where,
        temp_c=temp_c,
        temp_on=temp_on,
        band=band,
        named=bool(named),
        for_it=tuple(for_it),
        against=tuple(against),
        contacts=contacts,
        spans=spans,
    )


_COLD = "fish infected in the cold fall ill when it warms."


def _level(points: int, deaths: bool, where: InBand, settings: Settings) -> Level | None:
    more = 0 if deaths else 1
    if points >= settings.act_points + more:
        return "watch" if where == "outside" else "act"
    if points >= settings.watch_points + more and where != "outside":
        return "watch"
    return None


def _falls_ill(species: str, facts: Suspicion, losses: Losses) -> bool:
    """Whether fish of this kind fall ill; one without a kind may be any of the pond's."""
    if species.strip():
        return facts.concerns(species)
    return not losses.stock.strip() or facts.concerns(losses.stock)


def _others_live(losses: Losses, facts: Suspicion) -> bool:
    counted = [one for one in losses.counts if one.species and not facts.concerns(one.species)]
    if any(one.fish for one in counted):
        return True
    named = _OTHERS.findall(losses.stock.casefold())
    return any(not facts.concerns(one) for one in named)


def _said_deaths(mine: Sequence[Died], facts: Suspicion) -> str:
    kinds = sorted({one.species for one in mine if one.species})
    first, last = min(one.on_day for one in mine), max(one.on_day for one in mine)
    days = day_said(first) if first == last else f"{day_said(first)} to {day_said(last)}"
    return f"{number(mine)} dead ({', '.join(kinds) or 'kind not noted'}), {days}."


def _signs(
    hazard: Hazard, seen: PondSeen, losses: Losses, today: date, settings: Settings
) -> dict[str, date]:
    """Signs of the disease seen lately on fish that fall ill from it, with their newest day."""
    facts = hazard.suspicion
    assert facts is not None
    wanted = {*facts.leading_signs, *facts.signs}
    since = today - timedelta(days=settings.signs_days)
    fish: list[Died | Shown] = [*losses.died, *losses.shown]
    told = [
        (code, one.on_day)
        for one in fish
        if since <= one.on_day <= today and _falls_ill(one.species, facts, losses)
        for code in one.signs
    ]
    told += [
        (EVENT_SIGNS[one.kind], one.first)
        for one in seen.circumstances
        if one.kind in EVENT_SIGNS and since <= one.first <= today
    ]
    return {code: day for code, day in sorted(told, key=lambda one: one[1]) if code in wanted}


class _Water(NamedTuple):
    where: InBand
    temp_c: float | None
    temp_on: date | None
    coldest_c: float | None
    warmest_c: float | None


def _water(seen: PondSeen, band: tuple[float, float], mine: Sequence[Died], today: date) -> _Water:
    """Where the water stood from two weeks before the first death until today."""
    first = min((one.on_day for one in mine), default=today) - timedelta(days=14)
    daily = [
        (day, temp_c) for day, temp_c in seen.daily_temperatures()
        if first.toordinal() <= day <= today.toordinal()
    ]  # fmt: skip
    if not daily:
        return _Water("not known", None, None, None, None)
    temps = [temp_c for _, temp_c in daily]
    inside = any(band[0] <= temp_c <= band[1] for temp_c in temps)
    return _Water(
        "inside" if inside else "outside", temps[-1], date.fromordinal(daily[-1][0]),
        min(temps), max(temps),
    )  # fmt: skip


def days_to_death(
    hazard: str, coldest_c: float | None, warmest_c: float | None, contact_days: float
) -> Spans | None:
    """How long after contact deaths were found to come, at the water of a pond.

    Parameters
    ----------
    hazard
        Code of a hazard.
    coldest_c, warmest_c
        The water since the contact [°C]; None where it is not known, then every point counts.
    contact_days
        Over how many days contacts are asked for: the upper end where the water was colder than
        anything published [d].

    Returns
    -------
    Spans or None
        From the least to the most days of the points on both sides of the water, each of them
        listed, none averaged; None where nothing is published.

    Examples
    --------
    >>> span = days_to_death("khv", 22.0, 22.0, 60.0)
    >>> span.low_days, span.high_days, span.said
    (5.0, 52.0, '21 to 52 d at 16 °C, 5 to 20 d at 23 °C')
    """
    cycle = life_cycles().get(hazard)
    stage = None if cycle is None else cycle.stages.get("death")
    if stage is None:
        return None
    low, high, said, cited = inf, 0.0, [], []
    for series in stage.series:
        points = series.points
        first = 0 if coldest_c is None else max(
            (place for place, one in enumerate(points) if one.temp_c <= coldest_c), default=0
        )  # fmt: skip
        last = len(points) - 1 if warmest_c is None else min(
            (place for place, one in enumerate(points) if one.temp_c >= warmest_c),
            default=len(points) - 1,
        )  # fmt: skip
        for one in points[min(first, last) : max(first, last) + 1]:
            low, high = min(low, one.low_days), max(high, one.high_days)
            said.append(f"{one.low_days:g} to {one.high_days:g} d at {one.temp_c:g} °C")
        if coldest_c is not None and coldest_c < points[0].temp_c:
            high = max(high, contact_days)
            said.append(f"slower in colder water, without a number: {contact_days:g} d are taken")
        cited.append(said_source(series.source))
    return Spans(low, high, ", ".join(said), "; ".join(cited))


def said_source(key: str) -> str:
    """Who, and when: short enough to stand in a list.

    Parameters
    ----------
    key
        Key of a publication.

    Examples
    --------
    >>> said_source("gilad_2003"), said_source("common_practice")
    ('Gilad et al. 2003', 'common practice')
    """
    one = sources()[key]
    if one.standing == "common practice":
        return "common practice"
    named = one.author if one.year is None else f"{one.author} {one.year}"
    return f"{named}, from memory" if one.standing == "from memory" else named


def _contacts(
    hazard: Hazard, seen: PondSeen, mine: Sequence[Died], today: date, settings: Settings,
    water: tuple[float | None, float | None],
) -> tuple[tuple[Contact, ...], Spans | None]:  # fmt: skip
    spans = days_to_death(hazard.code, *water, settings.contact_days)
    low = 0.0 if spans is None else spans.low_days
    high = float(settings.contact_days) if spans is None else spans.high_days
    found = []
    for one in seen.circumstances:
        passed = (today - one.first).days
        if one.kind not in ("new_fish", "fish_removed") or not 0 <= passed <= settings.contact_days:
            continue
        waits = [(died.on_day - one.first).days for died in mine] or [passed]
        fits = any(low <= days <= high for days in waits)
        found.append(Contact(one.first, one.kind, one.kind == "new_fish" and fits))
    return tuple(sorted(found, reverse=True)), spans


def windows_said(hazard: Hazard) -> str:
    """Every published window of a hazard beside its own, none averaged.

    Parameters
    ----------
    hazard
        With a window.

    Examples
    --------
    >>> from store.facts.hazards import hazards
    >>> windows_said(hazards()["khv"]).count("°C")
    8
    """
    own = hazard.window
    if own is None:
        return ""
    listed = [(own.low_c, own.high_c, hazard.source, hazard.standing)]
    listed += [(one.low_c, one.high_c, one.source, one.standing) for one in hazard.alternates]
    parts = []
    for low, high, source, standing in listed:
        if low is None:
            band = f"up to {high:g}"
        else:
            band = f"from {low:g}" if high is None else f"{low:g} to {high:g}"
        said = said_source(source)
        memory = standing == "from memory" and "from memory" not in said
        parts.append(f"{band} °C ({said}{', from memory' if memory else ''})")
    return "; ".join(parts)
