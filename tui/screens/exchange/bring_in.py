"""What is to be brought in: the file, what it is, and whose pond where the file names none."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from store.errors import BadInput, NotAllowed, PondroundError
from tui.screens.exchange.bring_in_said import gainsays, said_look, typed_path
from tui.screens.exchange.bringing import KINDS, LOOKS_LIKE, BringKind, kind_of
from tui.screens.parts.dialogs import Choose, Option
from tui.screens.parts.edit import FormScreen
from tui.screens.parts.once import once
from tui.widgets.fields import Field, Form
from tui.widgets.foot import Foot
from tui.widgets.literal import one_line
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.book import Book
    from store.exchange.looking.recognised import Recognised
    from tui.app import PondroundApp
    from tui.messages import BookChanged

_CELLS = 44
_FILE_CELLS = 56
_REST_S = 0.3
"""How long nothing is typed before the file is looked at [s]."""
BEGIN = (
    "Type the path of a file, choose it with F4, or draw it into the window where the terminal "
    "allows that. What it is will be proposed by its headings; you say whether that is right. "
    "Nothing is saved here: F2 shows what the file would bring."
)


class LookForm(Form):
    """The form of a file: F2 looks, and saves nothing."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f2", "submit", "look", key_display="F2", id="bring_in.look",
                tooltip="Read the file and show what it would bring; nothing is saved"),
    ]  # fmt: skip


class BringInScreen(FormScreen):
    """The file, its kind and its pond; F2 shows what it would bring.

    Parameters
    ----------
    pond
        By what the pond goes that is proposed: its code, or client, site and name.
    """

    CSS_PATH = [  # noqa: RUF012
        "../sheets/edit.tcss", "../sheets/narrow.tcss", "../sheets/bring_in.tcss",
    ]  # fmt: skip
    QUESTION = "Which file is to be brought in, and what is it?"
    ABOUT = (
        "A look at the beginning of the file proposes what it is, by its headings and rows; what "
        "you choose counts. F2 reads it and shows row by row what it would bring; nothing is saved "
        "before you say so there. The pond is for files that name none, such as a logger's. CSV "
        "and other text of any kind, and .xlsx. The same at the command line: pondround import."
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f4", "files", "files", key_display="F4", id="bring_in.files",
                tooltip="Choose among the files and folders where the typed path leads"),
        Binding("f3", "pond", "pond", key_display="F3", id="bring_in.pond",
                tooltip="Find the pond of the whole file in the book"),
    ]  # fmt: skip

    def __init__(self, pond: str = "") -> None:
        kinds = tuple((one.name, one.word) for one in KINDS)
        fields = (
            Field("file", "file", "", width=_FILE_CELLS),
            Field("kind", "what it is", "", choices=kinds, width=_CELLS),
            Field("pond", "pond", "code or name", pond, width=_CELLS),
        )
        super().__init__("Bring in a file", fields, f"bring-in-{pond}")
        self._pond = pond
        self._proposed = ""
        """The kind that a look proposed last; what a person chose is left alone."""
        self._look: tuple[str, Recognised | PondroundError] | None = None
        self._brought = False

    def compose(self) -> ComposeResult:
        """Head, form, what the file looks like, keys."""
        yield Top(self._title, id="edit-head")
        yield Line()
        yield LookForm(self._fields, draft=self._draft(), id="edit-form")
        yield Line()
        yield Static(BEGIN, id="bring-in-said", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """A draft may name a file already."""
        self.call_after_refresh(self._look_again)

    def on_book_changed(self, changed: BookChanged) -> None:
        """Something was brought in here: the file need not be offered again."""
        self._brought |= changed.own

    # Looking

    @on(Form.Changed)
    def _changed(self, changed: Form.Changed) -> None:
        changed.stop()
        if changed.name == "file":
            self._look_again()
        else:
            self._tell()

    def _look_again(self) -> None:
        self._look_at(self.query_one(Form).values["file"])

    @work(group="bring-in-look", exclusive=True)
    async def _look_at(self, typed: str) -> None:
        """Look at the file once nobody types, and say what it looks like."""
        from asyncio import sleep

        self._look = None
        if not typed.strip():
            self._tell()
            return
        await sleep(_REST_S)
        self._say(f"looking at {one_line(typed.strip())} …")
        found = await self._looked(typed)
        self._look = (typed, found)
        if not isinstance(found, PondroundError):
            self._propose(found)
        self._tell()

    async def _looked(self, typed: str) -> Recognised | PondroundError:
        try:
            return await self.ponds_app.ask_store(_recognised, typed)
        except PondroundError as trouble:
            return trouble

    def _propose(self, found: Recognised) -> None:
        """What it looks like, where nobody has chosen."""
        form = self.query_one(Form)
        if form.values["kind"] in ("", self._proposed) and kind_of(found.kind) is not None:
            self._proposed = found.kind
            form.fill({"kind": found.kind})

    def _tell(self) -> None:
        values = self.query_one(Form).values
        chosen = kind_of(values["kind"])
        if self._look is None:
            self._say(chosen.about if chosen is not None and chosen.pasted else BEGIN)
            return
        found = self._look[1]
        if isinstance(found, PondroundError):
            self._say(found.message)
        else:
            pond = values["pond"]
            kept = found.names_ponds and pond == self._pond
            self._say(said_look(found, chosen, pond, own=kept))

    def _say(self, text: str) -> None:
        self.query_one("#bring-in-said", Static).update(text)

    @once("edit")
    async def action_files(self) -> None:
        """Choose among the files where the typed path leads."""
        from tui.screens.exchange.which_file import which_file

        form = self.query_one(Form)
        chosen = await which_file(self.ponds_app, typed_path(form.values["file"]))
        if chosen is not None:
            form.fill({"file": str(chosen)})

    @once("edit")
    async def action_pond(self) -> None:
        """Find the pond of the whole file."""
        from tui.screens.exchange.plan_answer import WhichPond

        form = self.query_one(Form)
        line = await self.app.push_screen_wait(
            WhichPond("Of which pond is the file?", form.values["pond"])
        )
        if line is not None:
            form.fill({"pond": line.code or ", ".join((line.client, line.site, line.pond))})

    # Opening

    @once("edit")
    async def _saving(self, texts: dict[str, str]) -> None:
        """Show what the file would bring; nothing is saved here, so nobody is asked who it is."""
        app, form = self.ponds_app, self.query_one(Form)
        form.clear_errors()
        try:
            path, pond, kind, found = await self._understood(texts)
        except BadInput as trouble:
            form.show_error(trouble)
            return
        except PondroundError as trouble:
            app.tell(trouble)
            return
        if kind is None:
            return
        self._brought = False
        left_with = await self.app.push_screen_wait(kind.screen(path, pond))
        if isinstance(left_with, PondroundError):
            form.show_error(BadInput(_and_what(left_with, kind, found), field="file"))
        elif self._brought:
            form.saved()
            self.dismiss(None)

    async def _understood(
        self, texts: Mapping[str, str]
    ) -> tuple[Path | None, UUID | None, BringKind | None, Recognised]:
        """The file, the pond and the kind; of the kind none where a person went back."""
        from store.exchange.looking.recognised import Recognised

        app = self.ponds_app
        if not texts["file"].strip():
            pasted = kind_of(texts["kind"])
            if pasted is None or not pasted.pasted:
                raise BadInput("Which file? Type its path.", field="file")
            key = await app.ask_store(_pond, app.book, texts["pond"]) if texts["pond"] else None
            return None, key, pasted, Recognised("", "")
        self._say(f"looking at {one_line(texts['file'].strip())} …")
        found = await self._looked(texts["file"])
        self._look = (texts["file"], found)
        if isinstance(found, PondroundError):
            self._tell()
            raise BadInput(found.message, field="file")
        kind = kind_of(texts["kind"]) or kind_of(found.kind)
        self._tell()
        if kind is None:
            looks = LOOKS_LIKE.get(found.kind)
            said = f"It looks like {looks}; {found.why}. " if looks else ""
            raise BadInput(f"{said}Please say what it is.", field="kind")
        if gainsays(found, kind):
            kind = await self._which(kind, found)
        pond = None
        # The pond of the page it was asked for from says nothing where the rows say it themselves.
        only_proposed = texts["pond"] == self._pond and found.names_ponds
        wanted = kind is not None and kind.pond == "may" and not only_proposed
        if wanted and texts["pond"].strip():
            pond = await app.ask_store(_pond, app.book, texts["pond"])
        return typed_path(texts["file"]), pond, kind, found

    async def _which(self, chosen: BringKind, found: Recognised) -> BringKind | None:
        """The file looks like another kind than was chosen: a person says which it is."""
        other = kind_of(found.kind)
        options = [Option(chosen.name, f"Read it as {LOOKS_LIKE[chosen.name]} all the same")]
        if other is not None:
            options.insert(0, Option(other.name, f"Read it as {LOOKS_LIKE[other.name]}"))
        title = f"It looks like {LOOKS_LIKE[found.kind]}: {found.why}"
        answer = await self.app.push_screen_wait(Choose(title, options))
        if answer is not None and answer != chosen.name:
            self.query_one(Form).fill({"kind": str(answer)})
        return None if answer is None else kind_of(str(answer))

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """Nothing is saved by looking."""
        raise NotAllowed("A file is only looked at here; nothing was saved.")


def _recognised(typed: str) -> Recognised:
    from store.exchange.looking.recognised import recognise

    return recognise(typed_path(typed))


def _pond(book: Book, text: str) -> UUID:
    from store.exchange.plain.whose import PondNames

    try:
        return PondNames(book).one(text)
    except PondroundError as error:
        raise BadInput(error.message, field="pond") from error


def _and_what(trouble: PondroundError, chosen: BringKind, found: Recognised) -> str:
    """What went wrong, and what the file looks like where that is something else."""
    looks = LOOKS_LIKE.get(found.kind)
    if looks is None or found.kind == chosen.name:
        return trouble.message
    return f"{trouble.message} It looks like {looks}: {found.why}."


async def bring_in(app: PondroundApp, pond: str = "") -> None:
    """Ask which file, and show what it would bring.

    Within a worker of a screen or of the application.

    Parameters
    ----------
    app
        The application.
    pond
        By what the pond goes that is proposed.
    """
    await app.push_screen_wait(BringInScreen(pond))
