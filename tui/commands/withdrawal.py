"""`pondround withdrawal`: until when the fish of a pond, or of which ponds, must not be eaten."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from store.errors import NotFound
from tui.commands.where import NO_BOOK, is_missing, now, open_place, place_of
from tui.widgets.literal import fit, one_line

if TYPE_CHECKING:
    from datetime import date
    from uuid import UUID

    from store.courses.kept.likely_free import LikelyFree
    from store.courses.kept.withdrawal_of import AgentWithdrawal, PondWithdrawal

NONE = "No treated pond of food fish waits, and every treated pond was asked about."
COLUMNS = (
    ("client and pond", 34), ("given", 20), ("last", 10), ("must reach", 16), ("so far", 14),
    ("free from", 11),
)  # fmt: skip


def run_withdrawal(args: argparse.Namespace) -> int:
    """Print one pond, or every pond whose fish must not be eaten now."""
    at, place = now(), place_of(args)
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    with open_place(place, at) as book:
        from store.courses.kept.likely_free import likely_free
        from store.courses.kept.withdrawal_of import withdrawal_of, withdrawals
        from tui.commands.asked import one_pond

        if args.text:
            found: tuple[PondWithdrawal, ...] = (
                withdrawal_of(book, one_pond(book, " ".join(args.text)), at),
            )
        else:
            found = withdrawals(book, at)
        likely = likely_free(book, found, at)
    if args.json:
        print(json.dumps(as_json(found, likely), indent=2, allow_nan=False))
    else:
        for line in as_text(found, likely):
            print(line)
    return 0


def as_text(
    found: Sequence[PondWithdrawal], likely: Mapping[UUID, LikelyFree] | None = None
) -> Iterator[str]:
    """The list in lines for a terminal or a pipe: each agent, then what holds for the pond.

    Parameters
    ----------
    found
        From `store.courses.kept.withdrawal_of`.
    likely
        From `store.courses.kept.likely_free`; None says nothing.
    """
    if not found:
        yield NONE
        return
    yield "  ".join(fit(title, width) for title, width in COLUMNS).rstrip()
    for pond in found:
        where = one_line(f"{pond.card.client.name}, {pond.card.pond.name}")
        for one in pond.agents:
            for cells in _cells(one):
                yield "  ".join(
                    fit(cell, width)
                    for cell, (_, width) in zip((where, *cells), COLUMNS, strict=True)
                ).rstrip()
        early = ""
        if pond.early is not None and pond.early != pond.late:
            early = f" In warmer water from {pond.early.isoformat()}."
        yield f"{where}: {one_line(pond.says)}{early}"
        about = (likely or {}).get(pond.card.pond.id)
        for said in ("" if about is None else about.says, pond.asks, *pond.remarks):
            if said:
                yield f"  {one_line(said)}"


def _cells(one: AgentWithdrawal) -> Iterator[tuple[str, str, str, str, str]]:
    name, last = one_line(one.given.name), one.given.last_day.isoformat()
    if not one.met:
        yield name, last, "", "", ""
    for got in one.met:
        need = got.need
        if need.amount is None:
            free = "never" if need.kind == "never" else "vet decides"
            yield name, last, need.kind, "", free
            continue
        unit = "degree-days" if need.kind == "degree-days" else "days"
        yield (
            name, last, f"{need.amount:g} {unit}",
            f"{got.summed:.1f}" if unit == "degree-days" else f"{got.summed:.0f}",
            _day(got.late) or "no day",
        )  # fmt: skip


def as_json(
    found: Sequence[PondWithdrawal], likely: Mapping[UUID, LikelyFree] | None = None
) -> dict[str, Any]:
    """The list as one object.

    Key `ponds`: each with `pond` (its key), `client`, `pond_name`, `use`, `declared` (`said`, `by`,
    `at`) or null, `state`, `says`, `asks`, `free_from` (the cautious day) and `free_from_if_warm`
    (ISO 8601 or null), `likely_free_by_estimate` (null, or `earliest`, `expected`, `latest`: first
    days, null where they lie beyond `looked_until`; four in five lie between the first and the
    last; `says` and `rests_on`; it frees no fish), `remarks`, `written` (withdrawals written down
    beside the courses: `from`, `until` or null, `note`), `without_end` (medicines beside the
    courses of which no end is written: `on`, `note`), and `agents`: each with `agent`, `course`,
    `doses`, `last_day`, `still_due`, `free_from`, `free_from_if_warm`, `over` and `must`: what must
    have passed, with `kind`, `amount`, `so_far` (degree-days or days, as `kind` says), `free_from`,
    `rule`, `arithmetic`, `source`, `standing` and `remarks`.

    Parameters
    ----------
    found
        From `store.courses.kept.withdrawal_of`.
    likely
        From `store.courses.kept.likely_free`; None says nothing.
    """
    known = likely or {}
    return {"ponds": [_pond(one, known.get(one.card.pond.id)) for one in found]}


def _pond(one: PondWithdrawal, likely: LikelyFree | None) -> dict[str, Any]:
    said = one.declared
    return {
        "pond": str(one.card.pond.id),
        "client": one.card.client.name,
        "pond_name": one.card.pond.name,
        "use": one.use,
        "declared": None
        if said is None
        else {"said": said.said, "by": said.by_name, "at": said.at.isoformat()},
        "state": one.state,
        "says": one.says,
        "asks": one.asks,
        "free_from": _day(one.late),
        "free_from_if_warm": _day(one.early),
        "likely_free_by_estimate": None
        if likely is None
        else {
            "earliest": _day(likely.free.earliest),
            "expected": _day(likely.free.expected),
            "latest": _day(likely.free.latest),
            "looked_until": _day(likely.free.until),
            "says": likely.says,
            "rests_on": list(likely.rests_on),
        },
        "remarks": list(one.remarks),
        "written": [
            {"from": each.on_day.isoformat(), "until": _day(each.until), "note": each.note}
            for each in one.written
        ],
        "without_end": [{"on": each.on_day.isoformat(), "note": each.note} for each in one.beside],
        "agents": [_agent(agent) for agent in one.agents],
    }


def _agent(one: AgentWithdrawal) -> dict[str, Any]:
    return {
        "agent": one.given.agent,
        "course": str(one.given.course_id),
        "doses": one.given.doses,
        "last_day": one.given.last_day.isoformat(),
        "still_due": one.given.still_due,
        "free_from": _day(one.late),
        "free_from_if_warm": _day(one.early),
        "over": one.over,
        "water": list(one.water.said) if one.met else [],
        "must": [
            {
                "kind": got.need.kind,
                "amount": got.need.amount,
                "so_far": got.summed if got.need.amount is not None else None,
                "free_from": _day(got.late),
                "rule": got.need.rule,
                "arithmetic": got.arithmetic,
                "source": got.need.source,
                "standing": got.need.standing,
                "remarks": list(got.need.remarks),
            }
            for got in one.met
        ],
    }


def _day(day: date | None) -> str | None:
    return None if day is None else day.isoformat()
