"""An examination made of what was typed, asked about where it may be there already, and saved."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING
from uuid import UUID

from tui.said import clock

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.courses.kept.examined import Entered
    from store.exams.line import UnderstoodFish
    from store.exams.values import Exam, ExamFish


def with_signs(understood: UnderstoodFish, chosen: tuple[str, ...]) -> str:
    """The line of a fish with these behaviours and signs in the place of those it had.

    Parameters
    ----------
    understood
        The line as it was read.
    chosen
        Codes of what was picked.
    """
    from store.exams.fish_form import write_signs
    from store.exams.line import understand_fish, write
    from store.facts.signs import signs

    known, fish = signs(), understood.fish
    wished = replace(
        fish,
        behaviour=tuple(code for code in chosen if known[code].kind == "behaviour"),
        signs=tuple(code for code in chosen if known[code].kind == "sign"),
    )
    text = write(wished)
    if not understood.doubts and understand_fish(text, nth=fish.nth).fish == wished:
        return text
    # What is not certain yet stays as it was typed; new signs are put before it.
    before = (*fish.behaviour, *fish.signs)
    new = write_signs(tuple(code for code in chosen if code not in before))
    return f"{new}; {understood.text}" if new else understood.text


def made_of(
    book: Book, act: Act, texts: Mapping[str, str], fish: tuple[ExamFish, ...], course: UUID | None
) -> Exam:
    """The examination that was typed; whoever saves has looked where nobody is named.

    Raises
    ------
    BadInput
        As for `read_occasion` and `made_exam`.
    """
    from store.book.people import staff
    from store.exams.occasion import made_exam, read_occasion

    who = next((one.name for one in staff(book, struck=True) if one.id == act.by), "")
    occasion = read_occasion(texts, now=act.at, zone=book.zone, examiner=who)
    return made_exam(
        occasion, fish, course_id=course if occasion.purpose == "control" else None
    )  # fmt: skip


def entered_before(book: Book, pond: UUID, exam: Exam) -> str:
    """What is asked where the same was entered before; empty where it was not."""
    from store.exams.examining import entered_before as known_before

    known = known_before(book, pond, exam)
    if known is None:
        return ""
    at = clock(known.exam.at, book.zone)
    return (
        f"An examination of the same day, {at}, holds the same fish with the same findings, "
        f"entered by {known.entered_by}. Two clean slides may look alike; one that was typed twice "
        "does too."
    )


def save(book: Book, act: Act, pond: UUID, exam: Exam) -> Entered:
    """Keep it in one action.

    Raises
    ------
    PondroundError
        As for `enter_examination`; nothing was saved then.
    """
    from store.courses.kept.examined import enter_examination

    with book.writing(act) as writing:
        return enter_examination(writing, pond, exam)
