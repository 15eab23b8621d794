"""How many promises were kept on time, by kind and month. Arithmetic only.

A promise is judged by the last day of its window. What was moved while its window was open is
judged by its new day; what was moved later was late already, and stays late.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from statistics import NormalDist
from typing import Literal

from store.exams.prevalence import Interval, wilson
from store.exams.shares import percent
from store.facts.follow_ups import FollowUpKind

CONFIDENCE = 0.95
"""Confidence of every interval [-]."""
FEW = 10
"""Fewer promises than so many say little; common practice, without a source [promises]."""
MOST_MONTHS = 60
SOURCE = "Wilson 1927, J. Am. Stat. Assoc. 22:209-212"

DEFINITION = (
    "On time is what was kept up to the last day of its window; sooner is on time too. What was "
    "moved while its window was open is judged by its new day; what was moved later was late "
    "already. What was called off before its window ended is not counted, after that it counts as "
    "not kept. Each promise stands in the month of the day for which it was promised."
)
"""What the numbers count, in words for a person."""
ABOUT_INTERVAL = (
    f"The interval ({percent(CONFIDENCE)}, Wilson) tells how far chance alone can take the share "
    f"of so many promises; of fewer than {FEW} a share says little."
)

DEFINITION_SHORT = (
    "On time is what was kept up to the last day of its window. What was moved or called off in "
    "time is no fault; what was moved later was late already."
)
"""The same where there is room for two lines."""

Verdict = Literal["on time", "late", "not kept", "called off", "open"]


@dataclass(frozen=True, slots=True)
class Stood:
    """From which day on a promise stood for which day."""

    since: date
    due_on: date


@dataclass(frozen=True, slots=True)
class Record:
    """One promise with all that became of it.

    `stood` is never empty and goes by `since`. `late_days` is how long after its day it is still
    kept in time [d]. `kept_on` is the day on which it was kept, `closed_on` that on which it was
    called off; None where it was not.
    """

    kind: str
    stood: tuple[Stood, ...]
    late_days: int
    kept_on: date | None = None
    closed_on: date | None = None


@dataclass(frozen=True, slots=True)
class Judged:
    """The day by which a promise is judged, how it was kept, and how late [d]."""

    kind: str
    due_on: date
    verdict: Verdict
    late_by_days: int = 0


@dataclass(frozen=True, slots=True)
class Tally:
    """How many promises of a kind, or of a month, were kept in which way [promises].

    `counted` are those whose window has ended or that were kept; `on_time`, `late` and `not_kept`
    add up to it. `called_off` and `open` stand beside and are not counted.
    """

    on_time: int = 0
    late: int = 0
    not_kept: int = 0
    called_off: int = 0
    open: int = 0

    @property
    def counted(self) -> int:
        """On time, late and not kept together [promises]."""
        return self.on_time + self.late + self.not_kept

    @property
    def share(self) -> float | None:
        """The share that was kept on time [-]; None where nothing is counted."""
        return self.on_time / self.counted if self.counted else None

    @property
    def interval(self) -> Interval | None:
        """Wilson's interval of the share [-]; None where nothing is counted."""
        return wilson(self.on_time, self.counted, CONFIDENCE) if self.counted else None

    @property
    def share_said(self) -> str:
        """The share such as `98 %`, never `100 %` for less than all; empty where none counts."""
        share = self.share
        if share is None:
            return ""
        whole = f"{100.0 * share:.0f}"
        near = (whole == "100" and share < 1.0) or (whole == "0" and share > 0.0)
        return f"{100.0 * share:.2f} %" if near else f"{whole} %"

    @property
    def interval_said(self) -> str:
        """The interval such as `69.9 to 97.2 %`; empty where nothing is counted."""
        limits = self.interval
        return "" if limits is None else f"{100.0 * limits.low:.1f} to {100.0 * limits.high:.1f} %"

    @property
    def few(self) -> bool:
        """Whether so few are counted that the share says little."""
        return 0 < self.counted < FEW

    @property
    def said(self) -> str:
        """In a sentence, such as `18 of 20 on time, 90 % (95 % interval 69.9 to 97.2 %).`"""
        if not self.counted:
            waits = f" {self.open} still open." if self.open else ""
            return f"Nothing to count yet.{waits}"
        few = " So few say little." if self.few else ""
        return (
            f"{self.on_time} of {self.counted} on time, {self.share_said} "
            f"({percent(CONFIDENCE)} interval {self.interval_said}).{few}"
        )

    @property
    def arithmetic(self) -> str:
        """The share and its interval with the numbers put in; empty where nothing is counted."""
        share = self.share
        if share is None:
            return ""
        z = NormalDist().inv_cdf(0.5 * (1.0 + CONFIDENCE))
        return (
            f"p = {self.on_time} / {self.counted} = {share:.3f}; Wilson, n = {self.counted}, "
            f"z = {z:.2f}: (p + z²/2n ± z √(p(1-p)/n + z²/4n²)) / (1 + z²/n) = "
            f"{self.interval_said}"
        )

    @property
    def beside(self) -> str:
        """What is not on time, and what is not counted, in words; empty where there is none."""
        parts = (
            (self.late, "late"), (self.not_kept, "not kept"), (self.called_off, "called off"),
            (self.open, "still open"),
        )  # fmt: skip
        return ", ".join(f"{many} {word}" for many, word in parts if many)


@dataclass(frozen=True, slots=True, order=True)
class Month:
    """A calendar month in the practice's zone."""

    year: int
    month: int

    @property
    def first(self) -> date:
        """Its first day."""
        return date(self.year, self.month, 1)

    def __str__(self) -> str:
        return f"{self.year}-{self.month:02}"


@dataclass(frozen=True, slots=True)
class KindKept:
    """One kind of promise: what it is called, its window, all of it and month by month.

    `late_days` is None where the windows of its promises differ [d]. `late_by_days` is the lateness
    in the middle of those that were kept late [d], None where none was.
    """

    kind: str
    label: str
    late_days: int | None
    whole: Tally
    months: tuple[Tally, ...]
    late_by_days: float | None

    @property
    def window_said(self) -> str:
        """Until when it counts as on time, in words."""
        if self.late_days is None:
            return "up to the end of the window that was promised"
        if self.late_days == 0:
            return "on the day itself at the latest"
        return f"up to {self.late_days} day{'s' * (self.late_days != 1)} after its day"

    @property
    def late_said(self) -> str:
        """How late in the middle those were that were kept late; empty where none was."""
        if self.late_by_days is None:
            return ""
        many = f"{self.late_by_days:g} day{'s' * (self.late_by_days != 1)}"
        return f"Those kept late were {many} late in the middle."


@dataclass(frozen=True, slots=True)
class PromisesKept:
    """How the practice kept what it promised.

    `months` go from old to new and end with the present one, which is not over. `kinds` stand with
    most promises first; `by_month` and `whole` hold all kinds together. `told` says what was left
    out.
    """

    today: date
    months: tuple[Month, ...]
    kinds: tuple[KindKept, ...]
    by_month: tuple[Tally, ...]
    whole: Tally
    told: tuple[str, ...] = field(default=())


def months_until(today: date, months: int) -> tuple[Month, ...]:
    """Calendar months, the present one last.

    Parameters
    ----------
    today
        The practice's calendar day.
    months
        How many [months], 1 to 60.

    Examples
    --------
    >>> [str(month) for month in months_until(date(2026, 1, 31), 3)]
    ['2025-11', '2025-12', '2026-01']
    """
    last = 12 * today.year + today.month - 1
    return tuple(
        Month(at // 12, at % 12 + 1) for at in range(last - months + 1, last + 1)
    )  # fmt: skip


def judged(one: Record, today: date) -> Judged:
    """How a promise was kept.

    Parameters
    ----------
    one
        The promise with all that became of it.
    today
        The practice's calendar day.

    Returns
    -------
    Judged
        Of a promise that was moved too late by the day that it missed.

    Examples
    --------
    >>> day = date(2026, 3, 9)
    >>> judged(Record("ring", (Stood(day, day),), 2, kept_on=date(2026, 3, 11)), day).verdict
    'on time'
    >>> moved = (Stood(day, day), Stood(date(2026, 3, 13), date(2026, 3, 20)))
    >>> late = judged(Record("ring", moved, 2, kept_on=date(2026, 3, 20)), date(2026, 3, 20))
    >>> late.verdict, str(late.due_on), late.late_by_days
    ('late', '2026-03-09', 9)
    """
    slack = timedelta(days=one.late_days)
    due = one.stood[-1].due_on
    for now, later in zip(one.stood, one.stood[1:], strict=False):
        if later.since > now.due_on + slack:
            due = now.due_on
            break
    last = due + slack
    if one.kept_on is not None:
        if one.kept_on <= last:
            return Judged(one.kind, due, "on time")
        return Judged(one.kind, due, "late", (one.kept_on - last).days)
    if one.closed_on is not None:
        return Judged(one.kind, due, "called off" if one.closed_on <= last else "not kept")
    return Judged(one.kind, due, "not kept" if today > last else "open")


def promises_tallied(
    records: Iterable[Record],
    today: date,
    months: int,
    kinds: Mapping[str, FollowUpKind],
    told: Sequence[str] = (),
) -> PromisesKept:
    """All promises of some months, by kind and month.

    Parameters
    ----------
    records
        The promises; those of other months are left out.
    today
        The practice's calendar day.
    months
        How many months, the present one among them [months].
    kinds
        Every kind by its code, for its words.
    told
        What was left out, in sentences.

    Returns
    -------
    PromisesKept
        Kinds of which nothing was promised in that time are left out.
    """
    span = months_until(today, months)
    place = {month: at for at, month in enumerate(span)}
    found: dict[str, list[list[Judged]]] = {}
    windows: dict[str, set[int]] = {}
    for record in records:
        one = judged(record, today)
        at = place.get(Month(one.due_on.year, one.due_on.month))
        if at is not None:
            found.setdefault(one.kind, [[] for _ in span])[at].append(one)
            windows.setdefault(one.kind, set()).add(record.late_days)
    by_kind = [
        _kind(code, kinds, monthly, windows[code]) for code, monthly in found.items()
    ]  # fmt: skip
    by_kind.sort(key=lambda one: (-one.whole.counted, one.label))
    by_month = tuple(
        _tally(one for monthly in found.values() for one in monthly[at]) for at in range(len(span))
    )
    whole = _tally(one for monthly in found.values() for month in monthly for one in month)
    return PromisesKept(today, span, tuple(by_kind), by_month, whole, tuple(told))


def _kind(
    code: str,
    kinds: Mapping[str, FollowUpKind],
    monthly: Sequence[Sequence[Judged]],
    window: set[int],
) -> KindKept:
    every = [one for month in monthly for one in month]
    lateness = sorted(one.late_by_days for one in every if one.verdict == "late")
    middle = None
    if lateness:
        half = len(lateness) // 2
        middle = 0.5 * (lateness[half] + lateness[-1 - half])
    known = kinds.get(code)
    return KindKept(
        code, code if known is None else known.label, min(window) if len(window) == 1 else None,
        _tally(every), tuple(_tally(month) for month in monthly), middle,
    )  # fmt: skip


def _tally(judged_ones: Iterable[Judged]) -> Tally:
    counts: dict[Verdict, int] = {}
    for one in judged_ones:
        counts[one.verdict] = counts.get(one.verdict, 0) + 1
    return Tally(
        on_time=counts.get("on time", 0),
        late=counts.get("late", 0),
        not_kept=counts.get("not kept", 0),
        called_off=counts.get("called off", 0),
        open=counts.get("open", 0),
    )
