"""What a vet types for a medicated feed, understood: texts to a wish, each fault at its field.

Texts come under the names of `GENERAL`, and for each substance under its place and a name of
`OF_MEDICINE`, such as `2.dose`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import get_args

from store.courses.feeding.appetite import proposed_rate
from store.courses.feeding.stock import LENGTHS, stock
from store.courses.planning.course import Basis, Product, Share
from store.courses.planning.feed_step import FeedWish, Medicine
from store.courses.planning.oral import published_oral
from store.courses.planning.plan import BadStep
from store.errors import BadInput
from store.facts.agent import Agent
from store.facts.agents import agents
from store.facts.binders import binders
from store.facts.hazards import hazards
from store.text import plain
from store.water.given import figures
from store.water.measures import quantity, spelt, to_grams, unknown_unit

GENERAL = (
    "hazard", "reason", "fish", "relation", "eating", "rate", "days", "binder", "batch",
    "first_day", "share", "note",
)  # fmt: skip
BACTERIUM = "bacterium"
"""Kind of hazard that antibacterials are for, which name none of them by itself."""
OF_MEDICINE = ("agent", "dose", "shelf", "product", "strength", "basis", "density")

_FIELDS = {
    "hazards": "hazard", "first day": "first_day", "number of days": "days",
    "feeding rate": "rate", "feed": "rate", "biomass": "fish", "weight of the fish": "fish",
    "days of a batch": "batch", "number of fish": "fish", "length": "fish", "weight": "fish",
}  # fmt: skip
_OF_MEDICINE = {"inclusion": "dose", "active substance": "dose", "feeding rate": "dose"}
_OF_FISH = ("mg/kg/d", "mg/kg/day", "mg/kgfish/d", "mg/kgfish/day", "mg/kgfishandday",
            "mg/kgfishperday")  # fmt: skip
_OF_FEED = ("mg/kgfeed", "mg/kginfeed", "ppmfeed", "g/tfeed", "mgperkgfeed")
_G_OF_FEED = ("g/kgfeed",)
_DAYS = ("", "d", "day", "days")
_DAILY = {"g/d": 1.0, "g/day": 1.0, "gaday": 1.0, "kg/d": 1000.0, "kg/day": 1000.0,
          "kgaday": 1000.0}  # fmt: skip
_PERCENT = ("", "%", "percent", "%/d", "%aday", "%/day")


@dataclass(frozen=True, slots=True)
class FeedWished:
    """What was typed, understood; ready for `store.courses.planning.feed_step.plan_feed`."""

    wish: FeedWish
    hazards: tuple[str, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class PublishedFeed:
    """What the formulary says of an agent with the feed, for the hints of a form."""

    dose: str
    days: str
    most_days: int | None
    product: str


def feed_agents(formulary: Mapping[str, Agent] | None = None) -> tuple[tuple[str, str], ...]:
    """The agents that have a dose with the feed: code and plain name, by name.

    Parameters
    ----------
    formulary
        Agents by code; None for the published ones.
    """
    known = agents() if formulary is None else formulary
    found = [
        (code, one.plain_name)
        for code, one in known.items()
        if any(route.code == "feed" for route in one.routes)
    ]
    return tuple(sorted(found, key=lambda pair: pair[1].casefold()))


def published_feed(code: str, formulary: Mapping[str, Agent] | None = None) -> PublishedFeed | None:
    """What is published for an agent with the feed; None for one that has no such dose.

    Parameters
    ----------
    code
        Code of the agent.
    formulary
        Agents by code; None for the published ones.
    """
    agent = (agents() if formulary is None else formulary).get(code)
    if agent is None or not any(one.code == "feed" for one in agent.routes):
        return None
    spans = [one.feed_days for one in agent.routes if one.code == "feed" and one.feed_days]
    forms = [f"{figures(one.active_percent)} %" for one in agent.forms if one.active_percent]
    said = [
        figures(high) if low == high else f"{figures(low)}–{figures(high)}" for low, high in spans
    ]
    return PublishedFeed(
        dose=published_oral(agent),
        days=", ".join(dict.fromkeys(said)),
        most_days=round(spans[0][1]) if spans else None,
        product=", ".join(forms),
    )


def fed_against(found: Sequence[str], formulary: Mapping[str, Agent] | None = None) -> str:
    """The first of the hazards seen lately that medicine in the feed is given for; else empty.

    Parameters
    ----------
    found
        Codes of hazards, newest first.
    formulary
        Agents by code; None for the published ones.
    """
    known = agents() if formulary is None else formulary
    named = {
        code
        for one in known.values()
        for route in one.routes
        if route.code == "feed"
        for code in route.hazards
    }
    return next(
        (
            code
            for code in found
            if code in named or (code in hazards() and hazards()[code].kind == BACTERIUM)
        ),
        "",
    )


def is_length(text: str) -> bool:
    """True where the size of the fish is told in a length, so that a relation must be chosen.

    Parameters
    ----------
    text
        As typed for the fish.
    """
    words = plain(text).replace("+", " ").split()
    return any(spelt(word.lstrip("0123456789.,x×*")) in LENGTHS for word in words)


def feed_wished(
    texts: Mapping[str, str], medicines: int, temperature_c: float | None = None
) -> FeedWished:
    """The wish in the texts of a form.

    Parameters
    ----------
    texts
        As typed, by name.
    medicines
        How many substances the form shows.
    temperature_c
        Water temperature [°C], for the rate where none was typed; None where it is not known.

    Returns
    -------
    FeedWished
        Without a reason in words, the hazard is the reason.

    Raises
    ------
    BadInput
        A text that is missing or cannot be understood, at its field.

    Examples
    --------
    >>> texts = {"reason": "ulcers", "1.agent": "florfenicol", "1.dose": "10 mg/kg/d",
    ...          "fish": "45 kg", "eating": "yes", "rate": "1 %", "days": "10"}
    >>> wish = feed_wished(texts, 1).wish
    >>> wish.main.dose_mg_kg_day, wish.stock.kg, wish.rate_percent, wish.binder
    (10.0, 45.0, 1.0, 'oil')
    """
    hazard, reason = _text(texts, "hazard"), _text(texts, "reason")
    found = [_medicine(texts, place) for place in range(1, medicines + 1)]
    eating = _text(texts, "eating")
    if eating not in ("yes", "no"):
        raise BadInput(
            "Do they eat? Say yes or no: fish that have stopped eating get nothing from it.",
            field="eating",
        )
    days = _days(texts, "days", "number of days")
    if days is None:
        raise BadInput("On how many days is it fed?", field="days")
    wish = FeedWish(
        main=found[0],
        stock=stock(_text(texts, "fish"), _text(texts, "relation")),
        days=days,
        also=tuple(found[1:]),
        binder=_text(texts, "binder") or next(iter(binders())),
        eating=eating == "yes",
    )
    wish = _batch(texts, _rate(texts, wish, temperature_c))
    for share in get_args(Share):
        if share == _text(texts, "share"):
            wish = replace(wish, share=share)
    if not hazard and not reason:
        raise BadInput(
            "Say why the feed is given: a hazard that was found, or a reason in words.",
            field="reason",
        )
    if not reason:
        reason = hazards()[hazard].plain_name if hazard in hazards() else hazard
    return FeedWished(wish, (hazard,) if hazard else (), reason)


def feed_at_field(trouble: BadInput) -> BadInput:
    """The same sentence under the name that the field has in the form.

    Parameters
    ----------
    trouble
        From `feed_wished`, `plan_feed` or the book.
    """
    name = trouble.field or ""
    if isinstance(trouble, BadStep):
        name = _OF_MEDICINE.get(name, name)
    name = _FIELDS.get(name, name)
    if name in OF_MEDICINE:
        name = f"{trouble.place if isinstance(trouble, BadStep) else 1}.{name}"
    return BadInput(trouble.message, field=name, title=trouble.title)


def _text(texts: Mapping[str, str], name: str) -> str:
    return plain(texts.get(name, "")).strip()


def _typed(texts: Mapping[str, str], name: str, called: str) -> tuple[float, str] | None:
    text = _text(texts, name)
    if not text:
        return None
    try:
        return quantity(text, called)
    except BadInput as trouble:
        raise BadInput(trouble.message, field=name) from trouble


def _days(texts: Mapping[str, str], name: str, called: str) -> int | None:
    found = _typed(texts, name, called)
    if found is None:
        return None
    value = found[0] * 7.0 if spelt(found[1]) in ("w", "week", "weeks") else found[0]
    if spelt(found[1]) not in (*_DAYS, "w", "week", "weeks"):
        raise BadInput(unknown_unit(called, found[1], ("d", "weeks")).message, field=name)
    if value != int(value):
        raise BadInput(f"The {called} must be a whole number.", field=name)
    return int(value)


def _medicine(texts: Mapping[str, str], place: int) -> Medicine:
    code = _text(texts, f"{place}.agent")
    if not code:
        raise BadInput("Choose what goes into the feed.", field=f"{place}.agent")
    found = _typed(texts, f"{place}.dose", "dose")
    field = f"{place}.dose"
    if found is None:
        raise BadInput(
            "How much? Type the dose for the fish, 10 mg/kg/d, or for the feed, 60 mg/kg feed.",
            field=field,
        )
    unit = spelt(found[1])
    medicine = Medicine(code, product=_product(texts, place))
    if unit in _OF_FISH:
        return replace(medicine, dose_mg_kg_day=found[0])
    if unit in _OF_FEED:
        return replace(medicine, inclusion_mg_kg=found[0])
    if unit in _G_OF_FEED:
        return replace(medicine, inclusion_mg_kg=found[0] * 1000.0)
    raise BadInput(
        "Of what? Type mg/kg/d for what each kilogram of fish gets a day, or mg/kg feed for what "
        "goes into a kilogram of feed.",
        field=field,
    )


def _product(texts: Mapping[str, str], place: int) -> Product:
    strength = _number(texts, f"{place}.strength", "strength", _PERCENT, "%")
    density = _number(texts, f"{place}.density", "density", ("", "g/ml", "kg/l"), "g/mL")
    product = Product(
        _text(texts, f"{place}.product"),
        100.0 if strength is None else strength,
        density_g_ml=density,
    )
    basis = _text(texts, f"{place}.basis")
    for known in get_args(Basis):
        if known == basis:
            return replace(product, basis=known)
    return product


def _number(
    texts: Mapping[str, str], name: str, called: str, units: tuple[str, ...], shown: str
) -> float | None:
    found = _typed(texts, name, called)
    if found is None:
        return None
    if spelt(found[1]) not in units:
        raise BadInput(unknown_unit(called, found[1], (shown,)).message, field=name)
    return found[0]


def _rate(texts: Mapping[str, str], wish: FeedWish, temperature_c: float | None) -> FeedWish:
    found = _typed(texts, "rate", "feeding rate")
    if found is None:
        proposed = None if temperature_c is None else proposed_rate(temperature_c)
        if proposed is None:
            raise BadInput(
                "How much do they really eat? Type % of their weight a day, or the feed that "
                "lasts them for all days, such as 1 kg; for this temperature no rate is published.",
                field="rate",
            )
        said = f"Rate proposed: {proposed.said}"
        return replace(wish, rate_percent=proposed.rate_percent, rate_how=said)
    value, unit = found[0], spelt(found[1])
    if unit in _PERCENT:
        return replace(wish, rate_percent=value)
    if unit in _DAILY:
        return replace(wish, feed_kg=value * _DAILY[unit] * wish.days / 1000.0)
    try:
        return replace(wish, feed_kg=to_grams(value, found[1]) / 1000.0)
    except BadInput as trouble:
        says = unknown_unit("feeding rate", found[1], ("% a day", "g/d", "kg for all days"))
        raise BadInput(says.message, field="rate") from trouble


def _batch(texts: Mapping[str, str], wish: FeedWish) -> FeedWish:
    found = _typed(texts, "batch", "batch")
    if found is None:
        return wish
    if spelt(found[1]) in _DAYS[1:]:
        return replace(wish, batch_days=_days(texts, "batch", "days of a batch"))
    if not found[1]:
        raise BadInput("Kilograms or days? Type 2 kg or 5 d.", field="batch")
    try:
        return replace(wish, batch_kg=to_grams(*found) / 1000.0)
    except BadInput as trouble:
        raise BadInput(trouble.message, field="batch") from trouble
