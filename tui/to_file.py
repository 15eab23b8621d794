"""What is put into a file: whole or not at all, and over another only when that was said."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from store.errors import BadInput


def path_of(typed: str, name: str) -> Path:
    """The file that is meant: a folder, or nothing, takes the name that is proposed.

    Parameters
    ----------
    typed
        As a person typed it.
    name
        The name that is proposed.
    """
    path = Path(typed.strip()).expanduser()
    return path / name if not typed.strip() or path.is_dir() else path


def put(path: Path, data: bytes, *, over: bool = False) -> None:
    """Write it; a file that is there is replaced as a whole, and only when that was said.

    Parameters
    ----------
    path
        Where to.
    data
        What is written.
    over
        Whether a file that is there may be replaced.

    Raises
    ------
    FileExistsError
        There is a file of that name.
    BadInput
        It cannot be written.
    """
    try:
        if over:
            _replace(path, data)
        else:
            _new(path, data)
    except FileExistsError:
        raise
    except (OSError, ValueError) as trouble:
        said = getattr(trouble, "strerror", None) or str(trouble)
        raise BadInput(
            f"{path} cannot be written ({said}). Nothing was written.", field="file"
        ) from trouble


def put_said(path: Path, data: bytes, *, over: bool) -> None:
    """Write it for a command, whose option `--over` writes over a file.

    Parameters
    ----------
    path
        Where to.
    data
        What is written.
    over
        Whether a file that is there may be replaced.

    Raises
    ------
    BadInput
        There is a file of that name, or it cannot be written.
    """
    try:
        put(path, data, over=over)
    except FileExistsError as error:
        raise BadInput(
            f"There is something at {path} already; it was left as it was. --over writes over it.",
            field="file",
        ) from error


def _new(path: Path, data: bytes) -> None:
    with path.open("xb") as file:
        try:
            file.write(data)
            file.flush()
        except BaseException:
            path.unlink(missing_ok=True)
            raise


def _replace(path: Path, data: bytes) -> None:
    handle, beside = tempfile.mkstemp(dir=path.parent, prefix=".pondround-")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        Path(beside).replace(path)
    except BaseException:
        Path(beside).unlink(missing_ok=True)
        raise
