"""How sites stand by their records, on both databases; and which hour of the day they want."""

from __future__ import annotations

from pathlib import Path
from uuid import UUID

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.opening import open_book
from store.courses.kept.morning import morning_list
from store.exams.values import Found
from store.facts.driving import driving
from store.rounds.kept.standing.standing import site_standings
from store.rounds.kept.standing.standing_values import (
    RANK,
    STANDINGS,
    Reason,
    SiteStanding,
    disinfect_min,
    infectious,
    notifiable,
)
from tests.bench.caseload import make_caseload
from tests.book.entries import NOW
from tests.diary.desk_entries import GOOD
from tests.diary.desk_entries import sample as water
from tests.rounds.standing_ponds import DAY, FLUKES, TODAY, looked, own, rest_all, sent, treat
from tests.rounds.stood import died, event, standing

# --- the fish -------------------------------------------------------------------------------------


def test_fish_that_nobody_has_examined_are_doubtful(book: Book, act: Act) -> None:
    site, _pond = own(book, act)
    found = standing(book, site)
    assert (found.standing, found.on_day, found.disinfect_min) == ("doubtful", None, 0)
    assert found.said == "doubtful: Lower pond, fish never examined"


def test_a_clean_look_makes_clean_for_a_year(book: Book, act: Act) -> None:
    site, pond = own(book, act)
    looked(book, act, pond, 2)
    found = standing(book, site)
    assert found.said == (
        "clean: Lower pond, fish last examined on 12 Mar 2026, and nothing is open"
    )
    holds = driving().examined_days
    assert standing(book, site, NOW + (holds - 2) * DAY).standing == "clean"
    late = standing(book, site, NOW + (holds - 1) * DAY)
    assert late.said == (
        "doubtful: Lower pond, fish last examined on 12 Mar 2026, more than 365 days ago"
    )


def test_a_laboratory_that_found_nothing_counts_as_a_look(book: Book, act: Act) -> None:
    site, pond = own(book, act)
    sent(book, act, pond, 9, "not detected")
    assert standing(book, site).standing == "clean"


def test_a_site_without_a_pond_is_doubtful(book: Book, act: Act) -> None:
    with book.writing(act) as writing:
        site = writing.add("site", client_id=writing.add("client", name="A"), name="Garden")
    assert standing(book, site).said == "doubtful: no pond is entered here"


def test_the_worst_pond_decides(book: Book, act: Act) -> None:
    site, first, second, third = own(book, act, "Brook House", "First", "Second", "Third")
    looked(book, act, first, 2)
    looked(book, act, second, 3, FLUKES)
    found = standing(book, site)
    assert found.said == "infected: Second, gill flukes found on 11 Mar 2026, unanswered"
    assert found.reasons[0].pond == second
    assert {one.pond for one in found.reasons} == {second, third}
    assert "clean" not in {one.standing for one in found.reasons}


def test_struck_ponds_and_sites_are_not_looked_at(book: Book, act: Act) -> None:
    site, first, second = own(book, act, "Brook House", "First", "Second")
    looked(book, act, first, 2)
    looked(book, act, second, 3, FLUKES)
    gone, _pond = own(book, act, "Bea Ash")
    with book.writing(act) as writing:
        writing.strike("pond", second, "filled in")
        writing.strike("site", gone, "sold")
    assert standing(book, site).standing == "clean"
    assert gone not in site_standings(book, NOW)


# --- findings and courses -------------------------------------------------------------------------


def test_an_open_finding_infects_until_a_later_look(book: Book, act: Act) -> None:
    site, pond = own(book, act)
    looked(book, act, pond, 3, FLUKES)
    found = standing(book, site)
    assert (found.standing, found.disinfect_min) == ("infected", 20)
    looked(book, act, pond, 1)
    assert standing(book, site).standing == "clean"


def test_what_was_only_suspected_infects_too(book: Book, act: Act) -> None:
    site, pond = own(book, act)
    looked(book, act, pond, 3, Found("costia", score=1, confidence="suspected"))
    assert standing(book, site).said == (
        "infected: Lower pond, costia suspected on 11 Mar 2026, unanswered"
    )


def test_a_finding_at_rest_infects_all_the_same(book: Book, act: Act) -> None:
    site, pond = own(book, act)
    looked(book, act, pond, 3, FLUKES)
    rest_all(book, act, pond)
    assert standing(book, site).standing == "infected"


def test_a_running_course_infects_and_its_end_leaves_a_doubt(book: Book, act: Act) -> None:
    site, pond = own(book, act)
    looked(book, act, pond, 9)
    treat(book, act, pond, 6, "gill_flukes", "costia")
    assert standing(book, site).said == (
        "infected: Lower pond, a course runs since 8 Mar 2026 against gill flukes, costia"
    )


@pytest.mark.parametrize(
    ("state", "how"), [("completed", "ended"), ("stopped", "was stopped early")]
)
def test_after_a_course_the_control_is_wanted(book: Book, act: Act, state: str, how: str) -> None:
    site, pond = own(book, act)
    looked(book, act, pond, 9)
    treat(book, act, pond, 6, "gill_flukes", ended=2, state=state)
    assert standing(book, site).said == (
        f"doubtful: Lower pond, the course against gill flukes {how} on 12 Mar 2026, and no "
        "control examination was made"
    )
    looked(book, act, pond, 1, purpose="control")
    assert standing(book, site).standing == "clean"


def test_a_course_without_a_hazard_is_taken_for_one_that_spreads(book: Book, act: Act) -> None:
    site, pond = own(book, act)
    looked(book, act, pond, 9)
    treat(book, act, pond, 6)
    found = standing(book, site)
    assert found.standing == "infected"
    assert "not said which hazard" in found.said
    other, pond = own(book, act)
    looked(book, act, pond, 9)
    treat(book, act, pond, 6, ended=2)
    found = standing(book, other)
    assert found.standing == "doubtful"
    assert found.said.endswith("ended on 12 Mar 2026, and no control examination was made")


def test_a_course_against_the_state_of_the_water_infects_nothing(book: Book, act: Act) -> None:
    site, pond = own(book, act)
    looked(book, act, pond, 9)
    treat(book, act, pond, 6, "gas_supersaturation")
    assert standing(book, site).standing == "clean"


def test_a_course_against_a_notifiable_disease(book: Book, act: Act) -> None:
    """Fish that came through a virus carry it on: its end clears nothing, nor does the eye.

    Neither does another course that ended later.
    """
    site, pond = own(book, act)
    treat(book, act, pond, 9, "khv", ended=6)
    assert standing(book, site).standing == "suspect"
    treat(book, act, pond, 5, "gill_flukes", ended=3)
    assert standing(book, site).standing == "suspect"
    looked(book, act, pond, 2, purpose="control")
    assert standing(book, site).said == (
        "suspect: Lower pond, the course against koi herpesvirus disease ended on 8 Mar 2026, and "
        "no laboratory has ruled out koi herpesvirus disease since"
    )
    sent(book, act, pond, 1, "not detected")
    assert standing(book, site).standing == "clean"


def test_a_hazard_that_was_only_noted(book: Book, act: Act) -> None:
    site, pond = own(book, act)
    looked(book, act, pond, 20)
    event(book, act, pond, "hazard_seen", 10, hazard="costia")
    assert standing(book, site).said == (
        "infected: Lower pond, costia noted on 4 Mar 2026, unanswered"
    )
    named = driving().named_days
    assert standing(book, site, NOW + (named - 10) * DAY).standing == "infected"
    assert standing(book, site, NOW + (named - 9) * DAY).standing == "clean"
    looked(book, act, pond, 2)
    assert standing(book, site).standing == "clean"


def test_a_course_answers_a_note(book: Book, act: Act) -> None:
    site, pond = own(book, act)
    event(book, act, pond, "hazard_seen", 10, hazard="costia")
    treat(book, act, pond, 8, "costia", ended=4)
    looked(book, act, pond, 4)
    assert standing(book, site).standing == "clean"


# --- new fish, gear, deaths -----------------------------------------------------------------------


def test_new_fish_are_watched_as_long_as_they_may_fall_ill(book: Book, act: Act) -> None:
    """At 23 °C deaths came up to 20 days after contact (Yuasa et al. 2008); 52 where the water is
    not known."""
    site, pond = own(book, act)
    looked(book, act, pond, 1)
    event(book, act, pond, "new_fish", 25, amount=6.0)
    found = standing(book, site)
    assert found.said == (
        "doubtful: Lower pond, 6 fish came on 17 Feb 2026 and may still fall ill until "
        "10 Apr 2026 (temperature not known)"
    )
    water(book, act, pond, NOW - DAY, GOOD.replace("12C", "23C"))
    assert standing(book, site).standing == "clean"


def test_the_newest_of_logger_and_test_is_the_water(sqlite_book: Book, act: Act) -> None:
    site, pond = own(sqlite_book, act)
    looked(sqlite_book, act, pond, 1)
    event(sqlite_book, act, pond, "new_fish", 25)
    water(sqlite_book, act, pond, NOW - 3 * DAY, GOOD.replace("12C", "23C"))
    day = {"pond_id": pond, "parameter": "temperature_c", "n": 24, "low": 8.0, "high": 25.0}
    with sqlite_book.writing(act) as writing:
        writing.add_many("logger_day", [day | {"day": TODAY - 5 * DAY, "mean": 9.0}])
    assert standing(sqlite_book, site).standing == "clean"
    with sqlite_book.writing(act) as writing:
        writing.add_many("logger_day", [day | {"day": TODAY - DAY, "mean": 9.0}])
    assert "(9.0 °C)" in standing(sqlite_book, site).said


def test_gear_that_came_undisinfected_from_an_infected_pond(book: Book, act: Act) -> None:
    _first, sick = own(book, act, "Sick Farm")
    site, pond = own(book, act)
    looked(book, act, sick, 1, FLUKES, hour=9, gear="not disinfected")
    looked(book, act, pond, 1, hour=11)
    found = standing(book, site)
    assert found.standing == "doubtful"
    assert "gill flukes may have been carried here" in found.said
    assert "Sick Farm, Lower pond" in found.said
    looked(book, act, pond, 0)
    assert standing(book, site).standing == "clean"


def test_disinfected_gear_carries_nothing(book: Book, act: Act) -> None:
    _first, sick = own(book, act, "Sick Farm")
    site, pond = own(book, act)
    looked(book, act, sick, 1, FLUKES, hour=9, gear="disinfected")
    looked(book, act, pond, 1, hour=11)
    assert standing(book, site).standing == "clean"


def test_losses_that_nothing_explains_infect(book: Book, act: Act) -> None:
    site, pond = own(book, act)
    looked(book, act, pond, 9)
    died(book, act, pond, 2, 1)
    assert standing(book, site).said == "doubtful: Lower pond, 1 dead in 7 days"
    died(book, act, pond, 1, 5)
    found = standing(book, site)
    assert found.said == "infected: Lower pond, 6 dead in 7 days, nothing explains them"
    assert found.on_day == TODAY - DAY
    assert standing(book, site, NOW + 8 * DAY).standing == "clean"


def test_losses_just_after_a_power_cut_leave_a_doubt(book: Book, act: Act) -> None:
    site, pond = own(book, act)
    looked(book, act, pond, 9)
    died(book, act, pond, 1, 5)
    event(book, act, pond, "power_cut", 2)
    found = standing(book, site)
    assert found.standing == "doubtful"
    assert "5 dead in 7 days, just after a power cut" in found.said
    died(book, act, pond, 4, 2)  # before it
    assert standing(book, site).standing == "infected"


# --- many -----------------------------------------------------------------------------------------


def test_the_number_of_queries_does_not_grow_with_the_ponds(tmp_path: Path) -> None:
    """What the standings cost beside the morning list is bounded, whatever the caseload."""
    from sqlalchemy import event as on

    counts = []
    for ponds in (30, 300):
        path = tmp_path / f"{ponds}.pondround"
        make_caseload(path, ponds, 3, NOW)
        with open_book(path, now=NOW) as book:
            morning = morning_list(book, NOW)
            said: list[str] = []
            on.listen(
                book.engine, "before_cursor_execute", lambda *args, into=said: into.append(args[2])
            )
            assert len(site_standings(book, NOW, morning)) == ponds // 3 + 1
            counts.append(len(said))
    assert counts[0] == counts[1] < 40


def test_standings_are_ordered_and_cost_what_the_facts_say() -> None:
    assert [RANK[one] for one in STANDINGS] == [0, 1, 2, 3]
    assert [disinfect_min(one) for one in STANDINGS] == [0, 0, 20, 45]
    assert (infectious("khv"), infectious("spring_gap"), infectious("unknown")) == (
        True,
        False,
        True,
    )
    assert (notifiable("khv"), notifiable("costia"), notifiable("unknown")) == (True, False, False)


def test_more_reasons_of_the_same_weight_are_counted() -> None:
    reasons = tuple(
        Reason(one, UUID(int=1), "Mere", says, TODAY)
        for one, says in (("infected", "a"), ("infected", "b"), ("doubtful", "c"))
    )  # type: ignore[misc]
    assert SiteStanding(UUID(int=2), "Ann", "Garden", reasons).said == "infected: Mere, a; 1 more"
