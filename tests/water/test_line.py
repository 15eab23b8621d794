"""The line typed at the pond: what people write, what is asked, and that nothing is lost."""

from __future__ import annotations

import re
import time
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from store.text import plain
from store.water.line import (
    Doubt,
    KitForms,
    ReadingValue,
    Understood,
    accept,
    keep_in_note,
    proposal_text,
    read_cell,
    shown,
    understand,
    write,
)
from store.water.parameters import CACO3_PER_DEGREE_MG_L, PARAMETERS
from store.water.pieces import cut
from store.water.when import find_time
from store.water.words import LOOKALIKES

ZONE = ZoneInfo("Europe/London")
NOW = datetime(2026, 5, 2, 9, 0, tzinfo=ZONE)  # a Saturday
KIT = KitForms(ammonia="n", nitrite="no2", nitrate="no3")
DEGREE = CACO3_PER_DEGREE_MG_L


def read(text: str, kit: KitForms = KIT, now: datetime = NOW) -> Understood:
    return understand(text, kit=kit, now=now, zone=ZONE)


def values(text: str, kit: KitForms = KIT) -> dict[str, float]:
    understood = read(text, kit)
    assert understood.doubts == (), understood.doubts
    return {reading.parameter: reading.value for reading in understood.readings}


def one_doubt(text: str, kit: KitForms = KIT) -> Doubt:
    understood = read(text, kit)
    assert understood.readings == ()
    assert len(understood.doubts) == 1, understood.doubts
    return understood.doubts[0]


def one_reading(text: str, kit: KitForms = KIT) -> ReadingValue:
    understood = read(text, kit)
    assert understood.doubts == (), understood.doubts
    assert len(understood.readings) == 1, understood.readings
    return understood.readings[0]


WRITTEN = [
    ("19.5C pH 6.8 TAN 0.5 NO2 0.1 KH 4 DO 8.2",
     {"temperature_c": 19.5, "ph": 6.8, "tan_mg_l": 0.5, "nitrite_mg_l": 0.1,
      "alkalinity_mg_l": 4 * DEGREE, "oxygen_mg_l": 8.2}),
    ("DO 8.2 KH 4 NO2 0.1 TAN 0.5 pH 6.8 19.5C",
     {"temperature_c": 19.5, "ph": 6.8, "tan_mg_l": 0.5, "nitrite_mg_l": 0.1,
      "alkalinity_mg_l": 4 * DEGREE, "oxygen_mg_l": 8.2}),
    ("6.8 pH 0.5 TAN 0.1 NO2 4 KH", {"ph": 6.8, "tan_mg_l": 0.5, "nitrite_mg_l": 0.1,
                                    "alkalinity_mg_l": 4 * DEGREE}),
    ("19,5C", {"temperature_c": 19.5}),
    ("pH 7,4, KH 5", {"ph": 7.4, "alkalinity_mg_l": 5 * DEGREE}),
    ("pH 7,4,KH 5", {"ph": 7.4, "alkalinity_mg_l": 5 * DEGREE}),
    ("pH=7.4 KH:4", {"ph": 7.4, "alkalinity_mg_l": 4 * DEGREE}),
    ("ph7.4 kh4 T19", {"ph": 7.4, "alkalinity_mg_l": 4 * DEGREE, "temperature_c": 19.0}),
    ("pH,7.4,KH,5", {"ph": 7.4, "alkalinity_mg_l": 5 * DEGREE}),
    ("pH 7.4; KH 5", {"ph": 7.4, "alkalinity_mg_l": 5 * DEGREE}),
    ("pH 7.4\nKH 5", {"ph": 7.4, "alkalinity_mg_l": 5 * DEGREE}),
    ("pH was 7.4", {"ph": 7.4}),
    ("water temp 19", {"temperature_c": 19.0}),
    ("water 19", {"temperature_c": 19.0}),
    ("Temp. (C): 19.5", {"temperature_c": 19.5}),
    ("66F", {"temperature_c": 18.889}),
    ("temp 66 deg F", {"temperature_c": 18.889}),
    ("19.5*C", {"temperature_c": 19.5}),
    ("19.5 ºC", {"temperature_c": 19.5}),
    ("19.5 ℃", {"temperature_c": 19.5}),
    ("19 degrees", None),
    ("temp 19 degrees", {"temperature_c": 19.0}),
    ("0.5 ppm NH3-N", {"tan_mg_l": 0.5}),
    ("NH4-N 0.5", {"tan_mg_l": 0.5}),
    ("ammonia (as NH4) 0.5 ppm", {"tan_mg_l": 0.38825}),
    ("TAN 0.5 mg/L as NH3", {"tan_mg_l": 0.41123}),
    ("NH3/NH4 0.5", {"tan_mg_l": 0.5}),
    ("ammonia NH3-N 0.5", {"tan_mg_l": 0.5}),
    ("TAN 0.5 mg/L NH4-N", {"tan_mg_l": 0.5}),
    ("NO2 0.1 mg/L NO2-N", {"nitrite_mg_l": 0.32845}),
    ("TAN 500 µg/L", {"tan_mg_l": 0.5}),
    ("NO2-N 0.1", {"nitrite_mg_l": 0.32845}),
    ("nitrite 0.1 mg/L as N", {"nitrite_mg_l": 0.32845}),
    ("nitrite 0.1 mg/L N", {"nitrite_mg_l": 0.32845}),
    ("NO₂⁻ 0,25", {"nitrite_mg_l": 0.25}),
    ("NO2- 0.25", {"nitrite_mg_l": 0.25}),
    ("NO2-0.25", {"nitrite_mg_l": 0.25}),
    ("NO3-N 5", {"nitrate_mg_l": 22.134}),
    ("KH 70 mg/L CaCO3", {"alkalinity_mg_l": 70.0}),
    ("alkalinity 70 ppm", {"alkalinity_mg_l": 70.0}),
    ("alkalinity 120", {"alkalinity_mg_l": 120.0}),
    ("KH 4 dKH", {"alkalinity_mg_l": 4 * DEGREE}),
    ("4 dKH", {"alkalinity_mg_l": 4 * DEGREE}),
    ("KH 4°", {"alkalinity_mg_l": 4 * DEGREE}),
    ("alk 1.5 meq/L", {"alkalinity_mg_l": 75.065}),
    ("GH 12", {"hardness_mg_l": 12 * DEGREE}),
    ("hardness 20 °fH", {"hardness_mg_l": 200.0}),
    ("salt 0.3 %", {"salinity_g_l": 3.0}),
    ("salt 0.3%", {"salinity_g_l": 3.0}),
    ("3 ppt", {"salinity_g_l": 3.0}),
    ("salinity 3000 ppm", {"salinity_g_l": 3.0}),
    ("DO 85 %", {"oxygen_percent": 85.0}),
    ("DO 8.2 DO 85%", {"oxygen_mg_l": 8.2, "oxygen_percent": 85.0}),
    ("O2 8,2 mg/l", {"oxygen_mg_l": 8.2}),
    ("Cl 20", {"chloride_mg_l": 20.0}),
    ("Cl2 0.02", {"chlorine_mg_l": 0.02}),
    ("free chlorine 0", {"chlorine_mg_l": 0.0}),
]  # fmt: skip


@pytest.mark.parametrize(("text", "expected"), WRITTEN)
def test_what_people_write(text: str, expected: dict[str, float] | None) -> None:
    if expected is None:
        assert read(text).readings == ()
        assert len(read(text).doubts) == 1
    else:
        assert values(text) == pytest.approx(expected, rel=1e-4)


def test_order_typed_is_kept_and_what_was_typed() -> None:
    readings = read("KH 4, 66F NO2 <0,1").readings
    assert [(one.parameter, one.typed, one.unit) for one in readings] == [
        ("alkalinity_mg_l", "4", "dKH"),
        ("temperature_c", "66", "°F"),
        ("nitrite_mg_l", "<0,1", "mg/L"),
    ]


def test_a_form_that_nobody_stated_is_kept_as_a_range() -> None:
    """1.5 mg/L as N, NH4 or NH3 is 1.500, 1.165 or 1.234 mg/L as N."""
    reading = one_reading("TAN 1.5", KitForms())
    assert reading.form == "unknown"
    assert (reading.low, reading.high) == (pytest.approx(1.165, abs=5e-4), 1.5)
    assert reading.value == 1.5
    assert one_reading("TAN 1.5", KitForms(ammonia="nh4")).value == pytest.approx(1.165, abs=5e-4)
    assert one_reading("TAN 1.5", KitForms(ammonia="nh3")).value == pytest.approx(1.234, abs=5e-4)
    nitrite = one_reading("nitrite 0.8", KitForms())
    assert (nitrite.low, nitrite.value) == (pytest.approx(0.8), pytest.approx(2.63, abs=5e-3))
    limit = one_reading("nitrite <0.8", KitForms())
    assert (limit.low, limit.high) == (None, pytest.approx(2.63, abs=5e-3))


def test_a_formula_states_its_form_and_a_kit_that_says_otherwise_is_asked_about() -> None:
    assert one_reading("NH3 0.5", KitForms()).form == "nh3"
    assert one_reading("NO2 0.1", KitForms()).value == pytest.approx(0.1)
    doubt = one_doubt("NH3 0.5", KitForms(ammonia="n"))
    assert doubt.proposal is not None
    assert (doubt.proposal.form, doubt.proposal.value) == ("n", 0.5)
    assert [other.form for other in doubt.others] == ["nh3"]
    # NO2 is also the short name of the test, so the kit decides.
    assert one_reading("NO2 0.1", KitForms(nitrite="n")).value == pytest.approx(0.32845, rel=1e-4)
    # What is written out is beyond doubt.
    assert one_reading("NO2-N 0.1", KitForms(nitrite="no2")).form == "n"


@pytest.mark.parametrize(
    ("text", "value", "low", "high", "bound"),
    [
        ("NO2 <0.1", 0.1, None, 0.1, "<"),
        ("NO2 < 0,1", 0.1, None, 0.1, "<"),
        ("NO2 below 0.1", 0.1, None, 0.1, "<"),
        ("NO3 80+", 80.0, 80.0, None, ">"),
        ("NO3 >80", 80.0, 80.0, None, ">"),
        ("NO2 0-0.25", 0.25, 0.0, 0.25, "~"),
        ("NO2 0-.25", 0.25, 0.0, 0.25, "~"),
        ("NO2 0 to 0.25", 0.25, 0.0, 0.25, "~"),
        ("NO2 0 – 0,25 mg/l", 0.25, 0.0, 0.25, "~"),
        ("NO3 20-40", 40.0, 20.0, 40.0, "~"),
        ("DO 6-8", 6.0, 6.0, 8.0, "~"),
        ("pH 6.2-6.6", 6.2, 6.2, 6.6, "~"),
        ("pH 8.2-8.6", 8.6, 8.2, 8.6, "~"),
        ("18-20C", 20.0, 18.0, 20.0, "~"),
        ("18C-20C", 20.0, 18.0, 20.0, "~"),
        ("pH 8.2 ish", 8.2, None, None, "~"),
        ("pH ~8.2", 8.2, None, None, "~"),
        ("NO2 trace", 0.0, 0.0, None, ">"),
        ("NO2 ND", 0.0, None, None, "<"),
        ("NO2 not detected", 0.0, None, None, "<"),
        ("NO2 0", 0.0, None, None, "="),
        ("NO2 nil", 0.0, None, None, "="),
    ],
)
def test_limits_and_ranges_keep_both_ends_and_the_cautious_one_is_the_value(
    text: str, value: float, low: float | None, high: float | None, bound: str
) -> None:
    reading = one_reading(text)
    assert (reading.value, reading.low, reading.high, reading.bound) == (value, low, high, bound)


@pytest.mark.parametrize(
    ("text", "proposal"),
    [
        ("pH 68", "pH 6.8 (typed 68)"),
        ("pH 740", "pH 7.4 (typed 740)"),
        ("pH -7.4", "pH 7.4 (typed -7.4)"),
        ("pH 7 4", "pH 7.4 (typed 7 4)"),
        ("34C", "34.0 °C"),
        ("temp 34", "1.1 °C (34 °F)"),
        ("temp 20 20", None),
        ("TAN 0.5 (NH3)", "TAN 0.50 mg/L N"),
        ("temp 66", "18.9 °C (66 °F)"),
        ("66C", "18.9 °C (66 °F)"),
        ("195C", "19.5 °C (typed 195)"),
        ("19.5F", "19.5 °C"),
        ("TAN 15", "TAN 1.50 mg/L N (typed 15)"),
        ("KH 70", "KH 3.9 dKH (70 mg/L CaCO3)"),
        ("GH 120", "GH 6.7 dGH (120 mg/L CaCO3)"),
        ("KH 4 drops", "KH 4.0 dKH (71 mg/L CaCO3)"),
        ("alk 10", "KH 10.0 dKH (178 mg/L CaCO3)"),
        ("salinity 3000", "salt 3.00 g/L (0.3 % = 3000 ppm)"),
        ("salt 0.3", "salt 3.00 g/L (0.3 % = 3000 ppm)"),
        ("salt 3 %", "salt 3.00 g/L (0.3 % = 3000 ppm)"),
        ("DO 85", "DO 85 %"),
        ("Cl2 20", "Cl 20 mg/L"),
        ("Cl 0.02", "Cl2 0.02 mg/L"),
        ("NO3 1,200", "NO3 1.200 mg/L"),
        ("70 mg/L CaCO3", "KH 3.9 dKH (70 mg/L CaCO3)"),
        ("pH meter 7.4", "pH 7.4"),
        ("pH 10.5", "pH 10.5"),
        ("pH 7.4(morn)", None),
        ("pH 7.2 pH 7.4", None),
        ("pH 7.4.5", None),
        ("19.5", None),
        ("salt 5 kg", None),
        ("Cl20", None),
    ],
)  # fmt: skip
def test_what_is_asked_and_proposed(text: str, proposal: str | None) -> None:
    understood = read(text)
    if text == "pH 7.4(morn)":
        assert [one.value for one in understood.readings] == [7.4]
        assert [one.typed for one in understood.doubts] == ["morn"]
        return
    doubt = one_doubt(text)
    assert doubt.question.endswith(("?", ".")), doubt.question
    assert proposal_text(doubt) == (proposal or "")


def test_what_was_typed_can_be_chosen_unless_it_cannot_be() -> None:
    high = one_doubt("TAN 15")
    assert 15.0 in [other.value for other in high.others]
    impossible = one_doubt("pH 68")
    assert impossible.others == ()


def test_a_number_without_a_name_lists_what_it_could_be() -> None:
    understood = read("19.5 pH 6.8 TAN 0.5")
    assert [one.parameter for one in understood.readings] == ["ph", "tan_mg_l"]
    doubt = understood.doubts[0]
    assert doubt.proposal is None
    assert "temperature_c" in [other.parameter for other in doubt.others]
    assert {"ph", "tan_mg_l"}.isdisjoint(other.parameter for other in doubt.others)
    assert 18.889 in [pytest.approx(one.value, abs=1e-3) for one in one_doubt("66").others]


def test_two_values_are_asked_about_and_neither_is_taken() -> None:
    understood = read("pH 7.2 KH 4 pH 7.4")
    assert [one.parameter for one in understood.readings] == ["alkalinity_mg_l"]
    assert [one.value for one in understood.doubts[0].others] == [7.2, 7.4]


def test_a_number_between_two_names_is_asked_about() -> None:
    understood = read("7.0 pH 7.4 DO 8")
    assert understood.readings == ()
    assert {one.parameter for one in understood.doubts} == {"", "ph", "oxygen_mg_l"}


@pytest.mark.parametrize(
    "text",
    ["TDS 450", "PO4 0.5", "air temp 25C", "water change 20 %", "salt 5 kg", "free ammonia 0.02",
     "fed 20 g", "3 koi dead"],
)  # fmt: skip
def test_numbers_of_other_things_are_no_readings(text: str) -> None:
    understood = read(f"pH 7.4, {text}")
    assert [one.parameter for one in understood.readings] == ["ph"]
    assert [one.typed for one in understood.doubts] == [text]
    assert keep_in_note(understood, understood.doubts[0]).note == text


@pytest.mark.parametrize(
    ("text", "value"),
    [("cond 450 uS", 450.0), ("EC 450", 450.0), ("conductivity 0,45 mS/cm", 450.0),
     ("1.2 mS", 1200.0), ("450 µS/cm", 450.0), ("EC: 0.9 dS/m", 900.0), ("cond 900us/cm", 900.0)],
)  # fmt: skip
def test_conductivity_is_kept_as_it_is(text: str, value: float) -> None:
    understood = read(f"pH 7.4, {text}")
    assert [one.parameter for one in understood.readings] == ["ph", "conductivity_us_cm"]
    assert understood.readings[1].value == pytest.approx(value)
    assert not understood.doubts


def test_salt_is_never_conductivity_and_gallons_are_no_unit_of_it() -> None:
    assert [one.parameter for one in read("salt 3 ppt, cond 5600 uS").readings] == [
        "salinity_g_l", "conductivity_us_cm",
    ]  # fmt: skip
    assert [one.parameter for one in read("pH 7.4, changed 450 us gal").readings] == ["ph"]
    assert "conductivity" not in " ".join(one.question for one in read("pH 7.4, 450").doubts)
    pen = read("cond 3 ppt")  # a pen that shows salt: kept as salt, and the word is asked about
    assert [one.parameter for one in pen.readings] == ["salinity_g_l"]
    assert [one.typed for one in pen.doubts] == ["cond"]


def test_note() -> None:
    understood = read("pH 7.4 // fed 20 g; KH 9 // again")
    assert understood.note == "fed 20 g; KH 9 // again"
    assert read("pH 7.4; fish gasping; KH 5").note == "fish gasping"
    assert values("pH 7.4; KH 5; pump off")["alkalinity_mg_l"] == pytest.approx(5 * DEGREE)
    assert read("//").note == ""
    assert read("; new liner").note == "new liner"


TIMES = [
    ("pH 7.4 at 07:40", (2026, 5, 2, 7, 40)),
    ("07:40 pH 7.4", (2026, 5, 2, 7, 40)),
    ("pH 7.4 @7:40", (2026, 5, 2, 7, 40)),
    ("pH 7.4 @0740", (2026, 5, 2, 7, 40)),
    ("yesterday 16:20 pH 7.4", (2026, 5, 1, 16, 20)),
    ("pH 7.4 yesterday at 4.20pm", None),
    ("pH 7.4 yesterday 4:20 pm", (2026, 5, 1, 16, 20)),
    ("Mon 4pm pH 7.4", (2026, 4, 27, 16, 0)),
    ("Sat 10:00 pH 7.4", (2026, 4, 25, 10, 0)),
    ("12 May 07:40 pH 7.4", (2025, 5, 12, 7, 40)),
    ("pH 7.4 at 07:40 yesterday", (2026, 5, 1, 7, 40)),
    ("pH 7.4 at 16:00 on Monday", (2026, 4, 27, 16, 0)),
    ("07:40, 2026-04-30 pH 7.4", (2026, 4, 30, 7, 40)),
    ("12/05/2026 07:40 pH 7.4", None),
    ("12/5 07:40 pH 7.4", None),
    ("12.04.26 pH 7.4", None),
    ("yesterday pH 7.4 at 07:40", None),
    ("2026-04-30 07:40 pH 7.4", (2026, 4, 30, 7, 40)),
    ("2026-04-30T07:40Z pH 7.4", (2026, 4, 30, 8, 40)),
]


@pytest.mark.parametrize(("text", "expected"), TIMES)
def test_time(text: str, expected: tuple[int, ...] | None) -> None:
    understood = read(text)
    if expected is None:
        assert understood.taken_at is None
        assert understood.doubts
        return
    assert understood.taken_at == datetime(*expected, tzinfo=ZONE)  # type: ignore[misc, arg-type]
    assert understood.doubts == ()
    assert [one.value for one in understood.readings] == [7.4]


def test_a_time_to_come_skipped_or_shown_twice_is_asked_about() -> None:
    doubt = one_doubt("at 23:50")
    assert doubt.taken_at == datetime(2026, 5, 1, 23, 50, tzinfo=ZONE)
    answered = accept(read("pH 7.4 at 23:50"), read("pH 7.4 at 23:50").doubts[0])
    assert answered.taken_at == datetime(2026, 5, 1, 23, 50, tzinfo=ZONE)
    autumn = datetime(2025, 10, 26, 9, 0, tzinfo=ZONE)
    twice = read("pH 7 at 01:30", now=autumn).doubts[0]
    assert twice.taken_at is not None
    assert twice.taken_at.astimezone(UTC).hour == 0
    spring = datetime(2026, 3, 29, 9, 0, tzinfo=ZONE)
    assert read("pH 7 at 01:30", now=spring).doubts[0].taken_at is None
    assert read("pH 7 at 25:30").doubts[0].typed == "at 25:30"
    assert len(read("07:40 pH 7 at 08:00").doubts) == 1


def test_echo_shows_what_was_typed_where_it_differs() -> None:
    kit = KitForms(ammonia="nh3", nitrite="no2", nitrate="no3")
    echo = read("66F pH 6.8 TAN 0.5 KH 4 salt 0.3% at 07:40 // rain", kit).echo
    assert echo == (
        "18.9 °C (66 °F) · pH 6.8 · TAN 0.41 mg/L N (0.5 as NH3) · KH 4.0 dKH (71 mg/L CaCO3)"
        " · salt 3.00 g/L (0.3 % = 3000 ppm) · at 07:40 on 2 May 2026 · note: rain"
    )
    assert read("NO3 0.2").echo == "NO3 0.2 mg/L"
    assert read("pH 68").echo == "pH 68 ?"
    assert read("NO2 0-0.25").echo == "NO2 0.00–0.25 mg/L (taken as 0.25)"
    assert read("NO2 <0.1").echo == "NO2 <0.10 mg/L"
    assert read("").echo == ""


def test_answering_a_doubt() -> None:
    understood = read("pH 68 green water")
    asked, words = understood.doubts
    taken = accept(understood, asked)
    assert [(one.value, one.typed) for one in taken.readings] == [(6.8, "68")]
    noted = accept(taken, words)
    assert noted.doubts == ()
    assert noted.note == "green water"
    assert noted.echo == "pH 6.8 (typed 68) · note: green water"
    twice = read("pH 7.2 pH 7.4")
    chosen = accept(twice, twice.doubts[0], twice.doubts[0].others[1])
    assert [one.value for one in chosen.readings] == [7.4]


@pytest.mark.parametrize(
    ("parameter", "text", "unit", "value"),
    [
        ("temperature_c", "66", "F", 18.889),
        ("temperature_c", "19,5", "°C", 19.5),
        ("temperature_c", "19.5 C", None, 19.5),
        ("ph", "pH 7.4", None, 7.4),
        ("tan_mg_l", "0.5", "mg/L NH3", 0.41123),
        ("tan_mg_l", "0.5", "ppm NH3-N", 0.5),
        ("tan_mg_l", "0.5", "mg/L as N", 0.5),
        ("nitrite_mg_l", "0-.25", "ppm", 0.25),
        ("nitrate_mg_l", "80+", "", 80.0),
        ("alkalinity_mg_l", "70", "mg/L CaCO3", 70.0),
        ("alkalinity_mg_l", "70", "ppm", 70.0),
        ("oxygen_mg_l", "85%", None, 85.0),
        ("salinity_g_l", "0.3", "%", 3.0),
    ],
)
def test_a_cell(parameter: str, text: str, unit: str | None, value: float) -> None:
    answer = read_cell(parameter, text, unit, KIT)
    assert isinstance(answer, ReadingValue), answer
    assert answer.value == pytest.approx(value, rel=1e-4)


@pytest.mark.parametrize(
    "text", ["", " ", "-", "–", "--", "----", "n/a", "N/A", "na", "not tested"]
)
def test_a_cell_that_says_not_tested(text: str) -> None:
    assert read_cell("ph", text, None, KIT) is None


@pytest.mark.parametrize(
    ("parameter", "text", "unit", "proposal"),
    [
        ("ph", "68", None, 6.8),
        ("ph", "7.4(morn)", None, 7.4),
        ("ph", "OVR", None, None),
        ("ph", "7.4 7.6", None, None),
        ("ph", "KH 4", None, None),
        ("temperature_c", "66", None, 18.889),
        ("temperature_c", "66", "furlong", None),
        ("tan_mg_l", "0.5 kg", None, None),
        ("tan_mg_l", "0.5", "mg/L NO2", None),
        ("ph", "x" * 500, None, None),
    ],
)
def test_a_cell_that_is_asked_about(
    parameter: str, text: str, unit: str | None, proposal: float | None
) -> None:
    answer = read_cell(parameter, text, unit, KIT)
    assert isinstance(answer, Doubt)
    assert answer.typed == text
    if proposal is None:
        assert answer.proposal is None
    else:
        assert answer.proposal is not None
        assert answer.proposal.value == pytest.approx(proposal, rel=1e-4)


KITS = st.builds(
    KitForms,
    st.sampled_from(["n", "nh3", "nh4", "unknown"]),
    st.sampled_from(["no2", "n", "unknown"]),
    st.sampled_from(["no3", "n", "unknown"]),
)
_BITS = st.sampled_from(
    ["pH", "TAN", "NH3", "NH4-N", "NO2", "NO2-N", "nitrite", "NO3", "KH", "alk", "GH", "DO", "O2",
     "salt", "Cl", "Cl2", "temp", "water", "do", "PO4", "7.4", "7,4", "19.5C", "66F", "66", "0.5",
     "0,1", "<0.1", "0-0.25", "0 - 0.25", "80+", "1,200", ".25", "-1", "68", "3000", "trace", "ND",
     "mg/L", "ppm", "%", "dKH", "kg", "as N", "as NH3", "mg/L CaCO3", "=", ":", ",", ";", "//",
     "\n", "at 07:40", "yesterday 16:20", "@7:40", "23:59", "2026-05-01 08:00", "12/05/2026", "yesterday", "12 May 07:40",
     "ish", "(morn)", "green", "fed 20 g", "[red]x[/]", "[/nope]", "\x1b[2J", "\u202e", "🐟",
     "سمك", "₃", "٧", "７", "½", "1e3", "²", "é", "\u0301", "\x00", "9" * 60, "+", "-", "–", "~"]
)  # fmt: skip
LINES = st.one_of(
    st.lists(_BITS, max_size=14).map(" ".join),
    st.lists(_BITS, max_size=8).map("".join),
    st.text(max_size=500),
)


def _without_names(text: str, kit: KitForms) -> list[str]:
    """Every number of the line that is no part of a name, unit or time."""
    body = plain(text, lines=True).partition("//")[0]
    figures: list[str] = []
    for part in body.split(";"):
        looked = part.translate(LOOKALIKES)
        for start, end in find_time(looked, NOW, ZONE).places:
            part = part[:start] + ",".ljust(end - start) + part[end:]  # noqa: PLW2901
        for piece in cut(part):
            if piece.amount is not None:
                figures.append(piece.amount.typed)
            elif piece.kind == "word" and re.search(r"\d", part[piece.start : piece.end]):
                figures.append(part[piece.start : piece.end])
    return figures


@settings(max_examples=400, deadline=None)
@given(LINES, KITS)
def test_any_text_is_read_and_no_number_is_lost(text: str, kit: KitForms) -> None:
    understood = read(text, kit)
    kept = " ".join(
        [
            *(one.typed for one in understood.readings),
            *(one.typed for one in understood.doubts),
            understood.note,
        ]
    )
    for figure in _without_names(text, kit):
        for digits in re.findall(r"\d+", figure):
            assert digits in kept, (digits, understood)


@settings(max_examples=400, deadline=None)
@given(LINES, KITS)
def test_no_number_is_invented(text: str, kit: KitForms) -> None:
    """What a reading keeps as typed stands in the text, and its value is of that number."""
    normal = plain(text, lines=True)
    for reading in read(text, kit).readings:
        for digits in re.findall(r"\d+", reading.typed):
            whole = rf"(?:(?<!\d)|(?<=[a-z/][234₂₃₄])){digits}(?!\d)"  # `NO20.1` is NO2 0.1
            assert re.search(whole, normal, re.IGNORECASE), (digits, reading)
        entry = PARAMETERS[reading.parameter]
        assert entry.usual_low <= reading.value <= entry.usual_high
        assert reading.low is None or reading.low <= reading.value
        assert reading.high is None or reading.value <= reading.high


@settings(max_examples=600, deadline=None)
@given(LINES, KITS)
def test_written_and_understood_again_is_the_same(text: str, kit: KitForms) -> None:
    first = read(text, kit)
    again = read(write(first), kit)
    assert again.readings == first.readings
    assert again.note == first.note
    assert again.taken_at == first.taken_at
    assert again.doubts == ()


@settings(max_examples=300, deadline=None)
@given(LINES, KITS)
def test_doubts_can_all_be_answered(text: str, kit: KitForms) -> None:
    understood = read(text, kit)
    for doubt in understood.doubts:
        understood = accept(understood, doubt)
    assert understood.doubts == ()
    assert len({one.parameter for one in understood.readings}) == len(understood.readings)
    for reading in understood.readings:
        assert plain(shown(reading)) == shown(reading)


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(sorted(PARAMETERS)), LINES, st.none() | st.text(max_size=20), KITS)
def test_any_cell_is_read(parameter: str, text: str, unit: str | None, kit: KitForms) -> None:
    answer = read_cell(parameter, text, unit, kit)
    assert answer is None or isinstance(answer, ReadingValue | Doubt)


def test_speed() -> None:
    """A line takes well under a screen frame; the worst 500 characters stay linear."""
    line = "19.5C pH 6.8 TAN 0.5 NO2 0.1 KH 4 DO 8.2 at 07:40 // after rain"
    worst = ("pH 7,1 " * 80)[:500]
    for text, limit_s in ((line, 0.005), (worst, 0.1)):
        read(text)
        began = time.process_time()
        for _ in range(10):
            read(text)
        assert (time.process_time() - began) / 10 < limit_s
