"""What a person has to know of results before they are saved: what opens, what had to be taken."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from store.exams.specimens import LabSample
from store.exchange.lab.looked_for import hazards_of
from store.exchange.lab.report_number import number_folded
from store.exchange.lab.rows import ResultRows
from store.exchange.lab.settled import Planned
from store.facts.hazards import hazards
from store.text import plain

_FEW = 5


def told_of(
    items: Sequence[Planned], reader: ResultRows, samples: Sequence[LabSample]
) -> list[str]:  # fmt: skip
    """Everything there is to tell, what opens a suspicion first.

    Parameters
    ----------
    items
        What would be saved.
    reader
        Who read the rows.
    samples
        Of the book.
    """
    return [*_suspicions(items), *_supposed(items), *_left(items, reader, samples)]


def refused_told(stopped: Sequence[tuple[int, str, str]]) -> list[str]:
    """What a refused row would have opened a suspicion with: that must not be overlooked.

    Parameters
    ----------
    stopped
        Line, the notifiable disease it reports detected or nothing, and why it is refused.
    """
    return [
        f"STOP: line {line} reports {name} detected and is not kept, so no suspicion opens by it. "
        f"{reason} Enter it by hand if the file cannot be mended now."
        for line, name, reason in stopped
        if name
    ]


def _suspicions(items: Sequence[Planned]) -> Iterator[str]:
    for one in items:
        if one.opens_suspicion:
            name = hazards()[one.result.hazard].plain_name
            yield (
                f"STOP: line {one.line} reports {name} detected at {one.called}. It is notifiable: "
                "once this is saved, its suspicion opens there as if it had been typed."
            )
        first = None if one.after is None else items[one.after]
        if first is not None and first.opens_suspicion and one.result.result != "detected":
            yield (
                f"STOP: line {one.line} amends line {first.line}, and says {one.result.result}: "
                "both reports are kept, and no suspicion rests on the first. Tell the authority."
            )
        if one.takes_back and one.amends is not None:
            name = hazards()[one.amends.hazard].plain_name
            yield (
                f"STOP: line {one.line} amends a report of {name} detected at {one.called}, and "
                f"says {one.result.result}: its suspicion rests on that report no longer. The "
                "authority decides whether it ends: tell it, and read both reports first."
            )
    for one in items:
        named = [hazards()[code] for code in hazards_of(one.result.test)]
        unsaid = [each.plain_name for each in named if each.notifiable]
        if one.result.result == "detected" and not one.result.hazard and unsaid:
            yield (
                f"STOP: line {one.line}: “{one.result.named:.40}” is detected and names "
                f"{unsaid[0]}, and a person said that it is about none of the list. No suspicion "
                "opens by it."
            )
    unknown = [
        one for one in items if not one.result.hazard and one.result.result == "detected"
    ]  # fmt: skip
    if unknown:
        names = ", ".join(dict.fromkeys(f"“{one.result.named:.40}”" for one in unknown))
        yield (
            f"Detected, and said to be none of the list's diseases, so that no rule speaks of it: "
            f"{names:.300}."
        )


def _supposed(items: Sequence[Planned]) -> Iterator[str]:
    numbers = [one for one in items if one.result.number_only]
    if numbers:
        lines = _lines([one.line for one in numbers])
        yield (
            f"A number without a word, such as a Ct value, is kept as unclear with its words "
            f"({lines}): where detection begins is the laboratory's to say."
        )
    taken = [
        one for one in items
        if one.answers is None and one.amends is None and one.after is None
        and one.beside is None and one.result.taken_on is None
    ]  # fmt: skip
    if taken:
        yield (
            f"The file does not say when {_count(len(taken), 'sample')} "
            f"{'was' if len(taken) == 1 else 'were'} taken "
            f"({_lines([one.line for one in taken])}): the day on which it was sent or received "
            "stands for it."
        )


def _left(
    items: Sequence[Planned], reader: ResultRows, samples: Sequence[LabSample]
) -> Iterator[str]:  # fmt: skip
    if reader.not_tested:
        yield f"Not tested, so nothing is kept: {_lines(reader.not_tested)}."
    if reader.prose:
        yield f"Written in sentences, so kept as unclear with its words: {_lines(reader.prose)}."
    taken = {one.answers.id for one in items if one.answers is not None}
    for one in items:
        if one.answers is not None or one.result.result == "awaited":
            continue
        label = number_folded(one.result.label)
        still = [
            each for each in samples
            if each.pond_id == one.pond and each.result == "awaited" and each.struck_at is None
            and each.id not in taken and number_folded(each.label) == label
        ]  # fmt: skip
        if still and still[0].hazard not in ("", one.result.hazard):
            name = hazards()[still[0].hazard].plain_name
            yield (
                f"“{plain(still[0].label):.40}” stays awaited: it was entered for {name}, and line "
                f"{one.line} is of “{one.result.named:.40}”."
            )


def _count(number: int, one: str) -> str:
    return f"{number:,} {one if number == 1 else one + 's'}"


def _lines(lines: Sequence[int]) -> str:
    shown = ", ".join(map(str, lines[:_FEW])) + (" …" if len(lines) > _FEW else "")
    return f"{'line' if len(lines) == 1 else 'lines'} {shown}"
