"""The report that an owner gets in the hand after a visit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence, Set
from datetime import date

from store.facts.advice import all_advice
from store.facts.agent import LOCAL_LAW
from store.paper.chart import chart_words
from store.paper.paper import Paper, Part, date_in_words, head_rows, one_line
from store.paper.table import Table
from store.reports.reading import BEYOND, PERHAPS, ReadingSaid
from store.reports.visit_values import USUAL, DoneSaid, Piece, TestSaid, VisitFacts

TITLE = "What we found at your pond"
GASPING = "Fish gasp, or crowd at the surface or at the inlet: ring at once, day or night."
STAY = (
    "Nothing leaves the pond and nothing comes in: no fish, no water, no plants, no nets, until "
    "we or the competent authority say so."
)
NO_TEST = "No water test was entered for this day."
NO_FISH = "No fish was looked at on this day."
LIMITS_OF_IT = (
    "This report tells what was found on one day; a pond can change within hours. It takes the "
    "place of no examination and prescribes nothing. " + LOCAL_LAW
)
WORDS_REST = "What the readings mean, in words: common practice of the trade."
NOTHING = "Nothing has to be done now on your side."
_ALWAYS = ("deaths", "water_lost", "other_things")


def visit_paper(facts: VisitFacts, include: Set[Piece] = USUAL) -> Paper:
    """The visit report as a sheet: on its first page what to do, behind it what was found.

    Parameters
    ----------
    facts
        What may be told.
    include
        Which pieces of it are told.

    Raises
    ------
    BadInput
        The letterhead names no practice, or no number to ring.
    """
    head = head_rows(facts.letterhead, facts.written_on)
    day = date_in_words(facts.on_day)
    who = f", by {one_line(facts.who)}" if facts.who else ""
    row = ("Visit" if facts.visited else "Day", f"{day}{who}")
    at = next(place for place, (name, _) in enumerate(head) if name == "Pond") + 1
    parts = (
        Part("In short", tuple(_short(facts, include)), "words"),
        Part("What to do now", tuple(_to_do(facts))),
        Part("What comes next", tuple(_next(facts))),
        Part("What is not finished", tuple(_not_finished(facts, include))),
        Part(f"Ring us ({dict(head)['Telephone']}) when", tuple(_ring(facts))),
        *_water(facts.tests, include),
        *(_fish(facts, include) if "findings" in include else ()),
        *(_done(facts, include) if "done" in include else ()),
        *(_charts(facts) if "charts" in include else ()),
        Part("Hours and way in", facts.access if "access" in include else ()),
        Part("What the ranges rest on", tuple(_rests(facts)) if "sources" in include else ()),
        Part("What this report is", (LIMITS_OF_IT, *facts.foot), "words"),
    )
    return Paper(
        title=TITLE,
        head=(*head[:at], row, *head[at:]),
        parts=tuple(one for one in parts if one.lines or one.table or one.chart),
        foot=f"{dict(head)['Pond']}, {day}",
        written_on=facts.written_on,
    )


def _all_readings(facts: VisitFacts) -> list[ReadingSaid]:
    return [one for test in facts.tests for one in test.readings]


def _short(facts: VisitFacts, include: Set[Piece]) -> Iterator[str]:
    readings = _all_readings(facts)
    if facts.moves:
        yield STAY
    yield from (one_line(one.says) for one in facts.dead)
    beyond = [one for one in readings if one.verdict in BEYOND]
    perhaps = [one for one in readings if one.verdict in PERHAPS]
    if not readings:
        yield NO_TEST
    elif beyond:
        named = dict.fromkeys(f"{one.name} is {one.verdict}: {one.value}." for one in beyond)
        yield from map(one_line, named)
    elif not perhaps:
        yield "Everything that was measured and has a range is within it."
    if perhaps:
        named = dict.fromkeys(one.name for one in perhaps)
        theirs = "it is within its range" if len(named) == 1 else "they are within their ranges"
        yield f"{', '.join(named)}: the test cannot tell whether {theirs}."
    if "findings" in include:
        yield from (f"{one_line(one.short)}." for one in facts.exams)
        if not facts.exams:
            yield NO_FISH
    if facts.eating:
        yield one_line(facts.eating)


def _water(tests: tuple[TestSaid, ...], include: Set[Piece]) -> Iterator[Part]:
    said: set[str] = set()
    for test in tests:
        title = "Water" if len(tests) == 1 else f"Water at {test.at:%H:%M}"
        rows = tuple(
            (one.name, one_line(one.value), one.range or "–", one.verdict) for one in test.readings
        )
        if rows:
            table = Table(("What", f"Measured at {test.at:%H:%M}", "Range in force", "It is"), rows)
            yield Part(title, (), "table", table=table)
        else:
            yield Part(title, ("Looked at, and nothing measured.",), "words")
        told = sorted(test.readings, key=lambda one: one.verdict not in BEYOND)
        lines = [f"{one.name}: {one_line(one.means)}" for one in told]
        lines = [one for one in (*lines, *map(one_line, test.lacking)) if one not in said]
        said |= set(lines)  # of a day with several tests each is said once
        yield Part("What that means", tuple(lines), level=2)
        if "notes" in include and test.note:
            yield Part("Our note", (one_line(test.note),), "words", level=2)


def _fish(facts: VisitFacts, include: Set[Piece]) -> Iterator[Part]:
    yield Part("Dead fish", tuple(_with_notes(facts.dead, include)))
    for one in facts.exams:
        note = (f"Our note: {one_line(one.note)}",) if "notes" in include and one.note else ()
        by = f"Looked at {one.at:%H:%M} by {one_line(one.examiner)}." if one.examiner else ""
        lines = tuple(filter(None, (by, *map(one_line, one.fish), *note)))
        yield Part("What we found on the fish", lines)


def _with_notes(told: Sequence[DoneSaid], include: Set[Piece]) -> Iterator[str]:
    for one in told:
        yield one_line(one.says + (f" ({one.note})" if "notes" in include and one.note else ""))


def _done(facts: VisitFacts, include: Set[Piece]) -> Iterator[Part]:
    lines = list(_with_notes(facts.done, include))
    if "notes" in include and facts.visit_note:
        lines.append(f"Our note: {one_line(facts.visit_note)}")
    yield Part("What was done", tuple(lines))


def _to_do(facts: VisitFacts) -> Iterator[str]:
    found: dict[str, None] = {}
    if facts.moves:
        found[STAY] = None
    for one in _all_readings(facts):
        for says in one.advice:
            found[f"{one.name} {one.verdict}: {one_line(says)}"] = None
    days: dict[date, list[str]] = {}
    for own in sorted(facts.own, key=lambda one: one.on_day):
        days.setdefault(own.on_day, []).append(one_line(own.says))
    for day, told in days.items():
        found[f"{date_in_words(day)}: {' '.join(told)}"] = None
    yield from found or (NOTHING,)


def _ring(facts: VisitFacts) -> Iterator[str]:
    by_code = {one.code: one.says for one in all_advice()}
    always = (by_code[code] for code in _ALWAYS if code in by_code)
    yield from dict.fromkeys((GASPING, *always, *facts.ring))


def _next(facts: VisitFacts) -> Iterator[str]:
    if facts.next_visit is None:
        yield "Visit: no day is agreed. Please ring us where one is wanted."
    else:
        hour = f" {facts.next_hour}" if facts.next_hour else "; the hour is not agreed yet"
        yield f"Visit: {date_in_words(facts.next_visit)}{hour}."
    if facts.next_test is None:
        yield "Water test: no day is planned."
    else:
        yield f"Water test: {_by(facts.next_test, facts.written_on)}."


def _by(day: date, today: date) -> str:
    said = date_in_words(day)
    return f"was due on {said}; please make up for it" if day < today else f"due on {said}"


def _not_finished(facts: VisitFacts, include: Set[Piece]) -> Iterator[str]:
    if "findings" in include:
        yield from map(one_line, facts.untreated)
    yield from map(one_line, facts.unfinished)


def _charts(facts: VisitFacts) -> Iterator[Part]:
    months = "month" if facts.charted_months == 1 else f"{facts.charted_months} months"
    for place, one in enumerate(facts.charts):
        title = one.label if one.label[1:2].isupper() else one.label[:1].upper() + one.label[1:]
        if not place:
            yield Part(
                f"The last {months}", (f"Up to this day. {chart_words(facts.charts)}",), "words"
            )
        yield Part(title, (), "chart", level=2, chart=one)


def _rests(facts: VisitFacts) -> Iterator[str]:
    found: dict[str, dict[str, None]] = {}
    for one in _all_readings(facts):
        for source in one.sources:
            found.setdefault(source, {})[one.name] = None
    for source, names in found.items():
        yield f"{', '.join(names)}: {one_line(source).rstrip('.')}."
    if found:
        yield WORDS_REST
