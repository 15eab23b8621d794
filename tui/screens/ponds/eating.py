"""May the fish of this pond be eaten: what was given, what must have passed, and from which day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content

from store.errors import PondroundError
from tui.screens.parts.dialogs import Tell
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.page import PageScreen
from tui.screens.ponds.eating_lines import (
    USES,
    EatingKey,
    WordsKey,
    answer_lines,
    chart_data,
    eating_rows,
    likely_in_full,
    said_declared,
    told,
)
from tui.screens.ponds.pond_entry import PondEntry
from tui.screens.ponds.pond_lines import head_name
from tui.widgets.chart import TimeChart
from tui.widgets.columns import Column
from tui.widgets.fields import Field
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.literal import cut
from tui.widgets.static import Static
from tui.widgets.strip import BottomStrip
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.book.ponds import Use
    from store.courses.kept.likely_free import LikelyFree
    from store.courses.kept.withdrawal_of import PondWithdrawal
    from tui.app import PondroundApp

COLUMNS = (
    Column("agent", "Given", 12, weight=1),
    Column("last", "Last", 11),
    Column("must", "Must reach", 10, align="right"),
    Column("so_far", "So far", 7, align="right"),
    Column("free", "Free from", 12),
    Column("early", "If warm", 11, drop_order=1),
)
EMPTY = "Nothing was given under a course in this book. Press d to write down what the fish are."
_LOW_LINES = 24
"""On fewer lines the chart gives way to the agents."""


class EatingScreen(PageScreen):
    """Whether the fish of one pond may be eaten, and why.

    Parameters
    ----------
    pond
        Key of the pond.
    """

    CSS_PATH = "../sheets/eating.tcss"
    QUESTION = "May these fish be eaten, and from which day?"
    ABOUT = (
        "At the top who declared what the fish are, and the answer: the cautious day first. Below "
        "each agent that was really given, with what must be reached after its last dose in "
        "degree-days (dd: daily mean temperatures, added up) or days, by the label of the product "
        "or else the law, and how much is reached. The chart shows the sum, dimmer as it would go "
        "on in colder water. A day without knowledge of the water adds nothing. Where the pond's "
        "temperature can be estimated, it is said between which days the sums are likely to be "
        "met; that frees no fish, and enter on an agent tells what it rests on. Below stands what "
        "was written down beside the courses, as in a medicine book. Local law, the "
        "label and the prescribing vet decide."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", show=False, id="eating.back", tooltip="Back one step"),
        Binding("d", "declare", "declare", id="eating.declare",
                tooltip="Write down whether the fish may be eaten, and who said so"),
        Binding("o", "pond", "pond", id="eating.pond", tooltip="Open the pond"),
        Binding("f5", "again", "look again", show=False, id="eating.again",
                tooltip="Reckon it anew"),
    ]  # fmt: skip

    def __init__(self, pond: UUID) -> None:
        super().__init__()
        self.pond = pond
        self.found: PondWithdrawal | None = None
        self.likely: LikelyFree | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, the answer, chart, agents, strip."""
        yield Top("reckoning …", id="eating-head")
        yield Static("", id="eating-facts", markup=False)
        yield Static("", id="eating-says", markup=False)
        yield Line()
        yield TimeChart(id="eating-chart")
        yield Line(id="eating-chart-line")
        yield LineGrid(COLUMNS, empty="reckoning …", header=True, gutter="mark", id="eating-list")
        yield Line()
        yield BottomStrip(id="eating-strip")
        yield Foot()

    @property
    def was_read(self) -> bool:
        """Whether there is something to show already."""
        return self.found is not None

    def on_mount(self) -> None:
        """The agents have the keys; the pond is read behind the first paint."""
        self.query_one(TimeChart).display = False
        self.query_one("#eating-chart-line").display = False
        self.query_one(LineGrid).focus()
        self._read()

    @work(exclusive=True, group="eating")
    async def _read(self) -> None:
        from store.courses.kept.likely_free import likely_free
        from store.courses.kept.withdrawal_of import withdrawal_of

        app = self.ponds_app
        try:
            found = await app.ask_store(withdrawal_of, app.book, self.pond, app.now())
            likely = await app.ask_store(likely_free, app.book, (found,), app.now())
        except PondroundError as trouble:
            self.query_one(Top).place = trouble.title
            app.tell(trouble)
            return
        self.found, self.likely = found, likely.get(self.pond)
        grid = self.query_one(LineGrid)
        grid.empty = EMPTY
        grid.show(eating_rows(self.found))
        self._show_head()
        self._explain()

    # Showing

    def _show_head(self) -> None:
        found = self.found
        if found is None:
            return
        width = self.size.width - 2
        top = self.query_one(Top)
        top.place, top.moment = f"{head_name(found.card)}: may they be eaten?", USES[found.use]
        facts = self.query_one("#eating-facts", Static)
        said = said_declared(found, self.ponds_app.book.zone)
        facts.update(Content.styled(cut(said, width), "$quiet"))
        most = 2 if self.size.height < _LOW_LINES else 3 if self.size.height < 30 else 8
        self.query_one("#eating-says", Static).update(answer_lines(found, width, most, self.likely))

    def _here(self) -> EatingKey | WordsKey | None:
        key = self.query_one(LineGrid).cursor_key
        return key if isinstance(key, EatingKey | WordsKey) else None

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        found, key = self.found, self._here()
        strip, chart = self.query_one(BottomStrip), self.query_one(TimeChart)
        data = None
        if found is not None and key is not None:
            strip.show(told(found, key))
            if isinstance(key, EatingKey) and self.size.height >= _LOW_LINES:
                one = found.agents[key.agent]
                data = chart_data(one, one.met[key.need]) if one.met else None
        else:
            strip.show(None)
        chart.display = self.query_one("#eating-chart-line").display = data is not None
        if data is not None:
            chart.show(data)

    # Keys

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)

    def action_again(self) -> None:
        """Reckon it anew."""
        self._read()

    def action_pond(self) -> None:
        """Open the pond."""
        self.ponds_app.open_pond(self.pond)

    def action_declare(self) -> None:
        """Write down what the fish are."""
        self.app.push_screen(DeclareScreen(self.pond))

    @on(LineGrid.Opened)
    def _opened(self, opened: LineGrid.Opened) -> None:
        """Everything of the strip in full."""
        if self.found is None or not isinstance(opened.key, EatingKey | WordsKey):
            return
        whole = told(self.found, opened.key)
        parts = (whole.arithmetic, likely_in_full(self.likely), whole.source, whole.advice)
        self.app.push_screen(Tell(whole.head, "\n\n".join(part for part in parts if part)))


class DeclareScreen(PondEntry):
    """Whether the fish may be eaten, and who said so."""

    TITLE_SAID = "Eating"
    DRAFT = "declare"
    QUESTION = "May the fish of this pond be eaten, and who says so?"
    ABOUT = (
        "Koi and goldfish are kinds of carp, which is food: it is asked and never assumed. The "
        "owner says whether fish of this pond may ever be eaten, by anybody; the answer is kept "
        "with the day, the name of who said it, and who wrote it down."
    )

    def prepare(self, book: Book, today: date) -> Sequence[Field]:
        """What they are, and who says so."""
        from store.book.ponds import card

        client = card(book, self.pond).client.name
        return (
            Field("use", "the fish are", "ask the owner", choices=(
                ("ornamental", "ornamental: never eaten"), ("food", "food fish: may be eaten"),
            ), width=34),
            Field("said_by", "says who", f"such as {client}", width=34),
        )  # fmt: skip

    def save(self, book: Book, act: Act, values: Mapping[str, str]) -> None:
        """Write it down in the log of the pond."""
        from store.book.declared import declare

        with book.writing(act) as writing:
            declare(writing, self.pond, cast("Use", values["use"]), values["said_by"])
