"""A book of the demo practice, made from the plain files of `demo_sites`.

The files end on one day; all their days are moved by so many whole days that this day is today, the
times on the clock staying the same. What they hold of today after the present hour is left out.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from datetime import date, datetime, timedelta
from importlib import resources
from pathlib import Path
from uuid import UUID
from zoneinfo import ZoneInfo

from store.book.act import Act
from store.book.book import Book
from store.book.kits import kits
from store.book.opening import open_book
from store.book.people import Role, staff
from store.book.practice import begin, practice
from store.errors import BookTrouble, FactsTrouble
from store.exchange.columns import Shape
from store.exchange.demo.courses import add_courses
from store.exchange.demo.desk import add_desk
from store.exchange.demo.exams import add_examinations
from store.exchange.demo.round import add_round
from store.exchange.logger import csv_file as logger_csv
from store.exchange.plain import events_csv, ponds_csv, staff_csv, visits_csv
from store.exchange.plain.moments import read_day
from store.exchange.plain.planned import Columns, Item, Plan
from store.exchange.plain.table import open_sheet
from store.exchange.plain.whose import PondNames
from store.exchange.water import sheets as water_sheets

_AGO = timedelta(days=366)
"""How long before today the practice began its book."""
_NEWCOMERS_AGO = timedelta(days=12)
"""How long ago ponds were entered that nobody has tested yet."""
_LOGGER = "logger_"


def make_demo(path: str | Path, now: datetime) -> Book:
    """A new book of the demo practice, dated so that its newest day is today.

    Parameters
    ----------
    path
        A file that is not there yet, or the address of an empty database.
    now
        The present instant, with a time zone.

    Returns
    -------
    Book
        Open.

    Raises
    ------
    BookTrouble
        When there is something at `path` already, or it cannot be written.
    FactsTrouble
        When the files of the demo practice are not whole.
    """
    if "://" not in str(path) and Path(path).exists():
        raise BookTrouble(
            f"There is something at {path} already; it was left as it is. Name a new file for the "
            "demo practice.",
            title="Already there",
        )
    with _files() as folder:
        book = open_book(path, now=now, create=True)
        try:
            _fill(book, folder, now)
        except BaseException:
            book.close()
            raise
    return book


@contextmanager
def _files() -> Iterator[dict[str, Path]]:
    """The files by name, on disk also when the project was installed from an archive."""
    with ExitStack() as stack:
        yield {
            entry.name: stack.enter_context(resources.as_file(entry))
            for entry in resources.files("demo_sites").iterdir()
            if entry.name.endswith(".csv")
        }


def _fill(book: Book, files: dict[str, Path], now: datetime) -> None:
    first = _begin(book, files, now - _AGO)
    shift = (book.today(now) - _newest_day(files)).days
    staff_csv.save_staff(book, first, _whole(staff_csv.read_staff(files["staff.csv"], book)))
    kits_plan = staff_csv.read_kits(files["kits.csv"], book, shift_days=shift)
    staff_csv.save_kits(book, first, _whole(kits_plan))
    _put_kit_in_use(book, first, str(kits_plan.items[0].values["name"]))
    _add_ponds(book, files, first, now)
    act = Act(first.by, now)
    events = events_csv.read_events(files["events.csv"], book, now, shift_days=shift)
    events_csv.save_events(book, act, _whole(events))
    visits = visits_csv.read_visits(files["visits.csv"], book, now, shift_days=shift)
    visits_csv.save_visits(book, act, _whole(visits))
    tests = water_sheets.read_water(
        files["water_tests.csv"], book, now, shift_days=shift, shape=Shape(kit="practice")
    )
    _save_tests(book, _whole(tests), act)
    ponds = PondNames(book)
    for name in sorted(files):
        if name.startswith(_LOGGER):
            pond = ponds.one(Path(name).stem.removeprefix(_LOGGER))
            planned = logger_csv.read_logger(
                files[name], book, now, pond, shift_days=shift, clock="local"
            )
            _whole(planned.plan)
            logger_csv.save_logger(book, act, planned)
    add_courses(book, first.by, now)
    add_examinations(book, first.by, now)
    add_desk(book, now)
    add_round(book, now)


def _begin(book: Book, files: dict[str, Path], then: datetime) -> Act:
    """Enter the practice and the first of its staff."""
    names = _first_row(files["practice.csv"])
    person = _first_row(files["staff.csv"])
    roles: dict[str, Role] = {
        "vet": "vet", "receptionist": "receptionist", "travelling vet": "travelling vet"
    }  # fmt: skip
    ZoneInfo(names["time_zone"])
    return begin(
        book,
        then,
        practice=names["name"],
        time_zone=names["time_zone"],
        country=names["country"],
        person=person["name"],
        role=roles[person["role"]],
        initials=person["initials"],
    )


def _first_row(path: Path) -> dict[str, str]:
    sheet = open_sheet(path)
    return dict(zip(sheet.header, next(sheet.rows()).cells, strict=True))


def _newest_day(files: dict[str, Path]) -> date:
    """The newest day of tests and loggers; visits may lie ahead of it."""
    newest = date.min
    for name, path in files.items():
        if name != "water_tests.csv" and not name.startswith(_LOGGER):
            continue
        sheet = open_sheet(path)
        columns = Columns(sheet.header, {"day": ("date", "time")} if name.startswith(_LOGGER)
                          else {"day": ("date",)})  # fmt: skip
        # ISO days sort as text, so one of them has to be read.
        last = max(columns.text(row, "day")[:10] for row in sheet.rows())
        newest = max(newest, read_day(last))
    return newest


def _put_kit_in_use(book: Book, act: Act, name: str) -> None:
    holder = practice(book)
    kit = next(kit for kit in kits(book) if kit.name == name)
    assert holder is not None
    with book.writing(act) as writing:
        writing.change("practice", holder.id, holder.rev, kit_id=kit.id)


def _add_ponds(book: Book, files: dict[str, Path], first: Act, now: datetime) -> None:
    """Enter the ponds; those without a test came to the practice a few days ago."""
    sheet = open_sheet(files["water_tests.csv"])
    columns = Columns(sheet.header, {"pond": ()})
    tested = {columns.text(row, "pond") for row in sheet.rows()}
    plan = _whole(ponds_csv.read_ponds(files["ponds.csv"], book, first.at))
    old = tuple(one for one in plan.items if one.pond["code"] in tested)
    new = tuple(one for one in plan.items if one.pond["code"] not in tested)
    ponds_csv.save_ponds(book, first, replace(plan, items=old))
    ponds_csv.save_ponds(book, Act(first.by, now - _NEWCOMERS_AGO), replace(plan, items=new))


def _save_tests(book: Book, plan: Plan[water_sheets.PlannedTest], act: Act) -> None:
    """Each member of staff brings in their own tests; the first those of everybody else."""
    known = {person.id for person in staff(book)}
    by_person: dict[UUID, list[water_sheets.PlannedTest]] = {}
    for one in plan.items:
        who = one.by_key if one.by_key in known else None
        by_person.setdefault(who or act.by, []).append(one)
    for person, tests in by_person.items():
        water_sheets.save_water(book, Act(person, act.at), replace(plan, items=tuple(tests)))


def _whole(plan: Plan[Item]) -> Plan[Item]:
    """The plan, when nothing of it was refused."""
    if plan.refused:
        first = plan.refused[0]
        raise FactsTrouble(
            f"Line {first.line} of the demo practice's {plan.path.name} cannot be read: "
            f"{first.reason}"
        )
    return plan
