"""What is told of a sheet of water tests: what was supposed, what was not read, what it lacks."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from store.errors import BadInput
from store.exchange.columns import Layout
from store.exchange.sheets import SheetFile
from store.exchange.water.reader import PlannedTest, RowReader
from store.text import plain
from store.water.parameters import PARAMETERS

_FEW = 5


def refuse_what_is_none(path: Path, layout: Layout) -> None:
    """Refuse a sheet whose columns are no water tests, or mean one thing twice.

    Parameters
    ----------
    path
        The file, for the sentence.
    layout
        The sheet laid out.

    Raises
    ------
    BadInput
        Saying what to do.
    """
    first = layout.sections[0]
    roles: dict[str, int] = {}
    for one in first.guesses:
        if one.block is None:
            roles[one.meaning] = roles.get(one.meaning, 0) + 1
    for role in ("pond", "client", "taken_at", "date", "time", "parameter", "value", "unit"):
        if roles.get(role, 0) > 1:
            raise BadInput(
                f"Two columns of the file mean {role.replace('_', ' ')}; nothing was brought in. "
                "Keep one of them, or say which is to be ignored.",
                field="column",
            )
    meanings = {one.meaning for one in first.guesses}
    if not {"date", "taken_at"} & meanings:
        raise BadInput(
            "The file has no column with days (date, taken_at); nothing was brought in. Name the "
            "columns in one line above the rows, or say which one it is.",
            field="column",
        )
    if not {"parameter", "value"} <= meanings and not {"reading", "note"} & meanings:
        raise BadInput(
            f"{plain(path.name)} has no column with a reading, so nothing was brought in. Head the "
            "columns with names such as temperature, pH, ammonia, KH, or say what they are.",
            field="column",
        )


def refuse_commas_for_both(file: SheetFile, layout: Layout) -> None:
    """Refuse commas between cells and within numbers: a row that fits would be read wrongly.

    Parameters
    ----------
    file
        The file.
    layout
        The sheet laid out.

    Raises
    ------
    BadInput
        When commas seem to be both.
    """
    if file.separator != ",":
        return
    rows = [(one, row) for one in layout.sections for row in one.rows]
    wide = sum(any(cell.strip() for cell in row.cells[one.width :]) for one, row in rows)
    point = any(
        "." in row.cell(guess.column)
        for one, row in rows
        for guess in one.guesses
        if guess.meaning == "reading"
    )
    if wide >= 2 and wide * 10 >= len(rows) * 3 and not point:
        raise BadInput(
            f"In {plain(file.path.name)} commas seem to part the cells and to be decimal marks as "
            "well, so no cell is certain; nothing was brought in. Save the sheet with semicolons "
            "or tabs, or as .xlsx."
        )


def not_read(layout: Layout) -> tuple[str, ...]:
    """The columns and lines that were not read.

    Parameters
    ----------
    layout
        The sheet laid out.
    """
    told = []
    names = [
        f"“{one.title:.40}”" + (f" ({one.why})" if "hidden" in one.why else "")
        for section in layout.sections
        for one in section.guesses
        if one.meaning == "ignore" and one.title and one.sure != "said" and one.why != "passed over"
    ]
    names = list(dict.fromkeys(names))
    if names:
        few = ", ".join(names[: _FEW + 1]) + (" …" if len(names) > _FEW + 1 else "")
        told.append(f"Not read, as the book keeps no such thing: {few}.")
    told.extend(
        f"Line {one.line} is {one.why}: “{one.text:.60}”." for one in layout.left_out[:_FEW]
    )
    if len(layout.left_out) > _FEW:
        more = [str(one.line) for one in layout.left_out[_FEW:]]
        shown = ", ".join(more[:20]) + (" …" if len(more) > 20 else "")
        told.append(f"So are {len(more)} further lines: {shown}.")
    return tuple(told)


def supposed(kept: Sequence[PlannedTest], reader: RowReader) -> tuple[str, ...]:
    """One sentence for each thing that had to be supposed.

    Parameters
    ----------
    kept
        The tests that would be saved.
    reader
        What read them.
    """
    told = []
    if reader.unit_supposed:
        units = ", ".join(
            f"{PARAMETERS[code].short} in {unit}"
            for code, unit in reader.unit_supposed.items()
            if unit
        )
        if units:
            told.append(f"Where the file names no unit, it was taken as: {units}.")
    unknown = sorted(
        {
            PARAMETERS[reading.parameter].short
            for one in kept
            for reading in one.test.readings
            if reading.form == "unknown"
        }
    )
    if unknown:
        told.append(
            f"Nobody has said as what the kit reports {', '.join(unknown)}: the readings are kept "
            "as ranges. State the kit of the pond, or name the form in the heading or for the "
            "column, as in “ammonia mg/L N”."
        )
    for word, sentence in (
        ("no time", "without a time of day: noon was supposed, and the note says so"),
        (
            "part of day",
            "with a word such as “am” for the time: the word stands in the note, with the hour "
            "that was supposed for it",
        ),
        ("twice", "in the hour that the clock showed twice: the first was supposed"),
    ):
        number = sum(one.told == word for one in kept)
        if number:
            told.append(f"{number} {'test' if number == 1 else 'tests'} {sentence}.")
    kits = [
        f"“{reader.kit_names[one]:.40}”"
        for one in dict.fromkeys(each.test.kit_id for each in kept)
        if one in reader.kit_names
    ]
    if kits:
        told.append(
            f"The tests are kept as made with {', '.join(kits)}, the kit stated for their pond. "
            "Where an owner used another, name it at the pond before saving."
        )
    return tuple(told)
