"""What is asked of a client list as a whole: where the names stand, lost zeros, which gallons."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from store.exchange.catch_up import addresses as postcodes
from store.exchange.catch_up import telephones as numbers
from store.exchange.catch_up.addresses import written
from store.exchange.catch_up.asking import HEADING, NAMES, Answers, Question, answered
from store.exchange.catch_up.list_columns import ListShape, column_named, first_row, letter
from store.exchange.catch_up.list_told import few_of, lines_of
from store.exchange.catch_up.listed import ListedClient
from store.exchange.catch_up.pond_asking import GALLONS, needs_gallons
from store.exchange.catch_up.pond_remarks import ProposedPond
from store.exchange.sheets import Grid

POSTCODES, TELEPHONES = "postcodes", "telephones"
"""Keys of the questions whether a zero was lost; one each for the file."""
_SHOWN = 5


def names_asked(grid: Grid, shape: ListShape, said: Answers) -> Iterable[Question]:
    """Whether the first row are headings, and which column holds the names.

    Parameters
    ----------
    grid, shape
        The sheet, and its layout as far as it is known.
    said
        What a person said so far.
    """
    first = first_row([row.cells for row in grid.rows])
    line = grid.rows[max(first, 0)].line
    if shape.headings_asked:
        few = ", ".join(f"“{cell:.30}”" for cell in shape.headings_asked[:_SHOWN])
        yield Question(
            HEADING, "heading", line, f"Is line {line} the headings of the list?",
            f"it says {few}; none of these is known as a heading",
            answered(said, HEADING, "heading"),
        )  # fmt: skip
    if not shape.names_among:
        return
    among = []
    for one in shape.names_among:
        cells = [
            row.cells[one.place].strip()
            for row in grid.rows[shape.header_at + 1 :]
            if one.place < len(row.cells) and row.cells[one.place].strip()
        ]
        title = f" “{one.heading:.30}”" if one.heading else ""
        shown = f"column {letter(one.place)}{title}: {few_of(cells):.60}"
        among.append((column_named(shape, one), shown))
    yield Question(
        NAMES, "names", line, "Which column holds the clients' names?",
        "no heading says it; where surnames and first names stand apart, say what each column "
        "means instead",
        "", None, (), (), tuple(among),
    )  # fmt: skip


def zeros(
    entries: Sequence[ListedClient], said: Answers
) -> tuple[list[ListedClient], list[Question], dict[int, str]]:
    """Zeros that a spreadsheet took from postcodes and telephones: asked once for the file.

    Parameters
    ----------
    entries
        The clients of the list.
    said
        What a person said so far.

    Returns
    -------
    tuple
        The entries with the zeros that a person put back, the questions, and by line what an entry
        waits for.
    """
    questions: list[Question] = []
    held: dict[int, str] = {}
    found = list(entries)
    codes = postcodes.lost_zero([address.postcode for one in entries for address in one.addresses])
    if codes:
        answer = answered(said, POSTCODES, "postcodes")
        lines = [one.line for one in entries if any(a.postcode in codes for a in one.addresses)]
        questions.append(
            Question(
                POSTCODES,
                "postcodes",
                lines[0],
                f"Did {few_of(codes)} lose the zero in front, as in 0{codes[0]}?",
                f"{len(lines)} of the list have four figures, the others five; spreadsheets drop "
                "a zero in front",
                answer,
            )
        )
        if answer == "zero":
            found = [_with_codes(one, codes) for one in found]
        elif answer in ("", "open"):
            held.update(dict.fromkeys(lines, POSTCODES))
    bare = numbers.lost_zero(tuple(phone for one in entries for phone in one.phones))
    if bare:
        answer = answered(said, TELEPHONES, "telephones")
        lines = [one.line for one in entries if any(phone in bare for phone in one.phones)]
        questions.append(
            Question(
                TELEPHONES,
                "telephones",
                lines[0],
                f"Did the numbers {few_of(bare)} lose the zero in front, as in 0{bare[0]}?",
                f"{len(lines)} of the list begin with none, most of the others do; spreadsheets "
                "drop a zero in front",
                answer,
            )
        )
        if answer == "zero":
            found = [
                replace(
                    one,
                    phones=tuple(f"0{phone}" if phone in bare else phone for phone in one.phones),
                )
                for one in found
            ]
        elif answer in ("", "open"):
            for line in lines:
                held.setdefault(line, TELEPHONES)
    return found, questions, held


def _with_codes(one: ListedClient, codes: Sequence[str]) -> ListedClient:
    def put_back(address: postcodes.ListedAddress) -> postcodes.ListedAddress:
        code = written(address.postcode)
        return replace(address, postcode=f"0{code}") if code in codes else address

    def placed(ponds: tuple[ProposedPond, ...]) -> tuple[ProposedPond, ...]:
        return tuple(
            pond if pond.place is None else replace(pond, place=put_back(pond.place))
            for pond in ponds
        )

    return replace(
        one,
        addresses=tuple(put_back(address) for address in one.addresses),
        ponds=placed(one.ponds),
        proposed=placed(one.proposed),
    )


def gallons_asked(entries: Sequence[ListedClient], said: Answers) -> list[Question]:
    """Which gallons the list means, where it has any.

    Parameters
    ----------
    entries
        The clients of the list.
    said
        What a person said so far.
    """
    lines = [one.line for one in entries if needs_gallons((*one.ponds, *one.proposed))]
    if not lines:
        return []
    typed = next(
        pond.volume_typed
        for one in entries
        for pond in (*one.ponds, *one.proposed)
        if pond.gallons is not None
    )
    return [
        Question(
            GALLONS, "gallons", lines[0],
            f"Which gallons does the list mean, as in “{typed}”?",
            f"a gallon is 3.785 L (US) or 4.546 L (UK); volumes in gallons: {lines_of(lines)}",
            answered(said, GALLONS, "gallons"),
        )
    ]  # fmt: skip
