"""A paper as a file: text, Markdown or PDF, with a name that every system takes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal, get_args

from store.book.find import folded
from store.errors import BadInput
from store.paper.paper import Paper, as_markdown, as_text
from store.paper.pdf import Format, as_pdf

PaperShape = Literal["text", "markdown", "pdf"]
SHAPES: tuple[PaperShape, ...] = get_args(PaperShape)
ENDINGS: dict[PaperShape, str] = {"text": "txt", "markdown": "md", "pdf": "pdf"}
PAGES: tuple[Format, ...] = get_args(Format)
_LONGEST_NAME = 40


@dataclass(frozen=True, slots=True)
class ReportFile:
    """A file with the name that is proposed for it, and what a person should know of it."""

    name: str
    data: bytes
    said: str


def report_file(
    paper: Paper, shape: PaperShape, kind: str, of: str, day: date, *, page: Format = "A4"
) -> ReportFile:
    """A paper in one shape.

    Parameters
    ----------
    paper
        The paper.
    shape
        The kind of file.
    kind
        What it is, the beginning of its name, such as `visit`.
    of
        Whose pond or list it is; stands in its name.
    day
        The local day that it is about.
    page
        Size of the page of a PDF.

    Raises
    ------
    BadInput
        There is no such shape or page. Nothing was written.
    PondroundError
        The typeface for print is not installed.
    """
    if shape not in SHAPES:
        raise BadInput(
            f"A paper is written as {', '.join(SHAPES)}. Nothing was written.", field="shape"
        )
    if page not in PAGES:
        raise BadInput(f"A page is one of {', '.join(PAGES)}. Nothing was written.", field="page")
    name = file_name(kind, of, day, shape)
    if shape == "pdf":
        made = as_pdf(paper, page=page)
        pages = "1 page" if made.pages == 1 else f"{made.pages} pages"
        unseen = (
            f" No picture for {made.not_shown}: ? stands there, the text has it."
            if made.not_shown
            else ""
        )
        return ReportFile(name, made.data, f"{pages}, {page}.{unseen}")
    text = as_markdown(paper) if shape == "markdown" else as_text(paper)
    return ReportFile(name, text.encode(), f"{len(text.splitlines())} lines.")


def file_name(kind: str, of: str, day: date, shape: PaperShape) -> str:
    """What a file is called, with letters that every system takes.

    Parameters
    ----------
    kind
        What it is.
    of
        Whose; empty for none.
    day
        The local day.
    shape
        The kind of file.

    Examples
    --------
    >>> file_name("visit", "../Zoë Vét", date(2026, 3, 14), "pdf")
    'visit-2026-03-14-zoe-vet.pdf'
    """
    letters = "".join(one if one.isascii() and one.isalnum() else "-" for one in folded(of)[:200])
    said = "-".join(part for part in letters.split("-") if part)[:_LONGEST_NAME].strip("-")
    return f"{kind}-{day.isoformat()}{f'-{said}' if said else ''}.{ENDINGS[shape]}"
