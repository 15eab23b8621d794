"""Finding a pond's volume from what was typed: the ways there are, their fields, the result."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from store.errors import BadInput
from store.water import shapes
from store.water.measures import quantity, spelt, to_grams, to_litres, to_metres, typed_step
from store.water.units import to_stored
from store.water.volume import STATED_PERCENT, Volume, by_salt, stated, with_filter

Measure = Literal["length", "volume", "mass", "salinity", "share", "hours", "grid"]


@dataclass(frozen=True, slots=True)
class Measured:
    """One thing to type: its name, its words, what it is, what to type, whether it may be empty."""

    name: str
    label: str
    measure: Measure
    hint: str
    optional: bool = False


@dataclass(frozen=True, slots=True)
class Way:
    """One way of finding a volume."""

    code: str
    label: str
    meaning: str
    fields: tuple[Measured, ...]


def _length(name: str, label: str, hint: str = "m, cm, ft, in") -> Measured:
    return Measured(name, label, "length", hint)


_FILTER = Measured(
    "filter", "filter, pipework", "volume", "L beside the pond itself", optional=True
)
_SIDES = (_length("length", "length"), _length("width", "width"))

_ALL = (
    Way("rectangle", "rectangle", "Straight sides, flat floor.",
        (*_SIDES, _length("depth", "depth"), _FILTER)),
    Way("circle", "circle", "Round, straight walls, flat floor.",
        (_length("diameter", "diameter"), _length("depth", "depth"), _FILTER)),
    Way("ellipse", "ellipse", "Oval, straight walls, flat floor.",
        (*_SIDES, _length("depth", "depth"), _FILTER)),
    Way("l_shape", "L-shape", "A rectangle with a corner cut out.",
        (*_SIDES, _length("corner_length", "corner length", "of the corner cut out"),
         _length("corner_width", "corner width", "of the corner cut out"),
         _length("depth", "depth"), _FILTER)),
    Way("sloping_floor", "sloping floor", "A rectangle that deepens evenly.",
        (*_SIDES, _length("shallow", "shallow end"), _length("deep", "deep end"), _FILTER)),
    Way("depth_grid", "depth grid", "Irregular, depths on a grid of equal cells.",
        (_length("cell_length", "cell length"), _length("cell_width", "cell width"),
         Measured("grid", "depths, m", "grid", "one row of cells a line; 0 is dry land"), _FILTER)),
    Way("salt", "by salt", "Weighed salt, read before and after mixing.",
        (Measured("salt", "salt put in", "mass", "g, kg, lb"),
         Measured("before", "salinity before", "salinity", "g/L, %, ppm"),
         Measured("after", "salinity after", "salinity", "g/L, %, ppm"),
         Measured("resolution", "step of the meter", "salinity",
                  "empty: the last digit typed", optional=True),
         Measured("hours", "hours mixed", "hours", "before the second reading", optional=True),
         Measured("purity", "purity", "share", "1, or 0.97; empty: 1", optional=True))),
    Way("stated", "stated", "What the owner says it holds.",
        (Measured("litres", "volume", "volume", "L, m3, USgal, UKgal"),
         Measured("percent", "doubt", "share", "%, either way; empty: 30", optional=True))),
)  # fmt: skip

WAYS: Mapping[str, Way] = MappingProxyType({way.code: way for way in _ALL})
"""Every way by its code, in the order in which a person is offered them."""

_SHAPES: Mapping[str, tuple[Callable[..., Volume], tuple[str, ...]]] = {
    "rectangle": (shapes.rectangle, ("length", "width", "depth")),
    "circle": (shapes.circle, ("diameter", "depth")),
    "ellipse": (shapes.ellipse, ("length", "width", "depth")),
    "l_shape": (shapes.l_shape, ("length", "width", "corner_length", "corner_width", "depth")),
    "sloping_floor": (shapes.sloping_floor, ("length", "width", "shallow", "deep")),
}


_CALLED = {
    "salinity before": "before", "salinity after": "after", "meter's step": "resolution",
    "corner": "corner_length",
    "mixing time": "hours", "cell": "cell_length", "depth": "grid", "volume": "litres",
    "doubt": "percent",
}  # fmt: skip
"""What the arithmetic calls a quantity, where the form calls it otherwise."""


def find_volume(way: str, texts: Mapping[str, str]) -> Volume:
    """The volume that the typed measurements give.

    Parameters
    ----------
    way
        A code of `WAYS`.
    texts
        What was typed, by the names of the way's fields; units may stand behind each number.

    Returns
    -------
    Volume
        Litres with bounds and workings.

    Raises
    ------
    BadInput
        Something is missing, no number, or impossible; `field` names it where one is to blame.

    Examples
    --------
    >>> find_volume("rectangle", {"length": "5m", "width": "300 cm", "depth": "1"}).litres
    15000.0
    """
    known = WAYS.get(way)
    if known is None:
        raise BadInput(f"“{way}” is no way of finding a volume.", field="way")
    values: dict[str, float] = {}
    for field in known.fields:
        text = texts.get(field.name, "").strip()
        if not text:
            if not field.optional:
                raise BadInput(f"The {field.label} is still missing.", field=field.name)
        elif field.measure != "grid":
            values[field.name] = _value(field, text)
    try:
        return _found(way, values, texts)
    except BadInput as trouble:
        raise BadInput(trouble.message, field=_field_of(known, trouble.field or "")) from trouble


def _found(way: str, values: Mapping[str, float], texts: Mapping[str, str]) -> Volume:
    if way == "salt":
        return _salt(values, texts)
    if way == "stated":
        return stated(values["litres"], values.get("percent", STATED_PERCENT))
    if way == "depth_grid":
        grid = _grid(texts["grid"])
        volume = shapes.depth_grid(grid, values["cell_length"], values["cell_width"])
    else:
        shape, names = _SHAPES[way]
        volume = shape(*(values[name] for name in names))
    return with_filter(volume, values["filter"]) if "filter" in values else volume


def _field_of(way: Way, named: str) -> str:
    """The field of the form for the name that the arithmetic gave to what is wrong."""
    names = [field.name for field in way.fields]
    spelt_name = named.replace(" ", "_")
    for name in (spelt_name, _CALLED.get(named, "")):
        if name in names:
            return name
    return next((name for name in names if spelt_name.startswith(name)), names[0])


def _value(field: Measured, text: str) -> float:
    try:
        number, unit = quantity(text, field.label)
        if field.measure == "length":
            return to_metres(number, unit)
        if field.measure == "volume":
            return to_litres(number, unit)
        if field.measure == "mass":
            return to_grams(number, unit)
        if field.measure == "salinity":
            return to_stored("salinity_g_l", number, unit)
        if field.measure == "hours" and spelt(unit) in ("d", "day", "days"):
            return number * 24.0
    except BadInput as trouble:
        raise BadInput(trouble.message, field=field.name) from trouble
    return number


def _salt(values: Mapping[str, float], texts: Mapping[str, str]) -> Volume:
    step = values.get("resolution")
    if step is None:
        step = max(_step(texts[name]) for name in ("before", "after"))
    return by_salt(
        values["salt"],
        values["before"],
        values["after"],
        step,
        purity=values.get("purity", 1.0),
        hours_mixed=values.get("hours"),
    )


def _step(text: str) -> float:
    """What the meter could tell apart, from the last digit typed [g/L]."""
    _, unit = quantity(text, "salinity")
    return to_stored("salinity_g_l", typed_step(text), unit)


def _grid(text: str) -> list[list[float]]:
    rows = []
    for number, line in enumerate(text.splitlines(), 1):
        cells = line.replace(";", " ").split()
        try:
            row = [float(cell.replace(",", ".")) for cell in cells]
        except ValueError:
            raise BadInput(
                f"Row {number} of the depths has something that is no number; please type each "
                "depth in metres, with blanks between them.",
                field="grid",
            ) from None
        if row:
            rows.append(row)
    if not rows:
        raise BadInput("The depths are still missing.", field="grid")
    return rows
