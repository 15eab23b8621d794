"""The kit list as parts of a sheet: boxes to tick, labels to cut out, cautions once each."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from store.facts.agent import LOCAL_LAW
from store.paper.paper import Part, one_line
from store.rounds.kit.said import stops_said
from store.rounds.kit.values import Group, KitLine, KitList
from store.text import joined

TITLE = "What goes into the van"
NOTHING = "No stop is planned: nothing is packed."
KIT = "tests:kit:"
"""The keys of test kits begin so."""
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
    phrases: list[str] = []
    sentences: list[str] = []
    if one.need is not None:
        phrases.append(one.arithmetic)
        sentences += (*one.need.remarks, *one.need.apart)
    elif one.portion is not None:
        phrases += [one.amount, one.portion.dose, one.arithmetic, one.rests_on]
        sentences += [one.portion.loose] if one.portion.loose else []
        sentences += one.portion.remarks
    else:
        phrases.append(one.amount)
    if one.key.startswith(KIT):
        phrases.append(one.arithmetic)
        sentences += one.mind
    if one.group == "papers":
        sentences += one.mind
    return _told(one, kit, phrases, sentences)


def _waiting(one: KitLine, kit: KitList) -> str:
    dose = "" if one.portion is None else one.portion.dose
    return _told(one, kit, [one.amount, dose], one.mind[:1])


def _told(one: KitLine, kit: KitList, phrases: Iterable[str], sentences: Iterable[str]) -> str:
    stops = stops_said(one, kit)
    said = joined([f"{one.what} ({stops})" if stops else one.what, *phrases])
    ended = [each if each.endswith((".", "!", "?")) else f"{each}." for each in sentences]
    return one_line(f"{said}. {' '.join(ended)}" if ended else said)


def _cautions(lines: Iterable[KitLine]) -> Iterator[Part]:
    """What people mind, agent by agent; the same words stand once."""
    told: dict[str, tuple[str, ...]] = {}
    for one in lines:
        if one.need is not None:
            told[one.need.told.name] = one.need.told.handling
    said = [f"{one_line(name)}: {one_line(' '.join(cautions))}" for name, cautions in told.items()]
    yield Part("For people who carry and weigh it", (*said, LOCAL_LAW), level=2)
