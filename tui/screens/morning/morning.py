"""The morning list: the first screen."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any, ClassVar, Final, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.timer import Timer
from textual.worker import get_current_worker

from store.errors import PondroundError
from tui.said import said_head
from tui.screens.morning.glance import panel, read_glance, told_of
from tui.screens.morning.morning_rows import (
    COLUMNS,
    FILTERS,
    SORTS,
    alone,
    chosen,
    row_of,
    said_counts,
)
from tui.screens.parts.help import HELP, open_help
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.static import Static
from tui.widgets.strip import BottomStrip, Told
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from textual.widgets import Input

    from store.book.book import Book
    from store.watch.concern import MorningLine, MorningList
    from tui.app import PondroundApp
    from tui.screens.morning.glance import Glance

READING: Final = "Opening the book and looking at every pond …"
EMPTY_BOOK: Final = (
    "No pond yet. Press 2 for the directory and n there to enter a client with a pond. Whole lists "
    "come in with: pondround import ponds FILE. To look around first: pondround demo."
)
NOTHING_SHOWN: Final = "No pond here needs anybody. Press a for all ponds, f for another choice."
NOTHING_FOUND: Final = "Nothing fits what was typed. esc goes back to the whole list."
GLANCE_AFTER_S: Final = 0.08
"""The cursor rests this long before the pond under it is read, so that a run of moves is quick."""
LOOK_AGAIN: Final = timedelta(minutes=5)
"""Somebody else may have written meanwhile."""
WIDE_FROM: Final = 112


class MorningScreen(Screen[None]):
    """Every pond that needs somebody, worst first."""

    QUESTION = "Who needs me today?"
    ABOUT = (
        "One line a pond: the level in words, client and pond, what with its number, the course of "
        "that value (full height is at its limit), the age of the last test, the next visit. +1 "
        "means one more concern. The strip below explains the line under the cursor."
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("e", "explain", "explain", id="morning.explain",
                tooltip="Every concern of this pond with readings, arithmetic and source"),
        Binding("r", "rest", "rest", id="morning.rest",
                tooltip="Put a concern to rest until a day, with a reason"),
        Binding("t", "water_test", "test", id="morning.test", tooltip="Enter a water test"),
        Binding("slash", "find", "find", key_display="/", id="morning.find", priority=True,
                tooltip="Find by part of a name, town or telephone number"),
        Binding("f", "filter", "filter", id="morning.filter",
                tooltip="Choose which ponds stand here"),
        HELP,
        Binding("s", "sort", "sort", show=False, id="morning.sort", tooltip="Choose the order"),
        Binding("a", "all", "all", show=False, id="morning.all",
                tooltip="All ponds, or only those that need somebody"),
        Binding("R", "paper", "paper", show=False, id="morning.paper",
                tooltip="The list as a paper for the wall, to a file"),
        Binding("D", "differs", "what differs", show=False, id="morning.differs",
                tooltip="What was changed both here and in a bag: one of both sides is taken"),
        Binding("f5", "again", "look again", show=False, id="morning.again",
                tooltip="Look at every pond again"),
        Binding("escape", "back", "back", show=False, id="morning.back",
                tooltip="Back to the whole list"),
    ]  # fmt: skip

    def __init__(self) -> None:
        super().__init__()
        self._list: MorningList | None = None
        self._lines: dict[UUID, MorningLine] = {}
        self._show, self._sort = "needing", "worst"
        self._found: frozenset[UUID] | None = None
        self._alone: frozenset[str] = frozenset()
        self._zone: ZoneInfo | None = None
        self._glances: dict[UUID, Glance] = {}
        self._looked_at: datetime | None = None
        self._waiting: Timer | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, counts, list with the pond at its right, strip."""
        yield Top("Pondround", id="morning-head")
        yield Static("", id="morning-counts", markup=False)
        yield Static("", id="morning-bag", markup=False)
        yield Line()
        with Horizontal(id="morning-middle"):
            with Vertical(id="morning-left"):
                yield LineGrid(COLUMNS, empty=READING, header=True, id="morning-list")
            with VerticalScroll(id="morning-panel", can_focus=False):
                yield Static("", id="morning-pond", markup=False)
        yield Line()
        yield BottomStrip(id="morning-strip")
        yield Foot()

    def on_mount(self) -> None:
        """The list has the keys, the clock goes."""
        self.query_one("#morning-panel").display = self.app.size.width >= WIDE_FROM
        self.query_one("#morning-bag").display = False
        self.query_one(LineGrid).focus()
        self._tick()
        self.set_interval(5, self._tick)
        if self.ponds_app.book_is_open:
            self._look()

    def on_book_opened(self) -> None:
        """The book is open: look at it."""
        self._look()

    def on_book_changed(self) -> None:
        """The book was written: look again."""
        self._look()

    def on_screen_resume(self) -> None:
        """Back from another page: the clock at once."""
        self._tick()

    def on_resize(self) -> None:
        """The pond under the cursor stands at the right where there is room."""
        wide = self.app.size.width >= WIDE_FROM
        self.query_one("#morning-panel").display = wide
        # Names are cut to the width of their column, which is known after the layout.
        self.call_after_refresh(self._fill)

    def _tick(self) -> None:
        app = self.ponds_app
        if self._zone is not None:
            self.query_one(Top).moment = said_head(app.now(), self._zone)
        if self._looked_at is not None and app.now() - self._looked_at >= LOOK_AGAIN:
            self._look()

    # Looking

    @work(group="morning-look", exclusive=True)
    async def _look(self) -> None:
        app = self.ponds_app
        if not app.book_is_open:
            return
        self._looked_at = app.now()
        try:
            listed, self._zone = await app.ask_store(_read, app.book, self._looked_at)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        self._list, self._alone = listed, alone(listed.lines)
        self._tick()
        self._lines = {line.pond: line for line in listed.lines}
        self._glances.clear()
        self._fill()
        self._look_closer()
        self._look_at_bags()

    @work(group="morning-bags", exclusive=True)
    async def _look_at_bags(self) -> None:
        """What is to be said of bags, once the list stands there."""
        from tui.screens.bag.said import bags_said

        app = self.ponds_app
        try:
            said = await app.ask_store(bags_said, app.book, app.now())
        except PondroundError:
            return  # the next look tells it
        said = "   ".join(filter(None, (said, app.backup_said)))
        line = self.query_one("#morning-bag", Static)
        line.update(said)
        line.display = bool(said)

    def _fill(self) -> None:
        if self._list is None:
            return
        lines = chosen(self._list.lines, self._show, self._sort, self._found)
        grid = self.query_one(LineGrid)
        grid.empty = (
            EMPTY_BOOK if not self._list.total
            else NOTHING_SHOWN if self._found is None
            else NOTHING_FOUND
        )  # fmt: skip
        cells = grid.cells_of("where"), grid.cells_of("what")
        today, single = self._list.today, self._alone
        grid.show(
            [row_of(line, today, *cells, only_pond=line.client in single) for line in lines]
        )  # fmt: skip
        self.query_one(Top).place = self._list.practice or "Pondround"
        found = self._found is not None
        said = said_counts(
            self._list, len(lines), self._show, found, sort=self._sort, cells=self.size.width - 2
        )
        self.query_one("#morning-counts", Static).update(Content(said))
        self._explain_line()

    @property
    def pond(self) -> UUID | None:
        """Key of the pond under the cursor."""
        key = self.query_one(LineGrid).cursor_key
        return key if isinstance(key, UUID) else None

    @on(LineGrid.CursorMoved)
    def _moved(self) -> None:
        self._explain_line()
        self._look_closer()

    def _look_closer(self) -> None:
        if self._waiting is not None:
            self._waiting.stop()
        if self.pond is not None and self.pond not in self._glances:
            self._waiting = self.set_timer(GLANCE_AFTER_S, self._read_glance)

    @work(group="morning-glance", exclusive=True)
    async def _read_glance(self) -> None:
        pond, app = self.pond, self.ponds_app
        if pond is None:
            return
        looked_at = self._looked_at
        try:
            glance = await app.ask_store(read_glance, app.book, pond, app.now())
        except PondroundError as trouble:
            self.query_one(BottomStrip).show(Told(trouble.title, advice=trouble.message))
            return
        if get_current_worker().is_cancelled or looked_at != self._looked_at:
            return
        self._glances[pond] = glance
        self._explain_line()

    def _explain_line(self) -> None:
        line = self._lines.get(self.pond) if self.pond is not None else None
        strip, beside = self.query_one(BottomStrip), self.query_one("#morning-pond", Static)
        if line is None or self._list is None:
            strip.show(None)
            beside.update("")
            return
        glance = self._glances.get(line.pond)
        strip.show(told_of(line, glance, self._list.today))
        beside.update(Content("") if glance is None else panel(line, glance))

    # Finding

    async def action_find(self) -> None:
        """Type a part of a name, town or telephone number."""
        from tui.widgets.entry import TextLine

        if not self.query("#morning-find"):
            line = TextLine(placeholder="name, town or telephone", id="morning-text")
            finding = Horizontal(Static("Find ", markup=False), line, id="morning-find")
            await self.query_one("#morning-left").mount(finding)
        # At once: what is typed behind the key goes into the line, and starts nothing else.
        self.set_focus(self.query_one("#morning-text"))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """The key that finds is a letter like others where somebody types."""
        if action == "find" and self.focused is not None and self.focused.id == "morning-text":
            return False
        return super().check_action(action, parameters)

    def on_input_changed(self, typed: Input.Changed) -> None:
        """The list follows what is typed."""
        if self.ponds_app.book_is_open:
            self._find(typed.value)

    @work(group="morning-find", exclusive=True)
    async def _find(self, text: str) -> None:
        app = self.ponds_app
        try:
            found = await app.ask_store(_ponds_found, app.book, text) if text.strip() else None
        except PondroundError as trouble:
            app.tell(trouble)
            return
        if self.query("#morning-find"):  # else it was left meanwhile
            self._found = found
            self._fill()

    def on_input_submitted(self) -> None:
        """Found: on to the list."""
        self.query_one(LineGrid).focus()

    async def action_back(self) -> None:
        """The whole list again, then the usual choice."""
        if finding := self.query("#morning-find"):
            self.query_one(LineGrid).focus()
            await finding.remove()
            self._found = None
        elif self._show != "needing":
            self._show = "needing"
        self._fill()

    # Choosing

    def action_filter(self) -> None:
        """Choose which ponds stand here."""
        from tui.screens.parts.dialogs import Choose, Option

        options = [Option(key, words) for key, (words, _) in FILTERS.items()]
        self.app.push_screen(
            Choose("Which ponds?", options, start=self._show), self._filtered
        )  # fmt: skip

    def _filtered(self, key: Any) -> None:
        if key in FILTERS:
            self._show = key
            self._fill()

    def action_sort(self) -> None:
        """Choose the order."""
        from tui.screens.parts.dialogs import Choose, Option

        options = [Option(key, words) for key, (words, _) in SORTS.items()]
        self.app.push_screen(Choose("In which order?", options, start=self._sort), self._sorted)

    def _sorted(self, key: Any) -> None:
        if key in SORTS:
            self._sort = key
            self._fill()

    def action_all(self) -> None:
        """All ponds, or only those that need somebody."""
        self._show = "needing" if self._show == "all" else "all"
        self._fill()

    def action_differs(self) -> None:
        """What both sides changed."""
        from tui.screens.bag.differs import DiffersScreen

        if self.ponds_app.book_is_open:
            self.app.push_screen(DiffersScreen())

    def action_again(self) -> None:
        """Look at every pond again."""
        if self.ponds_app.book_is_open:
            self._look()

    # Going on

    def action_paper(self) -> None:
        """The list for the wall, to a file."""
        from tui.screens.exchange.wall import WallScreen

        if self.ponds_app.book_is_open:
            self.app.push_screen(WallScreen())

    @on(LineGrid.Opened)
    def _opened(self, opened: LineGrid.Opened) -> None:
        if isinstance(opened.key, UUID):
            self.ponds_app.open_pond(opened.key)

    def action_explain(self) -> None:
        """Explain every concern of the pond under the cursor."""
        from tui.screens.morning.explain import ExplainScreen

        if self.pond is not None:
            self.app.push_screen(ExplainScreen(self.pond))

    def action_rest(self) -> None:
        """Put a concern of the pond under the cursor to rest."""
        from tui.screens.morning.rest import RestScreen

        if self.pond is not None:
            self.app.push_screen(RestScreen(self.pond))

    def action_water_test(self) -> None:
        """Enter a water test of the pond under the cursor."""
        from tui.screens.water.water_test import WaterTestScreen

        if self.pond is not None:
            self.app.push_screen(WaterTestScreen(self.pond))

    def action_help(self) -> None:
        """What this list is for, and its keys."""
        open_help(self.app)


def _read(book: Book, now: datetime) -> tuple[MorningList, ZoneInfo]:
    from store.courses.kept.morning import morning_list

    return morning_list(book, now), book.zone


def _ponds_found(book: Book, text: str) -> frozenset[UUID]:
    from store.book.find import directory

    return frozenset(place.pond_id for place in directory(book, text).places)
