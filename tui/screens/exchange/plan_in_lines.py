"""What a file would bring in words: the lines of its preview, and what the strip tells of each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from rich.text import Text

from tui.widgets.columns import Column
from tui.widgets.grid import Row
from tui.widgets.literal import one_line
from tui.widgets.strip import Told

if TYPE_CHECKING:
    from store.exchange.columns import Question
    from store.exchange.looking.values import Looked, PlanLine
    from store.exchange.plain.planned import Plan, Refused

COLUMNS = (
    Column("state", "State", 5),
    Column("line", "Line", 6, align="right", drop_order=1),
    Column("when", "Day", 11, drop_order=2),
    Column("whose", "Whose", 18, weight=2),
    Column("what", "What", 22, weight=3),
)
ASK, REFUSED, NEW = "ask", "refused", "new"
"""The three kinds of lines; a key is one of them with the place among its like."""
Key = tuple[str, int]


def rows_of(looked: Looked, asked: tuple[Question, ...], said: Mapping[str, str]) -> list[Row]:
    """What is asked first, then every row of the file in its order.

    Parameters
    ----------
    looked
        The file.
    asked
        What is asked, and what was answered.
    said
        The words of answers, by `key_of`.
    """
    rows = [_asked_row(at, one, said.get(key_of(one), "")) for at, one in enumerate(asked)]
    plan = looked.plan
    if plan is None:
        return rows
    lines: list[tuple[int, Row]] = [
        (one.line, _refused_row(at, one)) for at, one in enumerate(plan.refused)
    ]
    lines += [(one.line, _new_row(at, one)) for at, one in enumerate(looked.lines)]
    lines.sort(key=lambda each: each[0])
    return [*rows, *(row for _, row in lines)]


def key_of(question: Question) -> str:
    """What tells the questions of a file apart."""
    return f"{question.field} {question.about}"


def _asked_row(at: int, one: Question, answer: str) -> Row:
    state = _styled("said", "quiet") if answer else _styled("ask", "watch")
    about = answer or one.about or "the whole file"
    return Row((ASK, at), (state, "", "", one_line(about), one_line(one.text)))


def _new_row(at: int, one: PlanLine) -> Row:
    return Row(
        (NEW, at),
        (_styled("new"), str(one.line), one.when, one_line(one.whose), one_line(one.what)),
    )


def _refused_row(at: int, one: Refused) -> Row:
    cells = ", ".join(cell.strip() for cell in one.cells if cell.strip())
    return Row(
        (REFUSED, at),
        (_styled("left", "act"), str(one.line), "", one_line(cells), one_line(one.reason)),
    )


def _styled(text: str, style: str = "") -> Text:
    return Text.assemble((text, style), end="") if style else Text(text, end="")


def state_said(looked: Looked, one: str, many: str, saved: str = "") -> str:
    """How much would be saved, is there, is left out and is asked, in one line.

    Parameters
    ----------
    looked
        The file.
    one, many
        What its records are called.
    saved
        How many of them were saved by now, in words.
    """
    asked = len(looked.questions)
    said = [f"{asked} asked"] if asked else []
    plan = looked.plan
    if plan is None:
        return "   ".join([*said, "nothing is read before that is answered"])
    new = len(plan.items)
    if saved:
        said.insert(0, f"{saved} saved")
    if new or not saved:
        said.insert(0, f"{new:,} {one if new == 1 else many} to save")
    if plan.already:
        said.append(f"{plan.already:,} there already")
    if plan.refused:
        said.append(f"{len(plan.refused):,} left out")
    if stops := stops_of(plan):
        said.insert(0, f"{len(stops)} STOP: t")
    if plan.told:
        said.append(f"{len(plan.told)} remark{'' if len(plan.told) == 1 else 's'}")
    return "   ".join(said)


def stops_of(plan: Plan[object]) -> list[str]:
    """The remarks that nobody may overlook before a file is saved.

    Parameters
    ----------
    plan
        What the file would bring.
    """
    return [one for one in plan.told if one.startswith("STOP")]


def told(
    looked: Looked, asked: tuple[Question, ...], said: Mapping[str, str], key: object
) -> Told | None:
    """What the strip tells of a line of the preview.

    Parameters
    ----------
    looked
        The file.
    asked
        What is asked, and what was answered.
    said
        The words of answers, by `key_of`.
    key
        Of the line.
    """
    match key:
        case (str() as kind, int(at)) if kind == ASK and at < len(asked):
            one = asked[at]
            if answer := said.get(key_of(one)):
                return Told(
                    one_line(one.text), "", "", one_line(f"Said: {answer}. Enter changes it.")
                )
            labels = "; ".join(each.label for each in one.answers)
            need = "" if one.needed else "It may stay open; then rows without it are left out."
            return Told(one_line(one.text), one_line(labels), need, "Next: enter answers.")
        case (str() as kind, int(at)) if kind == NEW and at < len(looked.lines):
            line = looked.lines[at]
            head = ", ".join(filter(None, (f"Line {line.line}", line.when, line.whose, line.what)))
            facts = "; ".join(f"{name} {value}" for name, value in line.facts)
            return Told(one_line(head), one_line(facts))
        case (str() as kind, int(at)) if kind == REFUSED and looked.plan is not None:
            refused = looked.plan.refused[at]
            return Told(
                one_line(f"Line {refused.line} is left out"),
                one_line("; ".join(_cells(looked.plan, refused))),
                "",
                one_line(refused.reason),
            )
    return None


def in_full(looked: Looked, key: object) -> tuple[str, str] | None:
    """The title and the whole text of a row that is new or left out.

    Parameters
    ----------
    looked
        The file.
    key
        Of its line.
    """
    match key:
        case (str() as kind, int(at)) if kind == NEW and at < len(looked.lines):
            line = looked.lines[at]
            head = [one for one in (line.when, line.whose, line.what) if one]
            return f"Line {line.line}", "\n".join(
                [*head, *(f"{name}: {value}" for name, value in line.facts)]
            )
        case (str() as kind, int(at)) if kind == REFUSED and looked.plan is not None:
            refused = looked.plan.refused[at]
            return f"Line {refused.line} is left out", "\n".join(
                [refused.reason, "", *_cells(looked.plan, refused)]
            )
    return None


def _cells(plan: Plan[object], refused: Refused) -> list[str]:
    """The cells of a refused row as they stand in the file, each under its heading."""
    header = plan.header
    return [
        f"{header[at]}: {cell}" if at < len(header) and header[at] else cell
        for at, cell in enumerate(refused.cells)
        if cell.strip()
    ]
