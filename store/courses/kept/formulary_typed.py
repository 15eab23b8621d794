"""What a vet types into the forms of the formulary, understood and kept; faults at their field."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Any, Literal, get_args
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.formulary import DoseOf, OwnAgent, OwnDose, ShelfProduct
from store.courses.kept.formulary_checked import reason
from store.courses.kept.formulary_keeping import (
    change_own_agent,
    change_own_dose,
    keep_own_agent,
    keep_own_dose,
)
from store.courses.kept.shelf import change_product, keep_product
from store.courses.planning.course import Basis
from store.errors import BadInput
from store.facts.agent import OFF
from store.text import plain
from store.water.given import figures
from store.water.measures import quantity, spelt, unknown_unit

DOSE_BASES: Mapping[DoseOf, str] = {
    "active": "active substance", "product": "product, as it comes",
}  # fmt: skip
"""Of what an own dose is an amount."""
STRENGTHS: Mapping[Basis, str] = {
    "w/w": "active, % by weight", "w/v": "active, g in 100 mL", "product": "dosed as it comes",
}  # fmt: skip
"""Of what the strength of a product is told."""
_DOSE: Mapping[str, tuple[str, float]] = {
    "mg/l": ("mg/L", 1.0), "g/m3": ("mg/L", 1.0), "ug/l": ("mg/L", 1e-3), "g/l": ("g/L", 1.0),
    "kg/m3": ("g/L", 1.0), "ul/l": ("uL/L", 1.0), "ml/m3": ("uL/L", 1.0), "ml/l": ("uL/L", 1000.0),
    "mg/kg/d": ("mg/kg/d", 1.0), "mg/kg/day": ("mg/kg/d", 1.0), "mg/kg": ("mg/kg/d", 1.0),
}  # fmt: skip
_HOURS = {"h": 1.0, "hour": 1.0, "hours": 1.0, "min": 1 / 60, "minutes": 1 / 60, "d": 24.0,
          "day": 24.0, "days": 24.0}  # fmt: skip
_DAYS = {"": 1.0, "d": 1.0, "day": 1.0, "days": 1.0, "w": 7.0, "week": 7.0, "weeks": 7.0}
_COUNT = {"": 1.0, "doses": 1.0, "x": 1.0, "×": 1.0}
_CELSIUS = {"": 1.0, "c": 1.0}
_PERCENT = {"": 1.0, "%": 1.0, "percent": 1.0}
_DENSITY = {"": 1.0, "g/ml": 1.0, "kg/l": 1.0, "g/cm3": 1.0}
_PACK: Mapping[str, tuple[Literal["g", "mL"], float]] = {
    "g": ("g", 1.0), "kg": ("g", 1000.0), "ml": ("mL", 1.0), "l": ("mL", 1000.0),
}  # fmt: skip
_DEGREE_DAYS = {"": 1.0, "cd": 1.0, "degree-days": 1.0, "degreedays": 1.0}
_SPAN = re.compile(r"\s*([0-9.,]+)\s*(?:–|-|to)\s*([0-9.,]+.*)")
_UP_TO = re.compile(r"\s*(?:up to|<=|≤|<)\s*(.*)", re.IGNORECASE)
_FIELDS = {
    "dose_low": "dose", "dose_high": "dose", "unit": "dose", "exposure_h": "exposure",
    "interval_low_days": "interval", "interval_high_days": "interval",
    "temp_low_c": "temperature", "temp_high_c": "temperature", "hazards": "hazard",
    "strength_percent": "strength", "strength_basis": "basis", "density_g_ml": "density",
    "pack_size": "pack", "pack_unit": "pack", "withdrawal_degree_days": "degree_days",
}  # fmt: skip
"""Where the form asks for a column."""


def save_dose(
    book: Book, act: Act, agent: str, texts: Mapping[str, str], old: OwnDose | None = None
) -> UUID:
    """Keep an own dose as typed, in the place of another one where that is given.

    Parameters
    ----------
    book, act
        The book; of a vet.
    agent
        Code of the agent.
    texts
        By the names of the form: route, dose, basis, hazard, other_hazard, exposure, interval,
        doses, temperature, source, why.
    old
        The dose that it takes the place of.

    Raises
    ------
    BadInput
        What cannot be understood or kept, at its field.
    NotAllowed, ChangedMeanwhile
        As for `keep_own_dose`.
    """
    low, high, unit = _dose(texts)
    interval = _span(texts, "interval", "interval", _DAYS)
    temp = _span(texts, "temperature", "temperature", _CELSIUS)
    values: dict[str, Any] = {
        "dose_low": low,
        "dose_high": high,
        "unit": unit,
        "basis": texts.get("basis", ""),
        "exposure_h": _number(texts, "exposure", "time of the bath", _HOURS),
        "interval_low_days": _whole(interval[0], "interval"),
        "interval_high_days": _whole(interval[1], "interval"),
        "doses": _whole(_number(texts, "doses", "number of doses", _COUNT), "doses"),
        "temp_low_c": temp[0],
        "temp_high_c": temp[1],
        "hazards": [
            code for name in ("hazard", "other_hazard") if (code := texts.get(name, ""))
        ],
        "source": texts.get("source", ""),
        "why": texts.get("why", ""),
    }  # fmt: skip
    route = texts.get("route", "")
    try:
        with book.writing(act) as writing:
            if old is None:
                return keep_own_dose(writing, agent, route, **values)
            return change_own_dose(writing, old.id, old.rev, agent, route, **values)
    except BadInput as trouble:
        raise _at_field(trouble) from trouble


def dose_texts(dose: OwnDose) -> dict[str, str]:
    """What the form of an own dose begins with.

    Parameters
    ----------
    dose
        As it stands; why it is changed is asked anew.
    """
    unit = dose.unit.replace("uL", "µL")
    low = "up to " if dose.dose_low is None else f"{figures(dose.dose_low)}–"
    if dose.dose_low == dose.dose_high:
        low = ""
    return {
        "route": dose.route,
        "dose": f"{low}{figures(dose.dose_high)} {unit}",
        "basis": dose.basis,
        "hazard": dose.hazards[0] if dose.hazards else "",
        "other_hazard": dose.hazards[1] if len(dose.hazards) > 1 else "",
        "exposure": "" if dose.exposure_h is None else f"{figures(dose.exposure_h)} h",
        "interval": _span_text(dose.interval_low_days, dose.interval_high_days, "d"),
        "doses": "" if dose.doses is None else str(dose.doses),
        "temperature": _span_text(dose.temp_low_c, dose.temp_high_c, "°C"),
        "source": dose.source,
        "why": "",
    }


def save_product(
    book: Book, act: Act, agent: str, texts: Mapping[str, str], old: ShelfProduct | None = None
) -> UUID:
    """Keep a product of the shelf as typed, new or changed.

    Parameters
    ----------
    book, act
        The book; of a vet.
    agent
        Code of the agent in it.
    texts
        By the names of the form: name, strength, basis, density, pack, degree_days,
        withdrawal_days, note, and why where it is changed.
    old
        The product as it stands.

    Raises
    ------
    BadInput
        What cannot be understood or kept, at its field.
    NotAllowed, ChangedMeanwhile
        As for `keep_product`.
    """
    strength = _number(texts, "strength", "strength", _PERCENT)
    if strength is None:
        raise BadInput("How strong is it? Type the % of the label.", field="strength")
    size, unit = _pack(texts)
    basis = next((one for one in get_args(Basis) if one == texts.get("basis", "")), None)
    values: dict[str, Any] = {
        "strength_percent": strength,
        "strength_basis": basis,
        "density_g_ml": _number(texts, "density", "density", _DENSITY),
        "pack_size": size,
        "pack_unit": unit,
        "withdrawal_degree_days": _whole(
            _number(texts, "degree_days", "withdrawal period", _DEGREE_DAYS), "degree_days"
        ),
        "withdrawal_days": _whole(
            _number(texts, "withdrawal_days", "withdrawal period", _DAYS), "withdrawal_days"
        ),
        "note": texts.get("note", ""),
    }
    name = texts.get("name", "")
    try:
        with book.writing(act) as writing:
            if old is None:
                return keep_product(writing, name, agent, **values)
            why = reason(texts.get("why", ""))
            change_product(writing, old.id, old.rev, why, name, agent, **values)
            return old.id
    except BadInput as trouble:
        raise _at_field(trouble) from trouble


def product_texts(product: ShelfProduct) -> dict[str, str]:
    """What the form of a product begins with.

    Parameters
    ----------
    product
        As it stands.
    """

    def said(value: float | None, unit: str) -> str:
        return "" if value is None else f"{figures(value, 6)} {unit}".strip()

    return {
        "name": product.name,
        "strength": said(product.strength_percent, "%"),
        "basis": product.strength_basis,
        "density": said(product.density_g_ml, "g/mL"),
        "pack": said(product.pack_size, product.pack_unit),
        "degree_days": said(product.withdrawal_degree_days, ""),
        "withdrawal_days": said(product.withdrawal_days, "d"),
        "note": product.note,
    }


def save_agent(book: Book, act: Act, texts: Mapping[str, str], old: OwnAgent | None = None) -> UUID:
    """Keep an own agent as typed, new or changed.

    Parameters
    ----------
    book, act
        The book; of a vet.
    texts
        By the names of the form: name, family, handling (a caution a line), off (words between
        commas), legal, why.
    old
        The agent as it stands.

    Raises
    ------
    BadInput
        What cannot be understood or kept, at its field.
    NotAllowed, ChangedMeanwhile
        As for `keep_own_agent`.
    """
    values: dict[str, Any] = {
        "name": texts.get("name", ""),
        "family": texts.get("family", ""),
        "handling": plain(texts.get("handling", ""), lines=True).splitlines(),
        "off": _off(texts.get("off", "")),
        "legal": texts.get("legal", ""),
        "why": texts.get("why", ""),
    }
    with book.writing(act) as writing:
        if old is None:
            return keep_own_agent(writing, **values)
        change_own_agent(writing, old.id, old.rev, **values)
        return old.id


def agent_texts(agent: OwnAgent) -> dict[str, str]:
    """What the form of an own agent begins with.

    Parameters
    ----------
    agent
        As it stands; why it is changed is asked anew.
    """
    return {
        "name": agent.name,
        "family": agent.family,
        "handling": "\n".join(agent.handling),
        "off": ", ".join(_word(code) for code in agent.off),
        "legal": agent.legal,
        "why": "",
    }


def off_words() -> str:
    """What can be switched off or taken out, in the words that the form understands."""
    return ", ".join(_word(code) for code in OFF)


def _word(code: str) -> str:
    return {"uv": "UV"}.get(code, code)


def _off(text: str) -> list[str]:
    found = []
    for word in re.split(r"[,;\n]", plain(text, lines=True)):
        said = word.strip().casefold()
        if not said:
            continue
        code = next((one for one in OFF if one in said.split() or said in OFF[one].casefold()), "")
        if not code:
            raise BadInput(
                f"{word.strip()[:30]!r} is nothing that is switched off. Known are: {off_words()}.",
                field="off",
            )
        found.append(code)
    return found


def _at_field(trouble: BadInput) -> BadInput:
    field = trouble.field or ""
    return BadInput(trouble.message, field=_FIELDS.get(field, field), title=trouble.title)


def _typed(text: str, field: str, called: str) -> tuple[float, str]:
    try:
        return quantity(text, called)
    except BadInput as trouble:
        raise BadInput(trouble.message, field=field) from trouble


def _turned(found: tuple[float, str], field: str, called: str, units: Mapping[str, float]) -> float:
    factor = units.get(spelt(found[1]))
    if factor is None:
        shown = tuple(unit for unit in units if unit)
        raise BadInput(unknown_unit(called, found[1], shown).message, field=field)
    return found[0] * factor


def _number(
    texts: Mapping[str, str], field: str, called: str, units: Mapping[str, float]
) -> float | None:
    text = plain(texts.get(field, "")).strip()
    return _turned(_typed(text, field, called), field, called, units) if text else None


def _whole(value: float | None, field: str) -> int | None:
    if value is None:
        return None
    if not math.isfinite(value) or value != int(value):
        raise BadInput("This must be a whole number.", field=field)
    return int(value)


def _span(
    texts: Mapping[str, str], field: str, called: str, units: Mapping[str, float]
) -> tuple[float | None, float | None]:
    """Two ends, or one that is both; none where nothing stands there."""
    text = plain(texts.get(field, "")).strip()
    if not text:
        return None, None
    upper = _UP_TO.fullmatch(text)
    if upper is not None:
        return None, _turned(_typed(upper[1], field, called), field, called, units)
    both = _SPAN.fullmatch(text)
    if both is None:
        one = _turned(_typed(text, field, called), field, called, units)
        return one, one
    high = _typed(both[2], field, called)
    low = _typed(both[1], field, called)[0], high[1]
    return _turned(low, field, called, units), _turned(high, field, called, units)


def _dose(texts: Mapping[str, str]) -> tuple[float | None, float, str]:
    text = plain(texts.get("dose", "")).strip()
    if not text:
        raise BadInput("How much? Type it with its unit, such as 0.5–1 mg/L.", field="dose")
    upper = _UP_TO.fullmatch(text)
    both = _SPAN.fullmatch(text)
    last = upper[1] if upper is not None else both[2] if both is not None else text
    high, typed = _typed(last, "dose", "dose")
    if spelt(typed) == "ppm":
        raise BadInput("ppm can be by weight or by volume: type mg/L or µL/L.", field="dose")
    if spelt(typed) not in _DOSE:
        says = f"“{typed[:30]}” is not the unit of a dose" if typed else "The dose has no unit"
        raise BadInput(
            f"{says}: type mg/L, g/L or µL/L for a bath, mg/kg/d with the feed.", field="dose"
        )
    unit, factor = _DOSE[spelt(typed)]
    low: float | None = None if upper is not None else high
    if both is not None:
        low = _typed(both[1], "dose", "dose")[0]
    return None if low is None else low * factor, high * factor, unit


def _pack(texts: Mapping[str, str]) -> tuple[float | None, str]:
    text = plain(texts.get("pack", "")).strip()
    if not text:
        return None, "g"
    size, typed = _typed(text, "pack", "pack")
    if spelt(typed) not in _PACK:
        raise BadInput("Type what a pack holds as 250 g, 1 kg, 500 mL or 1 L.", field="pack")
    unit, factor = _PACK[spelt(typed)]
    return size * factor, unit


def _span_text(low: float | None, high: float | None, unit: str) -> str:
    if high is None:
        return "" if low is None else f"{figures(low)} {unit}"
    if low is None:
        return f"up to {figures(high)} {unit}"
    return f"{figures(low)} {unit}" if low == high else f"{figures(low)}–{figures(high)} {unit}"
