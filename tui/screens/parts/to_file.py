"""The base of forms that write a file: what to take care of, and asking before writing over one."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Mapping
from pathlib import Path
from typing import ClassVar

from textual import on
from textual.app import ComposeResult

from store.errors import BadInput, PondroundError
from tui.screens.parts.dialogs import Ask
from tui.screens.parts.edit import FormPage
from tui.screens.parts.once import once
from tui.to_file import path_of, put
from tui.widgets.fields import Form
from tui.widgets.foot import Foot
from tui.widgets.literal import one_line
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

_SAID_S = 20.0
"""How long it stands there what was written and left out [s]."""


class FileForm(FormPage):
    """A form that writes a file; the book is only read, so nobody is asked who does it."""

    CSS_PATH = [  # noqa: RUF012
        "../sheets/edit.tcss", "../sheets/narrow.tcss", "../sheets/round_sheet.tcss",
    ]  # fmt: skip
    WHAT: ClassVar[str] = "the file"
    """What a file that is there would be replaced by."""
    is_writing = False
    """While a file is being written the form stays, and the line under it tells how far it is."""

    def compose(self) -> ComposeResult:
        """Head, form, what to take care of, keys."""
        yield Top(self._title, id="edit-head")
        yield Line()
        yield Form(self._fields, draft=self._draft(), id="edit-form")
        yield Line()
        begun = {one.name: one.value for one in self._fields}
        yield Static(self.care(begun), id="round-out-care", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """A draft may have chosen something already."""
        self.call_after_refresh(self._take_care)

    @on(Form.Changed)
    def _changed(self, changed: Form.Changed) -> None:
        changed.stop()
        self._take_care()

    def _take_care(self) -> None:
        for form in () if self.is_writing else self.query(Form):  # none is left once it was closed
            self.tell(self.care(form.values))

    def tell(self, said: str) -> None:
        """Show a sentence under the form.

        Parameters
        ----------
        said
            The sentence.
        """
        self.query_one("#round-out-care", Static).update(said)

    @abstractmethod
    def care(self, values: Mapping[str, str]) -> str:
        """What is to be taken care of with what is chosen, in a sentence."""

    @abstractmethod
    async def write(self, texts: dict[str, str]) -> str:
        """Write it, and say where it is and what is in it.

        Raises
        ------
        BadInput
            Something that was filled in cannot be, or a file was left as it is.
        """

    def action_back(self) -> None:
        """Leave; not while a file is being written."""
        if self.is_writing:
            self.notify("It is being written; a moment.", markup=False)
        else:
            super().action_back()

    @once("edit")
    async def _saving(self, texts: dict[str, str]) -> None:
        form = self.query_one(Form)
        form.clear_errors()
        self.is_writing = True
        try:
            said = await self.write(texts)
        except BadInput as trouble:
            form.show_error(trouble)
            return
        except PondroundError as trouble:
            self.ponds_app.tell(trouble)
            return
        finally:
            self.is_writing = False
            self._take_care()
        form.saved()
        self.notify(said, title="Written", timeout=_SAID_S, markup=False)
        self.dismiss(None)

    async def ask_over(self, path: Path) -> None:
        """Ask whether what is there may be replaced.

        Parameters
        ----------
        path
            Where it stands.

        Raises
        ------
        BadInput
            It is to be left as it is.
        """
        question = Ask(
            f"{one_line(path.name)} is there already. Write over it?",
            f"{path.resolve()} is replaced by {self.WHAT}. What stands in it now is lost.",
            yes="Write over it",
            no="Leave it",
        )
        if not await self.app.push_screen_wait(question):
            raise BadInput(f"{path} was left as it is. Please name another file.", field="file")

    async def written(self, typed: str, name: str, data: bytes, said: str) -> str:
        """Write these bytes, and tell where they are.

        Parameters
        ----------
        typed
            The file, as a person typed it.
        name
            The name that is proposed.
        data
            What is written.
        said
            What is told of it beside its name.

        Raises
        ------
        BadInput
            The file that is there was left as it was, or it cannot be written.
        """
        app, path = self.ponds_app, path_of(typed, name)
        try:
            await app.ask_store(put, path, data)
        except FileExistsError:
            await self.ask_over(path)
            await app.ask_store(put, path, data, over=True)
        return f"{path.resolve()}\n{said}"
