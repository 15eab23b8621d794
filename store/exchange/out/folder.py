"""The shape of a folder that holds a whole book: names of its files, and its manifest."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from store.errors import BadInput
from store.exchange.out.table_csv import Written
from store.text import plain_json

MANIFEST = "manifest.json"
README = "README.md"
DICTIONARY = "dictionary.csv"
PARAMETERS = "parameters.csv"
BESIDE = (README, DICTIONARY, PARAMETERS)
WHAT = "a whole book of Pondround"
FORMAT = 1
"""Grows when the shape of the folder changes, not when the book gets a column."""
_MOST_BYTES = 1_000_000


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a folder says of itself: whose book, of which schema, and every file with its hash."""

    practice: str
    schema: int
    written_at: datetime
    written_by: str
    tables: Mapping[str, Written]
    beside: Mapping[str, Written]

    @property
    def rows(self) -> int:
        """Rows of all tables."""
        return sum(one.rows for one in self.tables.values())


def file_of(table: str) -> str:
    """Where a table stands in the folder.

    Parameters
    ----------
    table
        Its name.
    """
    return f"tables/{table}.csv"


def manifest_text(manifest: Manifest) -> str:
    """A manifest as JSON.

    Parameters
    ----------
    manifest
        What the folder holds.
    """
    said = json.dumps(
        {
            "what": WHAT,
            "format": FORMAT,
            "schema": manifest.schema,
            "practice": manifest.practice,
            "written_at": manifest.written_at.isoformat(),
            "written_by": manifest.written_by,
            "tables": {
                name: {"file": file_of(name), **asdict(one)}
                for name, one in sorted(manifest.tables.items())
            },
            "beside": {name: asdict(one) for name, one in sorted(manifest.beside.items())},
        },
        ensure_ascii=False,
        indent=2,
    )
    return plain_json(said)


def read_manifest(folder: Path) -> Manifest:
    """The manifest of a folder.

    Parameters
    ----------
    folder
        As `export_book` wrote it.

    Raises
    ------
    BadInput
        The folder is none of ours, or its manifest cannot be understood.
    """
    path = folder / MANIFEST
    try:
        if not path.is_file():  # a pipe would be waited for
            raise FileNotFoundError(path)
        with path.open("rb") as file:
            data = file.read(_MOST_BYTES + 1)
    except OSError as error:
        raise BadInput(
            f"{folder} is no folder that a whole book was written to: its {MANIFEST} cannot be "
            "read. Nothing was brought in.",
            field="file",
        ) from error
    try:
        said = json.loads(data) if len(data) <= _MOST_BYTES else None
        if not isinstance(said, dict) or said.get("what") != WHAT:
            raise ValueError(MANIFEST)
        if said["format"] != FORMAT:
            raise BadInput(
                f"The folder {folder} has the shape number {said['format']!r:.20}, this version "
                f"reads {FORMAT}. Nothing was brought in; install the version that wrote it.",
                title="Another shape",
            )
        return Manifest(
            str(said["practice"]),
            _count(said["schema"]),
            datetime.fromisoformat(said["written_at"]),
            str(said["written_by"]),
            {str(name): _written(one) for name, one in said["tables"].items()},
            {str(name): _written(one) for name, one in said["beside"].items()},
        )
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise BadInput(
            f"The {MANIFEST} of {folder} cannot be understood, so nothing in the folder is "
            "certain. Nothing was brought in; take the folder as it was written.",
            field="file",
        ) from error


def _written(said: Mapping[str, Any]) -> Written:
    return Written(_count(said["rows"]), _count(said["size"]), str(said["sha256"]))


def _count(value: Any) -> int:
    if type(value) is not int or value < 0:
        raise ValueError(value)
    return value
