"""What interrupts: a notice to read, a question, a reason to give, a choice.

Every text is literal. Escape always goes back and means the safe answer.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from typing import ClassVar, TypeVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.events import Key
from textual.screen import ModalScreen
from textual.widgets import Button, Input, OptionList
from textual.widgets.option_list import Option as ListOption

from store.errors import PondroundError
from store.text import plain
from tui.screens.parts.help import HELP, open_help
from tui.widgets.entry import TextLine
from tui.widgets.literal import literal, one_line
from tui.widgets.reading import Reading
from tui.widgets.static import Static

Answer = TypeVar("Answer")


class Dialog(ModalScreen[Answer]):
    """A sheet laid over the screen, with a title, something to read and buttons."""

    QUESTION = "What is this sheet for?"
    ABOUT = "It waits for an answer. Nothing is done before you give one; esc goes back."

    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", id="dialog.back", tooltip="Close without doing anything"),
        Binding("left", "app.focus_previous", "button before", show=False,
                id="dialog.previous", tooltip="To the button before"),
        Binding("right", "app.focus_next", "next button", show=False,
                id="dialog.next", tooltip="To the next button"),
        Binding("down,pagedown", "read(1)", "read on", show=False,
                id="dialog.read_on", tooltip="Further down in a long text"),
        Binding("up,pageup", "read(-1)", "read back", show=False,
                id="dialog.read_back", tooltip="Further up in a long text"),
    ]  # fmt: skip

    def __init__(self, title: str) -> None:
        super().__init__()
        self._title = title

    def compose(self) -> ComposeResult:
        """Title, what the dialog is about, buttons."""
        with Vertical(id="dialog"):
            yield Static(Content(one_line(self._title)), id="title")
            yield from self.content()
            with Horizontal(id="buttons"):
                yield from self.buttons()

    def content(self) -> ComposeResult:
        """What stands between title and buttons."""
        yield from ()

    def buttons(self) -> ComposeResult:
        """The buttons, the safe one first."""
        yield from ()

    def action_help(self) -> None:
        """Explain the sheet and its keys."""
        open_help(self.app)

    def action_read(self, by: int) -> None:
        """Move a long text by most of what is in sight."""
        for message in self.query(Reading):
            message.read(by)

    def action_back(self) -> None:
        """Close without an answer."""
        self.dismiss(None)


def _button(label: str, name: str) -> Button:
    return Button(Content(one_line(label)), id=name, compact=True)


def _reading(*parts: str | Content) -> ComposeResult:
    with Reading(id="message"):
        for part in parts:
            yield Static(literal(part) if isinstance(part, str) else part)


class Tell(Dialog[None]):
    """An error or a notice that stops work until it is read; it can be copied.

    Parameters
    ----------
    title
        Two to five words.
    message
        What was wrong, what was kept, what to do next.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("c", "copy", "copy", id="dialog.copy",
                tooltip="Copy the text, where the terminal allows it"),
    ]  # fmt: skip

    def __init__(self, title: str, message: str) -> None:
        super().__init__(title)
        self._message = message

    @classmethod
    def of(cls, trouble: PondroundError) -> Tell:
        """The dialog that tells an error of the store."""
        return cls(trouble.title, trouble.message)

    def content(self) -> ComposeResult:
        """The message."""
        yield from _reading(self._message)

    def buttons(self) -> ComposeResult:
        """Copy and close."""
        yield _button("Copy", "copy")
        yield _button("Close", "close")

    def on_mount(self) -> None:
        """Enter closes."""
        self.query_one("#close", Button).focus()

    @on(Button.Pressed, "#close")
    def _read(self) -> None:
        self.dismiss(None)

    @on(Button.Pressed, "#copy")
    def action_copy(self) -> None:
        """Hand the text to the terminal, which may or may not take it."""
        self.app.copy_to_clipboard(f"{plain(self._title)}\n{plain(self._message, lines=True)}")
        self.notify(
            "Handed to the terminal. Some terminals ignore this; then mark it with the mouse.",
            title="Copied",
            markup=False,
        )


class Ask(Dialog[bool]):
    """A question with yes and no; the safe answer, no, has the focus.

    Parameters
    ----------
    question
        In one sentence.
    what_happens
        What yes will do, and whether it can be taken back.
    yes, no
        What stands on the buttons.
    """

    def __init__(
        self, question: str, what_happens: str, *, yes: str = "Yes", no: str = "No"
    ) -> None:
        super().__init__(question)
        self._what_happens = what_happens
        self._yes, self._no = yes, no

    def content(self) -> ComposeResult:
        """What will happen."""
        yield from _reading(self._what_happens)

    def buttons(self) -> ComposeResult:
        """No and yes."""
        yield _button(self._no, "no")
        yield _button(self._yes, "yes")

    def on_mount(self) -> None:
        """Enter means no, until another button is chosen."""
        self.query_one("#no", Button).focus()

    @on(Button.Pressed)
    def _answered(self, pressed: Button.Pressed) -> None:
        self.dismiss(pressed.button.id == "yes")

    def action_back(self) -> None:
        """Escape means no."""
        self.dismiss(False)


@dataclass(frozen=True, slots=True)
class Reason:
    """Why, in a person's own words; never empty."""

    text: str


class AskReason(Dialog[Reason | None]):
    """A reason to type before something is done.

    Parameters
    ----------
    title
        What is about to be done.
    prompt
        What is asked, and what the reason is kept for.
    accept
        What stands on the button that goes on.
    start
        A reason already there, for example one typed before and not used.
    typed
        Called with the text at every change, so that it can be kept outside.
    """

    def __init__(
        self,
        title: str,
        prompt: str,
        *,
        accept: str = "Go on",
        start: str = "",
        typed: Callable[[str], None] | None = None,
    ) -> None:
        super().__init__(title)
        self._prompt = prompt
        self._accept = accept
        self._start = start
        self._typed = typed

    def content(self) -> ComposeResult:
        """The prompt, the line to type in, the place of an error."""
        yield from _reading(self._prompt)
        yield TextLine(self._start, id="reason")
        yield Static("", id="error", classes="error", markup=False)

    def buttons(self) -> ComposeResult:
        """Back and go on."""
        yield _button("Back", "back")
        yield _button(self._accept, "accept")

    def on_mount(self) -> None:
        """Ready to type."""
        self.query_one("#error", Static).display = False
        self.query_one("#reason", Input).focus()

    @on(Input.Changed, "#reason")
    def _changed(self, changed: Input.Changed) -> None:
        self.query_one("#error", Static).display = False
        if self._typed is not None:
            self._typed(changed.value)

    @on(Button.Pressed, "#back")
    def _gone_back(self) -> None:
        self.action_back()

    @on(Input.Submitted, "#reason")
    @on(Button.Pressed, "#accept")
    def _accepted(self) -> None:
        reason = plain(self.query_one("#reason", Input).value).strip()
        if reason:
            self.dismiss(Reason(reason))
            return
        error = self.query_one("#error", Static)
        error.update(Content("Please give a reason in a few words, or go back with escape."))
        error.display = True
        self.query_one("#reason", Input).focus()


@dataclass(frozen=True, slots=True)
class Option:
    """One thing to choose: its key, what it is called, a remark in a quieter voice."""

    key: Hashable
    label: str
    note: str = ""


class Choose(Dialog[Hashable | None]):
    """One of several; the digits 1 to 9 choose at once.

    Parameters
    ----------
    title
        What is to be chosen.
    options
        From the likeliest to the rarest.
    start
        The key on which the cursor stands at first.
    empty
        What to do when there is nothing to choose.
    """

    QUESTION = "Which of these is meant?"
    ABOUT = (
        "The arrows go from one to the next and enter takes the one that is marked; the digit "
        "before a line takes it at once. Esc goes back, and nothing is done."
    )

    def __init__(
        self,
        title: str,
        options: Sequence[Option],
        *,
        start: Hashable | None = None,
        empty: str = "There is nothing to choose here.",
    ) -> None:
        super().__init__(title)
        self._options = tuple(options)
        self._start = start
        self._empty = empty

    def content(self) -> ComposeResult:
        """The options, or what to do without any."""
        if not self._options:
            yield from _reading(self._empty)
            return
        yield OptionList(
            *(ListOption(_option(number, option)) for number, option in enumerate(self._options, 1))
        )

    def buttons(self) -> ComposeResult:
        """Back only: enter chooses."""
        yield _button("Back", "back")

    def on_mount(self) -> None:
        """The cursor on the option to start with."""
        if not self._options:
            self.query_one("#back", Button).focus()
            return
        options = self.query_one(OptionList)
        keys = [option.key for option in self._options]
        options.highlighted = keys.index(self._start) if self._start in keys else 0
        options.focus()

    def on_key(self, event: Key) -> None:
        """A digit chooses."""
        character = event.character
        if character and character in "123456789" and int(character) <= len(self._options):
            # Else the screen below, or the application, would take the same digit.
            event.stop()
            event.prevent_default()
            self.dismiss(self._options[int(character) - 1].key)

    @on(OptionList.OptionSelected)
    def _chosen(self, chosen: OptionList.OptionSelected) -> None:
        self.dismiss(self._options[chosen.option_index].key)

    @on(Button.Pressed, "#back")
    def _gone_back(self) -> None:
        self.action_back()


def _option(number: int, option: Option) -> Content:
    mark = f"{number} " if number <= 9 else "  "
    parts: list[Content | tuple[str, str]] = [
        (mark, "$quiet"),
        Content(one_line(option.label)),
    ]
    if option.note:
        parts.append((f"  {one_line(option.note)}", "$quiet"))
    return Content.assemble(*parts)
