"""What the morning list says needs somebody, on the desk: never doubled, never left out."""

from __future__ import annotations

from dataclasses import replace

import pytest

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.morning import morning_list, watch_pond
from store.diary.desk.about import about_of
from store.diary.desk.due import Promised
from store.diary.kept.due.gather.concerns import SAID_KINDS, from_concerns
from store.diary.kept.due.gather.whereabouts import whereabouts
from store.exams.values import Found
from store.watch.concern import MorningList
from store.watch.kinds import KINDS
from store.watch.levels import Level
from store.watch.rests import put_to_rest
from tests.book.entries import NOW
from tests.diary.desk_entries import BAD, DAY, GOOD, TODAY, Owned, own, sample, step, treat
from tests.exams.looked_at import enter, exam, found_in, koi


@pytest.fixture
def owned(book: Book, act: Act) -> Owned:
    """Nitrite burns in the first pond; the second is well."""
    found = own(book, act, "Brook House", "Burning pond", "Quiet pond")
    sample(book, act, found.pond, NOW - DAY, BAD)
    sample(book, act, found.ponds[1], NOW - DAY, GOOD)
    return found


def alone(book: Book) -> list[Promised]:
    """Client by client."""
    return [
        one
        for client in whereabouts(book).clients
        for one in from_concerns(book, whereabouts(book, client), NOW, None)
    ]


def concerns(book: Book, morning: MorningList | None = None) -> list[Promised]:
    """Over all; each client alone says the same, before the desk was read and afterwards."""
    before = alone(book)
    found = list(from_concerns(book, whereabouts(book), NOW, morning))
    for others in (before, alone(book)):
        assert sorted(others, key=lambda one: one.about) == sorted(found, key=lambda one: one.about)
    return found


def test_the_kinds_that_other_lines_say_are_kinds_of_rule() -> None:
    assert set(KINDS) >= SAID_KINDS


def test_what_stands_at_act_is_a_line_of_today(book: Book, owned: Owned) -> None:
    (one,) = concerns(book)
    assert (one.kind, one.origin, one.needs) == ("concern", "alert rule", "call")
    assert (about_of(one.about).key, about_of(one.about).code) == (owned.pond, "nitrite")
    assert (one.due_on, one.first_on, one.last_on) == (TODAY, TODAY, TODAY + DAY)
    assert one.says.startswith("nitrite 3.00 mg/L")
    assert one.because.startswith("Act on the morning list since 13 Mar 2026")
    assert one.severity > 1.0


def test_the_morning_list_at_hand_says_the_same(book: Book, owned: Owned) -> None:
    assert concerns(book, morning_list(book, NOW)) == concerns(book)


def test_only_act_is_on_the_desk(book: Book, owned: Owned) -> None:
    milder: Level = "watch"
    listed = morning_list(book, NOW)
    lines = tuple(replace(one, level=milder) for one in listed.lines)
    found = from_concerns(book, whereabouts(book), NOW, replace(listed, lines=lines))
    assert list(found) == []


def test_what_is_at_rest_is_no_line(book: Book, act: Act, owned: Owned) -> None:
    for concern in watch_pond(book, owned.pond, NOW).concerns:
        put_to_rest(book, act, owned.pond, concern, TODAY + 5 * DAY, "salted")
    assert concerns(book) == []


def test_a_course_and_a_finding_are_not_said_twice(book: Book, act: Act, owned: Owned) -> None:
    quiet = owned.ponds[1]
    treat(book, act, quiet, step(1, "trichlorfon", [TODAY - 9 * DAY], "practice"))
    flukes = found_in("gill clip", Found("gill_flukes", counted=400, motile="yes"))
    enter(book, act, quiet, exam(koi(flukes, nth=1), koi(flukes, nth=2), at=NOW - DAY))
    line = next(one for one in morning_list(book, NOW).lines if one.pond == quiet)
    assert line.level == "act"  # the morning list does speak of them
    assert {one.pond_id for one in concerns(book)} == {owned.pond}


def test_a_concern_behind_a_late_dose_still_has_its_line(
    book: Book, act: Act, owned: Owned
) -> None:
    # So late that the dose outweighs the nitrite on the morning list.
    treat(book, act, owned.pond, step(1, "trichlorfon", [TODAY - 300 * DAY], "practice"))
    (line,) = (one for one in morning_list(book, NOW).lines if one.pond == owned.pond)
    assert line.rule in {"dose_due", "course_slipped"}
    (one,) = concerns(book)
    assert about_of(one.about).code == "nitrite"


def test_what_was_remembered_is_looked_at_anew_when_a_rule_would_see_it(
    book: Book, act: Act, owned: Owned
) -> None:
    where = whereabouts(book, owned.client)
    assert [one.pond_id for one in from_concerns(book, whereabouts(book), NOW, None)] == [
        owned.pond
    ]
    sample(book, act, owned.ponds[1], NOW, BAD)
    found = from_concerns(book, where, NOW, None)
    assert {one.pond_id for one in found} == set(owned.ponds)
    sample(book, act, owned.ponds[0], NOW, GOOD)
    list(from_concerns(book, whereabouts(book), NOW, None))
    # The next day the test of today is a day old, and the line is of that day.
    (one,) = from_concerns(book, where, NOW + DAY, None)
    assert (one.pond_id, one.due_on) == (owned.ponds[1], TODAY + DAY)
