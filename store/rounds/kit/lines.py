"""The lines of a kit list, put together: agents, portions, what waits, tests, gear, papers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from store.facts.agent import LOCAL_LAW
from store.facts.entry import Standing
from store.facts.numbers import Number
from store.facts.sources import cite_with_standing
from store.paper.paper import date_in_words
from store.rounds.kit.amounts import amount_said, label_of, packs_for, packs_said, with_margin
from store.rounds.kit.reads import stops_of
from store.rounds.kit.values import (
    AgentNeed,
    AgentTold,
    KitLine,
    Portion,
    ShelfPack,
    StopRef,
)

NEVER_GIVEN = (
    "The margin is for losses in weighing and for a pond that turns out larger: it is packed and "
    "never given."
)
COMMON: tuple[str, Standing] = ("common_practice", "common practice")


@dataclass(frozen=True, slots=True)
class PaperAsked:
    """A paper that is taken to a stop; `code` tells kinds apart, `why` is a sentence."""

    code: str
    what: str
    stop: StopRef
    why: str


def agent_lines(found: Sequence[AgentNeed], margin: Number) -> tuple[KitLine, ...]:
    """A line for each agent with its sum, its margin and its packs.

    Parameters
    ----------
    found
        From `store.rounds.kit.amounts.needs`.
    margin
        What is packed on top [%], with what that rests on.
    """
    rests = f"margin: {cite_with_standing(margin.source, margin.standing)}"
    return tuple(
        KitLine(
            f"agents:{nth}:{one.told.code}",
            "agents",
            f"{one.told.name} ({one.product_said})"
            if one.product_said.partition(",")[0].casefold() != one.told.name.casefold()
            else one.product_said,
            amount_said(one.need, one.unit),
            stops_of(each.stop for each in one.portions),
            packs="" if one.packs is None else packs_said(one.packs),
            arithmetic=one.arithmetic,
            rests_on=f"{rests}; cautions: {one.told.source}",
            mind=(*one.remarks, *one.apart, *one.told.handling, NEVER_GIVEN, LOCAL_LAW),
            need=one,
        )
        for nth, one in enumerate(found)
    )


def portion_lines(
    portions: Sequence[Portion],
    told: Mapping[str, AgentTold],
    shelf: Mapping[str, Sequence[ShelfPack]],
    margin: Number,
    day: date,
) -> tuple[KitLine, ...]:
    """Every portion: what is weighed before leaving, then what is not packed, with the reason.

    Parameters
    ----------
    portions
        Of every pond.
    told
        What the formulary says, by code of the agent.
    shelf
        The practice's products, by code of the agent.
    margin
        What would be packed on top [%].
    day
        Of the visits.
    """
    packed = [one for one in portions if not one.waits and one.amount > 0.0]
    left = [one for one in portions if one.waits or one.amount <= 0.0]
    weigh = tuple(_weighed(one, told[one.agent], day) for one in packed)
    waits = tuple(_waiting(one, told[one.agent], shelf.get(one.agent, ()), margin) for one in left)
    return (*weigh, *waits)


def _weighed(one: Portion, told: AgentTold, day: date) -> KitLine:
    return KitLine(
        f"weigh:{one.key}", "weigh", f"{one.name}, {one.pond}",
        amount_said(one.amount, one.unit), (one.stop,),
        packs="at the pond" if one.loose else "",
        arithmetic=one.said, rests_on=one.rests_on,
        mind=(
            *((one.loose,) if one.loose else ()), *one.remarks, *told.handling, LOCAL_LAW,
        ),
        label=label_of(one, told, date_in_words(day)), portion=one,
    )  # fmt: skip


def _waiting(one: Portion, told: AgentTold, shelf: Sequence[ShelfPack], margin: Number) -> KitLine:
    packs = None
    if one.amount > 0.0:
        packed = with_margin(one.amount, margin.value)
        packs, _ = packs_for(packed, one.unit, one.product, shelf)
    would = "" if packs is None else f" It would take {packs_said(packs)}."
    return KitLine(
        f"waits:{one.key}", "waits", f"{one.name}, {one.pond}",
        amount_said(one.amount, one.unit), (one.stop,),
        packs="not packed",
        arithmetic=one.said, rests_on=one.rests_on,
        mind=(f"{one.waits or 'Nothing is to be added.'}{would}", *one.remarks, *told.handling),
        portion=one,
    )  # fmt: skip


def paper_lines(asked: Sequence[PaperAsked]) -> tuple[KitLine, ...]:
    """A line for each kind of paper, with the stops it is for.

    Parameters
    ----------
    asked
        In the order in which they are laid out.
    """
    kinds: dict[tuple[str, str], list[PaperAsked]] = {}
    for one in asked:
        kinds.setdefault((one.code, one.what), []).append(one)
    return tuple(
        KitLine(
            f"papers:{code}:{what}", "papers", what,
            str(len(own)) if len(own) > 1 else "", stops_of(one.stop for one in own),
            arithmetic="", rests_on=cite_with_standing(*COMMON),
            mind=tuple(dict.fromkeys(one.why for one in own if one.why)),
        )
        for (code, what), own in kinds.items()
    )  # fmt: skip
