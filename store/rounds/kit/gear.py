"""Gear of a day: what each stop asks for, once for the day or once for every stop."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from store.diary.calling.van import Carried
from store.facts.gear import WHEN, Thing
from store.facts.sources import cite_with_standing
from store.rounds.kit.reads import stops_of
from store.rounds.kit.values import KitLine, StopRef
from store.text import joined

READ = frozenset({"meter", "kit"})
"""What a call asks to carry and stands among the tests already."""


@dataclass(frozen=True, slots=True)
class StopAsks:
    """What a stop asks for.

    `codes` are those of `store.facts.gear.WHEN`, `agents` codes of agents that are given there,
    each with what they are called. `calls` is what a call that the visit answers asks to carry.
    """

    stop: StopRef
    codes: frozenset[str] = frozenset()
    agents: Mapping[str, str] = field(default_factory=dict)
    calls: Sequence[Carried] = ()


def gear_lines(asked: Sequence[StopAsks], known: Mapping[str, Thing]) -> tuple[KitLine, ...]:
    """A line for each thing to take along, in the order in which they are packed.

    Parameters
    ----------
    asked
        What each stop asks for.
    known
        The gear, by its code.

    Returns
    -------
    tuple of KitLine
        Things that one is packed of for every stop have their number as the amount. What a call
        asks to carry, and is not among the gear, follows at the end.
    """
    lines = [line for one in known.values() if (line := _line(one, asked)) is not None]
    others: dict[str, list[tuple[StopRef, Carried]]] = {}
    for each in asked:
        for one in each.calls:
            if one.code not in known and one.code not in READ:
                others.setdefault(one.code, []).append((each.stop, one))
    return (*lines, *(_carried(pairs) for pairs in others.values()))


def _line(thing: Thing, asked: Sequence[StopAsks]) -> KitLine | None:
    always = not thing.when and not thing.agents
    because: dict[StopRef, list[str]] = {}
    for each in asked:
        why = [WHEN[code] for code in thing.when if code in each.codes]
        why += [each.agents[code] for code in thing.agents if code in each.agents]
        why += [one.because or "a call" for one in each.calls if one.code == thing.code]
        if why or always:
            because[each.stop] = why
    if not because:
        return None
    per_stop = thing.per == "stop"
    reasons = joined(dict.fromkeys(one for why in because.values() for one in why))
    return KitLine(
        f"gear:{thing.code}", "gear", thing.says, str(len(because)) if per_stop else "",
        () if always else stops_of(because),
        arithmetic=_said(len(because), per_stop, always),
        rests_on=cite_with_standing(thing.source, thing.standing),
        mind=(f"Because {reasons}.",) if reasons else (),
    )  # fmt: skip


def _said(count: int, per_stop: bool, always: bool) -> str:
    if always:
        return "goes along on every round"
    many = f"{count} stop{'' if count == 1 else 's'}"
    return f"one for each of {many}" if per_stop and count > 1 else f"asked for by {many}"


def _carried(pairs: Sequence[tuple[StopRef, Carried]]) -> KitLine:
    one = pairs[0][1]
    why = joined(dict.fromkeys(each.because for _, each in pairs if each.because))
    return KitLine(
        f"gear:call:{one.code}", "gear", one.says, "", stops_of(stop for stop, _ in pairs),
        arithmetic="asked for by a call", rests_on=cite_with_standing(one.source, one.standing),
        mind=(f"Because {why}.",) if why else (),
    )  # fmt: skip
