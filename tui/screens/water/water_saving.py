"""A water test made of what was typed, saved, and what it changed in what the rules say."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, tzinfo
from typing import TYPE_CHECKING
from uuid import UUID

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.watch.concern import Concern
    from store.water.understood import Understood
    from store.water.water_tests import NewTest, WaterTest


def taken_at(typed: datetime | None, before: WaterTest | None, now: datetime) -> datetime:
    """When the sample was taken: as typed, else as the test to be corrected says, else now."""
    if before is None:
        return typed or now
    # A line says minutes; a time that was left as it was keeps its seconds.
    if typed is None or typed == before.taken_at.replace(second=0, microsecond=0):
        return before.taken_at
    return typed


def new_test(
    understood: Understood,
    texts: Mapping[str, str],
    *,
    now: datetime,
    zone: tzinfo,
    before: WaterTest | None,
    way: str,
    kit_id: UUID | None,
) -> NewTest:
    """The test that the line or the form says, with how it was taken.

    Raises
    ------
    BadInput
        As for `read_details`.
    """
    from store.water.form import detail_texts, read_details
    from store.water.water_tests import NewTest

    at = taken_at(understood.taken_at, before, now)
    details = read_details(texts, taken_at=at, now=now, zone=zone)
    if before is not None and at == before.taken_at:
        had = detail_texts(before, zone).get("tested_at")
        if had is not None and texts.get("tested_at") == had:
            details = replace(details, tested_at=before.tested_at)
    return NewTest(
        taken_at=at,
        readings=understood.readings,
        note=understood.note,
        way=way,
        place=details.place,
        depth_m=details.depth_m,
        tested_at=details.tested_at,
        since_feeding_min=details.since_feeding_min,
        since_water_change_min=details.since_water_change_min,
        binder_days=details.binder_days,
        kit_id=kit_id,
    )


@dataclass(frozen=True, slots=True)
class Saved:
    """A test that has just been saved: the concerns that came with it, and those that ended."""

    key: UUID
    new: tuple[Concern, ...]
    gone: tuple[Concern, ...]


def save(
    book: Book, act: Act, pond: UUID, new: NewTest, correcting: WaterTest | None, why: str
) -> Saved:
    """Save a new test, or a correction with its reason.

    Raises
    ------
    PondroundError
        As for `save_test` and `correct_test`; nothing was saved then.
    """
    from store.courses.kept.morning import watch_pond
    from store.water.water_tests import correct_test, save_test

    before = watch_pond(book, pond, act.at).concerns
    if correcting is None:
        key = save_test(book, act, pond, new)
    else:
        key = correct_test(book, act, correcting.key, correcting.rev, new, why)
    after = watch_pond(book, pond, act.at).concerns
    # A rule that speaks in a harder level than before is new as well.
    had = {(concern.rule, concern.level) for concern in before}
    stay = {concern.rule for concern in after}
    return Saved(
        key,
        tuple(concern for concern in after if (concern.rule, concern.level) not in had),
        tuple(concern for concern in before if concern.rule not in stay),
    )
