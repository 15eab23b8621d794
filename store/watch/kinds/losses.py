"""Deaths at a pond: how many within days, out of how many, and what happened just before."""

from __future__ import annotations

from datetime import date, timedelta
from typing import NamedTuple

from store.facts.dead_fish import sayings
from store.facts.hazards import Hazard, hazards
from store.text import day_said
from store.watch.concern import Concern
from store.watch.kinds.reading import concern
from store.watch.levels import Level
from store.watch.lost import Died, number, per_day
from store.watch.rule import Began, Finding, Rule, Said
from store.watch.seen import Circumstance, PondSeen
from store.watch.stock import NO_STOCK, Stock, ledger

BEFORE = {"power_cut": "a power cut, or the pump stood still", "topped_up": "mains water came in"}
"""Events that are told where they came up to a day before deaths."""
_RAISED: dict[Level, Level] = {"calm": "watch", "watch": "act", "act": "act"}


class _Lost(NamedTuple):
    """The deaths that count, with the stock before them and what raises the level."""

    died: tuple[Died, ...]
    dead: int
    stock: Stock | None
    percent: float | None
    window: Hazard | None


class LossesKind:
    """Deaths of the last `within_days`: a note from the first, then by number and share.

    Both the number and, where the stock is known, the share must be reached. The level is raised by
    one where the water lies in the widest published window of a notifiable disease from which one
    of the dead could have fallen ill.
    """

    def find(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        """The deaths of the last days."""
        lost = _lost(rule, seen, today)
        if lost is None:
            return None
        level: Level = "calm"
        which, edge = "watch_from_deaths", rule.number("watch_from_deaths")
        for one in ("watch", "act"):
            least = rule.number(f"{one}_from_deaths")
            enough = lost.percent is None or lost.percent >= rule.number(f"{one}_from_percent")
            if lost.dead >= least and enough:
                level = "act" if one == "act" else "watch"
                which, edge = f"{one}_from_deaths", least
        if lost.window is not None:
            level = _RAISED[level]
        return Finding(
            level,
            lost.dead / max(edge, 1.0),
            float(lost.dead),
            edge,
            which,
            -1,
            min(one.on_day for one in lost.died),
            "" if lost.window is None else lost.window.code,
        )

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `11 dead in 7 days`."""
        return f"{finding.value:.0f} dead in {rule.number('within_days'):.0f} days"

    def series(self, rule: Rule) -> str:
        """The temperature, in whose windows diseases flare."""
        return "temperature_c"

    def scale(self, rule: Rule, finding: Finding) -> tuple[float, float]:
        """The temperatures of a year."""
        return 0.0, 30.0

    def since(self, rule: Rule, seen: PondSeen, finding: Finding) -> Began | None:
        """Day of the first of these deaths."""
        return finding.began

    def tell(
        self, rule: Rule, seen: PondSeen, finding: Finding, said: Said, today: date
    ) -> Concern:
        """Deaths by day, their share, what came just before, and what is asked first."""
        lost = _lost(rule, seen, today)
        assert lost is not None
        days = per_day(lost.died)
        parts = ", ".join(f"{day_said(day)}: {dead}" for day, dead in days.items())
        arithmetic = [f"{parts}; together {lost.dead} in {rule.number('within_days'):.0f} days"]
        remarks = [*_linked(lost.died, seen)]
        if lost.stock is not None and lost.stock.total and lost.stock.counted_on is not None:
            arithmetic.append(
                f"{lost.dead} / {lost.stock.total} fish × 100 = {lost.percent:.1f} %, by the head "
                f"count of {day_said(lost.stock.counted_on)}"
            )
            remarks += lost.stock.remarks
        else:
            remarks.append(NO_STOCK)
        arithmetic.append(
            f"watch from {rule.number('watch_from_deaths'):.0f} dead and "
            f"{rule.number('watch_from_percent'):g} %, act from "
            f"{rule.number('act_from_deaths'):.0f} and {rule.number('act_from_percent'):g} %"
        )
        if any(one.dead is None for one in lost.died):
            remarks.append("A death without a number was counted as one.")
        if lost.window is not None:
            low, high = lost.window.widest or (0.0, 0.0)
            remarks.append(
                f"Raised: the water lies in the widest published window of "
                f"{lost.window.plain_name}, {low:g} to {high:g} °C. Look at gills and skin."
            )
        if max(days.values()) >= rule.number("watch_from_deaths"):
            remarks += [f"Ask: {one.says}" for one in sayings("ask")]
        remarks += [one.says for one in sayings("apart")]
        remarks += [f"Sample: {one.says}" for one in sayings("sample")]
        return concern(
            rule,
            finding,
            what=self.what(rule, seen, finding),
            since=finding.began,
            parameter=self.series(rule),
            unit="fish",
            arithmetic=tuple(arithmetic),
            readings=(),
            remarks=tuple(remarks),
        )


def _lost(rule: Rule, seen: PondSeen, today: date) -> _Lost | None:
    losses = seen.losses
    if losses is None:
        return None
    since = today - timedelta(days=round(rule.number("within_days")) - 1)
    died = losses.deaths(since, today)
    if not died:
        return None
    dead = number(died)
    stock = percent = None
    if losses.counts:
        before = min(one.on_day for one in died) - timedelta(days=1)
        stock = ledger(losses.counts, losses.moves, before)
        percent = 100.0 * dead / stock.total if stock.total else None
    return _Lost(died, dead, stock, percent, _window(seen, died, today))


def _window(seen: PondSeen, died: tuple[Died, ...], today: date) -> Hazard | None:
    """The notifiable disease in whose widest window the newest temperature lies."""
    daily = seen.daily_temperatures()
    if not daily or daily[-1][0] < today.toordinal() - 14:
        return None
    temp_c = daily[-1][1]
    assert seen.losses is not None
    for hazard in hazards().values():
        facts, band = hazard.suspicion, hazard.widest
        if facts is None or band is None or not band[0] <= temp_c <= band[1]:
            continue
        if any(
            facts.concerns(one.species or seen.losses.stock)
            or not (one.species or seen.losses.stock)
            for one in died
        ):
            return hazard
    return None


def _linked(died: tuple[Died, ...], seen: PondSeen) -> list[str]:
    """What happened on the day of deaths or the day before, where it can have killed."""
    found: dict[tuple[date, str], Circumstance] = {}
    for one in seen.circumstances:
        if one.kind in BEFORE and any(0 <= (dead.on_day - one.first).days <= 1 for dead in died):
            found[one.first, one.kind] = one
    return [
        f"{BEFORE[kind][0].upper()}{BEFORE[kind][1:]} on {day_said(day)}, within a day of deaths."
        for day, kind in sorted(found)
    ]
