"""What a file leaves open: one of the answers, a pond out of the book, or a word of one's own."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from textual import on, work
from textual.app import ComposeResult
from textual.content import Content
from textual.events import Key
from textual.widgets import Button, Input, OptionList
from textual.widgets.option_list import Option as ListOption

from store.errors import PondroundError
from tui.screens.parts.dialogs import Choose, Dialog, Option
from tui.widgets.entry import TextLine
from tui.widgets.literal import literal, one_line
from tui.widgets.reading import Reading
from tui.widgets.static import Static

if TYPE_CHECKING:
    from store.book.book import Book
    from store.book.listing import ListLine
    from store.book.people import Staff
    from store.exchange.columns import Question
    from tui.app import PondroundApp

_SHOWN = 40
_ROWS_BESIDE = 16
TITLE = "What the file leaves open"
OTHER = "a pond of the book …"
OTHER_DAY = "another day …"


class Answers(Choose):
    """A question in full over its answers.

    Parameters
    ----------
    title
        What stands over it.
    text
        The question.
    options
        The answers.
    start
        The answer on which the cursor stands at first.
    """

    QUESTION = "What does the file leave open?"
    ABOUT = (
        "It is asked because the file does not say it, and nobody may guess. A digit or enter "
        "answers for the whole file; the answer can be changed until F2 saves."
    )

    def __init__(self, title: str, text: str, options: list[Option], *, start: str | None) -> None:
        super().__init__(title, options, start=start)
        self._text = text

    def content(self) -> ComposeResult:
        """The question, then the answers."""
        with Reading(id="message"):
            yield Static(literal(self._text))
        yield from super().content()

    def on_mount(self) -> None:
        """The answers take what the question leaves, so that it stands there in full."""
        room = max(3, self.app.size.height - _ROWS_BESIDE)
        self.query_one(OptionList).styles.max_height = room


class WhichPond(Dialog["ListLine | None"]):
    """A pond of the book, found while a part of its name is typed.

    Parameters
    ----------
    text
        What is asked.
    begin
        What stands in the line at first, such as the name in the file.
    """

    QUESTION = "Which pond of the book is meant?"
    ABOUT = (
        "Type a part of a client, a pond, a town or a code; a misspelt word is found as well. The "
        "arrows choose, enter takes the pond. Nothing is taken by itself."
    )

    def __init__(self, text: str, begin: str = "") -> None:
        super().__init__("Which pond?")
        self._text, self._begin = text, begin
        self._found: tuple[ListLine, ...] = ()
        self._found_for: str | None = None
        """What was typed when these were found."""
        self._enter_waits = False

    def content(self) -> ComposeResult:
        """What is asked, the line, what was found."""
        with Reading(id="message"):
            yield Static(literal(self._text))
        yield TextLine(self._begin, placeholder="part of a name, town or code", id="reason")
        yield OptionList(id="which-ponds")

    def buttons(self) -> ComposeResult:
        """Back only: enter takes the pond."""
        yield Button(Content("Back"), id="back", compact=True)

    def on_mount(self) -> None:
        """Ready to type; ponds that fit stand there at once."""
        self.query_one(OptionList).styles.height = max(3, min(8, self.app.size.height - 14))
        self.query_one("#reason", Input).focus()
        self._find(self._begin)

    @on(Input.Changed, "#reason")
    def _typed(self, changed: Input.Changed) -> None:
        self._enter_waits = False
        self._find(changed.value)

    @work(group="which-pond", exclusive=True)
    async def _find(self, text: str) -> None:
        app = cast("PondroundApp", self.app)
        try:
            found = await app.ask_store(ponds_like, app.book, text)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        self._found, self._found_for = found, text
        options = self.query_one(OptionList)
        options.clear_options()
        options.add_options(ListOption(_said(one)) for one in found)
        if found:
            options.highlighted = 0
        if self._enter_waits:
            self._entered()

    def on_key(self, event: Key) -> None:
        """The arrows go through what was found while the line has the keys."""
        options = self.query_one(OptionList)
        if event.key in ("down", "up") and not options.has_focus and options.option_count:
            event.stop()
            event.prevent_default()
            step = 1 if event.key == "down" else -1
            options.highlighted = ((options.highlighted or 0) + step) % options.option_count

    @on(Input.Submitted, "#reason")
    def _entered(self) -> None:
        typed = self.query_one("#reason", Input).value
        # Enter can be quicker than the finding; it never takes a pond of what was typed before.
        self._enter_waits = typed != self._found_for
        if self._enter_waits:
            return
        at = self.query_one(OptionList).highlighted
        if at is not None and at < len(self._found):
            self.dismiss(self._found[at])

    @on(OptionList.OptionSelected)
    def _chosen(self, chosen: OptionList.OptionSelected) -> None:
        self.dismiss(self._found[chosen.option_index])

    @on(Button.Pressed, "#back")
    def _gone_back(self) -> None:
        self.action_back()


def _said(line: ListLine) -> Content:
    name = ", ".join(filter(None, (line.client, line.pond)))
    rest = ", ".join(filter(None, (line.code, line.town)))
    return Content.assemble(Content(one_line(name)), (f"  {one_line(rest)}", "$quiet"))


def ponds_like(book: Book, text: str) -> tuple[ListLine, ...]:
    """The ponds that fit, the likeliest first: enter takes the first.

    Parameters
    ----------
    book
        The book.
    text
        Part of a name, town or code; empty for all ponds by client.
    """
    from store.book.find import find
    from store.book.listing import listing

    lines = [one for one in listing(book, text).lines if one.pond_id is not None]
    if text.strip():
        found = find(book, text, limit=len(lines) + _SHOWN)
        ranks = {one.pond_id: at for at, one in reversed(list(enumerate(found)))}
        lines.sort(key=lambda one: ranks.get(one.pond_id, len(ranks)))
    return tuple(lines[:_SHOWN])


class Words(Dialog[str | None]):
    """An answer in a person's own words.

    Parameters
    ----------
    title
        What stands over it.
    text
        What is asked.
    start
        What was answered before.
    """

    QUESTION = "What does the file leave open?"
    ABOUT = "What you type holds for the whole file; it can be changed until F2 saves."

    def __init__(self, title: str, text: str, start: str = "") -> None:
        super().__init__(title)
        self._text, self._start = text, start

    def content(self) -> ComposeResult:
        """The question, and the line to type in."""
        with Reading(id="message"):
            yield Static(literal(self._text))
        yield TextLine(self._start, id="reason")

    def buttons(self) -> ComposeResult:
        """Back and answer."""
        yield Button(Content("Back"), id="back", compact=True)
        yield Button(Content("Answer"), id="accept", compact=True)

    def on_mount(self) -> None:
        """Ready to type."""
        self.query_one("#reason", Input).focus()

    @on(Button.Pressed, "#back")
    def _gone_back(self) -> None:
        self.action_back()

    @on(Input.Submitted, "#reason")
    @on(Button.Pressed, "#accept")
    def _accepted(self) -> None:
        self.dismiss(self.query_one("#reason", Input).value.strip() or None)


async def answer_to(
    app: PondroundApp, question: Question, start: str = "", title: str = TITLE
) -> tuple[str, str] | None:
    """A person's answer to what a file leaves open: as the reader takes it, and in words.

    Within a worker of a screen.

    Parameters
    ----------
    app
        The application.
    question
        What is asked.
    start
        What was answered before.
    title
        What stands over the answers.

    Returns
    -------
    tuple of str, str or None
        None where it was left open.
    """
    of_a_pond = question.field in ("pond", "ponds")
    # A pond of the whole file cannot be left out: nothing would be left.
    options = [
        Option(one.value, one.label)
        for one in question.answers
        if question.field != "pond" or one.value != "ignore"
    ]
    if options:
        if of_a_pond:
            leave = [one for one in options if one.key == "ignore"]
            options = [one for one in options if one.key != "ignore"]
            options += [Option(OTHER, OTHER), *leave]
        elif question.field == "date":
            options.append(Option(OTHER_DAY, OTHER_DAY))
        chosen = await app.push_screen_wait(
            Answers(title, question.text, options, start=start or None)
        )
        if chosen is None:
            return None
        if chosen not in (OTHER, OTHER_DAY):
            return str(chosen), next(one.label for one in options if one.key == chosen)
    if of_a_pond:
        line = await app.push_screen_wait(WhichPond(question.text, question.about))
        if line is None:
            return None
        return str(line.pond_id), f"{line.client}, {line.pond}"
    if question.field == "examiner" and not start:
        act = await app.acting()
        people = {} if act is None else {one.id: one.name for one in await _people(app)}
        start = "" if act is None else people.get(act.by, "")
    typed = await app.push_screen_wait(Words(title, question.text, start))
    return None if typed is None else (typed, typed)


async def _people(app: PondroundApp) -> tuple[Staff, ...]:
    from store.book.people import staff

    return await app.ask_store(staff, app.book)
