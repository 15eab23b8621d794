"""The rounds of a day as GPX 1.1: a route (`rte`) a person with a point (`rtept`) a stop.

Order and types of the elements are those of the schema http://www.topografix.com/GPX/1/1/gpx.xsd
(from memory): times are UTC, latitudes -90 to 90, longitudes from -180 to below 180 in WGS 84.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from xml.sax.saxutils import escape, quoteattr

from store.paper.paper import date_in_words, one_line
from store.rounds.day.sheet import DaySheet, StopSheet, has_place
from store.rounds.solving.said import clock_said

NAMESPACE = "http://www.topografix.com/GPX/1/1"
_INSTANCE = "http://www.w3.org/2001/XMLSchema-instance"
_ORDER_ONLY = "The stops in their order; the way between them is not said."
_DECIMALS = 6


def gpx_bytes(sheets: Sequence[DaySheet], now: datetime) -> bytes:
    """The rounds of a day, in UTF-8.

    Parameters
    ----------
    sheets
        Of one day, one a person. Stops without coordinates are left out, and with them a round that
        has no other.
    now
        The present instant, with a time zone; stands as the time of the file.

    Returns
    -------
    bytes
        Number, name, address and the hours of each stop; no code, telephone or standing.
    """
    day = date_in_words(sheets[0].day) if sheets else ""
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<gpx version="1.1" creator="Pondround" xmlns="{NAMESPACE}" xmlns:xsi="{_INSTANCE}" '
        f'xsi:schemaLocation="{NAMESPACE} {NAMESPACE}/gpx.xsd">',
        " <metadata>",
        f"  <name>{_text(f'Rounds of {day}' if day else 'Rounds')}</name>",
        f"  <desc>{_text(_ORDER_ONLY)}</desc>",
        f"  <time>{_utc(now)}</time>",
        " </metadata>",
    ]
    shown = [one for one in sheets if any(map(has_place, one.stops))]
    for number, sheet in enumerate(shown, start=1):
        lines += _route(sheet, number)
    return ("\n".join([*lines, "</gpx>"]) + "\n").encode()


def _route(sheet: DaySheet, number: int) -> Iterator[str]:
    yield " <rte>"
    yield f"  <name>{_text(f'{sheet.who}, {date_in_words(sheet.day)}')}</name>"
    yield f"  <desc>{_text(_ORDER_ONLY)}</desc>"
    yield f"  <number>{number}</number>"
    for one in sheet.stops:
        if has_place(one):
            yield from _point(sheet, one)
    yield " </rte>"


def _point(sheet: DaySheet, stop: StopSheet) -> Iterator[str]:
    at, errand = stop.stop, stop.stop.errand
    assert errand.latitude is not None
    assert errand.longitude is not None
    # The schema leaves 180° E out: it is 180° W.
    lon = round(errand.longitude, _DECIMALS)
    lon = -180.0 if lon >= 180.0 else lon
    lat = round(errand.latitude, _DECIMALS)
    yield f"  <rtept lat={quoteattr(_number(lat))} lon={quoteattr(_number(lon))}>"
    yield f"   <time>{_utc(sheet.at(at.begins))}</time>"
    yield f"   <name>{_text(f'{stop.number} {stop.name}')}</name>"
    yield f"   <cmt>{_text(', '.join(stop.address))}</cmt>"
    yield f"   <desc>{_text(f'{clock_said(at.begins)} to {clock_said(at.ends)}')}</desc>"
    yield "  </rtept>"


def _number(value: float) -> str:
    """A decimal as `xsd:decimal` has it, never with an exponent."""
    return f"{value:.{_DECIMALS}f}"


def _text(text: str) -> str:
    return escape(one_line(text))


def _utc(at: datetime) -> str:
    return f"{at.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"
