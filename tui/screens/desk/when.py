"""One small sheet that asks for a day, and where they are wanted for an hour and some words."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping
from datetime import date, time
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen

from store.errors import BadInput, PondroundError
from tui.said import said_since
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.once import once
from tui.widgets.entry import TextLine
from tui.widgets.fields import Field, Form
from tui.widgets.literal import literal, one_line
from tui.widgets.static import Static

if TYPE_CHECKING:
    from store.book.act import Act
    from tui.app import PondroundApp

Keep = Callable[["Act", date, time | None, str], Awaitable[None]]
"""Saves a day, an hour and some words; its `BadInput` stands at the field it names."""


class WhenScreen(ModalScreen[bool]):
    """A day, and where they are asked for an hour and some words; saved when the store takes it.

    Parameters
    ----------
    title, about
        What is asked, and what comes of it.
    keep
        Saves it; an error of its own stands at its field, and what was typed stays.
    day, hour, words
        Names of the fields in errors; an empty one is not asked for.
    needs_words
        Whether the words may not be left out.
    words_label
        What the words are called.
    ahead
        Whether days lie ahead or behind.
    start
        The day that is proposed.
    draft
        The name under which what is typed is kept.
    """

    CSS_PATH = "../sheets/desk.tcss"
    QUESTION = "On which day?"
    ABOUT = (
        "Type the day as you would say it: today, tomorrow, Mon, 3 d, 2 weeks, 12 Dec. What was "
        "understood stands beside it. F2 or enter in the last line saves, esc goes back and keeps "
        "what was typed."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", id="when.back", tooltip="Back; what was typed is kept"),
    ]  # fmt: skip

    def __init__(
        self, title: str, about: str, keep: Keep, *, day: str, hour: str = "", words: str = "",
        needs_words: bool = True, words_label: str = "Why", ahead: bool = True, start: str = "",
        draft: tuple[str, UUID | str] | None = None,
    ) -> None:  # fmt: skip
        super().__init__()
        self._title, self._about, self._keep = title, about, keep
        self._day, self._hour, self._words = day, hour, words
        self._needs_words, self._words_label = needs_words, words_label
        self._ahead, self._start, self._draft = ahead, start, draft

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Title, what comes of it, the fields, the keys."""
        fields = [Field(self._day, "Day", "Mon, 3 d, 12 Dec", self._start, width=16)]
        if self._hour:
            fields.append(Field(self._hour, "Hour", "14:30, or empty", width=16))
        if self._words:
            fields.append(Field(self._words, self._words_label, width=44))
        draft = None if self._draft is None else self.ponds_app.drafts.of(*self._draft)
        with Vertical(id="sheet"):
            yield Static(Content(one_line(self._title)), id="title")
            yield Static(literal(self._about), id="about")
            yield Form(fields, draft=draft)
            yield Static(Content("F2 saves   esc goes back   F1 help"), id="keys")

    def on_mount(self) -> None:
        """Ready to type."""
        self.call_after_refresh(self._begin)

    def _begin(self) -> None:
        line = self.query(TextLine).first()
        line.focus()
        line.action_select_all()  # what is typed takes the place of what is proposed
        self._remark()

    @on(Form.Changed)
    def _remark(self) -> None:
        """What was understood stands beside the day."""
        form = self.query_one(Form)
        app = self.ponds_app
        try:
            day = self._typed(form.values, app.today())[0]
        except BadInput:
            form.remark(self._day, None)
        else:
            form.remark(self._day, said_since(day, app.today()))

    def _typed(self, values: Mapping[str, str], today: date) -> tuple[date, time | None]:
        from store.book.days import typed_day, typed_time

        day = typed_day(values[self._day], today, ahead=self._ahead, field=self._day)
        hour = typed_time(values[self._hour], self._hour) if self._hour else None
        return day, hour

    @on(Form.Submitted)
    def _submitted(self, submitted: Form.Submitted) -> None:
        self._saving(dict(submitted.values))

    @once("when-save")
    async def _saving(self, values: Mapping[str, str]) -> None:
        app, form = self.ponds_app, self.query_one(Form)
        form.clear_errors()
        words = values.get(self._words, "").strip()
        try:
            day, hour = self._typed(values, app.today())
            if self._words and self._needs_words and not words:
                raise BadInput(
                    "Please say why in a few words. Nothing was saved.", field=self._words
                )
            act = await app.acting()
            if act is None:
                return
            await self._keep(act, day, hour, words)
        except BadInput as trouble:
            form.show_error(trouble)
            return
        except PondroundError as trouble:
            app.tell(trouble)
            return
        form.saved()
        self.dismiss(True)

    def action_back(self) -> None:
        """Back without saving."""
        self.dismiss(False)

    def action_help(self) -> None:
        """What this sheet is for, and its keys."""
        open_help(self.app)
