"""A value of a column in words: with its unit, by its name, in the practice's zone."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from datetime import date, datetime, time
from functools import cache
from typing import TYPE_CHECKING, Any
from uuid import UUID

from sqlalchemy import Column, Time

from store.book.columns import Base, Day, Instant, Key
from store.diary.desk.about import About, about_of
from store.errors import PondroundError
from store.record.kinds import codes_of, unit_path, unit_said
from store.text import day_said

if TYPE_CHECKING:
    from store.record.names import Names

EMPTY: tuple[Any, ...] = (None, "", [], {})
_SOME_KEY = re.compile(r"[0-9a-f]{8}-?(?:[0-9a-f]{4}-?){3}[0-9a-f]{12}")
_ABOUT: Mapping[str, tuple[str, str]] = {
    "dose": ("", "course_dose"), "answer": ("answer of the owner, ", "course_dose"),
    "control": ("control of the ", "course"), "turn": ("planning anew of the ", "course"),
    "finding": ("finding at ", "pond"), "concern": ("concern at ", "pond"),
    "test": ("water test due at ", "pond"), "sample": ("", "lab_sample"),
    "hand": ("", "follow_up"), "call": ("", "call_note"), "ring": ("ringing back ", "client"),
    "ask": ("thermometer reading of ", "pond"),
}  # fmt: skip
_FORMS = {"n": "as N", "nh3": "as NH3", "nh4": "as NH4", "no2": "as NO2", "no3": "as NO3",
          "unknown": "not known"}  # fmt: skip


def keys_in(table: str, values: Mapping[str, Any]) -> Iterator[tuple[str, UUID]]:
    """The rows that values of the log point at: table and key.

    Parameters
    ----------
    table
        Whose columns they are.
    values
        By column, as the log keeps them.
    """
    target = Base.metadata.tables.get(table)
    for name, value in values.items():
        column = None if target is None else target.c.get(name)
        if column is None or not isinstance(value, str | UUID) or not value:
            continue
        for key in column.foreign_keys:
            with suppress(ValueError):
                yield key.column.table.name, _key(value)
        if name == "about" and isinstance(value, str):
            with suppress(PondroundError, KeyError):
                about = about_of(value)
                yield _ABOUT[about.thing][1], about.key


def said_value(
    table: str,
    name: str,
    value: Any,
    names: Names,
    key: UUID,
    *,
    beside: Mapping[str, Any] | None = None,
    day_only: bool = False,
) -> str:
    """A value in words; empty for one that says nothing.

    Parameters
    ----------
    table, name
        The column.
    value
        As the book or its log has it.
    names
        With the rows that it points at.
    key
        Of the row that it belongs to.
    beside
        Values of the same line of the log, where the unit may stand.
    day_only
        Say the day of an instant without its hour.

    Returns
    -------
    str
        What is no such value as the column holds is given as it stands.
    """
    if value in EMPTY:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    target = Base.metadata.tables.get(table)
    column = None if target is None else target.c.get(name)
    if isinstance(value, dict | list):
        return _said_data(table, name, value, names)
    if isinstance(value, int | float):
        unit = _unit(table, name, names, key, beside or {})
        if unit == "days" and value == 1:
            unit = "day"
        return f"{_number(value)} {unit}".rstrip()
    with suppress(ValueError, TypeError):
        if column is not None and (said := _by_column(column, value, names, day_only)) is not None:
            return said
    if name == "repeats":
        row = names.rows.get((table, key)) or {}
        return _said_repeats(str(value), (beside or {}).get("first_on") or row.get("first_on"))
    return _said_text(table, name, str(value), names)


def _by_column(column: Column[Any], value: Any, names: Names, day_only: bool) -> str | None:
    if isinstance(column.type, Key):
        targets = [one.column.table.name for one in column.foreign_keys]
        return names.name(targets[0], _key(value)) if targets else ""
    if isinstance(column.type, Instant):
        at = value if isinstance(value, datetime) else datetime.fromisoformat(value)
        local = at.astimezone(names.zone)
        day = day_said(local.date())
        return day if day_only else f"{day} {local:%H:%M}"
    if isinstance(column.type, Day):
        return day_said(value if isinstance(value, date) else date.fromisoformat(value))
    if isinstance(column.type, Time):
        return f"{value if isinstance(value, time) else time.fromisoformat(value):%H:%M}"
    return None


def _key(value: str | UUID) -> UUID:
    return value if isinstance(value, UUID) else UUID(value)


def _number(value: float) -> str:
    return f"{value:,.10g}"


def _unit(table: str, name: str, names: Names, key: UUID, beside: Mapping[str, Any]) -> str:
    path = unit_path(table, name)
    if not path:
        return unit_said(table, name)
    return str(beside.get(path) or names.value(table, key, path))


def _said_text(table: str, name: str, text: str, names: Names) -> str:
    if name == "about":
        with suppress(PondroundError, KeyError):
            return _said_about(about_of(text), names)
    known = codes_of(table, name)
    return _CODES[known](text, names) if known else text


def _said_about(about: About, names: Names) -> str:
    said, table = _ABOUT[about.thing]
    called = names.name(table, about.key) if table in ("pond", "client") else names.title(
        table, about.key
    )  # fmt: skip
    code = _words(about.code, names) if about.code else ""
    if about.thing == "concern":
        code = _rule(about.code, names)
    day = "" if about.day is None else f", {day_said(about.day)}"
    return f"{said}{called}{day}" + (f": {code}" if code else "")


def _said_repeats(text: str, first: Any) -> str:
    from store.diary.times.repeats import repeat_of

    with suppress(PondroundError, ValueError, TypeError):
        day = first if isinstance(first, date) else date.fromisoformat(first)
        return repeat_of(text, day).said
    return text


def _said_data(table: str, name: str, value: Any, names: Names) -> str:
    if name == "test_seasons" and isinstance(value, list):
        from store.water.plan import said_seasons

        with suppress(PondroundError, KeyError, TypeError, ValueError):
            return said_seasons(value)
    known = codes_of(table, name)
    code = _CODES[known] if known else None
    return _nested(value, names, code, top=True)


def _nested(value: Any, names: Names, code: _Code | None, *, top: bool = False) -> str:
    if isinstance(value, Mapping):
        said = "; ".join(
            _named(str(one), _nested(inner, names, code))
            for one, inner in sorted(value.items(), key=lambda pair: str(pair[0]))
            if inner not in EMPTY
        )
        return said if top else f"({said})"
    if isinstance(value, list):
        parts = [_nested(one, names, code) for one in value]
        return (" " if any(one.endswith(".") for one in parts) else ", ").join(parts)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return _number(value)
    text = str(value)
    if _SOME_KEY.fullmatch(text):
        return "another row of the book"
    return code(text, names) if code else text


def _named(name: str, said: str) -> str:
    """A named value within data, its unit behind it where the name ends in one."""
    for ending, unit in _UNITS.items():
        if name.endswith(ending):
            return f"{name.removesuffix(ending).replace('_', ' ')}: {said} {unit}"
    return f"{'pH' if name == 'ph' else name.replace('_', ' ')}: {said}"


_UNITS = {
    "_mg_l": "mg/L", "_g_l": "g/L", "_us_cm": "µS/cm", "_percent": "%", "_days": "days",
    "_min": "min", "_cm": "cm", "_kg": "kg", "_m": "m", "_l": "L", "_h": "h", "_g": "g",
    "_c": "°C",
}  # fmt: skip
_Code = Callable[[str, "Names"], str]


def _words(code: str, _names: Names) -> str:
    return code.replace("_", " ")


def _agent(code: str, names: Names) -> str:
    from store.facts.agents import agents

    known = agents()
    if code in known:
        return known[code].name
    return names.own_agents().get(code) or _words(code, names)


def _hazard(code: str, names: Names) -> str:
    from store.facts.hazards import hazards

    known = hazards()
    return known[code].name if code in known else _words(code, names)


def _rule(code: str, names: Names) -> str:
    from store.facts.rules import rules

    known = rules()
    return known[code].title if code in known else _words(code, names)


def _parameter(code: str, names: Names) -> str:
    from store.water.parameters import PARAMETERS

    return PARAMETERS[code].label if code in PARAMETERS else _words(code, names)


@cache
def _event_labels() -> Mapping[str, str]:
    from store.book.events import EVENT_KINDS

    return {code: one.label for code, one in EVENT_KINDS.items()}


def _event(code: str, names: Names) -> str:
    return _event_labels().get(code) or _words(code, names)


def _follow_up(code: str, names: Names) -> str:
    from store.facts.follow_ups import follow_up_kinds

    known = follow_up_kinds()
    return known[code].label if code in known else _words(code, names)


def _visit(code: str, names: Names) -> str:
    from store.facts.follow_ups import visit_kinds

    known = visit_kinds()
    return known[code].name if code in known else _words(code, names)


def _form(code: str, _names: Names) -> str:
    return _FORMS.get(code, code)


_CODES: Mapping[str, _Code] = {
    "agent": _agent, "hazard": _hazard, "rule": _rule, "parameter": _parameter, "event": _event,
    "follow-up": _follow_up, "visit": _visit, "fish": _words, "form": _form, "words": _words,
}  # fmt: skip
