"""Minutes of a day in words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from store.rounds.solving.problem import Window


def clock_said(minute: int) -> str:
    """A minute of the day as the clock on the wall shows it.

    Parameters
    ----------
    minute
        Since the beginning of the day [min]; beyond midnight the next day is said.

    Examples
    --------
    >>> clock_said(575), clock_said(1440), clock_said(1470)
    ('09:35', '24:00', '00:30 the next day')
    """
    if minute > 1440:
        return f"{minute // 60 % 24:02d}:{minute % 60:02d} the next day"
    return f"{minute // 60:02d}:{minute % 60:02d}"


def hours_said(windows: Iterable[Window]) -> str:
    """From when to when, in words.

    Parameters
    ----------
    windows
        At least one.

    Examples
    --------
    >>> hours_said([Window(480, 600), Window(840, 1020)])
    '08:00 to 10:00 or 14:00 to 17:00'
    """
    spells = sorted((one.opens, one.closes) for one in windows)
    return " or ".join(f"{clock_said(a)} to {clock_said(b)}" for a, b in spells)


def listed(names: Sequence[str], last: str = "and") -> str:
    """Names in a row, the last one joined by a word.

    Parameters
    ----------
    names
        None is the empty text.
    last
        The word.

    Examples
    --------
    >>> listed(["Ada", "Ben", "Cleo"]), listed(["Ada", "Ben"], "or")
    ('Ada, Ben and Cleo', 'Ada or Ben')
    """
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} {last} {names[-1]}"
