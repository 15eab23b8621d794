"""The fields of each record's form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from tui.widgets.fields import Field

if TYPE_CHECKING:
    from store.water.entered import RecordName

USES = (
    ("not asked", "not asked yet"),
    ("ornamental", "ornamental: never eaten"),
    ("food", "food fish: may be eaten"),
)
"""Whether the fish may be eaten decides what may be given to them: not having asked is a state."""

SHADES = (
    ("not asked", "not asked yet"),
    ("open sky", "open sky"),
    ("part of the day", "part of the day"),
    ("most of the day", "most of the day"),
)
"""How much of the day the water lies in shade."""

_CELLS = 28
"""Every entry is as wide, so that hints stand under each other."""

_UNKNOWN = ("unknown", "not known")
_YES_NO = (("no", "no"), ("yes", "yes"))

FIELDS: Mapping[RecordName, tuple[Field, ...]] = {
    "client": (
        Field("name", "Client", "a person, a family, a firm"),
        Field("phone", "Telephone", "as dialled"),
        Field("phone2", "Second number"),
        Field("email", "Mail"),
        Field("notes", "Notes", lines=3),
    ),
    "site": (
        Field("name", "Site", "such as Garden, Head office"),
        Field("address", "Street", lines=2),
        Field("town", "Town"),
        Field("postcode", "Postcode"),
        Field("latitude", "Latitude", "degrees, such as 51.51 N"),
        Field("longitude", "Longitude", "degrees, such as 0.13 W"),
        Field("elevation_m", "Above the sea", "metres, ft; oxygen needs it"),
        Field("access_hours", "Access hours", lines=2),
        Field("access_notes", "Access notes", "gate, dog, whom to ask", lines=3),
        Field("water_supply", "Water supply", "mains, well, rain"),
    ),
    "pond": (
        Field("name", "Pond", "such as Lower pond"),
        Field("code", "Short code", "what stands on its sheets"),
        Field("use", "Food fish", value="not asked", choices=USES),
        Field("said_by", "Who says so", "such as the owner, by name"),
        Field("depth_m", "Greatest depth", "metres, or 4 ft"),
        Field("indoor", "Indoors", value="no", choices=_YES_NO),
        Field("heated", "Heated", value="no", choices=_YES_NO),
        Field("shade", "In shade", value="not asked", choices=SHADES),
        Field("lining", "Lining", "liner, concrete, clay"),
        Field("filter", "Filter"),
        Field("uv", "UV"),
        Field("source_water", "Source water", "mains, well, rain"),
        Field("species", "Fish", "kinds and numbers", lines=2),
        Field("stock_notes", "About the fish", lines=2),
        Field("test_every_days", "Test every", "days, 2 weeks; empty: none"),
        Field("test_seasons", "In seasons", "1 Nov – 28 Feb every 30 d", lines=3),
        Field("kit_id", "Kit of this pond", "else the practice's"),
        Field("notes", "Notes", lines=3),
    ),
    "staff": (
        Field("name", "Name"),
        Field("role", "Role", value="vet", choices=(
            ("vet", "vet"), ("receptionist", "receptionist"), ("travelling vet", "travelling vet"),
        )),
        Field("initials", "Initials", "stand beside every entry"),
    ),
    "kit": (
        Field("name", "Kit", "such as Case 1, drops"),
        Field("ammonia_form", "Ammonia as", "as its colour chart says", value="unknown",
              choices=(_UNKNOWN, ("n", "N (ammonia nitrogen)"), ("nh3", "NH3"),
                                 ("nh4", "NH4"))),
        Field("nitrite_form", "Nitrite as", value="unknown",
              choices=(_UNKNOWN, ("no2", "NO2"), ("n", "N (nitrite nitrogen)"))),
        Field("nitrate_form", "Nitrate as", value="unknown",
              choices=(_UNKNOWN, ("no3", "NO3"), ("n", "N (nitrate nitrogen)"))),
        Field("batch", "Batch"),
        Field("expires_on", "Expires on", "year-month-day"),
        Field("ph_calibrated_on", "pH calibrated on", "year-month-day, for a meter"),
        Field("notes", "Notes", lines=3),
    ),
    "practice": (
        Field("name", "Practice"),
        Field("time_zone", "Time zone", "such as Europe/London"),
        Field("country", "Country"),
        Field("kit_id", "Usual kit", "where a pond states none"),
    ),
}  # fmt: skip
"""Every form from top to bottom; the names are the columns of the record."""

_NEW: Mapping[RecordName, tuple[str, ...]] = {
    "client": ("name", "phone", "phone2", "email"),
    "site": ("name", "address", "town", "postcode", "access_hours", "access_notes"),
    "pond": ("name", "use", "said_by", "depth_m", "filter", "source_water", "species",
             "test_every_days", "test_seasons"),
}  # fmt: skip
_FIRST_NAMES = {"site": "Garden", "pond": "Pond"}


def fields_with(
    record: RecordName, texts: Mapping[str, str], kits: tuple[tuple[str, str], ...]
) -> tuple[Field, ...]:
    """The fields of a form with the texts they begin with, and the kits to choose from."""
    return tuple(
        replace(
            field,
            width=_CELLS,
            value=texts.get(field.name, field.value),
            choices=kits if field.name == "kit_id" else field.choices,
        )
        for field in FIELDS[record]
    )


def new_fields(*, client: bool, site: bool) -> tuple[Field, ...]:
    """What is asked about a new pond, with its site and its client where these are new too.

    The rest can be told later in the forms of their own.
    """
    found: list[Field] = []
    records: tuple[RecordName, ...] = ("client", "site", "pond")
    for record, wanted in zip(records, (client, site, True), strict=True):
        if wanted:
            found += [
                replace(
                    field,
                    width=_CELLS,
                    name=f"{record}.{field.name}",
                    value=_FIRST_NAMES.get(record, "") if field.name == "name" else field.value,
                )
                for field in FIELDS[record]
                if field.name in _NEW[record]
            ]
    return tuple(found)


def label_of(record: RecordName, name: str) -> str:
    """What a column is called before a person."""
    return next((field.label for field in FIELDS[record] if field.name == name), name)
