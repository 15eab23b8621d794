"""What is asked on the telephone, what makes a call urgent, what may be advised, what is carried.

The desk gives no dose and no diagnosis: what a caller may be told is the fixed list of `safe_list`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any, Literal, TypeVar, cast

from store.facts.entry import Entry, Finding, Standing, file_tables, read_each, refuse
from store.facts.signs import signs
from store.facts.sources import source_standings

FILE = "call_questions.toml"
Urgency = Literal["same day", "next day", "routine"]
URGENCIES: tuple[Urgency, ...] = ("same day", "next day", "routine")
"""From the most urgent; `routine` is what a call is until something raises it."""
Reads = Literal[
    "text", "count", "days", "volume", "length", "fish", "yes_no", "readings", "temperature", "use",
    "signs", "told",
]  # fmt: skip
READS: tuple[Reads, ...] = (
    "text", "count", "days", "volume", "length", "fish", "yes_no", "readings", "temperature", "use",
    "signs", "told",
)  # fmt: skip
WHEN: Mapping[str, str] = MappingProxyType(
    {
        "reportable": "it may be something that must be reported",
        "gasping": "fish gasp",
        "accident": "something got into the water",
        "sores": "sores or patches were told",
        "stopped": "pump, filter or air stood still",
        "dead": "fish died",
        "deaths": "more than one fish died",
        "new_fish": "new fish or visitors came",
        "put_in": "something was put into the water",
        "mains": "mains water may have come in",
        "volume": "the volume was not told, or without its unit",
        "no_bowl": "the owner cannot catch a fish",
        "no_water": "there may be no tap",
        "no_power": "there may be no socket",
        "food": "fish are for food or sale, or that was not asked",
    }
)
"""What can ask for something to be carried, and how it is said."""
_Read = TypeVar("_Read")


@dataclass(frozen=True, slots=True)
class Question:
    """One question of a call; `says` is what is read out, `van` what is missing while it is open.

    `letter` jumps to it. Its answer is kept as typed; `reads` tells how it is understood.
    """

    code: str
    letter: str
    label: str
    says: str
    hint: str
    reads: Reads
    van: str


@dataclass(frozen=True, slots=True)
class Raises:
    """One thing that makes a call urgent, and why.

    `signs` are codes of `store.facts.signs`, `words` parts of what a caller says. It needs
    `from_deaths` dead fish [count] and more than `above_percent_a_day` of the stock [% a day] where
    these are not 0.
    """

    code: str
    urgency: Urgency
    says: str
    signs: tuple[str, ...]
    words: tuple[str, ...]
    from_deaths: int
    above_percent_a_day: float
    source: str
    standing: Standing


@dataclass(frozen=True, slots=True)
class Sentence:
    """One sentence of the fixed list, or one thing to carry; `when` is empty for always.

    `short` is the sentence in a few words; what is carried has none.
    """

    code: str
    short: str
    says: str
    when: tuple[str, ...]
    source: str
    standing: Standing


def read_questions(raw: Mapping[str, Any]) -> tuple[dict[str, Question], list[Finding]]:
    """Every good question of a file, and what is wrong with the others.

    Parameters
    ----------
    raw
        The tables under `ask`, as TOML gives them.

    Returns
    -------
    tuple of dict and list
        Questions by code in the order in which they are asked, and the findings.
    """
    letters: dict[str, str] = {}

    def question(entry: Entry) -> Question:
        letter = entry.text("letter")
        if len(letter) != 1 or letter.casefold() != letter:
            entry.fault("letter", f"is {letter!r}; it must be one small letter")
        if letter in letters:
            entry.fault("letter", f"{letter!r} jumps to {letters[letter]} already")
        letters[letter] = entry.name
        found = Question(
            entry.name, letter, entry.text("label"), entry.text("says"),
            entry.text("hint", needed=False), cast("Reads", entry.choice("reads", READS)),
            entry.text("van", needed=False),
        )  # fmt: skip
        entry.finish()
        return found

    return read_each(FILE, raw, question)


def read_raises(
    raw: Mapping[str, Any], standings: Mapping[str, Standing]
) -> tuple[dict[str, Raises], list[Finding]]:
    """Everything good of a file that makes a call urgent, and what is wrong with the rest.

    Parameters
    ----------
    raw
        The tables under `raise`, as TOML gives them.
    standings
        The standing of every source.

    Returns
    -------
    tuple of dict and list
        By code, and the findings.
    """

    def raises(entry: Entry) -> Raises:
        urgency = entry.choice("urgency", URGENCIES[:-1])
        codes = entry.texts("signs", needed=False)
        for code in codes:
            if code not in signs():
                entry.fault("signs", f"{code!r} is no sign")
        words = entry.texts("words", needed=False)
        for word in words:
            if word.casefold() != word:
                entry.fault("words", f"{word!r} has capitals")
        deaths = entry.number("from_deaths", low=1, high=1000, needed=False)
        share = entry.number("above_percent_a_day", low=0.0, high=100.0, needed=False)
        says = entry.text("says")
        source, standing = entry.backing(standings)
        entry.finish()
        return Raises(
            entry.name, cast("Urgency", urgency), says, codes, words, int(deaths or 0),
            share or 0.0, source, standing,
        )  # fmt: skip

    return read_each(FILE, raw, raises)


def read_sentences(
    raw: Mapping[str, Any], standings: Mapping[str, Standing]
) -> tuple[dict[str, Sentence], list[Finding]]:
    """Every good sentence of the fixed list, or thing to carry, and what is wrong with the others.

    Parameters
    ----------
    raw
        The tables under `safe` or `carry`, as TOML gives them.
    standings
        The standing of every source.

    Returns
    -------
    tuple of dict and list
        By code, and the findings.
    """

    def sentence(entry: Entry) -> Sentence:
        when = entry.texts("when", needed=False)
        for one in when:
            if one not in WHEN:
                entry.fault("when", f"{one!r} asks for nothing")
        short, says = entry.text("short", needed=False), entry.text("says")
        source, standing = entry.backing(standings)
        entry.finish()
        return Sentence(entry.name, short, says, when, source, standing)

    return read_each(FILE, raw, sentence)


@cache
def questions() -> Mapping[str, Question]:
    """The questions of a call by code, in the order in which they are asked.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.
    """
    return _good(read_questions(_part("ask")))


@cache
def raising() -> Mapping[str, Raises]:
    """What makes a call urgent by code, the most urgent first.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.
    """
    return _good(_backed(read_raises, "raise"))


@cache
def safe_list() -> Mapping[str, Sentence]:
    """All that a caller is advised on the telephone, in its order; numbered from 1.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.
    """
    return _good(_backed(read_sentences, "safe"))


@cache
def to_carry() -> Mapping[str, Sentence]:
    """What the van can carry to a call, in the order in which it is packed.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.
    """
    return _good(_backed(read_sentences, "carry"))


def _part(name: str) -> Mapping[str, Any]:
    found: Mapping[str, Any] = file_tables(FILE)[name]
    return found


def _backed(
    read: Callable[
        [Mapping[str, Any], Mapping[str, Standing]], tuple[dict[str, _Read], list[Finding]]
    ],
    part: str,
) -> tuple[dict[str, _Read], list[Finding]]:
    return read(_part(part), source_standings())


def _good(read: tuple[dict[str, _Read], list[Finding]]) -> Mapping[str, _Read]:
    found, findings = read
    refuse(findings)
    return MappingProxyType(found)
