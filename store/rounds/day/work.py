"""The working hours of a day as one stretch with a break, as a round needs them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from store.rounds.solving.problem import Window
from store.rounds.solving.said import clock_said, hours_said, listed

ON_THE_QUARTER_MIN = 15


@dataclass(frozen=True, slots=True)
class Work:
    """From when to when somebody is on the road, with the break [min of the day].

    `remarks` are sentences without a name: they follow it.
    """

    begins: int
    ends: int
    break_min: int
    break_from: int
    break_until: int
    remarks: tuple[str, ...] = ()


def work_of(spells: Sequence[Window], break_min: int) -> Work | None:
    """Working hours less leave as one stretch.

    Parameters
    ----------
    spells
        The stretches in which somebody works, in order, none meeting another [min of the day].
    break_min
        The break that has to fit into them [min].

    Returns
    -------
    Work or None
        None without any stretch. The longest gap between them is the break; one that is shorter
        than the break that was stated lies within that. Without a gap the break begins in the
        middle third of the hours: common practice.

    Examples
    --------
    >>> work_of([Window(480, 720), Window(840, 1080)], 30)
    Work(begins=480, ends=1080, break_min=120, break_from=720, break_until=720, remarks=())
    >>> work_of([Window(540, 1020)], 30).break_from
    705
    """
    if not spells:
        return None
    begins, ends = spells[0].opens, spells[-1].closes
    gaps = [Window(a.closes, b.opens) for a, b in pairwise(spells) if a.closes < b.opens]
    if not gaps:
        return Work(begins, ends, break_min, *_middle_third(begins, ends))
    longest = max(gaps, key=lambda one: (one.closes - one.opens, -one.opens))
    length, others = longest.closes - longest.opens, [one for one in gaps if one != longest]
    remarks: tuple[str, ...] = ()
    if others:
        remarks = (
            f"is also off {listed([hours_said([one]) for one in others])}, and a round holds one "
            f"break only, {hours_said([longest])}: look whether the round leaves the other free.",
        )
    if length < break_min:
        return Work(begins, ends, break_min, longest.closes - break_min, longest.opens, remarks)
    return Work(begins, ends, length, longest.opens, longest.opens, remarks)


def _middle_third(begins: int, ends: int) -> tuple[int, int]:
    third = (ends - begins) / 3
    first = round((begins + third) / ON_THE_QUARTER_MIN) * ON_THE_QUARTER_MIN
    return first, max(first, round((ends - third) / ON_THE_QUARTER_MIN) * ON_THE_QUARTER_MIN)


def break_said(work: Work) -> str:
    """The break in words; the empty text where there is none.

    Parameters
    ----------
    work
        The working hours.

    Examples
    --------
    >>> break_said(Work(540, 1020, 30, 705, 855))
    'a break of 30 min that begins from 11:45 to 14:15'
    """
    if not work.break_min:
        return ""
    if work.break_from == work.break_until:
        return f"a break of {work.break_min} min at {clock_said(work.break_from)}"
    first, last = clock_said(work.break_from), clock_said(work.break_until)
    return f"a break of {work.break_min} min that begins from {first} to {last}"
