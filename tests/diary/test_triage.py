"""How urgent a call is: what raises it, that nothing not known lowers it, that worse is not less."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from store.diary.calling.sheet import Told, echo, readings_line, record_texts, told
from store.diary.calling.triage import Triage, percent_a_day, triage, warm_from_c
from store.diary.calling.typed import (
    signs_in,
    typed_count,
    typed_litres,
    typed_safe,
    typed_span_days,
    typed_stock,
    typed_use,
    yes_or_no,
)
from store.diary.calling.van import asks_for, van_list
from store.facts.call_questions import URGENCIES, WHEN, questions, safe_list

NOW = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)


def hear(**answers: str) -> Told:
    return told(answers, now=NOW, zone=UTC)


def sort(**answers: str) -> Triage:
    return triage(hear(**answers))


def weight(found: Triage) -> int:
    """The more, the more urgent; telling the vet at once is the most."""
    return 2 * (len(URGENCIES) - URGENCIES.index(found.urgency)) + found.vet_at_once


# --- what raises a call --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("answers", "urgency", "said"),
    [
        ({}, "routine", ""),
        ({"saw": "wants a health check"}, "routine", ""),
        ({"gasping": "yes"}, "same day", "fish gasp"),
        ({"gasping": "no"}, "routine", ""),
        ({"saw": "koi gulping at the surface"}, "same day", "gasps"),
        ({"saw": "not gasping"}, "routine", ""),
        ({"hose": "yes, all night"}, "same day", "a hose ran"),
        ({"hose": "topped up since Monday"}, "same day", "a hose ran"),
        ({"put_in": "weed killer drifted over"}, "same day", "something else got into the pond"),
        ({"saw": "the hose was left on"}, "same day", "chlorinated water"),
        ({"hose": "no", "saw": "no hose, no spray"}, "routine", ""),
        ({"sores": "yes"}, "next day", "sores"),
        ({"saw": "a red spot on the flank"}, "next day", "red spots"),
        ({"filter": "no"}, "next day", "stood still"),
        ({"filter": "yes, but it tripped last night"}, "next day", "stood still"),
        ({"filter": "yes"}, "routine", ""),
        ({"dead": "0"}, "routine", ""),
        ({"dead": "1", "dead_days": "1", "fish": "15 koi"}, "routine", ""),
        ({"dead": "2", "dead_days": "7", "fish": "15 koi"}, "next day", "2 of 15 fish died"),
        ({"dead": "2", "dead_days": "60", "fish": "15 koi"}, "routine", ""),
        ({"dead": "6", "dead_days": "2", "fish": "20 koi"}, "same day", "15 % a day"),
        ({"dead": "3", "dead_days": "1", "fish": "6 koi"}, "same day", "50 % a day"),
        ({"dead": "5", "dead_days": "7", "fish": "5000 goldfish"}, "routine", ""),
        ({"dead": "6", "dead_days": "2"}, "same day", "6 fish died in 2 days"),
        ({"dead": "2", "dead_days": "2"}, "next day", "2 fish died in 2 days"),
        ({"dead": "3", "fish": "20 koi"}, "same day", "over how many days was not told"),
        ({"dead": "3", "dead_days": "7", "fish": "20 koi"}, "next day", "2.1 % a day"),
        ({"dead": "most of them"}, "same day", "most of them"),
        ({"dead": "a few"}, "next day", "how many was not told"),
        ({"readings": "DO 4.1 pH 7.4"}, "same day", "oxygen 4.1 mg/L told, limit 5"),
        ({"readings": "DO 5.0 pH 7.4"}, "routine", ""),
        ({"readings": "chlorine 0.1"}, "same day", "chlorine 0.1 mg/L"),
        ({"readings": "chlorine 0"}, "routine", ""),
        ({"saw": "one lies on its side"}, "next day", "lies on its side"),
    ],
)
def test_what_was_told_and_how_urgent_that_is(
    answers: dict[str, str], urgency: str, said: str
) -> None:
    found = sort(**answers)
    assert found.urgency == urgency, found.words
    assert said in found.words
    assert bool(found.raised) == (urgency != "routine")
    for one in found.raised:
        assert one.sentence.startswith(one.because[:1].upper())
        assert one.says in one.sentence


@pytest.mark.parametrize(
    ("temperature", "urgency"),
    [("21", "next day"), ("10", "next day"), ("9.9", "routine"), ("", "next day"), ("70F", "next day"),
     ("40F", "routine"), ("warm", "next day")],
)  # fmt: skip
def test_refused_food_counts_in_water_in_which_fish_are_fed(temperature: str, urgency: str) -> None:
    # Koi and goldfish are no longer fed below 10 °C: common practice, as in the feeding limits.
    assert warm_from_c() == 10.0
    found = sort(off_food="yes", temperature=temperature)
    assert found.urgency == urgency
    if urgency == "next day":
        assert "fed from 10 °C on" in found.words
    else:
        assert any("no longer fed, so that alone raises nothing" in one for one in found.remarks)


@pytest.mark.parametrize(
    ("answer", "stopped"),
    [
        ("none", False), ("No filter here", False), ("there is no filter", False),
        ("no", True), ("no pump running", True), ("none of them runs", True), ("stopped", True),
    ],
)  # fmt: skip
def test_where_there_never_was_a_filter_none_stood_still(answer: str, stopped: bool) -> None:
    assert hear(filter=answer).stopped is stopped


def test_one_loss_is_told_once_and_what_others_call_many_stands_beside_it() -> None:
    found = sort(dead="6", dead_days="2", fish="20 koi")
    assert [one.code for one in found.raised] == ["mass"]
    assert any("1 % in a week" in one for one in found.remarks)
    assert any("larger numbers" in one.says for one in found.raised)
    assert not sort(dead="6").remarks  # over an unknown time nothing is compared


def test_the_share_a_day_is_of_the_fish_that_were_told() -> None:
    # 6 / 20 × 100 = 30 % in 2 days: 15 % a day.
    assert percent_a_day(hear(dead="6", dead_days="2", fish="20 koi")) == pytest.approx(15.0)
    assert percent_a_day(hear(dead="30", dead_days="2", fish="20 koi")) == pytest.approx(50.0)
    assert percent_a_day(hear(dead="6", dead_days="2")) is None
    assert percent_a_day(hear(fish="20 koi")) is None


def test_what_is_still_to_be_asked_is_told() -> None:
    assert sort().still_open == (
        "dead", "hose or accident", "gasping", "sores", "refuse food", "filter running",
        "what they saw",
    )  # fmt: skip
    assert "gasping" not in sort(gasping="no").still_open


# --- what may have to be reported ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("answers", "at_once"),
    [
        ({"fish": "20 koi", "dead": "3", "dead_days": "3", "saw": "mottled gills"}, True),
        ({"fish": "20 koi", "saw": "mottled gills"}, True),
        ({"fish": "20 koi", "saw": "sunken eyes"}, False),
        ({"fish": "20 koi", "saw": "sunken eyes, notched nose"}, False),
        ({"fish": "20 koi", "dead": "1", "saw": "sunken eyes, notched nose"}, True),
        (
            {"fish": "20 koi", "dead": "3", "dead_days": "5", "new_fish": "six koi from a show"},
            True,
        ),
        ({"fish": "20 koi", "dead": "3", "dead_days": "5", "new_fish": "no"}, False),
        ({"fish": "20 koi", "dead": "1", "new_fish": "yes"}, False),
        ({"fish": "9 sturgeon", "dead": "3", "dead_days": "5", "new_fish": "yes"}, False),
        ({"fish": "9 orange ones", "dead": "3", "dead_days": "5", "new_fish": "yes"}, True),
        ({"fish": "9", "dead": "3", "dead_days": "5", "new_fish": "yes"}, True),
        ({"fish": "30 goldfish", "dead": "3", "new_fish": "yes", "temperature": "12"}, True),
        ({"fish": "30 goldfish", "dead": "3", "new_fish": "yes", "temperature": "26"}, False),
        ({"fish": "20 koi", "dead": "3", "saw": "mottled gills", "temperature": "3"}, True),
    ],
)
def test_what_may_be_a_notifiable_disease_goes_to_the_vet_at_once(
    answers: dict[str, str], at_once: bool
) -> None:
    found = sort(**answers)
    assert found.vet_at_once == at_once, found.words
    if at_once:
        assert found.urgency == "same day"
        assert "the vet at once" in found.words
        assert "no fish, water or nets move" in found.raised[0].says
        assert not any(
            name in found.words.casefold() for name in ("herpes", "viraemia", "khv", "svc")
        )


# --- properties ----------------------------------------------------------------------------------

DEAD = st.integers(0, 60)
DAYS = st.integers(1, 90)
STOCK = st.integers(1, 400)
TEMP = st.floats(0.5, 34.0).map(lambda one: f"{one:.1f}")
YES_NO = st.sampled_from(["", "no", "yes", "not sure"])
SAW = st.lists(
    st.sampled_from(["gasping", "sunken eyes", "mottled gills", "ulcers", "on its side", "rubbing",
                     "off feed", "skin comes off"]), max_size=4,
).map(", ".join)  # fmt: skip
ANY = st.fixed_dictionaries(
    {},
    optional={
        "dead": DEAD.map(str), "dead_days": DAYS.map(str),
        "fish": STOCK.map(lambda one: f"{one} koi"), "temperature": TEMP, "saw": SAW,
        "gasping": YES_NO, "sores": YES_NO, "off_food": YES_NO, "hose": YES_NO, "filter": YES_NO,
        "new_fish": YES_NO, "put_in": st.sampled_from(["", "nothing", "bleach", "a bag of straw"]),
        "readings": st.sampled_from(["", "DO 4", "DO 9", "chlorine 0.2", "pH 7"]),
    },
)  # fmt: skip
CALMEST = {
    "dead": "0", "dead_days": "3000", "fish": "900000 koi", "temperature": "9", "saw": "nothing",
    "gasping": "no", "sores": "no", "off_food": "no", "hose": "no", "filter": "yes",
    "new_fish": "no", "put_in": "nothing", "readings": "DO 9",
}  # fmt: skip
"""To each question the answer that worries least, among the answers generated here."""


@given(ANY, st.sampled_from(["gasping", "sores", "off_food", "hose", "new_fish"]))
def test_a_yes_never_lowers_it(answers: dict[str, str], question: str) -> None:
    for other in ("", "no", "not sure"):
        less = sort(**(answers | {question: other}))
        assert weight(sort(**(answers | {question: "yes"}))) >= weight(less)


@given(ANY, DEAD, st.integers(0, 30), DAYS, st.integers(0, 60), STOCK, st.integers(0, 300))
def test_more_dead_in_fewer_days_of_fewer_fish_is_never_less_urgent(
    answers: dict[str, str], dead: int, more: int, days: int, longer: int, stock: int, extra: int
) -> None:
    mild = answers | {
        "dead": str(dead), "dead_days": str(days + longer), "fish": f"{stock + extra} koi",
    }  # fmt: skip
    worse = answers | {
        "dead": str(dead + more), "dead_days": str(days), "fish": f"{stock} koi",
    }  # fmt: skip
    assert weight(sort(**worse)) >= weight(sort(**mild))


@example({"dead": "2", "dead_days": "1", "new_fish": "yes"}, "fish")
@given(ANY, st.sampled_from(sorted(CALMEST)))
def test_an_answer_that_is_not_known_never_lowers_it(
    answers: dict[str, str], question: str
) -> None:
    calm = sort(**(answers | {question: CALMEST[question]}))
    for unknown in ("", "?", "not sure"):
        assert weight(sort(**(answers | {question: unknown}))) >= weight(calm)


@given(ANY, SAW)
def test_more_signs_never_lower_it(answers: dict[str, str], more: str) -> None:
    seen = answers.get("saw", "")
    both = sort(**(answers | {"saw": f"{seen}, {more}"}))
    assert weight(both) >= weight(sort(**answers))


@given(ANY)
def test_the_urgency_is_that_of_its_strongest_reason_and_every_reason_is_told(
    answers: dict[str, str],
) -> None:
    found = sort(**answers)
    places = [URGENCIES.index(one.urgency) for one in found.raised]
    assert places == sorted(places)
    assert URGENCIES.index(found.urgency) == min(places, default=len(URGENCIES) - 1)
    assert all(one.because and one.says and one.source for one in found.raised)


@given(st.dictionaries(st.sampled_from(sorted(questions())), st.text(max_size=60)))
def test_nothing_that_can_be_typed_breaks_the_sheet(answers: dict[str, str]) -> None:
    one = hear(**answers)
    found = triage(one)
    assert found.urgency in URGENCIES
    assert van_list(one, found)
    record_texts(one)
    readings_line(one)
    for code, text in answers.items():
        echo(code, text, now=NOW, zone=UTC)


# --- what is understood --------------------------------------------------------------------------


def test_numbers_are_understood_as_they_are_told() -> None:
    assert [typed_count(text) for text in ("6", "5-6", "about 12", "none", "1,200", "", "some")] == [
        6, 6, 12, 0, 1200, None, None,
    ]  # fmt: skip
    assert [typed_span_days(text) for text in
            ("3", "3-4 days", "a week", "2 weeks", "12 hours", "36 h", "overnight", "yesterday",
             "a month", "", "long")] == [
        3.0, 3.0, 7.0, 14.0, 1.0, 2.0, 1.0, 2.0, 30.0, None, None,
    ]  # fmt: skip
    assert [typed_stock(text) for text in
            ("12 koi, 4 goldfish", "20", "10-12 koi", "12 koi of 30-45 cm", "3 koi, 8 years old",
             "1,200 goldfish", "koi")] == [16, 20, 10, 12, 3, 1200, None]  # fmt: skip


def test_a_volume_needs_its_unit_and_gallons_their_size() -> None:
    assert typed_litres("4000 UK gal") == pytest.approx(18_184.36)
    assert typed_litres("4000 USgal") == pytest.approx(15_141.65, abs=0.01)
    for text in ("4000", "4000 gal", "", "big", "0 L"):
        assert typed_litres(text) is None
    assert echo("volume", "4000", now=NOW, zone=UTC) == "in which unit?"
    assert echo("volume", "4000 gal", now=NOW, zone=UTC) == "UK or US gallons?"


def test_yes_and_no_are_understood_and_what_is_denied_is_not_told() -> None:
    assert yes_or_no("gasping", "y") == "yes"
    assert yes_or_no("gasping", "no, not at all") == "no"
    assert yes_or_no("gasping", "not sure") == "not known"
    assert yes_or_no("hose", "no, but it rained in from the road") == "yes"
    assert yes_or_no("photo", "perhaps tonight") == "not known"
    assert yes_or_no("caller", "yes") == "not known"
    assert signs_in("no ulcers, not gasping, but sunken eyes") == ("sunken_eyes",)
    assert [typed_use(text) for text in ("no", "some for sale", "table fish", "?")] == [
        "ornamental", "sale", "food", "not asked",
    ]  # fmt: skip


def test_what_a_caller_was_told_is_only_what_stands_on_the_list() -> None:
    assert typed_safe("124") == ("air", "feed", "dead")
    assert typed_safe("1-3, 6") == ("air", "feed", "stop", "movement")
    assert typed_safe("9 0 some salt") == ()
    assert typed_safe("all") == tuple(safe_list())
    assert hear(told="1").advised == (safe_list()["air"].says,)


def test_readings_are_echoed_and_make_the_line_of_a_water_test() -> None:
    one = hear(readings="pH 7,8 TAN 0.5", temperature="66F", kit="strips")
    assert one.temp_c == pytest.approx(18.889, abs=1e-3)  # (66 − 32) × 5 / 9
    assert readings_line(one) == "18.9C pH 7,8 TAN 0.5 // told on the telephone, kit: strips"
    assert "pH 7.8" in (echo("readings", "pH 7,8", now=NOW, zone=UTC) or "")
    assert readings_line(hear(readings="19C pH 7")).startswith("19C pH 7 //")
    assert readings_line(hear(kit="strips")) == ""


# --- the van -------------------------------------------------------------------------------------


def carried(**answers: str) -> set[str]:
    one = hear(**answers)
    return {each.code for each in van_list(one, triage(one))}


def test_the_van_carries_what_the_answers_ask_for() -> None:
    # Common practice of a travelling day.
    always = {"microscope", "meter", "kit", "nets", "disinfectant"}
    known = {"volume": "18000 L", "bowl": "yes", "site_water": "yes", "use": "never", "hose": "no"}
    assert carried(**known) == always
    assert carried(**known, gasping="yes") == always | {"air", "logger"}
    assert carried(**(known | {"volume": "big"})) == always | {"volume"}
    assert carried(**(known | {"site_water": "tap"})) == always | {"air", "power"}
    assert carried(**(known | {"use": "sale"})) == always | {"food"}
    assert {"tubes", "authority", "own_nets"} <= carried(**known, fish="9 koi", saw="mottled gills")
    # What nobody answered is prepared for.
    assert {"volume", "basket", "water", "power", "food", "chlorine"} <= carried()


def test_what_is_missing_for_the_van_is_told_until_it_is_understood() -> None:
    assert hear().missing == tuple(one.van for one in questions().values() if one.van)
    assert "volume" in hear(volume="4000").missing
    assert "volume" not in hear(volume="4000 L").missing
    assert "temperature" in hear(temperature="warm").missing
    assert "food or sale" in hear(use="dunno").missing
    assert "number" not in hear(phone="01632 960 113").missing
    assert "number" in hear(phone="?").missing


@given(ANY)
def test_each_thing_has_its_reason_in_words(answers: dict[str, str]) -> None:
    one = hear(**answers)
    found = triage(one)
    assert asks_for(one, found) <= set(WHEN)
    for each in van_list(one, found):
        wanted = [text for text in each.because.split("; ") if text]
        assert set(wanted) <= set(WHEN.values())
