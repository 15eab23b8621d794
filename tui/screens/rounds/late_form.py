"""Which stop was just left, and how late: in minutes, or by the time it is."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar
from uuid import UUID

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen

from store.errors import BadInput
from tui.screens.parts.help import HELP, open_help
from tui.widgets.entry import TextLine
from tui.widgets.fields import Field, Form
from tui.widgets.literal import cut_name, one_line
from tui.widgets.static import Static

if TYPE_CHECKING:
    from store.rounds.day.values import DayPlan
    from store.rounds.solving.timetable import Timetable

_MINUTES = re.compile(r"([+-]?[0-9]{1,3})(?: ?min)?")


@dataclass(frozen=True, slots=True)
class Lateness:
    """So many stops are behind, the drive on begins so much later than planned [min].

    `rested` is whether the break is behind, None as planned.
    """

    done: int
    late_min: int
    rested: bool | None = None


class LateForm(ModalScreen[Lateness | None]):
    """Asks how late a round is.

    Parameters
    ----------
    plan
        The day.
    staff_id
        Whose round.
    minute
        The minute that it is on the planned day, None on another day [min].
    left
        How many stops are behind to begin with; on the planned day the clock tells.
    """

    CSS_PATH = "../sheets/round.tcss"
    QUESTION = "Which stop was just left, and how late is it?"
    ABOUT = (
        "Choose the stop that was left last. Then type the minutes by which the drive on begins "
        "later than planned, below zero for earlier, or the time at which it begins: 40, or 10:25. "
        "What was understood stands beside it. Nothing is written: the new times are only shown."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", id="late_form.back", tooltip="Back to the round"),
    ]  # fmt: skip

    def __init__(
        self, plan: DayPlan, staff_id: UUID, minute: int | None = None, left: int = 0
    ) -> None:
        super().__init__()
        one, table = plan.round_of(staff_id), plan.timetable_of(staff_id)
        assert one is not None
        assert table is not None
        self._round, self._planned = one, table
        self._minute, self._left = minute, left

    def compose(self) -> ComposeResult:
        """Title, the fields, the keys."""
        with Vertical(id="sheet"):
            title = f"{one_line(self._round.driver.who)} runs late"
            yield Static(Content(title), id="title")
            yield Form(self._fields())
            yield Static(Content("F2 shows the new times   esc goes back   F1 help"), id="keys")

    def _fields(self) -> tuple[Field, ...]:
        from store.rounds.solving.said import clock_said

        choices = [("0", f"nothing yet, sets out {clock_said(self._round.sets_out)}")]
        choices += [
            (str(nth), f"{clock_said(stop.leaves)} {cut_name(one_line(stop.errand.name), 28)}")
            for nth, stop in enumerate(self._round.stops, start=1)
        ]
        behind = self._left
        if self._minute is not None:
            behind = sum(stop.leaves <= self._minute for stop in self._round.stops)
        late = "" if self._minute is None else clock_said(self._minute)
        rested = (("", "as planned"), ("yes", "it is behind"), ("no", "it is still to come"))
        fields = [
            Field("left", "Just left", value=str(behind), choices=tuple(choices), width=40),
            Field("late", "How late", "40, or 10:25", late, width=12),
        ]
        if self._round.driver.break_min:
            fields.append(Field("rested", "Break", choices=rested, width=26))
        return tuple(fields)

    def on_mount(self) -> None:
        """Ready to type."""
        self.call_after_refresh(self._begin)

    def _begin(self) -> None:
        line = self.query(TextLine).first()
        line.focus()
        line.action_select_all()
        self._remark()

    @on(Form.Changed)
    def _remark(self) -> None:
        """What was understood stands beside what was typed."""
        from store.rounds.solving.delay import drives_on
        from store.rounds.solving.said import clock_said

        form = self.query_one(Form)
        try:
            read = typed_late(form.values, self._planned)
        except BadInput:
            form.remark("late", None)
            return
        at = clock_said(max(0, drives_on(self._planned, read.done) + read.late_min))
        later = "later" if read.late_min >= 0 else "earlier"
        form.remark("late", f"drives on {at}, {abs(read.late_min)} min {later}")

    @on(Form.Submitted)
    def _submitted(self, submitted: Form.Submitted) -> None:
        form = submitted.form
        form.clear_errors()
        try:
            read = typed_late(submitted.values, self._planned)
        except BadInput as trouble:
            form.show_error(trouble)
            return
        self.dismiss(read)

    def action_back(self) -> None:
        """Back without an answer."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this sheet is for, and its keys."""
        open_help(self.app)


def typed_late(values: Mapping[str, str], planned: Timetable) -> Lateness:
    """What was typed, understood.

    Parameters
    ----------
    values
        Of the form.
    planned
        The round.

    Raises
    ------
    BadInput
        At the field that is wrong.

    Examples
    --------
    >>> from store.rounds.solving.timetable import Call, Timetable
    >>> one = Timetable(0, 480, (Call(0, 500, 500, 530),), 550, 40, None, None)
    >>> typed_late({"left": "1", "late": "40"}, one).late_min
    40
    >>> typed_late({"left": "1", "late": "9:25"}, one).late_min
    35
    """
    from store.book.days import typed_time
    from store.diary.times.spell import minute_of
    from store.rounds.solving.delay import drives_on

    done = int(values.get("left") or 0)
    text = values.get("late", "").strip()
    if (found := _MINUTES.fullmatch(text)) is not None:
        late_min = int(found[1])
    else:
        try:
            at = typed_time(text, "late")
        except BadInput:
            at = None
        if at is None:
            raise BadInput(
                "How late is it? Please type minutes, such as 40, or the time of driving on, such "
                "as 10:25.",
                field="late",
            )
        late_min = minute_of(at) - drives_on(planned, done)
    rested = {"yes": True, "no": False}.get(values.get("rested", ""))
    return Lateness(done, late_min, rested)
