"""Where each agent works and where it fails, over all ponds of the practice."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen

from store.errors import PondroundError
from tui.screens.courses.outcome_lines import AgentKey, agent_rows, agent_told
from tui.screens.parts.help import HELP, open_help
from tui.widgets.columns import Column
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.strip import BottomStrip
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.courses.kept.outcome_agents import AgentHazard
    from tui.app import PondroundApp

COLUMNS = (
    Column("agent", "Agent", 19, weight=2),
    Column("hazard", "Against", 12, weight=1),
    Column("courses", "Given", 5, align="right", drop_order=2),
    Column("ponds", "Ponds", 5, align="right", drop_order=1),
    Column("fewer", "Fewer", 5, align="right"),
    Column("shown", "?", 2, align="right"),
    Column("none", "No", 2, align="right"),
    Column("middle", "In the middle", 19, weight=1, drop_order=3),
)
EMPTY = (
    "No dose of any course was logged yet. Here stands then how often an agent worked, and where "
    "not."
)


class AgentsOutcomeScreen(Screen[None]):
    """Every agent against every hazard it was given for, those that failed most often first."""

    CSS_PATH = "../sheets/outcome.tcss"
    QUESTION = "Where does an agent work, and where does it fail?"
    ABOUT = (
        "Each agent with the hazard it was given against: in how many courses and ponds, how often "
        "the hazard was fewer afterwards, not shown to be fewer (?), or no fewer (No), and the "
        "reduction in the middle of those that were counted, with its interval. Courses of several "
        "agents stand by themselves. Enter shows the courses of an agent, the worst first, and "
        "opens one. A count before the next hatch is told as too early. Look at dose, "
        "volume, temperature and the day of the recount before the agent is blamed."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", show=False, id="agents_outcome.back",
                tooltip="Back one step"),
        Binding("e", "explain", "explain", id="agents_outcome.explain",
                tooltip="The line in full, with arithmetic, source and cautions"),
        Binding("f5", "again", "look again", show=False, id="agents_outcome.again",
                tooltip="Read the courses anew"),
    ]  # fmt: skip

    def __init__(self) -> None:
        super().__init__()
        self.rows: tuple[AgentHazard, ...] = ()
        self._opened_rows: set[int] = set()

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, the agents, the strip."""
        yield Top("looking back on all courses …", id="agents-head")
        yield Line()
        yield LineGrid(COLUMNS, empty="looking back …", header=True, gutter="mark",
                       id="agents-list")  # fmt: skip
        yield Line()
        yield BottomStrip(id="agents-strip")
        yield Foot()

    def on_mount(self) -> None:
        """The agents have the keys; they are read behind the first paint."""
        self.query_one(LineGrid).focus()
        self._read()

    def on_book_changed(self) -> None:
        """The book has grown: look again."""
        self._read()

    @work(exclusive=True, group="outcome")
    async def _read(self) -> None:
        from store.courses.kept.outcome_agents import agents_outcome

        app = self.ponds_app
        try:
            self.rows = await app.ask_store(agents_outcome, app.book, app.now())
        except PondroundError as trouble:
            app.tell(trouble)
            return
        failed = sum(bool(row.failures) for row in self.rows)
        pairs = "1 line" if len(self.rows) == 1 else f"{len(self.rows)} lines"
        self.query_one(
            Top
        ).place = f"Agents over all ponds: {pairs}, {failed or 'none'} with failures"
        self.query_one(LineGrid).empty = EMPTY
        self._show()

    def _show(self) -> None:
        self.query_one(LineGrid).show(agent_rows(self.rows, self._opened_rows))
        self._explain()

    def _here(self) -> AgentKey | None:
        key = self.query_one(LineGrid).cursor_key
        return key if isinstance(key, AgentKey) else None

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        key = self._here()
        self.query_one(BottomStrip).show(None if key is None else agent_told(self.rows, key))

    @on(LineGrid.Opened)
    def _opened(self) -> None:
        key = self._here()
        if key is None:
            return
        if key.result is None:
            self._opened_rows ^= {key.row}
            self._show()
            return
        from tui.screens.courses.outcome import OutcomeScreen

        self.app.push_screen(OutcomeScreen(self.rows[key.row].results[key.result].course))

    def action_explain(self) -> None:
        """The line in full."""
        from tui.screens.parts.dialogs import Tell

        key = self._here()
        if key is not None:
            told = agent_told(self.rows, key)
            parts = (told.arithmetic, told.source, told.advice)
            self.app.push_screen(Tell(told.head, "\n\n".join(part for part in parts if part)))

    def action_again(self) -> None:
        """Look again."""
        self._read()

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)
