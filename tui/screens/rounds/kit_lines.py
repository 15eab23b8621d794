"""The lines of a kit list on the screen, and what the strip tells of each."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from rich.style import Style
from rich.text import Text
from textual.binding import Binding, BindingType

from store.rounds.kit.amounts import amount_said
from store.rounds.kit.said import stops_said
from tui.screens.rounds.round_lines import Across, RoundGrid
from tui.widgets.columns import Column
from tui.widgets.grid import Row
from tui.widgets.literal import one_line
from tui.widgets.strip import Told

if TYPE_CHECKING:
    from store.rounds.kit.values import Group, KitLine, KitList, StopRef

COLUMNS = (
    Column("packed", "", 6),
    Column("what", "What", 24, weight=1),
    Column("amount", "Amount", 8, align="right"),
    Column("packs", "Packs", 11, drop_order=1),
    Column("stops", "Stops", 8, drop_order=2),
)
_STRONG = Style(bold=True)


def columns_of(kit: KitList | None) -> tuple[Column, ...]:
    """The columns; that of the packs only where there are any, for names need the room.

    Parameters
    ----------
    kit
        The list, None before it is reckoned.
    """
    packs = kit is not None and has_packs(kit)
    return tuple(one for one in COLUMNS if packs or one.key != "packs")


def has_packs(kit: KitList) -> bool:
    """Whether packs of the shelf, or something weighed at the pond, are told of any line."""
    return any(_packs(one) for one in kit.lines)


PARTS: Mapping[Group, tuple[str, str]] = {
    "agents": (
        "Agents, summed over the ponds",
        "A margin is packed on top of each sum and never given. The packs are those of the shelf.",
    ),
    "weigh": (
        "To weigh and label before leaving",
        "Each pond has its portion: what goes into it is this, whatever else is in the van.",
    ),
    "waits": (
        "Not packed",
        "A dose that waits for a vet, a stop or another day, that the owner gives, or of which "
        "nothing is to be added. It is in no sum.",
    ),
    "tests": (
        "To read with",
        "What the last tests of each pond read, what is wrong with it, what its doses ask for.",
    ),
    "gear": ("Gear", "Once for the day, or once for each stop that asks for it."),
    "papers": ("Papers", "What is signed, and what stays with the owner."),
}
"""What each part of a list is called, and what it is."""
_LONG: Mapping[Group, str] = {
    "agents": "To take along", "weigh": "To weigh before leaving", "waits": "Not packed",
    "tests": "To read with", "gear": "Gear", "papers": "Papers",
}  # fmt: skip


class KitGrid(RoundGrid):
    """The lines of a kit list; enter ticks."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "open", "packed", show=False, id="kit.enter",
                tooltip="Packed, or not; the tick is kept until the day is over, in no book"),
    ]  # fmt: skip


@dataclass(frozen=True, slots=True)
class PartKey:
    """The heading of a part."""

    group: Group


def kit_rows(kit: KitList, ticked: Collection[str]) -> list[Row]:
    """A row for each line, and a heading before each part.

    Parameters
    ----------
    kit
        The list.
    ticked
        Keys of the lines that are packed.
    """
    rows: list[Row] = []
    packs = has_packs(kit)
    for group, (title, _) in PARTS.items():
        lines = kit.of(group)
        if lines:
            said = Text(f"{title}: {len(lines)}", style=_STRONG)
            rows.append(Across(PartKey(group), (said,)))
            rows += [_row(one, kit, packed=one.key in ticked, packs=packs) for one in lines]
    return rows


def _row(one: KitLine, kit: KitList, *, packed: bool, packs: bool) -> Row:
    waits = one.group == "waits"
    style = "watch" if waits else "quiet" if packed else ""
    return Row(
        one.key,
        (
            packed_said(one) if packed else "",
            Text(one_line(one.what), style=style),
            Text(one.amount, style=style),
            *((_packs(one),) if packs else ()),
            _stops(one, kit),
        ),
    )


def _packs(one: KitLine) -> str:
    if one.need is not None and one.need.packs is not None:
        packs = one.need.packs
        return f"{packs.count} × {amount_said(packs.size, packs.unit)}"
    at_pond = one.group == "weigh" and one.portion is not None and one.portion.loose
    return "at the pond" if at_pond else ""


def packed_said(line: KitLine) -> str:
    """What a ticked line is called; what is not packed is taken along all the same.

    Parameters
    ----------
    line
        The line.
    """
    return "taken" if line.group == "waits" else "packed"


def _stops(line: KitLine, kit: KitList) -> str:
    """Such as `1–3, 5`; `all` for every stop, nothing for the whole day."""
    if len(line.stops) == len(kit.stops) > 1:
        return "all"
    runs: list[list[StopRef]] = []
    for one in line.stops:
        last = runs[-1][-1] if runs else None
        if last is not None and (last.letter, last.nth + 1) == (one.letter, one.nth):
            runs[-1].append(one)
        else:
            runs.append([one])
    return ", ".join(
        run[0].said if len(run) == 1 else f"{run[0].said}–{run[-1].nth}" for run in runs
    )


def told_part(group: Group, kit: KitList) -> Told:
    """What the strip says of a part of the list.

    Parameters
    ----------
    group
        Which part.
    kit
        The list.
    """
    title, says = PARTS[group]
    return Told(f"{title}: {len(kit.of(group))}", says)


def told(line: KitLine, kit: KitList) -> Told:
    """What the strip says of a line: the sum and its packs, what it rests on, what to mind.

    Parameters
    ----------
    line
        The line.
    kit
        Its list.
    """
    where = stops_said(line, kit) or "the whole day"
    amount = f", {line.amount}" if line.amount else ""
    head = f"{_LONG[line.group]}: {line.what}{amount}, for {where}"
    return Told(
        one_line(head), one_line(line.arithmetic), one_line(line.rests_on),
        one_line(" ".join(_ended(one) for one in line.mind)),
    )  # fmt: skip


def _ended(said: str) -> str:
    return said if said.endswith((".", "!", "?", "…")) else f"{said}."


def all_of(line: KitLine, kit: KitList) -> str:
    """Everything that is known of a line, one under the other; the label as it is written.

    Parameters
    ----------
    line
        The line.
    kit
        Its list.
    """
    names = "; ".join(f"{one.said} {one.name}" for one in line.stops) or "the whole day"
    parts = [f"For {names}.", line.arithmetic, line.rests_on, *line.mind]
    if line.label and (line.portion is None or not line.portion.loose):
        parts += ["The label:\n" + "\n".join(f"  {one_line(one)}" for one in line.label)]
    return "\n\n".join(part for part in dict.fromkeys(parts) if part)
