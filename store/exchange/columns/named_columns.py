"""What a column of a sheet means by a table of words, and on which line the headings stand."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from store.errors import BadInput
from store.exchange.columns.lines import ORDER_SAID, has_data, is_day
from store.exchange.columns.said import Said
from store.exchange.columns.words import PASSED_OVER, same
from store.exchange.sheets import Grid, RawRow
from store.text import plain

IGNORE = "ignore"
_SEARCHED_LINES = 200
_ROWS_UNDER = 3
"""So many rows of data under a line of headings say that it is the one."""
_KEY = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")
_BRACKETS = re.compile(r"[(\[{]([^)\]}]*)[)\]}]")


@dataclass(frozen=True, slots=True)
class Role:
    """What a column may be: the headings by which it goes, and what is allowed of it.

    `units` are those that a heading may state, such as `cm` in `Length (cm)`. Where cells are
    `carried`, a blank may mean the one above, which is asked. `label` is how a person calls it.
    """

    words: tuple[str, ...] = ()
    units: tuple[str, ...] = ()
    carried: bool = False
    many: bool = False
    label: str = ""


@dataclass(frozen=True, slots=True)
class SheetKind:
    """A kind of sheet: its name in the book, the roles of its columns, those it cannot do without.

    `extra` tells what a heading means that no role knows (a column for every parasite); such
    columns may come more than once. `once` names answers that hold for one file alone, `above` the
    roles that a line above the headings may state for every row; a day among them is asked for
    where the file has none. `group` says of a cell above the headings whether it belongs to each
    heading under it (`Gill` over `Tri` and `Dac`), `joined` what a heading adds to what a person
    says it means.
    """

    name: str
    roles: Mapping[str, Role]
    needed: tuple[str, ...] = ()
    extra: Callable[[str], str] | None = None
    once: frozenset[str] = frozenset()
    above: frozenset[str] = frozenset()
    group: Callable[[str], bool] | None = None
    joined: Callable[[str, str], str] | None = None

    def label(self, role: str) -> str:
        """How a person calls a role."""
        known = self.roles.get(role)
        return (known.label if known is not None else "") or role.replace("_", " ")


WHOSE: Mapping[str, Role] = MappingProxyType(
    {
        "pond": Role(
            ("pond name", "teich", "bassin", "étang", "vijver", "estanque", "tank", "pool", "unit",
             "basin"), carried=True,
        ),
        "code": Role(("pond code", "pond key", "pond id", "pond no", "pond number"), carried=True,
                     label="pond code"),
        "client": Role(("owner", "customer", "client name", "kunde", "besitzer", "keeper"),
                       carried=True),
    }
)  # fmt: skip
"""Whose pond a row is of."""
DAY: Mapping[str, Role] = MappingProxyType(
    {
        "date": Role(
            ("day", "on", "datum", "tag", "jour", "fecha", "data", "dato", "dag", "datetime",
             "date time", "date and time", "when"), carried=True, label="day",
        ),
        "time": Role(("clock", "hour", "time of day", "uhrzeit", "zeit", "heure", "hora", "tijd")),
    }
)  # fmt: skip
NOTE: Mapping[str, Role] = MappingProxyType(
    {
        "note": Role(
            ("notes", "remarks", "remark", "comment", "comments", "observations", "bemerkung",
             "bemerkungen", "notiz", "notizen", "remarques", "opmerkingen", "notas"), many=True,
        ),
    }
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class NamedColumn:
    """A column, counted from 0: `meaning` is a role, what `extra` said of it, or `ignore`."""

    place: int
    title: str
    meaning: str
    why: str
    unit: str = ""
    """As the heading states it; empty where it states none."""
    said: bool = False

    @property
    def means(self) -> str:
        """What it is taken for, in words; where that is a record of the book, by the heading."""
        return _KEY.sub(f"“{self.title}”", self.meaning)


def meaning_of(title: str, kind: SheetKind) -> tuple[str, str]:
    """What a heading means by the words of a kind of sheet, and the unit that it states.

    Parameters
    ----------
    title
        The heading; a unit may stand in brackets, behind a comma, or at its end.
    kind
        The roles.

    Returns
    -------
    tuple of str, str
        Role and unit; both empty for a heading that is not known.
    """
    text = " ".join(ORDER_SAID.sub(" ", plain(title, lines=True)).split())
    if not text or len(text) > 60:
        return "", ""
    words = words_of(kind)
    bracket = _BRACKETS.search(text)
    inside = bracket[1].strip() if bracket is not None else ""
    bare = " ".join(_BRACKETS.sub(" ", text).split())
    for whole in (text, bare):
        if same(whole) in words:
            role = words[same(whole)]
            return role, _unit(inside, kind.roles[role])
    for role, known in kind.roles.items():
        for unit in known.units:
            cut = re.fullmatch(rf"(.+?)[ ,_/-]+(?:in )?{re.escape(unit)}\.?", bare, re.IGNORECASE)
            if cut is not None and words.get(same(cut[1])) == role:
                return role, unit
    extra = kind.extra(text) or kind.extra(bare) if kind.extra is not None else ""
    return extra, inside if extra else ""


def _unit(text: str, role: Role) -> str:
    folded = same(text)
    return next((unit for unit in role.units if same(unit) == folded), "")


def words_of(kind: SheetKind) -> dict[str, str]:
    """Every heading that a kind of sheet knows, folded by `same`, to its role.

    Parameters
    ----------
    kind
        The roles.
    """
    return {same(word): name for name, role in kind.roles.items() for word in (name, *role.words)}


def columns_under(
    grid: Grid, place: int, kind: SheetKind, said: Said, stated: Collection[str] = ()
) -> tuple[tuple[NamedColumn, ...], bool]:
    """The columns under a line of headings, and whether a line of units follows it.

    Parameters
    ----------
    grid
        The sheet.
    place
        Of the headings among its rows, from 0.
    kind
        The roles.
    said
        What a person said.
    stated
        Roles that need no column, as a line above the headings states them.

    Raises
    ------
    BadInput
        When two columns mean the same, or one that is needed is missing; `field` is `column`.
    """
    rows = grid.rows
    titles = _grouped(grid, place, kind)
    columns = [_column(title, at, kind, said) for at, title in enumerate(titles)]
    columns = [_hidden(one, grid) for one in columns]
    start = place + 1
    united = _units_below(rows[start], columns, kind) if start < len(rows) else []
    columns = united or columns
    dated = "date" in stated or any(one.meaning == "date" for one in columns)
    if not dated and "date" in kind.roles:
        columns = _day_by_cells(columns, rows[start + bool(united) :])
    _once(columns, kind)
    _needed(columns, kind, stated)
    return tuple(columns), bool(united)


def _grouped(grid: Grid, place: int, kind: SheetKind) -> list[str]:
    """The headings, each with the group that stands above it in a line of its own."""
    titles = list(grid.rows[place].cells)
    if kind.group is None or not place:
        return titles
    above = grid.rows[place - 1]
    reach = {
        one.first_column: one.last_column
        for one in grid.merged
        if one.first_line <= above.line <= one.last_line
    }
    group, until = "", 0
    for at, title in enumerate(titles):
        cell = " ".join(above.cell(at).split())
        if cell:
            group = cell if kind.group(cell) else ""
            until = reach.get(at, len(titles))
        if group and at <= until and title.strip() and meaning_of(title, kind)[0] not in kind.roles:
            titles[at] = f"{group} {title.strip()}"
    return titles


def _column(title: str, place: int, kind: SheetKind, said: Said) -> NamedColumn:
    shown = plain(" ".join(title.split()))
    told = said.column(title, place)
    if told:
        if told.casefold() in (IGNORE, "-", "no", "nothing"):
            return NamedColumn(place, shown, IGNORE, "said by a person", said=True)
        meaning, unit = meaning_of(told, kind)
        if not meaning:
            raise BadInput(
                f"“{plain(told):.40}” is nothing that a column of {kind.name} can be. Name one of: "
                f"{', '.join(kind.roles)}, ignore.",
                field="column",
            )
        unit = unit or meaning_of(title, kind)[1]
        if kind.joined is not None:
            meaning = kind.joined(shown, meaning)
        return NamedColumn(place, shown, meaning, "said by a person", unit, said=True)
    if not shown:
        return NamedColumn(place, "", IGNORE, "no heading")
    if same(title) in PASSED_OVER:
        return NamedColumn(place, shown, IGNORE, "passed over")
    meaning, unit = meaning_of(title, kind)
    if meaning:
        return NamedColumn(place, shown, meaning, "by its heading", unit)
    return NamedColumn(place, shown, IGNORE, "not known")


def _hidden(one: NamedColumn, grid: Grid) -> NamedColumn:
    if one.place in grid.hidden_columns and not one.said and one.meaning != IGNORE:
        return replace(one, meaning=IGNORE, why="hidden in the file")
    return one


def header_place(grid: Grid, kind: SheetKind, said: Said) -> int:
    """Where the headings stand: the line with most that are known, above the first data.

    Parameters
    ----------
    grid
        The sheet.
    kind
        The roles.
    said
        What a person said, the line of the headings among it.

    Returns
    -------
    int
        Place among the rows, from 0.

    Raises
    ------
    BadInput
        When there is none; `field` is `column` or `header_line`.
    """
    if not grid.rows:
        raise BadInput("The sheet has no header line; nothing was brought in.")
    line = said.get("header_line")
    if line:
        for place, row in enumerate(grid.rows):
            if str(row.line) == line:
                return place
        raise BadInput(
            f"Line {plain(line):.10} of the sheet holds nothing, so it has no headings; nothing "
            "was brought in.",
            field="header_line",
        )
    best, at, rows = 1, -1, 0
    for place, row in enumerate(grid.rows[:_SEARCHED_LINES]):
        if has_data(row):
            rows += at >= 0
            if rows >= _ROWS_UNDER:
                break
            continue
        known = known_in(row, kind, said)
        if known > best:
            best, at, rows = known, place, 0
    if at < 0:
        raise BadInput(
            f"No line of the file has headings that {kind.name} are known by; nothing was brought "
            f"in. Head the columns with words such as: {', '.join(kind.needed or kind.roles)}.",
            field="column",
        )
    return at


def known_in(row: RawRow, kind: SheetKind, said: Said) -> int:
    """How many cells of a row would do as headings; none where no role is named among them.

    Parameters
    ----------
    row
        The row.
    kind
        The roles.
    said
        What a person said of headings.
    """
    meant = [
        meaning_of(cell, kind)[0] or said.column(cell, -1) for cell in row.cells if cell.strip()
    ]
    # A row of words may name parasites and ponds as well; it does not name a column of fish.
    return sum(map(bool, meant)) if any(one in kind.roles for one in meant) else 0


def _units_below(row: RawRow, columns: Sequence[NamedColumn], kind: SheetKind) -> list[NamedColumn]:
    """The columns with the units of a line of units; nothing where the line is none."""
    changed = list(columns)
    held = [(place, cell.strip("()[] ")) for place, cell in enumerate(row.cells) if cell.strip()]
    found = False
    for place, cell in held:
        if place >= len(columns):
            return []
        role = kind.roles.get(columns[place].meaning)
        unit = "" if role is None else _unit(cell, role)
        if unit:
            changed[place] = replace(columns[place], unit=columns[place].unit or unit)
            found = True
        elif cell not in ("-", "") and not ORDER_SAID.fullmatch(cell):
            return []
    return changed if found else []


def _day_by_cells(columns: list[NamedColumn], rows: Sequence[RawRow]) -> list[NamedColumn]:
    """The first column without a known heading whose cells are days."""
    for at, one in enumerate(columns):
        if one.meaning != IGNORE or one.said or one.why == "hidden in the file":
            continue
        held = [cell for row in rows if (cell := row.cell(one.place)).strip()]
        if held and sum(map(is_day, held)) * 10 >= len(held) * 6:
            day = replace(one, meaning="date", why="its cells are days")
            return [*columns[:at], day, *columns[at + 1 :]]
    return columns


def _once(columns: Sequence[NamedColumn], kind: SheetKind) -> None:
    for role, known in kind.roles.items():
        those = [one for one in columns if one.meaning == role]
        if len(those) > 1 and not known.many:
            titles = " and ".join(f"“{one.title:.30}”" for one in those[:2])
            raise BadInput(
                f"Two columns of the file mean {kind.label(role)}: {titles}; nothing was brought "
                "in. Keep one of them, or say which is to be ignored.",
                field="column",
            )


def _needed(columns: Sequence[NamedColumn], kind: SheetKind, stated: Collection[str]) -> None:
    there = {*stated, *(one.meaning for one in columns)}
    missing = [kind.label(role) for role in kind.needed if role not in there]
    if missing:
        raise BadInput(
            f"The file has no column {', '.join(missing)}; nothing was brought in. Head it so, or "
            "say which column it is.",
            field="column",
        )
