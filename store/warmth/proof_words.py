"""What a replay of the past comes to, in plain sentences."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple
from uuid import UUID

from store.text import day_said

if TYPE_CHECKING:
    from datetime import date

    from store.warmth.replay import PondScore, Replayed, Score

LEAST_JUDGED = 50
"""Of fewer readings nothing is judged; common practice of this project."""
HOLDS, HOLDS_WELL = 0.8, (0.7, 0.9)
"""What share of the readings an interval is to hold, and beyond which it is told to be wrong."""
TOLD_LEADS, TOLD_AGES = (7, 14), (14, 30)
YEAR_DAYS = 365
WORST = 3
"""So many ponds are named."""
NO_BETTER = "no better than the season"
TOO_SHORT = "too short a record to be judged"
TOO_FEW = "too few readings to be judged"
NONE_SO_OLD = "no pond was read at such intervals"


class Proven(NamedTuple):
    """What sentences are made from."""

    ponds: int
    first: date | None
    """First day estimated; with `last` None the day from which on one could be."""
    last: date | None
    every_days: int
    nth: int
    share: float
    replayed: Replayed | None
    names: Mapping[UUID, str]
    learnt_days: int = 0
    """How long before the first day three ponds were read [d]."""


def proof_says(proven: Proven) -> tuple[str, ...]:
    """How far off the estimates would have been, whether they were worth more than simpler guesses.

    Parameters
    ----------
    proven
        What was replayed.

    Returns
    -------
    tuple of str
        One sentence or two each; errors are root mean squares in °C.
    """
    return tuple(_says(proven))


def judged(score: Score) -> str:
    """What is to be said of one line of a table; empty where the estimate was of use.

    Parameters
    ----------
    score
        Errors of one number of days ahead, or of one age.
    """
    if score.n < LEAST_JUDGED:
        return TOO_FEW if score.n else NONE_SO_OLD
    if score.no_better_than_season:
        return NO_BETTER
    assert score.rmse is not None
    if score.rmse_last_reading is not None and score.rmse > score.rmse_last_reading:
        return "no better than the last reading"
    return ""


def _says(proven: Proven) -> Iterator[str]:
    done = proven.replayed
    if proven.last is None:
        if not proven.ponds:
            yield "No pond of the book has a temperature; there is nothing to replay."
        else:
            assert proven.first is not None
            yield (
                f"{TOO_SHORT.capitalize()}: seasons must be learnt first, so that estimates can be "
                f"held against readings from {day_said(proven.first)} on."
            )
        return
    assert proven.first is not None
    began = f"{day_said(proven.first)} to {day_said(proven.last)}"
    if done is None:
        yield (
            f"{TOO_SHORT.capitalize()}: of {began} no reading could be estimated from what was "
            "known before."
            if proven.share >= 1.0
            else "Stopped before any reading was estimated."
        )
        return
    yield (
        f"Readings of {began} were estimated as if each day were today, nothing later seen: "
        f"{_count(proven.ponds, 'pond')}, learnt anew every {proven.every_days} days."
    )
    if proven.nth > 1:
        yield (
            f"There are many readings: of each pond one in {proven.nth} was held against its "
            "estimate."
        )
    if proven.learnt_days < YEAR_DAYS:
        yield (
            f"Seasons had been learnt over {proven.learnt_days} days, less than a year, when it "
            "begins: estimates of a longer record are better."
        )
    if proven.share < 1.0:
        yield f"Stopped early: its first {proven.share:.0%} are in these figures."
    for score in (one for one in done.leads if one.days in TOLD_LEADS):
        yield from _one(score, f"{_days(score.days)} ahead", "the last reading")
    for score in (one for one in done.ages if one.days in TOLD_AGES):
        yield from _one(score, f"Last reading {_days(score.days)} old", "itself")
    yield from _held([*done.leads, *done.ages])
    yield from _no_better(done)
    yield from _worst(done.ponds, proven.names)
    yield from _doubted(done)


def _one(score: Score, begins: str, reading: str) -> Iterator[str]:
    if score.n < LEAST_JUDGED:
        return
    yield (
        f"{begins}: off by {score.rmse:.1f} °C, {reading} {score.rmse_last_reading:.1f} °C, "
        f"the season {score.rmse_season:.1f} °C."
    )


def _held(scores: Sequence[Score]) -> Iterator[str]:
    some = [one for one in scores if one.n >= LEAST_JUDGED and one.coverage_80 is not None]
    if not some:
        return
    total = sum(one.n for one in some)
    share = sum(one.n * (one.coverage_80 or 0.0) for one in some) / total
    said = f"The interval, which is to hold four readings in five, held {share:.0%} of them"
    if share < HOLDS_WELL[0]:
        yield f"{said}: it is too narrow, and estimates are less certain than they say."
    elif share > HOLDS_WELL[1]:
        yield f"{said}: it is wider than it need be."
    else:
        yield f"{said}."


def _no_better(done: Replayed) -> Iterator[str]:
    short = [
        *(f"{_days(one.days)} ahead" for one in done.leads if judged(one) == TOO_FEW),
        *(f"a last reading {_days(one.days)} old" for one in done.ages if judged(one) == TOO_FEW),
    ]
    no_better = [
        *(f"{_days(one.days)} ahead" for one in done.leads if judged(one) == NO_BETTER),
        *(f"with a last reading {_days(one.days)} old" for one in done.ages
          if judged(one) == NO_BETTER),
    ]  # fmt: skip
    if no_better:
        yield f"{_listed(no_better).capitalize()} the estimate is {NO_BETTER}."
    if all(one.n < LEAST_JUDGED for one in (*done.leads, *done.ages)):
        yield f"{TOO_SHORT.capitalize()}: there are too few readings at every number of days."
    elif short:
        yield f"{TOO_FEW.capitalize()}: {_listed(short)}."


def _worst(ponds: Sequence[PondScore], names: Mapping[UUID, str]) -> Iterator[str]:
    bad = [one for one in ponds if one.rmse >= one.rmse_season]
    if bad:
        named = "; ".join(names.get(one.pond, "a pond") for one in bad[:WORST])
        more = f" and {len(bad) - WORST} more" if len(bad) > WORST else ""
        of = _count(len(ponds), "pond")
        yield f"{NO_BETTER.capitalize()} at {len(bad)} of {of}: {named}{more}."
    elif ponds:
        worst = ponds[0]
        yield (
            f"The worst of {_count(len(ponds), 'pond')} is {names.get(worst.pond, 'a pond')}: off "
            f"by {worst.rmse:.1f} °C, its season alone by {worst.rmse_season:.1f} °C."
        )


def _doubted(done: Replayed) -> Iterator[str]:
    week = next((one for one in done.leads if one.days == TOLD_LEADS[0]), None)
    if week is None or not week.n_doubted or week.rmse_undoubted is None:
        return
    verb, them = ("is", "it") if week.n_doubted == 1 else ("are", "them")
    yield (
        f"{_count(week.n_doubted, 'reading')} of {week.n:,} {verb} doubted by what ponds near by "
        f"did; without {them} the estimate {_days(week.days)} ahead was off by "
        f"{week.rmse_undoubted:.1f} °C."
    )


def _days(days: int) -> str:
    return "1 day" if days == 1 else f"{days} days"


def _count(number: int, one: str) -> str:
    return f"{number:,} {one if number == 1 else one + 's'}"


def _listed(parts: Sequence[str]) -> str:
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
