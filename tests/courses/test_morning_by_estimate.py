"""The morning list speaks by estimate once what was read has been learnt from."""

from __future__ import annotations

import math
from datetime import timedelta
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.morning import morning_list, watch_pond
from store.warmth.kept.fits import make_fit
from store.water.understood import ReadingValue
from store.water.water_tests import NewTest, add_test
from tests.book.entries import NOW

FLUKES = "window_gill_flukes"


def warming(days: int, off_c: float = 0.0) -> NewTest:
    """A test so many days ago, in water that rises through 15 °C four days before `NOW`.

    Its year is a sine of 8 °C about 15.5 °C that rises fastest on 14 March: an eighth of a degree
    a day.
    """
    at = NOW - timedelta(days=days, hours=1)
    temp = round(15.5 - 8.0 * math.sin(2.0 * math.pi * days / 365.25) + off_c, 1)
    value = ReadingValue("temperature_c", temp, None, None, "=", f"{temp:g}", "°C", "")
    return NewTest(at, (value,), way="line")


def ponds_of(book: Book, act: Act) -> tuple[UUID, UUID]:
    """A pond read every other week, and one of the same site that nobody has read for four weeks."""
    with book.writing(act) as writing:
        client = writing.add("client", name="Brook House")
        site = writing.add("site", client_id=client, name="Garden")
        read, unread = (writing.add("pond", site_id=site, name=name) for name in ("upper", "lower"))
        for step in range(28):
            off_c = 0.4 * math.sin(step)  # a spell of weather that both ponds had
            add_test(writing, read, warming(14 * step, off_c))
            if step >= 2:
                add_test(writing, unread, warming(14 * step, off_c))
    return read, unread


def test_a_pond_that_nobody_has_read_comes_onto_the_list_by_estimate(
    sqlite_book: Book, act: Act
) -> None:
    book = sqlite_book
    read, unread = ponds_of(book, act)
    before = {line.pond: line for line in morning_list(book, NOW).lines}
    assert FLUKES not in {one.rule for one in watch_pond(book, unread, NOW).concerns}
    assert make_fit(book, NOW) is not None
    after = {line.pond: line for line in morning_list(book, NOW).lines}
    assert after[read] == before[read], "what was measured today speaks as before"
    assert after[unread].level == "watch"
    assert after[unread].concerns > before[unread].concerns
    page = watch_pond(book, unread, NOW)
    told = next(one for one in page.concerns if one.rule == FLUKES)
    assert (told.level, told.by_estimate) == ("watch", True)
    assert told.value is not None
    assert told.value >= 50.0
    assert any("Brook House, upper" in one for one in told.readings)
    assert any("28 days ago" in one for one in told.readings)
    assert "about 15." in told.arithmetic[1]
