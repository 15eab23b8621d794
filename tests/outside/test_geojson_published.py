"""GeoJSON against RFC 7946 (Butler, Daly, Doyle, Gillies, Hagen, Schaub 2016), cited from memory.

The rules are written out by hand and first held against the example of its section 1.5 and against
faults in it, so that they are known to tell good from bad.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest

from store.rounds.day.sheet import DaySheet
from store.rounds.papers.geojson import cut, geojson_bytes
from tests.rounds.day_plans import BRAM, nine_stops, two_drivers
from tests.rounds.hand_sheets import sheet_of

# RFC 7946, 1.5: three features.
EXAMPLE: dict[str, Any] = {
    "type": "FeatureCollection",
    "features": [
        {"type": "Feature",
         "geometry": {"type": "Point", "coordinates": [102.0, 0.5]},
         "properties": {"prop0": "value0"}},
        {"type": "Feature",
         "geometry": {"type": "LineString",
                      "coordinates": [[102.0, 0.0], [103.0, 1.0], [104.0, 0.0], [105.0, 1.0]]},
         "properties": {"prop0": "value0", "prop1": 0.0}},
        {"type": "Feature",
         "geometry": {"type": "Polygon",
                      "coordinates": [[[100.0, 0.0], [101.0, 0.0], [101.0, 1.0], [100.0, 1.0],
                                       [100.0, 0.0]]]},
         "properties": {"prop0": "value0", "prop1": {"this": "that"}}},
    ],
}  # fmt: skip
GEOMETRIES = {"Point", "MultiPoint", "LineString", "MultiLineString", "Polygon", "MultiPolygon"}


def faults(whole: Any) -> list[str]:
    """What of RFC 7946 a FeatureCollection of points, lines and areas does not keep."""
    return list(_collection(whole))


def _collection(whole: Any) -> Iterator[str]:
    if whole.get("type") != "FeatureCollection":
        yield "3.3: the type is FeatureCollection"
    if not isinstance(whole.get("features"), list):
        yield "3.3: features is an array"
        return
    for name in ("crs", "geometry", "properties", "coordinates", "geometries"):
        if name in whole:
            yield f"4, 7.1: a collection has no {name}"
    for one in whole["features"]:
        yield from _feature(one)


def _feature(one: Any) -> Iterator[str]:
    if one.get("type") != "Feature":
        yield "3.2: the type is Feature"
    if not (one.get("properties") is None or isinstance(one["properties"], dict)):
        yield "3.2: properties is an object or null"
    if "properties" not in one or "geometry" not in one:
        yield "3.2: a feature has geometry and properties"
    if "id" in one and not isinstance(one["id"], str | int | float):
        yield "3.2: an id is a string or a number"
    for name in ("features", "coordinates", "geometries"):
        if name in one:
            yield f"7.1: a feature has no {name}"
    geometry = one.get("geometry")
    if geometry is None:
        return
    if geometry.get("type") not in GEOMETRIES:
        yield "1.4: seven types of geometry, case and all"
        return
    yield from _coordinates(geometry["type"], geometry.get("coordinates"))


def _coordinates(kind: str, found: Any) -> Iterator[str]:
    if kind == "Point":
        yield from _position(found)
        return
    if kind == "LineString":
        if len(found) < 2:
            yield "3.1.4: a line has two or more positions"
        for each in found:
            yield from _position(each)
        for one, other in pairwise(found):
            if abs(one[0] - other[0]) > 180.0:
                yield "3.1.9: a line over the antimeridian is cut"
    elif kind == "MultiLineString":
        for each in found:
            yield from _coordinates("LineString", each)
    elif kind == "Polygon":
        for ring in found:
            if len(ring) < 4 or ring[0] != ring[-1]:
                yield "3.1.6: a ring has four or more positions and is closed"


def _position(found: Any) -> Iterator[str]:
    if not isinstance(found, list) or not 2 <= len(found) <= 3:
        yield "3.1.1: a position has two or three elements"
        return
    if not all(isinstance(one, int | float) for one in found):
        yield "3.1.1: elements are numbers"
        return
    if not -180.0 <= found[0] <= 180.0:
        yield "4: longitude comes first, in degrees"
    if not -90.0 <= found[1] <= 90.0:
        yield "4: latitude comes second, in degrees"


def test_the_example_of_the_rfc_keeps_its_rules() -> None:
    assert faults(EXAMPLE) == []


@pytest.mark.parametrize(
    ("path", "value", "rule"),
    [
        (("type",), "featurecollection", "3.3"),
        (("crs",), {"type": "name"}, "4"),
        (("features", 0, "geometry", "coordinates"), [0.5, 102.0], "latitude"),
        (("features", 0, "geometry", "coordinates"), [[102.0, 0.5]], "3.1.1"),
        (("features", 0, "geometry", "type"), "point", "1.4"),
        (("features", 1, "geometry", "coordinates"), [[102.0, 0.0]], "3.1.4"),
        (("features", 1, "geometry", "coordinates"), [[170.0, 0.0], [-170.0, 0.0]], "3.1.9"),
        (("features", 0, "properties"), "value0", "3.2"),
    ],
)
def test_a_fault_in_it_is_seen(path: tuple[Any, ...], value: Any, rule: str) -> None:
    broken = copy.deepcopy(EXAMPLE)
    at: Any = broken
    for step in path[:-1]:
        at = at[step]
    at[path[-1]] = value
    assert any(rule in one for one in faults(broken))


def placed(positions: list[list[float]]) -> DaySheet:
    """A round whose stops lie at some positions, longitude first."""
    sheet = sheet_of(nine_stops())
    stops = []
    for (lon, lat), one in zip(positions, sheet.stops, strict=False):
        errand = replace(one.stop.errand, longitude=lon, latitude=lat)
        stops.append(replace(one, stop=replace(one.stop, errand=errand)))
    return replace(sheet, stops=tuple(stops))


def test_the_line_of_the_example_comes_out_as_it_stands_there() -> None:
    line = EXAMPLE["features"][1]["geometry"]
    made = json.loads(geojson_bytes([placed(line["coordinates"])]))
    assert made["features"][-1]["geometry"] == line
    assert [one["geometry"]["coordinates"] for one in made["features"][:-1]] == line["coordinates"]


def test_every_file_of_ours_keeps_them() -> None:
    plan = two_drivers()
    for sheets in (
        [sheet_of(nine_stops())], [sheet_of(plan), sheet_of(plan, BRAM)],
        [placed([[179.5, -17.0], [-179.5, -16.0], [-178.0, -15.0], [178.0, -15.0]])],
        [placed([[-180.0, 10.0], [180.0, 10.0], [170.0, 90.0]])], [placed([[0.0, -90.0]])], [],
    ):  # fmt: skip
        assert faults(json.loads(geojson_bytes(sheets))) == []


def test_the_cut_of_3_1_9() -> None:
    """A line from 45° N, 170° E to 45° N, 170° W becomes two that meet at the antimeridian."""
    assert cut([[170.0, 45.0], [-170.0, 45.0]]) == [
        [[170.0, 45.0], [180.0, 45.0]], [[-180.0, 45.0], [-170.0, 45.0]],
    ]  # fmt: skip


def test_text_is_utf_8_without_a_mark() -> None:
    """RFC 8259, 8.1: UTF-8, no byte order mark."""
    data = geojson_bytes([sheet_of(nine_stops(), name="Ærø, Жук")])
    assert data[:1] == b"{"
    assert "Ærø" in data.decode("utf-8")
