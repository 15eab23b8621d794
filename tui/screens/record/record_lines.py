"""Lines of the record of changes on the screen: the list, and before and after in full."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, tzinfo
from typing import TYPE_CHECKING

from rich.cells import cell_len
from textual.content import Content

from store.text import with_days
from tui.said import said_date, said_moment
from tui.widgets.columns import Column
from tui.widgets.grid import Row
from tui.widgets.hanging import hanging
from tui.widgets.literal import cut, one_line

if TYPE_CHECKING:
    from store.record.told import Field, Told

COLUMNS = (
    Column("when", "When", 12),
    Column("by", "By", 9, weight=2),
    Column("did", "Did", 8),
    Column("what", "What", 22, weight=5),
    Column("whose", "Whose", 20, weight=2, drop_order=1),
)
SHORT = {"struck through": "struck"}
"""What was done, where the column is narrow."""
EMPTY = "empty"
_LONGEST = 30_000
"""Characters of one value on the page of a line; no column holds more."""

Part = tuple[str, str]
"""A line of text and its style."""


def row_of(line: Told, zone: tzinfo, today: date) -> Row:
    """One line of the list."""
    return Row(
        line.key,
        (
            moment(line, zone, today),
            one_line(line.by),
            SHORT.get(line.did, line.did),
            days_said(line.what, today),
            one_line(line.whose),
        ),
    )


def moment(line: Told, zone: tzinfo, today: date) -> str:
    """When it was done, in twelve cells: the hour is left out in other years."""
    said = said_moment(line.at, zone, today)
    return said if len(said) <= 12 else said_date(line.at.astimezone(zone).date(), today)


def days_said(text: str, today: date) -> str:
    """A text of the store on one line, its days without the year where it is the present one."""
    return with_days(one_line(text), lambda day: said_date(day, today))


def told_parts(
    line: Told, width: int, zone: tzinfo, today: date, *, whole: bool = False
) -> Iterator[Part]:
    """A line with its fields before and after, broken for a width.

    Parameters
    ----------
    line
        From `store.record.told`.
    width
        Cells there are.
    zone, today
        Of the practice.
    whole
        Every value in full, readings under each other, and what the log says of the line itself.
    """
    yield from _wrapped(days_said(line.what, today), width, 0, "bold")
    head = f"{line.did} {said_moment(line.at, zone, today)} by {one_line(line.by) or 'nobody'}"
    if line.whose:
        head += f"; {one_line(line.whose)}"
    yield from _wrapped(head, width, 0, "$quiet")
    if line.why:
        yield from _wrapped(f"why: {one_line(line.why)}", width, 0, "")
    if line.readings and not whole:
        said = "; ".join(f"{one.label} {one.typed}" for one in line.readings)
        yield from _wrapped(f"as typed: {said}", width, 0, "")
    for field in line.fields:
        yield from _field(line, field, width, today, whole)
    if whole:
        yield from _readings(line, width)
        yield from _of_the_log(line, width)


def _field(line: Told, field: Field, width: int, today: date, whole: bool) -> Iterator[Part]:
    longest = _LONGEST if whole else 240
    after = cut(days_said(field.after, today), longest) or EMPTY
    if line.did == "entered":
        said = f"{field.label}: {after}"
    else:
        before = cut(days_said(field.before, today), longest) or EMPTY
        said = f"{field.label}: {before} → {after}"
        if cell_len(said) > 2 * width:
            # Side by side nobody would find where one ends and the other begins.
            yield from _wrapped(f"{field.label}, before: {before}", width, 2, "")
            said = f"{field.label}, after: {after}"
    yield from _wrapped(said, width, 2, "")


def _readings(line: Told, width: int) -> Iterator[Part]:
    if line.readings:
        yield "", ""
        yield "Readings, as they were typed", "$quiet"
        for one in line.readings:
            yield from _wrapped(f"{one.label}: {one.typed}", width, 2, "")


def _of_the_log(line: Told, width: int) -> Iterator[Part]:
    yield "", ""
    yield from _wrapped(
        f"{line.kind}, revision {line.entry.rev} of this row after it", width, 0, "$quiet"
    )
    if line.entry.hash:
        yield from _wrapped(
            f"link of the chain through the log: {line.entry.hash[:12]}", width, 0, "$quiet"
        )


def _wrapped(text: str, width: int, indent: int, style: str) -> Iterator[Part]:
    for one in hanging(text, width, indent).split("\n"):
        yield one, style


def content_of(parts: list[Part]) -> Content:
    """Lines of text as they are shown, never read as markup."""
    return Content("\n").join(Content.styled(text, style) for text, style in parts)


def fitted(parts: list[Part], height: int, width: int) -> list[Part]:
    """So many lines as there is room for; the last says how many are left out."""
    if len(parts) <= height or height < 1:
        return parts
    shown = parts[: height - 1]
    more = len(parts) - len(shown)
    rest = f"… {more} more lines: e shows everything"
    return [*shown, (rest if cell_len(rest) <= width else cut(rest, width), "$quiet")]
