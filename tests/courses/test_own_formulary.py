"""The practice's own formulary: its agents, doses and products, beside what is published."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any
from uuid import UUID

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.told.history import history
from store.courses.cautions.before import cautions, cautions_before
from store.courses.kept.dose_log import log_dose
from store.courses.kept.formulary import formulary, own_agents, own_doses, products
from store.courses.kept.formulary_keeping import (
    change_own_agent,
    change_own_dose,
    keep_own_agent,
    keep_own_dose,
    strike_own_agent,
    strike_own_dose,
)
from store.courses.kept.keeping import keep_plan, start_course
from store.courses.kept.records import course
from store.courses.kept.shelf import change_product, keep_product, strike_product
from store.courses.papers.owner_sheet import owner_sheet
from store.courses.planning.course import Plan, PondWater, Product, StepWish
from store.courses.planning.plan import BadStep, plan_course
from store.courses.planning.wished import bath_agents, published
from store.courses.turning.turned import turned
from store.errors import BadInput, NotAllowed
from store.facts.agents import agents
from store.facts.entry import OWN, STANDINGS
from store.paper.paper import Letterhead, as_text
from tests.book.entries import NOW, add_pond

FIRST = date(2026, 3, 14)
WATER = PondWater(
    10_000.0, 9_500.0, 10_500.0, temperature_c=19.0, ph=7.0, alkalinity_mg_l=100.0,
    hardness_mg_l=120.0, oxygen_mg_l=9.0, age_days=0.5, species="koi", use="ornamental",
)  # fmt: skip
WHY = "the flukes of this valley bear the published dose"
AGENT: dict[str, Any] = {
    "name": "Seaweed extract", "family": "dye", "handling": ["Gloves."], "off": ["carbon"],
    "why": "a trial of two ponds", "legal": "Not authorised here.",
}  # fmt: skip
DOSE: dict[str, Any] = {
    "dose_low": 1.0, "dose_high": 1.0, "unit": "mg/L", "basis": "active", "why": WHY,
    "hazards": ["gill_flukes"],
}  # fmt: skip


@pytest.fixture
def desk(book: Book, act: Act) -> Act:
    """Somebody who is no vet."""
    with book.writing(act) as writing:
        return Act(writing.add("staff", name="Bo Desk", role="receptionist"), NOW)


def own_dose(book: Book, act: Act, agent: str = "trichlorfon", **values: Any) -> UUID:
    with book.writing(act) as writing:
        return keep_own_dose(writing, agent, "pond_bath", **{**DOSE, **values})


def own_agent(book: Book, act: Act) -> str:
    with book.writing(act) as writing:
        keep_own_agent(writing, **AGENT)
    (found,) = own_agents(book)
    return found.code


def planned(book: Book, *wishes: StepWish, hazards: tuple[str, ...] = ("gill_flukes",)) -> Plan:
    return plan_course(
        wishes,
        hazards=hazards,
        reason="flukes",
        water=WATER,
        first_day=FIRST,
        formulary=formulary(book),
    )


def test_without_own_entries_the_formulary_is_the_published_one(book: Book) -> None:
    assert formulary(book) is agents()
    assert OWN not in STANDINGS, "no facts file may call a figure the practice's own"


def test_an_own_dose_stands_beside_the_published_ones(book: Book, act: Act) -> None:
    key = own_dose(book, act)
    found = formulary(book)["trichlorfon"]
    assert found.routes[:-1] == agents()["trichlorfon"].routes
    own = found.routes[-1]
    assert (own.dose_high, own.standing, own.own_dose) == (1.0, OWN, key)
    assert own.source == (
        f"the practice's own dose, set by {own_doses(book)[0].by} on 14 Mar 2026: {WHY}"
    )


def test_an_own_dose_never_raises_the_published_most(book: Book, act: Act, desk: Act) -> None:
    """0.5 mg/L is the most of Piper et al. 1982, p. 335; 1 mg/L weekly is common practice."""
    key = own_dose(book, act)
    wish = StepWish("trichlorfon", "pond_bath", 1.0, doses=3, interval_days=7,
                    water_change_percent=30.0)  # fmt: skip
    plan = planned(book, wish)
    (step,) = plan.steps
    assert (step.safe_most, step.standing, step.own_dose) == (0.5, OWN, key)
    assert "Piper" in step.source, "what is published stands beside it"
    stops = {one.code: one for one in cautions(plan) if one.level == "stop"}
    assert {"dose_high", "peak"} <= stops.keys()
    assert "the most is 0.5 mg/L" in stops["dose_high"].said
    assert f"set by {own_doses(book)[0].by} on 14 Mar 2026: {WHY}." in stops["dose_high"].said
    assert "Piper" in stops["peak"].source
    pond = add_pond(book, act)
    with pytest.raises(BadInput, match="please write why"), book.writing(act) as writing:
        start_course(writing, keep_plan(writing, pond, plan), 1, cautions(plan), {})
    with book.writing(act) as writing:
        made = keep_plan(writing, pond, plan)
        start_course(writing, made, 1, cautions(plan), dict.fromkeys(stops, "as before"))
    assert course(book, made).plan == plan
    assert course(book, made).plan.formulary == formulary(book)
    with pytest.raises(NotAllowed, match="Only a vet"), book.writing(desk) as writing:
        keep_plan(writing, pond, plan)


def test_the_form_of_a_plan_shows_the_own_dose_beside_the_published(book: Book, act: Act) -> None:
    own_dose(book, act, dose_low=None, dose_high=1.5)
    code = own_agent(book, act)
    known = formulary(book)
    found = published("trichlorfon", "pond_bath", known)
    assert found is not None
    assert (found.dose, found.own) == ("0.25 mg/L (active)", "up to 1.5 mg/L (active)")
    assert code not in dict(bath_agents(known)), "without a dose it cannot be planned"
    own_dose(book, act, code)
    assert dict(bath_agents(formulary(book)))[code] == "Seaweed extract"
    alone = published(code, "", formulary(book))
    assert alone is not None
    assert (alone.dose, alone.own) == ("", "1 mg/L (active)")


def test_a_dose_that_is_published_does_not_rest_on_an_own_one(book: Book, act: Act) -> None:
    own_dose(book, act, dose_low=0.1, dose_high=1.0)
    wish = StepWish("trichlorfon", "pond_bath", 0.25)
    plan = planned(book, wish)
    assert (plan.steps[0].own_dose, plan.steps[0].standing) == (None, "published")
    assert not [one for one in cautions(plan) if one.level == "stop"]
    low = planned(book, replace(wish, dose=0.1))
    assert low.steps[0].standing == OWN
    said = next(one.said for one in cautions(low) if one.code == "dose_low")
    assert f"14 Mar 2026: {WHY}." in said, "below what is published is outside of it too"
    beyond = planned(book, replace(wish, dose=2.0))
    assert beyond.steps[0].own_dose is None, "an own dose is no reason to go beyond itself"
    high = next(one.said for one in cautions(beyond) if one.code == "dose_high")
    assert WHY not in high


def test_an_own_dose_of_a_way_that_is_not_published_stops(book: Book, act: Act) -> None:
    with book.writing(act) as writing:
        keep_own_dose(writing, "trichlorfon", "dip", **{**DOSE, "dose_high": 5.0})
    plan = planned(book, StepWish("trichlorfon", "dip", 5.0, volume_l=100.0, exposure_h=0.1))
    (stop,) = [one for one in cautions(plan) if one.code == "no_route"]
    assert stop.level == "stop"
    assert WHY in stop.said


def test_an_own_agent_is_planned_logged_turned_and_printed(book: Book, act: Act) -> None:
    code = own_agent(book, act)
    wish = StepWish(code, "pond_bath", 5.0, doses=2, interval_days=5)
    with pytest.raises(BadStep, match="has set no dose of Seaweed extract yet"):
        planned(book, wish)
    key = own_dose(book, act, code, dose_low=2.0, dose_high=8.0, doses=2, interval_high_days=5)
    plan = planned(book, wish)
    (step,) = plan.steps
    assert (step.safe_most, step.own_dose, step.standing) == (8.0, key, OWN)
    assert any("Nothing published backs this dose" in one for one in step.remarks)
    assert any(one.code == "off_carbon" for one in plan.tasks)
    found = {one.code: one for one in cautions(plan)}
    assert found["own_agent"].level == "mind"
    assert WHY in found["own_agent"].said
    assert "Gloves." in found[f"handling_{code}"].said
    assert "Not authorised here." in found[f"law_{code}"].said
    assert "peak" in found, "5 and 5 without a loss are 10, more than the 8 of the practice"
    more = {one.code for one in cautions(planned(book, replace(wish, dose=9.0)))}
    assert "dose_high" in more
    pond = add_pond(book, act)
    stops = {one.code: "looked at" for one in cautions(plan) if one.level == "stop"}
    with book.writing(act) as writing:
        made = keep_plan(writing, pond, plan)
        start_course(writing, made, 1, cautions(plan), stops)
    kept = course(book, made)
    assert kept.plan == plan
    first = kept.plan.steps[0].doses[0]
    before = cautions_before(kept.plan, kept.plan.steps[0], first, WATER)
    with book.writing(act) as writing:
        log_dose(
            writing, kept.dose_ids[1, 1], given_at=NOW, amount=first.amount, amount_unit="g",
            water_change_percent=0.0, given_by="the vet", cautions=before,
            reasons={one.code: "yes" for one in before if one.level == "stop"},
        )  # fmt: skip
    turn = turned(course(book, made).plan, course(book, made).given, date(2026, 3, 27))
    told = [*turn.said, *(one.said for one in turn.cautions)]
    assert any("8 mg/L is the most that is set by the practice" in one for one in told), told
    assert any(one.startswith("Dose 2, due on 19 Mar 2026, was not given") for one in turn.said)
    sheet = as_text(
        owner_sheet(kept.plan, Letterhead("Practice", "01 23", "Brook House", "Pond"), FIRST)
    )
    assert "Seaweed extract" in sheet
    assert WHY in " ".join(sheet.split())


def test_a_struck_agent_is_planned_no_more_and_its_course_can_be_read(book: Book, act: Act) -> None:
    code = own_agent(book, act)
    own_dose(book, act, code, dose_low=None, dose_high=8.0)
    plan = planned(book, StepWish(code, "pond_bath", 5.0))
    pond = add_pond(book, act)
    with book.writing(act) as writing:
        made = keep_plan(writing, pond, plan)
        strike_own_agent(writing, own_agents(book)[0].id, 1, "It did nothing.")
    assert code not in formulary(book)
    found = course(book, made).plan
    assert found.plain_name(code) == "Seaweed extract"
    assert any(one.code == "own_agent" for one in cautions(found))
    (struck,) = own_agents(book, struck=True)
    assert (struck.struck_why, struck.struck_by) == ("It did nothing.", struck.by)
    with book.writing(act) as writing:
        keep_own_agent(writing, **AGENT)
    assert own_agents(book)[0].code != code, "courses of the first keep their code"


def test_an_own_organophosphate_is_a_second_one(book: Book, act: Act) -> None:
    """Noga 2010, from memory: a second organophosphate adds to the same nerve poison."""
    with book.writing(act) as writing:
        keep_own_agent(writing, **{**AGENT, "family": "organophosphate"})
    code = own_agents(book)[0].code
    own_dose(book, act, code, dose_low=None, dose_high=0.5)
    plan = planned(
        book, StepWish("trichlorfon", "pond_bath", 0.25), StepWish(code, "pond_bath", 0.25)
    )
    assert any(
        one.level == "stop" and one.code.startswith("clash_trichlorfon") for one in cautions(plan)
    )


def test_a_changed_dose_is_struck_and_stands_anew(book: Book, act: Act) -> None:
    key = own_dose(book, act)
    with book.writing(act) as writing:
        made = change_own_dose(
            writing, key, 1, "trichlorfon", "pond_bath", **{**DOSE, "dose_low": 0.3,
                                                           "dose_high": 0.3, "why": "milder"},
        )  # fmt: skip
    (now,) = own_doses(book, "trichlorfon")
    assert (now.id, now.dose_high, now.why) == (made, 0.3, "milder")
    old = next(one for one in own_doses(book, struck=True) if one.id == key)
    assert (old.dose_high, old.why) == (1.0, WHY)
    assert old.struck_why == "Another dose takes its place: milder"
    with pytest.raises(BadInput), book.writing(act) as writing:
        change_own_dose(writing, made, 1, "trichlorfon", "pond_bath", **{**DOSE, "why": " "})
    assert own_doses(book)[0].id == made, "what cannot be kept strikes nothing through"
    with book.writing(act) as writing:
        strike_own_dose(writing, made, 1, "The published one is enough.")
    assert own_doses(book) == ()
    assert formulary(book) is agents()


def test_a_product_is_kept_changed_and_taken_off(book: Book, act: Act) -> None:
    with book.writing(act) as writing:
        key = keep_product(
            writing, "Fluke powder", "trichlorfon", strength_percent=97.0, strength_basis="w/w",
            pack_size=250.0, withdrawal_degree_days=500, note="the white tub",
        )  # fmt: skip
    (found,) = products(book, "trichlorfon")
    assert (found.strength_percent, found.pack_size, found.pack_unit) == (97.0, 250.0, "g")
    assert products(book, "formalin") == ()
    wish = StepWish(
        "trichlorfon", "pond_bath", 0.25, product=Product("fluke powder", strength_percent=97.0)
    )
    pond = add_pond(book, act)
    with book.writing(act) as writing:
        made = keep_plan(writing, pond, planned(book, wish))
        change_product(
            writing, key, 1, "a new label", "Fluke powder", "trichlorfon", strength_percent=98.0,
            strength_basis="w/w",
        )  # fmt: skip
    assert course(book, made).plan.steps[0].standing == "published", "a product is no dose"
    assert history(book, "product", key)[0].why == "a new label"
    with book.writing(act) as writing:
        strike_product(writing, key, 2, "Used up.")
    assert products(book) == ()
    assert products(book, struck=True)[0].struck_why == "Used up."


@pytest.mark.parametrize(
    ("values", "field", "says"),
    [
        ({"dose_high": 0.0}, "dose_high", "more than 0"),
        ({"dose_high": -1.0}, "dose_high", "more than 0"),
        ({"dose_high": float("nan")}, "dose_high", "not a number"),
        ({"dose_high": float("inf")}, "dose_high", "not a number"),
        ({"dose_low": 2.0}, "dose_low", "above the high one"),
        ({"dose_low": 0.0}, "dose_low", "more than 0"),
        ({"unit": "furlong"}, "unit", "mg/L or µL/L or g/L"),
        ({"unit": "mg/kg/d"}, "unit", "mg/L or µL/L or g/L"),
        ({"basis": "salt"}, "basis", "active substance"),
        ({"why": "  "}, "why", "say why"),
        ({"why": "x" * 501}, "why", "501 characters"),
        ({"hazards": ["kraken"]}, "hazards", "no hazard"),
        ({"exposure_h": 0.0}, "exposure_h", "more than 0"),
        ({"interval_low_days": 9, "interval_high_days": 7}, "interval_low_days", "above"),
        ({"doses": 0}, "doses", "less than 1"),
        ({"temp_low_c": 25.0, "temp_high_c": 10.0}, "temp_low_c", "above"),
        ({"temp_high_c": 60.0}, "temp_high_c", "more than 45"),
    ],
)
def test_a_dose_that_cannot_be_is_told_at_its_field(
    book: Book, act: Act, values: dict[str, Any], field: str, says: str
) -> None:
    with pytest.raises(BadInput) as refused:
        own_dose(book, act, **values)
    assert refused.value.field == field
    assert says in refused.value.message
    assert own_doses(book) == ()


@pytest.mark.parametrize(
    ("agent", "route", "field"),
    [("snake_oil", "pond_bath", "agent"), ("trichlorfon", "injection", "route"),
     ("trichlorfon", "", "route")],
)  # fmt: skip
def test_a_dose_of_nothing_is_refused(
    book: Book, act: Act, agent: str, route: str, field: str
) -> None:
    with pytest.raises(BadInput) as refused, book.writing(act) as writing:
        keep_own_dose(writing, agent, route, **DOSE)
    assert refused.value.field == field


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({"name": " formalin "}, "name"),
        ({"name": ""}, "name"),
        ({"family": "magic"}, "family"),
        ({"handling": [" "]}, "handling"),
        ({"off": ["pump"]}, "off"),
        ({"why": ""}, "why"),
    ],
)
def test_an_own_agent_that_cannot_be_is_told_at_its_field(
    book: Book, act: Act, values: dict[str, Any], field: str
) -> None:
    with pytest.raises(BadInput) as refused, book.writing(act) as writing:
        keep_own_agent(writing, **{**AGENT, **values})
    assert refused.value.field == field


def test_an_own_agent_is_changed_and_no_second_one_has_its_name(book: Book, act: Act) -> None:
    code = own_agent(book, act)
    with pytest.raises(BadInput, match="entered by"), book.writing(act) as writing:
        keep_own_agent(writing, **{**AGENT, "name": "SEAWEED  extract"})
    (found,) = own_agents(book)
    with book.writing(act) as writing:
        change_own_agent(writing, found.id, 1, **{**AGENT, "name": "Kelp", "why": "its trade name"})
    (now,) = own_agents(book)
    assert (now.name, now.code, now.rev) == ("Kelp", code, 2)
    assert now.why == "its trade name"
    newest = history(book, "own_agent", now.id)[0]
    assert (newest.why, newest.before["why"]) == ("its trade name", AGENT["why"])


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({"strength_percent": 100.5}, "strength_percent"),
        ({"strength_percent": 0.0}, "strength_percent"),
        ({"strength_percent": -3.0}, "strength_percent"),
        ({"strength_percent": float("nan")}, "strength_percent"),
        ({"density_g_ml": 0.0}, "density_g_ml"),
        ({"strength_basis": "proof"}, "strength_basis"),
        ({"pack_size": 0.0}, "pack_size"),
        ({"pack_unit": "bucket"}, "pack_unit"),
        ({"withdrawal_days": -1}, "withdrawal_days"),
        ({"name": " "}, "name"),
        ({"agent": "snake_oil"}, "agent"),
    ],
)
def test_a_product_that_cannot_be_is_told_at_its_field(
    book: Book, act: Act, values: dict[str, Any], field: str
) -> None:
    product: dict[str, Any] = {
        "name": "Powder", "agent": "trichlorfon", "strength_percent": 97.0, "strength_basis": "w/w",
    }  # fmt: skip
    with pytest.raises(BadInput) as refused, book.writing(act) as writing:
        keep_product(writing, **{**product, **values})
    assert refused.value.field == field


def test_only_vets_write_the_formulary(book: Book, act: Act, desk: Act) -> None:
    dose, code = own_dose(book, act), own_agent(book, act)
    assert code
    own = own_agents(book)[0].id
    with book.writing(act) as writing:
        tub = keep_product(
            writing, "Powder", "trichlorfon", strength_percent=97.0, strength_basis="w/w"
        )
    for attempt in (
        lambda w: keep_own_agent(w, **{**AGENT, "name": "Kelp"}),
        lambda w: change_own_agent(w, own, 1, **AGENT),
        lambda w: strike_own_agent(w, own, 1, "no"),
        lambda w: keep_own_dose(w, "formalin", "pond_bath", **DOSE),
        lambda w: change_own_dose(w, dose, 1, "trichlorfon", "pond_bath", **DOSE),
        lambda w: strike_own_dose(w, dose, 1, "no"),
        lambda w: keep_product(w, "Salt", "salt", strength_percent=99.0, strength_basis="w/w"),
        lambda w: change_product(w, tub, 1, "no", "Powder", "trichlorfon", strength_percent=97.0,
                                 strength_basis="w/w"),
        lambda w: strike_product(w, tub, 1, "no"),
    ):  # fmt: skip
        with pytest.raises(NotAllowed, match="Only a vet can"), book.writing(desk) as writing:
            attempt(writing)
    assert len(own_doses(book, struck=True)) == 1
    assert len(products(book, struck=True)) == 1
