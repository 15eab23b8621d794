"""The formulary in force: every agent, published or the practice's own, with its doses."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast

from rich.text import Text
from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.content import Content
from textual.events import Key
from textual.screen import Screen
from textual.widgets import Input

from store.errors import PondroundError
from tui.backing import said_backing
from tui.screens.parts.help import HELP, open_help
from tui.widgets.columns import Column
from tui.widgets.entry import TextLine
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid, Row
from tui.widgets.literal import one_line
from tui.widgets.static import Static
from tui.widgets.strip import BottomStrip, Told
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.courses.kept.agent_page import AgentLine
    from tui.app import PondroundApp

COLUMNS = (
    Column("agent", "Agent", 19, weight=2),
    Column("family", "Family", 17, drop_order=1),
    Column("published", "Published", 18, weight=2),
    Column("own", "Own", 11, weight=1),
    Column("shelf", "Shelf", 5, align="right", drop_order=2),
)


class FormularyScreen(Screen[None]):
    """Every agent in a line; typing looks through them."""

    CSS_PATH = "../sheets/formulary.tcss"
    QUESTION = "What can be given, and at which doses?"
    ABOUT = (
        "Every agent with its published doses in short, and beside them what the practice set of "
        "its own. / and words look through names, families and what an agent is given for. Enter "
        "opens an agent with every statement and its source; there a vet sets an own dose or puts "
        "a product on the shelf. n adds an agent that nobody published."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("slash", "find", "find", key_display="/", id="formulary.find", priority=True,
                tooltip="Find while typing; esc goes back"),
        Binding("n", "add", "own agent", id="formulary.add",
                tooltip="Add an agent that the formulary does not have; for a vet"),
        Binding("o", "own_only", "own", id="formulary.own_only",
                tooltip="Show only what the practice has of its own, or all again"),
        Binding("escape", "back", "back", show=False, id="formulary.back",
                tooltip="Empty the line that is searched with, then back"),
        Binding("f5", "again", "look again", show=False, id="formulary.again",
                tooltip="Read the formulary anew"),
    ]  # fmt: skip

    def __init__(self) -> None:
        super().__init__()
        self._lines: tuple[AgentLine, ...] = ()
        self._own_only = False

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, the line to search with, the agents, the strip."""
        yield Top("Formulary", id="formulary-head")
        with Horizontal(id="formulary-find"):
            yield Static(Content("find"), id="formulary-find-label")
            yield TextLine(placeholder="name, family, what it is for", id="formulary-text")
        yield Line()
        yield LineGrid(COLUMNS, empty="reading the formulary …", header=True, gutter="mark",
                       id="formulary-list")  # fmt: skip
        yield Line()
        yield BottomStrip(id="formulary-strip")
        yield Foot()

    def on_mount(self) -> None:
        """The list has the keys; it fills behind the first paint."""
        self.query_one("#formulary-find").display = False
        self.query_one(LineGrid).focus()
        self._read()

    def on_screen_resume(self) -> None:
        """A dose may have been set meanwhile."""
        self._read()

    def on_book_changed(self) -> None:
        """The book has grown: read the formulary anew."""
        self._read()

    @work(exclusive=True, group="formulary")
    async def _read(self) -> None:
        from store.courses.kept.agent_page import agent_lines

        app = self.ponds_app
        try:
            self._lines = await app.ask_store(agent_lines, app.book)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        self._show()

    def _shown(self) -> tuple[AgentLine, ...]:
        from store.courses.kept.agent_page import fitting

        found = fitting(self._lines, self.query_one("#formulary-text", Input).value)
        return tuple(
            one for one in found if not self._own_only or one.is_own or one.own or one.products
        )

    def _show(self) -> None:
        lines = self._shown()
        own = sum(one.is_own or bool(one.own) for one in self._lines)
        top = self.query_one(Top)
        top.place = (
            f"Formulary: {len(self._lines)} agents, {own or 'none'} with a word of the practice's"
            " own"
        )
        text = one_line(self.query_one("#formulary-text", Input).value.strip())
        grid = self.query_one(LineGrid)
        grid.empty = (
            f"Nothing fits “{text}”. Fewer letters find more; esc goes back."
            if text
            else "The practice has set nothing of its own yet. Press o to see every agent."
        )
        grid.show([row_of(one) for one in lines])
        self._explain()

    def _here(self) -> AgentLine | None:
        key = self.query_one(LineGrid).cursor_key
        return next((one for one in self._lines if one.agent.code == key), None)

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        line = self._here()
        self.query_one(BottomStrip).show(None if line is None else told(line))

    @on(Input.Changed, "#formulary-text")
    def _typed(self) -> None:
        self._show()

    @on(Input.Submitted, "#formulary-text")
    def _found(self) -> None:
        self.query_one(LineGrid).focus()

    def on_key(self, event: Key) -> None:
        """From the line that is searched with, the arrows go on into the list."""
        if event.key in ("down", "up", "pagedown") and isinstance(self.focused, TextLine):
            event.stop()
            event.prevent_default()
            self.query_one(LineGrid).focus()

    @on(LineGrid.Opened)
    def _opened(self, opened: LineGrid.Opened) -> None:
        from tui.screens.formulary.formulary_agent import AgentScreen

        self.app.push_screen(AgentScreen(str(opened.key)))

    def action_find(self) -> None:
        """To the line that is searched with."""
        self.query_one("#formulary-find").display = True
        # At once: what is typed behind the key goes into the line, and starts nothing else.
        self.set_focus(self.query_one("#formulary-text", Input))

    def action_back(self) -> None:
        """From the line to the list; there, back to where one came from."""
        line = self.query_one("#formulary-text", Input)
        if line.value or self.query_one("#formulary-find").display:
            line.value = ""
            self.query_one(LineGrid).focus()
            self.query_one("#formulary-find").display = False
        elif self._own_only:
            self.action_own_only()
        else:
            self.dismiss(None)

    def action_own_only(self) -> None:
        """Only what the practice has of its own, or all again."""
        self._own_only = not self._own_only
        self._show()

    @work(exclusive=True, group="formulary-act")
    async def action_add(self) -> None:
        """Add an agent that nobody published."""
        from tui.screens.formulary.own_agent import OwnAgentScreen

        if await self.app.push_screen_wait(OwnAgentScreen()) is not None:
            self.notify("It can be planned once it has a dose: open it, and press d.", markup=False)

    def action_again(self) -> None:
        """Read the formulary anew."""
        self._read()

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Letters are for typing while the line that is searched with has the focus."""
        if action in {"find", "add", "own_only"} and isinstance(self.focused, TextLine):
            return False
        return super().check_action(action, parameters)


def row_of(line: AgentLine) -> Row:
    """One agent: name, family, published doses, own ones, products."""
    own = line.own or ("no dose yet" if line.is_own else "")
    published = line.published or "nothing"
    cells = (
        one_line(line.agent.name),
        line.agent.family,
        Text(published, style="" if line.published else "quiet"),
        Text(one_line(own), style="watch" if line.is_own and not line.own else ""),
        str(line.products) if line.products else "",
    )
    return Row(line.agent.code, cells)


def told(line: AgentLine) -> Told:
    """What it is given for, its doses whole, what it stands on."""
    agent = line.agent
    for_what = "; ".join(dict.fromkeys(one.for_what for one in agent.routes))
    doses = [f"published {line.published}" if line.published else "nothing is published"]
    if line.own:
        doses.append(f"the practice's own {line.own}")
    return Told(
        one_line(f"{agent.name}, {agent.family}{f': {for_what}' if for_what else ''}"),
        "; ".join(doses),
        one_line(_backing(line)),
        "Next: enter opens it with every statement and its source.",
    )


def _backing(line: AgentLine) -> str:
    from store.facts.sources import cite_with_standing

    agent = line.agent
    return said_backing(cite_with_standing(agent.source, agent.standing), agent.standing)
