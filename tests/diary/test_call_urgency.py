"""The urgency of a call raised by hand: with a reason, from its own day on, and never lowered."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from itertools import product
from typing import Any, get_args
from uuid import uuid4

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.told.history import history
from store.diary.desk.kept_on_time import Tally
from store.diary.kept.calls.call_notes import (
    CallNote,
    NewCall,
    call_note,
    calls_due,
    close_call,
    note_call,
    raise_call,
    take_call,
)
from store.diary.kept.calls.call_urgency import above
from store.diary.kept.calls.call_values import RaisedStep
from store.diary.kept.calls.calls_due import call_days
from store.diary.kept.score.promises_kept import promises_kept
from store.errors import BadInput, ChangedMeanwhile, NotAllowed, NotFound
from store.facts.call_questions import URGENCIES, Urgency
from tests.book.entries import NOW
from tests.diary.desk_entries import own

TODAY = NOW.date()
DAY = timedelta(days=1)
SORES = {"caller": "Ina Marsh", "sores": "yes"}
"""A call that is reckoned for the next day."""


def later(act: Act, days: int) -> Act:
    return Act(act.by, act.at + days * DAY)


def take(book: Book, act: Act, answers: dict[str, str], **more: Any) -> CallNote:
    with book.writing(act) as writing:
        key = take_call(writing, NewCall(answers, **more))
    return call_note(book, key)


def raised(book: Book, act: Act, note: CallNote, to: Urgency, why: str = "they leave") -> CallNote:
    with book.writing(act) as writing:
        raise_call(writing, note.id, note.rev, to, why)
    return call_note(book, note.id)


def test_the_reason_stands_first_with_who_raised_it_and_from_what(book: Book, act: Act) -> None:
    note = take(book, act, SORES)
    assert note.urgency == "next day"
    after = raised(book, act, note, "same day", "the owner leaves for a month.")
    assert after.urgency == "same day"
    assert after.urgent_by == [
        "The owner leaves for a month. Raised by hand from next day to same day by Ada Vet on "
        "14 Mar 2026.",
        *note.urgent_by,
    ]
    assert after.said.startswith("call of Ina Marsh, same day: The owner leaves for a month; ")
    assert after.raised == (RaisedStep("next day", "same day", TODAY),)
    assert after.texts == note.texts == SORES
    changed, _added = sorted(history(book, "call_note", note.id), key=lambda one: one.what == "add")
    assert changed.why == "the owner leaves for a month."


def test_it_counts_from_the_day_on_which_it_was_raised(book: Book, act: Act) -> None:
    note = take(book, act, {"caller": "Ina Marsh"})
    (before,) = calls_due(book, TODAY + 5 * DAY)
    assert (before.kind, before.last_on) == ("call_routine", TODAY + 21 * DAY)
    raised(book, later(act, 5), note, "next day")
    (after,) = calls_due(book, TODAY + 5 * DAY)
    assert (after.kind, after.last_on) == ("call_next_day", TODAY + 6 * DAY)
    assert after.due_on == TODAY + 6 * DAY
    assert after.because.endswith("They leave. Raised by hand from routine to next day by Ada Vet "
                                  "on 19 Mar 2026.")  # fmt: skip


def test_it_is_raised_step_by_step(book: Book, act: Act) -> None:
    note = take(book, act, {"caller": "Ina Marsh"})
    note = raised(book, later(act, 2), note, "next day", "it got worse")
    note = raised(book, later(act, 3), note, "same day", "worse again")
    assert [one.to for one in note.raised] == ["next day", "same day"]
    assert note.says == "Worse again; It got worse"
    (due,) = calls_due(book, TODAY + 3 * DAY)
    # For the day after the second day, and for the third day: the same day.
    assert (due.due_on, due.last_on) == (TODAY + 3 * DAY, TODAY + 3 * DAY)


@pytest.mark.parametrize(("first", "to"), list(product(URGENCIES, URGENCIES)))
@pytest.mark.parametrize("after", [0, 1, 4, 30])
def test_what_is_raised_is_never_due_later_than_before(
    first: Urgency, to: Urgency, after: int
) -> None:
    called = date(2026, 3, 10)
    before = call_days(first, called)
    if to in above(first):
        step = RaisedStep(first, to, called + after * DAY)
        due, last = call_days(to, called, (step,))
        assert due <= before[0]
        assert last <= before[1]
        assert due <= last
        if before[1] > step.on:  # there was time left
            assert last == call_days(to, step.on)[1]
    else:
        assert URGENCIES.index(to) >= URGENCIES.index(first)


def test_every_urgency_is_known_and_none_lies_above_itself() -> None:
    assert set(URGENCIES) == set(get_args(Urgency))
    assert [above(one) for one in URGENCIES] == [(), ("same day",), ("next day", "same day")]


@pytest.mark.parametrize("to", URGENCIES)
def test_it_is_never_lowered_nor_left_where_it_is(book: Book, act: Act, to: Urgency) -> None:
    note = take(book, act, {"caller": "Ina Marsh", "gasping": "yes"})
    with pytest.raises(NotAllowed, match="same day already"), book.writing(act) as writing:
        raise_call(writing, note.id, note.rev, to, "they said so")
    assert call_note(book, note.id) == note


@pytest.mark.parametrize("why", ["", "  \n "])
def test_without_a_reason_nothing_is_raised(book: Book, act: Act, why: str) -> None:
    note = take(book, act, SORES)
    with pytest.raises(BadInput) as trouble, book.writing(act) as writing:
        raise_call(writing, note.id, note.rev, "same day", why)
    assert trouble.value.field == "why"
    with pytest.raises(BadInput) as trouble, book.writing(act) as writing:
        take_call(writing, NewCall(SORES, raised_to="same day", raised_why=why))
    assert trouble.value.field == "raised_why"
    assert call_note(book, note.id) == note


def test_what_cannot_be_raised(book: Book, act: Act) -> None:
    note = take(book, act, SORES)
    unknown: Any = "at once"
    with pytest.raises(BadInput) as trouble, book.writing(act) as writing:
        raise_call(writing, note.id, note.rev, unknown, "they said so")
    assert trouble.value.field == "urgency"
    with pytest.raises(NotFound), book.writing(act) as writing:
        raise_call(writing, uuid4(), 1, "same day", "they said so")
    with book.writing(act) as writing:
        rev = close_call(writing, note.id, note.rev, "seen already")
    with pytest.raises(NotAllowed, match="Open it again first"), book.writing(act) as writing:
        raise_call(writing, note.id, rev, "same day", "they said so")


def test_who_comes_second_is_told(book: Book, act: Act) -> None:
    note = take(book, act, {"caller": "Ina Marsh"})
    raised(book, act, note, "next day")
    with pytest.raises(ChangedMeanwhile), book.writing(act) as writing:
        raise_call(writing, note.id, note.rev, "same day", "mine")
    assert call_note(book, note.id).urgency == "next day"


def test_a_call_is_raised_while_it_is_taken(book: Book, act: Act) -> None:
    note = take(book, act, SORES, raised_to="same day", raised_why="he cries")
    assert note.urgency == "same day"
    assert note.urgent_by[0] == (
        "He cries. Raised by hand from next day to same day by Ada Vet on 14 Mar 2026."
    )
    assert note.raised == (RaisedStep("next day", "same day", TODAY),)
    (due,) = calls_due(book, TODAY)
    assert (due.kind, due.due_on) == ("call_same_day", TODAY)


@pytest.mark.parametrize("to", ["next day", "same day"])
def test_what_was_told_stands_where_it_asks_for_as_much(book: Book, act: Act, to: Urgency) -> None:
    """It is never lowered by hand; the reason that was typed stands with it."""
    answers = {"caller": "Ina Marsh", "gasping": "yes"}
    plain = take(book, act, answers)
    note = take(book, act, answers, client_id=plain.client_id, raised_to=to, raised_why="he cries")
    assert note.urgency == "same day"
    assert note.urgent_by == [
        *plain.urgent_by, f"He cries. Raised by hand to {to} by Ada Vet on 14 Mar 2026."
    ]  # fmt: skip
    assert note.raised == ()


def test_a_short_note_is_raised_too(book: Book, act: Act) -> None:
    owned = own(book, act)
    with book.writing(act) as writing:
        key = note_call(
            writing, owned.client, caller="Ina Marsh", said="asks for prices",
            advised="nothing", next_step="ring her",
        )  # fmt: skip
    note = raised(book, act, call_note(book, key), "same day")
    assert (note.short, note.says, note.urgency) == (True, "ring her", "same day")


def test_on_time_is_by_the_day_that_was_asked_for_when_it_was_raised(book: Book, act: Act) -> None:
    """Raised on its fifth day and closed that day: in time; closed the day after: late."""
    now = datetime(2026, 3, 31, 12, tzinfo=UTC)
    for closed_after in (5, 6):
        note = take(book, act, {"caller": "Ina Marsh"})
        note = raised(book, later(act, 5), note, "same day")
        with book.writing(later(act, closed_after)) as writing:
            close_call(writing, note.id, note.rev, "was there")
    tally = next(
        (one.whole for one in promises_kept(book, now, 2).kinds if one.kind == "call_same_day"),
        Tally(),
    )
    assert (tally.on_time, tally.late, tally.not_kept) == (1, 1, 0)
