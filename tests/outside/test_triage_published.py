"""What is asked and sorted on the telephone, against what is published.

The order of urgency itself is common practice and is tried in tests/diary. Here stand the figures
that have a publication:

- Texas Parks & Wildlife, Fish Health and Genetics Laboratory: pond fish need 5 mg/L of oxygen.
- Texas A&M AgriLife Extension, AquaPlant: below 3 mg/L is stress, below 2 mg/L some species die.
- Jepson 2001, Goldfish and koi, Table 11.1: no chlorine is tolerated.
- Yuasa, Ito & Sano 2008, Fish Pathol. 43:83-85: deaths of carp from koi herpesvirus came up to
  52 days after contact at 16 °C; none of the fish died at 13 °C in Gilad et al. 2003.
- Official notices of the Fish Health Inspectorate: koi herpesvirus disease at 16 to 28 °C.
- Mensink 2004 (EAZWV sheet): most deaths of spring viraemia of carp at 8 to 18 °C.
- Oliveira et al. 2021, Sci. Rep. 11, s41598-021-93874-6: nine of ten weeks of Scottish salmon farms
  lost less than 1 %.
- Fisheries and Oceans Canada, licences of farms that stock waters: more than 1 % a day on four days
  in a row is a mortality event.
- FAO on carp: carp practically stop feeding below 8 °C.
- Fish Health Inspectorate, England & Wales: larger numbers of deaths than usual, and suspicion of a
  listed disease, are reported at once; no figure is set.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime

import pytest

from store.diary.calling.sheet import told
from store.diary.calling.triage import Triage, triage, warm_from_c
from store.facts.call_questions import questions, raising
from store.facts.sources import sources

NOW = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)


def sort(**answers: str) -> Triage:
    return triage(told(answers, now=NOW, zone=UTC))


@pytest.mark.parametrize(
    ("oxygen", "urgent"),
    [("1.9", True), ("2.9", True), ("4.9", True), ("5.0", False), ("8", False)],
)
def test_oxygen_below_what_pond_fish_need_is_seen_the_same_day(oxygen: str, urgent: bool) -> None:
    found = sort(readings=f"DO {oxygen}")
    assert (found.urgency == "same day") == urgent
    assert all(one.source == "tpwd_fish_health" for one in found.raised)


@pytest.mark.parametrize(("chlorine", "urgent"), [("0", False), ("0.02", True), ("0.5", True)])
def test_no_chlorine_is_tolerated(chlorine: str, urgent: bool) -> None:
    found = sort(readings=f"chlorine {chlorine}")
    assert (found.urgency == "same day") == urgent
    assert all(one.source == "jepson_2001" for one in found.raised)


def test_new_fish_are_asked_for_over_longer_than_deaths_came_after_contact() -> None:
    asked = re.search(r"last (\d+) days", questions()["new_fish"].says)
    assert asked is not None
    assert int(asked[1]) > 52


@pytest.mark.parametrize(
    ("fish", "temperature", "at_once"),
    [
        ("20 koi", "16", True),
        ("20 koi", "22", True),
        ("20 koi", "28", True),
        ("20 koi", "33", False),
        ("20 ghost carp", "20", True),
        ("20 goldfish", "22", False),  # falls ill from neither at this temperature
        ("20 goldfish", "8", True),
        ("20 goldfish", "17", True),
        ("20 tench", "12", True),
        ("20 sturgeon", "17", False),
    ],
)
def test_deaths_after_new_fish_within_the_published_bands_go_to_the_vet_at_once(
    fish: str, temperature: str, at_once: bool
) -> None:
    found = sort(
        fish=fish, dead="3", dead_days="5", new_fish="yes, five weeks ago", temperature=temperature
    )
    assert found.vet_at_once == at_once
    if at_once:
        assert found.raised[0].source == "duty_uk"


def test_mottled_gills_in_the_cold_do_not_clear_a_pond() -> None:
    # At 13 °C none died until it was warmed (Gilad et al. 2003): fish infected in the cold fall ill
    # when it warms, so that a leading sign speaks at any temperature.
    assert sort(fish="20 koi", dead="1", saw="mottled gills", temperature="13").vet_at_once
    assert sort(fish="20 koi", dead="1", saw="mottled gills", temperature="5").vet_at_once


@pytest.mark.parametrize(
    ("dead", "days", "stock", "beside"),
    [
        ("2", "7", "100", ("nine of ten weeks",)),  # 2 % in a week
        ("1", "7", "200", ()),  # 0.5 % in a week
        ("8", "4", "100", ("nine of ten weeks", "four days in a row")),  # 2 % a day on four days
        ("3", "4", "100", ("nine of ten weeks",)),  # 0.75 % a day
    ],
)
def test_deaths_stand_beside_what_others_call_many(
    dead: str, days: str, stock: str, beside: tuple[str, ...]
) -> None:
    found = sort(dead=dead, dead_days=days, fish=f"{stock} koi")
    text = " ".join(found.remarks)
    for one in ("nine of ten weeks", "four days in a row"):
        assert (one in text) == (one in beside), text


def test_carp_that_refuse_food_where_they_practically_stop_feeding_raise_nothing() -> None:
    assert warm_from_c() >= 8.0
    assert sort(off_food="yes", temperature="7.9").urgency == "routine"
    assert sort(off_food="yes", temperature="20").urgency == "next day"


def test_what_is_said_to_be_published_names_a_publication_that_was_read() -> None:
    for one in raising().values():
        if one.standing == "published":
            assert sources()[one.source].standing == "published", one.code
    assert raising()["mass"].source == raising()["reportable"].source == "duty_uk"
    assert raising()["gasping"].source == "aquaplant_tamu"
