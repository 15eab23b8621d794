"""The rounds of a day on a map: numbered stops, the straight lines between them, a scale.

What lies where is reckoned by `store.rounds.day.map`; plotext draws the lines on a bare canvas of
that size, and the labels are set over them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import ClassVar

from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip
from textual.widget import Widget

from store.rounds.day.map import MapCells, MapMark, MapPoint, RoundMap, Track, map_cells
from tui.widgets.chart_cells import Cell, Cells
from tui.widgets.literal import one_line, wrapped

MARKERS = ("braille", "·", ":", "'")
SIGNS = ("⠤⠤", "··", "::", "''")
"""How the lines of the rounds are drawn, one after another; after the last the first again."""
HERE = "›"
NORTH = "↑ north"
EMPTY = (
    "No place of this round is known, so nothing is drawn. Enter the latitude and longitude of "
    "the sites."
)
_COLOURS = re.compile("\x1b\\[[0-9;]*m")
_BLANK = frozenset(" ⠀")
_LEAST_WIDTH, _LEAST_HEIGHT = 12, 4


def draw(
    found: RoundMap, width: int, height: int, here: MapPoint | None = None,
    laid: MapCells | None = None,
) -> list[list[Cell]]:  # fmt: skip
    """The map of that size; a sentence where no place is known.

    Parameters
    ----------
    found
        The rounds.
    width, height
        Cells. Under 12 × 4 nothing is drawn.
    here
        The point whose label is marked; its round is drawn stronger where there are others.
    laid
        What lies where at this size, as far as it is reckoned already.
    """
    cells = Cells(width, height)
    if width < _LEAST_WIDTH or height < _LEAST_HEIGHT:
        return cells.rows
    laid = laid or map_cells(found, width, height - 1)
    if laid.bar is None:
        lines = wrapped(EMPTY, width - 2)
        for row, line in enumerate(lines, max(0, (height - len(lines)) // 2)):
            cells.put(1, row, line, "text")
        return cells.rows
    numbered = list(enumerate(laid.tracks))
    # The round of the cursor is drawn last: where two lines cross it is the one in sight.
    numbered.sort(key=lambda one: here is not None and one[1].staff_id == here.staff_id)
    for nth, track in numbered:
        mine = len(numbered) > 1 and here is not None and track.staff_id == here.staff_id
        _put_lines(cells, track, laid, MARKERS[nth % len(MARKERS)], "way-here" if mine else "way")
    # A marked label is set last, for what marks it stands before it.
    for mark in sorted(laid.marks, key=lambda one: here in one.points):
        _put_label(cells, mark, here)
    bar = laid.bar
    said = f"├{'─' * (bar.cells - 1)}┤ {bar.said}"
    cells.put(0, height - 1, said, "text")
    if len(said) + len(NORTH) + 2 <= width:
        cells.put(width - len(NORTH), height - 1, NORTH, "text")
    return cells.rows


def _put_label(cells: Cells, mark: MapMark, here: MapPoint | None) -> None:
    label = one_line(mark.label)
    if here not in mark.points:
        cells.put(mark.left, mark.row, label, "label")
        return
    cells.put(mark.left, mark.row, label, "here")
    if mark.left:
        cells.put(mark.left - 1, mark.row, HERE, "label")


def _put_lines(cells: Cells, track: Track, laid: MapCells, marker: str, part: str) -> None:
    stretches = [one for one in track.stretches if len(set(one)) > 1]
    for row, line in enumerate(_plotted(stretches, laid, marker)):
        for column, character in enumerate(line):
            if character not in _BLANK:
                cells.put(column, row, character, part)


def _plotted(
    stretches: Iterable[tuple[tuple[int, int], ...]], laid: MapCells, marker: str
) -> list[str]:
    """The lines as plotext draws them on a bare canvas, one text a row."""
    # 135 ms to import: only where a map is drawn.
    import plotext

    points = [cell for stretch in stretches for cell in stretch]
    if not points:
        return []
    plotext.terminal.limit(False, False)
    figure = plotext.figure
    figure.clear()
    figure.plot_size(laid.columns, laid.rows)
    figure.axes(False)
    figure.legend(False)
    # Half a cell beyond the outermost ones: a whole number is the middle of its cell.
    figure.ruler("x", "lower").lim(-0.5, laid.columns - 0.5).ticks([])
    figure.ruler("y", "left").lim(0.5 - laid.rows, 0.5).ticks([])
    signal = figure.signal(
        [float(column) for column, _ in points], [-float(row) for _, row in points], marker=marker
    )
    signal.lines(True)
    place = 0
    for stretch in stretches:
        signal.line(place, False)
        place += len(stretch)
    figure.draw(signal)
    return _COLOURS.sub("", str(figure.build())).splitlines()[: laid.rows]


class RoundMapView(Widget):
    """The map as wide and high as its place, drawn anew when that or the cursor changes."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {
        "round-map--way", "round-map--way-here", "round-map--label", "round-map--here",
        "round-map--text",
    }  # fmt: skip

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self._found: RoundMap | None = None
        self._here: MapPoint | None = None
        self._drawn: list[list[Cell]] | None = None
        self._laid: MapCells | None = None

    def show(self, found: RoundMap | None) -> None:
        """Show these rounds instead; `None` leaves the place empty."""
        self._found, self._here, self._laid = found, None, None
        self._redraw()

    def mark(self, here: MapPoint | None) -> None:
        """Mark the label of this point; none where it is on no map."""
        if here != self._here:
            self._here = here
            self._redraw()

    @property
    def laid(self) -> MapCells | None:
        """What lies where at the present size, None where nothing is shown."""
        width, height = self.size
        if self._found is None or width < _LEAST_WIDTH or height < _LEAST_HEIGHT:
            return None
        laid = self._laid
        if laid is None or (laid.columns, laid.rows) != (width, height - 1):
            self._laid = map_cells(self._found, width, height - 1)
        return self._laid

    def _redraw(self) -> None:
        self._drawn = None
        self.refresh()

    def on_resize(self) -> None:
        """Draw anew for the new size."""
        self._redraw()

    def render_line(self, y: int) -> Strip:
        """One line of the map."""
        width, base = self.size.width, self.rich_style
        if self._found is None:
            return Strip.blank(width, base)
        if self._drawn is None:
            self._drawn = draw(self._found, width, self.size.height, self._here, self.laid)
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
            own = self.get_component_rich_style(f"round-map--{part}", partial=True)
            known[part] = base + own
        return known[part]
