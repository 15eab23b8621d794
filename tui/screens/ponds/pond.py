"""The page of one pond: what it is, its concerns, its chart, and everything that happened."""

from __future__ import annotations

from collections.abc import Coroutine, Hashable
from typing import TYPE_CHECKING, Any, ClassVar, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static
from textual.worker import Worker, WorkerState

from store.errors import PondroundError
from tui.screens.parts.help import HELP, open_help
from tui.screens.ponds.pond_chart import chart_data, next_code
from tui.screens.ponds.pond_lines import (
    LineKey,
    concern_lines,
    grid_rows,
    head_name,
    said_facts,
    said_volume,
)
from tui.screens.ponds.pond_page import TESTS_SHOWN
from tui.widgets.chart import TimeChart
from tui.widgets.columns import Column
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.literal import cut
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.events import PondEvent
    from tui.app import PondroundApp
    from tui.screens.ponds.pond_page import PondPage

COLUMNS = (
    Column("when", "When", 12),
    Column("what", "What", 20, weight=1),
    Column("who", "Who", 3, drop_order=1),
)


class PondScreen(Screen[None]):
    """Everything about one pond on one screen.

    Parameters
    ----------
    pond
        Key of the pond.
    """

    CSS_PATH = "../sheets/pond.tcss"
    QUESTION = "What is going on at this pond?"
    ABOUT = (
        "At the top the pond with its volume, then what the rules say, worst first. The chart "
        "shows one series with its limits, windows and events; b lays a second one over it. "
        "Below stand tests, visits, examinations, deaths, events and what was done of courses, "
        "newest first; enter opens one, o lists older tests."
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", show=False, id="pond.back", tooltip="Back one step"),
        Binding("t", "water_test", "test", id="pond.test", tooltip="Enter a water test"),
        Binding("v", "visit", "visit", id="pond.visit",
                tooltip="Book the next visit: slots with their reasons"),
        Binding("x", "examine", "examine", id="pond.examine",
                tooltip="Enter an examination: fish by fish what the microscope showed"),
        Binding("n", "event", "event", id="pond.event",
                tooltip="Note something that happened: fish added, water changed, power cut"),
        Binding("e", "explain", "explain", id="pond.explain",
                tooltip="Explain every concern with its rule, readings, arithmetic and source"),
        Binding("p", "series(1)", "series", show=False, id="pond.series",
                tooltip="Chart the next series"),
        Binding("P,upper_p", "series(-1)", "series before", show=False, id="pond.series_before",
                tooltip="Chart the series before"),
        Binding("c", "course", "course", id="pond.course",
                tooltip="The course that runs here, or plan one"),
        Binding("m", "feed", "medicated feed", show=False, id="pond.feed",
                tooltip="Medicated feed: reckon it, mix it, keep it as a course"),
        Binding("f", "eating", "eating", show=False, id="pond.eating",
                tooltip="May the fish be eaten, from which day, and who declared it"),
        Binding("D,upper_d", "deaths", "deaths", show=False, id="pond.deaths",
                tooltip="Dead fish and head counts: enter them, see their share and what it means"),
        Binding("l", "samples", "samples", show=False, id="pond.samples",
                tooltip="Samples of this pond at laboratories, and what was reported"),
        Binding("b", "second", "both", show=False, id="pond.second",
                tooltip="Lay the next series over it; after the last, none"),
        Binding("u", "volume", "volume", show=False, id="pond.volume",
                tooltip="How many litres, and how that was found"),
        Binding("d", "change", "data", show=False, id="pond.change",
                tooltip="Change the pond's data"),
        Binding("r", "rest", "rest", show=False, id="pond.rest",
                tooltip="Put a concern to rest until a day"),
        Binding("w", "rules", "rules", show=False, id="pond.rules",
                tooltip="The rules in force at this pond"),
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
        Binding("s", "struck", "struck", show=False, id="pond.struck",
                tooltip="Show or hide what was struck through"),
        Binding("o", "older", "older", show=False, id="pond.older",
                tooltip="The list: older tests, where not all are shown"),
        Binding("f5", "again", "look again", show=False, id="pond.again",
                tooltip="Read the pond anew"),
    ]  # fmt: skip

    def __init__(self, pond: UUID) -> None:
        super().__init__()
        self.pond = pond
        self.page: PondPage | None = None
        self._first: str | None = None
        self._second: str | None = None
        self._struck = False
        self._newest = TESTS_SHOWN
        self._newest_line: Hashable | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, concerns, chart, list."""
        yield Top("", id="pond-head")
        yield Static("", id="pond-facts", markup=False)
        yield Static("", id="pond-concerns", markup=False)
        yield Line()
        yield TimeChart(id="pond-chart")
        yield Static("", id="pond-chart-empty", markup=False)
        yield Line()
        yield LineGrid(
            COLUMNS,
            empty="Nothing yet. Press t to enter a water test, n to note an event.",
            gutter="mark",
            id="pond-list",
        )
        yield Foot()

    def on_mount(self) -> None:
        """The list has the keys; the pond is read behind the first paint."""
        self.query_one("#pond-chart-empty").display = False
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

    @work(thread=True, exclusive=True, group="pond-page", exit_on_error=False)
    def _read(self) -> PondPage:
        from tui.screens.ponds.pond_page import read_page

        app, newest = self.ponds_app, self._newest
        return read_page(app.book, self.pond, app.now(), struck=self._struck, newest=newest)

    @on(Worker.StateChanged)
    def _page_read(self, changed: Worker.StateChanged) -> None:
        if changed.worker.group != "pond-page":
            return
        if changed.state is WorkerState.SUCCESS and changed.worker.result is not None:
            self._show(changed.worker.result)
        elif changed.state is WorkerState.ERROR:
            trouble = changed.worker.error
            if isinstance(trouble, PondroundError):
                self.ponds_app.tell(trouble)
            elif trouble is not None:
                raise trouble

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
        most = 2 if self.size.height < 24 else 4 if self.size.height < 36 else 8
        concerns = self.query_one("#pond-concerns", Static)
        concerns.update(concern_lines(page, width - 2, most))

    def _show_chart(self, *, keep_window: bool = False) -> None:
        page = self.page
        chart = self.query_one("#pond-chart", TimeChart)
        empty = self.query_one("#pond-chart-empty", Static)
        data = None
        if page is not None and page.chart is not None and self._first is not None:
            data = chart_data(page.chart, self._first, self._second)
        chart.display, empty.display = data is not None, data is None
        if data is not None:
            chart.show(data, keep_window=keep_window)
        else:
            empty.update(Content("No reading yet. Press t to enter a water test."))

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

    # The other keys

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)

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

    def action_water_test(self) -> None:
        """Enter a water test."""
        from tui.screens.water.water_test import WaterTestScreen

        self.app.push_screen(WaterTestScreen(self.pond))

    def action_event(self) -> None:
        """Note an event."""
        from tui.screens.ponds.event import EventScreen

        self.app.push_screen(EventScreen(self.pond))

    @work(group="pond-open", exclusive=True)
    async def action_visit(self) -> None:
        """Book the next visit; what is due here is offered to be kept by it."""
        from tui.screens.diary.book_for import book_for_pond

        await book_for_pond(self.ponds_app, self.pond)

    @work(group="pond-course", exclusive=True)
    async def action_course(self) -> None:
        """The course that runs here; where none does, plan one."""
        from tui.screens.courses.course_acts import open_course

        await open_course(self.ponds_app, self.pond)

    def action_feed(self) -> None:
        """Plan a medicated feed."""
        from tui.screens.courses.feed import plan_a_feed

        plan_a_feed(self.app, self.pond)

    def action_eating(self) -> None:
        """May the fish be eaten."""
        from tui.screens.ponds.eating import EatingScreen

        self.app.push_screen(EatingScreen(self.pond))

    def action_deaths(self) -> None:
        """Dead fish and head counts."""
        from tui.screens.ponds.deaths import DeathsScreen

        self.app.push_screen(DeathsScreen(self.pond))

    def action_examine(self) -> None:
        """Enter an examination."""
        from tui.screens.exams.examination import ExaminationScreen

        self.app.push_screen(ExaminationScreen(self.pond))

    def action_samples(self) -> None:
        """Samples at laboratories."""
        from tui.screens.exams.specimens import SpecimensScreen

        self.app.push_screen(SpecimensScreen(self.pond))

    def action_volume(self) -> None:
        """The pond's volume."""
        from tui.screens.ponds.volume import VolumeScreen

        self.app.push_screen(VolumeScreen(self.pond))

    def action_change(self) -> None:
        """Change the pond's data."""
        from tui.screens.parts.edit import change_pond

        change_pond(self.app, self.pond)

    def action_rules(self) -> None:
        """The rules in force at this pond."""
        from tui.screens.rules.rules import RulesScreen

        self.app.push_screen(RulesScreen(self.pond))

    def action_explain(self) -> None:
        """Explain every concern."""
        from tui.screens.morning.explain import ExplainScreen

        self.app.push_screen(ExplainScreen(self.pond))

    def action_rest(self) -> None:
        """Put a concern to rest."""
        from tui.screens.morning.rest import RestScreen

        self.app.push_screen(RestScreen(self.pond))

    @on(LineGrid.Opened)
    def _opened(self, opened: LineGrid.Opened) -> None:
        key = opened.key
        if not isinstance(key, LineKey):
            return
        if key.kind == "older":
            self.action_older()
        elif key.kind == "test":
            from tui.screens.water.opened_test import OpenedTestScreen

            self.app.push_screen(OpenedTestScreen(self.pond, key.key))
        elif key.kind == "course":
            from tui.screens.courses.course import CourseScreen

            self.app.push_screen(CourseScreen(key.key))
        elif key.kind == "exam":
            from tui.screens.exams.examination_page import ExaminationPageScreen

            self.app.push_screen(ExaminationPageScreen(key.key))
        elif key.kind == "deaths":
            self.action_deaths()
        elif key.kind == "visit":
            from tui.screens.diary.visit import VisitScreen

            self.app.push_screen(VisitScreen(key.key))
        else:
            from tui.screens.ponds.event import open_event

            self._open(open_event(self.app, self._event(key.key)))

    def _open(self, flow: Coroutine[Any, Any, None]) -> None:
        self.run_worker(flow, group="pond-open", exclusive=True)

    def _event(self, key: UUID) -> PondEvent:
        assert self.page is not None
        return next(event for event in self.page.events if event.id == key)
