"""What the screens of the rules ask of the store in one step, in a thread of its own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from uuid import UUID

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from store.book.book import Book
    from store.watch.rule_page import RuleLine, RulePage
    from store.watch.trial import Progress, Trial


def pond_name(book: Book, pond: UUID | None) -> str:
    """Client and pond in one phrase; empty without a pond."""
    if pond is None:
        return ""
    from store.book.ponds import card

    found = card(book, pond)
    return f"{found.client.name}, {found.pond.name}"


def rules_of(book: Book, pond: UUID | None) -> tuple[str, tuple[RuleLine, ...]]:
    """The name of the pond, and the rules in force there or in the practice."""
    from store.watch.rule_page import rules_in_force

    return pond_name(book, pond), rules_in_force(book, pond)


def page_of(book: Book, code: str, pond: UUID | None) -> tuple[str, RulePage]:
    """The name of the pond, and one rule."""
    from store.watch.rule_page import rule_page

    return pond_name(book, pond), rule_page(book, code, pond)


@dataclass(frozen=True, slots=True)
class Trials:
    """A rule on the past year as it is in force, and with the numbers that are not saved yet."""

    now: Trial
    changed: Trial | None


def trials_of(
    book: Book,
    now: datetime,
    page: RulePage,
    staged: Mapping[str, float],
    pond: UUID | None,
    progress: Progress,
) -> Trials:
    """Try the rule as it is, and with the changed numbers where there are any."""
    from store.watch.trial import try_rules, with_numbers

    rule = page.line.rule
    rules = (rule, with_numbers(rule, staged)) if staged else (rule,)
    found = try_rules(book, now, rules, pond=pond, progress=progress)
    return Trials(found[0], found[1] if staged else None)
