"""One hazard in two examinations: what may be said of it having become less.

Only what was looked at in the same way is set against one another: the same kind of preparation at
the same magnification. Counts give a reduction; scores, and counts without fields, the share of
fish that carry any; what gives neither is told with the reason. The order in which fish were
entered makes no difference.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from store.exams.carrying import Carrying, carrying
from store.exams.reduction import DRAWS, Reduction, reduction
from store.exams.tails import at_most
from store.exams.values import BY_EYE, PREP_KINDS, Exam, ExamFish, Found, Prep
from store.facts.hazards import hazards
from store.water.given import figures

SEED = 1
"""From which the drawing of fish starts: always the same, so that an outcome stays what it was."""

BY_CHANCE = 0.025
"""Share of drawings in which so few carriers after would fall by chance alone, one-sided, up to
which they count as fewer: the usual 5 % of two sides (convention) [-]."""
FISHER = "chance of so few carriers after: Fisher's exact test (hypergeometric, one-sided)"

By = Literal["counts", "share", "nothing"]
Change = Literal["fewer", "not shown", "no fewer", "not told"]
"""`fewer`: the limits leave no other answer; `not shown`: these fish do not show it; `no fewer`:
as many or more than before; `not told`: nothing can be set against one another."""


@dataclass(frozen=True, slots=True)
class Compared:
    """One hazard before and after.

    `way` is how it was looked at on both sides; `by` what the answer rests on. `found` is the
    reduction of counts, `share` the fish that carry any. `why` says why there is no reduction, or
    nothing at all.
    """

    hazard: str
    way: str
    by: By
    change: Change
    found: Reduction | None
    share: Carrying | None
    said: str
    why: str
    arithmetic: str
    source: str
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Fish:
    """One fish looked at in one way; `counted` and `fields` None where no number stands."""

    mark: str
    present: bool
    counted: int | None
    fields: int | None
    score: int | None


_Way = tuple[str, int | None]


def set_against(before: Exam, after: Exam, hazard: str, *, draws: int = DRAWS) -> Compared:
    """What two examinations say of one hazard, in the way that says most.

    Of ways that say as much it is the one in which most fish carried it, and most of it: what
    became of it on the skin says little of the gills. The others are told beside it.

    Parameters
    ----------
    before, after
        What was looked at and found; the same fish where their marks are the same.
    hazard
        Its code.
    draws
        How often the fish are drawn anew for the second limits, 2,000 to 100,000 [count].

    Returns
    -------
    Compared
        Reduction and limits [%], or shares of fish [-]; `by` "nothing" with the reason otherwise.
    """
    ways = [way for way in _ways(before) if any(one.present for one in _fish(before, hazard, way))]
    if not ways:
        name = hazards()[hazard].plain_name
        return _nothing(hazard, "", f"Before the course no {name} had been found.")
    ways.sort(key=lambda way: _burden(before, hazard, way), reverse=True)
    answers = [_in_one_way(before, after, hazard, way, draws) for way in ways]
    order = ("counts", "share", "nothing")
    told = min(answers, key=lambda one: order.index(one.by))
    beside = [
        f"In a {one.way} as well: {one.said}" for one in answers
        if one is not told and one.by != "nothing" and one.way
    ] + [
        f"After it was also found in a {_said_way(way)}, where none was found before."
        for way in _ways(after)
        if way[0] not in {kind for kind, _ in ways} and way[0] != BY_EYE
        and any(one.present for one in _fish(after, hazard, way))
    ]  # fmt: skip
    worse = [
        f" Not so in a {one.way}: {one.said[0].lower()}{one.said[1:]}" for one in answers
        if one is not told and one.change == "no fewer" and told.change != "no fewer"
    ]  # fmt: skip
    return replace(told, said=told.said + "".join(worse), remarks=(*beside, *told.remarks))


def _burden(exam: Exam, hazard: str, way: _Way) -> tuple[int, float]:
    """How many fish carried it there, and how much: the answer rests on where most of it sits."""
    fish = _fish(exam, hazard, way)
    return sum(one.present for one in fish), sum(_amount(one)[0] for one in fish)


def looked_for(exam: Exam, hazard: str, kinds: Iterable[str] = ()) -> bool:
    """Whether an examination looked for a hazard: it is named, be it with 0, or its slide is there.

    Parameters
    ----------
    exam
        What was looked at and found.
    hazard
        Its code.
    kinds
        Kinds of preparation in which it would be seen.
    """
    wanted = frozenset(kinds)
    return any(
        any(one.hazard == hazard for _, one in fish.found)
        or any(prep.kind in wanted for prep in fish.preparations)
        for fish in exam.fish
    )


def _ways(exam: Exam) -> list[_Way]:
    """Every way in which fish were looked at, those with most fish first."""
    seen: Counter[_Way] = Counter()
    for fish in exam.fish:
        seen.update({(prep.kind, prep.magnification) for prep in fish.preparations})
    kinds: list[str] = list(PREP_KINDS)
    ways = sorted(
        seen, key=lambda way: (-seen[way], kinds.index(way[0]), way[1] is None, way[1] or 0)
    )
    return [*ways, (BY_EYE, None)]


def _said_way(way: _Way) -> str:
    kind, magnification = way
    return kind if magnification is None else f"{kind} at {magnification}x"


def _fish(exam: Exam, hazard: str, way: _Way) -> list[_Fish]:
    if way[0] == BY_EYE:
        # Without a word on any fish nobody is known to have looked for it.
        named = any(one.hazard == hazard for fish in exam.fish for one in fish.by_eye)
        return [_by_eye(fish, hazard) for fish in exam.fish] if named else []
    found = []
    for fish in exam.fish:
        slides = [one for one in fish.preparations if (one.kind, one.magnification) == way]
        if slides:
            found.append(_under(fish, slides, hazard))
    return found


def _by_eye(fish: ExamFish, hazard: str) -> _Fish:
    one = _of(fish.by_eye, hazard)
    if one is None:
        return _Fish(_mark(fish), False, 0, None, None)
    return _Fish(_mark(fish), one.present, one.counted, None, one.score)


def _under(fish: ExamFish, slides: Sequence[Prep], hazard: str) -> _Fish:
    """All slides of one kind of a fish together: their counts and their fields are added."""
    here = [_of(prep.found, hazard) for prep in slides]
    present = any(one is not None and one.present for one in here)
    scores = [one.score for one in here if one is not None and one.score is not None]
    fields = [prep.fields for prep in slides]
    whole = None if None in fields else sum(one or 0 for one in fields)
    if not present:
        return _Fish(_mark(fish), False, 0, whole, 0 if scores else None)
    counts = [0 if one is None or not one.present else one.counted for one in here]
    counted = None if scores or None in counts else sum(one or 0 for one in counts)
    return _Fish(_mark(fish), True, counted, whole, max(scores, default=None))


def _of(found: Iterable[Found], hazard: str) -> Found | None:
    return next((one for one in found if one.hazard == hazard), None)


def _mark(fish: ExamFish) -> str:
    return " ".join(fish.mark.split()).casefold()


def _in_one_way(before: Exam, after: Exam, hazard: str, way: _Way, draws: int) -> Compared:
    one, other = _fish(before, hazard, way), _fish(after, hazard, way)
    said_way = _said_way(way)
    if not other and way[0] != BY_EYE and (mended := _other_magnification(after, way)) is not None:
        magnification, said_other = mended
        if way[1] is not None and magnification is not None:
            return _nothing(
                hazard, said_way,
                f"One was read at {way[1]}x and the other at {magnification}x: a field is not the "
                "same field, and what is seen is not the same either.",
            )  # fmt: skip
        other = _fish(after, hazard, (way[0], magnification))
        why = "The magnification was not entered on both sides: counts cannot be compared."
        return _by_share(hazard, f"{said_way}, then {said_other}", one, other, why)
    if not other and way[0] == BY_EYE:
        return _nothing(
            hazard, said_way,
            "It was found by eye before, and nothing of it is written down after: where it was "
            "looked for and not found, enter 0.",
        )  # fmt: skip
    if not other:
        return _nothing(
            hazard,
            said_way,
            f"It was found in a {said_way} before; no {way[0]} was looked at after.",
        )
    if way[0] != BY_EYE and way[1] is None:
        why = "The magnification was not entered: counts cannot be compared."
    else:
        why = _why_no_counts(one, other, by_eye=way[0] == BY_EYE)
    if why:
        return _by_share(hazard, said_way, one, other, why)
    return _by_counts(hazard, said_way, one, other, draws)


def _other_magnification(exam: Exam, way: _Way) -> tuple[int | None, str] | None:
    kinds = [one for one in _ways(exam) if one[0] == way[0]]
    return (kinds[0][1], _said_way(kinds[0])) if kinds else None


def _why_no_counts(before: Sequence[_Fish], after: Sequence[_Fish], *, by_eye: bool) -> str:
    for name, fish in (("before", before), ("after", after)):
        if any(one.score is not None for one in fish if one.present):
            return f"It was scored {name}: a score is a rank, and no percentage is taken of it."
        if any(one.counted is None for one in fish):
            return f"Some fish had it {name} without a number."
        if not by_eye and any(one.present and not one.fields for one in fish):
            return f"It was counted {name} without the number of fields."
    return ""


def _by_counts(
    hazard: str, way: str, before: Sequence[_Fish], after: Sequence[_Fish], draws: int
) -> Compared:
    fields = {one.fields for one in (*before, *after)}
    if fields == {None}:
        per, unit = False, "on a fish"
    elif len(fields) == 1:
        (number,) = fields
        per, unit = False, "a field" if number == 1 else f"in {number} fields"
    else:
        per, unit = True, "a field"
    marked = _pairs(before, after)
    if marked is not None:
        one, other = marked
    else:
        one, other = (sorted(side, key=_amount) for side in (before, after))
    found = reduction(
        [_value(each, per=per) for each in one], [_value(each, per=per) for each in other],
        same_fish=marked is not None, seed=SEED, draws=draws, unit=unit,
    )  # fmt: skip
    share = _carrying(before, after)
    remarks = list(found.remarks)
    if per:
        remarks.insert(0, "Not as many fields were counted everywhere: reckoned a field of view.")
    known = _marks(before) & _marks(after)
    if marked is None and known:
        remarks.insert(
            0, f"{len(known)} of the fish were the same; taken as two groups, since not all were."
        )
    return Compared(
        hazard, way, "counts", _change_of(found, share), found, share, found.said, "",
        found.arithmetic, found.source, tuple(remarks),
    )  # fmt: skip


def _value(one: _Fish, *, per: bool) -> float:
    counted = float(one.counted or 0)
    return counted / one.fields if per and one.fields else counted


def _amount(one: _Fish) -> tuple[float, int, str]:
    return float(one.counted or 0) / (one.fields or 1), one.counted or 0, one.mark


def _marks(fish: Sequence[_Fish]) -> set[str]:
    """The marks that tell one fish from all others of its examination."""
    counted = Counter(one.mark for one in fish if one.mark)
    return {mark for mark, times in counted.items() if times == 1}


def _pairs(
    before: Sequence[_Fish], after: Sequence[_Fish]
) -> tuple[list[_Fish], list[_Fish]] | None:
    """Both sides in the order of their marks, where all fish are marked and the same."""
    marks = _marks(before)
    if not len(marks) == len(before) == len(after) or _marks(after) != marks:
        return None
    one, other = (sorted(side, key=lambda each: each.mark) for side in (before, after))
    return one, other


def _carrying(before: Sequence[_Fish], after: Sequence[_Fish]) -> Carrying:
    return carrying([float(one.present) for one in before], [float(one.present) for one in after])


def _change_of(found: Reduction, share: Carrying) -> Change:
    if found.percent <= 0.0:
        return "no fewer"
    if found.shown is None:  # none left, or too few fish for limits
        return "fewer" if by_chance(share) <= BY_CHANCE else "not shown"
    return "fewer" if found.shown.low > 0.0 else "not shown"


def by_chance(share: Carrying) -> float:
    """How often so few of the fish after would carry any, had nothing changed [-].

    Parameters
    ----------
    share
        The fish that carry any, before and after.

    Returns
    -------
    float
        One-sided, by drawing the fish of both sides from one lot.

    Examples
    --------
    >>> round(by_chance(carrying([1, 1, 1, 1], [0, 0, 0, 0])), 4)
    0.0143

    References
    ----------
    Fisher's exact test, textbooks of statistics (from memory): 1 of 70 ways for 4 of 8 fish.
    """
    lot = share.before.examined + share.after.examined
    carriers = share.before.positive + share.after.positive
    return at_most(share.after.positive, lot, carriers, share.after.examined)


def _by_share(
    hazard: str, way: str, before: Sequence[_Fish], after: Sequence[_Fish], why: str
) -> Compared:
    share = _carrying(before, after)
    chance = by_chance(share)
    change: Change = "fewer" if chance <= BY_CHANCE else "not shown"
    if share.after.point > share.before.point:
        change = "no fewer"
    said = share.said[0].upper() + share.said[1:]
    scores = [
        ", ".join(map(str, sorted((one.score or 0 for one in side), reverse=True)))
        for side in (before, after)
        if all(one.score is not None for one in side if one.present)
    ]
    if len(scores) == 2:
        said += f" Scores of 3 before: {scores[0]}; after: {scores[1]}."
    return Compared(
        hazard, way, "share", change, None, share, said, why,
        f"{share.arithmetic}; so few after by chance = {figures(chance, 2)}",
        f"{share.source}; {FISHER}", share.remarks,
    )  # fmt: skip


def _nothing(hazard: str, way: str, why: str) -> Compared:
    return Compared(hazard, way, "nothing", "not told", None, None, why, why, "", "", ())
