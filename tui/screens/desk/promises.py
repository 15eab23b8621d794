"""What the practice promised and how it was kept: by kind and month, as a table and as bars."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, cast

from rich.text import Text
from textual import events, on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from store.errors import PondroundError
from tui.said import MONTHS
from tui.screens.desk.promises_chart import promises_chart
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.page import PageScreen
from tui.widgets.columns import Column
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid, Row
from tui.widgets.literal import cut, literal
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.diary.desk.kept_on_time import Month, PromisesKept, Tally
    from tui.app import PondroundApp

COLUMNS = (
    Column("kind", "Kind, month", 20, weight=1),
    Column("of", "On time", 9, align="right"),
    Column("share", "Share", 10),
    Column("interval", "Interval", 12, drop_order=3),
    Column("late", "Late", 4, align="right"),
    Column("missed", "Not kept", 8, align="right"),
    Column("off", "Called off", 10, align="right", drop_order=1),
    Column("open", "Open", 4, align="right", drop_order=2),
)
EMPTY = (
    "Nothing was promised in these months yet. p on the desk promises something; doses, controls, "
    "test plans and samples count by themselves."
)
_LOW_ROWS = 24


@dataclass(frozen=True, slots=True)
class KeptKey:
    """A line: all kinds (`kind` is None) or one of them, whole or in one month."""

    kind: int | None
    month: int | None = None


class PromisesScreen(PageScreen):
    """Every kind of promise and how many were kept on time; bars show the one at the cursor."""

    CSS_PATH = "../sheets/promise.tcss"
    QUESTION = "Do we keep what we promise?"
    ABOUT = (
        "Every kind of promise of the last twelve months: how many of those whose window has ended "
        "were kept on time, the share with its interval, how many were kept late or not at all. "
        "Those called off in time, and those still open, stand beside and are not counted. Enter "
        "unfolds the months of a kind. The bars show the kind at the cursor month by month; what "
        "was late or not kept has a row of its own at least, however little it is. e "
        "tells the definition, the arithmetic and its source."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", key_display="esc", id="promises.back",
                tooltip="Back one step"),
        Binding("e", "explain", "explain", id="promises.explain",
                tooltip="What is counted, the arithmetic, the source"),
    ]  # fmt: skip

    def __init__(self) -> None:
        super().__init__()
        self.kept: PromisesKept | None = None
        self._unfolded: set[int | None] = set()

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    @property
    def was_read(self) -> bool:
        """Whether the promises were read."""
        return self.kept is not None

    def compose(self) -> ComposeResult:
        """Head, definition, the kinds, the bars, what the cursor stands on."""
        yield Top("Promises kept", id="kept-head")
        yield Line()
        yield Static("", id="kept-says", markup=False)
        yield LineGrid(COLUMNS, empty="reading what was promised …", header=True, gutter="mark",
                       id="kept-list")  # fmt: skip
        yield Line()
        yield Static("", id="kept-chart", markup=False)
        yield Line()
        yield Static("", id="kept-told", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """The kinds have the keys; they are read behind the first paint."""
        self.query_one(LineGrid).focus()
        self._read()

    @work(exclusive=True, group="promises")
    async def _read(self) -> None:
        from store.diary.kept.score.promises_kept import promises_kept

        app = self.ponds_app
        try:
            self.kept = await app.ask_store(promises_kept, app.book, app.now())
        except PondroundError as trouble:
            app.tell(trouble)
            return
        self._show_head()
        self._show_rows()

    def _show_head(self) -> None:
        from store.diary.desk.kept_on_time import DEFINITION_SHORT

        kept = self.kept
        if kept is None:
            return
        first, last = kept.months[0], kept.months[-1]
        self.query_one(Top).place = f"Promises kept, {said_month(first)} to {said_month(last)}"
        self.query_one("#kept-says", Static).update(literal(DEFINITION_SHORT))
        self._show_here()

    def on_resize(self, event: events.Resize | None = None) -> None:
        """A low window gives up rows of the bars before rows of the table."""
        self.set_class(self.app.size.height < _LOW_ROWS, "-low")
        super().on_resize()

    def _show_rows(self) -> None:
        assert self.kept is not None
        grid = self.query_one(LineGrid)
        grid.empty = EMPTY
        grid.show(kept_rows(self.kept, self._unfolded))
        self._show_here()

    @property
    def _here(self) -> KeptKey:
        key = self.query_one(LineGrid).cursor_key
        return key if isinstance(key, KeptKey) else KeptKey(None)

    @on(LineGrid.CursorMoved)
    def _show_here(self) -> None:
        kept = self.kept
        if kept is None:
            return
        name, tally, beside = told(kept, self._here)
        width = max(20, self.app.size.width - 2)
        text = f"{name}: {tally.said}"
        if len(text) > width:  # the numbers before the name, which stands above as well
            text = tally.said
        second = cut(beside, width)
        self.query_one("#kept-told", Static).update(literal(f"{cut(text, width)}\n{second}"))
        kind = self._here.kind
        chart = self.query_one("#kept-chart", Static)
        tallies = kept.by_month if kind is None else kept.kinds[kind].months
        label = "all kinds" if kind is None else kept.kinds[kind].label
        height = chart.size.height or 8
        chart.update(promises_chart(label, kept.months, tallies, width, height))

    @on(LineGrid.Opened)
    def _opened(self) -> None:
        here = self._here
        if self.kept is not None and self.kept.kinds:
            self._unfolded ^= {here.kind}
            self._show_rows()

    def action_explain(self) -> None:
        """What is counted, the arithmetic of the line, its source."""
        from store.diary.desk.kept_on_time import ABOUT_INTERVAL, DEFINITION, SOURCE
        from tui.screens.parts.dialogs import Tell

        if self.kept is None:
            return
        name, tally, beside = told(self.kept, self._here)
        parts = (
            tally.said, beside, DEFINITION, " ".join(self.kept.told), tally.arithmetic,
            f"{ABOUT_INTERVAL} {SOURCE}.",
        )  # fmt: skip
        self.app.push_screen(Tell(name, "\n\n".join(part for part in parts if part)))

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)


def said_month(month: Month) -> str:
    """`Mar 2026`."""
    return f"{MONTHS[month.month - 1]} {month.year}"


def told(kept: PromisesKept, key: KeptKey) -> tuple[str, Tally, str]:
    """What a line is called, its numbers, and what stands beside them in words."""
    kind = None if key.kind is None else kept.kinds[key.kind]
    name = "All kinds" if kind is None else f"{kind.label[:1].upper()}{kind.label[1:]}"
    if key.month is not None:
        tally = (kept.by_month if kind is None else kind.months)[key.month]
        return f"{name}, {said_month(kept.months[key.month])}", tally, _sentence(tally.beside)
    if kind is None:
        return name, kept.whole, _sentence(kept.whole.beside)
    window = f"On time is {kind.window_said}."
    return name, kind.whole, " ".join(filter(None, (window, _sentence(kind.whole.beside),
                                                    kind.late_said)))  # fmt: skip


def _sentence(beside: str) -> str:
    return f"{beside[:1].upper()}{beside[1:]}." if beside else ""


def kept_rows(kept: PromisesKept, unfolded: set[int | None]) -> list[Row]:
    """All kinds together, then each kind; months newest first under those that are unfolded."""
    rows: list[Row] = []
    if not kept.kinds:
        return rows
    lines: list[tuple[int | None, str, Tally, tuple[Tally, ...]]] = [
        (None, "all kinds", kept.whole, kept.by_month)
    ]
    lines += [
        (place, one.label, one.whole, one.months) for place, one in enumerate(kept.kinds)
    ]  # fmt: skip
    for place, label, whole, months in lines:
        rows.append(_row(KeptKey(place), label, whole))
        if place in unfolded:
            rows += [
                _row(KeptKey(place, at), f"  {said_month(kept.months[at])}", months[at])
                for at in reversed(range(len(months)))
            ]
    return rows


def _row(key: KeptKey, label: str, tally: Tally) -> Row:
    share, interval = tally.share_said, tally.interval_said.replace(" to ", "–")
    few = Text(f"{share:>5} few", "quiet") if tally.few else f"{share:>5}"
    return Row(
        key,
        (
            label, f"{tally.on_time}/{tally.counted}" if tally.counted else "–", few,
            Text(interval, "quiet") if tally.few else interval, _many(tally.late),
            _many(tally.not_kept), _many(tally.called_off), _many(tally.open),
        ),
    )  # fmt: skip


def _many(count: int) -> str:
    return str(count) if count else ""
