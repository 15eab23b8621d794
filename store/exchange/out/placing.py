"""A file or folder put in its place: whole or not at all, and never over another unasked."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from store.errors import BadInput, NotFound

MARKED = ".pondround-"
"""How a file or folder begins that is not whole yet."""


@contextmanager
def placed(path: Path, *, over: bool = False) -> Iterator[BinaryIO]:
    """A file to write into; when the block ends it stands in its place, else it is gone.

    Parameters
    ----------
    path
        Where it is to stand.
    over
        Replace a file that is there.

    Yields
    ------
    BinaryIO
        A file beside it.

    Raises
    ------
    BadInput
        There is something already.
    NotFound
        It cannot be written there.
    """
    _refuse(path, over=over)
    with _sentences(path):
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=MARKED)
        beside = Path(name)
        try:
            with os.fdopen(handle, "wb") as file:
                yield file
            _refuse(path, over=over)
            beside.replace(path)
        except BaseException:
            beside.unlink(missing_ok=True)
            raise


@contextmanager
def placed_folder(path: Path, *, over: bool = False, ours: str = "") -> Iterator[Path]:
    """A folder to fill; when the block ends it stands in its place, else it is gone.

    Parameters
    ----------
    path
        Where it is to stand; an empty folder there is taken.
    over
        Replace a folder that was written before.
    ours
        The file by which such a folder is known: no other folder is ever replaced.

    Yields
    ------
    Path
        A folder beside it.

    Raises
    ------
    BadInput
        There is something already.
    NotFound
        It cannot be written there.
    """
    _refuse_folder(path, over=over, ours=ours)
    with _sentences(path):
        beside = Path(tempfile.mkdtemp(dir=path.parent, prefix=MARKED))
        try:
            yield beside
            _refuse_folder(path, over=over, ours=ours)
            _put(beside, path)
        except BaseException:
            shutil.rmtree(beside, ignore_errors=True)
            raise


def _put(beside: Path, path: Path) -> None:
    if not path.is_dir():
        beside.rename(path)
        return
    # Aside first and away afterwards: at every moment one of the two stands there whole.
    old = Path(tempfile.mkdtemp(dir=path.parent, prefix=MARKED)) / "old"
    path.rename(old)
    try:
        beside.rename(path)
    except BaseException:
        old.rename(path)
        old.parent.rmdir()
        raise
    shutil.rmtree(old.parent, ignore_errors=True)


def _refuse(path: Path, *, over: bool) -> None:
    if path.is_dir():
        raise BadInput(f"{path} is a folder; please name a file in it.", field="file")
    if path.exists() and not over:
        raise BadInput(
            f"There is something at {path} already; it was left as it was. --over writes over it.",
            field="file",
            title="Already there",
        )


def _refuse_folder(path: Path, *, over: bool, ours: str) -> None:
    if path.is_symlink() or (path.exists() and not path.is_dir()):
        raise BadInput(
            f"There is a file or a link at {path}; it was left as it was. Name a new folder.",
            field="file",
        )
    with _sentences(path):
        if not path.is_dir() or not any(path.iterdir()):
            return
        known = bool(ours) and (path / ours).is_file()
    if known and over:
        return
    way_out = "--over replaces it." if known else "Name a new folder."
    raise BadInput(
        f"There is something in {path} already; it was left as it was. {way_out}",
        field="file",
        title="Already there",
    )


@contextmanager
def _sentences(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise NotFound(
            f"{path} cannot be written: {error.strerror or error}. Nothing was left there."
        ) from error
