"""What the strip and the head of a round say: why a stop stands there, and what that rests on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING
from uuid import UUID

from rich.cells import cell_len

from store.rounds.day.said import suspects_among
from store.rounds.solving.said import clock_said
from tui.screens.diary.diary_lines import (
    said_hour,
    said_long_day,
    said_purpose,
)
from tui.screens.rounds.round_lines import (
    RoundKey,
    errand_of,
    said_end,
    said_many,
    said_marks,
    said_proof,
    stop_of,
)
from tui.widgets.literal import one_line
from tui.widgets.strip import Told

if TYPE_CHECKING:
    from store.diary.booking.values import Visiting
    from store.rounds.day.values import DayAsked, DayPlan, DayWish, Errand, Round, RoundStop

CHANGED = "{what} has changed since: f5 plans again"
NO_VET = (
    "{who} on this day, so there is no round. ← → go to other days; in the diary (6) h says "
    "who works when."
)
NOT_BOOKED = "Nothing is booked on this day."
NO_VISIT = (
    "Nothing is booked on this day. Visits are booked from the desk (5), or with v on the page of "
    "a pond. ← → go to other days, w shows the week ahead."
)
NOTHING_DUE = "Nothing is booked on this day, and nothing that is due could be added to it. "
WITHOUT_DUE = "Nothing is booked on this day. a adds what is due and near the way. "


@dataclass(frozen=True, slots=True)
class Shown:
    """What the head tells beside the plan: whether it is out of date, what it was as agreed.

    `as_agreed` is the plan in which agreed hours were kept; `width` that of the head [cells].
    """

    wish: DayWish
    changed: str = ""
    as_agreed: DayPlan | None = None
    width: int = 78


# The head


def said_place(day: date, today: date, who: str) -> str:
    """The day, and whose round alone is shown."""
    away = (day - today).days
    near = {0: "today, ", 1: "tomorrow, "}.get(away, "")
    whose = f" of {one_line(who)}" if who else ""
    return f"Round{whose}: {near}{said_long_day(day)}"


def said_planning(seconds: int, best_min: int | None) -> str:
    """How long it has been planned, the best so far, and how it is ended."""
    if best_min is None:
        return f"planning, {seconds} s; esc ends it"
    return f"planning, {seconds} s; best so far {best_min} min of driving, esc keeps it"


def said_state(plan: DayPlan, shown: Shown) -> str:
    """Visits, driving, proof, what is out of the ordinary, in one line: weightiest first."""
    stops = sum(len(one.stops) for one in plan.rounds)
    parts = [shown.changed] if shown.changed else []
    if not shown.wish.ordered:
        parts.append("order rule off (o)")
    parts.append(
        f"{said_many(stops, 'visit')}, {plan.found.drive_min} min of driving, "
        f"{said_proof(plan.found)}"
    )
    if plan.left_out:
        parts.append(f"{len(plan.left_out)} left out")
    remarks = remarks_of(plan.asked, plan)
    if remarks:
        suspect = ": suspect among others" if any(suspects_among(plan.rounds)) else ""
        parts.append(f"{said_many(len(remarks), 'remark')} (r){suspect}")
    if shown.wish.agreed == "free":
        parts.append(_said_free(plan, shown.as_agreed))
    parts += _said_wish(shown.wish)
    return said_lines(parts, shown.width)


def said_lines(parts: Iterable[str], width: int) -> str:
    """Parts beside each other; one for which a line has no room begins the next.

    Parameters
    ----------
    parts
        In their order.
    width
        Of a line [cells].

    Examples
    --------
    >>> said_lines(["12 visits", "1 left out", "8 remarks"], 24)
    '12 visits   1 left out\\n8 remarks'
    """
    lines: list[str] = []
    for part in parts:
        if lines and cell_len(lines[-1]) + 3 + cell_len(part) <= width:
            lines[-1] += f"   {part}"
        else:
            lines.append(part)
    return "\n".join(lines)


def _said_free(plan: DayPlan, as_agreed: DayPlan | None) -> str:
    """That agreed hours may move, for how many somebody is rung, and what it was before."""
    rings = sum(stop.ring and stop.errand.booked for one in plan.rounds for stop in one.stops)
    said = f"agreed hours free (g): {rings or 'nobody'} to ring"
    if as_agreed is None:
        return said
    stops = sum(len(one.stops) for one in as_agreed.rounds)
    return f"{said}; as agreed {said_many(stops, 'visit')}, {as_agreed.found.drive_min} min"


def _said_wish(wish: DayWish) -> list[str]:
    parts = []
    if not wish.add_due:
        parts.append("nothing added (a)")
    if wish.held:
        parts.append(f"{len(wish.held)} held in")
    return parts


def remarks_of(asked: DayAsked, plan: DayPlan | None) -> tuple[str, ...]:
    """All that is to be known of a day, each sentence once: rules broken and suspects first."""
    drivers = [said for one in asked.drivers for said in one.remarks]
    planned = () if plan is None else (*plan.broken, *plan.remarks)
    first = [said for said in planned if said not in asked.remarks]
    every = (*first, *asked.remarks, *drivers)
    return tuple(dict.fromkeys(one_line(one) for one in every if one.strip()))


def said_unplanned(asked: DayAsked, who: str, changed: str) -> str:
    """Why there is no round, and how many remarks there are."""
    shown = one_line(who)
    vet = NO_VET.format(who=f"{shown} does not work" if shown else "Nobody works")
    remarks = remarks_of(asked, None)
    parts = [changed, "" if asked.drivers else vet]
    parts.append(f"{said_many(len(remarks), 'remark')} (r)" if remarks else "")
    return "   ".join(filter(None, parts))


# The strip


def told(plan: DayPlan, key: object, today: date, aside: dict[UUID, Errand]) -> Told | None:
    """What the strip says of the line under the cursor."""
    if not isinstance(key, RoundKey):
        return None
    if key.kind in ("driver", "break", "home") and isinstance(key.key, UUID):
        one = plan.round_of(key.key)
        return None if one is None else _told_round(plan, one, key.kind)
    if key.kind == "errand" and isinstance(key.key, UUID):
        found = stop_of(plan, key.key)
        if found is not None:
            return told_stop(found[1], today, _remarks_on(plan, found[1].errand), plan.asked.wish)
        errand = errand_of(plan, key.key)
        if errand is not None and key.key not in aside:
            return _told_out(plan, errand, today)
        errand = aside.get(key.key)
        return None if errand is None else _told_aside(errand, today)
    if key.kind == "broken" and isinstance(key.key, int) and key.key < len(plan.broken):
        return Told("The order rule is off", plan.broken[key.key], "", "Next: o keeps it again.")
    if key.kind == "note" and key.key == 1:
        head = f"{said_many(len(plan.left_out), 'visit is', 'visits are')} left out"
        return Told(head, "Each line tells why, and what would let it in.")
    return None


def _told_round(plan: DayPlan, one: Round, kind: str) -> Told:
    who, driver = one_line(one.driver.who), one.driver
    works = f"Works {clock_said(driver.begins)} to {clock_said(driver.ends)}."
    if not one.stops:
        return Told(f"{who}: nothing to drive to", works, "", " ".join(driver.remarks))
    head = f"{who}: sets out {clock_said(one.sets_out)} from {said_end(driver.start_said)}, back "
    if driver.start_said == driver.home_said:
        head += f"there {clock_said(one.back)}"
    else:
        head += f"{clock_said(one.back)} at {said_end(driver.home_said)}"
    if kind == "home" and one.way_home is not None:
        head = f"{who} is back {clock_said(one.back)} at {said_end(driver.home_said)}"
        works = f"Way home {said_way(one.way_home.planned_min, one.way_home.said)}. {works}"
    elif kind == "break" and one.break_at is not None:
        head = f"{who}: break of {driver.break_min} min at {clock_said(one.break_at)}"
        first, last = clock_said(driver.break_from), clock_said(driver.break_until)
        works = f"It begins between {first} and {last}. {works}"
    else:
        table = plan.timetable_of(driver.staff_id)
        waits = "" if table is None or not table.wait_min else f", {table.wait_min} min of waiting"
        works = f"{one.drive_min} min of driving{waits}. {works}"
    price = "" if plan.price is None else plan.price.says
    return Told(head, works, plan.proof, _sentences(price, *driver.remarks))


def said_way(minutes: int, rests_on: str) -> str:
    """A way with what its minutes rest on."""
    return f"{minutes} min ({one_line(rests_on)})"


def _remarks_on(plan: DayPlan, errand: Errand) -> tuple[str, ...]:
    """What is remarked of one site alone: that it is not alone though suspect, its hours."""
    name = one_line(errand.name)
    every = [one for one in remarks_of(plan.asked, plan) if one not in plan.broken]
    own = [one.removeprefix(f"{name} ") for one in every if one.startswith(f"{name} ")]
    return (*own, *(one for one in every if f" of {name} “" in one))


def told_stop(
    stop: RoundStop, today: date, remarks: Iterable[str] = (), wish: DayWish | None = None
) -> Told:
    """A stop: its times, standing with the reason, hours, way, what it is for and worth.

    Parameters
    ----------
    stop
        The stop.
    today
        The practice's calendar day.
    remarks
        Of this site.
    wish
        What was asked for.
    """
    errand = stop.errand
    head = f"{clock_said(stop.begins)}–{clock_said(stop.ends)} {_head(errand)}"
    if stop.begins > stop.arrives:
        head = f"{head}, there {clock_said(stop.arrives)}"
    standing = f"{_capital(errand.standing_said or errand.standing)}."
    if errand.disinfect_min:
        leaves = clock_said(stop.leaves)
        standing = f"{standing} Disinfect for {errand.disinfect_min} min, leave {leaves}."
    return Told(
        head,
        standing,
        _sentences(
            f"Access: {_stripped(errand.hours_said)}" if errand.hours_said else "",
            f"Way {said_way(stop.way.planned_min, stop.way.said)}",
        ),
        _sentences(said_moved(stop), *remarks, errand.slot_said, _why(errand, today, wish)),
    )


def said_moved(stop: RoundStop) -> str:
    """How much later or earlier than agreed it begins, and whom to ring for that."""
    visit = stop.errand.visit
    if visit is None:
        return ""
    if stop.moved_min is None:
        return f"{_ring(stop.errand)}, no hour was agreed" if stop.ring else ""
    if not stop.moved_min:
        return ""
    later = "later" if stop.moved_min > 0 else "earlier"
    agreed = "" if visit.at_time is None else f" {said_hour(visit.at_time)}"
    moved = f"{abs(stop.moved_min)} min {later} than the agreed{agreed}"
    return f"{moved}: {_lower(_ring(stop.errand))}" if stop.ring else moved


def _ring(errand: Errand) -> str:
    return f"Ring {one_line(errand.phone)}" if errand.phone else "Ring: no telephone number"


def _why(errand: Errand, today: date, wish: DayWish | None = None) -> str:
    why = "; ".join(said_purpose(one, today) for one in errand.purposes)
    if errand.booked:
        note = errand.visit.note if errand.visit is not None else ""
        return why or one_line(note)
    worth = one_line(errand.worth_said)
    if wish is not None and errand.key in wish.held:
        return _sentences(why, worth, "Held in: i lets it go, d leaves it out")
    return _sentences(why, worth, "Not booked: i holds it in, d leaves it out")


def _head(errand: Errand) -> str:
    marks = said_marks(errand)
    kind = one_line(errand.kind) or "visit"
    return f"{one_line(errand.name)}: {kind}{f', {marks}' if marks else ''}"


def _told_out(plan: DayPlan, errand: Errand, today: date) -> Told:
    left = next(
        (one for one in plan.left_out if plan.asked.errands[one.stop].key == errand.key), None
    )
    name = one_line(errand.name)
    why = "" if left is None else _capital(one_line(left.says).removeprefix(f"{name} "))
    helps = "" if left is None else " ".join(left.helps)
    booked = "It stays in the diary until it is moved or cancelled there." if errand.booked else ""
    return Told(
        f"Left out: {_head(errand)}",
        why,
        _sentences(f"Access: {_stripped(errand.hours_said)}", errand.standing_said),
        _sentences(
            helps, *_remarks_on(plan, errand), booked or _why(errand, today, plan.asked.wish)
        ),
    )


def _told_aside(errand: Errand, today: date) -> Told:
    return Told(
        f"Left out by you: {_head(errand)}",
        _sentences(errand.standing_said),
        "",
        _sentences(
            "Next: d lets it in again, i holds it in",
            *(said_purpose(one, today) for one in errand.purposes),
            errand.worth_said,
        ),
    )


def told_booked(visit: Visiting, today: date) -> Told:
    """A booked visit while the day is being planned."""
    from tui.screens.diary.diary_lines import told_visit

    return told_visit(visit, today)


def explained(told: Told) -> str:
    """All that the strip says, in full, one part under the other."""
    return "\n\n".join(part for part in (told.arithmetic, told.source, told.advice) if part)


def _sentences(*parts: str) -> str:
    ended = (_stripped(one_line(part)) for part in parts)
    return " ".join(f"{_capital(one)}." if one[-1] not in "!?" else one for one in ended if one)


def _stripped(text: str) -> str:
    return one_line(text).strip().rstrip(".")


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]
