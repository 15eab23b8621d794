"""What is said when fish leave a pond that was treated."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.events import record_event
from store.courses.kept.leaving import leaving
from store.courses.kept.withdrawal_of import withdrawal_of
from tests.courses.treated_ponds import (
    LAST_DOSE,
    MAY_C,
    add_carp_pond,
    add_logger,
    at_noon,
    treat,
)

FIRST = LAST_DOSE - timedelta(days=7)


def said(book: Book, act: Act, on_day: date, *, agent: str = "trichlorfon", use: str = "food", shelf: Any = None) -> tuple[bool, str] | None:  # fmt: skip
    pond = add_carp_pond(book, act, use=use)
    add_logger(book, act, pond, MAY_C)
    treat(book, act, pond, agent, [FIRST, LAST_DOSE], use=use, shelf=shelf)
    today = max(on_day, LAST_DOSE + timedelta(days=10))
    found = leaving(withdrawal_of(book, pond, at_noon(today)), on_day)
    return None if found is None else (found.stops, found.said)


@pytest.mark.parametrize("on_day", [FIRST, LAST_DOSE, date(2026, 5, 24)])
def test_within_the_period_it_is_a_stop(book: Book, act: Act, on_day: date) -> None:
    """From the first dose on, until the fish are free: 3 May + 21 d, free from 25 May."""
    assert said(book, act, on_day, shelf={"withdrawal_degree_days": 100, "withdrawal_days": 21}) == (
        True,
        "Not for eating before 25 May 2026: trichlorfon, last given 3 May 2026. Say it to whoever "
        "receives them; local law decides.",
    )  # fmt: skip


@pytest.mark.parametrize("on_day", [FIRST - timedelta(days=1), date(2026, 5, 25)])
def test_before_the_first_dose_and_after_the_period_nothing_is_said(
    book: Book, act: Act, on_day: date
) -> None:
    shelf = {"withdrawal_degree_days": 100, "withdrawal_days": 21}
    assert said(book, act, on_day, shelf=shelf) is None


def test_a_pond_that_nobody_asked_about_stops_and_an_ornamental_one_reminds(
    book: Book, act: Act
) -> None:
    found = said(book, act, LAST_DOSE, use="not asked")
    assert found is not None
    assert found[0]
    assert "nobody has said whether they may be eaten" in found[1]
    found = said(book, act, LAST_DOSE, use="ornamental")
    assert found is not None
    assert not found[0]
    assert "never for eating" in found[1]


def test_what_never_ends_and_what_has_no_day(book: Book, act: Act) -> None:
    found = said(book, act, LAST_DOSE + timedelta(days=900), agent="malachite_green")
    assert found is not None
    assert found[0]
    assert found[1].startswith("Not for eating, ever: malachite green")
    found = said(book, act, LAST_DOSE, agent="house_mix")
    assert found is not None
    assert found[1].startswith("Not for eating until a vet says so: house_mix")
    assert said(book, act, LAST_DOSE, agent="salt") is None


def test_fish_that_left_within_the_period_are_remembered(book: Book, act: Act) -> None:
    pond = add_carp_pond(book, act)
    treat(book, act, pond, "trichlorfon", [FIRST, LAST_DOSE])
    before, within = FIRST - timedelta(days=3), LAST_DOSE + timedelta(days=2)
    with book.writing(act) as writing:
        record_event(writing, pond, "fish_removed", before)
        record_event(writing, pond, "fish_removed", within, note="to Brook Fishery, told")
        record_event(writing, pond, "fish_died", within, amount=1.0)
    found = withdrawal_of(book, pond, at_noon(LAST_DOSE + timedelta(days=5)))
    assert found.remarks[0] == (
        "Fish left this pond on 5 May 2026, within the period: whoever has them must know."
    )
