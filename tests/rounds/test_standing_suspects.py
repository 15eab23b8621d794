"""Sites that are suspect of a notifiable disease, and what ends the suspicion."""

from __future__ import annotations

from uuid import UUID

import pytest

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.morning import morning_list
from store.exams.deaths import NewDeaths, record_deaths
from store.facts.hazards import hazards
from store.watch.rulebook import change_rule
from tests.book.entries import NOW
from tests.exams.dying_pond import add_dying_pond
from tests.rounds.standing_ponds import DAY, TODAY, looked, own, rest_all, sent
from tests.rounds.stood import standing


def test_a_suspicion_stands_above_all(book: Book, act: Act) -> None:
    pond = add_dying_pond(book, act)
    site = site_of(book, pond)
    found = standing(book, site)
    assert (found.standing, found.disinfect_min) == ("suspect", 45)
    assert found.said.startswith(
        "suspect: long pond, koi herpesvirus disease is suspected: 11 dead"
    )
    assert "infected" in {one.standing for one in found.reasons}  # the deaths as such


def site_of(book: Book, pond: UUID) -> UUID:
    from tests.book.entries import row_of

    key: UUID = row_of(book, "pond", pond).site_id
    return key


def test_a_suspicion_at_rest_stays_one(book: Book, act: Act) -> None:
    pond = add_dying_pond(book, act)
    rest_all(book, act, pond)
    assert standing(book, site_of(book, pond)).standing == "suspect"


def test_what_speaks_for_it_and_is_not_enough_is_suspect_too(book: Book, act: Act) -> None:
    """One death with two signs that are not leading, 22 °C: a point, watch and not act."""
    from tests.exams.dying_pond import add_pond, warm

    pond = add_pond(book, act, "26 koi")
    warm(book, act, pond)
    facts = hazards()["khv"].suspicion
    assert facts is not None
    with book.writing(act) as writing:
        one = NewDeaths(TODAY - DAY, 1, "koi", signs=facts.signs[:2])
        record_deaths(writing, pond, one, sure=True)
    (line,) = morning_list(book, NOW).lines
    found = standing(book, site_of(book, pond))
    assert line.level == "watch"
    assert found.standing == "suspect"
    assert "something speaks for koi herpesvirus disease" in found.said


def test_a_silenced_rule_suspects_nothing(book: Book, act: Act) -> None:
    pond = add_dying_pond(book, act)
    for code in ("suspected_khv", "suspected_svc"):
        change_rule(book, act, code, params={}, why="the authority has cleared it", enabled=False)
    assert standing(book, site_of(book, pond)).standing == "infected"


@pytest.mark.parametrize(
    "asked", [{"hazard": "khv"}, {"hazard": "", "asked": "KHV by PCR, gill"},
              {"hazard": "", "asked": "Spring viraemia of carp"}]
)  # fmt: skip
def test_a_sample_for_a_notifiable_disease(book: Book, act: Act, asked: dict[str, str]) -> None:
    site, pond = own(book, act)
    looked(book, act, pond, 9)
    sent(book, act, pond, 5, **asked)
    found = standing(book, site)
    assert found.standing == "suspect"
    assert "sample “BH-1” of 9 Mar 2026 for " in found.said
    assert found.said.endswith("at North Laboratory is awaited")


def test_a_sample_for_something_else_is_a_doubt(book: Book, act: Act) -> None:
    site, pond = own(book, act)
    looked(book, act, pond, 9)
    sent(book, act, pond, 5, hazard="", asked="bacteriology of an ulcer")
    found = standing(book, site)
    assert found.said == (
        "doubtful: Lower pond, sample “BH-1” of 9 Mar 2026 at North Laboratory is awaited"
    )


def test_what_the_laboratory_says(book: Book, act: Act) -> None:
    site, pond = own(book, act)
    looked(book, act, pond, 9)
    sent(book, act, pond, 8, "unclear")
    assert standing(book, site).said.endswith("came back unclear")
    assert standing(book, site).standing == "suspect"
    sent(book, act, pond, 6, "not detected")
    assert standing(book, site).standing == "clean"
    sent(book, act, pond, 4, "detected")
    found = standing(book, site)
    assert found.standing == "suspect"
    assert "koi herpesvirus disease found on 10 Mar 2026" in " ".join(
        one.says for one in found.reasons
    )
    sent(book, act, pond, 2, "not detected")
    assert "unanswered" not in " ".join(one.says for one in standing(book, site).reasons)
