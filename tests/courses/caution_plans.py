"""Plans and ponds that the tests of cautions share."""

from __future__ import annotations

from datetime import UTC, date, datetime

from store.courses.planning.course import Caution, Given, Plan, PondWater, Product, StepWish
from store.courses.planning.plan import plan_course

DAY = date(2026, 5, 4)
FORMALIN = Product("formalin", 37.0, "product", 1.09)
GOOD = PondWater(
    20_000.0, 18_000.0, 22_000.0,
    temperature_c=18.0, trend_c_per_day=0.0, ph=7.4, alkalinity_mg_l=120.0, hardness_mg_l=150.0,
    oxygen_mg_l=9.5, salinity_g_l=0.1, age_days=0.05, species="31 koi, 6 goldfish",
    use="ornamental",
)  # fmt: skip
FORMALIN_STEP = StepWish("formalin", "pond_bath", 20.0, product=FORMALIN)
PHOSPHATE_STEP = StepWish("trichlorfon", "pond_bath", 0.25)


def planned(
    *wishes: StepWish, water: PondWater = GOOD, hazards: tuple[str, ...] = ("costia",)
) -> Plan:
    return plan_course(wishes, hazards=hazards, reason="", water=water, first_day=DAY)


def codes(found: tuple[Caution, ...], level: str = "") -> set[str]:
    return {one.code for one in found if not level or one.level == level}


def one(found: tuple[Caution, ...], code: str) -> Caution:
    return next(each for each in found if each.code == code)


def log(plan: Plan, place: int, number: int, on: date, dose: float | None = None) -> Given:
    step = plan.steps[place - 1]
    due = step.doses[number - 1]
    return Given(place, number, datetime(on.year, on.month, on.day, 7, tzinfo=UTC), on,
                 due.dose if dose is None else dose, due.amount, due.amount_unit,
                 due.water_change_percent)  # fmt: skip
