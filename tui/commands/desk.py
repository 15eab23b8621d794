"""`pondround desk`: everything that was promised and is due, worst first."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from store.errors import NotFound
from tui.commands.desk_ask import ask_json, ask_text
from tui.commands.where import NO_BOOK, is_missing, now, open_place, place_of
from tui.said import said_day
from tui.widgets.literal import fit, one_line

if TYPE_CHECKING:
    from datetime import date

    from store.diary.desk.due import Attempt, DeskList, DueLine

NONE = "Nothing that was promised is due."


def run_desk(args: argparse.Namespace) -> int:
    """Print what is due, late or near; with `--all` also what is booked within its window.

    Below it, and as JSON under `ask`, whom to ask for a thermometer reading.
    """
    at, place = now(), place_of(args)
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    with open_place(place, at) as book:
        from store.diary.kept.due.desk import desk_list
        from store.diary.kept.due.whom_to_ask import whom_to_ask
        from tui.commands import warm

        warm.have_fit(book, at)
        listed, asking = desk_list(book, at), whom_to_ask(book, at)
    if args.json:
        whole = {**as_json(listed, args.all), "ask": ask_json(asking)}
        print(json.dumps(whole, indent=2, allow_nan=False))
    else:
        for line in (*as_text(listed, args.all), *ask_text(asking)):
            print(line)
    return 0


def shown_lines(listed: DeskList, everything: bool) -> list[DueLine]:
    """The lines that are printed: those for which nobody goes in time yet, or all.

    Parameters
    ----------
    listed
        The desk.
    everything
        Also what is booked within its window.
    """
    return [
        line
        for line in listed.lines
        if everything or line.booked is None or not line.booked.in_window
    ]


def as_text(listed: DeskList, everything: bool) -> Iterator[str]:
    """The desk, a line a promise, without colours; first what it counts.

    Parameters
    ----------
    listed
        The desk.
    everything
        Also what is booked within its window.
    """
    hidden = "" if everything or not listed.booked else " not shown"
    yield (
        f"{listed.today:%Y-%m-%d}: {listed.overdue} late, {listed.today_due} due, "
        f"{listed.ahead} soon, {listed.booked} booked{hidden}"
    )
    lines = shown_lines(listed, everything)
    if not lines:
        yield NONE
        return
    yield ""
    yield "  ".join(
        (fit("needs", 5), fit("client and pond", 34), fit("promised", 34), fit("when", 12),
         fit("telephone", 16), fit("rung", 20), "visit")
    )  # fmt: skip
    for line in lines:
        yield "  ".join(
            (
                fit(line.promised.needs, 5),
                fit(one_line(line.where), 34),
                fit(one_line(line.promised.says), 34),
                fit(said_when(line, listed.today), 12),
                fit(one_line(line.phone or line.phone2), 16),
                fit(said_rung(line, listed.today), 20),
                said_visit(line, listed.today),
            )
        ).rstrip()


def said_when(line: DueLine, today: date) -> str:
    """How late, or when it falls due; a ring-back with its hour.

    Parameters
    ----------
    line
        The line.
    today
        The practice's calendar day.
    """
    if line.late_days > 0:
        return f"{line.late_days} d late"
    day = line.promised.due_on
    if day <= today <= line.promised.last_on:
        return "due today" if day == today else f"{said_day(day, today)}, open"
    return said_day(day, today)


def said_rung(line: DueLine, today: date) -> str:
    """Calls in vain since the client was last reached, and when to ring back.

    Parameters
    ----------
    line
        The line.
    today
        The practice's calendar day.
    """
    parts = [f"{line.attempts}×"] if line.attempts else []
    if line.ring_on is not None:
        hour = f" {line.ring_at:%H:%M}" if line.ring_at is not None else ""
        parts.append(f"back {said_day(line.ring_on, today)}{hour}")
    elif line.last_attempt is not None:
        parts.append(line.last_attempt.outcome)
    return ", ".join(parts)


def said_visit(line: DueLine, today: date) -> str:
    """The planned visit, and whether its day does not fit.

    Parameters
    ----------
    line
        The line.
    today
        The practice's calendar day.
    """
    if line.booked is None:
        return ""
    outside = "" if line.booked.in_window else ", outside its days"
    return f"{said_day(line.booked.on_day, today)}{outside}"


def as_json(listed: DeskList, everything: bool) -> dict[str, Any]:
    """The desk as one object.

    Keys: `now` and `today` (ISO 8601), the counts `overdue`, `today_due`, `ahead`, `booked` and
    `not_shown`, and `lines`, worst first. A line has `about` (the name of the promise), `kind`,
    `client`, `client_id`, `site`, `site_id`, `pond`, `pond_id` (keys or null), `says`, `because`,
    `origin`, `repeats`, `promised_by`, `promised_on`, `due_on`, `first_on`, `last_on`,
    `late_days`, `weight`, `weighed`, `needs`, `phones`, `attempts`, `last_attempt` (with `at`,
    `by`, `outcome`, `about` and `note`, or null), `ring_on`, `ring_at`, and `booked` (with `visit`,
    `on_day`, `at_time`, `who` and `in_window`, or null).

    Parameters
    ----------
    listed
        The desk.
    everything
        Also what is booked within its window.
    """
    lines = shown_lines(listed, everything)
    return {
        "now": listed.now.isoformat(),
        "today": listed.today.isoformat(),
        "overdue": listed.overdue,
        "today_due": listed.today_due,
        "ahead": listed.ahead,
        "booked": listed.booked,
        "not_shown": len(listed.lines) - len(lines),
        "lines": [_line(line) for line in lines],
    }


def _line(line: DueLine) -> dict[str, Any]:
    promised, booked = line.promised, line.booked
    return {
        "about": promised.about,
        "kind": promised.kind,
        "client": line.client,
        "client_id": str(promised.client_id),
        "site": line.site,
        "site_id": str(promised.site_id) if promised.site_id else None,
        "pond": line.pond,
        "pond_id": str(promised.pond_id) if promised.pond_id else None,
        "says": promised.says,
        "because": promised.because,
        "origin": promised.origin,
        "repeats": promised.repeats,
        "promised_by": promised.promised_by,
        "promised_on": promised.promised_on.isoformat() if promised.promised_on else None,
        "due_on": promised.due_on.isoformat(),
        "first_on": promised.first_on.isoformat(),
        "last_on": promised.last_on.isoformat(),
        "late_days": line.late_days,
        "weight": line.weight,
        "weighed": line.weighed,
        "needs": promised.needs,
        "phones": [phone for phone in (line.phone, line.phone2) if phone],
        "attempts": line.attempts,
        "last_attempt": _attempt(line.last_attempt) if line.last_attempt else None,
        "ring_on": line.ring_on.isoformat() if line.ring_on else None,
        "ring_at": f"{line.ring_at:%H:%M}" if line.ring_at else None,
        "booked": {
            "visit": str(booked.visit_id),
            "on_day": booked.on_day.isoformat(),
            "at_time": f"{booked.at_time:%H:%M}" if booked.at_time else None,
            "who": booked.who,
            "in_window": booked.in_window,
        }
        if booked
        else None,
    }


def _attempt(attempt: Attempt) -> dict[str, Any]:
    return {
        "at": attempt.at.isoformat(),
        "by": attempt.by,
        "outcome": attempt.outcome,
        "about": attempt.about,
        "note": attempt.note,
    }
