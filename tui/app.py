"""The application: it wires the places together and holds the only clock."""

from __future__ import annotations

import asyncio
import traceback
from collections.abc import Awaitable, Callable
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar
from uuid import UUID

from rich.text import Text
from textual import events, work
from textual.app import App
from textual.binding import Binding, BindingType
from textual.message import Message
from textual.screen import Screen

from store.errors import BookTrouble, ChangedMeanwhile, NoAnswer, PondroundError
from tui.asking import INSISTED, Answer, Asked, ask
from tui.drafts import Drafts, drafts_path
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.sign_in_work import AtWork
from tui.screens.parts.small import TooSmall
from tui.settings import Settings, read_settings, settings_path, write_settings
from tui.themes import DAY, LATER, LOOK, NIGHT, variable_defaults, wear
from tui.widgets.top import Top

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.exchange.bag.marks import Bag

LEAST_COLUMNS, LEAST_ROWS = 60, 20


class BookOpened(Message):
    """The book is open; a screen that waited for it may ask."""


class BookChanged(Message):
    """Something was written; what a screen shows may be out of date.

    Parameters
    ----------
    own
        Whether it was written here, and not by somebody else.
    """

    def __init__(self, own: bool = True) -> None:
        super().__init__()
        self.own = own


def _now() -> datetime:
    return datetime.now(UTC)


def _bag_of(book: Book) -> Bag | None:
    from store.exchange.bag.marks import bag_of

    with suppress(PondroundError):  # whoever asks for something is told
        return bag_of(book)
    return None


def _morning() -> Screen[Any]:
    from tui.screens.morning.morning import MorningScreen

    return MorningScreen()


def _directory() -> Screen[Any]:
    from tui.screens.directory.directory import DirectoryScreen

    return DirectoryScreen()


def _rules() -> Screen[Any]:
    from tui.screens.rules.rules import RulesScreen

    return RulesScreen()


def _courses() -> Screen[Any]:
    from tui.screens.courses.courses import CoursesScreen

    return CoursesScreen()


def _desk() -> Screen[Any]:
    from tui.screens.desk.desk import DeskScreen

    return DeskScreen()


def _diary() -> Screen[Any]:
    from tui.screens.diary.diary import DiaryScreen

    return DiaryScreen()


def _round() -> Screen[Any]:
    from tui.screens.rounds.round import RoundScreen

    return RoundScreen()


def _guard() -> Screen[Any]:
    from tui.screens.guard.backups import GuardScreen

    return GuardScreen()


def _record() -> Screen[Any]:
    from tui.screens.record.record import RecordScreen

    return RecordScreen()


class PondroundApp(App[int]):
    """Pondround in the terminal.

    Parameters
    ----------
    opening
        Opens the book, called in a thread after the first paint; None from it means that there is
        no book yet, and one is begun.
    beginning
        Makes a new book from what the first form holds, called in a thread.
    now
        The clock.
    person
        Name or initials of who works; empty takes the usual person of this machine, or asks.
    settings, drafts
        Where choices and what was typed are kept; None keeps neither, for a trial.
    backups
        Gives the folder of the backups that make themselves; None makes none.
    """

    # What the first screen needs and no more: sheets of other screens are read when the screen
    # comes, and everything read before is then read again.
    CSS_PATH = [LOOK, LOOK.with_name("screens") / "sheets" / "morning.tcss"]  # noqa: RUF012
    MODES: ClassVar[dict[str, str | Callable[[], Screen[Any]]]] = {
        "morning": _morning,
        "directory": _directory,
        "rules": _rules,
        "courses": _courses,
        "desk": _desk,
        "diary": _diary,
        "round": _round,
        "record": _record,
        "guard": _guard,
    }
    DEFAULT_MODE = "morning"
    TITLE = "Pondround"
    ENABLE_COMMAND_PALETTE = False

    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("1", "place('morning')", "list", show=False, id="anywhere.morning",
                tooltip="The morning list"),
        Binding("2", "place('directory')", "directory", show=False, id="anywhere.directory",
                tooltip="All clients, sites and ponds"),
        Binding("3", "place('rules')", "rules", show=False, id="anywhere.rules",
                tooltip="The alert rules in force"),
        Binding("4", "place('courses')", "courses", show=False, id="anywhere.courses",
                tooltip="All courses that run, and what is due of them"),
        Binding("5", "place('desk')", "desk", show=False, id="anywhere.desk",
                tooltip="What was promised and is due; whom to ring next"),
        Binding("6", "place('diary')", "diary", show=False, id="anywhere.diary",
                tooltip="Who goes where and when, and what is free"),
        Binding("7", "place('round')", "round", show=False, id="anywhere.round",
                tooltip="Where one drives on a day, and in which order"),
        Binding("8", "place('record')", "record", show=False, id="anywhere.record",
                tooltip="Who changed what, when, and why"),
        Binding("9", "place('guard')", "backups", show=False, id="anywhere.guard",
                tooltip="Backups, and whether the book is as it was written"),
        Binding("f9", "theme", "day or night", show=False, id="anywhere.theme",
                tooltip="Light letters on dark, or dark on light"),
        Binding("f6", "person", "who works", show=False, id="anywhere.person",
                tooltip="Choose who is working now"),
        Binding("q", "leave", "leave", show=False, id="anywhere.leave", tooltip="Leave Pondround"),
    ]  # fmt: skip

    def __init__(
        self,
        opening: Callable[[], Book | None],
        *,
        beginning: Callable[[dict[str, str]], Book] | None = None,
        now: Callable[[], datetime] = _now,
        person: str = "",
        settings: Path | None = None,
        drafts: Path | None = None,
        backups: Callable[[], Path | None] | None = None,
    ) -> None:
        super().__init__()
        self._opening, self._beginning = opening, beginning
        self.now = now
        self._settings_path = settings
        self._settings, self._remarks = read_settings(settings) if settings else (Settings(), ())
        self.drafts = Drafts(drafts or drafts_path())
        self._at_work = AtWork(self, person or self._settings.person, self._keep_person)
        self._wished_place = ""
        self._book: Book | None = None
        self._bag: Bag | None = None
        self._backups = backups
        self.backups: Path | None = None
        self.backup_said = ""
        """That the newest backup is old; empty where all is well."""
        wear(self, self._settings.theme)

    @property
    def book(self) -> Book:
        """The open book; screens ask for it once they were told that it is open."""
        if self._book is None:
            raise BookTrouble("The book is not open yet. Please wait a moment.")
        return self._book

    @property
    def bag_said(self) -> str:
        """Which bag the open book is, and how old, for every head; empty for a whole book."""
        if self._bag is None:
            return ""
        from store.exchange.bag.marks import said_age
        from tui.said import said_date

        day = said_date(self._bag.day, self.now().date())
        return f"bag for {day}, packed {said_age(self._bag, self.now())}"

    @property
    def book_is_open(self) -> bool:
        """Whether the book can be asked."""
        return self._book is not None

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """Our variables for any theme."""
        return variable_defaults(self.current_theme)

    # --- opening ---------------------------------------------------------------------------------

    def on_mount(self) -> None:
        """The morning list is painted first; then the book is opened."""
        self.set_interval(20.0, self._look_round)
        self.call_after_refresh(self._open)

    @work(group="app-open", exclusive=True)
    async def _open(self) -> None:
        self.stylesheet.read_all(LATER)
        from tui.screens.parts.dialogs import Tell

        try:
            book = await asyncio.to_thread(self._opening)
            if book is None:
                book = await self._begin()
        except PondroundError as trouble:
            await self.push_screen_wait(Tell.of(trouble))
            self.exit(1, return_code=1, message=trouble.message)
            return
        if book is None:
            self.exit(0)
            return
        self._book = book
        self._bag = await asyncio.to_thread(_bag_of, book)
        from tui.others import Others

        await Others(self, book, self.others_changed).begin()
        self._tell_time()
        self._post(BookOpened)
        self._begin_work()
        self.backups = None if self._backups is None else self._backups()
        if self.backups is not None:
            from tui.daily import Daily

            Daily(self, book, self.backups).begin()
        if self._wished_place:
            self.action_place(self._wished_place)
        for remark in self._remarks:
            self.notify(remark, severity="warning", markup=False)
        from store.book.opening import remark_of

        for title, said in (("Only for reading", book.only_read), ("Its place", remark_of(book))):
            if said:
                self.notify(said, title=title, severity="warning", markup=False)

    async def _begin(self) -> Book | None:
        """A new book from the first form; None when it was left."""
        from tui.screens.parts.begin import BeginScreen

        if self._beginning is None:
            raise BookTrouble("There is no book there, and none can be begun here.")
        return await self.push_screen_wait(BeginScreen(self._beginning))

    # --- what screens ask of the application ----------------------------------------------------

    def today(self) -> date:
        """The practice's calendar day."""
        return self.book.today(self.now())

    async def ask_store(
        self, question: Callable[Asked, Answer], *args: Asked.args, **kwargs: Asked.kwargs
    ) -> Answer:
        """The store's answer, asked in a thread; its errors pass through."""
        return await ask(self, question, *args, **kwargs)

    async def acting(self) -> Act | None:
        """Who does something now, and when; asked once, None when that was left with escape."""
        wanted = INSISTED.set(True)
        try:
            return await self._acting()
        except NoAnswer as trouble:
            self.tell(trouble)
            return None
        finally:
            INSISTED.reset(wanted)

    async def _acting(self) -> Act | None:
        from store.book.act import Act

        person = await self._at_work.who()
        if person is None:
            return None
        return Act(person, await self.ask_store(self.book.moment, self.now()))

    def tell(self, trouble: PondroundError) -> None:
        """What went wrong, in a dialog."""
        from tui.screens.parts.dialogs import Tell

        if isinstance(trouble, NoAnswer) and not trouble.saving:
            # A dialog would be told again by the page that reads anew when it is closed.
            self.notify(trouble.message, title=trouble.title, severity="warning", markup=False)
            return
        told = isinstance(self.screen, Tell) and self.screen.title == trouble.title
        if told and isinstance(trouble, NoAnswer) and not trouble.unsure:
            return  # several questions at once met the same broken line
        if isinstance(trouble, ChangedMeanwhile) and trouble.row is not None:
            self._tell_with_theirs(trouble)
            return
        dialog = Tell.of(trouble)
        dialog.title = trouble.title
        self.push_screen(dialog)

    @work(group="app-theirs")
    async def _tell_with_theirs(self, trouble: ChangedMeanwhile) -> None:
        """Who was faster, and what they wrote, before one goes back to what is typed."""
        from store.record.since import told_since
        from tui.screens.parts.dialogs import Tell

        theirs = await self.ask_store(told_since, self.book, trouble)
        said = f"{trouble.message}\n\n{theirs}" if theirs else trouble.message
        await self.push_screen(Tell(trouble.title, said))

    def changed(self) -> None:
        """Something was written: every screen may ask again."""
        self._post(BookChanged)

    def others_changed(self) -> None:
        """Somebody else has written: every screen may ask again."""
        self._post(lambda: BookChanged(own=False))

    def open_pond(self, pond: UUID) -> None:
        """The page of a pond, on top of where one is."""
        from tui.screens.ponds.pond import PondScreen

        self.push_screen(PondScreen(pond))

    def open_client(self, client: UUID) -> None:
        """The whole picture of a client, on top of where one is."""
        from tui.screens.desk.client import ClientScreen

        self.push_screen(ClientScreen(client))

    # --- keys ------------------------------------------------------------------------------------

    def action_help(self) -> None:
        """What this screen is for, and its keys."""
        open_help(self)

    def action_place(self, place: str) -> None:
        """Go to one of the places; asked for again, what lies on top of it is left.

        What is typed there is kept as a draft. Before the book is open the wish is remembered.
        """
        if not self.book_is_open:
            self._wished_place = place
        elif self.current_mode != place:
            self.switch_mode(place)
        else:
            while len(self.screen_stack) > 1:
                self.screen.dismiss(None)

    def action_theme(self) -> None:
        """Day, or night."""
        worn = wear(self, DAY if self.theme == NIGHT else NIGHT)
        self._keep(replace(self._settings, theme=worn))

    @work(group="app-person", exclusive=True)
    async def action_person(self) -> None:
        """Somebody else works; where a passphrase is set, what is shown is locked until then."""
        await self._at_work_asks(self._at_work.change)

    @work(group="app-person", exclusive=True)
    async def _begin_work(self) -> None:
        await self._at_work_asks(self._at_work.at_the_start)

    @work(group="app-person", exclusive=True)
    async def _lock(self) -> None:
        await self._at_work_asks(self._at_work.lock)

    async def _at_work_asks(self, question: Callable[[], Awaitable[object]]) -> None:
        if self.book_is_open:
            try:
                await question()
            except PondroundError as trouble:
                self.tell(trouble)

    def action_leave(self) -> None:
        """Leave; everything that was saved is saved, what was typed is kept as a draft."""
        self.exit(0)

    # --- within ----------------------------------------------------------------------------------

    def _keep_person(self, name: str) -> None:
        self._keep(replace(self._settings, person=name))

    def _keep(self, settings: Settings) -> None:
        self._settings = settings
        if self._settings_path is not None:
            write_settings(self._settings_path, settings)

    def _post(self, kind: Callable[[], Message]) -> None:
        # Every mode has a stack of screens of its own; those that were never shown have none.
        for stack in self._screen_stacks.values():
            for screen in stack:
                screen.post_message(kind())

    async def on_event(self, event: events.Event) -> None:
        """A key or the mouse says that somebody is there."""
        if isinstance(event, events.Key | events.MouseDown):
            self._at_work.touched(self.now())
        await super().on_event(event)

    def _look_round(self) -> None:
        if self._at_work.is_away(self.now(), self._settings.lock_min):
            self._lock()
        self._tell_time()

    def _tell_time(self) -> None:
        if self._book is None or len(self.screen_stack) > 1:
            return  # what lies on top of a place has its own words at the right of its head
        from tui.said import said_head

        moment = said_head(self.now(), self._book.zone)
        for top in self.screen.query(Top):
            top.moment = moment

    def _fatal_error(self) -> None:
        """A fault of our own: one sentence for the person, the particulars in a file."""
        from tui.commands.trouble import keep_fault, log_path

        sentence = keep_fault(None if self.is_headless else log_path(), traceback.format_exc())
        self._exit_renderables.append(Text(sentence))
        self._close_messages_no_wait()

    def on_resize(self, event: events.Resize) -> None:
        """Below the least size one sentence says so; nothing is lost under it."""
        small = event.size.width < LEAST_COLUMNS or event.size.height < LEAST_ROWS
        if small and not isinstance(self.screen, TooSmall):
            self.push_screen(TooSmall(LEAST_COLUMNS, LEAST_ROWS))
        elif not small and isinstance(self.screen, TooSmall):
            self.pop_screen()


def run_app(app: PondroundApp) -> int:
    """Run the application until it is left, and let go of its book.

    Returns
    -------
    int
        Exit code: 0 left in order, 1 the book could not be opened.
    """
    try:
        return app.run() or 0
    finally:
        if app.book_is_open:
            app.book.close()


def usual_settings() -> Path:
    """Where the application keeps the choices of this machine's user."""
    return settings_path()
