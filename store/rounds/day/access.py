"""When one gets in at a site on a day, and what that rests on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

from store.diary.booking.slots import CIVIL_FROM, CIVIL_UNTIL
from store.diary.times.spell import minute_of
from store.rounds.solving.problem import DAY_MIN, Window
from store.rounds.solving.said import hours_said

Rests = Literal["stated", "none stated", "not understood", "closed"]
CIVIL = Window(minute_of(CIVIL_FROM), minute_of(CIVIL_UNTIL))
"""Common practice: when people expect somebody where no hours of access are stated [min]."""


@dataclass(frozen=True, slots=True)
class Access:
    """The hours of one day [min of the day], in words, and what was not understood of the text."""

    windows: tuple[Window, ...]
    said: str
    rests: Rests
    unknown: str = ""


def access_on(text: str, day: date) -> Access:
    """When one gets in on a day.

    Parameters
    ----------
    text
        Hours of access as they were typed.
    day
        The local day.

    Returns
    -------
    Access
        No limit where nothing was understood; from 08:00 to 19:00 where nothing is stated.

    Examples
    --------
    >>> access_on("Mon-Fri 9-12 and 14-17", date(2026, 3, 16)).said
    '09:00 to 12:00 or 14:00 to 17:00 (“Mon-Fri 9-12 and 14-17”)'
    >>> access_on("", date(2026, 3, 16)).said
    'no hours are stated: 08:00 to 19:00, common practice'
    """
    from store.diary.times.hours import read_hours, spells_on

    typed = " ".join(text.split())
    if not typed:
        said = f"no hours are stated: {hours_said([CIVIL])}, common practice"
        return Access((CIVIL,), said, "none stated")
    read = read_hours(text)
    if not read.limits:
        if read.unknown:
            said = f"no limit, since “{read.unknown}” was not understood"
            return Access((Window(0, DAY_MIN),), said, "not understood", read.unknown)
        return Access((Window(0, DAY_MIN),), f"any time (“{typed}”)", "stated")
    windows = tuple(
        Window(minute_of(one.begins), minute_of(one.ends)) for one in spells_on(read, day)
    )
    if not windows:
        return Access((), f"not on this weekday (“{typed}”)", "closed", read.unknown)
    hours = "any time" if windows == (Window(0, DAY_MIN),) else hours_said(windows)
    return Access(windows, f"{hours} (“{typed}”)", "stated", read.unknown)
