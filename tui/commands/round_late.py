"""A round that runs late, at the command line: new times, whom to ring, another order."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator
from datetime import datetime
from typing import TYPE_CHECKING, Any
from uuid import UUID

from store.rounds.solving.said import clock_said
from tui.commands.round_json import clock
from tui.commands.round_text import sentences
from tui.widgets.literal import fit, one_line

if TYPE_CHECKING:
    from store.rounds.day.late import LateRound, LateStop, RunningLate
    from store.rounds.day.values import DayPlan
    from store.rounds.solving.halt import Halt
    from tui.commands.watched import Say


def print_late(plan: DayPlan, args: argparse.Namespace, staff_id: UUID, at: datetime) -> int:
    """Print what a delay does to somebody's round.

    Parameters
    ----------
    plan
        The day as it was planned.
    args
        With `late` [min], `after`, `effort` and `json`.
    staff_id
        Who runs late.
    at
        The present instant.
    """
    from store.rounds.day.late import run_late
    from store.rounds.solving.proof import EFFORT
    from tui.commands.watched import watched

    def search(halt: Halt, _say: Say) -> RunningLate:
        effort = args.effort or EFFORT
        return run_late(plan, staff_id, args.after, args.late, effort=effort, halt=halt)

    late, stopped = watched(search, "looking for another order")
    if args.json:
        told = {"now": at.isoformat(), "day": plan.asked.wish.day.isoformat(), "stopped": stopped}
        print(json.dumps(told | as_json(late), indent=2, allow_nan=False))
        return 0
    for line in as_text(late):
        print(line)
    return 0


def as_text(late: RunningLate) -> Iterator[str]:
    """The delay: the order of the plan with its new times, whom to ring, another order.

    Parameters
    ----------
    late
        What a delay does.
    """
    behind = "1 visit is" if late.done == 1 else f"{late.done} visits are"
    yield from sentences(
        f"{one_line(late.driver.who)} runs {late.late_min} min late; {behind} behind."
    )
    yield ""
    yield "In the order of the plan:"
    yield from _round(late.kept)
    yield ""
    for said in late.says:
        yield from sentences(one_line(said))
    if late.other is not None:
        yield ""
        yield "In another order:"
        yield from _round(late.other)


def _round(one: LateRound) -> Iterator[str]:
    for nth, stop in enumerate(one.stops):
        if one.break_after == nth and one.break_at is not None:
            yield f"  {clock_said(one.break_at)}        break"
        yield from _stop(stop)
    if one.break_after == len(one.stops) and one.break_at is not None:
        yield f"  {clock_said(one.break_at)}        break"
    yield f"  {clock_said(one.back)}        back"
    for said in one.says:
        yield from sentences(one_line(said), "  ")
    for errand, says, helps in one.out:
        whose = "" if says.startswith(errand.name) else f"{errand.name}: "
        yield from sentences(one_line(f"Left out: {whose}{says}"), "  ")
        for each in helps:
            yield from sentences(one_line(each), "    ")
    if one.to_ring:
        yield "  To ring:"
        for stop in one.to_ring:
            yield from sentences(one_line(stop.says), "    ")


def _stop(stop: LateStop) -> Iterator[str]:
    moved = f"{stop.moved_min:+d} min".replace("-", "−") if stop.moved_min else ""
    line = (
        f"  {clock_said(stop.begins)}–{clock_said(stop.ends)}  {fit(moved, 9, 'right')}  "
        f"{fit(stop.errand.standing, 8)}  {one_line(stop.errand.name)}"
    )
    yield from sentences(line, after=" " * 34)


def as_json(late: RunningLate) -> dict[str, Any]:
    """The delay as one object.

    Keys: `staff_id`, `who`, `late_min`, `done`, `kept` and `other` (null where nothing comes too
    late), `says`. Each of the two has `drives_on`, `stops`, `out` (with `key`, `name`, `says`,
    `helps`), `back`, `over_min`, `break_at`, `break_late_min`, `too_late_min` and `says`; a stop
    has `key`, `name`, `phone`, `told`, `arrives`, `begins`, `ends`, `leaves`, `moved_min`,
    `late_min` and `ring`.

    Parameters
    ----------
    late
        What a delay does.
    """
    return {
        "staff_id": str(late.driver.staff_id),
        "who": late.driver.who,
        "late_min": late.late_min,
        "done": late.done,
        "kept": _of(late.kept),
        "other": None if late.other is None else _of(late.other),
        "says": list(late.says),
    }


def _of(one: LateRound) -> dict[str, Any]:
    return {
        "drives_on": clock(one.drives_on),
        "stops": [
            {
                "key": str(stop.errand.key),
                "name": stop.errand.name,
                "phone": stop.errand.phone,
                "told": clock(stop.told),
                "arrives": clock(stop.arrives),
                "begins": clock(stop.begins),
                "ends": clock(stop.ends),
                "leaves": clock(stop.leaves),
                "moved_min": stop.moved_min,
                "late_min": stop.late_min,
                "ring": stop.ring,
            }
            for stop in one.stops
        ],
        "out": [
            {"key": str(errand.key), "name": errand.name, "says": says, "helps": list(helps)}
            for errand, says, helps in one.out
        ],
        "back": clock(one.back),
        "over_min": one.over_min,
        "break_at": clock(one.break_at),
        "break_late_min": one.break_late_min,
        "too_late_min": one.too_late_min,
        "says": list(one.says),
    }
