"""The volume of a pond: every finding of it, and which is in force."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from rich.text import Text
from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.screen import Screen

from store.errors import NotAllowed, PondroundError
from tui.said import said_date
from tui.screens.parts.dialogs import AskReason, Choose, Option, Reason
from tui.screens.parts.help import HELP, open_help
from tui.screens.ponds.finding import FindingScreen
from tui.screens.ponds.pond_entry import written
from tui.screens.ponds.pond_lines import head_name, said_litres, said_method
from tui.widgets.columns import Column
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid, Row
from tui.widgets.literal import fit, literal
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.book import Book
    from store.book.ponds import PondCard
    from store.book.volumes import Disagreement, VolumeEstimate
    from store.book.writing import Writing
    from tui.app import PondroundApp

COLUMNS = (
    Column("litres", "Litres", 17),
    Column("method", "Method", 14),
    Column("day", "Found on", 12),
    Column("state", "", 8, weight=1),
)


@dataclass(frozen=True, slots=True)
class Findings:
    """All findings of a pond's volume."""

    card: PondCard
    found: tuple[VolumeEstimate, ...]
    apart: tuple[Disagreement, ...]
    today: date


def read_findings(book: Book, pond: UUID, today: date) -> Findings:
    """The pond and every finding of its volume, newest first."""
    from store.book.ponds import card
    from store.book.volumes import compare, estimates

    found = estimates(book, pond)
    return Findings(card(book, pond), found, compare(found), today)


class VolumeScreen(Screen[None]):
    """Every finding of a pond's volume; the one in force is what doses go by.

    Parameters
    ----------
    pond
        Key of the pond.
    """

    CSS_PATH = "../sheets/pond.tcss"
    QUESTION = "How many litres, and how far can that be trusted?"
    ABOUT = (
        "Each finding keeps its numbers and workings. One is in force: what doses and lists go by; "
        "enter puts another in force. Two methods that differ by more than 20 % are named: find "
        "out which is wrong before anything is dosed."
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", id="volume.back", tooltip="Back to the pond"),
        Binding("n", "find", "new finding", id="volume.find",
                tooltip="Find the volume by shape, depths, salt, or as stated"),
        Binding("x", "strike", "strike through", id="volume.strike",
                tooltip="Strike a finding through, with a reason"),
    ]  # fmt: skip

    def __init__(self, pond: UUID) -> None:
        super().__init__()
        self.pond = pond
        self._findings: Findings | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, disagreements, the findings, the workings of the one under the cursor."""
        yield Top("Volume", id="volume-head")
        yield Static("", id="volume-apart", markup=False)
        yield Line()
        yield LineGrid(
            COLUMNS,
            empty="No finding yet. Press n to find the volume by shape, by salt, or as stated.",
            header=True,
            gutter="mark",
            id="volume-list",
        )
        yield Line()
        yield Static("", id="volume-workings", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """Read behind the first paint."""
        self.query_one(LineGrid).focus()
        self._read()

    def on_screen_resume(self) -> None:
        """A finding may have been added."""
        if self._findings is not None:
            self._read()

    def on_book_changed(self) -> None:
        """Something was written: read it anew."""
        self._read()

    @work(group="volume-read", exclusive=True)
    async def _read(self) -> None:
        app = self.ponds_app
        try:
            today = await app.ask_store(app.today)
            self._findings = await app.ask_store(read_findings, app.book, self.pond, today)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        self._show(self._findings)

    def _show(self, findings: Findings) -> None:
        top = self.query_one(Top)
        top.place = f"Volume: {head_name(findings.card)}"
        apart = self.query_one("#volume-apart", Static)
        lines = [
            f"{said_method(two.one.method)} {two.one.litres:,.0f} L and "
            f"{said_method(two.other.method)} {two.other.litres:,.0f} L differ by "
            f"{two.percent:.0f} %"
            for two in findings.apart
        ]
        apart.update(Content.styled("\n".join(lines), "$level-watch"))
        apart.display = bool(lines)
        in_force = findings.card.pond.volume_estimate_id
        rows = [
            Row(
                one.id,
                (
                    said_litres(one.litres, one.low_l, one.high_l),
                    said_method(one.method),
                    said_date(one.measured_on, findings.today),
                    Text("in force") if one.id == in_force else "",
                ),
            )
            for one in findings.found
        ]
        self.query_one(LineGrid).show(rows)
        self._show_workings()

    @on(LineGrid.CursorMoved)
    def _moved(self) -> None:
        self._show_workings()

    def _show_workings(self) -> None:
        one = self._under_cursor()
        said = "" if one is None else one.workings or "No workings were kept with this finding."
        self.query_one("#volume-workings", Static).update(literal(said, "$quiet"))

    def _under_cursor(self) -> VolumeEstimate | None:
        key = self.query_one(LineGrid).cursor_key
        found = () if self._findings is None else self._findings.found
        return next((one for one in found if one.id == key), None)

    def action_back(self) -> None:
        """Back to the pond."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this screen is for, and its keys."""
        open_help(self.app)

    @work(group="volume-ask", exclusive=True)
    async def action_find(self) -> None:
        """Choose a way and find the volume."""
        from store.water.finding import WAYS

        widest = max(len(way.label) for way in WAYS.values())
        options = [Option(code, fit(way.label, widest), way.meaning) for code, way in WAYS.items()]
        way = await self.app.push_screen_wait(Choose("How is the volume found?", options))
        if isinstance(way, str) and self._findings is not None:
            where = head_name(self._findings.card)
            self.app.push_screen(FindingScreen(self.pond, way, where))

    @on(LineGrid.Opened)
    def _opened(self, opened: LineGrid.Opened) -> None:
        opened.stop()
        self._put_in_force()

    @work(group="volume-ask", exclusive=True)
    async def _put_in_force(self) -> None:
        one, findings = self._under_cursor(), self._findings
        if one is None or findings is None or one.id == findings.card.pond.volume_estimate_id:
            return
        said = said_litres(one.litres, one.low_l, one.high_l)
        reason = await self.app.push_screen_wait(
            AskReason(
                f"Put {said} {said_method(one.method)} in force",
                "Doses and lists go by it from now on. Why this one?",
            )
        )
        if isinstance(reason, Reason) and await written(
            self.app, _force, findings.card.pond.id, findings.card.pond.rev, one.id, reason.text
        ):
            self._read()

    @work(group="volume-ask", exclusive=True)
    async def action_strike(self) -> None:
        """Strike a finding through."""
        one, findings = self._under_cursor(), self._findings
        if one is None or findings is None:
            return
        if one.id == findings.card.pond.volume_estimate_id:
            # Before a reason is typed for nothing.
            self.ponds_app.tell(
                NotAllowed(
                    "This volume is in force at its pond and was left as it is. "
                    "Put another one in force first.",
                    title="In force",
                )
            )
            return
        reason = await self.app.push_screen_wait(
            AskReason("Strike this finding through", "Why? It stays readable in the record.")
        )
        if isinstance(reason, Reason) and await written(self.app, _strike, one.id, reason.text):
            self._read()


def _force(writing: Writing, pond: UUID, rev: int, estimate: UUID, why: str) -> None:
    from store.book.volumes import put_in_force

    put_in_force(writing, pond, rev, estimate, why)


def _strike(writing: Writing, estimate: UUID, why: str) -> None:
    from store.book.volumes import strike_estimate

    strike_estimate(writing, estimate, why)
