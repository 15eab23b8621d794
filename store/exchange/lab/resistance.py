"""Tables of resistance: what a germ is sensitive to, as the laboratory wrote it, beside results.

They stand under headings of their own, in the same sheet or another, one line an antimicrobial;
the letters S, I, R are kept with the sample they belong to, and no result is made of them.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from store.exchange.columns.words import same
from store.exchange.sheets import Grid, RawRow
from store.text import plain

_DRUG = frozenset(map(same, (
    "antibiotic", "antibiotics", "antimicrobial", "antimicrobials", "antimicrobial agent", "drug",
    "antibiotic agent", "antimicrobial substance", "antibiotikum", "antibiotika", "antibiogram",
    "antibiotique", "antibioticum", "wirkstoff", "disc", "disk", "agent tested",
)))  # fmt: skip
_OTHERS = {
    "letter": ("s/i/r", "sir", "s i r", "interpretation", "category", "susceptibility", "result",
               "sensitivity", "resistance", "interpretation (s/i/r)", "s/i/r interpretation",
               "bewertung"),
    "mic": ("mic", "mic mg/l", "mic (mg/l)", "mic µg/ml", "mhk", "cmi", "mic ug/ml"),
    "zone": ("zone", "zone mm", "zone (mm)", "zone diameter", "inhibition zone", "diameter",
             "hemmhof"),
    "sample": ("sample", "sample no", "sample number", "specimen", "sample id", "probe",
               "specimen no"),
    "case": ("case", "case number", "case no", "report", "report number", "report no",
             "lab ref"),
    "isolate": ("isolate", "organism", "bacterium", "germ", "species isolated", "keim", "strain"),
}  # fmt: skip
_ROLE_OF = {same(word): role for role, words in _OTHERS.items() for word in words}
_LETTERS = {
    "s": "S", "sensitive": "S", "susceptible": "S", "sensibel": "S", "sensible": "S",
    "i": "I", "intermediate": "I", "intermediär": "I", "intermédiaire": "I",
    "susceptible, increased exposure": "I",
    "r": "R", "resistant": "R", "résistant": "R",
}  # fmt: skip
_UNIT = re.compile(r"(?:mg/l|µg/ml|ug/ml|mm)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Tested:
    """One line: an antimicrobial, what is said of it, and whose germ it was."""

    row: RawRow
    drug: str
    letter: str
    amount: str
    sample: str
    case: str
    isolate: str

    @property
    def words(self) -> str:
        """Such as `oxytetracycline R (MIC 16 mg/L)`."""
        return f"{self.drug} {self.letter}".strip() + (f" ({self.amount})" if self.amount else "")


@dataclass(frozen=True, slots=True)
class Resistance:
    """The tables of a sheet: their lines, what cannot be read of them, and what is no line."""

    tested: tuple[Tested, ...]
    astray: tuple[tuple[RawRow, str], ...]
    told: tuple[str, ...]
    heads: tuple[RawRow, ...] = ()
    """The lines of headings, where the tables stand in the sheet of the results."""


def letter_of(cell: str) -> str:
    """S, I or R, as a cell says it; empty for anything else.

    Parameters
    ----------
    cell
        The cell.

    Examples
    --------
    >>> letter_of("resistant"), letter_of("(S)"), letter_of("pos")
    ('R', 'S', '')
    """
    return _LETTERS.get(plain(cell).strip(" ().*").casefold(), "")


def without_resistance(grid: Grid) -> tuple[Grid, Resistance]:
    """A sheet without its tables of resistance, and those tables.

    Parameters
    ----------
    grid
        The sheet.

    Returns
    -------
    tuple of Grid, Resistance
        A table ends with the next line of other headings, or after an empty line where what
        follows has no letter in its place.
    """
    heads = [place for place, row in enumerate(grid.rows) if is_head(grid, place, row)]
    if not heads:
        return grid, Resistance((), (), ())
    taken: set[int] = set()
    tested: list[Tested] = []
    astray: list[tuple[RawRow, str]] = []
    told: list[str] = []
    for number, head in enumerate(heads):
        end = heads[number + 1] if number + 1 < len(heads) else len(grid.rows)
        roles = _roles(grid, head)
        taken.add(head)
        if head and _is_title(grid.rows[head - 1]) and head - 1 not in taken:
            taken.add(head - 1)
        sample = case = ""
        for place in range(head + 1, end):
            row = grid.rows[place]
            held = [cell.strip() for cell in row.cells if cell.strip()]
            if len(held) == 1:
                taken.add(place)
                told.append(f"Line {row.line} is a footnote or title: “{plain(held[0]):.60}”.")
                continue
            if _other_headings(row, roles):
                break
            taken.add(place)
            at = {role: row.cell(where).strip() for where, role in roles.items()}
            sample, case = at.get("sample") or sample, at.get("case") or case
            lines, reason = _lines(grid, row, roles, at | {"sample": sample, "case": case}, head)
            tested += lines
            if reason:
                astray.append((row, reason))
    rest = tuple(row for place, row in enumerate(grid.rows) if place not in taken)
    headings = tuple(grid.rows[head] for head in heads)
    return replace(grid, rows=rest), Resistance(tuple(tested), tuple(astray), tuple(told), headings)


def is_head(grid: Grid, place: int, row: RawRow) -> bool:
    """Whether a line heads a table of resistance.

    Parameters
    ----------
    grid
        The sheet.
    place
        Of the line, counted from 0.
    row
        The line.
    """
    titles = {same(cell) for cell in row.cells if cell.strip()}
    if not titles & _DRUG:
        return False
    if titles & {word for word, role in _ROLE_OF.items() if role in ("letter", "mic", "zone")}:
        return True
    below = grid.rows[place + 1 : place + 4]
    return any(letter_of(cell) for row in below for cell in row.cells[1:])


def _roles(grid: Grid, head: int) -> dict[int, str]:
    roles: dict[int, str] = {}
    for place, cell in enumerate(grid.rows[head].cells):
        if same(cell) in _DRUG and "drug" not in roles.values():
            roles[place] = "drug"
        elif (role := _ROLE_OF.get(same(cell))) is not None and role not in roles.values():
            roles[place] = role
    return roles


def _lines(
    grid: Grid, row: RawRow, roles: dict[int, str], at: dict[str, str], head: int
) -> tuple[list[Tested], str]:
    drug = plain(at.get("drug", ""))
    if not drug:
        return [], "The row names no antimicrobial."
    whose = (plain(at.get("sample", "")), plain(at.get("case", "")), plain(at.get("isolate", "")))
    if "letter" in roles.values():
        letter = letter_of(at.get("letter", ""))
        if not letter and at.get("letter"):
            return [], f"“{plain(at['letter']):.40}” is none of S, I, R."
        amount = _amount(grid, roles, at, head)
        if not letter and not amount:
            return [], f"The row says nothing of {drug:.40}."
        return [Tested(row, drug, letter, amount, *whose)], ""
    # One column for each sample or germ, headed with its number.
    titles = grid.rows[head].cells
    found = []
    for place, cell in enumerate(row.cells):
        if place in roles or not cell.strip():
            continue
        letter = letter_of(cell)
        title = plain(titles[place].strip()) if place < len(titles) else ""
        if not letter:
            return [], f"“{plain(cell.strip()):.40}” is none of S, I, R."
        found.append(Tested(row, drug, letter, "", title or whose[0], *whose[1:]))
    amount = _amount(grid, roles, at, head)
    if amount and not found:
        found.append(Tested(row, drug, "", amount, *whose))
    return found, "" if found else f"The row says nothing of {drug:.40}."


def _amount(grid: Grid, roles: dict[int, str], at: dict[str, str], head: int) -> str:
    titles = grid.rows[head].cells
    said = []
    for place, role in roles.items():
        if role in ("mic", "zone") and at.get(role):
            unit = _UNIT.search(titles[place])
            shown = f" {unit[0]}" if unit is not None and not _UNIT.search(at[role]) else ""
            said.append(f"{'MIC' if role == 'mic' else 'zone'} {plain(at[role])}{shown}")
    return ", ".join(said)


def _is_title(row: RawRow) -> bool:
    held = [cell.strip() for cell in row.cells if cell.strip()]
    return len(held) == 1 and len(held[0]) > 3 and any(map(str.isalpha, held[0]))


def _other_headings(row: RawRow, roles: dict[int, str]) -> bool:
    """Words alone, with no letter where letters stand: the headings of something else."""
    held = [cell.strip() for cell in row.cells if cell.strip()]
    if any(letter_of(cell) or any(map(str.isdigit, cell)) for cell in held):
        return False
    return len(held) > 2 and "letter" in roles.values()
