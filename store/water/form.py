"""The form of a water test: its texts read by the rules of the typed line, and back into a line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, tzinfo

from store.errors import BadInput
from store.water.line import read_cell
from store.water.measures import quantity, spelt
from store.water.parameters import PARAMETERS
from store.water.understood import (
    Doubt,
    KitForms,
    ReadingValue,
    Understood,
    echo_of,
    write,
)
from store.water.when import find_time

DETAILS = ("place", "since_feeding", "since_water_change", "binder_days")
"""Fields beside the readings, the time (`taken_at`) and the note (`note`)."""

_IN_MINUTES = {"": 1.0, "min": 1.0, "mins": 1.0, "minutes": 1.0, "h": 60.0, "hours": 60.0,
               "hour": 60.0, "d": 1440.0, "days": 1440.0, "day": 1440.0}  # fmt: skip
_IN_DAYS = {"": 1.0, "d": 1.0, "day": 1.0, "days": 1.0, "h": 1 / 24, "hour": 1 / 24,
            "hours": 1 / 24}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Details:
    """How a test was taken."""

    place: str
    since_feeding_min: float | None
    since_water_change_min: float | None
    binder_days: float | None


def read_form(
    texts: Mapping[str, str], *, kit: KitForms, now: datetime, zone: tzinfo
) -> Understood:
    """What the texts of the form say, as a typed line would have said it.

    Parameters
    ----------
    texts
        By parameter code, with `taken_at` and `note`; other names are not looked at.
    kit
        As what the kit reports.
    now
        The present instant, aware.
    zone
        The zone of the practice.

    Returns
    -------
    Understood
        Readings in the order of the parameters; a field in doubt is a doubt and no reading.
    """
    readings: list[ReadingValue] = []
    doubts: list[Doubt] = []
    for code in PARAMETERS:
        answer = read_cell(code, texts.get(code, ""), None, kit)
        if isinstance(answer, Doubt):
            doubts.append(answer if answer.parameter else replace(answer, parameter=code))
        elif answer is not None:
            readings.append(answer)
    taken_at = None
    typed = texts.get("taken_at", "").strip()
    if typed:
        when = find_time(typed, now, zone)
        if when.taken_at is None and not when.doubts:
            when = find_time(f"at {typed}", now, zone)
        taken_at = when.taken_at
        doubts.extend(when.doubts)
        if taken_at is None and not when.doubts:
            question = f"“{typed}” is no time. Please type it as 07:40 or yesterday 16:20."
            doubts.append(Doubt("", typed, question))
    note = " ".join(texts.get("note", "").split())
    understood = Understood(tuple(readings), tuple(doubts), note, taken_at, "")
    return replace(understood, echo=echo_of(understood))


def read_details(texts: Mapping[str, str]) -> Details:
    """How the test was taken, from the texts of the form.

    Parameters
    ----------
    texts
        By the names of `DETAILS`; empty texts are not known. Times are minutes (`90`), hours
        (`2 h`) or days (`1 d`); the time since a binder is in days.

    Returns
    -------
    Details
        As stated.

    Raises
    ------
    BadInput
        A text that is no time; `field` names it.

    Examples
    --------
    >>> read_details({"since_feeding": "2 h"}).since_feeding_min
    120.0
    """
    return Details(
        place=" ".join(texts.get("place", "").split()),
        since_feeding_min=_time(texts, "since_feeding", "time since feeding", _IN_MINUTES),
        since_water_change_min=_time(
            texts, "since_water_change", "time since the water change", _IN_MINUTES
        ),
        binder_days=_time(texts, "binder_days", "time since the binder", _IN_DAYS),
    )


def _time(
    texts: Mapping[str, str], field: str, name: str, units: Mapping[str, float]
) -> float | None:
    text = texts.get(field, "").strip()
    if not text:
        return None
    try:
        number, unit = quantity(text, name)
    except BadInput as trouble:
        raise BadInput(trouble.message, field=field) from trouble
    factor = units.get(spelt(unit))
    if factor is None or number < 0.0:
        raise BadInput(
            f"The {name} “{text[:30]}” is not understood. Please type it as 90, 2 h or 1 d.",
            field=field,
        )
    return number * factor


def form_texts(understood: Understood) -> dict[str, str]:
    """The texts of the form that say what a line said; what was doubtful stays as typed.

    Parameters
    ----------
    understood
        The line, read.

    Returns
    -------
    dict
        By parameter code, with `taken_at` and `note` where the line has them.
    """
    texts: dict[str, str] = {}
    for reading in understood.readings:
        # Each part as `write` puts it, without the name of its parameter.
        line = write(Understood((reading,), (), "", None, ""))
        texts[reading.parameter] = line.partition(": ")[2]
    notes = [understood.note] if understood.note else []
    for doubt in understood.doubts:
        if doubt.parameter and doubt.parameter not in texts:
            texts[doubt.parameter] = doubt.typed
        else:
            notes.append(doubt.typed)
    if understood.taken_at is not None:
        texts["taken_at"] = f"{understood.taken_at:%Y-%m-%d %H:%M}"
    if notes:
        texts["note"] = "; ".join(notes)
    return texts


def line_of(understood: Understood) -> str:
    """The line that says what the form says; what is doubtful stands in it as typed.

    Parameters
    ----------
    understood
        The form, read.

    Returns
    -------
    str
        One line.
    """
    sure = write(replace(understood, note="", doubts=()))
    parts = [sure] if sure else []
    for doubt in understood.doubts:
        parameter = PARAMETERS.get(doubt.parameter)
        said = doubt.typed
        if parameter is not None and parameter.short.lower() not in said.lower():
            said = f"{parameter.short} {said}"
        parts.append(said)
    line = " | ".join(parts)
    if not understood.note:
        return line
    return f"{line} // {understood.note}".strip()
