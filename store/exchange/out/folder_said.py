"""What the README of a book's folder says, and its data dictionary."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime

from store.exchange.out.described import described, table_meaning, table_names
from store.exchange.out.folder import DICTIONARY, FORMAT, MANIFEST, PARAMETERS, file_of
from store.exchange.out.table_csv import Written
from store.paper.paper import one_line
from store.water.parameters import PARAMETERS as MEASURED

DICTIONARY_HEADER = (
    "table", "column", "meaning", "unit", "kind", "needed", "allowed", "points to",
)  # fmt: skip
PARAMETERS_HEADER = ("parameter", "meaning", "stored unit", "least possible", "most possible")

CELLS = """\
## How a cell is written

- The first line of each file names its columns, as they are called in the book. Names end in their
  unit (`depth_m`, `volume_l`, `temp_low_c`); where they do not, `{dictionary}` says it.
- UTF-8; cells are parted by commas, lines end in CR LF, a cell with a comma, a quote or a line end
  in it stands in double quotes, and a quote in it is doubled (RFC 4180).
- An empty cell means not known, or an empty text.
- Keys are UUIDs such as `0195c2f0-6a00-7cc3-98c4-dc0c0c07398f`. A column that ends in `_id` holds
  the key of a row of another table.
- Instants are UTC with their offset: `2026-03-14T07:30:00+00:00`, with milliseconds where there are
  any. Days are `2026-03-14`, times of day `07:30` on the practice's own clock.
- Numbers have a decimal point and no thousands; they are written so that the same number is read
  back, to the last digit.
- Yes and no are `yes` and `no`. Lists and named values are JSON.
- Texts stand as they are in the book. Pondround writes none in which a control character or a mark
  that turns the order of letters stands; where another program wrote some into the book they stand
  here too, so that the same book comes back. Look at such files with an editor.
- Passphrases are not written: their column is empty, and in a book made of these files everybody
  sets their own anew.

## Texts that look like formulas

A spreadsheet takes a cell that begins with `=`, `+`, `-` or `@` for a formula, and would run it.
So that such a text does nothing, it is marked with an apostrophe:

1. A text that begins with `=` `+` `-` `@` (or their wide forms `＝` `＋` `－` `＠`), also where
   quotes stand before that sign, with a blank, a tab or a line end, or with an apostrophe, gets one
   apostrophe in front.
2. Behind a tab, a line end or a semicolon within a text, one apostrophe is set where one of those
   signs follows, with or without blanks, quotes and apostrophes before it: a spreadsheet that parts
   cells there would begin a new cell.

To get the text back, take one apostrophe away in front of every text that begins with one, and one
behind every tab, line end and semicolon where one stands and then, behind any blanks, quotes and
apostrophes, one of those signs.
In JSON the sign behind a semicolon is written as `\\u003d` and the like, which every reader of JSON
turns back by itself. Numbers are never marked: a negative number stays a number.

A spreadsheet may still change what it shows, such as a telephone number to a number without its
noughts. Look at these files with one, but do not save them.
"""

HEAD = """\
# {practice}

The whole book of this practice as plain files, written by Pondround {version} on {written_at}.
Schema {schema}, shape {shape}, {rows:,} rows in {tables} tables.

These files hold names, addresses, telephone numbers and medical records of clients. Keep them as
carefully as the book itself.

- `tables/`: one file a table, every row of it, those that are struck through among them, with its
  key, its revision, who made and changed it and when. `tables/change.csv` is the log.
- `{dictionary}`: every column with its meaning, unit, kind, allowed values, and the table that it
  points at.
- `{parameters}`: what is measured, with the unit in which values are stored.
- `{manifest}`: rows, bytes and SHA-256 of every file.

## Back into a book

`pondround import book FOLDER --book NEW` makes a new book of this folder: the same keys, revisions,
people and times. It takes the folder as it was written; where a file was changed it says which and
brings nothing in. `--dry-run` only looks.

## For programs

`pondround export json FILE` writes the same as JSON, one object a line: first a line that says
what it is, then `{{"table": "pond", "row": {{"id": …}}}}` for each row. With `--table NAME` each
line is a row of that table. Texts are not marked there, and what is not known is null.
"""


def readme(
    practice: str,
    written_at: datetime,
    version: str,
    schema: int,
    tables: Mapping[str, Written],
) -> str:
    """The README of a folder.

    Parameters
    ----------
    practice
        Name of the practice.
    written_at
        When.
    version
        Of Pondround.
    schema
        Number of the book's tables.
    tables
        What was written.
    """
    head = HEAD.format(
        practice=_markdown(practice) or "A practice",
        version=version,
        written_at=written_at.strftime("%Y-%m-%d %H:%M UTC"),
        schema=schema,
        shape=FORMAT,
        rows=sum(one.rows for one in tables.values()),
        tables=len(tables),
        dictionary=DICTIONARY,
        parameters=PARAMETERS,
        manifest=MANIFEST,
    )
    listed = "\n".join(
        f"| `{file_of(name)}` | {tables[name].rows:,} | {table_meaning(name)} |"
        for name in sorted(tables)
    )
    what = f"## What the tables hold\n\n| file | rows | what |\n| --- | ---: | --- |\n{listed}\n"
    return f"{head}\n{CELLS.format(dictionary=DICTIONARY)}\n{what}"


def _markdown(text: str) -> str:
    return "".join(f"\\{sign}" if sign in "\\`*_[]<>#&|~" else sign for sign in one_line(text))


def dictionary_rows() -> Iterable[tuple[str, ...]]:
    """Every column of every table in words."""
    for name in sorted(table_names()):
        for one in described(name):
            yield (
                one.table, one.column, one.meaning, one.unit, one.kind,
                "yes" if one.needed else "no", one.allowed, one.points_to,
            )  # fmt: skip


def parameter_rows() -> Iterable[tuple[str, ...]]:
    """Everything that is measured, with its stored unit and what is possible at all."""
    for one in MEASURED.values():
        yield (
            one.code, one.label, one.unit or "none", f"{one.possible_low:g}",
            f"{one.possible_high:g}",
        )  # fmt: skip
