"""The morning list as text for reading and as JSON for programs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from datetime import datetime
from typing import TYPE_CHECKING, Any

from tui.said import said_age, said_day, since_column
from tui.widgets.literal import fit, one_line

if TYPE_CHECKING:
    from store.watch.concern import MorningLine, MorningList


def shown_lines(listed: MorningList, everything: bool) -> list[MorningLine]:
    """The lines that are printed: those that need somebody, or all."""
    return [line for line in listed.lines if everything or line.level != "calm"]


def as_text(listed: MorningList, everything: bool) -> Iterator[str]:
    """The list, a line a pond, without colours; first what it counts.

    Parameters
    ----------
    listed
        The list.
    everything
        Also the calm ponds.
    """
    hidden = "" if everything else " not shown"
    yield f"{one_line(listed.practice) or 'Pondround'}, {listed.today:%Y-%m-%d}"
    yield (
        f"{listed.total} ponds: {listed.act} act, {listed.watch} watch, {listed.unknown} unknown, "
        f"{listed.calm} calm{hidden}"
        + (f", {listed.resting} with every concern at rest" if listed.resting else "")
    )
    lines = shown_lines(listed, everything)
    if not lines:
        yield "No pond in the book yet." if not listed.total else "No pond needs anybody today."
        return
    yield ""
    yield "  ".join(
        (fit("level", 7), fit("client and pond", 34), fit("what", 40), fit("since", 12),
         fit("test", 6), "visit")
    )  # fmt: skip
    for line in lines:
        more = f" (+{line.concerns - 1})" if line.concerns > 1 else ""
        yield "  ".join(
            (
                fit(line.level, 7),
                fit(one_line(line.where), 34),
                fit(one_line(line.what) + more, 40),
                fit(since_column(line.since, listed.today, or_earlier=line.or_earlier), 12),
                fit(said_age(line.age_days), 6),
                said_day(line.next_visit, listed.today),
            )
        ).rstrip()


def as_json(listed: MorningList, everything: bool) -> dict[str, Any]:
    """The list as one object.

    Keys: `practice`, `now` and `today` (ISO 8601), the counts `ponds`, `act`, `watch`, `unknown`,
    `calm`, `resting` and `not_shown`, and `lines`, worst first. A line has `pond` (its key),
    `client`, `site`, `pond_name`, `town`, `level`, `what`, `rule`, `concerns` (their number),
    `resting`, `since`, `or_earlier` (whether that is only the first day known), `last_test`,
    `age_days`, `next_visit`, `severity`, and `series` with `values`, `foot`, `head` and `over`, or
    null.
    """
    lines = shown_lines(listed, everything)
    return {
        "practice": listed.practice,
        "now": listed.now.isoformat(),
        "today": listed.today.isoformat(),
        "ponds": listed.total,
        "act": listed.act,
        "watch": listed.watch,
        "unknown": listed.unknown,
        "calm": listed.calm,
        "resting": listed.resting,
        "not_shown": listed.total - len(lines),
        "lines": [_line(line) for line in lines],
    }


def _line(line: MorningLine) -> dict[str, Any]:
    return {
        "pond": str(line.pond),
        "client": line.client,
        "site": line.site,
        "pond_name": line.pond_name,
        "town": line.town,
        "level": line.level,
        "what": line.what,
        "rule": line.rule,
        "concerns": line.concerns,
        "resting": line.resting,
        "since": line.since.isoformat() if line.since else None,
        "or_earlier": line.or_earlier,
        "last_test": line.last_test.isoformat() if line.last_test else None,
        "age_days": line.age_days,
        "next_visit": line.next_visit.isoformat() if line.next_visit else None,
        "severity": line.severity,
        "series": asdict(line.spark) if line.spark else None,
    }


def empty_list(at: datetime) -> dict[str, Any]:
    """What stands in the place of a list when there is no book."""
    counts = dict.fromkeys(("ponds", "act", "watch", "unknown", "calm", "resting", "not_shown"), 0)
    return {"practice": "", "now": at.isoformat(), "today": None, **counts, "lines": []}
