"""Calls to clients: only added to, counted since the last that reached, ring-backs until answered."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import select

from store.book.act import Act
from store.book.book import Book
from store.book.tables import table
from store.diary.desk.about import About
from store.diary.desk.due import OUTCOMES, Outcome
from store.diary.kept.promised.attempts import (
    attempts_of,
    last_attempts,
    log_attempt,
    ring_backs,
    strike_attempt,
)
from store.errors import BadInput, NotFound
from tests.book.entries import add_pond, log_of, row_of

TUESDAY = date(2026, 3, 17)


def at(act: Act, moment: datetime) -> Act:
    return Act(act.by, moment)


def owner_of(book: Book, pond: Any) -> Any:
    return row_of(book, "site", row_of(book, "pond", pond).site_id).client_id


def rung(book: Book, act: Act, client: Any, outcome: Outcome, **values: Any) -> Any:
    with book.writing(act) as writing:
        return log_attempt(writing, client, outcome, **values)


class TestLogging:
    """A call is kept as it was, or refused at its field."""

    def test_newest_first_with_who_rang(self, book: Book, act: Act) -> None:
        pond = add_pond(book, act)
        client = owner_of(book, pond)
        about = str(About("test", pond))
        first = rung(book, act, client, "no answer", pond_id=pond, about=about)
        later = at(act, act.at + timedelta(minutes=5))
        last = rung(book, later, client, "left word", note="With the gardener.")
        found = attempts_of(book, client)
        assert [one.id for one in found] == [last, first]
        assert (found[1].about, found[1].pond_id, found[1].by) == (about, pond, "Ada Vet")
        assert (found[0].note, found[0].at) == ("With the gardener.", later.at)
        assert attempts_of(book, client, limit=1) == found[:1]
        assert [line.what for line in log_of(book, first)] == ["add"]

    @pytest.mark.parametrize(
        ("outcome", "values", "field"),
        [
            ("shouted", {}, "outcome"),
            ("ring back", {}, "ring_on"),
            ("ring back", {"ring_on": date(2026, 3, 13)}, "ring_on"),
            ("ring back", {"ring_on": date(2026, 3, 14), "ring_at": time(7, 29)}, "ring_at"),
            ("no answer", {"ring_at": time(9)}, "ring_on"),
            ("reached", {"ring_on": TUESDAY}, "outcome"),
        ],
    )
    def test_what_cannot_be_is_told_at_its_field(
        self, sqlite_book: Book, act: Act, outcome: Any, values: dict[str, Any], field: str
    ) -> None:
        client = owner_of(sqlite_book, add_pond(sqlite_book, act))
        with pytest.raises(BadInput) as refused:
            rung(sqlite_book, act, client, outcome, **values)
        assert refused.value.field == field
        assert attempts_of(sqlite_book, client) == ()

    def test_this_very_minute_can_be_agreed(self, sqlite_book: Book, act: Act) -> None:
        client = owner_of(sqlite_book, add_pond(sqlite_book, act))
        rung(sqlite_book, act, client, "ring back", ring_on=act.at.date(), ring_at=time(7, 30))
        assert ring_backs(sqlite_book, act.at.date())[0].ring_at == time(7, 30)

    def test_the_hour_that_the_change_of_the_clocks_leaves_out(
        self, sqlite_book: Book, act: Act
    ) -> None:
        """In Europe/London 29 March 2026 goes from 01:00 straight to 02:00."""
        client = owner_of(sqlite_book, add_pond(sqlite_book, act))
        day = date(2026, 3, 29)
        with pytest.raises(BadInput) as refused:
            rung(sqlite_book, act, client, "ring back", ring_on=day, ring_at=time(1, 30))
        assert refused.value.field == "ring_at"
        rung(sqlite_book, act, client, "ring back", ring_on=day, ring_at=time(2, 0))

    def test_behind_is_told_by_the_clock_on_the_wall(self, sqlite_book: Book, act: Act) -> None:
        """After the change 09:30 UTC is 10:30 in London: 10:00 lies behind, 11:00 does not."""
        client = owner_of(sqlite_book, add_pond(sqlite_book, act))
        summer = at(act, datetime(2026, 3, 29, 9, 30, tzinfo=UTC))
        day = date(2026, 3, 29)
        with pytest.raises(BadInput, match="10:00 today lies behind"):
            rung(sqlite_book, summer, client, "ring back", ring_on=day, ring_at=time(10))
        rung(sqlite_book, summer, client, "ring back", ring_on=day, ring_at=time(11))

    def test_the_day_is_the_practices(self, sqlite_book: Book, act: Act) -> None:
        """At 23:30 UTC in summer it is the next day in London."""
        client = owner_of(sqlite_book, add_pond(sqlite_book, act))
        night = at(act, datetime(2026, 6, 30, 23, 30, tzinfo=UTC))
        with pytest.raises(BadInput, match="30 Jun 2026 lies behind"):
            rung(sqlite_book, night, client, "ring back", ring_on=date(2026, 6, 30))
        rung(sqlite_book, night, client, "ring back", ring_on=date(2026, 7, 1))

    def test_whom_nobody_knows(self, sqlite_book: Book, act: Act) -> None:
        pond, other = add_pond(sqlite_book, act), add_pond(sqlite_book, act)
        client = owner_of(sqlite_book, pond)
        with pytest.raises(NotFound, match="client"):
            rung(sqlite_book, act, pond, "reached")
        with pytest.raises(NotFound, match="pond"):
            rung(sqlite_book, act, client, "reached", pond_id=client)
        with pytest.raises(BadInput, match="not of this client"):
            rung(sqlite_book, act, client, "reached", pond_id=other)
        with pytest.raises(BadInput, match="names nothing"):
            rung(sqlite_book, act, client, "reached", about="the pump")
        with sqlite_book.writing(act) as writing:
            writing.strike("client", client, "They moved away.")
        with pytest.raises(NotFound, match="struck through"):
            rung(sqlite_book, act, client, "reached")

    def test_a_slip_is_struck_through_and_stays(self, book: Book, act: Act) -> None:
        client = owner_of(book, add_pond(book, act))
        rung(book, act, client, "ring back", ring_on=TUESDAY)
        slip = rung(book, act, client, "reached")
        assert ring_backs(book, TUESDAY) == ()
        with book.writing(act) as writing:
            strike_attempt(writing, slip, "It was the neighbour.")
        assert len(ring_backs(book, TUESDAY)) == 1
        assert last_attempts(book)[client][0] == 1
        assert [one.outcome for one in attempts_of(book, client)] == ["ring back"]
        assert log_of(book, slip)[-1].why == "It was the neighbour."


class TestRingBacks:
    """A ring-back stays until somebody was reached afterwards, or a newer one replaces it."""

    def test_only_what_reached_answers_it(self, book: Book, act: Act) -> None:
        client = owner_of(book, add_pond(book, act))
        asked = rung(book, act, client, "ring back", ring_on=TUESDAY, ring_at=time(16))
        for outcome in ("no answer", "left word"):
            rung(book, act, client, outcome)  # type: ignore[arg-type]
        assert [one.id for one in ring_backs(book, TUESDAY)] == [asked]
        assert ring_backs(book, date(2026, 3, 16)) == ()
        assert [one.id for one in ring_backs(book, date(2026, 6, 1))] == [asked]
        rung(book, at(act, act.at + timedelta(days=3)), client, "reached")
        assert ring_backs(book, date(2026, 6, 1)) == ()

    def test_a_newer_one_replaces_it_even_when_it_lies_further_ahead(
        self, book: Book, act: Act
    ) -> None:
        client = owner_of(book, add_pond(book, act))
        rung(book, act, client, "ring back", ring_on=date(2026, 3, 16))
        newer = rung(book, act, client, "no answer", ring_on=date(2026, 3, 20))
        assert ring_backs(book, TUESDAY) == ()
        assert [one.id for one in ring_backs(book, date(2026, 3, 20))] == [newer]

    def test_a_client_reached_before_is_still_rung_back(self, book: Book, act: Act) -> None:
        client = owner_of(book, add_pond(book, act))
        rung(book, act, client, "reached")
        rung(book, act, client, "ring back", ring_on=TUESDAY)
        assert len(ring_backs(book, TUESDAY)) == 1

    def test_in_the_order_of_day_and_hour(self, book: Book, act: Act) -> None:
        clients = [owner_of(book, add_pond(book, act)) for _ in range(4)]
        times = (time(16), None, time(9), None)
        days = (TUESDAY, TUESDAY, TUESDAY, date(2026, 3, 16))
        for client, day, hour in zip(clients, days, times, strict=True):
            rung(book, act, client, "ring back", ring_on=day, ring_at=hour)
        order = [clients.index(one.client_id) for one in ring_backs(book, TUESDAY)]
        assert order == [3, 1, 2, 0]

    def test_nobody_rings_a_client_that_was_struck_through(self, book: Book, act: Act) -> None:
        client = owner_of(book, add_pond(book, act))
        rung(book, act, client, "ring back", ring_on=TUESDAY)
        with book.writing(act) as writing:
            writing.strike("client", client, "They moved away.")
        assert ring_backs(book, TUESDAY) == ()

    @settings(
        max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
    )
    @given(calls=st.lists(st.tuples(st.integers(0, 2), st.sampled_from(OUTCOMES),
                                    st.integers(0, 5), st.booleans()), max_size=12))  # fmt: skip
    def test_as_one_would_reckon_it_by_hand(
        self, sqlite_book: Book, act: Act, calls: list[tuple[int, Outcome, int, bool]]
    ) -> None:
        clients = [owner_of(sqlite_book, add_pond(sqlite_book, act)) for _ in range(3)]
        since: dict[Any, int] = {}
        last: dict[Any, Outcome] = {}
        rings: dict[Any, date] = {}
        for place, (who, outcome, days, again) in enumerate(calls):
            client = clients[who]
            day = TUESDAY + timedelta(days=days)
            rings_on = outcome == "ring back" or (again and outcome != "reached")
            # Two calls a minute: those of one minute are told apart by their keys.
            now = at(act, act.at + timedelta(minutes=place // 2))
            rung(sqlite_book, now, client, outcome, ring_on=day if rings_on else None)
            last[client] = outcome
            since[client] = 0 if outcome == "reached" else since.get(client, 0) + 1
            if outcome == "reached":
                rings.pop(client, None)
            elif rings_on:
                rings[client] = day
        found = {key: each for key, each in last_attempts(sqlite_book).items() if key in clients}
        assert {key: many for key, (many, _call) in found.items()} == since
        assert {key: call.outcome for key, (_many, call) in found.items()} == last
        until = TUESDAY + timedelta(days=3)
        assert {
            one.client_id: one.ring_on
            for one in ring_backs(sqlite_book, until)
            if one.client_id in clients
        } == {key: day for key, day in rings.items() if day <= until}


def test_the_last_call_of_every_client(book: Book, act: Act) -> None:
    clients = [owner_of(book, add_pond(book, act)) for _ in range(3)]
    for outcome in ("no answer", "reached", "no answer", "left word"):
        rung(book, act, clients[0], outcome)  # type: ignore[arg-type]
    rung(book, act, clients[1], "reached")
    found = last_attempts(book)
    assert found[clients[0]][0] == 2
    assert found[clients[0]][1].outcome == "left word"
    assert found[clients[1]][0] == 0
    assert clients[2] not in found
    with book.reading() as connection:
        calls = table("contact_attempt")
        assert len(connection.execute(select(calls.c.id)).all()) == 5
