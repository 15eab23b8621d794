"""Withdrawal periods: the European rules for use outside the label, labels, and the sum by day.

The rules of Regulation (EU) 2019/6, Article 115 are from memory and stand so in the facts: what is
proved here is the arithmetic on them, not the law.
"""

from __future__ import annotations

import math
from datetime import date, timedelta

import pytest
from published import published

from store.courses.food.withdrawal import by_label, due, withdrawal
from store.errors import BadInput
from store.facts.withdrawal import withdrawal_facts

LAST_DOSE = date(2026, 5, 3)
# Daily means of an invented pond from 4 May on, °C.
MAY_C = [
    14.2, 15.0, 15.8, 16.5, 17.1, 17.8, 18.4, 18.9, 19.5, 20.1, 20.6, 21.0, 20.2, 19.4, 18.8,
    18.1, 17.6, 18.3, 19.2, 20.0, 20.7, 21.3, 21.9, 22.4, 21.7, 20.9, 20.3, 19.8, 19.1, 18.6,
]  # fmt: skip


@pytest.mark.parametrize(
    ("given", "degree_days", "days_at"),
    [
        ({"aquatic_degree_days": 400.0}, 600.0, (75, 50, 34, 28)),
        ({"land_days": 28.0}, 500.0, (63, 42, 28, 23)),
        ({"land_days": 7.0}, 350.0, (44, 30, 20, 16)),
        ({"land_days": 10.0}, 500.0, (63, 42, 28, 23)),
        ({}, 500.0, (63, 42, 28, 23)),
        ({"land_days": 0.0}, 25.0, (4, 3, 2, 2)),
        ({"aquatic_degree_days": 0.0, "land_days": 0.0}, 25.0, (4, 3, 2, 2)),
        ({"aquatic_degree_days": 150.0}, 225.0, (29, 19, 13, 11)),
        ({"aquatic_degree_days": 400.0, "land_days": 28.0}, 600.0, (75, 50, 34, 28)),
    ],
)
def test_use_outside_the_label(
    given: dict[str, float], degree_days: float, days_at: tuple[int, ...]
) -> None:
    # Regulation (EU) 2019/6, Article 115(1)(d) and (2), from memory; days reckoned by hand, rounded
    # up, at 8, 12, 18 and 22 °C.
    found = due(True, **given)
    assert found.degree_days == degree_days
    assert found.standing == "from memory"
    assert "2019/6" in found.source
    for temp_c, days in zip((8.0, 12.0, 18.0, 22.0), days_at, strict=True):
        assert withdrawal(degree_days, LAST_DOSE, expected_c=temp_c).days == days


def test_a_pond_of_table_carp_in_may() -> None:
    # Land product with 28 days: 50 x 28 = 1400, capped at 500 (from memory as above). Running sums by
    # hand: day 5 78.6, day 26 495.4, day 27 515.7, so 30 May, free from 31 May.
    needed = due(True, land_days=28.0).degree_days
    assert needed == 500.0
    found = withdrawal(needed, LAST_DOSE, MAY_C)
    assert found.met
    assert found.days == 27
    assert found.sum_degree_days == pytest.approx(515.7, abs=0.05)
    assert found.until == date(2026, 5, 30)
    assert found.free_from == date(2026, 5, 31)
    assert withdrawal(600.0, LAST_DOSE, MAY_C).sum_degree_days == pytest.approx(573.2, abs=0.05)
    assert not withdrawal(600.0, LAST_DOSE, MAY_C).met
    for day, total in ((5, 78.6), (10, 173.3), (15, 273.3), (20, 366.5), (25, 474.5), (26, 495.4)):
        short = withdrawal(needed, LAST_DOSE, MAY_C[:day])
        assert not short.met
        assert short.sum_degree_days == pytest.approx(total, abs=0.05)


@pytest.mark.parametrize(
    ("temp_c", "days", "until"), [(18.0, 28, date(2026, 5, 31)), (14.2, 36, date(2026, 6, 8))]
)
def test_a_flat_guess_gives_another_day(temp_c: float, days: int, until: date) -> None:
    # By hand: 500 / 18 = 27.8 and 500 / 14.2 = 35.2, rounded up.
    found = withdrawal(500.0, LAST_DOSE, expected_c=temp_c)
    assert (found.days, found.until) == (days, until)
    assert found.free_from == until + timedelta(days=1)


@pytest.mark.parametrize(("temp_c", "days"), [(15.0, 34), (10.0, 50), (20.0, 25), (12.5, 40)])
def test_days_are_rounded_up_and_exact_ones_stay(temp_c: float, days: int) -> None:
    # By hand: 500/15 = 33.3; 500/10, 500/20 and 500/12.5 are whole.
    assert withdrawal(500.0, LAST_DOSE, expected_c=temp_c).days == days
    assert withdrawal(500.0, LAST_DOSE, [temp_c] * 60).days == days


def test_a_declared_ornamental_pond_has_no_period_and_may_never_be_food() -> None:
    found = due(False)
    assert found.degree_days is None
    assert any("never enter food" in one for one in found.remarks)


def test_the_sum_of_the_regulation_of_1988() -> None:
    # SI 1988/1009, regulation 2: one reading a day after the treatment, added until the total is at
    # least 200. Daily means of a stream, NEON site HOPB, from 10 May 2021 (data/README.md).
    days = {
        date.fromisoformat(row["date"]): float(row["temp_c"])
        for row in published("neon_daily_temperature")
        if row["site"] == "HOPB"
    }
    treated = date(2021, 5, 9)
    record = [days[treated + timedelta(days=number)] for number in range(1, 40)]
    total, day = 0.0, treated
    while total < 200.0:
        day += timedelta(days=1)
        total += days[day]
    found = withdrawal(200.0, treated, record)
    assert found.until == day
    assert found.sum_degree_days == pytest.approx(total)
    assert "1988" in found.source


@pytest.mark.parametrize(
    ("code", "days"),
    [
        ("florfenicol_catfish", 12),  # 21 CFR 558.261, an older edition
        ("oxytetracycline_salmonids", 21),  # 21 CFR 558.450
        ("oxytetracycline_catfish", 21),  # 21 CFR 558.450
        ("oxytetracycline_trout_japan", 30),  # SEAFDEC table, Public Health Reviews 2018, 39:21
        ("florfenicol_trout_japan", 14),  # the same
        ("oxolinic_acid_trout_japan", 21),  # the same
        ("formalin", 0),  # UF/IFAS Extension VM-77 (VM061)
    ],
)
def test_labels_in_days(code: str, days: int) -> None:
    found = by_label(code, LAST_DOSE)
    assert found.days == days
    assert found.until == LAST_DOSE + timedelta(days=days)
    assert found.free_from == found.until + timedelta(days=1)
    assert found.standing == "published"


def test_a_label_for_warm_water_does_not_hold_in_cold() -> None:
    # 21 CFR 558.450: not for catfish in water below 16.7 °C (62 °F).
    assert withdrawal_facts().labels["oxytetracycline_catfish"].least_temp_c == pytest.approx(
        (62 - 32) / 1.8, abs=0.05
    )
    assert by_label("oxytetracycline_catfish", LAST_DOSE, 16.7).days == 21
    with pytest.raises(BadInput, match=r"16\.7 °C or more"):
        by_label("oxytetracycline_catfish", LAST_DOSE, 16.0)
    assert any("16.7" in one for one in by_label("oxytetracycline_catfish", LAST_DOSE).remarks)


def test_fahrenheit_is_not_summed() -> None:
    # 18 °C is 64.4 °F; as °C it would end the period in a third of the time.
    assert math.isclose(18.0 * 1.8 + 32.0, 64.4)
    for record, expected in (([64.4], None), ([], 64.4)):
        with pytest.raises(BadInput, match="°F") as caught:
            withdrawal(500.0, LAST_DOSE, record, expected_c=expected)
        assert caught.value.field == "temperature"
