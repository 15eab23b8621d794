"""Deaths over a stock that is corrected for deaths, removals and arrivals.

A day's rate is over the fish alive when the day began, a week's over those alive when the week
began, the cumulative share over all fish that were there or came. Day rates do not add up: each is
over fewer fish than the one before. A day with a count of none was looked at, a day without any
count was not: they are never the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from store.errors import BadInput
from store.exams.prevalence import Interval, clopper_pearson
from store.exams.shares import given_confidence, percent
from store.text import day_said
from store.watch.stock import NO_STOCK, Count, Move, StockLine, key_of, ledger
from store.water.given import figures

SOURCE = (
    "arithmetic: deaths over fish alive when the day or week began, cumulative over all that were "
    "stocked; interval: Clopper & Pearson 1934, Biometrika 26:404-413"
)
WEEK_DAYS = 7
MOST_DAYS = 3_660
_SHOWN_DAYS = 8

NOT_ADDED = "Day rates do not add up to the cumulative share: each is over fewer fish."
TOGETHER = (
    "The interval takes each fish for itself. Where a disease goes from one to the next it is too "
    "narrow, and it says nothing of how many will die yet."
)
LOCAL_LAW = (
    "Increased mortality that nobody can explain must be reported in many countries, whatever the "
    "number: local law says to whom."
)


@dataclass(frozen=True, slots=True)
class DayLoss:
    """The deaths of one day.

    `dead` is None where nobody looked. `alive` are the fish when the day began (or when the span
    began), None where no count tells; `share` is dead over alive [-]. `over_days` is 1, or more
    where days before were not looked at: the dead may then be of all of them. `at_least` says that
    a number was not said and counted as one.
    """

    day: date
    dead: int | None
    alive: int | None
    share: float | None
    over_days: int
    at_least: bool


@dataclass(frozen=True, slots=True)
class WeekLoss:
    """The deaths from `first` to `last`, seven days or fewer; `looked` of these were looked at."""

    first: date
    last: date
    dead: int
    alive: int | None
    share: float | None
    looked: int


@dataclass(frozen=True, slots=True)
class Mortality:
    """Deaths over a stock from `first` to `last`.

    `weeks` end on `last`; the first of them may be shorter. `dead` are all deaths, `of` all fish
    that were there when it began or came since; `share` the one over the other [-] and `interval`
    its exact interval; None where no head count tells. `denominator` says what `of` rests on, with
    the day of the count. `not_looked` are the days without a count.
    """

    first: date
    last: date
    species: str
    days: tuple[DayLoss, ...]
    weeks: tuple[WeekLoss, ...]
    dead: int
    of: int | None
    share: float | None
    interval: Interval | None
    confidence: float
    denominator: str
    not_looked: tuple[date, ...]
    said: str
    arithmetic: str
    source: str
    remarks: tuple[str, ...]


def mortality(
    counts: Sequence[Count],
    moves: Sequence[Move],
    first: date,
    last: date,
    *,
    species: str = "",
    confidence: float = 0.95,
) -> Mortality:
    """Daily, weekly and cumulative mortality of a pond, or of one kind of fish in it.

    Parameters
    ----------
    counts
        Head counts; each holds at the end of its day.
    moves
        Fish that died, left or came. A death count of 0 says that somebody looked; a day without
        one was not looked at. A number that nobody said is taken as one.
    first, last
        The days looked at, both included, at most ten years.
    species
        One kind of fish that was counted by itself; empty for all.
    confidence
        Confidence of the interval, above 0, below 1 [-].

    Returns
    -------
    Mortality
        Rates as shares [-], each with the fish it is over.

    Raises
    ------
    BadInput
        The last day before the first, or too many days.

    Notes
    -----
    Fish that were taken out stay among those that could have died. Where the ledger is in doubt
    (more died than were there) no rate is reckoned; the doubt is told.

    Examples
    --------
    >>> day = date(2026, 6, 1)
    >>> died = [Move(day + timedelta(n), "died", dead) for n, dead in enumerate((2, 3, 4, 2), 1)]
    >>> answer = mortality([Count(day, "", 26)], died, date(2026, 6, 2), date(2026, 6, 5))
    >>> answer.said
    '11 of 26 fish died from 2 Jun 2026 to 5 Jun 2026: 42.3 % (95 % interval 23.4 to 63.1 %).'
    >>> [round(100 * one.share, 2) for one in answer.days]
    [7.69, 12.5, 19.05, 11.76]
    """
    given_confidence(confidence)
    if last < first:
        raise BadInput(
            f"The last day, {day_said(last)}, lies before the first, {day_said(first)}.",
            field="last day",
        )
    if (last - first).days >= MOST_DAYS:
        raise BadInput("More than ten years of deaths are not taken at once.", field="first day")
    key = key_of(species)
    # As in the ledger: what has no kind is of the only kind that was counted.
    kinds = {key, ""} if {key_of(one.species) for one in counts} == {key} else {key}
    mine = [one for one in moves if not key or key_of(one.species) in kinds]
    died = [one for one in mine if one.kind == "died" and first <= one.on_day <= last]

    alive = _Alive(counts, moves, species)
    days = _days(died, alive, first, last)
    weeks = _weeks(days, alive, first, last)
    dead = sum(one.dead or 0 for one in days)
    line, start = alive.line(first), alive.at(first)
    came = sum(one.fish or 0 for one in mine if one.kind == "added" and first <= one.on_day <= last)
    left = sum(
        one.fish or 0 for one in mine if one.kind == "removed" and first <= one.on_day <= last
    )
    of = None if start is None else start + came
    share = interval = None
    if of and dead <= of:
        share, interval = dead / of, clopper_pearson(dead, of, confidence)
    name = species or "fish"
    return Mortality(
        first, last, species, days, weeks, dead, of, share, interval, confidence,
        _denominator(line, start, came, first), tuple(one.day for one in days if one.dead is None),
        _said(dead, of, name, first, last, interval, confidence),
        _arithmetic(days, weeks, dead, of), SOURCE,
        _remarks(days, dead, of, left, (*_guessed(line), *alive.doubts(first, last))),
    )  # fmt: skip


class _Alive:
    """The fish when a day began, as the ledger of the day before tells it."""

    def __init__(self, counts: Sequence[Count], moves: Sequence[Move], species: str) -> None:
        self._counts, self._moves, self._species = counts, moves, species
        self._known: dict[date, int | None] = {}

    def line(self, day: date) -> StockLine | None:
        stock = ledger(self._counts, self._moves, day - timedelta(days=1))
        return stock.of(self._species)

    def at(self, day: date) -> int | None:
        if day not in self._known:
            stock = ledger(self._counts, self._moves, day - timedelta(days=1))
            line = stock.of(self._species)
            if not self._species:
                self._known[day] = stock.total
            else:
                self._known[day] = None if line is None or line.doubt else line.fish
        return self._known[day]

    def doubts(self, first: date, last: date) -> list[str]:
        """What the ledger remarks at the beginning and at the end, each once."""
        stocks = (
            ledger(self._counts, self._moves, first - timedelta(days=1)),
            ledger(self._counts, self._moves, last),
        )
        return list(dict.fromkeys(remark for stock in stocks for remark in stock.remarks))


def _days(died: Sequence[Move], alive: _Alive, first: date, last: date) -> tuple[DayLoss, ...]:
    by_day: dict[date, list[Move]] = {}
    for one in died:
        by_day.setdefault(one.on_day, []).append(one)
    found = []
    since = None  # the first of the days before this one that nobody looked at
    day = first
    while day <= last:
        entries = by_day.get(day)
        if entries is None:
            since = since or day
            found.append(DayLoss(day, None, alive.at(day), None, 1, at_least=False))
        else:
            dead = sum(1 if one.fish is None else one.fish for one in entries)
            began = since or day
            there = alive.at(began)
            share = dead / there if there and dead <= there else None
            found.append(
                DayLoss(
                    day,
                    dead,
                    there,
                    share,
                    (day - began).days + 1,
                    at_least=any(one.fish is None for one in entries),
                )
            )
            since = None
        day += timedelta(days=1)
    return tuple(found)


def _weeks(days: Sequence[DayLoss], alive: _Alive, first: date, last: date) -> tuple[WeekLoss, ...]:
    found = []
    end = last
    while end >= first:
        begin = max(first, end - timedelta(days=WEEK_DAYS - 1))
        within = [one for one in days if begin <= one.day <= end]
        dead = sum(one.dead or 0 for one in within)
        there = alive.at(begin)
        looked = sum(one.dead is not None for one in within)
        share = dead / there if there and dead <= there and looked else None
        found.append(WeekLoss(begin, end, dead, there, share, looked))
        end = begin - timedelta(days=1)
    return tuple(reversed(found))


def _denominator(line: StockLine | None, start: int | None, came: int, first: date) -> str:
    if start is None:
        return NO_STOCK if line is None else (line.doubt or NO_STOCK)
    rests = f"{start} fish when {day_said(first)} began"
    if line is not None:
        rests += f" ({line.arithmetic})"
    return f"{rests} + {came} that came since" if came else rests


def _guessed(line: StockLine | None) -> tuple[str, ...]:
    if line is None or line.how not in ("estimated", "told"):
        return ()
    return (f"The number of fish was {line.how}, not counted: every share is as good as that.",)


def _said(
    dead: int, of: int | None, name: str, first: date, last: date,
    interval: Interval | None, confidence: float,
) -> str:  # fmt: skip
    span = f"from {day_said(first)} to {day_said(last)}"
    if of is None or interval is None:
        return f"{dead} {name} died {span}; how large a share that is cannot be said."
    return (
        f"{dead} of {of} {name} died {span}: {figures(100.0 * dead / of, 3)} % "
        f"({percent(confidence)} interval {figures(100.0 * interval.low, 3)} to "
        f"{figures(100.0 * interval.high, 3)} %)."
    )


def _arithmetic(
    days: Sequence[DayLoss], weeks: Sequence[WeekLoss], dead: int, of: int | None
) -> str:
    steps = []
    told = [one for one in days if one.dead]
    for one in told[-_SHOWN_DAYS:]:
        span = "" if one.over_days == 1 else f", of {one.over_days} days"
        least = "at least " if one.at_least else ""
        over = "" if one.share is None else f" of {one.alive} = {percent(one.share)}"
        steps.append(f"{day_said(one.day)}: {least}{one.dead}{over}{span}")
    if len(told) > _SHOWN_DAYS:
        steps.insert(0, f"{len(told) - _SHOWN_DAYS} days with deaths before these")
    week = weeks[-1]
    if week.share is not None:
        steps.append(
            f"{day_said(week.first)} to {day_said(week.last)}: {week.dead} of {week.alive} = "
            f"{percent(week.share)}"
        )
    if of and dead <= of:
        steps.append(f"cumulative: {dead} / {of} = {percent(dead / of)}")
    return "; ".join(steps) or "no deaths were entered"


def _remarks(
    days: Sequence[DayLoss], dead: int, of: int | None, left: int, doubts: Sequence[str]
) -> tuple[str, ...]:
    remarks = list(doubts)
    missed = [one.day for one in days if one.dead is None]
    if missed:
        shown = ", ".join(day_said(one) for one in missed[:4])
        more = f" and {len(missed) - 4} more" if len(missed) > 4 else ""
        remarks.append(f"Not looked at on {len(missed)} of {len(days)} days ({shown}{more}): "
                       "that is not the same as none dead.")  # fmt: skip
    if any(one.over_days > 1 and one.dead for one in days):
        remarks.append(
            "Dead found after days that were not looked at may be of any of them: the rate is over "
            "all of these days."
        )
    if any(one.at_least for one in days):
        remarks.append("A death without a number was counted as one.")
    if of is not None and dead > of:
        remarks.append(
            f"More fish died ({dead}) than were there ({of}): count them again. No share is "
            "reckoned."
        )
    if left:
        remarks.append(f"{left} fish that were taken out stay among those that could have died.")
    if sum(bool(one.dead) for one in days) > 1:
        remarks.append(NOT_ADDED)
    if dead:
        remarks += [TOGETHER, LOCAL_LAW]
    return tuple(remarks)
