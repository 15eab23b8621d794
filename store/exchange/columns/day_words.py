"""Names of months, weekdays and parts of the day, in the languages of the sheets we meet."""

from __future__ import annotations

import re

_MONTHS = (
    "january jan januar januari janvier janv enero ene gennaio gen",
    "february feb februar februari février fevrier fév febrero febbraio",
    "march mar märz maerz mrz maart mrt mars marzo",
    "april apr avril avr abril aprile",
    "may mai mei mayo maggio mag",
    "june jun juni juin junio giugno giu",
    "july jul juli juillet juil julio luglio lug",
    "august aug août aout agosto ago",
    "september sep sept septembre septiembre settembre set",
    "october oct oktober okt octobre octubre ottobre ott",
    "november nov novembre noviembre",
    "december dec dezember dez décembre déc diciembre dic dicembre",
)
_MONTH_OF = {word: place for place, words in enumerate(_MONTHS, 1) for word in words.split()}
MONTH = "|".join(sorted(map(re.escape, _MONTH_OF), key=len, reverse=True))

_WEEKDAYS = (
    "monday mon montag maandag lundi lunes",
    "tuesday tue tues dienstag dinsdag mardi martes",
    "wednesday wed weds mittwoch woensdag mercredi miércoles",
    "thursday thu thur thurs donnerstag donderdag jeudi jueves",
    "friday fri freitag vrijdag vendredi viernes",
    "saturday sat samstag sonnabend zaterdag samedi sábado",
    "sunday sun sonntag zondag dimanche domingo",
)
_WEEKDAY_OF = {word: place for place, words in enumerate(_WEEKDAYS) for word in words.split()}
_WEEKDAY = "|".join(sorted(map(re.escape, _WEEKDAY_OF), key=len, reverse=True))
WEEKDAY = re.compile(rf"(?P<day>{_WEEKDAY})(?![^\W\d_])\.?", re.IGNORECASE)

_PARTS = {
    "am": "09:00", "a.m.": "09:00", "morning": "09:00", "morn": "09:00", "early": "09:00",
    "morgens": "09:00", "vormittag": "09:00", "vormittags": "09:00", "früh": "09:00",
    "morgen": "09:00",
    "matin": "09:00", "noon": "12:00", "midday": "12:00", "lunch": "12:00", "lunchtime": "12:00",
    "mittag": "12:00", "mittags": "12:00", "midi": "12:00", "pm": "15:00", "p.m.": "15:00",
    "afternoon": "15:00", "aft": "15:00", "nachmittag": "15:00", "nachmittags": "15:00",
    "après-midi": "15:00", "evening": "18:00", "eve": "18:00", "abend": "18:00",
    "abends": "18:00", "soir": "18:00", "dusk": "18:00", "night": "21:00", "nachts": "21:00",
}  # fmt: skip
_PART = "|".join(sorted(map(re.escape, _PARTS), key=len, reverse=True))
PART_OF_DAY = re.compile(rf"(?:^|[ ]|[ ]?\(|(?<=[0-9.]))(?P<part>{_PART})\)?$", re.IGNORECASE)
"""A word for a part of the day at the end; a clock time (`7:40 am`) is looked for before."""
PART_ALONE = re.compile(rf"\(?(?P<part>{_PART})\)?", re.IGNORECASE)
_IN_HEADING = re.compile(
    r"(?<![^\W_])(?P<part>(?:1[0-2]|[1-9])[ ]?[ap]\.?m\b\.?|"
    rf"[0-9]{{1,2}}:[0-9]{{2}}(?:[ ]?[ap]\.?m\b\.?)?|{_PART})(?![^\W_])",
    re.IGNORECASE,
)
_AM_ABEND = re.compile(r"(?<![^\W_])am[ ](?=(?:morgen|mittag|nachmittag|abend)\b)", re.IGNORECASE)
_EMPTY = re.compile(r"[(\[]\s*[)\]]")
CLOCK = re.compile(
    r"(?:^|[ ,T@]+|[ ]at[ ])(?P<clock>"
    r"[0-9]{1,2}(?::|h(?=[0-9])|\.(?=[0-9]{2}(?:[ ]?[ap]\.?m|[ ]?uhr|[ ]?h|$)))[0-9]{2}"
    r"(?::[0-9]{2}(?:[.,][0-9]+)?)?(?:[ ]?[ap]\.?m\.?)?"
    r"(?:[ ]?(?:Z|UTC|[+-][0-9]{2}:?[0-9]{2}))?"
    r"|(?:1[0-2]|[1-9])[ ]?[ap]\.?m\.?)(?:[ ]?(?:uhr|hrs?|h))?$",
    re.IGNORECASE,
)


def month_of(word: str) -> int:
    """The month of a word that `MONTH` found, 1 to 12.

    Parameters
    ----------
    word
        As it stands in the cell.
    """
    return _MONTH_OF[word.casefold()]


def weekday_of(word: str) -> int:
    """The weekday of a word that `WEEKDAY` found; Monday is 0.

    Parameters
    ----------
    word
        As it stands in the cell.
    """
    return _WEEKDAY_OF[word.casefold()]


def part_of_day(word: str) -> str:
    """The hour that stands for a part of the day [HH:MM]; empty for a word that is none.

    Parameters
    ----------
    word
        As it stands in the cell.
    """
    return _PARTS.get(word.casefold(), "")


def part_in(title: str) -> tuple[str, str]:
    """A part of the day, or a time, that stands in a heading, and the heading without it.

    Parameters
    ----------
    title
        As it stands in the file.

    Returns
    -------
    tuple of str, str
        Empty and the heading itself where none stands in it, or more than one.

    Examples
    --------
    >>> part_in("pH (am)"), part_in("Morning temp °C"), part_in("pH")
    (('am', 'pH'), ('Morning', 'temp °C'), ('', 'pH'))
    """
    title = _AM_ABEND.sub("", title)
    found = list(_IN_HEADING.finditer(title))
    if len(found) != 1:
        return "", title
    rest = title[: found[0].start()] + " " + title[found[0].end() :]
    rest = " ".join(_EMPTY.sub(" ", rest).replace("_", " ").split())
    return found[0]["part"], rest.strip(" -:,/")
