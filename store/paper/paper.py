"""A sheet of paper: what stands on it, and the same as text or Markdown.

What is on a sheet is made by `owner_sheet` and `mix_paper`; `paper_pdf` prints it.
"""

from __future__ import annotations

import re
import textwrap
from dataclasses import dataclass
from datetime import date
from typing import Literal

from store.errors import BadInput
from store.paper.chart import Chart, chart_lines
from store.paper.table import Table, table_lines, table_markdown
from store.text import plain

Shape = Literal[
    "words", "points", "steps", "checks", "label", "facts", "blanks", "table", "chart"
]  # fmt: skip
"""Paragraphs, a list, a numbered list, a list with a box before each line to tick, a label in a
frame to cut out, lines of `Name: value`, what is to be filled in, with a rule to write on, a table
or a chart with its lines under it."""

WIDTH = 78
NARROWEST = 40
BOX = "[ ]"
RULE = "_" * 24
"""What is to be written on where the length of a line is not known."""
_FACT = ": "
_PARAGRAPHS = ("words", "table", "chart")
"""Shapes whose lines are paragraphs."""
_MARKDOWN = re.compile(r"([\\`*_\[\]<>#&|~])")
_OPENING = re.compile(r"^(\d{1,9})([.)])(?=\s|$)|^([-+=])")
_WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September",
           "October", "November", "December")  # fmt: skip


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a sheet: its heading and its lines. `level` 2 stands under the part before.

    In print, a part that `keeps` stays on one page with the parts of level 2 under it where they
    fit, and is named again where they do not; one that is `fresh` begins a page. `pictured` are
    further lines that stand only where charts are drawn, since they tell how to read the drawing.
    """

    title: str
    lines: tuple[str, ...]
    shape: Shape = "points"
    level: Literal[1, 2] = 1
    keeps: bool = False
    fresh: bool = False
    table: Table | None = None
    """Of the shape `table`."""
    chart: Chart | None = None
    """Of the shape `chart`."""
    pictured: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Paper:
    """A whole sheet. `head` are names and what they stand for; `foot` stands on every page.

    One that is for the `wall` is printed larger, so that it is read from a metre.
    """

    title: str
    head: tuple[tuple[str, str], ...]
    parts: tuple[Part, ...]
    foot: str
    written_on: date
    wall: bool = False


@dataclass(frozen=True, slots=True)
class Letterhead:
    """Who hands a sheet to whom: nothing else about a client stands on it.

    `vet`, `address` and `email` may be left empty; the others are asked for, since a sheet without
    a number to ring is of no use when fish are gasping.
    """

    practice: str
    telephone: str
    client: str
    pond: str
    vet: str = ""
    address: str = ""
    email: str = ""


def date_in_words(day: date) -> str:
    """A day as nobody can misread it, with its weekday.

    Parameters
    ----------
    day
        The day.

    Examples
    --------
    >>> date_in_words(date(2026, 3, 4))
    'Wednesday 4 March 2026'
    """
    return f"{_WEEKDAYS[day.weekday()]} {day.day} {_MONTHS[day.month - 1]} {day.year}"


def one_line(text: str) -> str:
    """Words on one line, without what could drive a terminal or a printer.

    Parameters
    ----------
    text
        Anything that was typed.

    Examples
    --------
    >>> one_line(" Mill\\n Lane ")
    'Mill Lane'
    """
    return plain(" ".join(text.split()))


def head_rows(letterhead: Letterhead, written_on: date) -> tuple[tuple[str, str], ...]:
    """The rows at the head of every sheet.

    Parameters
    ----------
    letterhead
        Who hands it to whom.
    written_on
        The day on which it is handed out.

    Raises
    ------
    BadInput
        The practice, its telephone, the client or the pond is not given.
    """
    rows = []
    for name, field, value in (
        ("For", "client", letterhead.client),
        ("Pond", "pond", letterhead.pond),
        ("From", "practice", letterhead.practice),
        ("Telephone", "telephone", letterhead.telephone),
    ):
        said = one_line(value)
        if not said:
            raise BadInput(f"The sheet needs the {field}. Nothing was written.", field=field)
        rows.append((name, said))
    rows += address_rows(letterhead.address, letterhead.email)
    if vet := one_line(letterhead.vet):
        rows.append(("Vet", vet))
    return (*rows, ("Written", date_in_words(written_on)))


def address_rows(address: str, email: str) -> list[tuple[str, str]]:
    """The rows of a head that tell where the practice is; none for what is empty.

    Parameters
    ----------
    address
        Of several lines, perhaps.
    email
        One address.

    Examples
    --------
    >>> address_rows("4 Weir Lane\\nAshbourne", "")
    [('Address', '4 Weir Lane, Ashbourne')]
    """
    told = ", ".join(filter(None, map(one_line, address.splitlines())))
    return [row for row in (("Address", told), ("E-mail", one_line(email))) if row[1]]


def as_text(paper: Paper, *, width: int = WIDTH) -> str:
    """The sheet as plain text, for a mail or a printer that knows nothing else.

    Parameters
    ----------
    paper
        The sheet.
    width
        Longest line, 40 or more [count].

    Raises
    ------
    BadInput
        The lines would be too short to read.
    """
    if width < NARROWEST:
        raise BadInput(f"Lines of {width} characters are too short to read.", field="width")
    lines = [*_wrapped(paper.title, width), "=" * min(width, len(paper.title)), ""]
    longest = max((len(name) for name, _ in paper.head), default=0)
    for name, value in paper.head:
        lines += _wrapped(value, width, f"{name}:".ljust(longest + 3))
    for part in paper.parts:
        lines += ["", *(_wrapped(part.title, width) if part.title else ())]
        if part.level == 1 and part.title:
            lines += ["-" * min(width, len(part.title))]
        if part.table is not None:
            lines += table_lines(part.table, width)
        if part.chart is not None:
            lines += [short for line in chart_lines(part.chart) for short in _wrapped(line, width)]
        if part.shape == "label":
            lines += _framed(part.lines, width)
            continue
        if part.shape == "facts":
            lines += _told(part.lines, width)
            continue
        if part.shape == "blanks":
            lines += [short for line in part.lines for short in _blank(line, width)]
            continue
        for number, line in enumerate(part.lines, start=1):
            lines += _wrapped(line, width, _mark(part.shape, number))
    return "\n".join([*lines, "", *_wrapped(paper.foot, width)]) + "\n"


def as_markdown(paper: Paper) -> str:
    """The sheet as Markdown, in which names and notes are words and never marks.

    Parameters
    ----------
    paper
        The sheet.
    """
    blocks = [f"# {escaped(paper.title)}"]
    blocks += ["\n".join(f"- **{escaped(name)}:** {escaped(value)}" for name, value in paper.head)]
    for part in paper.parts:
        if part.title:
            blocks.append(f"{'#' * (part.level + 1)} {escaped(part.title)}")
        if part.table is not None:
            blocks.append(table_markdown(_escaped_cells(part.table)))
        if part.chart is not None:
            blocks += [escaped(line) for line in chart_lines(part.chart)]
        if part.shape in _PARAGRAPHS:
            blocks += [escaped(line) for line in part.lines]
        elif part.shape == "label":
            blocks.append("\n>\n".join(f"> {escaped(line)}" for line in part.lines))
        elif part.lines:
            blocks.append(
                "\n".join(
                    f"{number}. {escaped(line)}" if part.shape == "steps"
                    else f"- {BOX} {escaped(line)}" if part.shape == "checks"
                    else _marked_fact(line) if part.shape == "facts"
                    else f"- {escaped(f'{line} {RULE}')}" if part.shape == "blanks"
                    else f"- {escaped(line)}"
                    for number, line in enumerate(part.lines, start=1)
                )
            )  # fmt: skip
    return "\n\n".join([*blocks, "---", escaped(paper.foot)]) + "\n"


def escaped(text: str) -> str:
    """One line of words, safe in Markdown: whatever stands in it is shown as it is.

    Parameters
    ----------
    text
        The words.

    Examples
    --------
    >>> escaped("Pond *A* <b>")
    'Pond \\\\*A\\\\* \\\\<b\\\\>'
    >>> escaped("3. pond")
    '3\\\\. pond'
    """
    marked = _MARKDOWN.sub(r"\\\1", " ".join(text.split()))
    return _OPENING.sub(lambda found: f"{found[1] or ''}\\{found[2] or found[3]}", marked)


def _escaped_cells(table: Table) -> Table:
    return Table(
        tuple(map(escaped, table.columns)),
        tuple(tuple(map(escaped, row)) for row in table.rows),
        table.right,
    )


def _mark(shape: Shape, number: int) -> str:
    if shape == "steps":
        return f"{number:2d}. "
    return {"points": "- ", "checks": f"{BOX} "}.get(shape, "")


def fact(line: str) -> tuple[str, str]:
    """The name and the value of a line of `Name: value`; the name is empty where it has none.

    Parameters
    ----------
    line
        The line; what follows the first colon and blank is the value.

    Examples
    --------
    >>> fact("Way in: gate code: 4711"), fact("no name")
    (('Way in', 'gate code: 4711'), ('', 'no name'))
    """
    name, mark, value = line.partition(_FACT)
    return (name, value) if mark else ("", line)


def _told(lines: tuple[str, ...], width: int) -> list[str]:
    facts = [fact(line) for line in lines]
    longest = max((len(name) for name, _ in facts), default=0)
    return [
        short
        for name, value in facts
        for short in _wrapped(value, width, (f"{name}:" if name else "").ljust(longest + 2))
    ]


def _blank(line: str, width: int) -> list[str]:
    """The words with a rule behind them to the end of the line, or on the next one."""
    *before, last = _wrapped(line, width) if line else [""]
    room = width - len(last) - bool(last)
    if room < NARROWEST // 4:
        return [*before, last, "_" * width]
    return [*before, f"{last} {'_' * room}".lstrip()]


def _marked_fact(line: str) -> str:
    name, value = fact(line)
    return f"- **{escaped(name)}:** {escaped(value)}" if name else f"- {escaped(value)}"


def _framed(lines: tuple[str, ...], width: int) -> list[str]:
    inside = [short for line in lines for short in _wrapped(line, width - 4)]
    longest = max(map(len, inside), default=0)
    edge = f"+{'-' * (longest + 2)}+"
    return [edge, *(f"| {line.ljust(longest)} |" for line in inside), edge]


def _wrapped(text: str, width: int, mark: str = "") -> list[str]:
    return textwrap.wrap(
        text,
        width,
        initial_indent=mark,
        subsequent_indent=" " * len(mark),
        break_on_hyphens=False,
    ) or [mark.rstrip()]
