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

_UNKNOWN = ("unknown", "not known")
_YES_NO = (("no", "no"), ("yes", "yes"))

FIELDS: Mapping[RecordName, tuple[Field, ...]] = {
    "client": (
        Field("name", "Client", "a person, a family, a firm", width=32),
        Field("phone", "Telephone", "as dialled", width=24),
        Field("phone2", "Second number", width=24),
        Field("email", "Mail", width=32),
        Field("notes", "Notes", lines=3),
    ),
    "site": (
        Field("name", "Site", "such as Garden, Head office", width=32),
        Field("address", "Street", lines=2),
        Field("town", "Town", width=24),
        Field("postcode", "Postcode", width=12),
        Field("latitude", "Latitude", "degrees, such as 51.51 N", width=14),
        Field("longitude", "Longitude", "degrees, such as 0.13 W", width=14),
        Field("elevation_m", "Above the sea", "metres, or 300 ft; oxygen depends on it", width=14),
        Field("access_hours", "Access hours", lines=2),
        Field("access_notes", "Access notes", "gate, dog, whom to ask", lines=3),
        Field("water_supply", "Water supply", "mains, well, rain", width=24),
    ),
    "pond": (
        Field("name", "Pond", "such as Lower pond", width=32),
        Field("code", "Short code", "what stands on its sheets", width=12),
        Field("use", "Food fish", value="not asked", choices=USES, width=30),
        Field("depth_m", "Greatest depth", "metres, or 4 ft", width=12),
        Field("indoor", "Indoors", value="no", choices=_YES_NO, width=10),
        Field("lining", "Lining", "liner, concrete, clay", width=24),
        Field("filter", "Filter", width=24),
        Field("uv", "UV", width=24),
        Field("source_water", "Source water", "mains, well, rain", width=24),
        Field("species", "Fish", "kinds and numbers", lines=2),
        Field("stock_notes", "About the fish", lines=2),
        Field("test_every_days", "Test every", "days, or 2 weeks; empty: no plan", width=10),
        Field("test_seasons", "In seasons", "1 Nov – 28 Feb every 30 d", lines=3),
        Field("kit_id", "Kit of this pond", "else the practice's", width=30),
        Field("notes", "Notes", lines=3),
    ),
    "staff": (
        Field("name", "Name", width=32),
        Field("role", "Role", value="vet", width=24, choices=(
            ("vet", "vet"), ("receptionist", "receptionist"), ("travelling vet", "travelling vet"),
        )),
        Field("initials", "Initials", "stand beside every entry", width=8),
    ),
    "kit": (
        Field("name", "Kit", "such as Case 1, drops", width=32),
        Field("ammonia_form", "Ammonia as", "the scale of its colour chart", value="unknown",
              width=24, choices=(_UNKNOWN, ("n", "N (ammonia nitrogen)"), ("nh3", "NH3"),
                                 ("nh4", "NH4"))),
        Field("nitrite_form", "Nitrite as", value="unknown", width=24,
              choices=(_UNKNOWN, ("no2", "NO2"), ("n", "N (nitrite nitrogen)"))),
        Field("nitrate_form", "Nitrate as", value="unknown", width=24,
              choices=(_UNKNOWN, ("no3", "NO3"), ("n", "N (nitrate nitrogen)"))),
        Field("batch", "Batch", width=24),
        Field("expires_on", "Expires on", "year-month-day", width=12),
        Field("ph_calibrated_on", "pH calibrated on", "year-month-day, for a meter", width=12),
        Field("notes", "Notes", lines=3),
    ),
    "practice": (
        Field("name", "Practice", width=32),
        Field("time_zone", "Time zone", "such as Europe/London", width=24),
        Field("country", "Country", width=24),
        Field("kit_id", "Usual kit", "where a pond states none", width=30),
    ),
}  # fmt: skip
"""Every form from top to bottom; the names are the columns of the record."""

_NEW: Mapping[RecordName, tuple[str, ...]] = {
    "client": ("name", "phone", "phone2", "email"),
    "site": ("name", "address", "town", "postcode", "access_hours", "access_notes"),
    "pond": ("name", "use", "depth_m", "filter", "source_water", "species", "test_every_days",
             "test_seasons"),
}  # fmt: skip
_FIRST_NAMES = {"site": "Garden", "pond": "Pond"}


def fields_with(
    record: RecordName, texts: Mapping[str, str], kits: tuple[tuple[str, str], ...]
) -> tuple[Field, ...]:
    """The fields of a form with the texts they begin with, and the kits to choose from."""
    return tuple(
        replace(
            field,
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
