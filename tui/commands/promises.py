"""`pondround promises`: how many promises were kept on time, by kind and month."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from store.errors import NotFound
from tui.commands.where import NO_BOOK, is_missing, now, open_place, place_of
from tui.said import MONTHS
from tui.widgets.literal import fit, one_line, wrapped

if TYPE_CHECKING:
    from store.diary.desk.kept_on_time import Month, PromisesKept, Tally

NONE = "Nothing was promised in these months."
WIDTH = 80


def run_promises(args: argparse.Namespace) -> int:
    """Print how many promises were kept on time."""
    at, place = now(), place_of(args)
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    with open_place(place, at) as book:
        from store.diary.kept.score.promises_kept import promises_kept

        found = promises_kept(book, at, getattr(args, "months", 12))
    if args.json:
        print(json.dumps(as_json(found), indent=2, allow_nan=False))
    else:
        for line in as_text(found):
            print(line)
    return 0


def as_text(found: PromisesKept) -> Iterator[str]:
    """The numbers in lines for a terminal or a pipe.

    Parameters
    ----------
    found
        From `store.diary.kept.score.promises_kept.promises_kept`.
    """
    from store.diary.desk.kept_on_time import ABOUT_INTERVAL, DEFINITION, SOURCE

    first, last = found.months[0], found.months[-1]
    yield f"Promises from {_month(first)} to {_month(last)}. {found.whole.said}"
    if not found.kinds:
        yield NONE
        return
    yield ""
    yield "  ".join(
        (fit("kind", 26), fit("on time", 14, "right"), fit("share", 7, "right"),
         fit("interval", 15), "beside")
    )  # fmt: skip
    for one in found.kinds:
        yield _line(one_line(one.label), one.whole)
    yield ""
    yield "By month, all kinds:"
    for month, tally in zip(found.months, found.by_month, strict=True):
        yield _line(_month(month), tally)
    yield ""
    for one in found.kinds:
        yield f"{one.label}: on time is {one.window_said}."
    yield ""
    for text in (DEFINITION, *found.told, f"{ABOUT_INTERVAL} {SOURCE}."):
        yield from wrapped(text, WIDTH)


def as_json(found: PromisesKept) -> dict[str, Any]:
    """The numbers as one object.

    Keys `today`, `confidence`, `source`, `definition`, `counted` (sentences), `months` (`2026-03`),
    `whole` and `by_month` (all kinds together), and `kinds`: each with `kind`, `label`,
    `late_days` (null where windows differ), `late_by_days` (in the middle of those kept late),
    `whole` and `months`. Each set of numbers has `on_time`, `late`, `not_kept`, `called_off`,
    `open`, `counted`, `share`, `low` and `high` (null where nothing is counted) and `few`.

    Parameters
    ----------
    found
        From `store.diary.kept.score.promises_kept.promises_kept`.
    """
    from store.diary.desk.kept_on_time import CONFIDENCE, DEFINITION, SOURCE

    return {
        "today": found.today.isoformat(),
        "confidence": CONFIDENCE,
        "source": SOURCE,
        "definition": DEFINITION,
        "counted": list(found.told),
        "months": [str(month) for month in found.months],
        "whole": _tally(found.whole),
        "by_month": [_tally(one) for one in found.by_month],
        "kinds": [
            {
                "kind": one.kind,
                "label": one.label,
                "late_days": one.late_days,
                "late_by_days": one.late_by_days,
                "whole": _tally(one.whole),
                "months": [_tally(month) for month in one.months],
            }
            for one in found.kinds
        ],
    }


def _line(name: str, tally: Tally) -> str:
    few = ", few" if tally.few else ""
    return "  ".join(
        (
            fit(name, 26),
            fit(f"{tally.on_time} of {tally.counted}" if tally.counted else "none", 14, "right"),
            fit(tally.share_said, 7, "right"),
            fit(tally.interval_said, 15),
            f"{tally.beside}{few}".removeprefix(", "),
        )
    ).rstrip()  # fmt: skip


def _tally(tally: Tally) -> dict[str, Any]:
    limits = tally.interval
    return {
        "on_time": tally.on_time,
        "late": tally.late,
        "not_kept": tally.not_kept,
        "called_off": tally.called_off,
        "open": tally.open,
        "counted": tally.counted,
        "share": tally.share,
        "low": None if limits is None else limits.low,
        "high": None if limits is None else limits.high,
        "few": tally.few,
    }


def _month(month: Month) -> str:
    return f"{MONTHS[month.month - 1]} {month.year}"
