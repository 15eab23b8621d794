"""What the columns of a logger's file hold: in which unit, from which heading."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from store.errors import BadInput
from store.exchange.columns.headings import Heading, heading_of
from store.exchange.plain.planned import REASON, same
from store.text import plain
from store.water.parameters import PARAMETERS
from store.water.pieces import unit_and_form
from store.water.units import to_stored
from store.water.words import name_of

AT_NAMES = frozenset(
    same(name)
    for name in (
        "at", "taken_at", "datetime", "date time", "date and time", "timestamp", "date", "day",
        "time", "clock", "time of day", "datum", "zeit", "uhrzeit", "fecha", "hora", "data", "ora",
        "heure", "jour", "tijd", "tid", "dato", "utc", "gmt", "yyyymmdd", "yyyy-mm-dd",
    )
)  # fmt: skip
_VALUE_NAMES = frozenset(same(name) for name in ("value", "reading", "measurement", "wert"))
_STATUS = re.compile(
    r"status|state|flag|qualit|\bqc\b|alarm|error|fehler|remark|comment|note|event|connected|"
    r"stopped|started|attached|detached|end of file|button",
    re.I,
)
_COUNTER = re.compile(r"#|no\.?|nr\.?|n|num(?:ber)?|sample|record|scan|index|id|count|line", re.I)
_OTHER_WORDS = (
    (re.compile(r"wassertemperatur|temp[ée]ratur[ae]?|lämpötila|teplota|sıcaklık|θερμοκρασία|"
                r"温度|水温|온도|температура", re.I), "temperature"),
    (re.compile(r"sauerstoffsättigung", re.I), "oxygen saturation"),
    (re.compile(r"sauerstoff|oxyg[èe]ne|ox[íi]geno|ossigeno|zuurstof|syre|kyslík|溶存酸素", re.I),
     "oxygen"),
    (re.compile(r"leitfähigkeit|conductivit[ée]|conductividad|conducibilità|geleidbaarheid", re.I),
     "conductivity"),
)  # fmt: skip
_AIR = re.compile(
    r"\b(?:air|luft|aire?|aria|lucht|ambient|outdoor|outside|indoor|room|battery|device|case|board|"
    r"chip|cpu|internal|dew|soil|grass|max|min|high|low|t(?:emp)?(?:max|min|x|n))\b|luft",
    re.I,
)
_OF_AIR = re.compile(
    r"\b(?:air|aire?|aria|lucht|ambient|outdoor|outside|dry ?bulb)\b|luft|\bt[gxn]\b|"
    r"\bt(?:emp)?(?:avg|max|min)\b", re.I
)  # fmt: skip
_DEGREES = (
    "ï¿½", "Ã‚Â°", "Ã‚°", "Â°", "Âº", "&deg;", "\\xb0", "\\u00b0", "\ufffd", "∞", "¡", "ø", "ƒ",
    "*", "?", "°°", "º", "˚",
)  # fmt: skip
_BEFORE_LETTER = re.compile(rf"(?:{'|'.join(map(re.escape, _DEGREES))}) ?(?=[CFcf](?![A-Za-z]))")
_SERIAL_PART = re.compile(r"\((?=[^()]*(?:s/?n|serial|lgr|sen|lbl|label))[^()]*\)", re.I)
_ZONE_PART = re.compile(r"[,(\[ ]*(?:GMT|UTC) ?(?:[+-] ?\d{1,2}(?::?\d{2})?)?[)\]]?", re.I)
_TENTHS = re.compile(r"0[.,]1 ?°? ?C\b|1/10 ?°? ?C\b|tenths?", re.I)
_KELVIN = re.compile(r"(?<![A-Za-z])(?:K|kelvin)(?![A-Za-z])")
_UNIT_CELL = re.compile(
    r"°?[CF]|deg\.? ?[CF]|celsius|fahrenheit|kelvin|K|mg/l|ppm|%|% ?sat\.?|[µumk]?s/cm|ppt|psu|g/l|"
    r"v|volts?|mv|lux|m|cm|ft|h?k?pa|mbar|mmhg|ntu|hh:mm(?::ss)?|[dmyjtahs/.\- :]+|utc|gmt|-|",
    re.I,
)


@dataclass(frozen=True, slots=True)
class LoggerColumn:
    """A column of values: stored value = number × `factor` + `offset`."""

    place: int
    parameter: str
    unit: str
    """As it was understood; empty where the file names none."""
    factor: float
    offset: float
    title: str = ""
    possible: tuple[float, float] | None = None
    """Between which values lie [stored unit], where they are not those of water."""


@dataclass(frozen=True, slots=True)
class Roles:
    """What every column of a logger's file is."""

    columns: tuple[LoggerColumn, ...]
    status: tuple[int, ...]
    """Columns in which a logger says how sure it is, or what happened."""
    counters: tuple[int, ...]
    left: tuple[int, ...]
    """Columns that are not read."""
    air: tuple[int, ...] = ()
    """Those of them that give the temperature of the air."""


def clean_title(title: str) -> str:
    """A heading without marks of comments, serial numbers and wrongly encoded degree signs.

    Parameters
    ----------
    title
        The cell.

    Examples
    --------
    >>> clean_title("Temp, \u00c2\u00b0F (LGR S/N: 2012, SEN S/N: 2013)")
    'Temp, °F'
    """
    text = plain(title).strip().strip('"').strip()
    text = _SERIAL_PART.sub("", text)
    text = _BEFORE_LETTER.sub("°", text)
    return re.sub(r"\s+", " ", text).strip(" ,;:")


def is_unit(cell: str) -> bool:
    """Whether a cell under a heading says a unit, or nothing.

    Parameters
    ----------
    cell
        The cell, cleaned.
    """
    return _UNIT_CELL.fullmatch(cell.strip(" ()[]")) is not None


def is_name(title: str) -> bool:
    """Whether a cell is a heading that is known.

    Parameters
    ----------
    title
        The cell, cleaned.
    """
    bare = _ZONE_PART.sub("", title)
    return (
        same(bare) in AT_NAMES | _VALUE_NAMES
        or re.match(
            r"(?:date|time|datum|zeit|fecha|heure)\b|unix|epoch|posix|time ?_?stamp", title, re.I
        )
        is not None
        or _heading(title) is not None
    )


def parameter_of(title: str) -> str:
    """The code of the parameter that a heading names, or nothing.

    Parameters
    ----------
    title
        The cell, cleaned.
    """
    heading = _heading(title)
    return "" if heading is None else heading.parameter


def _heading(title: str) -> Heading | None:
    if _AIR.search(title):
        return None
    for pattern, english in _OTHER_WORDS:
        if pattern.search(title):
            title = pattern.sub(english, title, count=1)
            break
    return heading_of(_ZONE_PART.sub("", title))


def roles_of(
    header: Sequence[str],
    taken: frozenset[int],
    *,
    parameter: str | None,
    unit: str,
    column: str,
    file_name: str,
) -> Roles:
    """Which columns hold which parameter, and what the others are.

    Parameters
    ----------
    header
        Cleaned headings, with their units.
    taken
        Places of the columns of time.
    parameter
        Code of the parameter that is wanted; None for all that the headings name.
    unit
        The unit where a heading names none.
    column
        The heading of the one column that is wanted; empty for all.
    file_name
        For sentences.

    Raises
    ------
    BadInput
        No such parameter, unit or column, two columns of one parameter, or no column of values.
    """
    if parameter is not None and parameter not in PARAMETERS:
        raise BadInput(
            f"“{parameter:.40}” is nothing that the book keeps; nothing was brought in. Choose "
            f"one of {', '.join(PARAMETERS)}.",
            field="parameter",
        )
    free = [place for place in range(len(header)) if place not in taken]
    headings = (
        _of_one(header, free, column, parameter)
        if column
        else _of_all(header, free, parameter, file_name)
    )
    if not headings:
        air = _titles(header, [place for place in free if _OF_AIR.search(header[place])])
        if air:
            raise BadInput(
                f"{file_name} has no column of values of water: {air} is of the air; nothing was "
                "brought in. Bring it in as the air of a station with “pondround import air FILE "
                "--station NAME”. If the logger hung in the water all the same, name its column "
                "with --column.",
                field="column",
            )
        raise BadInput(
            f"{file_name} has no column of values; nothing was brought in. Head it with "
            "value, or with the name of what was measured, or name it with --column.",
            field="column",
        )
    rest = [place for place in free if place not in headings]
    passed = {same(REASON), "line", ""}
    counters = tuple(
        place
        for place in rest
        if _COUNTER.fullmatch(header[place]) or same(header[place]) in passed
    )
    status = tuple(
        place for place in rest if place not in counters and _STATUS.search(header[place])
    )
    left = tuple(place for place in rest if place not in counters and place not in status)
    return Roles(
        tuple(_column(place, heading, unit, header) for place, heading in headings.items()),
        status,
        counters,
        left,
        tuple(place for place in left if _OF_AIR.search(header[place])),
    )


def air_told(header: Sequence[str], roles: Roles) -> tuple[str, ...]:
    """What is to be told of columns that give the temperature of the air, if there are any.

    Parameters
    ----------
    header
        Cleaned headings.
    roles
        What the columns are.
    """
    told = []
    if roles.air:
        told.append(
            f"Not read, as it is of the air: {_titles(header, roles.air)}. “pondround import air "
            "FILE --station NAME” brings it in beside the ponds."
        )
    taken = [one.place for one in roles.columns if _OF_AIR.search(one.title)]
    if taken:
        told.append(f"{_titles(header, taken)} was named, and goes in as what the pond had.")
    return tuple(told)


def others_told(header: Sequence[str], roles: Roles) -> tuple[str, ...]:
    """What is to be told of columns that the book could keep and that were not named.

    Parameters
    ----------
    header
        Cleaned headings.
    roles
        What the columns are.
    """
    places = [at for at in roles.left if at not in roles.air and parameter_of(header[at])]
    if not places:
        return ()
    return (
        f"Not read, as another column was named: {_titles(header, places)}. Bring the file in "
        "again with that one named; nothing is doubled.",
    )


def _titles(header: Sequence[str], places: Sequence[int]) -> str:
    few = [f"“{plain(header[place]):.40}”" for place in places[:6]]
    return ", ".join(few) + (" …" if len(places) > 6 else "")


def _of_one(
    header: Sequence[str], free: Sequence[int], column: str, parameter: str | None
) -> dict[int, Heading]:
    wanted = same(column)
    found = [place for place in free if same(header[place]) == wanted]
    found = found or [place for place in free if same(header[place]).startswith(wanted)]
    if len(found) != 1:
        names = ", ".join(f"“{header[place]:.40}”" for place in free[:12])
        raise BadInput(
            f"“{column:.40}” is not the heading of one column; nothing was brought in. "
            f"The file has {names}.",
            field="column",
        )
    title = header[found[0]]
    known = _heading(title)
    if known is None or (parameter is not None and known.parameter != parameter):
        units = re.search(r"[\[(,] ?([^\[\](),]+?)[\])]?$", title)
        known = Heading(parameter or "temperature_c", units[1] if units else "")
    return {found[0]: known}


def _of_all(
    header: Sequence[str], free: Sequence[int], parameter: str | None, file_name: str
) -> dict[int, Heading]:
    headings: dict[int, Heading] = {}
    for place in free:
        if same(header[place]) in _VALUE_NAMES or re.match(r"value\b[ (,\[]", header[place], re.I):
            rest = re.sub(r"^\w+", "", header[place]).strip(" ()[],")
            return {place: Heading(parameter or "temperature_c", rest)}
        heading = _heading(header[place])
        if heading is None or (parameter is not None and heading.parameter != parameter):
            continue
        if not heading.parameter or _COUNTER.fullmatch(header[place]):
            continue
        twin = next(
            (at for at, one in headings.items() if one.parameter == heading.parameter), None
        )
        if twin is not None:
            raise BadInput(
                f"Two columns of {file_name} give {PARAMETERS[heading.parameter].label}: "
                f"“{header[twin]:.40}” and “{header[place]:.40}”; nothing was brought in. Name the "
                "one that is meant with --column.",
                field="column",
            )
        headings[place] = heading
    return headings


def column_of(
    place: int, parameter: str, said: str, unit_given: str, header: Sequence[str]
) -> LoggerColumn:
    """A column whose parameter is known, with its unit.

    Parameters
    ----------
    place
        Of the column.
    parameter
        Code of the parameter.
    said
        The unit as the heading names it; empty where it names none.
    unit_given
        The unit where the heading names none.
    header
        Cleaned headings.
    """
    return _column(place, Heading(parameter, said), unit_given, header)


def _column(place: int, heading: Heading, unit_given: str, header: Sequence[str]) -> LoggerColumn:
    """Unit and form of a column; words that are no unit, such as a serial number, do not matter."""
    code, said = heading.parameter, heading.unit
    title = header[place]
    if code == "temperature_c" and _TENTHS.search(title):
        return LoggerColumn(place, code, "0.1 °C", 0.1, 0.0, title)
    if code == "temperature_c" and _KELVIN.search(said):
        return LoggerColumn(place, code, "K", 1.0, -273.15, title)
    unit, form, end = _unit_in(said)
    for word in (said[end:].strip(" -"), heading.name):
        name = name_of(word) if word and not form else None
        if name is not None and name.parameter == code:
            form = name.form
    if not unit and unit_given:
        unit, given_form, _, _ = unit_and_form(unit_given, 0)
        form = form if form else given_form
        unit = unit or unit_given
    if code == "temperature_c" and unit in ("°F", "F", "f"):
        return LoggerColumn(place, code, unit, 5.0 / 9.0, -160.0 / 9.0, title)
    zero = to_stored(code, 0.0, unit, form or None)
    return LoggerColumn(
        place, code, unit, to_stored(code, 1.0, unit, form or None) - zero, zero, title
    )


def _unit_in(said: str) -> tuple[str, str, int]:
    """The first unit in a text, the form behind it, and where it ends."""
    for start in (0, *(found.end() for found in re.finditer(r"[\s,(\[]+", said))):
        unit, form, _, end = unit_and_form(said, start)
        if unit and unit != "other":
            return unit, form, end
    return "", "", 0


def supposed(columns: Mapping[str, LoggerColumn] | Sequence[LoggerColumn]) -> str:
    """The sentence that says which unit was taken where the file names none, or nothing.

    Parameters
    ----------
    columns
        The columns of values.
    """
    listed = columns.values() if isinstance(columns, Mapping) else columns
    units = [
        f"{PARAMETERS[one.parameter].label} in {PARAMETERS[one.parameter].shown_unit}"
        for one in listed
        if not one.unit and PARAMETERS[one.parameter].shown_unit
    ]
    return f"The file names no unit; it was taken as {', '.join(units)}." if units else ""
