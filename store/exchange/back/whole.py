"""Whether the files of a folder are those that were written: none missing, strange or changed."""

from __future__ import annotations

import hashlib
from collections.abc import Collection
from pathlib import Path

from store.errors import BadInput
from store.exchange.out.folder import Manifest, file_of
from store.text import plain

_BLOCK_BYTES = 1 << 20
_SHOWN = 4


def refuse_changed(folder: Path, manifest: Manifest, names: Collection[str]) -> tuple[str, ...]:
    """Refuse a folder that is not as it was written.

    Parameters
    ----------
    folder
        As `store.exchange.out.book_folder.export_book` wrote it.
    manifest
        Its manifest.
    names
        The tables that a book of its number has.

    Returns
    -------
    tuple of str
        What is to be remarked of files that are not needed.

    Raises
    ------
    BadInput
        Naming the tables or files that are missing, strange or changed.
    """
    missing = [name for name in names if name not in manifest.tables]
    strange = [plain(name)[:60] for name in manifest.tables if name not in names]
    if missing or strange:
        raise BadInput(
            f"The manifest of {folder} names {_few(strange) or 'no strange table'} and leaves out "
            f"{_few(missing) or 'none'}, so it is not as it was written. Nothing was brought in.",
            field="file",
        )
    changed = [
        file_of(name)
        for name, one in manifest.tables.items()
        if not _is_as_written(folder / file_of(name), one.size, one.sha256)
    ]
    known = {file_of(name) for name in names}
    changed += sorted(
        f"tables/{one.name}"
        for one in (folder / "tables").glob("*.csv")
        if f"tables/{one.name}" not in known
    )
    if changed:
        raise BadInput(
            f"{_few(changed)} {'is' if len(changed) == 1 else 'are'} not as the manifest says: "
            "changed, missing or added after the book was written. Nothing was brought in; take "
            "the folder as it was written.",
            field="file",
            title="Changed by hand",
        )
    return tuple(
        f"{plain(name):.60} is not as it was written; it is not needed and was passed over."
        for name, one in manifest.beside.items()
        if not _is_as_written(folder / Path(name).name, one.size, one.sha256)
    )


def _is_as_written(path: Path, size: int, sha256: str) -> bool:
    found = hashlib.sha256()
    try:
        if not path.is_file() or path.stat().st_size != size:  # a pipe would be waited for
            return False
        with path.open("rb") as file:
            while block := file.read(_BLOCK_BYTES):
                found.update(block)
    except (OSError, ValueError):  # a name that no file can have
        return False
    return found.hexdigest() == sha256


def _few(names: list[str]) -> str:
    more = f" and {len(names) - _SHOWN} more" if len(names) > _SHOWN else ""
    return ", ".join(names[:_SHOWN]) + more
