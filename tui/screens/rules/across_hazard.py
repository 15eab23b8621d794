"""One hazard over all ponds: each finding, each false call, and other edges of its window."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.screen import Screen

from store.errors import PondroundError
from tui.screens.parts.help import HELP, open_help
from tui.screens.rules.across_lines import ThereKey, band_said, chart_data, there_rows, there_told
from tui.widgets.chart import TimeChart
from tui.widgets.columns import Column
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.literal import one_line, wrapped
from tui.widgets.static import Static
from tui.widgets.strip import BottomStrip
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.exams.findings_over_all import Edge, Findings, OfHazard
    from tui.app import PondroundApp

COLUMNS = (
    Column("when", "Day", 11),
    Column("where", "Where", 20, weight=2),
    Column("water", "Water", 9, align="right", drop_order=2),
    Column("window", "Window", 12),
    Column("says", "What", 16, weight=3, drop_order=1),
)
EMPTY = "It was looked for and not found, and its window raised nothing in which somebody looked."
_LOW_LINES = 30
"""On fewer lines the chart gives way to the findings: it stands on the page before."""


class HazardFindingsScreen(Screen[None]):
    """Where one hazard was found, and had its window spoken.

    Parameters
    ----------
    one
        The hazard.
    found
        The page it stands on.
    """

    CSS_PATH = "../sheets/across.tcss"
    QUESTION = "Where was it found, and would another edge have told of it before?"
    ABOUT = (
        "Each finding with the water at the time and what the temperature window of the rules had "
        "said in the days before: `hit`, `noted` where the pond had been in the window too long "
        "to be told of, `miss`, or `not measured`. Below stand raised windows in which somebody "
        "looked and did not find it. t tries the window with each edge moved by a degree: how many "
        "findings it would have preceded, and how many false calls and unlooked-at windows that "
        "costs. r opens the rule, where the practice changes it with a reason."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", show=False, id="hazard_findings.back",
                tooltip="Back one step"),
        Binding("t", "edges", "other edges", id="hazard_findings.edges",
                tooltip="What the window would have done with its edges moved by 1 °C"),
        Binding("r", "rule", "rule", id="hazard_findings.rule",
                tooltip="The temperature window of this hazard"),
        Binding("o", "pond", "pond", id="hazard_findings.pond", tooltip="Open the pond"),
    ]  # fmt: skip

    def __init__(self, one: OfHazard, found: Findings) -> None:
        super().__init__()
        self.one, self.found = one, found
        self.edges: tuple[Edge, ...] | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, what the window did, chart, findings, strip."""
        name = one_line(self.one.name)
        yield Top(f"{name[0].upper()}{name[1:]} over all ponds", id="there-head")
        yield Static("", id="there-says", markup=False)
        yield Line()
        yield TimeChart(chart_data(self.one, self.found.first, self.found.last), id="there-chart")
        yield Line(id="there-chart-line")
        yield LineGrid(COLUMNS, empty=EMPTY, header=True, gutter="mark", id="there-list")
        yield Line()
        yield BottomStrip(id="there-strip")
        yield Foot()

    def on_mount(self) -> None:
        """The findings have the keys."""
        self.query_one(LineGrid).focus()
        if self.one.rule is not None:
            self.query_one(Top).moment = f"window {band_said(self.one.rule)}"
        self._show()

    def on_book_changed(self) -> None:
        """It is not looked back over all ponds again while one reads; it says so."""
        self.query_one(Top).moment = "written to since; esc looks anew"

    def on_resize(self) -> None:
        """Lines are broken for the width there is."""
        self.call_after_refresh(self._lay_out)

    def _show(self) -> None:
        names = {one.pond: one.where for one in self.one.looked}
        rows = there_rows(self.one, self.edges, self.ponds_app.today(), names)
        self.query_one(LineGrid).show(rows)
        self._lay_out()
        self._explain()

    def _lay_out(self) -> None:
        high = self.size.height >= _LOW_LINES
        for name in ("#there-chart", "#there-chart-line"):
            self.query_one(name).display = high
        from store.exams.across import temperatures_said

        score = self.one.score
        text = "No window rule speaks of it." if score is None else score.said
        if self.one.found:
            text += f" Water: {temperatures_said(self.one.found)}."
        lines = wrapped(one_line(text), self.size.width - 2)
        self.query_one("#there-says", Static).update(Content("\n".join(lines)))

    def _here(self) -> ThereKey | None:
        key = self.query_one(LineGrid).cursor_key
        return key if isinstance(key, ThereKey) else None

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        key = self._here()
        self.query_one(BottomStrip).show(
            None if key is None else there_told(self.one, key, self.edges)
        )

    # Keys

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Without a window rule there are no edges to try."""
        if action in {"edges", "rule"}:
            return self.one.rule is not None
        return super().check_action(action, parameters)

    @work(exclusive=True, group="findings-edges")
    async def action_edges(self) -> None:
        """Other edges, tried on the past."""
        from store.exams.findings_over_all import edges_of

        app, top = self.ponds_app, self.query_one(Top)
        before, top.moment = top.moment, "trying other edges …"
        days = (self.found.last - self.found.first).days + 1
        try:
            self.edges = await app.ask_store(
                edges_of, app.book, app.now(), self.one.hazard, days=days,
                within_days=self.found.within_days,
            )  # fmt: skip
        except PondroundError as trouble:
            app.tell(trouble)
            return
        finally:
            top.moment = before
        self._show()
        self.query_one(LineGrid).move_to(ThereKey("edge", 0))

    def action_rule(self) -> None:
        """The window rule of the hazard."""
        from tui.screens.rules.rule import RuleScreen

        if self.one.rule is not None:
            self.app.push_screen(RuleScreen(self.one.rule.code))

    def action_pond(self) -> None:
        """Open the pond."""
        key = self._here()
        if key is not None and key.pond is not None:
            self.ponds_app.open_pond(key.pond)

    @on(LineGrid.Opened)
    def _opened(self) -> None:
        key = self._here()
        if key is None:
            return
        if key.kind == "edge":
            self.action_rule()
        elif key.exam is not None:
            from tui.screens.exams.examination_page import ExaminationPageScreen

            self.app.push_screen(ExaminationPageScreen(key.exam))
        else:
            self.action_pond()

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)
