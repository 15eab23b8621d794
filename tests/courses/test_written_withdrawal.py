"""A withdrawal that was written down beside the courses holds as well as one that is reckoned."""

from __future__ import annotations

from datetime import date, timedelta
from uuid import UUID

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.events import record_event
from store.courses.kept.leaving import leaving
from store.courses.kept.withdrawal_of import withdrawal_of, withdrawals
from store.courses.kept.written_withdrawal import Beside, barred_beside, typed_end
from store.errors import BadInput
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


def note_given(book: Book, act: Act, pond: UUID, note: str, day: date = DAY) -> UUID:
    with book.writing(act) as writing:
        return record_event(writing, pond, "medicine_given", day, note=note)


def test_a_medicine_without_an_end_has_no_day(sqlite_book: Book, act: Act) -> None:
    pond = add_carp_pond(sqlite_book, act)
    note_given(sqlite_book, act, pond, "praziquantel: 20 g; batch P9")
    found = withdrawal_of(sqlite_book, pond, at_noon(DAY))
    assert (found.state, found.runs, found.says) == (
        "no day", True, "Not for eating: no day can be given.",
    )  # fmt: skip
    assert found.remarks[0].startswith(
        "Given beside the courses, and no end of a withdrawal is written: praziquantel on 4 May "
        "2026."
    )
    assert [one.card.pond.id for one in withdrawals(sqlite_book, at_noon(DAY))] == [pond]
    said = leaving(found, DAY)
    assert said is not None
    assert said.said.startswith("Not for eating until a vet says so: praziquantel on 4 May 2026.")
    assert leaving(found, DAY - timedelta(days=1)) is None
    later = withdrawal_of(sqlite_book, pond, at_noon(DAY + timedelta(days=400)))
    assert later.state == "nothing given"
    write(sqlite_book, act, pond, DAY + timedelta(days=9))
    told = withdrawal_of(sqlite_book, pond, at_noon(DAY))
    assert (told.state, told.beside) == ("running", ())
    # What was written for one medicine answers for no other of that day.
    note_given(sqlite_book, act, pond, "Salt bath powder: 1 g")
    other = withdrawal_of(sqlite_book, pond, at_noon(DAY))
    assert (other.state, [one.name for one in other.beside]) == ("no day", ["praziquantel"])


def test_the_end_of_the_last_dose_answers_for_those_before(sqlite_book: Book, act: Act) -> None:
    pond = add_carp_pond(sqlite_book, act, use="not asked")
    note_given(sqlite_book, act, pond, "salt: 5 kg")
    assert withdrawal_of(sqlite_book, pond, at_noon(DAY)).state == "nothing given"
    note_given(sqlite_book, act, pond, "Florfenicol 50 %: 5 g", DAY - timedelta(days=2))
    found = withdrawal_of(sqlite_book, pond, at_noon(DAY))
    assert (found.state, len(found.beside)) == ("asked", 1)
    assert [one.state for one in withdrawals(sqlite_book, at_noon(DAY))] == ["asked"]
    said = leaving(found, DAY)
    assert said is not None
    assert "Florfenicol 50 % on 2 May 2026" in said.said
    write(sqlite_book, act, pond, DAY + timedelta(days=9), "Florfenicol injection")
    assert len(withdrawal_of(sqlite_book, pond, at_noon(DAY)).beside) == 1
    write(sqlite_book, act, pond, DAY + timedelta(days=9), "florfenicol 50 %, batch F2")
    assert withdrawal_of(sqlite_book, pond, at_noon(DAY)).beside == ()


def test_a_course_reckons_what_is_noted_beside_it(sqlite_book: Book, act: Act) -> None:
    pond = add_carp_pond(sqlite_book, act)
    treat(sqlite_book, act, pond, "trichlorfon", [LAST_DOSE])
    note_given(sqlite_book, act, pond, "Trichlorfon 98 %: 9 g", LAST_DOSE)
    now = at_noon(LAST_DOSE + timedelta(days=2))
    assert withdrawal_of(sqlite_book, pond, now).beside == ()
    note_given(sqlite_book, act, pond, "Trichlorfon 98 %: 9 g", LAST_DOSE + timedelta(days=1))
    assert len(withdrawal_of(sqlite_book, pond, now).beside) == 1


def test_what_bars_for_ever_does_so_beside_the_courses(sqlite_book: Book, act: Act) -> None:
    pond = add_carp_pond(sqlite_book, act)
    key = note_given(sqlite_book, act, pond, "Malachite-green oxalate: 2 g; withdrawal nil")
    write(sqlite_book, act, pond, DAY + timedelta(days=9), "malachite green, by the vet")
    late = at_noon(DAY + timedelta(days=800))
    found = withdrawal_of(sqlite_book, pond, late)
    assert (found.state, len(withdrawals(sqlite_book, late))) == ("barred", 1)
    said = leaving(found, DAY + timedelta(days=800))
    assert said is not None
    assert said.said.startswith("Not for eating, ever: malachite green")
    with sqlite_book.writing(act) as writing:
        writing.strike("pond_event", key, "it was another pond")
    assert withdrawal_of(sqlite_book, pond, late).state == "over"
    with sqlite_book.writing(act) as writing:
        writing.restore("pond_event", key, "it was this one")
    assert withdrawal_of(sqlite_book, pond, late).state == "barred"


@pytest.mark.parametrize(
    ("note", "bars"),
    [
        ("Malachitgrün 1 %: 20 ml", ["malachite_green"]),
        ("FMC (formalin, malachite): 1 l", ["malachite_green"]),
        ("Metronidazol 250 mg: 4 tablets", ["prohibited"]),
        ("crystal violet and furazolidone", ["malachite_green", "prohibited"]),
        ("Formalin: 1 l; instead of malachite green", []),
        ("brilliant carp feed: 2 kg", []),
    ],
)
def test_what_a_note_names(note: str, bars: list[str]) -> None:
    assert [one.code for one in barred_beside([Beside(DAY, note)])] == bars


def test_the_last_day_lies_behind_the_first() -> None:
    today = DAY + timedelta(days=25)
    assert typed_end("20 May", DAY, today) == date(2026, 5, 20)
    assert typed_end("3 Feb", DAY, today) == date(2027, 2, 3)
    assert typed_end("2026-05-09", DAY, today) == date(2026, 5, 9)
    assert typed_end("28 d", DAY, DAY) == DAY + timedelta(days=28)
    assert typed_end("tomorrow", DAY, today) == today + timedelta(days=1)
    for text in ("28 d", "Fri", "2 months"):
        with pytest.raises(BadInput, match="write the last day as a date"):
            typed_end(text, DAY, today)
