"""Two clients who are one: nothing that points to the emptied one is lost, and it can be undone."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest
from entries import NOW, log_of, row_of
from sqlalchemy import String, select

from store.book.act import Act
from store.book.book import Book
from store.book.clients import client, clients, sites
from store.book.columns import Base, Key
from store.book.merging.merge_clients import NAMING, POINTING, merge_clients, moved_from
from store.book.ponds import cards
from store.book.tables import table
from store.errors import BadInput, ChangedMeanwhile, NotAllowed, NotFound

DAY = date(2026, 3, 20)
WHY = "she rang from both numbers"


def _client(book: Book, act: Act, **values: Any) -> tuple[UUID, dict[str, UUID]]:
    """A client with a row in every table that points at one, by the table's name."""
    with book.writing(act) as writing:
        key = writing.add("client", **values)
        site = writing.add("site", client_id=key, name="Garden")
        pond = writing.add("pond", site_id=site, name="Lower pond")
        visit = writing.add("visit", site_id=site, on_day=DAY)
        ring = f"ring:{key.hex}"
        rows = {
            "site": site,
            "follow_up": writing.add(
                "follow_up", client_id=key, pond_id=pond, kind="ring", says="how the fish feed",
                promised_by=act.by, promised_on=DAY, first_on=DAY,
            ),
            "contact_attempt": writing.add(
                "contact_attempt", client_id=key, at=act.at, outcome="ring back", ring_on=DAY,
                about=ring,
            ),
            "call_note": writing.add(
                "call_note", client_id=key, called_at=act.at, caller="the son", urgency="routine"
            ),
            "visit_purpose": writing.add(
                "visit_purpose", visit_id=visit, about=ring, kind="ring_back", says="ring back",
                due_on=DAY, first_on=DAY, last_on=DAY,
            ),
        }  # fmt: skip
    return key, rows


def _pointing() -> set[tuple[str, str]]:
    return {
        (each.name, column.name)
        for each in Base.metadata.sorted_tables
        for column in each.columns
        for key in column.foreign_keys
        if key.target_fullname == "client.id"
    }


def test_every_column_that_points_at_a_client_is_moved() -> None:
    assert _pointing() == set(POINTING)


def _naming(book: Book, key: UUID) -> set[tuple[str, str]]:
    """Where the key of a client stands, by whatever column, outside the log and its own row."""
    found = set()
    with book.reading() as connection:
        for each in Base.metadata.sorted_tables:
            if each.name == "change":
                continue
            for row in connection.execute(select(each)).mappings():
                for name, value in row.items():
                    text = str(value)
                    if (key.hex in text or str(key) in text) and (each.name, name) != (
                        "client", "id",
                    ):  # fmt: skip
                        found.add((each.name, name))
    return found


def test_nothing_points_to_the_emptied_client_any_more(book: Book, act: Act) -> None:
    kept, first = _client(book, act, name="Mrs A. Alder", phone="01632 960 111")
    emptied, second = _client(book, act, name="Alder, Anne", phone="07700 900 222")
    with book.writing(act) as writing:
        writing.strike("follow_up", second["follow_up"], "asked twice")
    assert _naming(book, emptied) == {*POINTING, *NAMING}
    later = Act(act.by, NOW + timedelta(hours=1))
    merged = merge_clients(book, later, kept, emptied, WHY)
    assert _naming(book, emptied) == set()
    assert _naming(book, kept) == {*POINTING, *NAMING}
    assert merged.moved == {"site": 1, "follow_up": 1, "contact_attempt": 1, "call_note": 1}
    assert merged.told == (
        "Both were rung before: the last call to either counts now for the one.",
    )
    assert {one.id for one in sites(book, kept)} == {first["site"], second["site"]}
    assert len(cards(book)) == 2
    assert {card.client.id for card in cards(book)} == {kept}
    struck = row_of(book, "follow_up", second["follow_up"])
    assert (struck.client_id, struck.struck_why) == (kept, "asked twice")
    for name, column in POINTING:
        (line,) = [one for one in log_of(book, second[name]) if column in (one.before or {})]
        assert line.what == "change"
        assert (line.before[column], line.after[column]) == (str(emptied), str(kept))
        assert WHY in line.why
        assert log_of(book, second[name])[-1].rev == row_of(book, name, second[name]).rev
        assert row_of(book, name, second[name]).changed_at == later.at


def test_the_emptied_client_keeps_its_record_and_the_other_gets_what_it_lacked(
    book: Book, act: Act
) -> None:
    kept, _ = _client(book, act, name="Anne Alder", phone="01632 960 111", notes="Dog bites.")
    emptied, _ = _client(
        book, act, name="Alder, Anne", phone="01632 960111", phone2="07700 900 222",
        email="anne@alder.example", notes="Dog bites.\nGate code 4711",
    )  # fmt: skip
    merged = merge_clients(book, act, kept, emptied, WHY)
    one = client(book, kept)
    assert (one.name, one.phone, one.phone2) == ("Anne Alder", "01632 960 111", "07700 900 222")
    assert one.email == "anne@alder.example"
    assert one.notes == "Dog bites.\nAlso entered as Alder, Anne\nGate code 4711"
    assert set(merged.filled) == {"phone2", "email", "notes"}
    other = client(book, emptied)
    assert other.struck_why == f"the same client as Anne Alder: {WHY}"
    assert (other.name, other.phone2) == ("Alder, Anne", "07700 900 222")
    assert [each.id for each in clients(book)] == [kept]


def test_a_third_number_goes_into_the_notes(book: Book, act: Act) -> None:
    kept, _ = _client(book, act, name="Alder", phone="01632 960111", phone2="01632 960112")
    emptied, _ = _client(book, act, name="Alder", phone="01632 960113", email="a@alder.example")
    merge_clients(book, act, kept, emptied, WHY)
    assert client(book, kept).notes == "Also entered as Alder; telephone 01632 960113"
    assert client(book, kept).email == "a@alder.example"


def test_a_number_with_the_code_of_the_country_is_no_other_number(book: Book, act: Act) -> None:
    kept, _ = _client(book, act, name="Alder", phone="01632 960111")
    emptied, _ = _client(book, act, name="Alder", phone="+44 (0)1632 960111", phone2="960111")
    merge_clients(book, act, kept, emptied, WHY)
    assert (client(book, kept).phone, client(book, kept).phone2) == ("01632 960111", "960111")


def test_what_came_from_whom_is_read_out_of_the_log(book: Book, act: Act) -> None:
    kept, first = _client(book, act, name="Alder")
    emptied, second = _client(book, act, name="Alder again")
    assert moved_from(book, kept) == ()
    merge_clients(book, Act(act.by, NOW + timedelta(hours=1)), kept, emptied, WHY)
    moved = moved_from(book, kept)
    assert {(one.table_name, one.row_id) for one in moved} == {
        (name, second[name]) for name, _ in POINTING
    }
    assert {one.came_from for one in moved} == {emptied}
    # Told apart again: the client restored, its rows moved back; what was the other's stays.
    with book.writing(Act(act.by, NOW + timedelta(hours=2))) as writing:
        writing.restore("client", emptied, "two sisters")
        for one in moved:
            rev = row_of(book, one.table_name, one.row_id).rev
            writing.change(one.table_name, one.row_id, rev, "two sisters", client_id=emptied)
    assert [each.id for each in sites(book, emptied)] == [second["site"]]
    assert [each.id for each in sites(book, kept)] == [first["site"]]
    assert moved_from(book, kept) == ()


def test_two_clients_are_not_merged_without_grounds(book: Book, act: Act) -> None:
    kept, _ = _client(book, act, name="Alder")
    emptied, _ = _client(book, act, name="Alder again")
    stamp = book.stamp()
    with pytest.raises(BadInput, match="known to be one"):
        merge_clients(book, act, kept, emptied, "  ")
    with pytest.raises(BadInput, match="with itself"):
        merge_clients(book, act, kept, kept, WHY)
    with pytest.raises(NotFound):
        merge_clients(book, act, kept, uuid4(), WHY)
    with book.writing(act) as writing:
        writing.change("client", emptied, 1, notes="moved to Wick")
    with pytest.raises(ChangedMeanwhile, match="Ada Vet changed this client"):
        merge_clients(book, act, kept, emptied, WHY, kept_rev=1, emptied_rev=1)
    assert len(clients(book)) == 2
    merge_clients(book, act, kept, emptied, WHY, kept_rev=1, emptied_rev=2)
    with pytest.raises(NotAllowed, match="Alder again is struck through"):
        merge_clients(book, act, kept, emptied, WHY)
    assert book.stamp() != stamp


def test_notes_that_find_no_place_leave_both_as_they_were(book: Book, act: Act) -> None:
    kept, _ = _client(book, act, name="Alder", notes="a" * 19_990)
    emptied, rows = _client(book, act, name="Alder", notes="b" * 19_990)
    with pytest.raises(BadInput, match="longer than 20,000"):
        merge_clients(book, act, kept, emptied, WHY)
    assert row_of(book, "site", rows["site"]).client_id == emptied
    assert len(clients(book)) == 2


def test_the_only_texts_that_name_a_client_are_known() -> None:
    """A text column called `about` names promises by the keys of their rows."""
    about = {
        (each.name, column.name)
        for each in Base.metadata.sorted_tables
        for column in each.columns
        if column.name == "about" and isinstance(column.type, String)
    }
    assert about == set(NAMING)
    assert isinstance(table("site").c.client_id.type, Key)
