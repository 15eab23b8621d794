"""What a sheet of water tests leaves open, asked once for the whole file."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from datetime import date

from store.errors import BadInput, NotFound
from store.exchange.columns import (
    Answer,
    DayCell,
    Guess,
    Layout,
    Order,
    Question,
    Section,
    Shape,
    day_cell,
    order_of,
)
from store.exchange.columns.words import same
from store.exchange.plain.whose import PondNames
from store.exchange.water.cells import is_bare, is_ditto
from store.exchange.water.reader import called_pond, said_of_pond
from store.text import plain
from store.water.parameters import PARAMETERS
from store.water.understood import Doubt, KitForms, ReadingValue
from store.water.words import UNITS_OF

_UNITS = {
    "temperature_c": ("°C", "°F"),
    "alkalinity_mg_l": ("dKH", "mg/L CaCO3"),
    "hardness_mg_l": ("dGH", "mg/L CaCO3"),
    "salinity_g_l": ("g/L", "%", "ppm"),
    "conductivity_us_cm": ("µS/cm", "mS/cm"),
}
"""Parameters that people write in units so different that a number alone does not tell which."""
_WORD = {
    "temperature_c": "temperature", "alkalinity_mg_l": "alkalinity", "hardness_mg_l": "hardness",
    "salinity_g_l": "salinity", "conductivity_us_cm": "conductivity",
    "oxygen_mg_l": "dissolved oxygen",
}  # fmt: skip
_YEAR = re.compile(r"(?<![0-9])(?:19|20)[0-9]{2}(?![0-9])")
_MOST_YEARS = 4
_MOST_SHOWN = 8
_MOST_PONDS = 12


def days_of(layout: Layout) -> list[DayCell]:
    """Every cell of the sheet that can be read as a day, down the file.

    Parameters
    ----------
    layout
        The sheet laid out.
    """
    found = []
    for section in layout.sections:
        places = [one.column for one in section.guesses if one.meaning in ("date", "taken_at")]
        for row in section.rows:
            for place in places:
                with suppress(BadInput):
                    found.append(day_cell(row.cell(place)))
    return found


def open_questions(
    layout: Layout, shape: Shape, ponds: PondNames, today: date, *, pond_given: bool
) -> tuple[Order, list[str], list[Question]]:
    """The order of day and month, what is told of it, and all that has to be asked.

    Parameters
    ----------
    layout
        The sheet laid out.
    shape
        What a person said.
    ponds
        The ponds of the book.
    today
        The present day, for the years to choose from.
    pond_given
        A pond was named for the whole file.
    """
    days = days_of(layout)
    order = order_of(days, shape.order or layout.order_said)
    told = [order.told] if order.told else []
    if layout.order_said and not shape.order:
        told.append(f"A heading says that days are written as {layout.order_said}.")
    questions = [] if order.question is None else [order.question]
    questions.extend(_years(layout, days, shape, order.order, today))
    for section in layout.sections:
        questions.extend(_units(section))
        questions.extend(_given_twice(section))
        questions.extend(_ponds(section, shape, ponds, pond_given=pond_given))
    questions.extend(_blanks(layout, shape))
    once = {(one.field, one.about): one for one in reversed(questions)}
    return order.order, told, list(reversed(once.values()))


def _years(
    layout: Layout, days: list[DayCell], shape: Shape, order: Order, today: date
) -> Iterator[Question]:
    without = [one for one in days if not one.year and not (one.two_figures and order == "ymd")]
    if shape.year is not None or not without:
        return
    words = " ".join(" ".join(row.cells) for one in layout.sections for row in one.above)
    named = sorted({int(year) for year in _YEAR.findall(words)})
    years = [*named, *(today.year - back for back in range(_MOST_YEARS))]
    answers = [Answer(str(year), str(year)) for year in dict.fromkeys(years)]
    yield Question(
        "year",
        f"“{plain(without[0].cell):.30}” has no year. In which year does the file begin?",
        tuple(answers),
    )


def _units(section: Section) -> Iterator[Question]:
    """Columns without a unit whose numbers do not suit the usual one, or that mix units."""
    for one in section.guesses:
        heading = one.heading
        if heading is None or heading.unit or heading.parameter not in _WORD:
            continue
        usual = UNITS_OF[heading.parameter][0]
        cells = [row.cell(one.column).strip() for row in section.rows]
        bare = [cell for cell in dict.fromkeys(cells) if is_bare(cell)]
        unlike = [cell for cell in bare if isinstance(heading.read(cell, KitForms()), Doubt)]
        if unlike:
            said = f"and “{plain(unlike[0]):.20}” is unusual for the usual one"
            yield _unit_question(section, one, said)
            continue
        for cell in dict.fromkeys(cells) if bare else ():
            reading = None if is_bare(cell) else heading.read(cell, KitForms())
            if isinstance(reading, ReadingValue) and reading.unit not in (usual, "°", ""):
                said = f"and some of its cells do, such as “{plain(cell):.20}”"
                yield _unit_question(section, one, said)
                break


def _given_twice(section: Section) -> Iterator[Question]:
    """Two columns that give the same for one test, filled in the same rows: °F and °C."""
    if {"parameter", "value"} <= {one.meaning for one in section.guesses}:
        return
    firsts: dict[tuple[str, int | None], Guess] = {}
    for one in section.guesses:
        if one.heading is None:
            continue
        first = firsts.setdefault((one.heading.parameter, one.block), one)
        if first is one or not any(
            row.cell(first.column).strip() and row.cell(one.column).strip() for row in section.rows
        ):
            continue
        label = PARAMETERS[one.heading.parameter].label
        keys = [_key_of(section, each) for each in (first, one)]
        names = [_called(section, each) for each in (first, one)]
        yield Question(
            "column",
            f"The columns {names[0]} and {names[1]} both give {label}, and a test holds one of "
            "them. Which is to be read?",
            tuple(
                Answer("ignore", f"read {names[at]}, not {names[1 - at]}", keys[1 - at])
                for at in (0, 1)
            ),
            about=keys[1],
        )


def _key_of(section: Section, one: Guess) -> str:
    """By what a column is spoken of: its heading, or its number where the heading is not enough."""
    return one.title if one.title and not _twice(section, one) else str(one.column + 1)


def _called(section: Section, one: Guess) -> str:
    number = f" ({one.column + 1})" if _twice(section, one) else ""
    return f"“{one.title:.40}”{number}"


def _twice(section: Section, one: Guess) -> bool:
    """Whether another column of the same pond is headed alike, so that only its number tells."""
    return any(
        each is not one and same(each.title) == same(one.title) and each.block == one.block
        for each in section.guesses
    )


def _unit_question(section: Section, one: Guess, said: str) -> Question:
    parameter = one.heading.parameter if one.heading is not None else ""
    word = _WORD[parameter]
    answers = [Answer(f"{word} {unit}", f"{word} in {unit}") for unit in _UNITS.get(parameter, ())]
    if parameter == "oxygen_mg_l":
        answers = [
            Answer("dissolved oxygen mg/L", "oxygen in mg/L"),
            Answer("oxygen saturation %", "oxygen in % of saturation"),
        ]
    answers.append(Answer("ignore", "do not read this column"))
    return Question(
        "column",
        f"The column {_called(section, one)} names no unit, {said}. In which unit are its numbers?",
        tuple(answers),
        about=_key_of(section, one),
    )


def _ponds(
    section: Section, shape: Shape, ponds: PondNames, *, pond_given: bool
) -> Iterator[Question]:
    for block in section.blocks:
        said = next((shape.blocks[key] for key in block.keys if key in shape.blocks), block.name)
        if said == "ignore" or block.of_row or (said and _is_pond(ponds, said)):
            continue
        titles = ", ".join(
            f"“{one.title:.20}”" for one in section.guesses if one.block == block.number
        )
        about = block.name or str(block.number + 1)
        named = f"“{block.name:.40}”" if block.name else f"block {block.number + 1}"
        yield Question(
            "block",
            f"The columns {titles} belong to {named}. Which pond is that?",
            (Answer("ignore", "do not read these columns"),),
            about=about,
        )
    roles = {one.meaning for one in section.guesses}
    titled = bool(section.title) and _is_pond(ponds, section.title)
    yield from _named_in_rows(section, shape, ponds)
    by_row = not section.blocks or any(one.of_row for one in section.blocks)
    if by_row and "pond" not in roles and not pond_given and not titled:
        yield Question("pond", "The file has no column pond, so which pond is it?")


def _named_in_rows(section: Section, shape: Shape, ponds: PondNames) -> Iterator[Question]:
    """Names in a column of ponds by which the book knows none: an owner's own."""
    places = {
        role: [one.column for one in section.guesses if one.meaning == role]
        for role in ("pond", "client")
    }
    if len(places["pond"]) != 1 or len(places["client"]) > 1:
        return
    rows: dict[str, list[int]] = {}
    for row in section.rows:
        pond = row.cell(places["pond"][0]).strip()
        client = row.cell(places["client"][0]).strip() if places["client"] else ""
        if pond and not is_ditto(pond) and not is_ditto(client):
            rows.setdefault(called_pond(pond, client), []).append(row.line)
    unknown = [
        called for called in rows if not said_of_pond(shape, called) and not _is_pond(ponds, called)
    ]
    for called in unknown[:_MOST_PONDS]:
        number = len(rows[called])
        lines = f"{number} {'row is' if number == 1 else 'rows are'}"
        yield Question(
            "block",
            f"{lines} of “{plain(called):.60}” (line {rows[called][0]} first), and no pond of the "
            "book goes by that. Which pond is it?",
            (Answer("ignore", "leave those rows out"),),
            about=called,
            needed=False,
        )


def unusual_question(unusual: Mapping[str, int], said: str) -> tuple[Question, ...]:
    """Values that are unusual and possible, asked about together; nothing once it was answered.

    Parameters
    ----------
    unusual
        The values in words, with the first line of each.
    said
        `right`, `refuse` or nothing.
    """
    if said or not unusual:
        return ()
    few = ", ".join(f"{value} (line {line})" for value, line in list(unusual.items())[:_MOST_SHOWN])
    more = f" and {len(unusual) - _MOST_SHOWN} more" if len(unusual) > _MOST_SHOWN else ""
    if len(unusual) == 1:
        text = f"A value is unusual, though it can be: {few}. Is it right?"
        right = "right as it stands: save it"
    else:
        text = (
            f"{len(unusual)} values are unusual, though they can be: {few}{more}. Are they right?"
        )
        right = "right as they stand: save them"
    answers = (
        Answer("right", right),
        Answer("refuse", "leave those rows out, with the reason"),
    )
    return (Question("unusual", text, answers, needed=False),)


def kit_question(kit: str, unknown: Sequence[str], said: str) -> tuple[Question, ...]:
    """With which kit was tested, where no heading says as what a value is reported.

    Parameters
    ----------
    kit
        Name of the practice's kit; empty where it has none.
    unknown
        Short names of what stands without a form.
    said
        `practice`, `unknown` or nothing.
    """
    if said or not unknown or not kit:
        return ()
    text = (
        f"The sheet does not say as what {', '.join(unknown)} is reported. Was it tested with the "
        f"practice's kit “{plain(kit):.40}”?"
    )
    answers = (
        Answer("practice", "with the practice's kit"),
        Answer("unknown", "with another: such values are kept as ranges"),
    )
    return (Question("kit", text, answers, needed=False),)


def _is_pond(ponds: PondNames, name: str) -> bool:
    try:
        ponds.one(name)
    except (NotFound, BadInput):
        return False
    return True


def _blanks(layout: Layout, shape: Shape) -> Iterator[Question]:
    if shape.blank:
        return
    for section in layout.sections:
        for role, word in (("date", "day"), ("taken_at", "day"), ("pond", "pond")):
            places = [one.column for one in section.guesses if one.meaning == role]
            if len(places) != 1:
                continue
            blank = [row.line for row in section.rows if not row.cell(places[0]).strip()]
            if blank and len(blank) < len(section.rows):
                number = len(blank)
                yield Question(
                    "blank",
                    f"{number} {'row has' if number == 1 else 'rows have'} no {word} (line "
                    f"{blank[0]} first). Does a blank mean the same as above?",
                    (
                        Answer("same", "a blank means the same as above"),
                        Answer("none", "refuse those rows"),
                    ),
                    needed=False,
                )
                return
