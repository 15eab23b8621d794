"""`pondround findings`: what was found over all ponds, and whether the windows had spoken."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from store.errors import NotFound
from tui.commands.where import NO_BOOK, is_missing, now, open_place, place_of
from tui.said import MONTHS
from tui.widgets.literal import fit, one_line, wrapped

if TYPE_CHECKING:
    from store.exams.across import FoundThere, Met, Score
    from store.exams.findings_over_all import Edge, Findings, OfHazard

NONE = "Nothing was found and nobody looked in these days. Enter an examination on a pond's page."
_WIDTH = 96


def run_findings(args: argparse.Namespace) -> int:
    """Print what was found where, by month and temperature, and how the windows did."""
    at, place = now(), place_of(args)
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    with open_place(place, at) as book:
        from store.exams.findings_over_all import edges_of, findings_over_all

        found = findings_over_all(book, at, days=args.days, within_days=args.within)
        edges: tuple[Edge, ...] = ()
        if args.hazard:
            found = _only(found, args.hazard)
            (one,) = found.hazards
            if one.rule is not None:
                edges = edges_of(
                    book, at, one.hazard, days=args.days, within_days=args.within, step_c=args.step
                )
    if args.json:
        print(json.dumps(as_json(found, edges), indent=2, allow_nan=False))
    else:
        for line in as_text(found, edges):
            print(line)
    return 0


def _only(found: Findings, text: str) -> Findings:
    from dataclasses import replace

    wanted = text.strip().casefold()
    these = [one for one in found.hazards if wanted in (one.hazard, one.name.casefold())]
    if not these:
        there = ", ".join(one.hazard for one in found.hazards) or "none"
        raise NotFound(
            f"“{text[:40]}” was neither found nor looked for in these days. There are: {there}."
        )
    return replace(found, hazards=tuple(these))


def as_text(found: Findings, edges: Sequence[Edge] = ()) -> Iterator[str]:
    """A line a month table, then each hazard with what its window had said.

    Parameters
    ----------
    found
        From `store.exams.findings_over_all.findings_over_all`.
    edges
        What the window of the one hazard would have done with other edges.
    """
    yield (
        f"{found.first} to {found.last}: {found.examinations} examinations at {found.ponds} ponds; "
        "found / looked for"
    )
    if not found.hazards:
        yield NONE
        return
    yield "  ".join((fit("hazard", 22), *(fit(month, 5) for month in MONTHS))).rstrip()
    for one in found.hazards:
        yield "  ".join((fit(one.name, 22), *(fit(cell, 5) for cell in _months(one)))).rstrip()
    for one in found.hazards:
        yield ""
        yield from _hazard_text(one)
    for edge in edges:
        said = f"{_edge_name(edge)} {edge.value:g} °C instead of {edge.instead_of:g} °C"
        for line in wrapped(f"{said}: {edge.score.said}", _WIDTH - 2):
            yield f"  {line}"


def _months(one: OfHazard) -> list[str]:
    from store.exams.across import by_month

    return [
        f"{cell.found}/{cell.looked}" if cell.looked else "-"
        for cell in by_month(one.found, one.looked)
    ]


def _edge_name(edge: Edge) -> str:
    return "from" if edge.name == "low_c" else "up to"


def _hazard_text(one: OfHazard) -> Iterator[str]:
    from store.exams.across import temperatures_said

    bands = temperatures_said(one.found)
    times = "once" if len(one.found) == 1 else f"{len(one.found)} times"
    at = f" at {one.ponds} {'pond' if one.ponds == 1 else 'ponds'}: {bands}" if one.found else ""
    yield f"{one.name}: found {times}{at}" if one.found else f"{one.name}: looked for, not found"
    if one.score is None:
        yield "  No window rule speaks of it."
    else:
        for text in (one.score.said, *one.score.remarks):
            for line in wrapped(text, _WIDTH - 2):
                yield f"  {line}"
    met = {} if one.score is None else {id(there): how for there, how in one.score.met}
    for there in one.found:
        water = "not measured" if there.temperature_c is None else f"{there.temperature_c:.1f} °C"
        yield (
            f"  {there.on_day}  {fit(one_line(there.where), 34)}  {fit(water, 12)}  "
            f"{met.get(id(there), '')}"
        ).rstrip()


def as_json(found: Findings, edges: Sequence[Edge] = ()) -> dict[str, Any]:
    """Everything as one object.

    Keys `first`, `last` (ISO 8601), `within_days`, `examinations`, `ponds`, `edges` and `hazards`:
    each with `hazard`, `name`, `found` and `looked` (how many), `ponds`, `months` (twelve, each
    `found` and `looked`), `temperatures` (each `band`, `found`), `rule` (its code) and `score`,
    null where no window speaks, and `findings`: each with `pond` (key), `where`, `on`,
    `examination` (key or null), `temperature_c`, `measured_days` (days away, or null), `says` and
    `window` (`hit`, `noted`, `miss`, `not measured`, `again`, `not looked back`, or empty).
    A `score` has `hits`, `noted`, `misses`, `not_measured`, `again`, `caught` and `right` (each
    `part`, `of`, `low`, `high` [-]), `raised`, `right_calls`, `false_calls`, `nobody_looked`,
    `said`, `remarks`, `source`. Each of `edges` has `number`, `value`, `instead_of` [°C], `score`.

    Parameters
    ----------
    found
        From `store.exams.findings_over_all.findings_over_all`.
    edges
        What the window of the one hazard would have done with other edges.
    """
    return {
        "first": found.first.isoformat(),
        "last": found.last.isoformat(),
        "within_days": found.within_days,
        "examinations": found.examinations,
        "ponds": found.ponds,
        "hazards": [_hazard(one) for one in found.hazards],
        "edges": [
            {
                "number": edge.name,
                "value": edge.value,
                "instead_of": edge.instead_of,
                "score": _score(edge.score),
            }
            for edge in edges
        ],
    }


def _hazard(one: OfHazard) -> dict[str, Any]:
    from store.exams.across import by_month, by_temperature

    met: dict[int, Met] = {}
    if one.score is not None:
        met = {id(there): how for there, how in one.score.met}
    return {
        "hazard": one.hazard,
        "name": one.name,
        "found": len(one.found),
        "looked": len(one.looked),
        "ponds": one.ponds,
        "months": [
            {"found": cell.found, "looked": cell.looked} for cell in by_month(one.found, one.looked)
        ],
        "temperatures": [
            {"band": band, "found": count} for band, count in by_temperature(one.found)
        ],
        "rule": None if one.rule is None else one.rule.code,
        "score": None if one.score is None else _score(one.score),
        "findings": [_found(there, met.get(id(there), "")) for there in one.found],
    }


def _found(there: FoundThere, met: str) -> dict[str, Any]:
    return {
        "pond": str(there.pond),
        "where": there.where,
        "on": there.on_day.isoformat(),
        "examination": None if there.exam is None else str(there.exam),
        "temperature_c": there.temperature_c,
        "measured_days": there.measured_days,
        "says": there.says,
        "window": met,
    }


def _score(score: Score) -> dict[str, Any]:
    return {
        "hits": score.findings("hit"),
        "noted": score.findings("noted"),
        "misses": score.findings("miss"),
        "not_measured": score.findings("not measured"),
        "again": score.findings("again"),
        **{
            name: {
                "part": rate.part,
                "of": rate.of,
                "low": None if rate.exact is None else rate.exact.low,
                "high": None if rate.exact is None else rate.exact.high,
            }
            for name, rate in (("caught", score.caught), ("right", score.right))
        },
        "raised": len(score.raised),
        "right_calls": score.windows("found"),
        "false_calls": score.windows("false call"),
        "nobody_looked": score.windows("nobody looked"),
        "said": score.said,
        "remarks": list(score.remarks),
        "source": score.source,
    }
