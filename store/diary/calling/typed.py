"""What a caller says, as numbers, yes or no, signs: typed while talking, in any words.

What is not understood is None, or not known, and nothing is invented. Where a number is told as a
range, the end that is the more urgent counts: most dead, fewest days, fewest fish.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Literal

from store.errors import BadInput
from store.facts.call_questions import questions, safe_list
from store.facts.signs import signs
from store.water.line import read_cell
from store.water.measures import quantity, to_litres, to_metres
from store.water.understood import KitForms, ReadingValue

Said = Literal["yes", "no", "not known"]
Used = Literal["food", "sale", "ornamental", "not asked"]

SIGNALS = ("new_fish", "hose", "gasping", "sores", "off_food")
"""Questions whose answer in other words than yes and no is taken as yes: something was told."""

YES = re.compile(r"(?:y|yes|yeah|yep|some|a few|both)\b")
_NO = re.compile(r"(?:n|no|none|not|nothing|never|neither|nobody)\b")
_BUT = re.compile(r"\b(?:but|except|only)\b")
_NOT_KNOWN = re.compile(
    r"[?\s.–-]*|not (?:sure|known|asked)\b.*|unknown|no idea\b.*|(?:do not|don.?t|does not"
    r"|doesn.?t) know\b.*|maybe|perhaps|unsure"
)
_NOT_BEFORE = re.compile(r"\b(?:no|not|without|never|nothing|none|isn.?t|aren.?t)\s+(?:\w+\s+)?$")
_NUMBER = re.compile(r"(?<![\w.,])\d{1,3}(?:,\d{3})+(?![\d.,])|(?<![\w.,])\d+(?![\w,]*\d)")
_FISH = re.compile(
    r"(?<![\w.,])(\d{1,3}(?:,\d{3})+|\d+)(?![\d.,]*\d)(?:\s*(?:-|–|to)\s*\d+)?(?!\d)"
    r"(?!\s*(?:(?:-|–|to)\s*\d+\s*)?(?:cm|mm|m|kg|g|lbs?|inch|inches|in|ft|years?|yrs?|weeks?|days?|months?|%|\")(?!\w))"
)
_SPAN_DAYS = {"day": 1, "week": 7, "month": 30, "year": 365}
_SPAN = re.compile(r"(\d+|a|an|one|two|three|past|last|this)\s*(hour|h|day|d|week|wk|w|month|year)")
_SPAN_WORDS = {"today": 1, "overnight": 1, "last night": 1, "this morning": 1, "yesterday": 2}
_SPELT = {"a": 1, "an": 1, "one": 1, "two": 2, "three": 3, "past": 1, "last": 1, "this": 1}
_LONGEST_SPAN_DAYS = 3660.0
HAS_NONE = re.compile(
    r"(?:there is |it has |has )?"
    r"(?:none|no (?:filter|pump)(?:,? (?:or|and|no) (?:filter|pump|air))*"
    r"(?: here| there| at all)?|without(?: a| any)? (?:filter|pump))\.?"
)
"""What is said of a pond that never had a filter: nothing stood still there."""
STOPPED = re.compile(r"\b(?:stopped|off|fail\w*|broke\w*|cut|tripped|blocked|stood)\b")
_USES: tuple[tuple[Used, re.Pattern[str]], ...] = (
    ("food", re.compile(r"\b(?:food|eat\w*|table|angl\w*)\b")),
    ("sale", re.compile(r"\b(?:sale|sell\w*|sold|trade|breed\w*)\b")),
    ("ornamental", re.compile(r"(?:no|n|never|neither|none|not)\b|.*\b(?:pets?|ornamental)\b")),
)
HAS_TAP = re.compile(r"^(?:y|yes|both)\b|\b(?:tap|water|hose)\b")
HAS_SOCKET = re.compile(r"^(?:y|yes|both)\b|\b(?:socket|electric\w*|power|mains)\b")
_MOST_COUNTED = 10_000_000


def yes_or_no(code: str, text: str) -> Said:
    """Whether an answer is yes, no, or not known.

    Parameters
    ----------
    code
        Of the question.
    text
        As typed. For a question of `SIGNALS` other words than yes and no are taken as yes.

    Examples
    --------
    >>> yes_or_no("gasping", "since this morning"), yes_or_no("photo", "since this morning")
    ('yes', 'not known')
    >>> yes_or_no("hose", "no"), yes_or_no("hose", "no, but it rained in"), yes_or_no("hose", "?")
    ('no', 'yes', 'not known')
    """
    if questions()[code].reads != "yes_no":
        return "not known"
    return either(text, otherwise="yes" if code in SIGNALS else "not known")


def either(text: str, *, otherwise: Said) -> Said:
    """Whether a text says yes or no.

    Parameters
    ----------
    text
        As typed.
    otherwise
        What other words are taken for.
    """
    said = text.casefold().strip()
    if unknown(said):
        return "not known"
    if YES.match(said):
        return "yes"
    if _NO.match(said) and not _BUT.search(said):
        return "no"
    return otherwise


def unknown(text: str) -> bool:
    """Whether a text is empty, or says that it is not known.

    Parameters
    ----------
    text
        As typed.
    """
    return _NOT_KNOWN.fullmatch(text.casefold().strip()) is not None


def says(pattern: re.Pattern[str], text: str) -> bool:
    """Whether a text holds the words, not counting where they are denied.

    Parameters
    ----------
    pattern
        Of the words, in small letters.
    text
        In small letters.
    """
    return any(not _NOT_BEFORE.search(text[: one.start()]) for one in pattern.finditer(text))


def says_any(words: tuple[str, ...], text: str) -> str:
    """The first of some beginnings of words that a text holds, where it is not denied.

    Parameters
    ----------
    words
        In small letters.
    text
        As typed.

    Returns
    -------
    str
        Empty where it holds none.

    Examples
    --------
    >>> says_any(("hose", "chlorin"), "left the hose on"), says_any(("hose",), "no hose ran")
    ('hose', '')
    """
    said = text.casefold()
    for word in words:
        if says(re.compile(rf"\b{re.escape(word)}"), said):
            return word
    return ""


def typed_count(text: str) -> int | None:
    """A number of fish or ponds; of a range the larger; None where no number was told.

    Parameters
    ----------
    text
        As typed; `none` and `no` are 0.

    Returns
    -------
    int or None
        [count]

    Examples
    --------
    >>> typed_count("5-6"), typed_count("none"), typed_count("1,200"), typed_count("a few")
    (6, 0, 1200, None)
    """
    said = text.casefold().strip()
    numbers = [_counted(one) for one in _NUMBER.findall(said.replace("-", " "))]
    if numbers:
        return max(numbers)
    return 0 if _NO.match(said) and not unknown(said) else None


def typed_stock(text: str) -> int | None:
    """How many fish there are by what was told of their kinds; of a range the fewest.

    Parameters
    ----------
    text
        Such as `12 koi of 30-45 cm, 4 goldfish`; lengths, weights and ages do not count.

    Returns
    -------
    int or None
        [count]; None where no number was told.

    Examples
    --------
    >>> typed_stock("12 koi of 30-45 cm, 4 goldfish"), typed_stock("10-12 koi"), typed_stock("koi")
    (16, 10, None)
    """
    found = [_counted(one) for one in _FISH.findall(text)]
    return min(sum(found), _MOST_COUNTED) or None


def _counted(figures: str) -> int:
    """A number of any length; Python itself reads no more than some thousand figures."""
    plain_figures = figures.replace(",", "").lstrip("0")
    enough = len(plain_figures) > len(str(_MOST_COUNTED))
    return _MOST_COUNTED if enough else min(int(plain_figures or "0"), _MOST_COUNTED)


def typed_span_days(text: str) -> float | None:
    """Over how many days; of a range the fewest, a part of a day is one.

    Parameters
    ----------
    text
        Such as `3`, `2 weeks`, `overnight`, `3-4 days`.

    Returns
    -------
    float or None
        [d]; None where no number was told.

    Examples
    --------
    >>> typed_span_days("3-4 days"), typed_span_days("a week"), typed_span_days("12 hours")
    (3.0, 7.0, 1.0)
    """
    said = text.casefold().strip()
    for words, days in _SPAN_WORDS.items():
        if words in said:
            return float(days)
    with_unit = _SPAN.search(re.sub(r"(\d+)\s*(?:-|–|to)\s*\d+", r"\1", said))
    if with_unit is not None:
        number, unit = with_unit.groups()
        many = int(number) if number.isdecimal() else _SPELT[number]
        each = next((days for name, days in _SPAN_DAYS.items() if name.startswith(unit[0])), 1)
        if unit[0] == "h":
            return float(max(1, -(-many // 24)))
        return min(max(1.0, float(many * each)), _LONGEST_SPAN_DAYS)
    found = re.search(r"\d+", said)
    return None if found is None else min(max(1.0, float(found[0])), _LONGEST_SPAN_DAYS)


def typed_litres(text: str) -> float | None:
    """A volume that was told with its unit [L]; None without a unit, or where it is not clear.

    Parameters
    ----------
    text
        Such as `18000 L`, `4000 UK gal`.

    Returns
    -------
    float or None
        [L]
    """
    try:
        number, unit = quantity(text, "volume")
        return to_litres(number, unit) if unit and number > 0.0 else None
    except BadInput:
        return None


def typed_metres(text: str) -> float | None:
    """A depth that was told [m]; metres where no unit was said, None where it is not clear.

    Parameters
    ----------
    text
        Such as `1.4`, `4 ft`.
    """
    try:
        return to_metres(*quantity(text, "depth")) if text.strip() else None
    except BadInput:
        return None


def read_temperature(text: str) -> ReadingValue | None:
    """The water temperature that was told, read as in a water test; None where that is doubtful.

    Parameters
    ----------
    text
        Such as `19` or `66F`.
    """
    found = read_cell("temperature_c", text, None, KitForms())
    return found if isinstance(found, ReadingValue) else None


def typed_use(text: str) -> Used:
    """Whether fish are for eating or for sale; the more careful where both were said.

    Parameters
    ----------
    text
        As typed.

    Examples
    --------
    >>> typed_use("some for sale"), typed_use("we eat a few"), typed_use("never"), typed_use("")
    ('sale', 'food', 'ornamental', 'not asked')
    """
    said = text.casefold().strip()
    if unknown(said):
        return "not asked"
    for use, pattern in _USES[:2]:
        if says(pattern, said):
            return use
    if _USES[2][1].match(said) and not _BUT.search(said):
        return "ornamental"
    return "not asked"


@cache
def _sign_words() -> tuple[tuple[str, re.Pattern[str]], ...]:
    return tuple(
        (code, re.compile("|".join(rf"\b{re.escape(one.casefold())}" for one in words)))
        for code, sign in signs().items()
        for words in [sorted({sign.words, *sign.also}, key=len, reverse=True)]
    )


def signs_in(text: str) -> tuple[str, ...]:
    """The signs that a caller's own words hold, not counting those that are denied.

    Parameters
    ----------
    text
        In words.

    Returns
    -------
    tuple of str
        Codes of `store.facts.signs`.

    Examples
    --------
    >>> signs_in("two koi gasping at the inlet, no ulcers")
    ('gasping', 'at_inlet')
    """
    said = " ".join(text.casefold().split())
    return tuple(code for code, pattern in _sign_words() if says(pattern, said))


def typed_safe(text: str) -> tuple[str, ...]:
    """What of the fixed list a caller was told, by its numbers.

    Parameters
    ----------
    text
        Such as `1 2 4`, `124`, `1-3` or `all`.

    Returns
    -------
    tuple of str
        Codes of the fixed list, in its order.

    Examples
    --------
    >>> typed_safe("3, 1"), typed_safe("1-3"), len(typed_safe("all"))
    (('air', 'stop'), ('air', 'feed', 'stop'), 6)
    """
    codes = tuple(safe_list())
    if re.match(r"\s*(?:all|a)\b", text.casefold()):
        return codes
    wanted: set[int] = set()
    for first, last in re.findall(r"(\d)(?:\s*[-–]\s*(\d))?", text):
        wanted |= set(range(int(first), int(last or first) + 1))
    return tuple(code for number, code in enumerate(codes, 1) if number in wanted)
