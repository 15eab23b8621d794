"""Proposed slots: never one against which something speaks unsaid, and none missed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from store.diary.booking.free import instant_of, is_left_out, span_of, spans_of, taken
from store.diary.booking.objections import objections_to
from store.diary.booking.reasons import marks_of
from store.diary.booking.said import said_km
from store.diary.booking.search import BEYOND_DAYS, HORIZON_DAYS, searched
from store.diary.booking.slots import Proposal, proposed
from store.diary.booking.values import Purpose, Stood, Wish
from store.diary.booking.vet_day import Asked, SiteAsked, VetDay
from store.diary.booking.ways import Ways
from store.diary.times.spell import MIDNIGHT, Spell
from store.text import day_said
from store.travel.place import Place
from store.travel.ways import Driven, End, site_end, vet_end
from tests.diary.booking_days import (
    DAY,
    NINE_TO_FIVE,
    OTHER_VET,
    SITE,
    VET,
    asked,
    away,
    purpose,
    site,
    vet_day,
    visit,
    wish,
)

HERE = Place(52.0, 0.0)
BOTH_CHANGES = [
    ("Europe/London", date(2026, 3, 27)), ("Europe/London", date(2026, 10, 23)),
    ("America/New_York", date(2026, 3, 6)), ("America/New_York", date(2026, 10, 30)),
    ("Australia/Lord_Howe", date(2026, 10, 2)), ("Australia/Lord_Howe", date(2026, 4, 3)),
    ("Pacific/Auckland", date(2026, 9, 25)), ("America/Santiago", date(2026, 9, 4)),
    ("America/St_Johns", date(2026, 3, 6)), ("Asia/Kathmandu", date(2028, 2, 27)),
    ("Pacific/Kiritimati", date(2027, 12, 30)), ("Pacific/Honolulu", date(2026, 1, 30)),
]  # fmt: skip


def weeks(first: date, count: int, **values: object) -> list[VetDay]:
    """Days of one vet from a day on, at work from Monday to Friday."""
    found = []
    for step in range(count):
        day = first + timedelta(days=step)
        work = NINE_TO_FIVE if day.weekday() < 5 else ()
        found.append(vet_day(day=day, **{"work": work, **values}))
    return found


def ask(
    days: Sequence[VetDay],
    of: Wish | None = None,
    to: SiteAsked | None = None,
    *,
    then: Asked | None = None,
    first: date | None = None,
    count: int = 3,
) -> Proposal:
    now = then or asked()
    today = now.now.astimezone(now.zone).date()
    search = searched((of or wish()).purposes, today, first)
    return proposed(
        of or wish(), to or site(place=HERE), days, search, lambda _day: now, count=count
    )


# By examples


def test_a_day_when_the_van_is_near_comes_before_an_empty_one() -> None:
    days = weeks(date(2026, 3, 16), 5)
    near = visit(DAY, time(10), latitude=52.0, longitude=0.0586)  # 4.01 km to the east
    days[2] = vet_day(near)
    found = ask(days)
    best = found.slots[0]
    assert (best.on_day, best.at_time) == (DAY, time(11, 15)), "11 min of drive behind 11:00"
    # 4.01 km × 1.3 = 5.2 km: 5 km at 30 km/h and 0.2 km at 55, so 10.2 min.
    assert best.reasons[0] == "11 min (5.2 km) from Hill Farm at 10:00"
    assert best.added_min == 11
    assert best.added_km == pytest.approx(4.01 * 1.3, abs=0.02)
    assert best.rests_on == "reckoned"
    assert {one.on_day for one in found.slots[1:]} == {date(2026, 3, 16), date(2026, 3, 17)}
    assert "first free hour" in found.slots[1].reasons


def test_between_two_visits_on_the_way_nothing_is_added() -> None:
    days = [
        vet_day(
            visit(DAY, time(9), latitude=52.0, longitude=-0.3, id=UUID(int=1)),
            visit(
                DAY, time(13), latitude=52.0, longitude=0.3, id=UUID(int=2), site_id=UUID(int=23)
            ),
        )
    ]  # fmt: skip
    best = ask(days).slots[0]
    assert time(10) < best.at_time < time(12)
    # On the sphere the shortest way between them leaves the circle of latitude by metres; what is
    # added is a second stretch of lanes, less one of main road.
    assert best.added_km == pytest.approx(0.0, abs=0.2)
    assert best.added_min == 34 + 34 - 55
    assert any(one.startswith("adds 13 min") for one in best.reasons)


def test_a_dose_that_has_to_fall_within_its_window_does() -> None:
    days = weeks(date(2026, 3, 14), 30)
    dose = purpose(date(2026, 3, 19), date(2026, 3, 21), date(2026, 3, 20))
    found = ask(days, wish(dose))
    assert [one.on_day for one in found.slots][:2] == [date(2026, 3, 20), date(2026, 3, 19)]
    assert {one.on_day for one in found.slots} <= {date(2026, 3, 19), date(2026, 3, 20)}, (
        "the twenty-first is a Saturday; another hour takes the third place"
    )
    assert "the promised day" in found.slots[0].reasons
    assert "day 2 of 3 of its window" in found.slots[0].reasons
    assert found.said[0] == (
        "Looked from 19 Mar 2026 to 21 Mar 2026, the days on which it counts as kept."
    )
    assert all(one.marks == () for one in found.slots)


def test_where_the_window_is_full_what_lies_behind_is_proposed_with_its_mark() -> None:
    days = weeks(date(2026, 3, 14), 30)
    sunday = purpose(date(2026, 3, 21), date(2026, 3, 22))
    found = ask(days, wish(sunday))
    assert found.slots[0].on_day == date(2026, 3, 23)
    assert found.slots[0].marks[0] == "1 day after its window."
    assert "No free hour until 22 Mar 2026; these come after." in found.said
    assert "Nobody works on any of these days, or all are away." in found.said


@pytest.mark.parametrize(
    ("kind", "first"), [("dose", date(2026, 3, 23)), ("water_test", date(2026, 3, 30))]
)
def test_behind_its_window_a_dose_goes_before_a_short_way_and_a_routine_test_does_not(
    kind: str, first: date
) -> None:
    """The van stands 4 km away a week later; the next day begins 26 km away, 44 min there and as
    many back."""
    near = visit(date(2026, 3, 30), time(10), latitude=52.0, longitude=0.0586)
    late = purpose(date(2026, 3, 21), date(2026, 3, 22), kind=kind)
    far = Place(52.0, 0.38)
    days = [
        vet_day(day=date(2026, 3, 23), start=far), vet_day(near, day=date(2026, 3, 30), start=far)
    ]  # fmt: skip
    found = ask(days, wish(late, kind="water test"))
    assert found.slots[0].on_day == first, [(one.on_day, one.score) for one in found.slots]


def test_a_window_that_has_closed_is_said_and_the_search_begins_today() -> None:
    late = purpose(date(2026, 3, 2), date(2026, 3, 4))
    found = ask(weeks(date(2026, 3, 14), 30), wish(late))
    assert found.slots[0].on_day == date(2026, 3, 16)
    assert "the promised day" not in found.slots[0].reasons
    assert found.slots[0].marks[0] == "12 days after its window."
    assert "“dose 2 of 3” was to be kept by 4 Mar 2026." in found.said[0]


def test_windows_that_share_no_day_are_said() -> None:
    one = purpose(date(2026, 3, 17), date(2026, 3, 18))
    other = purpose(date(2026, 3, 25), date(2026, 3, 27), about="control:2", says="control")
    found = ask(weeks(date(2026, 3, 14), 30), wish(one, other))
    assert "“dose 2 of 3” and “control” share no day" in found.said[0]
    assert found.slots[0].on_day in {date(2026, 3, 17), date(2026, 3, 18)}
    assert "“control” is not to be kept before 25 Mar 2026" in found.slots[0].marks[0]


def test_a_promise_far_ahead_is_sought_around_its_day() -> None:
    far = purpose(date(2026, 4, 1), date(2026, 12, 31), date(2026, 9, 15))
    days = weeks(date(2026, 3, 14), 300)
    found = ask(days, wish(far))
    assert found.slots[0].on_day == date(2026, 9, 15)
    assert found.said[0] == (
        "Looked from 18 Aug 2026 to 13 Oct 2026; it counts as kept from 1 Apr 2026 to 31 Dec 2026."
    )


def test_holidays_stand_behind_all_other_days_and_are_marked() -> None:
    days = weeks(date(2026, 3, 16), 3)
    days[0] = vet_day(day=date(2026, 3, 16), holiday="Saint Somebody")
    two = purpose(date(2026, 3, 16), date(2026, 3, 17), date(2026, 3, 16))
    found = ask(days, wish(two), count=6)
    assert found.slots[0].on_day == date(2026, 3, 17)
    holiday = [one for one in found.slots if one.on_day == date(2026, 3, 16)]
    assert holiday
    assert all("16 Mar 2026 is a public holiday: Saint Somebody." in o.marks for o in holiday)


def test_several_vets_are_asked_and_the_nearer_one_comes_first() -> None:
    near = visit(DAY, time(10), latitude=52.0, longitude=0.02, staff_id=OTHER_VET)
    days = [vet_day(), vet_day(near, staff_id=OTHER_VET, who="Ben Vet")]
    found = ask(days)
    assert [one.who for one in found.slots][:2] == ["Ben Vet", "Ada Vet"]
    assert len(found.slots) == 3
    assert found.slots[0].staff_id == OTHER_VET


def test_with_one_free_day_other_hours_of_it_stand_apart() -> None:
    found = ask([vet_day()], count=3)
    hours = sorted(one.at_time for one in found.slots)
    assert hours == [time(9), time(16)]
    assert "No more than 2 slots could be found." in found.said


def test_leave_a_closed_practice_and_full_days_are_passed_over() -> None:
    days = weeks(date(2026, 3, 16), 5)
    days[0] = vet_day(day=date(2026, 3, 16), away=(away(date(2026, 3, 16), says="holiday"),))
    days[1] = vet_day(day=date(2026, 3, 17), away=(away(date(2026, 3, 17), practice=True),))
    days[2] = vet_day(visit(DAY, time(9), minutes=450))
    found = ask(days)
    assert {one.on_day for one in found.slots} == {date(2026, 3, 19), date(2026, 3, 20)}


def test_hours_of_access_and_of_work_meet() -> None:
    access = ((Spell(time(15), MIDNIGHT),),) * 7
    garden = site(access, place=HERE, access_said="after 15:00")
    found = ask(weeks(date(2026, 3, 16), 2), to=garden)
    assert {one.at_time for one in found.slots} <= {time(15), time(16)}
    never = site(((Spell(time(17), MIDNIGHT),),) * 7, place=HERE, access_said="after 17:00")
    none = ask(weeks(date(2026, 3, 16), 2), to=never)
    assert none.slots == ()
    assert (
        "Working hours and hours of access (“after 17:00”) never leave 60 min together."
        in none.said
    )
    assert any("say why it goes all the same" in one for one in none.said)


def test_why_there_is_nothing_is_said() -> None:
    nobody = ask([])
    assert nobody.slots == ()
    assert "Nobody is entered as a vet, so nobody can be proposed." in nobody.said
    resting = ask(weeks(date(2026, 3, 16), 3, work=()))
    assert "Nobody works on any of these days, or all are away." in resting.said
    desk = ask(weeks(date(2026, 3, 16), 3, is_vet=False, who="Tom Desk"))
    assert desk.slots == ()
    assert "Tom Desk is not entered as a vet." in desk.said
    test = ask(weeks(date(2026, 3, 16), 3, is_vet=False, who="Tom Desk"), wish(kind="water test"))
    assert test.slots


def test_full_days_are_said_to_be_full() -> None:
    full = ask([vet_day(visit(DAY, time(9), minutes=450))])
    assert full.slots == ()
    assert "Visits and the drives between them fill these days." in full.said


def test_what_is_not_known_is_said_and_not_guessed() -> None:
    days = weeks(date(2026, 3, 16), 3, usual="Mon–Fri 09:00–17:00")
    found = ask(days, to=site(access_unknown="when the dog is in"))
    assert "No working hours are entered for Ada Vet; Mon–Fri 09:00–17:00 is taken." in found.said
    assert "Where the site lies is not entered, so no way can be reckoned." in found.said
    assert not any("Drives" in one for one in found.said)
    for one in found.slots:
        assert (one.added_min, one.added_km, one.rests_on) == (None, None, "")
        assert one.marks == (
            "Of the hours of access “when the dog is in” was not understood; please look.",
        )
    lost = ask([vet_day(visit())])
    assert lost.slots[0].marks == (
        "The drive to 1 other visit is not known, so what is added is reckoned without.",
    )
    assert lost.said[-1] == "Where a drive is not known, 20 min stand in."


def test_a_site_that_is_visited_that_day_already_is_marked() -> None:
    other = visit(DAY, time(10), site_id=SITE, latitude=52.0, longitude=0.0)
    found = ask([vet_day(other)], then=asked(at_site=(other,)))
    best = found.slots[0]
    assert best.reasons[0] == "there at 10:00 anyway"
    assert best.marks == (), "the reason says it"
    assert best.at_time == time(9), "at nine or at eleven, beside it"


def test_from_the_start_and_back() -> None:
    """11.12 km × 1.3 = 14.5 km: 10 min for the first five, 10.3 for the rest, so 21 min."""
    found = ask([vet_day(start=Place(52.1, 0.0), start_place="the surgery")])
    best = found.slots[0]
    assert best.reasons[0] == "42 min (29 km) there and back, nothing else that day yet"
    assert best.at_time == time(9, 30), "who sets out at nine is there at 09:21"
    assert max(one.at_time for one in found.slots) == time(15, 30), "and back at five"


def test_a_day_that_ends_elsewhere_leaves_the_time_to_get_there() -> None:
    elsewhere = vet_day(
        start=HERE, start_place="next door", home=Place(52.1, 0.0), home_place="the sister's",
        home_apart=True,
    )  # fmt: skip
    hours = sorted(one.at_time for one in ask([elsewhere]).slots)
    assert hours == [time(9, 15), time(15, 30)], "5 min at the least, and 21 min at the end"
    lost = vet_day(start=HERE, home=None, home_place="a barge", home_apart=True)
    assert max(one.at_time for one in ask([lost]).slots) == time(16), "not known, so not counted"


def test_the_practice_s_own_drives_go_before_what_is_reckoned() -> None:
    """The near one has a river before it: 50 min by the table, and 11 as it would be reckoned."""
    near = visit(DAY, time(10), latitude=52.0, longitude=0.0586)
    ways = {
        (site_end(near.site_id), site_end(SITE)): Driven(50.0, 31.0, "the practice's table"),
        (vet_end(VET), site_end(SITE)): Driven(12.0, None, "the practice's table"),
    }
    found = ask([vet_day(near)], then=asked(ways=Ways(ways)))
    best = found.slots[0]
    assert best.at_time == time(12), "50 min behind eleven"
    assert best.reasons[0] == "adds 42 min (partly by the table) to that day's way", (
        "50 min there and 12 home, less the stand-in of 20 min from the other one home"
    )
    assert found.said[-1] == (
        "Drives: the practice's table. Where a drive is not known, 20 min stand in."
    )
    placed = ask([vet_day(near, start=HERE)], then=asked(ways=Ways(ways)))
    assert placed.said[-1] == (
        "Drives: the practice's table, else 1.3 × the straight distance at 30–80 km/h, common "
        "practice."
    )
    nowhere = ask([vet_day(near)], to=site(), then=asked(ways=Ways(ways)))
    assert (
        "Where the site lies is not entered, so only drives of the practice's table are known."
        in (nowhere.said)
    )
    assert nowhere.slots[0].added_min is not None
    alone = ask([vet_day()], then=asked(ways=Ways(ways)))
    assert alone.slots[0].reasons[0].startswith("24 min (the practice's table) there and back")
    assert alone.said[-1] == "Drives: the practice's table."


def test_now_is_not_before_now() -> None:
    noon = asked(datetime(2026, 3, 18, 12, 7, tzinfo=UTC))
    found = ask([vet_day()], then=noon)
    assert min(one.at_time for one in found.slots) == time(12, 15)
    evening = asked(datetime(2026, 3, 18, 16, 1, tzinfo=UTC))
    assert ask([vet_day()], then=evening).slots == ()


def test_looking_on_from_a_later_day() -> None:
    found = ask(weeks(date(2026, 3, 16), 40), first=date(2026, 4, 6))
    assert all(one.on_day >= date(2026, 4, 6) for one in found.slots)
    assert "first free hour from 6 Apr 2026 on" in found.slots[0].reasons
    behind = ask(weeks(date(2026, 3, 16), 40), first=date(2026, 1, 1))
    assert all(one.on_day >= date(2026, 3, 16) for one in behind.slots)


def test_a_gap_without_a_quarter_takes_five_minutes() -> None:
    tight = vet_day(
        visit(DAY, time(9), minutes=65, id=UUID(int=1), site_id=SITE),
        visit(DAY, time(11, 10), minutes=350, id=UUID(int=2), site_id=SITE),
    )
    found = ask([tight])
    assert [one.at_time for one in found.slots] == [time(10, 5)]


def test_marks_of_a_day_chosen_freely() -> None:
    nobody = vet_day(staff_id=None, who="", work=())
    told = list(marks_of(site(), nobody, asked()))
    assert told[0] == "No vet is chosen yet; nobody's hours, leave and visits were looked at."
    twice = vet_day(day=date(2026, 10, 25))
    assert any("01:30 twice" in one for one in marks_of(site(), twice, asked(), time(1, 30)))


def test_distances_are_said_as_precisely_as_they_are_known() -> None:
    assert [said_km(km) for km in (0.0, 0.06, 9.94, 9.96, 123.4)] == [
        "less than 0.1 km", "0.1 km", "9.9 km", "10 km", "123 km",
    ]  # fmt: skip


def test_nobody_is_rung_out_of_bed_where_no_hours_are_stated() -> None:
    early = vet_day(work=(Spell(time(5), time(20)),))
    assert ask([early], count=1).slots[0].at_time == time(8)
    stated = site(((Spell(time(5), time(20)),),) * 7, place=HERE)
    assert ask([early], to=stated, count=1).slots[0].at_time == time(5)
    night = ask([vet_day(work=(Spell(time(5), time(7)),))], count=1).slots[0]
    assert night.at_time == time(5)
    assert night.marks == ("early or late, and no hours of access are stated.",)


def test_one_day_is_looked_at_and_not_from_itself_to_itself() -> None:
    today = purpose(date(2026, 3, 16), date(2026, 3, 16))
    assert ask(weeks(date(2026, 3, 16), 2), wish(today)).said[0] == (
        "Looked on 16 Mar 2026, the day on which it counts as kept."
    )


# Clean before sick

CLEAN, DOUBTFUL, INFECTED, SUSPECT = (
    Stood(level, word, f"{word}: because", disinfect_min)
    for level, (word, disinfect_min) in enumerate(
        [("clean", 0), ("doubtful", 0), ("infected", 20), ("suspect", 45)]
    )
)
LEVELS = (CLEAN, DOUBTFUL, INFECTED, SUSPECT)


def test_behind_an_infected_site_a_clean_one_is_not_proposed_and_before_it_is() -> None:
    sick = visit(DAY, time(11), latitude=52.0, longitude=0.0586)
    then = asked(standings={SITE: CLEAN, sick.site_id: INFECTED})
    found = ask([vet_day(sick)], then=then)
    assert [one.at_time for one in found.slots] == [time(9, 45)], "all other hours come behind"
    assert found.slots[0].marks == ()
    assert "Hours that break the order from clean to infected are left out." in found.said
    behind = ask([vet_day(sick)], then=asked(standings={SITE: INFECTED, sick.site_id: CLEAN}))
    assert min(one.at_time for one in behind.slots) == time(12, 15)
    assert any(one.startswith("Brook House is infected: because; 20 min") for one in behind.said)
    both = ask([vet_day(sick)], then=asked(standings={SITE: INFECTED, sick.site_id: INFECTED}))
    assert {one.at_time < time(11) for one in both.slots} == {True, False}


def test_disinfecting_is_kept_free_behind_an_infected_site_and_behind_this_one() -> None:
    """11 min of drive each way, and 20 min of disinfecting."""
    sick = visit(DAY, time(11), latitude=52.0, longitude=0.0586)
    sites = {SITE: INFECTED, sick.site_id: INFECTED}
    hours = [one.at_time for one in ask([vet_day(sick)], then=asked(standings=sites)).slots]
    assert min(at for at in hours if at > time(11)) == time(12, 45), "12:31, on the quarter"
    assert max(at for at in hours if at < time(11)) == time(9, 15), "10:15, and 31 min to eleven"
    tight = vet_day(sick, work=(Spell(time(9, 40), time(12)),))
    assert ask([tight], wish(minutes=45), then=asked(standings=sites)).slots == ()
    assert ask([tight], wish(minutes=45)).slots, "without disinfecting it would do"
    same = visit(DAY, time(11), latitude=52.0, longitude=0.0, site_id=SITE)
    there = ask([vet_day(same)], then=asked(standings=sites))
    assert time(12) in {one.at_time for one in there.slots}, "not between two visits to one site"


def test_where_every_hour_breaks_the_order_they_are_proposed_with_their_mark() -> None:
    sick = visit(DAY, time(9), latitude=52.0, longitude=0.0586)
    then = asked(standings={SITE: CLEAN, sick.site_id: INFECTED})
    found = ask([vet_day(sick)], then=then)
    assert found.slots
    assert all("clean goes before infected" in one.marks[0] for one in found.slots)
    assert found.said[-1] == (
        "Each of these breaks the order from clean to infected; no other hour is free."
    )
    other = ask([vet_day(sick), vet_day(day=date(2026, 3, 19))], then=then)
    assert {one.on_day for one in other.slots} == {date(2026, 3, 19)}, "another day goes before"


def test_a_suspect_comes_last_and_better_alone() -> None:
    other = visit(DAY, time(10), latitude=52.0, longitude=0.001)
    days = [vet_day(other), vet_day(day=DAY + timedelta(days=7))]
    then = asked(standings={SITE: SUSPECT, other.site_id: CLEAN})
    found = ask(days, then=then)
    assert found.slots[0].on_day == DAY + timedelta(days=7), "alone, though a week later"
    same = [one for one in found.slots if one.on_day == DAY]
    assert all(one.at_time > time(11) for one in same)
    assert all("a suspect is better alone on its day" in one.marks[0] for one in same)
    assert any("it is better alone on its day" in one for one in found.said)


# By properties


@st.composite
def cases(draw: st.DrawFn) -> tuple[Wish, SiteAsked, list[VetDay], Asked]:
    name, first = draw(st.sampled_from(BOTH_CHANGES))
    zone = ZoneInfo(name)
    quarters = st.integers(0, 95).map(lambda at: time(*divmod(at * 15, 60)))
    places = st.none() | st.builds(Place, st.floats(51.8, 52.2), st.floats(-0.3, 0.3))

    def stretches() -> tuple[Spell, ...]:
        marks = sorted(draw(st.sets(quarters, max_size=4)))
        return tuple(Spell(a, b) for a, b in zip(marks[::2], marks[1::2], strict=False))

    days, number = [], 100
    for vet in (VET, OTHER_VET)[: draw(st.integers(1, 2))]:
        for step in range(draw(st.integers(1, 4))):
            day = first + timedelta(days=step)
            visits = []
            for _each in range(draw(st.integers(0, 3))):
                number += 1
                place = draw(places)
                at = draw(st.none() | quarters)
                if at is not None and is_left_out(day, at, zone):
                    at = None
                visits.append(
                    visit(
                        day, at, id=UUID(int=number), minutes=draw(st.sampled_from([20, 45, 120])),
                        latitude=None if place is None else place.latitude,
                        longitude=None if place is None else place.longitude,
                        site_id=draw(st.sampled_from([SITE, UUID(int=number)])), staff_id=vet,
                    )
                )  # fmt: skip
            leave = tuple(away(day, s.begins, s.ends, zone=zone) for s in stretches()[:1])
            days.append(
                vet_day(
                    *visits, day=day, staff_id=vet, who=f"Vet {vet.int}", away=leave,
                    work=draw(st.sampled_from([NINE_TO_FIVE, (Spell(time(0), MIDNIGHT),)])),
                    holiday=draw(st.sampled_from(["", "", "Saint Somebody"])),
                    break_min=draw(st.sampled_from([0, 30])), start=draw(places),
                )
            )  # fmt: skip
    bound = draw(st.booleans())
    access = tuple(stretches() for _day in range(7)) if bound else None
    purposes: tuple[Purpose, ...] = ()
    if draw(st.booleans()):
        begins = first + timedelta(days=draw(st.integers(-3, 4)))
        purposes = (purpose(begins, begins + timedelta(days=draw(st.integers(0, 3)))),)
    length = draw(st.sampled_from([20, 60, 90]))
    now = instant_of(first, draw(quarters), zone)
    return (
        wish(*purposes, minutes=length),
        site(access, place=draw(places)),
        days,
        asked(now, zone, ways=Ways(draw(own_drives(days))), standings=draw(standings(days))),
    )


@st.composite
def own_drives(draw: st.DrawFn, days: Sequence[VetDay]) -> dict[tuple[End, End], Driven]:
    """Drives that the practice has stated, some in one direction only, some of no time at all."""
    ends = [site_end(SITE), vet_end(VET), vet_end(OTHER_VET)]
    ends += [site_end(one.site_id) for vet in days for one in vet.visits]
    pair = st.tuples(st.sampled_from(ends), st.sampled_from(ends))
    pairs = draw(st.sets(pair.filter(lambda two: two[0] != two[1]), max_size=4))
    return {two: Driven(draw(st.integers(0, 120)), None, "the practice's table") for two in pairs}


@st.composite
def standings(draw: st.DrawFn, days: Sequence[VetDay]) -> dict[UUID, Stood]:
    sites = {SITE, *(one.site_id for vet in days for one in vet.visits)}
    if not draw(st.booleans()):
        return {}
    return {one: draw(st.sampled_from(LEVELS)) for one in sites if draw(st.booleans())}


def hours_open(
    of: Wish, to: SiteAsked, days: Sequence[VetDay], then: Asked
) -> list[tuple[VetDay, time]]:
    """Every quarter of an hour against which nothing speaks, tried one by one."""
    return [
        (vet, at)
        for vet in days
        for minute in range(0, 1440, 15)
        if not objections_to(of, to, vet, at := time(*divmod(minute, 60)), of.minutes, then)
        and not is_left_out(vet.day, at, then.zone)
    ]


@settings(deadline=None, max_examples=50, suppress_health_check=[HealthCheck.too_slow])
@given(cases())
def test_nothing_speaks_against_a_proposed_slot_that_its_marks_do_not_tell(
    case: tuple[Wish, SiteAsked, list[VetDay], Asked],
) -> None:
    of, to, days, then = case
    found = ask(days, of, to, then=then)
    by_day = {(vet.day, vet.staff_id): vet for vet in days}
    assert len(found.slots) <= 3
    assert len({(s.on_day, s.at_time, s.staff_id) for s in found.slots}) == len(found.slots)
    for slot in found.slots:
        vet = by_day[slot.on_day, slot.staff_id]
        spoken = objections_to(of, to, vet, slot.at_time, slot.minutes, then)
        assert all(one.bars != "never" for one in spoken)
        assert {one.code for one in spoken} <= {"holiday", "window", "order"}
        if any(one.code == "order" for one in spoken):
            assert not hours_open(of, to, days, then), "only where nothing else is free"
        one_window = len(of.purposes) == 1
        for one in spoken:
            if one.code == "window" and one_window:
                assert any(mark.endswith("its window.") for mark in slot.marks)
            else:
                assert one.says in slot.marks
        assert slot.reasons, "a slot without a reason is none"
        assert slot.score >= 0.0
        wanted = taken(slot.on_day, slot.at_time, slot.minutes, then.zone)
        assert wanted.begins >= then.now
        assert any(one.holds(wanted) for one in spans_of(slot.on_day, vet.work, then.zone)), (
            "within working hours"
        )
        for other in vet.visits:
            span = span_of(other, then.zone)
            assert span is None or not span.meets(wanted)


@settings(deadline=None, max_examples=20, suppress_health_check=[HealthCheck.too_slow])
@given(cases())
def test_where_any_quarter_of_an_hour_is_free_a_slot_is_proposed(
    case: tuple[Wish, SiteAsked, list[VetDay], Asked],
) -> None:
    of, to, days, then = case
    found = ask(days, of, to, then=then)
    free = hours_open(of, to, days, then)
    if free:
        assert found.slots
        best = found.slots[0]
        vet = next(v for v in days if (v.day, v.staff_id) == (best.on_day, best.staff_id))
        assert objections_to(of, to, vet, best.at_time, best.minutes, then) == ()
        within = {(v.day, v.staff_id) for v, _at in free}
        kept = {(s.on_day, s.staff_id) for s in found.slots}
        assert len(kept) >= min(3, len(within)), "different days or vets where possible"


@settings(deadline=None, max_examples=40)
@given(cases(), st.permutations(range(8)))
def test_the_order_in_which_days_are_told_does_not_matter(
    case: tuple[Wish, SiteAsked, list[VetDay], Asked], order: list[int]
) -> None:
    of, to, days, then = case
    shuffled = [days[at] for at in order if at < len(days)]
    if len(shuffled) == len(days):
        assert set(ask(shuffled, of, to, then=then).slots) == set(
            ask(days, of, to, then=then).slots
        )


@given(
    st.lists(st.tuples(st.integers(-40, 400), st.integers(0, 60), st.integers(0, 60)), max_size=3),
    st.none() | st.integers(-10, 60),
)
def test_the_search_never_goes_back_and_ends(
    promised: list[tuple[int, int, int]], later: int | None
) -> None:
    today = date(2028, 2, 28)
    purposes = [
        purpose(
            today + timedelta(days=due - early),
            today + timedelta(days=due + late),
            today + timedelta(days=due),
        )
        for due, early, late in promised
    ]
    first = None if later is None else today + timedelta(days=later)
    found = searched(purposes, today, first)
    assert found.first >= max(today, first or today)
    assert found.first <= found.last <= found.furthest
    assert (found.furthest - found.first).days <= 2 * HORIZON_DAYS + BEYOND_DAYS
    assert found.said
    assert day_said(found.first) in found.said[-1]
    if found.window is not None and found.window[1] >= found.first:
        assert found.window[0] <= found.first
        assert found.last <= found.window[1]
