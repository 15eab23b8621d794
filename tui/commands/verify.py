"""`pondround verify`: whether what is estimated can be believed, by the book's own past."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from store.errors import NotFound
from tui.commands.where import NO_BOOK, is_missing, now, open_place, place_of

if TYPE_CHECKING:
    from store.rounds.solving.halt import Halt
    from store.warmth.kept.verify import Verified
    from store.warmth.replay import PondScore, Score
    from tui.commands.watched import Say

WIDTH = 80
STOPPING = "stopping after this step; what is done is kept"
_DIGITS = 4


def add_verify(commands: Any, parents: list[argparse.ArgumentParser]) -> None:
    """Add the command to the others.

    Parameters
    ----------
    commands
        What `ArgumentParser.add_subparsers` returned.
    parents
        The options that every command has.
    """
    verify = commands.add_parser(
        "verify", parents=parents, help="print how far off estimates of temperature were",
        description="Replays the book's past as if each day were today, nothing later seen: how "
        "far off the estimates would have been by days ahead and by age of the last reading, "
        "against the last reading and the season alone, how often their interval held, the worst "
        "ponds. Ctrl-C ends it and prints what is done.",
    )  # fmt: skip
    verify.add_argument("what", choices=["temperature"], help="what is estimated")
    verify.add_argument("--json", action="store_true", help="one JSON object, for programs")
    verify.add_argument(
        "--not-scored", type=Path, metavar="FILE",
        help="a sheet (pond,first,last) of days known to be bad, not held against anybody",
    )  # fmt: skip


def run_verify(args: argparse.Namespace) -> int:
    """Print the replay, or that the record is too short for one."""
    from store.exchange.plain.spans_csv import read_spans
    from store.warmth.kept.verify import verify
    from tui.commands.watched import watched

    at, place = now(), place_of(args)
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    with open_place(place, at) as book:
        spans = () if args.not_scored is None else read_spans(args.not_scored, book)

        def search(halt: Halt, say: Say) -> Verified:
            return verify(book, at, lambda share: say(f"{share:.0%}"), lambda: halt.stopped, spans)

        found, _stopped = watched(search, "replaying", STOPPING)
    if args.json:
        print(json.dumps(as_json(found), indent=2, allow_nan=False))
    else:
        for line in as_text(found):
            print(line)
    return 0


def as_text(verified: Verified) -> Iterator[str]:
    """The replay in lines for a terminal or a pipe.

    Parameters
    ----------
    verified
        What was replayed.
    """
    from textwrap import wrap

    from tui.screens.guard.proof_said import proof_parts
    from tui.widgets.literal import one_line

    for said, _style in proof_parts(verified):
        line = one_line(said)
        yield from wrap(line, WIDTH) if len(line) > WIDTH else [line]


def as_json(verified: Verified) -> dict[str, Any]:
    """The replay for programs.

    Keys: `leads` (`lead` [d] and errors), `ages` (`age` [d] and errors), `ponds` (`pond`, `name`
    and errors over all of these, worst first), `says` (sentences), `first` and `last` (days that
    were estimated, or null), `every_days`, `nth`, `done` (share, 0 to 1). Errors: `n`, `rmse`,
    `rmse_last_reading`, `rmse_season` [°C], `coverage_80`; of leads and ages also `n_doubted`,
    `rmse_undoubted`, `rmse_last_reading_undoubted` and `says` (such as “no better than the
    season”). What cannot be told is null.

    Parameters
    ----------
    verified
        What was replayed.
    """
    done = verified.replayed
    first, last = (
        None if day is None else day.isoformat() for day in (verified.first, verified.last)
    )
    return {
        "leads": [] if done is None else [{"lead": one.days} | _score(one) for one in done.leads],
        "ages": [] if done is None else [{"age": one.days} | _score(one) for one in done.ages],
        "ponds": [] if done is None else [_pond(one, verified) for one in done.ponds],
        "says": list(verified.says),
        "first": first,
        "last": last,
        "every_days": verified.every_days,
        "nth": verified.nth,
        "done": round(verified.share, _DIGITS),
    }


def _score(one: Score) -> dict[str, Any]:
    from store.warmth.proof_words import judged

    return {
        "n": one.n,
        "rmse": _rounded(one.rmse),
        "rmse_last_reading": _rounded(one.rmse_last_reading),
        "rmse_season": _rounded(one.rmse_season),
        "coverage_80": _rounded(one.coverage_80),
        "n_doubted": one.n_doubted,
        "rmse_undoubted": _rounded(one.rmse_undoubted),
        "rmse_last_reading_undoubted": _rounded(one.rmse_last_reading_undoubted),
        "says": judged(one),
    }


def _pond(one: PondScore, verified: Verified) -> dict[str, Any]:
    return {
        "pond": str(one.pond),
        "name": verified.names.get(one.pond, ""),
        "n": one.n,
        "rmse": _rounded(one.rmse),
        "rmse_last_reading": _rounded(one.rmse_last_reading),
        "rmse_season": _rounded(one.rmse_season),
        "coverage_80": _rounded(one.coverage_80),
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, _DIGITS)
