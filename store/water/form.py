"""The form of a water test: its texts read by the rules of the typed line, and back into a line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta, tzinfo
from typing import TYPE_CHECKING

from store.errors import BadInput
from store.text import plain
from store.water.given import given, said_minutes
from store.water.line import read_cell
from store.water.measures import quantity, spelt, to_metres
from store.water.parameters import PARAMETERS
from store.water.understood import (
    Doubt,
    KitForms,
    ReadingValue,
    Understood,
    echo_of,
    shown_time,
    write,
)
from store.water.when import When, find_time

if TYPE_CHECKING:
    from store.water.water_tests import WaterTest

DETAILS = ("place", "depth", "tested_at", "since_feeding", "since_water_change", "binder_days")
"""Fields beside the readings, the time (`taken_at`) and the note (`note`)."""

_DEEPEST_M = 200.0
_LONGEST_MIN = 1_000_000.0
_LONGEST_DAYS = 1000.0
"""What the book holds; longer times since say nothing about a test."""
_MINUTE = timedelta(minutes=1)

_IN_MINUTES = {"": 1.0, "min": 1.0, "mins": 1.0, "minutes": 1.0, "h": 60.0, "hours": 60.0,
               "hour": 60.0, "d": 1440.0, "days": 1440.0, "day": 1440.0}  # fmt: skip
_IN_DAYS = {"": 1.0, "d": 1.0, "day": 1.0, "days": 1.0, "h": 1 / 24, "hour": 1 / 24,
            "hours": 1 / 24}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Details:
    """How a test was taken: place, depth [m], when the sample was tested, times since [min, d]."""

    place: str
    depth_m: float | None
    tested_at: datetime | None
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
        when = _when(typed, now, zone)
        taken_at = when.taken_at
        doubts.extend(when.doubts)
        if taken_at is None and not when.doubts:
            question = f"“{typed}” is no time. Please type it as 07:40 or yesterday 16:20."
            doubts.append(Doubt("", typed, question))
    note = " ".join(texts.get("note", "").split())
    understood = Understood(tuple(readings), tuple(doubts), note, taken_at, "")
    return replace(understood, echo=echo_of(understood))


def _when(typed: str, now: datetime, zone: tzinfo) -> When:
    when = find_time(typed, now, zone)
    if when.taken_at is None and not when.doubts:
        when = find_time(f"at {typed}", now, zone)
    return when


def read_details(
    texts: Mapping[str, str], *, taken_at: datetime, now: datetime, zone: tzinfo
) -> Details:
    """How the test was taken, from the texts of the form.

    Parameters
    ----------
    texts
        By the names of `DETAILS`; empty texts are not known. Times since are minutes (`90`), hours
        (`2 h`) or days (`1 d`); the time since a binder is in days. `tested_at` is a time of day,
        or how long after the sampling (`40 min`). The depth is in metres (`1.2`) or `4 ft`.
    taken_at
        When the sample was taken, aware.
    now, zone
        As for `read_form`.

    Returns
    -------
    Details
        As stated.

    Raises
    ------
    BadInput
        A text that is no time or no depth, a sample tested before it was taken or in a time to
        come, a depth over 200 m, more than 694 days since feeding or a water change or 1000 days
        since a binder; `field` names it.

    Examples
    --------
    >>> from datetime import UTC
    >>> noon = datetime(2026, 3, 14, 12, 0, tzinfo=UTC)
    >>> texts = {"since_feeding": "2 h", "depth": "4 ft"}
    >>> read = read_details(texts, taken_at=noon, now=noon, zone=UTC)
    >>> read.since_feeding_min, read.depth_m
    (120.0, 1.2192)
    """
    return Details(
        place=" ".join(texts.get("place", "").split()),
        depth_m=_depth(texts.get("depth", "").strip()),
        tested_at=_tested_at(texts.get("tested_at", "").strip(), taken_at, now, zone),
        since_feeding_min=_since(
            texts, "since_feeding", "time since feeding", _IN_MINUTES, _LONGEST_MIN
        ),
        since_water_change_min=_since(
            texts, "since_water_change", "time since the water change", _IN_MINUTES, _LONGEST_MIN
        ),
        binder_days=_since(texts, "binder_days", "time since the binder", _IN_DAYS, _LONGEST_DAYS),
    )


def detail_texts(test: WaterTest, zone: tzinfo) -> dict[str, str]:
    """The texts of the form that say how a test was taken; `read_details` reads the same again.

    Parameters
    ----------
    test
        A test in the book.
    zone
        The zone of the practice.

    Returns
    -------
    dict
        By the names of `DETAILS`, without those that are not known.
    """
    numbers = {
        "depth": test.depth_m,
        "since_feeding": test.since_feeding_min,
        "since_water_change": test.since_water_change_min,
        "binder_days": test.binder_days,
    }
    texts = {name: f"{value:.10g}" for name, value in numbers.items() if value is not None}
    if test.tested_at is not None:
        # With its offset: a time that the clock shows twice stays the same one.
        texts["tested_at"] = test.tested_at.astimezone(zone).isoformat(timespec="minutes")
    return texts | ({"place": test.place} if test.place else {})


def said_details(
    texts: Mapping[str, str], *, taken_at: datetime, now: datetime, zone: tzinfo
) -> dict[str, str]:
    """What was understood of each detail, or why it was not, to stand beside its field.

    Parameters
    ----------
    texts, taken_at, now, zone
        As for `read_details`.

    Returns
    -------
    dict
        By the names of `DETAILS`; nothing for empty fields, an empty text for the place.
    """
    said = {}
    for name in DETAILS:
        if not texts.get(name, "").strip():
            continue
        if name == "place":
            said[name] = ""
            continue
        one = {name: texts[name]}
        try:
            read = read_details(one, taken_at=taken_at, now=now, zone=zone)
        except BadInput as trouble:
            said[name] = trouble.message
            continue
        if read.depth_m is not None:
            said[name] = f"{read.depth_m:.2f} m"
        elif read.tested_at is not None:
            said[name] = shown_time(read.tested_at.astimezone(zone))
        elif read.binder_days is not None:
            said[name] = f"{read.binder_days:g} d"
        else:
            minutes = read.since_feeding_min
            if minutes is None:
                minutes = read.since_water_change_min or 0.0
            said[name] = said_minutes(minutes)
    return said


def _depth(typed: str) -> float | None:
    if not typed:
        return None
    try:
        metres = to_metres(*quantity(typed, "depth of the sample"))
        return given(metres, "depth of the sample", "m", low=0.0, high=_DEEPEST_M)
    except BadInput as trouble:
        raise BadInput(trouble.message, field="depth") from trouble


def _tested_at(typed: str, taken_at: datetime, now: datetime, zone: tzinfo) -> datetime | None:
    if not typed:
        return None
    at = _later(typed, taken_at)
    if at is None:
        when = _when(typed, now, zone)
        if when.doubts:
            doubt = when.doubts[0]
            day = "" if doubt.taken_at is None else " Please type the day before the time."
            raise BadInput(f"{doubt.question}{day}", field="tested_at")
        at = when.taken_at
    if at is None:
        raise BadInput(
            f"“{plain(typed)[:30]}” is no time. Please type it as 10:20 or yesterday 10:20, or "
            "how long after the sampling, as 40 min or 2 h.",
            field="tested_at",
        )
    if at > now + _MINUTE:
        raise BadInput(
            f"The sample cannot be tested {shown_time(at.astimezone(zone))}: that is still to "
            "come.",
            field="tested_at",
        )
    if at <= taken_at - _MINUTE:
        raise BadInput(
            "The sample cannot be tested before it was taken, "
            f"{shown_time(taken_at.astimezone(zone))}. Please give both times.",
            field="tested_at",
        )
    # Typed to the minute, a test at once would lie some seconds before its sample.
    return max(at, taken_at)


def _later(typed: str, taken_at: datetime) -> datetime | None:
    """So long after the sampling; None where the text is no time with a unit."""
    try:
        number, unit = quantity(typed.removesuffix("later").strip(), "time")
    except BadInput:
        return None
    factor = _IN_MINUTES.get(spelt(unit)) if unit.strip() else None
    if factor is None or not 0.0 <= number * factor <= _LONGEST_MIN:
        return None
    return taken_at + timedelta(minutes=number * factor)


def _since(
    texts: Mapping[str, str], field: str, name: str, units: Mapping[str, float], most: float
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
    if number * factor > most:
        raise BadInput(
            f"The {name} is over {most / units['d']:.0f} days. Please leave it empty if it is not "
            "known.",
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
