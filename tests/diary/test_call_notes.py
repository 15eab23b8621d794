"""Calls in the book, on both databases: taken, noted, open on the desk, closed."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.clients import client, clients, site, sites
from store.book.declared import declared
from store.book.ponds import pond
from store.book.told.history import history
from store.book.visits import close_visit, plan_visit
from store.book.volumes import estimates
from store.diary.desk.about import About
from store.diary.kept.calls.call_notes import (
    CallNote,
    NewCall,
    call_note,
    call_notes,
    calls_due,
    close_call,
    note_call,
    reopen_call,
    take_call,
    told_in,
)
from store.diary.kept.calls.callers import matches
from store.errors import BadInput, ChangedMeanwhile, NotAllowed, NotFound
from tests.book.entries import NOW, add_pond

TODAY = NOW.date()
DAY = timedelta(days=1)
SHEET = {
    "caller": "Ina Marsh", "phone": "01632 960 113", "address": "3 Weir End",
    "town": "Holm, HO1 2AB", "access": "green gate, dog, eleven steps", "ponds": "2",
    "volume": "4000 UK gal", "depth": "4 ft", "fish": "20 koi", "dead": "6", "dead_days": "2",
    "use": "never", "temperature": "66F", "gasping": "yes", "told": "1-3",
}  # fmt: skip


def take(book: Book, act: Act, answers: dict[str, str] | None = None, **whom: Any) -> CallNote:
    with book.writing(act) as writing:
        key = take_call(writing, NewCall(SHEET if answers is None else answers, **whom))
    return call_note(book, key)


def test_a_caller_who_is_new_becomes_client_site_and_pond(book: Book, act: Act) -> None:
    note = take(book, act)
    assert note.client_id is not None
    assert note.site_id is not None
    assert note.pond_id is not None
    who, where, what = (
        client(book, note.client_id), site(book, note.site_id), pond(book, note.pond_id),
    )  # fmt: skip
    assert (who.name, who.phone) == ("Ina Marsh", "01632 960 113")
    assert (where.address, where.town, where.postcode) == ("3 Weir End", "Holm", "HO1 2AB")
    assert where.access_notes == "green gate, dog, eleven steps"
    assert (what.species, what.use) == ("20 koi", "ornamental")
    assert what.depth_m == pytest.approx(1.219, abs=1e-3)  # 4 ft × 0.3048 m
    assert what.volume_l == pytest.approx(18_184.36)  # 4000 × 4.54609 L, the UK gallon
    assert what.volume_method == "stated"
    (volume,) = estimates(book, what.id)
    assert "told on the telephone as “4000 UK gal”" in volume.workings
    said = declared(book, what.id)
    assert said is not None
    assert "Ina Marsh" in said.said


def test_a_call_is_kept_as_it_was_typed_with_its_urgency_and_advice(book: Book, act: Act) -> None:
    note = take(book, act, SHEET | {"saw": "  two lie on the side  "})
    assert note.answers == SHEET | {"saw": "two lie on the side"}
    assert note.urgency == "same day"
    assert any("6 of 20 fish died in 2 days" in one for one in note.urgent_by)
    assert note.advised == [
        "Turn on all the air there is, day and night.",
        "Stop feeding until the vet has spoken.",
        "Put nothing more into the water.",
    ]
    assert (note.called_at, note.state, note.short) == (NOW, "open", False)
    assert note.said.startswith("call of Ina Marsh, same day: Fish gasp or crowd at the surface")
    one, found = told_in(note, UTC)
    assert (one.dead, one.stock, found.urgency) == (6, 20, "same day")
    (added,) = history(book, "call_note", note.id)
    assert added.what == "add"


def test_a_caller_without_a_pond_told_gets_none(book: Book, act: Act) -> None:
    note = take(book, act, {"caller": "Ina Marsh", "saw": "asks for prices"})
    assert note.client_id is not None
    assert (note.pond_id, note.urgency, note.urgent_by) == (None, "routine", [])
    assert note.site_id == sites(book, note.client_id)[0].id


def test_words_of_ones_own_among_the_advice_are_kept_as_typed(book: Book, act: Act) -> None:
    note = take(book, act, {"caller": "Ina Marsh", "told": "to wait"})
    assert note.advised == ["As typed: to wait"]


def test_a_call_of_a_client_is_linked_to_the_only_site_and_pond(book: Book, act: Act) -> None:
    key = add_pond(book, act)
    home = pond(book, key).site_id
    owner = site(book, home).client_id
    note = take(book, act, {"caller": "her son"}, client_id=owner)
    assert (note.client_id, note.site_id, note.pond_id) == (owner, home, key)
    with book.writing(act) as writing:
        writing.add("pond", site_id=home, name="Upper pond")
    assert take(book, act, {"caller": "her son"}, client_id=owner).pond_id is None
    assert take(book, act, {"caller": "her son"}, pond_id=key).client_id == owner
    with book.writing(act) as writing:
        writing.add("site", client_id=owner, name="Shop")
    assert take(book, act, {"caller": "her son"}, client_id=owner).site_id is None


def test_what_cannot_be_is_refused_and_leaves_nothing(book: Book, act: Act) -> None:
    mine, other = add_pond(book, act), add_pond(book, act)
    owner = site(book, pond(book, other).site_id).client_id
    for answers, whom, field in (
        ({"phone": "0163"}, {}, "caller"),
        ({"caller": " "}, {}, "caller"),
        ({"caller": "x", "dose": "1"}, {}, None),
        ({"caller": "x"}, {"called_at": NOW + DAY}, "called_at"),
        ({"caller": "x"}, {"client_id": owner, "pond_id": mine}, None),
        ({"caller": "x", "phone": "0" * 61}, {}, "phone"),
        ({"caller": "x", "town": "y" * 501}, {}, "town"),
    ):
        with pytest.raises(BadInput) as refused:
            take(book, act, answers, **whom)
        assert refused.value.field == field
    for whom in ({"pond_id": UUID(int=5)}, {"client_id": UUID(int=5)}):
        with pytest.raises(NotFound):
            take(book, act, {"caller": "x"}, **whom)
    assert call_notes(book, open=False) == ()
    assert {one.name for one in clients(book)} == {"Brook House"}


@pytest.mark.parametrize(
    ("answers", "kind", "first", "due", "last"),
    [
        ({"gasping": "yes"}, "call_same_day", 0, 0, 0),
        ({"sores": "yes"}, "call_next_day", 0, 1, 1),
        ({}, "call_routine", 0, 14, 21),
    ],
)
def test_an_open_call_stands_on_the_desk(
    book: Book, act: Act, answers: dict[str, str], kind: str, first: int, due: int, last: int
) -> None:
    note = take(book, act, {"caller": "Ina Marsh"} | answers)
    (line,) = calls_due(book, TODAY + 3 * DAY)
    assert line.about == str(About("call", note.id))
    assert (line.kind, line.origin, line.needs) == (kind, "call", "visit")
    assert [line.first_on, line.due_on, line.last_on] == [
        TODAY + days * DAY for days in (first, due, last)
    ]
    assert (line.promised_by, line.promised_on) == ("Ada Vet", TODAY)
    assert line.because.startswith("Ina Marsh called on 14 Mar 2026.")
    assert calls_due(book, TODAY - DAY) == ()


def test_the_day_of_a_call_is_the_practices_own(book: Book, act: Act) -> None:
    # Half past midnight of 29 March in London, an hour before the clock goes forward.
    late = Act(act.by, datetime(2026, 3, 29, 0, 30, tzinfo=UTC))
    take(book, late, {"caller": "Ina Marsh", "gasping": "yes"})
    (line,) = calls_due(book, date(2026, 3, 29))
    assert line.due_on == date(2026, 3, 29)
    # Half past eleven in the evening UTC is the next day in London in summer.
    later = Act(act.by, datetime(2026, 3, 29, 23, 30, tzinfo=UTC))
    take(book, later, {"caller": "Ola Reed", "sores": "yes"})
    assert [one.due_on for one in calls_due(book, date(2026, 3, 30))] == [
        date(2026, 3, 29), date(2026, 3, 31),
    ]  # fmt: skip


def test_the_most_urgent_stands_first_whenever_it_came(book: Book, act: Act) -> None:
    for name, answers in (
        ("Routine", {}), ("Next", {"sores": "yes"}), ("Same", {"gasping": "yes"}),
    ):  # fmt: skip
        take(book, act, {"caller": name} | answers)
    said = [one.because.split()[0] for one in calls_due(book, TODAY)]
    assert said == ["Same", "Next", "Routine"]


def test_a_call_ends_when_its_visit_took_place_and_not_when_it_was_cancelled(
    book: Book, act: Act
) -> None:
    note = take(book, act)
    assert note.pond_id is not None
    about = str(About("call", note.id))

    def book_it() -> UUID:
        assert note.pond_id is not None
        with book.writing(act) as writing:
            visit = plan_visit(writing, note.pond_id, TODAY)
            writing.add(
                "visit_purpose", visit_id=visit, about=about, kind="call_same_day", says="call",
                due_on=TODAY, first_on=TODAY, last_on=TODAY,
            )  # fmt: skip
        return visit

    first = book_it()
    assert [one.about for one in calls_due(book, TODAY)] == [about]
    with book.writing(act) as writing:
        close_visit(writing, first, 1, "cancelled", why="van broke down")
    assert [one.about for one in calls_due(book, TODAY)] == [about]
    second = book_it()
    with book.writing(act) as writing:
        close_visit(writing, second, 1, "done")
    assert calls_due(book, TODAY) == ()
    assert [one.id for one in call_notes(book)] == [note.id]


def test_a_call_is_closed_with_a_reason_and_opened_again(book: Book, act: Act) -> None:
    note = take(book, act)
    with pytest.raises(BadInput) as refused, book.writing(act) as writing:
        close_call(writing, note.id, 1, " ")
    assert refused.value.field == "why"
    with book.writing(act) as writing:
        assert close_call(writing, note.id, 1, "went to another practice") == 2
    assert calls_due(book, TODAY) == ()
    assert call_notes(book) == ()
    (kept,) = call_notes(book, open=False)
    assert (kept.state, kept.closed_why) == ("closed", "went to another practice")
    assert [one.why for one in history(book, "call_note", note.id)] == [
        "went to another practice", "",
    ]  # fmt: skip
    with pytest.raises(NotAllowed), book.writing(act) as writing:
        close_call(writing, note.id, 2, "again")
    with book.writing(act) as writing:
        reopen_call(writing, note.id, 2, "they came back")
    assert len(calls_due(book, TODAY)) == 1
    with pytest.raises(NotAllowed), book.writing(act) as writing:
        reopen_call(writing, note.id, 3, "twice")
    with pytest.raises(ChangedMeanwhile), book.writing(act) as writing:
        close_call(writing, note.id, 1, "somebody was faster")
    with pytest.raises(NotFound), book.writing(act) as writing:
        close_call(writing, UUID(int=9), 1, "none")


def test_a_short_note_keeps_the_advice_and_stays_open_only_with_a_next_step(
    book: Book, act: Act
) -> None:
    key = add_pond(book, act)
    owner = site(book, pond(book, key).site_id).client_id

    whole = {"caller": "Mr Brook", "said": "koi gasping", "advised": "air on"}
    for field in ("caller", "said", "advised"):
        with pytest.raises(BadInput) as refused, book.writing(act) as writing:
            note_call(writing, owner, **(whole | {field: "  "}))
        assert refused.value.field == field
    with book.writing(act) as writing:
        shut = note_call(writing, owner, caller="Mr Brook", said="asks for a bill", advised="none")
        wait = note_call(
            writing, owner, caller="Mr Brook", said="koi gasping", advised="air on",
            next_step="ring him at six",
        )  # fmt: skip
    assert [one.id for one in call_notes(book)] == [wait]
    closed, waiting = call_note(book, shut), call_note(book, wait)
    assert (closed.state, closed.closed_why) == ("closed", "Nothing is left to be done.")
    assert (waiting.short, waiting.urgency, waiting.says) == (True, "same day", "ring him at six")
    assert waiting.pond_id == key
    assert [one.id for one in call_notes(book, open=False, pond_id=key)] == [wait, shut]
    (line,) = calls_due(book, TODAY)
    assert (line.needs, line.kind, line.says) == ("call", "call_same_day", "ring him at six")


def test_a_caller_is_found_by_number_and_by_name_as_typed(book: Book, act: Act) -> None:
    note = take(book, act)
    add_pond(book, act)
    for name, phone, street in (
        ("Ina Mar", "", ""), ("", "960113", ""), ("", "+44 1632 960113", ""),
        ("Ina Marhs", "", ""), ("", "", "weir end"), ("somebody else", "01632 960 113", ""),
    ):  # fmt: skip
        found = matches(book, name, phone, street)
        assert found, (name, phone, street)
        assert found[0].client_id == note.client_id
    assert matches(book, "I", "016", "") == ()
    assert matches(book, "Nobody Such", "", "") == ()


def test_a_call_struck_through_or_of_a_client_struck_through_is_not_due(
    book: Book, act: Act
) -> None:
    first, second = take(book, act), take(book, act, {"caller": "Ola Reed"})
    assert second.client_id is not None
    with book.writing(act) as writing:
        writing.strike("call_note", first.id, "entered twice")
        writing.strike("client", second.client_id, "wrong number")
    assert calls_due(book, TODAY) == ()
    assert [one.id for one in call_notes(book, open=False, struck=True)] == [second.id, first.id]
