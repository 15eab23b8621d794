"""Behaviour and signs picked from the list: letters find, enter takes or puts back, F2 is done."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.events import Key
from textual.widgets import Button, Input, OptionList
from textual.widgets.option_list import Option

from tui.screens.parts.dialogs import Dialog
from tui.widgets.entry import TextLine
from tui.widgets.literal import one_line
from tui.widgets.static import Static


class PickSigns(Dialog[tuple[str, ...] | None]):
    """Several of the list of behaviour and signs; dismissed with their codes, or None.

    Parameters
    ----------
    chosen
        Codes that are chosen already.
    """

    CSS_PATH = "../sheets/examination.tcss"
    QUESTION = "How does the fish behave, and what shows on it?"
    ABOUT = (
        "Letters find a word, also by what else people say for it; enter takes it or puts it back; "
        "F2 is done, esc leaves it as it was. The words name no cause: among whose signs each one "
        "stands is told below, with the source."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f2", "done", "done", key_display="F2", id="pick.done",
                tooltip="Take what is chosen"),
    ]  # fmt: skip

    def __init__(self, chosen: Iterable[str]) -> None:
        super().__init__("Behaviour and signs")
        self._chosen = list(chosen)
        self._codes: list[str] = []

    def content(self) -> ComposeResult:
        """Where one types, the list, what the sign under the cursor points at."""
        yield TextLine(placeholder="letters of the word", id="pick-text")
        yield OptionList(id="pick-list")
        yield Static("", id="pick-told", markup=False)

    def buttons(self) -> ComposeResult:
        """Back and done."""
        yield Button(Content("Back"), id="back", compact=True)
        yield Button(Content("Done: F2"), id="done", compact=True)

    def on_mount(self) -> None:
        """Ready to type; the list stands below."""
        self.query_one("#pick-text", Input).focus()
        self.query_one(OptionList).can_focus = False
        self._show()

    def _show(self, stay: str | None = None) -> None:
        from store.facts.signs import signs

        typed = self.query_one("#pick-text", Input).value.strip().casefold()
        fitting = [
            one
            for one in signs().values()
            if any(typed in said.casefold() for said in (one.words, *one.also))
        ]
        # What begins with the letters stands before what holds them.
        fitting.sort(key=lambda one: bool(typed) and not one.words.casefold().startswith(typed))
        self._codes = [one.code for one in fitting]
        options = self.query_one(OptionList)
        options.clear_options()
        options.add_options(
            Option(
                Content.assemble(
                    (f"{'x' if one.code in self._chosen else ' '} ", "bold"),
                    one_line(one.words),
                    (f"  {one.kind}", "$quiet"),
                )
            )
            for one in fitting
        )
        if fitting:
            options.highlighted = self._codes.index(stay) if stay in self._codes else 0
        self._tell()

    @on(OptionList.OptionHighlighted)
    def _tell(self) -> None:
        from store.facts.hazards import hazards
        from store.facts.signs import signs
        from store.facts.sources import cite_with_standing

        at = self.query_one(OptionList).highlighted
        chosen = ", ".join(signs()[code].words for code in self._chosen) or "none yet"
        parts: list[Content] = [Content.styled(f"chosen: {one_line(chosen)}", "bold")]
        if at is not None and at < len(self._codes):
            sign = signs()[self._codes[at]]
            named = ", ".join(hazards()[one.hazard].plain_name for one in sign.of)
            cited = dict.fromkeys(cite_with_standing(one.source, one.standing) for one in sign.of)
            said = f"among the signs of {named}" if named else "points at nothing by itself"
            parts.append(Content(one_line(said)))
            parts.append(Content.styled(one_line("; ".join(cited) or "common practice"), "$quiet"))
        self.query_one("#pick-told", Static).update(Content("\n").join(parts))

    @on(Input.Changed, "#pick-text")
    def _typed(self, changed: Input.Changed) -> None:
        changed.stop()
        self._show()

    @on(Input.Submitted, "#pick-text")
    def _taken(self, submitted: Input.Submitted) -> None:
        submitted.stop()
        self._toggle()

    @on(OptionList.OptionSelected)
    def _clicked(self, selected: OptionList.OptionSelected) -> None:
        selected.stop()
        self._toggle()

    def _toggle(self) -> None:
        at = self.query_one(OptionList).highlighted
        if at is None or at >= len(self._codes):
            return
        code = self._codes[at]
        if code in self._chosen:
            self._chosen.remove(code)
        else:
            self._chosen.append(code)
        line = self.query_one("#pick-text", Input)
        if line.value:
            line.value = ""  # ready for the next word
        self._show(code)

    def on_key(self, event: Key) -> None:
        """The arrows move in the list while one types."""
        moves = {"down": 1, "up": -1, "pagedown": 6, "pageup": -6}
        options = self.query_one(OptionList)
        if event.key in moves and self.query_one("#pick-text", Input).has_focus:
            event.stop()
            event.prevent_default()
            if options.option_count:
                at = (options.highlighted or 0) + moves[event.key]
                options.highlighted = min(max(at, 0), options.option_count - 1)

    def action_done(self) -> None:
        """Take what is chosen."""
        self.dismiss(tuple(self._chosen))

    @on(Button.Pressed, "#done")
    def _pressed_done(self) -> None:
        self.action_done()

    @on(Button.Pressed, "#back")
    def _pressed_back(self) -> None:
        self.action_back()
