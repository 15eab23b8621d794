"""The deaths of a pond on one page: by day, week and outbreak, beside the stock that is left."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from store.book.book import Book
from store.book.events import PondEvent, events
from store.book.people import staff
from store.book.ponds import PondCard, card
from store.exams.deaths import DeathCount, deaths_of
from store.exams.head_counts import HeadCount, head_counts_of
from store.exams.mortality import MOST_DAYS, Mortality, mortality
from store.exams.suspicion import SuspectedHere, suspicions
from store.facts.dead_fish import PARTS, Saying, sayings
from store.watch.look_lost import read_counts, read_moves
from store.watch.stock import Count, Move, Stock, key_of, ledger

QUIET_DAYS = 21
"""So many days without a death end an outbreak; common practice, without a source [d]."""


@dataclass(frozen=True, slots=True)
class ChartDay:
    """One day that somebody looked: the dead of it, of the seven days up to it, and the share of
    all that had died since the outbreak began; the share is None without a head count.

    Counts in fish, the share in percent.
    """

    day: date
    dead: int
    week: int
    percent: float | None


@dataclass(frozen=True, slots=True)
class LossPage:
    """All that is known of the deaths of one pond.

    `outbreak` is the first day of the last run of deaths, None where none is known. `whole` is the
    mortality of the pond since, `kinds` that of each kind of fish with deaths that was counted by
    itself. `looked` are the days on which somebody looked.
    """

    card: PondCard
    today: date
    entries: tuple[DeathCount, ...]
    counts: tuple[HeadCount, ...]
    events: tuple[PondEvent, ...]
    """Older notes of the kind `fish_died`: they count too."""
    stock: Stock
    outbreak: date | None
    whole: Mortality | None
    kinds: tuple[Mortality, ...]
    days: tuple[ChartDay, ...]
    suspicions: tuple[SuspectedHere, ...]
    people: dict[UUID, str]

    @property
    def looked(self) -> int:
        """On how many days somebody looked, since the outbreak began or at all [count]."""
        return len(self.days)


def outbreak_began(moves: Iterable[Move], today: date, quiet_days: int = QUIET_DAYS) -> date | None:
    """The first day of the last run of deaths up to a day.

    Parameters
    ----------
    moves
        Fish that died, left or came, in any order.
    today
        The day up to which is looked.
    quiet_days
        So many days without a death part two runs [d].

    Returns
    -------
    date or None
        None where no death is known.

    Examples
    --------
    >>> died = [Move(date(2026, 6, day), "died", 1) for day in (1, 25, 28)]
    >>> outbreak_began(died, date(2026, 7, 1))
    datetime.date(2026, 6, 25)
    """
    days = sorted(
        {
            one.on_day
            for one in moves
            if one.kind == "died" and one.fish != 0 and one.on_day <= today
        },
        reverse=True,
    )
    if not days:
        return None
    began = days[0]
    for day in days[1:]:
        if (began - day).days > quiet_days:
            break
        began = day
    return began


def loss_page(book: Book, pond_id: UUID, now: datetime, *, struck: bool = False) -> LossPage:
    """The deaths of a pond as they stand in the book.

    Parameters
    ----------
    book
        The book.
    pond_id
        Key of the pond.
    now
        The present instant, with a time zone.
    struck
        List entries, counts and events that were struck through as well; they never count.

    Raises
    ------
    NotFound
        No such pond.
    """
    today = book.today(now)
    found = card(book, pond_id)
    with book.reading() as connection:
        counts = [count for _, count in read_counts(connection, [pond_id])]
        moves = [move for _, move in read_moves(connection, [pond_id])]
    began = outbreak_began(moves, today)
    whole = None
    if began is not None:
        whole = mortality(counts, moves, max(began, _earliest(today)), today)
    return LossPage(
        card=found,
        today=today,
        entries=deaths_of(book, pond_id, struck=struck),
        counts=head_counts_of(book, pond_id, struck=struck),
        events=tuple(
            one for one in events(book, pond_id, struck=struck) if one.kind == "fish_died"
        ),
        stock=ledger(counts, moves, today),
        outbreak=began,
        whole=whole,
        kinds=() if whole is None else _kinds(counts, moves, whole.first, today),
        days=_days(counts, moves, began, today),
        suspicions=() if found.struck else suspicions(book, pond_id, now),
        people={one.id: one.initials or one.name for one in staff(book, struck=True)},
    )


def _earliest(today: date) -> date:
    return today - timedelta(days=MOST_DAYS - 1)


def _kinds(
    counts: Sequence[Count], moves: Sequence[Move], first: date, today: date
) -> tuple[Mortality, ...]:
    counted = {key_of(one.species) for one in counts if one.species}
    died: dict[str, str] = {}
    for one in moves:
        key = key_of(one.species)
        if one.kind == "died" and one.fish != 0 and key in counted and first <= one.on_day:
            died.setdefault(key, one.species)
    return tuple(
        mortality(counts, moves, first, today, species=name) for _, name in sorted(died.items())
    )


def _days(
    counts: Sequence[Count], moves: Sequence[Move], began: date | None, today: date
) -> tuple[ChartDay, ...]:
    """Days that were looked at since the outbreak began, or ever where nothing died."""
    dead: dict[date, int] = {}
    for one in moves:
        if one.kind == "died" and one.on_day <= today and (began is None or one.on_day >= began):
            dead[one.on_day] = dead.get(one.on_day, 0) + (1 if one.fish is None else one.fish)
    if not dead:
        return ()
    first = min(dead)
    start = ledger(counts, moves, first - timedelta(days=1)).total
    found, sum_dead = [], 0
    for day in sorted(dead):
        sum_dead += dead[day]
        came = sum(
            one.fish or 0 for one in moves if one.kind == "added" and first <= one.on_day <= day
        )
        of = None if start is None else start + came
        share = 100.0 * sum_dead / of if of and sum_dead <= of else None
        week = sum(number for other, number in dead.items() if 0 <= (day - other).days < 7)
        found.append(ChartDay(day, dead[day], week, share))
    return tuple(found)


def advice() -> tuple[tuple[str, tuple[Saying, ...]], ...]:
    """What is asked where fish died suddenly, what tells causes apart, how a fish is sampled.

    Returns
    -------
    tuple
        Headings with their sentences, each with its standing; the hose stands first.
    """
    return tuple((PARTS[part], sayings(part)) for part in ("ask", "apart", "sample"))
