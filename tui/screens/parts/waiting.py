"""The dialog while the database does not answer: since when, what stays, what happens by itself."""

from __future__ import annotations

from datetime import UTC
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import Button

from tui.said import clock
from tui.screens.parts.dialogs import Dialog
from tui.widgets.literal import literal
from tui.widgets.reading import Reading
from tui.widgets.static import Static

if TYPE_CHECKING:
    from tui.asking import Outage


class WaitingScreen(Dialog[None]):
    """One for all questions that wait; it goes away by itself when the database is back.

    Parameters
    ----------
    outage
        What waits, and since when.
    name
        How the book is called.
    """

    QUESTION = "Why does the book not answer, and what becomes of what was typed?"
    ABOUT = (
        "The book lies on another machine, and the line to it is broken or that machine is "
        "down. Nothing that was typed is lost. The book is asked again every two seconds, and "
        "this sheet goes away by itself. Keys pressed here do nothing to the form below. Whether "
        "something was saved at the moment the line broke is looked up before anything is saved "
        "again, so that nothing is saved twice."
    )
    AUTO_FOCUS = ""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "back", "stop waiting", id="waiting.stop",
                tooltip="Wait no longer; what was typed stays in its form"),
    ]  # fmt: skip

    def __init__(self, outage: Outage, name: str) -> None:
        super().__init__("The book does not answer")
        self._outage = outage
        self._name = name
        self._saving = self._stopping = self._over = False

    def content(self) -> ComposeResult:
        """What is waited for."""
        with Reading(id="message"):
            yield Static(self._said(), id="waiting-said")

    def buttons(self) -> ComposeResult:
        """For the mouse: it has no focus, so that a key typed for the form does not press it."""
        yield Button(Content("Stop waiting"), id="stop", compact=True)

    def tell(self, *, saving: bool, stopping: bool) -> None:
        """What waits has changed, or was asked again in vain."""
        self._saving, self._stopping = saving, stopping
        for said in self.query("#waiting-said").results(Static):
            said.update(self._said())

    def close(self) -> None:
        """Nothing waits any more; below another sheet it goes when that has gone."""
        self._over = True
        if self.is_current:
            self.dismiss(None)

    def on_screen_resume(self) -> None:
        """A sheet that lay on top has gone."""
        if self._over and self.is_current:
            self.dismiss(None)

    def action_back(self) -> None:
        """Esc waits no longer."""
        self._outage.give_up()

    @on(Button.Pressed, "#stop")
    def _stopped(self) -> None:
        self.action_back()

    def _said(self) -> Content:
        book = getattr(self.app, "book", None)
        zone = getattr(book, "known_zone", None)
        since = self._outage.since
        when = "" if since is None else f" since {clock(since, zone or UTC)}"
        when += " UTC" if when and zone is None else ""
        tries = self._outage.tries
        asked = "once" if tries == 1 else f"{tries} times"
        parts = [f"{self._name or 'The database'} has not answered{when}; asked {asked} so far."]
        if self._stopping:
            parts.append("The last try is under way; then you are told what became of it.")
        elif self._saving:
            parts.append(
                "What was typed stays in its form. It is tried again every 2 s, and saved by "
                "itself as soon as the book is back."
            )
            parts.append("Esc stops waiting; the form stays open.")
        else:
            parts.append(
                "What was typed stays as it is. It is tried again every 2 s, and read by itself "
                "as soon as the book is back."
            )
            parts.append("Esc closes this sheet; what stands below may be out of date.")
        return literal("\n\n".join(parts))
