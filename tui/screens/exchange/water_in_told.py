"""What is told of one line of a water sheet: in the strip, and in full on a sheet of its own."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from store.text import day_said
from tui.screens.exchange.water_in_lines import (
    ASK,
    COLUMN,
    DOUBLE,
    KEPT,
    NOTHING,
    SAID,
    TROUBLE,
    Sheet,
    first_cells,
    kept_said,
)
from tui.screens.exchange.water_in_store import counted
from tui.widgets.literal import one_line
from tui.widgets.strip import Told

if TYPE_CHECKING:
    from store.exchange.columns import Guess, LeftOut, Question
    from store.exchange.plain.planned import Plan
    from store.exchange.water.doubled import Doubled
    from store.exchange.water.looked import Preview
    from store.exchange.water.rows import PlannedTest


_NAMED = 5
"""From so many ponds on they are counted before saving, not named."""


def before_saving(sheet: Sheet, plan: Plan[PlannedTest]) -> str:
    """Where tests would go and what stays out, asked before they are saved.

    Parameters
    ----------
    sheet
        What is shown.
    plan
        Of its tests.
    """
    met = {one.pond: sheet.pond(one) for one in plan.items}
    whose = "; ".join(met.values()) if len(met) < _NAMED else f"{len(met)} ponds"
    said = [f"To {whose}, in one action."]
    if plan.refused:
        rows = counted(len(plan.refused), "row")
        said.append(f"{rows} left out, with the reason, into a file beside it.")
    if sheet.preview.questions:
        said.append(f"{len(sheet.preview.questions)} left open; what hangs on it stays out.")
    return "\n".join(said)


def told(sheet: Sheet, key: object) -> Told | None:
    """What the strip tells of a line.

    Parameters
    ----------
    sheet
        What is shown.
    key
        Of the line.
    """
    preview = sheet.preview
    match key:
        case (str() as kind, _) if kind == TROUBLE and preview.trouble is not None:
            return Told(one_line(preview.trouble.message), "", "",
                        "Next: c shows the columns; enter on one says what it is.")  # fmt: skip
        case (str() as kind, int(at)) if kind == ASK and at < len(preview.questions):
            return _told_question(preview.questions[at])
        case (str() as kind, int(at)) if kind == SAID and at < len(sheet.answered):
            one = sheet.answered[at]
            return Told(one_line(one.question.text), one_line(f"Answered: {one.words}."), "",
                        "Next: enter answers otherwise.")  # fmt: skip
        case (str() as kind, _) if kind == KEPT and preview.kept is not None:
            day = day_said(preview.kept.said_at.astimezone(sheet.zone).date())
            return Told(
                one_line(f"Read as was said on {day} for {preview.kept.name}"),
                one_line(kept_said(preview)), "It has the same headings.",
                "Next: f takes the file afresh; a column can be said otherwise.",
            )  # fmt: skip
        case (str() as kind, _) if kind == COLUMN:
            column = sheet.column_of(key)
            return None if column is None else _told_column(preview, column)
    test = sheet.test_of(key)
    if test is not None:
        double = preview.doubled[key[1]] if isinstance(key, tuple) and key[0] == DOUBLE else None
        return _told_test(sheet, test, double)
    return _told_left(sheet, key)


def _told_question(one: Question) -> Told:
    labels = "; ".join(each.label for each in one.answers)
    need = "" if one.needed else "It may stay open; then those rows are left out."
    return Told(one_line(one.text), one_line(labels), need, "Next: enter answers.")


def _told_column(preview: Preview, one: Guess) -> Told:
    means = "not read" if one.meaning == "ignore" else f"taken for {one.words}"
    first = first_cells(preview, one)
    return Told(
        one_line(f"Column {one.column + 1}, “{one.title}”: {means}"),
        one_line(f"It begins: {first}" if first else "Its first cells are empty."),
        one_line(f"Why: {one.why}."),
        "Next: enter says what it is, and in which unit.",
    )


def _told_test(sheet: Sheet, test: PlannedTest, double: Doubled | None) -> Told:
    head = f"Line {test.line}, {sheet.when(test)}, {sheet.pond(test)}"
    if double is not None:
        return Told(one_line(f"{head}: passed over"), one_line(double.why),
                    one_line(test.words))  # fmt: skip
    return Told(
        one_line(head),
        one_line("; ".join(beside(test))),
        one_line(f"By {test.by}." if test.by else ""),
        one_line(f"Note: {test.test.note}" if test.test.note else ""),
    )


def _told_left(sheet: Sheet, key: object) -> Told | None:
    refused = sheet.refused_of(key)
    if refused is not None:
        cells = " · ".join(cell.strip() for cell in refused.cells if cell.strip())
        return Told(f"Line {refused.line} is left out", one_line(cells), "",
                    one_line(refused.reason))  # fmt: skip
    match key:
        case (str() as kind, int(at)) if kind == NOTHING:
            out: LeftOut = sheet.preview.left_out[at]
            return Told(one_line(f"Line {out.line} is {out.why}"), one_line(out.text))
    return None


def beside(test: PlannedTest) -> list[str]:
    """Each reading as it would be saved, with the heading and the cell it was read from.

    Parameters
    ----------
    test
        A test of the file.
    """
    from store.water.understood import shown

    return [
        f"{shown(reading)} ← {title} “{cell}”"
        for reading, (title, cell) in zip(test.test.readings, test.raw, strict=True)
    ]


def in_full(sheet: Sheet, key: object) -> tuple[str, str] | None:
    """Title and text of a line of the file that is told on a sheet of its own; else nothing.

    Parameters
    ----------
    sheet
        What is shown.
    key
        Of the line.
    """
    test = sheet.test_of(key)
    preview = sheet.preview
    if test is not None:
        lines = [f"{sheet.pond(test)}, {sheet.when(test)}", "", *beside(test), ""]
        lines += [f"Note: {test.test.note}"] if test.test.note else []
        lines += [f"In: {test.test.place}"] if test.test.place else []
        lines += [f"Taken by {test.by}"] if test.by else []
        if isinstance(key, tuple) and key[0] == DOUBLE:
            lines.insert(0, f"Passed over: {preview.doubled[key[1]].why}.")
        return f"Line {test.line}", "\n".join(lines).strip()
    refused = sheet.refused_of(key)
    if refused is not None:
        cells = _under_headings(preview.header, refused.cells)
        return f"Line {refused.line} is left out", "\n".join([refused.reason, "", *cells])
    match key:
        case (str() as kind, int(at)) if kind == NOTHING:
            out = preview.left_out[at]
            return f"Line {out.line} is no test", f"It is {out.why}.\n\n{out.text}"
        case (str() as kind, _) if kind == TROUBLE and preview.trouble is not None:
            return "What the columns are", preview.trouble.message
        case (str() as kind, _) if kind == KEPT and preview.kept is not None:
            text = f"{kept_said(preview)}.\n\nf takes the file afresh, without it."
            return f"As was said of {preview.kept.name}", text
    return None


def _under_headings(header: Sequence[str], cells: Sequence[str]) -> list[str]:
    return [
        f"{header[at]}: {cell}" if at < len(header) and header[at] else cell
        for at, cell in enumerate(cells)
        if cell.strip()
    ]
