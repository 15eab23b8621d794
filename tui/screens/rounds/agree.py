"""A plan goes into the diary: what would change, whom to ring for it, each to be ticked."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence
from typing import TYPE_CHECKING, ClassVar
from uuid import UUID

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content

from store.errors import PondroundError
from tui.screens.desk.attempt import PhoneScreen, PhoneStrip, Whom
from tui.screens.parts.dialogs import AskReason, Reason
from tui.screens.parts.help import HELP
from tui.screens.parts.once import once
from tui.screens.rounds.round_lines import RoundGrid, errand_of, said_many
from tui.screens.rounds.rung import note_rung, rung
from tui.widgets.columns import Column
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid, Row
from tui.widgets.literal import one_line
from tui.widgets.static import Static
from tui.widgets.strip import Told
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.diary.desk.due import Attempt
    from store.rounds.day.values import DayPlan
    from store.rounds.kept.days.agree import Agreement

NOTHING = (
    "This plan changes nothing in the diary: every visit keeps its person and its hour. Esc goes "
    "back to the round."
)
COLUMNS = (
    Column("ticked", "Tick", 4),
    Column("what", "Change", 9),
    Column("begins", "Hour", 5),
    Column("name", "Where", 16, weight=2),
    Column("who", "Who", 8, weight=1, drop_order=2),
    Column("ring", "Ring", 13, drop_order=1),
    Column("rung", "Rung", 9),
)
WORDS: Mapping[str, str] = {
    "hour": "gets hour", "moved": "moves", "who": "who goes", "new": "new",
}  # fmt: skip
"""What would change, in a word or two."""


class AgreeGrid(RoundGrid):
    """The changes; enter ticks one."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter,space", "open", "tick", id="agree.tick",
                tooltip="Tick the change, or leave it out"),
    ]  # fmt: skip


class AgreeScreen(PhoneScreen):
    """What a plan would change in the diary.

    Parameters
    ----------
    plan
        The day as it was planned.
    changes
        What would change, from `agreeing`.
    entered
        Is told how many visits were changed or booked.
    """

    CSS_PATH = ["../sheets/desk.tcss", "../sheets/round.tcss"]  # noqa: RUF012
    QUESTION = "What would this plan change in the diary, and whom do I ring for it?"
    ABOUT = (
        "A line for each visit that would get an hour, move, go to somebody else, or be booked "
        "anew. What stays as it was agreed is not listed. Enter takes the tick away, or sets it; s "
        "ticks all or none. Ring first, where a number stands: r, w and n log how the call went. "
        "F2 asks why and enters what is ticked, all of it or nothing. Where the diary was changed "
        "meanwhile, that is told and nothing is saved."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f2", "enter_all", "enter", key_display="F2", id="agree.save",
                tooltip="Enter what is ticked in the diary, with a reason"),
        HELP,
        Binding("s", "tick_all", "all or none", show=False, id="agree.all",
                tooltip="Tick all, or none"),
        Binding("escape", "back", "back", show=False, id="agree.back",
                tooltip="Back to the round; nothing is written"),
    ]  # fmt: skip

    def __init__(
        self, plan: DayPlan, changes: Sequence[Agreement], entered: Callable[[int], None]
    ) -> None:
        super().__init__()
        self._plan, self._changes, self._entered = plan, tuple(changes), entered
        self.ticked = {one.key for one in changes}
        self._why = ""

    def compose(self) -> ComposeResult:
        """Head, how many are ticked, the changes, the strip, what was logged."""
        yield Top("Enter the plan in the diary", id="agree-head")
        yield Static("", id="agree-state", markup=False)
        yield Line()
        yield AgreeGrid(COLUMNS, empty=NOTHING, header=True, gutter="mark", id="agree-list")
        yield Line()
        yield PhoneStrip(id="agree-strip")
        yield Static("", id="desk-said", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """The lines have the keys."""
        self.query_one("#desk-said").display = False
        self.query_one(AgreeGrid).focus()
        self._show()

    def on_book_changed(self) -> None:
        """A call was logged, or taken back."""
        if self.is_mounted:
            self._show()

    # Showing

    def _show(self) -> None:
        grid = self.query_one(AgreeGrid)
        grid.show([self._row(one) for one in self._changes])
        ring = sum(one.ring and not self._was_reached(one) for one in self._changes)
        said = f"{said_many(len(self._changes), 'change')}, {len(self.ticked)} ticked"
        if ring:
            said += f", {ring} to ring"
        line = f"{said}. Nothing is written before F2." if self._changes else ""
        self.query_one("#agree-state", Static).update(Content(line))
        self._explain()

    def _row(self, one: Agreement) -> Row:
        from store.rounds.solving.said import clock_said

        ticked = one.key in self.ticked
        style = "" if ticked else "quiet"
        ring = (one_line(one.phone) or "no number") if one.ring else ""
        texts = (
            WORDS[one.what], clock_said(one.begins), one_line(one.name), one_line(one.who), ring,
            self._rung(one),
        )  # fmt: skip
        mark = Text("yes" if ticked else "no", style="" if ticked else "quiet")
        return Row(one.key, (mark, *(Text(text, style=style) for text in texts)))

    def _client(self, one: Agreement) -> UUID:
        errand = errand_of(self._plan, one.key)
        return one.key if errand is None else errand.client_id

    def _was_reached(self, one: Agreement) -> bool:
        return self._rung(one) == "reached"

    def _told(self, one: Agreement) -> Hashable:
        """What a call is made for: this hour, and no other."""
        return ("agree", self._plan.asked.wish.day, one.key, one.begins)

    def _rung(self, one: Agreement) -> str:
        """How the call about this hour went, in a word."""
        return rung(self.app, self._told(one)).get(self._client(one), "")

    @property
    def _here(self) -> Agreement | None:
        key = self.query_one(AgreeGrid).cursor_key
        return next((one for one in self._changes if one.key == key), None)

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        one, told = self._here, None
        if one is not None:
            errand = errand_of(self._plan, one.key)
            said = "" if errand is None else one_line(errand.hours_said)
            standing = "" if errand is None else one_line(errand.standing_said)
            ring = f"ring {one_line(one.phone)}" if one.phone else "ring; no number is entered"
            told = Told(
                one_line(one.says),
                f"Access: {said}" if said else "",
                standing,
                f"Next: {ring}; r logs it, F2 enters what is ticked." if one.ring
                else "Nobody has to be rung. F2 enters what is ticked.",
            )  # fmt: skip
        self.query_one(PhoneStrip).show(told)
        self.refresh_bindings()

    # Calls

    def whom(self) -> Whom | None:
        """The client of the change under the cursor."""
        one = self._here
        errand = None if one is None else errand_of(self._plan, one.key)
        if errand is None:
            return None
        client = errand.name if errand.visit is None else errand.visit.client
        pond = errand.pond_ids[0] if len(errand.pond_ids) == 1 else None
        return Whom(errand.client_id, client, None, pond, errand.site_id)

    def attempt_shown(self, attempt: Attempt) -> None:
        """How the call went stands beside every hour of that client, until it is taken back."""
        for one in self._changes:
            if self._client(one) == attempt.client_id:
                note_rung(self.app, self._told(one), attempt)

    # Keys

    @on(LineGrid.Opened)
    def _tick(self) -> None:
        one = self._here
        if one is not None:
            self.ticked ^= {one.key}
            self._show()

    def action_tick_all(self) -> None:
        """Tick all, or none."""
        every = {one.key for one in self._changes}
        self.ticked = set() if self.ticked == every else every
        self._show()

    @once("agree-ask")
    async def action_enter_all(self) -> None:
        """Enter what is ticked."""
        app = self.ponds_app
        chosen = [one for one in self._changes if one.key in self.ticked]
        if not chosen:
            self.notify("Nothing is ticked. Enter ticks a line, s all of them.", markup=False)
            return
        act = await app.acting()
        if act is None:
            return
        why = await self.app.push_screen_wait(self._asked_why(chosen))
        if not isinstance(why, Reason):
            return
        self._why = why.text
        keys = frozenset(one.key for one in chosen)
        try:
            count = await app.ask_store(_entered, app.book, act, self._plan, keys, why.text)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        app.changed()
        self.dismiss(None)
        self._entered(count)

    def _asked_why(self, chosen: Sequence[Agreement]) -> AskReason:
        open_calls = [one for one in chosen if one.ring and not self._was_reached(one)]
        ring = ""
        if open_calls:
            names = "; ".join(one_line(one.name) for one in open_calls)
            ring = f" Not reached yet: {names}."
        return AskReason(
            f"Enter {said_many(len(chosen), 'change')} in the diary",
            f"Why? The reason stays with every visit that moves.{ring}",
            accept="Enter",
            start=self._why,
        )

    def action_back(self) -> None:
        """Back; nothing is written."""
        self.dismiss(None)

    def letters(self) -> frozenset[str]:
        """Actions whose keys are letters."""
        return super().letters() | {"tick_all"}


def _entered(book: Book, act: Act, plan: DayPlan, keys: frozenset[UUID], why: str) -> int:
    from store.rounds.kept.days.agree import agree

    with book.writing(act) as writing:
        return agree(writing, plan, keys, why)
