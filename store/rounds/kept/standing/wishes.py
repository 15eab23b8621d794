"""At which hour of the day a site is best visited: oxygen is lowest at dawn, pH highest late."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Literal
from uuid import UUID

from sqlalchemy import select

from store.book.book import Book
from store.book.some_rows import rows_of
from store.book.tables import table
from store.rounds.kept.standing.looked import looking
from store.watch.concern import MorningLine, MorningList
from store.watch.judge import judge
from store.watch.kinds import KINDS
from store.watch.seen import PondSeen

Slot = Literal["dawn", "afternoon", "both"]

DAWN_RULES = frozenset(
    {
        "oxygen_low", "oxygen_percent_low", "oxygen_supersaturated", "warm_night", "plants_killed",
        "low_oxygen_signs",
    }
)  # fmt: skip
"""Rules whose concern is oxygen: what counts is the reading before the sun is on the water."""
AFTERNOON_RULES = frozenset({"ph_range", "ph_change"})
"""Rules whose concern is pH, which plants and algae drive up until late in the afternoon."""
_SAID: Mapping[Slot, str] = {
    "dawn": "Read the oxygen at dawn, when it is lowest: a reading by day may hide the lack",
    "afternoon": "Read the pH in the afternoon, when it is highest",
    "both": "Oxygen asks for dawn and pH for the afternoon: two readings or a logger are needed, "
    "one visit cannot tell both",
}


@dataclass(frozen=True, slots=True)
class HourWish:
    """The part of the day that a site wants, with the ponds and concerns that want it.

    `because` is one line a concern, such as `Lower pond: oxygen 4.1 mg/L`.
    """

    site_id: UUID
    slot: Slot
    because: tuple[str, ...]

    @property
    def said(self) -> str:
        """In a sentence; common practice."""
        return f"{_SAID[self.slot]} ({'; '.join(self.because)})."


def hour_wishes(
    book: Book, now: datetime, sites: Collection[UUID], morning: MorningList | None = None
) -> Mapping[UUID, HourWish]:
    """The part of the day that each of some sites wants.

    Parameters
    ----------
    book
        The practice's book.
    now
        The present instant, with a time zone.
    sites
        Keys of the sites of a round.
    morning
        The morning list of today, where it is at hand: only ponds with more than one concern are
        looked at again.

    Returns
    -------
    Mapping
        By site; those that want nothing are left out. Concerns at rest want nothing. A site wants
        both where oxygen is the concern of one pond and pH that of another, or of the same.
    """
    ponds = _ponds(book, sites)
    codes: dict[UUID, tuple[tuple[str, str], ...]] = {}
    lines: dict[UUID, MorningLine] = {}
    if morning is not None and morning.today == book.today(now):
        lines = {line.pond: line for line in morning.lines if line.pond in ponds}
    again = []
    for pond in ponds:
        line = lines.get(pond)
        if line is None or line.concerns > 1:
            again.append(pond)
        elif line.concerns == 1 and line.rule in DAWN_RULES | AFTERNOON_RULES:
            codes[pond] = ((line.rule, line.what),)
    codes |= _spoken(book, again, now)
    found: dict[UUID, list[tuple[str, str]]] = {}
    for pond, spoken in codes.items():
        site, name = ponds[pond]
        found.setdefault(site, []).extend((code, f"{name}: {what}") for code, what in spoken)
    return {
        site: HourWish(site, slot, tuple(dict.fromkeys(what for _code, what in spoken)))
        for site, spoken in found.items()
        if (slot := _slot({code for code, _what in spoken})) is not None
    }


def _slot(codes: Collection[str]) -> Slot | None:
    dawn, afternoon = bool(DAWN_RULES & set(codes)), bool(AFTERNOON_RULES & set(codes))
    if dawn and afternoon:
        return "both"
    return "dawn" if dawn else "afternoon" if afternoon else None


def _ponds(book: Book, sites: Collection[UUID]) -> dict[UUID, tuple[UUID, str]]:
    """The ponds of some sites with their site and name."""
    ponds = table("pond").c
    query = (
        select(ponds.id, ponds.site_id, ponds.name)
        .where(ponds.struck_at.is_(None))
        .order_by(ponds.name, ponds.id)
    )
    with book.reading() as connection:
        rows = rows_of(connection, query, ponds.site_id, sites)
        return {pond: (site, name) for pond, site, name in rows}


def _spoken(
    book: Book, ponds: Collection[UUID], now: datetime
) -> dict[UUID, tuple[tuple[str, str], ...]]:
    """The concerns about oxygen and pH of some ponds, with what each says, worst first."""
    with looking(book, ponds, now) as looked:

        def told(pond: UUID, seen: PondSeen) -> Iterator[tuple[str, str]]:
            rules, rests = looked.rules.set_of(pond), looked.rests.get(pond)
            for rule, finding in judge(rules, seen, looked.today, rests).speaking:
                if rule.code in DAWN_RULES | AFTERNOON_RULES:
                    yield rule.code, KINDS[rule.kind].what(rule, seen, finding)

        return {pond: tuple(told(pond, seen)) for pond, seen in looked.seen.items()}
