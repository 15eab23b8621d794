"""A pond's history for a referral, the morning list for the wall, the sheets of a course."""

from __future__ import annotations

import os
import re
from dataclasses import replace
from datetime import date, timedelta
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader

from store.book.act import Act
from store.book.book import Book
from store.errors import BadInput, NotFound
from store.paper.paper import as_text
from store.reports.history_paper import history_paper
from store.reports.kept.history import history_facts
from store.reports.kept.reports import (
    course_named,
    course_report,
    history_report,
    morning_report,
)
from store.reports.morning_paper import NOBODY
from store.water.water_tests import add_test, save_test
from tests.conftest import NOW
from tests.reports.report_book import HEAD, SECRETS, TODAY, add_day, at, one_pond, typed

GOLDEN = Path(__file__).parent / "golden"


def told(book: Book, pond: object, **more: object) -> str:
    first = more.pop("first", date(2025, 12, 1))
    last = more.pop("last", TODAY)
    facts = history_facts(book, pond, first, last, NOW, HEAD, **more)  # type: ignore[arg-type]
    return as_text(history_paper(facts))


def assert_golden(name: str, text: str) -> None:
    path = GOLDEN / name
    if os.environ.get("PONDROUND_WRITE_GOLDEN"):
        path.write_text(text, encoding="utf-8")
    assert text == path.read_text(encoding="utf-8")


def test_the_history_as_it_was_looked_at(book: Book, act: Act) -> None:
    keys = add_day(book, act)
    assert_golden("history.txt", told(book, keys.pond))


def test_notes_only_when_ticked_and_never_of_others(book: Book, act: Act) -> None:
    keys = add_day(book, act)
    text = told(book, keys.pond)
    allowed = {"SECRET-STOCK", "SECRET-ASKED"}
    for secret in SECRETS:
        assert secret not in text or secret in allowed, secret
    noted = " ".join(told(book, keys.pond, notes=True).split())
    for secret in ("SECRET-TEST", "SECRET-EXAM", "SECRET-EVENT", "SECRET-DEAD"):
        assert secret in noted, secret
    for never in ("4711", "SECRET-CLIENT", "SECRET-POND", "Neighbour Teal"):
        assert never not in noted


def test_notes_leave_the_numbers_their_room(sqlite_book: Book, act: Act) -> None:
    keys = add_day(sqlite_book, act)
    note = "long words of what was seen that morning at the pond " * 4
    save_test(sqlite_book, act, keys.pond, typed("9C pH 7.7", at(TODAY, 6), note))
    assert "Notes beside" not in told(sqlite_book, keys.pond)
    text = told(sqlite_book, keys.pond, notes=True)
    (row,) = [line for line in text.splitlines() if line.startswith("2026-03-14")]
    assert "seen" not in row
    assert "Notes beside the water tests" in text


def test_a_trace_is_not_told_as_nothing(sqlite_book: Book, act: Act) -> None:
    """Emerson et al. 1975: 0.02 % of 0.05 mg/L at pH 6.2 and 5 °C; three decimals show none."""
    with sqlite_book.writing(act) as writing:
        keys = one_pond(writing)
    save_test(sqlite_book, act, keys.pond, typed("5C pH 6.2 TAN 0.05", at(TODAY, 6)))
    (row,) = [one for one in told(sqlite_book, keys.pond).splitlines() if "2026-03-14 06" in one]
    assert "<0.001" in row


def test_the_span_holds(book: Book, act: Act) -> None:
    keys = add_day(book, act)
    text = told(book, keys.pond, first=date(2026, 1, 1), last=date(2026, 2, 25))
    assert "2026-01-07" in text
    assert "2026-02-22" in text
    for outside in ("2025-12-31", "2026-03-01", "2026-03-13", "flukes 23", "5000"):
        assert outside not in text
    assert "2 kg of salt" in " ".join(text.split())  # the volume, whenever it was found


def test_an_empty_pond(book: Book, act: Act) -> None:
    with book.writing(act) as writing:
        keys = one_pond(writing)
    text = told(book, keys.pond)
    assert text.count("None in this span.") >= 8
    assert "18,400 L (16,000 to 20,000 L), by salt" in text


def test_five_hundred_tests(sqlite_book: Book, act: Act) -> None:
    with sqlite_book.writing(act) as writing:
        keys = one_pond(writing)
        read = [typed(f"{8 + n % 7}C pH 7.{n % 10} NO2 0.1", NOW) for n in range(7)]
        for n in range(500):
            when = at(TODAY - timedelta(days=n // 2 + 1), 8 + 8 * (n % 2))
            add_test(writing, keys.pond, replace(read[n % 7], taken_at=when))
    text = told(sqlite_book, keys.pond, first=TODAY - timedelta(days=360))
    rows = [line for line in text.splitlines() if re.match(r"20\d\d-", line)]
    assert len(rows) == 500
    made = history_report(sqlite_book, keys.pond, NOW, HEAD, "pdf", page="Letter")
    pages = PdfReader(BytesIO(made.data)).pages
    assert len(pages) > 8
    whole = "\n".join(page.extract_text() for page in pages)
    assert len(re.findall(r"\d{4}-\d\d-\d\d\s+\d\d:00", whole)) == 500


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [
        (date(2026, 3, 2), date(2026, 3, 1), "before the first"),
        (date(2027, 1, 1), date(2027, 2, 1), "lies ahead"),
        (date(1990, 1, 1), TODAY, "at most"),
    ],
)
def test_spans_that_cannot_be(
    sqlite_book: Book, act: Act, first: date, last: date, said: str
) -> None:
    with sqlite_book.writing(act) as writing:
        keys = one_pond(writing)
    with pytest.raises(BadInput, match=said):
        told(sqlite_book, keys.pond, first=first, last=last)


def test_a_pond_that_is_struck_through_has_a_history(book: Book, act: Act) -> None:
    keys = add_day(book, act)
    with book.writing(act) as writing:
        writing.strike("pond", keys.pond, "filled in")
    assert "struck through in the practice's records" in " ".join(told(book, keys.pond).split())


def test_the_morning_list_for_the_wall(book: Book, act: Act) -> None:
    keys = add_day(book, act)
    assert keys.pond
    text = morning_report(book, NOW, "text").data.decode()
    assert_golden("morning.txt", text)
    assert "01632" not in text
    for secret in SECRETS:
        assert secret not in text or secret == "Neighbour Teal"
    assert text.index("Act (") < text.index("[ ]")


def test_the_wall_is_read_from_a_metre(sqlite_book: Book, act: Act) -> None:
    """Letters of 11 pt at least; no pond torn apart; the heading on every page."""
    long = "the pond behind the second glasshouse, left of the compost and before the bridge"
    with sqlite_book.writing(act) as writing:
        for n in range(40):
            one_pond(writing, name=f"{long} {n:02d}", client=f"Client {n:02d}")
    made = morning_report(sqlite_book, NOW, "pdf", page="Letter")
    pages = PdfReader(BytesIO(made.data)).pages
    sizes: set[float] = set()

    def seen(text: str, _cm: object, _tm: object, _font: object, size: float) -> None:
        if text.strip():
            sizes.add(size)

    texts = ["".join(page.extract_text(visitor_text=seen).split()) for page in pages]
    foot = 8.5
    assert min(sizes - {foot}) >= 11.0
    assert len(texts) > 2
    assert all("Clientandpond" in text for text in texts)
    for n in range(40):
        (where,) = [text for text in texts if f"Client{n:02d}," in text]
        assert f"bridge{n:02d}" in where


def test_a_quiet_morning(sqlite_book: Book) -> None:
    assert NOBODY in morning_report(sqlite_book, NOW, "text").data.decode()
    assert "nobody" not in morning_report(sqlite_book, NOW, "markdown").data.decode()


def test_without_a_course_there_is_no_sheet(sqlite_book: Book, act: Act) -> None:
    with sqlite_book.writing(act) as writing:
        keys = one_pond(writing)
    with pytest.raises(NotFound, match="No course runs"):
        course_named(sqlite_book, keys.pond, None)
    with pytest.raises(NotFound, match="medicated feed"):
        course_named(sqlite_book, keys.pond, None, feed=True)
    with pytest.raises(BadInput, match="name the pond"):
        course_named(sqlite_book, None, None)
    assert course_report
