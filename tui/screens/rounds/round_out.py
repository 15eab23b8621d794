"""A round written to a file: to print, to read, for a map, a satellite receiver or a calendar."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, cast
from uuid import UUID

from textual import on
from textual.app import ComposeResult
from textual.widgets import Static

from store.errors import BadInput
from tui.screens.parts.dialogs import Ask
from tui.screens.parts.edit import FormScreen
from tui.widgets.fields import Field, Form
from tui.widgets.foot import Foot
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.book import Book
    from store.rounds.day.values import DayPlan
    from store.rounds.kept.sheets.round_file import RoundFile
    from tui.app import PondroundApp

Shape = Literal["text", "markdown", "pdf", "geojson", "gpx", "calendar"]
SHAPES = (
    ("pdf A4", "PDF, A4 paper"),
    ("pdf Letter", "PDF, Letter paper"),
    ("text", "text, to read"),
    ("markdown", "Markdown"),
    ("geojson", "GeoJSON, for a map"),
    ("gpx", "GPX, to drive by"),
    ("calendar", "calendar (.ics)"),
)
_PAPERS = ("pdf", "text", "markdown")
ON_PAPER = (
    "It carries names, addresses, telephone numbers and ways in of clients: it is for who drives."
)
FOR_PROGRAMS = (
    "It carries names and addresses of clients, and the program that opens it may pass them on: "
    "give it only to one that you trust."
)
EVERYBODY = "everybody"
_CELLS = 34
_SAID_S = 20.0
"""How long it stands there what was written and left out [s]."""


class RoundOutScreen(FormScreen):
    """Whose round, in which shape, into which file.

    Parameters
    ----------
    plan
        The day.
    staff_id
        Whose round is proposed; None for all of the day.
    """

    CSS_PATH = [  # noqa: RUF012
        "../sheets/edit.tcss", "../sheets/narrow.tcss", "../sheets/round_sheet.tcss",
    ]  # fmt: skip
    QUESTION = "In which shape does the round go into which file?"
    ABOUT = (
        "PDF, text and Markdown are the day's sheet: the order, and stop by stop all that is "
        "needed there, and behind it what goes into the van. GeoJSON and GPX hold the places in "
        "their order for a map or a satellite receiver; stops without coordinates stay out of "
        "them, and that is said. The calendar holds the stops with their hours. A file that is "
        "there already is written over only after you say so. Nothing is sent."
    )

    def __init__(self, plan: DayPlan, staff_id: UUID | None) -> None:
        driving = [one.driver for one in plan.rounds if one.stops]
        whose = EVERYBODY if staff_id is None else str(staff_id)
        people = tuple((str(one.staff_id), one.who) for one in driving)
        fields = [
            Field("shape", "as", "", SHAPES[0][0], choices=SHAPES, width=_CELLS),
            Field("file", "file", "empty: in this folder", width=_CELLS),
        ]
        if len(driving) > 1:
            everybody = ((EVERYBODY, "all of the day"), *people)
            field = Field("staff_id", "whose", "", whose, choices=everybody, width=_CELLS)
            fields.insert(0, field)
        day = plan.asked.wish.day.isoformat()
        super().__init__("The round to a file", tuple(fields), f"round-out-{day}")
        self._plan, self._staff_id = plan, staff_id

    def compose(self) -> ComposeResult:
        """Head, form, what to take care of, keys."""
        yield Top(self._title, id="edit-head")
        yield Line()
        yield Form(self._fields, draft=self._draft(), id="edit-form")
        yield Line()
        yield Static(ON_PAPER, id="round-out-care", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """A draft may have chosen the shape already."""
        self.call_after_refresh(self._take_care)

    @on(Form.Changed)
    def _changed(self, changed: Form.Changed) -> None:
        changed.stop()
        self._take_care()

    def _take_care(self) -> None:
        shape = self.query_one(Form).values["shape"]
        self.query_one("#round-out-care", Static).update(_care(shape))

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """Make it and write it; the book is only read."""
        app = self.ponds_app
        made = await app.ask_store(_made, app.book, self._plan, self._whose(texts), texts, act.at)
        path = _path(texts["file"], made.name)
        try:
            await app.ask_store(_put, path, made.data)
        except FileExistsError:
            question = Ask(
                f"{path.name} is there already. Write over it?",
                f"{path.resolve()} is replaced by the round. What stands in it now is lost.",
                yes="Write over it",
                no="Leave it",
            )
            if not await self.app.push_screen_wait(question):
                raise BadInput(
                    f"{path} was left as it is. Please name another file.", field="file"
                ) from None
            await app.ask_store(_put, path, made.data, over=True)
        said = f"{path.resolve()}\n{made.said}"
        self.notify(said, title="Written", timeout=_SAID_S, markup=False)
        return UUID(int=0)

    def _whose(self, texts: Mapping[str, str]) -> UUID | None:
        if "staff_id" not in texts:
            return self._staff_id
        whose = texts["staff_id"]
        return None if whose in ("", EVERYBODY) else UUID(whose)


def _care(shape: str) -> str:
    return ON_PAPER if not shape or shape.split(maxsplit=1)[0] in _PAPERS else FOR_PROGRAMS


def _made(
    book: Book, plan: DayPlan, staff_id: UUID | None, texts: Mapping[str, str], now: Any
) -> RoundFile:
    from store.rounds.kept.sheets.round_file import round_file

    shape, _, paper = (texts["shape"] or SHAPES[0][0]).partition(" ")
    page: Literal["A4", "Letter"] = "Letter" if paper == "Letter" else "A4"
    return round_file(book, plan, staff_id, cast("Shape", shape), now, page=page)


def _path(typed: str, name: str) -> Path:
    """The file that is meant: a folder, or nothing, takes the name that is proposed."""
    path = Path(typed.strip()).expanduser()
    return path / name if not typed.strip() or path.is_dir() else path


def _put(path: Path, data: bytes, *, over: bool = False) -> None:
    """Write it; the file that is there is replaced as a whole, and only when that was said.

    Raises
    ------
    FileExistsError
        There is a file of that name.
    BadInput
        It cannot be written.
    """
    try:
        if over:
            _replace(path, data)
        else:
            _new(path, data)
    except FileExistsError:
        raise
    except OSError as trouble:
        raise BadInput(
            f"{path} cannot be written ({trouble.strerror or trouble}). Nothing was written.",
            field="file",
        ) from trouble


def _new(path: Path, data: bytes) -> None:
    with path.open("xb") as file:
        try:
            file.write(data)
            file.flush()
        except BaseException:
            path.unlink(missing_ok=True)
            raise


def _replace(path: Path, data: bytes) -> None:
    handle, beside = tempfile.mkstemp(dir=path.parent, prefix=".pondround-")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        Path(beside).replace(path)
    except BaseException:
        Path(beside).unlink(missing_ok=True)
        raise


async def write_round(app: PondroundApp, plan: DayPlan, staff_id: UUID | None) -> None:
    """Ask in which shape and where a round goes, and write it.

    Within a worker of a screen or of the application.

    Parameters
    ----------
    app
        The application.
    plan
        The day.
    staff_id
        Whose round is proposed; None for all of the day.
    """
    if not any(one.stops for one in plan.rounds):
        app.notify("Nobody drives anywhere on this day: there is nothing to write.", markup=False)
        return
    await app.push_screen_wait(RoundOutScreen(plan, staff_id))
