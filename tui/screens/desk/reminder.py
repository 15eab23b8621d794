"""The text that reminds an owner of what is due: to read, to copy, to put into a file."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar, cast
from uuid import UUID

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content

from store.errors import BadInput, PondroundError
from tui.screens.courses.course_sheet import LETTERHEAD
from tui.screens.parts.abstract import drafts_of
from tui.screens.parts.edit import FormScreen
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.page import PageScreen
from tui.widgets.fields import Field
from tui.widgets.foot import Foot
from tui.widgets.literal import cut, one_line, wrapped
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.diary.kept.files.reminders import Reminder
    from tui.app import PondroundApp

AHEAD_DAYS = 14
_MOST_DAYS = 366
_CELLS = 40
_WIDEST = 90
_NOTHING = "Nothing is due that an owner is reminded of. n looks further ahead."


class ReminderScreen(PageScreen):
    """What one client is reminded of.

    Parameters
    ----------
    client
        Key of the client.
    """

    CSS_PATH = "../sheets/reminder.tcss"
    QUESTION = "What does the owner have to know before the next visit?"
    ABOUT = (
        "The text says what is due, what to do before and what should make the owner ring. It "
        "never says how much of what goes in: that stands on the owner's sheet of the course. What "
        "is for a vet to tell, such as a finding, is named below it and stays out of it. Nothing "
        "is sent: copy it, or put it into a file."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("c", "copy", "copy", id="reminder.copy",
                tooltip="Hand the text to the terminal, which may or may not take it"),
        Binding("s", "save", "to a file", id="reminder.save",
                tooltip="Write it into a new text file"),
        Binding("n", "number", "number, days", id="reminder.number",
                tooltip="The number to ring, and how far ahead it looks"),
        HELP,
        Binding("escape", "back", "back", key_display="esc", id="reminder.back",
                tooltip="Back one step"),
        Binding("f5", "again", "look again", show=False, id="reminder.again",
                tooltip="Read the book anew"),
    ]  # fmt: skip

    def __init__(self, client: UUID) -> None:
        super().__init__()
        self.client = client
        self.reminder: Reminder | None = None
        self.ahead_days = AHEAD_DAYS
        self._practice = ""
        self._rung = ""

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    @property
    def was_read(self) -> bool:
        """Whether there is something to show already."""
        return self.reminder is not None

    def compose(self) -> ComposeResult:
        """Head, whom to send it to, the text, what is not in it, keys."""
        yield Top("reading what is due …", id="reminder-head")
        yield Static("", id="reminder-whom", markup=False)
        yield Line()
        with VerticalScroll(id="reminder-part"):
            yield Static("", id="reminder-text", markup=False)
        yield Line()
        yield Static("", id="reminder-unsaid", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """The text scrolls with the arrow keys; it is read behind the first paint."""
        self.query_one("#reminder-part").focus()
        self._read()

    def telephone(self) -> str:
        """The number typed the last time, for this practice, else that of its letterhead."""
        typed = drafts_of(self.app).of(LETTERHEAD, self._practice).values.get("telephone", "")
        return typed or self._rung

    @work(exclusive=True, group="entry-read")
    async def _read(self) -> None:
        app = self.ponds_app
        try:
            self.reminder = await app.ask_store(self._asked)
        except PondroundError as trouble:
            self.query_one(Top).place = trouble.title
            app.tell(trouble)
            return
        self._show_head()

    def _asked(self) -> Reminder:
        from store.book.practice import practice
        from store.diary.kept.files.reminders import reminder
        from store.reports.kept.head import head_of

        app = self.ponds_app
        own = practice(app.book)
        self._practice = own.name if own is not None else ""
        self._rung = head_of(app.book).telephone
        return reminder(
            app.book, self.client, app.now(), ahead_days=self.ahead_days, telephone=self.telephone()
        )

    def _show_head(self) -> None:
        told = self.reminder
        if told is None:
            return
        width = max(20, self.size.width - 2)
        top = self.query_one(Top)
        top.place = f"Reminder: {one_line(told.client)}"
        top.moment = f"next {self.ahead_days} days"
        reached = [one_line(each) for each in (told.phone, told.phone2, told.email) if each]
        self.query_one("#reminder-whom", Static).update(
            Content(cut("   ".join(reached) or "no number and no address in the book", width))
        )
        self.query_one("#reminder-text", Static).update(
            _shown(told.text or _NOTHING, min(width - 1, _WIDEST))
        )
        unsaid = self.query_one("#reminder-unsaid", Static)
        unsaid.update(_unsaid(told.unsaid, width))
        unsaid.display = bool(told.unsaid)
        self.refresh_bindings()

    # Keys

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Without a text there is nothing to copy or to save."""
        if action in ("copy", "save"):
            return True if self.reminder is not None and self.reminder.text else None
        return True

    def action_copy(self) -> None:
        """Hand the text to the terminal, which may or may not take it."""
        if self.reminder is None or not self.reminder.text:
            return
        self.app.copy_to_clipboard(self.reminder.text)
        self.notify(
            "Handed to the terminal. Some terminals ignore this; then s puts it into a file.",
            title="Copied",
            markup=False,
        )

    def action_save(self) -> None:
        """Into a file that was not there before."""
        if self.reminder is not None and self.reminder.text:
            self.app.push_screen(ReminderFileScreen(self.reminder))

    def action_number(self) -> None:
        """The number to ring, and how far ahead it looks."""
        self.app.push_screen(ReminderSetScreen(self.telephone(), self.ahead_days, self._set_anew))

    def _set_anew(self, days: int) -> None:
        self.ahead_days = days
        self._read()

    def action_again(self) -> None:
        """Read the book anew."""
        self._read()

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this screen is for, and its keys."""
        open_help(self.app)


class ReminderSetScreen(FormScreen):
    """The number that owners ring, and for how many days they are reminded.

    Parameters
    ----------
    telephone
        As it was typed the last time.
    ahead_days
        How far the reminder looks now [d].
    chosen
        Called with the days that were typed [d].
    """

    QUESTION = "Which number do owners ring, and how far ahead are they reminded?"
    ABOUT = (
        "The number stands in every reminder and on every owner's sheet of this practice, and is "
        "remembered on this machine."
    )

    def __init__(self, telephone: str, ahead_days: int, chosen: Callable[[int], None]) -> None:
        fields = (
            Field("telephone", "telephone", "may stay empty", telephone, width=_CELLS),
            Field("ahead_days", "days ahead", "1 to 366", str(ahead_days), width=8),
        )
        super().__init__("Number and days of reminders", fields, "reminder-set")
        self._chosen = chosen

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """Remember the number on this machine; the days are for this reminder alone."""
        from store.book.practice import practice

        typed = texts["ahead_days"].strip()
        days = int(typed) if typed.isascii() and typed.isdecimal() and len(typed) < 5 else 0
        if not 1 <= days <= _MOST_DAYS:
            raise BadInput("Please type a number of days from 1 to 366.", field="ahead_days")
        own = await self.ponds_app.ask_store(practice, self.ponds_app.book)
        letterhead = drafts_of(self.app).of(LETTERHEAD, own.name if own is not None else "")
        letterhead.keep({"telephone": texts["telephone"].strip()})
        self._chosen(days)
        return UUID(int=0)


class ReminderFileScreen(FormScreen):
    """Into which file the reminder goes.

    Parameters
    ----------
    told
        The reminder.
    """

    QUESTION = "Into which file does the reminder go?"
    ABOUT = "A file that is there already is never written over. Nothing is sent."

    def __init__(self, told: Reminder) -> None:
        fields = (Field("file", "file", "empty: in this folder", width=_CELLS),)
        super().__init__("Reminder to a file", fields, f"reminder-file-{told.client_id}")
        self._told = told

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """Write it; the book is only read."""
        app = self.ponds_app
        said = await app.ask_store(self._write, texts)
        self.notify(said, title="Written", markup=False)
        return self._told.client_id

    def _write(self, texts: Mapping[str, str]) -> str:
        from store.diary.kept.files.reminder_files import save_reminder

        typed = texts["file"].strip()
        path = Path(typed).expanduser() if typed else None
        return str(save_reminder(path, self._told, self.ponds_app.today()).resolve())


def _shown(text: str, width: int) -> Content:
    """The text with hanging lines, its headings bold; what is copied is the text itself."""
    lines: list[Content] = []
    for number, line in enumerate(text.splitlines()):
        item = line.startswith("- ")
        parts = wrapped(line.removeprefix("- "), max(10, width - 2 * item)) or [""]
        style = "" if item or number == 1 or "\n" not in text else "bold"
        for place, part in enumerate(parts):
            mark = ("- " if not place else "  ") if item else ""
            lines.append(Content.styled(mark + part, style) if style else Content(mark + part))
    return Content("\n").join(lines)


def _unsaid(unsaid: Iterable[str], width: int) -> Content:
    said = [one_line(each) for each in unsaid]
    if not said:
        return Content("")
    parts = wrapped(f"Not in it, to be told by word of mouth: {'; '.join(said)}.", width)
    if len(parts) > 4:
        parts = [*parts[:3], cut(f"{parts[3]} …", width)]
    return Content("\n").join([Content.styled(part, "$quiet") for part in parts])
