"""A plan entered into the diary: hours and people of booked visits, and visits that are new.

All of it is asked again inside the transaction that writes: what somebody else took meanwhile is
told, and nothing is saved.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import time
from typing import Literal
from uuid import UUID

from store.book.tables import table
from store.book.writing import Writing
from store.diary.booking.said import named
from store.diary.booking.values import Objection, Visiting, Wish
from store.diary.kept.visits.asking import question
from store.diary.kept.visits.bookings import book_visit, keep_others_out, move_visit
from store.diary.kept.visits.proposing import spoken_against
from store.diary.kept.visits.visit_rows import read_visits
from store.diary.kept.visits.wishes import wish_of_visit
from store.diary.times.spell import minute_of
from store.errors import BadInput, ChangedMeanwhile
from store.rounds.day.values import DayPlan, Errand, Round, RoundStop
from store.rounds.kept.days.errands import few_named
from store.rounds.solving.delay import RING_FROM_MIN
from store.rounds.solving.problem import DAY_MIN
from store.rounds.solving.said import clock_said, listed
from store.travel.drive_times import drive_table

What = Literal["hour", "moved", "who", "new"]
"""`hour`: a visit without an hour gets one; `moved`: its hour is another; `who`: only the person;
`new`: nobody had booked it.
"""
BEARABLE = frozenset({"overfull", "break", "window", "holiday", "access", "hours"})
"""What may speak against an hour that the plan has looked at itself; the reason is kept with it."""


@dataclass(frozen=True, slots=True)
class Agreement:
    """What would change in the diary for one visit.

    `key` is that of the errand; `begins` the hour that the diary would have [min of the day].
    `ring` tells that the client has to be rung about it.
    """

    key: UUID
    what: What
    name: str
    phone: str
    ring: bool
    begins: int
    staff_id: UUID
    who: str
    says: str


def agreeing(plan: DayPlan) -> tuple[Agreement, ...]:
    """What a plan would change in the diary, in the order of the rounds.

    Parameters
    ----------
    plan
        The day.

    Returns
    -------
    tuple of Agreement
        Without visits that stay with their person and begin within 15 min of their hour: that is
        what was agreed.
    """
    return tuple(
        found for one in plan.rounds for stop in one.stops if (found := _agreement(one, stop))
    )


def _agreement(one: Round, stop: RoundStop) -> Agreement | None:
    errand, visit, who = stop.errand, stop.errand.visit, one.driver.who
    at, new_who = _hour(stop), visit is None or visit.staff_id != one.driver.staff_id
    moved = visit is not None and visit.at_time is not None and at != minute_of(visit.at_time)
    what: What
    if visit is None:
        what, says = "new", f"is new, at {clock_said(at)} with {who}: {_for_what(errand)}"
    elif visit.at_time is None:
        what, says = "hour", f"at {clock_said(at)}, no hour was agreed"
    elif moved:
        assert stop.moved_min is not None
        later = "later" if stop.moved_min > 0 else "earlier"
        was = clock_said(minute_of(visit.at_time))
        what = "moved"
        says = f"at {clock_said(at)} in place of {was}, {abs(stop.moved_min)} min {later}"
    elif new_who:
        what, says = "who", f"at {clock_said(at)} as it was agreed"
    else:
        return None
    if visit is not None and new_who:
        says += f"; with {who}"
        says += f" in place of {visit.who}" if visit.who else ", nobody was chosen"
    ring = what != "who"
    return Agreement(
        errand.key, what, errand.name, errand.phone, ring, at, one.driver.staff_id, who,
        f"{errand.name} {says}.{_ring_said(errand) if ring else ''}",
    )  # fmt: skip


def _hour(stop: RoundStop) -> int:
    """The hour that the diary is to have: the agreed one where the plan is near enough [min]."""
    visit = stop.errand.visit
    if visit is None or visit.at_time is None or stop.moved_min is None:
        return stop.begins
    return minute_of(visit.at_time) if abs(stop.moved_min) < RING_FROM_MIN else stop.begins


def _for_what(errand: Errand) -> str:
    says = list(dict.fromkeys(one.says for one in errand.purposes if one.says))
    return f"{errand.kind}, {errand.minutes} min" + (f", {few_named(says)}" if says else "")


def _ring_said(errand: Errand) -> str:
    return f" Ring {errand.phone}." if errand.phone else " No telephone number is entered."


def agree(writing: Writing, plan: DayPlan, keys: Collection[UUID], why: str) -> int:
    """Enter some changes of a plan into the diary, all or none.

    Parameters
    ----------
    writing
        The action of the person.
    plan
        The day as it was planned.
    keys
        Of the changes, from `agreeing`.
    why
        Why visits move; never empty. It also stands beside what speaks against an hour.

    Returns
    -------
    int
        How many visits were changed or booked.

    Raises
    ------
    BadInput
        No reason; an hour that somebody else took meanwhile, or that cannot be: nothing is saved.
    ChangedMeanwhile
        A visit of the plan is not what it was.
    """
    if not why.strip():
        raise BadInput("Please say why the plan is entered. Nothing was changed.", field="why")
    keep_others_out(writing.connection)
    chosen = [one for one in agreeing(plan) if one.key in set(keys)]
    if len(chosen) != len(set(keys)):
        raise BadInput("Something that was chosen is not in this plan. Nothing was saved.")
    if not chosen:
        return 0
    entering = _Entering(writing, plan, why.strip())
    entering.as_it_was()
    entering.enter(chosen)
    return len(chosen)


class _Entering:
    """Changes that are entered one after the other, in whatever order none stands in the way."""

    def __init__(self, writing: Writing, plan: DayPlan, why: str) -> None:
        self._writing, self._plan, self._why = writing, plan, why
        self._errands = {stop.errand.key: stop.errand for one in plan.rounds for stop in one.stops}
        self._revs = {
            key: one.visit.rev for key, one in self._errands.items() if one.visit is not None
        }
        self._lifted: set[UUID] = set()

    def as_it_was(self) -> None:
        """Refuses where the day is not the one that was planned."""
        planned = self._planned()
        there = {one.id: one for one in planned}
        changed = [
            one.name
            for key, one in self._errands.items()
            if one.visit is not None and (key not in there or there[key].rev != one.visit.rev)
        ]
        if changed:
            has = "has" if len(changed) == 1 else "have"
            raise ChangedMeanwhile(
                f"{few_named(changed)} {has} been changed since the day was planned. Nothing was "
                "saved; plan the day again."
            )
        known = {one.key for one in self._plan.asked.errands} | self._plan.asked.wish.left
        drivers = {one.staff_id for one in self._plan.asked.drivers}
        new = [one for one in planned if one.id not in known and one.staff_id in drivers]
        if new:
            said = listed([_taken_said(one) for one in new[:3]])
            raise BadInput(
                f"Since the day was planned somebody booked {said}. Nothing was saved; plan the "
                "day again."
            )

    def _planned(self) -> tuple[Visiting, ...]:
        visits = table("visit").c
        return read_visits(
            self._writing.connection, visits.on_day == self._plan.asked.wish.day,
            visits.state == "planned",
        )  # fmt: skip

    def enter(self, chosen: Sequence[Agreement]) -> None:
        """One after the other; an hour that is still taken by one to come waits for it."""
        pending, trouble = list(chosen), BadInput("")
        while pending:
            left = list[Agreement]()
            for one in pending:
                try:
                    self._save(one, "")
                except BadInput as found:
                    trouble, left = found, [*left, one]
            if len(left) < len(pending):
                pending = left
            elif not self._lift(pending):
                self._in_spite(pending[0], trouble)
                pending = pending[1:]

    def _save(self, one: Agreement, in_spite: str) -> None:
        day, at = self._plan.asked.wish.day, _time(one)
        errand = self._errands[one.key]
        if errand.visit is None:
            book_visit(self._writing, _wish(errand), day, at, one.staff_id, in_spite=in_spite)
        else:
            rev = self._revs[one.key]
            move_visit(
                self._writing, one.key, rev, day, at, one.staff_id, why=self._why,
                in_spite=in_spite,
            )  # fmt: skip

    def _lift(self, pending: Sequence[Agreement]) -> bool:
        """Take its old hour from a visit that is to have another: two that change places."""
        for one in pending:
            visit = self._errands[one.key].visit
            if visit is not None and visit.at_time is not None and one.key not in self._lifted:
                self._lifted.add(one.key)
                self._revs[one.key] = self._writing.change(
                    "visit", one.key, self._revs[one.key], self._why, at_time=None
                )
                return True
        return False

    def _in_spite(self, one: Agreement, trouble: BadInput) -> None:
        """With the reason, where only that speaks against it which the plan has looked at."""
        spoken = self._spoken(one)
        bearable = BEARABLE | (_TOO_NEAR if self._is_planned_day(one) else set())
        worse = [each for each in spoken if each.bars == "never" or each.code not in bearable]
        if worse or not spoken:
            says = " ".join(each.says for each in worse) or trouble.message
            raise BadInput(f"{one.name}: {says.removesuffix(_NOTHING)}{_NOTHING}")
        self._save(one, self._why)

    def _spoken(self, one: Agreement) -> tuple[Objection, ...]:
        errand, day = self._errands[one.key], self._plan.asked.wish.day
        visit_id = None if errand.visit is None else one.key
        wish = _wish(errand) if errand.visit is None else wish_of_visit(errand.visit)
        writing = self._writing
        found = question(
            writing.connection, writing.book.zone, wish, writing.act.at, day, day,
            visit_id=visit_id, drives=drive_table(writing.book),
        )  # fmt: skip
        return spoken_against(found, wish, day, _time(one), one.staff_id, wish.minutes, visit_id)

    def _is_planned_day(self, one: Agreement) -> bool:
        """Whether all that stands in the person's diary stands there as it was planned."""
        planned = {
            stop.errand.key: stop
            for each in self._plan.rounds
            if each.driver.staff_id == one.staff_id
            for stop in each.stops
        }
        return all(
            each.id in planned and _hour(planned[each.id]) == minute_of(each.at_time)
            for each in self._planned()
            if each.staff_id == one.staff_id and each.at_time is not None and each.id != one.key
            and not self._is_new(each)
        )  # fmt: skip

    def _is_new(self, visit: Visiting) -> bool:
        """Whether it was booked by this action, so that it stands as it was planned."""
        known = {one.key for one in self._plan.asked.errands if one.visit is not None}
        return visit.id not in known | self._plan.asked.wish.left


_NOTHING = " Nothing was saved."
_TOO_NEAR = frozenset({"clash", "drive"})
"""Beside visits of the plan alone: one that keeps its agreed hour is planned minutes beside it."""


def _taken_said(visit: Visiting) -> str:
    at = "" if visit.at_time is None else f" at {visit.at_time:%H:%M}"
    return f"{named(visit)}{at}{f' with {visit.who}' if visit.who else ''}"


def _time(one: Agreement) -> time:
    if one.begins >= DAY_MIN:
        raise BadInput(f"{one.name} would begin after midnight.{_NOTHING}")
    return time(one.begins // 60, one.begins % 60)


def _wish(errand: Errand) -> Wish:
    ponds = dict.fromkeys(_ponds(errand))
    pond = next(iter(ponds)) if len(ponds) == 1 else None
    return Wish(errand.site_id, pond, errand.kind, errand.minutes, errand.purposes)


def _ponds(errand: Errand) -> Iterator[UUID | None]:
    for one in errand.purposes:
        yield one.pond_id
