"""A text on the screen, for which nothing is laid out anew where it takes the same room."""

from __future__ import annotations

from textual.content import Content
from textual.visual import VisualType
from textual.widget import Widget
from textual.widgets import Static as _Static


class Static(_Static):
    """A text as the library shows it; the screen is laid out only where it needs other room.

    The library lays out the whole screen at every update: in a long form that takes four times as
    long as all else that follows a key.
    """

    def update(self, content: VisualType = "", *, layout: bool = True) -> None:
        """Show this in place of what is shown; where that is the same, nothing is done."""
        if _same(self.content, content):
            return
        super().update(content, layout=False)
        if layout and not self._fits():
            self.refresh(layout=True)

    def _fits(self) -> bool:
        """Whether it takes the very room that it was given for what was shown before."""
        height, (wide, lines) = self.styles.height, self.content_size
        if not self.is_mounted or not wide or height is None or height.is_fraction:
            return False
        for above in self.ancestors_with_self:
            if isinstance(above, Widget) and above.styles.width and above.styles.width.is_auto:
                return False
        if not height.is_auto:
            return True
        return self.get_content_height(self.container_size, self.app.size, wide) == lines


def _same(one: VisualType, other: VisualType) -> bool:
    if isinstance(one, Content) and isinstance(other, Content):
        return one.is_same(other)
    return isinstance(one, str) and isinstance(other, str) and one == other
