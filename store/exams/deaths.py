"""Dead fish of a pond, counted by the day: entered, put right, read back.

A count of none says that somebody looked; a day without an entry was not looked at. Several entries
of one day add up, so that the same fish entered twice is asked about. What was entered before as an
event of the kind `fish_died` counts as well and stays as it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from sqlalchemy import select

from store.book.book import Book
from store.book.rows import Kept, read_all
from store.book.tables import table
from store.book.writing import Writing
from store.errors import BadInput, NotAllowed, NotFound
from store.exams.line_words import nearly, typed_as, words
from store.facts.signs import signs as known_signs
from store.text import day_said
from store.watch.look_lost import read_counts, read_moves
from store.watch.stock import Move, key_of, ledger

_SIGN_KINDS = frozenset({"sign", "behaviour"})
MOST_DEAD = 10_000_000


@dataclass(frozen=True, slots=True)
class DeathCount(Kept):
    """One entry of dead fish; `dead` is none where somebody looked and found none [count].

    Lengths are the smallest and the largest of them [cm]; `signs` codes of `store.facts.signs`.
    """

    pond_id: UUID
    on_day: date
    species: str
    dead: int
    length_low_cm: float | None
    length_high_cm: float | None
    signs: list[str]
    note: str


@dataclass(frozen=True, slots=True)
class NewDeaths:
    """Dead fish of one kind on one day, about to be entered; see `DeathCount` for the units."""

    on_day: date
    dead: int
    species: str = ""
    length_low_cm: float | None = None
    length_high_cm: float | None = None
    signs: tuple[str, ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True)
class Entered:
    """What became of an entry: its key, or the questions that must be answered first.

    With questions nothing was saved.
    """

    key: UUID | None
    doubts: tuple[str, ...] = ()


def record_deaths(
    writing: Writing, pond_id: UUID, deaths: NewDeaths, *, sure: bool = False
) -> Entered:
    """Enter dead fish of a day, or that somebody looked and found none.

    Parameters
    ----------
    writing
        The action it belongs to.
    pond_id
        Key of the pond.
    deaths
        What was found.
    sure
        True once the questions were answered: then it is saved in any case.

    Returns
    -------
    Entered
        The key, or what is doubtful about it; then nothing was saved.

    Raises
    ------
    NotFound
        No such pond, or it was struck through.
    BadInput
        A day ahead, a number or length that cannot be, an unknown sign; `field` names the place.
    """
    _checked(writing, pond_id, deaths)
    doubts = () if sure else doubts_of_deaths(writing, pond_id, deaths)
    if doubts:
        return Entered(None, doubts)
    return Entered(_added(writing, pond_id, deaths))


def correct_deaths(
    writing: Writing, key: UUID, rev: int, why: str, deaths: NewDeaths, *, sure: bool = False
) -> Entered:
    """Put an entry right: the old one is struck through with the reason, the new one stands.

    Parameters
    ----------
    writing
        The action it belongs to.
    key, rev
        The entry, and its revision as the person saw it.
    why
        The reason.
    deaths
        What was really found.
    sure
        True once the questions were answered.

    Returns
    -------
    Entered
        The key of the new entry, or what is doubtful about it; then nothing was changed.

    Raises
    ------
    NotFound, NotAllowed, ChangedMeanwhile
        As for `Writing.strike`.
    BadInput
        As for `record_deaths`, or no reason.
    """
    target = table("death_count")
    query = select(target.c.pond_id, target.c.struck_at).where(target.c.id == key)
    old = writing.connection.execute(query).first()
    if old is None:
        raise NotFound("There is no such entry of dead fish in the book.")
    if old.struck_at is not None:
        raise NotAllowed("This entry is struck through already; nothing was changed.")
    _checked(writing, old.pond_id, deaths)
    doubts = () if sure else doubts_of_deaths(writing, old.pond_id, deaths, but=key)
    if doubts:
        return Entered(None, doubts)
    writing.strike("death_count", key, why, rev)
    return Entered(_added(writing, old.pond_id, deaths))


def _added(writing: Writing, pond_id: UUID, deaths: NewDeaths) -> UUID:
    return writing.add(
        "death_count",
        pond_id=pond_id,
        on_day=deaths.on_day,
        species=deaths.species.strip(),
        dead=deaths.dead,
        length_low_cm=deaths.length_low_cm,
        length_high_cm=deaths.length_high_cm,
        signs=list(deaths.signs),
        note=deaths.note,
    )


def _checked(writing: Writing, pond_id: UUID, deaths: NewDeaths) -> None:
    stands_in_book(writing, pond_id)
    if deaths.on_day > writing.book.today(writing.act.at):
        raise BadInput(
            "This day lies ahead; dead fish are entered once they were found. Nothing was saved.",
            field="on_day",
        )
    whole_fish(deaths.dead, "dead")
    low, high = deaths.length_low_cm, deaths.length_high_cm
    if low is not None and high is not None and low > high:
        raise BadInput(
            f"The smallest, {low:g} cm, is longer than the largest, {high:g} cm. Nothing was "
            "saved.",
            field="length",
        )
    if deaths.dead == 0 and (deaths.signs or low is not None or high is not None):
        raise BadInput(
            "None died, so there is no size and no sign. Nothing was saved; signs of living fish "
            "belong to an examination or an event.",
            field="dead",
        )
    for code in deaths.signs:
        if code not in known_signs():
            raise BadInput(f"{code!r:.40} is not a known sign; nothing was saved.", field="signs")


def stands_in_book(writing: Writing, pond_id: UUID) -> None:
    """Refuse a pond that is not in the book, or is struck through.

    Parameters
    ----------
    writing
        The action.
    pond_id
        Key of the pond.

    Raises
    ------
    NotFound
        There is none.
    """
    ponds = table("pond").c
    query = select(ponds.id).where(ponds.id == pond_id, ponds.struck_at.is_(None))
    if writing.connection.execute(query).first() is None:
        raise NotFound("There is no such pond in the book, or it was struck through.")


def whole_fish(number: int, field: str) -> None:
    """Refuse a number of fish that cannot be.

    Parameters
    ----------
    number
        As given [count].
    field
        Where it was given.

    Raises
    ------
    BadInput
        Below none, or more than any pond holds.
    """
    if not 0 <= number <= MOST_DEAD:
        raise BadInput(
            f"{number:,} is not a number of fish that can be. Nothing was saved.", field=field
        )


def doubts_of_deaths(
    writing: Writing, pond_id: UUID, deaths: NewDeaths, *, but: UUID | None = None
) -> tuple[str, ...]:
    """What should be asked before dead fish are entered: the same ones twice, more than there are.

    Parameters
    ----------
    writing
        The action, whose transaction is looked at.
    pond_id
        Key of the pond.
    deaths
        About to be entered.
    but
        An entry that is about to be struck through; it does not count.

    Returns
    -------
    tuple of str
        Questions in a sentence or two; empty where nothing is doubtful.
    """
    if not deaths.dead:
        return ()
    return (*_twice(writing, pond_id, deaths, but), *_too_many(writing, pond_id, deaths, but))


def _twice(writing: Writing, pond_id: UUID, deaths: NewDeaths, but: UUID | None) -> list[str]:
    entries, people, events = table("death_count").c, table("staff").c, table("pond_event").c
    query = (
        select(entries.id, entries.species, entries.dead, entries.created_by, people.name)
        .join(table("staff"), people.id == entries.created_by)
        .where(
            entries.pond_id == pond_id,
            entries.on_day == deaths.on_day,
            entries.struck_at.is_(None),
            entries.dead == deaths.dead,
        )
    )
    found = []
    for one in writing.connection.execute(query):
        if one.id != but and key_of(one.species) == key_of(deaths.species):
            who = "You" if one.created_by == writing.act.by else one.name
            found.append(
                f"{who} entered {_said(one.dead, one.species)} dead for "
                f"{day_said(deaths.on_day)} already. Are these others?"
            )
    old = select(events.amount).where(
        events.pond_id == pond_id, events.kind == "fish_died",
        events.on_day == deaths.on_day, events.struck_at.is_(None),
    )  # fmt: skip
    for one in writing.connection.execute(old):
        if one.amount is None or round(one.amount) == deaths.dead:
            died = "fish died" if one.amount is None else f"{one.amount:.0f} fish died"
            found.append(
                f"An event of {day_said(deaths.on_day)} says that {died}, and counts too. Are "
                "these others?"
            )
    return found


def _too_many(writing: Writing, pond_id: UUID, deaths: NewDeaths, but: UUID | None) -> list[str]:
    """Whether more died than were there, on the day itself or on any day since."""
    connection = writing.connection
    counts = [count for _, count in read_counts(connection, [pond_id])]
    moves = [move for _, move in read_moves(connection, [pond_id], but=but)]
    after = [*moves, Move(deaths.on_day, "died", deaths.dead, deaths.species.strip())]
    later = {one.on_day for one in moves if one.on_day > deaths.on_day}
    for day in sorted({deaths.on_day, *later}):
        before = ledger(counts, moves, day)
        if not before.short and ledger(counts, after, day).short:
            line = before.of(deaths.species) or before.of("")
            there = before.total if line is None else line.fish
            since = before.counted_on if line is None else line.counted_on
            counted = "the head counts" if since is None else f"the count of {day_said(since)}"
            return [
                f"{_said(deaths.dead, deaths.species)} dead are more than there were: "
                f"{0 if there is None else there} on {day_said(day)}, by {counted}. Save it all "
                "the same, and count the fish again?"
            ]
    return []


def _said(number: int, species: str) -> str:
    return f"{number} {species.strip() or 'fish'}"


def typed_signs(text: str) -> tuple[str, ...]:
    """The codes of signs typed by their words, with commas between.

    Parameters
    ----------
    text
        Such as `sunken eyes, gills mottled`; empty is none.

    Raises
    ------
    BadInput
        Words that are no sign, with the nearest ones.

    Examples
    --------
    >>> typed_signs("Sunken eyes, mottled gills")
    ('sunken_eyes', 'gills_mottled')
    """
    found: dict[str, None] = {}
    for part in text.split(","):
        said = " ".join(part.casefold().split())
        if not said:
            continue
        meant = [one for one in words().get(said, ()) if one.kind in _SIGN_KINDS]
        if len(meant) != 1:
            near = " or ".join(f"“{one.plain}”" for one in nearly(said, _SIGN_KINDS))
            raise BadInput(
                f"“{part.strip()[:40]}” is no known sign. "
                + (f"Did you mean {near}?" if near else "Put it into the note instead.")
                + " Nothing was saved yet.",
                field="signs",
            )
        found[meant[0].code] = None
    return tuple(found)


def signs_typed_as(codes: Sequence[str]) -> str:
    """Signs as they are typed, with commas between.

    Parameters
    ----------
    codes
        Codes of `store.facts.signs`; unknown ones are shown as they are.

    Examples
    --------
    >>> signs_typed_as(["sunken_eyes", "gills_mottled"])
    'eyes sunken, gills mottled white and red'
    """
    known = known_signs()
    return ", ".join(typed_as(known[code]) if code in known else code for code in codes)


def deaths_of(book: Book, pond_id: UUID, *, struck: bool = False) -> tuple[DeathCount, ...]:
    """The entries of dead fish of a pond, newest day first.

    Parameters
    ----------
    book
        The book.
    pond_id
        Key of the pond.
    struck
        Also those that were struck through.
    """
    columns = table("death_count").c
    return read_all(
        book, DeathCount, "death_count", columns.pond_id == pond_id,
        order_by=(columns.on_day.desc(), columns.created_at.desc()), struck=struck,
    )  # fmt: skip
