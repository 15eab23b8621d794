"""The volume of a pond: every finding of it, which is in force, and a new finding."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from rich.text import Text
from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from store.errors import BadInput, PondroundError
from tui.drafts import Drafts, drafts_path
from tui.said import said_date
from tui.screens.dialogs import Ask, AskReason, Choose, Option, Reason
from tui.screens.help import HELP, open_help
from tui.screens.pond_entry import written
from tui.screens.pond_lines import head_name, said_litres, said_method
from tui.widgets.columns import Column
from tui.widgets.fields import Field, Form
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid, Row
from tui.widgets.literal import fit, literal, one_line
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.book.ponds import PondCard
    from store.book.volumes import Disagreement, VolumeEstimate
    from store.book.writing import Writing
    from store.water.volume import Volume
    from tui.app import PondroundApp

COLUMNS = (
    Column("litres", "Litres", 20),
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

    CSS_PATH = "pond.tcss"
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
        if isinstance(way, str):
            self.app.push_screen(FindingScreen(self.pond, way))

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
        one = self._under_cursor()
        if one is None:
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


class FindingScreen(Screen[None]):
    """One finding: the measurements at the top, what they come to below, at every letter.

    Parameters
    ----------
    pond
        Key of the pond.
    way
        A code of `store.water.finding.WAYS`.
    """

    CSS_PATH = "pond.tcss"
    QUESTION = "What do these measurements come to?"
    ABOUT = (
        "Type each measurement with its unit; the litres stand below at once, with the range that "
        "the measuring leaves. F2 saves the finding and asks whether it is to be in force."
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", id="finding.back",
                tooltip="Back; what was typed is kept"),
    ]  # fmt: skip

    def __init__(self, pond: UUID, way: str) -> None:
        super().__init__()
        self.pond = pond
        self.way = way
        self._found: Volume | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """The fields and the result."""
        from store.water.finding import WAYS

        way = WAYS[self.way]
        kept = getattr(self.app, "drafts", None)
        drafts = kept if isinstance(kept, Drafts) else Drafts(drafts_path())
        yield Top(f"Volume, {way.label}", id="finding-head")
        yield Line()
        yield Form(
            [
                Field(
                    field.name, field.label, field.hint,
                    lines=4 if field.measure == "grid" else 1, width=16,
                )
                for field in way.fields
            ],
            draft=drafts.of(f"volume {self.way}", self.pond),
        )  # fmt: skip
        yield Line()
        with VerticalScroll(id="finding-page", can_focus=False):
            yield Static("", id="finding-result", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """What a draft comes to."""
        self._reckon(self.query_one(Form).values)

    def on_form_changed(self, changed: Form.Changed) -> None:
        """Reckon at every letter."""
        self._reckon(changed.values)

    def _reckon(self, values: Mapping[str, str]) -> None:
        from store.water.finding import find_volume

        result = self.query_one("#finding-result", Static)
        try:
            found = find_volume(self.way, values)
        except BadInput as trouble:
            self._found = None
            result.update(literal(trouble.message, "$quiet"))
            return
        self._found = found
        lines = [
            Content.styled(
                f"{said_litres(found.litres, found.low_l, found.high_l)}, "
                f"between {found.low_l:,.0f} and {found.high_l:,.0f} L", "bold",
            ),
            Content.styled(one_line(found.workings), "$quiet"),
            *(Content.styled(one_line(remark), "$level-watch") for remark in found.remarks),
        ]  # fmt: skip
        result.update(Content("\n").join(lines))

    @on(Form.Submitted)
    def _submitted(self, submitted: Form.Submitted) -> None:
        submitted.stop()
        self._save(submitted.form, submitted.values)

    @work(group="finding-save", exclusive=True)
    async def _save(self, form: Form, values: Mapping[str, str]) -> None:
        from store.water.finding import find_volume

        app = self.ponds_app
        try:
            found = find_volume(self.way, values)
            today = await app.ask_store(app.today)
            findings = await app.ask_store(read_findings, app.book, self.pond, today)
        except BadInput as trouble:
            form.show_error(trouble)
            return
        except PondroundError as trouble:
            app.tell(trouble)
            return
        rev = await self._rev_for_force(findings, found)
        act = await app.acting()
        if act is None:
            return
        try:
            await app.ask_store(
                save_finding, app.book, act, self.pond, found, dict(values), today, rev
            )
        except PondroundError as trouble:
            app.tell(trouble)
            return
        form.saved()
        app.changed()
        self.dismiss(None)

    async def _rev_for_force(self, findings: Findings, found: Volume) -> int | None:
        """The pond's revision where the finding is to be in force; the first one always is."""
        pond = findings.card.pond
        if pond.volume_estimate_id is None:
            return pond.rev
        before = (
            f"{pond.volume_l:,.0f} L {said_method(pond.volume_method)}" if pond.volume_l else ""
        )
        yes = await self.app.push_screen_wait(
            Ask(
                "Put this finding in force?",
                f"Now in force: {before}. The new finding: {found.litres:,.0f} L "
                f"{said_method(found.method)}. Doses go by the one in force; both stay readable.",
                yes="In force",
                no="Keep beside",
            )
        )
        return pond.rev if yes else None

    def action_back(self) -> None:
        """Back; the draft stays."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this screen is for, and its keys."""
        open_help(self.app)


def save_finding(
    book: Book,
    act: Act,
    pond: UUID,
    found: Volume,
    texts: dict[str, str],
    day: date,
    pond_rev: int | None,
) -> None:
    """Enter a finding with what was typed; in force where the pond's revision is given."""
    from store.book.volumes import record_estimate

    with book.writing(act) as writing:
        record_estimate(
            writing,
            pond,
            method=found.method,
            litres=found.litres,
            low_l=found.low_l,
            high_l=found.high_l,
            workings="\n".join((found.workings, *found.remarks)),
            inputs={name: text for name, text in texts.items() if text.strip()},
            measured_on=day,
            pond_rev=pond_rev,
        )
