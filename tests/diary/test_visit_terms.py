"""What was agreed for a visit about money and consent, on both databases."""

from __future__ import annotations

from datetime import date, timedelta
from uuid import UUID

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.told.history import history
from store.book.visits import plan_visit
from store.diary.kept.visits.terms import CONSENTS, Terms, set_terms, terms_of
from store.errors import BadInput, NotFound
from tests.book.entries import NOW, add_pond

LATER = timedelta(minutes=5)


def a_visit(book: Book, act: Act) -> UUID:
    pond = add_pond(book, act)
    with book.writing(act) as writing:
        return plan_visit(writing, pond_id=pond, on_day=date(2026, 3, 18), kind="examination")


def agreed(book: Book, act: Act, visit: UUID, prices: str, consent: str) -> UUID | None:
    with book.writing(act) as writing:
        return set_terms(writing, visit, prices, consent)


def in_force(book: Book, visit: UUID) -> Terms:
    return terms_of(book, [visit])[visit]


def test_the_newest_is_in_force_and_nothing_is_rewritten(book: Book, act: Act) -> None:
    visit = a_visit(book, act)
    assert terms_of(book, [visit]) == {}
    first = agreed(book, act, visit, "visit 90, test 25", "to be signed")
    second = agreed(book, Act(act.by, NOW + LATER), visit, "visit 90, test 25", "signed")
    assert first is not None
    assert second is not None
    assert first != second
    now = in_force(book, visit)
    assert (now.id, now.prices, now.consent) == (second, "visit 90, test 25", "signed")
    assert (now.by, now.at) == ("Ada Vet", NOW + LATER)
    assert [one.what for one in history(book, "visit_terms", first)] == ["add"]


def test_rows_of_one_instant_follow_each_other(book: Book, act: Act) -> None:
    visit = a_visit(book, act)
    for consent in CONSENTS[1:]:
        agreed(book, act, visit, "", consent)
    assert in_force(book, visit).consent == "signed"


def test_the_very_same_is_not_written_twice(book: Book, act: Act) -> None:
    visit = a_visit(book, act)
    assert agreed(book, act, visit, "  ", "not asked") is None
    assert agreed(book, act, visit, "90\n for the  visit", "not asked") is not None
    assert agreed(book, act, visit, "90 for the visit", "not asked") is None
    assert in_force(book, visit).prices == "90 for the visit"


def test_each_visit_has_its_own(book: Book, act: Act) -> None:
    one, other = a_visit(book, act), a_visit(book, act)
    agreed(book, act, one, "90", "signed")
    agreed(book, act, other, '=HYPERLINK("x")\x1b[2J', "not asked")
    found = terms_of(book, [one, other])
    assert found[one].consent == "signed"
    assert found[other].prices == '=HYPERLINK("x")\N{REPLACEMENT CHARACTER}[2J'


def test_a_writing_sees_what_it_wrote(book: Book, act: Act) -> None:
    visit = a_visit(book, act)
    with book.writing(act) as writing:
        set_terms(writing, visit, "90", "signed")
        assert terms_of(writing.connection, [visit])[visit].consent == "signed"


def test_what_is_struck_through_is_not_in_force(book: Book, act: Act) -> None:
    visit = a_visit(book, act)
    agreed(book, act, visit, "90", "to be signed")
    last = agreed(book, Act(act.by, NOW + LATER), visit, "900", "signed")
    assert last is not None
    with book.writing(Act(act.by, NOW + 2 * LATER)) as writing:
        writing.strike("visit_terms", last, "a slip of the pen")
    assert in_force(book, visit).prices == "90"


def test_refused_with_a_sentence(book: Book, act: Act) -> None:
    visit = a_visit(book, act)
    with pytest.raises(BadInput, match="not asked, to be signed or signed, not “perhaps”"):
        agreed(book, act, visit, "90", "perhaps")
    with pytest.raises(BadInput):
        agreed(book, act, visit, "9" * 2001, "signed")
    with pytest.raises(NotFound):
        agreed(book, act, UUID(int=7), "90", "signed")
    assert terms_of(book, [visit, UUID(int=7)]) == {}


def test_many_visits_are_asked_for_in_portions(sqlite_book: Book, act: Act) -> None:
    visit = a_visit(sqlite_book, act)
    agreed(sqlite_book, act, visit, "90", "signed")
    keys = [*(UUID(int=n) for n in range(1, 40_000)), visit]
    assert set(terms_of(sqlite_book, keys)) == {visit}
