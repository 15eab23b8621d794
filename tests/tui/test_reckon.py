"""`pondround reckon` as a person or a program calls it."""

from __future__ import annotations

import argparse
import json
import math

import pytest

from store.water.ammonia import ammonia
from tui.commands.reckon import add_reckon, run_reckon


@pytest.fixture
def call(capsys):
    def run(line: str, *more: str) -> tuple[int, str, str]:
        parser = argparse.ArgumentParser(prog="pondround")
        add_reckon(parser.add_subparsers(dest="command"))
        try:
            code = run_reckon(parser.parse_args(["reckon", *line.split(), *more]))
        except SystemExit as leaving:
            code = int(leaving.code or 0)
        out, err = capsys.readouterr()
        return code, out, err

    return run


@pytest.fixture
def reckon(call):
    def run(line: str, *more: str) -> dict:
        code, out, err = call(f"{line} --json", *more)
        assert (code, err) == (0, "")
        return json.loads(out)

    return run


CALLS = {
    "ammonia --tan 1.5 --ph 8.3 --temp 24": ("fraction", "nh3_n_mg_l", "nh3_mg_l"),
    "oxygen --temp 20 --do 7": ("saturation_mg_l", "percent"),
    "co2 --kh 4 --ph 7 --temp 20": ("co2_mg_l",),
    "nitrite --nitrite 2 --as no2 --chloride 5 --volume 15000": ("ratio", "salt_g"),
    "volume rectangle --length 5 --width 3 --depth 1.5": ("litres",),
    "volume circle --diameter 7.5 --depth 2": ("litres",),
    "volume ellipse --length 6 --width 4 --depth 1.2": ("litres",),
    "volume l-shape --length 6 --width 4 --corner-length 2 --corner-width 2 --depth 1": ("litres",),
    "volume slope --length 8 --width 4 --shallow 0.5 --deep 1.5": ("litres",),
    "volume grid --cell-length 1 --cell-width 1 --row 0.5 --row 1": ("litres",),
    "volume salt --salt 10kg --before 0.0 --after 0.5": ("litres",),
    "criteria --ph 8 --temp 20": ("acute_tan_mg_l", "chronic_tan_mg_l"),
}


@pytest.mark.parametrize("line", CALLS)
def test_every_calculator_gives_its_keys_units_and_source(reckon, line):
    answer = reckon(line)
    for key in CALLS[line]:
        assert isinstance(answer[key], float)
        assert answer["units"][key]
    assert set(answer["units"]) == set(answer) - {"units", "arithmetic", "source", "remarks"}
    assert answer["source"]
    assert isinstance(answer["remarks"], list)


@pytest.mark.parametrize("line", CALLS)
def test_text_shows_the_arithmetic_and_the_source(call, line):
    code, out, err = call(line)
    assert (code, err) == (0, "")
    heads = [row.split("  ")[0] for row in out.splitlines()]
    assert "arithmetic" in heads
    assert "source" in heads


def test_json_numbers_are_not_rounded(reckon):
    answer = reckon("ammonia --tan 1.5 --ph 8.3 --temp 24")
    assert answer["nh3_n_mg_l"] == ammonia(1.5, "n", 8.3, 24.0).nh3_n_mg_l
    assert answer["fraction"] == pytest.approx(0.0953440342, abs=1e-9)


def test_units_and_commas(reckon):
    plain = reckon("ammonia --tan 1.5 --ph 8.3 --temp 24 --salinity 3")
    typed = reckon("ammonia --tan 1,5ppm --ph 8,3 --temp 75.2F --salinity 0.3%")
    assert typed["nh3_n_mg_l"] == pytest.approx(plain["nh3_n_mg_l"])
    assert plain["nh3_n_mg_l"] < plain["nh3_n_fresh_mg_l"]
    assert any("cautious" in remark for remark in plain["remarks"])
    molar = reckon("ammonia --tan 100umol/L --as nh4 --ph 8.3 --temp 24")
    assert molar["nh3_n_mg_l"] == pytest.approx(1.40067 * molar["fraction"])
    assert reckon("co2 --kh 4 --ph 7 --temp 20")["co2_mg_l"] == pytest.approx(
        reckon("co2 --alkalinity 71.3921 --ph 7 --temp 20")["co2_mg_l"], rel=1e-5
    )
    salted = "nitrite --nitrite 2 --as no2 --chloride 5 --volume"
    assert reckon(f"{salted} 5000USgal")["salt_g"] == pytest.approx(
        reckon(f"{salted} 18927.0589")["salt_g"], rel=1e-6
    )
    assert reckon("oxygen --temp 20 --altitude 1000m")["saturation_mg_l"] == pytest.approx(
        reckon("oxygen --temp 20 --altitude 3280.84ft")["saturation_mg_l"], rel=1e-6
    )


def test_what_was_not_asked_is_null(reckon):
    assert reckon("oxygen --temp 20")["percent"] is None
    answer = reckon("nitrite --nitrite 0 --as n --chloride 5")
    assert (answer["ratio"], answer["salt_g"]) == (None, None)


def test_the_meters_step_is_that_of_the_digits_or_as_said(reckon):
    by_digits = reckon("volume salt --salt 12kg --before 0.04% --after 0.11% --hours 24")
    assert (by_digits["low_l"], by_digits["high_l"]) == (
        pytest.approx(15_000.0),
        pytest.approx(20_000.0),
    )
    said = reckon("volume salt --salt 12kg --before 0.04% --after 0.11% --step 0.02%")
    assert said["high_l"] == pytest.approx(24_000.0)
    assert any("last digit" in remark for remark in by_digits["remarks"])
    assert not any("last digit" in remark for remark in said["remarks"])


def test_a_grid_is_read_by_rows_and_the_filter_is_added(reckon):
    line = "volume grid --cell-length 2 --cell-width 1 --filter 250"
    answer = reckon(line, "--row", "0 0,5", "--row", "1 1.5")
    assert answer["litres"] == pytest.approx(3.0 * 2.0 * 1000.0 + 250.0)


def test_outside_its_range_a_value_comes_with_a_remark(reckon):
    answer = reckon("ammonia --tan 1 --ph 10.5 --temp 35")
    assert math.isfinite(answer["fraction"])
    assert len(answer["remarks"]) == 2


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("ammonia --tan nan --ph 8 --temp 24", "total ammonia"),
        ("ammonia --tan inf --ph 8 --temp 24", "total ammonia"),
        ("ammonia --tan 1e999 --ph 8 --temp 24", "total ammonia"),
        ("ammonia --tan -1 --ph 8 --temp 24", "total ammonia"),
        ("ammonia --tan 1 --ph 68 --temp 24", "pH"),
        ("ammonia --tan 1 --ph 8 --temp 24X", "temperature"),
        ("ammonia --tan 1 --ph 8", "--temp"),
        ("ammonia --tan 1 --as no3 --ph 8 --temp 24", "--as"),
        ("co2 --ph 8 --temp 24", "--kh"),
        ("nitrite --nitrite 1 --chloride 5 --volume 100", "--as"),
        ("nitrite --nitrite 1 --as n --chloride 5 --volume 100gal", "USgal or UKgal"),
        ("nitrite --nitrite 1 --as n --chloride 5 --volume 0", "volume"),
        ("nitrite --nitrite 1 --as n --chloride 5 --ratio 6x", "ratio"),
        ("oxygen --temp 20 --altitude 1,500", "can be read as"),
        ("volume rectangle --length 0 --width 3 --depth 1", "length"),
        ("volume salt --salt 1kg --before 0.3 --after 0.4", "three steps"),
        ("volume salt --salt 1kg --before 0.3 --after 0.1%", "unit"),
        ("volume grid --cell-length 1 --cell-width 1 --row 0", "grid"),
    ],
)
@pytest.mark.parametrize("json_too", ["", " --json"])
def test_bad_input_is_one_sentence_and_exit_code_2(call, line, words, json_too):
    code, out, err = call(line + json_too)
    assert (code, out) == (2, "")
    assert words in err
    assert err.count("\n") == 1
    assert "Traceback" not in err


def test_control_characters_come_back_harmless(call):
    code, _, err = call("oxygen --temp", "20\x1b[2J")
    assert code == 2
    assert "\x1b" not in err
