"""Findings of all ponds: months, temperatures, and whether the windows had spoken before."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from random import Random
from uuid import UUID, uuid4

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from store.book.act import Act
from store.book.book import Book
from store.book.events import record_event
from store.errors import BadInput, NotFound
from store.exams.across import (
    LOOKED_IN,
    Cell,
    Days,
    FoundThere,
    LookedThere,
    by_month,
    by_temperature,
    rate,
    score,
)
from store.exams.findings_over_all import edges_of, findings_over_all
from store.exams.specimens import add_sample, report_result
from store.exams.values import PREP_KINDS
from store.facts.hazards import hazards
from store.watch.kept_score import BLIND, SPOKE, Tried, window_days
from tests.book.entries import add_pond
from tests.courses.outcome_ponds import clips, enter, looked, warm

DAY = date(2026, 5, 1)
D = timedelta(days=1)
POND, OTHER = uuid4(), uuid4()


def found(day: date, pond: UUID = POND, temperature_c: float | None = None) -> FoundThere:
    return FoundThere("costia", pond, "Alder Row", day, uuid4(), temperature_c, None)


def look(day: date, pond: UUID = POND, *, there: bool = False) -> LookedThere:
    return LookedThere("costia", pond, "Alder Row", day, uuid4(), there)


def days(letters: str) -> Days:
    return Days(DAY, letters, "s", "n", "?")


def test_a_window_before_is_a_hit_and_the_day_itself_is_too_late() -> None:
    spoke = {POND: days("---sss----")}
    assert score([found(DAY + 6 * D)], [], spoke).findings("hit") == 1
    assert score([found(DAY + 3 * D)], [], spoke).findings("miss") == 1
    assert score([found(DAY + 9 * D)], [], spoke, 3).findings("miss") == 1
    assert score([found(DAY + 9 * D)], [], spoke, 4).findings("hit") == 1
    assert score([found(DAY)], [], spoke).findings("not measured") == 1
    assert score([found(DAY + 6 * D, OTHER)], [], spoke).findings("not looked back") == 1
    assert score([], [], spoke, since=DAY + 5 * D).windows("nobody looked") == 1
    assert score([], [], spoke, since=DAY + 6 * D).raised == ()


def test_without_a_temperature_it_is_no_miss() -> None:
    found_there = score([found(DAY + 4 * D)], [], {POND: days("-????")})
    assert found_there.findings("not measured") == 1
    assert (found_there.caught.part, found_there.caught.of) == (0, 0)
    assert any("a thermometer does" in one for one in found_there.remarks)
    assert score([found(DAY + 5 * D)], [], {POND: days("????-")}).findings("miss") == 1


def test_what_is_found_again_is_asked_of_the_rule_once() -> None:
    several = [found(DAY + n * D) for n in (5, 20, 60, 200)]
    kinds = [one for _, one in score(several, [], {POND: days("-" * 300)}).met]
    assert kinds == ["miss", "again", "again", "miss"]


def test_what_came_of_a_raised_window() -> None:
    spoke = {POND: days("ss" + "-" * 28 + "ss" + "-" * 28 + "s---s")}
    answer = score(
        [found(DAY + 61 * D)],
        [look(DAY + 5 * D), look(DAY + 61 * D, there=True), look(DAY + 62 * D)],
        spoke,
    )
    # The last two words lie three silent days apart: one window.
    assert [one.came for one in answer.raised] == ["false call", "nobody looked", "found"]
    assert (answer.right.part, answer.right.of) == (1, 2)
    assert "Raised 3 times: found 1, looked and not found 1, nobody looked 1" in answer.said
    assert "Fewer than 10" in answer.remarks[0]


def test_the_exact_interval_of_few() -> None:
    """Clopper & Pearson 1934: 3 of 4 leaves 19.4 to 99.4 %."""
    assert rate(3, 4).said == "3 of 4 (95 % interval 19.4 to 99.4 %)"
    assert rate(0, 0).said == "0 of 0"


@pytest.mark.parametrize("within", [0, 366])
def test_days_that_cannot_be(within: int) -> None:
    with pytest.raises(BadInput):
        score([], [], {}, within)


def test_by_month_and_by_temperature() -> None:
    there = [found(date(2025, 5, 3), temperature_c=9.9), found(date(2026, 5, 9), OTHER, 15.0),
             found(date(2026, 6, 1), OTHER, 17.0), found(date(2026, 6, 2))]  # fmt: skip
    months = by_month(there, [look(date(2026, 5, 9), OTHER, there=True), look(date(2026, 5, 20)),
                              look(date(2026, 5, 21)), look(date(2026, 1, 2))])  # fmt: skip
    assert (months[0], months[4], months[5]) == (Cell(0, 1), Cell(2, 3), Cell(2, 2))
    assert by_temperature(there) == (("5-10 °C", 1), ("15-20 °C", 2), ("not measured", 1))


def test_where_a_hazard_would_be_seen_is_a_kind_of_preparation() -> None:
    assert set(LOOKED_IN) <= set(hazards())
    assert {kind for kinds in LOOKED_IN.values() for kind in kinds} <= set(PREP_KINDS)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.integers(0, 120), max_size=6, unique=True),
    st.lists(st.integers(0, 120), max_size=6),
    st.text("-s?n", min_size=60, max_size=130),
    st.integers(0, 9),
)
def test_the_order_of_entry_changes_nothing(on, looked_on, letters, seed) -> None:
    there = [found(DAY + n * D) for n in on]
    looks = [look(DAY + n * D) for n in looked_on]
    one = score(there, looks, {POND: days(letters)})
    Random(seed).shuffle(there)
    Random(seed).shuffle(looks)
    other = score(there, looks, {POND: days(letters)})
    assert [met for _, met in one.met] == [met for _, met in other.met]
    assert [r.came for r in one.raised] == [r.came for r in other.raised]
    assert len(one.met) == len(on)
    spoken = sum((r.last - r.first).days + 1 for r in one.raised)
    assert letters.count("s") <= spoken <= len(letters)


# Through the book

NOW = datetime(2026, 7, 1, 9, tzinfo=UTC)
COLD = date(2026, 4, 1)
SLOW_C = [9.0 + 0.04 * n for n in range(90)]
"""So slow that no trend leads anywhere: 11.5 °C is passed on the 63rd day."""


@pytest.fixture
def ponds(book: Book, act: Act) -> dict[str, UUID]:
    """Five ponds: warmed up and found, cold and found, not measured, warmed and clean, not seen."""
    made = {
        name: add_pond(book, act, name=name) for name in ("hit", "cold", "blind", "clean", "no")
    }
    for name, temps_c in (
        ("hit", [12.0] * 30 + [19.0] * 60), ("cold", SLOW_C),
        ("clean", [12.0] * 30 + [19.0] * 60), ("no", [12.0] * 30 + [19.0] * 60),
    ):  # fmt: skip
        warm(book, act, made[name], COLD, temps_c)
    for name, day in (("hit", 42), ("cold", 70), ("blind", 42)):
        enter(book, act, made[name], looked(COLD + day * D, clips((30, 12))))
    enter(book, act, made["clean"], looked(COLD + 42 * D, clips((0, 0))))
    return made


def test_the_windows_against_the_record(book: Book, act: Act, ponds: dict[str, UUID]) -> None:
    """The window of gill flukes opens at 15 °C in the facts."""
    answer = findings_over_all(book, NOW, days=200)
    (flukes,) = [one for one in answer.hazards if one.hazard == "gill_flukes"]
    assert (answer.examinations, answer.ponds, flukes.ponds, len(flukes.looked)) == (4, 4, 3, 4)
    assert flukes.score is not None
    met = {one.pond: how for one, how in flukes.score.met}
    assert met == {
        ponds["hit"]: "hit", ponds["cold"]: "miss", ponds["blind"]: "not measured",
    }  # fmt: skip
    came = {one.pond: one.came for one in flukes.score.raised}
    assert came == {
        ponds["hit"]: "found", ponds["clean"]: "false call", ponds["no"]: "nobody looked",
    }  # fmt: skip
    assert flukes.score.caught.said == "1 of 2 (95 % interval 1.26 to 98.7 %)"
    at = {one.pond: (one.temperature_c, one.measured_days) for one in flukes.found}
    assert at == {
        ponds["hit"]: (19.0, 0),
        ponds["cold"]: (pytest.approx(11.8), 0),
        ponds["blind"]: (None, None),
    }
    # Costia is looked for in a gill clip as well, and was found nowhere.
    (costia,) = [one for one in answer.hazards if one.hazard == "costia"]
    assert (len(costia.found), len(costia.looked)) == (0, 4)


def test_what_another_edge_would_have_done(book: Book, act: Act, ponds: dict[str, UUID]) -> None:
    edges = {
        (one.name, one.value): one.score
        for one in edges_of(book, NOW, "gill_flukes", days=200, step_c=3.5)
    }
    assert set(edges) == {("low_c", 11.5), ("low_c", 18.5), ("high_c", 26.5), ("high_c", 33.5)}
    lower = edges["low_c", 11.5]
    assert {one.pond: how for one, how in lower.met}[ponds["cold"]] == "hit"
    # In its window since long, the pond that warmed up later would have been a note by then.
    assert {one.pond: how for one, how in lower.met}[ponds["hit"]] == "noted"
    assert (lower.caught.part, lower.caught.of) == (1, 2)
    assert "the days that it speaks decide" in " ".join(lower.remarks)
    higher = edges["high_c", 33.5]
    assert (higher.caught.part, higher.caught.of) == (1, 2)
    with pytest.raises(NotFound):
        edges_of(book, NOW, "gas_supersaturation")
    with pytest.raises(BadInput):
        edges_of(book, NOW, "gill_flukes", step_c=0.0)


def test_the_letters_are_those_of_the_rule(book: Book, act: Act, ponds: dict[str, UUID]) -> None:
    (told,) = window_days(book, NOW, [Tried("window_gill_flukes")], days=200)
    begun, letters = told.ponds[ponds["hit"]]
    spoke = [begun + n * D for n, letter in enumerate(letters) if letter == SPOKE]
    assert min(spoke) >= COLD + 30 * D - 7 * D
    assert COLD + 30 * D + 3 * D in spoke
    begun, letters = told.ponds[ponds["cold"]]
    assert SPOKE not in letters
    assert letters[-1] != BLIND
    with pytest.raises(BadInput):
        window_days(book, NOW, [Tried("dose_due")], days=10)
    with pytest.raises(NotFound):
        window_days(book, NOW, [Tried("window_plague")], days=10)
    with pytest.raises(BadInput):
        window_days(book, NOW, [], days=0)


def test_it_can_be_stopped(book: Book, act: Act, ponds: dict[str, UUID]) -> None:
    whole = findings_over_all(book, NOW, days=200, progress=lambda done, in_all: True)
    assert not whole.stopped


def test_a_hazard_noted_without_an_examination_counts_as_found(book: Book, act: Act) -> None:
    pond = add_pond(book, act)
    warm(book, act, pond, COLD, [12.0] * 30)
    with book.writing(Act(act.by, NOW)) as writing:
        record_event(writing, pond, "hazard_seen", COLD + 32 * D, hazard="costia")
    (costia,) = findings_over_all(book, NOW, days=200).hazards
    (one,) = costia.found
    assert (one.exam, one.temperature_c, one.measured_days) == (None, 12.0, 3)
    assert costia.looked == ()


def test_what_a_laboratory_detected_counts_as_found_on_the_day_of_the_sample(
    book: Book, act: Act
) -> None:
    pond = add_pond(book, act)
    warm(book, act, pond, COLD, [20.0] * 60)
    taken = COLD + 40 * D
    with book.writing(Act(act.by, NOW)) as writing:
        keys = [
            add_sample(writing, pond, label=label, taken_on=taken, material="gill", hazard="khv")
            for label in ("K1", "K2", "K3", "K4")
        ]
    for key, result in zip(keys, ("detected", "detected", "not detected"), strict=False):
        with book.writing(Act(act.by, NOW)) as writing:
            report_result(writing, key, 1, result, taken + 5 * D)
    answer = findings_over_all(book, NOW, days=200)
    (khv,) = answer.hazards
    (one,) = khv.found  # two fish of one day are one finding of the pond
    assert (one.on_day, one.temperature_c, one.measured_days) == (taken, 20.0, 0)
    assert one.says == "detected by a laboratory: gill “K1”"
    assert (khv.looked, answer.examinations) == ((), 0)


def test_an_amended_report_takes_a_finding_back(book: Book, act: Act) -> None:
    pond = add_pond(book, act)
    with book.writing(Act(act.by, NOW)) as writing:
        key = add_sample(writing, pond, label="K1", taken_on=COLD, hazard="khv")
    with book.writing(Act(act.by, NOW)) as writing:
        report_result(writing, key, 1, "detected", COLD + 5 * D)
    assert [one.hazard for one in findings_over_all(book, NOW, days=200).hazards] == ["khv"]
    with book.writing(Act(act.by, NOW)) as writing:
        report_result(writing, key, 2, "not detected", COLD + 8 * D)
    assert findings_over_all(book, NOW, days=200).hazards == ()


def test_a_pond_that_was_struck_through_is_left_out(
    book: Book, act: Act, ponds: dict[str, UUID]
) -> None:
    with book.writing(Act(act.by, NOW)) as writing:
        writing.strike("pond", ponds["hit"], "filled in")
    (flukes,) = [one for one in findings_over_all(book, NOW, days=200).hazards
                 if one.hazard == "gill_flukes"]  # fmt: skip
    assert flukes.ponds == 2
