"""Bringing in days off from a calendar file: looked at first, saved when that is right."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import UUID

from store.errors import BadInput
from store.text import day_said
from tui.screens.diary.away_forms import PRACTICE
from tui.screens.parts.dialogs import Ask
from tui.screens.parts.edit import FormScreen
from tui.widgets.fields import Field
from tui.widgets.literal import one_line

if TYPE_CHECKING:
    from store.book.book import Book
    from store.diary.kept.files.calendar_in import DaysOffDone, DaysOffPlan

_CELLS = 28
_MOST_FAULTS = 5


class BringDaysOffScreen(FormScreen):
    """Whose days off stand in which file.

    Parameters
    ----------
    people
        Key and name of everybody.
    """

    QUESTION = "Whose days off stand in which calendar file?"
    ABOUT = (
        "F2 reads the file (.ics) and tells what it would bring, and what it leaves out; nothing "
        "is saved before you say so. Brought in again it updates what it brought before, and "
        "strikes through what it no longer names."
    )

    def __init__(self, people: tuple[tuple[str, str], ...]) -> None:
        choices = (*people, (PRACTICE, "the whole practice"))
        fields = (
            Field("staff_id", "whose", "", choices=choices, width=_CELLS),
            Field("file", "file", "such as leave.ics", width=_CELLS),
        )
        super().__init__("Days off from a calendar file", fields, "days-off-file")

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """Read it, tell what it brings, and save it when that is wanted."""
        from store.diary.kept.files.calendar_in import save_days_off

        app = self.ponds_app
        plan = await app.ask_store(_plan, app.book, act.at, texts)
        says = said_plan(plan)
        if not plan.steps:
            raise BadInput(f"Nothing to bring in. {says}", field="file")
        sure = await self.app.push_screen_wait(
            Ask(f"Bring in {one_line(plan.path.name)} for {plan.who}?", says, yes="Bring in")
        )
        if not sure:
            raise LeftOut
        done = await app.ask_store(save_days_off, app.book, act, plan)
        self.notify(said_done(done), title="Brought in", markup=False)
        return UUID(int=0)


class LeftOut(BadInput):
    """The file was looked at and not brought in."""

    def __init__(self) -> None:
        super().__init__("It was not brought in; nothing was changed.", field="file")


def _plan(book: Book, now: Any, texts: Mapping[str, str]) -> DaysOffPlan:
    from store.diary.kept.files.calendar_in import read_days_off

    if not texts["staff_id"]:
        raise BadInput("Whose days off are these? Nothing was read yet.", field="staff_id")
    if not texts["file"].strip():
        raise BadInput("Which file? Nothing was read yet.", field="file")
    whose = None if texts["staff_id"] == PRACTICE else UUID(texts["staff_id"])
    path = Path(texts["file"].strip()).expanduser()
    try:
        return read_days_off(path, book, whose, now)
    except BadInput as trouble:
        raise BadInput(trouble.message, field="file") from trouble


def said_plan(plan: DaysOffPlan) -> str:
    """What a file would bring, and what of it is left out."""
    events = "1 event" if plan.events == 1 else f"{plan.events} events"
    said = [
        f"{events}, looked at from {day_said(plan.since)} to {day_said(plan.until)}: "
        f"{plan.added} to add, {plan.moved} to change, {plan.struck} to strike through, "
        f"{plan.already} there already."
    ]
    said += [f"{count} passed over: {one_line(why)}." for why, count in plan.passed_over]
    said += [one_line(one) for one in plan.told]
    said += [f"Line {one.line}: {one_line(one.says)}" for one in plan.faults[:_MOST_FAULTS]]
    more = len(plan.faults) - _MOST_FAULTS
    if more > 0:
        said.append(f"And {more} more lines that could not be read.")
    return "\n".join(said)


def said_done(done: DaysOffDone) -> str:
    """What was saved."""
    return (
        f"{done.added} added, {done.moved} changed, {done.struck} struck through, "
        f"{done.already} there already."
    )
