"""How many fish swim in a pond: the last head count, less what died and left, and what came since.

A count holds at the end of its day: what died, left or came on that day is in it already. Where
fish were counted only later, the stock is reckoned back from the first count afterwards.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal, NamedTuple

from store.text import day_said

MoveKind = Literal["died", "removed", "added"]


class Count(NamedTuple):
    """How many of a kind of fish were counted on a day; an empty kind is every fish of the pond."""

    on_day: date
    species: str
    fish: int
    how: str = ""


class Move(NamedTuple):
    """Fish that died, left or came on a day; None is a number that nobody said.

    Deaths of 0 say that somebody looked; they change no stock.
    """

    on_day: date
    kind: MoveKind
    fish: int | None
    species: str = ""


@dataclass(frozen=True, slots=True)
class StockLine:
    """One kind of fish, or all of them under an empty name.

    `fish` are those that swim there on the day asked about [count]; with `doubt` it is not to be
    relied on, and can be less than nothing. `back` tells that it was counted only afterwards: then
    `died`, `removed` and `added` lie between the day and the count.
    """

    species: str
    counted: int
    counted_on: date
    how: str
    died: int
    removed: int
    added: int
    doubt: str = ""
    back: bool = False

    @property
    def fish(self) -> int:
        """Counted, less those that died and left, and those that came [count]."""
        gone = self.died + self.removed - self.added
        return self.counted + gone if self.back else self.counted - gone

    @property
    def arithmetic(self) -> str:
        """The reckoning with its numbers and the day of the count."""
        how = f" ({self.how})" if self.how else ""
        out, into = ("+", "−") if self.back else ("−", "+")
        return (
            f"{self.counted} on {day_said(self.counted_on)}{how} {out} {self.died} died {out} "
            f"{self.removed} removed {into} {self.added} added = {self.fish}"
        )


@dataclass(frozen=True, slots=True)
class Stock:
    """The fish of a pond on a day: a line a kind, and all together where that can be said.

    `counted_on` is the oldest day that the total rests on: its denominator is as old as that.
    `short` tells that more died or left than were there: the total is None then.
    """

    day: date
    lines: tuple[StockLine, ...]
    total: int | None
    counted_on: date | None
    remarks: tuple[str, ...] = ()
    short: bool = False

    def of(self, species: str) -> StockLine | None:
        """The line of a kind of fish; None where it was never counted by itself.

        Parameters
        ----------
        species
            As typed; an empty one is the whole pond.
        """
        wanted = key_of(species)
        return next((one for one in self.lines if key_of(one.species) == wanted), None)


NO_STOCK = "No head count is in the book: no share of deaths can be reckoned."


def key_of(species: str) -> str:
    """A kind of fish as it is compared: in small letters, one blank between words, no plural s.

    Parameters
    ----------
    species
        As typed.

    Examples
    --------
    >>> key_of(" Ghost  Carps "), key_of("koi"), key_of("")
    ('ghost carp', 'koi', '')
    """
    folded = " ".join(species.casefold().split())
    return folded[:-1] if folded.endswith("s") and not folded.endswith(("ss", "us")) else folded


def ledger(counts: Iterable[Count], moves: Iterable[Move], day: date) -> Stock:
    """The fish of a pond at the end of a day.

    Parameters
    ----------
    counts
        Head counts, in any order; of two on one day the later one in the order given holds.
    moves
        Fish that died, left or came, in any order.
    day
        The day asked about.

    Returns
    -------
    Stock
        Lines by kind; a kind without a count has no line.

    Notes
    -----
    Moves without a kind belong to the only kind that was counted; where several were, they are
    taken from the total alone, and a remark says so.

    Examples
    --------
    >>> counted = [Count(date(2026, 6, 1), "koi", 26, "counted")]
    >>> died = [Move(date(2026, 6, 9), "died", 2, "koi"), Move(date(2026, 6, 10), "died", 3, "koi")]
    >>> ledger(counted, died, date(2026, 6, 10)).lines[0].arithmetic
    '26 on 1 Jun 2026 (counted) − 5 died − 0 removed + 0 added = 21'
    """
    newest: dict[str, Count] = {}
    for count in sorted(counts, key=lambda one: one.on_day):
        known = newest.get(key_of(count.species))
        if known is None or count.on_day <= day:
            newest[key_of(count.species)] = count
    past = [one for one in moves if one.fish != 0]
    whole = newest.pop("", None)
    remarks: list[str] = []
    only = next(iter(newest)) if len(newest) == 1 and whole is None else None
    lines = []
    for key, count in newest.items():
        mine = [
            one for one in past
            if _between(one, count.on_day, day)
            and (key_of(one.species) == key or (not one.species and key == only))
        ]  # fmt: skip
        lines.append(_line(count, mine, day))
    if only is not None and any(not one.species for one in past):
        remarks.append("Entries without a kind of fish were taken to be of the one counted.")
    if whole is not None:
        line = _line(whole, [one for one in past if _between(one, whole.on_day, day)], day)
        lines.insert(0, line)
        if all(whole.on_day >= one.on_day for one in newest.values()):
            return Stock(
                day, tuple(lines), _sure(line), whole.on_day, (*remarks, *_doubts(lines)),
                short=any(one.fish < 0 for one in lines),
            )  # fmt: skip
    kinds = [one for one in lines if one.species]
    if not kinds:
        return Stock(day, tuple(lines), None, None, (NO_STOCK,))
    oldest = min(one.counted_on for one in kinds)
    unnamed = [
        one for one in past
        if only is None and _between(one, oldest, day) and key_of(one.species) not in newest
    ]  # fmt: skip
    total = sum(one.fish for one in kinds)
    if unnamed:
        total += sum(_signed(one) for one in unnamed) * (1 if oldest <= day else -1)
        days = ", ".join(sorted({day_said(one.on_day) for one in unnamed}))
        remarks.append(
            f"Of a kind that was not counted by itself, or without one ({days}): in the total "
            "alone."
        )
    sure = total if total >= 0 and not any(one.doubt for one in kinds) else None
    short = total < 0 or any(one.fish < 0 for one in lines)
    if total < 0:
        remarks.append("More fish died or left than were there by all counts: count them again.")
    return Stock(
        day, tuple(lines), sure, oldest, (*remarks, *_doubts(lines)), short=short
    )  # fmt: skip


def _between(move: Move, counted_on: date, day: date) -> bool:
    """After the count and up to the day; the other way round where it was counted afterwards."""
    return min(counted_on, day) < move.on_day <= max(counted_on, day)


def _signed(move: Move) -> int:
    return (move.fish or 0) * (1 if move.kind == "added" else -1)


def _sure(line: StockLine) -> int | None:
    return None if line.doubt else line.fish


def _doubts(lines: Sequence[StockLine]) -> list[str]:
    return [one.doubt for one in lines if one.doubt]


def _line(count: Count, moves: Sequence[Move], day: date) -> StockLine:
    sums = {
        kind: sum(one.fish or 0 for one in moves if one.kind == kind)
        for kind in ("died", "removed", "added")
    }
    line = StockLine(
        count.species, count.fish, count.on_day, count.how,
        sums["died"], sums["removed"], sums["added"], back=count.on_day > day,
    )  # fmt: skip
    name = count.species or "fish"
    doubt = ""
    unsaid = sorted({day_said(one.on_day) for one in moves if one.fish is None})
    if line.fish < 0:
        doubt = (
            f"More {name} died or left than there were by the count of "
            f"{day_said(count.on_day)}: count them again."
        )
    elif unsaid:
        doubt = f"How many {name} died, left or came on {', '.join(unsaid)} was not said."
    return replace(line, doubt=doubt)
