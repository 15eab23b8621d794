"""An examination while it is entered: the gear in words, what to be reminded of beside a line."""

from __future__ import annotations

import re
from dataclasses import dataclass

from store.exams.line import UnderstoodFish
from store.exams.line_words import words
from store.exams.values import Gear
from store.text import plain
from store.water.given import figures

_TIME = re.compile(r"(?<![\w.,])(\d+(?:[.,]\d+)?)\s*(minutes?|mins?|hours?|h)(?!\w)", re.I)
_YES = re.compile(r"^(?:yes\b|disinfected\b)[\s,:]*(?:(?:with|in)\b)?\s*", re.I)
_WITH = re.compile(r"^(?:with|in)\b\s*", re.I)
_OF_ITS_OWN = re.compile(
    r"^(?:(?:its |the pond's |the ponds |pond's )?own(?: (?:net|nets|gear|kit|tank|bowl))?"
    r"(?: to the pond)?|own to the pond)$",
    re.I,
)
_NO = frozenset({"no", "not", "none", "not disinfected", "nothing", "undisinfected", "rinsed"})
_EMPTY = frozenset({"", "not said", "?"})
MOST_MIN = 10_000.0


@dataclass(frozen=True, slots=True)
class GearSaid:
    """What a few words say of nets, bowls and hands: `question` is asked where they are not clear.

    `said` shows it back; `written` is the answer that the question offers, to be put in the place
    of the words.
    """

    gear: Gear
    disinfectant: str
    contact_min: float | None
    said: str
    question: str = ""
    written: str = ""


def read_gear(text: str) -> GearSaid:
    """Whether the gear was disinfected before, with what, and how long it lay in it.

    Parameters
    ----------
    text
        `no`, `own net`, `iodophor 10 min`, `disinfected with iodophor, 10 min`; empty says nothing.

    Returns
    -------
    GearSaid
        With a question where the words may mean something else; then nothing is taken of them.

    Examples
    --------
    >>> read_gear("iodophor 10 min").said
    'disinfected: iodophor, 10 min'
    >>> read_gear("own net").said, read_gear("no").said
    ('own to the pond', 'not disinfected')
    >>> read_gear("iodophor").question
    'Was the gear disinfected with “iodophor”?'
    """
    typed = " ".join(plain(text).split()).strip(" .,;")
    low = typed.casefold()
    if low in _EMPTY:
        return GearSaid("not said", "", None, "not said")
    if low in _NO:
        return GearSaid("not disinfected", "", None, "not disinfected")
    if _OF_ITS_OWN.match(low):
        return GearSaid("own to the pond", "", None, "own to the pond")
    times = list(_TIME.finditer(typed))
    rest = _TIME.sub(" ", typed)
    yes = _YES.match(rest)
    if yes is not None:
        rest = rest[yes.end() :]
    name = _WITH.sub("", " ".join(rest.replace(",", " ").split())).strip()
    if len(times) > 1:
        return _asked(typed, f"“{typed}”: which time did it lie in it?", "")
    if not times and yes is None:
        written = f"disinfected with {name}" if name else ""
        return _asked(typed, f"Was the gear disinfected with “{name}”?", written)
    minutes = None
    if times:
        hours = times[0][2].casefold().startswith("h")
        minutes = float(times[0][1].replace(",", ".")) * (60.0 if hours else 1.0)
        if not 0.0 <= minutes <= MOST_MIN:
            return _asked(typed, f"“{times[0][0]}” is no contact time.", "")
    of = ", ".join(part for part in (name, _minutes(minutes)) if part)
    return GearSaid("disinfected", name, minutes, f"disinfected: {of}" if of else "disinfected")


def write_gear(said: GearSaid) -> str:
    """The words that are understood as this.

    Parameters
    ----------
    said
        As it was understood, without a question.

    Examples
    --------
    >>> write_gear(read_gear("iodophor 10 min"))
    'disinfected with iodophor, 10 min'
    """
    if said.gear != "disinfected":
        return "" if said.gear == "not said" else said.said
    name = f" with {said.disinfectant}" if said.disinfectant else ""
    return ", ".join(part for part in (f"disinfected{name}", _minutes(said.contact_min)) if part)


def reminded(understood: UnderstoodFish) -> tuple[str, ...]:
    """Codes of the hazards whose marks belong beside a line while it is typed.

    Parameters
    ----------
    understood
        The line as it was read.

    Returns
    -------
    tuple of str
        Those between which a question has to be answered; else the one that was named last.

    Examples
    --------
    >>> from store.exams.line import understand_fish
    >>> reminded(understand_fish("gill: flukes 3"))
    ('gill_flukes', 'skin_flukes')
    >>> reminded(understand_fish("gill 100x 5 fields: gill flukes 23, trichodina +"))
    ('trichodina',)
    """
    known = words()
    for doubt in understood.doubts:
        named = [
            meaning.code
            for answer in doubt.answers
            for meaning in known.get(answer.said.casefold(), ())
            if meaning.kind == "hazard"
        ]
        if named:
            return tuple(dict.fromkeys(named))
    places = {
        one.hazard: understood.text.casefold().rfind(said)
        for _, one in understood.fish.found
        for said, meanings in known.items()
        if any(meaning.code == one.hazard for meaning in meanings)
        and said in understood.text.casefold()
    }
    return (max(places, key=lambda code: places[code]),) if places else ()


def _asked(typed: str, question: str, written: str) -> GearSaid:
    return GearSaid("not said", "", None, typed, question, written)


def _minutes(minutes: float | None) -> str:
    return "" if minutes is None else f"{figures(minutes)} min"
