"""What happened to a pond, apart from its water tests: the circumstances that rules ask about."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from types import MappingProxyType
from uuid import UUID

from store.book.book import Book
from store.book.rows import Kept, read_all
from store.book.tables import table
from store.book.writing import Writing
from store.errors import BadInput


@dataclass(frozen=True, slots=True)
class EventKind:
    """One kind of event.

    `unit` is what its amount is counted in, or empty when it has none. `lasts` tells that it is a
    state with a first and, later, a last day. `names_hazard` tells that the hazard is part of it.
    """

    code: str
    label: str
    meaning: str
    unit: str = ""
    lasts: bool = False
    names_hazard: bool = False


_ALL = (
    EventKind("new_fish", "fish added", "Fish came in from elsewhere.", "fish"),
    EventKind("fish_died", "fish died", "Dead fish were found.", "fish"),
    EventKind("fish_removed", "fish removed", "Fish left the pond alive.", "fish"),
    EventKind("sign_gasping", "fish gasp at the surface",
              "They hang at the surface and gulp, most of all at dawn."),
    EventKind("sign_at_inlet", "fish crowd at inlet or margin",
              "They stand where the water falls in, or in the shallows."),
    EventKind("sign_off_feed", "fish leave their feed", "They come slowly to it, or not at all."),
    EventKind("sign_listless", "fish hang listless", "They keep still, and hardly flee."),
    EventKind("sign_water_turned", "water turned brown or smells",
              "Green or clear water that changed its colour or smell within days."),
    EventKind("sign_seen", "another sign seen",
              "Something else about the fish; the note says what."),
    EventKind("hazard_seen", "parasite or disease seen",
              "A hazard was found here, under the microscope or by a laboratory.",
              names_hazard=True),
    EventKind("crowding", "crowded", "More fish than the water carries.", lasts=True),
    EventKind("poor_water", "poor water", "Water known to be bad between tests.", lasts=True),
    EventKind("filter_disturbed", "filter washed or rebuilt",
              "The filter was washed, rebuilt, dosed or stood still: its bacteria suffered."),
    EventKind("filter_restarted", "filter restarted", "It began to work, new or after winter."),
    EventKind("power_cut", "power cut", "Pump and air stood still.", "h"),
    EventKind("plants_killed", "algae or plants killed",
              "Algicide was given, or plants and algae died off."),
    EventKind("topped_up", "topped up untreated",
              "Mains water came in without being dechlorinated.", "L"),
    EventKind("water_changed", "water changed", "Water was let out and replaced.", "L"),
    EventKind("binder_added", "dechlorinator or binder added",
              "Something that binds chlorine or ammonia, and misleads some kits.", "g"),
    EventKind("salt_added", "salt added", "Salt was put in; it leaves only with water.", "g"),
    EventKind("zeolite_in_filter", "zeolite in the filter",
              "Zeolite holds ammonia and gives it back when salt comes in.", lasts=True),
    EventKind("buffer_added", "buffer added", "Something that raises alkalinity.", "g"),
    EventKind("feeding_stopped", "feeding stopped", "The fish get no feed.", lasts=True),
    EventKind("heavy_rain", "heavy rain", "Rain that changes the water within hours."),
    EventKind("ice_cover", "ice cover", "The pond is frozen over.", lasts=True),
    EventKind("medicine_given", "medicine given",
              "Given outside the courses of this book; the note says what, how much, which batch."),
    EventKind("not_for_eating", "fish not for eating",
              "A withdrawal runs, as a medicine book or a vet wrote it; on its last day no fish "
              "may be eaten yet.", lasts=True),
    EventKind("note", "note", "Something told or seen, in words; no rule reckons with it."),
)  # fmt: skip

EVENT_KINDS: Mapping[str, EventKind] = MappingProxyType({kind.code: kind for kind in _ALL})
"""Every kind by its code, in the order in which a person is offered them."""


@dataclass(frozen=True, slots=True)
class PondEvent(Kept):
    """Something that happened on a day, or lasted from a day on until `until_day`."""

    pond_id: UUID
    kind: str
    on_day: date
    at: datetime | None
    until_day: date | None
    hazard: str | None
    amount: float | None
    unit: str
    note: str


def record_event(
    writing: Writing,
    pond_id: UUID,
    kind: str,
    on_day: date,
    *,
    at: datetime | None = None,
    until_day: date | None = None,
    hazard: str | None = None,
    amount: float | None = None,
    note: str = "",
) -> UUID:
    """Enter what happened to a pond.

    Parameters
    ----------
    writing
        The action it belongs to.
    pond_id
        Key of the pond.
    kind
        A code of `EVENT_KINDS`.
    on_day
        The calendar day, or the first of several.
    at
        The instant, when the hour matters.
    until_day
        The last day of a state; left out while it lasts.
    hazard
        Code of the hazard, for `hazard_seen`.
    amount
        How much or many [the `unit` of the kind]; never below zero.
    note
        In words.

    Returns
    -------
    UUID
        Key of the event.

    Raises
    ------
    BadInput
        For an unknown kind, a hazard or amount missing or out of place, a last day before the
        first.
    """
    known = EVENT_KINDS.get(kind)
    if known is None:
        raise BadInput(
            f"{kind!r:.40} is not a kind of event; nothing was saved. "
            f"Choose one of {', '.join(EVENT_KINDS)}.",
            field="kind",
        )
    if known.names_hazard != bool(hazard):
        wrong = "needs the name of the hazard" if known.names_hazard else "names no hazard"
        raise BadInput(f"“{known.label}” {wrong}; nothing was saved.", field="hazard")
    if amount is not None and not known.unit:
        raise BadInput(f"“{known.label}” has no amount; nothing was saved.", field="amount")
    if until_day is not None and not known.lasts:
        raise BadInput(f"“{known.label}” has no last day; nothing was saved.", field="until_day")
    if until_day is not None and until_day < on_day:
        raise BadInput(
            f"The last day {until_day} lies before the first, {on_day}; nothing was saved.",
            field="until_day",
        )
    return writing.add(
        "pond_event",
        pond_id=pond_id,
        kind=kind,
        on_day=on_day,
        at=at,
        until_day=until_day,
        hazard=hazard,
        amount=amount,
        unit="" if amount is None else known.unit,
        note=note,
    )


def end_event(writing: Writing, key: UUID, rev: int, last_day: date) -> int:
    """Enter the last day of a state that lasted.

    Parameters
    ----------
    writing
        The action it belongs to.
    key
        Of the event.
    rev
        The revision that the person saw.
    last_day
        The last calendar day on which it held.

    Returns
    -------
    int
        The event's revision afterwards.

    Raises
    ------
    BadInput
        When the day lies before the first.
    ChangedMeanwhile, NotFound, NotAllowed
        As for `Writing.change`.
    """
    return writing.change("pond_event", key, rev, until_day=last_day)


def events(
    book: Book, pond_id: UUID, *, since: date | None = None, struck: bool = False
) -> tuple[PondEvent, ...]:
    """What happened to a pond, newest first.

    Parameters
    ----------
    book
        The book.
    pond_id
        Key of the pond.
    since
        Only events that began on this day or later; states that last are given in any case.
    struck
        Also those that are struck through.

    Returns
    -------
    tuple of PondEvent
        By day, then by being entered.
    """
    columns = table("pond_event").c
    conditions = [columns.pond_id == pond_id]
    if since is not None:
        lasting = [kind.code for kind in _ALL if kind.lasts]
        still = columns.kind.in_(lasting) & columns.until_day.is_(None)
        conditions.append((columns.on_day >= since) | still)
    order = (columns.on_day.desc(), columns.created_at.desc())
    return read_all(book, PondEvent, "pond_event", *conditions, order_by=order, struck=struck)
