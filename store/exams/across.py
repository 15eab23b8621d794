"""Findings of all ponds together: in which months, in what water, and did the windows speak before.

A finding that was preceded by a raised window is a hit, one that was not a miss; where no
temperature was known the rule could not speak, and neither is counted. A raised window in which an
examination looked for the hazard and found none is a false call; in which nobody looked nothing is
known, and that is no false call.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from typing import Literal
from uuid import UUID

from store.errors import BadInput
from store.exams.prevalence import SOURCE, Interval, prevalence
from store.water.given import figures

WITHIN_DAYS = 21
"""So many days before a finding the window may have spoken for a hit, and so many days after its
last word an examination still looks into it (common practice) [d]."""
ONE_WINDOW_DAYS = 7
"""A window that falls silent for no longer than this is one raised window (common practice) [d]."""
NEW_AFTER_DAYS = 60
"""A hazard found again at its pond within so many days is the same outbreak, and not a new question
to the rule (common practice) [d]."""
NEAR_DAYS = 3
"""How far from a finding a temperature may have been measured to be that of its water [d]."""
BAND_C = 5
"""Width of the bands of temperature in the table [°C]."""
FEW = 10
"""With fewer than so many, it is said that a rate means little (common practice)."""

LOOKED_IN: Mapping[str, tuple[str, ...]] = {
    "costia": ("skin scrape", "gill clip", "fin clip"),
    "white_spot": ("skin scrape", "gill clip", "fin clip"),
    "trichodina": ("skin scrape", "gill clip", "fin clip"),
    "chilodonella": ("skin scrape", "gill clip", "fin clip"),
    "gill_flukes": ("gill clip",),
    "skin_flukes": ("skin scrape", "fin clip"),
    "gill_maggot": ("gill clip",),
    "columnaris": ("lesion edge",),
    "water_mould": ("lesion edge",),
}
"""In which preparation a hazard would be seen, so that a clean one says that it was looked for
(common practice, after what confirms each); of all others a finding of 0 must say it."""

Met = Literal["hit", "noted", "miss", "not measured", "again", "not looked back"]
"""`noted`: the pond had been in its window for so long that the rule only noted it; that is no hit,
and its edge is not at fault. `not measured`: no temperature was known on the day before. `not
looked back`: the look back was stopped before that pond."""


@dataclass(frozen=True, slots=True)
class FoundThere:
    """One hazard found at one pond on one day.

    `temperature_c` is that of the water at the time, measured `measured_days` before or after;
    None where none was within `NEAR_DAYS`.
    """

    hazard: str
    pond: UUID
    where: str
    on_day: date
    exam: UUID | None
    temperature_c: float | None
    measured_days: int | None
    says: str = ""


@dataclass(frozen=True, slots=True)
class LookedThere:
    """An examination of a pond that looked for a hazard."""

    hazard: str
    pond: UUID
    where: str
    on_day: date
    exam: UUID
    found: bool


@dataclass(frozen=True, slots=True)
class Days:
    """What a window rule would have said at a pond: one letter a day from `first` on."""

    first: date
    letters: str
    spoke: str
    noted: str
    blind: str
    """Letters of the days on which it spoke, only noted, and knew no temperature."""

    def between(self, first: date, last: date) -> str:
        """The letters of some days, fewer where they lie outside.

        Parameters
        ----------
        first, last
            Of the days, both counted.
        """
        start, end = (first - self.first).days, (last - self.first).days + 1
        return self.letters[max(0, start) : max(0, end)]

    def raised(self) -> tuple[tuple[date, date], ...]:
        """First and last day of every raised window, short silences joined."""
        days = [n for n, letter in enumerate(self.letters) if letter == self.spoke]
        if not days:
            return ()
        cuts = [n for n, (a, b) in enumerate(pairwise(days), 1) if b - a - 1 > ONE_WINDOW_DAYS]
        starts = [days[n] for n in (0, *cuts)]
        ends = [days[n - 1] for n in (*cuts, len(days))]
        return tuple(
            (self.first + timedelta(days=a), self.first + timedelta(days=b))
            for a, b in zip(starts, ends, strict=True)
        )


@dataclass(frozen=True, slots=True)
class Raised:
    """One raised window at a pond, and what came of it."""

    pond: UUID
    first: date
    last: date
    came: Literal["found", "false call", "nobody looked"]
    exam: UUID | None


@dataclass(frozen=True, slots=True)
class Rate:
    """So many of so many, with the exact interval [-]; None where there are none."""

    part: int
    of: int
    exact: Interval | None

    @property
    def said(self) -> str:
        """For example `3 of 4 (95 % interval 19.4 to 99.4 %)`."""
        if self.exact is None:
            return f"{self.part} of {self.of}"
        low, high = (figures(100.0 * one, 3) for one in (self.exact.low, self.exact.high))
        return f"{self.part} of {self.of} (95 % interval {low} to {high} %)"


@dataclass(frozen=True, slots=True)
class Score:
    """How one window rule did at all ponds.

    `met` holds each finding with what the rule had said; `raised` each raised window. `caught` is
    the share of findings with a window before, `right` that of the looked-at windows in which the
    hazard was found.
    """

    met: tuple[tuple[FoundThere, Met], ...]
    raised: tuple[Raised, ...]
    within_days: int
    caught: Rate
    right: Rate
    source: str = SOURCE

    def findings(self, met: Met) -> int:
        """How many findings were met so.

        Parameters
        ----------
        met
            Which way.
        """
        return sum(one == met for _, one in self.met)

    def windows(self, came: str) -> int:
        """Of how many raised windows so much came.

        Parameters
        ----------
        came
            `found`, `false call` or `nobody looked`.
        """
        return sum(one.came == came for one in self.raised)

    @property
    def said(self) -> str:
        """In a sentence or two."""
        return (
            f"The window had spoken in the {self.within_days} days before {self.caught.said} "
            f"findings. Raised {len(self.raised)} times: found {self.windows('found')}, looked and "
            f"not found {self.windows('false call')}, nobody looked "
            f"{self.windows('nobody looked')}."
        )

    @property
    def remarks(self) -> tuple[str, ...]:
        """What is to be read beside it."""
        remarks = []
        if any(0 < one.of < FEW for one in (self.caught, self.right)):
            remarks.append(f"Fewer than {FEW}: a rate of so few says little, see its interval.")
        if self.findings("noted"):
            remarks.append(
                f"{self.findings('noted')} found in the window, which the rule only noted by then: "
                "there the days that it speaks decide, not its edge."
            )
        if self.findings("not measured"):
            remarks.append(
                f"{self.findings('not measured')} found where no temperature was known: no edge of "
                "the rule helps there, a thermometer does."
            )
        if self.findings("again"):
            remarks.append(
                f"{self.findings('again')} found again within {NEW_AFTER_DAYS} days: not counted."
            )
        return (
            *remarks,
            "Where nobody looked nothing is known: such a window is no false call.",
            "One clean slide says little: a false call can be a hazard that was overlooked.",
            "Ponds are looked at where something is wrong; these are no random choice.",
        )


def score(
    found: Iterable[FoundThere],
    looked: Iterable[LookedThere],
    days: Mapping[UUID, Days],
    within_days: int = WITHIN_DAYS,
    since: date | None = None,
) -> Score:
    """How a window rule did: what was found before it spoke, and what came of its speaking.

    Parameters
    ----------
    found
        All findings of the rule's hazard, in any order.
    looked
        All examinations that looked for it, in any order.
    days
        What the rule would have said at each pond.
    within_days
        How long before a finding it may have spoken, and how long after it somebody may look, 1 to
        365 [d].
    since
        Windows whose last day lies before this one are left out; None takes all.

    Returns
    -------
    Score
        Counts, with exact intervals of the rates [-].

    Raises
    ------
    BadInput
        A number of days that cannot be.

    Notes
    -----
    The day of the finding does not count: its thermometer came with the microscope.
    """
    if not 1 <= within_days <= 365:
        raise BadInput(f"A window is looked for 1 to 365 days before, not {within_days}.",
                       field="within")  # fmt: skip
    ordered = sorted(found, key=lambda one: (one.on_day, one.where, str(one.exam)))
    newest: dict[UUID, date] = {}
    met: list[tuple[FoundThere, Met]] = []
    for one in ordered:
        before = newest.get(one.pond)
        newest[one.pond] = one.on_day
        if before is not None and (one.on_day - before).days <= NEW_AFTER_DAYS:
            met.append((one, "again"))
        else:
            met.append((one, _met(one, days.get(one.pond), within_days)))
    by_pond: dict[UUID, list[LookedThere]] = {}
    for look in looked:
        by_pond.setdefault(look.pond, []).append(look)
    raised = [
        _came(pond, first, last, by_pond.get(pond, ()), within_days)
        for pond, here in days.items()
        for first, last in here.raised()
        if since is None or last >= since
    ]
    raised.sort(key=lambda one: (one.first, str(one.pond)))
    kinds = [one for _, one in met]
    came = [one.came for one in raised]
    return Score(
        tuple(met), tuple(raised), within_days,
        rate(kinds.count("hit"), sum(kinds.count(one) for one in ("hit", "noted", "miss"))),
        rate(came.count("found"), came.count("found") + came.count("false call")),
    )  # fmt: skip


def _met(one: FoundThere, days: Days | None, within_days: int) -> Met:
    last = one.on_day - timedelta(days=1)
    letters = "" if days is None else days.between(last - timedelta(days=within_days - 1), last)
    if days is None:
        return "not looked back"
    if days.spoke in letters:
        return "hit"
    if days.noted in letters:
        return "noted"
    return "not measured" if not letters or letters[-1] == days.blind else "miss"


def _came(
    pond: UUID, first: date, last: date, looked: Sequence[LookedThere], within_days: int
) -> Raised:
    until = last + timedelta(days=within_days)
    here = sorted(
        (one for one in looked if first <= one.on_day <= until), key=lambda one: one.on_day
    )
    there = next((one for one in here if one.found), None)
    if there is not None:
        return Raised(pond, first, last, "found", there.exam)
    if here:
        return Raised(pond, first, last, "false call", here[0].exam)
    return Raised(pond, first, last, "nobody looked", None)


def rate(part: int, of: int) -> Rate:
    """So many of so many with the exact interval.

    Parameters
    ----------
    part, of
        How many, of how many in all [count].

    Examples
    --------
    >>> rate(3, 4).said
    '3 of 4 (95 % interval 19.4 to 99.4 %)'
    """
    return Rate(part, of, prevalence(part, of).exact if of else None)


@dataclass(frozen=True, slots=True)
class Cell:
    """In a month, or in a band of temperature: found so often, looked for so often."""

    found: int
    looked: int


def by_month(found: Iterable[FoundThere], looked: Iterable[LookedThere]) -> tuple[Cell, ...]:
    """How often a hazard was found and looked for in each month of the year, January first.

    Parameters
    ----------
    found, looked
        Of one hazard. What was found counts as looked for.
    """
    there = [one.on_day.month for one in found]
    asked = [one.on_day.month for one in looked]
    return tuple(
        Cell(there.count(month), max(asked.count(month), there.count(month)))
        for month in range(1, 13)
    )


def by_temperature(found: Iterable[FoundThere]) -> tuple[tuple[str, int], ...]:
    """How often a hazard was found in each band of water temperature, cold to warm.

    Parameters
    ----------
    found
        Of one hazard.

    Returns
    -------
    tuple of tuple
        The band in words, such as `15-20 °C`, the lower end counted and the upper not; last, where
        there are any, those `not measured`.
    """
    measured: dict[int, int] = {}
    without = 0
    for one in found:
        if one.temperature_c is None:
            without += 1
            continue
        low = int(one.temperature_c // BAND_C) * BAND_C
        measured[low] = measured.get(low, 0) + 1
    bands = [(f"{low}-{low + BAND_C} °C", measured[low]) for low in sorted(measured)]
    return (*bands, *((("not measured", without),) if without else ()))


def temperatures_said(found: Iterable[FoundThere]) -> str:
    """`by_temperature` in words, such as `2 at 15-20 °C, 1 not measured`.

    Parameters
    ----------
    found
        Of one hazard.
    """
    return ", ".join(
        f"{count} {'at ' if band[0].isdigit() or band[0] == '-' else ''}{band}"
        for band, count in by_temperature(found)
    )
