"""What a person has to know of a medicine book before it is saved."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from store.book.ponds import PondCard
from store.courses.kept.written_withdrawal import Beside, barred_beside
from store.exchange.medicines.lines import BookLine
from store.text import day_said

_FEW = 5
NO_STOCK = "this book keeps no stock"


def told_of(
    lines: Sequence[BookLine],
    given: Sequence[BookLine],
    eaten: Sequence[tuple[BookLine, PondCard]],
    twice: Sequence[tuple[BookLine, str]] = (),
    otherwise: Sequence[BookLine] = (),
) -> list[str]:
    """Everything there is to tell: what came in, food fish, amounts without a unit, expired.

    Parameters
    ----------
    lines
        Every line of the file that was read.
    given
        What is new of what went out.
    eaten
        Of it, what was given at ponds whose fish are food, or of which nobody said.
    twice
        Of it, what was given on a day on which a dose was logged at that pond, with its product.
    otherwise
        Of it, what the book has of the same pond and day already, in other words.
    """
    return [
        *_barred(eaten), *_food(eaten), *_logged(twice), *_otherwise(otherwise), *_supposed(given),
        *_came_in(lines),
    ]  # fmt: skip


def _otherwise(those: Sequence[BookLine]) -> Iterator[str]:
    if those:
        yield (
            f"The book has the same medicine of the same pond and day in other words: "
            f"{_lines([one.line for one in those])}. If the file was corrected, strike the earlier "
            "entry through, or it stands twice."
        )


def _barred(eaten: Sequence[tuple[BookLine, PondCard]]) -> Iterator[str]:
    """What must not be overlooked: after some substances fish may never be food."""
    for line, card in eaten:
        for bar in barred_beside([Beside(line.on_day, line.note)]):
            yield (
                f"STOP: line {line.line} gives {line.product:.40} at {card.client.name}, "
                f"{card.pond.name}: after {bar.substance} fish may never be eaten, whatever the "
                "file says of a withdrawal."
            )


def _food(eaten: Sequence[tuple[BookLine, PondCard]]) -> Iterator[str]:
    food = [(line, card) for line, card in eaten if card.pond.use == "food"]
    open_ones = [line.line for line, _ in food if line.until is None]
    if open_ones:
        yield (
            f"Given to food fish without the day on which the withdrawal ends: {_lines(open_ones)}."
            " No day is made up: what the file says is kept in the note, and the fish are not for "
            "eating until somebody notes a last day."
        )
    not_asked = list(dict.fromkeys(
        f"{card.client.name}, {card.pond.name}" for _, card in eaten if card.pond.use == "not asked"
    ))  # fmt: skip
    if not_asked:
        named = "; ".join(not_asked[:_FEW]) + (" …" if len(not_asked) > _FEW else "")
        yield f"Nobody has said whether fish of these ponds may be eaten: {named}."


def _logged(twice: Sequence[tuple[BookLine, str]]) -> Iterator[str]:
    if twice:
        first, product = twice[0]
        yield (
            f"Doses were logged at the same pond on the same day under a course: "
            f"{_lines([line.line for line, _ in twice])} ({first.product:.40}, logged as "
            f"{product:.40} first). Look whether it is the same, and correct the file if it is."
        )


def _supposed(given: Sequence[BookLine]) -> Iterator[str]:
    if given:
        yield (
            "Amounts are kept in the words of the file and reckoned with by nothing: they belong "
            "to no course of this book."
        )
    if bare := [one.line for one in given if one.amount and not one.unit_said]:
        yield f"Amounts without a unit, kept as they stand: {_lines(bare)}."
    if unsaid := [one.line for one in given if not one.amount]:
        yield f"No amount is said: {_lines(unsaid)}."
    worded = [one for one in given if one.withdrawal and one.until is None]
    if worded:
        first = worded[0]
        yield (
            f"A withdrawal that is no day is kept in its words: "
            f"{_lines([one.line for one in worded])}, “{first.withdrawal:.40}” first."
        )
    if expired := [one for one in given if one.expired]:
        first = expired[0]
        yield (
            f"Given after its expiry: {_lines([one.line for one in expired])} "
            f"({first.product:.40}, {first.expiry:.20}, given on {day_said(first.on_day)})."
        )


def _came_in(lines: Sequence[BookLine]) -> Iterator[str]:
    came = [one for one in lines if one.way == "in"]
    if not came:
        return
    number = f"{len(came):,} {'line' if len(came) == 1 else 'lines'}"
    yield f"{number} of what came in, not kept, as {NO_STOCK}:"
    for one in came[:_FEW]:
        batch = f", batch {one.batch}" if one.batch else ""
        yield f"Line {one.line}, {day_said(one.on_day)}: {one.words}{batch}, came in."
    if len(came) > _FEW:
        yield f"So did {_lines([one.line for one in came[_FEW:]])}."


def _lines(lines: Sequence[int]) -> str:
    shown = ", ".join(map(str, lines[: 2 * _FEW])) + (" …" if len(lines) > 2 * _FEW else "")
    return f"{'line' if len(lines) == 1 else 'lines'} {shown}"
