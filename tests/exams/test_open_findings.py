"""Findings until they are answered, and where a hazard may have been carried, on both databases."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

import pytest

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.keeping import end_course, keep_plan, start_course
from store.courses.kept.morning import morning_list, watch_pond
from store.courses.kept.records import course
from store.courses.planning.course import Plan, PlannedDose, PlanStep, PondWater, Product
from store.exams.carried import seen_lately
from store.exams.examinations import examination
from store.exams.examining import correct_finding, strike_examination
from store.exams.open_findings import open_findings
from store.exams.specimens import add_sample, report_result
from store.exams.values import Found, Gear, Prep
from store.watch.found import OpenFinding
from store.watch.seen import SEEN_SAME_DAY
from tests.book.entries import NOW, add_pond
from tests.exams.looked_at import enter, exam, found_in, koi

DAY = timedelta(days=1)
FLUKES = Found("gill_flukes", counted=23)


@pytest.fixture
def pond(book: Book, act: Act) -> UUID:
    key: UUID = add_pond(book, act)
    return key


def look_at(
    book: Book, act: Act, pond: UUID, days: int, *preps: Prep, by_eye: tuple[Found, ...] = (),
    **values: Any,
) -> UUID:  # fmt: skip
    what = exam(koi(*preps, by_eye=by_eye), at=NOW - days * DAY, **values)
    return enter(book, act, pond, what)


def open_at(book: Book, pond: UUID) -> list[OpenFinding]:
    found = list(open_findings(book).get(pond, ()))
    assert found == list(open_findings(book, pond).get(pond, ()))  # alone as among all
    return found


def treat(book: Book, act: Act, pond: UUID, days: int, *hazards: str, state: str = "") -> UUID:
    """A course that began so many days ago; with `state` it has ended since."""
    on_day = (NOW - days * DAY).date()
    step = PlanStep(
        place=1, agent="praziquantel", route="pond_bath", dose=2.0, unit="mg/L",
        product=Product("powder", 98.0), volume_l=9000.0,
        doses=(PlannedDose(1, on_day, 2.0, 18.0, "g", 0.0, "practice"),), interval_days=7,
        interval_why="typed", exposure_h=None, half_life_h=None, safe_most=None,
        source="common_practice", standing="common practice",
    )  # fmt: skip
    water = PondWater(9000.0, 8000.0, 10_000.0, temperature_c=18.0, use="ornamental")
    then = Act(act.by, NOW - days * DAY)
    with book.writing(then) as writing:
        key = keep_plan(writing, pond, Plan(hazards, "gill flukes", water, (step,), (), None))
        start_course(writing, key, 1, (), {})
    if state:
        with book.writing(then) as writing:
            rev = course(book, key).rev
            end_course(writing, key, rev, state, "as the vet decided")  # type: ignore[arg-type]
    return key


def test_a_finding_is_open_with_its_numbers(book: Book, act: Act, pond: UUID) -> None:
    assert open_findings(book) == {}
    fish = (
        koi(found_in("gill clip", FLUKES)),
        koi(found_in("gill clip", replace(FLUKES, counted=5)), nth=2),
        koi(found_in("gill clip"), nth=3),
    )
    enter(book, act, pond, exam(*fish, at=NOW - 3 * DAY))
    (one,) = open_at(book, pond)
    assert (one.hazard, one.on_day, one.first) == ("gill_flukes", *2 * [date(2026, 3, 11)])
    assert (one.per_field, one.score, one.fish, one.of) == (4.6, None, 2, 3)
    assert (one.suspected, one.heavy, one.by, one.after_course) == (False, "", "Ada Vet", "")
    assert one.places[0] == ("fish 1, gill clip, 100x, 5 fields: 23 in 5 fields (4.6 a field)")


def test_flukes_on_the_skin_as_well_are_heavy_and_act(book: Book, act: Act, pond: UUID) -> None:
    look_at(book, act, pond, 1, found_in("gill clip", FLUKES), found_in("skin scrape", FLUKES))
    assert open_at(book, pond)[0].heavy == "on the skin as well"
    line = morning_list(book, NOW).lines[0]
    assert (line.level, line.what, line.rule) == ("act", "gill flukes, heavy", "finding_open")
    concern = watch_pond(book, pond, NOW).concerns[0]
    assert "on the skin as well: a heavy burden" in concern.arithmetic[0]
    assert concern.since == date(2026, 3, 13)


def test_a_later_look_of_the_same_kind_answers_it(book: Book, act: Act, pond: UUID) -> None:
    look_at(book, act, pond, 9, found_in("gill clip", FLUKES))
    look_at(book, act, pond, 5, found_in("skin scrape"))  # another kind: says nothing of gills
    assert [one.hazard for one in open_at(book, pond)] == ["gill_flukes"]
    clean = look_at(book, act, pond, 2, found_in("gill clip", replace(FLUKES, counted=0)))
    assert open_at(book, pond) == []
    with book.writing(act) as writing:
        strike_examination(writing, clean, 1, "wrong pond")
    assert [one.hazard for one in open_at(book, pond)] == ["gill_flukes"]


def test_found_again_it_is_open_since_the_first_day_of_the_run(
    book: Book, act: Act, pond: UUID
) -> None:
    for days, counted in ((30, 4), (20, 0), (9, 7), (2, 9)):
        look_at(book, act, pond, days, found_in("gill clip", replace(FLUKES, counted=counted)))
    (one,) = open_at(book, pond)
    assert (one.on_day, one.first) == (date(2026, 3, 12), date(2026, 3, 5))
    assert one.per_field == 1.8


def test_a_course_answers_and_a_control_opens_it_anew(book: Book, act: Act, pond: UUID) -> None:
    look_at(book, act, pond, 30, found_in("gill clip", FLUKES))
    treat(book, act, pond, 40, "gill_flukes", state="stopped")  # before it: answers nothing
    treat(book, act, pond, 29, "costia")  # against something else
    assert len(open_at(book, pond)) == 1
    key = treat(book, act, pond, 28, "gill_flukes")
    assert open_at(book, pond) == []
    look_at(book, act, pond, 20, found_in("gill clip", FLUKES))  # in passing, between two doses
    assert open_at(book, pond) == []
    look_at(book, act, pond, 3, found_in("gill clip", replace(FLUKES, counted=2)),
            purpose="control", course_id=key)  # fmt: skip
    (one,) = open_at(book, pond)
    assert one.after_course == "the course against gill flukes"
    assert one.first == date(2026, 3, 11)
    what = {concern.what for concern in watch_pond(book, pond, NOW).concerns}
    assert "gill flukes still found" in what
    treat(book, act, pond, 1, "gill_flukes")
    assert open_at(book, pond) == []


def test_a_control_on_the_day_of_its_own_course_is_not_answered_by_it(
    book: Book, act: Act, pond: UUID
) -> None:
    key = treat(book, act, pond, 2, "gill_flukes", state="completed")
    look_at(book, act, pond, 2, found_in("gill clip", FLUKES), purpose="control", course_id=key)
    assert len(open_at(book, pond)) == 1


def test_an_ended_course_does_not_cover_what_is_found_after_it(
    book: Book, act: Act, pond: UUID
) -> None:
    treat(book, act, pond, 40, "gill_flukes", state="completed")
    look_at(book, act, pond, 5, found_in("gill clip", FLUKES))
    (one,) = open_at(book, pond)
    assert one.after_course == "the course against gill flukes"


def test_what_was_corrected_or_looked_for_in_vain_is_not_open(
    book: Book, act: Act, pond: UUID
) -> None:
    key = look_at(book, act, pond, 1, found_in("gill clip", FLUKES, Found("costia", score=0)))
    assert [one.hazard for one in open_at(book, pond)] == ["gill_flukes"]
    first = examination(book, key).fish[0].findings[0]
    with book.writing(act) as writing:
        correct_finding(writing, first.id, 1, Found("skin_flukes", counted=23), "no eye spots")
    assert [one.hazard for one in open_at(book, pond)] == ["skin_flukes"]


def test_by_eye_any_later_look_answers(book: Book, act: Act, pond: UUID) -> None:
    look_at(book, act, pond, 9, by_eye=(Found("fish_louse", counted=3, confidence="suspected"),))
    (one,) = open_at(book, pond)
    assert (one.suspected, one.fish, one.of) == (True, 1, 1)
    assert one.places == ("fish 1, by eye: 3 counted, suspected",)
    look_at(book, act, pond, 1)
    assert open_at(book, pond) == []


def test_a_laboratory_is_answered_by_a_later_sample(book: Book, act: Act, pond: UUID) -> None:
    def reported(days: int, result: Any) -> None:
        with book.writing(act) as writing:
            key = add_sample(writing, pond, label="BH-1", taken_on=(NOW - days * DAY).date(),
                             hazard="khv", laboratory="the state laboratory")  # fmt: skip
            report_result(writing, key, 1, result, NOW.date())

    reported(9, "detected")
    (one,) = open_at(book, pond)
    assert (one.hazard, one.by, one.on_day) == ("khv", "the state laboratory", date(2026, 3, 5))
    assert "act" in {line.level for line in morning_list(book, NOW).lines if line.pond == pond}
    reported(2, "not detected")
    assert open_at(book, pond) == []


def test_a_struck_pond_and_a_quiet_practice_say_nothing(book: Book, act: Act, pond: UUID) -> None:
    look_at(book, act, pond, 1, found_in("skin scrape"))
    assert open_findings(book) == {}
    assert seen_lately(book, NOW) == {}


# --- where it may have been carried ---


def seen_at(
    book: Book, act: Act, pond: UUID, hour: int, *preps: Prep, gear: Gear = "not said",
    by: str = "Ada Vet", days: int = 1,
) -> UUID:  # fmt: skip
    at = datetime(2026, 3, 14, hour, tzinfo=NOW.tzinfo) - days * DAY
    return enter(book, act, pond, exam(koi(*preps), at=at, gear=gear, examiner=by))


def carried_to(book: Book, pond: UUID) -> list[str]:
    found = seen_lately(book, NOW).get(pond, ())
    alone = seen_lately(book, NOW, pond).get(pond, ())
    assert set(found) == set(alone)
    return [one.says for one in found if one.kind == SEEN_SAME_DAY]


@pytest.fixture
def other(book: Book, act: Act) -> UUID:
    key: UUID = add_pond(book, act, name="upper pond")
    return key


def test_a_hazard_found_counts_as_seen_here(book: Book, act: Act, pond: UUID) -> None:
    doubtful = Found("costia", score=1, confidence="suspected")
    look_at(book, act, pond, 5, found_in("gill clip", FLUKES, doubtful))
    look_at(book, act, pond, 401, found_in("gill clip", Found("white_spot")))
    found = seen_lately(book, NOW)[pond]
    assert [(one.kind, one.hazard, one.first) for one in found] == [
        ("hazard_seen", "gill_flukes", date(2026, 3, 9)),
    ]  # fmt: skip


def test_it_is_carried_to_a_pond_that_came_next_without_disinfection(
    book: Book, act: Act, pond: UUID, other: UUID
) -> None:
    seen_at(book, act, pond, 9, found_in("gill clip", FLUKES))
    seen_at(book, act, other, 11, found_in("gill clip"), by="ada  vet")
    assert carried_to(book, other) == [
        "it was seen on 13 Mar 2026 at Brook House, Lower pond, visited the same day by Ada Vet, "
        "and no disinfection is written down"
    ]
    assert carried_to(book, pond) == []


@pytest.mark.parametrize(
    ("first", "then"),
    [
        ({"gear": "disinfected"}, {}),
        ({"gear": "own to the pond"}, {}),
        ({}, {"gear": "disinfected"}),
        ({}, {"gear": "own to the pond"}),
        ({}, {"by": "Ben Vet"}),
        ({}, {"days": 0}),
        ({"hour": 12}, {}),
        ({"days": 70}, {"days": 70}),
    ],
)
def test_it_is_not_carried(
    book: Book, act: Act, pond: UUID, other: UUID, first: dict[str, Any], then: dict[str, Any]
) -> None:
    said = {"hour": 5} | first
    seen_at(book, act, pond, said.pop("hour"), found_in("gill clip", FLUKES), **said)
    seen_at(book, act, other, 7, **then)
    assert carried_to(book, other) == []


@pytest.mark.parametrize(("hour", "carried"), [(None, 1), (11, 1), (7, 0)])
def test_a_visit_without_an_examination_counts(
    book: Book, act: Act, pond: UUID, other: UUID, hour: int | None, carried: int
) -> None:
    from datetime import time

    from sqlalchemy import select

    from store.book.tables import table

    seen_at(book, act, pond, 9, found_in("gill clip", FLUKES), gear="not disinfected")
    ponds = table("pond").c
    with book.writing(act) as writing:
        site = writing.connection.execute(
            select(ponds.site_id).where(ponds.id == other)
        ).scalar_one()
        writing.add(
            "visit", site_id=site, on_day=date(2026, 3, 13), staff_id=act.by, state="done",
            at_time=None if hour is None else time(hour),
        )  # fmt: skip
    assert len(carried_to(book, other)) == carried


def test_what_is_remembered_is_renewed_by_writing_and_by_the_day(
    book: Book, act: Act, pond: UUID, other: UUID
) -> None:
    seen_at(book, act, pond, 9, found_in("gill clip", FLUKES))
    seen_at(book, act, other, 11, found_in("gill clip"))
    assert open_findings(book) is open_findings(book)
    assert len(carried_to(book, other)) == 1
    later = seen_lately(book, NOW + 61 * DAY)
    assert SEEN_SAME_DAY not in {one.kind for one in later.get(other, ())}
    assert {one.kind for one in later[pond]} == {"hazard_seen"}
    assert pond in open_findings(book)
    treat(book, act, pond, 0, "gill_flukes")
    assert open_findings(book) == {}
