"""Deaths over a stock behind `pondround reckon mortality`: text in, an answer out."""

from __future__ import annotations

import argparse
import re
from datetime import timedelta
from typing import TYPE_CHECKING

from store.errors import BadInput
from tui.commands.answer import Answer, Value
from tui.commands.reckoned_exams import fish, share
from tui.commands.typed import day

if TYPE_CHECKING:
    from datetime import date

    from store.watch.stock import Move, MoveKind

_NOT_LOOKED = frozenset({"-", "–", "?"})


def mortality(args: argparse.Namespace) -> Answer:
    """Daily, weekly and cumulative mortality, beside what others call much."""
    from store.exams.beside import beside
    from store.exams.mortality import mortality as reckoned
    from store.watch.stock import Count

    counted = day(args.counted, "day of the count")
    stock = fish(args.stock, "number of fish")
    if stock < 1:
        raise BadInput("The number of fish must be at least 1.", field="number of fish")
    moves, last = _died(args.deaths, counted)
    moves += [_moved(one, "added") for one in args.added]
    moves += [_moved(one, "removed") for one in args.removed]
    answer = reckoned(
        [Count(counted, "", stock)], moves, counted + timedelta(days=1), last,
        confidence=share(args.confidence, "confidence"),
    )  # fmt: skip
    week = answer.weeks[-1]
    interval = answer.interval
    values: dict[str, Value] = {
        "said": answer.said,
        "percent": None if answer.share is None else 100.0 * answer.share,
        "low": None if interval is None else 100.0 * interval.low,
        "high": None if interval is None else 100.0 * interval.high,
        "dead": answer.dead,
        "of": answer.of,
        "week_percent": None if week.share is None else 100.0 * week.share,
        "day_percents": tuple(100.0 * one.share for one in answer.days if one.share is not None),
        "denominator": answer.denominator,
        "days_not_looked_at": len(answer.not_looked),
    }
    units = {
        **dict.fromkeys(("said", "denominator"), "1"),
        **dict.fromkeys(("percent", "low", "high", "week_percent", "day_percents"), "%"),
        **dict.fromkeys(("dead", "of"), "fish"),
        "days_not_looked_at": "days",
    }
    labels = {
        "said": "deaths",
        "denominator": "of",
        "day_percents": "each day looked at",
        "week_percent": "last days, up to 7",
        "percent": "in all",
        "low": "low",
        "high": "high",
    }
    told = tuple(
        f"{'Reached: ' if one.reached else ''}{one.said} ({one.source})"
        for one in beside(answer)
        if one.reached is not False
    )
    return Answer(values, units, labels, answer.arithmetic, answer.source,
                  (*answer.remarks, *told))  # fmt: skip


def _died(text: str, counted: date) -> tuple[list[Move], date]:
    from store.watch.stock import Move

    typed = [one for one in re.split(r"[,;\s]+", text.strip()) if one]
    if not typed:
        raise BadInput("There are no deaths. Please give one number a day.", field="deaths")
    moves = [
        Move(counted + timedelta(days=place), "died", _dead(one))
        for place, one in enumerate(typed, start=1)
        if one not in _NOT_LOOKED
    ]
    return moves, counted + timedelta(days=len(typed))


def _dead(text: str) -> int:
    number = fish(text, "number of dead fish")
    if number < 0:
        raise BadInput("Fewer than no fish cannot have died.", field="number of dead fish")
    return number


def _moved(text: str, kind: MoveKind) -> Move:
    from store.watch.stock import Move

    when, parted, number = text.partition(":")
    moved = fish(number, "number of fish") if parted else 0
    if moved < 1:
        raise BadInput(
            f"Fish that were {kind} are written as day and number, such as 2026-06-11:4.",
            field=kind,
        )
    return Move(day(when, f"day on which fish were {kind}"), kind, moved)
