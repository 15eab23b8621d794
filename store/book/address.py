"""Which book is meant, told before anything of the database is loaded."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

FILE_NAME = "practice.pondround"


def book_url(given: str | None, environ: Mapping[str, str], data_dir: Path) -> str:
    """Which book is meant: the one given, else `PONDROUND_BOOK`, else the file in `data_dir`.

    Parameters
    ----------
    given
        A path or database address, or None.
    environ
        The environment.
    data_dir
        The user's data folder.

    Returns
    -------
    str
        A path, or an address as SQLAlchemy writes it. It may hold a password: show `Book.name`.

    Examples
    --------
    >>> book_url(None, {"PONDROUND_BOOK": "ponds.pondround"}, Path("data"))
    'ponds.pondround'
    """
    return given or environ.get("PONDROUND_BOOK") or str(data_dir / FILE_NAME)
