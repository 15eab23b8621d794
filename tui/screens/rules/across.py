"""What was found over all ponds: by month, in what water, and had the windows spoken."""

from __future__ import annotations

from threading import Event
from typing import TYPE_CHECKING, ClassVar, cast

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen
from textual.worker import get_current_worker

from store.errors import PondroundError
from store.text import day_said
from tui.screens.parts.help import HELP, open_help
from tui.screens.rules.across_lines import INITIALS, chart_data, hazard_rows, hazard_told
from tui.screens.rules.trial import LookedBack
from tui.widgets.chart import TimeChart
from tui.widgets.columns import Column
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.strip import BottomStrip
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.exams.findings_over_all import Findings, OfHazard
    from tui.app import PondroundApp

COLUMNS = (
    Column("hazard", "Hazard", 12, weight=1),
    Column("months", INITIALS, 23),
    Column("ponds", "Ponds", 5, align="right", drop_order=1),
    Column("water", "Water", 9, align="right", drop_order=2),
    Column("caught", "Spoke", 7, align="right"),
    Column("false", "False", 7, align="right"),
)
EMPTY = (
    "Nothing was found and nobody looked in two years. Enter an examination on a pond's page; here "
    "stands then what was found where, and when."
)
_LOW_LINES = 24
"""On fewer lines the chart gives way to the hazards."""


class FindingsScreen(Screen[None]):
    """Every hazard that was found or looked for, over all ponds."""

    CSS_PATH = "../sheets/across.tcss"
    QUESTION = "What was found where and when, and had the rules spoken before?"
    ABOUT = (
        "A hazard a line over the past two years: how often it was found in each month, `·` where "
        "it was looked for and not found; at how many ponds, in what water; before how many of its "
        "findings the temperature window of the rules had spoken (Spoke), and of the raised "
        "windows in which somebody looked how often it was not there (False). The rules are taken "
        "as they are now. The chart shows the findings of the hazard under the cursor by day and "
        "water temperature, with its window. Enter opens a hazard: each finding, and what other "
        "edges of the window would have done."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", show=False, id="findings.back",
                tooltip="Stop looking back, and back one step"),
        Binding("r", "rule", "rule", id="findings.rule",
                tooltip="The temperature window of the hazard under the cursor"),
        Binding("e", "explain", "explain", id="findings.explain",
                tooltip="The line in full, with what is to be minded"),
        Binding("f5", "again", "look again", show=False, id="findings.again",
                tooltip="Look back anew"),
    ]  # fmt: skip

    def __init__(self) -> None:
        super().__init__()
        self.found: Findings | None = None
        self._left = Event()
        self._stale = False

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, chart, hazards, strip."""
        yield Top("What was found over all ponds", id="findings-head")
        yield Line()
        yield TimeChart(id="findings-chart")
        yield Line(id="findings-chart-line")
        yield LineGrid(COLUMNS, empty="looking back …", header=True, gutter="mark",
                       id="findings-list")  # fmt: skip
        yield Line()
        yield BottomStrip(id="findings-strip")
        yield Foot()

    def on_mount(self) -> None:
        """The hazards have the keys; it is looked back behind the first paint."""
        self._chart_in_sight(False)
        self.query_one(LineGrid).focus()
        self._look()

    def on_book_changed(self) -> None:
        """The book has grown: look back anew, once somebody is here to see it."""
        self._stale = True
        # A look that takes longer than others need to write again is not begun anew each time.
        if not any(one.group == "findings" and one.is_running for one in self.workers):
            self._look_if_stale()

    def on_screen_resume(self) -> None:
        """Something may have been entered meanwhile."""
        self._look_if_stale()

    def _look_if_stale(self) -> None:
        if self._stale and self.app.screen is self:
            self._stale = False
            self._look()

    def on_resize(self) -> None:
        """The chart has room, or not."""
        self.call_after_refresh(self._explain)

    @work(exclusive=True, group="findings")
    async def _look(self) -> None:
        from store.exams.findings_over_all import findings_over_all

        app, worker = self.ponds_app, get_current_worker()

        def progress(done: int, in_all: int) -> bool:
            if self._left.is_set() or worker.is_cancelled:
                return False
            self.post_message(LookedBack(done, in_all))
            return True

        try:
            found = await app.ask_store(findings_over_all, app.book, app.now(), progress=progress)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        if not self._left.is_set():
            self.found = found
            self._show()
            self._look_if_stale()

    @on(LookedBack)
    def _tell_progress(self, looked: LookedBack) -> None:
        if looked.done < looked.in_all and self.found is None:
            grid = self.query_one(LineGrid)
            grid.empty = f"looked back at {looked.done:,} of {looked.in_all:,} ponds; esc stops"

    def _show(self) -> None:
        found = self.found
        if found is None:
            return
        top = self.query_one(Top)
        exams = "1 examination" if found.examinations == 1 else f"{found.examinations} examinations"
        at = "1 pond" if found.ponds == 1 else f"{found.ponds} ponds"
        top.place = f"What was found over all ponds: {exams} at {at}"
        top.moment = f"since {day_said(found.first)}"
        grid = self.query_one(LineGrid)
        grid.empty = EMPTY
        grid.show(hazard_rows(found))
        self._explain()

    def _chart_in_sight(self, shown: bool) -> None:
        for name in ("#findings-chart", "#findings-chart-line"):
            self.query_one(name).display = shown

    def _here(self) -> OfHazard | None:
        key = self.query_one(LineGrid).cursor_key
        if self.found is None:
            return None
        return next((one for one in self.found.hazards if one.hazard == key), None)

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        one, found = self._here(), self.found
        if one is None or found is None:
            self.query_one(BottomStrip).show(None)
            return
        self.query_one(BottomStrip).show(hazard_told(found, one))
        self._chart_in_sight(self.size.height >= _LOW_LINES)
        self.query_one(TimeChart).show(chart_data(one, found.first, found.last))

    # Keys

    @on(LineGrid.Opened)
    def _opened(self) -> None:
        from tui.screens.rules.across_hazard import HazardFindingsScreen

        one = self._here()
        if one is not None and self.found is not None:
            self.app.push_screen(HazardFindingsScreen(one, self.found))

    def action_rule(self) -> None:
        """The window rule of the hazard."""
        from tui.screens.rules.rule import RuleScreen

        one = self._here()
        if one is not None and one.rule is not None:
            self.app.push_screen(RuleScreen(one.rule.code))

    def action_explain(self) -> None:
        """The line in full."""
        from tui.screens.parts.dialogs import Tell

        one = self._here()
        if one is not None and self.found is not None:
            told = hazard_told(self.found, one)
            parts = (told.arithmetic, told.source, told.advice)
            self.app.push_screen(Tell(told.head, "\n\n".join(part for part in parts if part)))

    def action_again(self) -> None:
        """Look back anew."""
        self._look()

    def action_back(self) -> None:
        """Stop, and back one step."""
        self._left.set()
        self.dismiss(None)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)
