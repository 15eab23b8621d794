"""An examination out of a sheet in one line, before it is saved."""

from __future__ import annotations

from store.exams.line_said import said_found
from store.exams.values import Exam, ExamFish
from store.water.given import figures


def said_of_exam(exam: Exam) -> str:
    """The fish, what was found on each, and what else is kept of it.

    Parameters
    ----------
    exam
        The examination.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> from store.exams.values import Found, Prep
    >>> fish = ExamFish(3, "koi", other="flicks", preparations=(Prep("gill clip", fields=5, found=(
    ...     Found("gill_flukes", counted=23),)), Prep("skin scrape")))
    >>> said_of_exam(Exam(datetime(2026, 3, 14, tzinfo=UTC), "routine", "Ada", (fish,)))
    'koi 3: gill clip gill flukes 23 in 5 fields (4.6 a field), skin scrape nothing (flicks)'
    """
    return "; ".join(map(_said_of_fish, exam.fish))


def _said_of_fish(fish: ExamFish) -> str:
    parts = []
    for prep in fish.preparations:
        found = " + ".join(said_found(one, prep.fields) for one in prep.found) or "nothing"
        parts.append(f"{prep.kind} {found}")
    parts += [f"by eye {said_found(one, None)}" for one in fish.by_eye]
    name = " ".join(filter(None, (fish.species or "fish", str(fish.nth), fish.mark)))
    if fish.length_cm is not None:
        name += f", {figures(fish.length_cm)} cm"
    said = ", ".join(parts) or "not looked under the microscope"
    return f"{name}: {said}" + (f" ({fish.other})" if fish.other else "")
