"""GPX against the schema of its version 1.1 (Topografix 2004, gpx.xsd), cited from memory.

Order and types of the elements are written out by hand, and first held against faults.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import replace

import pytest

from store.rounds.day.sheet import DaySheet
from store.rounds.papers.gpx import gpx_bytes
from tests.book.entries import NOW
from tests.rounds.day_plans import BRAM, nine_stops, two_drivers
from tests.rounds.hand_sheets import sheet_of
from tests.rounds.sheet_book import HOSTILE

SPACE = "http://www.topografix.com/GPX/1/1"
# Sequences of the schema: an element may be left out, and stands in this order.
ORDER = {
    "gpx": ("metadata", "wpt", "rte", "trk", "extensions"),
    "metadata": ("name", "desc", "author", "copyright", "link", "time", "keywords", "bounds",
                 "extensions"),
    "rte": ("name", "cmt", "desc", "src", "link", "number", "type", "extensions", "rtept"),
    "rtept": ("ele", "time", "magvar", "geoidheight", "name", "cmt", "desc", "src", "link", "sym",
              "type", "fix", "sat", "hdop", "vdop", "pdop", "ageofdgpsdata", "dgpsid",
              "extensions"),
}  # fmt: skip
MANY = {"wpt", "rte", "trk", "rtept", "link"}
DATE_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d)?")
DECIMAL = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)")


def faults(data: bytes) -> list[str]:
    return list(_document(ET.fromstring(data)))


def _document(root: ET.Element) -> Iterator[str]:
    if root.tag != f"{{{SPACE}}}gpx":
        yield "the document element is gpx of version 1.1"
    if root.get("version") != "1.1" or not root.get("creator"):
        yield "gpx has the version 1.1 and a creator"
    yield from _element(root)


def _element(at: ET.Element) -> Iterator[str]:
    name = at.tag.removeprefix(f"{{{SPACE}}}")
    if name == at.tag:
        yield f"{at.tag} stands outside of the namespace"
    order = ORDER.get(name, ())
    last = -1
    for child in at:
        said = child.tag.removeprefix(f"{{{SPACE}}}")
        if said not in order:
            yield f"{name} has no {said}"
            continue
        place = order.index(said)
        if place < last or (place == last and said not in MANY):
            yield f"{said} stands too late in {name}"
        last = place
        yield from _element(child)
    if name == "time" and not DATE_TIME.fullmatch(at.text or ""):
        yield f"{at.text} is no dateTime"
    if name == "number" and not (at.text or "").isdecimal():
        yield "a number is a nonNegativeInteger"
    if name == "rtept":
        yield from _degrees(at)


def _degrees(at: ET.Element) -> Iterator[str]:
    lat, lon = at.get("lat", ""), at.get("lon", "")
    if not (DECIMAL.fullmatch(lat) and DECIMAL.fullmatch(lon)):
        yield "lat and lon are decimals"
        return
    if not -90.0 <= float(lat) <= 90.0:
        yield "latitudeType: -90 to 90"
    if not -180.0 <= float(lon) < 180.0:
        yield "longitudeType: -180 to below 180"


def test_every_file_of_ours_keeps_the_schema() -> None:
    plan = two_drivers()
    for sheets in (
        [sheet_of(nine_stops())], [sheet_of(plan), sheet_of(plan, BRAM)], [],
        [sheet_of(nine_stops(), name=HOSTILE)], [moved(-90.0, 180.0)], [moved(90.0, -180.0)],
        [moved(1e-7, -1e-7)],
    ):  # fmt: skip
        assert faults(gpx_bytes(sheets, NOW)) == []


def moved(latitude: float, longitude: float) -> DaySheet:
    sheet = sheet_of(nine_stops())
    one = sheet.stops[0]
    errand = replace(one.stop.errand, latitude=latitude, longitude=longitude)
    return replace(sheet, stops=(replace(one, stop=replace(one.stop, errand=errand)),))


@pytest.mark.parametrize(
    ("good", "bad", "fault"),
    [
        (b'version="1.1"', b'version="1.0"', "version"),
        (b"GPX/1/1", b"GPX/1/0", "document element"),
        (b'lon="-1.660000"', b'lon="180"', "longitudeType"),
        (b'lat="53.050000"', b'lat="5e1"', "decimals"),
        (b"Z</time>", b"</time><time>2026</time>", "too late"),
        (b"<number>1</number>", b"<number>one</number>", "nonNegativeInteger"),
        (b"<cmt>", b"<phone>1</phone><cmt>", "no phone"),
    ],
)
def test_a_fault_is_seen(good: bytes, bad: bytes, fault: str) -> None:
    data = gpx_bytes([sheet_of(nine_stops())], NOW)
    assert good in data
    assert any(fault in one for one in faults(data.replace(good, bad)))


def test_an_order_that_is_not_the_schemas_is_seen() -> None:
    data = gpx_bytes([sheet_of(nine_stops())], NOW)
    turned = re.sub(rb"(\s*<cmt>.*?</cmt>)(\s*<desc>.*?</desc>\s*</rtept>)",
                    lambda found: found[2].replace(b"</rtept>", b"") + found[1] + b"</rtept>",
                    data, count=1)  # fmt: skip
    assert turned != data
    assert any("too late" in one for one in faults(turned))


def test_times_are_utc() -> None:
    """The schema's comment on time: Universal Coordinated Time, and ISO 8601."""
    data = gpx_bytes([sheet_of(nine_stops())], NOW).decode()
    assert all(one.endswith("Z") for one in re.findall(r"<time>(.*?)</time>", data))
    assert len(re.findall(r"<time>", data)) == 9
