"""A rule tried on the past year: as it is in force, and with numbers that are not saved yet."""

from __future__ import annotations

from collections.abc import Mapping
from threading import Event
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.screen import Screen
from textual.worker import get_current_worker

from store.errors import PondroundError
from tui.said import MONTHS
from tui.screens.parts.help import HELP, open_help
from tui.screens.ponds.pond_lines import said_when
from tui.screens.rules.rule_asked import Trials, trials_of
from tui.widgets.foot import Foot
from tui.widgets.hanging import beside
from tui.widgets.literal import fit, one_line
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from datetime import date

    from store.watch.rule_page import RulePage
    from tui.app import PondroundApp

_BAR_CELLS = 12
_LABEL_CELLS, _VALUE_CELLS = 24, 16
_DATE_CELLS = len("23 Nov 2025")


class LookedBack(Message):
    """How far a trial has come."""

    def __init__(self, done: int, in_all: int) -> None:
        super().__init__()
        self.done, self.in_all = done, in_all

    def can_replace(self, message: Message) -> bool:
        """Only the last count matters."""
        return isinstance(message, LookedBack)


class TrialScreen(Screen[None]):
    """On how many days, at how many ponds, the rule would have spoken.

    Parameters
    ----------
    page
        The rule as it is in force.
    staged
        Numbers that are not saved yet.
    pond
        The one pond; None for all.
    where
        How that pond is called.
    """

    CSS_PATH = "../sheets/rule.tcss"
    QUESTION = "How often would this rule have spoken in the past year?"
    ABOUT = (
        "Every day is looked at from its evening, with the readings known by then; what came "
        "later is not used. What was put to rest does not count. Each rule is tried alone, on "
        "what was measured: no estimate of the water speaks. Escape stops a trial that is under "
        "way and goes back."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", key_display="esc", id="trial.back",
                tooltip="Stop, and back to the rule"),
    ]  # fmt: skip

    def __init__(
        self, page: RulePage, staged: Mapping[str, float], pond: UUID | None, where: str
    ) -> None:
        super().__init__()
        self._page, self._staged = page, dict(staged)
        self._pond, self._where = pond, where
        self._left = Event()
        self._done: Trials | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head and figures."""
        where = f" at {one_line(self._where)}" if self._where else ""
        yield Top(f"{one_line(self._page.line.rule.title)}{where}: tried on the past year")
        yield Line()
        with VerticalScroll(id="trial-text"):
            yield Static("reading the past year …", id="trial-said", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """The text has the keys; the trial runs behind it."""
        self.query_one("#trial-text").focus()
        self._try()

    def on_book_changed(self) -> None:
        """A year is not tried again while one reads; it says so."""
        self.query_one(Top).moment = "written to since; esc and t try anew"

    @work(exclusive=True, group="trial")
    async def _try(self) -> None:
        app, worker = self.ponds_app, get_current_worker()

        def progress(done: int, in_all: int) -> bool:
            if self._left.is_set() or worker.is_cancelled:
                return False
            self.post_message(LookedBack(done, in_all))
            return True

        try:
            done = await app.ask_store(
                trials_of, app.book, app.now(), self._page, self._staged, self._pond, progress
            )
        except PondroundError as trouble:
            app.tell(trouble)
            return
        if not self._left.is_set():
            self._done = done
            self._lay_out()

    @on(LookedBack)
    def _tell_progress(self, looked: LookedBack) -> None:
        if looked.done < looked.in_all and self._done is None:
            self.query_one("#trial-said", Static).update(
                Content(f"looked back at {looked.done:,} of {looked.in_all:,} ponds; esc stops")
            )

    def _lay_out(self) -> None:
        if self._done is not None:
            # Without the empty cell at either side and the bar to scroll with.
            said = figures(self._done, self.ponds_app.today(), self.size.width - 3)
            self.query_one("#trial-said", Static).update(said)

    def on_resize(self) -> None:
        """Lines are broken for the width there is."""
        self._lay_out()

    def action_back(self) -> None:
        """Stop, and back to the rule."""
        self._left.set()
        self.dismiss(None)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)


def figures(trials: Trials, today: date, width: int) -> Content:
    """The figures of one trial, or of two beside each other, in lines of so many cells."""
    columns = [("in force", trials.now)]
    if trials.changed is not None:
        columns.append(("your numbers", trials.changed))
    now = trials.now
    days = (now.last_day - now.first_day).days + 1
    parts: list[Content | str | tuple[str, str]] = [
        (
            " " * _LABEL_CELLS + "".join(fit(name, _VALUE_CELLS, "right") for name, _ in columns),
            "$quiet",
        )
    ]

    def line(label: str, values: list[str]) -> None:
        shown = "".join(fit(value, _VALUE_CELLS, "right") for value in values)
        parts.append(f"\n{fit(label, _LABEL_CELLS)}{shown}")

    of_days = [f"{trial.days_spoken} of {days}" for _, trial in columns]
    line("days on which it spoke", of_days)
    line("ponds at which it spoke",
         [f"{trial.ponds_spoken} of {trial.ponds_looked_at}" for _, trial in columns])  # fmt: skip
    line("times it began", [f"{trial.times_begun}" for _, trial in columns])
    for level in ("act", "watch", "unknown", "calm"):
        if any(trial.by_level[level] for _, trial in columns):
            label = "noted only" if level == "calm" else level
            line(f"  {label}, pond-days", [f"{trial.by_level[level]:,}" for _, trial in columns])
    if now.own_say:
        parts.append((f"\n{now.own_say} ponds follow numbers of their own and were left out.",
                      "$quiet"))  # fmt: skip
    spoke = any(trial.days_spoken for _, trial in columns)
    parts.append(("\n\nDays a month\n", "bold") if spoke else "\n")
    for number, month in enumerate(now.by_month if spoke else ()):
        spoken = [trial.by_month[number].days_spoken for _, trial in columns]
        name = f"{MONTHS[month.first.month - 1]} {month.first.year}"
        bars = "  ".join(f"{count:3} {_bar(count)}" for count in spoken)
        parts.append(f"{fit(name, 9)} {bars}\n")
    for name, trial in columns:
        parts.append((f"\nFirst words, {name}\n", "bold"))
        parts += [
            beside(
                f"{said_when(one.day, None, today):<{_DATE_CELLS}} {one.level}",
                f"{one.where}: {one.what}",
                width,
                _DATE_CELLS + 10,
            )
            + "\n"
            for one in trial.first_examples
        ] or ["It would have been silent all year.\n"]
    return Content.assemble(*parts)


def _bar(days: int) -> str:
    cells = -(-days * _BAR_CELLS // 31)
    return fit("▆" * cells, _BAR_CELLS)
