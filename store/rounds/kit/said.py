"""A kit list in words that screen and paper share."""

from __future__ import annotations

from store.rounds.kit.values import KitLine, KitList
from store.text import joined


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


def head_said(kit: KitList) -> str:
    """How much of a list is weighed and how much is not packed, such as `3 portions, 1 not packed`.

    Parameters
    ----------
    kit
        The list.
    """
    weigh, waits = len(kit.of("weigh")), len(kit.of("waits"))
    parts = [
        f"{weigh} portion{'' if weigh == 1 else 's'}" if weigh else "nothing to weigh",
        f"{waits} not packed" if waits else "",
    ]
    return joined(parts, ", ")
