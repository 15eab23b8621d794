"""The publications that the figures rest on, and how one is named on a line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from store.errors import NotFound
from store.facts.entry import OWN, STANDINGS, Finding, Standing, entries, file_tables, refuse

FILE = "sources.toml"


@dataclass(frozen=True, slots=True)
class Source:
    """One publication; `standing` says whether it was read or is named from memory.

    `year` is None for a page that carries none. The entry `common_practice` names nobody.
    """

    key: str
    author: str
    year: int | None
    title: str
    where: str
    standing: Standing


def read_sources(raw: Mapping[str, Any]) -> tuple[dict[str, Source], list[Finding]]:
    """Every good source of the tables of a file, and everything that is wrong with the others.

    Parameters
    ----------
    raw
        The tables of the file, as TOML gives them.

    Returns
    -------
    tuple of dict and list
        Sources by key, and the findings.
    """
    findings: list[Finding] = []
    found: dict[str, Source] = {}
    for entry in entries(FILE, raw, findings):
        before = len(findings)
        standing_word = entry.choice("standing", STANDINGS)
        nobody = standing_word == "common practice"
        author = entry.text("author", needed=not nobody)
        year = entry.number("year", low=1800, high=2100, needed=False)
        title = entry.text("title")
        where = entry.text("where", needed=not nobody)
        if nobody and (author or where or year):
            entry.fault("author", "common practice names nobody")
        entry.finish()
        if len(findings) == before:
            for standing in STANDINGS:
                if standing == standing_word:
                    found[entry.name] = Source(
                        entry.name, author, None if year is None else int(year), title, where,
                        standing,
                    )  # fmt: skip
    return found, findings


@cache
def sources() -> Mapping[str, Source]:
    """Every source by its key.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.
    """
    found, findings = read_sources(file_tables(FILE))
    refuse(findings)
    return MappingProxyType(found)


@cache
def source_standings() -> Mapping[str, Standing]:
    """The standing of every source by its key, for the check of other files."""
    return MappingProxyType({key: source.standing for key, source in sources().items()})


def cite(key: str) -> str:
    """A source on one line: who, when, what, where.

    Parameters
    ----------
    key
        Key of the source, as an entry carries it.

    Raises
    ------
    NotFound
        There is no source by that key.

    Examples
    --------
    >>> cite("goodwin_2009")
    'Goodwin, Sadler, Merry & Marecaux 2009, Herpesviral haematopoietic necrosis virus (CyHV-2) \
infection: case studies from commercial goldfish farms, J. Fish Dis. 32:271-278'
    >>> cite("common_practice")
    'common practice, without a published source'
    """
    source = sources().get(key)
    if source is None:
        raise NotFound(f"There is no source {key!r} among the facts. Nothing was changed.")
    if source.standing == "common practice":
        return source.title
    dated = source.author if source.year is None else f"{source.author} {source.year}"
    return f"{dated}, {source.title}, {source.where}"


def cite_with_standing(key: str, standing: Standing) -> str:
    """A source on one line, with a word on how far it was read.

    Parameters
    ----------
    key
        Key of the source; what is the practice's own comes with its source in words.
    standing
        Standing of the figure that rests on it.

    Examples
    --------
    >>> cite_with_standing("emerson_1975", "published")[:40]
    'Emerson, Russo, Lund & Thurston 1975, Aq'
    >>> cite_with_standing("noga_2010", "from memory")
    'from memory, believed to stand in: Noga 2010, Fish Disease: Diagnosis and Treatment, \
2nd edition, Wiley-Blackwell'
    """
    if standing == OWN:
        return key
    named = cite(key)
    return f"from memory, believed to stand in: {named}" if standing == "from memory" else named
