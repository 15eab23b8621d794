"""The one-line head of a screen, and the thin rule between areas."""

from __future__ import annotations

from rich.cells import cell_len
from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

from tui.widgets.literal import cut, one_line

_PLACE = 12
"""So many cells are left to the name of the place [cells]."""


class Top(Widget):
    """The name of the place at the left, date and time (or a count) at the right, on one line.

    Set `place` and `moment` to show other text; where both do not fit, the place is cut.
    """

    place: reactive[str] = reactive("")
    moment: reactive[str] = reactive("")

    def __init__(self, place: str = "", moment: str = "", *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self.set_reactive(Top.place, place)
        self.set_reactive(Top.moment, moment)

    def render(self) -> Content:
        """The line."""
        width = self.size.width
        bag = getattr(self.app, "bag_said", "")  # that a book is not whole stands in every head
        learning = getattr(self.app, "learning_said", "")
        beside = one_line("   ".join(filter(None, (bag, learning, self.moment))))
        if learning and cell_len(beside) > width - _PLACE:  # it passes, the others stay
            beside = one_line("   ".join(filter(None, (bag, self.moment))))
        moment = cut(beside, width)
        left = cut(one_line(self.place), width - cell_len(moment) - (2 if moment else 0))
        space = " " * max(0, width - cell_len(left) - cell_len(moment))
        return Content.assemble((left, "bold"), space, (moment, "$quiet"))


class Line(Widget):
    """One thin rule over the whole width."""

    def render(self) -> Content:
        """The rule."""
        return Content("─" * self.size.width)
