"""On the telephone: one key logs how a call went, one takes it back; a day and hour to ring again.

The desk and the page of a client share it.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass
from datetime import date, time
from typing import TYPE_CHECKING, Any, ClassVar, Final, cast
from uuid import UUID
from weakref import WeakKeyDictionary

from textual import on, work
from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen, Screen
from textual.widgets import Static

from store.errors import BadInput, PondroundError
from tui.said import clock, said_since
from tui.screens.parts.abstract import AbstractScreen
from tui.screens.parts.help import HELP, open_help
from tui.widgets.entry import TextLine
from tui.widgets.fields import Field, Form
from tui.widgets.literal import literal, one_line
from tui.widgets.strip import SHORT_LINES, BottomStrip

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from store.book.act import Act
    from store.book.book import Book
    from store.diary.desk.due import Attempt, DueLine, Outcome
    from tui.app import PondroundApp

Keep = Callable[["Act", date, time | None, str], Awaitable[None]]
"""Saves a day, an hour and some words; its `BadInput` stands at the field it names."""

TALL_FROM: Final = 34
"""Lines from which a strip has room for all its parts in any case."""
SAID: Final[Mapping[str, str]] = {
    "reached": "{client} was reached", "left word": "left word for {client}",
    "no answer": "nobody answered at {client}", "ring back": "ring {client} back {when}",
}  # fmt: skip
"""What is said at the foot once an attempt was logged."""


@dataclass(frozen=True, slots=True)
class Whom:
    """Whom the cursor stands on: the client, and the line that is due, where it is one."""

    client_id: UUID
    client: str
    line: DueLine | None
    pond_id: UUID | None = None
    site_id: UUID | None = None


@dataclass(frozen=True, slots=True)
class Logged:
    """An attempt that was logged in this session, and how it was said."""

    attempt: Attempt
    said: str


_LOGGED: WeakKeyDictionary[App[Any], list[Logged]] = WeakKeyDictionary()
"""What was logged since the application was begun, the newest last: that can be taken back."""


def logged(app: App[Any]) -> list[Logged]:
    """The attempts of this session that were not taken back, the newest last."""
    return _LOGGED.setdefault(app, [])


class PhoneStrip(BottomStrip):
    """The strip of a screen from which clients are rung; a word under it takes one of its lines.

    Parameters
    ----------
    short
        Two lines while the terminal is not tall: the list above is what is looked at.
    """

    def __init__(self, *, short: bool = False, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self._short = short
        self._gives_way = False

    def give_way(self, gives: bool) -> None:
        """One line less, so that the list above does not jump; or that line again."""
        self._gives_way = gives
        self.refresh(layout=True)

    @property
    def lines(self) -> int:
        """Lines there are for it on a terminal of this size."""
        short = self._short and self.app.size.height < TALL_FROM
        lines = min(SHORT_LINES, super().lines) if short else super().lines
        return lines - self._gives_way


class PhoneScreen(Screen[None], metaclass=AbstractScreen):
    """A screen from which clients are rung."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("r", "log('reached')", "reached", id="phone.reached",
                tooltip="Log that the client was reached; it closes a ring-back"),
        Binding("w", "log('left word')", "word", id="phone.word",
                tooltip="Log that word was left for the client"),
        Binding("n", "log('no answer')", "no answer", id="phone.nobody",
                tooltip="Log that nobody answered"),
        Binding("a", "ring_again", "ring back", id="phone.again",
                tooltip="Ring again on a day, at an hour: the client comes up by itself then"),
        Binding("u", "take_back", "take back", show=False, id="phone.back",
                tooltip="Strike through the attempt that was logged last in this session"),
    ]  # fmt: skip

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    @abstractmethod
    def whom(self) -> Whom | None:
        """Whom the cursor stands on."""

    def attempt_shown(self, one: Logged, *, taken_back: bool = False) -> None:
        """Show at once what was logged; reading anew brings the rest."""

    def say(self, text: str) -> None:
        """A word above the keys; the empty text takes the line away."""
        for line in self.query("#desk-said").results(Static):
            line.update(Content(one_line(text)))
            line.display = bool(text)
        for strip in self.query(PhoneStrip):
            strip.give_way(bool(text))

    @work(exclusive=True, group="desk-log")
    async def action_log(self, outcome: Outcome) -> None:
        """Log how it went, in one key."""
        whom = self.whom()
        act = None if whom is None else await self.ponds_app.acting()
        if whom is None or act is None:
            return
        try:
            await self._log(act, whom, outcome)
        except PondroundError as trouble:
            self.ponds_app.tell(trouble)

    async def _log(
        self, act: Act, whom: Whom, outcome: Outcome, ring_on: date | None = None,
        ring_at: time | None = None, note: str = "",
    ) -> None:  # fmt: skip
        app, book = self.ponds_app, self.ponds_app.book
        attempt, zone, today = await app.ask_store(
            _logged, book, act, whom, outcome, ring_on, ring_at, note
        )
        hour = "" if ring_at is None else f" {ring_at:%H:%M}"
        when = "" if ring_on is None else f"{said_since(ring_on, today)}{hour}"
        said = SAID[outcome].format(client=one_line(whom.client), when=when)
        one = Logged(attempt, said)
        logged(self.app).append(one)
        self.say(f"Logged {clock(act.at, zone)}: {said}. u takes it back.")
        self.attempt_shown(one)
        app.changed()

    def action_ring_again(self) -> None:
        """Ask for the day and the hour, and log it."""
        whom = self.whom()
        if whom is None:
            return

        async def keep(act: Act, on_day: date, at: time | None, note: str) -> None:
            await self._log(act, whom, "ring back", on_day, at, note)

        number = "" if whom.line is None else whom.line.phone or whom.line.phone2
        self.app.push_screen(
            WhenScreen(
                f"Ring back {whom.client}",
                f"It comes up by itself then. {number}".strip(),
                keep,
                day="ring_on", hour="ring_at", words="note", needs_words=False,
                words_label="About", start="tomorrow",
                draft=("ring-back", whom.client_id),
            )
        )  # fmt: skip

    @work(exclusive=True, group="desk-log")
    async def action_take_back(self) -> None:
        """Strike the newest attempt of this session through."""
        app, done = self.ponds_app, logged(self.app)
        act = await app.acting() if done else None
        if act is None or not done:
            return
        one = done[-1]
        try:
            await app.ask_store(_taken_back, app.book, act, one.attempt.id)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        done.pop()
        self.say(f"Taken back: {one.said}. It stays in the record, struck through.")
        self.attempt_shown(one, taken_back=True)
        app.changed()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Letters are for typing while a line has the focus; what cannot be taken back is not."""
        if action in self.letters() and (
            isinstance(self.focused, TextLine) or not getattr(self.app, "book_is_open", True)
        ):
            return False
        if action == "take_back" and not logged(self.app):
            return False
        return super().check_action(action, parameters)

    def letters(self) -> frozenset[str]:
        """Actions whose keys are letters."""
        return frozenset({"log", "ring_again", "take_back"})

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)


def _logged(
    book: Book, act: Act, whom: Whom, outcome: Outcome, ring_on: date | None, ring_at: time | None,
    note: str,
) -> tuple[Attempt, ZoneInfo, date]:  # fmt: skip
    from store.book.people import person
    from store.diary.desk.due import Attempt
    from store.diary.kept.attempts import log_attempt

    about = "" if whom.line is None else whom.line.promised.about
    with book.writing(act) as writing:
        key = log_attempt(
            writing, whom.client_id, outcome, pond_id=whom.pond_id, about=about,
            ring_on=ring_on, ring_at=ring_at, note=note,
        )  # fmt: skip
    by = person(book, act.by)
    attempt = Attempt(
        key, whom.client_id, whom.pond_id, about, act.at, by.initials or by.name, outcome,
        ring_on, ring_at, note,
    )  # fmt: skip
    return attempt, book.zone, book.today(act.at)


def _taken_back(book: Book, act: Act, key: UUID) -> None:
    from store.diary.kept.attempts import strike_attempt

    with book.writing(act) as writing:
        strike_attempt(writing, key, "taken back at once")


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

    @work(exclusive=True, group="when-save")
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
