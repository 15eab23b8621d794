"""A withdrawal that was written down beside the courses holds as well as one that is reckoned."""

from __future__ import annotations

from datetime import date, timedelta
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.book.events import record_event
from store.courses.kept.leaving import leaving
from store.courses.kept.withdrawal_of import withdrawal_of, withdrawals
from tests.courses.treated_ponds import LAST_DOSE, MAY_C, add_carp_pond, add_logger, at_noon, treat

DAY = date(2026, 5, 4)


def write(book: Book, act: Act, pond: UUID, until: date | None, note: str = "salt bath") -> None:
    with book.writing(act) as writing:
        record_event(writing, pond, "not_for_eating", DAY, until_day=until, note=note)


def test_the_day_that_was_written_holds(sqlite_book: Book, act: Act) -> None:
    pond = add_carp_pond(sqlite_book, act)
    assert withdrawal_of(sqlite_book, pond, at_noon(DAY)).state == "nothing given"
    write(sqlite_book, act, pond, DAY + timedelta(days=9))
    last = DAY + timedelta(days=9)
    found = withdrawal_of(sqlite_book, pond, at_noon(last))
    assert (found.state, found.late, found.early) == ("running", date(2026, 5, 14), found.late)
    assert found.says == "Not for eating before 14 May 2026."
    assert found.remarks[0] == (
        "Written down as not for eating from 4 May 2026, until 13 May 2026: salt bath."
    )
    assert [one.card.pond.id for one in withdrawals(sqlite_book, at_noon(last))] == [pond]
    said = leaving(found, last)
    assert said is not None
    assert said.stops
    assert said.said.startswith("Not for eating before 14 May 2026: salt bath.")
    over = withdrawal_of(sqlite_book, pond, at_noon(last + timedelta(days=1)))
    assert (over.state, over.runs) == ("over", False)
    assert leaving(over, last + timedelta(days=1)) is None
    # Without a last day no day is made up.
    write(sqlite_book, act, pond, None)
    assert withdrawal_of(sqlite_book, pond, at_noon(last)).state == "no day"


def test_the_later_of_what_is_written_and_reckoned(sqlite_book: Book, act: Act) -> None:
    pond = add_carp_pond(sqlite_book, act)
    treat(sqlite_book, act, pond, "trichlorfon", [LAST_DOSE])
    add_logger(sqlite_book, act, pond, MAY_C)
    now = at_noon(LAST_DOSE + timedelta(days=10))
    reckoned = withdrawal_of(sqlite_book, pond, now)
    assert reckoned.late is not None
    write(sqlite_book, act, pond, reckoned.late - timedelta(days=12))
    assert withdrawal_of(sqlite_book, pond, now).late == reckoned.late
    write(sqlite_book, act, pond, reckoned.late + timedelta(days=30))
    longer = withdrawal_of(sqlite_book, pond, now)
    assert longer.late == longer.early == reckoned.late + timedelta(days=31)


def test_of_a_pond_that_nobody_was_asked_about(sqlite_book: Book, act: Act) -> None:
    pond = add_carp_pond(sqlite_book, act, use="not asked")
    write(sqlite_book, act, pond, DAY + timedelta(days=9))
    found = withdrawal_of(sqlite_book, pond, at_noon(DAY))
    assert found.state == "asked"
    assert leaving(found, DAY) is not None
    ornamental = add_carp_pond(sqlite_book, act, use="ornamental")
    write(sqlite_book, act, ornamental, DAY + timedelta(days=9))
    shown = withdrawal_of(sqlite_book, ornamental, at_noon(DAY))
    assert (shown.state, shown.runs) == ("ornamental", False)
    said = leaving(shown, DAY)
    assert said is not None
    assert not said.stops


def test_a_medicine_without_an_end_is_told(sqlite_book: Book, act: Act) -> None:
    pond = add_carp_pond(sqlite_book, act)
    with sqlite_book.writing(act) as writing:
        record_event(writing, pond, "medicine_given", DAY, note="praziquantel: 20 g; batch P9")
    found = withdrawal_of(sqlite_book, pond, at_noon(DAY))
    assert found.state == "nothing given"
    assert found.remarks[0].startswith(
        "Given beside the courses of this book, and no end of a withdrawal is written: "
        "praziquantel on 4 May 2026."
    )
    write(sqlite_book, act, pond, DAY + timedelta(days=9))
    told = withdrawal_of(sqlite_book, pond, at_noon(DAY)).remarks
    assert not any(one.startswith("Given beside") for one in told)
    write_late = at_noon(DAY + timedelta(days=400))
    assert not any("beside" in one for one in withdrawal_of(sqlite_book, pond, write_late).remarks)
