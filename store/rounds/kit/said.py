"""A kit list in words that screen and paper share."""

from __future__ import annotations

from store.rounds.kit.values import KitLine, KitList


def stops_said(line: KitLine, kit: KitList) -> str:
    """The stops that a line is for: `stop 2`, `stops 1, 3`, `every stop`; empty for the day.

    Parameters
    ----------
    line
        The line.
    kit
        Its list.
    """
    if not line.stops:
        return ""
    if len(line.stops) == 1:
        return f"stop {line.stops[0].said}"
    if len(line.stops) == len(kit.stops):
        return "every stop"
    return f"stops {', '.join(one.said for one in line.stops)}"
