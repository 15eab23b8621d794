"""A reading against the range in force at its pond, in words that an owner understands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from store.facts.readings import ReadingWords

Verdict = Literal[
    "within", "too low", "too high", "perhaps too low", "perhaps too high", "no range set"
]  # fmt: skip
BEYOND: tuple[Verdict, ...] = ("too high", "too low")
PERHAPS: tuple[Verdict, ...] = ("perhaps too high", "perhaps too low")

_WITHIN = "It is within its range."
_NO_RANGE = "No range is set for it here."
_UNSURE = "The test cannot tell whether it is within its range."


@dataclass(frozen=True, slots=True)
class Edge:
    """One end of a range, in the unit in which the reading is shown.

    `said` is the number as it was set, `source` what it rests on in words fit for an owner.
    """

    value: float
    said: str
    source: str


@dataclass(frozen=True, slots=True)
class InForce:
    """The range in force; a side without an end is None."""

    low: Edge | None = None
    high: Edge | None = None
    unit: str = ""

    @property
    def said(self) -> str:
        """In words, such as `6.7 to 8.5` or `at most 0.05 mg/L`; empty where there is none."""
        unit = f" {self.unit}" if self.unit else ""
        if self.low is not None and self.high is not None:
            return f"{self.low.said} to {self.high.said}{unit}"
        if self.high is not None:
            return f"at most {self.high.said}{unit}"
        return f"at least {self.low.said}{unit}" if self.low is not None else ""

    @property
    def sources(self) -> tuple[str, ...]:
        """What its ends rest on, each once."""
        ends = (one.source for one in (self.low, self.high) if one is not None)
        return tuple(dict.fromkeys(ends))


@dataclass(frozen=True, slots=True)
class Measured:
    """What a test told of one thing: the least and the most it can have been.

    Both are in the unit in which it is shown; an open end is None. `said` is the value in words
    with its unit.
    """

    code: str
    said: str
    least: float | None
    most: float | None
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ReadingSaid:
    """A reading as it stands on a report."""

    code: str
    name: str
    value: str
    range: str
    verdict: Verdict
    means: str
    sources: tuple[str, ...]
    advice: tuple[str, ...] = ()
    """What is to be done about it; empty where it is within its range."""


def verdict_of(measured: Measured, range_: InForce) -> Verdict:
    """Where a reading lies against its range; one on the edge itself is still within.

    Parameters
    ----------
    measured
        What was measured.
    range_
        The range in force.

    Examples
    --------
    >>> at_most = InForce(high=Edge(0.05, "0.05", "common practice"))
    >>> verdict_of(Measured("nh3_n_mg_l", "0.11", 0.11, 0.11), at_most)
    'too high'
    >>> verdict_of(Measured("nh3_n_mg_l", "below 0.1", 0.0, 0.1), at_most)
    'perhaps too high'
    """
    low, high = range_.low, range_.high
    if low is None and high is None:
        return "no range set"
    if high is not None and measured.least is not None and measured.least > high.value:
        return "too high"
    if low is not None and measured.most is not None and measured.most < low.value:
        return "too low"
    if high is not None and (measured.most is None or measured.most > high.value):
        return "perhaps too high"
    if low is not None and (measured.least is None or measured.least < low.value):
        return "perhaps too low"
    return "within"


def reading_said(measured: Measured, range_: InForce, words: ReadingWords) -> ReadingSaid:
    """A reading with its range and its meaning.

    Parameters
    ----------
    measured
        What was measured.
    range_
        The range in force.
    words
        What it means to an owner.
    """
    verdict = verdict_of(measured, range_)
    means, advice = [words.says], []
    if verdict == "within":
        means.append(_WITHIN)
    elif verdict == "no range set":
        means.append(_NO_RANGE)
    elif verdict in PERHAPS:
        means.append(_UNSURE)
    else:
        high = verdict == "too high"
        means.append(words.high if high else words.low)
        advice = [words.do_high if high else words.do_low, words.never]
    return ReadingSaid(
        code=measured.code,
        name=words.name,
        value=measured.said,
        range=range_.said,
        verdict=verdict,
        means=" ".join(filter(None, (*means, *measured.remarks))),
        sources=range_.sources,
        advice=tuple(filter(None, advice)),
    )
