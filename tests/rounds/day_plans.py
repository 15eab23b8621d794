"""Days on the road made by hand: invented sites, rounds in an order that a test gives.

Times are those of the store's own timetable, ways those of `store.travel`; nothing is searched for.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date, time
from uuid import UUID

from store.diary.booking.values import Purpose, Visiting
from store.rounds.day.values import DayAsked, DayPlan, DayWish, Driver, Errand, Round, RoundStop
from store.rounds.solving.found import Found
from store.rounds.solving.left_out import LeftOut
from store.rounds.solving.problem import (
    CLEAN,
    DOUBTFUL,
    INFECTED,
    MUST_COST,
    SUSPECT,
    Problem,
    Vet,
    Window,
)
from store.rounds.solving.problem import Stop as Plain
from store.rounds.solving.timetable import Timetable, timetable
from store.travel.place import place_of
from store.travel.ways import PRACTICE, End, Stop, Travel, site_end, travel, vet_end

ON_DAY = date(2026, 3, 16)
"""A Monday."""
ADA, BRAM = UUID(int=1), UUID(int=2)
OPEN = (Window(480, 1140),)
"""From eight to seven."""
STANDINGS = {CLEAN: "clean", DOUBTFUL: "doubtful", INFECTED: "infected", SUSPECT: "suspect"}
_DISINFECT = {INFECTED: 20, SUSPECT: 45}
At = tuple[float, float]
"""Latitude and longitude [degrees]."""
AT_PRACTICE: At = (53.0, -1.7)
RING_FROM_MIN = 15


def errand(
    number: int, name: str, at: At | None, *, level: int = CLEAN, minutes: int = 30,
    hour: time | None = None, fixed: bool = False, booked: bool = True,
    windows: tuple[Window, ...] = OPEN, ponds: Sequence[UUID] | None = None,
    site_id: UUID | None = None, phone: str = "01632 960100",
    vets: Collection[UUID] | None = None, purposes: tuple[Purpose, ...] = (),
    staff_id: UUID | None = ADA, worth_min: int = 25,
) -> Errand:  # fmt: skip
    """A visit; its keys are made of its number, and the hour is the one that was agreed."""
    site = site_id or UUID(int=100 + number)
    own = (UUID(int=300 + number),) if ponds is None else tuple(ponds)
    north, east = at or (None, None)
    client, _, pond = name.partition(", ")
    visit = Visiting(
        id=UUID(int=200 + number), rev=1, on_day=ON_DAY, at_time=hour, minutes=minutes,
        fixed=fixed, staff_id=staff_id, who="Ada Vet", kind="examination", state="planned",
        note="", in_spite="", agreed_with="the owner", client_id=UUID(int=400 + number),
        site_id=site, pond_id=own[0] if own else None, client=client, site="garden", pond=pond,
        town="Ashbourne", address=f"{number} Weir Lane", access_hours="",
        access_notes="the gate is stiff", phone=phone, latitude=north, longitude=east,
        purposes=purposes,
    )  # fmt: skip
    standing = STANDINGS[level]
    return Errand(
        key=visit.id if booked else site, visit=visit if booked else None,
        client_id=visit.client_id, site_id=site, pond_ids=own, name=name, kind="examination",
        minutes=minutes, windows=windows, hours_said="no hours are stated: 08:00 to 19:00",
        level=level, standing=standing, standing_said=f"{standing}: as its record says",
        disinfect_min=_DISINFECT.get(level, 0), skip_cost=MUST_COST if booked else worth_min,
        weight=0.0 if booked else 5.0, worth_said="" if booked else f"worth {worth_min} min",
        purposes=purposes, vets=None if vets is None else frozenset(vets), phone=phone,
        latitude=north, longitude=east,
    )  # fmt: skip


def driver(
    staff_id: UUID = ADA, who: str = "Ada Vet", at: At | None = AT_PRACTICE, *, begins: int = 480,
    ends: int = 1080, break_min: int = 30, home: End | None = None,
) -> tuple[Driver, Stop]:  # fmt: skip
    """Who drives, and from where: from a place of their own, to the same or another end."""
    start = PRACTICE if at == AT_PRACTICE else vet_end(staff_id)
    name = "the practice" if start == PRACTICE else f"{who}'s home"
    one = Driver(
        staff_id, who, begins, ends, break_min, 690, 810, start, home or start, name,
        name if home in (None, start) else "the practice",
    )  # fmt: skip
    return one, Stop(start, name, None if at is None else place_of(*at))


def plan_of(
    *shared: tuple[tuple[Driver, Stop], Sequence[Errand]],
    left_out: Mapping[Errand, str] | Sequence[Errand] = (), ordered: bool = True,
    broken: tuple[str, ...] = (), remarks: tuple[str, ...] = (),
    light: tuple[int, int] | None = (380, 1095), on_day: date = ON_DAY,
) -> DayPlan:  # fmt: skip
    """The day in which every driver goes to their errands in the order that is given.

    Raises
    ------
    AssertionError
        A round cannot be driven so within its hours.
    """
    drivers = tuple(one for (one, _), _ in shared)
    out = tuple(left_out)
    errands = tuple(one for _, order in shared for one in order) + out
    ways = _ways(shared, errands)
    problem = _problem(drivers, errands, ways, ordered)
    rounds, plain, first = [], [], 0
    for nth, (who, (_, order)) in enumerate(zip(drivers, shared, strict=True)):
        made = timetable(problem, nth, range(first, first + len(order)))
        assert made is not None, f"{who.who} cannot drive this round."
        rounds.append(_round(who, order, made, first, ways))
        plain.append(made)
        first += len(order)
    cost = sum(one.drive_min for one in plain) + sum(one.skip_cost for one in out)
    found = Found(tuple(plain), tuple(range(first, len(errands))), cost, cost, True, True, True)
    says = left_out if isinstance(left_out, Mapping) else {}
    wish = DayWish(on_day, tuple(one.staff_id for one in drivers), ordered=ordered)
    return DayPlan(
        DayAsked(wish, drivers, errands, ways, light, ()), problem, found, tuple(rounds),
        tuple(
            LeftOut(first + nth, "full", says.get(one, f"{one.name} does not fit."))
            for nth, one in enumerate(out)
        ),
        None, "Proven: no other order has less driving.", broken, remarks,
    )  # fmt: skip


def _ways(
    shared: Sequence[tuple[tuple[Driver, Stop], Sequence[Errand]]], errands: Sequence[Errand]
) -> Travel:
    ends = {PRACTICE: Stop(PRACTICE, "the practice", place_of(*AT_PRACTICE))}
    for (_, start), _ in shared:
        ends[start.end] = start
    for one in errands:
        end = site_end(one.site_id)
        ends[end] = Stop(end, one.name, place_of(one.latitude, one.longitude))
    return travel(ends.values(), {})


def _problem(
    drivers: Sequence[Driver], errands: Sequence[Errand], ways: Travel, ordered: bool
) -> Problem:
    places = {one.staff_id: nth for nth, one in enumerate(drivers)}
    sites = [site_end(one.site_id) for one in errands]
    return Problem(
        tuple(
            Plain(one.minutes, one.windows, one.level, one.disinfect_min, one.skip_cost,
                  None if one.vets is None else frozenset(places[key] for key in one.vets))
            for one in errands
        ),
        tuple(
            Vet(one.begins, one.ends, one.break_min, one.break_from, one.break_until)
            for one in drivers
        ),
        ways.minutes(sites),
        [[ways.way(one.start, site).planned_min for site in sites] for one in drivers],
        [[ways.way(site, one.home).planned_min for site in sites] for one in drivers],
        ordered,
    )  # fmt: skip


def _round(
    who: Driver, order: Sequence[Errand], made: Timetable, first: int, ways: Travel
) -> Round:
    stops, before = [], who.start
    for call in made.calls:
        one = order[call.stop - first]
        end = site_end(one.site_id)
        moved = None
        if one.visit is not None and one.visit.at_time is not None:
            moved = call.begins - (60 * one.visit.at_time.hour + one.visit.at_time.minute)
        stops.append(
            RoundStop(one, ways.way(before, end), call.arrives, call.begins,
                      call.begins + one.minutes, call.leaves, moved,
                      moved is not None and abs(moved) >= RING_FROM_MIN)
        )  # fmt: skip
        before = end
    home = ways.way(before, who.home) if stops else None
    return Round(
        who,
        tuple(stops),
        made.sets_out,
        home,
        made.back,
        made.drive_min,
        made.break_after,
        made.break_at,
    )


def nine_stops() -> DayPlan:
    """A full day of one vet: clean first, two infected, a suspect last; one not on the map.

    Two stops lie at one place, and one that is due found no room.
    """
    order = (
        errand(1, "Alder Row, lower pond", (53.05, -1.66), hour=time(8, 15)),
        errand(2, "Teal Mill, race", (53.09, -1.58), minutes=45),
        errand(3, "Heron Court, koi house", (53.075, -1.52)),
        errand(4, "Heron Court, quarantine", (53.075, -1.52), minutes=20),
        errand(5, "Osier Barn, round pond", None, level=DOUBTFUL, booked=False),
        errand(6, "Quillet House, upper pond", (52.96, -1.55), level=DOUBTFUL),
        errand(7, "Marl Pit Nursery, tank 3", (52.93, -1.64), level=INFECTED, hour=time(13, 15)),
        errand(8, "Gorse Cottage, koi pond", (52.94, -1.75), level=INFECTED),
        errand(9, "Reed Hall, moat", (53.02, -1.86), level=SUSPECT, minutes=40),
    )
    out = errand(10, "Willow Lodge, pond", (53.3, -1.2), booked=False)
    return plan_of(
        (driver(), order),
        left_out=[out],
        remarks=("Reed Hall, moat is a suspect: alone on its own day is better.",),
    )


def two_drivers() -> DayPlan:
    """A day that two vets share, one from home and one from the practice."""
    ada = (
        errand(1, "Alder Row, lower pond", (53.05, -1.66)),
        errand(2, "Teal Mill, race", (53.09, -1.58)),
        errand(3, "Heron Court, koi house", (53.075, -1.52), level=DOUBTFUL),
        errand(4, "Marl Pit Nursery, tank 3", (53.03, -1.60), level=INFECTED),
    )
    bram = (
        errand(5, "Quillet House, upper pond", (52.96, -1.80), staff_id=BRAM),
        errand(6, "Gorse Cottage, koi pond", (52.94, -1.75), staff_id=BRAM),
        errand(7, "Reed Hall, moat", (53.02, -1.86), level=INFECTED, staff_id=BRAM),
    )
    home = driver(BRAM, "Bram Oystercatch", (52.99, -1.88))
    return plan_of((driver(), ada), (home, bram))
