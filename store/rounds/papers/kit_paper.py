"""The kit list as parts of a sheet: boxes to tick, labels to cut out, cautions once each."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from store.courses.papers.paper import Part, one_line
from store.facts.agent import LOCAL_LAW
from store.rounds.kit.said import stops_said
from store.rounds.kit.values import Group, KitLine, KitList

TITLE = "What goes into the van"
NOTHING = "No stop is planned: nothing is packed."
_TITLES: dict[Group, str] = {
    "agents": "Agents, summed over the ponds, with the margin on top",
    "weigh": "Weighed before leaving, and labelled",
    "waits": "Not packed",
    "tests": "Meters and reagents",
    "gear": "Gear",
    "papers": "Papers",
}


def kit_part(kit: KitList) -> tuple[Part, ...]:
    """The parts of a sheet that hold a kit list.

    Parameters
    ----------
    kit
        The list.

    Returns
    -------
    tuple of Part
        A heading with what is to be known, then each part of the list that has a line, with boxes
        to tick; the cautions of the agents once each; a label for every portion.
    """
    if not kit.stops:
        return (Part(TITLE, (NOTHING,), "words"),)
    head = (
        f"For {one_line(kit.who)}. The margin is packed and never given: what goes into a pond is "
        "its own portion.",
        *(one_line(one) for one in kit.remarks),
    )
    return (Part(TITLE, head, "words"), *_parts(kit))


def _parts(kit: KitList) -> Iterator[Part]:
    for group, title in _TITLES.items():
        lines = kit.of(group)
        if not lines:
            continue
        if group == "waits":
            yield Part(title, tuple(_waiting(one, kit) for one in lines), level=2)
        else:
            yield Part(title, tuple(_line(one, kit) for one in lines), "checks", level=2)
        if group == "agents":
            yield from _cautions(lines)
        if group == "weigh":
            yield from (
                Part(f"Label: {one_line(one.what)}", tuple(map(one_line, one.label)), "label", 2)
                for one in lines
                if one.portion is not None and not one.portion.loose
            )


def _line(one: KitLine, kit: KitList) -> str:
    said = [one_line(one.what)]
    if one.group == "agents":
        said.append(one.arithmetic)
    else:
        said += [one.amount] if one.amount else []
    if one.group == "weigh":
        assert one.portion is not None
        said += [one.portion.dose, one.arithmetic, one.rests_on, *one.portion.remarks]
        said += [one.portion.loose] if one.portion.loose else []
    if one.group == "papers":
        said += one.mind
    if one.need is not None:
        said += (*one.need.remarks, *one.need.apart)
    if one.key.startswith("tests:kit:"):
        said += (one.arithmetic, *one.mind)
    return _told(said, stops_said(one, kit))


def _waiting(one: KitLine, kit: KitList) -> str:
    assert one.portion is not None
    said = [one_line(one.what), one.amount, one.portion.dose, one.mind[0]]
    return _told(said, stops_said(one, kit))


def _told(said: Iterable[str], stops: str) -> str:
    parts = [one_line(one).rstrip(".") for one in said if one]
    first = f"{parts[0]} ({stops})" if stops else parts[0]
    return one_line("; ".join((first, *parts[1:])))


def _cautions(lines: Iterable[KitLine]) -> Iterator[Part]:
    """What people mind, agent by agent; the same words stand once."""
    told: dict[str, tuple[str, ...]] = {}
    for one in lines:
        if one.need is not None:
            told[one.need.told.name] = one.need.told.handling
    said = [f"{one_line(name)}: {one_line(' '.join(cautions))}" for name, cautions in told.items()]
    yield Part("For people who carry and weigh it", (*said, LOCAL_LAW), level=2)
