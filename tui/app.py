"""The application: it wires the places together and holds the only clock."""

from __future__ import annotations

import traceback
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar
from uuid import UUID

from rich.text import Text
from textual import events, work
from textual.app import App
from textual.binding import BindingType
from textual.message import Message
from textual.screen import Screen

from store.errors import BookTrouble, PondroundError
from tui.asking import Answer, Asked, ask
from tui.drafts import Drafts, drafts_path
from tui.ending import Ending
from tui.messages import BookChanged, BookOpened
from tui.places import ANYWHERE, PLACES
from tui.screens.parts.help import open_help
from tui.screens.parts.small import TooSmall
from tui.settings import Settings, read_settings, settings_path, write_settings
from tui.themes import DAY, LATER, LOOK, NIGHT, variable_defaults, wear
from tui.widgets.top import Top
from tui.working import Working

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from tui.opening import Opened

LEAST_COLUMNS, LEAST_ROWS = 60, 20


def _now() -> datetime:
    return datetime.now(UTC)


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
    learns
        Whether it is learnt beside what is shown what the records say of water temperatures.
    """

    # What the first screen needs and no more: sheets of other screens are read when the screen
    # comes, and everything read before is then read again.
    CSS_PATH = [LOOK, LOOK.with_name("screens") / "sheets" / "morning.tcss"]  # noqa: RUF012
    MODES: ClassVar[dict[str, str | Callable[[], Screen[Any]]]] = {**PLACES}
    DEFAULT_MODE = "morning"
    TITLE = "Pondround"
    ENABLE_COMMAND_PALETTE = False

    BINDINGS: ClassVar[list[BindingType]] = [*ANYWHERE]

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
        learns: bool = False,
    ) -> None:
        super().__init__()
        self._opening, self._beginning = opening, beginning
        self.now = now
        self._settings_path = settings
        self._settings, self._remarks = read_settings(settings) if settings else (Settings(), ())
        self.drafts = Drafts(drafts or drafts_path())
        self._working = Working(self, person or self._settings.person, self._keep_person)
        self._wished_place = ""
        self._opened: Opened | None = None
        self._backups = backups
        self.backups: Path | None = None
        self.backup_said = ""
        """That the newest backup is old; empty where all is well."""
        self._learns = learns
        self.learning_said = ""
        """How far the learning of temperatures is, for every head; empty while nothing is."""
        wear(self, self._settings.theme)

    @property
    def book(self) -> Book:
        """The open book; screens ask for it once they were told that it is open."""
        if self._opened is None:
            raise BookTrouble("The book is not open yet. Please wait a moment.")
        return self._opened.book

    @property
    def bag_said(self) -> str:
        """Which bag the open book is, and how old, for every head; empty for a whole book."""
        return "" if self._opened is None else self._opened.said_bag(self.now())

    @property
    def book_is_open(self) -> bool:
        """Whether the book can be asked."""
        return self._opened is not None

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """Our variables for any theme."""
        return variable_defaults(self.current_theme)

    # --- opening ---------------------------------------------------------------------------------

    def on_mount(self) -> None:
        """The morning list is painted first; then the book is opened."""
        if not self.is_headless:
            Ending(self).listen()
        self.set_interval(20.0, self._look_round)
        self.call_after_refresh(self._open)

    @work(group="app-open", exclusive=True)
    async def _open(self) -> None:
        self.stylesheet.read_all(LATER)
        from tui.opening import opened
        from tui.others import Others

        found = await opened(self, self._opening, self._beginning)
        if found is None:
            return
        self._opened = found
        await Others(self, found.book, self.others_changed).begin()
        self._tell_time()
        self._post(BookOpened)
        self._begin_work()
        self.backups = None if self._backups is None else self._backups()
        if self.backups is not None:
            from tui.daily import Daily

            Daily(self, found.book, self.backups).begin()
        if self._learns:
            from tui.learning import Learning

            Learning(self, found.book).begin()
        if self._wished_place:
            self.action_place(self._wished_place)
        for remark in self._remarks:
            self.notify(remark, severity="warning", markup=False)
        for title, said in found.remarks():
            self.notify(said, title=title, severity="warning", markup=False)

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
        return await self._working.acting()

    def tell(self, trouble: PondroundError) -> None:
        """What went wrong, in a dialog."""
        from tui.telling import tell_trouble

        tell_trouble(self, trouble)

    def changed(self) -> None:
        """Something was written: every screen may ask again."""
        self._post(BookChanged)

    def others_changed(self) -> None:
        """Somebody else has written: every screen may ask again."""
        self._post(lambda: BookChanged(own=False))

    def learnt(self) -> None:
        """More is known of the temperatures of ponds: every screen may ask again."""
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
        await self._working.change()

    @work(group="app-person", exclusive=True)
    async def _begin_work(self) -> None:
        await self._working.begin()

    @work(group="app-person", exclusive=True)
    async def _lock(self) -> None:
        await self._working.lock()

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
            self._working.touched(self.now())
        await super().on_event(event)

    def _look_round(self) -> None:
        if self._working.is_away(self.now(), self._settings.lock_min):
            self._lock()
        self._tell_time()

    def _tell_time(self) -> None:
        if self._opened is None or len(self.screen_stack) > 1:
            return  # what lies on top of a place has its own words at the right of its head
        from tui.said import said_head

        moment = said_head(self.now(), self._opened.book.zone)
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
