"""What a column of a client list can mean, and the words by which its heading says so."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

Meaning = Literal[
    "number", "name", "surname", "given", "title", "firm", "phone", "email", "address", "town",
    "county", "postcode", "remarks", "pond", "volume", "depth", "species", "ignore", "unknown",
]  # fmt: skip
MEANINGS: tuple[Meaning, ...] = (
    "number", "name", "surname", "given", "title", "firm", "phone", "email", "address", "town",
    "county", "postcode", "remarks", "pond", "volume", "depth", "species", "ignore", "unknown",
)  # fmt: skip
"""What a column can mean; `ignore` leaves it out, `unknown` is told and left out."""
MANY = frozenset({"phone", "address", "remarks", "email", "ignore", "unknown"})
"""What several columns may mean at once."""

KNOWN: Mapping[Meaning, str] = {
    "number": "number|no|account|account no|account number|account ref|ref|reference|client no|"
    "client number|client id|customer no|customer number|customer id|id|a c|a c no|a c ref|"
    "kundennummer|kd nr|kundennr|code",
    "name": "name|client|client name|customer|customer name|owner|full name|contact|contact name|"
    "account name|kunde|bill to|name of client|clients",
    "surname": "surname|last name|lastname|family name|nachname|second name|sname",
    "given": "first name|firstname|forename|forenames|given name|given names|christian name|"
    "initials|initial|vorname|first",
    "title": "title|salutation|anrede|titles",
    "firm": "company|company name|business|business name|organisation|organization|firm|firma",
    "phone": "phone|phones|telephone|telephones|tel|tel no|tel nos|telephone no|phone no|"
    "phone number|telephone number|mobile|mobile no|mobile phone|mob|cell|cell phone|home|"
    "home phone|home tel|work|work phone|work tel|telefon|handy|phone 1|phone 2|phone 3|tel 1|"
    "tel 2|tel 3|telephone 1|telephone 2|phone2|tel2|mobil|contact number|contact no|"
    "evening phone|day phone|daytime tel|phone home|phone mobile|main phone|alt phone",
    "email": "email|e mail|mail|email address|e mail address|emails",
    "address": "address|street|address 1|address 2|address 3|address 4|address 5|address line 1|"
    "address line 2|address line 3|address line 4|addr|addr 1|addr 2|addr 3|addr 4|address1|"
    "address2|address3|address4|add 1|add 2|add 3|add 4|add1|add2|add3|add4|strasse|straße|"
    "adresse|anschrift|street 1|street 2|house|road|locality|full address|site address",
    "town": "town|city|place|ort|stadt|town city|post town|wohnort",
    "county": "county|state|region|province|bundesland|county state",
    "postcode": "postcode|post code|zip|zip code|postal code|plz|pc|p code|postleitzahl|zipcode",
    "remarks": "remarks|remark|notes|note|comments|comment|memo|details|info|bemerkung|"
    "bemerkungen|other|pond details|pond notes|pond info|ponds|additional info|misc",
    "pond": "pond|pond name|name of pond|teich",
    "volume": "volume|pond volume|size|pond size|gallons|litres|liters|vol|capacity|inhalt",
    "depth": "depth|pond depth|tiefe",
    "species": "species|fish|stock|fish kept|fische",
    "ignore": "line|row|why refused|balance|amount|total|vat|vat no|terms|credit limit|currency",
}
BY_HEADING: dict[str, Meaning] = {
    name: meaning for meaning, names in KNOWN.items() for name in names.split("|")
}
