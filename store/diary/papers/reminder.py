"""What an owner is reminded of: what is due, what is done before it, what should make them ring.

Plain words without a greeting, to be put into a mail or read out. A dose is named and never told:
how much of what goes in stands on the owner's sheet of the course alone. What is between a vet and
the desk, such as a finding or a concern, is left to a vet to say.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, time
from typing import Literal
from uuid import UUID

from store.diary.desk.due import DueLine
from store.facts.advice import all_advice
from store.facts.follow_ups import FollowUpKind
from store.paper.paper import date_in_words, one_line
from store.text import with_days

Does = Literal["we come", "you give", "you test", "we ring"]

UNSAID = frozenset({"answer", "turn", "finding", "concern", "laboratory", "ring_back"})
"""Kinds that are between a vet and the desk; of a visit for one of them only the visit is told."""
ASKED_FOR = frozenset({"call_same_day", "call_next_day", "call_routine"})
"""Kinds in the words of whoever took the call; told as the visit that was asked for."""

_BY_LABEL = frozenset({"control"})
"""Kinds that the desk has a short word for."""
_OWN_SAMPLE = frozenset({"water_test"})
"""Kinds whose sentences are for an owner who does it alone."""

_GASPING = "Fish gasp, or crowd at the surface or at the inlet: ring at once."
_ALWAYS = ("deaths", "water_lost", "other_things")
"""Codes of the advice that holds whether or not a course runs."""
_AT_HOME = "Nobody can be there when we come, or the way in has changed."


@dataclass(frozen=True, slots=True)
class OwnTask:
    """Something the owner does before a dose; `late` where its day has passed without a tick."""

    on_day: date
    says: str
    late: bool = False


@dataclass(frozen=True, slots=True)
class Agreed:
    """A visit that is planned; `at_time` is local, None while no hour was agreed."""

    visit_id: UUID
    on_day: date
    at_time: time | None
    who: str


@dataclass(frozen=True, slots=True)
class Item:
    """One thing that an owner is reminded of.

    It can be done from `first_on` to `last_on`, both included. `before` are sentences on what is
    done before it, `tasks` those of a course that fall to the owner. `short` tells that less was
    given of the dose than was planned.
    """

    does: Does
    says: str
    where: str
    due_on: date
    first_on: date
    last_on: date
    agreed: Agreed | None = None
    before: tuple[str, ...] = ()
    tasks: tuple[OwnTask, ...] = ()
    short: bool = False

    @property
    def on_day(self) -> date:
        """The day that was agreed, or the day on which it is due."""
        return self.due_on if self.agreed is None else self.agreed.on_day


def item_of(line: DueLine, kind: FollowUpKind, tasks: Sequence[OwnTask] = ()) -> Item | None:
    """A line of the desk as its owner is told of it.

    Parameters
    ----------
    line
        The line.
    kind
        The kind of its promise.
    tasks
        What falls to the owner before it.

    Returns
    -------
    Item or None
        None where it is not for a reminder: a vet, or the desk, speaks of it.
    """
    promised = line.promised
    agreed = None
    if line.booked is not None:
        booked = line.booked
        agreed = Agreed(booked.visit_id, booked.on_day, booked.at_time, one_line(booked.who))
    if agreed is None and promised.kind in UNSAID | ASKED_FOR:
        return None
    says = kind.label if promised.kind in _BY_LABEL else one_line(promised.says)
    if promised.kind in UNSAID:
        says = "a visit"
    elif promised.kind in ASKED_FOR:
        says = "the visit that you asked for"
    elif promised.kind == "dose" and not says.startswith(("dose ", "batch ")):
        says = f"dose of {says}"
    does: Does = "we come"
    if agreed is None:
        if promised.kind == "ring":
            does = "we ring"
        elif promised.needs == "call":
            does = "you give" if promised.kind == "dose" else "you test"
    return Item(
        does=does,
        says=says.removesuffix(" short"),
        where=one_line(line.pond),
        due_on=promised.due_on,
        first_on=promised.first_on,
        last_on=promised.last_on,
        agreed=agreed,
        before=_before_of(promised.kind, kind, does),
        tasks=tuple(tasks),
        short=promised.kind == "dose" and says.endswith(" short"),
    )


def _before_of(code: str, kind: FollowUpKind, does: Does) -> tuple[str, ...]:
    if code in _OWN_SAMPLE:
        return kind.before if does == "you test" else ()
    # What is done before a dose that the owner gives stands on the owner's sheet.
    return kind.before if does == "we come" else ()


def reminder_text(
    client: str,
    practice: str,
    items: Iterable[Item],
    today: date,
    *,
    telephone: str = "",
    ring: Sequence[str] = (),
) -> str:
    """The text for one client.

    Parameters
    ----------
    client
        Who is reminded.
    practice
        Who reminds.
    items
        What of; with none of them the text is empty.
    today
        The practice's calendar day, on which it is written.
    telephone
        The number to ring; may be empty.
    ring
        Sentences on what else should make them ring, such as those of a course.

    Returns
    -------
    str
        Lines without a break in a sentence, with a line feed behind each.
    """
    shown = sorted(_together(items), key=lambda one: (one.on_day, _hour(one), one.says))
    if not shown:
        return ""
    lines = [
        f"For {one_line(client)}",
        f"From {one_line(practice)}, written on {date_in_words(today)}",
        "",
        "What is due",
        *(f"- {_due(one, today)}" for one in shown),
    ]
    for title, told in _parts(shown):
        lines += ["", title, *(f"- {each}" for each in told)]
    number = one_line(telephone)
    lines += ["", f"Ring us ({number}) when" if number else "Ring us when"]
    lines += [f"- {each}" for each in dict.fromkeys(_ring(shown, ring))]
    return "\n".join(lines) + "\n"


def _hour(one: Item) -> time:
    return time.max if one.agreed is None or one.agreed.at_time is None else one.agreed.at_time


def _together(items: Iterable[Item]) -> list[Item]:
    """The items of one visit as one, in the order in which they came."""
    found: dict[object, Item] = {}
    for number, one in enumerate(items):
        if one.agreed is None:
            found[number] = one
            continue
        first = found.get(one.agreed.visit_id)
        more = _what(one)
        if first is None:
            found[one.agreed.visit_id] = replace(one, says=more, where="")
            continue
        found[one.agreed.visit_id] = replace(
            first,
            says=first.says if more in first.says.split("; ") else f"{first.says}; {more}",
            before=tuple(dict.fromkeys((*first.before, *one.before))),
            tasks=tuple(dict.fromkeys((*first.tasks, *one.tasks))),
        )
    return list(found.values())


def _what(one: Item) -> str:
    return f"{one.says} ({one.where})" if one.where else one.says


def _due(one: Item, today: date) -> str:
    """When something is due and who does it."""
    if one.agreed is not None:
        return _visit(one, one.agreed)
    day = date_in_words(one.due_on)
    what = _what(one)
    if one.short:
        return f"{_capital(what)}: less was given than was planned. Give nothing, and ring us."
    match one.does:
        case "you give" if one.due_on < today:
            return (
                f"{_capital(what)} was due on {day} and is not logged. Give nothing before you "
                "have rung us."
            )
        case "you give":
            return f"{day}: {what}. You give it, as your sheet of this course says."
        case "you test" if one.due_on < today:
            return f"{_capital(what)} was due on {day}. Please make up for it, or ring us."
        case "you test":
            return f"{day}: {what}. Send us what you find, or ring us if we are to come for it."
        case "we ring":
            return f"{date_in_words(max(one.due_on, today))}: we ring you: {what}."
    if one.last_on < today:
        return f"{_capital(what)} was due on {day}. Please ring us, so that we agree on a day."
    first = max(one.first_on, today)
    when = (
        date_in_words(first)
        if first >= one.last_on
        else f"From {date_in_words(first)} to {date_in_words(one.last_on)}"
    )
    return f"{when}: {what}. We come for it; no day is agreed yet, please ring us."


def _visit(one: Item, agreed: Agreed) -> str:
    who = f"{agreed.who} comes" if agreed.who else "we come"
    when = date_in_words(agreed.on_day)
    if agreed.at_time is None:
        return f"{when}: {who} for {one.says}. The hour is not agreed yet."
    return f"{when} at {agreed.at_time:%H:%M}: {who} for {one.says}."


def _parts(items: Iterable[Item]) -> Iterator[tuple[str, tuple[str, ...]]]:
    """What is done before something, under one heading where it is the same for several."""
    found: dict[tuple[str, ...], list[Item]] = {}
    for one in items:
        told = tuple(_before(one))
        if told:
            found.setdefault(told, []).append(one)
    for told, named in found.items():
        names = list(dict.fromkeys(_named(named)))
        comma = "," if any("," in name for name in names) else ""
        yield f"Before {f'{comma} and '.join(names)}", told


def _named(items: Sequence[Item]) -> Iterator[str]:
    dated = any(one.agreed is not None for one in items)
    for one in items:
        if one.agreed is not None:
            yield f"{date_in_words(one.agreed.on_day)}, when we come"
        elif one.does == "we come" and dated:
            yield "a visit whose day is not agreed yet"
        elif one.does == "we come":
            yield "we come" if len(items) > 1 else f"we come for {_what(one)}"
        elif one.does == "you test":
            yield "each test" if len(items) > 1 else f"the {_what(one)}"
        else:
            yield f"the {_what(one)}"


def _before(one: Item) -> Iterator[str]:
    yield from one.before
    for task in sorted(one.tasks, key=lambda each: each.on_day):
        says = with_days(one_line(task.says), date_in_words)
        if task.late:
            yield f"Not ticked yet, planned for {date_in_words(task.on_day)}: {says}"
        else:
            yield f"{date_in_words(task.on_day)}: {says}"


def _ring(items: Iterable[Item], more: Sequence[str]) -> Iterator[str]:
    yield _GASPING
    if any(one.does == "we come" for one in items):
        yield _AT_HOME
    yield from more
    by_code = {one.code: one.says for one in all_advice()}
    yield from (by_code[code] for code in _ALWAYS if code in by_code)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
