"""A pond of table carp through the book: the doses logged, the logger's days, the law's figure.

The rules of Regulation (EU) 2019/6, Article 115 are from memory and stand so in the facts; how the
sum is made is read in SI 1988/1009, regulation 2. What is proved here is the arithmetic on them.
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.withdrawal_of import PondWithdrawal, withdrawal_of
from tests.courses.treated_ponds import (
    LAST_DOSE,
    MAY_C,
    add_carp_pond,
    add_logger,
    at_noon,
    treat,
)

DOSES = [LAST_DOSE - timedelta(days=7), LAST_DOSE]


def on(
    book: Book, act: Act, day: date, shelf: dict[str, int], *, use: str = "food"
) -> PondWithdrawal:
    pond = add_carp_pond(book, act, use=use)
    treat(book, act, pond, "praziquantel", DOSES, shelf=shelf, use=use)
    add_logger(book, act, pond, MAY_C)
    return withdrawal_of(book, pond, at_noon(day))


@pytest.mark.parametrize(
    ("day", "summed", "over"),
    [
        (date(2026, 5, 8), 78.6, False),
        (date(2026, 5, 13), 173.3, False),
        (date(2026, 5, 23), 366.5, False),
        (date(2026, 5, 29), 495.4, False),
        (date(2026, 5, 30), 515.7, False),
        (date(2026, 5, 31), 515.7 + 19.8, True),
    ],
)
def test_table_carp_in_may(book: Book, act: Act, day: date, summed: float, over: bool) -> None:
    # A product for land animals, longest period 28 d: 50 x 28 = 1400, capped at 500 degree-days
    # (Article 115(1)(d)(ii), from memory), which the practice enters as the period of its product.
    # Running sums by hand; 500 is reached on day 27, 30 May, and the fish are free from the 31st.
    found = on(book, act, day, {"withdrawal_degree_days": 500})
    (one,) = found.agents
    assert one.met[0].summed == pytest.approx(summed, abs=0.05)
    assert one.over is over
    assert (found.state == "over") is over
    if day >= date(2026, 5, 30):
        assert one.late == one.early == date(2026, 5, 31)


def test_days_of_a_land_animal_as_the_label_has_them(book: Book, act: Act) -> None:
    # The same product entered with its 28 days: the law makes 500 degree-days of them, met on the
    # same day; the bare 28 days, which the label may mean for fish, end a day later and count.
    found = on(book, act, date(2026, 5, 31), {"withdrawal_days": 28})
    days, land = found.agents[0].met
    assert "50 × 28 d = 1400 degree-days, not above 500" in land.need.arithmetic
    assert (land.need.amount, land.late) == (500.0, date(2026, 5, 31))
    assert (days.need.amount, days.late) == (28.0, date(2026, 6, 1))
    assert found.late == date(2026, 6, 1)


def test_an_aquatic_label_used_outside_it_has_no_cap(book: Book, act: Act) -> None:
    # 1.5 x 400 = 600 degree-days (Article 115(1)(d)(i), from memory), told beside the label's 400.
    found = on(book, act, date(2026, 5, 31), {"withdrawal_degree_days": 400})
    need = found.agents[0].needs[0]
    assert need.amount == 400.0
    assert any("1.5 × 400 degree-days = 600 degree-days" in one for one in need.remarks)
    # By hand: 387.2 after 21 days, 408.5 after 22, so the period ends on 25 May.
    assert found.agents[0].late == date(2026, 5, 26)
    whole = on(book, act, date(2026, 6, 2), {"withdrawal_degree_days": 600})
    assert whole.agents[0].met[0].summed == pytest.approx(573.2, abs=0.05)
    assert whole.state == "running"


def test_without_any_label_and_with_a_label_of_zero(book: Book, act: Act) -> None:
    # Article 115(1)(d)(iii) and (iv), from memory: 500 and 25 degree-days. 14.2 + 15.0 = 29.2 > 25.
    assert on(book, act, date(2026, 5, 31), {}).agents[0].late == date(2026, 5, 31)
    assert on(book, act, date(2026, 5, 31), {"withdrawal_days": 0}).agents[0].late == date(
        2026, 5, 6
    )


def test_a_koi_pond_that_was_declared_ornamental(book: Book, act: Act) -> None:
    found = on(book, act, date(2026, 5, 31), {"withdrawal_days": 28}, use="ornamental")
    assert (found.state, found.late) == ("ornamental", None)
    assert found.says == "Marked not for eating: ornamental fish never become food."
