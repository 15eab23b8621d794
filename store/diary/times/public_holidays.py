"""Public holidays of a country and of a part of it, from the `holidays` library.

The library's own registry says which countries and regions there are and what they are called, so
that no list of ours grows old.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from datetime import date
from functools import cache, lru_cache
from types import MappingProxyType
from typing import TYPE_CHECKING

from store.errors import BadInput
from store.text import plain

if TYPE_CHECKING:
    from holidays import HolidayBase

_NOT_NAMES = re.compile(r"[^a-z0-9]+")
_LONGEST_SPAN_YEARS = 60


def country_code(text: str) -> str | None:
    """The code of a country that was typed.

    Parameters
    ----------
    text
        Its English name, its two or three letters by ISO 3166-1, or the name of a part of it that
        no other country has, such as Scotland.

    Returns
    -------
    str or None
        Two letters; None when no country, or more than one, is called so.

    Examples
    --------
    >>> country_code("United Kingdom"), country_code("nzl"), country_code("the Netherlands")
    ('GB', 'NZ', 'NL')
    >>> country_code("Scotland"), country_code("Limburg"), country_code("Atlantis")
    ('GB', None, None)
    """
    name = _bare(text)
    if not name:
        return None
    return _countries().get(name) or _of_a_part(name)


def regions(country: str) -> tuple[tuple[str, str], ...]:
    """The parts of a country that may have holidays of their own.

    Parameters
    ----------
    country
        Its two letters.

    Returns
    -------
    tuple of pairs
        Code and name by name; the code stands for the name where the library knows none. Empty
        where all of the country has the same holidays.

    Raises
    ------
    BadInput
        At the field `country`: its holidays are not known.

    Examples
    --------
    >>> regions("GB")[:2]
    (('ENG', 'England'), ('NIR', 'Northern Ireland'))
    """
    known = _holidays_of(country)
    names: dict[str, str] = {}
    for name, code in _aliases(known).items():
        names.setdefault(code, name)
    pairs = ((code, names.get(code, code)) for code in known.subdivisions)
    return tuple(sorted(pairs, key=lambda pair: _bare(pair[1])))


def region_code(country: str, text: str) -> str | None:
    """The code of a part of a country that was typed.

    Parameters
    ----------
    country
        Two letters of the country.
    text
        Name or code of the part.

    Returns
    -------
    str or None
        None when the country has no such part.

    Raises
    ------
    BadInput
        At the field `country`: its holidays are not known.

    Examples
    --------
    >>> region_code("GB", "northern ireland"), region_code("GB", "Bavaria")
    ('NIR', None)
    """
    known = _holidays_of(country)
    wanted = _bare(text)
    for code in known.subdivisions:
        if _bare(code) == wanted:
            return code
    return next((code for name, code in _aliases(known).items() if _bare(name) == wanted), None)


def years_known(country: str) -> tuple[int, int]:
    """The first and the last year of which the library knows a country's holidays.

    Parameters
    ----------
    country
        Its two letters.

    Raises
    ------
    BadInput
        At the field `country`: its holidays are not known.
    """
    known = _holidays_of(country)
    return known.start_year, known.end_year


def holidays_between(country: str, region: str, first: date, last: date) -> Mapping[date, str]:
    """The public holidays within a stretch of time.

    Parameters
    ----------
    country
        Its two letters; empty gives no holidays.
    region
        A code of `regions`; empty for what all of the country keeps.
    first, last
        The stretch, both days included; at most sixty years.

    Returns
    -------
    mapping of date to str
        By day, earliest first, with the name in English where the library has it, else in the
        country's own language. Substitute days stand beside the day itself. Nothing for years
        outside `years_known`.

    Raises
    ------
    BadInput
        At the field `country` or `region`, where the library knows no such thing.

    Notes
    -----
    Days proclaimed later than the release of the library, and days that depend on a sighting of the
    moon, may be missing or off by one: they are marks in the diary, never a refusal.

    Examples
    --------
    >>> holidays_between("GB", "SCT", date(2026, 11, 1), date(2026, 12, 24))
    {datetime.date(2026, 11, 30): "Saint Andrew's Day"}
    """
    if not country:
        return {}
    if last.year - first.year > _LONGEST_SPAN_YEARS:
        raise BadInput(f"Please ask for at most {_LONGEST_SPAN_YEARS} years at once.")
    return {
        day: name
        for year in range(first.year, last.year + 1)
        for day, name in _of_year(country, region, year).items()
        if first <= day <= last
    }


@lru_cache(maxsize=512)
def _of_year(country: str, region: str, year: int) -> Mapping[date, str]:
    from holidays import country_holidays

    known = _holidays_of(country)
    if region and region not in known.subdivisions:
        raise BadInput(
            f"“{plain(region):.20}” is no part of {country} with holidays of its own.",
            field="region",
        )
    found = country_holidays(
        country, subdiv=region or None, years=year, expand=False, language=_language(known)
    )
    return MappingProxyType({day: found[day] for day in sorted(found)})


def _language(known: type[HolidayBase]) -> str | None:
    """English where there is any, the country's own kind of it first."""
    own = known.default_language
    if own is None or own.startswith("en"):
        return own
    english = [one for one in known.supported_languages if one.startswith("en")]
    return "en_GB" if "en_GB" in english else (english or [own])[0]


@cache
def _holidays_of(country: str) -> type[HolidayBase]:
    import holidays

    if country not in _countries().values():
        raise BadInput(
            f"The public holidays of “{plain(country):.40}” are not known. Please type the country "
            "by its English name or its two letters.",
            field="country",
        )
    return type(holidays.country_holidays(country))


@cache
def _countries() -> Mapping[str, str]:
    """Every name and code of the registry, without spaces and marks."""
    from holidays.registry import COUNTRIES

    found: dict[str, str] = {}
    for module, names in COUNTRIES.items():
        for name in (module, *names):
            found[_bare(name)] = names[1]
    return MappingProxyType(found)


def _of_a_part(name: str) -> str | None:
    countries = {code for code in set(_countries().values()) if name in _part_names(code)}
    return countries.pop() if len(countries) == 1 else None


@cache
def _part_names(country: str) -> frozenset[str]:
    return frozenset(map(_bare, _aliases(_holidays_of(country))))


def _aliases(known: type[HolidayBase]) -> Mapping[str, str]:
    """Names of the parts of a country, by the library."""
    return getattr(known, "subdivisions_aliases", None) or {}


def _bare(text: str) -> str:
    """Letters and digits alone, without accents, case and a leading article."""
    apart = unicodedata.normalize("NFKD", plain(text)).casefold()
    words = [
        word
        for word in _NOT_NAMES.split(
            "".join(letter for letter in apart if not unicodedata.combining(letter))
        )
        if word
    ]
    return "".join(words[1:] if len(words) > 1 and words[0] == "the" else words)
