"""A list of many lines, drawn line by line: only what is on the screen is looked at."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import ClassVar, Literal, TypeAlias

from rich.segment import Segment
from rich.style import Style
from rich.text import Text
from textual import events
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.geometry import Size
from textual.message import Message
from textual.scroll_view import ScrollView
from textual.strip import Strip

from tui.widgets.columns import Column, Placed, lay_out
from tui.widgets.literal import cut, fit, one_line, wrapped
from tui.widgets.spark import BEYOND

Cell: TypeAlias = str | Text | Content
MARK = "›"
_LEVEL_CELLS = 7
_GUTTER = {"level": 1 + _LEVEL_CELLS + 2, "mark": 2}


@dataclass(frozen=True, slots=True)
class Row:
    """One line: its key, a cell for every column, the level in words or an empty string."""

    key: Hashable
    cells: tuple[Cell, ...]
    level: str = ""


class LineGrid(ScrollView, can_focus=True):
    """Lines of columns with a cursor, for thousands of rows.

    The rows arrive filtered and sorted. The cursor stays on the same key when they are shown anew,
    also when there was none in between; where that key is gone it stays at the same place. All
    text is literal. The spans of a `Text` cell may carry the names `act watch unknown calm quiet
    beyond`, which take the theme's colours.

    Parameters
    ----------
    columns
        From left to right; those with a `drop_order` go first as the grid narrows.
    empty
        What to do when there is no row, in a sentence.
    header
        Show the titles of the columns.
    gutter
        `level` for the cursor's mark and the level in words, `mark` for the mark alone.
    """

    COMPONENT_CLASSES: ClassVar[set[str]] = {
        "line-grid--title", "line-grid--cursor", "line-grid--cursor-blurred", "line-grid--empty",
        "line-grid--act", "line-grid--watch", "line-grid--unknown", "line-grid--calm",
        "line-grid--quiet", "line-grid--beyond",
    }  # fmt: skip

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down,j", "move(1)", "next line", show=False, id="grid.down",
                tooltip="One line down"),
        Binding("up,k", "move(-1)", "line before", show=False, id="grid.up",
                tooltip="One line up"),
        Binding("pagedown", "page(1)", "page down", show=False, id="grid.page_down",
                tooltip="One page down"),
        Binding("pageup", "page(-1)", "page up", show=False, id="grid.page_up",
                tooltip="One page up"),
        Binding("home", "first", "first line", show=False, id="grid.first",
                tooltip="To the first line"),
        Binding("end", "last", "last line", show=False, id="grid.last",
                tooltip="To the last line"),
        Binding("enter", "open", "open", id="grid.open",
                tooltip="Open what the cursor is on"),
    ]  # fmt: skip

    class CursorMoved(Message, bubble=True):
        """The cursor came to stand on another key, or on nothing (`None`)."""

        def __init__(self, grid: LineGrid, key: Hashable | None) -> None:
            super().__init__()
            self.grid = grid
            self.key = key

        @property
        def control(self) -> LineGrid:
            """The grid it happened in."""
            return self.grid

        def can_replace(self, message: Message) -> bool:
            """Only the last place of a quick run of moves matters."""
            return isinstance(message, LineGrid.CursorMoved) and message.grid is self.grid

    class Opened(Message, bubble=True):
        """A person opened the line with this key."""

        def __init__(self, grid: LineGrid, key: Hashable) -> None:
            super().__init__()
            self.grid = grid
            self.key = key

        @property
        def control(self) -> LineGrid:
            """The grid it happened in."""
            return self.grid

    def __init__(
        self,
        columns: Sequence[Column],
        *,
        empty: str = "Nothing here.",
        header: bool = False,
        gutter: Literal["level", "mark"] = "level",
        name: str | None = None,
        id: str | None = None,  # noqa: A002
        classes: str | None = None,
    ) -> None:
        super().__init__(name=name, id=id, classes=classes)
        self._columns = tuple(columns)
        self._header = header
        self._gutter = _GUTTER[gutter]
        self._empty = empty
        self._rows: tuple[Row, ...] = ()
        self._places: dict[Hashable, int] = {}
        self._cursor = 0
        self._lost: Hashable | None = None
        self._laid: tuple[int, tuple[Placed, ...]] = (-1, ())

    # What is shown

    @property
    def cursor_key(self) -> Hashable | None:
        """The key under the cursor, or `None` when there is no row."""
        return self._rows[self._cursor].key if self._rows else None

    @property
    def cursor_row(self) -> Row | None:
        """The row under the cursor, or `None` when there is none."""
        return self._rows[self._cursor] if self._rows else None

    @property
    def row_count(self) -> int:
        """Number of rows shown."""
        return len(self._rows)

    @property
    def empty(self) -> str:
        """What stands here when there is no row."""
        return self._empty

    @empty.setter
    def empty(self, sentence: str) -> None:
        self._empty = sentence
        self.refresh()

    def cells_of(self, key: str) -> int:
        """Cells that this column has at the present width; 0 where it was dropped."""
        return next((placed.width for placed in self._placed() if placed.column.key == key), 0)

    def show(self, rows: Sequence[Row]) -> None:
        """Show these rows instead; the cursor stays on its key.

        Parameters
        ----------
        rows
            Each with as many cells as there are columns and a key of its own.

        Raises
        ------
        ValueError
            Two rows have the same key.
        """
        before = self.cursor_key
        # Between two lists there may be an empty one, where a search found nothing.
        wanted = self._lost if before is None else before
        self._lost = None if rows else wanted
        places = {row.key: place for place, row in enumerate(rows)}
        if len(places) != len(rows):
            raise ValueError("Two rows of the grid have the same key.")
        offset = self._cursor - self.scroll_offset.y
        self._rows, self._places = tuple(rows), places
        followed = places.get(wanted)
        self._cursor = min(self._cursor, max(0, len(rows) - 1)) if followed is None else followed
        self.virtual_size = Size(self._width, len(rows) + self._head)
        if followed is not None:
            # The line under the cursor keeps its height on the screen, and the eye its place.
            self._scroll(followed - offset)
        self._bring_into_view()
        self.refresh()
        if self.cursor_key != before:
            self.post_message(self.CursorMoved(self, self.cursor_key))

    def show_columns(self, columns: Sequence[Column]) -> None:
        """Show other columns, or the same with other titles."""
        self._columns = tuple(columns)
        self._laid = (-1, ())
        self.refresh()

    def move_to(self, key: Hashable, *, at_top: bool = False) -> bool:
        """Put the cursor on this key; `False` when no such row is shown.

        Parameters
        ----------
        key
            Of a row.
        at_top
            Bring its line to the top, so that those after it are in sight.
        """
        place = self._places.get(key)
        if place is None:
            return False
        self._move_cursor(place)
        if at_top:
            self._scroll(min(place, max(0, len(self._rows) - self._page)))
        return True

    # Keys and mouse

    def action_move(self, by: int) -> None:
        """Move the cursor by some lines."""
        self._move_cursor(self._cursor + by)

    def action_page(self, by: int) -> None:
        """Move the cursor by some pages, leaving one line in sight of both."""
        self._move_cursor(self._cursor + by * max(1, self._page - 1))

    def action_first(self) -> None:
        """Put the cursor on the first line."""
        self._move_cursor(0)

    def action_last(self) -> None:
        """Put the cursor on the last line."""
        self._move_cursor(len(self._rows) - 1)

    def action_open(self) -> None:
        """Open the line under the cursor."""
        if self._rows:
            self.post_message(self.Opened(self, self._rows[self._cursor].key))

    def on_click(self, event: events.Click) -> None:
        """A click puts the cursor there, a double click opens."""
        offset = event.get_content_offset(self)
        if offset is None or offset.y < self._head:
            return
        place = offset.y - self._head + self.scroll_offset.y
        if place >= len(self._rows):
            return
        self._move_cursor(place)
        if event.chain == 2:
            self.action_open()

    # Inside

    @property
    def _head(self) -> int:
        return 1 if self._header else 0

    @property
    def _width(self) -> int:
        return self.scrollable_content_region.width

    @property
    def _page(self) -> int:
        return max(1, self.scrollable_content_region.height - self._head)

    def _move_cursor(self, place: int) -> None:
        place = min(max(0, place), len(self._rows) - 1)
        if place in (self._cursor, -1):
            return
        left, self._cursor = self._cursor, place
        for line in (left, place):
            self.refresh_line(line + self._head)
        self._bring_into_view()
        self.post_message(self.CursorMoved(self, self.cursor_key))

    def _bring_into_view(self) -> None:
        top = min(self.scroll_offset.y, self.max_scroll_y)
        if self._cursor < top:
            top = self._cursor
        elif self._cursor >= top + self._page:
            top = self._cursor - self._page + 1
        self._scroll(top)

    def _scroll(self, top: int) -> None:
        # Forced: the scroll bar, which would allow it, appears only after the next layout.
        if top != self.scroll_offset.y:
            self.scroll_to(y=top, animate=False, force=True)

    def on_resize(self) -> None:
        """Keep the line under the cursor in sight."""
        self.virtual_size = Size(self._width, len(self._rows) + self._head)
        self._bring_into_view()
        self.refresh()

    def watch_has_focus(self, _has_focus: bool) -> None:
        """The cursor looks different without the focus."""
        super().watch_has_focus(_has_focus)
        self.refresh_line(self._cursor + self._head)

    def _placed(self) -> tuple[Placed, ...]:
        width = self._width
        if self._laid[0] != width:
            # One cell stays free at the right edge, as one does at the left.
            self._laid = (width, lay_out(self._columns, width - self._gutter - 1))
        return self._laid[1]

    # Drawing

    def render_line(self, y: int) -> Strip:
        """One line of the screen."""
        base = self.rich_style
        if self._header and y == 0:
            return self._title_line(base)
        place = y - self._head + self.scroll_offset.y
        if place < len(self._rows):
            return self._row_line(self._rows[place], place == self._cursor, base)
        if not self._rows:
            return self._empty_line(y - self._head, base)
        return Strip.blank(self._width, base)

    def _part(self, name: str) -> Style:
        return self.get_component_rich_style(f"line-grid--{name}", partial=True)

    def _title_line(self, base: Style) -> Strip:
        style = base + self._part("title")
        line = " " * self._gutter + "".join(
            " " * placed.before + fit(one_line(placed.column.title), placed.width,
                                      placed.column.align)
            for placed in self._placed()
        )  # fmt: skip
        return self._strip([Segment(line, style)], style)

    def _empty_line(self, y: int, base: Style) -> Strip:
        style = base + self._part("empty")
        lines = wrapped(one_line(self._empty), max(1, self._width - 2))
        # One line of air above the sentence, where there is room for it.
        y -= 1 if self._page > len(lines) else 0
        text = f" {lines[y]}" if 0 <= y < len(lines) else ""
        return self._strip([Segment(text, style)], style)

    def _row_line(self, row: Row, here: bool, base: Style) -> Strip:
        over: Style | None = None
        if here:
            over = self._part("cursor" if self.has_focus else "cursor-blurred")
            base += over
        segments = [Segment(MARK if here else " ", base)]
        if self._gutter > 2:
            named = base if over or row.level not in _NAMED else base + self._part(row.level)
            segments.append(Segment(fit(one_line(row.level), _LEVEL_CELLS), named))
        segments.append(
            Segment(" " * (self._gutter - 1 - (_LEVEL_CELLS if self._gutter > 2 else 0)), base)
        )
        for placed in self._placed():
            if placed.before:
                segments.append(Segment(" " * placed.before, base))
            segments += self._cell(row.cells[placed.place], placed, base, over)
        return self._strip(segments, base)

    def _cell(self, cell: Cell, placed: Placed, base: Style, over: Style | None) -> list[Segment]:
        width, align = placed.width, placed.column.align
        if isinstance(cell, str):
            return [Segment(fit(one_line(cell), width, align), base)]
        plain = one_line(cell.plain)
        styled = cell.spans or (isinstance(cell, Text) and cell.style)
        if plain != cell.plain or not styled:
            # Something harmful was in it: its spans no longer fit, and it is shown without them.
            return [Segment(fit(plain, width, align), base)]
        if isinstance(cell, Text):
            segments = self._text(cell, width, base)
        else:
            ground = Content(cell.plain, list(cell.spans)).truncate(width, ellipsis=True)
            segments = [
                Segment(segment.text, base + (segment.style or Style.null()))
                for segment in ground.render_segments()
            ]
        if over:
            # Under the cursor the weight stays and the colours are the cursor's own.
            segments = [
                Segment(segment.text, (segment.style or base) + _colours(base))
                for segment in segments
            ]
        space = width - sum(segment.cell_length for segment in segments)
        blank = [Segment(" " * space, base)] if space > 0 else []
        return blank + segments if align == "right" else segments + blank

    def _text(self, text: Text, width: int, base: Style) -> list[Segment]:
        shown = Text(cut(text.plain, width), end="")
        whole = [(0, len(shown), text.style)] if text.style else []
        for start, end, style in (*whole, *text.spans):
            known = style if isinstance(style, Style) else self._named(style)
            shown.stylize(known, start, min(end, len(shown)))
        return [
            Segment(segment.text, base + (segment.style or Style.null()))
            for segment in shown.render(self.app.console)
        ]

    def _named(self, name: str) -> Style:
        return self._part(name) if name in _NAMED else Style.null()

    def _strip(self, segments: list[Segment], base: Style) -> Strip:
        return Strip(segments).adjust_cell_length(self._width, base)


_NAMED = frozenset({"act", "watch", "unknown", "calm", "quiet", BEYOND})


def _colours(style: Style) -> Style:
    return Style(color=style.color, bgcolor=style.bgcolor)
