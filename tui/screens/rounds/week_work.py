"""What a week ahead asks of the store, and the booking that a line of it opens."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import TYPE_CHECKING

from store.rounds.solving.halt import Halt
from tui.screens.diary.booking import BookingScreen

if TYPE_CHECKING:
    from store.book.book import Book
    from store.diary.booking.values import Wish
    from store.rounds.week.values import WeekAsked, WeekLine, WeekPlan


@dataclass(slots=True)
class Planning:
    """A week that is being planned: since when, how it is ended, the best so far."""

    first: date
    since: datetime
    halt: Halt = field(default_factory=Halt)
    best_min: int | None = None

    def said(self, now: datetime) -> str:
        """How long it has gone on, and the best so far, in a sentence."""
        if self.halt.stopped:
            return "ending, with the best so far …"
        seconds = max(0, int((now - self.since).total_seconds()))
        best = "" if self.best_min is None else f", best so far {self.best_min} min of driving"
        return f"planning the week, {seconds} s{best}; esc keeps the best so far"


def asked_for(book: Book, first: date, now: datetime) -> WeekAsked:
    """All that the week from a day on is planned from.

    Parameters
    ----------
    book
        The practice's book.
    first
        The first day; one that lies behind stands for today.
    now
        The present instant.
    """
    from store.rounds.kept.days.week import week_asked
    from store.rounds.week.values import WeekWish

    return week_asked(book, WeekWish(max(first, book.today(now))), now)


def planned(
    asked: WeekAsked, effort: float | None, halt: Halt, better: Callable[[WeekPlan], None]
) -> WeekPlan:
    """The plan of a week.

    Parameters
    ----------
    asked
        What it is planned from.
    effort
        How much work the search may do; None the usual [-].
    halt
        Ends it, with the best so far.
    better
        Is told of every better plan, in the thread of the search.
    """
    from store.rounds.week.plan import WEEK_EFFORT, plan_week

    usual = WEEK_EFFORT if effort is None else effort
    return plan_week(asked, effort=usual, halt=halt, better=better)


def wish_of_line(line: WeekLine) -> Wish:
    """What is booked where a line is agreed upon.

    Parameters
    ----------
    line
        A visit that nobody has booked.
    """
    from store.diary.booking.values import Wish

    one = line.errand
    ponds = {each.pond_id for each in one.purposes}
    pond = ponds.pop() if len(ponds) == 1 else None
    return Wish(one.site_id, pond, one.kind, one.minutes, one.purposes)


class WeekBooking(BookingScreen):
    """The booking of a visit of the week: day, hour and person stand in the form to begin with.

    A draft that somebody left there stays.

    Parameters
    ----------
    line
        The visit, as it was planned.
    """

    def __init__(self, line: WeekLine) -> None:
        super().__init__(wish_of_line(line))
        at = line.stop.begins
        self._start = {
            "on_day": line.day.isoformat(),
            "at_time": f"{at // 60:02d}:{at % 60:02d}",
            "staff_id": str(line.driver.staff_id),
            "minutes": str(line.errand.minutes),
        }
        self._begun = False

    def _show_what(self) -> None:
        super()._show_what()
        form = self._form
        if form is None or self._begun:
            return
        self._begun = True
        if not form.values.get("on_day", "").strip():
            form.fill(self._start)
            self._follow(form)
        self.call_after_refresh(self._leave_slots)
