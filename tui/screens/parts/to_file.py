"""The base of forms that write a file: what to take care of, and asking before writing over one."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Mapping
from typing import ClassVar
from uuid import UUID

from textual import on
from textual.app import ComposeResult
from textual.widgets import Static

from store.errors import BadInput
from tui.screens.parts.dialogs import Ask
from tui.screens.parts.edit import FormScreen
from tui.to_file import path_of, put
from tui.widgets.fields import Form
from tui.widgets.foot import Foot
from tui.widgets.top import Line, Top

_SAID_S = 20.0
"""How long it stands there what was written and left out [s]."""


class FileForm(FormScreen):
    """A form whose saving writes a file; the book is only read."""

    CSS_PATH = [  # noqa: RUF012
        "../sheets/edit.tcss", "../sheets/narrow.tcss", "../sheets/round_sheet.tcss",
    ]  # fmt: skip
    WHAT: ClassVar[str] = "the file"
    """What a file that is there would be replaced by."""

    def compose(self) -> ComposeResult:
        """Head, form, what to take care of, keys."""
        yield Top(self._title, id="edit-head")
        yield Line()
        yield Form(self._fields, draft=self._draft(), id="edit-form")
        yield Line()
        yield Static("", id="round-out-care", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """A draft may have chosen something already."""
        self.call_after_refresh(self._take_care)

    @on(Form.Changed)
    def _changed(self, changed: Form.Changed) -> None:
        changed.stop()
        self._take_care()

    def _take_care(self) -> None:
        said = self.care(self.query_one(Form).values)
        self.query_one("#round-out-care", Static).update(said)

    @abstractmethod
    def care(self, values: Mapping[str, str]) -> str:
        """What is to be taken care of with what is chosen, in a sentence."""

    async def written(self, typed: str, name: str, data: bytes, said: str) -> UUID:
        """Write it, and tell where it is.

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
            The file that is there was left as it is, or it cannot be written.
        """
        app, path = self.ponds_app, path_of(typed, name)
        try:
            await app.ask_store(put, path, data)
        except FileExistsError:
            question = Ask(
                f"{path.name} is there already. Write over it?",
                f"{path.resolve()} is replaced by {self.WHAT}. What stands in it now is lost.",
                yes="Write over it",
                no="Leave it",
            )
            if not await self.app.push_screen_wait(question):
                raise BadInput(
                    f"{path} was left as it is. Please name another file.", field="file"
                ) from None
            await app.ask_store(put, path, data, over=True)
        told = f"{path.resolve()}\n{said}"
        self.notify(told, title="Written", timeout=_SAID_S, markup=False)
        return UUID(int=0)

    def tell_saved(self) -> None:
        """Where the file is was told; the book is as it was."""
