"""Examinations, deaths and samples of the demo practice, entered by the store's own functions.

What was found, and what died, is invented. Every day is counted back from today: a course against
flukes that was counted before and after the next hatch, a finding that nobody has answered, clean
examinations, and a heated pond whose koi die beside well goldfish, with a sample on its way.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.book.events import record_event
from store.book.writing import Writing
from store.courses.kept.examined import enter_examination
from store.courses.kept.records import courses_of
from store.exams.deaths import NewDeaths, record_deaths
from store.exams.head_counts import record_head_count
from store.exams.specimens import add_sample
from store.exams.values import Condition, Exam, ExamFish, Found, Gear, Prep, PrepKind, Purpose
from store.exchange.plain.whose import PondNames
from store.water.line import understand
from store.water.understood import KitForms
from store.water.water_tests import NewTest, add_tests

_KIT = KitForms("n", "no2", "no3")
_SICK = ("gills_mottled", "sunken_eyes")
_KOI = ("Copper", "Lantern", "Slate", "Plum", "Comma", "Dusk", "Bramble")


@dataclass(frozen=True, slots=True)
class _Looked:
    """Fish of a pond, looked at so many days before today; `after` is the reason of a course."""

    pond: str
    days_ago: int
    at: time
    by: str
    purpose: Purpose
    fish: tuple[ExamFish, ...]
    gear: Gear = "disinfected"
    disinfectant: str = "peracetic acid 1 %"
    contact_min: float | None = 10.0
    note: str = ""
    after: str = ""


def _slide(kind: PrepKind, *found: Found, place: str = "") -> Prep:
    return Prep(kind, place, 100, 5, "", found)


def _counted(
    marks: Sequence[str], gills: Sequence[int], skins: Sequence[int] = ()
) -> tuple[ExamFish, ...]:
    """Marked koi with the flukes counted in five fields of a gill clip, and of a scrape."""
    fish = []
    for nth, (mark, gill) in enumerate(zip(marks, gills, strict=True), start=1):
        preps = [_slide("gill clip", Found("gill_flukes", counted=gill), place="left")]
        if skins:
            preps.append(_slide("skin scrape", Found("gill_flukes", counted=skins[nth - 1])))
        condition: Condition = "thin" if gill > 45 else "normal"
        signs = ("gills_slimy",) if gill > 30 else ()
        fish.append(
            ExamFish(
                nth, "koi", mark, condition=condition, signs=signs, preparations=tuple(preps)
            )
        )  # fmt: skip
    return tuple(fish)


def _clean(nth: int, species: str, mark: str = "") -> ExamFish:
    return ExamFish(
        nth, species, mark, condition="normal",
        preparations=(_slide("skin scrape"), _slide("gill clip")),
    )  # fmt: skip


AFTER_FLUKES = "gill flukes on every koi looked at, on the skin of four as well"
"""Why the course began whose control stands here."""

_LOOKED = (
    _Looked(
        "PEL-3", 47, time(10, 40), "Maren Birkholt", "first look",
        _counted(_KOI, (48, 31, 66, 22, 39, 57, 28), (4, 0, 7, 0, 2, 5, 0)),
        note="Fish hang at the inlet, two rub.",
    ),
    _Looked(
        "PEL-3", 24, time(11, 15), "Maren Birkholt", "control",
        _counted(_KOI, (3, 1, 5, 0, 2, 4, 1), (0, 0, 0, 0, 0, 0, 0)),
        note="The same seven by their marks.", after=AFTER_FLUKES,
    ),
    _Looked(
        "VEL-1", 25, time(14, 0), "Maren Birkholt", "routine",
        tuple(_clean(nth, "koi", mark) for nth, mark in enumerate(
            ("Sable", "Quill", "Ember", "Opal"), start=1
        )),
        gear="own to the pond", disinfectant="", contact_min=None,
        note="Before the shows. Nothing found.",
    ),
    _Looked(
        "STI-1", 52, time(7, 40), "Rafe Kestrick", "routine",
        (_clean(1, "common carp"), _clean(2, "mirror carp"), _clean(3, "common carp")),
        note="Netted at the jetty before the season.",
    ),
    _Looked(
        "STI-2", 52, time(9, 0), "Rafe Kestrick", "routine",
        (_clean(1, "common carp"), _clean(2, "common carp")), gear="own to the pond",
        disinfectant="", contact_min=None,
    ),
    _Looked(
        "YAR-1", 43, time(13, 10), "Maren Birkholt", "routine",
        (_clean(1, "koi"), _clean(2, "koi"), _clean(3, "grass carp")),
        note="Nothing found. Note left in the porch.",
    ),
    _Looked(
        "PEL-3", 6, time(10, 20), "Maren Birkholt", "first look",
        (
            ExamFish(
                1, "koi", "Slate", behaviour=("rubbing",), signs=("film",),
                preparations=(
                    _slide("skin scrape", Found("costia", score=2, motile="yes")),
                    _slide("gill clip", Found("gill_flukes", counted=6)),
                ),
            ),
            ExamFish(
                2, "koi", "Dusk",
                preparations=(
                    _slide("skin scrape", Found("costia", score=1, motile="yes")),
                    _slide("gill clip", Found("gill_flukes", counted=4)),
                ),
            ),
            _clean(3, "fancy goldfish"),
        ),
    ),
    _Looked(
        "BRI-1", 2, time(11, 30), "Rafe Kestrick", "routine",
        (
            ExamFish(
                1, "koi", "the white one", behaviour=("rubbing",), signs=("film",),
                preparations=(
                    _slide("skin scrape", Found("trichodina", score=2, motile="yes")),
                    _slide("gill clip", Found("trichodina", score=1, motile="yes")),
                ),
            ),
            ExamFish(
                2, "goldfish",
                preparations=(_slide("skin scrape", Found("trichodina", score=1, motile="yes")),),
            ),
            _clean(3, "goldfish"),
        ),
        note="Water test first, then decide: two fish rub, all feed.",
    ),
    _Looked(
        "FAL-1", 1, time(17, 10), "Maren Birkholt", "losses",
        (
            ExamFish(
                1, "koi", "dying, killed for the sample", condition="thin",
                behaviour=("listless",), signs=_SICK,
                preparations=(_slide("gill clip"), _slide("skin scrape")),
            ),
            _clean(2, "goldfish"),
        ),
        gear="own to the pond", disinfectant="", contact_min=None,
        note="Last stop of the day. The goldfish feed and look well.",
    ),
)  # fmt: skip

_DEAD_KOI = ((5, 1), (4, 0), (3, 2), (2, 3), (1, 2))
"""Days before today with the koi found dead; on one somebody looked and found none."""
_NEW_KOI_DAYS_AGO = 17
_COUNTS = (
    ("FAL-1", _NEW_KOI_DAYS_AGO, 24, "koi", "with the five new ones"),
    ("FAL-1", _NEW_KOI_DAYS_AGO, 30, "goldfish", ""),
    ("PEL-3", 47, 20, "koi", "netted out for the look"),
    ("PEL-3", 47, 16, "fancy goldfish", ""),
    ("VEL-1", 25, 27, "koi", ""),
)


def add_examinations(book: Book, vet: UUID, now: datetime) -> None:
    """Enter what was found, what died and what is awaited at the demo practice.

    Parameters
    ----------
    book
        The book of the demo practice, with its ponds, water tests and courses.
    vet
        Key of a vet of the practice.
    now
        The present instant, with a time zone.
    """
    ponds = PondNames(book)
    made: dict[tuple[str, int], UUID] = {}
    with book.writing(Act(vet, now)) as writing:
        today = book.today(now)
        for pond, days, fish, species, note in _COUNTS:
            record_head_count(
                writing, ponds.one(pond), today - timedelta(days=days), fish, species=species,
                note=note,
            )  # fmt: skip
        sick = ponds.one("FAL-1")
        _add_warm_water(writing, sick)
        record_event(
            writing, sick, "new_fish", today - timedelta(days=_NEW_KOI_DAYS_AGO), amount=5,
            note="Koi from a garden in another county, no quarantine.",
        )  # fmt: skip
        for days, dead in _DEAD_KOI:
            record_deaths(
                writing, sick,
                NewDeaths(
                    today - timedelta(days=days), dead, "koi", signs=_SICK if dead else (),
                    note="Goldfish well." if days == 1 else "",
                ),
                sure=True,
            )  # fmt: skip
        for days in (4, 2):  # after the dose of the course that runs there
            record_deaths(
                writing, ponds.one("PEL-3"), NewDeaths(today - timedelta(days=days), 0), sure=True
            )
        for one in _LOOKED:
            key = ponds.one(one.pond)
            course = next(
                (kept.id for kept in courses_of(book, key) if kept.plan.reason == one.after), None
            ) if one.after else None  # fmt: skip
            at = datetime.combine(today - timedelta(days=one.days_ago), one.at, book.zone)
            made[one.pond, one.days_ago] = enter_examination(
                writing, key,
                Exam(
                    at, one.purpose, one.by, one.fish, one.gear, one.disinfectant, one.contact_min,
                    one.note, course_id=course,
                ),
            ).id  # fmt: skip
        yesterday = today - timedelta(days=1)
        add_sample(
            writing, sick, label="FAL-1 / K1", taken_on=yesterday, sent_on=yesterday,
            material="gill and kidney of a dying koi", laboratory="the authority's laboratory",
            asked="koi herpesvirus by PCR", hazard="khv", examination_id=made["FAL-1", 1],
        )  # fmt: skip


def _add_warm_water(writing: Writing, pond: UUID) -> None:
    """Good water of 22 °C, as its owner tested it every other day."""
    now, zone = writing.act.at, writing.book.zone
    lines = {
        9: "21.8C pH 7.8 TAN 0.1 NO2 0.05 DO 7.6", 7: "22.0C pH 7.8 TAN 0.2 NO2 0.05 DO 7.5",
        5: "22.1C pH 7.7 TAN 0.2 NO2 0.05 DO 7.5", 3: "22.0C pH 7.8 TAN 0.3 NO2 0.1 DO 7.3",
        1: "22.1C pH 7.8 TAN 0.3 NO2 0.05 KH 6 DO 7.4",
    }  # fmt: skip
    tests = []
    for days, line in lines.items():
        day = writing.book.today(now) - timedelta(days=days)
        read = understand(line, kit=_KIT, now=now, zone=zone)
        at = datetime.combine(day, time(16, 30), zone)
        tests.append((pond, NewTest(at, read.readings, way="line")))
    add_tests(writing, tests)
