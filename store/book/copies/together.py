"""Columns of a table that say one thing together, and so are taken from one side or the other."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from sqlalchemy import CheckConstraint, Table

STRUCK = ("struck_at", "struck_by", "struck_why")

_SAID: Mapping[str, tuple[tuple[str, ...], ...]] = MappingProxyType({
    "site": (("latitude", "longitude"),),
    "pond": (
        ("volume_l", "volume_method", "volume_low_l", "volume_high_l", "volume_estimate_id"),
        ("test_every_days", "test_seasons"),
    ),
    "volume_estimate": (("method", "litres", "low_l", "high_l", "workings", "inputs"),),
    "visit": (("on_day", "at_time", "staff_id"),),
    "course": (("state", "started_on", "ended_on", "end_why"),),
    "course_dose": (("due_on", "state"), ("dose", "amount", "amount_unit")),
    "dose_given": (("dose", "amount", "amount_unit"),),
    "product": (("strength_percent", "strength_basis", "density_g_ml"), ("pack_size", "pack_unit")),
    "follow_up": (("state", "ended_on", "ended_why"),),
    "follow_up_day": (("state", "moved_to", "kept_on", "visit_id", "why"),),
    "call_note": (("state", "closed_why"),),
    "contact_attempt": (("outcome", "ring_on", "ring_at"),),
    "working_hours": (("start_place", "start_latitude", "start_longitude"),),
    "way_home": (("place", "latitude", "longitude"),),
    "head_count": (("fish", "how"),),
    "examined_fish": (("length_cm", "length_kind"), ("weight_g", "weight_how")),
    "lab_sample": (("result", "reported_on", "said", "report"),),
})  # fmt: skip


@cache
def groups(target: Table) -> Mapping[str, tuple[str, ...]]:
    """For every column of a table the columns that are taken together with it, itself among them.

    What a check compares belongs together too: half of one side and half of the other might be
    something that the book cannot hold.

    Parameters
    ----------
    target
        The table.

    Returns
    -------
    mapping
        By name of the column.
    """
    found: dict[str, set[str]] = {one.name: {one.name} for one in target.columns}
    wanted = [*_SAID.get(target.name, ()), *_checked_together(target)]
    if "struck_at" in target.c:
        wanted.append(STRUCK)
    for names in wanted:
        joined = set().union(*(found[name] for name in names))
        for name in joined:
            found[name] = joined
    order = [one.name for one in target.columns]
    return {name: tuple(sorted(together, key=order.index)) for name, together in found.items()}


def _checked_together(target: Table) -> list[tuple[str, ...]]:
    checks = (one for one in target.constraints if isinstance(one, CheckConstraint))
    named = (
        tuple(
            name
            for name in (column.name for column in target.columns)
            if re.search(rf"\b{name}\b", str(one.sqltext))
        )
        for one in checks
    )
    return [names for names in named if len(names) > 1]
