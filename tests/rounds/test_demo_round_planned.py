"""The demo practice's full day on the road has room for all its visits on any weekday."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

from store.courses.kept.morning import morning_list
from store.diary.kept.visits.diary import visits_between
from store.exchange.demo.practice import make_demo
from store.exchange.demo.round import VISITS, round_day
from store.rounds.day.plan import plan_day
from store.rounds.day.values import DayWish
from store.rounds.kept.days.day import day_asked

WEDNESDAY = datetime(2026, 11, 25, 11, 0, tzinfo=UTC)


def test_all_booked_visits_are_in_the_rounds_on_an_ordinary_thursday(tmp_path: Path) -> None:
    """What stands in the diary of the next day already is put behind the clean ponds."""
    with make_demo(tmp_path / "demo.pondround", WEDNESDAY) as book:
        day = round_day(book, WEDNESDAY)
        assert day == date(2026, 11, 26)
        booked = {one.id for one in visits_between(book, day, day)}
        asked = day_asked(book, DayWish(day), WEDNESDAY, morning_list(book, WEDNESDAY))
    assert len(booked) == VISITS
    plan = plan_day(asked)
    assert booked <= {stop.errand.key for one in plan.rounds for stop in one.stops}
    assert plan.broken == ()
    assert plan.found.proven
    standings = [one.standing for one in asked.errands if one.booked]
    assert standings.count("infected") >= 2
    assert standings.count("suspect") == 1
