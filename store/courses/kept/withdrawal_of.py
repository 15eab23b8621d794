"""Until when the fish of a pond must not be eaten, from what was really given and its own water.

The law in force, the label and the prescribing vet decide. Whether the fish may be eaten at all is
asked and never assumed: without an answer there are no days, and ornamental fish are never food.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Literal
from uuid import UUID

from store.book.book import Book
from store.book.declared import Declared, declared
from store.book.events import events
from store.book.ponds import PondCard, Use, card
from store.courses.food.needs import Met, Need, Sums, met, needs, sums
from store.courses.food.water_since import WaterSince, water_since
from store.courses.food.withdrawal_due import LOCAL_LAW, barred
from store.courses.kept.given_agents import AgentGiven, agents_given
from store.courses.kept.water_daily import daily_temperatures
from store.courses.kept.written_withdrawal import (
    Beside,
    Written,
    barred_beside,
    medicines_beside,
    without_end,
    written_withdrawals,
)
from store.facts.withdrawal import Bar
from store.text import day_said

State = Literal["nothing given", "asked", "ornamental", "barred", "no day", "running", "over"]
"""How a pond stands: `asked` where nobody said what its fish are, `no day` where at least one agent
or medicine has none."""


LEAVES = ("fish_removed",)
"""Kinds of event with which fish leave a pond alive."""


@dataclass(frozen=True, slots=True)
class AgentWithdrawal:
    """One agent that was given, with what must have passed since.

    `late` and `early` are the first days on which fish are free, the cautious one first; None
    where no day can be given. `met` stands with the condition that is met last before the others.
    """

    given: AgentGiven
    needs: tuple[Need, ...]
    met: tuple[Met, ...]
    water: WaterSince
    late: date | None
    early: date | None
    over: bool
    sums: Sums | None

    @property
    def deciding(self) -> Met | None:
        """The condition that is met last."""
        return self.met[0] if self.met else None


@dataclass(frozen=True, slots=True)
class PondWithdrawal:
    """How a pond stands: of all its agents the longest period counts.

    `agents` are those whose period runs, or of which no day is known, longest first, then those
    that are over. `written` are withdrawals that were written down beside the courses, the latest
    end first; `beside` medicines noted beside the courses of which nobody wrote how long the fish
    must wait, newest first. `says` is the answer in one sentence, `asks` a question still open.
    """

    card: PondCard
    today: date
    state: State
    declared: Declared | None
    agents: tuple[AgentWithdrawal, ...]
    barred: tuple[Bar, ...]
    late: date | None
    early: date | None
    says: str
    asks: str
    remarks: tuple[str, ...]
    written: tuple[Written, ...] = ()
    beside: tuple[Beside, ...] = ()

    @property
    def use(self) -> Use:
        """What the fish are declared to be."""
        return self.card.pond.use

    @property
    def runs(self) -> bool:
        """Whether fish of this pond must not be eaten today because of what was given."""
        return self.state in {"barred", "no day", "running"}


def withdrawal_of(book: Book, pond: UUID, now: datetime) -> PondWithdrawal:
    """Until when the fish of a pond must not be eaten.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    now
        The present instant, with a time zone.

    Returns
    -------
    PondWithdrawal
        Days, degree-days [°C x days], and why.

    Raises
    ------
    NotFound
        No such pond.
    """
    today = book.today(now)
    given = agents_given(book, today, pond).get(pond, ())
    written = written_withdrawals(book, pond).get(pond, ())
    beside = medicines_beside(book, pond).get(pond, ())
    return _of(book, card(book, pond), given, written, beside, today)


def withdrawals(book: Book, now: datetime) -> tuple[PondWithdrawal, ...]:
    """Every pond whose fish must not be eaten now, or of which nobody said whether they may be.

    Parameters
    ----------
    book
        The practice's book.
    now
        The present instant, with a time zone.

    Returns
    -------
    tuple of PondWithdrawal
        Of ponds that stand in the book and were ever treated or written of: those that were never
        asked about, then those without a day, then by the day on which they are free, the latest
        first.
    """
    today = book.today(now)
    found = []
    given, written = agents_given(book, today), written_withdrawals(book)
    beside = medicines_beside(book)
    for pond in dict.fromkeys([*given, *written, *beside]):
        place = card(book, pond)
        if not place.struck and place.pond.use != "ornamental":
            one = _of(
                book, place, given.get(pond, ()), written.get(pond, ()), beside.get(pond, ()), today
            )
            if one.runs or one.state == "asked":
                found.append(one)
    return tuple(
        sorted(
            found,
            key=lambda one: (
                one.state != "asked",
                -(one.late or date.max).toordinal(),
                one.card.client.name,
                one.card.pond.name,
            ),
        )
    )


def _of(
    book: Book,
    place: PondCard,
    given: tuple[AgentGiven, ...],
    written: tuple[Written, ...],
    beside: tuple[Beside, ...],
    today: date,
) -> PondWithdrawal:
    use = place.pond.use
    daily: Mapping[date, float] = {}
    if given and use == "food":
        daily = daily_temperatures(book, place.pond.id, min(one.last_day for one in given), today)
    found = [_agent(one, use, daily, today) for one in given]
    newest = {one.given.agent: one for one in sorted(found, key=lambda one: one.given.last_day)}
    shown = sorted(
        (one for one in found if not one.over or newest[one.given.agent] is one),
        key=lambda one: (one.over, -(one.late or date.max).toordinal(), one.given.agent),
    )
    bars = tuple(dict.fromkeys([*barred(one.agent for one in given), *barred_beside(beside)]))
    loose = without_end(beside, written, given, today)
    open_ = [one for one in shown if not one.over]
    runs = [one for one in written if one.runs(today)]
    free = [*(one.late for one in open_), *(one.free_from for one in runs),
            *(None for _ in loose)]  # fmt: skip
    state: State = (
        "ornamental" if use == "ornamental"
        else "nothing given" if not given and not written and not loose and not bars
        else "barred" if bars and use == "food"
        else "asked" if use == "not asked"
        else "over" if not free
        else "no day" if any(one is None for one in free)
        else "running"
    )  # fmt: skip
    since = [*(one.given.first_day for one in open_), *(one.on_day for one in runs),
             *(one.on_day for one in loose)]  # fmt: skip
    left = _left(book, place.pond.id, since) if use == "food" else ()
    late = early = None
    if state == "running":
        late = max(one for one in free if one is not None)
        ends = [one.free_from for one in runs if one.free_from is not None]
        # Where warmer water brings nothing of one agent, its cautious day holds.
        earlies = [one.early or one.late for one in open_]
        early = max(day for day in (*earlies, *ends) if day is not None)
    return PondWithdrawal(
        card=place,
        today=today,
        state=state,
        declared=declared(book, place.pond.id),
        agents=tuple(shown),
        barred=bars,
        late=late,
        early=min(early, late) if early is not None and late is not None else early,
        says=_says(state, bars, late),
        asks=_ASKS if use == "not asked" else "",
        remarks=(
            *left,
            *(() if state in ("ornamental", "barred") else _told_beside(loose)),
            *dict.fromkeys(one.said for one in runs if state != "ornamental"),
            *_remarks(state, sum(one.still_due for one in given), bars, reckoned=bool(open_)),
        ),
        written=written,
        beside=loose,
    )


def _agent(
    given: AgentGiven, use: Use, daily: Mapping[date, float], today: date
) -> AgentWithdrawal:
    water = water_since(daily, given.last_day, today)
    wanted = needs(given.agent, given.shelf) if use == "food" else ()
    found = tuple(
        sorted(
            (met(one, water, today) for one in wanted),
            key=lambda one: -(one.late or date.max).toordinal(),
        )
    )
    late = early = None
    if found and all(one.late is not None for one in found):
        late = max(one.late for one in found if one.late is not None)
        days = [one.early for one in found if one.early is not None]
        early = max(days) if len(days) == len(found) else None
    over = bool(found) and all(one.over or not one.need.binds for one in found)
    drawn = None
    if any(one.need.kind == "degree-days" for one in found):
        end = late or max(today, given.last_day) + timedelta(days=1)
        drawn = sums(water, today, max(end, today))
    return AgentWithdrawal(given, wanted, found, water, late, early, over, drawn)


def _left(book: Book, pond: UUID, begun: list[date]) -> tuple[str, ...]:
    """Fish that left the pond since the first dose of what still runs: somebody has them."""
    if not begun:
        return ()
    since = min(begun)
    days = sorted(
        {
            one.on_day
            for one in events(book, pond, since=since)
            if one.kind in LEAVES and one.on_day >= since
        }
    )
    if not days:
        return ()
    said = ", ".join(day_said(day) for day in days)
    return (f"Fish left this pond on {said}, within the period: whoever has them must know.",)


def _told_beside(those: tuple[Beside, ...]) -> tuple[str, ...]:
    """Medicines noted beside the courses of which nobody wrote how long the fish must wait."""
    if not those:
        return ()
    newest = those[0]
    more = "" if len(those) == 1 else f", and {len(those) - 1} more"
    return (
        f"Given beside the courses, and no end of a withdrawal is written: {newest.name} on "
        f"{day_said(newest.on_day)}{more}. See its label, and note “fish not for eating” from that "
        "day until the last one.",
    )


_ASKS = (
    "Nobody has said whether fish of this pond may be eaten. Koi and goldfish are kinds of carp, "
    "which is food: ask the owner, and write down who said what."
)


def _says(state: State, bars: tuple[Bar, ...], late: date | None) -> str:
    if state == "asked":
        return "Not for eating until somebody says what these fish are."
    if state == "ornamental":
        return "Marked not for eating: ornamental fish never become food."
    if state == "barred":
        return f"Not for eating, ever: {', '.join(one.substance for one in bars)} was given."
    if state == "no day":
        return "Not for eating: no day can be given."
    if state == "running" and late is not None:
        return f"Not for eating before {day_said(late)}."
    if state == "over":
        return "Every period that is known is over."
    return "Nothing was given under a course in this book."


def _remarks(
    state: State, due: int, bars: tuple[Bar, ...], *, reckoned: bool
) -> tuple[str, ...]:  # fmt: skip
    found = []
    if due and state not in ("barred", "ornamental"):
        doses = "1 dose is" if due == 1 else f"{due} doses are"
        found.append(f"{doses} still to come, and each begins the count again.")
    if state == "running" and reckoned:
        found.append("Not before this day, if the water is as expected: look again before sale.")
    if state == "ornamental":
        found.append("Where they are sold or given to people who eat fish, that protection ends.")
    if bars and state != "barred":
        found.append(f"After {', '.join(one.substance for one in bars)} they never may be eaten.")
    return (*found, LOCAL_LAW)
