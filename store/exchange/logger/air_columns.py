"""Which columns of a weather file give the temperature of the air: mean, lowest and highest."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from store.book.air_tables import LEAST_AIR_C, MOST_AIR_C
from store.errors import BadInput
from store.exchange.logger.columns import Roles, column_of
from store.exchange.plain.planned import same
from store.text import plain

Kind = Literal["mean", "low", "high"]

_BRACKETS = re.compile(r"\([^()]*\)|\[[^\[\]]*\]|,.*$")
_UNIT = re.compile(r"[\[(,] ?([^\[\](),]+?)[\])]?$")
_BARE_UNIT = re.compile(r"(?:°|deg\.? ?|[ _])([CF])$", re.IGNORECASE)


def _words(listed: str) -> frozenset[str]:
    return frozenset(listed.split())


_LOW = _words("min minimum lowest low tmin tn tnk tempmin mintemp tempmn mint")
_HIGH = _words("max maximum highest high tmax tx txk tempmax maxtemp tempmx maxt")
_MEAN = _words("mean avg average tavg tmean tg tm tmk tempavg avgtemp meantemp mittel")
_ALONE = _words("tmin tn tnk tmax tx txk tavg tmean tg tmk tt temperature temp value")
"""Words that name a temperature of the air without any other, in a file of the weather."""
_AIR = re.compile(r"^(?:air|aire|aria|outdoor|outside|ambient)$|luft|lucht")
_TEMPERATURE = re.compile(r"temp|^t$")
_ELSEWHERE = re.compile(r"wasser|boden|gras|bodem|taupunkt")
"""Within a word, beside which it is something else."""
_OTHER = _words(
    "water pond lake river sea sst dew dewpoint soil grass ground feels apparent chill index "
    "humidity battery device case board chip cpu internal rain wind pressure indoor inside room "
    "quality flag station attributes qc wet bulb wetbulb depth surface time date normal "
    "departure precipitation snow"
)
"""Words beside which it is something else."""


@dataclass(frozen=True, slots=True)
class AirRoles:
    """The columns of a weather file: those that are read, and which of them is which."""

    roles: Roles
    kinds: tuple[Kind, ...]
    """In step with `roles.columns`."""

    def place_of(self, kind: Kind) -> int | None:
        """The place of a column among those that are read; None where the file has none."""
        return self.kinds.index(kind) if kind in self.kinds else None


def air_roles(
    header: Sequence[str], taken: frozenset[int], *, unit: str, column: str, file_name: str
) -> AirRoles:
    """Which columns give the air's mean, lowest and highest temperature.

    Parameters
    ----------
    header
        Cleaned headings, with their units.
    taken
        Places of the columns of time.
    unit
        `C` or `F`, where a heading names none.
    column
        The heading of the one column that is wanted; empty to find them.
    file_name
        For sentences.

    Raises
    ------
    BadInput
        No column is of the air, or two are of the same kind.

    Examples
    --------
    >>> found = air_roles(("DATE", "TMAX (°F)", "TMIN (°F)"), frozenset({0}), unit="", column="",
    ...                   file_name="air.csv")
    >>> found.kinds, [one.unit for one in found.roles.columns]
    (('high', 'low'), ['°F', '°F'])
    """
    free = [place for place in range(len(header)) if place not in taken]
    kinds = _named(header, free, column) if column else _found(header, free, file_name)
    if not kinds:
        raise BadInput(
            f"{file_name} has no column that is known to be of the air; nothing was brought in. "
            "Head it with air temperature, tavg, tmin or tmax, or name it with --column.",
            field="column",
        )
    columns = tuple(
        replace(
            column_of(place, "temperature_c", _unit_of(header[place]), unit, header),
            possible=(LEAST_AIR_C, MOST_AIR_C),
        )
        for place in kinds
    )
    left = tuple(place for place in free if place not in kinds)
    return AirRoles(Roles(columns, (), (), left), tuple(kinds.values()))


def _unit_of(title: str) -> str:
    found = _UNIT.search(title) or _BARE_UNIT.search(title)
    return found[1] if found else ""


def _named(header: Sequence[str], free: Sequence[int], column: str) -> dict[int, Kind]:
    wanted = same(column)
    found = [place for place in free if same(header[place]) == wanted]
    found = found or [place for place in free if same(header[place]).startswith(wanted)]
    if len(found) != 1:
        names = ", ".join(f"“{header[place]:.40}”" for place in free[:12])
        raise BadInput(
            f"“{column:.40}” is not the heading of one column; nothing was brought in. The file "
            f"has {names}.",
            field="column",
        )
    return {found[0]: "mean"}


def _found(header: Sequence[str], free: Sequence[int], file_name: str) -> dict[int, Kind]:
    kinds: dict[int, Kind] = {}
    said: dict[int, int] = {}
    for place in free:
        kind = _kind(header[place])
        if kind is not None:
            kinds[place], said[place] = kind
    # What is called a mean goes before a temperature of some hour beside it, and the air before
    # what names no place.
    most = max((said[at] for at, kind in kinds.items() if kind == "mean"), default=0)
    kinds = {at: kind for at, kind in kinds.items() if kind != "mean" or said[at] == most}
    for which in ("mean", "low", "high"):
        twins = [place for place, one in kinds.items() if one == which]
        if len(twins) > 1:
            names = " and ".join(f"“{plain(header[place]):.40}”" for place in twins[:4])
            raise BadInput(
                f"Columns of {file_name} that may be the same temperature of the air: {names}; "
                "nothing was brought in. Name the one that is meant with --column.",
                field="column",
            )
    if "mean" not in kinds.values() and len(kinds) < 2:
        return {}
    return kinds


def _kind(title: str) -> tuple[Kind, int] | None:
    """What a heading names, and how clearly (2 a mean, 1 the air); None where it is not of the air.

    A heading that names no place counts as of the air, since such a file is of the weather.
    """
    bare = _BRACKETS.sub("", title).casefold()
    words = frozenset(re.findall(r"[^\W\d_]+", bare))
    if words & _OTHER or any(_ELSEWHERE.search(word) for word in words):
        return None
    of_air = any(_AIR.search(word) for word in words)
    if not (of_air or words & _ALONE or any(_TEMPERATURE.search(word) for word in words)):
        return None
    if words & _LOW:
        return None if words & _HIGH else ("low", 0)
    if words & _HIGH:
        return "high", 0
    return "mean", 2 if words & _MEAN else int(of_air)
