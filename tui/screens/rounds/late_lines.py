"""The lines of a round that runs late: new times, whom to ring, another order where one helps."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal
from uuid import UUID

from rich.style import Style
from rich.text import Text

from store.rounds.solving.said import clock_said
from tui.screens.rounds.round_lines import Across
from tui.widgets.columns import Column
from tui.widgets.grid import Row
from tui.widgets.literal import one_line
from tui.widgets.strip import Told

if TYPE_CHECKING:
    from store.rounds.day.late import LateRound, LateStop, RunningLate
    from store.rounds.day.values import Errand

Part = Literal["kept", "other"]
_STRONG = Style(bold=True)
COLUMNS = (
    Column("call", "Call", 8),
    Column("told", "Told", 5, drop_order=3),
    Column("begins", "Begin", 5),
    Column("leaves", "Leave", 5, drop_order=1),
    Column("moved", "Moved", 8, align="right"),
    Column("name", "Where", 16, weight=2),
    Column("phone", "Telephone", 13, drop_order=2),
    Column("rung", "Rung", 9),
)
HEADS: Mapping[Part, str] = {
    "kept": "Planned order", "other": "Best order from here",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class LateKey:
    """A line: of which order, and the errand it stands for; None for head, break and way home."""

    part: Part
    kind: Literal["head", "stop", "out", "break", "home"]
    errand: UUID | None = None


def late_rows(late: RunningLate, rung: Mapping[UUID, str]) -> list[Row]:
    """The order that is kept, then the other one, each with its way home.

    Parameters
    ----------
    late
        What the delay does.
    rung
        How calls with clients went since, in a word, by client.
    """
    rows = _part_rows("kept", late.kept, late, rung)
    if late.other is not None:
        rows += _part_rows("other", late.other, late, rung)
    return rows


def _part_rows(
    part: Part, one: LateRound, late: RunningLate, rung: Mapping[UUID, str]
) -> list[Row]:
    head = f"{HEADS[part]}: back {clock_said(one.back)}"
    if one.over_min:
        head += f", {one.over_min} min overtime"
    if one.out:
        head += f", {len(one.out)} left out"
    many = len(one.to_ring) + len(one.out)
    if many:
        head += f", {many} to ring"
    rows: list[Row] = [Across(LateKey(part, "head"), (Text(head, style=_STRONG),))]
    for nth, stop in enumerate(one.stops):
        if one.break_after == nth:
            rows += _break_row(part, one, late)
        rows.append(_stop_row(part, stop, rung))
    if one.break_after is not None and one.break_after >= len(one.stops):
        rows += _break_row(part, one, late)
    for errand, _says, _helps in one.out:
        cells = (
            Text("left out", style="act"), "", "–", "", "", one_line(errand.name),
            one_line(errand.phone), rung.get(errand.client_id, ""),
        )  # fmt: skip
        rows.append(Row(LateKey(part, "out", errand.key), cells))
    return rows


def _break_row(part: Part, one: LateRound, late: RunningLate) -> list[Row]:
    if one.break_at is None:
        return []
    ends = clock_said(one.break_at + late.driver.break_min)
    moved = f"{one.break_late_min} late" if one.break_late_min else ""
    texts = ("", "", clock_said(one.break_at), ends, moved, "break", "", "")
    cells = tuple(Text(text, style="quiet") for text in texts)
    return [Row(LateKey(part, "break"), cells)]


def _stop_row(part: Part, stop: LateStop, rung: Mapping[UUID, str]) -> Row:
    word, style = said_call(stop)
    sign = "+" if stop.moved_min > 0 else "−"
    moved = f"{sign}{abs(stop.moved_min)} min" if stop.moved_min else ""
    cells = (
        Text(word, style=style), clock_said(stop.told), Text(clock_said(stop.begins), style=style),
        clock_said(stop.leaves), Text(moved, style=style), one_line(stop.errand.name),
        one_line(stop.errand.phone), rung.get(stop.errand.client_id, ""),
    )  # fmt: skip
    return Row(LateKey(part, "stop", stop.errand.key), cells)


def said_call(stop: LateStop) -> tuple[str, str]:
    """Whether a client has to be rung, in a word, and its weight."""
    if stop.late_min:
        return "too late", "act"
    return ("ring", "watch") if stop.ring else ("", "")


def late_of(late: RunningLate, key: object) -> LateRound | None:
    """The order in which a line stands."""
    if not isinstance(key, LateKey):
        return None
    return late.kept if key.part == "kept" else late.other


def errand_at(late: RunningLate, key: object) -> Errand | None:
    """The errand of a line."""
    one = late_of(late, key)
    if one is None or not isinstance(key, LateKey) or key.errand is None:
        return None
    every = [stop.errand for stop in one.stops] + [errand for errand, _, _ in one.out]
    return next((errand for errand in every if errand.key == key.errand), None)


def told_late(late: RunningLate, key: object) -> Told | None:
    """What the strip says of a line."""
    one = late_of(late, key)
    if one is None or not isinstance(key, LateKey):
        return None
    if key.errand is None:
        said = " ".join((*one.says, *late.says))
        return Told(f"{HEADS[key.part]}: back {clock_said(one.back)}", said, "", _next(one))
    for stop in one.stops:
        if stop.errand.key == key.errand:
            access = one_line(stop.errand.hours_said)
            return Told(
                one_line(stop.says),
                f"There {clock_said(stop.arrives)}, leaves {clock_said(stop.leaves)}.",
                f"Access: {access}" if access else "",
                _how(stop.ring),
            )
    for errand, says, helps in one.out:
        if errand.key == key.errand:
            phone = one_line(errand.phone) or "no telephone number is entered"
            return Told(f"Left out: {one_line(errand.name)} ({phone})", says, " ".join(helps),
                        _how(True))  # fmt: skip
    return None


def _next(one: LateRound) -> str:
    many = len(one.to_ring) + len(one.out)
    return f"Next: ring {many}; ↓ goes to them." if many else "Nobody has to be rung."


def _how(ring: bool) -> str:
    if not ring:
        return "Nobody has to be rung here: it begins about when it was said."
    return "Next: ring. r logs that it was told, w word left, n nobody answered."
