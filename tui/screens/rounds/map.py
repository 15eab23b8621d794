"""The map of a day on the road: where the stops lie, and in which order they are driven to."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.screen import Screen

from store.rounds.day.map import MapPoint, RoundMap, round_map
from tui.screens.diary.diary_lines import said_long_day
from tui.screens.parts.help import HELP, open_help
from tui.screens.rounds.map_lines import LEGEND, STRAIGHT, legend_rows, stop_at, told_line
from tui.screens.rounds.round_lines import RoundGrid
from tui.screens.rounds.stop_pond import pond_of_stop
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.literal import one_line
from tui.widgets.round_map import RoundMapView
from tui.widgets.strip import BottomStrip
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.rounds.day.values import DayPlan
    from tui.app import PondroundApp

_ALL = "all"
EMPTY = "Nobody drives anywhere on this day. Esc goes back to the round."


class MapScreen(Screen[None]):
    """One person's round on a map, or all of the day.

    Parameters
    ----------
    plan
        The day.
    staff_id
        Whose round; None for all.
    """

    CSS_PATH = "../sheets/round_map.tcss"
    QUESTION = "Where do the stops lie, and in which order are they driven to?"
    ABOUT = (
        "North is up, and a km is as long to the east as to the north. The numbers are the stops "
        "in their order, S is where the round starts, E where it ends if that is elsewhere. Where "
        "several drive, each has a letter before the numbers and a line of another kind. The "
        "lines are straight and no roads. Stops that lie too near to each other share a label, as "
        "3,4, or 3+7 for 3 and seven more. The line of the legend under the cursor is marked on "
        "the map. Stops without coordinates stand at the end of the legend."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("v", "driver", "driver", id="map.driver",
                tooltip="Another driver's round, or all of the day"),
        Binding("escape", "back", "back", key_display="esc", id="map.back",
                tooltip="Back one step"),
    ]  # fmt: skip

    def __init__(self, plan: DayPlan, staff_id: UUID | None) -> None:
        super().__init__()
        self.plan = plan
        self.staff_id = staff_id
        self._found = RoundMap(())

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, map and legend, strip, keys."""
        yield Top("Map", id="map-head")
        yield Line()
        with Horizontal(id="map-body"):
            yield RoundMapView(id="map")
            yield RoundGrid(LEGEND, empty=EMPTY, header=True, gutter="mark", id="map-legend")
        yield Line()
        yield BottomStrip(id="map-strip")
        yield Foot()

    def on_mount(self) -> None:
        """The legend has the keys."""
        self.query_one(LineGrid).focus()
        self._show()

    def _show(self) -> None:
        plan = self.plan
        self._found = found = round_map(plan, self.staff_id)
        names = [tour.who for tour in found.tours]
        whose = one_line(names[0]) if len(names) == 1 else "all rounds"
        top = self.query_one(Top)
        top.place = f"Map: {whose}, {said_long_day(plan.asked.wish.day)}"
        top.moment = STRAIGHT
        view = self.query_one(RoundMapView)
        view.show(found)
        view.display = bool(found.tours)
        grid = self.query_one(LineGrid)
        grid.show(legend_rows(plan, found))
        if found.tours:
            grid.move_to(found.tours[0].stops[0])
        self._explain()

    @on(LineGrid.CursorMoved)
    def _moved(self) -> None:
        self._explain()

    def on_resize(self) -> None:
        """On a map of another size other stops share a label."""
        self.call_after_refresh(self._explain)

    def _explain(self) -> None:
        key = self.query_one(LineGrid).cursor_key
        view = self.query_one(RoundMapView)
        view.mark(key if isinstance(key, MapPoint) and key.place is not None else None)
        told = told_line(self.plan, self._found, key, view.laid)
        self.query_one(BottomStrip).show(told)

    @on(LineGrid.Opened)
    def _opened(self, opened: LineGrid.Opened) -> None:
        if isinstance(opened.key, MapPoint):
            self._open(opened.key)

    @work(group="pond-open", exclusive=True)
    async def _open(self, point: MapPoint) -> None:
        stop = stop_at(self.plan, point)
        if stop is None:
            return
        pond = await pond_of_stop(self.ponds_app, stop.errand)
        if pond is not None:
            self.ponds_app.open_pond(pond)

    @work(group="diary-ask", exclusive=True)
    async def action_driver(self) -> None:
        """Choose whose round is shown."""
        from tui.screens.parts.dialogs import Choose, Option

        options = [
            Option(one.driver.staff_id, one.driver.who) for one in self.plan.rounds if one.stops
        ]
        options.insert(0, Option(_ALL, "all of the day"))
        chosen = await self.app.push_screen_wait(
            Choose("Whose round?", options, start=self.staff_id or _ALL)
        )
        if chosen is not None:
            self.staff_id = chosen if isinstance(chosen, UUID) else None
            self._show()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Where one person drives alone there is nobody else to choose."""
        if action == "driver":
            return sum(1 for one in self.plan.rounds if one.stops) > 1
        return super().check_action(action, parameters)

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this map shows, and its keys."""
        open_help(self.app)
