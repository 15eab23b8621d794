"""`pondround check`: whether all of a book is as it was written."""

from __future__ import annotations

import argparse
import json
import shutil
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from store.errors import NotFound
from tui.commands.where import NO_BOOK, is_missing, now, open_place, place_of, throw_away_folder
from tui.screens.guard.guard_said import LEVELS, said_looked_at, said_progress, said_result
from tui.widgets.literal import one_line

if TYPE_CHECKING:
    from store.guard.found import Report

_TICK_S = 0.1


def run_check(args: argparse.Namespace) -> int:
    """Check a book; of a backup a copy is looked at, so that it stays as it is."""
    from store.book.backup.marked import is_named, verified
    from store.guard.check import check

    at, place = now(), place_of(args)
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    if "://" not in place and is_named(Path(place)):
        verified(Path(place))
        copy = throw_away_folder() / "backup.pondround"
        shutil.copyfile(place, copy)
        place = str(copy)
    with open_place(place, at) as book, watched(said_progress) as told:
        report = check(book, at, told=told, quick=args.quick)
    if args.json:
        print(json.dumps(as_json(report), indent=2, allow_nan=False))
    else:
        for line in as_text(report):
            print(line)
    return 0 if report.clean else 1


@contextmanager
def watched(said: Any) -> Iterator[Callable[[Any], None]]:
    """How far it is, on standard error where that is a terminal; the line is taken away again.

    Parameters
    ----------
    said
        What stands in the line, given what is told.
    """
    shows, last = sys.stderr.isatty(), 0.0

    def told(progress: Any) -> None:
        nonlocal last
        if shows and time.monotonic() - last >= _TICK_S:
            last = time.monotonic()
            sys.stderr.write(f"\r\x1b[2K{said(progress)}")
            sys.stderr.flush()

    try:
        yield told
    finally:
        if shows:
            sys.stderr.write("\r\x1b[2K")
            sys.stderr.flush()


def as_text(report: Report) -> Iterator[str]:
    """A report in lines for a terminal or a pipe.

    Parameters
    ----------
    report
        From the check.
    """
    yield said_result(report)
    for one in report.findings:
        yield f"{LEVELS[one.level]}: {one_line(one.said)}"
        yield f"    {one.to_do}"
    yield f"Looked at: {said_looked_at(report)}."
    if report.chain and not report.chain.startswith("0 "):
        nth, _, hashed = report.chain.partition(" ")
        yield f"Newest link of the record: {nth} {hashed} (worth noting elsewhere)."


def as_json(report: Report) -> dict[str, Any]:
    """A report for programs.

    Parameters
    ----------
    report
        From the check.
    """
    return {
        "clean": report.clean,
        "findings": [
            {"level": one.level, "kind": one.kind, "said": one.said, "to_do": one.to_do}
            for one in report.findings
        ],
        "looked_at": dict(report.looked_at),
        "chain": report.chain,
    }
