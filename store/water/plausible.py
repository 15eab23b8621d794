"""From a name and an amount to a reading, or to a question where something is not plausible."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from store.errors import BadInput
from store.water.parameters import PARAMETERS
from store.water.pieces import Amount, Bound
from store.water.understood import Doubt, KitForms, ReadingValue, shown
from store.water.units import forms_of, stored_range, to_stored
from store.water.words import UNITS_OF, Name

# The lower end of a range is the cautious one: too little of these harms, and little chloride
# leaves fish open to nitrite.
_LOW_IS_CAUTIOUS = frozenset(
    {"oxygen_mg_l", "oxygen_percent", "alkalinity_mg_l", "hardness_mg_l", "chloride_mg_l"}
)
_KIT = {"tan_mg_l": "ammonia", "nitrite_mg_l": "nitrite", "nitrate_mg_l": "nitrate"}
# From here on a number without a unit may well be mg/L; pond habit, not a published figure.
_LIKELY_MG_L = {"alkalinity_mg_l": 5.0, "hardness_mg_l": 5.0, "salinity_g_l": 50.0}
_NEVER_BARE = frozenset({"conductivity_us_cm"})
# Any number would be a usual conductivity: without its name or unit it is not even suggested.
_MOLAR = frozenset({"mmol/L", "µmol/L"})
_FORM_WORDS = {"n": "N", "nh3": "NH3", "nh4": "NH4", "no2": "NO2", "no3": "NO3"}


def kit_form(parameter: str, kit: KitForms) -> str:
    """As what the kit reports this parameter.

    Parameters
    ----------
    parameter
        Its code.
    kit
        What the pond or the practice states.

    Returns
    -------
    str
        A form, `unknown`, or nothing for a parameter that has one form only.
    """
    return str(getattr(kit, _KIT[parameter])) if parameter in _KIT else ""


def fits(name: Name, amount: Amount) -> bool:
    """Whether the amount can belong to the name at all, by its unit and form.

    Parameters
    ----------
    name
        A name, also one of a thing that is not kept.
    amount
        An amount.

    Returns
    -------
    bool
        False for `pH 19 °C` or `KH 4 mg/L as NO2`.
    """
    if not name.parameter:
        return True
    parameter = _parameter(name, amount)
    if amount.unit and amount.unit not in UNITS_OF[parameter]:
        return False
    if not amount.form:
        return True
    if amount.form == "caco3":
        return parameter in {"alkalinity_mg_l", "hardness_mg_l"}
    return amount.form in forms_of(parameter)


def _parameter(name: Name, amount: Amount) -> str:
    """Oxygen in percent is a parameter of its own."""
    if name.parameter == "oxygen_mg_l" and amount.unit == "%":
        return "oxygen_percent"
    return name.parameter


def make(
    parameter: str, amount: Amount, number: float, unit: str, form: str
) -> ReadingValue | None:
    """The reading of one number in one unit and form, or nothing where it cannot be.

    Parameters
    ----------
    parameter
        Its code.
    amount
        What was typed, with its bound and the upper end of a range.
    number
        The number to take for it [unit].
    unit
        One of `UNITS_OF` the parameter, or empty for pH.
    form
        A form, `unknown`, or empty.

    Returns
    -------
    ReadingValue or None
        None outside the physical bounds of the parameter.
    """
    entry = PARAMETERS[parameter]
    if parameter in _KIT and unit in _MOLAR:
        form = ""
    numbers = (number,) if amount.upper is None else (number, amount.upper)
    stored: list[float] = []
    try:
        for one in numbers:
            if form == "unknown":
                stored.extend(stored_range(parameter, one, unit))
            else:
                said = None if form in {"", "caco3"} else form
                stored.append(to_stored(parameter, one, unit, said))
    except BadInput:
        return None
    low, high = min(stored), max(stored)
    if not (entry.possible_low <= low and high <= entry.possible_high):
        return None
    bound: Bound = amount.bound
    keep_low: float | None = low
    keep_high: float | None = high
    value = high
    if amount.upper is not None:
        value = _cautious(parameter, low, high)
        bound = "~" if bound != ">" else bound
        keep_high = None if bound == ">" else high
    elif bound == "<":
        keep_low = None
    elif bound == ">":
        keep_high = None
    elif low == high:
        keep_low = keep_high = None
    return ReadingValue(parameter, value, keep_low, keep_high, bound, amount.typed, unit, form)


def _cautious(parameter: str, low: float, high: float) -> float:
    if parameter in _LOW_IS_CAUTIOUS or (parameter == "ph" and low + high < 14.0):
        return low
    return high


def usual(reading: ReadingValue) -> bool:
    """Whether ponds show such a value.

    Parameters
    ----------
    reading
        Any reading.

    Returns
    -------
    bool
        False where it is to be asked about.
    """
    entry = PARAMETERS[reading.parameter]
    return entry.usual_low <= reading.value <= entry.usual_high


def judge(name: Name, amount: Amount, kit: KitForms, typed: str) -> ReadingValue | Doubt:
    """The reading that a name and an amount make, or the question to ask about them.

    Parameters
    ----------
    name
        The name; its parameter is not empty and the amount `fits` it.
    amount
        The amount.
    kit
        As what the kits report.
    typed
        The words of the line this is about, for the question.

    Returns
    -------
    ReadingValue or Doubt
        A doubt carries the proposal and the other readings it may be.
    """
    parameter = _parameter(name, amount)
    unit = _unit(parameter, name, amount)
    form, contested = _form(parameter, name, amount, kit)
    if amount.word:
        return _worded(parameter, amount, unit, form, typed)
    if not amount.numbers:
        question = f"“{typed}” is not one number. Please type it with one decimal mark."
        return Doubt(parameter, typed, question)
    made = [make(parameter, amount, number, unit, form) for number in amount.numbers]
    possible = [reading for reading in made if reading is not None]
    if len(possible) > 1:
        likely = [reading for reading in possible if usual(reading)] or possible
        return _ask(parameter, typed, "may be read in two ways", [*likely, *possible], amount.typed)
    if contested and possible:
        as_kit = make(parameter, amount, amount.numbers[0], unit, contested)
        said, kits = _FORM_WORDS[form], _FORM_WORDS[contested]
        why = f"says {said}, but the kit of this pond reports as {kits}"
        return _ask(parameter, typed, why, [*([as_kit] if as_kit else []), *possible], amount.typed)
    if amount.unit == "drops":
        return _ask(
            parameter, typed, "is in drops, in most kits one a degree", possible, amount.typed
        )
    unitless = not (amount.unit.strip("°") or name.unit)
    other = list(_other_readings(parameter, amount, unit, form, unitless=unitless))
    if not possible:
        return _ask(
            parameter, typed, "cannot be", [one for one in other if usual(one)], amount.typed
        )
    reading = possible[0]
    if unitless and (doubt := _loose(parameter, name, amount, reading, typed)) is not None:
        return doubt
    if usual(reading):
        return reading
    likely = [one for one in other if usual(one)]
    entry = PARAMETERS[parameter]
    why = "is unusually low" if reading.value < entry.usual_low else "is unusually high"
    if parameter == "temperature_c" and not unitless:
        return _ask(parameter, typed, why, [reading, *likely], amount.typed)
    return _ask(parameter, typed, why, [*likely, reading], amount.typed)


def _unit(parameter: str, name: Name, amount: Amount) -> str:
    unit = amount.unit or name.unit
    if unit == "°":
        unit = "" if parameter == "temperature_c" else "°dH"
    if unit == "drops":
        unit = ""
    if unit:
        return unit
    return UNITS_OF[parameter][0] if UNITS_OF[parameter] else ""


def _form(parameter: str, name: Name, amount: Amount, kit: KitForms) -> tuple[str, str]:
    """The form to take, and the kit's form where that contradicts the word typed."""
    if parameter not in _KIT:
        return (amount.form if amount.form != "caco3" else "", "")
    kits = kit_form(parameter, kit)
    if amount.form:
        return amount.form, ""
    if name.stated or (name.form and kits in {"unknown", name.form}):
        return name.form, ""
    # NO2 and NO3 are also the short names of the tests, so the kit decides. NH3 is not.
    if name.form and parameter == "tan_mg_l":
        return name.form, kits
    return kits, ""


def _worded(
    parameter: str, amount: Amount, unit: str, form: str, typed: str
) -> ReadingValue | Doubt:
    bound: Bound = "<" if amount.word == "nd" else ">" if amount.word == "trace" else "="
    low = 0.0 if bound == ">" else None
    reading = ReadingValue(parameter, 0.0, low, None, bound, amount.typed, unit, form)
    if PARAMETERS[parameter].usual_low <= 0.0 and parameter != "ph":
        return reading
    return _ask(parameter, typed, "is unusually low", [reading], amount.typed)


def _ask(parameter: str, typed: str, why: str, answers: list[ReadingValue], figures: str) -> Doubt:
    """A doubt over the answers, the first being the proposal; `figures` are what was typed.

    An answer that mends the figures says in the question what it makes of them, and keeps for the
    record what was typed.
    """
    words: dict[str, ReadingValue] = {}
    for answer in answers:
        words.setdefault(shown(answer), retyped(answer, figures))
    kept: list[ReadingValue] = []
    for text, answer in list(words.items()):
        if any(math.isclose(answer.value, one.value) and one.parameter == answer.parameter
               and one.bound == answer.bound for one in kept):  # fmt: skip
            del words[text]
        else:
            kept.append(answer)
    if not kept:
        question = f"“{typed}” {why}. Please type it again; it can be kept in the note."
        return Doubt(parameter, typed, question)
    if len(kept) == 1 and why.startswith("is unusually"):
        question = f"“{typed}” {why}. Is it right: {next(iter(words))}?"
    else:
        question = f"“{typed}” {why}. {', or '.join(words)}?"
    return Doubt(parameter, typed, question, kept[0], tuple(kept[1:]))


def _loose(
    parameter: str, name: Name, amount: Amount, reading: ReadingValue, typed: str
) -> ReadingValue | Doubt | None:
    """Numbers without a unit that are plausible in two: a question, or the only usual reading."""
    number = amount.numbers[0]
    if name.loose:
        in_mg = make(parameter, amount, number, "mg/L", reading.form)
        answers = [one for one in (reading, in_mg) if one is not None and usual(one)]
        if len(answers) == 1:
            return answers[0]
        if answers:
            return _ask(parameter, typed, "has no unit", answers, amount.typed)
    if parameter == "salinity_g_l" and 0.0 < number < 1.0:
        percent = make(parameter, amount, number, "%", reading.form)
        if percent is not None and number >= 0.05:
            return _ask(parameter, typed, "has no unit", [percent, reading], amount.typed)
    if parameter == "chloride_mg_l" and reading.value < 1.0:
        as_chlorine = make("chlorine_mg_l", amount, number, "mg/L", "")
        answers = [one for one in (as_chlorine, reading) if one is not None]
        return _ask(parameter, typed, "is little for chloride", answers, amount.typed)
    return None


def _other_readings(
    parameter: str, amount: Amount, unit: str, form: str, *, unitless: bool
) -> Iterator[ReadingValue]:
    """What else may have been meant, likeliest first: another unit, a lost decimal mark, a sign."""
    number = amount.numbers[0]
    for other_parameter, other_unit in _other_units(parameter, number, unit, unitless=unitless):
        other_form = form if other_parameter == parameter else ""
        if (made := make(other_parameter, amount, number, other_unit, other_form)) is not None:
            yield made
    if amount.upper is not None or amount.bound != "=" or not math.isfinite(number):
        return
    if number < 0.0:
        mended = replace(amount, typed=amount.typed.replace("-", "", 1))
        if (made := make(parameter, mended, -number, unit, form)) is not None:
            yield made
    elif not amount.decimal_typed:
        for divisor in (10.0, 100.0, 1000.0):
            mended = replace(amount, typed=f"{number / divisor:g}")
            made = make(parameter, mended, number / divisor, unit, form)
            if made is not None and usual(made):
                yield made
                return


def _other_units(
    parameter: str, number: float, unit: str, *, unitless: bool
) -> Iterator[tuple[str, str]]:
    if parameter == "temperature_c":
        yield parameter, "°C" if unit == "°F" else "°F"
    elif parameter == "chlorine_mg_l" and number >= 1.0:
        yield "chloride_mg_l", unit
    elif parameter == "salinity_g_l" and unit == "%":
        yield parameter, "g/L"
    elif not unitless:
        return
    elif number >= _LIKELY_MG_L.get(parameter, math.inf):
        yield parameter, "mg/L"
    elif parameter == "oxygen_mg_l" and number >= 20.0:
        yield "oxygen_percent", "%"


def named_later(amount: Amount, kit: KitForms, taken: frozenset[str]) -> tuple[ReadingValue, ...]:
    """What an amount without a name could be: each parameter of which it would be a usual reading.

    Parameters
    ----------
    amount
        The amount.
    kit
        As what the kits report.
    taken
        Codes of the parameters that the line already gives.

    Returns
    -------
    tuple of ReadingValue
        In the order of the parameters.
    """
    found: list[ReadingValue] = []
    for parameter in PARAMETERS:
        name = Name(parameter)
        if parameter in taken or not fits(name, amount) or not amount.numbers:
            continue
        if parameter in _NEVER_BARE and not amount.unit:
            continue
        unit = _unit(parameter, name, amount)
        form, _ = _form(parameter, name, amount, kit)
        reading = make(parameter, amount, amount.numbers[0], unit, form)
        if parameter == "temperature_c" and (reading is None or not usual(reading)):
            reading = make(parameter, amount, amount.numbers[0], "°F", form)
        if reading is not None and reading.parameter == parameter and usual(reading):
            found.append(reading)
    return tuple(found)


def retyped(reading: ReadingValue, typed: str) -> ReadingValue:
    """The same reading with another text kept as typed.

    Parameters
    ----------
    reading
        Any reading.
    typed
        What a person or a file had there.

    Returns
    -------
    ReadingValue
        A copy.
    """
    return replace(reading, typed=typed)
