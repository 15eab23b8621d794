"""Doses that the pond's own water sets by a published rule: copper and chloramine-T.

Permanganate, salt and thiosulfate have files of their own: `store.courses.baths.permanganate`,
`salt_target` and `dechlorination`.
"""

from __future__ import annotations

from dataclasses import dataclass

from store.errors import BadInput
from store.facts.entry import Standing
from store.facts.sources import cite_with_standing
from store.water.given import figures, given, given_ph

COPPER_LEAST_ALKALINITY_MG_L = 50.0
"""Below this total alkalinity no copper (UF/IFAS FA008) [mg/L as CaCO3]."""
COPPER_CAP_MG_L = 2.5
"""The most copper sulfate pentahydrate at any alkalinity (UF/IFAS FA008) [mg/L]."""
# Piper 1982 p. 277, by total hardness: from, below, least and most mg/L. Printed in whole mg/L of
# hardness (50-99, 100-149, 150-200), read here without gaps.
_COPPER_BY_HARDNESS = (
    (50.0, 100.0, 0.5, 0.75),
    (100.0, 150.0, 0.75, 1.0),
    (150.0, 200.0, 1.0, 2.0),
)
COPPER_SHARE = 63.546 / 249.685
"""Copper in the pentahydrate by weight, from atomic weights (Wieser 2006, from memory) [-]."""

# Cross & Hursey 1973, from memory: pH, mg/L in soft and in hard water, 60 minutes.
CHLORAMINE_T_ROWS = (
    (6.0, 2.5, 7.0),
    (6.5, 5.0, 10.0),
    (7.0, 10.0, 15.0),
    (7.5, 18.0, 18.0),
    (8.0, 20.0, 20.0),
)
HARD_FROM_MG_L = 121.0
"""Hard water begins here (US Geological Survey, from memory) [mg/L as CaCO3]."""


@dataclass(frozen=True, slots=True)
class PublishedDose:
    """What one publication gives for this water; equal ends where it gives one figure."""

    low_mg_l: float
    high_mg_l: float
    says: str
    source: str
    standing: Standing


@dataclass(frozen=True, slots=True)
class WaterDose:
    """The dose that a pond's water sets, mg/L of product, with all statements, cautious first."""

    dose_mg_l: float
    statements: tuple[PublishedDose, ...]
    arithmetic: str
    source: str
    standing: Standing
    remarks: tuple[str, ...]


def copper_by_alkalinity(alkalinity_mg_l: float, hardness_mg_l: float | None = None) -> WaterDose:
    """Copper sulfate pentahydrate for a pond: alkalinity / 100, at most 2.5 mg/L.

    Another publication goes by total hardness; where the hardness is known both stand, and the
    lower is the dose.

    Parameters
    ----------
    alkalinity_mg_l
        Total alkalinity, measured [mg/L as CaCO3].
    hardness_mg_l
        Total hardness [mg/L as CaCO3]; None where it is not known.

    Returns
    -------
    WaterDose
        mg/L of the pentahydrate, which is 25.45 % copper.

    Raises
    ------
    BadInput
        An alkalinity or hardness below 50 mg/L, where no dose is published, or a number that
        cannot exist.

    Notes
    -----
    For 50 mg/L and more; above 250 the dose stays at 2.5 mg/L.

    Examples
    --------
    >>> copper_by_alkalinity(180.0).dose_mg_l
    1.8
    >>> copper_by_alkalinity(180.0, 120.0).dose_mg_l
    1.0

    References
    ----------
    Watson & Yanong, UF/IFAS FA008, Eq. 1; Piper et al. 1982, Fish Hatchery Management, p. 277.
    """
    given(alkalinity_mg_l, "alkalinity", "mg/L", low=0.0, high=2000.0)
    if hardness_mg_l is not None:
        given(hardness_mg_l, "hardness", "mg/L", low=0.0, high=5000.0)
    if alkalinity_mg_l < COPPER_LEAST_ALKALINITY_MG_L:
        raise BadInput(
            f"The alkalinity is {figures(alkalinity_mg_l)} mg/L: below "
            f"{COPPER_LEAST_ALKALINITY_MG_L:.0f} mg/L as CaCO3 no copper (UF/IFAS FA008). Choose "
            "another agent.",
            field="alkalinity",
            title="No copper in this water",
        )
    by_alkalinity = min(alkalinity_mg_l / 100.0, COPPER_CAP_MG_L)
    if hardness_mg_l is not None and hardness_mg_l < _COPPER_BY_HARDNESS[0][0]:
        raise BadInput(
            f"The hardness is {figures(hardness_mg_l)} mg/L: below 50 mg/L as CaCO3 Piper 1982 "
            "gives no copper without a trial on a few fish, though by alkalinity UF/IFAS FA008 "
            f"would give {figures(by_alkalinity)} mg/L. Choose another agent, or let a vet decide.",
            field="hardness",
            title="No copper in this water",
        )
    capped = by_alkalinity < alkalinity_mg_l / 100.0
    arithmetic = f"{figures(alkalinity_mg_l)} / 100 = {figures(alkalinity_mg_l / 100.0)} mg/L"
    if capped:
        arithmetic += f", at most {figures(COPPER_CAP_MG_L)} mg/L"
    statements = [
        PublishedDose(
            by_alkalinity, by_alkalinity, "by total alkalinity", "ufifas_fa008", "published"
        )
    ]
    remarks: tuple[str, ...] = ()
    band = None if hardness_mg_l is None else _copper_band(hardness_mg_l)
    if band is not None:
        statements.append(
            PublishedDose(*band, "by total hardness (p. 277)", "piper_1982", "published")
        )
        arithmetic += (
            f"; by hardness {figures(hardness_mg_l or 0.0)}: {figures(band[0])}-"
            f"{figures(band[1])} mg/L; the lower is taken"
        )
    elif hardness_mg_l is not None:
        remarks += ("Above a hardness of 200 mg/L copper precipitates (Piper 1982, p. 277).",)
    else:
        remarks += (
            (
                "Another publication goes by total hardness (Piper 1982, p. 277): measure it too, "
                "above all in soft water."
            ),
        )
    statements.sort(key=lambda one: one.high_mg_l)
    first = statements[0]
    return WaterDose(
        first.high_mg_l,
        tuple(statements),
        f"{arithmetic} pentahydrate ({figures(first.high_mg_l * COPPER_SHARE)} mg/L copper)",
        cite_with_standing(first.source, first.standing),
        first.standing,
        (
            *remarks,
            (
                "It kills algae and plants, and oxygen then falls; rain that thins soft water "
                "makes it more toxic (Piper 1982)."
            ),
        ),
    )


def _copper_band(hardness_mg_l: float) -> tuple[float, float] | None:
    for low, high, least, most in _COPPER_BY_HARDNESS:
        if low <= hardness_mg_l < high or hardness_mg_l == high == 200.0:
            return least, most
    return None


def chloramine_t_by_ph(ph: float, hardness_mg_l: float | None = None) -> WaterDose:
    """Chloramine-T for a bath of one hour, by pH and hardness: weaker in soft, acid water.

    The row at or below the pH is taken, never one between rows; the column of soft water unless
    the water is known to be hard.

    Parameters
    ----------
    ph
        pH of the water in the bath [pH].
    hardness_mg_l
        Total hardness [mg/L as CaCO3]; None where it is not known, then as soft water.

    Returns
    -------
    WaterDose
        mg/L of chloramine-T as the powder comes.

    Raises
    ------
    BadInput
        A pH below 6, where no dose is published, or a number that cannot exist.

    Notes
    -----
    For pH 6 to 8. Above, the dose of pH 8 is kept, which is also the most of 21 CFR 529.382. The
    table is recalled; where hard water begins it does not say, 121 mg/L is that of the US
    Geological Survey (from memory).

    Examples
    --------
    >>> chloramine_t_by_ph(7.2).dose_mg_l, chloramine_t_by_ph(7.2, 200.0).dose_mg_l
    (10.0, 15.0)

    References
    ----------
    Cross & Hursey 1973, J. Fish Biol. 5:789-798 (from memory); 21 CFR 529.382.
    """
    given_ph(ph)
    if hardness_mg_l is not None:
        given(hardness_mg_l, "hardness", "mg/L", low=0.0, high=5000.0)
    lowest, highest = CHLORAMINE_T_ROWS[0][0], CHLORAMINE_T_ROWS[-1][0]
    if ph < lowest:
        raise BadInput(
            f"The pH is {figures(ph)}: doses of chloramine-T are published for pH "
            f"{figures(lowest)} to {figures(highest)}, and it is the stronger the more acid the "
            "water. Choose another agent.",
            field="pH",
            title="No dose for this water",
        )
    row_ph, soft, hard = next(row for row in reversed(CHLORAMINE_T_ROWS) if row[0] <= ph)
    is_hard = hardness_mg_l is not None and hardness_mg_l >= HARD_FROM_MG_L
    dose = hard if is_hard else soft
    column = "hard" if is_hard else "soft"
    remarks: tuple[str, ...] = ()
    if hardness_mg_l is None and soft < hard:
        remarks += (
            (
                f"The hardness is not known: taken as soft. In hard water it would be "
                f"{figures(hard)} mg/L."
            ),
        )
    if ph > highest:
        remarks += (
            f"pH {figures(ph)} lies above the table, which ends at {figures(highest)}: the dose "
            "of its last row is kept.",
        )
    if dose < 20.0:
        remarks += (
            "21 CFR 529.382 gives 20 mg/L to fish of warm water and does not heed pH or hardness; "
            "the lower is taken.",
        )
    return WaterDose(
        dose,
        (
            PublishedDose(
                dose, dose, f"pH {figures(row_ph)}, {column} water", "cross_hursey_1973",
                "from memory",
            ),
            PublishedDose(20.0, 20.0, "finfish of warm water", "cfr_529_382", "published"),
        ),
        f"pH {figures(ph)}: row of pH {figures(row_ph)}, {column} water: {figures(dose)} mg/L, "
        "60 minutes",
        cite_with_standing("cross_hursey_1973", "from memory"),
        "from memory",
        remarks,
    )  # fmt: skip
