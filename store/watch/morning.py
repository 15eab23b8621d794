"""The morning list: every pond that needs somebody, worst first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from store.book.book import Book
from store.book.collector import collector_waiting
from store.book.practice import practice
from store.watch.concern import Concern, MorningLine, MorningList, PondWatch, Resting, Spark
from store.watch.found import OpenFinding
from store.watch.judge import Verdict, judge
from store.watch.kinds import KINDS
from store.watch.levels import ORDER
from store.watch.look import (
    Caseload,
    EstimatedOf,
    GroundsOf,
    Place,
    look,
    planned_visits,
    see_whole,
)
from store.watch.reckoned import series_of
from store.watch.rests import read_rests
from store.watch.rule import Finding, Rule
from store.watch.rulebook import read_rulebook
from store.watch.said import said_from_tests
from store.watch.seen import Circumstance, PondSeen, Promise
from store.water.water_tests import read_tests

SPARK_TESTS = 12
WHOLE_HISTORY = 60
"""How many tests of one pond are looked at for its own page."""


def morning_list(
    book: Book,
    now: datetime,
    *,
    treated: Mapping[UUID, frozenset[str]] | None = None,
    promised: Mapping[UUID, Sequence[Promise]] | None = None,
    found: Mapping[UUID, Sequence[OpenFinding]] | None = None,
    happened: Mapping[UUID, Sequence[Circumstance]] | None = None,
    estimated: EstimatedOf | None = None,
) -> MorningList:
    """Every pond of the practice, worst first, with what it needs in one clause.

    Parameters
    ----------
    book
        The practice's book.
    now
        The present instant, with a time zone.
    treated
        Ponds on a course, with the codes of the hazards it is against: their windows are silent.
    promised
        Ponds on a course, with what of it is still due.
    found
        Ponds at which something was found that nothing has answered yet.
    happened
        What happened at ponds beside the events in the book, such as a hazard found there.
    estimated
        Estimates of the temperature, seen from today; None for none.

    Returns
    -------
    MorningList
        Lines ordered by level, then by how far beyond its limit the worst concern is, then by
        client and pond; calm ponds last.
    """
    zone = book.zone
    holder = practice(book)
    name = "" if holder is None else holder.name
    with book.reading() as connection, collector_waiting():
        caseload = look(
            connection, now, zone, treated=treated, promised=promised, found=found,
            happened=happened, estimated=estimated,
        )  # fmt: skip
        return _read_morning(connection, caseload, now, zone, name)


def _read_morning(
    connection: Connection, caseload: Caseload, now: datetime, zone: ZoneInfo, practice_name: str
) -> MorningList:
    rulebook = read_rulebook(connection, zone)
    rests = read_rests(connection, caseload.today)
    visits = planned_visits(connection, caseload.today)
    verdicts = {
        pond: judge(rulebook.set_of(pond), seen, caseload.today, rests.get(pond))
        for pond, seen in caseload.seen.items()
    }
    see_whole(
        connection,
        (caseload.seen[pond] for pond, verdict in verdicts.items() if _draws_readings(verdict)),
    )
    lines = []
    counts = dict.fromkeys(ORDER, 0)
    only_resting = 0
    for pond, verdict in verdicts.items():
        seen = caseload.seen[pond]
        counts[verdict.level] += 1
        if verdict.at_rest and not verdict.speaking:
            only_resting += 1
        lines.append(_line(caseload.places[pond], seen, verdict, caseload.today, visits.get(pond)))
    lines.sort(key=_order)
    return MorningList(
        now=now,
        today=caseload.today,
        practice=practice_name,
        lines=tuple(lines),
        act=counts["act"],
        watch=counts["watch"],
        unknown=counts["unknown"],
        calm=counts["calm"],
        resting=only_resting,
    )


def _draws_readings(verdict: Verdict) -> bool:
    """Whether the line shows a course of readings other than the temperature."""
    if not verdict.speaking:
        return False
    rule, _ = verdict.speaking[0]
    return KINDS[rule.kind].series(rule) not in ("", "temperature_c")


def _order(line: MorningLine) -> tuple[int, float, str, str]:
    return ORDER[line.level], -line.severity, line.client.casefold(), line.pond_name.casefold()


def _line(
    place: Place, seen: PondSeen, verdict: Verdict, today: date, next_visit: date | None
) -> MorningLine:
    last_day = seen.day(0) if seen.tests else None
    what, rule_code, since, severity, spark = "", "", None, 0.0, None
    if verdict.speaking:
        rule, finding = verdict.speaking[0]
        kind = KINDS[rule.kind]
        what, rule_code, severity = kind.what(rule, seen, finding), rule.code, finding.severity
        since = kind.since(rule, seen, finding)
        spark = _spark(rule, finding, seen)
    return MorningLine(
        place.pond,
        place.client,
        place.site,
        place.pond_name,
        place.town,
        verdict.level,
        what,
        len(verdict.speaking),
        rule_code,
        None if since is None else since.day,
        datetime.fromtimestamp(seen.tests[0].at_ms / 1000, UTC) if seen.tests else None,
        last_day,
        None if last_day is None else (today - last_day).days,
        spark,
        next_visit,
        severity,
        len(verdict.at_rest),
        since is not None and since.or_earlier,
    )


def _spark(rule: Rule, finding: Finding, seen: PondSeen) -> Spark | None:
    kind = KINDS[rule.kind]
    code = kind.series(rule)
    if not code:
        return None
    values = series_of(seen, code, SPARK_TESTS)
    if not values:
        return None
    foot, head = kind.scale(rule, finding)
    if finding.which.endswith("below"):
        over = tuple(value < finding.limit for value in values)
    else:
        over = tuple(value > head for value in values)
    return Spark(tuple(values), foot, head, over)


def watch_pond(
    book: Book,
    pond: UUID,
    now: datetime,
    *,
    treated: Mapping[UUID, frozenset[str]] | None = None,
    promised: Mapping[UUID, Sequence[Promise]] | None = None,
    found: Mapping[UUID, Sequence[OpenFinding]] | None = None,
    happened: Mapping[UUID, Sequence[Circumstance]] | None = None,
    estimated: EstimatedOf | None = None,
    grounds: GroundsOf | None = None,
) -> PondWatch:
    """Everything the rules have to say of one pond, explained.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    now
        The present instant, with a time zone.
    treated
        Ponds on a course, with the codes of the hazards it is against.
    promised
        Ponds on a course, with what of it is still due.
    found
        Ponds at which something was found that nothing has answered yet.
    happened
        What happened at ponds beside the events in the book, such as a hazard found there.
    estimated
        Estimates of the temperature, seen from today; None for none.
    grounds
        What the estimate of a pond rests on, in sentences; asked for where a concern is told.

    Returns
    -------
    PondWatch
        Concerns worst first, those at rest, and calm notes.

    Raises
    ------
    NotFound
        No such pond.
    """
    zone = book.zone
    with book.reading() as connection:
        caseload = look(
            connection, now, zone, pond=pond, newest=WHOLE_HISTORY, treated=treated,
            promised=promised, found=found, happened=happened, estimated=estimated,
            grounds=grounds,
        )  # fmt: skip
        rules = read_rulebook(connection, zone).set_of(pond)
        rests = read_rests(connection, caseload.today, pond).get(pond)
        tests = read_tests(connection, pond, WHOLE_HISTORY)
    seen, today = caseload.seen[pond], caseload.today
    verdict = judge(rules, seen, today, rests)
    said = said_from_tests(tests, zone)

    def told(rule: Rule, finding: Finding) -> Concern:
        return KINDS[rule.kind].tell(rule, seen, finding, said, today)

    return PondWatch(
        pond=pond,
        level=verdict.level,
        concerns=tuple(told(rule, finding) for rule, finding in verdict.speaking),
        at_rest=tuple(
            (told(rule, finding), Resting(rest.rule, rest.until, rest.reason, rest.by))
            for rule, finding, rest in verdict.at_rest
        ),
        notes=tuple(told(rule, finding) for rule, finding in verdict.notes),
    )
