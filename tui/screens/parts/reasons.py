"""What stands against something: each caution is read, each stop is answered with its reason."""

from __future__ import annotations

from collections.abc import MutableMapping, Sequence
from typing import TYPE_CHECKING, Any

from textual.app import App

from tui.screens.courses.caution_read import all_read
from tui.screens.parts.dialogs import AskReason, Reason

if TYPE_CHECKING:
    from store.courses.planning.course import Caution


def said_caution(caution: Caution) -> str:
    """A caution with its numbers and its source."""
    from tui.backing import said_backing

    source = said_backing(caution.source, caution.standing) if caution.standing else caution.source
    return "\n".join(part for part in (caution.said, caution.arithmetic, source) if part)


def counted(cautions: Sequence[Caution]) -> str:
    """How much stands against something, `2 stops, 4 to mind`."""
    stops = sum(one.level == "stop" for one in cautions)
    minds = len(cautions) - stops
    said = "no stop" if not stops else "1 stop" if stops == 1 else f"{stops} stops"
    return f"{said}, {minds} to mind" if minds else said


async def reasons_for(
    app: App[Any], cautions: Sequence[Caution], typed: MutableMapping[str, str] | None = None
) -> dict[str, str] | None:
    """What the record keeps as the answer to each caution; None when one was left open.

    What is to be minded is read to its end first, then a reason is written for every stop.

    Parameters
    ----------
    app
        The application.
    cautions
        As they were shown.
    typed
        Reasons by the sentence of their stop, kept by whoever asks: what was typed and not used
        stands there again the next time.
    """
    reasons = await all_read(app, cautions)
    if reasons is None:
        return None
    before: MutableMapping[str, str] = {} if typed is None else typed
    stops = [one for one in cautions if one.level == "stop"]
    for number, caution in enumerate(stops, 1):

        def keep(text: str, said: str = caution.said) -> None:
            before[said] = text

        given = await app.push_screen_wait(
            AskReason(
                f"stop {number} of {len(stops)}: to go on, a vet writes why",
                said_caution(caution),
                start=before.get(caution.said, ""),
                typed=keep,
            )
        )
        if not isinstance(given, Reason):
            return None
        reasons[caution.code] = given.text
    return reasons
