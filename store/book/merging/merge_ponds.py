"""Two ponds of one site that are one water: all that points to the one moves to the other.

One action, as for clients and sites. What cannot move without being guessed at is refused with a
sentence: two courses that would run in one water, limits of its own (their rows are only added to),
values of loggers on the same days, food fish beside ornamental ones.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any
from uuid import UUID

from sqlalchemy import literal, select, update

from store.book.act import Act
from store.book.allowed import refuse_but_vets
from store.book.book import Book
from store.book.merging.merge_rests import wake_rests
from store.book.merging.repointing import (
    Merged,
    asked_for,
    both_standing,
    keep_filled,
    notes_of_both,
    rename,
    repoint,
)
from store.book.ponds import Pond
from store.book.tables import TableName, table
from store.book.writing import Writing
from store.errors import BadInput, NotAllowed

POINTING: tuple[tuple[TableName, str], ...] = (
    ("water_test", "pond_id"), ("volume_estimate", "pond_id"), ("course", "pond_id"),
    ("examination", "pond_id"), ("lab_sample", "pond_id"), ("death_count", "pond_id"),
    ("head_count", "pond_id"), ("pond_event", "pond_id"), ("rest", "pond_id"),
    ("visit", "pond_id"), ("visit_purpose", "pond_id"), ("follow_up", "pond_id"),
    ("contact_attempt", "pond_id"), ("call_note", "pond_id"), ("kit", "pond_id"),
)  # fmt: skip
"""Columns of records that point at a pond. A test finds them by the tables' own keys."""
LOGGED: tuple[TableName, ...] = ("logger_reading", "logger_day")
"""Series of loggers: they move as a whole, and the log tells how many of them."""
STAYS: tuple[tuple[TableName, str], ...] = (("rule_change", "pond_id"),)
"""Only added to: what was said of the limits of the emptied pond stays where it was said."""
NAMING: tuple[tuple[TableName, str], ...] = (
    ("contact_attempt", "about"),
    ("visit_purpose", "about"),
)
"""Texts that may name a pond by its key."""

_THINGS = ("finding", "concern", "test", "ask")
_OPEN = ("planned", "running")
_VOLUME = ("volume_l", "volume_method", "volume_low_l", "volume_high_l", "volume_estimate_id")
_TEXTS = ("code", "lining", "filter", "uv", "source_water", "species")
_OTHERS = ("depth_m", "test_every_days", "test_seasons", "kit_id")
_LABELS = {"source_water": "water from", "uv": "UV"}


def merge_ponds(
    book: Book,
    act: Act,
    kept: UUID,
    emptied: UUID,
    why: str,
    *,
    kept_rev: int | None = None,
    emptied_rev: int | None = None,
) -> Merged:
    """Move everything of one pond to another of the same site, and strike the emptied one.

    The kept pond keeps its volume in force and its limits; what it lacks is taken over, what
    differs is written into its notes.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who says that the two are one, and when.
    kept, emptied
        Keys of the two ponds.
    why
        By what the person knows; never empty.
    kept_rev, emptied_rev
        The revisions that the person saw; left out, the present ones are taken.

    Returns
    -------
    Merged
        What moved, and what is to be looked at.

    Raises
    ------
    BadInput
        No reason, one pond given twice, or ponds of two sites.
    NotAllowed
        The person is no vet: courses move, and what they rest on. Or one of the two is struck
        through, or something of them cannot be made one without a person's decision; the sentence
        names it.
    NotFound, ChangedMeanwhile
        As for `Writing.change`.
    """
    reason = asked_for(kept, emptied, why, "pond")
    with book.writing(act) as writing:
        refuse_but_vets(writing.connection, act.by, "make two ponds one")
        both = both_standing(writing, Pond, "pond", {kept: kept_rev, emptied: emptied_rev})
        into, out = both[kept], both[emptied]
        _refuse(writing, into, out)
        said = f"the same pond as {out.name:.200}: {reason}"[:2000]
        told = [*wake_rests(writing, kept, emptied, said), *_told(writing, into, out)]
        moved: Counter[TableName] = Counter()
        for name, column in POINTING:
            moved[name] += repoint(writing, name, column, emptied, kept, said)
        for name, column in NAMING:
            for thing in _THINGS:
                was, now = f"{thing}:{emptied.hex}", f"{thing}:{kept.hex}"
                rename(writing, name, column, was, now, said)
        for name in LOGGED:
            moved[name] += _move_series(writing, name, emptied, kept)
        filled = _filled(into, out)
        keep_filled(writing, "pond", kept, into.rev, filled, said)
        series = moved["logger_reading"]
        with_series = f" (with {series:,} values of loggers)" if series else ""
        gone = f"the same pond as {into.name:.200}{with_series}: {reason}"[:2000]
        writing.strike("pond", emptied, gone, out.rev)
        return Merged(kept, emptied, +moved, tuple(filled), tuple(told))


def _refuse(writing: Writing, into: Pond, out: Pond) -> None:
    if into.site_id != out.site_id:
        raise BadInput(
            f"{into.name} and {out.name} lie at two sites; nothing was changed. If the sites are "
            "one, merge them first."
        )
    if {into.use, out.use} == {"ornamental", "food"}:
        raise NotAllowed(
            "Fish of one of the two are eaten, those of the other are not; nothing was changed. "
            "Correct what the pond is used for first."
        )
    courses = table("course").c
    query = (
        select(courses.pond_id)
        .where(
            courses.pond_id.in_([into.id, out.id]),
            courses.state.in_(_OPEN),
            courses.struck_at.is_(None),
        )
        .distinct()
    )
    if len(writing.connection.execute(query).all()) > 1:
        raise NotAllowed(
            f"{into.name} and {out.name} both have a course that is planned or runs: in one water "
            "they would add up. Nothing was changed; a vet ends or drops one of them first."
        )
    if rules := _own_rules(writing, out.id):
        raise NotAllowed(
            f"{out.name} has limits of its own ({', '.join(rules)}), which cannot move: they are "
            f"only added to. Nothing was changed; let {out.name} be the one that stays, or go back "
            "to the practice's limits there first."
        )
    _refuse_series(writing, into, out)


def _own_rules(writing: Writing, pond: UUID) -> list[str]:
    """The rules of which a pond has its own say in force: the newest of each counts."""
    rules = table("rule_change").c
    query = select(rules.rule, rules.params, rules.enabled).where(rules.pond_id == pond)
    newest = {
        rule: bool(params) or not enabled
        for rule, params, enabled in writing.connection.execute(
            query.order_by(rules.created_at, rules.id)
        )
    }
    return sorted(rule for rule, own in newest.items() if own)


def _refuse_series(writing: Writing, into: Pond, out: Pond) -> None:
    """Two loggers on one day in one water: which of them was right only a person knows."""
    for name, when in (("logger_day", "day"), ("logger_reading", "at")):
        series = table("logger_day" if name == "logger_day" else "logger_reading")
        mine, theirs = series.alias(), series.alias()
        query = (
            select(mine.c.parameter, mine.c[when])
            .where(mine.c.pond_id == into.id, theirs.c.pond_id == out.id)
            .where(mine.c.parameter == theirs.c.parameter, mine.c[when] == theirs.c[when])
            .order_by(mine.c[when])
            .limit(1)
        )
        found = writing.connection.execute(query).first()
        if found is not None:
            day = getattr(found, when)
            raise NotAllowed(
                f"Both ponds have {found.parameter.replace('_', ' ')} by a logger on "
                f"{day:%Y-%m-%d}, and a day can have one series only. Nothing was changed; they "
                "stay two ponds, with a note that they are one."
            )


def _move_series(writing: Writing, name: TableName, old: UUID, new: UUID) -> int:
    series = table(name)
    moved = writing.connection.execute(
        update(series).where(series.c.pond_id == old).values(pond_id=new)
    ).rowcount
    if moved:
        writing.touch(name)
    return int(moved)


def _told(writing: Writing, into: Pond, out: Pond) -> list[str]:
    """What a person is to look at afterwards; asked while the two are still two."""
    told = []
    if times := _shared(writing, "water_test", into, out, "taken_at"):
        told.append(
            f"At {times} moment{'s' * (times > 1)} there are several water tests now: if they were "
            "entered twice, strike one through."
        )
    counted: tuple[tuple[TableName, str, tuple[str, ...]], ...] = (
        ("death_count", "dead fish were counted", ("on_day", "species")),
        ("pond_event", "the same happened", ("on_day", "kind")),
    )
    for name, what, columns in counted:
        if days := _shared(writing, name, into, out, *columns):
            told.append(
                f"On {days} day{'s' * (days > 1)} {what} at both, and it adds up: if it was "
                "entered twice, strike one through."
            )
    if _shared(writing, "head_count", into, out):
        told.append("Fish were counted at both: the newest count of a kind is that of the one.")
    if into.volume_l is not None and out.volume_l not in (None, into.volume_l):
        told.append(
            f"The volume stays {into.volume_l:,.0f} L; the other's {out.volume_l:,.0f} L stand "
            "among the estimates."
        )
    told += _courses(writing, into, out)
    if into.use == "not asked" != out.use:
        told.append(
            f"Its fish are {'eaten' if out.use == 'food' else 'ornamental'} now, as was said of "
            "the other."
        )
    if into.indoor != out.indoor:
        told.append(f"It stays {'indoors' if into.indoor else 'outdoors'}, unlike the other.")
    if into.heated != out.heated:
        told.append(f"It stays {'heated' if into.heated else 'unheated'}, unlike the other.")
    if "not asked" not in (into.shade, out.shade) and into.shade != out.shade:
        told.append(f"Its shade stays {into.shade}; of the other it was said: {out.shade}.")
    plan = (out.test_every_days, out.test_seasons)
    if any(plan) and into.test_every_days and plan != (into.test_every_days, into.test_seasons):
        told.append(
            f"It is to be tested every {into.test_every_days} days as before; of the other it was "
            f"said: {_plan_said(out)}."
        )
    if into.kit_id is not None and out.kit_id not in (None, into.kit_id):
        told.append("Its own test kit stays; the other pond had another one.")
    return told


def _courses(writing: Writing, into: Pond, out: Pond) -> list[str]:
    """Courses whose amounts are for another volume than the one that is in force afterwards."""
    volume_l = out.volume_l if into.volume_l is None else into.volume_l
    courses = table("course").c
    query = select(courses.volume_l).where(
        courses.pond_id.in_([into.id, out.id]),
        courses.state.in_(_OPEN),
        courses.struck_at.is_(None),
        courses.volume_l != volume_l,
    )
    return [
        f"The amounts of its course are for {other_l:,.0f} L, and the pond has {volume_l:,.0f} L "
        "in force: a vet looks at both before the next dose."
        for other_l in writing.connection.execute(query).scalars()
        if volume_l is not None
    ]


def _shared(writing: Writing, name: TableName, into: Pond, out: Pond, *columns: str) -> int:
    """How many moments or days both ponds have; without columns, whether both have any row."""
    rows = table(name)
    mine, theirs = rows.alias(), rows.alias()
    query = (
        select(mine.c[columns[0]] if columns else literal(1))
        .where(mine.c.pond_id == into.id, theirs.c.pond_id == out.id)
        .where(mine.c.pond_id != theirs.c.pond_id)
        .where(mine.c.struck_at.is_(None), theirs.c.struck_at.is_(None))
        .where(*(mine.c[one] == theirs.c[one] for one in columns))
        .distinct()
    )
    return len(writing.connection.execute(query).all())


def _plan_said(pond: Pond) -> str:
    every = [] if pond.test_every_days is None else [f"every {pond.test_every_days} days"]
    seasons = [
        f"from {one['from']} to {one['to']} every {one['every_days']} days"
        for one in pond.test_seasons
    ]
    return ", ".join([*every, *seasons])


def _warmth(into: Pond, out: Pond) -> Iterator[str]:
    """What was said otherwise of the emptied pond about roof, heater and shade."""
    if into.indoor != out.indoor:
        yield "entered as indoors" if out.indoor else "entered as outdoors"
    if into.heated != out.heated:
        yield "entered as heated" if out.heated else "entered as not heated"
    if "not asked" not in (into.shade, out.shade) and into.shade != out.shade:
        yield f"shade {out.shade}"


def _filled(into: Pond, out: Pond) -> dict[str, Any]:
    """What the kept pond gets of the other; what differs, for its notes."""
    filled: dict[str, Any] = {}
    also: list[str] = []
    plans: set[str] = set()
    if into.use == "not asked" != out.use:
        filled["use"] = out.use
    if into.volume_l is None and out.volume_l is not None:
        filled.update({name: getattr(out, name) for name in _VOLUME})
    for name in (*_TEXTS, *_OTHERS):
        mine, theirs = getattr(into, name), getattr(out, name)
        if theirs in (None, "", []) or mine == theirs:
            continue
        if mine in (None, "", []):
            filled[name] = theirs
        elif name in _TEXTS:
            also.append(f"{_LABELS.get(name, name)} {theirs}")
        elif name == "depth_m":
            also.append(f"depth {theirs:g} m")
        elif name in ("test_every_days", "test_seasons"):
            plans.add(f"to be tested {_plan_said(out)}")
    also += plans
    also += _warmth(into, out)
    if into.shade == "not asked" != out.shade:
        filled["shade"] = out.shade
    if also or into.name.casefold() != out.name.casefold():
        also.insert(0, f"Also entered as {out.name}")
    if notes := notes_of_both(into.stock_notes, out.stock_notes, ()):
        filled["stock_notes"] = notes
    if notes := notes_of_both(into.notes, out.notes, also):
        filled["notes"] = notes
    return filled
