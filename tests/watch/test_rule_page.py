"""Rules as people read and change them."""

from __future__ import annotations

import pytest

from store.book.act import Act
from store.book.book import Book
from store.errors import BadInput, NotFound
from store.watch.rule_page import (
    GROUPS,
    read_number,
    rule_page,
    rules_in_force,
    save_numbers,
)
from store.watch.rule_words import in_one_clause, label_of, unit_of
from store.watch.rulebook import change_rule, changes_of, published, rulebook


def test_every_rule_stands_in_a_group_with_its_numbers_in_words(sqlite_book: Book) -> None:
    lines = rules_in_force(sqlite_book)
    assert {line.rule.code for line in lines} == set(published())
    places = [GROUPS.index(line.group) for line in lines]
    assert places == sorted(places)
    assert all(line.state == "published" and line.numbers for line in lines)
    for rule in published().values():
        for name, value in rule.params.items():
            if isinstance(value, float):
                assert "_" not in label_of(name), name
                assert "[" not in label_of(name), "a unit stands behind the number"
                assert unit_of(name) or name.endswith("_ph"), name


def test_numbers_are_said_in_one_clause() -> None:
    said = {code: in_one_clause(published()[code]) for code in published()}
    assert said["ph_change"] == "watch by more than 0.5 pH units in 24 h"
    assert said["window_gill_flukes"] == "15 to 30 °C"
    assert said["filter_disturbed"] == "watch for 28 days"
    assert said["oxygen_low"] == "watch below 6 mg/L; act below 5 mg/L"


def test_a_number_is_changed_for_the_practice_and_for_a_pond(book: Book, act: Act) -> None:
    with book.writing(act) as writing:
        owner = writing.add("client", name="Brook House")
        site = writing.add("site", client_id=owner, name="Garden")
        pond = writing.add("pond", site_id=site, name="Lower pond")
    page = rule_page(book, "ph_range")
    save_numbers(book, act, page, {"watch_above_ph": 8.6}, "Our tap water")
    page = rule_page(book, "ph_range")
    assert page.line.state == "changed"
    assert page.line.changed_by == "Ada Vet, 2026-03-14"
    assert [(one.name, one.value, one.usual) for one in page.numbers if one.changed] == [
        ("watch_above_ph", 8.6, 8.5)
    ]
    here = rule_page(book, "ph_range", pond)
    assert not any(one.changed for one in here.numbers)
    save_numbers(book, act, here, {"watch_above_ph": 8.8}, "Green water", pond=pond)
    here = rule_page(book, "ph_range", pond)
    assert (here.line.of_pond, len(here.record)) == (True, 2)
    assert "Green water" in here.record[0]
    assert rulebook(book).of(pond)[3].params["watch_above_ph"] == 8.8
    # A second change keeps the first; a number set back leaves no trace in what is in force.
    save_numbers(book, act, here, {"act_above_ph": 9.2}, "Tested", pond=pond)
    here = rule_page(book, "ph_range", pond)
    assert dict(here.own) == {"watch_above_ph": 8.8, "act_above_ph": 9.2}
    save_numbers(book, act, here, {"watch_above_ph": 8.6}, "As elsewhere", pond=pond)
    assert dict(rule_page(book, "ph_range", pond).own) == {"act_above_ph": 9.2}


def test_a_rule_is_silenced_and_speaks_again(sqlite_book: Book, act: Act) -> None:
    page = rule_page(sqlite_book, "nitrate_high")
    save_numbers(sqlite_book, act, page, {}, "Plants only", enabled=False)
    page = rule_page(sqlite_book, "nitrate_high")
    assert page.line.state == "silent"
    save_numbers(sqlite_book, act, page, {"watch_above_mg_l": 50.0}, "More")
    assert rule_page(sqlite_book, "nitrate_high").line.state == "silent"
    page = rule_page(sqlite_book, "nitrate_high")
    save_numbers(sqlite_book, act, page, {}, "Fish again", enabled=True)
    assert rule_page(sqlite_book, "nitrate_high").line.state == "changed"


def test_publications_that_disagree_are_both_shown(sqlite_book: Book) -> None:
    page = rule_page(sqlite_book, "window_costia")
    assert len(page.statements) >= 3
    assert all(one.source and one.standing for one in page.statements)


@pytest.mark.parametrize(
    ("name", "text", "value"),
    [("watch_above_c", "82.4F", 28.0), ("watch_above_c", "28", 28.0), ("margin_c", "1.8 F", 1.0),
     ("watch_above_mg_l", "0,3 ppm", 0.3), ("watch_days", "14 d", 14.0),
     ("act_above_nh3_n_mg_l", "0.05 mg/L", 0.05)],
)  # fmt: skip
def test_a_typed_number_is_read(name: str, text: str, value: float) -> None:
    assert read_number(name, text) == pytest.approx(value)


@pytest.mark.parametrize(
    ("name", "text"), [("watch_above_ph", "8.5 mg/L"), ("watch_days", "soon"),
                       ("watch_above_c", "3 kg"), ("watch_above_mg_l", "")],
)  # fmt: skip
def test_what_is_no_number_here_is_refused_at_its_field(name: str, text: str) -> None:
    with pytest.raises(BadInput) as refused:
        read_number(name, text)
    assert refused.value.field == name


def test_what_cannot_be_in_force_is_refused(sqlite_book: Book, act: Act) -> None:
    page = rule_page(sqlite_book, "ph_range")
    with pytest.raises(BadInput):
        save_numbers(sqlite_book, act, page, {"watch_above_ph": 9.5}, "No")
    with pytest.raises(BadInput):
        save_numbers(sqlite_book, act, page, {"watch_above_ph": 8.6}, "  ")
    with pytest.raises(NotFound):
        rule_page(sqlite_book, "none")
    assert rule_page(sqlite_book, "ph_range").record == ()


def test_numbers_for_a_pond_are_held_against_the_practices_own(book: Book, act: Act) -> None:
    with book.writing(act) as writing:
        owner = writing.add("client", name="Brook House")
        site = writing.add("site", client_id=owner, name="Garden")
        pond = writing.add("pond", site_id=site, name="Lower pond")
    marl = {"watch_above_ph": 9.2, "act_above_ph": 9.5}
    change_rule(book, act, "ph_range", params=marl, why="Marl")
    with pytest.raises(BadInput) as refused:  # beyond the published 8.5, not beyond the 9.2 here
        change_rule(book, act, "ph_range", params={"act_above_ph": 9.1}, why="No", pond=pond)
    assert refused.value.field == "act_above_ph"
    change_rule(book, act, "ph_range", params={"watch_above_ph": 9.3}, why="Yes", pond=pond)
    in_force = {rule.code: rule for rule in rulebook(book).of(pond)}["ph_range"]
    assert (in_force.params["watch_above_ph"], in_force.params["act_above_ph"]) == (9.3, 9.5)
    assert len(changes_of(book, "ph_range")) == 2
