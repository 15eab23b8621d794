"""Examinations to enter and look at again, for the tests of this room."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.exams.examining import record_examination
from store.exams.values import Exam, ExamFish, Found, Prep
from tests.book.entries import NOW

GILL = Prep("gill clip", "left", 100, 5, found=(Found("gill_flukes", counted=23, motile="yes"),))
SKIN = Prep("skin scrape", "", 100, 5, found=(Found("costia", score=2, confidence="suspected"),))


def koi(*preps: Prep, nth: int = 1, **values: Any) -> ExamFish:
    return ExamFish(nth=nth, species="koi", preparations=preps, **values)


def exam(*fish: ExamFish, at: datetime = NOW, **values: Any) -> Exam:
    said = {"purpose": "first look", "examiner": "Ada Vet"} | values
    return Exam(at=at, fish=fish or (koi(GILL, SKIN),), **said)


def found_in(kind: str, *found: Found, fields: int | None = 5) -> Prep:
    return Prep(kind, "", 100, fields, found=found)  # type: ignore[arg-type]


def enter(book: Book, act: Act, pond: UUID, what: Exam | None = None) -> UUID:
    with book.writing(act) as writing:
        return record_examination(writing, pond, what or exam())
