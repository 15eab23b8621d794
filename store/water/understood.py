"""What was understood of a typed line: readings, questions, a note, a time, and how it is shown."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

from store.water.parameters import PARAMETERS

Bound = Literal["=", "<", ">", "~"]


@dataclass(frozen=True, slots=True)
class KitForms:
    """As what the kits of a pond or of the practice report; `unknown` where nobody has said."""

    ammonia: Literal["n", "nh3", "nh4", "unknown"] = "unknown"
    nitrite: Literal["no2", "n", "unknown"] = "unknown"
    nitrate: Literal["no3", "n", "unknown"] = "unknown"


@dataclass(frozen=True, slots=True)
class ReadingValue:
    """One reading as it will be stored, with what was typed beside it.

    `value`, `low` and `high` are in the stored unit of the parameter. For a range and for a form
    that nobody stated, `value` is the cautious end. Bounds: `=` a number, `<` below `high`, `>`
    above `low`, `~` a range or about. Not detected is `<` with a value of 0 and no `high`, as the
    limit of detection is not known; a trace is `>` 0.
    """

    parameter: str
    value: float
    low: float | None
    high: float | None
    bound: Bound
    typed: str
    unit: str
    form: str


@dataclass(frozen=True, slots=True)
class Doubt:
    """A question about one piece of the line; nothing of it is a reading until it is answered.

    `proposal` is the answer that is evident, `others` are the further ones (what was typed is among
    them unless it cannot be). Without any, the text can be kept in the note.
    """

    parameter: str
    typed: str
    question: str
    proposal: ReadingValue | None = None
    others: tuple[ReadingValue, ...] = ()
    taken_at: datetime | None = None
    """The time proposed, where the question is about the time."""


@dataclass(frozen=True, slots=True)
class Understood:
    """A line read: see `store.water.line.understand`."""

    readings: tuple[ReadingValue, ...]
    doubts: tuple[Doubt, ...]
    note: str
    taken_at: datetime | None
    echo: str


_FORM_WORDS = {
    "n": "N", "nh3": "NH3", "nh4": "NH4", "no2": "NO2", "no3": "NO3", "caco3": "CaCO3",
    "hco3": "HCO3",
}  # fmt: skip
# Written out, as the locale must not decide.
_MONTHS = (
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
)  # fmt: skip
_STORED_FORM = {"tan_mg_l": "n", "nitrite_mg_l": "no2", "nitrate_mg_l": "no3"}
_SHOWN_UNIT = {"tan_mg_l": "mg/L N"}
_SALT_FACTOR = {"%": 0.1, "mg/L": 1000.0, "ppm": 1000.0}
_LABEL = {"temperature_c": "", "oxygen_percent": "DO", "salinity_g_l": "salt"}
_WRITTEN_NAME = {
    "temperature_c": "temp", "ph": "pH", "tan_mg_l": "ammonia", "nitrite_mg_l": "nitrite",
    "nitrate_mg_l": "nitrate", "alkalinity_mg_l": "KH", "hardness_mg_l": "GH",
    "oxygen_mg_l": "DO", "oxygen_percent": "DO%", "salinity_g_l": "salt",
    "chloride_mg_l": "chloride", "chlorine_mg_l": "chlorine",
}  # fmt: skip


def _typed_decimals(typed: str) -> int:
    return max((len(part) for part in re.findall(r"[.,]([0-9]+)", typed)), default=0)


def _number(reading: ReadingValue, value: float, *, converted: bool) -> str:
    """The number in the unit it is shown in, as finely as it was typed or as its meter reads."""
    parameter = PARAMETERS[reading.parameter]
    in_unit = value / parameter.per_shown
    decimals = parameter.decimals
    if not converted:
        decimals = max(decimals, min(_typed_decimals(reading.typed), 4))
    while decimals < 4 and in_unit != 0.0 and abs(in_unit) < 0.5 * 10**-decimals:
        decimals += 1  # a trace is never shown as nothing
    return f"{in_unit:.{decimals}f}"


def _numbers_typed(reading: ReadingValue) -> tuple[float, ...]:
    """The numbers typed, to see whether they differ from what is shown."""
    return tuple(
        float(number.replace(",", "."))
        for number in re.findall(r"(?:^-)?(?:[0-9]+(?:[.,][0-9]+)?|\.[0-9]+)", reading.typed)
    )


def _unit_and_form(reading: ReadingValue) -> str:
    form = _FORM_WORDS.get(reading.form, "")
    as_form = f" as {form}" if form and form != "CaCO3" else ""
    if _is_degrees(reading) and reading.unit in _MG_UNITS:
        return f" {reading.unit}{as_form or ' CaCO3'}"
    return f" {reading.unit}{as_form}" if reading.unit not in {"", "mg/L"} else as_form


_MG_UNITS = frozenset({"mg/L", "ppm", "g/m3"})


def _is_degrees(reading: ReadingValue) -> bool:
    return reading.parameter in {"alkalinity_mg_l", "hardness_mg_l"}


def _as_typed(reading: ReadingValue) -> str:
    """What was typed, with its unit and form, where the number shown is another; else nothing."""
    if reading.form not in {"", "unknown", _STORED_FORM.get(reading.parameter)}:
        return f"{reading.typed}{_unit_and_form(reading)}"
    parameter = PARAMETERS[reading.parameter]
    # Salt is shown in three units: whichever of them was typed is there already.
    in_unit = _SALT_FACTOR.get(reading.unit, 1.0) if reading.parameter == "salinity_g_l" else 1.0
    ends = [
        end / parameter.per_shown * in_unit
        for end in (reading.value, reading.low, reading.high)
        if end is not None
    ]
    if all(any(abs(end - typed) < 1e-9 for end in ends) for typed in _numbers_typed(reading)):
        return ""
    if reading.form == "unknown":
        return reading.typed
    if reading.unit == parameter.shown_unit or (
        reading.unit == "mg/L" and not _is_degrees(reading)
    ):
        return f"typed {reading.typed}"
    return f"{reading.typed}{_unit_and_form(reading)}"


def shown(reading: ReadingValue) -> str:
    """A reading in words: the value and its unit, and what was typed where that differs.

    Parameters
    ----------
    reading
        Any reading.

    Returns
    -------
    str
        For example `18.9 °C (66 °F)`, `TAN 0.41 mg/L N (0.5 as NH3)`.
    """
    parameter = PARAMETERS[reading.parameter]
    label = _LABEL.get(parameter.code, parameter.short)
    unit = _SHOWN_UNIT.get(parameter.code, parameter.shown_unit)
    if reading.bound == "<" and reading.high is None:
        return f"{label or parameter.label} not detected"
    if reading.bound == ">" and reading.low == 0.0 and not _numbers_typed(reading):
        return f"{label or parameter.label} trace"
    typed = _as_typed(reading)
    number = _number(reading, reading.value, converted=bool(typed))
    sign = "" if reading.bound == "=" else reading.bound
    extra: list[str] = []
    if reading.low is not None and reading.high is not None:
        between = "–".join(
            _number(reading, end, converted=bool(typed)) for end in (reading.low, reading.high)
        )
        if reading.form == "unknown":
            extra.append(f"{reading.typed}, form not known: {between}")
        else:
            extra.append(f"taken as {number}")
            number, sign = between, ""
    elif reading.form == "unknown" and reading.value:
        extra.append(f"{reading.typed}, form not known" if typed else "form not known")
    if reading.parameter == "salinity_g_l":
        extra.append(f"{reading.value / 10:g} % = {reading.value * 1000:g} ppm")
    elif _is_degrees(reading) and not (reading.unit in _MG_UNITS and typed):
        extra.append(f"{reading.value:.0f} mg/L CaCO3")
    if typed and reading.form != "unknown":
        extra.append(typed)
    text = f"{label} {sign}{number} {unit}".strip()
    return text + (f" ({'; '.join(extra)})" if extra else "")


def proposal_text(doubt: Doubt) -> str:
    """The proposed answer of a question, as the echo would show it; empty where none is evident.

    Parameters
    ----------
    doubt
        Any doubt.

    Returns
    -------
    str
        For example `pH 6.8`, or the time proposed.
    """
    if doubt.proposal is not None:
        return shown(doubt.proposal)
    if doubt.taken_at is not None:
        return shown_time(doubt.taken_at)
    return ""


def shown_time(at: datetime) -> str:
    """A local time with its day, day first, the month in letters.

    Parameters
    ----------
    at
        Aware, in the zone of the practice.

    Returns
    -------
    str
        For example `at 07:40 on 2 May 2026`.
    """
    return f"at {at:%H:%M} on {at.day} {_MONTHS[at.month - 1]} {at.year}"


def echo_of(understood: Understood) -> str:
    """One line that says what was understood, what is asked, and what stays in the note.

    Parameters
    ----------
    understood
        Its readings, doubts, note and time; its own echo is not looked at.

    Returns
    -------
    str
        Parts separated by ` · `; empty for an empty line.
    """
    parts = [shown(reading) for reading in understood.readings]
    parts += [f"{doubt.typed} ?" for doubt in understood.doubts]
    if understood.taken_at is not None:
        parts.append(shown_time(understood.taken_at))
    if understood.note:
        parts.append(f"note: {understood.note}")
    return " · ".join(parts)


def accept(understood: Understood, doubt: Doubt, choice: ReadingValue | None = None) -> Understood:
    """The line with one question answered.

    The chosen reading (else the proposal) takes the place of any reading of that parameter. Where
    there is none to choose, a proposed time is taken; else the text goes into the note.

    Parameters
    ----------
    understood
        The line as it stands.
    doubt
        One of its doubts.
    choice
        The proposal or one of the others; nothing means the proposal.

    Returns
    -------
    Understood
        Without that doubt, with a new echo.
    """
    doubts = tuple(other for other in understood.doubts if other is not doubt)
    reading = choice if choice is not None else doubt.proposal
    if reading is not None:
        kept = tuple(had for had in understood.readings if had.parameter != reading.parameter)
        answered = replace(understood, readings=(*kept, reading), doubts=doubts)
    elif doubt.taken_at is not None:
        answered = replace(understood, taken_at=doubt.taken_at, doubts=doubts)
    else:
        answered = keep_in_note(understood, doubt)
    return replace(answered, echo=echo_of(answered))


def keep_in_note(understood: Understood, doubt: Doubt) -> Understood:
    """The line with the text of one question moved into the note.

    Parameters
    ----------
    understood
        The line as it stands.
    doubt
        One of its doubts; no reading is made of it.

    Returns
    -------
    Understood
        Without that doubt, with a new echo.
    """
    doubts = tuple(other for other in understood.doubts if other is not doubt)
    note = f"{understood.note}; {doubt.typed}" if understood.note else doubt.typed
    kept = replace(understood, note=note, doubts=doubts)
    return replace(kept, echo=echo_of(kept))


def write(understood: Understood) -> str:
    """The readings, time and note as a line that is understood the same again, with the same kit.

    Doubts are not written: they are not part of the record until they are answered.

    Parameters
    ----------
    understood
        As `understand` gave it.

    Returns
    -------
    str
        One line.
    """
    parts: list[str] = []
    for reading in understood.readings:
        name = _WRITTEN_NAME[reading.parameter]
        form = _FORM_WORDS.get(reading.form, "")
        as_form = f"as {form}" if form else ""
        parts.append(
            " ".join(part for part in (f"{name}: {reading.typed}", reading.unit, as_form) if part)
        )
    if understood.taken_at is not None:
        parts.append(f"at {understood.taken_at.isoformat(timespec='minutes')}")
    line = " | ".join(parts)
    if not understood.note:
        return line
    return f"{line} // {understood.note}" if line else f"// {understood.note}"
