"""The weight of the fish as a person says it: in kilograms, or so many of so much each.

`42 kg`, `31 × 1.2 kg`, `12 × 45 cm + 19 × 300 g`: a length needs a published relation of length and
weight, for which it was measured.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from store.courses.feeding.biomass import Biomass, MeasuredAs, by_length
from store.errors import BadInput
from store.facts.fish import fish, relation
from store.text import plain
from store.water.given import figures, given
from store.water.measures import quantity, spelt, to_grams, to_metres

LENGTHS = ("cm", "mm", "m", "in", "inch", "inches", "ft")
"""Units that say a length."""
MOST_FISH = 1e8
_GROUP = re.compile(r"\s*([0-9][0-9 ]*)\s*(?:fish|koi|carp|goldfish)?\s*[x×*]\s*(.+)", re.I)


@dataclass(frozen=True, slots=True)
class Stock:
    """The fish that eat: their weight, how it was found, and what must be said of that.

    `count` is None where only the weight was said.
    """

    kg: float
    count: int | None
    how: str
    remarks: tuple[str, ...]


def lengths_known() -> tuple[tuple[str, str], ...]:
    """The published relations of length and weight: code and words."""
    return tuple(
        (
            code,
            f"{one.species}, {one.length} length" + ("" if one.sex == "both" else f", {one.sex}"),
        )
        for code, one in fish().relations.items()
    )


def stock(text: str, code: str = "") -> Stock:
    """The weight of the fish from what was typed.

    Parameters
    ----------
    text
        `42 kg`, `31 × 1.2 kg`, `12 × 45 cm`, or several of the last two with a plus between them.
    code
        Relation by which lengths are turned into weights, such as `carp_total`; empty for none.

    Returns
    -------
    Stock
        Weight of all [kg].

    Raises
    ------
    BadInput
        No fish, a number that cannot exist, or a length without its relation; at the field `fish`
        or `relation`.

    Examples
    --------
    >>> stock("31 × 1.2 kg").kg, stock("42").kg
    (37.2, 42.0)
    >>> round(stock("1 × 40 cm + 1 × 50 cm", "carp_total").kg, 2)
    2.4
    """
    typed = plain(text).strip()
    if not typed:
        raise BadInput(
            "How many kilograms of fish are there? Type 42 kg, 31 × 1.2 kg or 31 × 45 cm.",
            field="fish",
        )
    parts = [one for one in typed.split("+") if one.strip()]
    try:
        groups = [_group(part, code, alone=len(parts) == 1) for part in parts]
        if not groups:
            raise BadInput("There is no fish in this.", field="fish")
        kg = given(sum(one.kg for one in groups), "weight of the fish", "kg", above=0.0, high=1e9)
    except BadInput as trouble:
        field = "relation" if trouble.field == "relation" else "fish"
        raise BadInput(trouble.message, field=field) from trouble
    counts = [one.count for one in groups if one.count is not None]
    how = " + ".join(one.how for one in groups)
    return Stock(
        kg,
        sum(counts) if counts else None,
        how if len(groups) == 1 else f"{how} = {figures(kg)} kg",
        tuple(dict.fromkeys(said for one in groups for said in one.remarks)),
    )


def _group(part: str, code: str, *, alone: bool) -> Stock:
    match = _GROUP.fullmatch(part)
    if match is None:
        if not alone:
            raise BadInput("Of several groups each needs a count: 12 × 45 cm + 19 × 300 g.")
        return _whole(part)
    count = int(match[1].replace(" ", ""))
    if count == 0:
        raise BadInput("There is no fish in this: the count is 0.")
    given(count, "number of fish", high=MOST_FISH)
    value, unit = quantity(match[2], "size of a fish")
    if spelt(unit) in LENGTHS:
        return _long(count, value, unit, code)
    if not unit:
        raise BadInput("In which unit is a fish? Type 31 × 1.2 kg, 31 × 800 g or 31 × 45 cm.")
    each_g = given(to_grams(value, unit), "weight of a fish", "g", above=0.0, high=200_000.0)
    kg = count * each_g / 1000.0
    return Stock(kg, count, f"{count} fish × {figures(each_g)} g / 1000 = {figures(kg)} kg",
                 ("The weight of one fish is as it was said: weigh some, and tare the bowl.",),
                 )  # fmt: skip


def _whole(part: str) -> Stock:
    value, unit = quantity(part, "weight of the fish")
    if spelt(unit) in LENGTHS:
        raise BadInput("A length needs a count: type 31 × 45 cm.")
    kg = given(to_grams(value, unit or "kg") / 1000.0, "weight of the fish", "kg", high=1e9)
    if kg <= 0.0:
        raise BadInput("No fish, no feed: the weight of the fish must be above zero.")
    return Stock(kg, None, f"{figures(kg)} kg, as it was said", ())


def _long(count: int, value: float, unit: str, code: str) -> Stock:
    if not code:
        raise BadInput(
            "Say which fish, and how they were measured: a weight from a length goes by a "
            "published relation.",
            field="relation",
        )
    chosen = relation(code)
    found = _measured([to_metres(value, unit) * 100.0], code, chosen.length, count)
    return Stock(found.kg, count, f"{found.arithmetic} ({found.source})", found.remarks)


def _measured(lengths_cm: Sequence[float], code: str, length: str, count: int) -> Biomass:
    as_said: MeasuredAs = "total" if length == "total" else "fork"
    return by_length(lengths_cm, code, as_said, count)
