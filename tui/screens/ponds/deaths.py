"""The deaths of one pond: what is suspected, the shares, a chart by the day, every entry."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen

from store.errors import PondroundError
from tui.screens.parts.dialogs import AskReason, Choose, Option, Reason, Tell
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.page import PageScreen
from tui.screens.ponds.death_lines import (
    DeathKey,
    chart_data,
    death_rows,
    left_said,
    said_deaths,
    stop_lines,
    sum_lines,
    told_parts,
)
from tui.screens.ponds.pond_entry import written
from tui.screens.ponds.pond_lines import head_name
from tui.widgets.chart import TimeChart
from tui.widgets.columns import Column
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.literal import literal
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.writing import Writing
    from store.exams.losses import LossPage
    from tui.app import PondroundApp

COLUMNS = (
    Column("when", "When", 12),
    Column("what", "What", 20, weight=1),
    Column("who", "Who", 3, drop_order=1),
)
EMPTY = "No entry yet. Press n to enter dead fish (0 where none was found), h for a head count."
_VOICES = {"head": "bold", "stop": "bold $level-act", "text": "", "quiet": "$quiet"}


class DeathsScreen(PageScreen):
    """The deaths of one pond.

    Parameters
    ----------
    pond
        Key of the pond.
    """

    CSS_PATH = "../sheets/deaths.tcss"
    QUESTION = "How many fish die here, of how many, and what must be thought of?"
    ABOUT = (
        "At the top what is suspected, then the share that died since the outbreak began, with its "
        "exact interval, and the ledger: the last head count with its day, less the dead and those "
        "that left, and those that came. The chart shows the dead of each day that somebody looked "
        "(a line breaks where nobody did) and the share of all. Below stand entries, head counts "
        "and older events, newest first; enter puts one right or strikes it through."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", show=False, id="deaths.back", tooltip="Back one step"),
        Binding("n", "enter", "dead fish", id="deaths.enter",
                tooltip="Enter dead fish of a day, or that none was found"),
        Binding("h", "count", "head count", id="deaths.count",
                tooltip="Enter how many fish swim here"),
        Binding("a", "told", "in full", id="deaths.told",
                tooltip="Everything in words: suspicion, contacts, shares, what to ask, sampling"),
        Binding("s", "struck", "struck", show=False, id="deaths.struck",
                tooltip="Show or hide what was struck through"),
        Binding("left", "pan(-0.5)", "earlier", show=False, id="deaths.earlier",
                tooltip="The chart: to earlier times"),
        Binding("right", "pan(0.5)", "later", show=False, id="deaths.later",
                tooltip="The chart: to later times"),
        Binding("plus", "zoom(2)", "zoom in", show=False, id="deaths.closer",
                tooltip="The chart: less time, more detail"),
        Binding("minus", "zoom(0.5)", "zoom out", show=False, id="deaths.wider",
                tooltip="The chart: more time"),
        Binding("f5", "again", "look again", show=False, id="deaths.again",
                tooltip="Read the deaths anew"),
    ]  # fmt: skip

    def __init__(self, pond: UUID) -> None:
        super().__init__()
        self.pond = pond
        self.page: LossPage | None = None
        self._struck = False

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, suspicion, shares, chart, list."""
        yield Top("reading the deaths …", id="deaths-head")
        yield Static("", id="deaths-stop", markup=False)
        yield Static("", id="deaths-sums", markup=False)
        yield Line()
        yield TimeChart(id="deaths-chart")
        yield Line(id="deaths-chart-line")
        yield LineGrid(COLUMNS, empty="reading …", gutter="mark", id="deaths-list")
        yield Foot()

    @property
    def was_read(self) -> bool:
        """Whether there is something to show already."""
        return self.page is not None

    def on_mount(self) -> None:
        """The list has the keys; the deaths are read behind the first paint."""
        for part in ("#deaths-chart", "#deaths-chart-line", "#deaths-stop"):
            self.query_one(part).display = False
        self.query_one(LineGrid).focus()
        self._read()

    @work(exclusive=True, group="entry-read")
    async def _read(self) -> None:
        from store.exams.losses import loss_page

        app = self.ponds_app
        try:
            self.page = await app.ask_store(
                loss_page, app.book, self.pond, app.now(), struck=self._struck
            )
        except PondroundError as trouble:
            self.query_one(Top).place = trouble.title
            app.tell(trouble)
            return
        grid = self.query_one(LineGrid)
        grid.empty = EMPTY
        grid.show(death_rows(self.page))
        self._show_head()

    # Showing

    def _show_head(self) -> None:
        page = self.page
        if page is None:
            return
        top = self.query_one(Top)
        top.place, top.moment = f"Deaths: {head_name(page.card)}", left_said(page)
        width, low = self.size.width - 2, self.size.height < 30
        stop = self.query_one("#deaths-stop", Static)
        stop.display = bool(page.suspicions)
        stop.update(stop_lines(page, width))
        self.query_one("#deaths-sums", Static).update(sum_lines(page, width, 3 if low else 6))
        data = chart_data(page)
        for part in ("#deaths-chart", "#deaths-chart-line"):
            self.query_one(part).display = data is not None
        self.query_one(TimeChart).show(data, keep_window=True)

    # Keys

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this screen is for, and its keys."""
        open_help(self.app)

    def action_again(self) -> None:
        """Read the deaths anew."""
        self._read()

    def action_struck(self) -> None:
        """Show what was struck through as well, or hide it again."""
        self._struck = not self._struck
        said = "shown" if self._struck else "hidden"
        self.notify(f"What was struck through is {said}.", markup=False)
        self._read()

    def action_pan(self, share: float) -> None:
        """Move the chart in time."""
        self.query_one(TimeChart).pan(share)

    def action_zoom(self, factor: float) -> None:
        """Show less time, or more."""
        self.query_one(TimeChart).zoom(factor)

    def action_enter(self) -> None:
        """Enter dead fish."""
        from tui.screens.ponds.death_entry import DeathEntryScreen

        self.app.push_screen(DeathEntryScreen(self.pond))

    def action_count(self) -> None:
        """Enter a head count."""
        from tui.screens.ponds.death_entry import HeadCountScreen

        self.app.push_screen(HeadCountScreen(self.pond))

    def action_told(self) -> None:
        """Everything in words."""
        if self.page is not None:
            self.app.push_screen(DeathsTold(self.page))

    @on(LineGrid.Opened)
    def _opened(self, opened: LineGrid.Opened) -> None:
        if isinstance(opened.key, DeathKey):
            self._open(opened.key)

    @work(group="deaths-open", exclusive=True)
    async def _open(self, key: DeathKey) -> None:
        page = self.page
        if page is None:
            return
        if key.kind == "event":
            from tui.screens.ponds.event import open_event

            await open_event(self.app, next(one for one in page.events if one.id == key.key))
            self._read()
            return
        rows = page.entries if key.kind == "deaths" else page.counts
        row = next((one for one in rows if one.id == key.key), None)
        if row is None:
            return
        if key.kind == "deaths":
            entry = next(one for one in page.entries if one.id == key.key)
            title = said_deaths(entry)
        else:
            count = next(one for one in page.counts if one.id == key.key)
            title = f"{count.fish} {count.species or 'fish'}, {count.how}"
        if row.struck_at is not None:
            self.app.push_screen(Tell(title, f"Struck through: {row.struck_why}\n{row.note}"))
            return
        options = [Option("strike", "strike it through", "it stays readable")]
        if key.kind == "deaths":
            options.insert(0, Option("right", "put it right", "the old entry stays readable"))
        if row.note:
            options.append(Option("read", "read the note", row.note[:40]))
        chosen = await self.app.push_screen_wait(Choose(title, options))
        if chosen == "right":
            from tui.screens.ponds.death_entry import DeathEntryScreen

            self.app.push_screen(DeathEntryScreen(self.pond, entry))
        elif chosen == "strike":
            reason = await self.app.push_screen_wait(AskReason("Strike this through", "Why?"))
            if isinstance(reason, Reason) and await written(
                self.app, _strike, key, row.rev, reason.text
            ):
                self._read()
        elif chosen == "read":
            self.app.push_screen(Tell(title, row.note))


def _strike(writing: Writing, key: DeathKey, rev: int, why: str) -> None:
    if key.kind == "deaths":
        writing.strike("death_count", key.key, why, rev)
    else:
        writing.strike("head_count", key.key, why, rev)


class DeathsTold(Screen[None]):
    """Everything there is to read about the deaths of a pond.

    Parameters
    ----------
    page
        The deaths, as the screen below shows them.
    """

    CSS_PATH = "../sheets/deaths.tcss"
    QUESTION = "What is suspected, what is asked, and what rests on what?"
    ABOUT = (
        "First what is suspected and what that asks of everybody, with the contacts; then the "
        "shares with their arithmetic; then what is asked first where fish died suddenly, what "
        "tells low oxygen from a virus, and how a fish is sampled."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", id="deaths_told.back", tooltip="Back one step"),
    ]  # fmt: skip

    def __init__(self, page: LossPage) -> None:
        super().__init__()
        self.page = page

    def compose(self) -> ComposeResult:
        """Head, and a page that scrolls."""
        yield Top(f"Deaths: {head_name(self.page.card)}")
        yield Line()
        with VerticalScroll(id="deaths-told"):
            yield Static("", id="deaths-text", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """The page has the keys."""
        self._show()
        self.query_one("#deaths-told").focus()

    def on_book_changed(self) -> None:
        """Something was written: read the deaths anew."""
        self._read()

    @work(exclusive=True, group="entry-read")
    async def _read(self) -> None:
        from store.exams.losses import loss_page

        app = cast("PondroundApp", self.app)
        pond = self.page.card.pond.id
        try:
            self.page = await app.ask_store(loss_page, app.book, pond, app.now())
        except PondroundError as trouble:
            app.tell(trouble)
            return
        self._show()

    def _show(self) -> None:
        parts: list[Content] = []
        for voice, text in told_parts(self.page):
            if voice == "head" and parts:
                parts.append(Content(""))
            parts.append(Content.styled(literal(text).plain, _VOICES[voice]))
        self.query_one("#deaths-text", Static).update(Content("\n").join(parts))

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)
