"""What speaks against an hour: each objection with the one step that calls for it or leaves it out."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest

from store.diary.booking.objections import closed_windows, objections_to
from store.diary.booking.values import Objection, Stood
from store.diary.booking.vet_day import BookedPromise, VetDay
from store.diary.booking.ways import Ways
from store.diary.times.spell import MIDNIGHT, Spell
from store.travel.place import Place
from store.travel.ways import Driven, site_end
from tests.diary.booking_days import (
    DAY,
    LONDON,
    NINE_TO_FIVE,
    OTHER_SITE,
    SITE,
    asked,
    away,
    purpose,
    site,
    vet_day,
    visit,
    wish,
)

WEEK_OF_MORNINGS = ((Spell(time(8), time(12)),),) * 5 + ((),) * 2


def told(
    vet: VetDay | None = None,
    at_time: time | None = time(10),
    minutes: int = 60,
    *,
    to: Any = None,
    of: Any = None,
    then: Any = None,
    visit_id: UUID | None = None,
) -> dict[str, Objection]:
    found = objections_to(
        of or wish(), to or site(), vet or vet_day(), at_time, minutes, then or asked(), visit_id
    )
    assert len({(one.code, one.says) for one in found}) == len(found)
    assert [one.bars for one in found] == sorted(one.bars for one in found), "never comes first"
    for one in found:
        assert one.says[0].isupper() or one.says[0] in "“0123456789"
        assert one.says.endswith(".")
        assert one.field in {"on_day", "at_time", "staff_id", "minutes"}
    return {one.code: one for one in found}


def test_nothing_speaks_against_a_free_hour_of_a_working_day() -> None:
    assert told() == {}


# What can never be


def test_yesterday_and_an_hour_ago_are_past() -> None:
    early = asked(datetime(2026, 3, 18, 10, 30, tzinfo=UTC))
    found = told(then=early)["past"]
    assert (found.bars, found.field) == ("never", "at_time")
    assert found.says == "10:00 lies behind: it is 10:30 now."
    assert told(at_time=time(10, 30), then=early) == {}, "this very minute is not past"
    after = asked(datetime(2026, 3, 19, 0, 0, tzinfo=UTC))
    found = told(then=after)["past"]
    assert (found.bars, found.field) == ("never", "on_day")
    assert "18 Mar 2026 lies behind" in found.says
    assert told(at_time=None, then=after)["past"].field == "on_day"


@pytest.mark.parametrize(
    ("zone", "now", "is_past"),
    [
        # Already the nineteenth on the clock of Auckland and of Kiritimati, still the eighteenth
        # in Honolulu.
        ("Pacific/Auckland", datetime(2026, 3, 18, 11, 30, tzinfo=UTC), True),
        ("Pacific/Kiritimati", datetime(2026, 3, 18, 10, 30, tzinfo=UTC), True),
        ("Pacific/Honolulu", datetime(2026, 3, 19, 9, 30, tzinfo=UTC), False),
        ("America/St_Johns", datetime(2026, 3, 19, 2, 0, tzinfo=UTC), False),
        ("America/St_Johns", datetime(2026, 3, 19, 2, 30, tzinfo=UTC), True),
    ],
)
def test_the_day_is_the_practice_s_own(zone: str, now: datetime, is_past: bool) -> None:
    found = told(at_time=None, then=asked(now, ZoneInfo(zone)))
    assert ("past" in found) is is_past


@pytest.mark.parametrize(
    ("zone", "day", "left_out", "is_there"),
    [
        ("Europe/London", date(2026, 3, 29), time(1, 30), time(2, 0)),
        ("America/New_York", date(2026, 3, 8), time(2, 30), time(3, 0)),
        ("Australia/Lord_Howe", date(2026, 10, 4), time(2, 15), time(2, 30)),
        ("Pacific/Auckland", date(2026, 9, 27), time(2, 30), time(3, 0)),
        ("America/Santiago", date(2026, 9, 6), time(0, 30), time(1, 0)),
        # The whole day was left out: Samoa went over the date line.
        ("Pacific/Apia", date(2011, 12, 30), time(10, 0), None),
    ],
)
def test_an_hour_that_the_clock_change_leaves_out_is_no_hour(
    zone: str, day: date, left_out: time, is_there: time | None
) -> None:
    whole = (Spell(time(0), MIDNIGHT),)
    there = asked(datetime(2011, 1, 1, tzinfo=UTC), ZoneInfo(zone))
    found = told(vet_day(day=day, work=whole), left_out, 30, then=there)["no_hour"]
    assert (found.bars, found.field) == ("never", "at_time")
    if is_there is not None:
        assert f"{left_out:%H:%M}" in found.says
        assert told(vet_day(day=day, work=whole), is_there, 30, then=there) == {}


def test_a_vet_on_leave_cannot_go() -> None:
    found = told(vet_day(away=(away(says="holiday"),)))
    assert list(found) == ["away"], "the whole day: nothing else needs to be told"
    assert (found["away"].bars, found["away"].field) == ("never", "staff_id")
    assert found["away"].says == "Ada Vet is away on 18 Mar 2026: holiday."
    assert told(vet_day(away=(away(),)), None)["away"].bars == "never"


def test_leave_of_some_hours_bars_those_hours() -> None:
    leave = away(begins=time(12), ends=time(17), says="dentist")
    found = told(vet_day(away=(leave,)), time(11, 30))["away"]
    assert (found.bars, found.field) == ("never", "at_time")
    assert found.says == "Ada Vet is away on 18 Mar 2026 from 12:00 to 17:00: dentist."
    assert "away" not in told(vet_day(away=(leave,)), time(11, 0)), "it ends as the leave begins"
    assert "away" not in told(vet_day(away=(leave,)), None)


def test_who_is_no_vet_is_not_sent_where_one_is_needed() -> None:
    desk = vet_day(is_vet=False, who="Tom Desk")
    for kind in ("examination", "course dose", "urgent call", ""):
        found = told(desk, of=wish(kind=kind))["no_vet"]
        assert (found.bars, found.field) == ("never", "staff_id")
        assert "Tom Desk is not entered as one" in found.says
    assert told(desk, of=wish(kind="Water test")) == {}


# What needs a reason


def test_a_closed_practice_needs_a_reason() -> None:
    closed = vet_day(away=(away(says="stocktaking", practice=True),))
    found = told(closed)["closed"]
    assert (found.bars, found.field) == ("reason", "on_day")
    assert found.says == "The practice is closed on 18 Mar 2026: stocktaking."


def test_outside_the_hours_of_access() -> None:
    garden = site(WEEK_OF_MORNINGS, access_said="Mon-Fri 8-12")
    assert told(to=garden, at_time=time(11)) == {}
    found = told(to=garden, at_time=time(11, 30))["access"]
    assert (found.bars, found.field) == ("reason", "at_time")
    assert found.says == (
        "Brook House can be entered 08:00–12:00, and the visit would take 11:30–12:30."
    )
    saturday = vet_day(day=date(2026, 3, 21))
    assert "cannot be entered on Saturdays" in told(saturday, to=garden)["access"].says
    assert told(saturday, None, to=garden)["access"].field == "on_day"
    assert "access" not in told(to=garden, at_time=None), "no hour, nothing to compare"
    closed = site(((),) * 7, access_said="not at all")
    assert "access" in told(to=closed), "closed on every day is a limit too"
    assert "access" not in told(to=site()), "no limit is known"


def test_two_stretches_of_access_are_not_one() -> None:
    split = ((Spell(time(8), time(10)), Spell(time(11), time(14))),) * 7
    assert "access" in told(to=site(split), at_time=time(9, 30))
    joined = ((Spell(time(8), time(10)), Spell(time(10), time(14))),) * 7
    assert "access" not in told(to=site(joined), at_time=time(9, 30))


def test_outside_working_hours() -> None:
    assert told(at_time=time(16)) == {}
    found = told(at_time=time(16, 30))["hours"]
    assert (found.bars, found.field) == ("reason", "at_time")
    assert found.says == "Ada Vet works 09:00–17:00, and the visit would take 16:30–17:30."
    usual = told(vet_day(usual="Mon–Fri 09:00–17:00"), time(8))["hours"]
    assert "usual hours, Mon–Fri 09:00–17:00; none are entered" in usual.says
    sunday = told(vet_day(day=date(2026, 3, 22), work=()))["hours"]
    assert sunday.says == "Ada Vet does not work on Sundays."
    assert sunday.field == "on_day"


def test_hours_of_which_nothing_was_understood_bar_nothing() -> None:
    assert told(vet_day(work=(), hours_unknown="when the tide is out")) == {}


def test_another_visit_at_that_hour() -> None:
    found = told(vet_day(visit()), time(10, 30))["clash"]
    assert (found.bars, found.field) == ("reason", "at_time")
    assert found.says == "Ada Vet is at Hill Farm then, 10:00–11:00."
    own = visit().id
    assert told(vet_day(visit()), time(10, 30), visit_id=own) == {}, "it does not bar itself"
    assert "clash" not in told(vet_day(visit(at_time=None)), time(10, 30))


def test_the_drive_has_to_fit_before_and_behind() -> None:
    """10 km × 1.3 = 13 km: 5 km at 30 km/h and 8 km at 55 are 18.7 min, so 19 min."""
    here, there = Place(52.0, 0.0), Place(52.0 + 10 / 111.19508, 0.0)
    other = visit(latitude=there.latitude, longitude=there.longitude)
    day, garden = vet_day(other), site(place=here)
    for too_close in (time(8, 45), time(11, 15)):
        found = told(vet_day(other, work=(Spell(time(7), time(19)),)), too_close, to=garden)
        assert list(found) == ["drive"]
        assert found["drive"].bars == "reason"
        assert "takes about 19 min" in found["drive"].says
        assert "15 min are left for it" in found["drive"].says
    assert told(day, time(11, 19), to=garden) == {}
    assert told(vet_day(other, work=(Spell(time(7), time(19)),)), time(8, 41), to=garden) == {}
    own = {(site_end(OTHER_SITE), site_end(SITE)): Driven(35.0, None, "the practice's table")}
    by_table = told(day, time(11, 30), to=garden, then=asked(ways=Ways(own)))["drive"]
    assert by_table.says == (
        "Ada Vet is at Hill Farm 10:00–11:00, and the drive from there takes 35 min by the "
        "practice's table: 30 min are left for it."
    )
    assert told(day, time(11, 35), to=garden, then=asked(ways=Ways(own))) == {}


def test_the_drive_out_and_the_way_home_belong_to_the_working_hours() -> None:
    """The surgery is 10 km away, 19 min as above."""
    garden = site(place=Place(52.0, 0.0))
    day = vet_day(start=Place(52.0 + 10 / 111.19508, 0.0), start_place="the surgery")
    early, late = told(day, time(9, 15), to=garden), told(day, time(15, 45), to=garden)
    assert early["drive"].says == (
        "Ada Vet sets out at 09:00, and the drive to Brook House takes about 19 min."
    )
    assert late["drive"].says == (
        "Ada Vet is to be back at 17:00, and the drive home from Brook House takes about 19 min."
    )
    assert {one.bars for one in (*early.values(), *late.values())} == {"reason"}
    assert told(day, time(9, 19), to=garden) == told(day, time(15, 41), to=garden) == {}
    assert list(told(day, time(8, 45), to=garden)) == ["hours"], "that is told already"
    before = visit(at_time=time(9), minutes=10, site_id=SITE)
    there = vet_day(before, start=day.start)
    assert told(there, time(9, 15), to=garden) == {}, "somebody is there already"
    leave = vet_day(start=day.start, away=(away(begins=time(9), ends=time(12)),))
    assert "sets out at 12:00" in told(leave, time(12, 10), to=garden)["drive"].says
    elsewhere = vet_day(
        start=day.start, home=Place(52.0, 0.0), home_apart=True, home_place="next door"
    )
    assert told(elsewhere, time(15, 45), to=garden) == {}, "5 min at the least"
    sick = asked(standings={SITE: Stood(2, "infected", "infected: flukes", 20)})
    assert "disinfecting takes 20 min and the drive home" in (
        told(day, time(15, 30), to=garden, then=sick)["drive"].says
    )
    assert told(day, time(15, 20), to=garden, then=sick) == {}


def test_the_same_site_needs_no_drive_and_an_unknown_place_some() -> None:
    there = visit(site_id=SITE)
    assert told(vet_day(there), time(11)) == {}
    found = told(vet_day(visit()), time(11, 10))["drive"]
    assert "from there is not known and put at 20 min: 10 min are left for it." in found.says


def test_a_visit_over_midnight_bars_the_next_morning() -> None:
    late = visit(DAY - timedelta(days=1), time(23, 30), minutes=90)
    day = vet_day(near_visits=(late,), work=(Spell(time(0), MIDNIGHT),))
    assert "clash" in told(day, time(0, 30))
    assert "drive" in told(day, time(1, 10))
    assert told(day, time(1, 20)) == {}


def test_over_the_clock_change_visits_are_as_long_as_they_take() -> None:
    """From 00:30 on, 60 min end at 02:30 by the clock in spring and at 01:30 in autumn."""
    night = (Spell(time(0), MIDNIGHT),)
    spring = vet_day(
        visit(date(2026, 3, 29), time(0, 30), site_id=SITE), day=date(2026, 3, 29), work=night
    )
    assert told(spring, time(2, 30)) == {}
    assert "clash" in told(spring, time(2, 15))
    autumn = vet_day(
        visit(date(2026, 10, 25), time(0, 30), site_id=SITE), day=date(2026, 10, 25), work=night
    )
    assert told(autumn, time(1, 30)) == {}
    assert "clash" in told(autumn, time(1, 15))
    # Half past one comes twice and the first is meant: two hours later the wall shows half past
    # two, and three have passed since half past twelve.
    assert told(autumn, time(2, 30), minutes=30) == {}


def test_a_day_with_more_visits_than_hours_is_overfull() -> None:
    """8 h = 480 min; 6 visits of 60 min and one more are 420, the drives between push it over.

    A tenth of a degree of longitude at 52° is 6.85 km, × 1.3 = 8.9 km: 10 + 4.3, so 15 min.
    """
    six = [
        visit(
            at_time=None,
            id=UUID(int=100 + place),
            latitude=52.0,
            longitude=0.1 * place,
            site_id=UUID(int=200 + place),
        )
        for place in range(6)
    ]
    garden = site(place=Place(52.0, 0.6))
    found = told(vet_day(*six), None, to=garden)["overfull"]
    assert found.says == (
        "18 Mar 2026 would be overfull for Ada Vet: 420 min of visits, about 90 min of driving "
        "between them, in 480 min of work."
    )
    assert (found.bars, found.field) == ("reason", "on_day")
    assert "overfull" not in told(vet_day(*six[:5]), None, to=garden)
    assert "overfull" not in told(vet_day(*six), None, to=garden, visit_id=six[0].id)
    # From next door to the first 5 min at the least, 5 × 15 between, and 49 min home: 44.5 km are
    # 10 + 27.3 + 10.9 min.
    in_order = [
        replace(one, at_time=time(9 + place), minutes=60) for place, one in enumerate(six[:5])
    ]
    start = Place(52.0, 0.0)
    with_ends = vet_day(*in_order, start=start, start_place="the surgery")
    last = told(with_ends, time(16), to=site(place=Place(52.0, 0.5)))["overfull"]
    assert "about 129 min of driving with the ways out and home" in last.says
    sick = asked(
        standings={one.site_id: Stood(2, "infected", "infected: x", 20) for one in six[:1]}
    )
    cleaned = told(with_ends, time(16), to=site(place=Place(52.0, 0.5)), then=sick)["overfull"]
    assert "20 min of disinfecting" in cleaned.says


def test_the_break_counts_and_has_to_fit_in_one_piece() -> None:
    full = [
        visit(at_time=time(9 + hour), id=UUID(int=100 + hour), site_id=SITE) for hour in range(7)
    ]
    assert told(vet_day(*full), time(16)) == {}
    rest = vet_day(*full, break_min=30)
    assert set(told(rest, time(16))) == {"overfull", "break"}
    assert "30 min of break" in told(rest, time(16))["overfull"].says
    # Working hours with a gap at noon have their break already.
    split = (Spell(time(9), time(12)), Spell(time(13), time(17)))
    assert told(vet_day(break_min=30, work=split), time(9), 180) == {}
    # Two holes of 20 min are no break of 30, though the sum would do.
    shreds = vet_day(
        visit(at_time=time(9, 20), minutes=220, site_id=SITE),
        break_min=30,
        work=(Spell(time(9), time(17)),),
    )
    assert list(told(shreds, time(13, 20), 200)) == ["break"]
    assert told(shreds, time(13, 0), 200) == {}, "40 min remain at the end"


def test_outside_the_window_of_a_promise() -> None:
    narrow = purpose(date(2026, 3, 19), date(2026, 3, 21))
    found = told(of=wish(narrow))["window"]
    assert (found.bars, found.field) == ("reason", "on_day")
    assert found.says == "“dose 2 of 3” is not to be kept before 19 Mar 2026, 1 day later."
    late = told(vet_day(day=date(2026, 3, 23)), of=wish(narrow))["window"]
    assert late.says == "“dose 2 of 3” was to be kept by 21 Mar 2026, 2 days before."
    for day in (19, 20, 21):
        assert told(vet_day(day=date(2026, 3, day)), of=wish(narrow)) == {}


def test_a_window_that_closed_before_today_asks_for_no_reason() -> None:
    late = purpose(date(2026, 3, 9), date(2026, 3, 13))
    assert told(of=wish(late)) == {}, "no day that is left would be in time"
    (said,) = closed_windows((late,), date(2026, 3, 18), date(2026, 3, 14))
    assert said == "“dose 2 of 3” was to be kept by 13 Mar 2026, 5 days before."
    today = purpose(date(2026, 3, 9), date(2026, 3, 14))
    assert "window" in told(of=wish(today)), "today it could still be kept"
    assert list(closed_windows((today,), date(2026, 3, 18), date(2026, 3, 14))) == []


def test_the_day_of_the_practice_decides_whether_a_window_closed() -> None:
    # 07:30 UTC of 14 March is 13 March still on Honolulu's wall.
    west, east = (asked(zone=ZoneInfo(name)) for name in ("Pacific/Honolulu", "Europe/London"))
    yesterday = wish(purpose(date(2026, 3, 9), date(2026, 3, 13)))
    assert "window" in told(of=yesterday, then=west)
    assert "window" not in told(of=yesterday, then=east)


def test_a_window_over_the_end_of_february() -> None:
    leap = purpose(date(2028, 2, 28), date(2028, 3, 1))
    assert "window" not in told(vet_day(day=date(2028, 2, 29)), of=wish(leap))
    after = told(vet_day(day=date(2028, 3, 2)), of=wish(leap))["window"]
    assert "by 1 Mar 2028, 1 day before" in after.says


def test_a_public_holiday_needs_a_reason() -> None:
    found = told(vet_day(holiday="Saint Somebody"))["holiday"]
    assert (found.bars, found.field) == ("reason", "on_day")
    assert found.says == "18 Mar 2026 is a public holiday: Saint Somebody."


def test_a_promise_that_another_visit_is_to_keep_already() -> None:
    other = visit(date(2026, 3, 20), time(9, 30), site_id=SITE)
    kept = asked(booked=(BookedPromise("dose:1", "dose 2 of 3", other),))
    found = told(then=kept)["booked"]
    assert (found.bars, found.field) == ("reason", "on_day")
    assert found.says == (
        "“dose 2 of 3” is to be kept by the visit on 20 Mar 2026 at 09:30 already."
    )


def test_without_a_vet_nobody_s_hours_are_asked() -> None:
    nobody = vet_day(
        visit(staff_id=None, who=""), staff_id=None, who="", work=(), holiday="Saint Somebody"
    )
    assert list(told(nobody)) == ["holiday"]


def test_everything_at_once_is_told_at_once() -> None:
    found = told(
        vet_day(visit(), holiday="Saint Somebody", away=(away(begins=time(10), ends=time(11)),)),
        time(10),
        to=site(((),) * 7),
        of=wish(purpose(date(2026, 3, 19), date(2026, 3, 19))),
    )
    assert set(found) == {"away", "access", "clash", "window", "holiday"}


def test_visits_elsewhere_are_named_by_client_and_pond() -> None:
    named = told(vet_day(visit(client="Mrs Reed", pond="top pond", site_id=OTHER_SITE)), time(10))
    assert "at Mrs Reed, top pond then" in named["clash"].says


def test_nine_to_five_is_nine_to_five_in_every_zone() -> None:
    for name in ("Pacific/Kiritimati", "Pacific/Honolulu", "Asia/Kathmandu", "Europe/London"):
        there = asked(zone=ZoneInfo(name))
        assert told(vet_day(work=NINE_TO_FIVE), time(9), then=there) == {}
        assert "hours" in told(vet_day(work=NINE_TO_FIVE), time(8, 59), then=there)
    assert LONDON.key == "Europe/London"
