"""Commands that print what the screens show: the list, what was found, a trial."""

from __future__ import annotations

import argparse
import json
import sys
from datetime import datetime
from typing import TYPE_CHECKING
from uuid import UUID

from store.errors import NotFound
from store.text import plain
from tui.commands.listed import as_json, as_text, empty_list
from tui.commands.where import DEMO, NO_BOOK, is_missing, now, open_place, place_of
from tui.said import DAYS
from tui.widgets.literal import one_line

if TYPE_CHECKING:
    from store.book.book import Book

WIDTH = 80


def run_morning(args: argparse.Namespace) -> int:
    """Print the morning list; where no book was named and none has been begun, an empty one."""
    at, place = now(), place_of(args)
    if is_missing(place):
        if args.book is not None:
            raise NotFound(NO_BOOK.format(place=place))
        print(plain(NO_BOOK.format(place=place)), file=sys.stderr)
        if args.json:
            print(json.dumps(empty_list(at), indent=2))
        return 0
    with open_place(place, at) as book:
        print_list(book, at, as_object=args.json, everything=args.all)
    return 0


def print_list(book: Book, at: datetime, *, as_object: bool, everything: bool) -> None:
    """Print the morning list of an open book."""
    from store.courses.kept.morning import morning_list
    from store.exchange.bag.marks import bag_of
    from tui.commands import warm
    from tui.commands.bag import bag_json
    from tui.screens.bag.said import bags_said

    warm.have_fit(book, at)
    listed = morning_list(book, at)
    if as_object:
        whole = as_json(listed, everything)
        if (bag := bag_of(book)) is not None:
            whole["bag"] = bag_json(bag)
        print(json.dumps(whole, indent=2, allow_nan=False))
        return
    if said := bags_said(book, at):
        print(plain(said))
    for line in as_text(listed, everything):
        print(line)


def run_find(args: argparse.Namespace) -> int:
    """Print the clients and ponds that a text may mean, best first; 1 when there is none."""
    from store.book.find import find

    at, place = now(), place_of(args)
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    with open_place(place, at) as book:
        found = find(book, " ".join(args.text))
    for one in found:
        place = ", ".join(part for part in (one.site, one.town) if part)
        print(
            f"{one.kind:<7} {one_line(', '.join(part for part in (one.client, one.pond) if part))}"
            f"  ({one_line(place)})  {one_line(one.phone)}  [{one_line(one.reason)}]"
        )
    if not found:
        print("Nothing like that is in the book.", file=sys.stderr)
    return 0 if found else 1


def one_pond(book: Book, text: str) -> UUID:
    """The one pond that a name, a code or a part of it means.

    Parameters
    ----------
    book
        The practice's book.
    text
        As it was typed.

    Raises
    ------
    NotFound
        None is like it, or several are.
    """
    from store.book.find import directory

    fitting = directory(book, text, limit=6)
    if len(fitting.places) == 1 or (fitting.places and fitting.fitting == 1):
        return fitting.places[0].pond_id
    if not fitting.places:
        raise NotFound(f"No pond like “{text}” is in the book.")
    exact = [
        place for place in fitting.places
        if text.casefold() in (place.pond.casefold(), place.code.casefold())
    ]  # fmt: skip
    if len(exact) == 1:
        return exact[0].pond_id
    names = "; ".join(f"{place.client}, {place.pond}" for place in fitting.places)
    raise NotFound(f"Several ponds fit: {names}. Please write more of the name.")


def run_try(args: argparse.Namespace) -> int:
    """Print on how many days and at how many ponds a rule would have spoken last year."""
    from store.watch.rulebook import rulebook
    from store.watch.trial import try_rule

    at, place = now(), place_of(args)
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    with open_place(place, at) as book:
        rules = {rule.code: rule for rule in rulebook(book).practice}
        if args.rule not in rules:
            raise NotFound(f"There is no rule “{args.rule}”. There are: {', '.join(rules)}.")
        trial = try_rule(book, at, rules[args.rule], days=args.days)
    print(f"{trial.rule.title}: {trial.first_day} to {trial.last_day}")
    print(
        f"spoken on {trial.days_spoken} days, at {trial.ponds_spoken} of "
        f"{trial.ponds_looked_at} ponds; begun {trial.times_begun} times"
    )
    days = ", ".join(f"{level} {count}" for level, count in trial.by_level.items() if count)
    print(f"pond-days by level: {days or 'none'}")
    return 0


def print_demo(place: str, at: datetime) -> int:
    """The demo's morning list, where no screen can be drawn, and the day of its round."""
    from store.exchange.demo.round import VISITS, round_day

    with open_place(place, at) as book:
        print_list(book, at, as_object=False, everything=False)
        day = round_day(book, at)
    print(
        f"\nA round of {VISITS} visits waits on {DAYS[day.weekday()]} {day}: "
        f"pondround round --date {day} --book {plain(place)}"
    )
    if place == DEMO:
        print("In a terminal, “pondround demo” opens the application.")
    return 0
