"""The question for a passphrase, over the screen or in place of it while the application is locked.

What is typed here is kept nowhere: no draft, no log. A wrong one makes the next try wait, longer
each time.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, ClassVar, Literal, cast
from uuid import UUID

from textual import on
from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Button, Input

from store.errors import BadInput, PondroundError
from tui.screens.parts.dialogs import Dialog
from tui.screens.parts.once import once
from tui.widgets.entry import TextLine
from tui.widgets.literal import one_line
from tui.widgets.reading import Reading
from tui.widgets.static import Static

if TYPE_CHECKING:
    from tui.app import PondroundApp

Proved = Literal["proved", "other"]
"""The passphrase was the person's; or somebody else works now."""


class Passphrase(Dialog[Proved | None]):
    """Asks a person for the passphrase; None when it was left.

    Parameters
    ----------
    person, name
        Who works.
    failures
        Wrong tries so far by person, counted on here.
    """

    QUESTION = "Is it you?"
    ABOUT = (
        "Whoever works has set a passphrase, so that nobody else writes in their name. It is asked "
        "for once, until F6 or half an hour without a key locks the application. A vet can set "
        "another one for somebody who forgot it: key w in the directory."
    )
    TITLE_SAID: ClassVar[str] = "Sign in"
    SAID: ClassVar[str] = "{name} has a passphrase; what you do is written in that name."

    def __init__(self, person: UUID, name: str, failures: dict[UUID, int]) -> None:
        super().__init__(self.TITLE_SAID)
        self._person, self._name, self._failures = person, name, failures

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def content(self) -> ComposeResult:
        """Who it is, the line to type in, the place of an error."""
        with Reading(id="message"):
            yield Static(Content(one_line(self.SAID.format(name=self._name))))
        line = TextLine(id="passphrase")
        line.password = True
        line.placeholder = "passphrase"
        yield line
        yield Static("", id="error", classes="error", markup=False)

    def buttons(self) -> ComposeResult:
        """Somebody else, back, and on."""
        for label, name in (("Somebody else", "other"), ("Back", "back"), ("Sign in", "accept")):
            yield Button(Content(label), id=name, compact=True)

    def on_mount(self) -> None:
        """Ready to type; somebody who was wrong before waits here too."""
        self.query_one("#error", Static).display = False
        self.query_one("#passphrase", Input).focus()
        self._wait("")

    @on(Button.Pressed, "#back")
    def _gone_back(self) -> None:
        self.action_back()

    @on(Button.Pressed, "#other")
    def _other(self) -> None:
        self.dismiss("other")

    @on(Input.Submitted, "#passphrase")
    @on(Button.Pressed, "#accept")
    def _accepted(self) -> None:
        if not self.query_one("#passphrase", Input).disabled:
            self._try(self.query_one("#passphrase", Input).value)

    @once("sign-in")
    async def _try(self, said: str) -> None:
        from store.book.sign_in import prove

        line, app = self.query_one("#passphrase", Input), self.ponds_app
        line.value = ""
        try:
            await app.ask_store(prove, app.book, self._person, said)
        except BadInput as trouble:
            self._failures[self._person] = self._failures.get(self._person, 0) + 1
            self._wait(trouble.message)
        except PondroundError as trouble:
            app.tell(trouble)
        else:
            self._failures.pop(self._person, None)
            self.dismiss("proved")

    def _wait(self, said: str) -> None:
        """Say what was wrong; the line is shut until the next try may be made."""
        from store.book.sign_in import pause_s

        pause = pause_s(self._failures.get(self._person, 0))
        if not pause:
            return
        line, error = self.query_one("#passphrase", Input), self.query_one("#error", Static)
        line.disabled = True
        error.update(Content(" ".join((one_line(said), f"The next try in {pause:g} s.")).strip()))
        error.display = True
        self.set_timer(pause, partial(self._again, said))

    def _again(self, said: str) -> None:
        line = self.query_one("#passphrase", Input)
        line.disabled = False
        line.focus()
        self.query_one("#error", Static).update(Content(one_line(said) or "Try again."))


class Locked(Passphrase):
    """The application is locked: nothing of the book is to be seen, and all that is typed stays."""

    QUESTION = "Who goes on?"
    ABOUT = (
        "Nothing of the book is shown until somebody signs in. What was typed below is as it was. "
        "Ctrl+q leaves the application; what was saved is saved."
    )
    TITLE_SAID = "Locked"
    SAID = "{name} was working here. All that was typed is kept."

    def buttons(self) -> ComposeResult:
        """Somebody else, and on; there is no way back."""
        for label, name in (("Somebody else", "other"), ("Sign in", "accept")):
            yield Button(Content(label), id=name, compact=True)

    def action_back(self) -> None:
        """It stays locked."""
        error = self.query_one("#error", Static)
        if not self.query_one("#passphrase", Input).disabled:
            error.update(Content("It stays locked until somebody signs in."))
            error.display = True
