"""Headings in the words and languages that people use, and marks that went wrong on the way."""

from __future__ import annotations

import re
import unicodedata

from store.text import plain

ROLES: dict[str, tuple[str, ...]] = {
    "pond": ("pond_code", "pond key", "code", "pond name", "teich", "bassin", "étang", "vijver",
             "estanque", "tank", "pool"),
    "client": ("owner", "customer", "kunde", "besitzer", "client name"),
    "taken_at": ("datetime", "date time", "date and time", "date & time", "date/time", "taken",
                 "sampled at", "timestamp", "at", "when", "datum/uhrzeit", "datum uhrzeit",
                 "datum und uhrzeit", "date et heure"),
    "date": ("day", "datum", "tag", "jour", "fecha", "data", "dato", "dag", "date taken",
             "sample date", "test date", "date of test"),
    "time": ("clock", "hour", "time of day", "uhrzeit", "zeit", "heure", "hora", "tijd", "ora",
             "when in the day", "am/pm"),
    "note": ("notes", "remarks", "remark", "comment", "comments", "observations", "bemerkung",
             "bemerkungen", "notiz", "notizen", "remarques", "opmerkingen", "notas"),
    "place": ("where", "sampled where", "sampling point", "ort", "lieu"),
    "by": ("tested by", "taken by", "who", "tester", "initials", "von"),
    "parameter": ("measurement", "what", "parametre", "paramètre", "test", "analyte", "messgröße"),
    "value": ("reading", "result", "wert", "valeur", "messwert"),
    "unit": ("units", "einheit", "unité"),
    "form": ("as", "reported as"),
}  # fmt: skip
"""What a column may be that holds no readings, and the further words for it."""

_FOREIGN = {
    "temperatur": "temperature", "wassertemperatur": "water temperature", "wassertemp": "temp",
    "température": "temperature", "temperature eau": "temperature", "temperatuur": "temperature",
    "temperatura": "temperature", "nitrit": "nitrite", "nitriet": "nitrite", "nitrites": "nitrite",
    "nitrito": "nitrite", "nitrat": "nitrate", "nitraat": "nitrate", "nitrates": "nitrate",
    "nitrato": "nitrate", "ammoniak": "ammonia", "ammoniac": "ammonia", "amoniaco": "ammonia",
    "sauerstoff": "oxygen", "oxygène": "oxygen", "zuurstof": "oxygen", "oxígeno": "oxygen",
    "leitfähigkeit": "conductivity", "leitwert": "conductivity", "conductivité": "conductivity",
    "geleidbaarheid": "conductivity", "salz": "salt", "salzgehalt": "salinity", "sel": "salt",
    "salinité": "salinity", "zout": "salt", "karbonathärte": "KH", "carbonathärte": "KH",
    "gesamthärte": "GH", "ph-wert": "pH", "ph wert": "pH", "ph value": "pH", "chlorid": "chloride",
    "sauerstoffsättigung": "oxygen saturation", "sättigung": "saturation", "spcond": "conductivity",
    "sp cond": "conductivity", "sp. cond": "conductivity", "spec cond": "conductivity",
    "spc": "conductivity", "specific conductance": "conductivity",
    "specific conductivity": "conductivity", "odo": "DO", "ldo": "DO", "hdo": "DO",
    "watertemp": "water temp",
}  # fmt: skip
_FIRST_WORDS = re.compile(
    "|".join(re.escape(word) for word in sorted(_FOREIGN, key=len, reverse=True)), re.IGNORECASE
)
# A degree sign read in the wrong letters, left out by the keyboard, or written as a star.
_DEGREE = re.compile(
    r"(?:Â[°º]|â\x84|[°º˚*øØ¡∞\ufffd]|\bdeg(?:rees?|\.)?|\bgrad)\s*(?P<letter>[CF])(?![a-z])",
    re.IGNORECASE,
)
_CELSIUS = re.compile(r"\b(?:degrees )?(?P<name>celsius|centigrade|fahrenheit)\b", re.IGNORECASE)
_SLASH = re.compile(r"(?<=\w)[ ]?/[ ]?(?=\w)")
_MICRO = re.compile(r"Â?[µμ\ufffd]S", re.IGNORECASE)


def _in_its_letters(title: str) -> str:
    """A heading in UTF-8 that was read as Windows-1252 (`KarbonathÃ¤rte`), set right."""
    if not any(letter in title for letter in "ÃÂâ"):
        return title
    try:
        return title.encode("cp1252").decode("utf-8")
    except UnicodeError:
        return title


def same(title: str) -> str:
    """A heading without case, blanks, dashes and dots, to compare two of them.

    Parameters
    ----------
    title
        As it stands in the file.
    """
    text = unicodedata.normalize("NFKC", plain(title)).casefold()
    return "".join(letter for letter in text if letter not in " _-./\n\r:()[]")


def mended(title: str) -> str:
    """A heading in one line, its degree and micro signs made whole, foreign names in English.

    Parameters
    ----------
    title
        As it stands in the file.

    Examples
    --------
    >>> mended("Temp (*F)")
    'Temp (°F)'
    >>> mended("Wassertemperatur [°C]")
    'water temperature [°C]'
    """
    text = _SLASH.sub("/", " ".join(_in_its_letters(title).split()))
    text = _DEGREE.sub(lambda found: f"°{found['letter'].upper()}", text)
    text = _CELSIUS.sub(lambda found: "°F" if found["name"][0] in "fF" else "°C", text)
    text = _MICRO.sub("µS", text)
    first = _FIRST_WORDS.match(text)
    if first is not None and not text[first.end() : first.end() + 1].isalpha():
        text = _FOREIGN[first[0].casefold()] + text[first.end() :]
    return text


ROLE_OF = {same(one): name for name, others in ROLES.items() for one in (name, *others)}
OF_MANY = re.compile(
    r"(?:min|max)(?:imum|ima)?|av(?:era)?ge?|mean|median|lowest|highest|mittel(?:wert)?|moyenne|"
    r"promedio|gemiddeld[e]?|std?(?:ev)?",
    re.IGNORECASE,
)
"""Words of a column that sums many readings up: it holds none of one time."""
PASSED_OVER = frozenset({"whyrefused", "line"})
"""Columns that a file of refused rows carries in front."""
