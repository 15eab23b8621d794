"""`pondround reckon` for treatment courses, as a person or a program calls it."""

from __future__ import annotations

import argparse
import json

import pytest

from store.facts.agents import agents
from tui.commands.reckon import add_reckon, run_reckon


@pytest.fixture
def call(capsys):
    def run(line: str) -> tuple[int, str, str]:
        parser = argparse.ArgumentParser(prog="pondround")
        add_reckon(parser.add_subparsers(dest="command"))
        try:
            code = run_reckon(parser.parse_args(["reckon", *line.split()]))
        except SystemExit as leaving:
            code = int(leaving.code or 0)
        out, err = capsys.readouterr()
        return code, out, err

    return run


@pytest.fixture
def reckon(call):
    def run(line: str) -> dict:
        code, out, err = call(f"{line} --json")
        assert (code, err) == (0, "")
        return json.loads(out)

    return run


CALLS = {
    "bath --dose 0.5 --volume 30000 --strength 98": ("grams",),
    "bath --dose 75 --volume 1000 --strength 35 --density 1.1317": ("millilitres",),
    "bath --dose 25uL/L --volume 5m3": ("millilitres",),
    "residue --dose 1 --doses 3 --every 7 --water-change 30": ("peaks_mg_l", "troughs_mg_l"),
    "residue --dose 2 --doses 4 --every 2 --water-change 25 --half-life 24": ("peaks_mg_l",),
    "feed --dose 10 --biomass 45 --rate 1 --days 10 --strength 50": (
        "feed_kg", "product_g", "mg_per_kg_feed",
    ),
    "feed --inclusion 60 --biomass 7 --feed 1 --days 14 --temp 19": ("mg_kg_day",),
    "feeding --biomass 40 --rate 1 --protein 40 --volume 15m3": ("tan_mg_l_day", "tan_g_day"),
    "feeding --biomass 9 --rate 1 --protein 25 --volume 3000 --temp 24": ("tan_mg_l_day",),
    "cycle gill_flukes --temp 20": ("days", "interval_days"),
    "cycle white_spot --temp 18": ("days", "interval_days"),
    "salt --volume 12000 --from 0.5 --to 3": ("grams",),
    "withdrawal --degree-days 500 --temp 18 --from 2026-05-03": ("until", "free_from"),
    "withdrawal --degree-days 500 --temp 18 --from 2026-05-03 --spread 2": ("until_if_cold",),
}  # fmt: skip


@pytest.mark.parametrize("line", CALLS)
def test_every_calculator_gives_its_keys_units_and_source(reckon, line):
    answer = reckon(line)
    for key in CALLS[line]:
        assert answer[key]
        assert answer["units"][key]
    assert set(answer["units"]) == set(answer) - {"units", "arithmetic", "source", "remarks"}
    assert answer["source"]
    assert isinstance(answer["remarks"], list)


@pytest.mark.parametrize("line", CALLS)
def test_text_shows_every_number_with_a_label(call, reckon, line):
    code, out, err = call(line)
    assert (code, err) == (0, "")
    heads = [row.split("  ")[0] for row in out.splitlines()]
    assert "arithmetic" in heads
    assert "source" in heads
    assert "None" not in out


def test_amounts_are_given_unrounded_and_as_weighed(reckon):
    answer = reckon("bath --dose 0.5 --volume 30000 --strength 98")
    assert answer["grams"] == pytest.approx(15.30612, abs=1e-5)
    assert answer["measured_grams"] == 15.3
    assert "millilitres" not in answer
    liquid = reckon("bath --dose 75 --volume 1000 --strength 35 --density 1.1317")
    assert liquid["millilitres"] == pytest.approx(189.3, abs=0.1)
    assert liquid["mass_g"] == pytest.approx(75.0 / 0.35)
    assert "grams" not in liquid


def test_doses_and_volumes_in_other_units(reckon):
    assert reckon("bath --dose 3g/L --volume 100")["grams"] == pytest.approx(300.0)
    assert reckon("bath --dose 2ppm --volume 1acre-ft")["grams"] == pytest.approx(2466.96, abs=0.01)
    assert reckon("bath --dose 25mL/m3 --volume 5000")["millilitres"] == pytest.approx(125.0)
    by_weight = reckon("bath --dose 25 --volume 5000 --basis product --density 1090kg/m3")
    assert by_weight["millilitres"] == pytest.approx(114.68, abs=0.01)
    weak = reckon("bath --dose 75 --volume 1000 --strength 3% --basis w/v")
    assert weak["millilitres"] == pytest.approx(2500.0)


def test_an_unsure_volume(reckon):
    answer = reckon("bath --dose 2 --volume 20000 --low 15000 --high 25000")
    assert answer["grams_for_least_volume"] == pytest.approx(30.0)
    assert answer["grams_for_greatest_volume"] == pytest.approx(50.0)
    assert answer["dose_in_least_volume"] == pytest.approx(2.6667, abs=1e-4)
    assert answer["dose_in_greatest_volume"] == pytest.approx(1.6)


def test_peaks_and_troughs(reckon):
    answer = reckon("residue --dose 1 --doses 3 --every 7 --water-change 30")
    assert answer["peaks_mg_l"] == pytest.approx([1.0, 1.7, 2.19])
    assert answer["troughs_mg_l"] == pytest.approx([0.7, 1.19])
    assert any("safe bound" in remark for remark in answer["remarks"])
    lossy = reckon("residue --dose 2 --doses 4 --every 48h --water-change 25% --half-life 1d")
    assert lossy["peaks_mg_l"] == pytest.approx([2.0, 2.375, 2.4453, 2.4585], abs=5e-5)
    assert lossy["plateau_mg_l"] == pytest.approx(2.4615, abs=5e-5)
    assert lossy["bound_mg_l"] == pytest.approx([2.0, 3.5, 4.625, 5.46875])
    assert reckon("residue --dose 1 --doses 2 --every 7")["plateau_mg_l"] is None


def test_feed_forward_and_back(reckon):
    answer = reckon("feed --dose 10 --biomass 45 --rate 1 --days 10 --strength 50")
    assert answer["feed_kg"] == pytest.approx(4.5)
    assert answer["product_g"] == pytest.approx(9.0)
    assert answer["mg_per_kg_feed"] == pytest.approx(1000.0)
    back = reckon("feed --inclusion 1000 --biomass 45000g --feed 4.5 --days 10 --strength 50")
    assert back["mg_kg_day"] == pytest.approx(10.0)
    assert back["product_g"] == pytest.approx(9.0)


def test_an_inclusion_beside_the_published_oral_dose(reckon):
    line = "feed --inclusion 60 --biomass 7 --feed 1 --days 14 --agent trimethoprim_sulfadiazine"
    answer = reckon(line)
    assert answer["mg_kg_day"] == pytest.approx(0.612, abs=5e-4)
    assert answer["remarks"][0].startswith("STOP: ")
    assert "0.6122 mg per kg fish and day, published 30: 49 times less." in answer["remarks"][0]
    agreed = reckon(
        "feed --dose 30 --biomass 7 --rate 1 --days 7 --agent trimethoprim_sulfadiazine"
    )
    assert "within it" in agreed["remarks"][0]
    vitamin = reckon("feed --inclusion 700 --biomass 7 --rate 1 --days 14 --agent vitamin_c")
    assert "700 mg per kg feed, published 700: within it." in vitamin["remarks"][0]


@pytest.mark.parametrize("code", agents())
def test_every_agent_can_be_set_beside_a_feed(reckon, code):
    remarks = reckon(f"feed --dose 10 --biomass 7 --rate 1 --days 7 --agent {code}")["remarks"]
    given = any(route.code == "feed" for route in agents()[code].routes)
    assert ("no dose" in remarks[0]) is not given


def test_cold_water_stops_a_feed(reckon):
    line = "feed --dose 10 --biomass 45 --rate 1 --days 10 --temp"
    assert reckon(f"{line} 7")["remarks"][0].startswith("STOP: Below 8 °C")
    assert reckon(f"{line} 44F")["remarks"][0].startswith("STOP: Below 8 °C")
    assert reckon(f"{line} 9")["remarks"][0].startswith("Mind: Below 10 °C")
    assert not any("Below" in remark for remark in reckon(f"{line} 22")["remarks"])


def test_the_interval_of_a_fluke_that_lays_eggs(reckon):
    """Zhang et al. 2015: eggs hatch from day 3 to 8 at 20 °C, from day 19 on at 10 °C."""
    warm = reckon("cycle gill_flukes --temp 20")
    assert (warm["days"], warm["interval_days"]) == (3.0, 5)
    assert warm["last_dose_day"] >= 8
    cold = reckon("cycle gill_flukes --temp 50F")
    assert cold["days"] == 19.0
    assert cold["last_dose_day"] >= 43
    assert reckon("cycle costia --temp 13")["interval_days"] is None


def test_outside_its_range_a_cycle_is_refused_with_the_range(call):
    code, out, err = call("cycle gill_flukes --temp 5 --json")
    assert (code, out) == (2, "")
    assert "published for 10 to 35 °C" in err


@pytest.mark.parametrize(
    ("degree_days", "temp", "until", "free_from"),
    [
        ("500", "18", "2026-05-31", "2026-06-01"),
        ("500", "64.4F", "2026-05-31", "2026-06-01"),
        ("500", "14.2", "2026-06-08", "2026-06-09"),
        ("500", "10", "2026-06-22", "2026-06-23"),
        ("600", "12", "2026-06-22", "2026-06-23"),
    ],
)
def test_until_when_fish_are_not_food(reckon, degree_days, temp, until, free_from):
    """By hand: degree-days over temperature, rounded up, counted from the day after the dose."""
    answer = reckon(f"withdrawal --degree-days {degree_days} --temp {temp} --from 2026-05-03")
    assert (answer["until"], answer["free_from"]) == (until, free_from)
    assert answer["until_if_cold"] is None


def test_colder_water_takes_longer(reckon):
    answer = reckon("withdrawal --degree-days 500 --temp 18 --from 2026-05-03 --spread 2")
    assert answer["until_if_warm"] < answer["until"] < answer["until_if_cold"]
    frozen = reckon("withdrawal --degree-days 500 --temp 0 --from 2026-05-03")
    assert frozen["until"] is None


def test_dates_are_printed_as_they_are(call):
    out = call("withdrawal --degree-days 500 --temp 18 --from 2026-05-03")[1]
    assert out.splitlines()[0].split("  ") == ["not for food until", "2026-05-31"]


def test_salt_to_a_target(reckon):
    assert reckon("salt --volume 12000 --from 0.5 --to 3")["grams"] == pytest.approx(30_000.0)
    measured = reckon("salt --volume 17143 --from 0.11% --to 0.30%")
    assert measured["grams"] == pytest.approx(32_600.0, rel=1e-3)
    none = reckon("salt --volume 12000 --from 3 --to 1")
    assert none["grams"] == 0.0
    assert none["water_change_percent"] == pytest.approx(66.7, abs=0.1)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("bath --dose 0 --volume 1000", "dose"),
        ("bath --dose -1 --volume 1000", "dose"),
        ("bath --dose 1e999 --volume 1000", "dose"),
        ("bath --dose 1 --volume 0", "volume"),
        ("bath --dose 1", "--volume"),
        ("bath --dose 1 --volume 1000 --strength 101", "strength"),
        ("bath --dose 1 --volume 1000 --strength 0", "strength"),
        ("bath --dose 1 --volume 1000 --density 1090", "density"),
        ("bath --dose 1spoon --volume 1000", "spoon"),
        ("bath --dose 1 --volume 100gal", "USgal or UKgal"),
        ("bath --dose 1uL/L --volume 1000 --basis w/v", "basis"),
        ("bath --dose 1 --volume 1000 --basis v/v", "--basis"),
        ("bath --dose 1 --volume 1000 --low 2000", "least volume"),
        ("residue --dose 1 --doses 2.5 --every 7", "whole number"),
        ("residue --dose 1 --doses 0 --every 7", "number of doses"),
        ("residue --dose 1 --doses 3 --every 0", "interval"),
        ("residue --dose 1 --doses 3 --every 7 --water-change 130", "water change"),
        ("residue --dose 1 --doses 3 --every 7 --half-life 0", "half-life"),
        ("residue --dose 1 --doses 99999 --every 7", "number of doses"),
        ("feed --dose 10 --biomass 0 --rate 1 --days 10", "biomass"),
        ("feed --dose 10 --biomass 45 --rate 0 --days 10", "feeding rate"),
        ("feed --dose 10 --biomass 45 --rate 1 --days 1.5", "whole number"),
        ("feed --dose 10 --biomass 45 --rate 1 --days 10 --strength 150", "strength"),
        ("feed --biomass 45 --rate 1 --days 10", "--dose"),
        ("feed --dose 10 --inclusion 60 --biomass 45 --rate 1 --days 10", "not allowed"),
        ("feed --dose 10 --biomass 45 --days 10", "--rate"),
        ("feed --dose 10 --biomass 45 --rate 1 --days 10 --agent nothing", "nothing"),
        ("cycle sea_serpent --temp 20", "sea_serpent"),
        ("cycle gill_flukes --temp 20X", "temperature"),
        ("cycle gill_flukes", "--temp"),
        ("withdrawal --degree-days -5 --temp 18 --from 2026-05-03", "degree-days"),
        ("withdrawal --degree-days 500 --temp 64 --from 2026-05-03", "temperature"),
        ("withdrawal --degree-days 500 --temp 18 --from 3.5.2026", "3.5.2026"),
        ("withdrawal --degree-days 500 --temp 18 --from 2026-02-30", "2026-02-30"),
        ("withdrawal --degree-days 500 --temp 18", "--from"),
        ("salt --volume 0 --from 0 --to 3", "volume"),
        ("salt --volume 1000 --from -1 --to 3", "salinity"),
        ("salt --volume 1000 --from 0 --to 400", "salinity"),
    ],
)
@pytest.mark.parametrize("json_too", ["", " --json"])
def test_bad_input_is_one_sentence_and_exit_code_2(call, line, words, json_too):
    code, out, err = call(line + json_too)
    assert (code, out) == (2, "")
    assert words in err
    assert err.count("\n") == 1
    assert "Traceback" not in err
