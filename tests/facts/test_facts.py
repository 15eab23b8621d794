"""The facts files: whole, well backed, agreeing with each other; and every fault in them told."""

from __future__ import annotations

import copy
import re
from collections.abc import Callable
from importlib import resources
from typing import Any

import pytest

from store.book.events import EVENT_KINDS
from store.errors import FactsTrouble, NotFound
from store.facts.entry import Finding, file_tables, refuse
from store.facts.hazards import PRECONDITIONS, hazards, read_hazards
from store.facts.ranges import UNITS, ranges, read_ranges
from store.facts.rule_numbers import limit, unit_suffix
from store.facts.rules import (
    ADDITIONS,
    CORRECTIONS,
    EVENTS,
    SIGNS,
    RuleFact,
    read_rules,
    rules,
)
from store.facts.sources import (
    cite,
    cite_with_standing,
    read_sources,
    source_standings,
    sources,
)
from store.water.ammonia import NH3_PER_N
from store.water.parameters import PARAMETERS

FILES = ("sources.toml", "hazards.toml", "ranges.toml", "rules.toml")
ARITHMETIC_SOURCES = {
    "emerson_1975", "benson_krause_1984", "plummer_busenberg_1982", "tucker_1984", "ufifas_cir920",
}  # fmt: skip
Table = dict[str, Any]


# --- what is there --------------------------------------------------------------------------------


def test_every_window_has_one_rule_made_from_it() -> None:
    made = {rule.hazard for rule in rules().values() if rule.kind == "window"}
    watched = {code for code, one in hazards().items() if one.window and not one.watched_by}
    assert made == watched
    assert len(made) == 17
    assert len(hazards()) == 19


def test_parameters_have_the_unit_they_are_stored_in() -> None:
    assert PARAMETERS.keys() <= UNITS.keys()
    assert {code: UNITS[code] for code in PARAMETERS} == {
        code: one.unit for code, one in PARAMETERS.items()
    }


def test_events_and_preconditions_are_kinds_that_the_book_knows() -> None:
    assert EVENTS.keys() <= EVENT_KINDS.keys()
    assert {code: EVENT_KINDS[code].label for code in SIGNS} == dict(SIGNS)
    assert CORRECTIONS.keys() <= EVENT_KINDS.keys()
    assert CORRECTIONS.keys() > ADDITIONS
    assert (
        PRECONDITIONS.keys()
        - {
            "rising_in_spring",
            "seen_here_before",
            "seen_same_day",
        }
        <= EVENT_KINDS.keys()
    )


def test_every_parameter_of_a_test_has_a_rule() -> None:
    looked_at = {rule.parameter for rule in rules().values()} | {"nitrite_mg_l"}
    assert PARAMETERS.keys() <= looked_at


ALL_FILES = sorted(
    one.name for one in resources.files("store.facts").iterdir() if one.name.endswith(".toml")
)


def _sources_in(value: Any) -> set[str]:
    """Every `source` of a table and of the tables inside it."""
    if isinstance(value, list):
        return {key for one in value for key in _sources_in(one)}
    if not isinstance(value, dict):
        return set()
    own = {value["source"]} if isinstance(value.get("source"), str) else set()
    return own | {key for one in value.values() for key in _sources_in(one)}


def _keys_used() -> set[str]:
    files = (file for file in ALL_FILES if file != "sources.toml")
    return {key for file in files for key in _sources_in(dict(file_tables(file)))}


def test_every_source_is_used_and_can_be_cited() -> None:
    named_in_notes = {"rohlenova_2011"}
    assert sources().keys() - _keys_used() == ARITHMETIC_SOURCES - _keys_used() | named_in_notes
    for key, source in sources().items():
        line = cite(key)
        assert "\n" not in line
        assert source.title in line


@pytest.mark.parametrize("file", ALL_FILES)
def test_no_shop_page_or_address_is_named(file: str) -> None:
    text = (resources.files("store.facts") / file).read_text(encoding="utf-8")
    assert not re.search(r"https?:|www\.|\.(com|co\.uk|org|net|de|info)\b", text)


def test_common_practice_names_nobody() -> None:
    nobody = sources()["common_practice"]
    assert (nobody.author, nobody.year, nobody.where) == ("", None, "")
    assert cite_with_standing("common_practice", "common practice") == nobody.title


def test_a_source_that_is_not_there() -> None:
    with pytest.raises(NotFound, match="no source 'nobody_1900'"):
        cite("nobody_1900")


# --- what it says ---------------------------------------------------------------------------------


def test_koi_herpesvirus_is_watched_over_every_official_band() -> None:
    """16-28, 17-28, 18-28 and 22-27 are published; 15 to 16 is an outbreak on the page of 17-28."""
    khv = hazards()["khv"]
    assert khv.window is not None
    assert (khv.window.low_c, khv.window.high_c) == (15.0, 28.0)
    published = [one for one in khv.alternates if one.standing == "published"]
    assert len(published) == 5
    for one in published:
        assert one.low_c is not None
        assert one.high_c is not None
        assert khv.window.low_c <= one.low_c < one.high_c <= khv.window.high_c


def test_costia_keeps_the_band_that_contradicts_it() -> None:
    bands = {(one.low_c, one.high_c) for one in hazards()["costia"].alternates}
    assert {(2.0, 30.0), (10.0, 25.0), (25.0, 28.0)} <= bands


@pytest.mark.parametrize(
    ("code", "end", "fahrenheit"),
    [
        ("ulcer_disease", "low_c", 42.0),
        ("ulcer_disease", "high_c", 62.0),
        ("spring_gap", "low_c", 42.0),
        ("spring_gap", "high_c", 62.0),
        ("warm_night_oxygen", "low_c", 80.0),
    ],
)
def test_bands_handed_on_in_fahrenheit(code: str, end: str, fahrenheit: float) -> None:
    assert getattr(hazards()[code].window, end) == round((fahrenheit - 32.0) / 1.8, 1)


def test_only_two_hazards_are_notifiable_and_both_defer() -> None:
    notifiable = {code: one for code, one in hazards().items() if one.notifiable}
    assert notifiable.keys() == {"khv", "svc"}
    for hazard in notifiable.values():
        assert "stop all movement" in hazard.response
        assert "competent authority" in hazard.response
        assert "local law" in hazard.response
        assert re.fullmatch(r"\d{4}-\d\d", hazard.legal_as_of)
        assert not re.search(r"\d{4,}", hazard.response)


@pytest.mark.parametrize("hazard", hazards().values(), ids=hazards().keys())
def test_no_dose_stands_among_the_hazards(hazard: Any) -> None:
    words = " ".join((hazard.response, *hazard.cautions, *hazard.favoured_by))
    assert not re.search(r"mg/L|mg/kg|g/L|ppm|per cent|\bdays? running\b", words)


def test_flukes_are_not_swapped() -> None:
    gill, skin = hazards()["gill_flukes"], hazards()["skin_flukes"]
    assert gill.name.startswith("Dactylogyrus")
    assert any("eggs" in one for one in gill.identify)
    assert any("four eye spots" in one for one in gill.identify)
    assert skin.name.startswith("Gyrodactylus")
    assert any("no eye spots" in one for one in skin.identify)
    assert not skin.notifiable


def test_limits_that_cite_a_publication_stand_in_the_ranges_too() -> None:
    """A number is typed twice, in the rule and in the statement it rests on: they must agree."""
    checked = 0
    for rule in rules().values():
        if rule.kind != "level" or rule.parameter is None:
            continue
        for name, value in rule.params.items():
            backing = rule.backing[name]
            if backing.source in ("common_practice", "noga_2010"):
                continue
            stated = {
                end
                for one in ranges(rule.parameter)
                if one.source == backing.source
                for end in (one.low, one.high)
            }
            assert value in stated, (rule.code, name)
            checked += 1
    assert checked >= 18


@pytest.mark.parametrize(
    ("code", "which", "value"),
    [
        ("temperature_high", "act_above", 30.0),
        ("ph_range", "act_above", 9.0),
        ("ph_change", "watch_change_above", 0.5),
        ("temperature_change", "watch_change_above", 3.0),
        ("alkalinity_low", "watch_below", 75.0),
        ("alkalinity_low", "act_below", 20.0),
        ("alkalinity_falling", "floor", 20.0),
        ("ammonia_un_ionised", "watch_above", 0.02),
        ("ammonia_un_ionised", "act_above", 0.05),
        ("nitrite", "watch_above", 0.2),
        ("oxygen_low", "act_below", 5.0),
        ("chlorine", "act_above", 0.002),
        ("co2_high", "watch_above", 20.0),
        ("filter_disturbed", "watch_days", 28.0),
        ("plants_killed", "watch_hours", 72.0),
    ],
)
def test_the_limits_of_the_rules(code: str, which: str, value: float) -> None:
    params = rules()[code].params
    assert params.get(which, limit(params, which)) == value


def test_the_watch_limit_of_ammonia_is_the_milder_though_its_basis_differs() -> None:
    """0.02 mg/L as NH3 is 0.01645 mg/L as N."""
    params = rules()["ammonia_un_ionised"].params
    watch, act = params["watch_above_nh3_mg_l"], params["act_above_nh3_n_mg_l"]
    assert isinstance(watch, float)
    assert isinstance(act, float)
    assert watch / NH3_PER_N == pytest.approx(0.01645, rel=1e-3)
    assert watch / NH3_PER_N < act


@pytest.mark.parametrize("rule", rules().values(), ids=rules().keys())
def test_a_rule_says_what_to_do_and_on_what_each_number_rests(rule: RuleFact) -> None:
    assert rule.params.keys() == rule.backing.keys()
    assert rule.advice.endswith(".")
    assert rule.advice.count(". ") == 0
    for backing in rule.backing.values():
        assert cite(backing.source)


def test_limit_does_not_take_a_longer_name_for_another() -> None:
    assert limit({"watch_change_above_c": 3.0}, "watch_above") is None
    assert unit_suffix("salinity_g_l") == "g_l"
    assert unit_suffix("chloride_to_nitrite") == ""


# --- what is wrong is told ------------------------------------------------------------------------


def _sources_found(raw: Table) -> tuple[Any, list[Finding]]:
    return read_sources(raw)


def _hazards_found(raw: Table) -> tuple[Any, list[Finding]]:
    return read_hazards(raw, source_standings())


def _ranges_found(raw: Table) -> tuple[Any, list[Finding]]:
    return read_ranges(raw, source_standings())


def _rules_found(raw: Table) -> tuple[Any, list[Finding]]:
    return read_rules(raw, source_standings(), hazards())


READERS: dict[str, Callable[[Table], tuple[Any, list[Finding]]]] = {
    "sources.toml": _sources_found,
    "hazards.toml": _hazards_found,
    "ranges.toml": _ranges_found,
    "rules.toml": _rules_found,
}

MISSING = object()
MISTAKES = [
    ("sources.toml", ("noga_2010", "title"), MISSING, "noga_2010, title: is missing"),
    ("sources.toml", ("noga_2010", "year"), 10, "year: is 10; it must lie between 1800 and 2100"),
    ("sources.toml", ("noga_2010", "year"), "2010", "must be a number"),
    ("sources.toml", ("noga_2010", "standing"), "certain", "is 'certain'; it must be one of"),
    ("sources.toml", ("noga_2010", "pages"), "12", "pages: is not a field"),
    ("sources.toml", ("noga_2010", "author"), " Noga", "blanks at its ends"),
    ("sources.toml", ("common_practice", "author"), "A shop", "common practice names nobody"),
    ("sources.toml", ("noga_2010",), "Noga 2010", "is not a table of fields"),
    ("hazards.toml", ("khv", "window", "low_c"), 82.4, "must lie between -2 and 45"),
    ("hazards.toml", ("khv", "window", "low_c"), 30.0, "low_c: is 30, above high_c, which is 28"),
    ("hazards.toml", ("khv", "window", "low_c"), float("nan"), "low_c: is nan"),
    ("hazards.toml", ("khv", "window", "low_c"), True, "must be a number, and is True"),
    ("hazards.toml", ("khv", "window", "margin_c"), MISSING, "margin_c: is missing"),
    ("hazards.toml", ("khv", "window", "optimum_low_c"), 9.0, "lies below the window"),
    ("hazards.toml", ("khv", "window", "optimum_high_c"), 29.0, "lies above the window"),
    ("hazards.toml", ("khv", "window", "fall_hours"), 48.0, "needs_fall_c: is missing"),
    ("hazards.toml", ("water_mould", "window", "fall_hours"), MISSING, "fall_hours: is missing"),
    ("hazards.toml", ("khv", "source"), "a_shop", "is 'a_shop'; it must be one of"),
    ("hazards.toml", ("khv", "standing"), "common practice", "names no publication"),
    ("hazards.toml", ("costia", "standing"), "published", "names no publication"),
    ("hazards.toml", ("svc", "standing"), "published", "is only 'from memory'"),
    ("hazards.toml", ("khv", "response"), "Ring the vet.", "must speak of 'competent authority'"),
    ("hazards.toml", ("khv", "legal_as_of"), MISSING, "legal_as_of: is missing"),
    ("hazards.toml", ("khv", "notifiable"), "yes", "must be true or false"),
    ("hazards.toml", ("khv", "signs"), [], "is an empty list"),
    ("hazards.toml", ("khv", "signs"), "gasping", "must be a list of texts"),
    ("hazards.toml", ("khv", "signs"), ["gasping", "gasping"], "says the same thing twice"),
    ("hazards.toml", ("khv", "preconditions"), ["full_moon"], "'full_moon' is not one of"),
    ("hazards.toml", ("khv", "kind"), "worm", "is 'worm'; it must be one of"),
    ("hazards.toml", ("khv", "alternates"), "none", "must be a list of tables"),
    ("hazards.toml", ("gas_supersaturation", "watched_by"), MISSING, "watched_by: is missing"),
    ("ranges.toml", ("ph", "says", 0, "low"), 9.5, "low: is 9.5, above high"),
    ("ranges.toml", ("ph", "says", 0, "basis"), MISSING, "ph.says 1, basis: is missing"),
    ("ranges.toml", ("ph", "says"), MISSING, "says: is missing"),
    ("ranges.toml", ("colour",), {"says": []}, "is not a parameter that a range can speak of"),
    ("rules.toml", ("ph_range", "params", "act_above_ph"), 8.0, "outwards from calm over watch"),
    ("rules.toml", ("ph_range", "params", "watch_below_ph"), 8.6, "lies at or above an upper one"),
    ("rules.toml", ("ph_range", "params", "watch_above_mg_l"), 8.0, "is not a number of a rule"),
    ("rules.toml", ("ph_range", "parameter"), MISSING, "parameter: is missing"),
    ("rules.toml", ("ph_range", "params"), {}, "needs at least one limit"),
    ("rules.toml", ("ph_range", "params"), MISSING, "params: is missing"),
    ("rules.toml", ("ph_range", "kind"), "guess", "is 'guess'; it must be one of"),
    ("rules.toml", ("ph_range", "advice"), "", "advice: must be a text"),
    ("rules.toml", ("nitrite", "params", "watch_above_mg_l"), -0.2, "must lie between 0"),
    ("rules.toml", ("nitrite", "params", "least_chloride_to_nitrite"), MISSING, "is missing"),
    (
        "rules.toml",
        ("nitrite", "params", "act_above_mg_l", "source"),
        MISSING,
        "source: is missing",
    ),
    ("rules.toml", ("nitrite", "params", "act_above_mg_l", "value"), "1", "must be a number"),
    ("rules.toml", ("power_cut", "params", "event"), "earthquake", "is 'earthquake'; it must be"),
    ("rules.toml", ("warm_night", "hazard"), "sea_serpent", "is 'sea_serpent'; it must be one of"),
    ("rules.toml", ("oxygen_supersaturated",), MISSING, "no good rule 'oxygen_supersaturated'"),
    ("rules.toml", ("window", "params", "max_gap_days"), MISSING, "max_gap_days: is missing"),
]


def _with(file: str, path: tuple[str | int, ...], value: Any) -> Table:
    raw = copy.deepcopy(dict(file_tables(file)))
    place: Any = raw
    for step in path[:-1]:
        place = place[step]
    if value is MISSING:
        del place[path[-1]]
    else:
        place[path[-1]] = value
    return raw


@pytest.mark.parametrize("file", FILES)
def test_nothing_is_found_in_the_files_as_they_are(file: str) -> None:
    assert READERS[file](dict(file_tables(file)))[1] == []


@pytest.mark.parametrize(("file", "path", "value", "said"), MISTAKES)
def test_a_mistake_is_found_and_the_rest_is_kept(
    file: str, path: tuple[str | int, ...], value: Any, said: str
) -> None:
    whole, _ = READERS[file](dict(file_tables(file)))
    kept, findings = READERS[file](_with(file, path, value))
    assert any(said in str(finding) for finding in findings), [str(one) for one in findings]
    lost = {code for code in whole if code not in kept}
    assert all(code == path[0] or code.startswith("window_") for code in lost)


def test_one_error_names_every_mistake() -> None:
    raw = _with("hazards.toml", ("khv", "window", "low_c"), 82.4)
    raw["svc"]["standing"] = "published"
    del raw["costia"]["signs"]
    kept, findings = read_hazards(raw, source_standings())
    assert len(kept) == len(hazards()) - 3
    with pytest.raises(FactsTrouble) as caught:
        refuse(findings)
    for said in ("khv.window, low_c", "svc, standing", "costia, signs"):
        assert said in caught.value.message
    assert caught.value.message.startswith("3 entries of the facts must be put right")


def test_no_finding_is_no_error() -> None:
    refuse([])
