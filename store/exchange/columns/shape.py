"""What a person says about a file: it goes before every guess, and is kept as JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Any

from store.errors import BadInput
from store.exchange.columns.headings import heading_of
from store.exchange.columns.words import ROLE_OF, same
from store.text import plain

ORDERS = ("ymd", "dmy", "mdy", "each")
BLANKS = ("same", "none")
UNUSUAL = ("right", "refuse")
KITS = ("practice", "unknown")
IGNORED = frozenset({"ignore", "-", "no", "nothing"})


@dataclass(frozen=True, slots=True)
class Shape:
    """Corrections to the guesses about one kind of sheet; what is empty is guessed or asked.

    `columns` tells by heading (or by number, counted from 1) what a column is: a parameter with
    its unit (`temperature °F`), `date`, `time`, `pond`, `note`, … or `ignore`.
    """

    columns: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    order: str = ""
    """`dmy`, `mdy`, `ymd`, or `each`: only days that can be read in one way alone."""
    year: int | None = None
    """The year of the first day, where the file writes days without one; not remembered."""
    blank: str = ""
    """What a blank day or pond means: `same` as in the row above, or `none`."""
    blocks: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    """The pond of each block of columns, by its heading or its number; not remembered."""
    header_line: int | None = None
    """The line of the headings, where it is not found rightly; not remembered."""
    separator: str = ""
    unusual: str = ""
    """`right` where values that are unusual and possible were looked at, `refuse` where they are to
    be left out; not remembered."""
    kit: str = ""
    """`practice` where it was tested with the practice's kit, `unknown` where nobody knows; not
    remembered. A kit that is stated for a pond goes before it."""

    def said(self, title: str, place: int) -> str | None:
        """What was said about a column, by its number or else its heading."""
        for key in (f"{place + 1}", same(title)):
            if key and key in self.columns:
                return self.columns[key]
        return None

    def over(self, other: Shape) -> Shape:
        """This shape, with what it leaves empty taken from another."""
        return Shape(
            {**other.columns, **self.columns},
            self.order or other.order,
            self.year if self.year is not None else other.year,
            self.blank or other.blank,
            {**other.blocks, **self.blocks},
            self.header_line if self.header_line is not None else other.header_line,
            self.separator or other.separator,
            self.unusual or other.unusual,
            self.kit or other.kit,
        )

    def lasting(self) -> Shape:
        """What holds for the next file of that source as well: columns, order, blanks."""
        return replace(self, year=None, blocks={}, header_line=None, unusual="", kit="")

    def as_json(self) -> dict[str, Any]:
        """The shape for the book; empty where nothing was said."""
        told: dict[str, Any] = {
            "columns": dict(self.columns),
            "order": self.order,
            "year": self.year,
            "blank": self.blank,
            "blocks": dict(self.blocks),
            "header_line": self.header_line,
            "separator": self.separator,
            "unusual": self.unusual,
            "kit": self.kit,
        }
        return {name: value for name, value in told.items() if value not in ("", None, {})}


def shape_from(kept: Mapping[str, Any]) -> Shape:
    """A shape out of what the book keeps; what is not understood is left out.

    Parameters
    ----------
    kept
        From `Shape.as_json`, perhaps of another release.
    """
    shape = Shape()
    columns, blocks = kept.get("columns"), kept.get("blocks")
    if isinstance(columns, Mapping):
        shape = replace(shape, columns={str(key): str(what) for key, what in columns.items()})
    if isinstance(blocks, Mapping):
        shape = replace(shape, blocks={str(key): str(what) for key, what in blocks.items()})
    if kept.get("order") in ORDERS:
        shape = replace(shape, order=kept["order"])
    if kept.get("blank") in BLANKS:
        shape = replace(shape, blank=kept["blank"])
    if isinstance(kept.get("year"), int):
        shape = replace(shape, year=kept["year"])
    if isinstance(kept.get("header_line"), int):
        shape = replace(shape, header_line=kept["header_line"])
    if kept.get("unusual") in UNUSUAL:
        shape = replace(shape, unusual=kept["unusual"])
    if kept.get("kit") in KITS:
        shape = replace(shape, kit=kept["kit"])
    if kept.get("separator") in (",", ";", "\t", "|"):
        shape = replace(shape, separator=kept["separator"])
    return shape


def column_said(text: str) -> tuple[str, str]:
    """What a person types about one column: `Temp=temperature °F`, `4=ignore`.

    Parameters
    ----------
    text
        Heading or number of the column, `=`, and what it is.

    Returns
    -------
    tuple of str, str
        Key and meaning, for `Shape.columns`.

    Raises
    ------
    BadInput
        When there is no `=`, or nothing by that meaning.

    Examples
    --------
    >>> column_said("Temp = temperature °F")
    ('temp', 'temperature °F')
    """
    title, mark, what = text.rpartition("=")
    what = what.strip()
    if not mark or not same(title) or not what:
        raise BadInput(
            f"“{plain(text):.60}” does not say what a column is. Write it as "
            "“Temp=temperature °F” or “Temp=ignore”.",
            field="column",
        )
    known = what.casefold() in IGNORED or same(what) in ROLE_OF or heading_of(what) is not None
    if not known:
        raise BadInput(
            f"“{plain(what):.40}” is nothing that a column can be. Name a parameter with its unit "
            f"(temperature °F, KH dKH), or one of: {', '.join(sorted(set(ROLE_OF.values())))}, "
            "ignore.",
            field="column",
        )
    return same(title), what
