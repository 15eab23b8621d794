"""Every concern of one pond in full: rule, readings, arithmetic, source, what to do next."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen

from store.errors import PondroundError
from tui.explained import Explained, Said, paragraphs, read_explained
from tui.screens.parts.help import HELP, open_help
from tui.widgets.foot import Foot
from tui.widgets.hanging import beside, hanging
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from tui.app import PondroundApp


_LEVEL_CELLS = 8
_PART_CELLS = 13
"""Cells of the titles at the left."""
_SHORTER = {"To keep in mind": "Keep in mind"}


class ExplainScreen(Screen[None]):
    """Why the rules speak of this pond.

    Parameters
    ----------
    pond
        Key of the pond.
    """

    CSS_PATH = "../sheets/questions.tcss"
    QUESTION = "Why does this pond stand on the list?"
    ABOUT = (
        "Each concern with the readings it rests on, the reckoning with its numbers, the source of "
        "the limit and its standing, what must be kept in mind, what to do next, and who changed "
        "the rule. The vet decides."
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", id="explain.back", tooltip="Back one step"),
        Binding("r", "rest", "rest", id="explain.rest",
                tooltip="Put a concern to rest until a day, with a reason"),
        Binding("down,j", "read(1)", "down", show=False, id="explain.down", tooltip="Further down"),
        Binding("up,k", "read(-1)", "up", show=False, id="explain.up", tooltip="Further up"),
        Binding("pagedown,space", "page(1)", "page down", show=False, id="explain.page_down",
                tooltip="One page down"),
        Binding("pageup", "page(-1)", "page up", show=False, id="explain.page_up",
                tooltip="One page up"),
        Binding("home", "top", "top", show=False, id="explain.top", tooltip="To the first line"),
        Binding("end", "bottom", "bottom", show=False, id="explain.bottom",
                tooltip="To the last line"),
    ]  # fmt: skip

    def __init__(self, pond: UUID) -> None:
        super().__init__()
        self.pond = pond
        self._said: tuple[Said, ...] = ()

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, the explanations, keys."""
        yield Top("reading the pond …")
        yield Line()
        with VerticalScroll(id="explained", can_focus=False):
            yield Static("", id="explanation", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """Read the pond behind the first paint."""
        self._read()

    def on_book_changed(self) -> None:
        """The book was written: read again."""
        self._read()

    @work(group="explain", exclusive=True)
    async def _read(self) -> None:
        app = self.ponds_app
        try:
            explained = await app.ask_store(read_explained, app.book, self.pond, app.now())
        except PondroundError as trouble:
            self.query_one(Top).place = trouble.title
            app.tell(trouble)
            return
        self._show(explained)

    def _show(self, explained: Explained) -> None:
        card = explained.card
        self.query_one(Top).place = f"{card.client.name}, {card.pond.name}"
        self._said = tuple(paragraphs(explained))
        self._lay_out()

    def _lay_out(self) -> None:
        # Without the empty cell at either side and the bar to scroll with.
        shown = Content("\n").join(drawn(self._said, self.size.width - 3))
        self.query_one("#explanation", Static).update(shown)

    def on_resize(self) -> None:
        """Lines are broken for the width there is."""
        self._lay_out()

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)

    def action_rest(self) -> None:
        """Put a concern to rest."""
        from tui.screens.morning.rest import RestScreen

        self.app.push_screen(RestScreen(self.pond))

    def action_read(self, by: int) -> None:
        """Move by a line."""
        self.query_one("#explained").scroll_relative(y=by, animate=False)

    def action_page(self, by: int) -> None:
        """Move by most of what is in sight."""
        page = self.query_one("#explained")
        page.scroll_relative(y=by * max(1, page.size.height - 1), animate=False)

    def action_top(self) -> None:
        """To the first line."""
        self.query_one("#explained").scroll_home(animate=False)

    def action_bottom(self) -> None:
        """To the last line."""
        self.query_one("#explained").scroll_end(animate=False)


def drawn(said: Iterable[Said], width: int) -> Iterator[Content]:
    """The paragraphs with the title of each part in a gutter at its left.

    Parameters
    ----------
    said
        What is explained.
    width
        Cells of a line.
    """
    title: str | None = None
    for one in said:
        if one.voice == "part":
            title = _SHORTER.get(one.text, one.text)
        elif one.voice == "level":
            text = beside(one.level, one.text, width, _LEVEL_CELLS)
            level, text = text[:_LEVEL_CELLS], text[_LEVEL_CELLS:]
            yield Content.assemble((level, f"bold $level-{one.level}"), (text, "bold"))
            title = None
        elif one.voice == "title":
            yield Content.styled(one.text, "bold")
            title = None
        elif one.voice == "air":
            yield Content("")
        elif title is None:  # before the first part: what the rule says, under its name
            yield Content(hanging(one.text, width, _LEVEL_CELLS))
        else:
            text = beside(title, one.text, width, _PART_CELLS)
            yield Content.assemble((text[:_PART_CELLS], "$quiet"), text[_PART_CELLS:])
            title = ""
