"""Which doses are packed, which are told and not packed, and what their amounts rest on."""

from __future__ import annotations

from dataclasses import replace

import pytest

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.records import course
from store.courses.planning.course import Product, Ration
from store.diary.booking.values import Purpose
from store.diary.desk.about import About
from store.rounds.kit.values import GROUPS
from tests.rounds.kit_ponds import (
    DAY,
    TODAY,
    enter_test,
    give,
    line,
    listed,
    pond,
    shelve,
    treat,
    visiting,
)


def test_two_ponds_of_one_agent_are_one_line_with_its_packs(book: Book, act: Act) -> None:
    """18.3 g + 18.3 g = 36.6 g; × 1.1 = 40.26 g, told as 40.3 g."""
    first, second = pond(book, act), pond(book, act, "Teal Mill")
    for each in (first, second):
        treat(book, act, each)
    shelve(book, act)
    kit = listed(book, visiting(first, second))
    one = line(kit, "agents", "praziquantel")
    assert one.arithmetic == ("18.3 g + 18.3 g = 36.6 g, with 10 % margin 40.3 g → 1 pack of 100 g")
    assert (one.amount, one.packs) == ("36.6 g", "1 pack of 100 g")
    assert [stop.nth for stop in one.stops] == [1, 2]
    assert any("never given" in said for said in one.mind)
    assert one.mind[-1] == "Local law, the label and the prescribing vet decide."
    weighed = kit.of("weigh")
    assert [portion.amount for portion in weighed] == ["18.3 g", "18.3 g"]
    assert weighed[0].label[:4] == (
        "praziquantel: powder, 98 % by weight", "18.3 g", "Alder Row, lower pond, stop 1",
        "dose 1 of 1, Saturday 14 March 2026",
    )  # fmt: skip
    assert weighed[0].rests_on == (
        "volume in force 9000 L, 8000 to 10000 L, salt: it makes 1.8 mg/L to 2.25 mg/L"
    )
    assert kit.of("waits") == ()


def test_what_is_packed_never_reaches_the_pond_as_the_margin(book: Book, act: Act) -> None:
    """The portion is what was reckoned for the pond, whatever is packed on top."""
    where = pond(book, act)
    treat(book, act, where)
    kit = listed(book, visiting(where))
    (one,) = kit.of("weigh")
    assert one.portion is not None
    assert one.portion.amount == 18.3
    need = line(kit, "agents", "praziquantel").need
    assert need is not None
    assert need.with_margin == pytest.approx(20.13)


def test_a_dose_of_another_day_is_not_in_the_list(book: Book, act: Act) -> None:
    where = pond(book, act)
    treat(book, act, where, TODAY + 3 * DAY)
    kit = listed(book, visiting(where))
    assert [kit.of(group) for group in ("agents", "weigh", "waits")] == [(), (), ()]
    kit = listed(book, visiting(where, on_day=TODAY + 3 * DAY))
    assert [one.amount for one in kit.of("weigh")] == ["18.3 g"]
    assert "look again on the morning" in kit.remarks[0]


def test_a_dose_that_was_given_is_not_packed_again(book: Book, act: Act) -> None:
    where = pond(book, act)
    key = treat(book, act, where)
    give(book, act, key, 1, TODAY)
    kit = listed(book, visiting(where))
    assert kit.of("agents") == ()
    assert kit.of("waits") == ()


def test_of_a_dose_given_in_part_today_the_rest_is_packed(book: Book, act: Act) -> None:
    """18.3 g - 10 g = 8.3 g."""
    where = pond(book, act)
    key = treat(book, act, where)
    give(book, act, key, 1, TODAY, 10.0, why="the rest follows tonight")
    (one,) = (
        *listed(book, visiting(where)).of("weigh"),
        *listed(book, visiting(where)).of("waits"),
    )
    assert one.amount == "8.3 g"
    assert "what is left of it is 8.3 g" in one.arithmetic


def test_a_dose_that_slipped_a_day_is_packed_and_says_so(book: Book, act: Act) -> None:
    where = pond(book, act)
    treat(book, act, where, TODAY - DAY, begun_on=TODAY - 2 * DAY)
    kit = listed(book, visiting(where))
    shown = (*kit.of("weigh"), *kit.of("waits"))
    assert len(shown) == 1
    assert any("1 d before" in said for said in shown[0].mind)


def test_a_dose_that_fell_out_of_the_plan_waits_for_a_vet(book: Book, act: Act) -> None:
    """Overdue by more than three days it is missed: the plan goes on without it."""
    where = pond(book, act)
    treat(book, act, where, TODAY - 9 * DAY, TODAY + 5 * DAY, begun_on=TODAY - 10 * DAY)
    kit = listed(book, visiting(where))
    assert kit.of("agents") == ()
    assert kit.of("weigh") == ()
    (one,) = kit.of("waits")
    assert "planned anew by a vet" in one.mind[0]


def test_a_course_that_has_not_begun_is_told_with_what_it_would_take(book: Book, act: Act) -> None:
    where = pond(book, act)
    treat(book, act, where, begun=False)
    shelve(book, act)
    kit = listed(book, visiting(where))
    assert kit.of("agents") == ()
    (one,) = kit.of("waits")
    assert one.mind[0] == (
        "The course has not begun: a vet begins it, then it is packed. "
        "It would take 1 pack of 100 g."
    )
    assert (one.amount, one.packs) == ("18.3 g", "not packed")


def test_what_the_owner_gives_is_not_packed(book: Book, act: Act) -> None:
    where = pond(book, act)
    treat(book, act, where, share="owner")
    kit = listed(book, visiting(where))
    assert kit.of("agents") == ()
    assert kit.of("waits")[0].mind[0].startswith("The owner gives it")
    assert not any(one.what.startswith("scales") for one in kit.of("gear"))


def test_a_stop_without_an_answer_keeps_a_dose_out_of_the_van(book: Book, act: Act) -> None:
    """No bath of a whole pond is published for it: only a vet's reason in writing lets it go."""
    where = pond(book, act)
    treat(book, act, where, agent="chloramine_t", amount=18.0, product=Product())
    kit = listed(book, visiting(where))
    assert kit.of("agents") == ()
    assert kit.of("waits")[0].mind[0].startswith("A stop waits for a vet's reason in writing: ")


def test_a_reading_that_is_missing_is_read_at_the_pond_and_the_agent_packed(
    book: Book, act: Act
) -> None:
    """Without an oxygen reading formalin is a stop: the visit reads it, with formalin in the van."""
    where = pond(book, act)
    treat(book, act, where, agent="formalin", dose=15.0, amount=123.0, amount_unit="mL",
          product=Product("formalin", 37.0, "product", 1.09))  # fmt: skip
    kit = listed(book, visiting(where))
    (one,) = kit.of("weigh")
    assert one.mind[0].startswith("It is packed, and stays a stop until it is read at the pond:")
    assert "oxygen" in one.mind[0]
    assert line(kit, "tests", "oxygen meter")
    assert kit.of("waits") == ()


def test_one_dose_of_an_agent_at_a_time(book: Book, act: Act) -> None:
    where = pond(book, act)
    treat(book, act, where, TODAY - DAY, TODAY, begun_on=TODAY - 2 * DAY)
    kit = listed(book, visiting(where))
    (one,) = (*kit.of("weigh"), *kit.of("waits"))
    assert one.amount == "18.3 g"
    assert any("is open too and not in the list" in said for said in one.mind)


def test_a_dose_due_before_the_visit_waits_until_it_is_known(book: Book, act: Act) -> None:
    where = pond(book, act)
    treat(book, act, where, TODAY + DAY)
    (one,) = listed(book, visiting(where, on_day=TODAY + 2 * DAY)).of("waits")
    assert "before this visit" in one.mind[0]


def test_a_dose_that_the_visit_is_to_keep_is_packed_though_it_is_due_before(
    book: Book, act: Act
) -> None:
    """Nobody gives it today: the visit of tomorrow is there for it."""
    where = pond(book, act)
    key = course(book, treat(book, act, where)).dose_ids[1, 1]
    why = Purpose(str(About("dose", key)), "dose", "dose 1", where, TODAY, TODAY, TODAY + DAY)
    tomorrow = visiting(where, on_day=TODAY + DAY, purposes=(why,))
    (one,) = listed(book, tomorrow).of("weigh")
    assert one.amount == "18.3 g"
    assert any("1 d before" in said for said in one.mind)
    assert listed(book, visiting(where, on_day=TODAY + DAY)).of("weigh") == ()


def test_a_dose_that_is_meant_too_early_waits_for_a_vet(book: Book, act: Act) -> None:
    where = pond(book, act)
    key = course(book, treat(book, act, where, TODAY + 4 * DAY)).dose_ids[1, 1]
    why = Purpose(str(About("dose", key)), "dose", "dose 1", where, TODAY, TODAY, TODAY + DAY)
    (one,) = listed(book, visiting(where, purposes=(why,))).of("waits")
    assert "after this visit: a vet says whether it goes in sooner" in one.mind[0]


def test_a_pond_without_a_volume_is_told_and_asks_for_a_tape(book: Book, act: Act) -> None:
    where = pond(book, act)
    treat(book, act, where)
    with book.writing(act) as writing:
        writing.change("pond", where, 1, "measured wrongly", volume_l=None, volume_low_l=None,
                       volume_high_l=None)  # fmt: skip
    kit = listed(book, visiting(where))
    assert kit.of("weigh") == ()
    assert "volume of this pond is not known" in kit.of("waits")[0].mind[0]
    assert line(kit, "gear", "tape, depth stick").amount == "1"


def test_another_volume_than_the_planned_is_said(book: Book, act: Act) -> None:
    where = pond(book, act)
    treat(book, act, where, volume_l=7000.0)
    (one,) = listed(book, visiting(where)).of("weigh")
    assert any("reckoned for 7000 L; the volume in force is 9000 L" in said for said in one.mind)


def test_dechlorinator_goes_by_the_water_that_is_added(book: Book, act: Act) -> None:
    """30 % of 9000 L are 2700 L; 2 mg/L × 2700 L × 7.4 / 1000 = 39.96 g (Piper 1982, p. 283)."""
    where = pond(book, act, source_water="mains")
    treat(book, act, where, water_change_percent=30.0)
    kit = listed(book, visiting(where))
    one = next(each for each in kit.of("weigh") if each.what.startswith("thiosulfate"))
    assert one.portion is not None
    assert one.portion.amount == pytest.approx(39.96, rel=0.01)
    assert one.portion.amount <= 39.96
    assert one.packs == "at the pond"
    assert "by the test at the tap" in one.mind[0]
    assert line(kit, "tests", "reagents for chlorine").amount == "2 tests"
    assert line(kit, "gear", "pump and hose")


@pytest.mark.parametrize("source", ["well", "mains through carbon", "spring"])
def test_without_chlorine_there_is_nothing_to_bind(
    sqlite_book: Book, act: Act, source: str
) -> None:
    where = pond(sqlite_book, act, source_water=source)
    treat(sqlite_book, act, where, water_change_percent=30.0)
    kit = listed(sqlite_book, visiting(where))
    assert [one.what for one in kit.of("weigh")] == ["praziquantel, Alder Row, lower pond"]


@pytest.mark.parametrize(
    ("source", "says"),
    [("mains, dechlorinated", "ask by whom"), ("", "is not entered"), ("town water", "added")],
)
def test_where_chlorine_may_come_in_it_is_prepared_for(
    sqlite_book: Book, act: Act, source: str, says: str
) -> None:
    where = pond(sqlite_book, act, source_water=source)
    treat(sqlite_book, act, where, water_change_percent=30.0)
    one = line(listed(sqlite_book, visiting(where)), "weigh", "thiosulfate")
    assert says in " ".join(one.mind)


def test_salt_is_what_the_water_will_lack(book: Book, act: Act) -> None:
    """3 g/L added to none: at 0.5 g/L, of which a change of 40 % leaves 0.3, 2.7 g/L lack."""
    where = pond(book, act)
    treat(
        book, act, where, agent="salt", dose=3000.0, amount=27_000.0, product=Product(),
        salinity_g_l=0.0, water_change_percent=40.0,
    )  # fmt: skip
    enter_test(book, act, where, "12C salt 0.5 g/L")
    kit = listed(book, visiting(where))
    (one,) = (*kit.of("weigh"), *kit.of("waits"))
    assert one.portion is not None
    assert one.portion.amount == pytest.approx(2.7 * 9000.0, rel=0.01)
    assert "come to 0.3 g/L" in one.arithmetic
    assert one.packs in ("at the pond", "not packed")


def test_where_there_is_salt_enough_nothing_is_packed(book: Book, act: Act) -> None:
    where = pond(book, act)
    treat(
        book, act, where, agent="salt", dose=3000.0, amount=27_000.0, product=Product(),
        salinity_g_l=0.0,
    )  # fmt: skip
    enter_test(book, act, where, "12C salt 3.4 g/L")
    kit = listed(book, visiting(where))
    assert kit.of("agents") == ()
    assert kit.of("weigh") == ()
    (one,) = kit.of("waits")
    assert one.amount == "0 g"


def test_permanganate_says_that_the_water_decides(book: Book, act: Act) -> None:
    where = pond(book, act)
    treat(book, act, where, agent="potassium_permanganate", amount=18.0, product=Product())
    kit = listed(book, visiting(where))
    (one,) = (*kit.of("weigh"), *kit.of("waits"))
    assert any("hangs on the demand test" in said for said in one.mind)
    assert line(kit, "gear", "jars of 1 L").amount == "1"
    assert line(kit, "gear", "thiosulfate or peroxide")


def test_an_oxidiser_and_formalin_in_one_van_are_kept_apart(book: Book, act: Act) -> None:
    first, second = pond(book, act), pond(book, act, "Teal Mill")
    treat(book, act, first, agent="potassium_permanganate", amount=18.0, product=Product())
    treat(book, act, second, agent="formalin", dose=15.0, amount=123.0, amount_unit="mL",
          product=Product("formalin", 37.0, "product", 1.09))  # fmt: skip
    kit = listed(book, visiting(first, second))
    said = [each for one in kit.of("agents") for each in one.mind if each.startswith("Keep apart")]
    assert said == [
        "Keep apart from formalin: It oxidises the formaldehyde, and neither works as reckoned.",
        "Keep apart from permanganate: The permanganate oxidises the formaldehyde, and neither "
        "works as reckoned.",
    ]


def test_a_batch_of_feed_goes_by_the_weight_of_the_fish(book: Book, act: Act) -> None:
    where = pond(book, act)
    ration = Ration(40.0, "20 fish × 2000 g / 1000 = 40 kg", 1.0, 5, 2.0, 1000.0, "oil")
    treat(
        book, act, where, agent="florfenicol", dose=10.0, amount=4.0, route="feed",
        product=Product("premix", 50.0), ration=ration, interval_days=5, unit="mg/kg/d",
    )  # fmt: skip
    kit = listed(book, visiting(where))
    (one,) = (*kit.of("weigh"), *kit.of("waits"))
    assert one.rests_on == "weight of the fish: 20 fish × 2000 g / 1000 = 40 kg"
    assert one.arithmetic == (
        "10 mg for each kg of fish a day × 40 kg × 5 d = 2000 mg; 2000 mg / 1000 / 0.5 = 4 g"
    )
    assert line(kit, "gear", "bowl, sprayer").stops[0].nth == 1
    assert line(kit, "papers", "mix sheet")


def test_a_pond_of_two_stops_is_packed_once(book: Book, act: Act) -> None:
    where = pond(book, act)
    treat(book, act, where)
    kit = listed(book, visiting(where, where))
    assert [one.amount for one in kit.of("weigh")] == ["18.3 g"]


def test_a_product_whose_pack_is_not_known_leaves_pure_amounts(book: Book, act: Act) -> None:
    where = pond(book, act)
    treat(book, act, where)
    shelve(book, act, pack_size=None)
    one = line(listed(book, visiting(where)), "agents", "praziquantel")
    assert one.packs == ""
    assert one.arithmetic == "18.3 g, with 10 % margin 20.2 g"


def test_the_parts_stand_in_their_order_and_no_key_twice(book: Book, act: Act) -> None:
    first, second = pond(book, act), pond(book, act, "Teal Mill")
    treat(book, act, first)
    treat(book, act, second, begun=False)
    kit = listed(book, visiting(first, second))
    order = list(GROUPS)
    ranks = [order.index(one.group) for one in kit.lines]
    assert ranks == sorted(ranks)
    keys = [one.key for one in kit.lines]
    assert len(keys) == len(set(keys))
    assert all(replace(one) == one for one in kit.lines)
