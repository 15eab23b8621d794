"""The day's sheet as it is read from the book: who, where, why, the pond, what to do."""

from __future__ import annotations

import time as clock
from dataclasses import replace
from datetime import datetime, time
from typing import Any
from uuid import UUID

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.people import staff
from store.courses.planning.course import Task
from store.diary.desk.about import About
from store.diary.kept.calls.call_notes import NewCall, take_call
from store.diary.kept.visits.terms import set_terms
from store.errors import NotFound
from store.exams.values import Found
from store.rounds.day.sheet import Job, PondSheet, StopSheet
from store.rounds.day.values import DayPlan
from store.rounds.kept.sheets.sheet import NO_BREAK, NOT_AGREED, day_sheet, day_sheets
from store.rounds.kept.sheets.sheet_ponds import NO_TEST, USES
from store.rounds.solving.problem import INFECTED, SUSPECT
from tests.book.entries import NOW
from tests.diary.desk_entries import BAD, GOOD
from tests.diary.desk_entries import sample as water
from tests.rounds.day_plans import ADA, BRAM
from tests.rounds.sheet_book import (
    DAY,
    TODAY,
    day_of,
    estimate,
    place,
    purpose,
    shared,
    stop_at,
    treat,
)
from tests.rounds.standing_ponds import looked, rest_all, sent


def stops(book: Book, plan: DayPlan, now: datetime = NOW) -> tuple[StopSheet, ...]:
    return day_sheet(book, plan, ADA, now).stops


def pond(book: Book, plan: DayPlan) -> PondSheet:
    return stops(book, plan)[0].ponds[0]


def jobs(book: Book, plan: DayPlan, *kinds: str) -> list[Job]:
    return [one for one in stops(book, plan)[0].jobs if one.kind in kinds]


# --- the head -------------------------------------------------------------------------------------


def test_the_head_is_that_of_the_plan(book: Book, act: Act) -> None:
    first, second = place(book, act), place(book, act, "Mill House")
    plan = day_of(stop_at(first, 1), stop_at(second, 2))
    plan = replace(plan, broken=("a rule is broken",), remarks=("a remark",))
    sheet, one = day_sheet(book, plan, ADA, NOW), plan.rounds[0]
    assert (sheet.who, sheet.day, sheet.practice) == ("Ada Vet", TODAY, "Test practice")
    assert (sheet.sets_out, sheet.back, sheet.drive_min) == (one.sets_out, one.back, one.drive_min)
    assert sheet.km == pytest.approx(sum(way.km or 0 for way in _ways(plan)))
    assert sheet.proof == plan.proof
    assert (sheet.broken, sheet.remarks) == (("a rule is broken",), ("a remark",))
    assert sheet.rest == NO_BREAK
    assert [one.number for one in sheet.stops] == [1, 2]
    assert sheet.written_on == TODAY


def _ways(plan: DayPlan) -> list[Any]:
    one = plan.rounds[0]
    return [stop.way for stop in one.stops] + [one.way_home]


def test_kilometres_are_not_summed_where_a_way_is_not_known(book: Book, act: Act) -> None:
    plan = day_of(stop_at(place(book, act), 1), stop_at(place(book, act), 2, at=None))
    sheet = day_sheet(book, plan, ADA, NOW)
    assert sheet.km is None
    assert [one.number for one in sheet.without_place] == [2]
    assert sheet.stops[1].way.startswith("20 min stand in; not known: ")


def test_the_break_says_after_which_stop(book: Book, act: Act) -> None:
    where = place(book, act)
    plan = day_of(*(stop_at(where, n, minutes=90) for n in range(1, 6)), ends=1080)
    sheet = day_sheet(book, plan, ADA, NOW)
    after = plan.rounds[0].break_after
    assert after
    assert sheet.rest.endswith(f", 30 min, after stop {after}")


def test_what_is_in_nobodys_round_is_said(book: Book, act: Act) -> None:
    where = place(book, act)
    out = stop_at(where, 2)
    sheet = day_sheet(book, day_of(stop_at(where), left_out=[out]), ADA, NOW)
    assert sheet.left_out == (f"{out.name} does not fit.",)


def test_everybody_with_a_stop_has_a_sheet(book: Book, act: Act) -> None:
    one, other = place(book, act), place(book, act, "Mill House")
    plan = shared((ADA, "Ada Vet", [stop_at(one)]), (BRAM, "Bram", [stop_at(other, 2)]),
                  (UUID(int=3), "Cleo", []))  # fmt: skip
    sheets = day_sheets(book, plan, NOW)
    assert [each.who for each in sheets] == ["Ada Vet", "Bram"]
    assert [each.stops[0].client for each in sheets] == ["Brook House", "Mill House"]
    assert day_sheet(book, plan, UUID(int=3), NOW).stops == ()
    with pytest.raises(NotFound, match="not on the road"):
        day_sheet(book, plan, UUID(int=9), NOW)


# --- the stop -------------------------------------------------------------------------------------


def test_where_it_is_and_how_to_get_in(book: Book, act: Act) -> None:
    stop = stops(book, day_of(stop_at(place(book, act))))[0]
    assert (stop.client, stop.site, stop.name) == (
        "Brook House", "Garden", "Brook House, Garden",
    )  # fmt: skip
    assert stop.address == ("4 Mill Lane", "Overwater", "OV1 2AB")
    assert stop.way_in == "Gate code 4711. Dog is loose."
    assert stop.hours.startswith("Mon-Fri 08:00-18:00")
    assert stop.phones[:2] == ("01632 960101", "01632 960102")


def test_a_visit_that_nobody_agreed_is_marked(book: Book, act: Act) -> None:
    stop = stops(book, day_of(stop_at(place(book, act), booked=False)))[0]
    assert stop.agreed == NOT_AGREED
    assert stop.to_ring
    assert (stop.prices, stop.consent, stop.terms_said) == ("", "not asked", "")


def test_who_is_to_be_rung_for_another_hour(book: Book, act: Act) -> None:
    where = place(book, act)
    plan = day_of(stop_at(where, hour=time(10), fixed=True))
    one = plan.rounds[0]
    moved = replace(one.stops[0], moved_min=-25, ring=True)
    plan = replace(plan, rounds=(replace(one, stops=(moved,)),))
    stop = stops(book, plan)[0]
    assert stop.agreed == "agreed for 10:00 with the owner, fixed"
    assert stop.ring == "Ring first: 25 min earlier than was agreed."


def test_why_we_come_with_what_the_owner_does(book: Book, act: Act) -> None:
    where = place(book, act, "Brook House", "Lower pond", "Upper pond")
    plan = day_of(
        stop_at(where, 1, purpose(where.ponds[1]),
                purpose(None, "ring", says="as told", first_on=TODAY, last_on=TODAY))
    )  # fmt: skip
    first, second = stops(book, plan)[0].whys
    assert (first.pond, first.says) == ("Upper pond", "water test")
    assert first.due == "due 14 Mar 2026, any day from 13 Mar 2026 to 16 Mar 2026"
    assert first.before[0].startswith("Take the sample before feeding")
    assert (second.pond, second.due, second.before) == ("", "due 14 Mar 2026", ())


def test_terms_are_those_of_the_visit(book: Book, act: Act) -> None:
    where = place(book, act)
    with book.writing(act) as writing:
        visit = writing.add("visit", site_id=where.site, on_day=TODAY, kind="call")
        set_terms(writing, visit, "visit 90", "to be signed")
    plan = day_of(stop_at(where, said={"id": visit, "note": "mind the step"}))
    stop = stops(book, plan)[0]
    assert (stop.prices, stop.consent, stop.note) == ("visit 90", "to be signed", "mind the step")
    assert stop.terms_said == "Ada Vet, 14 Mar 2026"


def test_a_suspect_stops_all_movement(book: Book, act: Act) -> None:
    where = place(book, act)
    plan = day_of(stop_at(where, level=SUSPECT))
    stop = stops(book, plan)[0]
    told = " ".join(stop.warnings)
    assert "no movement of fish, water or nets" in told
    assert "Ring the competent authority" in told
    assert "local law says" in told
    tubes = jobs(book, plan, "sample")
    assert len(tubes) == 1
    assert "authority says who samples" in tubes[0].details[0]
    clean = stops(book, day_of(stop_at(where, level=INFECTED)))[0]
    assert clean.warnings == ()


# --- the pond -------------------------------------------------------------------------------------


def test_the_ponds_concerned_alone(book: Book, act: Act) -> None:
    where = place(book, act, "Brook House", "A", "B", "C")
    only = stops(book, day_of(stop_at(where, ponds=where.ponds[1:2])))[0]
    assert [one.name for one in only.ponds] == ["B"]
    more = day_of(stop_at(where, 1, purpose(where.ponds[2]), ponds=where.ponds[:1]))
    assert [one.name for one in stops(book, more)[0].ponds] == ["A", "C"]
    none = day_of(stop_at(where, ponds=(), said={"pond_id": None}))
    assert [one.name for one in stops(book, none)[0].ponds] == ["A", "B", "C"]


def test_the_volume_in_force_with_bounds_and_method(book: Book, act: Act) -> None:
    where = place(book, act)
    assert pond(book, day_of(stop_at(where))).volume == "not known"
    estimate(book, act, where.ponds[0], 9000.0, "rectangle")
    estimate(book, act, where.ponds[0], 12_000.0)
    one = pond(book, day_of(stop_at(where)))
    assert one.volume == "12,000 L (10,800 to 13,200 L), in force: by salt, 11 Mar 2026"
    assert one.apart.startswith("Volumes disagree by 33 %: ")


@pytest.mark.parametrize("use", USES)
def test_whether_the_fish_are_food(sqlite_book: Book, act: Act, use: str) -> None:
    where = place(sqlite_book, act, use=use)
    assert pond(sqlite_book, day_of(stop_at(where))).use == USES[use]


def test_until_when_food_fish_are_not_eaten(book: Book, act: Act) -> None:
    where = place(book, act, use="food")
    assert pond(book, day_of(stop_at(where))).eating.startswith("Nothing was given")
    treat(book, act, where.ponds[0], TODAY - 7 * DAY, TODAY)
    assert pond(book, day_of(stop_at(where))).eating.startswith("Not for eating")


def test_the_last_readings_with_units_and_day(book: Book, act: Act) -> None:
    where = place(book, act)
    assert pond(book, day_of(stop_at(where))).tested == NO_TEST
    water(book, act, where.ponds[0], NOW - 9 * DAY, BAD)
    water(book, act, where.ponds[0], NOW - 2 * DAY)
    one = pond(book, day_of(stop_at(where), on_day=TODAY + DAY))
    assert one.tested == "12 Mar 2026, 07:30 (Ada Vet), 3 days before this visit"
    assert "12.0 °C" in one.readings
    assert "TAN 0.05 mg/L N" in one.readings
    assert "DO 9.4 mg/L" in one.readings


def test_a_concern_of_the_morning_list_is_flagged(book: Book, act: Act) -> None:
    where = place(book, act)
    water(book, act, where.ponds[0], NOW - DAY, BAD)
    flagged = pond(book, day_of(stop_at(where))).flagged
    nitrite = next(one for one in flagged if one.parameter == "nitrite_mg_l")
    assert nitrite.level == "act"
    assert "mg/L" in nitrite.says
    assert nitrite.advice
    rest_all(book, act, where.ponds[0])
    assert pond(book, day_of(stop_at(where))).flagged == ()


def test_a_running_course_with_its_next_dose(book: Book, act: Act) -> None:
    where = place(book, act, use="food", volume_l=9000.0)
    treat(book, act, where.ponds[0], TODAY - 5 * DAY, TODAY + 2 * DAY, control_on=TODAY + 9 * DAY)
    line = pond(book, day_of(stop_at(where))).courses[0]
    assert line.says == (
        "praziquantel against gill flukes on two koi: runs since 9 Mar 2026, 1 of 2 doses given"
    )
    assert line.last == (
        "last: praziquantel, dose 1 on 9 Mar 2026, 12:00, 18 g, by Ada Vet; seen: calm"
    )
    assert line.next == (
        "praziquantel, dose 2 of 2, planned for 16 Mar 2026: 18 g (2 mg/L in 9000 L)"
    )
    assert line.control == "control examination planned for 23 Mar 2026"
    assert jobs(book, day_of(stop_at(where)), "dose", "control") == []


def test_a_finding_that_nothing_has_answered(book: Book, act: Act) -> None:
    where = place(book, act)
    looked(book, act, where.ponds[0], 5, Found("gill_flukes", counted=23))
    plan = day_of(stop_at(where))
    assert pond(book, plan).findings[0].startswith("gill flukes found on 9 Mar 2026 (fish 1, ")
    assert pond(book, plan).findings[0].endswith(", unanswered")
    assert [one.says.rpartition(": ")[2] for one in jobs(book, plan, "examination")] == [
        "gill flukes"
    ]


# --- what is to be done ---------------------------------------------------------------------------


def test_a_dose_with_its_amount(book: Book, act: Act) -> None:
    where = place(book, act, volume_l=9000.0)
    tasks = (Task("off_uv", TODAY, "Switch the UV lamp off.", "owner"),)
    treat(book, act, where.ponds[0], TODAY - 7 * DAY, TODAY, change_percent=30.0, tasks=tasks)
    plan = day_of(stop_at(where))
    (dose,) = jobs(book, plan, "dose")
    assert dose.says == (
        "Give praziquantel, dose 2 of 2, planned for 14 Mar 2026: 18 g (2 mg/L in 9000 L)"
    )
    assert "Product: powder, 98 % w/w." in dose.details
    assert "Change 30 % of the water first, about 2700 L." in dose.details
    assert "Before it, and not ticked yet: UV off." in dose.details
    assert not any("was reckoned for" in one for one in dose.details)
    (test,) = jobs(book, plan, "water")
    assert {"temperature_c", "ph", "oxygen_mg_l"} <= set(test.codes)


def test_a_dose_of_another_day_is_none_of_this(book: Book, act: Act) -> None:
    where = place(book, act)
    treat(book, act, where.ponds[0], TODAY - 7 * DAY, TODAY + DAY, TODAY + 8 * DAY)
    assert jobs(book, day_of(stop_at(where)), "dose") == []
    tomorrow = jobs(book, day_of(stop_at(where), on_day=TODAY + DAY), "dose")
    assert ["dose 2 of 3" in one.says for one in tomorrow] == [True]
    assert not any("before this visit" in one for one in tomorrow[0].details)
    behind = jobs(book, day_of(stop_at(where), on_day=TODAY + 2 * DAY), "dose")
    assert any("look first whether it was given" in one for one in behind[0].details)


def test_a_dose_of_the_owner_is_asked_for(book: Book, act: Act) -> None:
    where = place(book, act)
    treat(book, act, where.ponds[0], TODAY - 7 * DAY, TODAY - DAY, share="owner")
    (dose,) = jobs(book, day_of(stop_at(where)), "dose")
    assert dose.says.startswith("Owner's dose, ask whether it was given: ")


def test_a_volume_that_has_changed_since_is_told(book: Book, act: Act) -> None:
    where = place(book, act)
    treat(book, act, where.ponds[0], TODAY - 7 * DAY, TODAY)
    estimate(book, act, where.ponds[0], 12_000.0)
    (dose,) = jobs(book, day_of(stop_at(where)), "dose")
    assert any("for 9,000 L, and 12,000 L are in force" in one for one in dose.details)


def test_the_control_when_its_day_has_come(book: Book, act: Act) -> None:
    where = place(book, act)
    key = treat(book, act, where.ponds[0], TODAY - 9 * DAY, control_on=TODAY - DAY)
    assert len(jobs(book, day_of(stop_at(where)), "control")) == 1
    early = day_of(stop_at(where), on_day=TODAY - 2 * DAY)
    assert jobs(book, early, "control") == []
    named = purpose(where.ponds[0], "control", about=str(About("control", key)))
    early = day_of(stop_at(where, 1, named), on_day=TODAY - 2 * DAY)
    assert len(jobs(book, early, "control")) == 1


def test_which_parameters_are_read_and_why(book: Book, act: Act) -> None:
    where = place(book, act)
    (never,) = jobs(book, day_of(stop_at(where)), "water")
    assert never.details == ("Because: no test yet.",)
    assert never.codes[:2] == ("temperature_c", "ph")
    water(book, act, where.ponds[0], NOW - DAY)
    rest_all(book, act, where.ponds[0])
    assert jobs(book, day_of(stop_at(where)), "water") == []
    (asked,) = jobs(book, day_of(stop_at(where, 1, purpose(where.ponds[0]))), "water")
    assert "chloride_mg_l" in asked.codes  # was read the last time
    later = day_of(stop_at(where), on_day=TODAY + 20 * DAY)
    assert "more than 14 days old" in jobs(book, later, "water")[0].details[0]


def test_ammonia_that_is_reckoned_asks_for_what_it_is_reckoned_from(
    sqlite_book: Book, act: Act
) -> None:
    where = place(sqlite_book, act)
    water(sqlite_book, act, where.ponds[0], NOW - DAY, GOOD.replace("TAN 0.05", "TAN 6.0"))
    (test,) = jobs(sqlite_book, day_of(stop_at(where)), "water")
    assert {"temperature_c", "ph", "tan_mg_l"} <= set(test.codes)


def test_tubes_where_a_laboratory_is_asked_for(book: Book, act: Act) -> None:
    where = place(book, act)
    assert jobs(book, day_of(stop_at(where)), "sample") == []
    told = day_of(stop_at(where, said={"note": "Swabs for the laboratory."}))
    assert jobs(book, told, "sample")[0].details == (
        "A laboratory is named: Swabs for the laboratory.",
    )
    sent(book, act, where.ponds[0], 9, "unclear", hazard="")
    sent(book, act, where.ponds[0], 2, hazard="costia", label="BH-2")
    says = [one.says for one in jobs(book, day_of(stop_at(where)), "sample")]
    assert any("came back unclear" in one for one in says)
    assert any("“BH-2” of 12 Mar 2026 is not sent yet" in one for one in says)
    assert len(pond(book, day_of(stop_at(where))).samples) == 2


def test_a_call_is_answered(book: Book, act: Act) -> None:
    where = place(book, act)
    answers = {"caller": "Ina Marsh", "phone": "01632 960199", "saw": "ulcers on two koi"}
    with book.writing(act) as writing:
        key = take_call(writing, NewCall(answers, where.client, where.site, where.ponds[0]))
    asked = purpose(where.ponds[0], "call_next_day", about=str(About("call", key)))
    plan = day_of(stop_at(where, 1, asked))
    (call,) = jobs(book, plan, "call")
    assert "Ina Marsh" in call.says
    assert "Told: ulcers on two koi" in call.details
    assert "01632 960199 (Ina Marsh)" in stops(book, plan)[0].phones


def test_a_promise_that_names_nothing_is_told_all_the_same(book: Book, act: Act) -> None:
    where = place(book, act)
    lost = (purpose(where.ponds[0], "nonsense", about="what is this", says="something"),
            purpose(None, "call_routine", about=str(About("call", UUID(int=8))), says="gone"))  # fmt: skip
    stop = stops(book, day_of(stop_at(where, 1, *lost)))[0]
    assert [one.says for one in stop.whys] == ["something", "gone"]
    assert all(one.kind != "call" for one in stop.jobs)


def test_a_site_that_is_gone_is_told(book: Book, act: Act) -> None:
    where = replace(place(book, act), site=UUID(int=9))
    with pytest.raises(NotFound):
        stops(book, day_of(stop_at(where)))


def test_nine_stops_take_well_under_a_second(sqlite_book: Book, act: Act) -> None:
    """Measured by the processor: 0.15 s; four times that is a fault and no slow machine."""
    errands = []
    for n in range(1, 10):
        where = place(sqlite_book, act, f"House {n}", "A", "B", volume_l=9000.0)
        for one in where.ponds:
            for days in range(6):
                water(sqlite_book, act, one, NOW - days * DAY)
        treat(sqlite_book, act, where.ponds[0], TODAY - 7 * DAY, TODAY)
        errands.append(stop_at(where, n, minutes=15))
    plan = day_of(*errands)
    day_sheet(sqlite_book, plan, ADA, NOW)
    begun = clock.process_time()
    sheet = day_sheet(sqlite_book, plan, ADA, NOW)
    assert clock.process_time() - begun < 0.6
    assert sum(one.kind == "dose" for stop in sheet.stops for one in stop.jobs) == 9
    assert staff(sqlite_book)
