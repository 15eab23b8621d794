"""Samples at a laboratory, on both databases."""

from __future__ import annotations

from datetime import timedelta
from typing import Any
from uuid import UUID

import pytest

from store.book.act import Act
from store.book.book import Book
from store.errors import BadInput, ChangedMeanwhile, NotAllowed, NotFound
from store.exams.examinations import examination
from store.exams.specimens import (
    add_sample,
    awaited,
    earlier_reports,
    report_result,
    sample,
    samples_of,
    send_sample,
    strike_sample,
)
from tests.book.entries import NOW, add_pond
from tests.exams.looked_at import enter

TODAY = NOW.date()
DAY = timedelta(days=1)


@pytest.fixture
def pond(book: Book, act: Act) -> UUID:
    key: UUID = add_pond(book, act)
    return key


def take(book: Book, act: Act, pond: UUID, **values: Any) -> UUID:
    said = {"label": "BH-1", "taken_on": TODAY - 9 * DAY, "material": "gill and kidney",
            "hazard": "khv"} | values  # fmt: skip
    with book.writing(act) as writing:
        return add_sample(writing, pond, **said)


def test_a_sample_is_awaited_until_its_result_comes(book: Book, act: Act, pond: UUID) -> None:
    exam = enter(book, act, pond)
    fish = examination(book, exam).fish[0].id
    key = take(book, act, pond, examination_id=exam, fish_id=fish)
    take(book, act, pond, label="BH-2", taken_on=TODAY, material="")
    waiting = awaited(book, TODAY)
    assert [(one.sample.label, one.days, one.client, one.pond) for one in waiting] == [
        ("BH-1", 9, "Brook House", "Lower pond"), ("BH-2", 0, "Brook House", "Lower pond"),
    ]  # fmt: skip
    assert waiting[0].said == "gill and kidney “BH-1” not sent yet, 9 days"
    with book.writing(act) as writing:
        send_sample(writing, key, 1, TODAY - 8 * DAY, "the state laboratory")
    assert awaited(book, TODAY)[0].said == "gill and kidney “BH-1” at the state laboratory, 8 days"
    with book.writing(act) as writing:
        assert report_result(writing, key, 2, "not detected", TODAY, said="PCR negative") == key
    assert [one.sample.label for one in awaited(book, TODAY)] == ["BH-2"]
    kept = sample(book, key)
    assert (kept.result, kept.reported_on, kept.said) == ("not detected", TODAY, "PCR negative")
    # The result leads back to the examination and the fish that it belongs to.
    assert (kept.examination_id, kept.fish_id) == (exam, fish)


def test_an_amended_report_keeps_the_first(book: Book, act: Act, pond: UUID) -> None:
    key = take(book, act, pond, taken_on=TODAY - 20 * DAY, sent_on=TODAY - 19 * DAY)
    with book.writing(act) as writing:
        report_result(writing, key, 1, "not detected", TODAY - 9 * DAY)
        new = report_result(writing, key, 2, "detected", TODAY, said="second run", report="77-b")
    assert new != key
    assert [one.id for one in samples_of(book, pond)] == [new]
    assert [one.result for one in samples_of(book, pond, struck=True)] == [
        "detected", "not detected",
    ]  # fmt: skip
    first = earlier_reports(book, new)
    assert [(one.id, one.result, one.struck_why) for one in first] == [
        (key, "not detected", "The laboratory amended its report."),
    ]  # fmt: skip
    assert (sample(book, new).label, sample(book, new).sent_on) == ("BH-1", TODAY - 19 * DAY)
    with pytest.raises(NotAllowed), book.writing(act) as writing:
        report_result(writing, key, 3, "detected", TODAY)


def test_what_cannot_be_is_refused(book: Book, act: Act, pond: UUID) -> None:
    other = enter(book, act, add_pond(book, act))
    for values, field in (
        ({"taken_on": TODAY + DAY}, "taken_on"),
        ({"sent_on": TODAY - 10 * DAY}, "sent_on"),
        ({"sent_on": TODAY + DAY}, "sent_on"),
        ({"hazard": "plague"}, "hazard"),
        ({"label": ""}, "label"),
        ({"examination_id": other}, "examination"),
        ({"fish_id": UUID(int=1)}, "fish"),
    ):
        with pytest.raises(BadInput) as refused:
            take(book, act, pond, **values)
        assert refused.value.field == field
    with pytest.raises(NotFound):
        take(book, act, UUID(int=3))
    key = take(book, act, pond)
    for result, day, said, field in (
        ("awaited", TODAY, "", "result"),
        ("unclear", TODAY, " ", "said"),
        ("detected", TODAY + DAY, "", "reported_on"),
        ("detected", TODAY - 10 * DAY, "", "reported_on"),
    ):
        with pytest.raises(BadInput) as refused, book.writing(act) as writing:
            report_result(writing, key, 1, result, day, said=said)  # type: ignore[arg-type]
        assert refused.value.field == field
    with pytest.raises(ChangedMeanwhile), book.writing(act) as writing:
        report_result(writing, key, 4, "detected", TODAY)
    assert sample(book, key).result == "awaited"


def test_a_sample_taken_back_is_no_longer_awaited(book: Book, act: Act, pond: UUID) -> None:
    key = take(book, act, pond)
    with book.writing(act) as writing:
        strike_sample(writing, key, 1, "tube broke")
    assert awaited(book, TODAY) == ()
    assert sample(book, key).struck_why == "tube broke"
