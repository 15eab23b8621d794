"""The owner's sheet of a course, written to a file as text, Markdown or PDF."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen

from store.errors import BadInput, PondroundError
from tui.screens.parts.abstract import NARROW, drafts_of
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.once import once
from tui.screens.ponds.pond_lines import head_name
from tui.widgets.fields import Field, Form
from tui.widgets.foot import Foot
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.ponds import PondCard
    from store.courses.planning.course import Plan
    from store.paper.paper import Letterhead, Paper
    from store.reports.kept.head import Head
    from tui.app import PondroundApp

_CELLS = 34
_SHAPES = (
    ("pdf", "PDF, A4 paper"),
    ("pdf Letter", "PDF, Letter paper"),
    ("txt", "text, for a mail"),
    ("md", "Markdown"),
)

LETTERHEAD = "letterhead"
"""Under which name the number to ring is kept on this machine, for each practice."""


class SheetScreen(Screen[None]):
    """What the owner gets in the hand: who rings whom, and where the file goes.

    Parameters
    ----------
    course
        Key of the course.
    """

    CSS_PATH = ["../sheets/course.tcss", "../sheets/narrow.tcss"]  # noqa: RUF012
    HORIZONTAL_BREAKPOINTS = NARROW
    QUESTION = "What does the owner get in the hand?"
    ABOUT = (
        "The sheet says day by day what goes in, how, what is switched off and on, what to watch "
        "for and when to ring. It goes to a file; one that is there already is never written over."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", id="sheet.back",
                tooltip="Back one step; what was typed is kept"),
    ]  # fmt: skip

    HEAD, DRAFT, FILE = "Owner's sheet", "sheet", "sheet"

    def __init__(self, course: UUID) -> None:
        super().__init__()
        self.course = course
        self._found: tuple[Plan, PondCard, Head, str] | None = None
        self._begun = True

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head; the form comes once the course is read."""
        yield Top(self.HEAD, id="sheet-head")
        yield Line()
        yield Foot()

    def on_mount(self) -> None:
        """Read behind the first paint."""
        self._prepare()

    def _read(self) -> tuple[Plan, PondCard, Head, str]:
        from store.book.people import person
        from store.book.ponds import card
        from store.courses.kept.records import course
        from store.reports.kept.as_given import plan_as_given
        from store.reports.kept.head import head_of

        book = self.ponds_app.book
        found = course(book, self.course)
        vet = person(book, found.prescribed_by).name
        self._begun = found.state != "planned"
        return plan_as_given(found), card(book, found.pond_id), head_of(book), vet

    @work(group="entry-read", exclusive=True)
    async def _prepare(self) -> None:
        app = self.ponds_app
        try:
            self._found = await app.ask_store(self._read)
        except PondroundError as trouble:
            self.dismiss(None)
            app.tell(trouble)
            return
        _, card, head, vet = self._found
        self.query_one(Top).place = f"{self.HEAD}: {head_name(card)}"
        typed = drafts_of(app).of(LETTERHEAD, head.practice).values.get("telephone", "")
        rung = head.telephone or typed
        fields = (
            Field("practice", "practice", "", head.practice, width=_CELLS),
            Field("telephone", "telephone", "to ring, day and night", rung, width=_CELLS),
            Field("vet", "vet", "may stay empty", vet, width=_CELLS),
            Field("shape", "as", "", "pdf", choices=_SHAPES, width=_CELLS),
            Field("file", "file", "empty: in this folder", width=_CELLS),
        )
        form = Form(fields, draft=drafts_of(app).of(self.DRAFT, self.course))
        await self.mount(form, after=self.query_one(Line))

    @on(Form.Submitted)
    def _submitted(self, submitted: Form.Submitted) -> None:
        submitted.stop()
        self._save(submitted.form, submitted.values)

    @once("entry-save")
    async def _save(self, form: Form, values: Mapping[str, str]) -> None:
        app = self.ponds_app
        try:
            said = await app.ask_store(self._write, values)
        except BadInput as trouble:
            form.show_error(trouble)
            return
        except PondroundError as trouble:
            app.tell(trouble)
            return
        form.saved()
        assert self._found is not None
        # Typed once: the next sheet of this practice begins with it.
        letterhead = drafts_of(app).of(LETTERHEAD, self._found[2].practice)
        letterhead.keep({"telephone": values["telephone"].strip()})
        app.notify(said, title="Written", markup=False)
        self.dismiss(None)

    def _write(self, values: Mapping[str, str]) -> str:
        from store.paper.paper import Letterhead, as_markdown, as_text

        # As the course stands when the sheet is written, and not when its form was opened.
        self._found = plan, card, head, _ = self._read()
        today = self.ponds_app.today()
        letterhead = Letterhead(
            practice=values["practice"],
            telephone=values["telephone"],
            client=card.client.name,
            pond=card.pond.name or card.client.name,
            vet=values["vet"],
            address=head.address,
            email=head.email,
        )
        paper = self.paper_of(plan, letterhead, today)
        shape, _, page = (values["shape"] or "pdf").partition(" ")
        unseen = ""
        if shape == "pdf":
            from store.paper.pdf import as_pdf

            sheet = as_pdf(paper, page="Letter" if page == "Letter" else "A4")
            data, unseen = sheet.data, sheet.not_shown
        else:
            data = (as_text(paper) if shape == "txt" else as_markdown(paper)).encode()
        name = values["file"].strip() or f"{self.FILE}-{today.isoformat()}.{shape}"
        path = Path(name).expanduser()
        _new_file(path, data)
        remark = f" Some letters have no picture in print: {unseen}" if unseen else ""
        return f"{path.resolve()}{remark}"

    def paper_of(self, plan: Plan, letterhead: Letterhead, today: date) -> Paper:
        """The sheet that is written; runs beside the screen."""
        from store.courses.papers.owner_sheet import owner_sheet

        return owner_sheet(plan, letterhead, today, begun=self._begun)

    def action_back(self) -> None:
        """Back one step; the draft stays."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this screen is for, and its keys."""
        open_help(self.app)


def _new_file(path: Path, data: bytes) -> None:
    """Write a file that was not there before.

    Raises
    ------
    BadInput
        There is one, or it cannot be written.
    """
    try:
        with path.open("xb") as file:
            file.write(data)
    except FileExistsError:
        raise BadInput(
            f"{path} is there already and was left as it is. Please name another file.",
            field="file",
        ) from None
    except OSError as trouble:
        raise BadInput(
            f"{path} cannot be written ({trouble.strerror or trouble}). Nothing was written.",
            field="file",
        ) from trouble
