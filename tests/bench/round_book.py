"""A day on the road out of a large invented book: what asking for it costs, and planning it."""

from __future__ import annotations

import random
import sqlite3
import statistics
import tempfile
import time
from collections.abc import Callable
from datetime import date, datetime, timedelta
from pathlib import Path
from uuid import UUID

from store.book.act import Act
from store.book.opening import open_book
from store.book.people import staff
from store.courses.kept.morning import morning_list
from store.diary.kept.due.desk import desk_list
from store.diary.kept.roster.staff_hours import set_hours
from store.rounds.day.plan import plan_day
from store.rounds.day.values import DayWish
from store.rounds.kept.days.day import day_asked
from store.rounds.solving.proof import EFFORT
from tests.bench.bench_desk import make_desk
from tests.bench.caseload import SEASONS

FOLLOW_UPS, WEEKS = 20_000, 26
MIDDLE = (52.2, -2.1)
"""Sites lie around here, some 25 km to every side [degrees]."""
ACCESS = ("daily 08:00-18:00", "Mon-Fri 09:00-16:00", "any day", "daily after 12:00", "")
VETS = ("Second Vet", "Third Vet")


def make_round_book(path: Path, ponds: int, visits: int, now: datetime) -> date:
    """The book of the desk's measurement with places, hours of access, three vets, a full day."""
    make_desk(path, ponds, FOLLOW_UPS, WEEKS, now)
    dice = random.Random(3)
    raw = sqlite3.connect(path)
    sites = [row[0] for row in raw.execute("SELECT id FROM site ORDER BY id")]
    raw.executemany(
        "UPDATE site SET latitude = ?, longitude = ?, access_hours = ? WHERE id = ?",
        [(MIDDLE[0] + dice.uniform(-0.22, 0.22), MIDDLE[1] + dice.uniform(-0.36, 0.36),
          dice.choice(ACCESS), key) for key in sites],
    )  # fmt: skip
    raw.commit()
    raw.close()
    with open_book(path, now=now) as book:
        first = staff(book)[0].id
        day = book.today(now) + timedelta(days=1)
        with book.writing(Act(first, now)) as writing:
            vets = [first, *(writing.add("staff", name=who, role="vet") for who in VETS)]
            for who in vets:
                set_hours(
                    writing, who, "Mon-Sat 07:30-18:00", book.today(now), break_min=30,
                    start_place="yard", start_latitude=MIDDLE[0] + dice.uniform(-0.1, 0.1),
                    start_longitude=MIDDLE[1] + dice.uniform(-0.1, 0.1),
                )  # fmt: skip
            writing.add_many(
                "visit",
                [{"site_id": UUID(bytes=key), "on_day": day, "kind": "call"}
                 for key in dice.sample(sites, visits)],
            )  # fmt: skip
    return day


def measure_book(ponds: int, visits: int, rounds: int) -> None:
    """Print medians and ratios of asking for a day and planning it, in one run."""
    now = SEASONS["spring"]
    with tempfile.TemporaryDirectory() as made:
        path = Path(made) / "round.pondround"
        print(f"making a book of {ponds} ponds with {FOLLOW_UPS} open follow-ups …", flush=True)
        day = make_round_book(path, ponds, visits, now)
        with open_book(path, now=now) as book:
            wish, morning = DayWish(day), morning_list(book, now)
            asked = day_asked(book, wish, now, morning)
            jobs: list[Callable[[], object]] = [
                lambda: morning_list(book, now),
                lambda: desk_list(book, now, morning=morning),
                lambda: day_asked(book, wish, now, morning),
            ]
            taken = [[_seconds(job) for job in jobs] for _ in range(rounds)]
            mornings, desk, asking = (
                statistics.median(column) for column in zip(*taken, strict=True)
            )
            begun = time.perf_counter()
            plan = plan_day(asked)
            planning = time.perf_counter() - begun
    booked = sum(one.booked for one in asked.errands)
    print(
        f"a day of {booked} booked and {len(asked.errands) - booked} due visits, "
        f"{len(asked.drivers)} vets, effort {EFFORT:g}\n"
        f"  asking beside its morning list {1000 * asking:.0f} ms; desk list {1000 * desk:.0f} ms; "
        f"morning list {1000 * mornings:.0f} ms\n"
        f"  asking ÷ desk list = {asking / desk:.2f}; asking ÷ morning list = "
        f"{asking / mornings:.2f}\n"
        f"  planning {planning:.1f} s; planning ÷ asking = {planning / asking:.0f}\n"
        f"  drive {plan.found.drive_min} min, bound {plan.found.bound} of {plan.found.cost}, "
        f"{len(plan.left_out)} left out: {plan.proof}"
    )


def _seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start
