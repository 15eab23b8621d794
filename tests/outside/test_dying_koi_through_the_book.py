"""Koi dying beside well goldfish, through the book: suspected, stopped, and never confirmed.

The pond is invented. That 11 of 26 are 42.3 % (23.4 to 63.1 %, Clopper & Pearson 1934) is computed;
deaths 21 to 52 days after contact at 16 °C and 5 to 20 days at 23 °C are those of Yuasa et al. 2008.
"""

from __future__ import annotations

import pytest

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.morning import morning_list
from store.exams.losses import loss_page
from store.exams.suspicion import suspicions
from tests.exams.dying_pond import add_dying_pond


def test_koi_die_goldfish_are_well_and_new_koi_came_nineteen_days_ago(
    sqlite_book: Book, act: Act
) -> None:
    pond = add_dying_pond(sqlite_book, act, temp_c=22.0)
    (here,) = [one for one in suspicions(sqlite_book, pond, act.at) if one.found.level == "act"]
    assert (here.found.hazard, here.found.where) == ("khv", "inside")
    assert [one.fits for one in here.found.contacts] == [True]
    assert any("none of them is noted dead" in one for one in here.found.for_it)
    (koi,) = loss_page(sqlite_book, pond, act.at).kinds
    assert (koi.dead, koi.share) == (11, pytest.approx(11 / 26))
    assert koi.interval is not None
    assert koi.interval.low == pytest.approx(0.234, abs=0.0005)
    assert koi.interval.high == pytest.approx(0.631, abs=0.0005)
    (line,) = morning_list(sqlite_book, act.at).lines
    assert (line.level, line.what) == ("act", "STOP: koi herpesvirus disease?")
    said = " ".join([here.head, *here.found.for_it, *(one.says for one in here.stop)]).casefold()
    assert "suspected" in said
    assert "confirmed" not in said
    assert "authority" in said
    assert "sample" in said
