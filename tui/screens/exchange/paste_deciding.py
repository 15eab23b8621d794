"""What a person says of one line of an owner's text before it is taken."""

from __future__ import annotations

from datetime import date, time
from typing import TYPE_CHECKING

from tui.screens.exchange.paste_lines import Decided
from tui.screens.exchange.paste_when import WhenTold
from tui.screens.parts.dialogs import Choose, Option
from tui.widgets.literal import one_line

if TYPE_CHECKING:
    from store.exchange.told.found import Found
    from tui.app import PondroundApp

_LEAVE = -1
When = tuple[date, "time | None", bool]
Confirmed = dict[tuple[object, ...], When]
"""Days and hours that were confirmed, by what was proposed in which message."""


async def decide(
    app: PondroundApp, one: Found, had: Decided | None, confirmed: Confirmed, *, anew: bool
) -> Decided | None:
    """Ask what is open about a line: which value, on which day, at what hour.

    Within a worker of a screen.

    Parameters
    ----------
    app
        The application.
    one
        The line.
    had
        What was decided of it before.
    confirmed
        What was confirmed for other lines; it grows.
    anew
        Whether day and hour are asked in any case.

    Returns
    -------
    Decided or None
        None where the person leaves it in words.
    """
    from store.water.understood import shown

    choice = 0
    if one.doubt or len(one.choices) > 1:
        labels = [shown(each) for each in one.choices] or [one.becomes]
        options = [Option(at, f"Take {label}") for at, label in enumerate(labels)]
        options.append(Option(_LEAVE, "Leave it in words"))
        title = one_line(one.doubt or f"“{one.raw}”: which is meant?")
        picked = await app.push_screen_wait(Choose(title, options, start=_LEAVE))
        if not isinstance(picked, int) or picked == _LEAVE:
            return None
        choice = picked
    when = await _when(app, one, had, confirmed, anew=anew)
    return None if when is None else Decided(when[0], when[1], choice, when[2])


async def _when(
    app: PondroundApp, one: Found, had: Decided | None, confirmed: Confirmed, *, anew: bool
) -> When | None:
    """Day and hour; asked where they do not stand in the text, once for a message."""
    known_clock = not one.needs_clock or one.clock_how == "said"
    if not anew and one.day is not None and known_clock and one.day_how in ("said", "message"):
        return one.day, one.clock, False
    alike = (one.message, one.day, one.day_how, one.clock, one.clock_how, one.needs_clock)
    if not anew and one.day is not None and alike in confirmed:
        return confirmed[alike]
    answer = await app.push_screen_wait(
        WhenTold(
            f"{one.becomes}: when?",
            f"“{one.raw}”\n{one.when_why}",
            one.day if had is None else had.day,
            one.clock if had is None else had.clock,
            needs_clock=one.needs_clock,
            today=app.today(),
        )
    )
    if answer is None:
        return None
    when = (*answer, answer != (one.day, one.clock))
    confirmed[alike] = when
    return when
