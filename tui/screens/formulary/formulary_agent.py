"""One agent: every dose with its source, what harms, what protects people, and what is our own."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen

from store.errors import PondroundError
from tui.screens.formulary.formulary_lines import (
    COLUMNS,
    AgentEntry,
    AgentKey,
    entries_of,
    the_rest,
    under_the_line,
)
from tui.screens.parts.dialogs import AskReason, Reason
from tui.screens.parts.help import HELP, open_help
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.literal import one_line
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.courses.kept.agent_page import AgentPage
    from store.courses.kept.formulary import OwnAgent
    from tui.app import PondroundApp

_MOST_LINES = 10


class AgentScreen(Screen[None]):
    """An agent with everything that is said of it, and what the practice has of its own.

    Parameters
    ----------
    code
        Code of the agent.
    """

    CSS_PATH = "../sheets/formulary.tcss"
    QUESTION = "How is it given, what harms, and who says so?"
    ABOUT = (
        "Each line is a dose, published or the practice's own, or a product on the shelf; below "
        "stands the line in full with its source, then what is known of the agent. Nothing is "
        "averaged; where publications disagree the cautious one leads. d sets an own dose and p "
        "puts a product on the shelf; enter changes what is our own, x strikes it through with a "
        "reason. For a vet. Local law, the label and the prescribing vet decide."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", show=False, id="agent.back", tooltip="Back one step"),
        Binding("d", "dose", "own dose", id="agent.dose",
                tooltip="Set a dose of the practice's own, with the reason; for a vet"),
        Binding("p", "product", "product", id="agent.product",
                tooltip="Put a product on the shelf; for a vet"),
        Binding("x", "strike", "strike", id="agent.strike",
                tooltip="Strike the own dose or product under the cursor through, with a reason; "
                "on another line the practice's own agent"),
        Binding("c", "change", "change agent", show=False, id="agent.change",
                tooltip="Change an agent of the practice's own; for a vet"),
        Binding("space", "read(1)", "read on", id="agent.read_on",
                tooltip="Further down in the text below"),
        Binding("backspace", "read(-1)", "read back", show=False, id="agent.read_back",
                tooltip="Further up in the text below"),
    ]  # fmt: skip

    def __init__(self, code: str) -> None:
        super().__init__()
        self.code = code
        self.page: AgentPage | None = None
        self._entries: tuple[AgentEntry, ...] = ()

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, doses and products, the text."""
        yield Top("reading the agent …", id="agent-head")
        yield Line()
        yield LineGrid(
            COLUMNS, empty="No dose yet. Press d to set one: without it the agent is not planned.",
            header=True, gutter="mark", id="agent-list",
        )  # fmt: skip
        yield Line()
        with VerticalScroll(id="agent-text", can_focus=False):
            yield Static("", id="agent-line", markup=False)
            yield Static("", id="agent-rest", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """The lines have the keys; they are read behind the first paint."""
        self.query_one(LineGrid).focus()
        self._read()

    def on_book_changed(self) -> None:
        """The book has grown: read the agent anew."""
        self._read()

    @work(exclusive=True, group="agent")
    async def _read(self, move_to: AgentKey | None = None) -> None:
        from store.courses.kept.agent_page import agent_page

        app = self.ponds_app
        try:
            self.page = await app.ask_store(agent_page, app.book, self.code)
        except PondroundError as trouble:
            app.tell(trouble)
            self.dismiss(None)
            return
        self._entries = entries_of(self.page)
        self._show()
        if move_to is not None:
            self.query_one(LineGrid).move_to(move_to)

    def _show(self) -> None:
        page = self.page
        if page is None:
            return
        own = ", the practice's own" if page.own is not None else ""
        self.query_one(Top).place = f"{one_line(page.agent.name)}   {page.agent.family}{own}"
        grid = self.query_one(LineGrid)
        most = max(3, min(_MOST_LINES, self.size.height // 2 - 3))
        grid.styles.height = max(2, min(len(self._entries), most) + 1)
        grid.show([one.row for one in self._entries])
        self._explain()
        self.refresh_bindings()

    def _here(self) -> AgentEntry | None:
        key = self.query_one(LineGrid).cursor_key
        return next((one for one in self._entries if one.key == key), None)

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        if self.page is None:
            return
        # Without the empty cell at either side and the bar to scroll with.
        width = self.size.width - 3
        self.query_one("#agent-line", Static).update(under_the_line(self._here(), width))
        self.query_one("#agent-rest", Static).update(the_rest(self.page, width))
        self.query_one("#agent-text", VerticalScroll).scroll_home(animate=False)

    def on_resize(self) -> None:
        """Lines are broken for the width there is."""
        if self.page is not None:
            self.call_after_refresh(self._show)

    # Keys

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Only an agent of the practice's own can be changed itself."""
        if action == "change":
            return self.page is not None and self.page.own is not None
        return super().check_action(action, parameters)

    @on(LineGrid.Opened)
    def _opened(self) -> None:
        self._change_entry()

    @work(exclusive=True, group="agent-act")
    async def _change_entry(self) -> None:
        here, page = self._here(), self.page
        if here is None or page is None:
            return
        if here.struck:
            self.notify("This was struck through; it stays to be read.", markup=False)
        elif here.dose is not None:
            from tui.screens.formulary.own_dose import OwnDoseScreen

            made = await self.app.push_screen_wait(OwnDoseScreen(page, here.dose))
            self._read(AgentKey("own", str(made)) if made else None)
        elif here.product is not None:
            from tui.screens.formulary.own_product import OwnProductScreen

            await self.app.push_screen_wait(OwnProductScreen(page, here.product))
            self._read()
        else:
            self.notify(
                "What is published stays as it is. d sets a dose of your own beside it.",
                markup=False,
            )

    @work(exclusive=True, group="agent-act")
    async def action_dose(self) -> None:
        """Set a dose of the practice's own."""
        from tui.screens.formulary.own_dose import OwnDoseScreen

        if self.page is not None:
            made = await self.app.push_screen_wait(OwnDoseScreen(self.page))
            self._read(AgentKey("own", str(made)) if made else None)

    @work(exclusive=True, group="agent-act")
    async def action_product(self) -> None:
        """Put a product on the shelf."""
        from tui.screens.formulary.own_product import OwnProductScreen

        if self.page is not None:
            made = await self.app.push_screen_wait(OwnProductScreen(self.page))
            self._read(AgentKey("product", str(made)) if made else None)

    @work(exclusive=True, group="agent-act")
    async def action_change(self) -> None:
        """Change an agent of the practice's own."""
        from tui.screens.formulary.own_agent import OwnAgentScreen

        if self.page is not None and self.page.own is not None:
            await self.app.push_screen_wait(OwnAgentScreen(self.page.own))
            self._read()

    @work(exclusive=True, group="agent-act")
    async def action_strike(self) -> None:
        """Strike what is under the cursor through, or the practice's own agent."""
        here, page, app = self._here(), self.page, self.ponds_app
        if page is None:
            return
        own = None if here is None or here.struck else here.dose or here.product
        if own is None and page.own is None:
            self.notify(
                "What is published cannot be struck through. Stand on a dose or a product of your "
                "own.",
                markup=False,
            )
            return
        name = here.name if here is not None and own is not None else (
            f"the agent {one_line(page.agent.name)}"
        )  # fmt: skip
        answer = await app.push_screen_wait(
            AskReason(
                f"Strike through: {name}",
                "It is planned with no more; it stays in the book, and courses that rest on it can "
                "still be read. Why?",
                accept="Strike through",
            )
        )
        act = await app.acting() if isinstance(answer, Reason) else None
        if not isinstance(answer, Reason) or act is None:
            return
        try:
            await app.ask_store(_strike, app.book, act, here if own else None, page.own,
                                answer.text)  # fmt: skip
        except PondroundError as trouble:
            app.tell(trouble)
            return
        app.changed()
        self.notify("Struck through. It stays in the book.", markup=False)
        if own is None:
            self.dismiss(None)
        else:
            self._read()

    def action_read(self, by: int) -> None:
        """Move the text below by most of what is in sight."""
        text = self.query_one("#agent-text", VerticalScroll)
        text.scroll_relative(y=by * max(1, text.size.height - 1), animate=False)

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)


def _strike(
    book: Book, act: Act, entry: AgentEntry | None, agent: OwnAgent | None, why: str
) -> None:
    from store.courses.kept.formulary_keeping import strike_own_agent, strike_own_dose
    from store.courses.kept.shelf import strike_product

    with book.writing(act) as writing:
        if entry is not None and entry.dose is not None:
            strike_own_dose(writing, entry.dose.id, entry.dose.rev, why)
        elif entry is not None and entry.product is not None:
            strike_product(writing, entry.product.id, entry.product.rev, why)
        elif agent is not None:
            strike_own_agent(writing, agent.id, agent.rev, why)
