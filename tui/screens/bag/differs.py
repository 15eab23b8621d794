"""What differs since a bag came back: both sides beside each other, and which of them is taken."""

from __future__ import annotations

from datetime import date, tzinfo
from typing import TYPE_CHECKING, ClassVar, cast

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen

from store.errors import PondroundError
from tui.said import said_head
from tui.screens.bag.differs_lines import COLUMNS, GroupKey, lines_of, row_of, sides_of, told
from tui.screens.parts.dialogs import AskReason, Reason
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.once import once
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.record.sides import DifferingTold
    from tui.app import PondroundApp

READING = "Reading what differs …"
NOTHING = "Nothing differs: no record waits for a choice."


class DiffersScreen(Screen[None]):
    """Records that were changed here and in a bag to different things; one side is taken."""

    CSS_PATH = "../sheets/bag.tcss"
    VERTICAL_BREAKPOINTS = [(0, "-low"), (24, "-middle")]  # noqa: RUF012
    QUESTION = "What did both sides change, and which of the two holds?"
    ABOUT = (
        "One line for what is taken together, such as a volume with its bounds: what it was before "
        "the bag was packed, what was entered here, what in the bag. Below, who said so, when and "
        "why. Until somebody chooses, what was written last stands, and nothing is lost: both "
        "sides stay in the record of changes. h takes what was entered here, b what came with the "
        "bag, l what was written last, u none. y saves what is taken, with one reason. A record of "
        "which several lines differ is saved when all of them are taken."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("h", "take('here')", "here", id="differs.here",
                tooltip="Take what was entered here"),
        Binding("b", "take('bag')", "bag", id="differs.bag",
                tooltip="Take what came with the bag; once more, the next one of several bags"),
        Binding("l", "take('last')", "written last", id="differs.last",
                tooltip="Take what was written last; it stands until you choose"),
        Binding("y", "save", "save", id="differs.save",
                tooltip="Save what is taken, with a reason"),
        Binding("u", "take('none')", "undecided", show=False, id="differs.none",
                tooltip="Take neither yet"),
        Binding("L", "take_all", "all: written last", show=False, id="differs.all_last",
                tooltip="Take what was written last wherever nothing is taken yet"),
        Binding("escape", "back", "back", show=False, id="differs.back",
                tooltip="Back; what is not saved waits on"),
        Binding("f5", "again", "look again", show=False, id="differs.again",
                tooltip="Read what differs anew"),
    ]  # fmt: skip

    def __init__(self) -> None:
        super().__init__()
        self._waiting: tuple[DifferingTold, ...] = ()
        self._taken: dict[GroupKey, int] = {}
        self._revs: dict[GroupKey, int] = {}
        self._zone: tzinfo | None = None
        self._today: date | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, the lines, the one under the cursor in full."""
        yield Top("What differs", id="differs-head")
        yield Line()
        yield LineGrid(COLUMNS, empty=READING, header=True, gutter="mark", id="differs-list")
        yield Line()
        with VerticalScroll(id="differs-told", can_focus=False):
            yield Static("", id="differs-text", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """The list has the keys; it fills behind the first paint."""
        self.query_one(LineGrid).focus()
        self._read()

    def on_screen_resume(self) -> None:
        """Somebody else may have chosen meanwhile."""
        self._read()

    def on_book_changed(self) -> None:
        """Something was written."""
        self._read()

    @work(group="differs", exclusive=True)
    async def _read(self) -> None:
        from store.record.sides import told_differing

        app = self.ponds_app
        try:
            waiting = await app.ask_store(told_differing, app.book)
            self._zone = await app.ask_store(lambda: app.book.zone)
            self._today = await app.ask_store(app.today)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        self._waiting = waiting
        revs = {key: row.rev for key, row, _nth in lines_of(waiting)}
        # What was taken of a row that is another by now was taken of something else.
        self._taken = {
            key: at for key, at in self._taken.items() if self._revs[key] == revs.get(key)
        }
        self._revs = revs
        self._show()

    def _show(self) -> None:
        if self._zone is None:
            return
        grid, top = self.query_one(LineGrid), self.query_one(Top)
        grid.empty = NOTHING
        grid.show(
            [row_of(key, row, self._taken.get(key)) for key, row, _ in lines_of(self._waiting)]
        )
        many = len(self._waiting)
        top.place = (
            f"What differs: {many} record{'' if many == 1 else 's'}" if many else "What differs"
        )
        ready = len(self._ready())
        top.moment = f"{ready} ready to save" if ready else said_head(
            self.ponds_app.now(), self._zone
        )  # fmt: skip
        self._tell()

    def _here(self) -> tuple[GroupKey, DifferingTold] | None:
        wanted = self.query_one(LineGrid).cursor_key
        found = ((key, row) for key, row, _nth in lines_of(self._waiting) if key == wanted)
        return next(found, None)

    @on(LineGrid.CursorMoved)
    def _tell(self) -> None:
        here, text = self._here(), self.query_one("#differs-text", Static)
        if here is None or self._zone is None or self._today is None:
            text.update("")
            return
        key, row = here
        text.update(told(row, key.nth, self._taken.get(key), self._zone, self._today))

    # Choosing

    def action_take(self, which: str) -> None:
        """Take one side of the line under the cursor, and go on to the next line."""
        here = self._here()
        if here is None:
            return
        key, row = here
        group = row.groups[key.nth]
        own, others = sides_of(group)
        before = self._taken.get(key)
        if which == "none":
            self._taken.pop(key, None)
        elif which == "last":
            self._taken[key] = len(group.sides) - 1
        elif which == "here":
            if own is None:
                self.notify("Nothing was entered here: both sides came with bags.", markup=False)
                return
            self._taken[key] = own
        elif before in others and len(others) > 1:
            self._taken[key] = others[(others.index(before) + 1) % len(others)]
            self._show()
            return  # stay, to see which of several bags it is
        elif others:
            self._taken[key] = others[0]
        self._show()
        self.query_one(LineGrid).action_move(1)

    def action_take_all(self) -> None:
        """Take what was written last wherever nothing is taken yet."""
        for key, row, nth in lines_of(self._waiting):
            self._taken.setdefault(key, len(row.groups[nth].sides) - 1)
        self._show()

    def _ready(self) -> list[DifferingTold]:
        """The rows of which every line is taken."""
        return [
            row
            for row in self._waiting
            if all(
                GroupKey(row.table, row.key, nth) in self._taken for nth in range(len(row.groups))
            )
        ]

    @once("differs-save")
    async def action_save(self) -> None:
        """Save what is taken."""
        from store.exchange.bag.settled import Choice, settle_all

        app, ready = self.ponds_app, self._ready()
        if not ready:
            some = "Of each record all lines are to be taken." if self._taken else ""
            self.notify(f"Nothing is taken yet: h, b or l on a line. {some}".strip(), markup=False)
            return
        choices = []
        for row in ready:
            values: dict[str, object] = {}
            for nth, group in enumerate(row.groups):
                values |= group.sides[self._taken[GroupKey(row.table, row.key, nth)]].values
            choices.append(Choice(row.table, row.key, row.rev, values))
        many = len(choices)
        why = await app.push_screen_wait(AskReason(
            f"Save {many} record{'' if many == 1 else 's'} as taken",
            "What is not taken stays in the record of changes. Why does this hold?",
            accept="Save",
        ))  # fmt: skip
        act = await app.acting() if isinstance(why, Reason) else None
        if not isinstance(why, Reason) or act is None:
            return
        try:
            await app.ask_store(settle_all, app.book, act, choices, why.text)
        except PondroundError as trouble:
            app.tell(trouble)
            self._read()
            return
        self._taken.clear()
        self.notify(f"{many} record{' is' if many == 1 else 's are'} settled.", markup=False)
        app.changed()

    @on(LineGrid.Opened)
    def _opened(self) -> None:
        here = self._here()
        if here is not None and here[1].pond is not None:
            self.ponds_app.open_pond(here[1].pond)

    def action_again(self) -> None:
        """Read what differs anew."""
        self._read()

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)
