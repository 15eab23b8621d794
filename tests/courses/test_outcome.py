"""Did it work, through the book: counted, treated, counted again, on both databases."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID

import pytest

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.outcome import outcome
from store.courses.kept.outcome_agents import agents_outcome
from store.exams.examining import strike_examination
from tests.book.entries import add_pond
from tests.courses.outcome_ponds import (
    AFTER,
    BEFORE,
    DOSE,
    clips,
    enter,
    looked,
    noon,
    treat,
    warm,
)

NOW = datetime(2026, 7, 1, 9, tzinfo=UTC)
D = timedelta(days=1)


@pytest.fixture
def pond(book: Book, act: Act) -> UUID:
    key: UUID = add_pond(book, act)
    return key


def one_hazard(book: Book, key: UUID) -> Any:
    (found,) = outcome(book, key, NOW).hazards
    return found


def test_did_the_flukes_go(book: Book, act: Act, pond: UUID) -> None:
    """Eight marked koi before and seven days after; limits by Coles et al. 1992. The next question
    is the next hatch: at 20 °C the last egg hatches by day 8 (Zhang et al. 2015)."""
    warm(book, act, pond, DOSE, [20.0] * 40)
    enter(book, act, pond, looked(DOSE - D, clips(BEFORE)))
    key = treat(book, act, pond, [DOSE])
    enter(book, act, pond, looked(DOSE + 7 * D, clips(AFTER), purpose="control"))
    found = one_hazard(book, key)
    assert found.change == "fewer"
    assert found.told.compared.found.percent == pytest.approx(93.33, abs=0.005)
    assert found.told.compared.found.shown.low == pytest.approx(87.22, abs=0.005)
    assert found.told.compared.found.shown.high == pytest.approx(96.52, abs=0.005)
    assert found.told.timely == "too early"
    assert found.says == (
        "Gill flukes: fewer by 93 %, 87 to 97 % (95 % limits): 37.5 in 5 fields before, 2.5 after, "
        "8 fish. Looked at on 10 May 2026, 7 days after the last dose, which is too early to know. "
        "Gill flukes lay eggs that outlive a dose: count again after 11 May 2026."
    )
    assert any("None of them is applied here" in one or "none of them is applied here" in one
               for one in found.told.compared.remarks)  # fmt: skip
    # Counted again after the hatch, that count is the answer, and the first stays to be read.
    enter(book, act, pond, looked(DOSE + 14 * D, clips([20] * 8), purpose="control"))
    found = one_hazard(book, key)
    assert [one.timely for one in found.controls] == ["too early", "in time"]
    assert found.told is found.controls[1]
    assert found.says.endswith("Looked at on 17 May 2026, 14 days after the last dose.")
    assert found.told.compared.found.percent == pytest.approx(46.67, abs=0.005)


@pytest.mark.parametrize("order", [(0, 1, 2), (2, 1, 0), (1, 0, 2)])
def test_the_order_of_entry_changes_nothing(
    sqlite_book: Book, act_of: Any, order: tuple[int, ...]
) -> None:
    book, act = sqlite_book, act_of(sqlite_book)
    pond = add_pond(book, act)
    warm(book, act, pond, DOSE, [20.0] * 40)
    key = treat(book, act, pond, [DOSE])
    exams = [
        looked(DOSE - D, clips(BEFORE)), looked(DOSE + 7 * D, clips(AFTER)),
        looked(DOSE + 14 * D, clips([20] * 8)),
    ]  # fmt: skip
    for place in order:
        enter(book, act, pond, exams[place])
    found = one_hazard(book, key)
    assert [one.on_day for one in found.controls] == [DOSE + 7 * D, DOSE + 14 * D]
    assert found.before_on == DOSE - D
    assert found.told.compared.found.percent == pytest.approx(46.67, abs=0.005)


def test_why_it_cannot_be_told(book: Book, act: Act, pond: UUID) -> None:
    key = treat(book, act, pond, [DOSE, DOSE + 7 * D], given=0)
    assert "No dose of the course was logged" in outcome(book, key, NOW).why
    key = treat(book, act, pond, [DOSE])
    found = one_hazard(book, key)
    assert "No examination in the 30 days before the first dose on 3 May 2026" in found.why
    old = enter(book, act, pond, looked(DOSE - 40 * D, clips(BEFORE)))
    assert one_hazard(book, key).before is None
    (before,) = enter(book, act, pond, looked(DOSE - 9 * D, clips(BEFORE)))
    found = one_hazard(book, key)
    assert found.before == before != old[0]
    assert "Nobody has looked again" in found.why
    assert "9 days before the first dose" in found.remarks[0]
    enter(book, act, pond, looked(DOSE + 7 * D, clips((1, 1), magnification=400)))
    assert "read at 100x and the other at 400x" in one_hazard(book, key).says
    # Too long after, it tells of something else.
    enter(book, act, pond, looked(DOSE + 70 * D, clips(BEFORE)))
    assert len(one_hazard(book, key).controls) == 1


def test_without_water_the_day_of_the_hatch_is_not_known(book: Book, act: Act, pond: UUID) -> None:
    enter(book, act, pond, looked(DOSE - D, clips(BEFORE)))
    key = treat(book, act, pond, [DOSE])
    enter(book, act, pond, looked(DOSE + 7 * D, clips(AFTER)))
    found = one_hazard(book, key)
    assert found.told.timely == "not known"
    assert "no water temperature is known since the last dose" in found.says


def test_a_later_course_ends_what_is_told_of_the_first(book: Book, act: Act, pond: UUID) -> None:
    enter(book, act, pond, looked(DOSE - D, clips(BEFORE)))
    first = treat(book, act, pond, [DOSE])
    enter(book, act, pond, looked(DOSE + 7 * D, clips(BEFORE)))
    second = treat(book, act, pond, [DOSE + 8 * D], agents=("formalin",))
    enter(book, act, pond, looked(DOSE + 20 * D, clips([0] * 8)))
    one, other = one_hazard(book, first), one_hazard(book, second)
    assert [len(each.controls) for each in (one, other)] == [1, 1]
    assert (one.change, other.change) == ("no fewer", "fewer")
    assert not one.mixed
    assert not other.mixed  # the count before it was made after the first course
    assert "100 %, limits not estimable" in other.says
    rows = agents_outcome(book, NOW)
    assert [(row.name, len(row.failures)) for row in rows] == [("praziquantel", 1), ("formalin", 0)]


def test_two_courses_between_two_counts_are_told_apart(book: Book, act: Act, pond: UUID) -> None:
    enter(book, act, pond, looked(DOSE - D, clips(BEFORE)))
    first = treat(book, act, pond, [DOSE, DOSE + 7 * D])
    treat(book, act, pond, [DOSE + 3 * D], agents=("formalin",))
    enter(book, act, pond, looked(DOSE + 14 * D, clips(AFTER)))
    found = one_hazard(book, first)
    assert found.mixed == "formalin"
    assert "Not of this course alone: formalin" in found.says
    rows = agents_outcome(book, NOW)
    assert all(row.told == 0 and row.over is None for row in rows)


def test_an_examination_taken_back_counts_no_more(book: Book, act: Act, pond: UUID) -> None:
    enter(book, act, pond, looked(DOSE - D, clips(BEFORE)))
    key = treat(book, act, pond, [DOSE])
    (control,) = enter(book, act, pond, looked(DOSE + 7 * D, clips(AFTER)))
    with book.writing(Act(act.by, NOW)) as writing:
        strike_examination(writing, control, 1, "another pond")
    assert one_hazard(book, key).told is None


def test_a_course_without_a_hazard_takes_what_was_found(book: Book, act: Act, pond: UUID) -> None:
    key = treat(book, act, pond, [DOSE], hazards=())
    assert "names no hazard" in outcome(book, key, NOW).why
    enter(book, act, pond, looked(DOSE - D, clips(BEFORE)))
    found = one_hazard(book, key)
    assert found.hazard == "gill_flukes"
    assert "names no hazard" in found.remarks[0]


def test_an_agent_over_all_ponds(book: Book, act: Act) -> None:
    """Median of ordered values: with six ponds the lowest and highest hold it with 97 %."""
    for number in range(7):
        pond = add_pond(book, act, name=f"pond {number}")
        enter(book, act, pond, looked(DOSE - D, clips([100] * 4)))
        treat(book, act, pond, [DOSE])
        if number:
            left = [n * number for n in (1, 2, 3, 2)]
            enter(book, act, pond, looked(DOSE + 9 * D, clips(left)))
    pond = add_pond(book, act, name="two agents")
    enter(book, act, pond, looked(DOSE - D, clips([100] * 4)))
    treat(book, act, pond, [DOSE], agents=("praziquantel", "formalin"))
    enter(book, act, pond, looked(DOSE + 9 * D, clips([120, 90, 130, 100])))
    both, one = agents_outcome(book, NOW)
    assert both.name == "praziquantel, then formalin"
    assert [each.where for each in both.failures] == ["Brook House, two agents"]
    assert both.failures[0].change == "no fewer"
    assert (one.name, one.hazard, one.ponds, one.told) == ("praziquantel", "gill_flukes", 7, 6)
    assert one.over is not None
    assert one.over.median == pytest.approx(93.0)  # 98, 96 … 88 %
    assert one.over.limits is not None
    assert (one.over.limits.low, one.over.limits.high) == (pytest.approx(88.0), pytest.approx(98.0))
    assert [each.pond for each in one.over.apart] == ["Brook House, pond 0 (3 May 2026)"]
    assert one.said.startswith(
        "praziquantel against gill flukes: 7 courses at 7 ponds; fewer after 6 of 6 that can be "
        "told. In the middle of 6 courses 93 %, 88 % to 98 %"
    )
    assert date(2026, 5, 3) == one.results[0].treated_until
    assert noon(DOSE).date() == DOSE


def test_water_outside_the_published_points_gives_no_day(sqlite_book: Book, act_of: Any) -> None:
    """Gill flukes' eggs are published from 10 °C on (Zhang et al. 2015)."""
    book, act = sqlite_book, act_of(sqlite_book)
    pond = add_pond(book, act)
    warm(book, act, pond, DOSE, [8.0] * 20)
    enter(book, act, pond, looked(DOSE - D, clips(BEFORE)))
    key = treat(book, act, pond, [DOSE])
    enter(book, act, pond, looked(DOSE + 7 * D, clips(AFTER)))
    found = one_hazard(book, key)
    assert found.told.timely == "not known"
    assert found.says.endswith("From which day a count tells more is not known.")


def test_a_live_bearer_is_counted_a_week_after(sqlite_book: Book, act_of: Any) -> None:
    book, act = sqlite_book, act_of(sqlite_book)
    pond = add_pond(book, act)
    kind = {"hazard": "skin_flukes", "kind": "skin scrape"}
    enter(book, act, pond, looked(DOSE - D, clips(BEFORE, **kind)))
    key = treat(book, act, pond, [DOSE], hazards=("skin_flukes",))
    enter(book, act, pond, looked(DOSE + 2 * D, clips(AFTER, **kind)))
    found = one_hazard(book, key)
    assert found.told.timely == "too early"
    assert "dead parasites fall off over days" in found.says
    enter(book, act, pond, looked(DOSE + 7 * D, clips(AFTER, **kind)))
    assert one_hazard(book, key).told.timely == "in time"


def test_a_course_that_runs_is_told_as_it_stands(sqlite_book: Book, act_of: Any) -> None:
    book, act = sqlite_book, act_of(sqlite_book)
    pond = add_pond(book, act)
    enter(book, act, pond, looked(DOSE - D, clips(BEFORE)))
    key = treat(book, act, pond, [DOSE, DOSE + 21 * D], given=1)
    enter(book, act, pond, looked(DOSE + 7 * D, clips(AFTER)))
    assert "this is how it stands so far" in one_hazard(book, key).remarks[-1]
