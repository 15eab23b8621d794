"""Samples at laboratories: those awaited first, the oldest first; then what was reported."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from rich.text import Text
from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen

from store.errors import PondroundError
from tui.said import said_date, said_since
from tui.screens.parts.help import HELP, open_help
from tui.widgets.columns import Column
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid, Row
from tui.widgets.literal import one_line
from tui.widgets.strip import BottomStrip, Told
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.exams.specimen_list import SampleLine
    from tui.app import PondroundApp

COLUMNS = (
    Column("pond", "Pond", 14, weight=1),
    Column("label", "Written on it", 13),
    Column("what", "Sample", 16, weight=1),
    Column("where", "Laboratory", 14, drop_order=1),
    Column("result", "Result", 14),
    Column("day", "Day", 6, align="right"),
)
EMPTY = "No sample was taken yet. On the page of an examination, l notes one."


@dataclass(frozen=True, slots=True)
class _Key:
    """A line of the list, by the key of its sample."""

    sample: UUID


class SpecimensScreen(Screen[None]):
    """Every sample, over all ponds or of one.

    Parameters
    ----------
    pond
        Key of the pond; None for all.
    """

    CSS_PATH = "../sheets/examination.tcss"
    QUESTION = "Which samples are at a laboratory, and since when?"
    ABOUT = (
        "Samples without a result stand first, the oldest on top; below them what was reported, "
        "the newest first. Enter opens the examination a sample comes from. r enters the report; "
        "where one stands already it amends it, and the first stays to be read on the page of the "
        "examination. s notes that a sample was sent."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", id="specimens.back", tooltip="Back one step"),
        Binding("r", "report", "report", id="specimens.report",
                tooltip="Enter what the laboratory reported, or amend it"),
        Binding("s", "send", "sent", id="specimens.send",
                tooltip="Note that the sample was sent"),
        Binding("o", "pond", "pond", id="specimens.pond", tooltip="Open the pond"),
        Binding("f5", "again", "look again", show=False, id="specimens.again",
                tooltip="Read the samples anew"),
    ]  # fmt: skip

    def __init__(self, pond: UUID | None = None) -> None:
        super().__init__()
        self.pond = pond
        self._lines: dict[UUID, SampleLine] = {}
        self._today: date | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, samples, strip."""
        yield Top("Samples at laboratories", id="specimens-head")
        yield Line()
        yield LineGrid(
            COLUMNS, empty="reading the samples …", header=True, gutter="mark",
            id="specimens-list",
        )  # fmt: skip
        yield Line()
        yield BottomStrip(id="specimens-strip")
        yield Foot()

    def on_mount(self) -> None:
        """The list has the keys; it fills behind the first paint."""
        self.query_one(LineGrid).focus()
        self._read()

    def on_screen_resume(self) -> None:
        """A report may have been entered meanwhile."""
        if self._today is not None:
            self._read()

    def on_book_changed(self) -> None:
        """The book has grown: read the samples anew."""
        self._read()

    @work(exclusive=True, group="specimens-read")
    async def _read(self) -> None:
        from store.exams.specimen_list import sample_lines

        app = self.ponds_app
        try:
            self._today = await app.ask_store(app.today)
            found = await app.ask_store(sample_lines, app.book, self._today, pond=self.pond)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        today = self._today
        self._lines = {one.sample.id: one for one in found}
        waiting = sum(one.sample.result == "awaited" for one in found)
        self.query_one(Top).moment = f"{waiting or 'none'} awaited, {len(found) - waiting} reported"
        grid = self.query_one(LineGrid)
        grid.empty = EMPTY
        grid.show([_row(one, today) for one in found])
        self._explain()

    def _here(self) -> SampleLine | None:
        key = self.query_one(LineGrid).cursor_key
        return self._lines.get(key.sample) if isinstance(key, _Key) else None

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        one, today = self._here(), self._today
        shown = None if one is None or today is None else _told(one, today)
        self.query_one(BottomStrip).show(shown)
        self.refresh_bindings()

    # Keys

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """A sample is sent once."""
        if action == "send" and self._today is not None:
            one = self._here()
            return one is not None and one.sample.sent_on is None
        return super().check_action(action, parameters)

    @on(LineGrid.Opened)
    def _opened(self) -> None:
        from tui.screens.exams.examination_page import ExaminationPageScreen

        one = self._here()
        if one is None:
            return
        if one.sample.examination_id is not None:
            self.app.push_screen(ExaminationPageScreen(one.sample.examination_id))
        else:
            self.ponds_app.open_pond(one.sample.pond_id)

    def action_report(self) -> None:
        """Enter what the laboratory reported."""
        from tui.screens.exams.specimen_forms import ReportScreen

        one = self._here()
        if one is not None:
            self.app.push_screen(ReportScreen(one.sample))

    def action_send(self) -> None:
        """Note that it was sent."""
        from tui.screens.exams.specimen_forms import SendScreen

        one = self._here()
        if one is not None:
            self.app.push_screen(SendScreen(one.sample))

    def action_pond(self) -> None:
        """Open the pond."""
        one = self._here()
        if one is not None:
            self.ponds_app.open_pond(one.sample.pond_id)

    def action_again(self) -> None:
        """Read the samples anew."""
        self._read()

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)


def _row(one: SampleLine, today: date) -> Row:
    sample = one.sample
    style = {"detected": "act", "unclear": "watch"}.get(sample.result, "")
    result = Text(sample.result, style=style)
    day = "" if sample.reported_on is None else said_date(sample.reported_on, today)
    if sample.result == "awaited":
        result = Text("awaited" if sample.sent_on else "not sent yet")
        day = f"{one.days} d"
    cells = (
        one_line(one.where), one_line(sample.label), one_line(sample.material),
        one_line(sample.laboratory), result, day,
    )  # fmt: skip
    return Row(_Key(sample.id), cells)


def _told(one: SampleLine, today: date) -> Told:
    from store.facts.hazards import hazards

    sample = one.sample
    about = hazards()[sample.hazard].plain_name if sample.hazard in hazards() else ""
    asked = "; ".join(part for part in (sample.asked, about) if part)
    sent = "not sent yet" if sample.sent_on is None else f"sent {said_since(sample.sent_on, today)}"
    said = f"Taken {said_since(sample.taken_on, today)}, {sent}"
    if asked:
        said += f"; asked: {asked}"
    report = f"Report {sample.report}" if sample.report else ""
    if one.amended:
        report = f"{report}; amended, the first stays to be read".removeprefix("; ")
    if sample.result == "awaited":
        advice = "Next: r enters the report when it comes."
        if sample.sent_on is None:
            advice = "Next: s notes the day on which it is sent."
    else:
        advice = sample.said
    head = f"{sample.material or 'sample'} “{sample.label}”: {sample.result}"
    return Told(one_line(head), one_line(said), one_line(report), one_line(advice))
