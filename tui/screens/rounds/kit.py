"""The kit list of a day: what is weighed, packed and carried, ticked as it goes into the van."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from store.errors import PondroundError
from tui.screens.diary.diary_lines import said_long_day
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.page import PageScreen
from tui.screens.rounds.kit_lines import (
    KitGrid,
    PartKey,
    all_of,
    columns_of,
    kit_rows,
    told,
    told_part,
)
from tui.screens.rounds.kit_ticks import KitTicks
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.literal import one_line
from tui.widgets.strip import BottomStrip
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.rounds.day.values import DayPlan
    from store.rounds.kit.values import KitLine, KitList
    from tui.app import PondroundApp

EMPTY = "Nobody has a stop on this day: nothing is packed. Esc goes back to the round."


class KitScreen(PageScreen):
    """What goes into the van for a planned day.

    Parameters
    ----------
    plan
        The day.
    staff_id
        Whose round; None for all of the day.
    """

    CSS_PATH = "../sheets/round.tcss"
    QUESTION = "What do I take along, and what is weighed before I leave?"
    ABOUT = (
        "Agents are summed over the ponds of the day; a margin is packed on top of the sum and "
        "never given, and the packs are those of the shelf. Below stands each portion as it is "
        "weighed and labelled for its pond. What is not packed stands by itself: a dose that waits "
        "for a vet or a stop, or that the owner gives. Then what is read at the ponds, gear and "
        "papers. The strip tells the arithmetic, what it rests on, and what to mind; e tells all "
        "of a line with its label. Space or enter ticks a line as packed. Ticks are kept on this "
        "computer until the day is over, and stand in no book; where an amount has changed since, "
        "its tick is taken back. The label, local law and the prescribing vet decide on every "
        "agent."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("space", "tick", "packed", key_display="space", id="kit.tick",
                tooltip="Packed, or not; the tick is kept until the day is over, in no book"),
        Binding("e", "explain", "explain", id="kit.explain",
                tooltip="All of this line: stops, arithmetic, cautions, its label"),
        Binding("r", "remarks", "remarks", id="kit.remarks",
                tooltip="What is to be known of the whole list"),
        Binding("o", "pond", "pond", id="kit.pond",
                tooltip="Open the pond that the portion under the cursor is for"),
        Binding("escape", "back", "back", key_display="esc", id="kit.back",
                tooltip="Back to the round; the ticks stay"),
        Binding("f5", "again", "look again", show=False, id="kit.again",
                tooltip="Reckon the list anew; ticks of lines that stand still stay"),
    ]  # fmt: skip

    def __init__(self, plan: DayPlan, staff_id: UUID | None) -> None:
        super().__init__()
        self.plan, self.staff_id = plan, staff_id
        self.kit: KitList | None = None
        self.ticked: dict[str, str] = {}
        """Key of each ticked line to the amount that was packed."""
        self._today: date | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, the lines, the strip."""
        yield Top("Kit list", id="kit-head")
        yield Line()
        yield KitGrid(
            columns_of(None),
            empty="reckoning the kit list …",
            header=True,
            gutter="mark",
            id="kit-list",
        )
        yield Line()
        yield BottomStrip(id="kit-strip")
        yield Foot()

    @property
    def was_read(self) -> bool:
        """Whether there is something to show already."""
        return self.kit is not None

    def on_mount(self) -> None:
        """The list has the keys; it fills behind the first paint."""
        self._ticks = KitTicks(self.app, self.plan.asked.wish.day, self.staff_id)
        self.ticked = self._ticks.read()
        self.query_one(LineGrid).focus()
        self._read()

    @work(exclusive=True, group="kit-read")
    async def _read(self) -> None:
        from store.rounds.kept.kits.kit import kit_list

        app = self.ponds_app
        try:
            kit = await app.ask_store(kit_list, app.book, self.plan, self.staff_id, app.now())
            self._today = await app.ask_store(app.today)
        except PondroundError as trouble:
            self.query_one(Top).place = trouble.title
            app.tell(trouble)
            return
        first_look = self.kit is None
        self._forget(kit)
        self.kit = kit
        grid = self.query_one(LineGrid)
        grid.empty = EMPTY
        grid.show_columns(columns_of(kit))
        grid.show(kit_rows(kit, self.ticked))
        if first_look and kit.lines:
            grid.move_to(kit.lines[0].key)
        self._show_head()
        self._explain()

    def _forget(self, kit: KitList) -> None:
        """Take back the ticks of lines that are gone, or that are of another amount by now."""
        amounts = {one.key: one.amount for one in kit.lines}
        lost = [key for key, amount in self.ticked.items() if amounts.get(key) != amount]
        for key in lost:
            del self.ticked[key]
        if lost:
            self._keep()
            many = "1 tick was" if len(lost) == 1 else f"{len(lost)} ticks were"
            self.notify(
                f"The book has changed: {many} taken back, since the lines are of other amounts "
                "now.", markup=False,
            )  # fmt: skip

    def _keep(self) -> None:
        if self._today is not None:
            self._ticks.write(self.ticked, self._today)

    def _show_head(self) -> None:
        kit = self.kit
        if kit is None:
            return
        lines = [one for one in kit.lines if one.group != "waits"]
        packed = sum(one.key in self.ticked for one in lines)
        top = self.query_one(Top)
        top.place = one_line(f"Kit list: {said_long_day(kit.day)}, {kit.who}")
        top.moment = f"{packed} of {len(lines)} packed" if lines else ""

    def _here(self) -> KitLine | None:
        key, kit = self.query_one(LineGrid).cursor_key, self.kit
        if kit is None:
            return None
        return next((one for one in kit.lines if one.key == key), None)

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        line, kit = self._here(), self.kit
        key, said = self.query_one(LineGrid).cursor_key, None
        if kit is not None and line is not None:
            said = told(line, kit)
        elif kit is not None and isinstance(key, PartKey):
            said = told_part(key.group, kit)
        self.query_one(BottomStrip).show(said)

    @on(LineGrid.Opened)
    def _opened(self) -> None:
        self.action_tick()

    def action_tick(self) -> None:
        """Tick the line under the cursor as packed, or take the tick back."""
        line, kit = self._here(), self.kit
        if line is None or kit is None:
            if kit is not None and kit.lines:
                self.notify("This line is a heading: move to what is packed.", markup=False)
            return
        if self.ticked.pop(line.key, None) is None:
            self.ticked[line.key] = line.amount
            if line.group == "waits":
                self.notify(f"It is in no sum of this list. {one_line(line.mind[0])}", markup=False)
        self._keep()
        self.query_one(LineGrid).show(kit_rows(kit, self.ticked))
        self._show_head()

    def action_explain(self) -> None:
        """All that is known of a line."""
        from tui.screens.parts.dialogs import Tell

        line, kit = self._here(), self.kit
        key = self.query_one(LineGrid).cursor_key
        if kit is not None and isinstance(key, PartKey):
            part = told_part(key.group, kit)
            self.app.push_screen(Tell(part.head, part.arithmetic))
        elif line is not None and kit is not None:
            self.app.push_screen(Tell(one_line(line.what), all_of(line, kit)))

    def action_remarks(self) -> None:
        """What is to be known of the whole list."""
        from tui.screens.parts.dialogs import Tell

        if self.kit is not None:
            said = "\n\n".join(self.kit.remarks) or "There is nothing else to be known of it."
            self.app.push_screen(Tell("Of this list", said))

    def action_pond(self) -> None:
        """Open the pond of a portion."""
        line = self._here()
        if line is None or line.portion is None:
            self.notify("This line is for no one pond: move to a portion.", markup=False)
            return
        self.ponds_app.open_pond(line.portion.pond_id)

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_again(self) -> None:
        """Reckon the list anew."""
        self._read()

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)
