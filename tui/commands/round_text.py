"""A planned day on the road as text, a line a stop, readable at 80 columns without colours."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from store.rounds.solving.problem import INFECTED
from store.rounds.solving.said import clock_said
from tui.said import DAYS
from tui.widgets.literal import fit, one_line, wrapped

if TYPE_CHECKING:
    from store.rounds.day.values import DayPlan, Round, RoundStop
    from store.travel.ways import Way

WIDTH = 80
_CLOCK, _NAME = 10, 33
"""Columns in which hours and names begin."""
_BEFORE_WAY = {"reckoned": "~", "unknown": "?"}
"""What stands before minutes that nobody has timed."""
LEGEND = (
    "Drive [min]: from the practice's own table where it has the way, ~ reckoned from the straight "
    "distance, ? not known and stood in for."
)


def as_text(plan: DayPlan) -> Iterator[str]:
    """The day: its sums, every round line by line, what is left out, the proof and what to know.

    Parameters
    ----------
    plan
        The day.
    """
    day = plan.asked.wish.day
    yield from sentences(f"{DAYS[day.weekday()]} {day:%Y-%m-%d}: {_sums(plan)}", after="  ")
    for one in plan.rounds:
        yield ""
        yield from _round(one)
    if any(stop.way.basis != "same place" for one in plan.rounds for stop in one.stops):
        yield ""
        yield from sentences(LEGEND)
    if plan.left_out:
        yield ""
        yield "Left out:"
        for out in plan.left_out:
            yield from sentences(one_line(out.says), "  ")
            for help_said in out.helps:
                yield from sentences(one_line(help_said), "    ")
    yield from _part("Against the order by standing:", plan.broken)
    if any(one.stops for one in plan.rounds):  # of nothing there is nothing to prove
        yield ""
        if plan.price is not None:
            yield from sentences(plan.price.says)
        yield from sentences(plan.proof)
    yield from _part("To know:", remarks_of(plan))


def remarks_of(plan: DayPlan) -> tuple[str, ...]:
    """Everything that is to be known of a day, each sentence once.

    Parameters
    ----------
    plan
        The day.
    """
    of_drivers = (said for one in plan.asked.drivers for said in one.remarks)
    return tuple(dict.fromkeys((*plan.asked.remarks, *plan.remarks, *of_drivers)))


def _sums(plan: DayPlan) -> str:
    stops = [stop for one in plan.rounds for stop in one.stops]
    booked = sum(stop.errand.booked for stop in stops)
    parts = [f"{booked} booked"]
    if added := len(stops) - booked:
        parts.append(f"{added} due and added")
    if plan.left_out:
        parts.append(f"{len(plan.left_out)} left out")
    return f"{', '.join(parts)}; {plan.found.drive_min} min of driving"


def _round(one: Round) -> Iterator[str]:
    who = one_line(one.driver.who)
    if not one.stops:
        yield f"{who}: nothing to drive to"
        return
    yield from sentences(
        f"{who}: sets out {clock_said(one.sets_out)} from {one_line(one.driver.start_said)}, back "
        f"{clock_said(one.back)}; {one.drive_min} min of driving",
        after="  ",
    )
    for nth, stop in enumerate(one.stops):
        if one.break_at is not None and one.break_after == nth:
            yield _rest(one.break_at, one.driver.break_min)
        yield from _stop(nth + 1, stop)
    if one.break_at is not None and one.break_after == len(one.stops):
        yield _rest(one.break_at, one.driver.break_min)
    if one.way_home is not None:
        home = one_line(one.driver.home_said)
        yield f"    {_way(one.way_home)}  {clock_said(one.back)}        back at {home}"


def _rest(at: int, minutes: int) -> str:
    return f"{' ' * _CLOCK}{clock_said(at)}–{clock_said(at + minutes)}  break"


def _stop(number: int, stop: RoundStop) -> Iterator[str]:
    one = stop.errand
    head = (
        f"{number:>2}  {_way(stop.way)}  {clock_said(stop.begins)}–{clock_said(stop.ends)}  "
        f"{fit(one.standing, 8)}  "
    )
    line, marks = f"{head}{one_line(one.name)}", "; ".join(_marks(stop))
    beside = f"{line}  ({marks})" if marks else line
    if len(beside) <= WIDTH:
        yield beside
    else:
        yield from sentences(line, after=" " * _NAME)
        yield from sentences(marks, " " * _NAME)
    if one.level >= INFECTED:
        yield from sentences(one_line(one.standing_said), " " * _NAME)


def _marks(stop: RoundStop) -> Iterator[str]:
    one = stop.errand
    if not one.booked:
        yield "due, not booked"
    elif one.visit is not None and one.visit.fixed:
        yield "fixed"
    if stop.begins > stop.arrives:
        yield f"there {clock_said(stop.arrives)}"
    if stop.moved_min:
        later = "later" if stop.moved_min > 0 else "earlier"
        yield f"{abs(stop.moved_min)} min {later} than agreed"
    if stop.ring:
        yield f"ring {one_line(one.phone)}".rstrip()
    if one.slot is not None:
        yield {"both": "dawn and afternoon"}.get(one.slot, one.slot)
    if stop.leaves > stop.ends:
        yield f"disinfect until {clock_said(stop.leaves)}"


def _way(way: Way) -> str:
    return f"{_BEFORE_WAY.get(way.basis, '')}{way.planned_min}".rjust(4)


def _part(head: str, said: tuple[str, ...]) -> Iterator[str]:
    if said:
        yield ""
        yield head
        for one in said:
            yield from sentences(one_line(one), "  ")


def sentences(text: str, before: str = "", *, after: str | None = None) -> Iterator[str]:
    """A sentence over as many lines of the width as it takes.

    Parameters
    ----------
    text
        Harmless, on one line.
    before, after
        What the first line begins with, and those from the second on; None is the same.
    """
    after = before if after is None else after
    whole = f"{before}{text.rstrip()}"
    if len(whole) <= WIDTH:
        yield whole
        return
    at = whole.rfind(" ", len(before) + 1, WIDTH + 1)
    at = WIDTH if at < 0 else at
    yield whole[:at].rstrip()
    for line in wrapped(whole[at:], WIDTH - len(after)):
        yield f"{after}{line}"
