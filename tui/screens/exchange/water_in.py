"""An owner's sheet of water tests before it goes into the book: columns, questions, values."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.message import Message
from textual.screen import Screen

from store.errors import BadInput, PondroundError
from tui.said import said_head
from tui.screens.exchange.water_in_ask import answer_to, meaning_of, with_answer, with_column
from tui.screens.exchange.water_in_draft import draft_of, keep, restored
from tui.screens.exchange.water_in_lines import (
    ASK,
    COLUMN,
    LEFT,
    SAID,
    TESTS,
    TROUBLE,
    Answered,
    Sheet,
    columns_of,
    columns_shown,
    first_cells,
    rows_of,
    state_said,
)
from tui.screens.exchange.water_in_store import (
    counted,
    looked_at,
    opened,
    said_done,
    saved,
    sheets_of,
)
from tui.screens.exchange.water_in_told import before_saving, in_full, told
from tui.screens.parts.dialogs import Ask, Choose, Option, Tell
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.once import once
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid, Row
from tui.widgets.literal import one_line
from tui.widgets.static import Static
from tui.widgets.strip import BottomStrip
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.exchange.columns import Guess, Question, Shape
    from store.exchange.sheets import SheetFile
    from tui.app import PondroundApp

_SAID_S = 20.0
"""How long it stands there what was saved [s]."""
NO_TESTS = "The sheet brings nothing: it holds no row that could be a test."


class WaterInScreen(Screen[PondroundError | None]):
    """What a sheet of water tests would bring, what it leaves open, and what is left out.

    It is left with the trouble where the file cannot be read at all.

    Parameters
    ----------
    path
        The file.
    pond
        The pond of the whole file, where a person named one.
    """

    CSS_PATH = "../sheets/water_in.tcss"
    QUESTION = "What would this sheet bring into the book, and what of it is uncertain?"
    ABOUT = (
        "A line for each row of the sheet: new is saved as the line says, there is in the book "
        "already, left is left out with the reason, no is no test, such as a total. An hour with "
        "a question mark was not written, and the note of the test says so. What the sheet leaves "
        "open is asked first; enter asks it again. c shows what was answered and what each column "
        "was taken for; enter there says what it is, and in which unit. What was said of columns, "
        "days and blanks is remembered for the next file with the same headings, and told there; "
        "f takes a file afresh. F2 saves in one go; rows left out are written beside the file, to "
        "be corrected and brought in from there. The same file again adds nothing twice."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f2", "save", "save", key_display="F2", id="water_in.save",
                tooltip="Save the tests; what is left out goes into a file beside it"),
        Binding("a", "next_open", "next asked", id="water_in.next",
                tooltip="To the next line that is asked or left out"),
        Binding("c", "columns", "columns", id="water_in.columns",
                tooltip="What was said, what each column was taken for; and back to the tests"),
        Binding("t", "told", "remarks", id="water_in.told",
                tooltip="What was supposed and what was not read"),
        Binding("f", "afresh", "afresh", id="water_in.afresh",
                tooltip="Without what was said of it, now or for an earlier file"),
        HELP,
        Binding("s", "sheet", "other sheet", show=False, id="water_in.sheet",
                tooltip="Another sheet of the workbook"),
        Binding("escape", "back", "back", key_display="esc", show=False, id="water_in.back",
                tooltip="Back to the tests, then to the file; answers are kept"),
    ]  # fmt: skip

    class Progressed(Message):
        """So many rows were read, of so many."""

        def __init__(self, done: int, whole: int) -> None:
            super().__init__()
            self.done, self.whole = done, whole

    def __init__(self, path: Path, pond: UUID | None = None) -> None:
        super().__init__()
        from store.exchange.columns import Shape

        self._path = path
        self._given = None if pond is None else str(pond)
        self.pond = self._given
        self.said: Shape = Shape()
        self.sheet: Sheet | None = None
        """What is shown; None until the file was read."""
        self._file: SheetFile | None = None
        self._page: str | None = None
        self._remember = True
        self._columns = False
        self._rows: list[Row] = []
        self._answered: dict[tuple[str, str], Answered] = {}
        self._busy = ""

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, how much, the lines, the strip."""
        name = one_line(self._path.name)
        yield Top(f"Water tests from {name}", id="water-in-head")
        yield Static("", id="water-in-state", markup=False)
        yield Line()
        yield LineGrid(TESTS, empty=f"reading {name} …", header=True, gutter="mark",
                       id="water-in-list")  # fmt: skip
        yield Line()
        yield BottomStrip(id="water-in-strip")
        yield Foot()

    def on_mount(self) -> None:
        """The lines have the keys; the file is read behind the first paint."""
        app = self.ponds_app
        self.query_one(Top).moment = said_head(app.now(), app.book.zone)
        self.query_one(LineGrid).focus()
        self._begin()

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)

    def action_back(self) -> None:
        """Back to the tests from the columns, else to the file; not while it is being saved."""
        if self._busy == "saving":
            self.notify("It is being saved; a moment.", markup=False)
        elif self._columns and self.sheet is not None and self.sheet.preview.plan is not None:
            self.action_columns()
        else:
            self.dismiss(None)

    # Reading

    @once("water-in-act")
    async def _begin(self) -> None:
        app = self.ponds_app
        self._state(f"reading {one_line(self._path.name)} …   esc goes back", busy="reading")
        try:
            self._file = await app.ask_store(opened, self._path)
        except PondroundError as trouble:
            self.dismiss(trouble)
            return
        if len(sheets_of(self._file)) > 1:
            self._page = await self._which_sheet()
            if self._page is None:
                self.dismiss(None)
                return
        self._restore()
        if await self._look():
            await self._ask_all()

    async def _look(self) -> bool:
        """Read the sheet with what was said; whether that could be done."""
        app, file = self.ponds_app, self._file
        assert file is not None
        self._state(f"reading {one_line(self._path.name)} …   esc goes back", busy="reading")
        try:
            preview, ponds = await app.ask_store(
                looked_at, file, app.book, app.now(), self.said, self._page, self.pond,
                self._remember, lambda done, whole: self.post_message(self.Progressed(done, whole)),
            )  # fmt: skip
            open_ones = {(one.field, one.about) for one in preview.questions}
            answered = tuple(one for key, one in self._answered.items() if key not in open_ones)
            sheet = Sheet(preview, ponds, app.book.zone, answered)
            self._rows = await app.ask_store(rows_of, sheet, columns=False)
        except PondroundError as trouble:
            self._busy = ""
            if self.sheet is None:
                self.dismiss(trouble)
            else:
                app.tell(trouble)
                self._show()
            return False
        self._busy = ""
        if self.sheet is None and preview.trouble is not None:
            self._columns = True
        self.sheet = sheet
        self.refresh_bindings()
        self._show()
        return True

    @on(Progressed)
    def _progress(self, progressed: WaterInScreen.Progressed) -> None:
        if self._busy == "reading":
            done, whole = progressed.done, progressed.whole
            self._state(f"reading {done:,} of {whole:,} rows", busy="reading")

    async def _which_sheet(self) -> str | None:
        assert self._file is not None
        options = [Option(name, name, note) for name, note in sheets_of(self._file)]
        chosen = await self.app.push_screen_wait(
            Choose("Which sheet holds the tests?", options, start=self._page)
        )
        return None if chosen is None else str(chosen)

    # Showing

    def _state(self, text: str, *, busy: str = "") -> None:
        self._busy = busy
        self.query_one("#water-in-state", Static).update(Content(f" {text}"))

    def _show(self) -> None:
        sheet = self.sheet
        assert sheet is not None
        grid = self.query_one(LineGrid)
        grid.empty = NO_TESTS
        grid.show_columns(columns_shown(sheet, columns=self._columns))
        grid.show(rows_of(sheet, columns=True) if self._columns else self._rows)
        self._state(state_said(sheet))
        self._explain()

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        if self.sheet is not None:
            key = self.query_one(LineGrid).cursor_key
            self.query_one(BottomStrip).show(told(self.sheet, key))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Only what can be done now."""
        if action == "sheet":
            return self._file is not None and len(sheets_of(self._file)) > 1
        if action == "afresh":
            preview = None if self.sheet is None else self.sheet.preview
            kept = preview is not None and preview.kept is not None
            return kept or bool(self.said.as_json()) or self.pond != self._given
        return super().check_action(action, parameters)

    def action_columns(self) -> None:
        """The columns in place of the tests, or back."""
        if self.sheet is None:
            self.notify("The file is not read yet.", markup=False)
            return
        self._columns = not self._columns
        self._show()
        if self._columns:
            self.query_one(LineGrid).move_to((COLUMN, 0))

    def action_told(self) -> None:
        """What was supposed and what was not read."""
        if self.sheet is None:
            self.notify("The file is not read yet.", markup=False)
            return
        lines = self.sheet.preview.told
        text = "\n".join(lines) or "Every column was read, and nothing had to be supposed."
        self.app.push_screen(Tell(f"What there is to say of {one_line(self._path.name)}", text))

    def action_next_open(self) -> None:
        """To the next line that is asked or left out."""
        if self.sheet is None:
            return
        grid = self.query_one(LineGrid)
        rows = rows_of(self.sheet, columns=True) if self._columns else self._rows
        keys = [cast("tuple[str, int]", row.key) for row in rows]
        here = cast("tuple[str, int]", grid.cursor_key)
        at = keys.index(here) if here in keys else -1
        for key in [*keys[at + 1 :], *keys[: at + 1]]:
            if key[0] in (ASK, LEFT, TROUBLE):
                grid.move_to(key)
                return
        self.notify("Nothing is asked and nothing is left out. F2 saves.", markup=False)

    # Answering

    @on(LineGrid.Opened)
    def _open(self, line: LineGrid.Opened) -> None:
        if self.sheet is None:
            return
        match line.key:
            case (str() as kind, int(at)) if kind == ASK:
                self._answer(self.sheet.preview.questions[at])
            case (str() as kind, int(at)) if kind == SAID:
                self._answer(self.sheet.answered[at].question)
            case (str() as kind, int(at)) if kind == COLUMN:
                self._say_column(columns_of(self.sheet.preview)[at][1])
            case (str() as kind, _) if kind == TROUBLE and not self._columns:
                self.action_columns()
            case key:
                text = in_full(self.sheet, key)
                if text is not None:
                    self.app.push_screen(Tell(*text))

    @once("water-in-act")
    async def _answer(self, question: Question) -> None:
        if await self._answering(question):
            await self._ask_all()

    async def _ask_all(self) -> None:
        """Ask what is open, one after the other, until nothing is or one is left open."""
        while self.sheet is not None and self.sheet.preview.questions:
            if not await self._answering(self.sheet.preview.questions[0]):
                return

    async def _answering(self, question: Question) -> bool:
        """Ask one thing; whether it was answered."""
        assert self.sheet is not None
        key = (question.field, question.about)
        before, preview = self._answered.get(key), self.sheet.preview
        proposed = preview.proposed.get(key)
        file = "" if preview.kept is None else preview.kept.name
        answer = await answer_to(
            self.ponds_app, question, self.sheet.ponds, before=before.value if before else "",
            proposed=None if proposed is None else (proposed, file),
        )  # fmt: skip
        if answer is None:
            return False
        value, words, about = answer
        said, pond = self.said, self.pond
        try:
            if question.field == "pond":
                self.pond = value
            else:
                self.said = with_answer(said, question, value, about)
        except BadInput as trouble:
            self.ponds_app.tell(trouble)
            return False
        self._answered[key] = Answered(question, value, words)
        if await self._look():
            self._keep()
            return True
        self.said, self.pond = said, pond
        if before is None:
            self._answered.pop(key)
        else:
            self._answered[key] = before
        return False

    @once("water-in-act")
    async def _say_column(self, column: Guess) -> None:
        assert self.sheet is not None
        preview = self.sheet.preview
        alike = [one for one in preview.columns if one.title == column.title]
        # What is said of a heading holds in the columns of every pond, else the number tells.
        alone = len(alike) < 2 or all(one.block is not None for one in alike)
        key = column.title if column.title and alone else str(column.column + 1)
        said = self.said.said(column.title, column.column) is not None
        what = await meaning_of(self.ponds_app, column, first_cells(preview, column), said=said)
        if what is None:
            return
        before, self.said = self.said, with_column(self.said, key, what)
        if not await self._look():
            self.said = before
            return
        self._keep()
        await self._ask_all()

    @once("water-in-act")
    async def action_afresh(self) -> None:
        """Without what was said, now or for an earlier file."""
        from store.exchange.columns import Shape

        if self.said.as_json() or self.pond != self._given:
            question = Ask(
                "Take the file afresh?",
                "What you said of it is taken back, and what was said for an earlier file with "
                "the same headings is not used. Nothing in the book changes.",
                yes="Afresh",
            )
            if not await self.app.push_screen_wait(question):
                return
        self.said, self.pond, self._remember = Shape(), self._given, False
        self._answered.clear()
        if await self._look():
            self._keep()
            await self._ask_all()

    @once("water-in-act")
    async def action_sheet(self) -> None:
        """Another sheet of the workbook."""
        chosen = await self._which_sheet()
        if chosen is None or chosen == self._page:
            return
        before, self._page = self._page, chosen
        if await self._look():
            await self._ask_all()
        else:
            self._page = before

    # What was answered is kept while it is not saved

    def _keep(self) -> None:
        keep(draft_of(self.app, self._path), self.said, self.pond, self._given)

    def _restore(self) -> None:
        self.said, self.pond, before = restored(draft_of(self.app, self._path), self._given)
        if before:
            self.notify(
                "What you said of this file before stands again; f takes it afresh.", markup=False
            )

    # Saving

    @once("water-in-act")
    async def action_save(self) -> None:
        """Save the tests."""
        app, sheet = self.ponds_app, self.sheet
        if sheet is None:
            self.notify("The file is still being read; a moment.", markup=False)
            return
        if sheet.preview.plan is None:
            await self._ask_all()
        sheet = self.sheet
        assert sheet is not None
        plan = sheet.preview.plan
        if plan is None:
            if sheet.preview.trouble is not None:
                app.tell(sheet.preview.trouble)
            return
        if not plan.items:
            self.notify("There is nothing to save: no test of the sheet is new.", markup=False)
            return
        act = await app.acting()
        if act is None:
            return
        name, new = one_line(self._path.name), counted(len(plan.items), "water test")
        sure = await self.app.push_screen_wait(
            Ask(f"Save {new} from {name}?", before_saving(sheet, plan), yes="Save")
        )
        if not sure:
            return
        self._state(f"saving {new} …", busy="saving")
        try:
            done, beside = await app.ask_store(saved, app.book, act, sheet.preview)
        except PondroundError as trouble:
            self._busy = ""
            app.tell(trouble)
            self._show()
            return
        self._busy = ""
        draft_of(self.app, self._path).drop()
        app.changed()
        self.notify(
            said_done(done, beside, sheet.preview), title="Saved", timeout=_SAID_S, markup=False
        )
        await self._look()
