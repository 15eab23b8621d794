"""Makes the numbers of the demo practice; running it again gives the same files.

    python tests/bench/make_demo_files.py

The files are dated to end on `LAST`; the demo moves them by whole days. Nothing of the application
imports this. The water is drawn, not measured: a year of temperatures that ends in a spring warm-up
(deep ponds lag behind), chemistry that wanders within what each pond is like, and a few ponds with
a story that the morning list should find.
"""

from __future__ import annotations

import csv
import math
import random
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import pairwise
from pathlib import Path

FOLDER = Path(__file__).parents[2] / "demo_sites"
LAST = date(2026, 4, 30)
DAYS = 365

# Mean of a garden pond, °C, by days before the end: a cold late winter, a quick rise, and three
# weeks that stay where they are.
SPRING = ((-100, 4.6), (-80, 4.2), (-62, 5.0), (-48, 7.6), (-36, 10.6), (-26, 12.1), (-9, 12.4),
          (0, 12.6))  # fmt: skip
WARM_SPELL = ((-9, 0.0), (-6, 0.9), (-3, 2.4), (0, 4.2))
"""What sun adds to shallow water in the last days, °C."""


def between(points: Sequence[tuple[int, float]], at: float) -> float:
    if at <= points[0][0]:
        return points[0][1]
    for (left, low), (right, high) in pairwise(points):
        if at <= right:
            return low + (high - low) * (at - left) / (right - left)
    return points[-1][1]


def outdoors(day: float, shallow: float) -> float:
    """Daily mean, °C, so many days before the end (negative)."""
    doy = (LAST + timedelta(days=math.floor(day))).timetuple().tm_yday
    year = 12.2 + (8.6 + 1.6 * shallow) * math.sin(2.0 * math.pi * (doy - 118) / 365.0)
    if day < -120:
        return year
    spring = between(SPRING, day)
    if day < -100:
        share = (day + 120) / 20
        spring = year * (1 - share) + spring * share
    return spring + shallow * between(WARM_SPELL, day) if day > -9 else spring


@dataclass
class Pond:
    """What the water of one pond is like. Chemistry: middle and wander."""

    code: str
    every: int
    newest: int
    """Days before the end of the newest test."""
    shallow: float = 0.3
    indoors_c: float | None = None
    ph: tuple[float, float] = (7.6, 0.1)
    kh_dkh: tuple[float, float] = (6.5, 0.4)
    gh_dgh: tuple[float, float] = (9.0, 0.6)
    nitrate: tuple[float, float] = (15.0, 5.0)
    oxygen_share: tuple[float, float] = (0.93, 0.04)
    salt: float | None = None
    chloride: float = 40.0
    by: str = "MB"
    hour: int = 10
    story: Callable[[int, int], dict[str, str]] | None = None
    """Count from the newest (0) and days before the end, to cells that are other than usual."""


def climb(place: int, day: int) -> dict[str, str]:
    """Ammonia and pH rise together for six weeks: fed hard, and the days get brighter."""
    tan = (0.95, 0.7, 0.5, 0.4, 0.25, 0.15, 0.1)
    ph = ("8.5", "8.3", "8.1", "8.0", "7.9", "7.7", "7.7")
    notes = {0: "Water green, fish at the shower inlet. Feed halved.", 1: "Eating well.",
             3: "Feeding three times a day now."}  # fmt: skip
    if place >= len(tan):
        return {}
    return {"ammonia mg/L N": f"{tan[place]:g}", "pH": ph[place], "note": notes.get(place, "")}


def nitrite_spike(place: int, day: int) -> dict[str, str]:
    """After the filter was restarted: ammonia first, then nitrite, with hardly any chloride."""
    tan = ("0.1", "0.25", "0.4", "0.15")
    nitrite = ("1.6", "0.8", "0.25", "0.05")
    notes = {0: "Fish hang under the fall. No salt in the water yet.", 2: "Filter runs again."}
    if place >= len(tan):
        return {"chloride mg/L": "14"} if place < 8 else {}
    return {
        "ammonia mg/L N": tan[place],
        "NO2 mg/L": nitrite[place],
        "chloride mg/L": "12",
        "note": notes.get(place, ""),
    }


def soft_spring(place: int, day: int) -> dict[str, str]:
    """Carbonate hardness goes down half a degree a fortnight."""
    kh = ("2", "2.5", "3.5", "4", "4.5", "4.5", "5")
    if place >= len(kh):
        return {}
    note = "Spring runs soft after the rain." if place in (0, 2) else ""
    return {"KH dKH": kh[place], "pH": ("6.9", "7", "7.1")[min(place, 2)], "note": note}


def flukes(place: int, day: int) -> dict[str, str]:
    return {"note": "Two fish flash against the wall."} if place == 0 else {}


def salted(place: int, day: int) -> dict[str, str]:
    """In salted water since an ulcer in the autumn."""
    if day < -200:
        return {"salt g/L": "", "chloride mg/L": "62"}
    return {
        "salt g/L": ("3.4", "3.5", "3.3", "3.2")[place % 4],
        "note": "Ulcer closed, salt kept." if place == 1 else "",
    }


def lake(place: int, day: int) -> dict[str, str]:
    return {"note": "Read at the jetty, 1 m down." if place % 3 == 0 else ""}


PONDS = (
    Pond("PEN-1", 7, -1, 0.85, ph=(7.7, 0.1), kh_dkh=(6.0, 0.4), nitrate=(28, 6), story=flukes),
    Pond("PEN-2", 7, -1, indoors_c=20.0, ph=(7.5, 0.1), nitrate=(22, 5)),
    Pond("WIC-1", 14, -2, 0.8, ph=(7.8, 0.15), by="Jory", hour=11),
    Pond("QUI-1", 7, -3, indoors_c=22.0, ph=(7.5, 0.1), kh_dkh=(5.5, 0.3), nitrate=(25, 6),
         hour=8, by="RK"),
    Pond("QUI-2", 14, -11, 0.9, ph=(8.0, 0.12), hour=8, by="RK"),
    Pond("OSK-1", 28, -12, 0.0, ph=(7.4, 0.15), kh_dkh=(7.5, 0.4), gh_dgh=(11, 0.7),
         nitrate=(6, 3), by="RK", hour=14),
    Pond("VEL-1", 7, -2, 0.05, ph=(7.7, 0.08), kh_dkh=(6.5, 0.3), nitrate=(18, 4), hour=9),
    Pond("VEL-2", 7, -1, 0.35, ph=(7.6, 0.08), kh_dkh=(7.0, 0.3), nitrate=(30, 5), hour=15,
         story=climb),
    Pond("NET-1", 28, -13, 0.8, ph=(7.9, 0.15), by="RK", nitrate=(8, 3)),
    Pond("MOR-1", 14, -2, 0.0, ph=(7.2, 0.08), kh_dkh=(5.5, 0.3), gh_dgh=(5.8, 0.2),
         nitrate=(5, 2), chloride=18, story=soft_spring, by="RK"),
    Pond("PEL-1", 28, -16, 0.1, ph=(7.7, 0.15), kh_dkh=(8, 0.5), nitrate=(9, 3), by="RK"),
    Pond("PEL-2", 28, -16, 0.5, ph=(7.8, 0.15), kh_dkh=(8, 0.5), nitrate=(9, 3), by="RK"),
    Pond("PEL-3", 14, -5, indoors_c=18.5, ph=(7.4, 0.1), kh_dkh=(5.5, 0.3)),
    Pond("QUA-1", 14, -1, 1.0, ph=(7.9, 0.15), hour=14, chloride=35),
    Pond("STI-1", 28, -6, 0.05, ph=(7.9, 0.1), kh_dkh=(9, 0.5), gh_dgh=(12, 0.6),
         nitrate=(10, 3), story=lake, by="RK", hour=15),
    Pond("STI-2", 14, -10, 0.4, ph=(7.8, 0.15), kh_dkh=(9, 0.5), gh_dgh=(12, 0.6),
         nitrate=(12, 3), by="RK", hour=16),
    Pond("BRI-1", 14, -18, 0.5, ph=(7.6, 0.12), hour=11, by="RK"),
    Pond("SUN-1", 14, -12, 0.4, ph=(7.9, 0.1), kh_dkh=(9.5, 0.4), gh_dgh=(13, 0.5), salt=3.3,
         story=salted),
    Pond("YAR-1", 14, -43, 0.3, ph=(7.5, 0.12), kh_dkh=(5.5, 0.4)),
    Pond("OST-1", 28, -11, 0.0, ph=(7.8, 0.12), kh_dkh=(8.5, 0.5), nitrate=(7, 3), by="RK"),
    Pond("OST-2", 14, -11, 0.7, ph=(7.9, 0.12), kh_dkh=(9, 0.5), by="RK"),
    Pond("HAR-1", 7, -1, 0.15, ph=(7.5, 0.1), kh_dkh=(6, 0.4), chloride=22, story=nitrite_spike,
         hour=12),
    Pond("HAR-2", 14, -10, 0.4, ph=(7.6, 0.12), by="RK"),
)  # fmt: skip

HEADER = (
    "pond", "date", "time", "temperature C", "pH", "ammonia mg/L N", "NO2 mg/L", "NO3 mg/L",
    "KH dKH", "GH dGH", "DO mg/L", "salt g/L", "chloride mg/L", "place", "by", "note",
)  # fmt: skip
COMMENTS = (
    "Skimmer basket emptied.", "Fish lively.", "Leaves netted out.", "Water clear to the floor.",
    "Owner away, tested by us.", "UV lamp clouded, wiped.", "A little blanket weed.", "Heron seen.",
    "Fed before the test.", "Pump housing cleaned.",
)  # fmt: skip


def saturation(temperature_c: float) -> float:
    """Near enough for drawing numbers, mg/L at sea level."""
    return 14.6 - 0.394 * temperature_c + 0.0077 * temperature_c**2 - 0.0000646 * temperature_c**3


def tests_of(pond: Pond) -> Iterable[list[str]]:
    dice = random.Random(f"water {pond.code}")
    day, place = pond.newest, 0
    found = []
    while day > -DAYS:
        found.append(one_test(pond, place, day, dice))
        # Nobody comes on the very day for a year; the last tests are as the plan asks.
        day -= pond.every + (dice.choice((-1, 0, 0, 0, 0, 1)) if place > 6 else 0)
        place += 1
    return reversed(found)


def one_test(pond: Pond, place: int, day: int, dice: random.Random) -> list[str]:
    if pond.indoors_c is not None:
        temp = pond.indoors_c + dice.gauss(0.0, 0.2)
    else:
        temp = max(1.5, outdoors(day, pond.shallow) + dice.gauss(0.0, 0.15))
    share, wander = pond.oxygen_share
    cells = {
        "pond": pond.code,
        "date": (LAST + timedelta(days=day)).isoformat(),
        "time": time(pond.hour + dice.choice((0, 0, 1)), dice.randrange(0, 60, 5)).strftime(
            "%H:%M"
        ),
        "temperature C": f"{temp:.1f}",
        "pH": f"{min(8.4, dice.gauss(*pond.ph)):.1f}",
        "ammonia mg/L N": dice.choice(("0", "0", "0", "<0.05", "0.05", "0.1")),
        "NO2 mg/L": dice.choice(("0", "0", "0", "0.02", "0.05", "trace")),
        "NO3 mg/L": f"{max(1.0, 5 * round(dice.gauss(*pond.nitrate) / 5)):.0f}",
        "KH dKH": f"{round(2 * dice.gauss(*pond.kh_dkh)) / 2:g}",
        "GH dGH": f"{round(2 * dice.gauss(*pond.gh_dgh)) / 2:g}" if place % 4 == 0 else "",
        "DO mg/L": f"{saturation(temp) * dice.gauss(share, wander):.1f}",
        "salt g/L": "" if pond.salt is None else f"{pond.salt:g}",
        "chloride mg/L": "",
        "place": "skimmer" if pond.every == 7 and dice.random() < 0.4 else "",
        "by": pond.by,
        "note": dice.choice(COMMENTS) if dice.random() < 0.12 else "",
    }
    if place % 4 == 0 and pond.salt is None:
        cells["chloride mg/L"] = f"{max(5.0, dice.gauss(pond.chloride, 3.0)):.0f}"
    if pond.story is not None:
        told = pond.story(place, day)
        if not told.get("note"):
            told.pop("note", None)
        cells.update(told)
    return [cells[name] for name in HEADER]


def logger_rows(
    name: str, mean: Callable[[float], float], swing: float, oxygen: bool
) -> Iterable[list[str]]:
    """Hourly, the last sixty days, in the local time of a logger set once in spring."""
    dice = random.Random(f"logger {name}")
    weather = 0.0
    for day in range(-60, 1):
        weather = 0.75 * weather + dice.gauss(0.0, 0.12)
        on = LAST + timedelta(days=day)
        for hour in range(24):
            if (day, hour) in ((-41, 14), (-41, 15)):
                continue  # read out, batteries changed
            wave = math.cos(2.0 * math.pi * (hour - 16) / 24)
            temp = mean(day + hour / 24) + weather + swing * wave + dice.gauss(0.0, 0.04)
            at = datetime.combine(on, time(hour)).strftime("%Y-%m-%d %H:%M")
            row = [at, "-127" if (day, hour) == (-41, 13) else f"{temp:.2f}"]
            if oxygen:
                bright = min(1.0, max(0.0, (day + 30) / 25))
                low = 8.2 - 2.6 * bright
                value = (
                    low
                    + (1.2 + 1.5 * bright)
                    * (0.5 + 0.5 * math.cos(2.0 * math.pi * (hour - 17) / 24)) ** 2
                )
                night = -0.42 * bright * max(0.0, math.cos(2.0 * math.pi * (hour - 5) / 24))
                row.append(f"{value + night + dice.gauss(0.0, 0.04):.2f}")
            yield row


EVENTS = (
    ("PEN-1", -171, "hazard_seen", "", "gill_flukes", "", "Gill snip: three in one field at 100x."),
    ("PEN-1", -196, "new_fish", "", "", "2", "From the autumn show, kept apart first."),
    ("PEN-2", -230, "new_fish", "", "", "2", ""),
    ("WIC-1", -330, "fish_died", "", "", "1", "Old age, by the owner's account."),
    ("QUI-1", -88, "fish_removed", "", "", "3", "To a garden of the staff."),
    ("QUI-2", -64, "ice_cover", "-58", "", "", ""),
    ("VEL-2", -75, "new_fish", "", "", "24", "Two-year fish from the owner's own breeding."),
    ("VEL-1", -140, "water_changed", "", "", "6000", ""),
    ("NET-1", -320, "sign_seen", "", "", "", "Gulping at the surface on one hot evening."),
    ("MOR-1", -95, "heavy_rain", "", "", "", "Stream over the step for two days."),
    ("STI-2", -300, "fish_died", "", "", "40", "After the net was hauled."),
    ("SUN-1", -204, "sign_seen", "", "", "", "Ulcer on the flank of one koi."),
    ("SUN-1", -200, "salt_added", "", "", "37000", "To 3.3 g/L over three days."),
    ("HAR-1", -34, "filter_disturbed", "", "", "", "Emptied and washed out for moving."),
    ("HAR-1", -22, "filter_restarted", "", "", "", "New sponges, old gravel."),
    ("OST-2", -250, "plants_killed", "", "", "", "Gardeners treated the blanket weed."),
)  # fmt: skip

VISITS = (
    ("VEL-2", "", 1, "09:30", "MB", "call", "", "Ammonia: bring the meter, look at the drum."),
    ("PEN-1", "", 0, "11:00", "MB", "call", "planned", "Scrape and gill snip."),
    ("TRA-1", "", 3, "08:30", "RK", "first visit", "", "Measure the pond."),
    ("STI-1", "yes", 5, "06:00", "RK", "round", "", "Oxygen at dawn, both waters."),
    ("OST-1", "yes", 4, "", "RK", "round", "", ""),
    ("PEL-1", "yes", 9, "10:00", "RK", "round", "", ""),
    ("QUI-1", "yes", 2, "07:00", "RK", "round", "", ""),
    ("QUI-1", "yes", -12, "07:00", "RK", "round", "done", ""),
    ("SUN-1", "", -12, "09:30", "MB", "call", "done", "Ulcer closed."),
    ("HAR-1", "", -22, "11:00", "MB", "call", "done", "Filter restarted, told what to test."),
    ("YAR-1", "", -43, "13:00", "MB", "call", "done", ""),
    ("YAR-1", "", -15, "13:00", "MB", "call", "cancelled", "Nobody there, gate locked."),
    ("PEN-1", "", -171, "10:30", "MB", "call", "done", "Gill flukes found."),
    ("BRI-1", "", -18, "11:00", "RK", "round", "done", ""),
)  # fmt: skip

KITS = (
    ("Drop tests of the van", "n", "no2", "no3", "L2207", 300, -20, "The practice's own."),
    ("Strips of the desk", "nh4", "no2", "no3", "", 40, None, "For clients who bring a bottle."),
)


def write(name: str, header: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    with (FOLDER / name).open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(header)
        writer.writerows(rows)


def on(days: int) -> str:
    return (LAST + timedelta(days=days)).isoformat()


def main() -> None:
    rows = [row for pond in PONDS for row in tests_of(pond)]
    rows.sort(key=lambda row: (row[1], row[2], row[0]))
    write("water_tests.csv", HEADER, rows)
    write(
        "logger_VEL-1.csv",
        ("time", "temperature C"),
        logger_rows("VEL-1", lambda day: outdoors(day, 0.05), 0.35, oxygen=False),
    )
    write(
        "logger_STI-1.csv",
        ("time", "temperature C", "DO mg/L"),
        logger_rows("STI-1", lambda day: outdoors(day, 0.05) - 0.3, 0.6, oxygen=True),
    )
    write(
        "events.csv",
        ("pond", "on_day", "kind", "until_day", "hazard", "amount", "note"),
        (
            (pond, on(day), kind, on(int(until)) if until else "", hazard, amount, note)
            for pond, day, kind, until, hazard, amount, note in EVENTS
        ),
    )
    write(
        "visits.csv",
        ("pond", "whole_site", "on_day", "at_time", "staff", "kind", "state", "note"),
        ((pond, whole, on(day), *rest) for pond, whole, day, *rest in VISITS),
    )
    write(
        "kits.csv",
        ("name", "ammonia_form", "nitrite_form", "nitrate_form", "batch", "expires_on",
         "ph_calibrated_on", "notes"),
        (
            (*forms, on(expires), "" if calibrated is None else on(calibrated), notes)
            for *forms, expires, calibrated, notes in KITS
        ),
    )  # fmt: skip


if __name__ == "__main__":
    main()
