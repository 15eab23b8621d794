"""What the van carries to a call, by what was told; common practice."""

from __future__ import annotations

from dataclasses import dataclass

from store.diary.calling.sheet import Told
from store.diary.calling.triage import Triage
from store.facts.call_questions import WHEN, to_carry
from store.facts.entry import Standing


@dataclass(frozen=True, slots=True)
class Carried:
    """One thing to take along, and why; `because` is empty for what always goes along."""

    code: str
    says: str
    because: str
    source: str
    standing: Standing


def asks_for(one: Told, found: Triage) -> frozenset[str]:
    """What was told, or was not, that asks for something to be carried.

    Parameters
    ----------
    one
        What was told.
    found
        How urgent it is.

    Returns
    -------
    frozenset of str
        Codes of `store.facts.call_questions.WHEN`. What is not known is prepared for.
    """
    raised = found.codes
    known = {
        "reportable": "reportable" in raised,
        "gasping": bool(raised & {"gasping", "oxygen"}),
        "accident": bool(raised & {"accident", "chlorine"}),
        "sores": "sores" in raised,
        "stopped": "stopped" in raised,
        "dead": one.died,
        "deaths": one.died and (one.dead is None or one.dead > 1),
        "new_fish": "new_fish" in one.yes,
        "put_in": bool(one.put_in),
        "mains": "hose" not in one.no,
        "volume": one.volume_l is None,
        "no_bowl": "bowl" not in one.yes,
        "no_water": not one.tap,
        "no_power": not one.socket,
        "food": one.use != "ornamental",
    }
    return frozenset(code for code, is_so in known.items() if is_so)


def van_list(one: Told, found: Triage) -> tuple[Carried, ...]:
    """What the van carries, in the order in which it is packed.

    Parameters
    ----------
    one
        What was told.
    found
        How urgent it is.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> from store.diary.calling.sheet import told
    >>> from store.diary.calling.triage import triage
    >>> one = told({"gasping": "yes"}, now=datetime(2026, 5, 2, tzinfo=UTC), zone=UTC)
    >>> next(each.because for each in van_list(one, triage(one)) if each.code == "logger")
    'fish gasp'
    """
    asked = asks_for(one, found)
    return tuple(
        Carried(
            each.code, each.says, "; ".join(WHEN[code] for code in each.when if code in asked),
            each.source, each.standing,
        )
        for each in to_carry().values()
        if not each.when or asked.intersection(each.when)
    )  # fmt: skip
