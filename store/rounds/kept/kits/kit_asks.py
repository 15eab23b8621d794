"""What each stop of a day asks for beside agents: readings, gear, papers."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from datetime import date, datetime
from uuid import UUID

from store.book.book import Book
from store.book.kits import Kit, kit_in_use
from store.book.ponds import PondCard, card
from store.courses.planning.fed import is_fed
from store.courses.planning.route import FRESH
from store.diary.calling.van import Carried, van_list
from store.diary.desk.about import about_of
from store.diary.kept.calls.call_notes import call_note, told_in
from store.diary.kept.visits.terms import terms_of
from store.errors import BadInput, NotFound
from store.exams.specimens import samples_of
from store.facts.agent import Agent
from store.facts.gear import WHEN, Reading
from store.rounds.day.values import Errand
from store.rounds.kept.kits.kit_doses import Doses, where
from store.rounds.kept.kits.kit_waits import OWNER
from store.rounds.kept.standing.looked import looking
from store.rounds.kit.gear import StopAsks
from store.rounds.kit.lines import PaperAsked
from store.rounds.kit.reads import ToRead
from store.rounds.kit.values import KitLine, Portion, StopRef
from store.watch.judge import judge
from store.watch.kinds import KINDS
from store.watch.rule import Rule
from store.water.kit_state import kit_remarks
from store.water.water_tests import list_tests

LOOKED_AT = frozenset({"examination", "first visit", "urgent call"})
"""Kinds of visits at which fish are looked at."""
_LOOKS = frozenset({"control", "finding"})
_LOOK_KINDS = frozenset({"control", "finding", "look_again"})
_BESIDE = "temperature_c"
"""The series of rules that look at no reading, such as what may thrive in a window of it."""
_TESTS = 3
"""So many of the newest tests of a pond tell what is read there [tests]."""


def looked_at(errand: Errand) -> bool:
    """Whether fish are looked at on a visit.

    Parameters
    ----------
    errand
        The visit.
    """
    if errand.kind in LOOKED_AT:
        return True
    return any(one.kind in _LOOK_KINDS or _thing(one.about) in _LOOKS for one in errand.purposes)


def _thing(about: str) -> str:
    try:
        return about_of(about).thing
    except BadInput:
        return ""


def doses_named(errand: Errand) -> tuple[UUID, ...]:
    """The doses that a visit is to keep, by their keys.

    Parameters
    ----------
    errand
        The visit.
    """
    abouts = (one.about for one in errand.purposes if _thing(one.about) == "dose")
    return tuple(about_of(one).key for one in abouts)


def calls_of(book: Book, errand: Errand) -> tuple[Carried, ...]:
    """What the calls that a visit answers ask to carry.

    Parameters
    ----------
    book
        The practice's book.
    errand
        The visit.
    """
    found: dict[str, Carried] = {}
    for purpose in errand.purposes:
        if _thing(purpose.about) != "call":
            continue
        try:
            note = call_note(book, about_of(purpose.about).key)
        except NotFound:
            continue
        if not note.short:
            for one in van_list(*told_in(note, book.zone)):
                found.setdefault(one.code, one)
    return tuple(found.values())


def stop_asks(book: Book, stop: StopRef, errand: Errand, doses: Doses) -> StopAsks:
    """What a stop asks for of the gear.

    Parameters
    ----------
    book
        The practice's book.
    stop, errand
        The stop and its visit.
    doses
        What is due.
    """
    own = [one for one in doses.due if one.portion.stop == stop and _is_given(one.portion)]
    codes = {errand.standing} if errand.standing != "clean" else set()
    baths = [one for one in own if not is_fed(one.line.step)]
    codes |= {"dose"} if baths else set()
    codes |= {"feed"} if len(own) > len(baths) else set()
    codes |= {"tank"} if any(one.line.step.route in FRESH for one in baths) else set()
    if any(one.line.planned.water_change_percent > 0.0 for one in baths):
        codes.add("water_change")
    codes |= {"tap"} if any(one.stop == stop for one in doses.taps) else set()
    codes |= {"examination"} if looked_at(errand) else set()
    if any(_thing(one.about) == "sample" for one in errand.purposes) or _unsent(book, errand):
        codes.add("sample")
    if errand.slot in ("dawn", "both"):
        codes.add("two_hours" if errand.slot == "both" else "dawn")
    if any(card(book, one).pond.volume_l is None for one in errand.pond_ids):
        codes.add("volume")
    agents = {one.portion.agent: f"{one.portion.name} is due" for one in own}
    return StopAsks(stop, frozenset(codes), agents, calls_of(book, errand))


def _is_given(portion: Portion) -> bool:
    """Whether the practice may give it that day; a dose that waits for a vet may still be given."""
    return portion.waits != OWNER


def _unsent(book: Book, errand: Errand) -> bool:
    return any(
        one.sent_on is None and one.result == "awaited"
        for pond in errand.pond_ids
        for one in samples_of(book, pond)
    )


def to_read(
    book: Book,
    stops: Sequence[tuple[StopRef, Errand]],
    asks: Sequence[StopAsks],
    doses: Doses,
    formulary: dict[str, Agent],
    known: dict[str, Reading],
    now: datetime,
    day: date,
) -> tuple[ToRead, ...]:
    """What is read at each pond, and why.

    Parameters
    ----------
    book
        The practice's book.
    stops
        The stops in their order, with their visits.
    asks
        What each of them asks for.
    doses
        What is due.
    formulary
        Agents by code.
    known
        With what each parameter is read.
    now
        The present instant, with a time zone.
    day
        Of the visits.

    Returns
    -------
    tuple of ToRead
        What the newest tests of a pond read, what its concerns rest on, what its doses ask for;
        the usual where it has no test.
    """
    found: list[ToRead] = []
    spoken = _spoken(book, {pond for _, errand in stops for pond in errand.pond_ids}, now)
    for (stop, errand), asked in zip(stops, asks, strict=True):
        for pond in errand.pond_ids:
            found += _of_pond(
                book, stop, card(book, pond), asked, doses, formulary, known,
                spoken.get(pond, ()), day,
            )  # fmt: skip
    return tuple(found)


def _spoken(
    book: Book, ponds: Collection[UUID], now: datetime
) -> dict[UUID, tuple[tuple[str, str], ...]]:
    """What the concerns of each pond rest on: code of a reading, and the rule in words."""
    with looking(book, ponds, now) as looked:
        found: dict[UUID, tuple[tuple[str, str], ...]] = {}
        for pond, seen in looked.seen.items():
            rules, rests = looked.rules.set_of(pond), looked.rests.get(pond)
            speaking = judge(rules, seen, looked.today, rests).speaking
            codes = ((_rests_on(rule), rule.title.casefold()) for rule, _ in speaking)
            found[pond] = tuple(pair for pair in codes if pair[0])
        return found


def _rests_on(rule: Rule) -> str:
    """The reading that a rule looks at; beside the temperature much is only drawn."""
    series = KINDS[rule.kind].series(rule)
    return rule.parameter or ("" if series == _BESIDE else series)


def _of_pond(
    book: Book,
    stop: StopRef,
    kept: PondCard,
    asked: StopAsks,
    doses: Doses,
    formulary: dict[str, Agent],
    known: dict[str, Reading],
    spoken: Sequence[tuple[str, str]],
    day: date,
) -> Iterator[ToRead]:
    pond = kept.pond.id
    kit = kit_in_use(book, pond)
    theirs = kit is not None and kit.pond_id == pond and not kit.expired(day)
    name = where(kept)

    def one(code: str, why: str) -> ToRead:
        return ToRead(code, name, stop, why, theirs)

    for due in doses.due:
        if due.portion.pond_id != pond or not _is_given(due.portion):
            continue
        agent = formulary.get(due.portion.agent)
        for code, reading in known.items():
            if due.portion.agent in reading.agents or (
                agent is not None and agent.family in reading.families
            ):
                yield one(code, f"{due.portion.name} is due")
    for code, reading in known.items():
        for when in reading.when:
            if when in asked.codes:
                yield one(code, WHEN[when])
    for code, title in spoken:
        yield one(code, title)
    tests = list_tests(book, pond, _TESTS)
    for code in {code: None for test in tests for code in test.readings}:
        yield one(code, "as at the last tests")
    for code, reading in known.items():
        if not tests and reading.usual:
            yield one(code, "no test of it yet")


def kit_lines(
    book: Book, stops: Sequence[tuple[StopRef, Errand]], day: date
) -> tuple[KitLine, ...]:
    """The kits with which the ponds are tested, with what is to be known of each.

    Parameters
    ----------
    book
        The practice's book.
    stops
        The stops with their visits.
    day
        Of the visits.

    Returns
    -------
    tuple of KitLine
        Those that are carried; a kit that stays at its pond is no line.
    """
    used: dict[UUID, tuple[Kit, dict[StopRef, None]]] = {}
    for stop, errand in stops:
        for pond in errand.pond_ids:
            kit = kit_in_use(book, pond)
            if kit is not None and kit.pond_id is None:
                used.setdefault(kit.id, (kit, {}))[1].setdefault(stop)
    return tuple(
        KitLine(
            f"tests:kit:{key.hex}", "tests", f"kit: {kit.name}", "", tuple(at),
            arithmetic=f"batch {kit.batch}" if kit.batch else "its batch is not entered",
            rests_on="the practice's own kit, as it stands in the book",
            mind=kit_remarks(kit, day),
        )
        for key, (kit, at) in used.items()
    )  # fmt: skip


def papers_of(
    book: Book, stops: Sequence[tuple[StopRef, Errand]], doses: Doses
) -> tuple[PaperAsked, ...]:
    """Papers that are taken along: consent forms, prices, course sheets for owners, mix sheets.

    Parameters
    ----------
    book
        The practice's book.
    stops
        The stops with their visits.
    doses
        What is due, and the courses of the ponds.
    """
    due_at = {one.course.id: one for one in doses.due}
    terms = terms_of(book, [errand.visit.id for _, errand in stops if errand.visit is not None])
    found = []
    for stop, errand in stops:
        agreed = None if errand.visit is None else terms.get(errand.visit.id)
        if agreed is not None and agreed.consent == "to be signed":
            found.append(
                PaperAsked(
                    "consent",
                    "consent form to be signed",
                    stop,
                    f"{stop.name}: it is to be signed before anything is done.",
                )
            )
        if agreed is not None and agreed.prices:
            found.append(
                PaperAsked(
                    "prices", "prices that were agreed", stop, f"{stop.name}: {agreed.prices}"
                )
            )
        for course in doses.courses:
            if course.pond_id not in errand.pond_ids or course.state != "running":
                continue
            one = due_at.get(course.id)
            if one is None or one.portion.stop != stop:
                continue
            name = where(one.card)
            found.append(
                PaperAsked(
                    "course", "course sheet for the owner", stop,
                    f"{name}: {course.plan.reason}.",
                )
            )  # fmt: skip
            if any(is_fed(step) for step in course.plan.steps):
                found.append(PaperAsked("mix", "mix sheet of the medicated feed", stop, f"{name}."))
    return tuple(found)
