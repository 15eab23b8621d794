"""The kit list of a day: agents with their margin and packs, portions, tests, gear, papers."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from uuid import UUID

from store.book.book import Book
from store.courses.kept.formulary import formulary, products
from store.facts.agent import Agent
from store.facts.gear import gear_numbers, read_with, things
from store.facts.sources import cite_with_standing
from store.rounds.day.map import round_map
from store.rounds.day.values import DayPlan, Errand
from store.rounds.kept.kits.kit_asks import doses_named, kit_lines, papers_of, stop_asks, to_read
from store.rounds.kept.kits.kit_doses import doses_of
from store.rounds.kit.amounts import needs
from store.rounds.kit.gear import StopAsks, gear_lines
from store.rounds.kit.lines import agent_lines, paper_lines, portion_lines
from store.rounds.kit.reads import read_lines
from store.rounds.kit.values import AgentTold, KitList, ShelfPack, StopRef
from store.text import day_said, joined

COURIER = (
    "The hour of the laboratory's courier is not in the book: ask for it before leaving, and plan "
    "the last stop by it."
)
NO_ANAESTHETIC = (
    "No anaesthetic is packed: the formulary holds none. A vet who means to use one packs it, with "
    "its own cautions and its withdrawal."
)


def kit_list(book: Book, plan: DayPlan, staff_id: UUID | None, now: datetime) -> KitList:
    """What goes into the van for a planned day.

    Parameters
    ----------
    book
        The practice's book.
    plan
        The day.
    staff_id
        One person's round; None for all rounds together.
    now
        The present instant, with a time zone.

    Returns
    -------
    KitList
        Lines in the order of `store.rounds.kit.values.GROUPS`. A dose that waits for a vet, or that
        the owner gives, is told and not packed. Nothing is written.

    Raises
    ------
    NotFound
        A pond of the plan is not in the book.
    """
    day = plan.asked.wish.day
    stops = _stops(plan, staff_id)
    known = dict(formulary(book))
    numbers = gear_numbers()
    ponds: dict[UUID, StopRef] = {}
    for stop, errand in stops:
        for pond in errand.pond_ids:
            ponds.setdefault(pond, stop)
    named = {key for _, errand in stops for key in doses_named(errand)}
    doses = doses_of(book, ponds, day, now, known, numbers["tap_chlorine"], named)
    portions = doses.portions
    told = {code: _told(code, known) for code in {one.agent for one in portions}}
    shelf = _shelf(book)
    asks = [stop_asks(book, stop, errand, doses) for stop, errand in stops]
    reading = to_read(book, stops, asks, doses, known, dict(read_with()), now, day)
    margin = numbers["margin"]
    lines = (
        *agent_lines(needs(portions, told, shelf, margin.value), margin),
        *portion_lines(portions, told, shelf, margin, day),
        *kit_lines(book, stops, day),
        *read_lines(reading, read_with(), numbers["spare_tests"]),
        *(gear_lines(asks, things()) if stops else ()),
        *paper_lines(papers_of(book, stops, doses)),
    )
    return KitList(
        day, _who(plan, staff_id), tuple(stop for stop, _ in stops), lines,
        _remarks(day, book.today(now), asks),
    )  # fmt: skip


def _stops(plan: DayPlan, staff_id: UUID | None) -> list[tuple[StopRef, Errand]]:
    rounds = [one for one in plan.rounds if one.stops and staff_id in (None, one.driver.staff_id)]
    letters = [tour.letter for tour in round_map(plan, staff_id).tours]
    return [
        (
            StopRef(
                stop.errand.key, one.driver.staff_id, one.driver.who, nth, stop.errand.name,
                stop.begins, letter,
            ),
            stop.errand,
        )
        for letter, one in zip(letters, rounds, strict=True)
        for nth, stop in enumerate(one.stops, start=1)
    ]  # fmt: skip


def _who(plan: DayPlan, staff_id: UUID | None) -> str:
    rounds = [
        one for one in plan.rounds
        if one.driver.staff_id == staff_id or (staff_id is None and one.stops)
    ]  # fmt: skip
    if len(rounds) == 1:
        return rounds[0].driver.who
    named = (f"{tour.letter} {tour.who}" for tour in round_map(plan, staff_id).tours)
    return joined(named, ", ") or "nobody"


def _told(code: str, known: Mapping[str, Agent]) -> AgentTold:
    agent = known.get(code)
    if agent is None:
        return AgentTold(
            code, code, "", ("It is not in the formulary: what is to be minded is not known.",),
            (), "not in the formulary",
        )  # fmt: skip
    meets = tuple((one.code, one.why) for one in agent.interactions if one.level == "stop")
    handling = agent.handling or ("No caution for people is entered: read the label.",)
    return AgentTold(
        code, agent.plain_name, agent.family, handling, meets,
        cite_with_standing(agent.source, agent.standing),
    )  # fmt: skip


def _shelf(book: Book) -> dict[str, tuple[ShelfPack, ...]]:
    found: dict[str, tuple[ShelfPack, ...]] = {}
    for one in products(book):
        pack = ShelfPack(
            one.name, one.strength_percent, one.strength_basis, one.density_g_ml, one.pack_size,
            one.pack_unit,
        )  # fmt: skip
        found[one.agent] = (*found.get(one.agent, ()), pack)
    return found


def _remarks(day: date, today: date, asks: list[StopAsks]) -> tuple[str, ...]:
    codes = {code for one in asks for code in one.codes}
    said = [
        f"Reckoned from the book as it stands on {day_said(today)}, for {day_said(day)}: look "
        "again on the morning of the round."
        if day != today
        else "",
        COURIER if codes & {"sample", "suspect"} else "",
        NO_ANAESTHETIC if "examination" in codes else "",
    ]
    return tuple(one for one in said if one)
