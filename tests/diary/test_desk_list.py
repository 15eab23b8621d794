"""The desk: what is due over all clients, worst first, and what fits what was typed."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.opening import open_book
from store.courses.kept.morning import morning_list
from store.diary.desk.about import THINGS, About, about_of
from store.diary.desk.due import DeskList, DueLine
from store.diary.desk.weigh import desk_order
from store.diary.kept.calls.call_notes import NewCall, take_call
from store.diary.kept.due.desk import desk_list, due_of_client, sought
from store.diary.kept.promised.attempts import log_attempt
from store.diary.kept.promised.follow_ups import promise
from store.errors import BadInput
from tests.book.entries import NOW
from tests.diary.desk_entries import (
    BAD,
    DAY,
    GOOD,
    TODAY,
    Owned,
    own,
    said,
    sample,
    step,
    treat,
    visit,
)


@pytest.fixture
def owned(book: Book, act: Act) -> Owned:
    return own(book, act, phone2="07700 900123")


def lines(book: Book, **more: Any) -> tuple[DueLine, ...]:
    return desk_list(book, NOW, **more).lines


def by_hand(
    book: Book, act: Act, owned: Owned, on: date, kind: str = "ring", **values: Any
) -> UUID:
    given = {"client_id": owned.client, "pond_id": owned.pond, "says": "how the fish feed"}
    then = Act(act.by, NOW - max(TODAY - on, 0 * DAY))  # nothing is promised for a day behind
    with book.writing(then) as writing:
        return promise(writing, kind=kind, first_on=on, **(given | values))


def rung(book: Book, act: Act, owned: Owned, outcome: Any, hours_ago: float, **more: Any) -> UUID:
    at = Act(act.by, NOW - timedelta(hours=hours_ago))
    with book.writing(at) as writing:
        return log_attempt(writing, owned.client, outcome, **more)


def test_an_empty_book_has_nothing_due(book: Book) -> None:
    assert desk_list(book, NOW) == DeskList(NOW, TODAY, (), 0, 0, 0, 0)


def test_a_promise_by_hand_comes_with_its_numbers(book: Book, act: Act, owned: Owned) -> None:
    key = by_hand(book, act, owned, TODAY)
    (line,) = lines(book)
    assert line.promised.about == str(About("hand", key, day=TODAY))
    assert (line.client, line.site, line.pond, line.town) == (
        "Brook House", "Garden", "Lower pond", "Overwater",
    )  # fmt: skip
    assert (line.phone, line.phone2) == ("01632 960101", "07700 900123")
    assert (line.attempts, line.last_attempt, line.ring_on, line.booked) == (0, None, None, None)
    assert line.promised.promised_by == "Ada Vet"
    assert line.weighed == "a call that was promised: stake 3, within its window = 3"


def test_a_promise_to_the_client_alone_names_no_pond(book: Book, act: Act, owned: Owned) -> None:
    by_hand(book, act, owned, TODAY, pond_id=None)
    (line,) = lines(book)
    assert (line.client, line.site, line.pond, line.where) == ("Brook House", "", "", "Brook House")


def test_what_hangs_on_it_orders_what_is_late(book: Book, act: Act) -> None:
    dose, test, ring, control = (
        own(book, act, name) for name in ("Dose", "Test", "Ring", "Control")
    )
    with book.writing(act) as writing:
        writing.change("pond", test.pond, 1, test_every_days=7)
    sample(book, act, test.pond, NOW - 12 * DAY, GOOD)  # five days late, two beyond its window
    treat(book, act, dose.pond, step(1, "trichlorfon", [TODAY - 3 * DAY], "practice"))
    by_hand(book, act, ring, TODAY - 2 * DAY)
    by_hand(book, act, control, TODAY - 2 * DAY, "look_again", late_days=0, says="look again")
    found = lines(book)
    places = {one.client: place for place, one in reversed(list(enumerate(found)))}
    assert places["Dose"] < min(places["Ring"], places["Control"])
    assert max(places["Ring"], places["Control"]) < places["Test"]
    assert [one.weight for one in found] == sorted((one.weight for one in found), reverse=True)


def test_the_counts_add_up_to_the_lines(book: Book, act: Act, owned: Owned) -> None:
    for days in (-9, -1, 0, 3, 6):
        by_hand(book, act, owned, TODAY + days * DAY, says=f"after {days}")
    booked = by_hand(book, act, owned, TODAY, "visit", says="booked")
    about = str(About("hand", booked, day=TODAY))
    visit(book, act, owned, TODAY, about, pond=owned.pond)
    listed = desk_list(book, NOW)
    assert (listed.overdue, listed.today_due, listed.ahead, listed.booked) == (2, 1, 2, 1)
    assert len(listed.lines) == 6
    assert listed.lines[-1].promised.about == about  # behind even what is a week ahead


def test_how_far_ahead_it_is_looked(book: Book, act: Act, owned: Owned) -> None:
    by_hand(book, act, owned, TODAY + 8 * DAY, early_days=2)
    assert lines(book) == ()
    assert len(lines(book, ahead_days=8)) == 1
    # A window that is open today is shown, however far its day.
    by_hand(book, act, owned, TODAY + 20 * DAY, "seasonal", early_days=20, says="spring")
    assert said(lines(book, ahead_days=0)) == [("seasonal", "spring")]


@pytest.mark.parametrize("days", [-1, 367])
def test_days_that_cannot_be_are_refused(book: Book, days: int) -> None:
    with pytest.raises(BadInput) as told:
        desk_list(book, NOW, ahead_days=days)
    assert told.value.field == "ahead_days"


def test_attempts_stand_beside_every_line_of_the_client(book: Book, act: Act, owned: Owned) -> None:
    other = own(book, act, "Ferry Cottage")
    by_hand(book, act, owned, TODAY)
    by_hand(book, act, other, TODAY)
    rung(book, act, owned, "reached", 50)
    rung(book, act, owned, "no answer", 30)
    rung(book, act, owned, "left word", 3)
    found = {one.client: one for one in lines(book)}
    assert found["Brook House"].attempts == 2  # since the client was reached
    assert found["Brook House"].last_attempt is not None
    assert found["Brook House"].last_attempt.outcome == "left word"
    assert found["Ferry Cottage"].attempts == 0
    rung(book, act, owned, "reached", 1)
    assert {one.client: one.attempts for one in lines(book)}["Brook House"] == 0


def test_a_ring_back_comes_up_by_itself(book: Book, act: Act, owned: Owned) -> None:
    hour = time(16, 45)
    rung(book, act, owned, "ring back", 2, ring_on=TODAY, ring_at=hour, note="after school")
    by_hand(book, act, owned, TODAY)
    back, promised = sorted(lines(book), key=lambda one: one.promised.kind != "ring_back")
    assert back.promised.about == str(About("ring", owned.client))
    assert (back.promised.says, back.promised.needs) == ("ring back at 16:45", "call")
    assert "after school" in back.promised.because
    assert {(one.ring_on, one.ring_at) for one in (back, promised)} == {(TODAY, hour)}
    assert "its hour has come" not in back.weighed  # it is half past seven
    evening = NOW.replace(hour=16, minute=45)
    (first, *_) = desk_list(book, evening).lines
    assert first.promised.kind == "ring_back"
    assert "its hour has come" in first.weighed


def test_a_ring_back_follows_the_clock_of_the_practice(book: Book, act: Act, owned: Owned) -> None:
    # London is an hour ahead of UTC from 29 March on.
    day = date(2026, 3, 30)
    rung(book, act, owned, "ring back", 2, ring_on=day, ring_at=time(9))
    hour = datetime(2026, 3, 30, 8, tzinfo=UTC)
    for at, come in ((hour - timedelta(minutes=1), False), (hour, True)):
        (line,) = desk_list(book, at).lines
        assert ("its hour has come" in line.weighed) is come


def test_who_was_reached_since_is_not_rung_back(book: Book, act: Act, owned: Owned) -> None:
    rung(book, act, owned, "ring back", 5, ring_on=TODAY)
    assert [one.promised.kind for one in lines(book)] == ["ring_back"]
    rung(book, act, owned, "reached", 1)
    assert lines(book) == ()


def test_a_call_stands_on_the_desk_by_its_urgency(book: Book, act: Act, owned: Owned) -> None:
    answers = {"caller": "Ina Marsh", "gasping": "yes"}
    with book.writing(act) as writing:
        key = take_call(writing, NewCall(answers, client_id=owned.client))
    (line,) = lines(book)
    assert (about_of(line.promised.about).key, line.promised.kind) == (key, "call_same_day")


def test_nothing_of_a_client_that_was_struck(book: Book, act: Act, owned: Owned) -> None:
    by_hand(book, act, owned, TODAY)
    by_hand(book, act, owned, TODAY, pond_id=None)
    rung(book, act, owned, "ring back", 1, ring_on=TODAY)
    sample(book, act, owned.pond, NOW - DAY, BAD)
    assert len(lines(book)) == 4
    with book.writing(act) as writing:
        writing.strike("client", owned.client, "moved away")
    assert lines(book) == ()
    assert due_of_client(book, owned.client, NOW) == ()


def test_what_was_written_meanwhile_is_seen(book: Book, act: Act, owned: Owned) -> None:
    assert lines(book) == ()
    by_hand(book, act, owned, TODAY)
    assert len(lines(book)) == 1
    with book.writing(act) as writing:
        writing.change("client", owned.client, 1, phone="01632 960199")
    assert lines(book)[0].phone == "01632 960199"


class TestSought:
    """Finding the lines of a client while the client waits."""

    @pytest.fixture
    def listed(self, book: Book, act: Act) -> DeskList:
        brook = own(book, act, "Brook House", "Lower pond", phone2="07700 900123")
        ferry = own(book, act, "Ferry Cottage", "Brookside pool", phone="01632 960777")
        by_hand(book, act, brook, TODAY)
        by_hand(book, act, brook, TODAY, pond_id=None, says="about the bill")
        by_hand(book, act, ferry, TODAY - 9 * DAY)
        own(book, act, "Kirk House")  # nothing is due there
        return desk_list(book, NOW)

    def test_by_part_of_what_one_knows(self, book: Book, listed: DeskList) -> None:
        for text, clients in (
            ("fer", ["Ferry Cottage"]),
            ("FERRY cot", ["Ferry Cottage"]),
            ("fery cotage", ["Ferry Cottage"]),
            ("0777", ["Ferry Cottage"]),
            ("960777", ["Ferry Cottage"]),
            ("900123", ["Brook House", "Brook House"]),
            ("lower", ["Brook House", "Brook House"]),  # also what is no pond's own
            ("mill lane", ["Ferry Cottage", "Brook House", "Brook House"]),
            ("overw", ["Ferry Cottage", "Brook House", "Brook House"]),
            ("kirk", []),
            ("nobody at all", []),
        ):
            assert [one.client for one in sought(book, listed, text)] == clients, text

    def test_nothing_typed_is_everything(self, book: Book, listed: DeskList) -> None:
        assert sought(book, listed, "  ") == listed.lines

    def test_who_is_called_so_stands_before_who_has_it_within_a_word(
        self, book: Book, act: Act, listed: DeskList
    ) -> None:
        assert sought(book, listed, "ook")[0].client == "Ferry Cottage"  # the latest of all
        late = own(book, act, "Ookley")
        by_hand(book, act, late, TODAY + 6 * DAY)
        found = sought(book, desk_list(book, NOW), "ook")
        assert found[0].client == "Ookley"

    def test_the_lines_found_are_lines_of_the_desk(self, book: Book, listed: DeskList) -> None:
        for text in ("br", "0", "house", "over"):
            assert set(map(id, sought(book, listed, text))) <= set(map(id, listed.lines))


@pytest.fixture(scope="module")
def demo(demo_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    path = shutil.copyfile(demo_file, tmp_path_factory.mktemp("desk") / "demo.pondround")
    with open_book(path, now=NOW) as book:
        yield book


class TestDemo:
    """The demo practice, in which every source has something to say."""

    def test_every_line_has_a_name_of_its_own(self, demo: Book) -> None:
        found = desk_list(demo, NOW, ahead_days=60).lines
        names = [one.promised.about for one in found]
        assert len(names) == len(set(names))
        assert {about_of(name).thing for name in names} >= {
            "dose", "control", "concern", "finding", "test", "hand", "ring", "sample",
        }  # fmt: skip
        assert {about_of(name).thing for name in names} <= set(THINGS)

    def test_the_order_is_that_of_the_weights(self, demo: Book) -> None:
        found = desk_list(demo, NOW).lines
        assert list(found) == sorted(found, key=desk_order)
        for one in found:
            assert one.promised.first_on <= one.promised.due_on <= one.promised.last_on
            assert one.late_days == (TODAY - one.promised.last_on).days
            assert one.weighed
            assert one.promised.says
            assert one.promised.because.endswith(".")

    def test_each_client_alone_is_promised_the_same(self, demo: Book) -> None:
        whole = desk_list(demo, NOW, ahead_days=60, morning=morning_list(demo, NOW)).lines
        clients = {one.promised.client_id for one in whole}
        assert len(clients) > 10
        for client in clients:
            own_lines = [one for one in whole if one.promised.client_id == client]
            alone = due_of_client(demo, client, NOW)
            assert [one.promised.about for one in alone] == [
                one.promised.about for one in own_lines
            ]
            assert [one.weight for one in alone] == [one.weight for one in own_lines]

    def test_the_next_day_nothing_weighs_less(self, demo: Book) -> None:
        today = {one.promised.about: one for one in desk_list(demo, NOW, ahead_days=60).lines}
        later = NOW + timedelta(days=1)
        for one in desk_list(demo, later, ahead_days=60).lines:
            before = today.get(one.promised.about)
            if before is not None and before.promised.due_on == one.promised.due_on:
                assert one.weight >= before.weight, one.promised
