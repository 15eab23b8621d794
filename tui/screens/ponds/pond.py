"""The page of one pond: what it is, its concerns, its chart, and everything that happened."""

from __future__ import annotations

from collections.abc import Hashable
from typing import TYPE_CHECKING, ClassVar
from uuid import UUID

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content

from store.errors import PondroundError
from tui.screens.ponds.pond_acts import PondActs
from tui.screens.ponds.pond_chart import chart_data, next_code
from tui.screens.ponds.pond_due_lines import DUE_SHOWN, TALL_FROM, due_lines
from tui.screens.ponds.pond_lines import (
    concern_lines,
    grid_rows,
    head_name,
    said_facts,
    said_volume,
)
from tui.screens.ponds.pond_page import TESTS_SHOWN
from tui.screens.ponds.pond_warmth_lines import GROUNDS_SHOWN, doubt_lines, estimate_lines
from tui.widgets.chart import TimeChart
from tui.widgets.columns import Column
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.literal import cut
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from tui.screens.ponds.pond_page import PondPage

COLUMNS = (
    Column("when", "When", 12),
    Column("what", "What", 20, weight=1),
    Column("who", "Who", 3, drop_order=1),
)


class PondScreen(PondActs):
    """Everything about one pond on one screen.

    Parameters
    ----------
    pond
        Key of the pond.
    """

    CSS_PATH = "../sheets/pond.tcss"
    QUESTION = "What is going on at this pond?"
    ABOUT = (
        "At the top the pond with its volume, then what the rules say, worst first, and what is "
        "due of what was promised for it. Where nobody has measured the temperature today, an "
        "estimate stands there with the interval that holds four times in five and what it rests "
        "on; readings that the water cannot have had are named to be settled. The chart shows one "
        "series with its limits, windows and events; b lays a second one over it. What is "
        "estimated stands there in whiskers from edge to edge, with a dot for the mean between "
        "two; E hides it. Below stand tests, visits, calls, examinations, deaths, events and what "
        "was done of courses, newest first; enter opens one, o lists older tests."
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("p", "series(1)", "series", show=False, id="pond.series",
                tooltip="Chart the next series"),
        Binding("P", "series(-1)", "series before", show=False, id="pond.series_before",
                tooltip="Chart the series before"),
        Binding("b", "second", "both", show=False, id="pond.second",
                tooltip="Lay the next series over it; after the last, none"),
        Binding("left", "pan(-0.5)", "earlier", show=False, id="pond.earlier",
                tooltip="The chart: to earlier times"),
        Binding("right", "pan(0.5)", "later", show=False, id="pond.later",
                tooltip="The chart: to later times"),
        Binding("plus", "zoom(2)", "zoom in", show=False, id="pond.closer",
                tooltip="The chart: less time, more detail"),
        Binding("minus", "zoom(0.5)", "zoom out", show=False, id="pond.wider",
                tooltip="The chart: more time"),
        Binding("0", "whole", "whole", show=False, id="pond.whole",
                tooltip="The chart: the last 90 days again"),
        Binding("E", "estimated", "estimate", show=False, id="pond.estimated",
                tooltip="The chart: show or hide the temperature by estimate"),
        Binding("s", "struck", "struck", show=False, id="pond.struck",
                tooltip="Show or hide what was struck through"),
        Binding("o", "older", "older", show=False, id="pond.older",
                tooltip="The list: older tests, where not all are shown"),
        Binding("f5", "again", "look again", show=False, id="pond.again",
                tooltip="Read the pond anew"),
    ]  # fmt: skip

    def __init__(self, pond: UUID) -> None:
        super().__init__(pond)
        self._first: str | None = None
        self._second: str | None = None
        self._estimated = True
        self._struck = False
        self._newest = TESTS_SHOWN
        self._newest_line: Hashable | None = None

    def compose(self) -> ComposeResult:
        """Head, concerns, chart, list."""
        yield Top("", id="pond-head")
        yield Static("", id="pond-facts", markup=False)
        yield Static("", id="pond-concerns", markup=False)
        yield Static("", id="pond-estimate", markup=False)
        yield Static("", id="pond-doubts", markup=False)
        yield Static("", id="pond-due", markup=False)
        yield Line()
        yield TimeChart(id="pond-chart")
        yield Static("", id="pond-chart-empty", markup=False)
        yield Line()
        yield LineGrid(
            COLUMNS,
            empty="Nothing yet. Press t to enter a water test, n to note an event, i to bring in a "
            "sheet.",
            gutter="mark",
            id="pond-list",
        )
        yield Foot()

    def on_mount(self) -> None:
        """The list has the keys; the pond is read behind the first paint."""
        self.query_one("#pond-chart-empty").display = False
        for part in ("#pond-estimate", "#pond-doubts", "#pond-due"):
            self.query_one(part).display = False
        self.query_one(Top).place = "reading the pond …"
        self.query_one(LineGrid).focus()
        self._read()

    def on_screen_resume(self) -> None:
        """Something may have been entered meanwhile."""
        if self.page is not None:
            self._read()

    def on_book_changed(self) -> None:
        """The book has grown: read the pond anew."""
        self._read()

    def on_resize(self) -> None:
        """Lines are cut to the width there is."""
        self._show_head()

    @work(exclusive=True, group="pond-page")
    async def _read(self) -> None:
        from tui.screens.ponds.pond_page import read_page

        app, struck, newest = self.ponds_app, self._struck, self._newest
        try:
            page = await app.ask_store(
                read_page, app.book, self.pond, app.now(), struck=struck, newest=newest
            )
        except PondroundError as trouble:
            app.tell(trouble)
            return
        self._show(page)

    # Showing

    def _show(self, page: PondPage) -> None:
        first_look = self.page is None
        self.page = page
        if page.chart is not None and self._first is None:
            self._first = self._first_code(page)
        self._show_head()
        self._show_chart(keep_window=not first_look)
        grid, rows = self.query_one(LineGrid), grid_rows(page)
        on_newest = grid.cursor_key == self._newest_line
        grid.show(rows)
        self._newest_line = rows[0].key if rows else None
        if on_newest and rows:  # what has just been entered is in sight
            grid.move_to(rows[0].key, at_top=True)

    def _first_code(self, page: PondPage) -> str | None:
        """The series that worries; else the temperature, else whatever there is."""
        assert page.chart is not None
        codes = [series.code for series in page.chart.series]
        wanted = [concern.parameter for concern in page.watch.concerns] if page.watch else []
        return next(
            (code for code in (*wanted, "temperature_c") if code in codes),
            codes[0] if codes else None,
        )

    def _show_head(self) -> None:
        page = self.page
        if page is None:
            return
        width = self.size.width
        top = self.query_one(Top)
        top.place, top.moment = head_name(page.card), said_volume(page.card)
        facts = self.query_one("#pond-facts", Static)
        facts.update(Content.styled(cut(said_facts(page), width - 2), "$quiet"))
        low, tall = self.size.height < 24, self.size.height >= TALL_FROM
        doubts = doubt_lines(page.warmth, width - 2, 1 if low else 3 if tall else 2)
        most = 2 if low else 8 if tall else 3 if doubts else 4
        self.query_one("#pond-concerns", Static).update(concern_lines(page, width - 2, most))
        grounds = GROUNDS_SHOWN if tall else 1
        for part, lines in (
            ("#pond-estimate", estimate_lines(page.warmth, width - 2, grounds)),
            ("#pond-doubts", doubts),
            ("#pond-due", due_lines(page, width - 2, DUE_SHOWN if tall else 1)),
        ):
            shown = self.query_one(part, Static)
            shown.display = bool(lines)
            shown.update(lines)

    def _show_chart(self, *, keep_window: bool = False) -> None:
        page = self.page
        chart = self.query_one("#pond-chart", TimeChart)
        empty = self.query_one("#pond-chart-empty", Static)
        data = None
        if page is not None and page.chart is not None and self._first is not None:
            data = chart_data(page.chart, self._first, self._second, estimated=self._estimated)
        chart.display, empty.display = data is not None, data is None
        if data is not None:
            chart.show(data, keep_window=keep_window)
        else:
            said = "No reading yet. Press t to enter a water test, or i to bring in a sheet."
            if page is not None and page.card.struck:
                said = "No reading stands here; the line above says why it was struck through."
                self.query_one("#pond-list", LineGrid).empty = "Nothing stands here."
            empty.update(Content(said))

    # The chart's keys

    def action_series(self, by: int) -> None:
        """Chart the next series, or the one before."""
        if self.page is not None and self.page.chart is not None:
            self._first = next_code(self.page.chart, self._first, by)
            if self._second == self._first:
                self._second = None
            self._show_chart(keep_window=True)

    def action_second(self) -> None:
        """Lay the next series over the first; after the last, none."""
        page = self.page
        if page is None or page.chart is None:
            return
        codes = [series.code for series in page.chart.series if series.code != self._first]
        if self._second is not None and codes and self._second == codes[-1]:
            self._second = None
        else:
            self._second = next_code(page.chart, self._second, 1, skip=self._first)
        self._show_chart(keep_window=True)

    def action_pan(self, share: float) -> None:
        """Move the chart in time."""
        self.query_one("#pond-chart", TimeChart).pan(share)

    def action_zoom(self, factor: float) -> None:
        """Show less time, or more."""
        self.query_one("#pond-chart", TimeChart).zoom(factor)

    def action_whole(self) -> None:
        """The stretch of the beginning again."""
        self.query_one("#pond-chart", TimeChart).whole()

    def action_estimated(self) -> None:
        """Show what is estimated in the chart, or hide it."""
        page = self.page
        if page is None or page.chart is None or page.chart.estimated is None:
            self.notify("No estimate of this pond's temperature is at hand.", markup=False)
            return
        self._estimated = not self._estimated
        self._show_chart(keep_window=True)

    # The other keys

    def action_again(self) -> None:
        """Read the pond anew."""
        self._read()

    def action_older(self) -> None:
        """List older tests as well; the cursor stays."""
        if self.page is None:
            return
        if not self.page.older:
            self.notify("Every test of this pond is listed.", markup=False)
            return
        self._newest += TESTS_SHOWN
        self._read()

    def action_struck(self) -> None:
        """Show what was struck through as well, or hide it again."""
        self._struck = not self._struck
        said = "shown" if self._struck else "hidden"
        self.notify(f"What was struck through is {said}.", markup=False)
        self._read()
