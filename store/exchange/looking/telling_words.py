"""The words by which each kind of file is told: headings, their weight, what must be there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from store.exchange.columns.words import same


@dataclass(frozen=True, slots=True)
class Words:
    """Headings that tell of a kind: what each means, how much it weighs, which it must have.

    `needed` names groups of meanings; of each group one has to be there.
    """

    meanings: Mapping[str, tuple[int, str]]
    needed: tuple[tuple[str, ...], ...]


_DAY = "date|day|on day|on_day|when|datum|date found|date of visit"
_POND = "pond|pond name|pond code|code|tank|unit|system|zone|raceway|teich"
_NAMES_POND = "pond|pond name|pond code|pond no|pond number|tank|teich"
"""Whose a row is, where other words of ponds mean something else, such as a unit."""

WORDS: Mapping[str, Words] = MappingProxyType({
    "staff": Words(
        {"name": (2, "name|person"), "role": (4, "role"), "initials": (3, "initials")},
        (("name",), ("role",)),
    ),
    "kits": Words(
        {
            "name": (1, "name|kit"), "ammonia": (4, "ammonia_form|ammonia as"),
            "nitrite": (4, "nitrite_form|nitrite as"), "nitrate": (4, "nitrate_form|nitrate as"),
            "batch": (1, "batch|lot"), "expiry": (1, "expires_on|expires|expiry"),
            "calibrated": (3, "ph_calibrated_on|calibrated"),
        },
        (("name",), ("ammonia", "nitrite", "nitrate", "calibrated")),
    ),
    "visits": Words(
        {
            "pond": (1, _POND), "day": (1, _DAY), "state": (4, "state|planned or done"),
            "staff": (2, "staff|vet"), "site": (2, "whole_site|whole site"),
            "kind": (1, "kind|what|visit|kind of visit"), "time": (1, "at_time|time"),
        },
        (("pond",), ("day",), ("state", "site", "staff")),
    ),
    "events": Words(
        {
            "pond": (1, _POND), "kind": (3, "kind|event|what happened"), "day": (1, _DAY),
            "until": (3, "until_day|until"), "hazard": (3, "hazard"), "amount": (1, "amount"),
            "note": (0, "note|notes"),
        },
        (("pond",), ("kind",), ("day",)),
    ),
    "drives": Words(
        {
            "from": (3, "from|start"), "to": (3, "to|goal"),
            "minutes": (3, "minutes|min|drive_min"), "km": (2, "km|distance_km"),
        },
        (("from",), ("to",), ("minutes",)),
    ),
    "fish": Words(
        {
            "fish": (2, "fish|fish no|fish number|fish id|specimen"), "day": (1, _DAY),
            "length": (2, "length|fork length|total length|size|weight|fish weight"),
            "site": (4, "skin|gill|gills|fin|fins|skin scrape|gill clip|left gill|right gill|"
             "site on fish|sample site|preparation|scrape|organ|tissue"),
            "parasite": (4, "parasite|parasites|finding|findings|found|organism|skin parasites|"
             "gill parasites|ectoparasites|trichodina|costia|ichthyobodo|gyrodactylus|"
             "dactylogyrus|white spot|ich|chilodonella|tri|cos|gyro|dac|dactyl|chilo|argulus"),
            "score": (2, "score|grade|count|count per field|level|intensity"),
            "magnification": (3, "magnification|mag|objective|fields"), "pond": (1, _POND),
            "place": (1, "site|location|where on fish"),
        },
        (("site", "parasite"), ("fish", "length", "score", "site")),
    ),
    "deaths": Words(
        {
            "day": (1, _DAY), "pond": (1, _POND),
            "dead": (5, "dead|deaths|died|mortality|mortalities|morts|mort|losses|number dead|"
             "no dead|dead fish|fish dead|no of deaths|number of deaths|no of mortalities|"
             "number of mortalities|daily mortality|tote|verluste"),
            "cause": (3, "cause|cause of death|suspected cause|reason|likely cause"),
            "species": (1, "species|fish|kind of fish"), "number": (2, "number|no|count|qty"),
            "disposal": (3, "disposal|disposed|method of disposal|removed to|carcasses"),
        },
        (("day",), ("dead", "disposal", "cause"), ("dead", "number")),
    ),
    "lab": Words(
        {
            "case": (3, "case|case no|case number|accession|accession no|lab ref|lab no|"
             "lab number|report no|report number|reference|our ref|submission"),
            "sample": (2, "sample|sample no|sample id|sample number|sample ref|specimen"),
            "test": (2, "test|analysis|assay|examination|test name|test requested|target"),
            "result": (2, "result|results|finding|outcome|interpretation"),
            "received": (3, "received|date received|received on"),
            "reported": (3, "reported|date reported|report date|reported on"),
            "organ": (3, "organ|tissue|matrix|sample type|specimen type|material"),
            "client": (1, "client|owner|submitter|submitted by|sender|customer|keeper"),
            "species": (1, "species|animal"), "ct": (4, "ct|ct value|cq|cq value"),
            "method": (1, "method"), "laboratory": (3, "laboratory|lab"), "pond": (0, _NAMES_POND),
            "unit": (0, "unit|units"), "antibiotic": (4, "antibiotic|antimicrobial|mic|s/i/r|sir"),
        },
        (("case", "sample", "laboratory", "ct", "organ"),
         ("result", "ct", "test", "antibiotic")),
    ),
    "medicines": Words(
        {
            "product": (3, "product|medicine|drug|name of medicine|name of product|"
             "medicinal product|vmp|preparation|medication|arzneimittel"),
            "batch": (3, "batch|batch no|batch number|lot|lot no|charge"),
            "expiry": (2, "expiry|expiry date|expires|exp|exp date|best before"),
            "in": (2, "in|received|amount in|quantity in|qty in|bought|purchased"),
            "out": (3, "out|used|amount out|quantity out|qty out|given|dispensed|supplied"),
            "amount": (1, "amount|quantity|qty|dose|amount given|amount used"),
            "withdrawal": (4, "withdrawal|withdrawal end|withdrawal period|end of withdrawal|"
             "withdrawal ends|wd|withdrawal until"),
            "client": (1, "client|owner|customer|given to|animal owner"),
            "opened": (3, "opened|date opened|opened on|bottle opened"), "day": (1, _DAY),
            "pond": (0, _NAMES_POND),
        },
        (("product",), ("batch", "withdrawal", "out", "expiry")),
    ),
})  # fmt: skip
"""The headings that tell of each kind; water, loggers and client lists are told by their readers'
own words."""

OWN_PONDS = frozenset({
    "client", "pond", "site", "code", "use", "depth_m", "lining", "filter", "uv", "source_water",
    "species", "stock_notes", "indoor", "heated", "shade", "test_every_days", "test_seasons",
    "kit", "notes",
    "volume_l", "volume_low_l", "volume_high_l", "volume_method", "volume_on", "volume_workings",
    "phone", "phone2", "email", "client_notes", "address", "town", "postcode", "latitude",
    "longitude", "elevation_m", "access_hours", "access_notes", "water_supply",
})  # fmt: skip
FOLDED = {
    kind: Words(
        {
            meaning: (weight, "|".join(same(one) for one in names.split("|")))
            for meaning, (weight, names) in words.meanings.items()
        },
        words.needed,
    )
    for kind, words in WORDS.items()
}
"""The same in folded words."""
