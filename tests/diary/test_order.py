"""Clean before sick within a person's day: what breaks it, and what is said of it."""

from __future__ import annotations

from datetime import date, time
from itertools import permutations
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.diary.booking.objections import objections_to
from store.diary.booking.order import out_of_order
from store.diary.booking.reasons import marks_of
from store.diary.booking.values import Objection, Stood
from store.rounds.solving.problem import Problem, Stop, Vet, Window
from store.travel.place import Place
from tests.diary.booking_days import DAY, OTHER_SITE, SITE, asked, site, vet_day, visit, wish

HERE = site(place=Place(52.0, 0.0))
WORDS = ("clean", "doubtful", "infected", "suspect")


def stood(level: int) -> Stood:
    word = WORDS[level]
    return Stood(level, word, f"{word}: Lower pond, gill flukes found on 9 Mar 2026", 20 * level)


def told(
    own: int | None, *others: tuple[time | None, int | None], at_time: time | None = time(12)
) -> list[Objection]:
    """What speaks against an hour beside visits of an hour with these hours and levels."""
    visits = [
        visit(
            at_time=at,
            id=UUID(int=100 + n),
            site_id=UUID(int=200 + n),
            client=f"Garden {n}",
            site="",
        )
        for n, (at, _level) in enumerate(others)
    ]
    levels = {SITE: own} | {UUID(int=200 + n): level for n, (_at, level) in enumerate(others)}
    then = asked(standings={key: stood(one) for key, one in levels.items() if one is not None})
    return list(out_of_order(site(), vet_day(*visits), at_time, 60, then, None))


def test_a_clean_site_behind_an_infected_one() -> None:
    (one,) = told(0, (time(10), 2))
    assert (one.code, one.bars, one.field) == ("order", "reason", "at_time")
    assert one.says == (
        "Garden 0 at 10:00 is infected: Lower pond, gill flukes found on 9 Mar 2026. Brook House "
        "is clean, and clean goes before infected: an hour before 10:00, or another day, would "
        "keep to that."
    )
    assert told(0, (time(10), 2), at_time=time(8)) == []


def test_an_infected_site_before_a_cleaner_one() -> None:
    (one,) = told(2, (time(14), 0), (time(15, 30), 1))
    assert one.says == (
        "Brook House is infected: Lower pond, gill flukes found on 9 Mar 2026. Garden 1 at 15:30, "
        "which is doubtful, would come after it, and doubtful goes before infected: an hour after "
        "16:30, or another day, would keep to that."
    )
    assert told(2, (time(14), 2)) == [], "the same standing may stand on either side"


def test_nothing_follows_a_suspect_and_a_suspect_precedes_nothing() -> None:
    (behind,) = told(2, (time(10), 3))
    assert "After a suspect nobody drives on that day: an hour before 10:00" in behind.says
    (before,) = told(3, (time(14), 2))
    assert "after a suspect nobody drives on that day: an hour after 15:00" in before.says
    assert "a day without other visits, would keep to that" in before.says
    (two,) = told(3, (time(14), 3))
    assert two.says.endswith("on that day: a day without other visits would keep to that.")
    assert told(3, (time(9), 0)) == [], "last of its day"


def test_between_two_that_leave_no_room_only_another_day_helps() -> None:
    before, after = told(1, (time(10), 2), (time(14), 0))
    assert before.says.endswith("doubtful goes before infected: another day would keep to that.")
    assert after.says.endswith("clean goes before doubtful: another day would keep to that.")
    (room,) = told(1, (time(9), 0), (time(11), 2))
    assert "an hour after 10:00 and before 11:00, or another day" in room.says


@pytest.mark.parametrize(("own", "other"), [(None, 2), (0, None)])
def test_of_a_standing_that_is_not_known_nothing_is_said(
    own: int | None, other: int | None
) -> None:
    assert told(own, (time(10), other)) == []


def test_where_the_order_is_still_free_nothing_is_said() -> None:
    assert told(0, (None, 2)) == []
    assert told(0, (time(10), 2), at_time=None) == []
    there = asked(standings={SITE: stood(0), OTHER_SITE: stood(2)})
    nobody = vet_day(visit(staff_id=None), staff_id=None, who="", work=())
    assert list(out_of_order(site(), nobody, time(12), 60, there, None)) == []
    own = vet_day(visit())
    assert list(out_of_order(site(), own, time(12), 60, there, own.visits[0].id)) == []
    same = vet_day(visit(site_id=SITE))
    assert list(out_of_order(site(), same, time(12), 60, there, None)) == []


def test_it_is_told_among_all_that_speaks_against_an_hour_and_disinfecting_takes_its_time() -> None:
    then = asked(standings={SITE: stood(0), OTHER_SITE: stood(2)})
    found = objections_to(wish(), site(), vet_day(visit()), time(11, 30), 60, then)
    assert [one.code for one in found] == ["drive", "order"]
    assert "disinfecting takes 40 min and the drive from there is not known" in found[0].says
    far = objections_to(wish(), site(), vet_day(visit()), time(12), 60, then)
    assert [one.code for one in far] == ["order"], "40 min of disinfecting and 20 of drive"


def test_how_the_site_stands_is_among_what_is_to_be_known_of_a_day() -> None:
    sick = asked(standings={SITE: stood(2)})
    told_of = list(marks_of(HERE, vet_day(), sick))
    assert told_of == [
        "Brook House is infected: Lower pond, gill flukes found on 9 Mar 2026; 40 min of "
        "disinfecting follow the visit."
    ]
    suspect = asked(standings={SITE: stood(3)})
    assert "better alone on its day." in next(iter(marks_of(HERE, vet_day(), suspect)))
    beside = list(marks_of(HERE, vet_day(visit(latitude=52.0, longitude=0.1)), suspect))
    assert beside[1:] == ["there is another visit that day; a suspect is better alone on its day."]
    assert len(list(marks_of(HERE, vet_day(visit(site_id=SITE)), suspect))) == 1
    assert list(marks_of(HERE, vet_day(), asked(standings={SITE: stood(1)}))) == []


@given(st.integers(0, 3), st.lists(st.integers(0, 3), max_size=5), st.integers(0, 5))
def test_an_hour_is_free_of_it_where_a_round_may_drive_so(
    own: int, levels: list[int], at: int
) -> None:
    """Against the rule by which rounds are planned, pair by pair."""
    at = min(at, len(levels))
    around = [(time(8 + n), level) for n, level in enumerate(levels)]
    # The new visit comes at half past, right behind the first `at` of the others.
    found = told(own, *around, at_time=time(7 + at, 30))
    stops = tuple(Stop(0, (Window(0, 1440),), level) for level in (own, *levels))
    zeros = [[0] * len(stops) for _ in stops]
    rule = Problem(stops, (Vet(0, 1440),), zeros, [[0] * len(stops)], [[0] * len(stops)])
    before, after = range(1, at + 1), range(at + 1, len(stops))
    free = all(rule.may_follow(n, 0) for n in before) and all(rule.may_follow(0, n) for n in after)
    assert (found == []) == free
    assert len(found) <= 2


@given(st.permutations([0, 1, 2, 3]))
def test_the_order_in_which_visits_are_told_does_not_matter(order: list[int]) -> None:
    others = [(time(9), 0), (time(10), 2), (time(14), 1), (time(15), 3)]
    said = {
        tuple(one.code for one in told(1, *(others[at] for at in list(each))))
        for each in [order, *list(permutations(order))[:3]]
    }
    assert len(said) == 1


def test_another_day_is_another_day() -> None:
    tomorrow = visit(date(2026, 3, 19), time(8))
    there = asked(standings={SITE: stood(0), OTHER_SITE: stood(2)})
    day = vet_day(near_visits=(visit(DAY.replace(day=17), time(9)), tomorrow))
    assert list(out_of_order(site(), day, time(12), 60, there, None)) == []
