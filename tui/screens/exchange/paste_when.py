"""When something told was: day and hour, shown as they were reckoned, to be put right."""

from __future__ import annotations

from datetime import date, time

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.content import Content
from textual.widgets import Button, Input

from store.errors import BadInput
from tui.screens.parts.dialogs import Dialog
from tui.widgets.entry import TextLine
from tui.widgets.literal import literal, one_line
from tui.widgets.reading import Reading
from tui.widgets.static import Static


class WhenTold(Dialog["tuple[date, time | None] | None"]):
    """The day and the hour of something told; both can be changed before they are taken.

    Parameters
    ----------
    title
        What it would become.
    about
        How day and hour were found.
    day, clock
        What is proposed; None where it has to be typed.
    needs_clock
        Whether an hour is asked for.
    today
        The practice's day.
    """

    CSS_PATH = "../sheets/paste.tcss"
    QUESTION = "When was this?"
    ABOUT = (
        "The day as you would say it: 2026-05-02, 2 May, Sat, yesterday, seen from today. The hour "
        "as 7:40 or morning; unknown where nobody knows, which keeps a reading at noon and says so "
        "in its note. Enter goes on and takes both; esc leaves the line as it was."
    )

    def __init__(
        self, title: str, about: str, day: date | None, clock: time | None, *, needs_clock: bool,
        today: date,
    ) -> None:  # fmt: skip
        super().__init__(title)
        self._about, self._day, self._clock = about, day, clock
        self._needs_clock, self._today = needs_clock, today

    def content(self) -> ComposeResult:
        """How it was found, the lines to type in, the place of an error."""
        with Reading(id="message"):
            yield Static(literal(self._about))
        day = "" if self._day is None else str(self._day)
        with Horizontal(classes="told-line"):
            yield Static("Day", classes="told-label")
            yield TextLine(day, placeholder="2026-05-02, Sat, yesterday", id="told-day")
        if self._needs_clock:
            clock = "" if self._clock is None else f"{self._clock:%H:%M}"
            with Horizontal(classes="told-line"):
                yield Static("Hour", classes="told-label")
                yield TextLine(clock, placeholder="7:40, morning, unknown", id="told-hour")
        yield Static("", id="error", classes="error", markup=False)

    def buttons(self) -> ComposeResult:
        """Back and take."""
        yield Button(Content("Back"), id="back", compact=True)
        yield Button(Content("Take it"), id="accept", compact=True)

    def on_mount(self) -> None:
        """Ready to type where something is missing, else to accept."""
        self.query_one("#error", Static).display = False
        missing = "#told-hour" if self._day is not None and self._needs_clock else "#told-day"
        self.query_one(missing, Input).focus()

    @on(Input.Changed)
    def _typed(self) -> None:
        self.query_one("#error", Static).display = False

    @on(Input.Submitted, "#told-day")
    def _day_entered(self) -> None:
        if self._needs_clock:
            self.query_one("#told-hour", Input).focus()
        else:
            self._accepted()

    @on(Button.Pressed, "#back")
    def _gone_back(self) -> None:
        self.action_back()

    @on(Input.Submitted, "#told-hour")
    @on(Button.Pressed, "#accept")
    def _accepted(self) -> None:
        try:
            self.dismiss((self._understood_day(), self._understood_hour()))
        except BadInput as trouble:
            error = self.query_one("#error", Static)
            error.update(Content(one_line(trouble.message)))
            error.display = True
            self.query_one(f"#told-{trouble.field}", Input).focus()

    def _understood_day(self) -> date:
        from store.book.days import typed_day

        text = self.query_one("#told-day", Input).value
        if not text.strip():
            raise BadInput("On which day was it?", field="day")
        day = typed_day(text, self._today, ahead=False, field="day")
        if day > self._today:
            raise BadInput("This day lies ahead.", field="day")
        return day

    def _understood_hour(self) -> time | None:
        from store.exchange.told.days import typed_clock

        if not self._needs_clock:
            return self._clock
        text = self.query_one("#told-hour", Input).value.strip()
        if text.casefold() == "unknown":
            return None
        hour = typed_clock(text) if text else None
        if hour is None:
            raise BadInput("At what hour? Type 7:40, morning, or unknown.", field="hour")
        return hour
