"""Examinations read back from the book, with every finding that was corrected still to be read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import ColumnElement, Connection, Row, select

from store.book.book import Book
from store.book.tables import TableName, table
from store.errors import NotFound
from store.exams.values import Exam, ExamFish, Found, Prep


@dataclass(frozen=True, slots=True)
class KeptFinding:
    """A finding as somebody entered it; one that was corrected or taken back stays to be read."""

    id: UUID
    rev: int
    found: Found
    fish_id: UUID
    preparation_id: UUID | None
    by: str
    """Who entered it."""
    at: datetime
    """When it was entered."""
    replaces: UUID | None
    struck_why: str
    struck_by: str
    struck_at: datetime | None

    @property
    def stands(self) -> bool:
        """Whether it counts."""
        return self.struck_at is None


@dataclass(frozen=True, slots=True)
class KeptPrep:
    """A preparation with its key, and all that was ever said to be found in it."""

    id: UUID
    rev: int
    prep: Prep
    findings: tuple[KeptFinding, ...]


@dataclass(frozen=True, slots=True)
class KeptFish:
    """A fish with its key; `fish` holds the findings that stand, the others beside them."""

    id: UUID
    rev: int
    fish: ExamFish
    preparations: tuple[KeptPrep, ...]
    by_eye: tuple[KeptFinding, ...]

    @property
    def findings(self) -> tuple[KeptFinding, ...]:
        """All that was ever said of this fish, in preparations and by the naked eye."""
        under = tuple(one for prep in self.preparations for one in prep.findings)
        return under + self.by_eye


@dataclass(frozen=True, slots=True)
class KeptExam:
    """An examination with its key; `exam` holds what stands of it."""

    id: UUID
    rev: int
    pond_id: UUID
    exam: Exam
    fish: tuple[KeptFish, ...]
    entered_by: str
    entered_at: datetime
    struck_why: str

    def finding(self, key: UUID) -> KeptFinding:
        """One finding, struck through or not.

        Parameters
        ----------
        key
            Of the finding.

        Raises
        ------
        NotFound
            It does not belong to this examination.
        """
        for fish in self.fish:
            for one in fish.findings:
                if one.id == key:
                    return one
        raise NotFound("There is no such finding in this examination.")

    def earlier(self, key: UUID) -> tuple[KeptFinding, ...]:
        """What a finding said before it was corrected, the newest first.

        Parameters
        ----------
        key
            Of the finding.
        """
        found = []
        before = self.finding(key).replaces
        while before is not None:
            one = self.finding(before)
            found.append(one)
            before = one.replaces
        return tuple(found)


def examination(book: Book, key: UUID) -> KeptExam:
    """One examination, struck through or not.

    Parameters
    ----------
    book
        The book.
    key
        Of the examination.

    Raises
    ------
    NotFound
        There is no such examination.
    """
    with book.reading() as connection:
        found = read_examinations(connection, table("examination").c.id == key, struck=True)
    if not found:
        raise NotFound("There is no such examination in the book.")
    return found[0]


def examinations_of(book: Book, pond: UUID, *, struck: bool = False) -> tuple[KeptExam, ...]:
    """All examinations of a pond, newest first.

    Parameters
    ----------
    book
        The book.
    pond
        Key of the pond.
    struck
        Also those that are struck through.
    """
    with book.reading() as connection:
        condition = table("examination").c.pond_id == pond
        return read_examinations(connection, condition, struck=struck)


def read_examinations(
    connection: Connection, *conditions: ColumnElement[bool], struck: bool = False
) -> tuple[KeptExam, ...]:
    """The examinations that meet the conditions, newest first, with all that belongs to them.

    Parameters
    ----------
    connection
        Reading, or within a writing.
    *conditions
        On the columns of `examination`.
    struck
        Also those that are struck through.
    """
    exams = table("examination")
    query = select(exams).where(*conditions).order_by(exams.c.at.desc(), exams.c.id.desc())
    if not struck:
        query = query.where(exams.c.struck_at.is_(None))
    rows = connection.execute(query).all()
    if not rows:
        return ()
    fish = _children(connection, "examined_fish", "examination_id", [row.id for row in rows])
    fish_keys = [one.id for of in fish.values() for one in of]
    preps = _children(connection, "preparation", "fish_id", fish_keys)
    findings = _children(connection, "exam_finding", "fish_id", fish_keys)
    staff = table("staff").c
    names = dict(connection.execute(select(staff.id, staff.name)).all())
    return tuple(
        _exam(
            row,
            [
                _fish(one, preps.get(one.id, ()), findings.get(one.id, ()), names)
                for one in fish.get(row.id, ())
            ],
            names,
        )
        for row in rows
    )


_ORDER = {"examined_fish": "nth", "preparation": "nth", "exam_finding": "created_at"}
_MOST_KEYS = 500
"""So many keys go into one query: both databases bound how many."""


def _children(
    connection: Connection, name: TableName, of: str, keys: Sequence[UUID]
) -> dict[UUID, list[Row[Any]]]:
    """Rows by what they belong to; a finding that is struck through is wanted too."""
    target = table(name)
    found: dict[UUID, list[Row[Any]]] = {}
    for first in range(0, len(keys), _MOST_KEYS):
        query = select(target).where(target.c[of].in_(keys[first : first + _MOST_KEYS]))
        if name != "exam_finding":
            query = query.where(target.c.struck_at.is_(None))
        for row in connection.execute(query.order_by(target.c[_ORDER[name]], target.c.id)):
            found.setdefault(getattr(row, of), []).append(row)
    return found


def _exam(row: Row[Any], fish: Sequence[KeptFish], names: Mapping[UUID, str]) -> KeptExam:
    exam = Exam(
        at=row.at,
        purpose=row.purpose,
        examiner=row.examiner,
        fish=tuple(one.fish for one in fish),
        gear=row.gear,
        disinfectant=row.disinfectant,
        contact_min=row.contact_min,
        note=row.note,
        visit_id=row.visit_id,
        course_id=row.course_id,
    )
    return KeptExam(
        row.id, row.rev, row.pond_id, exam, tuple(fish), names.get(row.created_by, ""),
        row.created_at, row.struck_why,
    )  # fmt: skip


def _fish(
    row: Row[Any], preps: Iterable[Row[Any]], findings: Iterable[Row[Any]],
    names: Mapping[UUID, str],
) -> KeptFish:  # fmt: skip
    kept = _in_place([_finding(one, names) for one in findings])
    under = tuple(
        _prep(one, tuple(found for found in kept if found.preparation_id == one.id))
        for one in preps
    )
    by_eye = tuple(one for one in kept if one.preparation_id is None)
    fish = ExamFish(
        nth=row.nth,
        species=row.species,
        mark=row.mark,
        length_cm=row.length_cm,
        length_kind=row.length_kind,
        weight_g=row.weight_g,
        weight_how=row.weight_how,
        condition=row.condition,
        behaviour=tuple(row.behaviour),
        signs=tuple(row.signs),
        other=row.other,
        treated=row.treated,
        photos=tuple(row.photos),
        preparations=tuple(one.prep for one in under),
        by_eye=tuple(one.found for one in by_eye if one.stands),
    )
    return KeptFish(row.id, row.rev, fish, under, by_eye)


def _in_place(findings: Sequence[KeptFinding]) -> list[KeptFinding]:
    """In the order entered, a correction in the place of what it corrects."""
    places: dict[UUID, int] = {}
    for place, one in enumerate(findings):
        known = None if one.replaces is None else places.get(one.replaces)
        places[one.id] = place if known is None else known
    return sorted(findings, key=lambda one: (places[one.id], one.at))


def _prep(row: Row[Any], findings: tuple[KeptFinding, ...]) -> KeptPrep:
    prep = Prep(
        row.kind, row.place, row.magnification, row.fields, row.note,
        tuple(one.found for one in findings if one.stands),
    )  # fmt: skip
    return KeptPrep(row.id, row.rev, prep, findings)


def _finding(row: Row[Any], names: Mapping[UUID, str]) -> KeptFinding:
    found = Found(row.hazard, row.counted, row.score, row.motile, row.confidence, row.note)
    return KeptFinding(
        id=row.id,
        rev=row.rev,
        found=found,
        fish_id=row.fish_id,
        preparation_id=row.preparation_id,
        by=names.get(row.created_by, ""),
        at=row.created_at,
        replaces=row.replaces_id,
        struck_why=row.struck_why,
        struck_by=names.get(row.struck_by, ""),
        struck_at=row.struck_at,
    )
