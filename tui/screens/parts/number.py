"""Asking for one number of a rule."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual import on
from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Button, Input

from store.errors import BadInput
from tui.backing import said_backing
from tui.screens.parts.dialogs import Dialog
from tui.widgets.entry import TextLine
from tui.widgets.literal import literal
from tui.widgets.static import Static

if TYPE_CHECKING:
    from store.watch.rule_page import Number


@dataclass(frozen=True, slots=True)
class TypedNumber:
    """The number that was typed, in the unit of the rule."""

    value: float


class AskNumber(Dialog[TypedNumber | None]):
    """One number to type; a fault is told under it, and nothing is saved here.

    Parameters
    ----------
    number
        The number of the rule.
    start
        What stands in the line at first.
    check
        Reads the text, or raises what is wrong with it.
    """

    QUESTION = "What is the number to be?"
    ABOUT = "It is not in force before it is saved with w, so that it can be tried with t first."

    def __init__(self, number: Number, start: float, check: Callable[[str], float]) -> None:
        super().__init__(f"{number.label}, in {number.unit}" if number.unit else number.label)
        self._number = number
        self._start = start
        self._check = check

    def content(self) -> ComposeResult:
        """What it rests on, the line to type in, the place of an error."""
        number = self._number
        yield Static(
            literal(f"Now {number.said}. {said_backing(number.source, number.standing)}"),
            id="message",
        )
        yield TextLine(f"{self._start:g}", id="number")
        yield Static("", id="error", classes="error", markup=False)

    def buttons(self) -> ComposeResult:
        """Back and go on."""
        yield Button(Content("Back"), id="back", compact=True)
        yield Button(Content("Take it"), id="take", compact=True)

    def on_mount(self) -> None:
        """Ready to type over what stands there."""
        self.query_one("#error", Static).display = False
        line = self.query_one("#number", Input)
        line.focus()
        line.action_select_all()

    @on(Input.Changed, "#number")
    def _changed(self) -> None:
        self.query_one("#error", Static).display = False

    @on(Button.Pressed, "#back")
    def _gone_back(self) -> None:
        self.action_back()

    @on(Input.Submitted, "#number")
    @on(Button.Pressed, "#take")
    def _taken(self) -> None:
        try:
            value = self._check(self.query_one("#number", Input).value)
        except BadInput as trouble:
            error = self.query_one("#error", Static)
            error.update(literal(trouble.message))
            error.display = True
            self.query_one("#number", Input).focus()
            return
        self.dismiss(TypedNumber(value))
