"""A screen with one form about one pond: what its screens have in common."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any, ClassVar, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen

from store.errors import BadInput, PondroundError
from tui.screens.parts.abstract import NARROW, AbstractScreen, drafts_of
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.once import once
from tui.widgets.fields import Field, Form
from tui.widgets.foot import Foot
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from tui.app import PondroundApp


class PondEntry(Screen[None], metaclass=AbstractScreen):
    """Reads what the form needs, shows it, saves it in one action and goes back.

    A screen of this kind says how its fields are read (`prepare`) and how they are saved (`save`);
    both run beside the screen, in a thread.

    Parameters
    ----------
    pond
        Key of the pond.
    """

    CSS_PATH = ["../sheets/pond.tcss", "../sheets/narrow.tcss"]  # noqa: RUF012
    HORIZONTAL_BREAKPOINTS = NARROW
    TITLE_SAID: ClassVar[str] = ""
    DRAFT: ClassVar[str] = ""

    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", id="entry.back",
                tooltip="Back one step; what was typed is kept"),
    ]  # fmt: skip

    def __init__(self, pond: UUID) -> None:
        super().__init__()
        self.pond = pond
        self.today: date | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    @abstractmethod
    def prepare(self, book: Book, today: date) -> Sequence[Field]:
        """The fields of the form; runs in a thread."""

    @abstractmethod
    def save(self, book: Book, act: Act, values: Mapping[str, str]) -> None:
        """Save what was typed; runs in a thread."""

    def compose(self) -> ComposeResult:
        """Head; the form comes once its fields are read."""
        yield Top(self.TITLE_SAID, id="entry-head")
        yield Line()
        yield Foot()

    def on_mount(self) -> None:
        """Read behind the first paint."""
        self._prepare()

    def _read_all(self) -> tuple[Sequence[Field], str, date]:
        from store.book.ponds import card
        from tui.screens.ponds.pond_lines import head_name

        app = self.ponds_app
        today = app.book.today(app.now())
        return self.prepare(app.book, today), head_name(card(app.book, self.pond)), today

    @work(group="entry-read", exclusive=True)
    async def _prepare(self) -> None:
        app = self.ponds_app
        try:
            fields, name, self.today = await app.ask_store(self._read_all)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        self.query_one(Top).place = f"{self.TITLE_SAID}: {name}"
        form = Form(fields, draft=drafts_of(self.app).of(self.DRAFT, self.pond))
        await self.mount(form, after=self.query_one(Line))
        self.ready(form)

    def ready(self, form: Form) -> None:
        """The form is on the screen."""

    @on(Form.Submitted)
    def _submitted(self, submitted: Form.Submitted) -> None:
        submitted.stop()
        self._save(submitted.form, submitted.values)

    @once("entry-save")
    async def _save(self, form: Form, values: Mapping[str, str]) -> None:
        app = self.ponds_app
        act = await app.acting()
        if act is None:
            return
        try:
            await app.ask_store(self.save, app.book, act, values)
        except BadInput as trouble:
            form.show_error(trouble)
            return
        except PondroundError as trouble:
            app.tell(trouble)
            return
        form.saved()
        app.changed()
        self.dismiss(None)

    def action_back(self) -> None:
        """Back one step; the draft stays."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this screen is for, and its keys."""
        open_help(self.app)


async def written(app: Any, change: Any, *args: Any) -> bool:
    """One writing by whoever is working; whether it was done. Trouble is told in a dialog.

    Parameters
    ----------
    app
        The application, by its own contract.
    change
        Called in a thread with the writing and `args`.
    """

    def in_one_action(act: Act) -> None:
        with app.book.writing(act) as writing:
            change(writing, *args)

    act = await app.acting()
    if act is None:
        return False
    try:
        await app.ask_store(in_one_action, act)
    except PondroundError as trouble:
        app.tell(trouble)
        return False
    app.changed()
    return True
