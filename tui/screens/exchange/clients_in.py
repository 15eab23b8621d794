"""A list of clients and ponds before it goes into the book: new, the same, asked."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, cast

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.screen import Screen
from textual.widgets import OptionList

from store.errors import PondroundError
from tui.said import said_head
from tui.screens.exchange.clients_in_lines import (
    COLUMNS,
    before_saving,
    many,
    questions_of,
    rows_of,
    sides,
    state_said,
    told,
)
from tui.screens.parts.dialogs import Ask, Choose, Option, Tell
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.once import once
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.literal import one_line
from tui.widgets.reading import Reading
from tui.widgets.static import Static
from tui.widgets.strip import BottomStrip
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.exchange.catch_up.asking import Question
    from store.exchange.catch_up.clients_plan import CatchUp
    from store.exchange.catch_up.read_clients import ClientList
    from store.exchange.plain.planned import Done
    from tui.app import PondroundApp

_SAID_S = 20.0
"""How long it stands there what was saved [s]."""
NOTHING = "The list names nobody. Esc goes back."
_DIALOG_CELLS, _DIALOG_SHARE, _DIALOG_FRAME = 68, 0.94, 6


class Decide(Choose):
    """A question with both sides beside each other, the reasons, and what can be answered.

    Parameters
    ----------
    question
        What only a person can say.
    """

    QUESTION = "Is it the same, and what speaks for it?"
    ABOUT = (
        "Both sides stand beside each other as the list and the book have them, with what speaks "
        "for and against. A digit or enter answers, and the answer can be changed until F2 saves. "
        "Esc leaves it open."
    )

    def __init__(self, question: Question) -> None:
        self._question = question
        options = [Option(choice, question.means(choice)) for choice in question.choices]
        super().__init__(question.asks, options, start=question.answer or None)

    def content(self) -> ComposeResult:
        """Both sides and the reasons over the answers."""
        one = self._question
        cells = min(_DIALOG_CELLS, int(self.app.size.width * _DIALOG_SHARE)) - _DIALOG_FRAME
        score = "" if one.score is None else f"{one.score} of 100: "
        with Reading(id="message"):
            if one.left or one.right:
                yield Static(Content(sides(one, cells)), id="decide-sides")
            yield Static(Content(one_line(f"{score}{one.reasons}.")), id="decide-reasons")
        yield from super().content()

    def on_mount(self) -> None:
        """The sides take what the answers leave."""
        self.query_one("#message", Reading).styles.max_height = max(4, self.app.size.height - 14)
        self.query_one(OptionList).focus()


class ClientsInScreen(Screen[None]):
    """What a client list would bring, line by line, and what is asked.

    Parameters
    ----------
    opened
        The list.
    found
        As it was looked at first.
    answers
        What was answered before, in the file beside the list.
    """

    CSS_PATH = "../sheets/directory.tcss"
    QUESTION = "Who of this list is new, who is in the book, and what has to be asked?"
    ABOUT = (
        "A line for each client: new is saved as it is, same is in the book and gets only what it "
        "lacks, ask waits for an answer. Enter decides: a pair side by side, a pond that a remark "
        "seems to tell of, a zero that may be lost. No name alone makes two clients one. What a "
        "column is taken for is corrected with c, remembered with F2 for the next list with the "
        "same headings, and told there under t. Every "
        "answer stands at once in a file beside the list, which the command import clients reads "
        "too. F2 saves what waits for nothing, in one go; rows that cannot be read are written "
        "beside the list with the reason. The same list again adds nothing twice."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f2", "save", "save", key_display="F2", id="clients_in.save",
                tooltip="Save what waits for no answer"),
        Binding("a", "next_open", "next asked", id="clients_in.next",
                tooltip="To the next line with an open question"),
        Binding("c", "columns", "columns", id="clients_in.columns",
                tooltip="What the columns are taken for, and correcting it"),
        Binding("t", "told", "remarks", id="clients_in.told",
                tooltip="What was supposed, passed over or refused in the list"),
        HELP,
        Binding("escape", "back", "back", show=False, id="clients_in.back",
                tooltip="Back; the answers stay in the file beside the list"),
    ]  # fmt: skip

    def __init__(self, opened: ClientList, found: CatchUp, answers: Mapping[str, str]) -> None:
        super().__init__()
        self._opened = opened
        self.found = found
        self.answers = dict(answers)
        self._kept_in: Path | None = None
        """The file of the answers, where one was given by now."""

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, what would be saved, the lines, the strip."""
        yield Top(f"Clients from {one_line(self.found.plan.path.name)}", id="clients-in-head")
        yield Static("", id="clients-in-state", markup=False)
        yield Line()
        yield LineGrid(COLUMNS, empty=NOTHING, header=True, gutter="mark", id="clients-in-list")
        yield Line()
        yield BottomStrip(id="clients-in-strip")
        yield Foot()

    def on_mount(self) -> None:
        """The lines have the keys."""
        self.query_one(LineGrid).focus()
        self._show()

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)

    def action_back(self) -> None:
        """Back; the answers stay in the file."""
        self.dismiss(None)

    # Showing

    def _show(self) -> None:
        self.query_one(LineGrid).show(rows_of(self.found))
        state = Content(f" {state_said(self.found)}")
        self.query_one("#clients-in-state", Static).update(state)
        app = self.ponds_app
        self.query_one(Top).moment = said_head(app.now(), app.book.zone)
        self._explain()

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        key = self.query_one(LineGrid).cursor_key
        self.query_one(BottomStrip).show(told(self.found, key))

    def action_told(self) -> None:
        """What was supposed, passed over or refused."""
        plan = self.found.plan
        lines = [*plan.told, *(f"Refused, line {one.line}: {one.reason}" for one in plan.refused)]
        self.app.push_screen(
            Tell("What there is to say of the list", "\n".join(lines) or "Every row was read.")
        )

    def action_next_open(self) -> None:
        """To the next line with an open question."""
        grid = self.query_one(LineGrid)
        keys = [row.key for row in rows_of(self.found)]
        if not keys:
            return
        at = keys.index(grid.cursor_key) if grid.cursor_key in keys else -1
        for key in [*keys[at + 1 :], *keys[: at + 1]]:
            if any(one.waits for one in questions_of(self.found, key)):
                grid.move_to(key)
                return
        self.notify("Nothing is asked any more. F2 saves.", markup=False)

    # Deciding

    @on(LineGrid.Opened)
    def _open(self) -> None:
        self._decide()

    @once("clients-in-act")
    async def _decide(self) -> None:
        grid = self.query_one(LineGrid)
        asked = questions_of(self.found, grid.cursor_key)
        if not asked:
            self.notify("Nothing is asked here; F2 saves, a goes to what is.", markup=False)
            return
        one = next((each for each in asked if each.waits), None)
        if one is None and len(asked) > 1:
            options = [Option(each.key, each.asks, each.answer) for each in asked]
            key = await self.app.push_screen_wait(Choose("Change which answer?", options))
            one = next((each for each in asked if each.key == key), None)
            if one is None:
                return
        answer = await self.app.push_screen_wait(Decide(one or asked[0]))
        if isinstance(answer, str):
            await self._answer((one or asked[0]).key, answer)

    @once("clients-in-act")
    async def action_columns(self) -> None:
        """What the columns are taken for; one of them corrected, or all taken afresh."""
        from store.exchange.catch_up.asking import AFRESH, AFRESH_ANSWER, column_key
        from store.exchange.catch_up.list_columns import column_named
        from store.exchange.catch_up.list_words import MEANINGS

        columns = {column_named(self.found.shape, one): one for one in self.found.shape.columns}
        options = [Option(name, f"{name}: {one.meaning}", one.why) for name, one in columns.items()]
        if self.found.remembered:
            note = "without what was said of an earlier list"
            options.insert(0, Option(AFRESH, "take the columns afresh", note))
        elif self.answers.get(AFRESH):
            options.insert(0, Option(AFRESH, "take again what was said of an earlier list"))
        chosen = await self.app.push_screen_wait(Choose("Which column is something else?", options))
        if chosen == AFRESH:
            await self._answer(AFRESH, AFRESH_ANSWER if self.found.remembered else "")
        elif chosen in columns:
            one = columns[str(chosen)]
            means = [Option(meaning, meaning) for meaning in MEANINGS if meaning != "unknown"]
            meaning = await self.app.push_screen_wait(
                Choose(f"What is {one_line(str(chosen))}?", means, start=one.meaning)
            )
            if meaning is not None:
                await self._answer(column_key(str(chosen)), str(meaning))

    async def _answer(self, key: str, answer: str) -> None:
        answers = {**self.answers, key: answer}
        app = self.ponds_app
        try:
            self.found, self._kept_in = await app.ask_store(_looked, self._opened, answers)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        self.answers = answers
        self._show()

    # Saving

    @once("clients-in-act")
    async def action_save(self) -> None:
        """Save what waits for no answer."""
        app = self.ponds_app
        plan = self.found.plan
        if not plan.items:
            self.notify("There is nothing to save; what is asked waits for you.", markup=False)
            return
        act = await app.acting()
        if act is None:
            return
        text = before_saving(self.found, "" if self._kept_in is None else self._kept_in.name)
        sure = await self.app.push_screen_wait(
            Ask(f"Save from {one_line(plan.path.name)}?", text, yes="Save")
        )
        if not sure:
            return
        try:
            plan_keeps = self.found.remembers is not None and bool(self.found.remembers[1])
            done, beside = await app.ask_store(_saved, app.book, act, self.found)
            self.found, self._kept_in = await app.ask_store(_looked, self._opened, self.answers)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        app.changed()
        added = many(done.added, "client")
        refused = "" if beside is None else f" Refused rows are in {one_line(beside.name)}."
        kept = " What the columns are is remembered." if plan_keeps else ""
        self.notify(f"Saved {added}.{refused}{kept}", markup=False, timeout=_SAID_S)
        self._show()


def _looked(opened: ClientList, answers: Mapping[str, str]) -> tuple[CatchUp, Path]:
    """The list anew, and the answers into the file beside it."""
    from store.exchange.catch_up.answers_file import write_answers

    found = opened.look(answers)
    return found, write_answers(found, answers)


def _saved(book: Book, act: Act, found: CatchUp) -> tuple[Done, Path | None]:
    from store.exchange.catch_up.save_clients import save_clients
    from store.exchange.plain.planned import write_refused

    beside = write_refused(found.plan)
    try:
        return save_clients(book, act, found), beside
    except PondroundError:
        if beside is not None:
            beside.unlink(missing_ok=True)
        raise
