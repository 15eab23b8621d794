"""Entering examinations and correcting them: by anybody on the staff, whatever the screen.

A finding is never rewritten. A correction strikes the old one through with its reason and adds a
new one that names it; both stay readable. Who entered what stands beside it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from datetime import timedelta
from typing import Any
from uuid import UUID

from sqlalchemy import select

from store.book.book import Book
from store.book.tables import TableName, table
from store.book.writing import Writing
from store.errors import BadInput, NotAllowed, NotFound
from store.exams.examinations import KeptExam, examinations_of
from store.exams.values import Exam, ExamFish, Found, Prep
from store.facts.hazards import hazards
from store.facts.signs import signs

CLOCK_SLACK = timedelta(hours=1)
"""How far the clocks of two devices may differ before a time counts as lying ahead."""


def record_examination(writing: Writing, pond_id: UUID, exam: Exam) -> UUID:
    """Keep an examination with its fish, preparations and findings, whole or not at all.

    Parameters
    ----------
    writing
        The action of the person.
    pond_id
        Key of the pond.
    exam
        What was looked at and found.

    Returns
    -------
    UUID
        Key of the examination.

    Raises
    ------
    NotFound
        No such pond, or it was struck through.
    BadInput
        No fish, two fish of one number, a time ahead, an unknown hazard or sign, a photograph with
        a folder, a visit or course of another pond, or a value that cannot be kept; `field` names
        the place.
    """
    _stands(writing, pond_id)
    if not exam.fish:
        raise BadInput("Please say at least which fish was looked at. Nothing was saved.",
                       field="fish")  # fmt: skip
    numbers = [one.nth for one in exam.fish]
    if len(set(numbers)) < len(numbers):
        raise BadInput("Two fish have the same number. Nothing was saved.", field="fish")
    if exam.at > writing.act.at + CLOCK_SLACK:
        raise BadInput("The time of the examination lies ahead. Nothing was saved.", field="at")
    if exam.contact_min is not None and exam.gear != "disinfected":
        raise BadInput(
            "A contact time belongs to gear that was disinfected. Nothing was saved.",
            field="contact_min",
        )
    _belongs(writing, pond_id, exam)
    key = writing.add(
        "examination",
        pond_id=pond_id,
        visit_id=exam.visit_id,
        course_id=exam.course_id,
        at=exam.at,
        purpose=exam.purpose,
        examiner=exam.examiner,
        gear=exam.gear,
        disinfectant=exam.disinfectant,
        contact_min=exam.contact_min,
        note=exam.note,
    )
    for fish in exam.fish:
        _add_fish(writing, key, fish)
    return key


def add_fish(writing: Writing, examination_id: UUID, fish: ExamFish) -> UUID:
    """Add one more fish to an examination.

    Parameters
    ----------
    writing
        The action of the person.
    examination_id
        Key of the examination.
    fish
        What was looked at and found; its number must be free.

    Returns
    -------
    UUID
        Key of the fish.

    Raises
    ------
    NotFound, NotAllowed
        No such examination, or it is struck through.
    BadInput
        As for `record_examination`.
    """
    _standing(writing, "examination", examination_id)
    kept = table("examined_fish").c
    query = select(kept.id).where(
        kept.examination_id == examination_id, kept.nth == fish.nth, kept.struck_at.is_(None)
    )
    if writing.connection.execute(query).first() is not None:
        raise BadInput(f"There is a fish {fish.nth} already. Nothing was saved.", field="nth")
    return _add_fish(writing, examination_id, fish)


def add_finding(
    writing: Writing, fish_id: UUID, found: Found, preparation_id: UUID | None = None
) -> UUID:
    """Add a finding to a fish that was looked at.

    Parameters
    ----------
    writing
        The action of the person.
    fish_id
        Key of the fish.
    found
        What was found.
    preparation_id
        The preparation in which it was found; None for the naked eye.

    Returns
    -------
    UUID
        Key of the finding.

    Raises
    ------
    NotFound, NotAllowed
        No such fish or preparation, or it is struck through.
    BadInput
        An unknown hazard, a count beside a score, or a preparation of another fish.
    """
    _standing(writing, "examined_fish", fish_id)
    if preparation_id is not None:
        row = _standing(writing, "preparation", preparation_id)
        if row.fish_id != fish_id:
            raise BadInput("That preparation is of another fish. Nothing was saved.",
                           field="preparation")  # fmt: skip
    return _add_found(writing, fish_id, preparation_id, found)


def correct_finding(writing: Writing, finding_id: UUID, rev: int, found: Found, why: str) -> UUID:
    """Put a corrected finding in the place of one; the first is struck through and kept.

    Parameters
    ----------
    writing
        The action of the person.
    finding_id, rev
        The finding, as the person saw it.
    found
        The whole finding as it should be.
    why
        The reason; never empty.

    Returns
    -------
    UUID
        Key of the corrected finding.

    Raises
    ------
    BadInput
        No reason, or as for `add_finding`.
    NotFound, NotAllowed, ChangedMeanwhile
        As for `Writing.strike`. Nothing was changed.
    """
    row = _standing(writing, "exam_finding", finding_id)
    writing.strike("exam_finding", finding_id, why, rev)
    return _add_found(writing, row.fish_id, row.preparation_id, found, replaces=finding_id)


def strike_finding(writing: Writing, finding_id: UUID, rev: int, why: str) -> int:
    """Take back a finding that was entered by mistake; it stays readable and no longer counts.

    Parameters
    ----------
    writing
        The action of the person.
    finding_id, rev
        The finding, as the person saw it.
    why
        The reason; never empty.

    Returns
    -------
    int
        The revision afterwards.
    """
    return writing.strike("exam_finding", finding_id, why, rev)


def strike_examination(writing: Writing, key: UUID, rev: int, why: str) -> int:
    """Strike an examination through: it stays readable, and nothing of it counts any more.

    Parameters
    ----------
    writing
        The action of the person.
    key, rev
        The examination, as the person saw it.
    why
        The reason; never empty.

    Returns
    -------
    int
        The revision afterwards.
    """
    return writing.strike("examination", key, why, rev)


def entered_before(book: Book, pond_id: UUID, exam: Exam) -> KeptExam | None:
    """An examination of the same day with the same fish and findings: paper, then typed again.

    Parameters
    ----------
    book
        The book.
    pond_id
        Key of the pond.
    exam
        What is about to be entered.

    Returns
    -------
    KeptExam or None
        To be asked about before it is entered; two clean slides may well look alike.
    """
    day = book.today(exam.at)
    for one in examinations_of(book, pond_id):
        if book.today(one.exam.at) == day and one.exam.fish == exam.fish:
            return one
    return None


def _stands(writing: Writing, pond_id: UUID) -> None:
    ponds = table("pond").c
    query = select(ponds.id).where(ponds.id == pond_id, ponds.struck_at.is_(None))
    if writing.connection.execute(query).scalar() is None:
        raise NotFound("There is no such pond in the book, or it was struck through.")


def _standing(writing: Writing, name: TableName, key: UUID) -> Any:
    target = table(name)
    row = writing.connection.execute(select(target).where(target.c.id == key)).one_or_none()
    spoken = name.replace("_", " ")
    if row is None:
        raise NotFound(f"There is no such {spoken} in the book; nothing was saved.")
    if row.struck_at is not None:
        raise NotAllowed(f"This {spoken} is struck through and was left as it is.",
                         title="Struck through")  # fmt: skip
    return row


def _belongs(writing: Writing, pond_id: UUID, exam: Exam) -> None:
    """Refuse a visit or a course of another pond."""
    ponds = table("pond").c
    site = select(ponds.site_id).where(ponds.id == pond_id).scalar_subquery()
    if exam.visit_id is not None:
        visits = table("visit").c
        here = (visits.pond_id == pond_id) | visits.pond_id.is_(None)
        query = select(visits.id).where(visits.id == exam.visit_id, visits.site_id == site, here)
        if writing.connection.execute(query).first() is None:
            raise BadInput("That visit was not to this pond. Nothing was saved.", field="visit")
    if exam.course_id is not None:
        courses = table("course").c
        query = select(courses.id).where(
            courses.id == exam.course_id, courses.pond_id == pond_id, courses.struck_at.is_(None)
        )
        if writing.connection.execute(query).first() is None:
            raise BadInput("That course is not of this pond. Nothing was saved.", field="course")


def _add_fish(writing: Writing, examination_id: UUID, fish: ExamFish) -> UUID:
    _check_signs(fish.behaviour, "behaviour")
    _check_signs(fish.signs, "sign")
    for photo in fish.photos:
        if not photo.strip() or set(photo) & set("/\\:"):
            raise BadInput(
                f"A photograph is kept by the name of its file alone, without its folder; "
                f"“{photo:.60}” is none. Nothing was saved.",
                field="photos",
            )
    if (fish.weight_g is None) != (fish.weight_how == "not known"):
        raise BadInput(
            "A weight needs to say whether it was weighed or reckoned. Nothing was saved.",
            field="weight_g",
        )
    values = asdict(fish)
    for inside in ("preparations", "by_eye"):
        del values[inside]
    values |= {name: list(values[name]) for name in ("behaviour", "signs", "photos")}
    key = writing.add("examined_fish", examination_id=examination_id, **values)
    for nth, prep in enumerate(fish.preparations, start=1):
        _add_prep(writing, key, nth, prep)
    _add_all(writing, key, None, fish.by_eye)
    return key


def _add_prep(writing: Writing, fish_id: UUID, nth: int, prep: Prep) -> None:
    key = writing.add(
        "preparation",
        fish_id=fish_id,
        nth=nth,
        kind=prep.kind,
        place=prep.place,
        magnification=prep.magnification,
        fields=prep.fields,
        note=prep.note,
    )
    _add_all(writing, fish_id, key, prep.found)


def _add_all(
    writing: Writing, fish_id: UUID, preparation_id: UUID | None, findings: Iterable[Found]
) -> None:
    named: set[str] = set()
    for found in findings:
        if found.hazard in named:
            raise BadInput(
                f"{hazards()[found.hazard].plain_name} stands twice in one place. Nothing was "
                "saved.",
                field="hazard",
            )
        named.add(found.hazard)
        _add_found(writing, fish_id, preparation_id, found)


def _add_found(
    writing: Writing,
    fish_id: UUID,
    preparation_id: UUID | None,
    found: Found,
    *,
    replaces: UUID | None = None,
) -> UUID:
    if found.hazard not in hazards():
        raise BadInput(
            f"There is no hazard “{found.hazard:.40}” in the list. Nothing was saved.",
            field="hazard",
        )
    if found.counted is not None and found.score is not None:
        raise BadInput(
            "A finding is counted or scored, not both. Nothing was saved.", field="score"
        )
    return writing.add(
        "exam_finding",
        fish_id=fish_id,
        preparation_id=preparation_id,
        replaces_id=replaces,
        **asdict(found),
    )


def _check_signs(codes: Iterable[str], kind: str) -> None:
    for code in codes:
        sign = signs().get(code)
        if sign is None or sign.kind != kind:
            field = "signs" if kind == "sign" else "behaviour"
            raise BadInput(
                f"“{code:.40}” does not stand in the list; write it as other instead. Nothing was "
                "saved.",
                field=field,
            )
