"""`pondround reckon` for examinations, as a person or a program calls it."""

from __future__ import annotations

import argparse
import json

import pytest

from store.errors import BadInput
from tui.commands.reckon import add_reckon, run_reckon
from tui.commands.reckoned_exams import counts, share


@pytest.fixture
def call(capsys):
    def run(*words: str) -> tuple[int, str, str]:
        parser = argparse.ArgumentParser(prog="pondround")
        add_reckon(parser.add_subparsers(dest="command"))
        try:
            code = run_reckon(parser.parse_args(["reckon", *words]))
        except SystemExit as leaving:
            code = int(leaving.code or 0)
        out, err = capsys.readouterr()
        return code, out, err

    return run


@pytest.fixture
def reckon(call):
    def run(line: str) -> dict:
        code, out, err = call(*line.split(), "--json")
        assert (code, err) == (0, "")
        return json.loads(out)

    return run


KOI = "--before 42,35,60,18,27,55,33,30 --after 3,1,6,0,2,4,1,3"
CALLS = {
    "sample --population 30 --prevalence 5%": ("fish", "reached_percent", "rounding"),
    "sample --population inf --prevalence 0.05 --sensitivity .8": ("fish",),
    "sample --population 2000 --examined 60": ("one_sided_percent", "two_sided_percent"),
    "prevalence --positive 3 --examined 20": ("low", "high", "wilson_low", "wilson_high"),
    "prevalence --positive 4 --examined 12 --population 14": ("fewest", "most"),
    f"reduction {KOI}": ("percent", "low", "high", "method"),
    f"reduction {KOI} --same-fish": ("drawn_low", "drawn_high"),
    "reduction --before 3,2,3 --after 0,1,0 --scores": ("percent_before", "percent_after"),
    "mortality --stock 26 --counted 2026-06-09 --deaths 2,3,4,2": ("percent", "low", "high"),
    "mortality --stock 26 --counted 2026-06-09 --deaths 0,-,3 --added 2026-06-11:4": ("of",),
}


@pytest.mark.parametrize("line", CALLS)
def test_every_calculator_gives_its_keys_units_source_and_remarks(reckon, line):
    answer = reckon(line)
    for key in CALLS[line]:
        assert answer[key] is not None
        assert key in answer["units"]
    assert answer["arithmetic"]
    assert answer["source"]
    assert answer["remarks"]


@pytest.mark.parametrize("line", CALLS)
def test_as_text(call, line):
    code, out, err = call(*line.split())
    assert (code, err) == (0, "")
    assert "arithmetic" in out
    assert "remark" in out


@pytest.mark.parametrize(
    ("line", "fish"),
    [
        ("--population 2000 --prevalence 5%", 58),
        ("--population 2000 --prevalence 0.05 --confidence .95 --sensitivity 1", 58),
        ("--population 2000 --prevalence 0,02 --confidence 95%", 143),
        ("--population inf --prevalence 5% --sensitivity 80%", 74),
        ("--population inf --prevalence 2% --sensitivity 0.8", 186),
        ("--population 30 --prevalence 5% --rounding down", 29),
    ],
)
def test_samples(reckon, line, fish):
    assert reckon(f"sample {line}")["fish"] == fish


def test_sixty_clean_of_a_large_stock(reckon):
    answer = reckon("sample --population inf --examined 60")
    assert answer["one_sided_percent"] == pytest.approx(4.87, abs=0.005)
    assert answer["two_sided_percent"] == pytest.approx(5.96, abs=0.005)


def test_prevalence_by_both_methods(reckon):
    answer = reckon("prevalence --positive 3 --examined 20")
    limits = [answer[key] for key in ("low", "high", "wilson_low", "wilson_high")]
    assert limits == pytest.approx([0.0321, 0.3789, 0.0524, 0.3604], abs=5e-5)


def test_did_it_work(reckon):
    answer = reckon(f"reduction {KOI} --same-fish --seed 4")
    assert answer["percent"] == pytest.approx(93.33, abs=0.005)
    assert (answer["low"], answer["high"]) == pytest.approx((87.22, 96.52), abs=0.005)
    assert answer["method"] == "WAAVP form"
    assert answer["seed"] == 4
    nothing = reckon("reduction --before 42,35,60 --after 0,0,0")
    assert (nothing["percent"], nothing["low"], nothing["high"]) == (100.0, None, None)
    assert "limits not estimable" in nothing["said"]


def test_deaths(reckon):
    answer = reckon("mortality --stock 26 --counted 2026-06-09 --deaths 2,3,4,2")
    assert answer["day_percents"] == pytest.approx([7.69, 12.50, 19.05, 11.76], abs=0.005)
    assert (answer["low"], answer["high"]) == pytest.approx((23.4, 63.1), abs=0.05)
    assert any(one.startswith("Reached: ") for one in answer["remarks"])
    missed = reckon("mortality --stock 26 --counted 2026-06-09 --deaths 2,-,0")
    assert missed["days_not_looked_at"] == 1
    assert len(missed["day_percents"]) == 2


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("sample --population 100 --prevalence 5", "Please write 5% for 5 of a hundred"),
        ("sample --population 100 --prevalence 1", "Please write 1% or 100%"),
        ("sample --population 100 --prevalence 5kg", "must be a share, such as 5% or 0.05"),
        ("sample --population 100 --prevalence 5% --confidence 95", "Please write 95%"),
        ("sample --population 100 --prevalence 5% --confidence 100%", "must be below 100 %"),
        ("sample --population 12 --prevalence 5% --sensitivity 80%", "reach only 80 %, not 95 %"),
        ("sample --population many --prevalence 5%", "is not a number"),
        ("sample --population 12.5 --prevalence 5%", "must be a whole number"),
        ("sample --population 12 --examined 13", "13 fish were examined, and the stock has 12"),
        ("prevalence --positive 3 --examined 2", "3 positive of 2 examined cannot be"),
        ("reduction --before 0,0 --after 1,1", "Nothing was counted before"),
        ("reduction --before 3,4,5 --after 1,1 --same-fish", "cannot all be the same fish"),
        ("reduction --before 3,4,+++ --after 1,1", "is not a number"),
        ("reduction --before 3,4 --after 1,1 --draws 500", "cannot be less than 2000"),
        ("mortality --stock 0 --counted 2026-06-09 --deaths 2", "must be at least 1"),
        ("mortality --stock 9 --counted 9.6.26 --deaths 2", "is not a day"),
        ("mortality --stock 9 --counted 2026-06-09 --deaths 2,x", "is not a number"),
        ("mortality --stock 9 --counted 2026-06-09 --deaths 2 --added 4", "such as 2026-06-11:4"),
    ],
)
def test_what_is_refused_in_one_sentence(call, line, said):
    code, out, err = call(*line.split())
    assert (code, out) == (2, "")
    assert said in err
    assert err.count("\n") == 1


@pytest.mark.parametrize(
    ("text", "value"),
    [("5%", 0.05), ("5 %", 0.05), ("0.05", 0.05), (".05", 0.05), ("0,05", 0.05), ("0.5%", 0.005)],
)
def test_a_share_is_read_without_a_doubt(text, value):
    assert share(text, "prevalence") == pytest.approx(value)


def test_all_fish_is_a_sensitivity_but_no_clear_prevalence():
    assert share("1", "sensitivity") == 1.0
    assert share("100%", "prevalence") == 1.0


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("42,35,60", [42, 35, 60]),
        ("42, 35, 60", [42, 35, 60]),
        ("42 35 60", [42, 35, 60]),
        ("3,5; 2; 0", [3.5, 2, 0]),
        ("3.5,2", [3.5, 2]),
        ("7", [7]),
        ("7,", [7]),
    ],
)
def test_counts_parted_in_the_ways_people_part_them(text, numbers):
    assert counts(text, "counts before") == numbers


def test_commas_and_blanks_at_once_are_not_guessed_at():
    with pytest.raises(BadInput, match="not clear which part two numbers"):
        counts("3,5 2,5", "counts before")
