"""What `check`, `backup` and `restore` take; the rest is loaded when one of them is asked for."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import Any


def add_check(subparsers: Any, parents: Sequence[argparse.ArgumentParser] = ()) -> None:
    """Add `check` to the command line.

    Parameters
    ----------
    subparsers
        What `ArgumentParser.add_subparsers` returned.
    parents
        Parsers whose options it takes as well.
    """
    check = subparsers.add_parser(
        "check", parents=parents, help="look whether the book is as it was written",
        description="Reads the file, its tables and the record of changes with its chain, every "
        "row beside the record, readings and logger days; says in words what it found. Nothing is "
        "changed. The exit code is 1 where there is a fault; remarks leave it at 0.",
    )  # fmt: skip
    check.add_argument("--quick", action="store_true", help="leave out rows and values")
    check.add_argument("--json", action="store_true", help="one JSON object, for programs")


def add_backup(subparsers: Any, parents: Sequence[argparse.ArgumentParser] = ()) -> None:
    """Add `backup` and `restore` to the command line.

    Parameters
    ----------
    subparsers
        What `ArgumentParser.add_subparsers` returned.
    parents
        Parsers whose options they take as well.
    """
    backup = subparsers.add_parser(
        "backup", parents=parents, help="make a verified backup of the book, or list them",
        description="Makes one file with the whole book, reads it anew and compares it with the "
        "book. Made by hand it is never deleted by Pondround. With “list” those there are.",
    )  # fmt: skip
    backup.add_argument("what", nargs="?", choices=["list"], help="list the backups there are")
    backup.add_argument(
        "--to", type=Path, metavar="PLACE", help="a folder, or a new file NAME.pondround"
    )
    backup.add_argument("--json", action="store_true", help="one JSON object, for programs")

    restore = subparsers.add_parser(
        "restore", parents=parents, help="make a new book out of a backup",
        description="Looks through a backup and makes a book of it in a new place. What is there "
        "already is never overwritten.",
    )  # fmt: skip
    restore.add_argument("file", type=Path, metavar="FILE", help="the backup; it stays as it is")
    restore.add_argument(
        "--to", required=True, metavar="NEW", help="a file, or the address of an empty database"
    )
    restore.add_argument("--json", action="store_true", help="one JSON object, for programs")
