"""What the page of a plan asks of the store: answers put in, sheets listed, the plan saved."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from store.errors import BadInput, PondroundError

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.exchange.columns import Question
    from store.exchange.looking.values import Asked, Looked
    from store.exchange.plain.planned import Done


def with_answer(asked: Asked, question: Question, value: str) -> Asked:
    """What was said of a file, with one more answer.

    Parameters
    ----------
    asked
        What was said before.
    question
        What was asked.
    value
        The answer, as the reader takes it.

    Raises
    ------
    BadInput
        The answer is none.
    """
    if question.field == "pond":
        return replace(asked, pond=value)
    if question.field == "year" and not (value.isdecimal() and 1900 <= int(value) <= 2200):
        raise BadInput(f"“{value:.20}” is no year. Write it in four figures.")
    return replace(asked, said=asked.said.answering(question, value))


def said_done(done: Done, added: str, beside: Path | None) -> str:
    """What was saved, in sentences.

    Parameters
    ----------
    done
        What was saved.
    added
        How many records, in words.
    beside
        The file of what was left out.
    """
    said = [f"{added} {'is' if done.added == 1 else 'are'} in the book."]
    if done.already:
        said.append(f"{done.already:,} there already, passed over.")
    if beside is not None:
        said.append(f"What was left out is in {beside.name}, with the reasons.")
    return " ".join(said)


def saved(book: Book, act: Act, looked: Looked) -> tuple[Done, Path | None]:
    """Save what is new, with the rows that are left out beside the file.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who brings the file in, and when.
    looked
        The file, with a plan.

    Returns
    -------
    tuple of Done, Path or None
        What was saved, and the file of what was left out.

    Raises
    ------
    BadInput, BookTrouble
        Nothing was saved.
    """
    from store.exchange.plain.planned import write_refused

    assert looked.plan is not None
    # Beside the file first: when that cannot be written, nothing is in the book without its rest.
    beside = write_refused(looked.plan)
    try:
        return looked.save(book, act), beside
    except PondroundError:
        if beside is not None:
            beside.unlink(missing_ok=True)
        raise


def sheets_of(path: Path) -> list[tuple[str, str]]:
    """The sheets of a workbook that hold something, with how many rows.

    Parameters
    ----------
    path
        The workbook.
    """
    from store.exchange.sheets import read_file

    return [
        (one.name, f"{len(one.rows):,} rows" + (", hidden" if one.hidden else ""))
        for one in read_file(path).grids
        if one.rows
    ]
