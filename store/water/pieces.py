"""A typed line cut into its pieces: names, numbers with their units, separators, other words.

Nothing is decided here: which name a number belongs to is decided in `store.water.pairs`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Literal

from store.water.words import (
    AS_FORM,
    BARE_FORM,
    LOOKALIKES,
    NAME,
    UNIT,
    Name,
    form_of,
    name_of,
    unit_of,
)

Bound = Literal["=", "<", ">", "~"]


@dataclass(frozen=True, slots=True)
class Amount:
    """A number as typed: one, a limit or a range, with the unit if one was typed.

    `numbers` holds more than one where `1,200` may be 1.2 or 1200, and none where the digits make
    no number (`7.4.5`) or a word stands for them (`trace`, in `word`).
    """

    typed: str
    numbers: tuple[float, ...]
    upper: float | None = None
    bound: Bound = "="
    word: str = ""
    unit: str = ""
    form: str = ""
    decimal_typed: bool = False


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of the line, from `start` to `end`: a name, an amount, a mark or another word."""

    kind: Literal["name", "amount", "bind", "comma", "stop", "filler", "word"]
    start: int
    end: int
    name: Name | None = None
    amount: Amount | None = None


_NUMBER = (
    r"(?:[0-9]+\.[0-9]+(?=,[0-9]+\.[0-9])"  # the first of `19.5,6.8`
    r"|[0-9]+(?:[.,][0-9]+)*|\.[0-9]+)"
)
_BEFORE = (
    r"(?:(?P<less><=?|≤|less[ ]than|under|below|up[ ]to)"
    r"|(?P<more>>=?|≥|more[ ]than|over|above|at[ ]least)"
    r"|(?P<about>~|≈|±|about|around|approx(?:imately)?\.?|circa|ca\.?))[ ]{0,2}"
)
_AMOUNT = re.compile(
    rf"(?:{_BEFORE})?(?P<sign>-?)(?P<first>{_NUMBER})(?P<plus>\+)?"
    rf"(?P<ish>[ -]?ish(?![^\W\d_])|[ ]?\(?\?\)?)?",
    re.IGNORECASE,
)
_RANGE = re.compile(rf"(?:-|[ ]-[ ]|[ ]to[ ]|\.\.)(?P<second>{_NUMBER})(?P<plus>\+)?", re.I)
_NO_AMOUNT = re.compile(
    r"(?:(?P<nd>n\.?d\.?|n/d|not[ ]detected|none[ ]detected|undetectable|undetected|bdl|<[ ]?lod)"
    r"|(?P<trace>traces?)|(?P<zero>nil|zero))(?![^\W_])",
    re.IGNORECASE,
)
_FILLER = re.compile(
    r"(?:was|is|are|at|of|the|reads|reading|level|value|now|measured|tested)(?![^\W_])", re.I
)
_STOP = re.compile(r"\n|;")
_COMMA = re.compile(r"[,·•|&]|[ ]-(?=[ ])|/(?=[ ])")
_BIND = re.compile(r"[:=]|->|→")
_WORD = re.compile(r"(?:\w|(?<=[0-9])[.,](?=[0-9])|['’-](?=\w))+|[^\w\s]")
# Is `Cl20` chloride 20 or Cl2 0, is `NO2.5` NO2 0.5 or a slip for NO2 2.5? Not ours to choose.
_GLUED_TO_FORMULA = re.compile(r"cl2[0-9]|[a-z]{1,2}[234][.,][0-9]", re.IGNORECASE)
_QUIET = frozenset(".,:=|·•&-?!'\"()[]*/+<>~ ")


def is_quiet(text: str) -> bool:
    """Whether only spaces and punctuation stand there, so that nothing is lost without it.

    Parameters
    ----------
    text
        What stands between two pieces of a line.
    """
    return all(character in _QUIET or character.isspace() for character in text)


def _numbers(typed: str) -> tuple[float, ...]:
    """The numbers the digits may mean: none, one or two."""
    marks = [character for character in typed if character in ".,"]
    if not marks:
        return (float(typed),)
    if len(marks) == 1:
        as_decimal = float(typed.replace(",", "."))
        whole, _, part = typed.partition(",")
        if marks[0] == "," and len(part) == 3 and whole.lstrip("0") and len(whole) <= 3:
            return (as_decimal, float(whole + part))
        return (as_decimal,)
    if re.fullmatch(r"[0-9]{1,3}(?:,[0-9]{3})+\.[0-9]+", typed):
        return (float(typed.replace(",", "")),)
    return ()


def unit_and_form(text: str, place: int) -> tuple[str, str, int, int]:
    """The unit that stands at a place, and the form in which the number is told behind it.

    Parameters
    ----------
    text
        The line, with look-alike characters already replaced.
    place
        Where to look, counted in characters from 0.

    Returns
    -------
    tuple of str, str, int, int
        Unit, form, where the unit ends, where the form ends; the texts are empty where none
        stands.
    """
    unit, unit_end = "", place
    if found := UNIT.match(text, place):
        unit, unit_end = unit_of(found), found.end()
    form, end = "", unit_end
    after = AS_FORM.match(text, unit_end)
    if after is None and unit not in {"", "other"}:
        after = BARE_FORM.match(text, unit_end)
    if after is not None:
        form, end = form_of(after["form"]), after.end()
    return unit, form, unit_end, end


def _amount(text: str, looked: str, place: int, *, dashed: bool) -> Piece | None:
    """The amount that begins here, or nothing; `dashed` where a minus sign cannot be one."""
    if word := _NO_AMOUNT.match(looked, place):
        _, form, _, end = unit_and_form(looked, word.end())
        kind = word.lastgroup or ""
        amount = Amount(text[place : word.end()], (), word=kind, form=form)
        return Piece("amount", place, end, amount=amount)
    found = _AMOUNT.match(looked, place)
    if found is None:
        return None
    bound: Bound = "="
    if found["less"]:
        bound = "<"
    elif found["more"] or found["plus"]:
        bound = ">"
    elif found["about"] or found["ish"]:
        bound = "~"
    sign = -1.0 if found["sign"] and not dashed else 1.0
    numbers = tuple(sign * number for number in _numbers(found["first"]))
    decimal_typed = "." in found["first"] or "," in found["first"]
    upper = None
    typed = text[place : found.end()].strip()
    if dashed:
        typed = typed.removeprefix(text[place] if found["sign"] else "")
    unit, form, unit_end, end = unit_and_form(looked, found.end())
    after = _RANGE.match(looked, unit_end if unit != "other" else found.end())
    if after is not None and not form:
        highest = _numbers(after["second"])
        second_unit, form, unit_end, end = unit_and_form(looked, after.end())
        if unit and second_unit not in {"", unit}:
            numbers = ()
        unit = second_unit or unit
        if len(numbers) == 1 and len(highest) == 1 and numbers[0] <= highest[0]:
            upper = highest[0]
            typed += text[after.start() : after.end()]
            bound = ">" if after["plus"] else bound
        else:
            numbers = ()
    if looked[end : end + 1].isalnum() and not NAME.match(looked, end):
        return None
    if unit_end < len(looked) and looked[unit_end] == "-" and looked[unit_end + 1 :][:1].isdigit():
        numbers = ()  # `2-3-4`: no range we know
    amount = Amount(typed, numbers, upper, bound, "", unit, form, decimal_typed)
    return Piece("amount", place, end, amount=amount)


def _name(looked: str, place: int) -> Piece | None:
    found = NAME.match(looked, place)
    if found is None:
        return None
    name = name_of(found[0])
    if name is None:
        name = Name("temperature_c", unit=f"°{found[0]}", weak=True)
    end = found.end()
    if _GLUED_TO_FORMULA.match(looked, place):
        return None
    if after := AS_FORM.match(looked, end):
        name, end = replace(name, form=form_of(after["form"]), stated=True), after.end()
    return Piece("name", place, end, name=name)


def cut(text: str) -> list[Piece]:
    """The pieces of a line, in order; every character but spaces and quiet marks is in one.

    Parameters
    ----------
    text
        The line, already plain (see `store.text.plain`), without its note and time.

    Returns
    -------
    list of Piece
        Names, amounts, separators and words with their places in `text`.
    """
    looked = text.translate(LOOKALIKES)
    pieces: list[Piece] = []
    place = 0
    while place < len(looked):
        if looked[place].isspace() and looked[place] != "\n":
            place += 1
            continue
        piece = _piece(text, looked, place, pieces[-1] if pieces else None)
        if piece is None:
            place += 1
            continue
        pieces.append(piece)
        place = piece.end
    return pieces


def _piece(text: str, looked: str, place: int, last: Piece | None) -> Piece | None:
    if found := _STOP.match(looked, place):
        return Piece("stop", place, found.end())
    # `pH-7.4` and `NO2-0.1`: a dash, as nothing of the kind can be negative but a temperature.
    dashed = (
        last is not None
        and last.end == place
        and last.name is not None
        and last.name.parameter != "temperature_c"
    )
    for piece in (
        _name(looked, place),
        _amount(text, looked, place, dashed=dashed),
    ):
        if piece is not None:
            return piece
    for kind, pattern in _MARKS:
        if found := pattern.match(looked, place):
            return Piece(kind, place, found.end())
    word = _WORD.match(looked, place)
    end = place + 1 if word is None else word.end()
    return None if is_quiet(looked[place:end]) else Piece("word", place, end)


_MARKS: tuple[tuple[Literal["comma", "bind", "filler"], re.Pattern[str]], ...] = (
    ("bind", _BIND),
    ("comma", _COMMA),
    ("filler", _FILLER),
)
