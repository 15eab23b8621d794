"""The rounds of a day as GeoJSON (RFC 7946): the stops as points, a line a round.

Positions are longitude, then latitude (3.1.1), in WGS 84 (4); a line that crosses the antimeridian
is cut there (3.1.9). No bounding box is given, and no code, standing or telephone: whoever is shown
the map sees where and when somebody drives, and no more.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any

from store.paper.paper import one_line
from store.rounds.day.sheet import DaySheet, StopSheet, has_place

STRAIGHT = "straight lines between the stops, not the road"
_DECIMALS = 6
"""A tenth of a metre, as RFC 7946, 11.2, counts what is enough."""
_HALF_WAY = 180.0
Position = list[float]


def geojson_bytes(sheets: Sequence[DaySheet]) -> bytes:
    """The stops and rounds of a day, in UTF-8.

    Parameters
    ----------
    sheets
        Of one day, one a person. Stops without coordinates are left out.

    Returns
    -------
    bytes
        A FeatureCollection: first the stops as Points, then each round with two or more of them as
        a LineString, or as a MultiLineString where it is cut.
    """
    points = [_point(sheet, one) for sheet in sheets for one in sheet.stops if has_place(one)]
    lines = [line for sheet in sheets for line in _line(sheet)]
    whole = {"type": "FeatureCollection", "features": [*points, *lines]}
    return (json.dumps(whole, ensure_ascii=False, indent=1, allow_nan=False) + "\n").encode()


def _point(sheet: DaySheet, stop: StopSheet) -> dict[str, Any]:
    at = stop.stop
    return {
        "type": "Feature",
        "id": f"{sheet.day.isoformat()}-{stop.key}",
        "geometry": {"type": "Point", "coordinates": _position(stop)},
        "properties": {
            "number": stop.number,
            "name": one_line(stop.name),
            "address": one_line(", ".join(stop.address)),
            "who": one_line(sheet.who),
            "begins": sheet.at(at.begins).isoformat(timespec="minutes"),
            "ends": sheet.at(at.ends).isoformat(timespec="minutes"),
            "leaves": sheet.at(at.leaves).isoformat(timespec="minutes"),
            "agreed": stop.stop.errand.booked,
        },
    }


def _line(sheet: DaySheet) -> Iterator[dict[str, Any]]:
    positions = [_position(one) for one in sheet.stops if has_place(one)]
    if len(positions) < 2:
        return
    pieces = cut(positions)
    many = len(pieces) > 1
    yield {
        "type": "Feature",
        "id": f"{sheet.day.isoformat()}-{sheet.staff_id}",
        "geometry": {
            "type": "MultiLineString" if many else "LineString",
            "coordinates": pieces if many else pieces[0],
        },
        "properties": {
            "round": one_line(sheet.who),
            "day": sheet.day.isoformat(),
            "drawn": STRAIGHT,
            "stops": len(positions),
            "stops_without_coordinates": len(sheet.without_place),
            "sets_out": sheet.at(sheet.sets_out).isoformat(timespec="minutes"),
            "back": sheet.at(sheet.back).isoformat(timespec="minutes"),
            "drive_min": sheet.drive_min,
        },
    }


def cut(positions: Sequence[Position]) -> list[list[Position]]:
    """A line in pieces, cut where the shorter way leads over the antimeridian.

    Parameters
    ----------
    positions
        Longitude and latitude [degrees], at least two.

    Examples
    --------
    The example of RFC 7946, 3.1.9, from 45° N, 170° E to 45° N, 170° W:

    >>> cut([[170.0, 45.0], [-170.0, 45.0]])
    [[[170.0, 45.0], [180.0, 45.0]], [[-180.0, 45.0], [-170.0, 45.0]]]
    """
    pieces = [[positions[0]]]
    for (lon, lat), (to_lon, to_lat) in pairwise(positions):
        if abs(to_lon - lon) == 2 * _HALF_WAY:  # the same meridian by its other name
            pieces[-1].append([lon, to_lat])
            pieces.append([[to_lon, to_lat]])
            continue
        if abs(to_lon - lon) > _HALF_WAY:
            edge = _HALF_WAY if lon > 0 else -_HALF_WAY
            way = to_lon + 2 * edge - lon
            share = (edge - lon) / way if way else 0.0
            at = round(lat + share * (to_lat - lat), _DECIMALS)
            if lon != edge:
                pieces[-1].append([edge, at])
            pieces.append([[-edge, at]])
            if to_lon == -edge:
                pieces[-1][0] = [to_lon, to_lat]
                continue
        pieces[-1].append([to_lon, to_lat])
    return [piece for piece in pieces if len(piece) > 1]


def _position(stop: StopSheet) -> Position:
    errand = stop.stop.errand
    assert errand.longitude is not None
    assert errand.latitude is not None
    return [round(errand.longitude, _DECIMALS), round(errand.latitude, _DECIMALS)]
