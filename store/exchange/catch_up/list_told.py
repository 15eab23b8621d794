"""What is told of a client list as a whole, and how some of many are written."""

from __future__ import annotations

from collections.abc import Sequence

from store.exchange.catch_up.clients_plan import PlannedClient
from store.exchange.catch_up.grouped import Grouped
from store.exchange.catch_up.list_columns import ListShape, called
from store.exchange.catch_up.listed import Listing
from store.exchange.sheets import Grid, SheetFile

_SHOWN = 5


def told_of(
    file: SheetFile,
    grid: Grid,
    shape: ListShape,
    listing: Listing,
    found: Grouped,
    clients: Sequence[PlannedClient],
    before: str,
) -> list[str]:
    """What a person is told of the list beside its rows.

    Parameters
    ----------
    file, grid, shape, listing
        The file, its sheet, its layout, and what was read of it.
    found, clients
        Who of it is whom, and what would be saved.
    before
        The day on which this very file was brought in, as ISO text; empty if it was not.
    """
    told = [*file.remarks, *grid.remarks]
    if before:
        told.append(
            f"This very file was brought in on {before}; what is in the book is not doubled."
        )
    for what, many in (("total", "totals"), ("footnote", "footnotes"), ("heading", "headings")):
        lines = [row.line for row, one in listing.passed if one == what]
        if lines:
            told.append(f"Passed over as {many}: {lines_of(lines)}.")
    if listing.continued:
        told.append(
            f"{listing.continued} rows name nobody and belong to the client of the row above."
        )
    if found.joined_lines:
        few = ", ".join(f"{one} with {other}" for one, other in found.joined_lines[:_SHOWN])
        more = " …" if len(found.joined_lines) > _SHOWN else ""
        told.append(
            "Rows of one client, the same by name and telephone, mail or address, with nothing "
            f"against it: line {few}{more}."
        )
    turned = [one for one in clients if one.state != "same" and one.name != one.typed]
    if turned:
        first = turned[0]
        told.append(
            f"{'1 name is' if len(turned) == 1 else f'{len(turned)} names are'} written another "
            f"way, such as “{first.typed}” as “{first.name}”; the notes keep what the list says."
        )
    if shape.unknown:
        few = ", ".join(f"“{called(one):.40}”" for one in shape.unknown[:_SHOWN])
        more = " …" if len(shape.unknown) > _SHOWN else ""
        told.append(f"Columns that were not understood and not read: {few}{more}.")
    left = [called(one) for one in shape.columns if one.meaning == "ignore"]
    if left:
        told.append(f"Columns that were left out: {', '.join(left)}.")
    for one in clients:
        told.extend(f"Line {one.line}: {doubt}." for doubt in one.doubts)
    return list(dict.fromkeys(told))


def few_of(texts: Sequence[str]) -> str:
    """The first of some texts, and how many more there are.

    Parameters
    ----------
    texts
        One at least.

    Examples
    --------
    >>> few_of(["a", "b", "c", "d"])
    'a, b, c and 1 more'
    """
    return ", ".join(texts[:3]) + (f" and {len(texts) - 3} more" if len(texts) > 3 else "")


def lines_of(lines: Sequence[int]) -> str:
    """Some lines of a file, as they are named in a sentence.

    Parameters
    ----------
    lines
        One at least.

    Examples
    --------
    >>> lines_of([3]), lines_of([3, 4])
    ('line 3', 'lines 3, 4')
    """
    return f"line{'s' * (len(lines) > 1)} " + few_of([str(one) for one in lines])
