"""Saving a water test, and what it changed in what the rules say."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from uuid import UUID

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.watch.concern import Concern
    from store.water.water_tests import NewTest, WaterTest


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
    from store.watch.morning import watch_pond
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
