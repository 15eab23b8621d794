"""The chart over time: one or two readings with what gives them meaning, zoomed and moved."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import ClassVar

from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip
from textual.widget import Widget

from tui.widgets.chart_canvas import draw
from tui.widgets.chart_cells import Cell
from tui.widgets.chart_data import ChartData

_SHORTEST = timedelta(days=1)


class TimeChart(Widget):
    """A chart as wide and high as its place, redrawn when that or its data change."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {
        "chart--axis", "chart--text", "chart--first", "chart--second", "chart--forecast",
        "chart--fan", "chart--limit", "chart--limit-text", "chart--band", "chart--band-text",
        "chart--mark",
    }  # fmt: skip

    def __init__(
        self,
        data: ChartData | None = None,
        *,
        id: str | None = None,  # noqa: A002
        classes: str | None = None,
    ) -> None:
        super().__init__(id=id, classes=classes)
        self._data = data
        self._window: tuple[datetime, datetime] | None = None
        self._drawn: list[list[Cell]] | None = None

    def show(self, data: ChartData | None, *, keep_window: bool = False) -> None:
        """Show this instead; `None` leaves the place empty.

        Parameters
        ----------
        data
            What to show.
        keep_window
            Stay zoomed and moved as it is; otherwise the whole stretch is shown.
        """
        self._data = data
        if not keep_window:
            self._window = None
        self._redraw()

    @property
    def window(self) -> tuple[datetime, datetime] | None:
        """The stretch of time in sight, or `None` without data."""
        if self._data is None:
            return None
        return self._window or (self._data.start, self._data.end)

    def zoom(self, factor: float) -> None:
        """Show the stretch divided by `factor`; today, where it is in sight, is kept in place.

        Parameters
        ----------
        factor
            Over 1 shows less time, under 1 more. Never less than a day, and never more than all
            the readings and the data's own stretch together. Without a today in sight the newest
            moment is kept in place.
        """
        if (window := self.window) is None or factor <= 0:
            return
        start, end = window
        earliest, latest = self._reach()
        longest = latest - earliest
        length = min(longest, max(_SHORTEST, (end - start) / factor))
        now = self._data.now if self._data is not None else None
        still = now if now is not None and start < now < end else end
        end = still + (end - still) * (length / (end - start))
        end = min(latest, max(end, earliest + length))
        self._look_at(end - length, end)

    def pan(self, share: float) -> None:
        """Move by a share of what is in sight: below zero to earlier, above to later times."""
        if (window := self.window) is None:
            return
        start, end = window
        earliest, latest = self._reach()
        by = (end - start) * share
        by = max(earliest - start, min(latest - end, by))
        self._look_at(start + by, end + by)

    def whole(self) -> None:
        """Show the whole stretch again."""
        self._window = None
        self._redraw()

    def _reach(self) -> tuple[datetime, datetime]:
        assert self._data is not None
        times = [time for series in self._data.series for time in series.times]
        return min([*times, self._data.start]), max([*times, self._data.end])

    def _look_at(self, start: datetime, end: datetime) -> None:
        self._window = (start, end)
        self._redraw()

    def _redraw(self) -> None:
        self._drawn = None
        self.refresh()

    def on_resize(self) -> None:
        """Draw anew for the new size."""
        self._redraw()

    def render_line(self, y: int) -> Strip:
        """One line of the chart."""
        width = self.size.width
        base = self.rich_style
        if self._data is None or self.window is None:
            return Strip.blank(width, base)
        if self._drawn is None:
            start, end = self.window
            self._drawn = draw(replace(self._data, start=start, end=end), width, self.size.height)
        if y >= len(self._drawn):
            return Strip.blank(width, base)
        styles: dict[str, Style] = {"": base}
        segments: list[Segment] = []
        text, part = "", ""
        for character, belongs in self._drawn[y]:
            if belongs != part and text:
                segments.append(Segment(text, self._style(part, base, styles)))
                text = ""
            text, part = text + character, belongs
        segments.append(Segment(text, self._style(part, base, styles)))
        return Strip(segments).adjust_cell_length(width, base)

    def _style(self, part: str, base: Style, known: dict[str, Style]) -> Style:
        if part not in known:
            known[part] = base + self.get_component_rich_style(f"chart--{part}", partial=True)
        return known[part]
