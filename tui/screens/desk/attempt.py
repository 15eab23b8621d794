"""On the telephone: one key logs how a call went, one takes back what was done last.

The desk and the page of a client share it.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, time
from typing import TYPE_CHECKING, Any, ClassVar, Final, cast
from uuid import UUID
from weakref import WeakKeyDictionary

from textual.app import App
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.screen import Screen

from store.errors import PondroundError
from tui.said import clock, said_since
from tui.screens.desk.when import WhenScreen
from tui.screens.parts.abstract import AbstractScreen
from tui.screens.parts.help import open_help
from tui.screens.parts.once import once
from tui.widgets.entry import TextLine
from tui.widgets.literal import cut, one_line
from tui.widgets.static import Static
from tui.widgets.strip import SHORT_LINES, BottomStrip

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from store.book.act import Act
    from store.book.book import Book
    from store.diary.desk.due import Attempt, DueLine, Outcome
    from tui.app import PondroundApp

SAID: Final[Mapping[str, str]] = {
    "reached": "{client} was reached", "left word": "left word for {client}",
    "no answer": "nobody answered at {client}", "ring back": "ring {client} back {when}",
}  # fmt: skip
"""What is said at the foot once an attempt was logged."""
NOBODY: Final = "This line stands for no client: move to one that does."


@dataclass(frozen=True, slots=True)
class Whom:
    """Whom the cursor stands on: the client, and the line that is due, where it is one."""

    client_id: UUID
    client: str
    line: DueLine | None
    pond_id: UUID | None = None
    site_id: UUID | None = None
    about: str = ""
    """The name of what the call is about, where that is no line that is due."""
    phone: str = ""
    """The number to dial, where there is no line that is due."""


@dataclass(frozen=True, slots=True)
class Done:
    """Something that was entered in this session: in words, how it is taken back, the attempt."""

    said: str
    undo: Callable[[Book, Act], None]
    attempt: Attempt | None = None


_DONE: WeakKeyDictionary[App[Any], list[Done]] = WeakKeyDictionary()
"""What was entered since the application was begun, the newest last: that can be taken back."""


def done_of(app: App[Any]) -> list[Done]:
    """What was entered in this session and not taken back, the newest last."""
    return _DONE.setdefault(app, [])


class PhoneStrip(BottomStrip):
    """The strip of a screen from which clients are rung; a word under it takes one of its lines."""

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self._short = False
        self._gives_way = False

    def shorten(self, short: bool) -> None:
        """Two lines, where the list above needs the room; or all of them."""
        if short != self._short:
            self._short = short
            self.refresh(layout=True)

    def give_way(self, gives: bool) -> None:
        """One line less, so that the list above does not jump; or that line again."""
        self._gives_way = gives
        self.refresh(layout=True)

    @property
    def lines(self) -> int:
        """Lines there are for it on a terminal of this size."""
        lines = min(SHORT_LINES, super().lines) if self._short else super().lines
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
                tooltip="Take back what was entered last in this session: an attempt, a day"),
        Binding("t", "note", "note", show=False, id="phone.note",
                tooltip="A short note of a call: what was said, what was advised, what comes next"),
        Binding("p", "promise", "promise", show=False, id="phone.promise",
                tooltip="Promise something to this client, once or again and again"),
        Binding("m", "remind", "reminder", show=False, id="phone.remind",
                tooltip="The text that reminds the owner of what is due"),
    ]  # fmt: skip

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    @abstractmethod
    def whom(self) -> Whom | None:
        """Whom the cursor stands on."""

    def _someone(self) -> Whom | None:
        """Whom the cursor stands on; where that is nobody, it is said."""
        whom = self.whom()
        if whom is None:
            self.notify(NOBODY, markup=False)
        return whom

    def attempt_shown(self, attempt: Attempt) -> None:
        """Show at once what was logged; reading anew brings the rest."""

    def did(self, one: Done, said: str) -> None:
        """Say what was entered and how it is taken back, and tell every screen."""
        done_of(self.app).append(one)
        self.say(f"{said} u takes it back.")
        self.ponds_app.changed()

    def say(self, text: str) -> None:
        """A word above the keys; the empty text takes the line away."""
        for line in self.query("#desk-said").results(Static):
            line.update(Content(one_line(text)))
            line.display = bool(text)
        for strip in self.query(PhoneStrip):
            strip.give_way(bool(text))

    @once("desk-log")
    async def action_log(self, outcome: Outcome) -> None:
        """Log how it went, in one key."""
        whom = self._someone()
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
        said = SAID[outcome].format(client=cut(one_line(whom.client), 24), when=when)
        self.attempt_shown(attempt)
        self.did(Done(said, _undo(attempt.id), attempt), f"Logged {clock(act.at, zone)}: {said}.")
        if outcome == "reached" and attempt.about.startswith("hand:"):
            self.say(f"Logged: {said}. d enters what became of it, u takes it back.")

    def action_ring_again(self) -> None:
        """Ask for the day and the hour, and log it."""
        whom = self._someone()
        if whom is None:
            return

        async def keep(act: Act, on_day: date, at: time | None, note: str) -> None:
            await self._log(act, whom, "ring back", on_day, at, note)

        number = whom.phone if whom.line is None else whom.line.phone or whom.line.phone2
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

    @once("desk-log")
    async def action_take_back(self) -> None:
        """Take back what was entered last in this session."""
        app, done = self.ponds_app, done_of(self.app)
        act = await app.acting() if done else None
        if act is None or not done:
            return
        one = done[-1]
        try:
            await app.ask_store(one.undo, app.book, act)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        done.pop()
        self.say(f"Taken back: {one.said}. The record keeps both.")
        app.changed()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Letters are for typing while a line has the focus; what cannot be taken back is not."""
        if action in self.letters() and (
            isinstance(self.focused, TextLine) or not getattr(self.app, "book_is_open", True)
        ):
            return False
        if action == "take_back" and not done_of(self.app):
            return False
        return super().check_action(action, parameters)

    def letters(self) -> frozenset[str]:
        """Actions whose keys are letters."""
        return frozenset({"log", "ring_again", "take_back", "note", "promise", "remind"})

    def action_note(self) -> None:
        """A short note of a call with this client."""
        from tui.screens.desk.call_note import CallNoteScreen

        whom = self._someone()
        if whom is not None:
            self.app.push_screen(CallNoteScreen(whom.client_id, whom.pond_id, whom.client))

    def action_promise(self) -> None:
        """Promise something."""
        from tui.screens.desk.promise import PromiseScreen

        whom = self._someone()
        if whom is not None:
            self.app.push_screen(PromiseScreen(whom.client_id, whom.pond_id))

    def action_remind(self) -> None:
        """The text that reminds the owner of what is due."""
        from tui.screens.desk.reminder import ReminderScreen

        whom = self._someone()
        if whom is not None:
            self.app.push_screen(ReminderScreen(whom.client_id))

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)


def _logged(
    book: Book, act: Act, whom: Whom, outcome: Outcome, ring_on: date | None, ring_at: time | None,
    note: str,
) -> tuple[Attempt, ZoneInfo, date]:  # fmt: skip
    from store.book.people import person
    from store.diary.desk.due import Attempt
    from store.diary.kept.promised.attempts import log_attempt

    about = whom.about if whom.line is None else whom.line.promised.about
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


def _undo(key: UUID) -> Callable[[Book, Act], None]:
    def strike(book: Book, act: Act) -> None:
        from store.diary.kept.promised.attempts import strike_attempt

        with book.writing(act) as writing:
            strike_attempt(writing, key, "taken back at once")

    return strike
