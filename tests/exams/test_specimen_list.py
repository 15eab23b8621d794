"""Every sample in one list, on both databases."""

from __future__ import annotations

from datetime import timedelta

from store.book.act import Act
from store.book.book import Book
from store.exams.specimen_list import sample_lines
from store.exams.specimens import add_sample, report_result, sample, strike_sample
from tests.book.entries import NOW, add_pond

TODAY = NOW.date()


def test_awaited_first_then_the_newest_report(book: Book, act: Act) -> None:
    pond, other = add_pond(book, act), add_pond(book, act, name="Upper pond")
    keys = {}
    with book.writing(act) as writing:
        for label, at, days, sent in (
            ("young", pond, 2, None), ("old", other, 9, 7), ("told", pond, 30, 29),
            ("amended", pond, 20, 20), ("wrong", pond, 1, 1),
        ):  # fmt: skip
            keys[label] = add_sample(
                writing, at, label=label, taken_on=TODAY - timedelta(days=days),
                sent_on=None if sent is None else TODAY - timedelta(days=sent),
            )  # fmt: skip
        report_result(writing, keys["told"], 1, "detected", TODAY - timedelta(days=3))
        report_result(writing, keys["amended"], 1, "unclear", TODAY - timedelta(days=4), said="?")
        strike_sample(writing, keys["wrong"], 1, "another pond")
    rev = sample(book, keys["amended"]).rev
    with book.writing(act) as writing:
        report_result(writing, keys["amended"], rev, "not detected", TODAY)
    found = sample_lines(book, TODAY)
    assert [(one.sample.label, one.days, one.amended) for one in found] == [
        ("old", 7, False), ("young", 2, False), ("amended", 20, True), ("told", 29, False),
    ]  # fmt: skip
    assert found[0].where == "Brook House, Upper pond"
    assert [one.sample.label for one in sample_lines(book, TODAY, pond=other)] == ["old"]
