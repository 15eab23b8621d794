"""Sheets that more than one test looks at; every name in them is invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from store.courses.feeding.mix import Ingredient, MixSheet, mix_sheet
from store.courses.planning.course import (
    Plan,
    PlannedDose,
    PlanStep,
    PondWater,
    Product,
    Share,
    Task,
)
from store.paper.paper import Letterhead

WRITTEN = date(2026, 5, 2)
FIRST = date(2026, 5, 4)
HEAD = Letterhead("Practice of the sheet tests", "00000 111222", "B. Keeper", "Middle pond")
WATER = PondWater(30_000.0, 27_000.0, 33_000.0, temperature_c=19.0, ph=6.8)


def doses(
    count: int, amount: float, *, first: date = FIRST, share: Share = "owner", **other: Any
) -> tuple[PlannedDose, ...]:
    filled: dict[str, Any] = {"dose": 1.0, "amount_unit": "g", "water_change_percent": 30.0} | other
    return tuple(
        PlannedDose(
            number=number + 1, due_on=first + timedelta(7 * number), amount=amount, share=share,
            **filled,
        )
        for number in range(count)
    )  # fmt: skip


TRICHLORFON = PlanStep(
    place=2, agent="trichlorfon", route="pond_bath", dose=1.0, unit="mg/L",
    product=Product("Powder T", 97.0), volume_l=30_000.0,
    doses=doses(3, 30.9, first=FIRST + timedelta(7)),
    interval_days=7, interval_why="as wished", exposure_h=None, half_life_h=None, safe_most=1.0,
    source="Piper 1982", standing="published",
)  # fmt: skip
FORMALIN = replace(
    TRICHLORFON, place=1, agent="formalin", dose=20.0, unit="uL/L",
    product=Product("", 37.0, "product", 1.09), interval_days=None, safe_most=25.0,
    doses=doses(1, 600.0, dose=20.0, amount_unit="mL", share="practice"),
)  # fmt: skip
SALT_DIP = replace(
    TRICHLORFON, place=1, agent="salt", route="dip", dose=30_000.0, product=Product("Salt"),
    volume_l=60.0, exposure_h=1.0 / 6.0, safe_most=30_000.0,
    doses=doses(1, 1800.0, dose=30_000.0, water_change_percent=0.0),
)  # fmt: skip


def task(code: str, day: int, says: str, share: Share = "owner") -> Task:
    return Task(code, FIRST + timedelta(day), says, share)


TASKS = (
    task("off_uv", 0, "Switch off the UV lamp before the dose."),
    task("watch", 0, "Watch the fish.", "practice"),
    *(task("feed", day, "Do not feed.") for day in (7, 14, 21)),
    task("ammonia", 1, "Test ammonia until 12 May 2026.", "practice"),
    task("on_uv", 28, "Switch the UV lamp on again."),
)
PLAN = Plan(
    hazards=("costia", "gill_flukes"), reason="", water=WATER, steps=(FORMALIN, TRICHLORFON),
    tasks=TASKS, control_on=FIRST + timedelta(30),
)  # fmt: skip


def one_step(step: PlanStep, **other: Any) -> Plan:
    return replace(PLAN, steps=(step,), tasks=(), **other)


# 60 mg of a potentiated sulphonamide and 700 mg of vitamin C in a kilogram of feed that lasts two
# weeks, bound with agar for fish that eat slowly: common practice, without a source.
def mixed(binder: str = "agar", for_whom: str = "Middle pond") -> MixSheet:
    return mix_sheet(
        1.0,
        [Ingredient("potentiated sulphonamide", 60.0, 20.0), Ingredient("vitamin C", 700.0)],
        binder, WRITTEN, days=14, for_whom=for_whom,
    )  # fmt: skip
