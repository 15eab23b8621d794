"""The formulary and the doses that water sets, against what the publications print."""

from __future__ import annotations

import pytest

from store.courses.baths.conditional import chloramine_t_by_ph, copper_by_alkalinity
from store.courses.baths.dechlorination import thiosulfate
from store.courses.baths.half_life import trichlorfon_half_life
from store.courses.baths.oxygen_taken import oxygen_taken
from store.courses.baths.permanganate import permanganate_by_demand
from store.courses.baths.salt_target import salt_to_target
from store.errors import BadInput
from store.facts.agent import Route
from store.facts.agents import agents
from store.facts.half_lives import half_lives
from store.water.measures import to_grams, to_litres

POUND_G = to_grams(1.0, "lb")


def route(agent: str, code: str, *, place: int = 0) -> Route:
    return [one for one in agents()[agent].routes if one.code == code][place]


# --- units that publications print ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("agent", "g_per_lb_feed"),
    [("levamisole", 1.8), ("fenbendazole", 1.14)],
)
def test_grams_for_a_pound_of_feed(agent: str, g_per_lb_feed: float) -> None:
    # Yanong, UF/IFAS CIR91; 1.8 and 1.14 g/lb are 3.97 and 2.51 g/kg.
    fed = route(agent, "feed")
    assert fed.unit == "mg/kg feed"
    assert fed.dose_high == pytest.approx(g_per_lb_feed * 1e6 / POUND_G, rel=2e-4)


def test_grams_for_a_hundred_pounds_of_fish() -> None:
    # 21 CFR 558.450: 2.5-3.75 g; 21 CFR 558.582: 10 g.
    oxytetracycline = route("oxytetracycline", "feed")
    assert oxytetracycline.dose_low == pytest.approx(2.5e6 / (100.0 * POUND_G), abs=0.05)
    assert oxytetracycline.dose_high == pytest.approx(3.75e6 / (100.0 * POUND_G), abs=0.05)
    assert route("sulfamerazine", "feed").dose_high == pytest.approx(
        10e6 / (100.0 * POUND_G), abs=0.05
    )


@pytest.mark.parametrize(("formalin_mg_l", "formaldehyde_mg_l"), [(25.0, 9.25), (40.0, 14.8)])
def test_formalin_and_formaldehyde(formalin_mg_l: float, formaldehyde_mg_l: float) -> None:
    # Fredricks et al. 2018, Aquaculture Research (9.25); Aquaculture Research 2022, 53:5647 (14.8).
    share = next(one for one in agents()["formalin"].forms if one.active_percent).active_percent
    assert share is not None
    assert formalin_mg_l * share / 100.0 == pytest.approx(formaldehyde_mg_l, abs=1e-9)


def test_peroxide_of_35_per_cent_by_weight_is_not_350_mg_in_a_millilitre() -> None:
    # 21 CFR 529.1150: 396.1 mg/mL, 12 % (relative) more than 350; 75 mg/L in 1000 L are 189.3 mL.
    (form,) = agents()["hydrogen_peroxide"].forms
    assert form.active_mg_ml == 396.1
    assert form.active_mg_ml / 350.0 == pytest.approx(1.13, abs=0.005)
    assert 75.0 * 1000.0 / form.active_mg_ml == pytest.approx(189.3, abs=0.05)


def test_levamisole_base_and_hydrochloride() -> None:
    # Molar masses 204.29 and 240.75 g/mol: 2 mg/L of base are 2.357 mg/L of hydrochloride.
    (form,) = agents()["levamisole"].forms
    assert form.active_percent == pytest.approx(100.0 * 204.29 / 240.75, abs=0.005)
    assert 2.0 / (form.active_percent or 0.0) * 100.0 == pytest.approx(2.357, abs=5e-4)


def test_emamectin_from_printed_volumes() -> None:
    # Encyclopedia of Parasitology (Springer): 5 mL of 10 mg/mL to 1000 L.
    assert route("emamectin", "pond_bath").dose_high == pytest.approx(5.0 * 10.0 / 1000.0)


@pytest.mark.parametrize(
    ("agent", "code", "place", "low", "high", "unit"),
    [
        # Merck Veterinary Manual 2019, table of approved drugs
        ("formalin", "pond_bath", 0, 15.0, 25.0, "uL/L"),
        ("hydrogen_peroxide", "egg_bath", 0, 750.0, 1000.0, "mg/L"),
        # Francis-Floyd, UF/IFAS VM-77
        ("formalin", "tank_bath", 0, 15.0, 25.0, "mg/L"),
        ("formalin", "tank_bath", 1, None, 150.0, "mg/L"),
        ("formalin", "tank_bath", 2, None, 250.0, "mg/L"),
        ("formalin", "egg_bath", 0, 1000.0, 2000.0, "mg/L"),
        # Piper et al. 1982, pp. 276, 283
        ("formalin", "tank_bath", 3, None, 167.0, "mg/L"),
        ("trichlorfon", "pond_bath", 0, 0.25, 0.25, "mg/L"),
        ("trichlorfon", "pond_bath", 1, 0.25, 0.25, "mg/L"),
        # Lazur, UF/IFAS FA032; Kabata 1970; Hakalahti-Sirén et al. 2008
        ("potassium_permanganate", "pond_bath", 0, 2.0, 2.0, "mg/L"),
        ("potassium_permanganate", "tank_bath", 0, 10.0, 10.0, "mg/L"),
        ("potassium_permanganate", "tank_bath", 1, 10.0, 10.0, "mg/L"),
        ("potassium_permanganate", "tank_bath", 2, 20.0, 20.0, "mg/L"),
        ("potassium_permanganate", "tank_bath", 3, 10.0, 10.0, "mg/L"),
        # Francis-Floyd, UF/IFAS VM007; Kubitza; Steckler & Yanong, UF/IFAS FA185
        ("salt", "tank_bath", 0, 5.0, 10.0, "g/L"),
        ("salt", "dip", 0, 30.0, 30.0, "g/L"),
        ("salt", "egg_bath", 0, 20.0, 30.0, "g/L"),
        ("salt", "pond_bath", 2, 4.8, 4.8, "g/L"),
        # 21 CFR 529.382
        ("chloramine_t", "tank_bath", 0, 20.0, 20.0, "mg/L"),
        # Yanong, UF/IFAS CIR91
        ("levamisole", "tank_bath", 0, 2.0, 2.0, "mg/L"),
        # Carpenter (ed.), Exotic Animal Formulary, Table 2-1
        ("acriflavine", "tank_bath", 0, 4.0, 10.0, "mg/L"),
        ("bronopol", "tank_bath", 0, 15.0, 50.0, "mg/L"),
        ("benzalkonium_chloride", "tank_bath", 0, None, 10.0, "mg/L"),
        # 21 CFR 558.261; UK compendium of data sheets; Forwood et al. 2013
        ("florfenicol", "feed", 0, 10.0, 10.0, "mg/kg/d"),
        ("amoxicillin", "feed", 0, 80.0, 80.0, "mg/kg/d"),
        ("praziquantel", "feed", 0, 75.0, 75.0, "mg/kg/d"),
    ],
)
def test_printed_doses(
    agent: str, code: str, place: int, low: float | None, high: float, unit: str
) -> None:
    one = route(agent, code, place=place)
    assert (one.dose_low, one.dose_high, one.unit) == (low, high, unit)
    assert one.standing == "published"


def test_anchor_worm_by_trichlorfon_four_times_at_five_to_seven_days() -> None:
    # Piper et al. 1982, p. 283; weekly on p. 335.
    one = route("trichlorfon", "pond_bath", place=1)
    assert (one.doses, one.repeat_days) == (4, (5.0, 7.0))


# --- doses that water sets ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("alkalinity", "dose"), [(100.0, 1.0), (180.0, 1.8), (250.0, 2.5), (300.0, 2.5), (50.0, 0.5)]
)
def test_copper_by_alkalinity(alkalinity: float, dose: float) -> None:
    # Watson & Yanong, UF/IFAS FA008, Eq. 1, with its cap above 250 mg/L.
    answer = copper_by_alkalinity(alkalinity)
    assert answer.dose_mg_l == pytest.approx(dose, abs=1e-12)
    assert answer.standing == "published"


def test_no_copper_below_an_alkalinity_of_50() -> None:
    # UF/IFAS FA008.
    with pytest.raises(BadInput, match="below 50 mg/L as CaCO3 no copper") as raised:
        copper_by_alkalinity(40.0)
    assert raised.value.field == "alkalinity"


@pytest.mark.parametrize(
    ("hardness", "low", "high"),
    [(50.0, 0.5, 0.75), (99.0, 0.5, 0.75), (100.0, 0.75, 1.0), (149.0, 0.75, 1.0),
     (150.0, 1.0, 2.0), (200.0, 1.0, 2.0)],
)  # fmt: skip
def test_copper_by_hardness_stands_beside_it(hardness: float, low: float, high: float) -> None:
    # Piper et al. 1982, p. 277. At an alkalinity of 240 the other rule gives more.
    answer = copper_by_alkalinity(240.0, hardness)
    assert (answer.statements[0].low_mg_l, answer.statements[0].high_mg_l) == (low, high)
    assert answer.dose_mg_l == high
    assert answer.statements[1].high_mg_l == 2.4


def test_copper_in_water_that_one_publication_calls_too_soft() -> None:
    # Piper et al. 1982, p. 277: 0-49 mg/L of hardness, bioassay only.
    with pytest.raises(BadInput, match="trial on a few fish") as raised:
        copper_by_alkalinity(120.0, 49.0)
    assert raised.value.field == "hardness"


def test_chloramine_t_never_exceeds_the_label() -> None:
    # 21 CFR 529.382: 20 mg/L for fish of warm water.
    assert chloramine_t_by_ph(8.0).dose_mg_l == 20.0
    assert chloramine_t_by_ph(9.4, 300.0).dose_mg_l == 20.0


def test_permanganate_of_clean_water_is_the_common_rate() -> None:
    # Lazur, UF/IFAS FA032: 2 mg/L, more where organic matter uses it up.
    answer = permanganate_by_demand(0.0)
    assert (answer.dose_mg_l, answer.standing) == (2.0, "published")


def test_thiosulfate_for_a_gallon() -> None:
    # Piper et al. 1982, p. 283: 5.6 g for a US gallon at 200 mg/L of chlorine.
    answer = thiosulfate(200.0, to_litres(1.0, "USgal"), chloramine=False)
    assert answer.grams == pytest.approx(5.6, abs=0.05)
    assert answer.least_g < answer.grams


def test_ammonia_that_monochloramine_leaves() -> None:
    # Cl2 is 70.906 g/mol, N 14.0067: 3.0 mg/L as Cl2 leave 0.593 mg/L as N.
    answer = thiosulfate(3.0, 1000.0, chloramine=True)
    assert answer.ammonia_n_mg_l == pytest.approx(3.0 * 14.0067 / 70.906, rel=1e-9)


def test_salt_by_mass_balance() -> None:
    # 2.5 g/L in 12 m³ are 30 kg, whatever the authority.
    assert salt_to_target(12_000.0, 0.5, 3.0).grams == pytest.approx(30_000.0)


# --- oxygen and half-lives ------------------------------------------------------------------------


@pytest.mark.parametrize(("dose", "left"), [(15.0, 2.0), (20.0, 1.0), (25.0, 0.0)])
def test_formalin_on_a_heavy_evening(dose: float, left: float) -> None:
    # Piper et al. 1982, p. 276, and UF/IFAS VM-77: 1 mg/L of oxygen for 5 mg/L, in 30-36 h.
    answer = oxygen_taken("formalin", dose, 5.0, 27.0)
    assert answer.left_mg_l == pytest.approx(left)
    assert (answer.low_h, answer.high_h, answer.level) == (30.0, 36.0, "stop")


def test_green_ponds_lost_more_than_the_rule_says_and_it_is_told() -> None:
    # Rowland et al. 2006, Aquaculture Research 37:869-876: 30 mg/L, 10.1-11.9 to 3.0-3.3 mg/L.
    answer = oxygen_taken("formalin", 30.0, 11.0, 25.0)
    assert answer.taken_mg_l == pytest.approx(6.0)
    assert answer.taken_mg_l < 10.1 - 3.3
    assert any("Rowland" in one for one in answer.remarks)


def test_half_lives_at_their_points() -> None:
    """From memory: US EPA 1997, EPA 738-R-96-017; The Pesticide Manual; IPCS 1992, EHC 132.

    No proof of the figures, which were not read: that the reckoning passes through its points.
    """
    for point in half_lives()["trichlorfon"].points:
        if point.ph >= 7.0:
            answer = trichlorfon_half_life(point.ph, point.temp_c)
            assert answer.half_life_h == pytest.approx(point.half_life_h, rel=1e-9)
            assert answer.standing == "from memory"
            assert point in answer.points


def test_dichlorvos_outlasts_trichlorfon_in_alkaline_water() -> None:
    # IPCS 1992, EHC 132, after Metcalf, Fukuto & March 1959 (from memory).
    first = {
        one.ph: one.half_life_h for one in half_lives()["trichlorfon"].points if one.temp_c > 30
    }
    after = {one.ph: one.half_life_h for one in half_lives()["dichlorvos"].points}
    assert after[5.4] < first[5.4]
    assert after[8.0] > 4.0 * first[8.0]


def test_an_organophosphate_in_hard_green_water() -> None:
    """24 °C, pH 8.8 in the afternoon and 7.9 at dawn: about 47 minutes, and about 5 hours."""
    afternoon, dawn = trichlorfon_half_life(8.8, 24.0), trichlorfon_half_life(7.9, 24.0)
    assert afternoon.half_life_h * 60.0 == pytest.approx(47.0, abs=1.0)
    assert dawn.half_life_h == pytest.approx(5.3, abs=0.3)
    assert any("early in the morning" in one for one in afternoon.remarks)
    assert any("never a larger dose" in one for one in afternoon.remarks)
    assert any("dichlorvos" in one for one in afternoon.remarks)
