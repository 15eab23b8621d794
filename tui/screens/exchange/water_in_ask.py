"""What a sheet of water tests leaves open, asked in dialogs: answers, ponds, years, columns."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import replace
from typing import TYPE_CHECKING
from uuid import UUID

from textual.app import ComposeResult
from textual.widgets import OptionList

from store.errors import BadInput
from tui.screens.exchange.plan_answer import WhichPond
from tui.screens.parts.dialogs import AskReason, Choose, Option, Reason
from tui.widgets.literal import literal
from tui.widgets.reading import Reading
from tui.widgets.static import Static

if TYPE_CHECKING:
    from collections.abc import Mapping

    from store.book.book import Book
    from store.exchange.columns import Guess, Question, Shape
    from tui.app import PondroundApp

_POND, _YEAR, _BACK = "a pond of the book …", "another year …", "as the file says"
_ROWS_BESIDE = 16
_TITLES = {
    "order": "In which order are its days?", "year": "Of which year are its days?",
    "blank": "What does a blank mean?", "unusual": "Unusual values", "pond": "Which pond?",
    "kit": "With which kit?",
    "block": "Which pond is meant?", "column": "What is in this column?",
}  # fmt: skip


class Answers(Choose):
    """A question in full over its answers.

    Parameters
    ----------
    title
        A few words.
    text
        What is asked.
    options
        The answers.
    start
        The answer on which the cursor stands at first.
    """

    QUESTION = "What does the file leave open?"
    ABOUT = (
        "It is asked because the file does not say it, and nobody may guess. A digit or enter "
        "answers for the whole file, and the answer can be changed until F2 saves. What holds for "
        "the next file with the same headings as well is remembered then. Esc leaves it open."
    )

    def __init__(
        self, title: str, text: str, options: list[Option], *, start: Hashable | None = None
    ) -> None:
        super().__init__(title, options, start=start)
        self._text = text

    def content(self) -> ComposeResult:
        """The question over its answers."""
        with Reading(id="message"):
            yield Static(literal(self._text))
        yield from super().content()

    def on_mount(self) -> None:
        """The answers take what the question leaves."""
        room = max(3, self.app.size.height - _ROWS_BESIDE)
        self.query_one(OptionList).styles.max_height = room


async def answer_to(
    app: PondroundApp,
    question: Question,
    ponds: Mapping[UUID, str],
    *,
    before: str = "",
    proposed: tuple[str, str] | None = None,
) -> tuple[str, str, str] | None:
    """A person's answer: as the reader takes it, in words, and the column it is said of.

    Within a worker of a screen.

    Parameters
    ----------
    app
        The application.
    question
        What is asked.
    ponds
        The ponds of the book by their keys.
    before
        What was answered before, as the reader took it.
    proposed
        The pond of an earlier file, as it was said then, and that file.

    Returns
    -------
    tuple of str, str, str or None
        None where it was left open.
    """
    of_a_pond = question.field in ("pond", "block")
    options = [
        Option(at, one.label)
        for at, one in enumerate(question.answers)
        if question.field != "pond" or one.value != "ignore"
    ]
    start: Hashable | None = next(
        (at for at, one in enumerate(question.answers) if one.value == before), None
    )
    if proposed is not None and proposed[0] == "ignore":
        # What was left out of the last file is no name: the cursor stands on that answer.
        ignore = (at for at, one in enumerate(question.answers) if one.value == "ignore")
        start, proposed = next(ignore, start) if start is None else start, None
    if proposed is not None:
        named = _named(ponds, proposed[0])
        options.insert(0, Option("proposed", named, f"as for {proposed[1]}"))
        start = "proposed" if start is None else start
    if of_a_pond:
        options.insert(0 if proposed is None else 1, Option(_POND, _POND))
    if question.field == "year":
        options.append(Option(_YEAR, _YEAR))
    chosen: Hashable | None = _POND
    if options != [Option(_POND, _POND)]:
        title = _TITLES.get(question.field, "What the file leaves open")
        chosen = await app.push_screen_wait(Answers(title, question.text, options, start=start))
    match chosen:
        case None:
            return None
        case "proposed" if proposed is not None:
            return proposed[0], _named(ponds, proposed[0]), ""
        case str() if chosen == _POND:
            begin = await app.ask_store(_begins, app.book, question.about)
            line = await app.push_screen_wait(WhichPond(question.text, begin))
            if line is None:
                return None
            return str(line.pond_id), f"{line.client}, {line.pond}", ""
        case str():
            typed = await app.push_screen_wait(
                AskReason(_TITLES["year"], question.text, accept="Take it")
            )
            return (typed.text.strip(), typed.text, "") if isinstance(typed, Reason) else None
        case int(at):
            one = question.answers[at]
            return one.value, one.label, one.about
    return None


def _begins(book: Book, about: str) -> str:
    """What stands in the line at first: the file's own name, where it finds a pond."""
    from store.book.find import find

    if about.isdigit() or not any(one.kind == "pond" for one in find(book, about)):
        return ""
    return about


def _named(ponds: Mapping[UUID, str], said: str) -> str:
    """A pond as it was said for an earlier file: by its key, or a code or name."""
    try:
        return ponds.get(UUID(said), said)
    except ValueError:
        return said


def with_answer(shape: Shape, question: Question, value: str, about: str = "") -> Shape:
    """What was said of a sheet, with one more answer.

    Parameters
    ----------
    shape
        What was said before.
    question
        What was asked; not the pond of the whole file, which is no part of the shape.
    value
        The answer, as the reader takes it.
    about
        The column it is said of, where that is another than the question's.

    Raises
    ------
    BadInput
        The answer is none.
    """
    match question.field:
        case "order":
            return replace(shape, order=value)
        case "blank":
            return replace(shape, blank=value)
        case "unusual":
            return replace(shape, unusual=value)
        case "kit":
            return replace(shape, kit=value)
        case "block":
            key = question.about
            return replace(shape, blocks={**shape.blocks, key: value})
        case "year":
            if not (value.isdecimal() and 1900 <= int(value) <= 2200):
                raise BadInput(f"“{value:.20}” is no year. Write it in four figures.")
            return replace(shape, year=int(value))
        case _:
            return with_column(shape, about or question.about, value)


def with_column(shape: Shape, key: str, what: str) -> Shape:
    """What was said of a sheet, with what a column is; without `what` that is taken back.

    Parameters
    ----------
    shape
        What was said before.
    key
        The heading of the column, or its number counted from 1.
    what
        As for `Shape.columns`; empty to take back what was said.
    """
    from store.exchange.columns.words import same

    columns = {one: said for one, said in shape.columns.items() if one != same(key)}
    return replace(shape, columns={**columns, same(key): what} if what else columns)


async def meaning_of(app: PondroundApp, column: Guess, first: str, *, said: bool) -> str | None:
    """What a person says that a column is, as for `Shape.columns`; empty takes back what was said.

    Within a worker of a screen.

    Parameters
    ----------
    app
        The application.
    column
        As it is taken now.
    first
        Its first cells.
    said
        Something was said of it now, which can be taken back.

    Returns
    -------
    str or None
        None where it was left as it is.
    """
    from store.exchange.columns.meanings import meanings, units_of

    now = column.heading.parameter if column.heading is not None else column.meaning
    means = "not read" if column.meaning == "ignore" else column.words
    text = f"Taken for: {means} ({column.why})."
    text += f"\nIts first cells: {first}" if first else ""
    options = [Option(one.value, one.label) for one in meanings()]
    if said:
        options.insert(0, Option(_BACK, _BACK, "take back what was said"))
    title = f"Column {column.column + 1}, “{column.title:.40}”: what is it?"
    chosen = await app.push_screen_wait(Answers(title, text, options, start=now))
    if chosen is None or chosen == _BACK:
        return None if chosen is None else ""
    units = units_of(str(chosen))
    if len(units) == 1:
        return units[0].value
    unit = await app.push_screen_wait(
        Answers(f"“{column.title:.40}”: in which unit?", text,
                [Option(one.value, one.label) for one in units])
    )  # fmt: skip
    return None if unit is None else str(unit)
