"""How far off estimates of temperature would have been, replayed over the book's own past."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, ClassVar, cast

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen

from store.errors import PondroundError
from tui.said import said_head, said_moment
from tui.screens.guard.proof_said import proof_parts
from tui.screens.parts.help import HELP, open_help
from tui.widgets.foot import Foot
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.warmth.kept.verify import Verified
    from tui.app import PondroundApp

_TICK_S = 0.2
_BESIDE = 3
"""Cells of the padding and the bar beside the text."""
STOPPING = "Ending after this step; what is done is kept …"
STOPPED = "It was stopped before anything was estimated."


class ProofScreen(Screen["Verified | None"]):
    """The past replayed: errors by days ahead and by age, the worst ponds, in sentences first.

    Parameters
    ----------
    verified
        What was replayed before; None replays at once.
    """

    CSS_PATH = "../sheets/guard.tcss"
    QUESTION = "Can the estimates of temperature be believed?"
    ABOUT = (
        "The past of this book replayed as if each day were today, with nothing seen that came "
        "later: every reading is held against the estimate that would have been made of it, so "
        "many days ahead, or on the day itself where the pond's own last reading was so old. "
        "Beside it stand the two guesses one could make without: the last reading, and the "
        "season. The interval should hold four readings in five. It takes seconds in a small "
        "practice and minutes in a large one; esc ends it and keeps what is done. Nothing is "
        "written. “pondround verify temperature” prints the same."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("r", "replay", "replay anew", id="proof.replay",
                tooltip="Replay the past again, with what was read since"),
        Binding("escape", "back", "stop, back", id="proof.back",
                tooltip="End the replay and keep what is done, or back one step"),
    ]  # fmt: skip

    def __init__(self, verified: Verified | None = None) -> None:
        super().__init__()
        self._verified = verified
        self._progress, self._said = "", ""
        self._busy = self._stop = False

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, what is done, the text, keys."""
        yield Top("How far off estimates of temperature were")
        yield Static("", id="guard-doing", markup=False)
        yield Line()
        with VerticalScroll(id="guard-page"):
            yield Static("", id="guard-text", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """The text has the keys; what was not replayed yet is begun."""
        self.query_one("#guard-page").focus()
        self.set_interval(_TICK_S, self._tick)
        if self._verified is None:
            self.action_replay()
        else:
            self._show()

    def on_resize(self) -> None:
        """The table keeps within the width."""
        self._show()

    def _tick(self) -> None:
        app = self.ponds_app
        if app.book_is_open and app.book.known_zone is not None:
            self.query_one(Top).moment = said_head(app.now(), app.book.known_zone)
        said = STOPPING if self._busy and self._stop else self._progress or self._said
        self.query_one("#guard-doing", Static).update(said)

    @work(group="proof", exclusive=True)
    async def action_replay(self) -> None:
        """Replay the past."""
        app = self.ponds_app
        if not app.book_is_open or self._busy:
            return
        from store.warmth.kept.verify import verify

        self._busy, self._stop, self._said = True, False, ""
        self._progress = "Reading the temperatures …"
        try:
            found = await asyncio.to_thread(
                verify, app.book, app.now(), self._tell,
                lambda: self._stop or not app.is_running or not self.is_attached,
            )  # fmt: skip
        except PondroundError as trouble:
            app.tell(trouble)
            return
        finally:
            self._busy, self._progress = False, ""
        if found.replayed is None and found.share < 1.0:
            self._said = STOPPED
            return
        self._verified = found
        if self.is_mounted:
            self._show()
            self.query_one("#guard-page").scroll_home(animate=False)

    def _tell(self, share: float) -> None:
        self._progress = f"Replaying the past: {share:.0%} (esc ends it, what is done is kept)"

    def _show(self) -> None:
        app, found = self.ponds_app, self._verified
        if found is None:
            return
        zone = app.book.zone
        today = app.now().astimezone(zone).date()
        self._said = f"Replayed {said_moment(found.made_at, zone, today)}"
        width = self.app.size.width - _BESIDE
        parts = proof_parts(found, width)
        text = Content("\n").join(Content.styled(line, style) for line, style in parts)
        self.query_one("#guard-text", Static).update(text)

    def action_back(self) -> None:
        """End the replay, or go back one step."""
        if self._busy:
            self._stop = True
        else:
            self.dismiss(self._verified)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)
