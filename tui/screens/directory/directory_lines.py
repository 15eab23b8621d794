"""The lines of the directory in words: columns, rows, and what the strip tells of one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from rich.text import Text

from tui.widgets.columns import Column
from tui.widgets.grid import Row
from tui.widgets.literal import one_line
from tui.widgets.strip import Told

if TYPE_CHECKING:
    from store.book.listing import Listing, ListLine

COLUMNS = (
    Column("client", "Client", 18, weight=2),
    Column("site", "Site", 14, weight=3, drop_order=2),
    Column("pond", "Pond", 15, weight=1),
    Column("town", "Town", 12, weight=1, drop_order=1),
    Column("phone", "Telephone", 14, drop_order=3),
)


def said_count(found: Listing, *, struck: bool) -> str:
    """How many ponds are shown, and what is hidden because it was struck through."""
    shown = sum(1 for line in found.lines if line.pond_id and not line.struck)
    all_ponds = f"{found.ponds} {'pond' if found.ponds == 1 else 'ponds'}"
    count = all_ponds if shown == found.ponds else f"{shown} of {all_ponds}"
    if found.struck:
        count += f"   {found.struck} struck {'shown' if struck else 'not shown'}"
    return count


def rows_of(lines: Sequence[ListLine]) -> list[Row]:
    """One row a line; a client or site that repeats the line above is dimmed."""
    rows: list[Row] = []
    above: ListLine | None = None
    for line in lines:
        same_client = above is not None and above.client_id == line.client_id
        same_site = same_client and above is not None and above.site_id == line.site_id
        pond = line.pond or ("–" if line.site_id else "no site yet")
        cells: tuple[Any, ...] = (
            _dim(line.client) if same_client else line.client,
            _dim(line.site) if same_site else line.site,
            pond,
            _dim(line.town),
            line.phone or line.phone2,
        )
        if line.struck:
            struck = f"struck: {one_line(pond if line.struck == 'pond' else line.struck)}"
            cells = (
                _dim(line.client), _dim(line.site), _dim(struck), _dim(line.town),
                _dim(line.phone),
            )  # fmt: skip
        rows.append(Row(line.key, cells))
        above = line
    return rows


def _dim(text: str) -> Text:
    return Text.assemble((one_line(text), "quiet"), end="")


def told(line: ListLine) -> Told:
    """Whom to ring, where it is, how to get in."""
    phones = " or ".join(one_line(phone) for phone in (line.phone, line.phone2) if phone.strip())
    head = f"{one_line(line.client)}, {f'tel. {phones}' if phones else 'no telephone number'}"
    place = ", ".join(
        one_line(part) for part in (line.address, line.town, line.postcode) if part.strip()
    )
    hours = f"access {one_line(line.access_hours)}" if line.access_hours.strip() else ""
    notes = one_line(line.access_notes)
    if line.struck:
        notes = f"Struck through ({line.struck}): {one_line(line.struck_why)}"
    elif not notes and line.site_id is not None:
        notes = "No access notes."
    return Told(head, place or "No address.", hours, notes)
