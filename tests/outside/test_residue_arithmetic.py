"""Repeated doses against the closed form of a geometric series.

With equal doses D, a share f replaced before each and first-order loss, the peak after dose n is
D (1 - r^n) / (1 - r), r = (1 - f) e^(-k t): the accumulation of repeated doses as textbooks of
pharmacokinetics give it (Rowland & Tozer, Clinical Pharmacokinetics; from memory). The numbers
below are reckoned by hand from that form, not by the program.
"""

from __future__ import annotations

import pytest

from store.courses.baths.residue import equal_steps, residue

# dose mg/L, change %, half-life h, every days, peaks 1-4, plateau
TABLE = [
    (1.00, 10.0, None, 7.0, (1.0000, 1.9000, 2.7100, 3.4390), 10.0000),
    (1.00, 50.0, None, 7.0, (1.0000, 1.5000, 1.7500, 1.8750), 2.0000),
    (2.00, 25.0, 24.0, 2.0, (2.0000, 2.3750, 2.4453, 2.4585), 2.4615),
    (0.25, 0.0, 7.8, 7.0, (0.2500, 0.2500, 0.2500, 0.2500), 0.2500),
    (0.10, 20.0, 240.0, 7.0, (0.1000, 0.1492, 0.1735, 0.1854), 0.1970),
]


@pytest.mark.parametrize(("dose", "change", "half_life_h", "every", "peaks", "plateau"), TABLE)
def test_peaks_and_plateau(
    dose: float,
    change: float,
    half_life_h: float | None,
    every: float,
    peaks: tuple[float, ...],
    plateau: float,
) -> None:
    answer = residue(equal_steps(dose, 4, every, change), half_life_h=half_life_h)
    assert answer.peaks_mg_l == pytest.approx(peaks, abs=5e-5)
    assert answer.plateau_mg_l == pytest.approx(plateau, abs=5e-5)
    for peak, trough, later in zip(
        answer.peaks_mg_l, answer.troughs_mg_l, answer.peaks_mg_l[1:], strict=False
    ):
        assert trough <= peak
        assert trough + dose == pytest.approx(later)


def test_without_change_or_loss_doses_add_up_and_there_is_no_plateau() -> None:
    answer = residue(equal_steps(0.5, 4, 7.0))
    assert answer.peaks_mg_l == pytest.approx((0.5, 1.0, 1.5, 2.0))
    assert answer.plateau_mg_l is None


def test_exposure_of_one_dose_is_dose_over_rate() -> None:
    """The whole area under D e^(-kt) is D / k: half-life / ln 2 times the dose."""
    answer = residue(equal_steps(2.0, 1, 7.0), half_life_h=12.0, until_h=12.0 * 60)
    assert answer.exposure_mg_h_l == pytest.approx(2.0 * 12.0 / 0.693147, rel=1e-5)


def test_the_half_life_halves() -> None:
    answer = residue(equal_steps(1.0, 1, 7.0), half_life_h=34.0, until_h=102.0)
    assert answer.end_mg_l == pytest.approx(0.125)
