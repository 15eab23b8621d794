"""When a withdrawal is likely to be over by estimate; what it must never do is free a fish."""

from __future__ import annotations

import json
import math
from datetime import date, timedelta
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.leaving import leaving
from store.courses.kept.likely_free import likely_free
from store.courses.kept.withdrawal_of import withdrawal_of, withdrawals
from store.warmth.kept.fits import make_fit
from tests.courses.treated_ponds import LAST_DOSE, add_carp_pond, add_logger, at_noon, treat
from tui.commands.withdrawal import as_json, as_text

TODAY = LAST_DOSE + timedelta(days=20)


def water(day: date) -> float:
    """A season of 8 °C about 14 °C, warmest on 24 July, with spells of weather [°C]."""
    days = (day - date(2026, 7, 24)).days
    return round(14.0 + 8.0 * math.cos(2 * math.pi * days / 365.25) + math.sin(days / 4.0), 1)


def carp_pond(book: Book, act: Act, *, read_until: date) -> UUID:
    """A pond with a logger for a year, and one more dose than it was asked for of trichlorfon."""
    pond = add_carp_pond(book, act)
    first = read_until - timedelta(days=400)
    temps = [water(first + timedelta(days=n)) for n in range(1, 401)]
    add_logger(book, act, pond, temps, after=first)
    treat(book, act, pond, "trichlorfon", [LAST_DOSE])
    return pond


def test_the_likely_days_stand_beside_the_rule_and_move_nothing(
    sqlite_book: Book, act: Act
) -> None:
    book, now = sqlite_book, at_noon(TODAY)
    pond = carp_pond(book, act, read_until=TODAY - timedelta(days=5))
    before = withdrawal_of(book, pond, now)
    assert likely_free(book, (before,), now) == {}, "nothing is said where nothing was learnt"
    assert make_fit(book, now) is not None
    after = withdrawal_of(book, pond, now)
    assert after == before, "the rule does not look at estimates"
    likely = likely_free(book, withdrawals(book, now), now)[pond]
    early, expected, late = likely.free[:3]
    assert early is not None
    assert expected is not None
    assert late is not None
    assert TODAY < early <= expected <= late
    # The sum by hand over the water that the pond has: 500 degree-days by trichlorfon off label.
    day, total = LAST_DOSE, 0.0
    while total < 500.0:
        day += timedelta(days=1)
        total += water(day)
    assert early <= day + timedelta(days=1) <= late
    assert abs((expected - day).days - 1) <= 2
    assert f"{early.day} {early:%b}" in likely.says
    assert "by estimate" in likely.says.casefold()
    assert "frees no fish" in likely.says
    assert likely.rests_on[0].startswith("Expected on ")
    assert "Measured until 18 May 2026. Its season rests on" in likely.rests_on[0]
    assert "go together" in likely.rests_on[-1]

    assert after.late is not None
    assert early < after.late, "the estimate is earlier here than the cautious day of the rule"
    told = leaving(after, early)
    assert told is not None
    assert told.stops, "fish that leave on the likely day are stopped all the same"
    (said,) = json.loads(json.dumps(as_json((after,), {pond: likely})))["ponds"]
    assert said["free_from"] == after.late.isoformat()
    assert said["likely_free_by_estimate"]["expected"] == expected.isoformat()
    assert any(likely.says in line for line in as_text((after,), {pond: likely}))
    assert list(as_text((after,), {})) == list(as_text((before,)))


def test_where_the_rule_gives_no_day_the_estimate_gives_none_either_but_says_when(
    sqlite_book: Book, act: Act
) -> None:
    book, now = sqlite_book, at_noon(TODAY)
    pond = carp_pond(book, act, read_until=TODAY - timedelta(days=16))
    assert make_fit(book, now) is not None
    found = withdrawal_of(book, pond, now)
    assert (found.state, found.late) == ("no day", None), "no reading for more than two weeks"
    assert likely_free(book, (found,), now)[pond].free.expected is not None
    days = [LAST_DOSE, LAST_DOSE + timedelta(days=30)]
    treat(book, act, pond, "trichlorfon", days, given=1)
    more = withdrawal_of(book, pond, now)
    assert "begins the count again" in likely_free(book, (more,), now)[pond].rests_on[0]
    told = leaving(found, TODAY + timedelta(days=200))
    assert told is not None
    assert told.stops
    treat(book, act, pond, "malachite_green", [LAST_DOSE])
    never = withdrawal_of(book, pond, now)
    assert likely_free(book, (never,), now) == {}, "no sum frees them"
