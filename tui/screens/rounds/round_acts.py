"""What the keys of a round do: open a stop, hold in and leave out, the order rule, whose round."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final
from uuid import UUID

from store.errors import PondroundError
from tui.screens.parts.dialogs import Ask, Choose, Option, Tell
from tui.screens.rounds.round_lines import said_many
from tui.screens.rounds.stop_pond import pond_of_stop

if TYPE_CHECKING:
    from store.diary.booking.values import Visiting
    from store.rounds.day.values import DayPlan, Driver, Errand
    from tui.screens.rounds.round_keys import RoundKeys

STILL: Final = "The day is still being planned; esc keeps the best so far."
NO_ROUND: Final = "There is no round on this day."
NO_VISIT_HERE: Final = "This line is no visit: move to one."
_ALL: Final = "all"
_GIVEN_UP: Final = (
    "Clean ponds come before doubtful, infected and suspect ones so that nets, bowls, boots and "
    "hands carry nothing on. Without the rule a sick pond may come before a clean one, and only "
    "disinfection stands between them. {price} Every pair that is against the rule is listed above "
    "the rounds, with what would help. The rule is kept again with o, and on every other day."
)


async def open_stop(screen: RoundKeys, errand: Errand | None, visit: Visiting | None) -> None:
    """The pond of a stop, of several one that is chosen; without any the visit or the client."""
    from tui.screens.diary.visit import VisitScreen

    app = screen.ponds_app
    if errand is not None and errand.pond_ids:
        pond = await pond_of_stop(app, errand)
        if pond is not None:
            app.open_pond(pond)
        return
    if visit is not None and visit.pond_id is not None:
        app.open_pond(visit.pond_id)
        return
    booked = visit or (None if errand is None else errand.visit)
    if booked is not None:
        app.push_screen(VisitScreen(booked.id))
    elif errand is not None:
        app.open_client(errand.client_id)


def show_remarks(screen: RoundKeys) -> None:
    """All that is not known, strange, or to be known of the day."""
    remarks = screen.remarks
    if not remarks:
        still = screen.plan is None and screen.is_planning
        screen.notify(STILL if still else "There is nothing to remark on this day.", markup=False)
        return
    screen.app.push_screen(Tell(said_many(len(remarks), "remark"), "\n\n".join(remarks)))


def hold(screen: RoundKeys) -> None:
    """Hold in what is not booked, or no longer."""
    errand, wish = screen.here, screen.wish
    if errand is None or wish is None:
        screen.notify(STILL if screen.plan is None else NO_VISIT_HERE, markup=False)
        return
    if errand.booked:
        screen.notify(
            "It is booked: it is in the round wherever it fits. Where it does not, the strip tells "
            "what would let it in.",
            markup=False,
        )
        return
    key = frozenset({errand.key})
    held = wish.held - key if errand.key in wish.held else wish.held | key
    what = "held in" if errand.key in held else "no longer held in"
    screen.aside.pop(errand.key, None)
    screen.notify(f"{errand.name} is {what}.", markup=False)
    screen.plan_anew(replace(wish, held=held, left=wish.left - key))


def leave_out(screen: RoundKeys) -> None:
    """Leave out what is not booked, or let it in again; what is booked stays."""
    errand, wish = screen.here, screen.wish
    if errand is None or wish is None:
        screen.notify(STILL if screen.plan is None else NO_VISIT_HERE, markup=False)
        return
    if errand.booked:
        screen.notify(
            "It is booked and stays booked: p opens the visit, and there it is moved or cancelled. "
            "Nothing was changed.",
            markup=False,
        )
        return
    key = frozenset({errand.key})
    if errand.key in wish.left:
        screen.aside.pop(errand.key, None)
        left, said = wish.left - key, "may be in the round again"
    else:
        screen.aside[errand.key] = errand
        left, said = wish.left | key, "is left out of this plan"
    screen.notify(f"{errand.name} {said}.", markup=False)
    screen.plan_anew(replace(wish, left=left, held=wish.held - key))


async def turn_order(screen: RoundKeys) -> None:
    """Give up clean before infected after a question, or keep it again."""
    wish = screen.wish
    if wish is None:
        return
    if wish.ordered:
        plan = screen.plan
        price = "" if plan is None or plan.price is None else plan.price.says
        question = Ask(
            "Plan without clean before infected?",
            _GIVEN_UP.format(price=price).replace("  ", " "),
            yes="Plan without it",
            no="Keep the rule",
        )
        if not await screen.app.push_screen_wait(question):
            return
    if screen.wish is wish:
        screen.plan_anew(replace(wish, ordered=not wish.ordered))


async def choose_vet(screen: RoundKeys) -> None:
    """Whose round is planned."""
    from store.book.people import staff

    app, wish = screen.ponds_app, screen.wish
    if wish is None:
        return
    try:
        people = await app.ask_store(staff, app.book)
    except PondroundError as trouble:
        app.tell(trouble)
        return
    driving = set() if screen.plan is None else {
        one.staff_id for one in screen.plan.asked.drivers
    }  # fmt: skip
    options = [Option(_ALL, "everybody who drives")]
    options += [
        Option(one.id, one.name, one.role) for one in people if one.is_vet or one.id in driving
    ]
    start = wish.staff[0] if len(wish.staff) == 1 else _ALL
    chosen = await app.push_screen_wait(Choose("Whose round?", options, start=start))
    if chosen is None:
        return
    staff_ids = (chosen,) if isinstance(chosen, UUID) else ()
    screen.who = next((one.name for one in people if one.id == chosen), "")
    screen.plan_anew(replace(wish, staff=staff_ids))


def planned_or_said(screen: RoundKeys) -> DayPlan | None:
    """The plan; where there is none, or it is still being planned, that is said."""
    if screen.is_planning:
        screen.notify(STILL, markup=False)
        return None
    if screen.plan is None:
        screen.notify(NO_ROUND, markup=False)
    return screen.plan


async def whose(screen: RoundKeys, title: str) -> Driver | None:
    """Whose round is meant: that under the cursor, the only one, or the one that is chosen."""
    plan = planned_or_said(screen)
    if plan is None:
        return None
    driving = [one for one in plan.rounds if one.stops]
    if not driving:
        screen.notify(NO_ROUND, markup=False)
        return None
    here = screen.driver_here
    if here is not None and any(one.driver == here for one in driving):
        return here
    options = [
        Option(one.driver.staff_id, one.driver.who, said_many(len(one.stops), "visit"))
        for one in driving
    ]
    chosen = await screen.app.push_screen_wait(Choose(title, options))
    return next((one.driver for one in driving if one.driver.staff_id == chosen), None)


async def run_late(screen: RoundKeys) -> None:
    """What a delay does to a round: which stop was left, how late, then the new times."""
    from tui.screens.rounds.late import LateScreen, minute_on
    from tui.screens.rounds.late_form import LateForm

    who, plan, app = await whose(screen, "Who runs late?"), screen.plan, screen.ponds_app
    if who is None or plan is None:
        return
    minute, here = minute_on(plan, app.now(), app.book.zone), screen.here
    one = plan.round_of(who.staff_id)
    keys = [] if one is None else [stop.errand.key for stop in one.stops]
    left = keys.index(here.key) + 1 if here is not None and here.key in keys else 0
    lateness = await app.push_screen_wait(LateForm(plan, who.staff_id, minute, left))
    if lateness is not None:
        app.push_screen(LateScreen(plan, who.staff_id, lateness))


async def agree(screen: RoundKeys) -> None:
    """What the plan would change in the diary, and entering it."""
    from store.rounds.kept.days.agree import agreeing
    from tui.screens.rounds.agree import AgreeScreen

    plan = planned_or_said(screen)
    if plan is None:
        return

    def entered(count: int) -> None:
        screen.notify(
            f"{said_many(count, 'visit')} entered in the diary; the day is planned again from it.",
            markup=False,
        )
        screen.plan_anew()

    changes = await screen.ponds_app.ask_store(agreeing, plan)
    screen.app.push_screen(AgreeScreen(plan, changes, entered))
