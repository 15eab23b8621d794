"""The first questions of a new book: whose it is, and who enters it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, ClassVar, cast

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen

from store.errors import BadInput, PondroundError
from tui.screens.parts.abstract import NARROW
from tui.screens.parts.help import HELP, open_help
from tui.widgets.fields import Field, Form
from tui.widgets.static import Static

if TYPE_CHECKING:
    from store.book.book import Book
    from tui.app import PondroundApp

ROLES = (
    ("vet", "vet"),
    ("receptionist", "receptionist"),
    ("travelling vet", "travelling vet"),
)


class BeginScreen(ModalScreen["Book | None"]):
    """Begin the book of a practice; gives the open book, or None when left.

    Parameters
    ----------
    beginning
        Makes the book of `practice`, `time_zone`, `person` and `role`, all as typed.
    """

    CSS_PATH = ["../sheets/questions.tcss", "../sheets/narrow.tcss"]  # noqa: RUF012
    HORIZONTAL_BREAKPOINTS = NARROW
    QUESTION = "Whose book is this?"
    ABOUT = "Four answers begin the book. All of them can be changed later in the directory."

    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "leave", id="begin.back", tooltip="Leave; nothing is made"),
    ]  # fmt: skip

    def __init__(self, beginning: Callable[[dict[str, str]], Book]) -> None:
        super().__init__()
        self._beginning = beginning

    def compose(self) -> ComposeResult:
        """The sheet."""
        with Vertical(id="sheet"):
            yield Static(Content("Begin the book of your practice"), id="title")
            yield Static(
                Content(
                    "There is no book there yet. Four answers begin one. To look around "
                    "first, leave with esc and type: pondround demo"
                ),
                id="about",
            )
            yield Form(
                (
                    Field("practice", "Practice", "its name"),
                    Field("time_zone", "Time zone", "such as Europe/London", _zone_here()),
                    Field("person", "Your name", "who makes the entries"),
                    Field("role", "Your role", value="vet", choices=ROLES),
                )
            )
            yield Static(Content("F2 begins the book   esc leaves   F1 help"), id="keys")

    @on(Form.Submitted)
    def _submitted(self, submitted: Form.Submitted) -> None:
        self._make(submitted.form, submitted.values)

    @work(group="begin", exclusive=True)
    async def _make(self, form: Form, values: Mapping[str, str]) -> None:
        app = cast("PondroundApp", self.app)
        try:
            for name, asked in (("practice", "the practice"), ("person", "the person")):
                if not values[name].strip():
                    raise BadInput(f"Please give the name of {asked}.", field=name)
            book = await app.ask_store(
                self._beginning, {name: text.strip() for name, text in values.items()}
            )
        except BadInput as trouble:
            form.show_error(trouble)
        except PondroundError as trouble:
            app.tell(trouble)
        else:
            self.dismiss(book)

    def action_back(self) -> None:
        """Leave without a book."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this sheet is for, and its keys."""
        open_help(self.app)


def _zone_here() -> str:
    """The time zone of this computer, or an empty text where it cannot be told."""
    from zoneinfo import ZoneInfoNotFoundError

    from tzlocal import get_localzone_name

    try:
        return get_localzone_name() or ""
    except (ZoneInfoNotFoundError, ValueError, LookupError, OSError):
        return ""
