"""Which number belongs to which name.

People write the name before the number or after it, and both on one line. Every way to pair
neighbours gets a cost; the cheapest way is taken. Where two ways cost the same, the numbers they
disagree about become questions.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from store.water.pieces import Piece
from store.water.plausible import fits
from store.water.words import NAMED_BY_UNIT, Name

_NAME_ALONE = 6.0
_WEAK_NAME_ALONE = 1.0
_AMOUNT_ALONE = 10.0
_OVER_COMMA = 4.0
_OVER_WORDS = 4.0
_TOO_FAR = 7.0
_BOUND_FAST = -3.0
_LEANING = 0.001


@dataclass(frozen=True, slots=True)
class Item:
    """A name or an amount, and what stands between it and the item before."""

    piece: Piece
    gap: float
    """The cost of reaching over to the item before; infinite over a stop."""
    words_before: bool
    """Words that nobody understood stand between."""
    joined: bool
    """Nothing stands between, or `=` or `:`."""


@dataclass(frozen=True, slots=True)
class Pair:
    """A name and its amount, or one of them alone."""

    name: Item | None
    amount: Item | None
    sure: bool = True

    @property
    def start(self) -> int:
        """Where it begins in the line."""
        return min(item.piece.start for item in (self.name, self.amount) if item is not None)

    @property
    def end(self) -> int:
        """Where it ends in the line."""
        return max(item.piece.end for item in (self.name, self.amount) if item is not None)


def items_of(pieces: list[Piece]) -> list[Item]:
    """Names and amounts with what lies between them; neighbouring names of one thing are one.

    Parameters
    ----------
    pieces
        As `store.water.pieces.cut` gave them.

    Returns
    -------
    list of Item
        In order.
    """
    items: list[Item] = []
    gap, words, marked = 0.0, False, False
    end = -1
    for piece in pieces:
        if piece.kind == "stop":
            gap = math.inf
        elif piece.kind == "comma":
            gap += _OVER_COMMA
        elif piece.kind == "bind":
            marked = True
        elif piece.kind == "word":
            gap += _OVER_WORDS
            words = True
        elif piece.kind in {"name", "amount"}:
            joined = marked or end == piece.start
            merged = None
            if items and gap == 0.0 and piece.name is not None:
                merged = _one_name(items[-1].piece, piece)
            if merged is not None:
                before = items[-1]
                items[-1] = Item(merged, before.gap, before.words_before, before.joined)
            else:
                items.append(Item(piece, gap, words, joined))
            gap, words, marked, end = 0.0, False, False, piece.end
    return _forms_behind(items)


def _forms_behind(items: list[Item]) -> list[Item]:
    """`TAN 0.5 NH3` as `NH3 0.5`: a second name of the same thing behind the number is its form."""
    kept: list[Item] = []
    for place, item in enumerate(items):
        free = place + 1 == len(items) or items[place + 1].piece.amount is None
        name = item.piece.name
        if name is not None and name.form and item.gap == 0.0 and len(kept) > 1 and free:
            first, amount = kept[-2], kept[-1]
            merged = _one_name(first.piece, item.piece)
            if merged is not None and amount.piece.amount is not None and amount.gap == 0.0:
                kept[-2] = replace(first, piece=replace(first.piece, name=merged.name))
                kept[-1] = replace(amount, piece=replace(amount.piece, end=item.piece.end))
                continue
        kept.append(item)
    return kept


def _one_name(before: Piece, after: Piece) -> Piece | None:
    """`ammonia (NH3)` or `water temp C` as one name; nothing where they are two."""
    if before.name is None or after.name is None:
        return None
    first, second = before.name, after.name
    if first.parameter != second.parameter or not first.parameter:
        return None
    if first.stated or second.stated:
        form = first.form if first.stated else second.form
    elif first.form and second.form and first.form != second.form:
        form = ""  # `NH3 NH4`: the sum of both, as nothing we know
    else:
        form = first.form or second.form
    name = Name(
        first.parameter,
        form,
        first.unit or second.unit,
        first.stated or second.stated,
        first.weak and second.weak,
        first.loose and second.loose,
    )
    return Piece("name", before.start, after.end, name=name)


def pair(items: list[Item], plausible: Callable[[Name, Piece], float]) -> list[Pair]:
    """The cheapest pairing of neighbours.

    Parameters
    ----------
    items
        As `items_of` gave them.
    plausible
        The cost [-] of taking an amount for that name: 0 for a usual value, more for an odd one.

    Returns
    -------
    list of Pair
        In order; `sure` is False where another pairing is as good, where words stand between, or
        where a further number or name stands right beside it.
    """
    names_first = _cheapest(items, plausible, _LEANING)
    amounts_first = _cheapest(items, plausible, -_LEANING)
    other_way = {(found.name, found.amount) for found in amounts_first}
    result: list[Pair] = []
    for place, found in enumerate(names_first):
        sure = (found.name, found.amount) in other_way
        if found.name is not None and found.amount is not None:
            later = (
                found.amount if found.amount.piece.start > found.name.piece.start else found.name
            )
            sure = sure and not later.words_before and not _crowded(names_first, place)
        result.append(Pair(found.name, found.amount, sure))
    return result


def _crowded(pairs: list[Pair], place: int) -> bool:
    """A number alone right behind (`pH 7 4`), or a name and a number alone on the two sides."""
    found = pairs[place]
    before = pairs[place - 1] if place else None
    after = pairs[place + 1] if place + 1 < len(pairs) else None

    def close(item: Item | None, next_item: Item | None) -> bool:
        return item is not None and next_item is not None and next_item.gap == 0.0

    first, last = _ordered(found)
    after_amount = after.amount if after is not None and after.name is None else None
    before_name = before.name if before is not None and before.amount is None else None
    number_behind = (
        close(last, after_amount)
        and last is found.amount
        and after_amount is not None
        and after_amount.piece.amount is not None
        and not after_amount.piece.amount.unit
    )
    return number_behind or (close(before_name, first) and close(last, after_amount))


def _ordered(found: Pair) -> tuple[Item | None, Item | None]:
    if found.name is None or found.amount is None:
        only = found.name or found.amount
        return only, only
    if found.name.piece.start < found.amount.piece.start:
        return found.name, found.amount
    return found.amount, found.name


def _cheapest(
    items: list[Item], plausible: Callable[[Name, Piece], float], leaning: float
) -> list[Pair]:
    """Dynamic programme over neighbours; `leaning` is the price of an amount before its name."""
    best: list[float] = [0.0]
    steps: list[int] = [0]
    for place, item in enumerate(items):
        alone = best[place] + _alone(item)
        together = math.inf
        if place:
            together = best[place - 1] + _together(items[place - 1], item, plausible, leaning)
        best.append(min(alone, together))
        steps.append(2 if together < alone else 1)
    pairs: list[Pair] = []
    place = len(items)
    while place:
        item = items[place - 1]
        if steps[place] == 2:
            other = items[place - 2]
            pairs.append(Pair(item, other) if item.piece.name is not None else Pair(other, item))
        elif item.piece.name is not None:
            pairs.append(Pair(item, None))
        else:
            pairs.append(Pair(None, item))
        place -= steps[place]
    pairs.reverse()
    return pairs


def _alone(item: Item) -> float:
    if item.piece.name is not None:
        return _WEAK_NAME_ALONE if item.piece.name.weak else _NAME_ALONE
    amount = item.piece.amount
    if amount is None or amount.word or amount.unit == "other":
        return 0.0
    return 0.0 if amount.unit in NAMED_BY_UNIT else _AMOUNT_ALONE


def _together(
    before: Item, item: Item, plausible: Callable[[Name, Piece], float], leaning: float
) -> float:
    name, amount = before.piece.name or item.piece.name, before.piece.amount or item.piece.amount
    if name is None or amount is None or item.gap > _TOO_FAR or amount.unit == "other":
        return math.inf
    if not fits(name, amount):
        return math.inf
    holder = before.piece if before.piece.amount is not None else item.piece
    cost = item.gap + plausible(name, holder)
    if item.joined:
        cost += _BOUND_FAST
    return cost + (leaning if before.piece.amount is not None else 0.0)
