"""The strip at the bottom that explains the line under the cursor."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from rich.cells import cell_len
from textual.content import Content
from textual.geometry import Size
from textual.widget import Widget

from tui.widgets.literal import MORE, cut, one_line, wrapped

FULL_LINES = 5
SHORT_LINES = 2
_FULL_FROM = Size(80, 24)


@dataclass(frozen=True, slots=True)
class Told:
    """What the strip says: the rule, the reckoning with its numbers, the source, what to do."""

    head: str
    arithmetic: str = ""
    source: str = ""
    advice: str = ""


class BottomStrip(Widget):
    """Five lines that explain, two on a small terminal.

    On the full strip every part has its line, and what is left over goes to the part that needs
    more, advice first. On the short one the head and the advice stay. Everything stands in full
    on the page behind the explaining key.
    """

    COMPONENT_CLASSES: ClassVar[set[str]] = {"strip--head", "strip--quiet"}
    DEFAULT_CSS = "BottomStrip { height: auto; width: 1fr; }"

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self._told = Told("")

    def show(self, told: Told | None) -> None:
        """Explain this instead; `None` leaves the strip empty."""
        self._told = told or Told("")
        self.refresh()

    @property
    def lines(self) -> int:
        """Lines there are for it on a terminal of this size."""
        size = self.app.size
        full = size.width >= _FULL_FROM.width and size.height >= _FULL_FROM.height
        return FULL_LINES if full else SHORT_LINES

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """The same height whatever is told, so that the list above does not jump."""
        return self.lines

    def render(self) -> Content:
        """The lines, one under the other."""
        parts = arranged(self._told, self.size.width, self.lines)
        styled = [
            (
                text,
                "bold" if part == "head" else "$quiet" if part in {"arithmetic", "source"} else "",
            )
            for part, text in parts
        ]
        return Content("\n").join(Content.styled(text, style) for text, style in styled)


def arranged(told: Told, width: int, lines: int) -> list[tuple[str, str]]:
    """The parts broken into at most `lines` lines of `width` cells, each with its part's name.

    Every part gets one line in the order of its weight (head, advice, arithmetic, source), then
    what is left over goes to advice, arithmetic and head. A part that is cut ends with `…`.
    """
    texts = {
        "head": told.head, "arithmetic": told.arithmetic,
        "source": told.source, "advice": told.advice,
    }  # fmt: skip
    broken = {part: wrapped(one_line(text), width) for part, text in texts.items()}
    given = dict.fromkeys(texts, 0)
    left = lines
    for part in ("head", "advice", "arithmetic", "source"):
        if broken[part] and left:
            given[part] = 1
            left -= 1
    for part in ("advice", "arithmetic", "head", "source"):
        more = min(left, len(broken[part]) - given[part]) if given[part] else 0
        given[part] += more
        left -= more
    return [(part, line) for part in texts for line in _closed(broken[part], given[part], width)]


def _closed(lines: list[str], count: int, width: int) -> list[str]:
    shown = lines[:count]
    if shown and len(lines) > count:
        last = shown[-1]
        shown[-1] = last + MORE if cell_len(last) < width else cut(last + MORE, width)
    return shown
