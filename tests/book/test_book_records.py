"""Clients, ponds, volumes, kits, events and the history of each."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any
from uuid import uuid4

import pytest
from entries import NOW, add_pond
from hypothesis import given
from hypothesis import strategies as st

from store.book.act import Act
from store.book.book import Book
from store.book.clients import client, clients, site, sites
from store.book.events import EVENT_KINDS, end_event, events, record_event
from store.book.kits import kit, kit_in_use, kits
from store.book.people import person, person_named, staff
from store.book.ponds import card, cards, pond, ponds
from store.book.practice import practice
from store.book.told.history import history
from store.book.volumes import (
    VolumeEstimate,
    compare,
    estimates,
    put_in_force,
    record_estimate,
    strike_estimate,
)
from store.errors import BadInput, ChangedMeanwhile, NotAllowed, NotFound

TODAY = date(2026, 3, 14)


def test_a_card_shows_pond_site_and_client(book: Book, act: Act) -> None:
    key = add_pond(book, act, depth_m=1.4)
    found = card(book, key)
    assert (found.pond.name, found.site.name, found.client.name) == (
        "Lower pond", "Garden", "Brook House",
    )  # fmt: skip
    assert (found.pond.depth_m, found.pond.test_seasons, found.struck) == (1.4, [], False)
    assert cards(book) == (found,)
    assert pond(book, key) == found.pond
    assert site(book, found.site.id) == found.site
    assert client(book, found.client.id) == found.client
    assert ponds(book, found.site.id) == (found.pond,)
    assert sites(book, found.client.id) == (found.site,)
    for read in (pond, card, site, client, kit, person):
        with pytest.raises(NotFound, match="There is no such"):
            read(book, uuid4())


def test_a_struck_client_takes_the_ponds_along_and_brings_them_back(book: Book, act: Act) -> None:
    key = add_pond(book, act)
    owner = card(book, key).client.id
    with book.writing(act) as writing:
        writing.strike("client", owner, "moved away")
    assert cards(book) == ()
    assert clients(book) == ()
    assert card(book, key).struck
    assert [each.struck_why for each in clients(book, struck=True)] == ["moved away"]
    with book.writing(act) as writing:
        writing.restore("client", owner, "came back")
    assert len(cards(book)) == 1


def test_people_by_name_and_initials(book: Book, act: Act) -> None:
    with book.writing(Act(act.by, NOW + timedelta(minutes=5))) as writing:
        second = writing.add("staff", name="Tom Desk", role="receptionist", initials="TD")
        writing.add("staff", name="Tess Dale", role="travelling vet", initials="TX")
    assert [each.is_vet for each in staff(book)] == [True, False, True]
    found = person_named(book, " td ")
    assert found is not None
    assert found.id == second
    assert person_named(book, "ada vet") == person(book, act.by)
    assert person_named(book, "nobody") is None
    with book.writing(act) as writing:
        writing.strike("staff", second, "left")
    assert len(staff(book)) == 2
    assert person_named(book, "TD") is None
    assert person(book, second).struck_why == "left"


def test_the_pond_remembers_which_volume_is_in_force(book: Book, act: Act) -> None:
    key = add_pond(book, act)
    with book.writing(act) as writing:
        stated = record_estimate(
            writing, key, method="stated", litres=20_000.0, low_l=14_000.0, high_l=26_000.0,
            measured_on=TODAY - timedelta(days=30), pond_rev=1,
        )  # fmt: skip
    assert pond(book, key).volume_estimate_id == stated
    with book.writing(act) as writing:
        salted = record_estimate(
            writing, key, method="by salt", litres=15_000.0, low_l=14_100.0, high_l=16_000.0,
            measured_on=TODAY, inputs={"salt_g": 15_000.0}, workings="15,000 g / 1.0 g/L",
        )  # fmt: skip
    assert pond(book, key).volume_l == 20_000.0, "kept beside, not in force"
    found = estimates(book, key)
    assert [each.method for each in found] == ["by salt", "stated"]
    assert found[0].inputs == {"salt_g": 15_000.0}
    (apart,) = compare(found)
    assert apart.percent == pytest.approx(100 / 3)
    with pytest.raises(NotAllowed, match="in force"), book.writing(act) as writing:
        strike_estimate(writing, stated, "wrong")
    with pytest.raises(ChangedMeanwhile), book.writing(act) as writing:
        put_in_force(writing, key, 1, salted)
    with book.writing(act) as writing:
        assert put_in_force(writing, key, 2, salted, "measured") == 3
        strike_estimate(writing, stated, "only a guess")
    after = pond(book, key)
    assert (after.volume_l, after.volume_low_l, after.volume_high_l, after.volume_method) == (
        15_000.0, 14_100.0, 16_000.0, "by salt",
    )  # fmt: skip
    assert estimates(book, key) == (found[0],)
    assert len(estimates(book, key, struck=True)) == 2
    with pytest.raises(NotFound, match="not found for this pond"), book.writing(act) as writing:
        put_in_force(writing, key, 3, stated)
    assert history(book, "pond", key)[0].why == "measured"


def test_a_volume_outside_its_bounds_is_refused(sqlite_book: Book, act: Act) -> None:
    key = add_pond(sqlite_book, act)
    with pytest.raises(BadInput, match="between its bounds"), sqlite_book.writing(act) as writing:
        record_estimate(writing, key, method="x", litres=5.0, low_l=6.0, measured_on=TODAY)
    with pytest.raises(BadInput), sqlite_book.writing(act) as writing:
        record_estimate(writing, key, method="x", litres=float("nan"), measured_on=TODAY)


def _estimate(method: str, litres: float) -> VolumeEstimate:
    kept: Any = (uuid4(), 1, NOW, uuid4(), NOW, uuid4(), None, None, "")
    return VolumeEstimate(*kept, uuid4(), method, litres, litres, litres, "", {}, TODAY)


@given(st.floats(1.0, 1e6), st.floats(1.0, 1e6))
def test_only_methods_more_than_a_fifth_apart_are_shown(one: float, other: float) -> None:
    apart = compare([_estimate("a", one), _estimate("b", other)])
    assert bool(apart) == (100.0 * (max(one, other) / min(one, other) - 1.0) > 20.0)
    assert compare([_estimate("a", one), _estimate("a", other)]) == (), "one method, two days"


def test_the_widest_disagreement_comes_first() -> None:
    apart = compare([_estimate("a", 100.0), _estimate("b", 130.0), _estimate("c", 200.0)])
    assert [round(each.percent) for each in apart] == [100, 54, 30]
    assert compare([_estimate("a", 100.0), _estimate("b", 120.0)]) == ()


def test_the_kit_of_the_pond_goes_before_that_of_the_practice(book: Book, act: Act) -> None:
    key = add_pond(book, act)
    assert kit_in_use(book, key) is None
    found = practice(book)
    assert found is not None
    with book.writing(act) as writing:
        drops = writing.add("kit", name="Drops", ammonia_form="nh4", expires_on=TODAY)
        writing.change("practice", found.id, found.rev, kit_id=drops)
    in_use = kit_in_use(book, key)
    assert in_use == kit(book, drops)
    assert in_use is not None
    assert not in_use.expired(TODAY)
    assert in_use.expired(TODAY + timedelta(days=1))
    with book.writing(act) as writing:
        own = writing.add("kit", name="Photometer", ammonia_form="n", pond_id=key)
        writing.change("pond", key, 1, kit_id=own)
    assert kit_in_use(book, key) == kit(book, own)
    assert [each.name for each in kits(book, key)] == ["Drops", "Photometer"]
    assert [each.name for each in kits(book, uuid4())] == ["Drops"]
    with book.writing(act) as writing:
        writing.strike("kit", own, "broken")
    assert kit_in_use(book, key) == kit(book, drops)


def test_events_newest_first_and_states_while_they_last(book: Book, act: Act) -> None:
    key = add_pond(book, act)
    long_ago = TODAY - timedelta(days=200)
    with book.writing(act) as writing:
        crowded = record_event(writing, key, "crowding", long_ago)
        record_event(writing, key, "new_fish", long_ago, amount=3.0)
        record_event(writing, key, "hazard_seen", TODAY, hazard="costia", note="gill")
    found = events(book, key)
    assert found[0].kind == "hazard_seen"
    assert {(each.kind, each.amount, each.unit) for each in found} >= {("new_fish", 3.0, "fish")}
    since = TODAY - timedelta(days=10)
    assert [each.kind for each in events(book, key, since=since)] == ["hazard_seen", "crowding"]
    with book.writing(act) as writing:
        end_event(writing, crowded, 1, TODAY)
    assert [each.kind for each in events(book, key, since=since)] == ["hazard_seen"]
    with pytest.raises(BadInput), book.writing(act) as writing:
        end_event(writing, crowded, 2, long_ago - timedelta(days=1))


@pytest.mark.parametrize(
    ("kind", "extra", "says"),
    [
        ("party", {}, "not a kind of event"),
        ("hazard_seen", {}, "needs the name of the hazard"),
        ("power_cut", {"hazard": "costia"}, "names no hazard"),
        ("heavy_rain", {"amount": 5.0}, "has no amount"),
        ("heavy_rain", {"until_day": TODAY}, "has no last day"),
        ("crowding", {"until_day": TODAY - timedelta(days=1)}, "before the first"),
        ("new_fish", {"amount": -1.0}, "should lie between"),
    ],
)
def test_events_that_do_not_fit(
    sqlite_book: Book, act: Act, kind: str, extra: dict[str, Any], says: str
) -> None:
    key = add_pond(sqlite_book, act)
    with pytest.raises(BadInput, match=says), sqlite_book.writing(act) as writing:
        record_event(writing, key, kind, TODAY, **extra)


def test_rules_and_preconditions_know_these_kinds() -> None:
    """What the facts call an event or a precondition can be entered under the same code."""
    from store.facts.hazards import PRECONDITIONS
    from store.facts.rules import EVENTS

    reckoned = {
        "rising_in_spring",
        "seen_here_before",
        "seen_same_day",
    }  # from temperatures, and from hazard_seen
    assert set(EVENTS) | (set(PRECONDITIONS) - reckoned) <= set(EVENT_KINDS)


def test_history_newest_first_with_names(book: Book, act: Act) -> None:
    key = add_pond(book, act)
    with book.writing(act) as writing:
        second = writing.add("staff", name="Tom Desk", role="receptionist")
    with book.writing(Act(second, NOW + timedelta(hours=1))) as writing:
        writing.change("pond", key, 1, why="typing error", name="Upper pond")
    changed, added = history(book, "pond", key)
    assert (changed.by_name, changed.why, changed.rev) == ("Tom Desk", "typing error", 2)
    assert (changed.before, changed.after) == ({"name": "Lower pond"}, {"name": "Upper pond"})
    assert (added.what, added.before, added.by_name) == ("add", {}, "Ada Vet")
    assert history(book, "site", key) == ()


def test_what_is_handed_out_cannot_be_changed(sqlite_book: Book, act: Act) -> None:
    found = card(sqlite_book, add_pond(sqlite_book, act))
    with pytest.raises(AttributeError):
        found.pond = found.pond  # type: ignore[misc]
    for record in (found.pond, found.site, found.client):
        with pytest.raises(AttributeError):
            record.name = "x"  # type: ignore[misc]
