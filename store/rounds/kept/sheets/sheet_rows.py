"""What the book holds of the sites of a round, in a few queries for all of them."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from store.book.book import Book
from store.book.clients import Client, Site, client, site
from store.book.people import staff
from store.book.ponds import Pond, PondCard, ponds
from store.book.tables import table
from store.book.volumes import VolumeEstimate, estimates
from store.courses.kept.against_stop import unanswered_stop
from store.courses.kept.course_values import Course
from store.courses.kept.course_water import Temps, temps_of
from store.courses.kept.morning import promises
from store.courses.kept.records import control_open, read_courses
from store.diary.kept.calls.call_notes import call_note
from store.diary.kept.calls.call_values import CallNote
from store.diary.kept.visits.terms import Terms, terms_of
from store.errors import BadInput, NotFound
from store.exams.carried import seen_lately
from store.exams.open_findings import open_findings
from store.exams.specimens import LabSample, samples_of
from store.rounds.day.values import Errand
from store.watch.concern import Concern
from store.watch.found import OpenFinding
from store.watch.judge import judge
from store.watch.kinds import KINDS
from store.watch.look import look
from store.watch.rests import read_rests
from store.watch.rulebook import RuleBook, read_rulebook, rulebook
from store.watch.said import said_from_packed
from store.watch.seen import Promise
from store.water.water_tests import WaterTest, read_tests


@dataclass(frozen=True, slots=True)
class SheetRows:
    """All that the sheet of a round is made of, by the keys of sites, ponds and visits.

    `today` is the practice's day now, `day` that of the round. `cards` holds the ponds concerned
    of each errand by its key, `by` the staff.
    """

    book: Book
    now: datetime
    today: date
    day: date
    rules: RuleBook
    places: Mapping[UUID, tuple[Site, Client]]
    cards: Mapping[UUID, tuple[PondCard, ...]]
    courses: Mapping[UUID, tuple[Course, ...]]
    temps: Mapping[UUID, Temps]
    watched: Mapping[UUID, tuple[Concern, ...]]
    findings: Mapping[UUID, Sequence[OpenFinding]]
    samples: Mapping[UUID, tuple[LabSample, ...]]
    volumes: Mapping[UUID, tuple[VolumeEstimate, ...]]
    tests: Mapping[UUID, WaterTest]
    terms: Mapping[UUID, Terms]
    calls: Mapping[UUID, CallNote]
    people: Mapping[UUID, str]


def read_rows(book: Book, errands: Sequence[Errand], day: date, now: datetime) -> SheetRows:
    """Read everything about some errands.

    Parameters
    ----------
    book
        The practice's book.
    errands
        Of one or several rounds.
    day
        The local day of the round.
    now
        The present instant, with a time zone.

    Raises
    ------
    NotFound
        A site is not in the book any more.
    """
    today = book.today(now)
    places: dict[UUID, tuple[Site, Client]] = {}
    of_site: dict[UUID, tuple[Pond, ...]] = {}
    for one in errands:
        if one.site_id not in places:
            where = site(book, one.site_id)
            places[one.site_id] = (where, client(book, where.client_id))
            of_site[one.site_id] = ponds(book, one.site_id)
    cards = {
        one.key: tuple(
            PondCard(pond, *places[one.site_id])
            for pond in _concerned(one, of_site[one.site_id])
        )
        for one in errands
    }  # fmt: skip
    keys = tuple(dict.fromkeys(each.pond.id for of in cards.values() for each in of))
    found, findings = _courses(book, keys), open_findings(book)
    temps = temps_of(book, found, today)
    courses = {key: tuple(one for one in found if one.pond_id == key) for key in keys}
    visits = [one.visit.id for one in errands if one.visit is not None]
    with book.reading() as connection:
        tests = {key: of[0] for key in keys if (of := read_tests(connection, key, 1))}
        terms = terms_of(connection, visits)
    return SheetRows(
        book=book,
        now=now,
        today=today,
        day=day,
        rules=rulebook(book),
        places=places,
        cards=cards,
        courses=courses,
        temps=temps,
        watched=_watched(
            book, now, keys, courses,
            {
                key: tuple(
                    each for one in of if one.state != "planned"
                    for each in promises(one, today, temps.get(one.id))
                )
                for key, of in courses.items()
            },
        ),
        findings=findings,
        samples={key: samples_of(book, key) for key in keys},
        volumes={key: estimates(book, key) for key in keys},
        tests=tests,
        terms=terms,
        calls=_calls(book, errands),
        people={one.id: one.initials or one.name for one in staff(book, struck=True)},
    )  # fmt: skip


def _concerned(one: Errand, here: Sequence[Pond]) -> Sequence[Pond]:
    """The ponds that an errand is about; all of the site where it names none that stands there."""
    named = {*one.pond_ids, *(each.pond_id for each in one.purposes)}
    if one.visit is not None:
        named.add(one.visit.pond_id)
    return [pond for pond in here if pond.id in named] or here


def _courses(book: Book, keys: Collection[UUID]) -> tuple[Course, ...]:
    """The courses of some ponds that are planned, run, or wait for a control or an answer."""
    if not keys:
        return ()
    courses = table("course").c
    waits = (
        courses.state.in_(("planned", "running"))
        | ((courses.state == "completed") & control_open())
        | unanswered_stop()
    )
    with book.reading() as connection:
        return read_courses(connection, book.zone, waits, courses.pond_id.in_(keys))


def _watched(
    book: Book,
    now: datetime,
    keys: Collection[UUID],
    courses: Mapping[UUID, Sequence[Course]],
    promised: Mapping[UUID, Sequence[Promise]],
) -> dict[UUID, tuple[Concern, ...]]:
    """What the morning list has to say of some ponds, worst first; what rests is left out."""
    if not keys:
        return {}
    zone, found = book.zone, {}
    said = said_from_packed(zone)
    findings, happened = open_findings(book), seen_lately(book, now)
    treated = {key: _treated(of) for key, of in courses.items()}
    with book.reading() as connection:
        load = look(
            connection, now, zone, ponds=keys, treated=treated, promised=promised, found=findings,
            happened=happened,
        )  # fmt: skip
        rules, rests = read_rulebook(connection, zone), read_rests(connection, load.today)
        for key, seen in load.seen.items():
            verdict = judge(rules.set_of(key), seen, load.today, rests.get(key))
            found[key] = tuple(
                KINDS[rule.kind].tell(rule, seen, finding, said, load.today)
                for rule, finding in verdict.speaking
            )
    return found


def _treated(courses: Sequence[Course]) -> frozenset[str]:
    running = (one.plan.hazards for one in courses if one.state == "running")
    return frozenset(code for of in running for code in of)


def _calls(book: Book, errands: Sequence[Errand]) -> dict[UUID, CallNote]:
    """The notes of the calls that visits answer."""
    from store.diary.desk.about import about_of

    found: dict[UUID, CallNote] = {}
    for purpose in (each for one in errands for each in one.purposes):
        try:
            about = about_of(purpose.about)
            if about.thing == "call":
                found[about.key] = call_note(book, about.key)
        except (BadInput, NotFound):  # the promise is named all the same
            continue
    return found
