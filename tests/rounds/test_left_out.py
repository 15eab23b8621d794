"""Every visit that was left out has a sentence, and what it says would help does help."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings

from store.rounds.solving.found import found_in
from store.rounds.solving.halt import Halt
from store.rounds.solving.left_out import LeftOut, why_left_out
from store.rounds.solving.problem import CLEAN, INFECTED, SUSPECT, Problem, Stop, Vet, Window
from store.rounds.solving.proof import best_rounds
from store.rounds.solving.timetable import timetable
from tests.rounds.solving_days import DAY, WORK, line, small_days

NAMES = ["Brook House", "Mill Farm", "The Hall", "Old Vicarage"]
VETS = ["Ada", "Ben"]


def only(problem: Problem) -> LeftOut:
    found = best_rounds(problem)
    assert found.proven
    (one,) = why_left_out(problem, found, NAMES, VETS)
    return one


@pytest.mark.parametrize(
    ("stop", "way", "why", "says"),
    [
        (Stop(30, ()), 5, "hours", "For Brook House there are no hours in which one gets in."),
        (Stop(60, (Window(540, 570), Window(900, 945))), 5, "hours",
         "Brook House takes 60 min, but one gets in for 45 min at most: 09:00 to 09:30 or 15:00 to "
         "15:45."),
        (Stop(30, DAY, vets=frozenset()), 5, "nobody",
         "Nobody on the road may go to Brook House."),
        (Stop(30, DAY), 300, "alone",
         "Even alone Brook House does not fit: with 300 min there and 300 min home Ada is back at "
         "18:30, and the working hours end at 17:00."),
        (Stop(30, (Window(480, 540),)), 90, "alone",
         "Even alone Brook House does not fit: Ada is there at 09:30 after 90 min of driving, too "
         "late for 30 min in 08:00 to 09:00."),
    ],
)  # fmt: skip
def test_what_is_seen_without_a_search(stop: Stop, way: int, why: str, says: str) -> None:
    one = only(line([way], stop))
    assert (one.why, one.says, one.helps) == (why, says, ())


def test_no_room_for_the_break() -> None:
    one = only(line([10], Stop(400, DAY), vets=[Vet(480, 910, 30, 600, 620)]))
    assert one.says == (
        "Even alone Brook House does not fit: it leaves Ada no room for the break of 30 min."
    )


def test_nobody_is_on_the_road() -> None:
    one = only(Problem((Stop(30, DAY),), (), [[0]], [], []))
    assert one.says == "Nobody is on the road to go to Brook House."


def test_an_optional_visit_that_is_not_worth_its_way() -> None:
    one = only(line([10, 60], Stop(30, DAY), Stop(30, DAY, skip_cost=45)))
    assert (one.stop, one.why) == (1, "worth")
    assert one.says == "Mill Farm would add 100 min of driving; it is worth 45 min."


def test_two_at_the_same_hour_and_what_would_help() -> None:
    """Both gates are open from nine to half past; each visit takes 30 min."""
    nine = (Window(540, 570),)
    one = only(line([10, -10], Stop(30, nine), Stop(30, nine)))
    assert one.why == "full"
    name, other = NAMES[one.stop], NAMES[1 - one.stop]
    assert one.says == f"{name} does not fit beside the other visits."
    moments = [said for said in one.helps if said.startswith("It fits at")]
    assert len(moments) == 1
    assert any(said.startswith(f"It fits if {other} can be moved to") for said in one.helps)
    assert f"It fits in place of {other}." in one.helps
    assert not any("longer" in said or "cleaner" in said for said in one.helps)


def test_so_many_minutes_longer() -> None:
    """There, two visits of four hours and home are 500 min; the day has 480."""
    problem = line([10, 10], Stop(240, DAY), Stop(240, DAY), vets=[Vet(480, 960)])
    one = only(problem)
    assert "It fits if Ada works 20 min longer." in one.helps
    longer = replace(problem, vets=(Vet(480, 980),))
    assert best_rounds(longer).left_out == ()
    assert best_rounds(replace(problem, vets=(Vet(480, 979),))).left_out != ()


def test_a_day_without_any_hours_is_longer_all_the_same() -> None:
    """Gates open at any time and nobody rests: no clock is looked at until the day is too short."""
    any_time = (Window(0, 1440),)
    one = only(line([10, 10], Stop(240, any_time), Stop(240, any_time), vets=[Vet(480, 960)]))
    assert "It fits if Ada works 20 min longer." in one.helps


def test_only_the_rule_stands_in_the_way() -> None:
    """The infected pond opens in the morning only, the clean one in the afternoon only."""
    stops = (Stop(30, (Window(480, 600),), INFECTED), Stop(30, (Window(840, 1020),), CLEAN))
    problem = line([10, 20], *stops)
    one = only(problem)
    assert one.why == "full"
    assert any(
        "only fit if Mill Farm (clean) came after Brook House (infected): one step" in said
        for said in one.helps
    )
    assert best_rounds(replace(problem, ordered=False)).left_out == ()


def test_what_lets_a_visit_in_once_none_is_kept_that_was_only_added() -> None:
    """The infected pond at nine stands before a clean one at eleven, in the time of a third."""
    problem = line(
        [2, 3, 4],
        Stop(30, (Window(540, 570),), INFECTED),
        Stop(30, (Window(660, 690),)),
        Stop(150, (Window(500, 660),), skip_cost=40),
        vets=[Vet(480, 710)],
    )
    one = only(problem)
    assert (one.stop, one.why) == (0, "full")
    assert all(said.startswith("Without what was only added it ") for said in one.helps)
    assert "it fits if Mill Farm can be moved to 0" in one.helps[0]
    assert "it would only fit if Mill Farm (clean) came after Brook House" in one.helps[1]
    assert one.helps[2:] == ("Without what was only added it fits in place of Mill Farm.",)
    early = replace(problem.stops[1], windows=(Window(480, 540),))
    moved = replace(problem, stops=(problem.stops[0], early, problem.stops[2]))
    assert best_rounds(moved).left_out == (2,)


def test_a_second_suspect_needs_another_vet() -> None:
    suspects = (Stop(30, DAY, SUSPECT), Stop(30, DAY, SUSPECT))
    one = only(line([10, 20], *suspects))
    assert one.why == "full"
    assert best_rounds(line([10, 20], *suspects, vets=[WORK, WORK])).left_out == ()


def test_a_search_that_was_stopped_claims_nothing() -> None:
    problem = line([10, 10], Stop(300, DAY), Stop(300, DAY))
    found = best_rounds(problem)
    halt = Halt()
    halt.stop()
    (one,) = why_left_out(problem, found, NAMES, VETS, halt=halt)
    assert (one.why, one.helps) == ("unknown", ())


def test_of_many_the_rest_are_told_without_a_search() -> None:
    problem = line([10] * 4, *[Stop(300, DAY)] * 4)
    told = why_left_out(problem, best_rounds(problem), NAMES, VETS, at_most=1)
    assert [one.why for one in told].count("full") == 1
    assert [one.why for one in told].count("unknown") == 2
    assert any("No room was found" in one.says and "has 1 visit from" in one.says for one in told)


def test_a_larger_day_is_looked_at_round_by_round() -> None:
    """Ten visits of 40 min and the drive fill 440 min of 440; one more needs 40 min more."""
    stops = [Stop(40, DAY)] * 21
    problem = line([20] * 21, *stops, vets=[Vet(480, 920), Vet(480, 920)])
    rounds = [timetable(problem, 0, range(10)), timetable(problem, 1, range(10, 20))]
    found = found_in(problem, [one for one in rounds if one is not None])
    (one,) = why_left_out(problem, found, [f"Pond {i}" for i in range(21)], VETS)
    assert one.why == "full"
    assert one.says == "Pond 20 does not fit in any round as they are shared out."
    assert "It fits if Ada works 40 min longer." in one.helps
    assert "It fits if Ben works 40 min longer." in one.helps


@settings(max_examples=8, deadline=None)
@given(small_days(stops=4))
def test_nothing_is_left_out_without_a_word(problem: Problem) -> None:
    found = best_rounds(problem)
    told = why_left_out(problem, found, NAMES, VETS)
    assert [one.stop for one in told] == list(found.left_out)
    for one in told:
        assert NAMES[one.stop] in one.says
        assert one.says.endswith(".")
        if one.why == "worth":
            assert problem.stops[one.stop].skip_cost == 40
        if found.proven:
            assert "fits after all" not in one.says
