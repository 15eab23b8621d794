"""A file whose columns nobody knows: a person says what they are, one after the other."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from tui.screens.exchange.plan_answer import Answers
from tui.screens.parts.dialogs import Choose, Option
from tui.widgets.literal import cut, one_line

if TYPE_CHECKING:
    from store.exchange.columns import Answer
    from store.exchange.looking.headings import HeadLine
    from store.exchange.looking.values import Asked
    from tui.app import PondroundApp

_OTHER_LINE = "another line"
_CELLS = 44


async def said_of_columns(
    app: PondroundApp, path: Path, asked: Asked, why: str, meanings: Sequence[Answer]
) -> Asked | None:
    """What was said of a file, with one more column, or with the line of its headings.

    Within a worker of a screen.

    Parameters
    ----------
    app
        The application.
    path
        The file.
    asked
        What was said before.
    why
        Why the file cannot be read, in a sentence.
    meanings
        What a column may be.

    Returns
    -------
    Asked or None
        None where it was left.
    """
    from store.exchange.looking.headings import head_lines

    lines = await app.ask_store(head_lines, path, asked.sheet)
    if not lines:
        return None
    stated = asked.said.get("header_line")
    head = next((one for one in lines if str(one.line) == stated), lines[0])
    chosen = await app.push_screen_wait(
        Answers("Which column is which?", why, _options(head, asked, meanings), start=None)
    )
    if chosen is None:
        return None
    if chosen == _OTHER_LINE:
        options = [
            Option(str(one.line), f"line {one.line}: {cut(_row_said(one.cells), _CELLS)}")
            for one in sorted(lines, key=lambda one: one.line)
        ]
        line = await app.push_screen_wait(Choose("On which line are the headings?", options))
        return asked if line is None else _with(asked, {"header_line": str(line)})
    title = next(each for about, each, _ in _columns(head) if about == chosen)
    means = await app.push_screen_wait(
        Choose(f"What is the column “{title:.40}”?", [Option(one.value, one.label)
                                                     for one in meanings])
    )  # fmt: skip
    if means is None:
        return asked
    from store.exchange.columns.said import key_of

    key = key_of("column", str(chosen))
    return _with(asked, {"header_line": str(head.line), key: str(means)})


def _with(asked: Asked, answers: dict[str, str]) -> Asked:
    from store.exchange.columns.said import Said

    return replace(asked, said=Said({**asked.said.answers, **answers}))


def _options(head: HeadLine, asked: Asked, meanings: Sequence[Answer]) -> list[Option]:
    labels = {one.value: one.label for one in meanings}
    options = []
    for place, (about, title, below) in enumerate(_columns(head)):
        said = asked.said.column(about, place)
        note = f"is {labels.get(said, said)}" if said else f"such as {below}" if below else ""
        options.append(Option(about, title, one_line(note)))
    options.append(Option(_OTHER_LINE, f"the headings are not on line {head.line} …"))
    return options


def _columns(head: HeadLine) -> list[tuple[str, str, str]]:
    """By what each column goes when something is said of it, its heading, a cell below."""
    often = Counter(cell.casefold() for cell in head.cells)
    found = []
    for place, cell in enumerate(head.cells):
        below = head.below[place] if place < len(head.below) else ""
        if cell or below:
            alone = bool(cell) and often[cell.casefold()] == 1
            found.append((cell if alone else str(place + 1), cell or f"column {place + 1}", below))
    return found


def _row_said(cells: Sequence[str]) -> str:
    return one_line(" | ".join(cell for cell in cells if cell))
