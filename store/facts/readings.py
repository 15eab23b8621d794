"""What a reading means to an owner, in plain words and without a number."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from store.facts.entry import Entry, Finding, Standing, file_tables, read_each, refuse
from store.facts.sources import source_standings

FILE = "readings.toml"


@dataclass(frozen=True, slots=True)
class ReadingWords:
    """What a reading is called and means.

    `low` and `high` say what it means beyond the range, `do_low` and `do_high` what an owner can do
    about it alone; empty where that side has no meaning of its own, or nothing is to be done.
    `never` is what an owner must not do about it.
    """

    code: str
    name: str
    says: str
    low: str
    high: str
    do_low: str
    do_high: str
    never: str
    source: str
    standing: Standing


def _words(entry: Entry, standings: Mapping[str, Standing]) -> ReadingWords:
    source, standing = entry.backing(standings)
    found = ReadingWords(
        code=entry.name,
        name=entry.text("name"),
        says=entry.text("says"),
        low=entry.text("low", needed=False),
        high=entry.text("high", needed=False),
        do_low=entry.text("do_low", needed=False),
        do_high=entry.text("do_high", needed=False),
        never=entry.text("never", needed=False),
        source=source,
        standing=standing,
    )
    entry.finish()
    return found


def read_reading_words(
    raw: Mapping[str, Any], standings: Mapping[str, Standing]
) -> tuple[dict[str, ReadingWords], list[Finding]]:
    """Every good table of a file by the code of its reading, and what is wrong with the others.

    Parameters
    ----------
    raw
        The tables of the file, as TOML gives them.
    standings
        Standing of every source by its key; see `store.facts.sources.source_standings`.

    Returns
    -------
    tuple of dict and list
        Words by code, and the findings.
    """
    return read_each(FILE, raw, lambda entry: _words(entry, standings))


@cache
def reading_words() -> Mapping[str, ReadingWords]:
    """The words for every reading, by its code.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.
    """
    found, findings = read_reading_words(file_tables(FILE), source_standings())
    refuse(findings)
    return MappingProxyType(found)
