"""What the reading commands print: one line a pond, no colours; JSON for programs.

The JSON of `morning` has the keys `now`, `today`, `practice`, `ponds`, `act`, `watch`, `unknown`,
`calm`, `resting` and `lines`; a line has `pond` (key), `client`, `site`, `pond_name`, `town`,
`level`, `what`, `rule`, `concerns`, `since`, `last_test`, `age_days`, `next_visit`, `resting`.
Days are ISO dates, instants ISO with an offset, what is not known is null.
"""

from __future__ import annotations

import json
import sys
from datetime import datetime
from typing import TYPE_CHECKING, Any

from store.errors import NotFound
from tui.said import said_age, said_day
from tui.widgets.literal import fit, one_line

if TYPE_CHECKING:
    from store.book.book import Book
    from store.watch.concern import MorningLine


def print_no_morning(now: datetime, *, as_json: bool) -> None:
    """The list of no ponds, where there is no book yet."""
    if as_json:
        _json({"now": now.isoformat(), "today": None, "practice": "", "ponds": 0, "act": 0,
               "watch": 0, "unknown": 0, "calm": 0, "resting": 0, "lines": []})  # fmt: skip


def print_morning(book: Book, now: datetime, *, as_json: bool, everything: bool) -> None:
    """The morning list as text or JSON; calm ponds only when everything is wanted."""
    from store.watch.morning import morning_list

    listed = morning_list(book, now)
    lines = [line for line in listed.lines if everything or line.level != "calm"]
    if as_json:
        _json({
            "now": listed.now.isoformat(), "today": listed.today.isoformat(),
            "practice": listed.practice, "ponds": listed.total, "act": listed.act,
            "watch": listed.watch, "unknown": listed.unknown, "calm": listed.calm,
            "resting": listed.resting, "lines": [_line(line) for line in lines],
        })  # fmt: skip
        return
    hidden = "" if everything else " not shown"
    print(
        f"{one_line(listed.practice)}  {listed.today.isoformat()}  {listed.total} ponds: "
        f"{listed.act} act, {listed.watch} watch, {listed.unknown} unknown, "
        f"{listed.calm} calm{hidden}"
    )
    where = [one_line(line.where) for line in lines]
    width = min(40, max(map(len, where), default=0))
    for place, line in zip(where, lines, strict=True):
        since = said_day(line.since, listed.today) if line.since else "–"
        visit = said_day(line.next_visit, listed.today)
        print(
            f"{line.level:<8}{fit(place, width)}  {fit(one_line(line.what), 34)}  "
            f"since {since:<11}  test {said_age(line.age_days):>5}  visit {visit}"
        )


def _line(line: MorningLine) -> dict[str, Any]:
    return {
        "pond": str(line.pond), "client": line.client, "site": line.site,
        "pond_name": line.pond_name, "town": line.town, "level": line.level, "what": line.what,
        "rule": line.rule, "concerns": line.concerns,
        "since": line.since.isoformat() if line.since else None,
        "last_test": line.last_test.isoformat() if line.last_test else None,
        "age_days": line.age_days,
        "next_visit": line.next_visit.isoformat() if line.next_visit else None,
        "resting": line.resting,
    }  # fmt: skip


def _json(found: dict[str, Any]) -> None:
    print(json.dumps(found, ensure_ascii=True, allow_nan=False, indent=2))


def print_found(book: Book, text: str) -> None:
    """Clients and ponds that fit what was typed, best first."""
    from store.book.find import find

    found = find(book, text)
    for one in found:
        parts = (one.kind, one.client, one.pond, one.site, one.town, one.phone, one.reason)
        print("  ".join(one_line(part) for part in parts if part))
    if not found:
        print("Nothing fits.", file=sys.stderr)


def print_pond(book: Book, text: str, now: datetime) -> None:
    """The page of the pond that fits best: card, concerns explained, last tests.

    Raises
    ------
    NotFound
        No pond fits.
    """
    from store.book.find import find
    from store.water.understood import shown
    from store.water.water_tests import list_tests
    from tui.explained import paragraphs, read_explained

    ponds = [one for one in find(book, text, 50) if one.pond_id is not None]
    if not ponds or ponds[0].pond_id is None:
        raise NotFound(f"No pond fits {text!r:.60}. pondround find TEXT shows what is there.")
    key = ponds[0].pond_id
    explained, zone = read_explained(book, key, now), book.zone
    card = explained.card
    print(one_line(f"{card.client.name}, {card.site.name}, {card.pond.name}"))
    volume = card.pond.volume_l
    print("volume not known" if volume is None else f"volume {volume:,.0f} L")
    print()
    for said in paragraphs(explained):
        print(one_line(f"{said.level}  {said.text}" if said.level else said.text))
    for test in list_tests(book, key, 5):
        readings = "  ".join(shown(one) for one in test.readings.values())
        taken = test.taken_at.astimezone(zone)
        print(one_line(f"{taken:%Y-%m-%d %H:%M}  {readings}  {test.note}  {test.by}"))
    if len(ponds) > 1:
        print(f"{len(ponds) - 1} other ponds fit as well.", file=sys.stderr)


def print_trial(book: Book, code: str, now: datetime) -> None:
    """On how many days, at how many ponds, a rule would have spoken in the past year.

    Raises
    ------
    NotFound
        There is no such rule.
    """
    from store.watch.rulebook import rulebook
    from store.watch.trial import try_rule

    rule = next((one for one in rulebook(book).practice if one.code == code), None)
    if rule is None:
        raise NotFound(f"There is no rule {code!r:.60}.")
    trial = try_rule(book, now, rule)
    print(
        f"{code}: spoken on {trial.days_spoken} days, at {trial.ponds_spoken} of "
        f"{trial.ponds_looked_at} ponds, {trial.first_day} to {trial.last_day}"
    )
    for one in trial.first_examples:
        print(one_line(f"{one.day}  {one.level}  {one.where}  {one.what}"))
