"""Sheets of a day made by hand, as they might be read from a book."""

from __future__ import annotations

from datetime import UTC, datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from store.rounds.day.sheet import (
    ConcernLine,
    CourseLine,
    DaySheet,
    Job,
    PondSheet,
    StopSheet,
    WhyLine,
    way_said,
)
from store.rounds.day.values import DayPlan
from tests.rounds.day_plans import ADA

LONDON = ZoneInfo("Europe/London")
NOW = datetime(2026, 3, 15, 17, 5, tzinfo=UTC)
STOP_WORDS = ("no movement of fish, water or nets", "Ring the competent authority; local law says")
POND = PondSheet(
    pond_id=UUID(int=1), name="Lower pond", volume="9,000 L, in force: by salt, 3 Mar 2026",
    apart="Volumes disagree by 33 %.", use="FOOD FISH", eating="Not for eating before 3 Apr 2026.",
    fish="koi 9", system="UV: 30 W", tested="12 Mar 2026, 07:30 (RK)",
    readings=("12.0 °C", "TAN 0.05 mg/L N"), doubts=("Taken at the fall.",),
    flagged=(
        ConcernLine("act", "nitrite 1.60 mg/L", "Nitrite", "nitrite_mg_l", "Feed less."),
        *(ConcernLine("watch", f"window {n}", "x", "temperature_c", "Look.") for n in range(4)),
    ),
    courses=(CourseLine(UUID(int=2), "praziquantel: runs", "last: dose 1", "dose 2: 18 g",
                        "control on 1 Apr 2026", ("To be planned anew.",)),),
    findings=("gill flukes found, unanswered",), samples=("gill “BH-1”: result awaited",),
)  # fmt: skip
JOBS = (
    Job("dose", POND.pond_id, "Lower pond", "Give praziquantel, dose 2 of 3: 18 g", ("Air on.",)),
    Job("water", None, "", "Water test: pH", (), ("ph",)),
)
WHYS = (
    WhyLine("Lower pond", "dose 2 of 3", "due 16 Mar 2026", ("Do not feed.", "Air on.")),
    WhyLine("", "as told", "due 17 Mar 2026", ("Do not feed.", "Air on.")),
)


def sheet_of(
    plan: DayPlan, staff_id: UUID = ADA, *, name: str = "", bare: bool = False
) -> DaySheet:
    """A sheet as it might be read, without a book."""
    one = plan.round_of(staff_id)
    assert one is not None
    stops = []
    for number, stop in enumerate(one.stops, start=1):
        errand = stop.errand
        client, _, site = (name or errand.name).partition(", ")
        stops.append(
            StopSheet(
                number=number, stop=stop, client=client, site=site,
                address=(f"{number} Weir Lane", "AB1 2CD Ashbourne"),
                way_in="Gate code 4711. Dog is loose.", hours="08:00 to 19:00",
                phones=(errand.phone,), agreed="agreed for 10:00",
                ring="" if errand.booked else "Ring first: nobody has agreed this visit yet.",
                way=way_said(stop.way), standing=errand.standing,
                standing_said=errand.standing_said, whys=() if bare else WHYS,
                note="mind the step", ponds=() if bare else (POND,), jobs=() if bare else JOBS,
                prices="visit 90", consent="signed", terms_said="RK, 3 Mar 2026",
                slot_said="Read the oxygen at dawn.",
                warnings=STOP_WORDS if errand.standing == "suspect" else (),
            )
        )  # fmt: skip
    return DaySheet(
        staff_id=staff_id, who=name or one.driver.who, practice="Test practice",
        day=plan.asked.wish.day, zone=LONDON, written_at=NOW, sets_out=one.sets_out,
        start="the practice", back=one.back, home="the practice",
        way_home="" if one.way_home is None else way_said(one.way_home),
        drive_min=one.drive_min, km=None, rest="12:00 to 12:30, 30 min, after stop 5",
        break_after=one.break_after, proof=plan.proof, price="Clean before infected costs nothing.",
        stops=tuple(stops), broken=("Two pairs break it.",), left_out=("Willow does not fit.",),
        remarks=plan.remarks,
    )  # fmt: skip
