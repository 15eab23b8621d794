"""What a plan has to tell beside its rounds: the order by standing, light, wishes for an hour."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from uuid import UUID

from store.rounds.day.problem_of import dawn_until, hour_kept, in_wished_hour
from store.rounds.day.values import DayAsked, Round, RoundStop
from store.rounds.solving.found import Found
from store.rounds.solving.problem import DAY_MIN, SUSPECT
from store.rounds.solving.said import clock_said, listed


def broken_said(
    asked: DayAsked, rounds: Sequence[Round], found: Found, kept: Found | None = None
) -> tuple[str, ...]:
    """Every visit that comes after one to a worse site, by how much, and what would help.

    Parameters
    ----------
    asked
        The day.
    rounds, found
        Its rounds, with their errands and as plain numbers.
    kept
        The same day with clean before infected, where it was looked for.

    Returns
    -------
    tuple of str
        Empty where the order by standing is kept.
    """
    told = [said for one in rounds for said in _against(one)]
    if not told:
        return ()
    return (*told, _what_helps(asked, found, kept))


def _against(one: Round) -> Iterator[str]:
    for nth, stop in enumerate(one.stops):
        worse = [
            before for before in one.stops[:nth]
            if before.errand.level > stop.errand.level or before.errand.level == SUSPECT
        ]  # fmt: skip
        if worse:
            last = "the last of " if len(worse) > 1 else ""
            names = listed(
                [f"{before.errand.name} ({before.errand.standing}, left at "
                 f"{clock_said(before.leaves)})" for before in worse]
            )  # fmt: skip
            later_min = stop.begins - worse[-1].leaves
            yield (
                f"{one.driver.who} is at {stop.errand.name} ({stop.errand.standing}) at "
                f"{clock_said(stop.begins)}, {later_min} min after {last}{names}: against clean "
                "before infected."
            )


def _what_helps(asked: DayAsked, found: Found, kept: Found | None) -> str:
    if kept is None:
        return "Plan with clean before infected, or give the worse site another vet or another day."
    more = kept.drive_min - found.drive_min
    stays = [asked.errands[stop].name for stop in kept.left_out if stop not in found.left_out]
    costs = f"{more} min more of driving" if more > 0 else "no more driving"
    if stays:
        return (
            f"With clean before infected {listed(stays)} would stay out: another vet, another "
            "hour or another day for one of them would help."
        )
    return f"With clean before infected the day takes {costs}; plan it so."


def plan_remarks(
    asked: DayAsked, rounds: Sequence[Round], found: Found, *, halted: bool = False
) -> tuple[str, ...]:
    """What is to be known of a plan, in sentences.

    Parameters
    ----------
    asked
        The day.
    rounds, found
        Its rounds, with their errands and as plain numbers.
    halted
        Whether the search was ended early.
    """
    return (
        *(_HALTED for _ in range(halted)),
        *_empty(asked),
        *suspects_among(rounds),
        *_twice_there(rounds),
        *_unkept_wishes(asked, rounds),
        *_dark(asked, rounds),
    )


_HALTED = "The search was stopped; this is the best plan until then. Plan again to look further."


def _empty(asked: DayAsked) -> Iterator[str]:
    if not asked.errands:
        yield "No visit is to be planned on this day."
    if not asked.drivers:
        yield "Nobody is on the road on this day, so that no round is planned."


def suspects_among(rounds: Sequence[Round]) -> Iterator[str]:
    """A sentence for every suspect site that is not alone in its round.

    Parameters
    ----------
    rounds
        Of a day.
    """
    for one in rounds:
        for stop in one.stops:
            if stop.errand.level == SUSPECT and len(one.stops) > 1:
                yield (
                    f"{stop.errand.name} is suspect of a notifiable disease and comes among other "
                    f"visits of {one.driver.who}: alone, on a day of its own, is better."
                )


def _twice_there(rounds: Sequence[Round]) -> Iterator[str]:
    """A site that is driven to more than once; stops straight after each other are one drive."""
    drives: dict[UUID, list[RoundStop]] = {}
    for one in rounds:
        before = None
        for stop in one.stops:
            if before != stop.errand.site_id:
                drives.setdefault(stop.errand.site_id, []).append(stop)
            before = stop.errand.site_id
    for stops in drives.values():
        if len(stops) > 1:
            said = listed([f"{one.errand.name} ({clock_said(one.begins)})" for one in stops])
            yield f"One site, driven to {len(stops)} times: {said}. One visit for all is better."


def _unkept_wishes(asked: DayAsked, rounds: Sequence[Round]) -> Iterator[str]:
    for stop in _stops(rounds):
        one = stop.errand
        if one.slot == "both":
            yield f"{one.name}: {one.slot_said}"
        elif one.slot is not None and not in_wished_hour(asked, one, stop.begins):
            yield f"{one.name} is visited at {clock_said(stop.begins)}, {_wished(asked, stop)}"


def _wished(asked: DayAsked, stop: RoundStop) -> str:
    one = stop.errand
    last = dawn_until(asked, one)
    if one.slot == "dawn":
        by = "" if last is None else f", by {clock_said(last)}"
        best = f"the dawn{by}"
    else:
        best = "the afternoon, from 14:00 on"
    why = "that hour was agreed" if hour_kept(asked, one) is not None else (
        "no room was found for it then"
    )  # fmt: skip
    return f"not at its best hour, {best}: {why}. {one.slot_said}".rstrip()


def _dark(asked: DayAsked, rounds: Sequence[Round]) -> Iterator[str]:
    if asked.light is None:
        return
    rises, sets = asked.light
    dark = [one for one in _stops(rounds) if one.begins < rises or one.ends > sets]
    if not dark:
        return
    names = listed(
        [f"{one.errand.name} ({clock_said(one.begins)} to {clock_said(one.ends)})" for one in dark]
    )
    if rises == sets:
        yield f"The sun does not rise on this day: {names} in the dark."
    elif (rises, sets) != (0, DAY_MIN):
        sun = f"the sun rises at {clock_said(rises)} and sets at {clock_said(sets)}"
        yield f"In part in the dark: {names}; {sun}."


def _stops(rounds: Sequence[Round]) -> Iterator[RoundStop]:
    for one in rounds:
        yield from one.stops
