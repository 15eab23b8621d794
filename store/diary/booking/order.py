"""Clean ponds before sick ones within a person's day, as a round is driven."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import time
from uuid import UUID
from zoneinfo import ZoneInfo

from store.diary.booking.free import Span, span_of, taken
from store.diary.booking.said import named
from store.diary.booking.values import Objection, Stood, Visiting
from store.diary.booking.vet_day import Asked, SiteAsked, VetDay

INFECTED, SUSPECT = 2, 3
"""Levels of `Stood` from which on something is told of a site itself."""


@dataclass(frozen=True, slots=True)
class _Other:
    visit: Visiting
    span: Span
    stood: Stood


def out_of_order(
    site: SiteAsked, vet: VetDay, at_time: time | None, minutes: int, asked: Asked,
    visit_id: UUID | None,
) -> Iterator[Objection]:  # fmt: skip
    """An hour that brings a cleaner site behind a sicker one, or anything behind a suspect.

    Parameters
    ----------
    site
        Where the visit goes.
    vet
        Who goes, with everything else of that day.
    at_time
        The local hour; None while none is agreed, and the order is then still free.
    minutes
        Length of the visit beside the pond [min].
    asked
        The practice's zone, and how sites stand; of a site that is not named there nothing is said.
    visit_id
        The visit that is moved; None for a new one.

    Yields
    ------
    Objection
        One for what comes before it, and one for what comes after. Visits without an hour, of
        others, and to the same site are left out of it.
    """
    own = asked.standings.get(site.id)
    if own is None or at_time is None or vet.staff_id is None:
        return
    others = [
        _Other(one, span, stood)
        for one in vet.visits
        if one.id != visit_id and one.site_id != site.id
        if (stood := asked.standings.get(one.site_id)) is not None
        if (span := span_of(one, asked.zone)) is not None
    ]
    wanted = taken(vet.day, at_time, minutes, asked.zone)
    sicker = [one for one in others if not _may_follow(own, one.stood)]
    cleaner = [one for one in others if not _may_follow(one.stood, own)]
    help_says = _help(own, sicker, cleaner, asked.zone)
    before = [one for one in sicker if one.span.begins <= wanted.begins]
    if before:
        one = min(before, key=lambda each: each.span.begins)
        rule = (
            "After a suspect nobody drives on that day"
            if one.stood.level == SUSPECT
            else f"{site.name} is {own.word}, and {own.word} goes before {one.stood.word}"
        )
        says = f"{_said_other(one)} is {one.stood.said}. {rule}: {help_says}."
        yield Objection("order", "reason", says, "at_time")
    after = [one for one in cleaner if one.span.begins > wanted.begins]
    if after:
        one = max(after, key=lambda each: each.span.begins)
        rule = (
            "after a suspect nobody drives on that day"
            if own.level == SUSPECT
            else f"{one.stood.word} goes before {own.word}"
        )
        says = (
            f"{site.name} is {own.said}. {_said_other(one)}, which is {one.stood.word}, would come "
            f"after it, and {rule}: {help_says}."
        )
        yield Objection("order", "reason", says, "at_time")


def _may_follow(later: Stood, earlier: Stood) -> bool:
    """Whether one may come after the other within a day, by the rule that rounds are planned by."""
    return earlier.level != SUSPECT and earlier.level <= later.level


def _help(own: Stood, sicker: Sequence[_Other], cleaner: Sequence[_Other], zone: ZoneInfo) -> str:
    """Between which visits it could be without breaking the order, else another day."""
    first = max((one.span.ends for one in cleaner), default=None)
    last = min((one.span.begins for one in sicker), default=None)
    day = "another day"
    if own.level == SUSPECT:
        day = "a day without other visits"
    if first is not None and last is not None and first >= last:
        return f"{day} would keep to that"
    hours = [
        *([f"after {first.astimezone(zone):%H:%M}"] if first is not None else []),
        *([f"before {last.astimezone(zone):%H:%M}"] if last is not None else []),
    ]
    return f"an hour {' and '.join(hours)}, or {day}, would keep to that"


def _said_other(one: _Other) -> str:
    at = "" if one.visit.at_time is None else f" at {one.visit.at_time:%H:%M}"
    return f"{named(one.visit)}{at}"


def said_own(site: SiteAsked, asked: Asked) -> Iterator[str]:
    """What is to be known of a site that is infected or suspect, on whatever day.

    Parameters
    ----------
    site
        Where the visit goes.
    asked
        How sites stand.

    Yields
    ------
    str
        One sentence at the most.
    """
    own = asked.standings.get(site.id)
    if own is not None and own.level >= INFECTED:
        last = ", and it is better alone on its day" if own.level == SUSPECT else ""
        yield (
            f"{site.name} is {own.said}; {own.disinfect_min} min of disinfecting follow the visit"
            f"{last}."
        )


def is_suspect(site: SiteAsked, asked: Asked) -> bool:
    """Whether a site is suspect of a notifiable disease, as far as that was asked.

    Parameters
    ----------
    site
        Where the visit goes.
    asked
        How sites stand.
    """
    own = asked.standings.get(site.id)
    return own is not None and own.level == SUSPECT


def visits_elsewhere(site: SiteAsked, vet: VetDay) -> int:
    """How many visits a person has that day that go to other sites.

    Parameters
    ----------
    site
        Where the visit goes.
    vet
        The person's day.
    """
    return sum(one.site_id != site.id for one in vet.visits)
