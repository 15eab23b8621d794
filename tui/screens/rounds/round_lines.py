"""The lines of a day on the road: who drives, every stop with its times, what is left out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Literal
from uuid import UUID

from rich.segment import Segment
from rich.style import Style
from rich.text import Span, Text
from textual.binding import Binding, BindingType
from textual.strip import Strip

from store.rounds.solving.said import clock_said
from tui.screens.diary.diary_lines import said_hour
from tui.widgets.columns import Column, Placed
from tui.widgets.grid import MARK, Cell, LineGrid, Row
from tui.widgets.literal import cut_name, fit, one_line

if TYPE_CHECKING:
    from store.diary.booking.values import Visiting
    from store.rounds.day.values import DayPlan, DayWish, Driver, Errand, Round, RoundStop
    from store.rounds.solving.found import Found
    from store.travel.ways import Way

WIDE_FROM = 112
_STRONG = Style(bold=True)
_LONG_HEAD_FROM = 76
LEVELS: Mapping[str, str] = {
    "clean": "calm", "doubtful": "watch", "infected": "act", "suspect": "act",
}  # fmt: skip
"""The weight with which a standing is written; its word is what tells it."""
Kind = Literal["driver", "errand", "break", "home", "broken", "note", "aside"]


@dataclass(frozen=True, slots=True)
class RoundKey:
    """What a line stands for: a driver by the person's key, a stop by that of its errand."""

    kind: Kind
    key: UUID | int | None = None


@dataclass(frozen=True, slots=True)
class Across(Row):
    """A line over all columns: its one cell takes the whole width."""


class RoundGrid(LineGrid):
    """A grid in which a line can go over all columns; a cut name still tells which pond it is."""

    def _cell(self, cell: Cell, placed: Placed, base: Style, over: Style | None) -> list[Segment]:
        if placed.column.key == "name":
            if isinstance(cell, str):
                cell = cut_name(one_line(cell), placed.width)
            elif isinstance(cell, Text) and not cell.spans:
                cell = Text(cut_name(one_line(cell.plain), placed.width), style=cell.style)
        return super()._cell(cell, placed, base, over)

    def _row_line(self, row: Row, here: bool, base: Style) -> Strip:
        if not isinstance(row, Across):
            return super()._row_line(row, here, base)
        over: Style | None = None
        if here:
            over = self._part("cursor" if self.has_focus else "cursor-blurred")
            base += over
        text = row.cells[0]
        shown = one_line(text if isinstance(text, str) else text.plain)
        style = base
        if isinstance(text, Text) and isinstance(text.style, Style):
            style = base + text.style
        elif isinstance(text, Text) and text.style and not here:
            style = base + self._named(str(text.style))
        segments = [Segment(f"{MARK} " if here else "  ", base)]
        segments.append(Segment(fit(shown, max(1, self._width - 3)), style))
        return self._strip(segments, base)


class DayGrid(RoundGrid):
    """The lines of a day; the arrows to the sides go to other days."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "screen.go(-1)", "day before", key_display="←", show=False,
                id="round.before", tooltip="The round of the day before"),
        Binding("right", "screen.go(1)", "next day", key_display="→", show=False,
                id="round.next", tooltip="The round of the next day"),
        # Here and not on the screen: a grid has k for the line before.
        Binding("k", "screen.kit", "kit", id="round.kit",
                tooltip="What goes into the van: agents in their amounts, tests, gear"),
    ]  # fmt: skip


# Columns


def columns_for(width: int) -> tuple[Column, ...]:
    """The columns of a round; in a wide window town, telephone and what for have their own.

    Parameters
    ----------
    width
        Of the window [cells].
    """
    times = (
        Column("standing", "Stands", 8),
        Column("arrives", "There", 5, drop_order=3),
        Column("begins", "Begin", 5),
        Column("leaves", "Leave", 5),
        Column("drive", "Drive", 7, align="right", drop_order=2),
    )
    if width < WIDE_FROM:
        return (*times, Column("name", "Where", 16, weight=2), Column("marks", "What for", 14))
    return (
        *times,
        Column("name", "Where", 26, weight=2),
        Column("marks", "Agreed", 13),
        Column("why", "What for", 14, weight=1),
        Column("phone", "Telephone", 12),
        Column("town", "Town", 9, drop_order=1),
    )


def _cells(
    width: int, times: Sequence[str | Text], name: str | Text, marks: str | Text,
    wide: Sequence[str | Text] = ("", "", ""),
) -> tuple[str | Text, ...]:  # fmt: skip
    return (*times, name, marks, *(wide if width >= WIDE_FROM else ()))


# Words


def said_standing(standing: str) -> Text:
    """The standing in a word, with the weight it has."""
    style = LEVELS.get(standing, "")
    return Text(one_line(standing), style=style)


def said_marks(errand: Errand, stop: RoundStop | None = None, wish: DayWish | None = None) -> str:
    """What was agreed about a visit: its hour, that it is fixed, that somebody is to be rung."""
    visit = errand.visit
    if visit is None:
        return "held in" if wish is not None and errand.key in wish.held else "not booked"
    hour = "" if visit.at_time is None else said_hour(visit.at_time)
    if stop is not None and stop.ring:
        return f"ring: {hour}" if hour else "ring: no hour"
    if visit.fixed:
        return f"fixed {hour}".strip()
    return f"agreed {hour}" if hour else ""


def said_why(errand: Errand) -> str:
    """What a visit is for: what it keeps, else its kind."""
    says = "; ".join(one_line(one.says) for one in errand.purposes)
    return says or one_line(errand.kind) or "visit"


def said_proof(found: Found) -> str:
    """How good a day is known to be, in a word or two."""
    if found.proven:
        return "proven"
    return "each order proven" if found.each_proven else "not proven"


def said_many(count: int, one: str, more: str = "") -> str:
    """A count with its word: `no visit`, `1 visit`, `3 visits`."""
    if count == 1:
        return f"1 {one}"
    more = more or f"{one}s"
    return f"{count} {more}" if count else f"no {one}"


def said_end(said: str) -> str:
    """Where a round sets out or ends, within a sentence."""
    shown = one_line(said)
    return f"the {shown[4:]}" if shown.startswith("The ") else shown


def said_drive(way: Way) -> str:
    """The minutes of a way; what only stands in for a number has a question mark."""
    return f"{way.planned_min} min{'' if way.known else '?'}"


def said_round(one: Round, found: Found, width: int) -> str:
    """The head of a person's round."""
    who = one_line(one.driver.who)
    if not one.stops:
        return f"{who}: nothing to drive to"
    out, back = clock_said(one.sets_out), clock_said(one.back)
    if width < _LONG_HEAD_FROM:
        return f"{who}: {out}–{back}, {one.drive_min} min of driving, {said_proof(found)}"
    driving = f"{one.drive_min} min of driving, {said_proof(found)}"
    return f"{who}: sets out {out}, back {back}, {driving}"


# Lines


def booked_rows(visits: Iterable[Visiting], standings: Mapping[UUID, str], width: int) -> list[Row]:
    """The visits that stand in the diary, by the hour, while the day is being planned.

    Parameters
    ----------
    visits
        Of the day.
    standings
        Words for the standings of sites, as far as they are known.
    width
        Of the window [cells].
    """
    rows: list[Row] = []
    planned = (one for one in visits if one.state == "planned")
    for visit in sorted(planned, key=lambda one: (one.at_time is None, str(one.at_time))):
        begins = "" if visit.at_time is None else said_hour(visit.at_time)
        ends = "" if visit.ends is None or not begins else said_hour(visit.ends)
        name = visit.pond or visit.site
        where = one_line(visit.client)
        if name and name != visit.client:
            where = f"{where}, {one_line(name)}"
        standing = said_standing(standings.get(visit.site_id, ""))
        times = (standing, "", begins, ends, "")
        wide = (one_line(visit.kind), one_line(visit.phone), one_line(visit.town))
        kind = one_line(visit.kind) or "visit"
        marks = "fixed" if visit.fixed else "no hour" if not begins else ""
        shown = marks if width >= WIDE_FROM else ", ".join(part for part in (marks, kind) if part)
        rows.append(Row(RoundKey("errand", visit.id), _cells(width, times, where, shown, wide)))
    return rows


def round_rows(plan: DayPlan, width: int) -> list[Row]:
    """Every driver's round, then what is left out, and which rule is broken before all."""
    rows: list[Row] = [
        Across(RoundKey("broken", nth), (Text(one_line(says), style="act"),))
        for nth, says in enumerate(plan.broken)
    ]
    for one in plan.rounds:
        rows += _one_round(plan, one, width)
    if not plan.rounds:
        said = Text("Nobody drives on this day.", style="watch")
        rows.append(Across(RoundKey("note", 0), (said,)))
    if plan.left_out:
        said = Text(f"Left out: {len(plan.left_out)}", style=_STRONG)
        rows.append(Across(RoundKey("note", 1), (said,)))
        errands = plan.asked.errands
        wish = plan.asked.wish
        rows += [_out_row(errands[left.stop], width, wish) for left in plan.left_out]
    return rows


def _one_round(plan: DayPlan, one: Round, width: int) -> list[Row]:
    staff = one.driver.staff_id
    head = Text(said_round(one, plan.found, width), style=_STRONG)
    rows: list[Row] = [Across(RoundKey("driver", staff), (head,))]
    for nth, stop in enumerate(one.stops):
        if one.break_after == nth:
            rows += _break_row(one, width)
        rows.append(stop_row(stop, width, plan.asked.wish))
    if one.stops and one.break_after == len(one.stops):
        rows += _break_row(one, width)
    if one.way_home is not None:
        times = _quiet("", clock_said(one.back), "", "", said_drive(one.way_home))
        name = whole(f"home: {said_end(one.driver.home_said)}")
        rows.append(Row(RoundKey("home", staff), _cells(width, times, name, "")))
    return rows


def _quiet(*texts: str) -> tuple[Text, ...]:
    return tuple(Text(text, style="quiet") for text in texts)


def whole(text: str) -> Text:
    """Where one sets out from or is back: what is cut off is its end, for it is no client's."""
    return Text(text, spans=[Span(0, len(text), "quiet")])


def _break_row(one: Round, width: int) -> list[Row]:
    if one.break_at is None:
        return []
    ends = clock_said(one.break_at + one.driver.break_min)
    times = _quiet("", "", clock_said(one.break_at), ends, "")
    name = Text(f"break, {one.driver.break_min} min", style="quiet")
    return [Row(RoundKey("break", one.driver.staff_id), _cells(width, times, name, ""))]


def stop_row(stop: RoundStop, width: int, wish: DayWish | None = None) -> Row:
    """One stop: standing, arriving, beginning, leaving, the drive before it, where, what for."""
    errand = stop.errand
    ring = stop.ring and errand.booked
    begins = Text(clock_said(stop.begins), style="watch" if ring else "")
    times = (
        said_standing(errand.standing), clock_said(stop.arrives), begins,
        clock_said(stop.leaves), said_drive(stop.way),
    )  # fmt: skip
    said = said_marks(errand, stop, wish)
    style = "act" if ring else "quiet" if errand.booked else "unknown"
    marks: str | Text = Text(said, style=style)
    if width < WIDE_FROM and not said:
        marks = one_line(errand.kind)
    wide = _wide(errand)
    cells = _cells(width, times, one_line(errand.name), marks, wide)
    return Row(RoundKey("errand", errand.key), cells)


def _wide(errand: Errand) -> tuple[str, str, str]:
    town = one_line(errand.visit.town) if errand.visit is not None else ""
    return said_why(errand), one_line(errand.phone), town


def _out_row(errand: Errand, width: int, wish: DayWish) -> Row:
    times = (said_standing(errand.standing), "", "–", "", "")
    style = "act" if errand.booked else "unknown"
    said = Text(said_marks(errand, wish=wish) or "booked", style=style)
    cells = _cells(width, times, one_line(errand.name), said, _wide(errand))
    return Row(RoundKey("errand", errand.key), cells)


def aside_rows(errands: Iterable[Errand], width: int) -> list[Row]:
    """What was left out by hand; it can be taken in again."""
    rows: list[Row] = []
    for errand in errands:
        times = (said_standing(errand.standing), "", "–", "", "")
        said = Text("left by you", style="quiet")
        name = Text(one_line(errand.name), style="quiet")
        key = RoundKey("errand", errand.key)
        rows.append(Row(key, _cells(width, times, name, said, _wide(errand))))
    if rows:
        said = Text("Left out by hand", style=_STRONG)
        rows.insert(0, Across(RoundKey("aside"), (said,)))
    return rows


# Where in a plan


def stop_of(plan: DayPlan, key: UUID) -> tuple[Round, RoundStop] | None:
    """The stop of an errand and the round it is in; None where it is in none."""
    for one in plan.rounds:
        for stop in one.stops:
            if stop.errand.key == key:
                return one, stop
    return None


def errand_of(plan: DayPlan, key: UUID) -> Errand | None:
    """The errand of a key, whether it is in a round or not."""
    return next((one for one in plan.asked.errands if one.key == key), None)


def driver_of(plan: DayPlan, key: object) -> Driver | None:
    """Who drives to what a line stands for; the only one where there is one alone."""
    if isinstance(key, RoundKey) and isinstance(key.key, UUID):
        for one in plan.rounds:
            if one.driver.staff_id == key.key or any(s.errand.key == key.key for s in one.stops):
                return one.driver
    driving = [one.driver for one in plan.rounds if one.stops]
    return driving[0] if len(driving) == 1 else None
