"""What a file would bring, row by row, before it goes into the book."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.screen import Screen

from store.errors import BadInput, PondroundError
from tui.said import said_head
from tui.screens.exchange.plan_answer import TITLE, answer_to
from tui.screens.exchange.plan_in_lines import (
    ASK,
    COLUMNS,
    NEW,
    in_full,
    key_of,
    rows_of,
    state_said,
    stops_of,
    told,
)
from tui.screens.exchange.plan_work import said_done, saved, sheets_of, with_answer
from tui.screens.parts.dialogs import Ask, Choose, Option, Tell
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.once import once
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.literal import one_line
from tui.widgets.static import Static
from tui.widgets.strip import BottomStrip
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.exchange.columns import Question
    from store.exchange.looking.values import Asked, Looked
    from tui.app import PondroundApp

_SAID_S = 20.0
"""How long it stands there what was saved [s]."""
_STOPS = 3
"""So many remarks that nobody may overlook stand in the question before saving."""
NOTHING = "The file brings nothing: every row is in the book already, or there is none."


class PlanInScreen(Screen[PondroundError | None]):
    """What a file would bring, what it leaves open, and what of it is left out.

    It is left with the trouble where the file cannot be read at all.

    Parameters
    ----------
    path
        The file.
    pond
        The pond of the whole file, where a person named one.
    """

    KIND: ClassVar[str] = ""
    """Name of the kind in `store.exchange.looking.ways.WAYS`."""
    QUESTION = "What would this file bring into the book, and what of it is left out?"
    ABOUT = (
        "A line for each row of the file: new is saved, left is left out with the reason, ask "
        "waits for an answer that holds for the whole file. Rows that are in the book already are "
        "counted and passed over. Enter answers what is asked, or shows a row in full. F2 saves "
        "what is new, in one go; rows that are left out are written beside the file with the "
        "reason, to be corrected and brought in from there. The same file again adds nothing twice."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f2", "save", "save", key_display="F2", id="plan_in.save",
                tooltip="Save what is new; what is left out goes into a file beside it"),
        Binding("a", "next_open", "next asked", id="plan_in.next",
                tooltip="To the next line that is asked or left out"),
        Binding("t", "told", "remarks", id="plan_in.told",
                tooltip="What was supposed and what was not read"),
        Binding("c", "columns", "columns", id="plan_in.columns",
                tooltip="What each column was taken for; say what it is instead"),
        HELP,
        Binding("escape", "back", "back", key_display="esc", id="plan_in.back",
                tooltip="Back to the file; nothing is saved"),
    ]  # fmt: skip

    def __init__(self, path: Path, pond: UUID | None = None) -> None:
        super().__init__()
        from store.exchange.looking.values import Asked
        from store.exchange.looking.ways import WAYS

        self._path = path
        self._way = WAYS[self.KIND]
        self.asked: Asked = Asked(pond=None if pond is None else str(pond))
        self.looked: Looked | None = None
        self._answered: dict[str, tuple[Question, str, str]] = {}
        self._busy = ""
        self._saved = ""
        """What was saved of the file by now, in words."""

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, how much, the lines, the strip."""
        name = one_line(self._path.name)
        yield Top(f"{self._way.many.capitalize()} from {name}", id="plan-in-head")
        yield Static("", id="plan-in-state", markup=False)
        yield Line()
        yield LineGrid(
            COLUMNS, empty=f"reading {name} …", header=True, gutter="mark", id="plan-in-list"
        )
        yield Line()
        yield BottomStrip(id="plan-in-strip")
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
        """Back; not while it is being saved."""
        if self._busy == "saving":
            self.notify("It is being saved; a moment.", markup=False)
        else:
            self.dismiss(None)

    # Reading

    @once("plan-in-act")
    async def _begin(self) -> None:
        await self._look(self.asked)

    async def _look(self, asked: Asked) -> bool:
        """Read the file with what was said; whether that could be done."""
        app = self.ponds_app
        self._state(f"reading {one_line(self._path.name)} …   esc goes back", busy="reading")
        try:
            looked = await app.ask_store(self._way.look, self._path, app.book, app.now(), asked)
        except BadInput as trouble:
            self._busy = ""
            sheet = await self._which_sheet(trouble)
            if sheet is not None:
                return await self._look(replace(asked, sheet=sheet))
            more = await self._said_of_columns(trouble, asked)
            if more is not None:
                return await self._look(more)
            self._failed(trouble)
            return False
        except PondroundError as trouble:
            self._busy = ""
            self._failed(trouble)
            return False
        self._busy = ""
        self.asked, self.looked = asked, looked
        self.refresh_bindings()
        self._show()
        return True

    def _failed(self, trouble: PondroundError) -> None:
        """Back to the form with it; where something is shown already, that stays."""
        if self.looked is None:
            self.dismiss(trouble)
        else:
            self.ponds_app.tell(trouble)
            self._show()

    async def _said_of_columns(self, trouble: BadInput, asked: Asked) -> Asked | None:
        """Where the columns are not known, what a person says of them."""
        from tui.screens.exchange.plan_headings import said_of_columns

        known = self._way.meanings
        if known is None or trouble.field not in ("column", "header_line"):
            return None
        app = self.ponds_app
        self._state("waiting for what its columns are")
        meanings = await app.ask_store(known, app.book)
        return await said_of_columns(app, self._path, asked, trouble.message, meanings)

    async def _which_sheet(self, trouble: BadInput) -> str | None:
        """The sheet of a workbook, where there are several."""
        if trouble.field != "sheet" or self.asked.sheet is not None:
            return None
        names = await self.ponds_app.ask_store(sheets_of, self._path)
        if len(names) < 2:
            return None
        self._state("waiting for which sheet is meant")
        options = [Option(name, name, note) for name, note in names]
        chosen = await self.app.push_screen_wait(Choose("Which sheet is meant?", options))
        return None if chosen is None else str(chosen)

    # Showing

    def _state(self, text: str, *, busy: str = "") -> None:
        self._busy = busy
        self.query_one("#plan-in-state", Static).update(Content(f" {text}"))

    @property
    def _questions(self) -> tuple[Question, ...]:
        """What is asked, then what was answered."""
        open_ones = () if self.looked is None else self.looked.questions
        keys = {key_of(one) for one in open_ones}
        answered = [one for key, (one, _, _) in self._answered.items() if key not in keys]
        return (*open_ones, *answered)

    @property
    def _words(self) -> dict[str, str]:
        """The answers that stand, in words, by `key_of`."""
        open_ones = () if self.looked is None else self.looked.questions
        keys = {key_of(one) for one in open_ones}
        return {key: said for key, (_, _, said) in self._answered.items() if key not in keys}

    def _show(self) -> None:
        looked = self.looked
        assert looked is not None
        if self.asked.sheet is not None:
            name = one_line(f"{self._path.name}, {self.asked.sheet}")
            self.query_one(Top).place = f"{self._way.many.capitalize()} from {name}"
        grid = self.query_one(LineGrid)
        grid.empty = NOTHING
        open_keys = {key_of(one) for one in looked.questions}
        words = {key: said for key, (_, _, said) in self._answered.items() if key not in open_keys}
        grid.show(rows_of(looked, self._questions, words))
        self._state(state_said(looked, self._way.one, self._way.many, self._saved))
        self._explain()

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        if self.looked is not None:
            key = self.query_one(LineGrid).cursor_key
            self.query_one(BottomStrip).show(told(self.looked, self._questions, self._words, key))

    def action_told(self) -> None:
        """What was supposed and what was not read."""
        looked = self.looked
        if looked is None:
            self.notify("The file is not read yet.", markup=False)
            return
        name = one_line(self._path.name)
        lines = looked.told if looked.plan is None else looked.plan.told
        text = "\n".join(lines) or (
            "The rows are not read before what is asked is answered."
            if looked.plan is None
            else "Every column was read, and nothing had to be supposed."
        )
        self.app.push_screen(Tell(f"What there is to say of {name}", text))

    def action_next_open(self) -> None:
        """To the next line that is asked or left out."""
        if self.looked is None:
            return
        grid = self.query_one(LineGrid)
        keys = [row.key for row in rows_of(self.looked, self._questions, {})]
        at = keys.index(grid.cursor_key) if grid.cursor_key in keys else -1
        open_ones = len(self.looked.questions)
        for key in [*keys[at + 1 :], *keys[: at + 1]]:
            match key:
                case (str() as kind, int(place)) if kind == ASK and place >= open_ones:
                    continue  # answered
                case (str() as kind, int()) if kind != NEW:
                    grid.move_to(key)
                    return
        self.notify("Nothing is asked and nothing is left out. F2 saves.", markup=False)

    # Answering

    @on(LineGrid.Opened)
    def _open(self, opened: LineGrid.Opened) -> None:
        match opened.key:
            case (str() as kind, int(at)) if kind == ASK:
                if at < len(self._questions):
                    self._answer(self._questions[at])
            case key:
                text = None if self.looked is None else in_full(self.looked, key)
                if text is not None:
                    self.app.push_screen(Tell(*text))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Columns that go by fixed names cannot be said to be others."""
        if action == "columns":
            return self.looked is not None and bool(self.looked.columns)
        return super().check_action(action, parameters)

    @once("plan-in-act")
    async def action_columns(self) -> None:
        """What each column was taken for; say what it is instead."""
        from store.exchange.columns import Question

        if self.looked is None:
            return
        options = [
            Option(one.about, f"{one.title}: {one.means}", one.why) for one in self.looked.columns
        ]
        about = await self.app.push_screen_wait(Choose("What is each column?", options))
        if about is None:
            return
        title = next(one.title for one in self.looked.columns if one.about == about)
        asked = Question(
            "column", f"What is the column “{title:.40}”?", self.looked.meanings, str(about)
        )
        await self._answering(asked, "A column of the file")

    @once("plan-in-act")
    async def _answer(self, question: Question) -> None:
        await self._answering(question)

    async def _answering(self, question: Question, title: str = "") -> None:
        before = self._answered.get(key_of(question))
        answer = await answer_to(
            self.ponds_app, question, before[1] if before else "", title or TITLE
        )
        if answer is None:
            return
        value, words = answer
        try:
            asked = with_answer(self.asked, question, value)
        except BadInput as trouble:
            self.ponds_app.tell(trouble)
            return
        self._answered[key_of(question)] = (question, value, words)
        if await self._look(asked):
            if self.looked is not None and self.looked.needed:
                self.query_one(LineGrid).move_to((ASK, 0))
        elif before is None:
            self._answered.pop(key_of(question))
        else:
            self._answered[key_of(question)] = before

    # Saving

    @once("plan-in-act")
    async def action_save(self) -> None:
        """Save what is new."""
        app, looked = self.ponds_app, self.looked
        if looked is None:
            self.notify("The file is still being read; a moment.", markup=False)
            return
        plan = looked.plan
        if plan is None:
            self.notify("Please answer what is asked first: enter on its line.", markup=False)
            return
        if not plan.items:
            self.notify("There is nothing to save.", markup=False)
            return
        act = await app.acting()
        if act is None:
            return
        name, new = one_line(self._path.name), self._counted(len(plan.items))
        left = len(plan.refused)
        rest = (
            f" {left:,} row{'' if left == 1 else 's'} left out, with the reason, "
            f"go{'es' if left == 1 else ''} into a file beside it."
            if left
            else ""
        )
        stops = "".join(f"{one_line(one)}\n\n" for one in stops_of(plan)[:_STOPS])
        sure = await self.app.push_screen_wait(
            Ask(f"Save {new} from {name}?", f"{stops}All of it in one action.{rest}", yes="Save")
        )
        if not sure:
            return
        self._state(f"saving {new} …", busy="saving")
        try:
            done, beside = await app.ask_store(saved, app.book, act, looked)
        except PondroundError as trouble:
            self._busy = ""
            app.tell(trouble)
            self._show()
            return
        self._busy = ""
        self._saved = self._counted(done.added)
        app.changed()
        self.notify(
            said_done(done, self._counted(done.added), beside),
            title="Saved", timeout=_SAID_S, markup=False,
        )  # fmt: skip
        await self._look(self.asked)

    def _counted(self, number: int) -> str:
        return f"{number:,} {self._way.one if number == 1 else self._way.many}"
