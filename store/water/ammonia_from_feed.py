"""How much total ammonia the feed of a day makes, and what it comes to where nothing removes it."""

from __future__ import annotations

from dataclasses import dataclass

from store.errors import BadInput
from store.water.given import figures, given

TAN_PER_PROTEIN = 0.092
"""Total ammonia as N from protein that is fed [g per g]: 16 % of protein is nitrogen, 80 % of it
taken up, 80 % of that given off again, 90 % of that as ammonia."""
PLAIN_G_PER_KG = 25.0
"""Total ammonia as N from feed of 30 to 40 % protein, by the plain rule [g per kg feed]."""
SOURCE = (
    "total ammonia = feed × protein × 0.092; from memory, believed to stand in: Timmons & Ebeling, "
    "Recirculating Aquaculture"
)
PLAIN_SOURCE = "common practice: 25 g a kg of feed with 30 to 40 % protein"
_PLAIN_PROTEIN = (30.0, 40.0)
_MOST_RATE_PERCENT = 30.0
"""No grown fish eats so much of its weight in a day; fry do [% of biomass a day]."""


@dataclass(frozen=True, slots=True)
class FeedAmmonia:
    """Total ammonia from the feed of one day.

    `tan_g_day` [g as N], `tan_mg_l_day` what it adds where nothing removes it [mg/L as N a day];
    the `plain` ones by the plain rule, None outside the protein that it is told for.
    """

    feed_kg_day: float
    tan_g_day: float
    tan_mg_l_day: float
    plain_g_day: float | None
    plain_mg_l_day: float | None
    arithmetic: str
    source: str
    standing: str
    remarks: tuple[str, ...]


def ammonia_from_feed(
    biomass_kg: float, rate_percent: float, protein_percent: float, volume_l: float
) -> FeedAmmonia:
    """The total ammonia that a day's feed makes, and how fast it rises where nothing removes it.

    Parameters
    ----------
    biomass_kg
        Weight of the fish that are fed [kg].
    rate_percent
        Feed of a day [% of biomass], at most 30.
    protein_percent
        Protein in the feed, as its label says [%].
    volume_l
        Water of the pond [L].

    Returns
    -------
    FeedAmmonia
        Feed [kg a day], total ammonia as nitrogen [g a day, mg/L a day].

    Raises
    ------
    BadInput
        A number that cannot exist; `field` names it.

    Notes
    -----
    All feed is taken for eaten. What a ripe filter, plants and water changes take away is not known
    here: the figure is the load that they have to carry, and no forecast of a reading.

    Examples
    --------
    >>> answer = ammonia_from_feed(40.0, 1.0, 40.0, 15_000.0)
    >>> round(answer.tan_g_day, 2), round(answer.tan_mg_l_day, 2)
    (14.72, 0.98)
    """
    given(biomass_kg, "biomass", "kg", above=0.0)
    given(rate_percent, "feeding rate", "%", above=0.0)
    if rate_percent > _MOST_RATE_PERCENT:
        raise BadInput(
            f"No fish eats {figures(rate_percent)} % of its weight in a day. Is the decimal point "
            "in its place?",
            field="feeding rate",
        )
    given(protein_percent, "protein", "%", above=0.0, high=100.0)
    given(volume_l, "volume", "L", above=0.0)
    feed_kg = biomass_kg * rate_percent / 100.0
    tan_g = feed_kg * 1000.0 * protein_percent / 100.0 * TAN_PER_PROTEIN
    low, high = _PLAIN_PROTEIN
    plain_g = feed_kg * PLAIN_G_PER_KG if low <= protein_percent <= high else None
    tan_mg_l = 1000.0 * tan_g / volume_l
    remarks = [
        "That is the load while nothing removes it, as with a filter that is not ripe; a ripe one "
        "takes it up, and no reading is foretold by it.",
        "Another coefficient in circulation, 0.128, leaves out two of the losses and gives 39 % "
        "more.",
    ]
    if plain_g is not None:
        remarks.insert(
            0,
            f"By the plain rule {figures(plain_g)} g a day, {figures(1000.0 * plain_g / volume_l)} "
            f"mg/L a day ({PLAIN_SOURCE}).",
        )
    return FeedAmmonia(
        feed_kg, tan_g, tan_mg_l, plain_g,
        None if plain_g is None else 1000.0 * plain_g / volume_l,
        f"{figures(biomass_kg)} kg × {figures(rate_percent)} % = {figures(feed_kg)} kg feed a day; "
        f"{figures(feed_kg)} kg × {figures(protein_percent)} % protein × {TAN_PER_PROTEIN:g} = "
        f"{figures(tan_g)} g total ammonia as N; {figures(tan_g)} g / {figures(volume_l)} L = "
        f"{figures(tan_mg_l)} mg/L a day",
        SOURCE, "from memory", tuple(remarks),
    )  # fmt: skip
