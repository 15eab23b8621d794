"""The demo practice: alive on any day, and the files that it is made of are whole."""

from __future__ import annotations

import subprocess
import sys
from collections import Counter
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import func, select

from store.book.events import events
from store.book.kits import kit_in_use
from store.book.people import staff
from store.book.ponds import cards
from store.book.tables import table
from store.courses.kept.course_page import course_page
from store.courses.kept.morning import morning_list
from store.courses.kept.outcome import outcome
from store.courses.kept.records import Course, courses_of
from store.courses.kept.under_way import under_way
from store.diary.kept.visits.bookings import objections
from store.diary.kept.visits.diary import visits_between
from store.diary.kept.visits.terms import terms_of
from store.diary.kept.visits.wishes import wish_of_visit
from store.errors import BookTrouble
from store.exams.bearing import bearings
from store.exams.deaths import deaths_of
from store.exams.examinations import examinations_of
from store.exams.losses import loss_page
from store.exams.open_findings import open_findings
from store.exams.specimens import awaited
from store.exams.suspicion import suspicions
from store.exchange.demo.practice import make_demo
from store.exchange.demo.round import VISITS, round_day
from store.exchange.plain.table import open_sheet
from store.exchange.plain.whose import PondNames
from store.rounds.kept.standing.standing import site_standings
from store.rounds.kept.standing.wishes import hour_wishes
from store.travel.drive_times import drive_times
from store.watch.morning import watch_pond
from store.water.water_tests import list_tests

ROOT = Path(__file__).parents[2]
FILES = ROOT / "demo_sites"


@pytest.mark.parametrize(
    "now",
    [
        datetime(2028, 2, 29, 7, 30, tzinfo=UTC),  # a leap day
        datetime(2026, 3, 29, 5, 30, tzinfo=UTC),  # the clock went forward in the night
        datetime(2026, 10, 25, 0, 30, tzinfo=UTC),  # in the hour that the clock shows twice
        datetime(2026, 12, 31, 23, 59, tzinfo=UTC),
    ],
)
def test_the_morning_list_is_alive_on_any_day(now: datetime, tmp_path: Path) -> None:
    with make_demo(tmp_path / "demo.pondround", now) as book:
        listed = morning_list(book, now)
        assert (listed.act, listed.watch, listed.unknown, listed.calm) == (6, 7, 2, 10)
        rules = {line.pond_name: line.rule for line in listed.lines if line.level != "calm"}
        assert rules["Growing-on pond"] == "ammonia_un_ionised"
        assert rules["Upper pond"] == "nitrite"
        assert rules["Koi pond"].startswith("window_")
        assert rules["Mill pool"] == "alkalinity_low"
        assert rules["Main lake"].startswith("oxygen")
        what = {line.pond_name: line.what for line in listed.lines}
        assert what["Garden pond"] == "never tested"
        assert what["Barn pond"] == "no test for 43 days"
        assert what["Glasshouse tank"] == "formalin 2 of 2 due today"
        assert what["Atrium pool"] == "control is 5 d late"
        assert what["Show pond"] == "batch 2 of 2 due today"
        assert listed.lines[0].what == "STOP: koi herpesvirus disease?"
        assert what["Courtyard pond"] == "trichodina found"
        days = table("logger_day").c
        with book.reading() as connection:
            newest = connection.execute(select(func.max(days.day))).scalar_one()
        assert newest == listed.today
        assert any(line.next_visit == listed.today for line in listed.lines)


def test_the_demo_is_a_whole_practice(tmp_path: Path) -> None:
    now = datetime(2026, 5, 20, 6, 30, tzinfo=UTC)
    with make_demo(tmp_path / "demo.pondround", now) as book:
        assert {person.role for person in staff(book)} == {
            "vet", "receptionist", "travelling vet"
        }  # fmt: skip
        ponds = cards(book)
        assert len(ponds) == 25
        assert len({card.site.id for card in ponds}) >= 15
        assert {card.pond.use for card in ponds} == {"ornamental", "food"}
        assert all(card.pond.volume_l for card in ponds)
        assert all(card.client.phone.startswith("01632 960") for card in ponds)
        koi = PondNames(book).one("PEN-1")
        tests = list_tests(book, koi, 100)
        assert len(tests) > 50
        assert tests[0].taken_at.date() == now.date() - timedelta(days=1)
        assert {test.by for test in tests} == {"MB"}
        kit = kit_in_use(book, koi)
        assert kit is not None
        assert kit.ammonia_form == "n"
        assert [one.kind for one in events(book, koi)] == ["hazard_seen", "new_fish"]
        falling = watch_pond(book, PondNames(book).one("MOR-1"), now)
        assert "alkalinity_falling" in {one.rule for one in falling.concerns}


def test_the_courses_of_the_demo_are_at_every_stage(tmp_path: Path) -> None:
    now = datetime(2026, 5, 20, 6, 30, tzinfo=UTC)
    with make_demo(tmp_path / "demo.pondround", now) as book:
        names = PondNames(book)

        def only(code: str) -> Course:
            (found,) = courses_of(book, names.one(code))
            return found

        turned = only("QUA-1")
        assert any("4 d late" in said for _, said in turned.turns)
        assert [one.state for one in turned.plan.steps[0].doses] == ["given", "given", "due"]
        assert course_page(book, turned.id, now).line.level == "calm"
        two, before = courses_of(book, names.one("PEL-3"))
        assert [step.agent for step in two.plan.steps] == ["formalin", "trichlorfon"]
        (due,) = course_page(book, two.id, now).line.due.now
        assert (due.dose.number, due.overdue_days) == (2, 0)
        formalin = two.plan.steps[0]
        assert (formalin.product.basis, formalin.product.density_g_ml) == ("product", 1.09)
        # 20 mg of the product as it comes in each litre, measured by its density.
        assert due.dose.amount_unit == "mL"
        assert due.dose.amount == pytest.approx(20.0 * formalin.volume_l / 1090.0, rel=0.02)
        done = only("QUI-1")
        assert (done.state, done.control_done) == ("completed", None)
        assert before.control_done is not None
        stopped = [one for one in only("OST-2").answered if one.level == "stop"]
        assert [one.code for one in stopped] == ["species"]
        assert stopped[0].reason.startswith("The orfe were netted out")
        assert {one.task.code for one in two.tasks if one.done_at is not None} >= {"off_uv"}
        fed = only("VEL-1")
        (batch,) = course_page(book, fed.id, now).line.due.now
        # 27 × 1.4 kg × 10 mg/kg × 5 d = 1890 mg of a premix of 50 %.
        assert (batch.dose.number, batch.left_amount, batch.dose.amount_unit) == (2, 3.78, "g")
        assert not any(one.level == "stop" for one in fed.answered)
        assert len(under_way(book, now)) == 5


@pytest.mark.parametrize(
    "now", [datetime(2026, 5, 20, 6, 30, tzinfo=UTC), datetime(2026, 10, 25, 0, 30, tzinfo=UTC)]
)
def test_the_findings_of_the_demo_tell_whether_it_worked(now: datetime, tmp_path: Path) -> None:
    """Seven marked koi: 291 flukes in 35 fields before, 16 after, which is 94.5 % fewer."""
    with make_demo(tmp_path / "demo.pondround", now) as book:
        names, today = PondNames(book), book.today(now)
        treated = courses_of(book, names.one("PEL-3"))[-1]
        (flukes,) = outcome(book, treated.id, now).hazards
        assert flukes.told is not None
        assert flukes.told.timely == "in time"
        assert "fewer by 95 %, 89 to 97 %" in flukes.says
        first = examinations_of(book, names.one("PEL-3"))[-1]
        assert next(iter(bearings(first.exam))).weight == "heavy"
        (only,) = open_findings(book).values()
        assert [(one.hazard, one.fish, one.of) for one in only] == [("trichodina", 2, 3)]
        (clean,) = examinations_of(book, names.one("VEL-1"))
        assert (clean.exam.purpose, clean.exam.hazards, len(clean.exam.fish)) == ("routine", (), 4)

        dying = names.one("FAL-1")
        (here,) = suspicions(book, dying, now)
        assert (here.found.hazard, here.found.level, here.found.where) == ("khv", "act", "inside")
        assert sum(one.dead for one in here.found.deaths) == 8
        assert any(one.dead == 0 for one in deaths_of(book, dying))
        (waits,) = awaited(book, today)
        assert (waits.sample.pond_id, waits.days) == (dying, 1)
        koi = {one.species: one for one in loss_page(book, dying, now).stock.lines}["koi"]
        assert (koi.fish, koi.counted_on) == (16, today - timedelta(days=17))


@pytest.mark.parametrize(
    ("now", "day"),
    [
        (datetime(2026, 5, 22, 12, 0, tzinfo=UTC), date(2026, 5, 26)),  # a bank holiday between
        (datetime(2026, 12, 24, 14, 0, tzinfo=UTC), date(2026, 12, 29)),
    ],
)
def test_the_next_working_day_is_a_whole_round(now: datetime, day: date, tmp_path: Path) -> None:
    with make_demo(tmp_path / "demo.pondround", now) as book:
        assert round_day(book, now) == day
        booked = visits_between(book, day, day)
        assert len(booked) == VISITS
        assert {one.who for one in booked} == {"Maren Birkholt", "Rafe Kestrick"}
        assert sum(one.fixed for one in booked) == 1
        assert any(one.at_time is None for one in booked)
        standings = Counter(site_standings(book, now)[one.site_id].standing for one in booked)
        assert standings["suspect"] == 1
        assert standings["infected"] >= 2
        assert standings["clean"] >= 1
        assert standings["doubtful"] >= 3
        assert any(hour_wishes(book, now, [one.site_id for one in booked]).values())
        (terms,) = terms_of(book, [one.id for one in booked]).values()
        assert terms.prices.startswith("urgent call 140")
        assert terms.consent == "to be signed"
        assert len(drive_times(book)) == 6
        assert all(one.source for one in drive_times(book))
        for one in booked:
            asked = (day, one.at_time, one.staff_id)
            found = objections(book, wish_of_visit(one), *asked, now, visit_id=one.id)
            assert not [each for each in found if each.bars == "never"], one.site


def test_a_file_that_is_there_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "mine.pondround"
    path.write_text("mine")
    with pytest.raises(BookTrouble, match="already"):
        make_demo(path, datetime(2026, 5, 20, tzinfo=UTC))
    assert path.read_text() == "mine"


def test_the_generator_gives_the_files_that_are_there(tmp_path: Path) -> None:
    copy = tmp_path / "tests" / "bench" / "make_demo_files.py"
    copy.parent.mkdir(parents=True)
    (tmp_path / "demo_sites").mkdir()
    source = ROOT / "tests" / "bench" / "make_demo_files.py"
    copy.write_bytes(source.read_bytes())
    subprocess.run([sys.executable, str(copy)], check=True)
    made = sorted((tmp_path / "demo_sites").iterdir())
    assert len(made) == 6
    for path in made:
        assert path.read_bytes() == (FILES / path.name).read_bytes(), path.name


def test_every_pond_of_the_files_is_one_of_the_practice() -> None:
    def column(name: str, title: str) -> Counter[str]:
        sheet = open_sheet(FILES / name)
        place = sheet.header.index(title)
        return Counter(row.cells[place] for row in sheet.rows())

    codes = column("ponds.csv", "code")
    assert set(codes.values()) == {1}
    for name in ("water_tests.csv", "events.csv", "visits.csv"):
        assert set(column(name, "pond")) <= set(codes)
    for path in FILES.glob("logger_*.csv"):
        assert path.stem.removeprefix("logger_") in codes
