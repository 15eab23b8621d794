"""Until when the fish of a pond must not be eaten, from the log of doses and the pond's own water."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.declared import declare, declared
from store.book.ponds import pond as pond_of
from store.book.told.history import history
from store.courses.kept.dose_log import strike_given
from store.courses.kept.records import course
from store.courses.kept.withdrawal_of import withdrawal_of, withdrawals
from store.errors import BadInput, NotFound
from store.water.understood import ReadingValue
from store.water.water_tests import NewTest, save_test
from tests.courses.treated_ponds import (
    LAST_DOSE,
    MAY_C,
    add_carp_pond,
    add_logger,
    at_noon,
    give,
    treat,
)

THIRD = [LAST_DOSE - timedelta(days=14), LAST_DOSE - timedelta(days=7), LAST_DOSE]


def after(days: int) -> Any:
    return at_noon(LAST_DOSE + timedelta(days=days))


def test_days_are_summed_from_the_last_dose_that_was_given(book: Book, act: Act) -> None:
    pond = add_carp_pond(book, act)
    treat(book, act, pond, "trichlorfon", THIRD)
    add_logger(book, act, pond, MAY_C)
    found = withdrawal_of(book, pond, after(10))
    (one,) = found.agents
    assert (found.state, found.runs) == ("running", True)
    assert (one.given.name, one.given.doses, one.given.first_day) == ("trichlorfon", 3, THIRD[0])
    assert one.given.last_day == LAST_DOSE
    assert one.met[0].summed == pytest.approx(173.3, abs=0.05)
    assert one.needs[0].amount == 500.0
    assert found.early is not None
    assert found.late is not None
    assert found.early <= date(2026, 5, 31) <= found.late  # what the whole month came to
    assert found.says == f"Not for eating before {found.late.day} {found.late:%b} 2026."
    assert one.sums is not None
    assert one.sums.values[10] == pytest.approx(173.3, abs=0.05)
    assert one.sums.known == 11
    over = withdrawal_of(book, pond, after(28))
    assert (over.state, over.late, over.runs) == ("over", None, False)
    assert over.agents[0].late == over.agents[0].early == date(2026, 5, 31)


def test_only_what_was_really_given_counts(book: Book, act: Act) -> None:
    pond = add_carp_pond(book, act)
    add_logger(book, act, pond, MAY_C)
    key = treat(book, act, pond, "trichlorfon", THIRD, given=0)
    assert withdrawal_of(book, pond, after(3)).state == "nothing given"
    entry = give(book, act, course(book, key).dose_ids[1, 1], THIRD[0])
    one = withdrawal_of(book, pond, after(3)).agents[0].given
    assert (one.last_day, one.doses, one.still_due) == (THIRD[0], 1, 2)
    remarks = withdrawal_of(book, pond, after(3)).remarks
    assert "2 doses are still to come, and each begins the count again." in remarks
    second = give(book, act, course(book, key).dose_ids[1, 2], THIRD[1])
    assert withdrawal_of(book, pond, after(3)).agents[0].given.last_day == THIRD[1]
    # Topped up the day after: of two entries under one dose the later counts.
    give(book, act, course(book, key).dose_ids[1, 2], THIRD[1] + timedelta(days=1))
    assert withdrawal_of(book, pond, after(3)).agents[0].given.last_day == date(2026, 4, 27)
    with book.writing(act) as writing:
        strike_given(writing, entry, 1, "another pond")
        strike_given(writing, second, 1, "another pond")
    one = withdrawal_of(book, pond, after(3)).agents[0].given
    assert (one.first_day, one.last_day, one.doses) == (date(2026, 4, 27), date(2026, 4, 27), 1)


def test_feed_is_given_until_the_last_day_it_is_fed(book: Book, act: Act) -> None:
    """Ten days of feed in batches of four: the last batch, logged two days late, is for two."""
    pond = add_carp_pond(book, act)
    first = date(2026, 5, 1)
    days = [first, first + timedelta(days=4), first + timedelta(days=8)]
    key = treat(book, act, pond, "florfenicol", days, route="feed", given=2, feed_days=10)
    assert withdrawal_of(book, pond, at_noon(date(2026, 5, 5))).agents[0].given.last_day == date(
        2026, 5, 8
    )
    give(book, act, course(book, key).dose_ids[1, 3], date(2026, 5, 11))
    one = withdrawal_of(book, pond, at_noon(date(2026, 5, 12))).agents[0]
    assert one.given.last_day == date(2026, 5, 12)
    assert one.given.fed
    alone = add_carp_pond(book, act)
    treat(book, act, alone, "florfenicol", [first], route="feed", feed_days=10)
    assert withdrawal_of(book, alone, at_noon(first)).agents[0].given.last_day == date(2026, 5, 10)


def test_the_label_of_the_product_that_was_used_holds(book: Book, act: Act) -> None:
    pond = add_carp_pond(book, act)
    add_logger(book, act, pond, MAY_C)
    treat(book, act, pond, "trichlorfon", THIRD, shelf={"withdrawal_degree_days": 150})
    one = withdrawal_of(book, pond, after(20)).agents[0]
    assert one.needs[0].amount == 150.0
    assert one.needs[0].rule == "label of bottle, as on the practice's shelf"
    # By hand: 133.7 after 8 days, 153.2 after 9, so it ends on the ninth and they are free then.
    assert one.late == LAST_DOSE + timedelta(days=10)


def test_a_product_that_comes_to_the_shelf_later_is_found_by_its_name(book: Book, act: Act) -> None:
    pond = add_carp_pond(book, act)
    treat(book, act, pond, "trichlorfon", THIRD, product="brown bottle")
    assert withdrawal_of(book, pond, after(1)).agents[0].given.shelf is None
    for degree_days in (150, 200):
        with book.writing(act) as writing:
            writing.add(
                "product", name="brown bottle", agent="trichlorfon", strength_percent=98.0,
                strength_basis="w/w", withdrawal_degree_days=degree_days,
            )  # fmt: skip
    shelf = withdrawal_of(book, pond, after(1)).agents[0].given.shelf
    assert shelf is not None
    assert (shelf.degree_days, shelf.days) == (200, None)


def test_the_longest_of_all_agents_counts(book: Book, act: Act) -> None:
    pond = add_carp_pond(book, act)
    add_logger(book, act, pond, MAY_C)
    shelf = {"withdrawal_days": 90}
    treat(book, act, pond, "praziquantel", [LAST_DOSE - timedelta(days=5)], shelf=shelf)
    treat(book, act, pond, "trichlorfon", THIRD)
    treat(book, act, pond, "salt", [LAST_DOSE])
    found = withdrawal_of(book, pond, after(20))
    assert [one.given.agent for one in found.agents] == ["praziquantel", "trichlorfon", "salt"]
    assert found.late == date(2026, 7, 28)  # 28 April + 90 d, free from the day after
    assert found.early == found.late
    salt = found.agents[-1]
    assert (salt.over, salt.late, salt.sums) == (True, None, None)  # it has no period to wait for
    assert salt.needs[0].kind == "not published"


def test_where_nothing_is_published_no_day_is_given(book: Book, act: Act) -> None:
    pond = add_carp_pond(book, act)
    add_logger(book, act, pond, MAY_C)
    with book.writing(act) as writing:
        writing.add("own_agent", code="house_mix", name="House mix", family="dye", why="ours")
    treat(book, act, pond, "house_mix", THIRD)
    treat(book, act, pond, "trichlorfon", THIRD)
    found = withdrawal_of(book, pond, after(20))
    assert (found.state, found.late, found.early) == ("no day", None, None)
    assert found.agents[0].given.name == "House mix"
    assert found.says == "Not for eating: no day can be given."


def test_days_without_knowledge_add_nothing_and_are_said(book: Book, act: Act) -> None:
    pond = add_carp_pond(book, act)
    treat(book, act, pond, "trichlorfon", THIRD)
    for days, temp_c in ((0, 14.0), (7, 16.0), (30, 20.0)):
        reading = ReadingValue("temperature_c", temp_c, None, None, "=", f"{temp_c} C", "°C", "")
        save_test(
            book, Act(act.by, after(days)), pond, NewTest(after(days), (reading,), way="line")
        )
    found = withdrawal_of(book, pond, after(31))
    (one,) = found.agents
    # 6 days at the lower of 14 and 16, one at 16, 22 days unknown, one at 20, today unknown.
    assert one.met[0].summed == pytest.approx(6 * 14.0 + 16.0 + 20.0)
    assert (one.water.filled_days, one.water.missing_days) == (6, 23)
    assert any("23 days without knowledge" in told for told in one.water.said)
    blind = withdrawal_of(book, pond, after(60))
    assert (blind.state, blind.late) == ("no day", None)


@pytest.mark.parametrize(
    ("use", "state", "says"),
    [
        ("ornamental", "ornamental", "Marked not for eating: ornamental fish never become food."),
        ("not asked", "asked", "Not for eating until somebody says what these fish are."),
    ],
)
def test_ornamental_fish_have_no_days_and_nobody_asked_is_asked(
    book: Book, act: Act, use: str, state: str, says: str
) -> None:
    pond = add_carp_pond(book, act, use=use)
    treat(book, act, pond, "malachite_green", THIRD, use=use)
    found = withdrawal_of(book, pond, after(5))
    assert (found.state, found.says, found.runs) == (state, says, False)
    assert (found.late, found.agents[0].needs) == (None, ())
    assert bool(found.asks) == (use == "not asked")
    assert any("malachite green and related dyes they never may" in one for one in found.remarks)


def test_a_dye_bars_food_fish_for_ever(book: Book, act: Act) -> None:
    pond = add_carp_pond(book, act)
    treat(book, act, pond, "malachite_green", THIRD)
    found = withdrawal_of(book, pond, after(3000))
    assert (found.state, found.runs, found.late) == ("barred", True, None)
    assert found.says.startswith("Not for eating, ever: malachite green")


def test_all_ponds_where_one_runs(book: Book, act: Act) -> None:
    ponds = {
        name: add_carp_pond(book, act, client=name, use=use)
        for name, use in (
            ("short", "food"), ("long", "food"), ("koi", "ornamental"), ("who", "not asked"),
            ("untreated", "food"),
        )
    }  # fmt: skip
    for name, pond in ponds.items():
        add_logger(book, act, pond, MAY_C)
        if name != "untreated":
            days = 10 if name == "short" else 40
            treat(book, act, pond, "trichlorfon", [LAST_DOSE], shelf={"withdrawal_days": days})
    found = withdrawals(book, after(2))
    assert [one.card.client.name for one in found] == ["who", "long", "short"]
    later = withdrawals(book, after(300))  # the record of May has met both
    assert [one.card.client.name for one in later] == ["who"]
    with book.writing(act) as writing:
        writing.strike("pond", ponds["long"], "filled in", 1)
    assert [one.card.client.name for one in withdrawals(book, after(2))] == ["who", "short"]


def test_who_declared_a_pond_stands_with_the_day(book: Book, act: Act) -> None:
    pond = add_carp_pond(book, act, use="not asked")
    assert declared(book, pond) is None
    with book.writing(act) as writing:
        declare(writing, pond, "ornamental", "  Mrs  Alder ")
    found = declared(book, pond)
    assert found is not None
    assert (found.use, found.said, found.by_name) == (
        "ornamental", "declared by Mrs Alder", "Ada Vet",
    )  # fmt: skip
    assert found.at == act.at
    assert pond_of(book, pond).use == "ornamental"
    with book.writing(act) as writing:
        declare(writing, pond, "ornamental", "Mr Alder")  # the same again, by somebody else
    assert (declared(book, pond) or found).said == "declared by Mr Alder"
    assert [one.why for one in history(book, "pond", pond)][:3] == [
        "declared by Mr Alder", "declared anew", "declared by Mrs Alder",
    ]  # fmt: skip
    assert withdrawal_of(book, pond, after(0)).declared == declared(book, pond)


def test_a_pond_that_was_entered_with_its_use_names_nobody(book: Book, act: Act) -> None:
    found = declared(book, add_carp_pond(book, act))
    assert found is not None
    assert (found.use, found.said, found.by_name) == ("food", "", "Ada Vet")


@pytest.mark.parametrize(
    ("use", "name", "field"),
    [("food", "  ", "said_by"), ("not asked", "Mrs Alder", "use"), ("", "Mrs Alder", "use")],
)
def test_a_declaration_needs_a_use_and_a_name(
    book: Book, act: Act, use: Any, name: str, field: str
) -> None:
    pond = add_carp_pond(book, act, use="not asked")
    with pytest.raises(BadInput) as caught, book.writing(act) as writing:
        declare(writing, pond, use, name)
    assert caught.value.field == field
    assert declared(book, pond) is None


def test_a_pond_that_is_not_there(book: Book, act: Act) -> None:
    with pytest.raises(NotFound):
        withdrawal_of(book, act.by, after(0))
    with pytest.raises(NotFound), book.writing(act) as writing:
        declare(writing, act.by, "food", "Mrs Alder")
