"""What is read, carried and handed out at the stops of a day, and the demo practice's own day."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from uuid import UUID

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.opening import open_book
from store.courses.kept.records import courses_of
from store.diary.booking.values import Purpose
from store.diary.desk.about import About
from store.diary.kept.calls.call_notes import NewCall, take_call
from store.diary.kept.visits.bookings import book_visit, wish_of
from store.diary.kept.visits.diary import visiting as visit_of
from store.diary.kept.visits.terms import set_terms
from store.exchange.demo.practice import make_demo
from store.exchange.plain.whose import PondNames
from store.facts.gear import gear_numbers, read_with, things
from store.rounds.kept.kits.kit import kit_list
from store.rounds.kit.gear import StopAsks, gear_lines
from store.rounds.kit.reads import ToRead, read_lines
from store.rounds.solving.problem import INFECTED, SUSPECT
from tests.book.entries import NOW
from tests.rounds.day_plans import ADA, BRAM, driver, errand, plan_of, two_drivers
from tests.rounds.kit_ponds import (
    TODAY,
    enter_test,
    line,
    listed,
    pond,
    stops,
    treat,
    visiting,
)
from tests.rounds.kit_portions import stop


def test_a_pond_without_a_test_is_read_for_the_usual(book: Book, act: Act) -> None:
    kit = listed(book, visiting(pond(book, act)))
    counted = {one.what: one.amount for one in kit.of("tests")}
    assert counted == {
        "thermometer": "", "pH meter, calibrated, with its buffers": "",
        "reagents for total ammonia": "2 tests", "reagents for nitrite": "2 tests",
        "reagents for carbonate hardness": "2 tests", "oxygen meter, charged": "",
    }  # fmt: skip
    one = line(kit, "tests", "reagents for nitrite")
    assert one.arithmetic == "1 pond + 1 spare = 2 tests"
    assert one.mind[0] == "No test of it yet: Alder Row, lower pond."


def test_what_a_pond_is_tested_for_is_read_again(book: Book, act: Act) -> None:
    first, second = pond(book, act), pond(book, act, "Teal Mill")
    enter_test(book, act, first, "12C NO3 20 GH 8", 3.0)
    enter_test(book, act, second, "12C NO3 20", 3.0)
    kit = listed(book, visiting(first, second))
    assert line(kit, "tests", "reagents for nitrate").amount == "3 tests"
    assert line(kit, "tests", "reagents for total hardness").amount == "2 tests"
    assert not any(one.what.startswith("reagents for nitrite") for one in kit.of("tests"))


def test_what_is_wrong_with_a_pond_is_read_there(book: Book, act: Act) -> None:
    """Nitrite stands on the morning list, though the newest test did not read it."""
    where = pond(book, act)
    enter_test(book, act, where, "18C pH 7.5 NO2 1.2", 2.0)
    kit = listed(book, visiting(where))
    assert "Nitrite" in line(kit, "tests", "reagents for nitrite").mind[0]


def test_reckoned_values_are_read_by_what_they_are_reckoned_from() -> None:
    at = stop()
    found = read_lines(
        [ToRead("nh3_n_mg_l", "lower pond", at, "un-ionised ammonia")],
        read_with(), gear_numbers()["spare_tests"],
    )  # fmt: skip
    assert [one.what for one in found] == [
        "thermometer", "pH meter, calibrated, with its buffers", "reagents for total ammonia",
    ]  # fmt: skip


def test_a_pond_with_a_kit_of_its_own_asks_for_no_reagent() -> None:
    asked = [
        ToRead("nitrite_mg_l", "lower pond", stop(), "as at the last tests", own_kit=True),
        ToRead("nitrite_mg_l", "upper pond", stop(2), "as at the last tests"),
    ]
    (one,) = read_lines(asked, read_with(), gear_numbers()["spare_tests"])
    assert one.amount == "2 tests"
    assert one.mind[1] == "With a kit of its own: lower pond."


def test_a_kit_that_expires_before_the_visit_says_so(book: Book, act: Act) -> None:
    where = pond(book, act)
    with book.writing(act) as writing:
        kit = writing.add(
            "kit", name="Drops", ammonia_form="n", nitrite_form="no2", nitrate_form="no3",
            batch="L1", expires_on=TODAY,
        )  # fmt: skip
        writing.change("pond", where, 1, "its kit", kit_id=kit)
    assert line(listed(book, visiting(where)), "tests", "kit: Drops").mind == ()
    later = visiting(where, on_day=date(2026, 3, 16))
    assert line(listed(book, later), "tests", "kit: Drops").mind == (
        "Its reagents expired on 2026-03-14.",
    )


def test_fish_are_looked_at_with_a_microscope_and_without_an_anaesthetic(
    book: Book, act: Act
) -> None:
    kit = listed(book, visiting(pond(book, act), kind="examination"))
    assert line(kit, "gear", "microscope").amount == ""
    assert line(kit, "gear", "slides").amount == "1"
    assert any("No anaesthetic is packed" in said for said in kit.remarks)
    plain = listed(book, visiting(pond(book, act, "Teal Mill"), kind="water test"))
    assert not any(one.what.startswith("microscope") for one in plain.of("gear"))
    assert plain.remarks == ()


def test_each_infected_stop_has_nets_and_clothes_of_its_own(book: Book, act: Act) -> None:
    clean, one, other = (pond(book, act, name) for name in ("Alder Row", "Teal Mill", "Reed"))
    order = (*stops([clean]), *stops([clean, one, other], level=INFECTED)[1:])
    kit = listed(book, plan_of((driver(), order), on_day=TODAY))
    for what in ("overalls", "a second set", "a boot dip"):
        assert line(kit, "gear", what).amount == "2"
        assert [each.nth for each in line(kit, "gear", what).stops] == [2, 3]
    assert line(kit, "gear", "disinfectant").stops == ()
    assert not any("authority" in one.what for one in kit.of("gear"))


def test_a_suspect_asks_for_tubes_the_authority_and_the_courier(book: Book, act: Act) -> None:
    kit = listed(book, visiting(pond(book, act), level=SUSPECT))
    assert line(kit, "gear", "sample tubes").amount == "1"
    assert line(kit, "gear", "the telephone number of the competent authority")
    assert any("courier is not in the book" in said for said in kit.remarks)


def test_oxygen_at_dawn_asks_for_a_logger(book: Book, act: Act) -> None:
    where = pond(book, act)
    order = tuple(replace(one, slot="dawn") for one in stops([where]))
    kit = listed(book, plan_of((driver(), order), on_day=TODAY))
    assert line(kit, "gear", "a logger").mind == ("Because oxygen is the question.",)


def test_what_a_call_asks_to_carry_is_carried(book: Book, act: Act) -> None:
    where = pond(book, act)
    with book.writing(act) as writing:
        call = take_call(
            writing,
            NewCall({"caller": "Ina Marsh", "gasping": "yes", "bowl": "no"}, pond_id=where),
        )
    why = Purpose(
        str(About("call", call)), "call_same_day", "fish gasp", where, TODAY, TODAY, TODAY
    )
    kit = listed(book, visiting(where, kind="urgent call", purposes=(why,)))
    assert "fish gasp" in line(kit, "gear", "air pump").mind[0]
    assert line(kit, "gear", "floating basket").arithmetic == "asked for by a call"
    whats = [one.what for one in kit.of("gear")]
    assert len([one for one in whats if "microscope" in one]) == 1
    assert not any("water test kit" in one for one in whats)


def test_a_call_that_is_gone_asks_for_nothing(book: Book, act: Act) -> None:
    where = pond(book, act)
    why = Purpose(str(About("call", where)), "call_same_day", "gone", where, TODAY, TODAY, TODAY)
    odd = Purpose("no name", "visit", "odd", where, TODAY, TODAY, TODAY)
    assert listed(book, visiting(where, purposes=(why, odd))).of("gear")


def test_one_thing_for_the_day_is_not_counted_by_stops() -> None:
    asked = [StopAsks(stop(nth), frozenset({"examination"})) for nth in (1, 2, 3)]
    found = {one.what.partition(",")[0]: one.amount for one in gear_lines(asked, things())}
    assert found["microscope"] == ""
    assert found["pan net"] == "3"


def test_a_consent_form_and_prices_lie_with_the_papers(book: Book, act: Act) -> None:
    where = pond(book, act)
    wish = wish_of(book, pond_id=where, kind="examination")
    with book.writing(act) as writing:
        key = book_visit(writing, wish, TODAY, None, act.by, in_spite="it has to be")
        set_terms(writing, key, "visit 80, each fish 12", "to be signed")
    order = tuple(replace(one, visit=visit_of(book, key)) for one in stops([where]))
    kit = listed(book, plan_of((driver(), order), on_day=TODAY))
    assert line(kit, "papers", "consent form to be signed").stops[0].nth == 1
    assert line(kit, "papers", "prices").mind == ("Stop 1, pond: visit 80, each fish 12",)


def test_the_round_of_one_and_of_all(book: Book, act: Act) -> None:
    first, second = pond(book, act), pond(book, act, "Teal Mill")
    treat(book, act, first)
    treat(book, act, second)
    mine, theirs = stops([first]), stops([first, second])[1:]
    plan = plan_of((driver(), mine), (driver(BRAM, "Bram Oystercatch"), theirs), on_day=TODAY)
    assert [one.amount for one in kit_list(book, plan, ADA, NOW).of("agents")] == ["18.3 g"]
    every = kit_list(book, plan, None, NOW)
    assert [one.amount for one in every.of("agents")] == ["36.6 g"]
    assert every.who == "A Ada Vet, B Bram Oystercatch"
    assert [one.said for one in every.stops] == ["A1", "B1"]
    assert kit_list(book, plan, ADA, NOW).stops[0].said == "1"


def test_somebody_who_does_not_drive_packs_nothing(sqlite_book: Book) -> None:
    kit = kit_list(sqlite_book, two_drivers(), UUID(int=99), NOW)
    assert (kit.who, kit.stops, kit.lines) == ("nobody", (), ())


def test_a_site_without_a_pond_still_has_its_gear(book: Book, act: Act) -> None:
    kit = listed(book, plan_of((driver(), (errand(1, "New, site", None, ponds=()),)), on_day=TODAY))
    assert kit.of("tests") == ()
    assert line(kit, "gear", "disinfectant")


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("demo") / "demo.pondround"
    make_demo(path, DEMO_NOW).close()
    return path


DEMO_NOW = datetime(2026, 5, 20, 6, 30, tzinfo=UTC)


def test_the_demo_practice_packs_formalin_and_a_batch_and_nothing_else(demo: Path) -> None:
    """On any day one dose of formalin and one batch of feed are due; the others are not."""
    with open_book(demo, now=DEMO_NOW) as book:
        names = PondNames(book)
        ponds = [names.one(code) for code in ("PEL-3", "VEL-1", "QUA-1", "OST-2", "PEN-1")]
        plan = plan_of((driver(), stops(ponds)), on_day=book.today(DEMO_NOW))
        kit = kit_list(book, plan, None, DEMO_NOW)
        assert [(one.what.partition(",")[0], one.amount) for one in kit.of("weigh")] == [
            ("formalin", "99 mL"), ("florfenicol", "3.78 g"),
        ]  # fmt: skip
        assert kit.of("waits") == ()
        formalin = line(kit, "agents", "formalin")
        assert formalin.arithmetic == "99 mL, with 10 % margin 109 mL"
        assert "it causes cancer" in " ".join(formalin.mind)
        due = {
            one.id: one for pond_id in ponds for one in courses_of(book, pond_id)
            if one.state == "running"
        }  # fmt: skip
        assert len(due) == 4
        assert {stop.nth for one in kit.of("papers") for stop in one.stops} == {1, 2}
        assert kit.of("tests")[0].what == "kit: Drop tests of the van"
