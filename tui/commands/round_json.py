"""A planned day on the road as one JSON object, for programs."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any

from tui.commands.round_text import remarks_of

if TYPE_CHECKING:
    from store.rounds.day.values import DayPlan, Errand, Round, RoundStop
    from store.travel.ways import Way


def as_json(plan: DayPlan, now: datetime, *, stopped: bool = False) -> dict[str, Any]:
    """The day as one object; clocks are local, `HH:MM`, hours from 24 on of the next day.

    Keys: `now` (ISO 8601), `day`, what was asked (`agreed`, `add_due`, `ordered`), `stopped`
    (whether the search was ended), `sunrise` and `sunset` (or null), `rounds`, `left_out`,
    `drive_min`, `cost_min` (driving and the price of what is left out), `bound_min` (what no order
    can cost less than), `proven`, `shortest`, `each_proven`, `proof`, `order_price_min`,
    `order_price_visits` and `order_price` (what clean before infected costs, or null), `broken`,
    `remarks`. A round has `staff_id`, `who`, `works_from`, `works_until`, `start`, `home`,
    `sets_out`, `back`, `drive_min`, `break_min`, `break_at`, `way_home` and `stops`. A stop is an
    errand with `way`, `arrives`, `begins`, `ends`, `leaves`, `moved_min` and `ring`. An errand has
    `key`, `visit`, `booked`, `client_id`, `site_id`, `pond_ids`, `name`, `kind`, `visit_min`,
    `disinfect_min`, `standing`, `standing_said`, `hours_said`, `agreed_at`, `fixed`, `slot`,
    `slot_said`, `weight`, `worth_min` (null where it must be), `worth_said`, `purposes`, `phone`,
    `latitude` and `longitude`. What is left out has the errand's keys with `why`, `says` and
    `helps`. A way has `known_min` (null where nobody knows), `planned_min` (whole, as it is
    driven in the plan), `km` by road (or null), `basis` and `said`.

    Parameters
    ----------
    plan
        The day.
    now
        The present instant.
    stopped
        Whether the search was ended early.
    """
    asked, found, price = plan.asked, plan.found, plan.price
    rises, sets = asked.light or (None, None)
    return {
        "now": now.isoformat(),
        "day": asked.wish.day.isoformat(),
        "agreed": asked.wish.agreed,
        "add_due": asked.wish.add_due,
        "ordered": asked.wish.ordered,
        "stopped": stopped,
        "sunrise": clock(rises),
        "sunset": clock(sets),
        "rounds": [_round(one) for one in plan.rounds],
        "left_out": [
            {
                **_errand(asked.errands[one.stop]),
                "why": one.why,
                "says": one.says,
                "helps": list(one.helps),
            }
            for one in plan.left_out
        ],
        "drive_min": found.drive_min,
        "cost_min": found.cost,
        "bound_min": found.bound,
        "proven": found.proven,
        "shortest": found.shortest,
        "each_proven": found.each_proven,
        "proof": plan.proof,
        "order_price_min": price.more_min if price else None,
        "order_price_visits": price.more_left_out if price else None,
        "order_price": price.says if price else None,
        "broken": list(plan.broken),
        "remarks": list(remarks_of(plan)),
    }


def clock(minute: int | None) -> str | None:
    """A minute of the local day as `HH:MM`, from 24:00 on of the next day; null stays null.

    Parameters
    ----------
    minute
        Since the beginning of the day [min].

    Examples
    --------
    >>> clock(575), clock(1470), clock(None)
    ('09:35', '24:30', None)
    """
    return None if minute is None else f"{minute // 60:02}:{minute % 60:02}"


def _round(one: Round) -> dict[str, Any]:
    driver = one.driver
    return {
        "staff_id": str(driver.staff_id),
        "who": driver.who,
        "works_from": clock(driver.begins),
        "works_until": clock(driver.ends),
        "start": driver.start_said,
        "home": driver.home_said,
        "sets_out": clock(one.sets_out),
        "back": clock(one.back),
        "drive_min": one.drive_min,
        "break_min": driver.break_min if one.break_at is not None else 0,
        "break_at": clock(one.break_at),
        "way_home": way(one.way_home),
        "stops": [_stop(stop) for stop in one.stops],
    }


def _stop(stop: RoundStop) -> dict[str, Any]:
    return {
        **_errand(stop.errand),
        "way": way(stop.way),
        "arrives": clock(stop.arrives),
        "begins": clock(stop.begins),
        "ends": clock(stop.ends),
        "leaves": clock(stop.leaves),
        "moved_min": stop.moved_min,
        "ring": stop.ring,
    }


def way(one: Way | None) -> dict[str, Any] | None:
    """One way and what it rests on.

    Parameters
    ----------
    one
        The way; None where there is none.
    """
    if one is None:
        return None
    return {
        "known_min": one.minutes,
        "planned_min": one.planned_min,
        "km": None if one.km is None else round(one.km, 2),
        "basis": one.basis,
        "said": one.said,
    }


def _errand(one: Errand) -> dict[str, Any]:
    visit = one.visit
    return {
        "key": str(one.key),
        "visit": str(visit.id) if visit else None,
        "booked": one.booked,
        "client_id": str(one.client_id),
        "site_id": str(one.site_id),
        "pond_ids": [str(pond) for pond in one.pond_ids],
        "name": one.name,
        "kind": one.kind,
        "visit_min": one.minutes,
        "disinfect_min": one.disinfect_min,
        "standing": one.standing,
        "standing_said": one.standing_said,
        "hours_said": one.hours_said,
        "agreed_at": f"{visit.at_time:%H:%M}" if visit and visit.at_time else None,
        "fixed": bool(visit and visit.fixed),
        "slot": one.slot,
        "slot_said": one.slot_said,
        "weight": one.weight,
        "worth_min": None if one.booked else one.skip_cost,
        "worth_said": one.worth_said,
        "purposes": [purpose.says for purpose in one.purposes],
        "phone": one.phone,
        "latitude": one.latitude,
        "longitude": one.longitude,
    }
