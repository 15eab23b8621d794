"""Whether a stop was answered before: by its sentence, or, of a peak, by its dose and its numbers.

The book keeps the sentence as it was shown. What it says of a peak is read back from it, so that
the same peak is not asked twice because another place words it otherwise.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from store.courses.kept.records import Answered, Course
from store.courses.planning.course import Caution

PEAK = "peak"
"""Code of the stop for more in the water than is published; the place of the step may follow."""
_NUMBER = r"(\d+(?:\.\d+)?(?:e[+-]?\d+)?)"
_BEFORE = re.compile(
    rf"\bdose (\d+) on [^;]*? can bring the water to {_NUMBER} (\S+); the most is ", re.IGNORECASE
)
"""As the cautions before a course and before a dose say the worst dose."""
_ANEW = re.compile(rf"\b(\d+) (?:brought|would bring) up to {_NUMBER} (\S+?)(?=[, ])")
"""As planning anew says every dose that is over."""


@dataclass(frozen=True, slots=True)
class PeakSaid:
    """What a sentence says of the peaks of a step: number of a dose to its peak [`unit`]."""

    unit: str
    peaks: Mapping[int, float]

    @property
    def worst(self) -> tuple[int, float]:
        """The dose that brings the most, the first of them, and how much [`unit`]."""
        return max(self.peaks.items(), key=lambda one: (one[1], -one[0]))


def peak_said(sentence: str) -> PeakSaid | None:
    """What a sentence says of a peak; None where it says nothing of one, or in other words.

    Parameters
    ----------
    sentence
        Of a caution, with its arithmetic or without.

    Examples
    --------
    >>> peak_said("Dose 2 would bring up to 0.5 mg/L, 3 would bring up to 0.7 mg/L into the water")
    PeakSaid(unit='mg/L', peaks={2: 0.5, 3: 0.7})
    """
    before = _BEFORE.search(sentence)
    if before is not None:
        return PeakSaid(before[3], {int(before[1]): float(before[2])})
    anew = _ANEW.findall(sentence)
    units = {unit for _, _, unit in anew}
    if len(units) != 1:
        return None
    return PeakSaid(units.pop(), {int(number): float(peak) for number, peak, _ in anew})


def answered_before(found: Course, caution: Caution) -> Answered | None:
    """The last answer in writing to the same `stop`; None where there is none.

    Parameters
    ----------
    found
        The course.
    caution
        As it is shown now.

    Notes
    -----
    The same is the same sentence, or the same peak: of the same step, with the same dose as the
    worst, and no dose higher than what was answered. A peak that became higher is another.
    """
    if caution.level != "stop":
        return None
    said = said_in_all(caution)
    peaks = peak_said(caution.said) if _kind(caution.code) == PEAK else None
    many = len(found.plan.steps) > 1
    same = [
        one
        for one in found.answered
        if one.reason
        and (
            one.said == said
            or (
                peaks is not None
                and _kind(one.code) == PEAK
                and (not many or _place(one.code) == _place(caution.code))
                and _covers(peak_said(one.said), peaks)
            )
        )
    ]
    return same[-1] if same else None


def said_in_all(caution: Caution) -> str:
    """A caution as the book keeps it: its sentence, then its arithmetic.

    Parameters
    ----------
    caution
        The caution.
    """
    return " ".join(part for part in (caution.said, caution.arithmetic) if part)


def _kind(code: str) -> str:
    return code.partition(".")[0].partition("-")[0]


def _place(code: str) -> str:
    return code.partition(".")[2]


def _covers(answered: PeakSaid | None, now: PeakSaid) -> bool:
    if answered is None or answered.unit != now.unit or answered.worst[0] != now.worst[0]:
        return False
    highest = answered.worst[1]
    return all(peak <= answered.peaks.get(number, highest) for number, peak in now.peaks.items())
