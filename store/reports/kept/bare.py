"""An examination without what was written beside it for the practice."""

from __future__ import annotations

from dataclasses import replace

from store.exams.values import Exam, ExamFish, Found
from store.facts.hazards import hazards
from store.facts.signs import signs


def bare_exam(exam: Exam) -> Exam:
    """The examination without notes and names of photographs.

    Parameters
    ----------
    exam
        As it stands in the book.
    """
    return replace(exam, note="", fish=tuple(map(_fish, exam.fish)))


def exam_notes(exam: Exam) -> tuple[str, ...]:
    """All that `bare_exam` leaves out, but for the photographs.

    Parameters
    ----------
    exam
        As it stands in the book.
    """
    notes = [exam.note]
    for one in exam.fish:
        notes += [one.other, *(prep.note for prep in one.preparations)]
        notes += [found.note for _, found in one.found]
    return tuple(note.strip() for note in notes if note.strip())


def found_short(exam: Exam) -> str:
    """What was found, in one phrase: on how many fish each hazard, and the signs that were seen.

    Parameters
    ----------
    exam
        The examination.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> from store.exams.values import Prep
    >>> found_short(Exam(datetime(2026, 3, 14, tzinfo=UTC), "routine", "Ada", tuple(
    ...     ExamFish(n, preparations=(Prep("gill clip", found=(Found("gill_flukes", counted=c),)),))
    ...     for n, c in ((1, 23), (2, 0)))))
    '2 fish looked at: gill flukes on 1'
    """
    many: dict[str, int] = {}
    for fish in exam.fish:
        for hazard in dict.fromkeys(one.hazard for _, one in fish.found if one.present):
            many[hazard] = many.get(hazard, 0) + 1
    known, words = hazards(), signs()
    named = [
        f"{known[code].plain_name if code in known else code} on {count}"
        for code, count in many.items()
    ]
    codes = dict.fromkeys(code for one in exam.fish for code in (*one.behaviour, *one.signs))
    seen = ", ".join(words[code].words if code in words else code for code in codes)
    found = ", ".join(named) or "no parasite or disease found"
    return f"{len(exam.fish)} fish looked at: {found}" + (f"; seen: {seen}" if seen else "")


def _fish(fish: ExamFish) -> ExamFish:
    return replace(
        fish,
        other="",
        photos=(),
        by_eye=tuple(map(_found, fish.by_eye)),
        preparations=tuple(
            replace(one, note="", found=tuple(map(_found, one.found))) for one in fish.preparations
        ),
    )


def _found(found: Found) -> Found:
    return replace(found, note="")
