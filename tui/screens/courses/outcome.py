"""Did a course work: what was found before it against what was found after it."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content

from store.errors import PondroundError
from tui.screens.courses.outcome_lines import (
    LookKey,
    course_title,
    look_rows,
    look_told,
    said_facts,
    says_lines,
)
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.page import PageScreen
from tui.widgets.columns import Column
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.literal import cut
from tui.widgets.static import Static
from tui.widgets.strip import BottomStrip
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.courses.kept.outcome import Outcome
    from tui.app import PondroundApp

COLUMNS = (
    Column("when", "Looked at", 11),
    Column("hazard", "Hazard", 14, weight=1),
    Column("result", "Found", 32, weight=1),
    Column("days", "After", 5, align="right", drop_order=1),
    Column("timely", "For the hatch", 14, drop_order=2),
)
EMPTY = "Nothing to set against one another yet."


class OutcomeScreen(PageScreen):
    """What became of each hazard of one course.

    Parameters
    ----------
    course
        Key of the course.
    """

    CSS_PATH = "../sheets/outcome.tcss"
    QUESTION = "Did it work?"
    ABOUT = (
        "At the top what may be said of each hazard: `fewer` where the limits leave no other "
        "answer, `not shown` where these fish do not show it, `no fewer`, or why it cannot be "
        "told. Below stand the examination before the first dose and those after the last. Only "
        "what was looked at in the same way is compared: the same kind of preparation at the same "
        "magnification. Of an egg layer a count before the next hatch is too early. No reduction "
        "is published from which a course has worked on fish, and none is applied. Enter opens an "
        "examination, e reads the whole answer."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", show=False, id="outcome.back", tooltip="Back one step"),
        Binding("e", "explain", "explain", id="outcome.explain",
                tooltip="The whole answer, with its arithmetic, source and cautions"),
        Binding("a", "agents", "agents", id="outcome.agents",
                tooltip="Where each agent works and where it fails, over all ponds"),
        Binding("o", "pond", "pond", id="outcome.pond", tooltip="Open the pond"),
        Binding("f5", "again", "look again", show=False, id="outcome.again",
                tooltip="Read the examinations anew"),
    ]  # fmt: skip

    def __init__(self, course: UUID) -> None:
        super().__init__()
        self.course = course
        self.found: Outcome | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, the answers, the examinations, the strip."""
        yield Top("looking back …", id="outcome-head")
        yield Static("", id="outcome-facts", markup=False)
        yield Line()
        yield Static("", id="outcome-says", markup=False)
        yield Line()
        yield LineGrid(COLUMNS, empty="looking back …", header=True, gutter="mark",
                       id="outcome-list")  # fmt: skip
        yield Line()
        yield BottomStrip(id="outcome-strip")
        yield Foot()

    @property
    def was_read(self) -> bool:
        """Whether there is something to show already."""
        return self.found is not None

    def on_mount(self) -> None:
        """The examinations have the keys; they are read behind the first paint."""
        self.query_one(LineGrid).focus()
        self._read()

    @work(exclusive=True, group="outcome")
    async def _read(self) -> None:
        from store.courses.kept.outcome import outcome

        app = self.ponds_app
        try:
            self.found = await app.ask_store(outcome, app.book, self.course, app.now())
        except PondroundError as trouble:
            self.query_one(Top).place = trouble.title
            app.tell(trouble)
            return
        grid = self.query_one(LineGrid)
        grid.empty = EMPTY
        grid.show(look_rows(self.found, app.today()))
        self._show_head()
        self._explain()

    def _show_head(self) -> None:
        found = self.found
        if found is None:
            return
        width = self.size.width - 2
        self.query_one(Top).place = course_title(found)
        facts = cut(said_facts(found, self.ponds_app.today()), width)
        self.query_one("#outcome-facts", Static).update(Content.styled(facts, "$quiet"))
        most = max(3, self.size.height // 3)
        self.query_one("#outcome-says", Static).update(says_lines(found, width, most))

    def _here(self) -> LookKey | None:
        key = self.query_one(LineGrid).cursor_key
        return key if isinstance(key, LookKey) else None

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        key = self._here()
        shown = None if self.found is None or key is None else look_told(self.found, key)
        self.query_one(BottomStrip).show(shown)

    # Keys

    @on(LineGrid.Opened)
    def _opened(self) -> None:
        key = self._here()
        if key is None or key.exam is None:
            self.action_explain()
            return
        from tui.screens.exams.examination_page import ExaminationPageScreen

        self.app.push_screen(ExaminationPageScreen(key.exam))

    def action_explain(self) -> None:
        """The whole answer of the line under the cursor."""
        from tui.screens.parts.dialogs import Tell

        key = self._here()
        if self.found is None or key is None:
            return
        told = look_told(self.found, key)
        said = self.found.hazards[key.hazard].says
        parts = (said, told.arithmetic, told.source, told.advice)
        self.app.push_screen(Tell(told.head, "\n\n".join(part for part in parts if part)))

    def action_agents(self) -> None:
        """The agents over all ponds."""
        from tui.screens.courses.outcome_agents import AgentsOutcomeScreen

        self.app.push_screen(AgentsOutcomeScreen())

    def action_pond(self) -> None:
        """Open the pond."""
        if self.found is not None:
            self.ponds_app.open_pond(self.found.course.pond_id)

    def action_again(self) -> None:
        """Look again."""
        self._read()

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)
