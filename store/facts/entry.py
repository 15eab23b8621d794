"""Reading one entry of a facts file: every fault is noted, none of them stops the rest.

A facts file is a TOML file of tables. Each table is read through an `Entry`, which checks every
field as it is asked for and adds a `Finding` for what is wrong. Nothing is raised until the whole
file has been read: `refuse` then raises one error that names all of it.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, Literal, TypeVar

from store.errors import FactsTrouble
from store.text import plain

_Read = TypeVar("_Read")

Standing = Literal["published", "common practice", "from memory", "the practice's own"]
"""How far a number can be trusted: read in the publication named; handed on without one; recalled,
with the publication in which it is believed to stand; or set by a vet of the practice, who says why
and whose words are the source."""

OWN: Standing = "the practice's own"
"""Stands in a practice's book alone: no facts file may use it."""

STANDINGS: tuple[Standing, ...] = ("published", "common practice", "from memory")
"""Those that a facts file may use."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is wrong with one entry of a facts file."""

    file: str
    entry: str
    field: str
    said: str

    def __str__(self) -> str:
        return f"{self.file}, {self.entry}, {self.field}: {self.said}"


class Entry:
    """One table of a facts file, read field by field.

    Parameters
    ----------
    file, name
        Where the table stands, for the findings.
    table
        The table itself; anything but a mapping is a finding, and reads as empty.
    findings
        The list that faults are added to; shared by all entries of a check.
    """

    def __init__(self, file: str, name: str, table: Any, findings: list[Finding]) -> None:
        self.file = file
        self.name = name
        self.findings = findings
        self._table: Mapping[str, Any] = table if isinstance(table, Mapping) else {}
        self._asked: set[str] = set()
        if not isinstance(table, Mapping):
            self.fault("entry", "is not a table of fields")

    def fault(self, field: str, said: str) -> None:
        """Note something wrong with a field."""
        self.findings.append(Finding(self.file, self.name, field, said))

    def has(self, field: str) -> bool:
        """True when the field is there."""
        return field in self._table

    def _value(self, field: str, *, needed: bool) -> Any:
        self._asked.add(field)
        if field not in self._table and needed:
            self.fault(field, "is missing")
        return self._table.get(field)

    def text(self, field: str, *, needed: bool = True) -> str:
        """The text of a field, one line, not empty; "" when it is absent or wrong."""
        value = self._value(field, needed=needed)
        if value is None:
            return ""
        if not isinstance(value, str) or not value.strip():
            self.fault(field, f"must be a text, and is {value!r}")
            return ""
        if plain(value) != value or value != value.strip():
            self.fault(field, "has control characters, or blanks at its ends")
        return value

    def texts(self, field: str, *, needed: bool = True) -> tuple[str, ...]:
        """The texts of a list; empty when it is absent or wrong."""
        value = self._value(field, needed=needed)
        if value is None:
            return ()
        if not isinstance(value, list) or not all(isinstance(one, str) and one for one in value):
            self.fault(field, "must be a list of texts")
            return ()
        if needed and not value:
            self.fault(field, "is an empty list")
        if len(set(value)) < len(value):
            self.fault(field, "says the same thing twice")
        return tuple(value)

    def number(
        self, field: str, *, low: float = -math.inf, high: float = math.inf, needed: bool = True
    ) -> float | None:
        """The number of a field, within `low` and `high`; None when it is absent or wrong."""
        value = self._value(field, needed=needed)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float):
            self.fault(field, f"must be a number, and is {value!r}")
            return None
        if not math.isfinite(value) or not low <= value <= high:
            self.fault(field, f"is {value:g}; it must lie between {low:g} and {high:g}")
            return None
        return float(value)

    def flag(self, field: str) -> bool:
        """The yes or no of a field that must be there."""
        value = self._value(field, needed=True)
        if value is not None and not isinstance(value, bool):
            self.fault(field, f"must be true or false, and is {value!r}")
        return value is True

    def choice(self, field: str, among: Collection[str], *, needed: bool = True) -> str:
        """The text of a field that must be one of a few; "" when it is absent or wrong."""
        value = self.text(field, needed=needed)
        if value and value not in among:
            self.fault(field, f"is {value!r}; it must be one of {', '.join(sorted(among))}")
            return ""
        return value

    def part(self, field: str, *, needed: bool = True) -> Entry | None:
        """A table inside this one, as an entry of its own; None when it is absent."""
        value = self._value(field, needed=needed)
        return None if value is None else Entry(self.file, f"{self.name}.{field}", value,
                                                self.findings)  # fmt: skip

    def parts(self, field: str) -> tuple[Entry, ...]:
        """The tables of a list inside this one, numbered from 1; empty when it is absent."""
        value = self._value(field, needed=False)
        if value is None:
            return ()
        if not isinstance(value, list):
            self.fault(field, "must be a list of tables")
            return ()
        return tuple(
            Entry(self.file, f"{self.name}.{field} {place}", one, self.findings)
            for place, one in enumerate(value, start=1)
        )

    def fields(self) -> tuple[str, ...]:
        """The names of the fields that are there, in the order of the file."""
        return tuple(self._table)

    def raw(self, field: str) -> Any:
        """A field as TOML gave it, for an entry whose fields are not known beforehand."""
        return self._value(field, needed=True)

    def backing(self, sources: Mapping[str, Standing]) -> tuple[str, Standing]:
        """The `source` and `standing` of an entry, after a check that they agree.

        An entry may stand weaker than its source, never stronger; `common practice` names nobody.
        """
        source = self.choice("source", sources.keys())
        standing = self.choice("standing", STANDINGS)
        if source and standing:
            kept = sources[source]
            if (standing == "common practice") != (kept == "common practice"):
                self.fault(
                    "standing",
                    f"is {standing!r}, but the source {source!r} is {kept!r}: common practice "
                    "names no publication, and a publication is not common practice",
                )
            elif standing == "published" and kept != "published":
                self.fault(
                    "standing", f"is 'published', but the source {source!r} is only {kept!r}"
                )
        for one in STANDINGS:
            if one == standing:
                return source, one
        return source, "from memory"

    def finish(self) -> None:
        """Note every field that nobody asked for: a mistyped name must not pass unseen."""
        for field in self._table:
            if field not in self._asked:
                self.fault(field, "is not a field of this kind of entry")


def entries(file: str, raw: Mapping[str, Any], findings: list[Finding]) -> tuple[Entry, ...]:
    """Every table of a file as an entry, in the order of the file.

    Parameters
    ----------
    file
        Name of the file, for the findings.
    raw
        Its tables, as TOML gives them.
    findings
        The list that faults are added to.
    """
    return tuple(Entry(file, name, table, findings) for name, table in raw.items())


@cache
def file_tables(file: str) -> Mapping[str, Any]:
    """The tables of a facts file of this package, as TOML gives them.

    Parameters
    ----------
    file
        Name of the file, such as `rules.toml`.

    Raises
    ------
    FactsTrouble
        The file is not TOML.
    """
    text = (resources.files("store.facts") / file).read_text(encoding="utf-8")
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise FactsTrouble(
            f"{file} cannot be read: {error}. No figure of it is used; the file must be put right."
        ) from error


def refuse(findings: Sequence[Finding]) -> None:
    """Raise one error that names every finding; do nothing when there is none.

    Parameters
    ----------
    findings
        What was noted while the file was read.

    Raises
    ------
    FactsTrouble
        There is at least one finding.
    """
    if findings:
        count = "One entry" if len(findings) == 1 else f"{len(findings)} entries"
        lines = "\n".join(f"- {finding}" for finding in findings)
        raise FactsTrouble(
            f"{count} of the facts must be put right before any of them is used:\n{lines}"
        )


def read_each(
    file: str, raw: Mapping[str, Any], read: Callable[[Entry], _Read]
) -> tuple[dict[str, _Read], list[Finding]]:
    """Every good table of a file, by its name, and what is wrong with the others.

    Parameters
    ----------
    file
        Name of the file, for the findings.
    raw
        Its tables, as TOML gives them.
    read
        Makes one of an entry, noting on it what is wrong.

    Returns
    -------
    tuple of dict and list
        What was read, in the order of the file, and the findings.
    """
    findings: list[Finding] = []
    found: dict[str, _Read] = {}
    for entry in entries(file, raw, findings):
        before = len(findings)
        one = read(entry)
        if len(findings) == before:
            found[entry.name] = one
    return found, findings
