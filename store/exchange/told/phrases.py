"""Phrases of an owner's message that look like deaths, water changes, doses, feed, signs.

Common practice of how people write; what is not certain stays words, and nothing here is a number
of the record before a person has taken it by hand.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from typing import Final, Literal

from store.diary.calling.typed import signs_in
from store.facts.signs import signs

Kind = Literal["deaths", "water change", "dose", "feed", "sign"]
_NUMBERS: Final = {
    "no": 0, "none": 0, "zero": 0, "a": 1, "an": 1, "another": 1, "one": 1, "two": 2, "both": 2,
    "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9, "ten": 10,
    "eleven": 11, "twelve": 12,
}  # fmt: skip
_VAGUE: Final = "a few|few|several|some|many|lots|a couple|couple|dozens?"
_NUMBER = (
    r"(?P<about>(?:about|around|roughly|nearly|almost|over|~)[ ]?)?"
    rf"(?P<number>[0-9]{{1,5}}|{'|'.join(_NUMBERS)})"
)
_FISH = (
    r"(?:fish|koi|goldfish|shubunkins?|comets?|orfes?|tench|carp|sturgeons?|sterlets?|rudd|roach|"
    r"trout|fry|minnows?|sticklebacks?|ghosties|guppies|fantails?)"
)
_LOOKS = (
    r"(?:(?!few|couple|lot|dozen|handful|year|yr|month|week|day|inch|foot"
    r"|cm|kg|lb|old)[a-z-]{2,12}[ ]){0,2}?"
)
_GONE = r"(?:dead|died|gone[ ]belly[ ]up|belly[ ]up|floating[ ]dead)"
# Behind `dead` no other thing may be named: a dead frog is no fish.
_NO_THING = (
    r"(?![ ](?!in|on|at|by|this|today|tonight|yesterday|last|over|so|now|again|and|but|since|when"
    r"|floating|from|the|i|we|fish)[a-z])"
)
_VERB = r"(?:(?:were|was|is|are|have|has|had|found|lying|just|now|also|sadly)[ ]){0,3}"
_DEAD = tuple(
    re.compile(pattern, re.IGNORECASE)
    for pattern in (
        rf"\b{_NUMBER}[ ]dead[ ]{_LOOKS}(?P<fish>{_FISH})\b",
        rf"\b{_NUMBER}[ ](?:more[ ])?(?:of[ ](?:my|the|our)[ ])?(?:{_LOOKS}(?P<fish>{_FISH})[ ])?"
        rf"{_VERB}{_GONE}\b{_NO_THING}",
        rf"\b(?:lost|found|buried|scooped[ ]out)[ ]{_NUMBER}(?:[ ]more)?(?:[ ]of[ ](?:my|the|our))?"
        rf"[ ](?:dead[ ])?{_LOOKS}(?P<fish>{_FISH})\b(?P<then>[ ](?:dead|floating))?",
        rf"\blost[ ]{_NUMBER}(?:[ ](?:more|overnight|last[ ]night))?(?=[ ]*(?:$|[.,!;]))",
        rf"\b(?:dead|deaths|losses|mortalit(?:y|ies)):?[ ]*{_NUMBER}(?![ ]?[\w%.,])",
        rf"\b{_NUMBER}[ ](?:deaths?|losses|dead)\b{_NO_THING}",
    )
)
_NO_FISH_SAID = re.compile(r"\bfound[ ]", re.IGNORECASE)
_VAGUE_DEAD = re.compile(
    rf"\b(?:{_VAGUE})\b[^,.;]{{0,30}}\b{_GONE}\b|\blost[ ](?:{_VAGUE})\b"
    rf"|\b(?:the|my|our)[ ]{_LOOKS}{_FISH}[ ]{_VERB}{_GONE}\b",
    re.IGNORECASE,
)
_LONG = re.compile(
    r"\b(?:since|over[ ]the|in[ ]the[ ](?:last|past)|during|so[ ]far|in[ ]total|altogether"
    r"|this[ ](?:week|month|year|winter|summer)|last[ ](?:week|month|year|winter|summer))\b",
    re.IGNORECASE,
)
_TO_COME = re.compile(
    r"\b(?:will|i.?ll|we.?ll|going[ ]to|gonna|plan(?:ning)?[ ]to|tomorrow|next[ ](?:week|month|mon"
    r"|tue|wed|thu|fri|sat|sun)\w*|should|shall|want[ ]to|wanted[ ]to|ought|aim\w*|if|would|could"
    r"|might|needs?[ ]to|about[ ]to|unless|when|once|until|till)\b",
    re.IGNORECASE,
)
_HABIT = re.compile(
    r"\b(?:usually|normally|always|every|weekly|daily|typically|used[ ]to|last[ ](?:year|winter"
    r"|summer|month)|years?[ ]ago|months?[ ]ago|keep(?:ing)?|target|ideal(?:ly)?"
    r"|recommended|supposed[ ]to)\b",
    re.IGNORECASE,
)
_ELSEWHERE = re.compile(
    r"\b(?:tap|mains|well|borehole|rain(?:[ ]?water)?|q\.?t|quarantine|tank|aquarium|vat|bowl"
    r"|bucket|stream|river|air|outside|outdoors|neighbou?r\w*|shop|dealer|filter"
    r"|(?:other|another|top|bottom|upper|lower|small|big|front|back|second|main)[ ]pond"
    r"|pond[ ](?:no\.?[ ]?|number[ ])?[0-9])\b",
    re.IGNORECASE,
)
_MADE = re.compile(
    r"\b(?:rais(?:e|ed|ing)|lower(?:ed|ing)|increas(?:e|ed|ing)|bring(?:ing)?|brought|set|heater"
    r"|thermostat|alarm|buffered|topped)\b",
    re.IGNORECASE,
)
_DENIED = re.compile(r"\b(?:no|not|never|without|haven.?t|didn.?t|hasn.?t|don.?t)\b", re.IGNORECASE)
_PER_CENT = r"(?P<percent>[0-9]{1,3}(?:[.,][0-9]+)?)[ ]?(?:%|per[ ]?cent|pc\b)"
_LITRES = (
    r"(?P<litres>[0-9]{1,3}(?:,[0-9]{3})+|[0-9]+(?:\.[0-9]+)?)[ ]?(?:l|ltrs?|lit(?:re|er)s?)\b"
)
_CHANGE = tuple(
    re.compile(pattern, re.IGNORECASE)
    for pattern in (
        rf"(?:{_PER_CENT}|{_LITRES}|\b(?P<part>half|(?:a[ ])?third|(?:a[ ])?quarter))[ ]"
        r"(?:of[ ](?:the|my)[ ])?"
        r"(?:partial[ ])?(?:water[ ]*)?(?:changed?|w/?c)\b",
        rf"\bwater[ ]change[ds]?(?:[ ]of|:)?[ ](?:about[ ])?(?:{_PER_CENT}|{_LITRES})",
        rf"\b(?:changed|swapped|replaced)[ ](?:about[ ]|around[ ])?(?:{_PER_CENT}|{_LITRES}"
        r"|(?P<part>half|a[ ]third|a[ ]quarter))"
        r"(?:[ ](?:of[ ])?(?:the[ ]|my[ ])?(?:pond[ ])?water)?",
        rf"\b(?:let[ ]out|drained|emptied|took[ ]out)[ ](?:about[ ])?(?:{_PER_CENT}|{_LITRES})",
        r"\b(?:partial[ ])?(?:water[ ]change[ds]?|changed[ ](?:the[ ]|some[ ])?water|w/c)\b",
    )
)
_TOPPED = re.compile(
    r"\b(?:topp?(?:ed|ing)?[ -](?:(?:it|the[ ]pond|pond)[ ])?up"
    rf"|filled[ ](?:(?:it|the[ ]pond)[ ])?up|refilled)\b"
    rf"(?:[ ](?:with|by)?[ ]?(?:about[ ])?{_LITRES})?",
    re.IGNORECASE,
)
_TAKEN_AWAY = re.compile(
    r"\b(?:heron|otter|mink|cat|kingfisher|stolen|thie(?:f|ves)|sold|gave|given|moved|rehomed)\b",
    re.IGNORECASE,
)
_DOSED = re.compile(
    r"\b(?:(?:re-?)?dos(?:e|ed|es|ing)|treat(?:ed|ing|ment|ments)?|medicat\w*|remedy)\b"
    r"|\b(?:put|add(?:ed|ing)?|poured|gave|given|used|chucked|tipped|threw|dropped|mixed)\b"
    r"(?=[^.;]*?(?:[0-9.,]+[ ]?(?:kgs?|g|grams?|mgs?|mls?|lbs?|oz|tsps?|tbsps?|teaspoons?|"
    r"tablespoons?|spoons?|cups?|caps?|capfuls?|bags?|tubs?|bottles?|drops?|scoops?|ppm|%)(?![a-z])"
    r"|salt|dechlor\w*|conditioner|bicarb\w*|soda|buffer|zeolite|carbon|bacteria|peroxide"
    r"|permanganate|formalin|malachite|medicine|remedy|bags?\b|scoops?\b|spoons?\b))",
    re.IGNORECASE,
)
_FED = re.compile(
    r"\b(?:fed|feed(?:s|ing)?|food|pellets?|wheatgerm|eating|eaten|ate|appetite)\b", re.IGNORECASE
)
SIGN_EVENTS: Final = {
    "gasping": "sign_gasping", "at_inlet": "sign_at_inlet", "off_feed": "sign_off_feed",
    "listless": "sign_listless",
}  # fmt: skip
OTHER_SIGN: Final = "sign_seen"


@dataclass(frozen=True, slots=True)
class Phrase:
    """A part of a clause that looks like something that happened.

    `place` is its span in the clause. `number` are dead fish [count], None where the number was
    not said; `species` as typed; `litres` of a water change where it was told in litres [L];
    `signs` codes of `store.facts.signs`.
    """

    kind: Kind
    place: tuple[int, int]
    number: int | None = None
    species: str = ""
    litres: float | None = None
    signs: tuple[str, ...] = ()
    topped_up: bool = False
    """Whether water came in and none is said to have gone out."""
    about: bool = False
    """Whether the number was told as about so many."""


def phrases_of(clause: str) -> tuple[Phrase, ...]:
    """What a clause tells apart from readings.

    Parameters
    ----------
    clause
        A part of a sentence.

    Returns
    -------
    tuple of Phrase
        A dose takes the clause from its verb to the end: what is dosed is never a reading.

    Examples
    --------
    >>> [(one.kind, one.number, one.species) for one in phrases_of("lost 2 more koi overnight")]
    [('deaths', 2, 'koi')]
    >>> [phrases_of(one)[0].kind for one in ("did a 20 % change", "added 2 kg of salt")]
    ['water change', 'dose']
    """
    found: list[Phrase] = []
    change = _first(_CHANGE, clause)
    if change is not None:
        litres = change.groupdict().get("litres")
        found.append(
            Phrase(
                "water change", change.span(),
                litres=float(litres.replace(",", "")) if litres else None,
            )
        )  # fmt: skip
    elif (topped := _TOPPED.search(clause)) is not None:
        litres = topped["litres"]
        found.append(
            Phrase(
                "water change", topped.span(), topped_up=True,
                litres=float(litres.replace(",", "")) if litres else None,
            )
        )  # fmt: skip
    dead = _deaths(clause)
    if dead is not None:
        found.append(dead)
    dosed = _DOSED.search(clause)
    if dosed is not None and not (change is not None and _over(change.span(), dosed.span())):
        found.append(Phrase("dose", (dosed.start(), len(clause))))
    if dead is None and _any_sign().search(clause) and (codes := signs_in(clause)):
        found.append(Phrase("sign", (0, len(clause)), signs=codes))
    elif (fed := _FED.search(clause)) is not None and dosed is None:
        found.append(Phrase("feed", fed.span()))
    return tuple(found)


@cache
def _any_sign() -> re.Pattern[str]:
    """Any word of a sign: most clauses hold none, and are not looked through sign by sign."""
    words = {word for one in signs().values() for word in (one.words, *one.also)}
    pattern = "|".join(
        r"\s+".join(re.escape(part) for part in word.split())
        for word in sorted(words, key=len, reverse=True)
    )
    return re.compile(rf"\b(?:{pattern})", re.IGNORECASE)


def _over(one: tuple[int, int], other: tuple[int, int]) -> bool:
    return one[0] < other[1] and other[0] < one[1]


def _first(patterns: tuple[re.Pattern[str], ...], text: str) -> re.Match[str] | None:
    return next((found for one in patterns if (found := one.search(text))), None)


def _deaths(clause: str) -> Phrase | None:
    for pattern in _DEAD:
        found = pattern.search(clause)
        if found is None:
            continue
        groups = found.groupdict()
        number = groups["number"].lower()
        fish = (groups.get("fish") or "").lower()
        # `found 3 koi` alone says nothing of their being dead.
        alive = _NO_FISH_SAID.match(found[0]) and "dead" not in found[0].lower()
        if alive and not groups.get("then"):
            continue
        count = _NUMBERS[number] if number in _NUMBERS else int(number)
        return Phrase(
            "deaths", found.span(), count, "" if fish == "fish" else fish,
            about=bool(groups["about"]),
        )  # fmt: skip
    vague = _VAGUE_DEAD.search(clause)
    return None if vague is None else Phrase("deaths", vague.span())


def not_now(clause: str) -> str:
    """Why a clause may not tell of what was found or done; empty where nothing speaks for that.

    Parameters
    ----------
    clause
        A part of a sentence.

    Returns
    -------
    str
        The sentence for the person who decides.

    Examples
    --------
    >>> not_now("I normally keep the pH at 8")
    '“normally” tells of a habit, a wish or long ago.'
    """
    found = _TO_COME.search(clause)
    if found is not None:
        return f"“{found[0]}” tells of what is to come or asked, not of what was."
    found = _HABIT.search(clause)
    return "" if found is None else f"“{found[0]}” tells of a habit, a wish or long ago."


def beside(clause: str) -> str:
    """What in a clause makes a reading doubtful: other water than the pond's, or what was made.

    Parameters
    ----------
    clause
        A part of a sentence.

    Returns
    -------
    str
        The question for the person who decides; empty where nothing speaks against it.

    Examples
    --------
    >>> beside("the tap is pH 7.2"), beside("pond is pH 7.2")
    ('“tap”: was it measured in the water of this pond?', '')
    """
    if (found := _ELSEWHERE.search(clause)) is not None:
        return f"“{found[0]}”: was it measured in the water of this pond?"
    found = _MADE.search(clause)
    return "" if found is None else f"“{found[0]}” tells of what was done. Was it measured?"


def counts_fish(clause: str, typed: str) -> bool:
    """Whether a number of a clause counts fish, so that it is no reading (`2 koi`).

    Parameters
    ----------
    clause
        A part of a sentence.
    typed
        The number as it stands there.

    Examples
    --------
    >>> counts_fish("ammonia 0 - 2 koi flash", "0 - 2"), counts_fish("ammonia 0.25", "0.25")
    (True, False)
    """
    pattern = rf"(?<![\d.,]){re.escape(typed)}[ ]+(?:[a-z]+[ ])?{_FISH}\b"
    return re.search(pattern, clause, re.IGNORECASE) is not None


def taken_away(clause: str) -> str:
    """The word by which fish were not found dead but went: a heron, a sale; empty without any.

    Parameters
    ----------
    clause
        A part of a sentence.
    """
    found = _TAKEN_AWAY.search(clause)
    return "" if found is None else found[0]


def denied(clause: str) -> bool:
    """Whether something is denied in a clause (`no change done`).

    Parameters
    ----------
    clause
        A part of a sentence.
    """
    return _DENIED.search(clause) is not None


def several_days(clause: str) -> str:
    """The words by which a clause tells of more than one day; empty without any.

    Parameters
    ----------
    clause
        A part of a sentence.
    """
    found = _LONG.search(clause)
    return "" if found is None else found[0]


CLAUSE_ENDS: Final = re.compile(
    rf",[ ]+(?=[^\d\s]|\d+[ ](?:\w+[ ])?{_FISH}\b)|[;|]\s*|[ ]-[ ](?=[^\W\d])"
    r"|(?P<and>[ ](?:and|but|&|then|plus|also)[ ](?=\S))"
)
"""Where one clause of a sentence ends; at an `and` only where a number stands before it."""
SENTENCE_ENDS: Final = re.compile(
    r"(?<=[!?])\s+|(?<=[0-9]\.)\s+|(?<=\.)\s+(?=[^\d\s])|\n+"
    # “… yesterday evening. 1 shubunkin dead”, but not “approx. 5 fish” nor “temperature. 12 °C”.
    r"|(?<=[^\W\d_]{5}\.)(?<!pprox\.)\s+"
    r"(?=\d{1,3}\s+(?!deg|grad|lit|gal|cel|fahr|per|ppm|mill)[^\W\d_]{3})"
    r"|\s[:;]-?[()]+(?=\s|$)|[\u2600-\u27bf\U0001f300-\U0001faff]+"
)
