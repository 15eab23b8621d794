"""A call made more urgent by hand: to what, and why. Nothing leads down."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from tui.screens.parts.dialogs import AskReason, Choose, Option, Reason

if TYPE_CHECKING:
    from textual.screen import Screen

    from store.facts.call_questions import Urgency

AS_TOLD = "as told"
"""What is chosen on the sheet to go by what was told after all."""
_SAID = {"next day": "somebody goes the day after", "same day": "somebody goes today"}


async def ask_raised(
    screen: Screen[Any],
    urgency: Urgency,
    *,
    start: str = "",
    typed: Callable[[str], None] | None = None,
    raised: bool = False,
) -> tuple[Urgency, str] | str | None:
    """Ask to what a call is raised, and why; None where that was left.

    Within a worker of the screen.

    Parameters
    ----------
    screen
        From where it is asked.
    urgency
        As it stands so far: by what was told, or in the book.
    start
        A reason that was typed before.
    typed
        Called with the reason at every change, so that it can be kept outside.
    raised
        It was raised already and nothing is saved yet: then `AS_TOLD` can be chosen too.
    """
    from store.diary.kept.calls.call_urgency import above

    steps = above(urgency)
    options = [Option(one, one, _SAID[one]) for one in steps]
    if raised:
        options.append(Option(AS_TOLD, "not by hand", f"what was told: {urgency}"))
    if not options:
        screen.notify(f"It is {urgency} already; nothing is more urgent.", markup=False)
        return None
    to: Any = steps[0] if steps and len(options) == 1 else None
    if to is None:
        to = await screen.app.push_screen_wait(Choose("How urgent is it?", options))
    if to is None or to == AS_TOLD:
        return to  # type: ignore[no-any-return]
    reason = await screen.app.push_screen_wait(
        AskReason(
            f"Raise this call to {to}",
            f"It is {urgency} so far. The reason stays with the call. Why?",
            accept="Raise it",
            start=start,
            typed=typed,
        )
    )
    return (to, reason.text) if isinstance(reason, Reason) else None
