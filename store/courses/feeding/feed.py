"""Medicated feed: from the dose for the fish to the feed, and from the feed back to the fish.

The fed rate must be what the fish really eat: a medicine in feed that is left gives no dose.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from store.courses.baths.weighing import Measured, measured
from store.errors import BadInput
from store.water.given import figures, given

SOURCE = (
    "arithmetic: mg per kg feed = dose × 100 / feeding rate; as the UK data sheets of florfenicol "
    "and amoxicillin premixes for salmon tabulate it"
)
HIGHEST_RATE_PERCENT = 30.0
"""No grown fish eats so much of its weight in a day; fry do. A typed fraction is not caught, a
decimal point gone astray is [% of biomass a day]."""
DISAGREEMENT = 2.0
"""Two routes to a dose that differ by more than this factor are a stop."""


@dataclass(frozen=True, slots=True)
class Feed:
    """A course of medicated feed.

    `feed_kg`, `active_mg` and `product` are for the whole course, the `_day` ones for one day;
    `mg_per_kg_feed` is active substance in dry feed, `product_g_per_kg_feed` the product in it.
    """

    feed_kg: float
    feed_kg_day: float
    active_mg: float
    active_mg_day: float
    product: Measured
    product_g_day: float
    mg_per_kg_feed: float
    product_g_per_kg_feed: float
    days: int
    arithmetic: str
    source: str
    remarks: tuple[str, ...]

    @property
    def product_g(self) -> float:
        """The product for the whole course, not rounded [g]."""
        return self.product.exact


def medicated_feed(
    dose_mg_kg_day: float,
    biomass_kg: float,
    rate_percent: float,
    days: int,
    *,
    strength_percent: float = 100.0,
) -> Feed:
    """The feed and the product for a course, from the dose for the fish.

    feed kg/day = biomass x rate / 100; active mg/day = biomass x dose; mg per kg feed =
    dose x 100 / rate; product g = active mg / 1000 / (strength / 100).

    Parameters
    ----------
    dose_mg_kg_day
        Active substance for the fish [mg per kg fish and day].
    biomass_kg
        Weight of the fish that eat [kg].
    rate_percent
        Feed that they really eat [% of biomass a day].
    days
        Days on which medicated feed is given.
    strength_percent
        Active substance in the product [% w/w].

    Returns
    -------
    Feed
        Feed [kg], product [g], inclusion [mg per kg feed].

    Raises
    ------
    BadInput
        A number that cannot exist, a strength over 100 %, or more product than feed.

    Examples
    --------
    >>> answer = medicated_feed(10.0, 45.0, 1.0, 10, strength_percent=50.0)
    >>> answer.feed_kg, answer.product_g, answer.mg_per_kg_feed, answer.product_g_per_kg_feed
    (4.5, 9.0, 1000.0, 2.0)

    References
    ----------
    UK summaries of product characteristics: florfenicol premix 500 mg/g, 10 mg/kg for 10 days;
    amoxicillin trihydrate for salmon, 80 mg/kg for 10 days. Their tables of product per tonne of
    feed at 0.5, 1 and 2 % are met exactly.
    """
    given(dose_mg_kg_day, "dose", "mg/kg/day", above=0.0, high=10_000.0)
    given(biomass_kg, "biomass", "kg", above=0.0, high=1e9)
    given_rate(rate_percent)
    given(days, "number of days", low=1.0, high=366.0)
    if days != int(days):
        raise BadInput("The number of days must be a whole number.", field="number of days")
    strength = given(strength_percent, "strength", "%", above=0.0, high=100.0) / 100.0

    feed_kg_day = biomass_kg * rate_percent / 100.0
    active_mg_day = biomass_kg * dose_mg_kg_day
    mg_per_kg_feed = dose_mg_kg_day * 100.0 / rate_percent
    product_g_per_kg_feed = mg_per_kg_feed / 1000.0 / strength
    if product_g_per_kg_feed > 1000.0:
        raise BadInput(
            f"It would take {figures(product_g_per_kg_feed)} g of product in a kilogram of feed: "
            "the feeding rate is too low for this dose, or one of the two is mistyped.",
            field="feeding rate",
        )
    product_g_day = active_mg_day / 1000.0 / strength
    product = measured(product_g_day * days, "g")
    return Feed(
        feed_kg=feed_kg_day * days,
        feed_kg_day=feed_kg_day,
        active_mg=active_mg_day * days,
        active_mg_day=active_mg_day,
        product=product,
        product_g_day=product_g_day,
        mg_per_kg_feed=mg_per_kg_feed,
        product_g_per_kg_feed=product_g_per_kg_feed,
        days=int(days),
        arithmetic="; ".join(
            (
                f"feed {figures(biomass_kg)} kg × {figures(rate_percent)} / 100 = "
                f"{figures(feed_kg_day)} kg a day × {days} = {figures(feed_kg_day * days)} kg",
                f"active {figures(biomass_kg)} kg × {figures(dose_mg_kg_day)} mg/kg = "
                f"{figures(active_mg_day)} mg a day",
                f"product {figures(active_mg_day)} mg / 1000 / {figures(strength)} × {days} = "
                f"{figures(product.exact)} g",
                f"inclusion {figures(dose_mg_kg_day)} × 100 / {figures(rate_percent)} = "
                f"{figures(mg_per_kg_feed)} mg per kg feed",
            )
        ),
        source=SOURCE,
        remarks=(
            "The rate must be what these fish really eat; sick fish eat less, and fish that have "
            "stopped eating get nothing from it.",
            *product.remarks,
        ),
    )


@dataclass(frozen=True, slots=True)
class FishDose:
    """What an inclusion in the feed gives the fish."""

    mg_kg_day: float
    arithmetic: str


def fish_dose(mg_per_kg_feed: float, rate_percent: float) -> FishDose:
    """What each kilogram of fish receives a day from a given inclusion in the feed.

    mg per kg fish and day = mg per kg feed x rate / 100.

    Parameters
    ----------
    mg_per_kg_feed
        Active substance in the feed as it is fed [mg per kg feed].
    rate_percent
        Feed that the fish really eat [% of biomass a day].

    Returns
    -------
    FishDose
        Dose [mg per kg fish and day].

    Raises
    ------
    BadInput
        A number that cannot exist.

    Examples
    --------
    >>> fish_dose(2000.0, 0.5).mg_kg_day
    10.0
    """
    given(mg_per_kg_feed, "inclusion", "mg per kg feed", above=0.0, high=1e6)
    given_rate(rate_percent)
    dose = mg_per_kg_feed * rate_percent / 100.0
    return FishDose(
        dose,
        f"{figures(mg_per_kg_feed)} mg per kg feed × {figures(rate_percent)} / 100 = "
        f"{figures(dose)} mg per kg fish and day",
    )


def rate_from_feed(feed_kg: float, days: float, biomass_kg: float) -> float:
    """The feeding rate, from how long an amount of feed lasts.

    Parameters
    ----------
    feed_kg
        Feed that is eaten [kg].
    days
        In how many days [d].
    biomass_kg
        Weight of the fish that eat it [kg].

    Returns
    -------
    float
        Feeding rate [% of biomass a day].

    Raises
    ------
    BadInput
        A number that cannot exist, or a rate that no fish eats.

    Examples
    --------
    >>> round(rate_from_feed(1.0, 14.0, 7.0), 3)
    1.02
    """
    given(feed_kg, "feed", "kg", above=0.0, high=1e9)
    given(days, "number of days", above=0.0, high=366.0)
    given(biomass_kg, "biomass", "kg", above=0.0, high=1e9)
    return given_rate(feed_kg / days / biomass_kg * 100.0)


@dataclass(frozen=True, slots=True)
class Beside:
    """A dose beside the published range.

    `factor` is how many times too low or too high it is, 1 inside the range; `level` is `stop` from
    a factor of more than two, `mind` below that, empty inside the range.
    """

    level: Literal["", "mind", "stop"]
    factor: float
    said: str


def beside(
    mg_kg_day: float,
    low_mg_kg_day: float,
    high_mg_kg_day: float,
    unit: str = "mg per kg fish and day",
) -> Beside:
    """A dose set beside a published range of oral doses.

    Parameters
    ----------
    mg_kg_day
        What the fish get [mg per kg fish and day].
    low_mg_kg_day, high_mg_kg_day
        The published range, both ends included [mg per kg fish and day].
    unit
        What all three are in, for the sentence; `mg per kg feed` where a range is published so.

    Returns
    -------
    Beside
        The level, the factor [-] and a sentence.

    Raises
    ------
    BadInput
        A number that is not above zero, or a range that is upside down.

    Examples
    --------
    >>> beside(0.6, 30.0, 30.0).level, beside(12.0, 10.0, 15.0).level
    ('stop', '')
    """
    given(mg_kg_day, "dose", "mg/kg/day", above=0.0, high=1e6)
    given(low_mg_kg_day, "low end of the range", "mg/kg/day", above=0.0, high=1e6)
    given(high_mg_kg_day, "high end of the range", "mg/kg/day", low=low_mg_kg_day, high=1e6)
    if low_mg_kg_day == high_mg_kg_day:
        published = f"{figures(low_mg_kg_day)}"
    else:
        published = f"{figures(low_mg_kg_day)}-{figures(high_mg_kg_day)}"
    said = f"{figures(mg_kg_day)} {unit}, published {published}"
    # A dose that meets an end of the range but for binary noise is inside it.
    if mg_kg_day < low_mg_kg_day * (1.0 - 1e-9):
        factor, word = low_mg_kg_day / mg_kg_day, "less"
    elif mg_kg_day > high_mg_kg_day * (1.0 + 1e-9):
        factor, word = mg_kg_day / high_mg_kg_day, "more"
    else:
        return Beside("", 1.0, f"{said}: within it.")
    level: Literal["mind", "stop"] = "stop" if factor > DISAGREEMENT * (1.0 + 1e-9) else "mind"
    return Beside(level, factor, f"{said}: {figures(factor, 3)} times {word}.")


def given_rate(rate_percent: float) -> float:
    """A feeding rate, refused where no fish eats so much.

    Parameters
    ----------
    rate_percent
        Feeding rate [% of biomass a day].

    Raises
    ------
    BadInput
        A rate that cannot be.
    """
    return given(
        rate_percent, "feeding rate", "% of biomass a day", above=0.0, high=HIGHEST_RATE_PERCENT
    )
