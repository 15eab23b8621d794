"""The whole picture of a client, and finding one while the client waits on the telephone."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from uuid import UUID, uuid4

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.visits import close_visit, plan_visit
from store.diary.desk.about import About
from store.diary.desk.due import Promised
from store.diary.kept.calls.call_notes import note_call
from store.diary.kept.due.client_picture import ClientPicture, client_picture
from store.diary.kept.due.desk import desk_list
from store.diary.kept.due.leads import Lead, lead_of
from store.diary.kept.due.seeking import seek
from store.diary.kept.promised.attempts import log_attempt, strike_attempt
from store.diary.kept.promised.follow_ups import promise
from store.errors import NotFound
from store.exams.examining import record_examination
from store.exams.values import Exam, ExamFish, Found, Prep
from tui.screens.desk.client_lines import ClientKey, rows_of

TODAY = date(2026, 3, 14)
DAY = timedelta(days=1)


def add_client(book: Book, act: Act, name: str, *ponds: str, phone: str = "") -> dict[str, UUID]:
    """Keys of the client (`""`), its site (`"site"`) and its ponds by name."""
    with book.writing(act) as writing:
        keys = {"": writing.add("client", name=name, phone=phone)}
        keys["site"] = writing.add("site", client_id=keys[""], name="garden", town="Nether Wick")
        for pond in ponds:
            keys[pond] = writing.add("pond", site_id=keys["site"], name=pond)
    return keys


def done_visit(book: Book, act: Act, pond: UUID, days_ago: int, note: str) -> UUID:
    then = Act(act.by, act.at - days_ago * DAY)
    with book.writing(then) as writing:
        key = plan_visit(
            writing, pond, book.today(then.at), at_time=time(10), staff_id=act.by, kind="round"
        )
        close_visit(writing, key, 1, "done", note=note)
    return key


def looked(
    book: Book, act: Act, pond: UUID, at: datetime, note: str = "", *, score: int = 2
) -> UUID:
    """An examination of one fish with gill flukes so many of 3; 0 is none of them."""
    prep = Prep("gill clip", magnification=100, found=(Found("gill_flukes", score=score),))
    exam = Exam(at, "routine", "Rowan Kell", (ExamFish(preparations=(prep,)),), note=note)
    with book.writing(act) as writing:
        return record_examination(writing, pond, exam)


def picture(book: Book, act: Act, keys: dict[str, UUID]) -> ClientPicture:
    return client_picture(book, keys[""], act.at)


def test_a_client_that_is_not_in_the_book_is_told(sqlite_book: Book, act: Act) -> None:
    with pytest.raises(NotFound):
        client_picture(sqlite_book, uuid4(), act.at)


def test_a_client_without_anything_has_an_empty_picture(book: Book, act: Act) -> None:
    with book.writing(act) as writing:
        key = writing.add("client", name="Alder Row")
    seen = client_picture(book, key, act.at)
    assert seen.client.name == "Alder Row"
    assert (seen.ponds, seen.sites, seen.all_due, seen.attempts) == ((), (), (), ())
    assert (seen.ring_on, seen.ring_at, seen.calls, seen.follow_ups) == (None, None, (), ())


def test_what_rests_since_its_pond_was_struck_through_is_told_with_the_reason(
    book: Book, act: Act
) -> None:
    keys = add_client(book, act, "Alder Row", "long pond")
    other = add_client(book, act, "Coldharbour", "lily pond")
    for owner, pond in ((keys, "long pond"), (other, "lily pond")):
        with book.writing(act) as writing:
            key = promise(
                writing, client_id=owner[""], kind="ring", says="the quote", first_on=TODAY,
                pond_id=owner[pond],
            )  # fmt: skip
            writing.strike("pond", owner[pond], "filled in")
        if owner is keys:
            mine = key
    seen = picture(book, act, keys)
    assert seen.all_due == ()
    assert seen.resting == {mine: "The pond was struck through: filled in"}
    (row,) = (
        one for one in rows_of(seen) if one.key == ClientKey("later", str(mine), keys["long pond"])
    )
    assert [str(cell) for cell in row.cells] == [
        "at rest",
        "the quote  The pond was struck through: filled in; restored, it falls due again",
    ]


def test_ponds_stand_by_what_weighs_most_and_those_with_nothing_last(book: Book, act: Act) -> None:
    keys = add_client(book, act, "Alder Row", "a calm one", "b late", "c near")
    then = Act(act.by, act.at - 9 * DAY)
    with book.writing(then) as writing:
        for pond, day in (("b late", TODAY - 8 * DAY), ("c near", TODAY + 5 * DAY)):
            promise(
                writing, client_id=keys[""], kind="look_again", says="look again",
                first_on=day, pond_id=keys[pond],
            )  # fmt: skip
        promise(writing, client_id=keys[""], kind="ring", says="the quote", first_on=TODAY)
    seen = picture(book, act, keys)
    assert [one.card.pond.name for one in seen.ponds] == ["b late", "c near", "a calm one"]
    assert [one.promised.says for one in seen.due] == ["the quote"]
    assert [len(one.due) for one in seen.ponds] == [1, 1, 0]
    assert len(seen.all_due) == len(seen.follow_ups) == 3


def test_the_last_words_are_the_newest_of_visit_examination_and_course(
    book: Book, act: Act
) -> None:
    keys = add_client(book, act, "Alder Row", "lower pond")
    pond = keys["lower pond"]
    visit = done_visit(book, act, pond, 9, "Gills pale.")
    done_visit(book, act, pond, 3, "  ")  # nothing was written there
    seen = picture(book, act, keys).ponds[0]
    assert seen.wrote is not None
    assert (seen.wrote.of, seen.wrote.key, seen.wrote.says) == ("visit", visit, "Gills pale.")
    assert seen.wrote.at.isoformat() == "2026-03-05T10:00:00"
    assert seen.wrote.by == "Ada Vet"
    assert seen.last_visit is not None
    assert seen.last_visit.on_day == TODAY - 3 * DAY
    exam = looked(book, act, pond, act.at - 2 * DAY, "Flukes again")
    wrote = picture(book, act, keys).ponds[0].wrote
    assert wrote is not None
    assert (wrote.of, wrote.key, wrote.by) == ("examination", exam, "Rowan Kell")
    assert wrote.says.startswith("Flukes again (")


def test_what_was_told_on_the_telephone_is_among_the_last_words(book: Book, act: Act) -> None:
    keys = add_client(book, act, "Alder Row", "lower pond")
    done_visit(book, act, keys["lower pond"], 3, "Gills pale.")
    with book.writing(act) as writing:
        note = note_call(
            writing, keys[""], caller="Rowan", said="they flash again", advised="feed nothing",
            pond_id=keys["lower pond"],
        )  # fmt: skip
    seen = picture(book, act, keys)
    wrote = seen.ponds[0].wrote
    assert wrote is not None
    assert (wrote.of, wrote.key) == ("call", note)
    assert "they flash again" in wrote.says
    assert "feed nothing" in wrote.says
    assert seen.calls == ()  # nothing is left to do


def test_words_are_placed_by_the_clock_of_the_practice_in_summer(book: Book, act: Act) -> None:
    """An hour of an examination in July is told by British Summer Time, an hour after UTC."""
    keys = add_client(book, act, "Alder Row", "lower pond")
    summer = Act(act.by, datetime(2026, 7, 1, 12, 0, tzinfo=UTC))
    looked(book, summer, keys["lower pond"], datetime(2026, 6, 30, 23, 30, tzinfo=UTC))
    wrote = client_picture(book, keys[""], summer.at).ponds[0].wrote
    assert wrote is not None
    assert wrote.at.isoformat() == "2026-07-01T00:30:00"


def test_the_next_visit_is_the_nearest_ahead_else_the_last_that_nobody_closed(
    book: Book, act: Act
) -> None:
    keys = add_client(book, act, "Alder Row", "lower pond")
    pond = keys["lower pond"]
    with book.writing(Act(act.by, act.at - 9 * DAY)) as writing:
        for away in (-8, -2):
            plan_visit(writing, pond, TODAY + away * DAY, kind="round")
    behind = picture(book, act, keys).ponds[0].next_visit
    assert behind is not None
    assert behind.on_day == TODAY - 2 * DAY
    with book.writing(act) as writing:
        for away in (9, 4, 6):
            plan_visit(writing, pond, TODAY + away * DAY, kind="round")
        cancelled = plan_visit(writing, pond, TODAY + DAY, kind="round")
        close_visit(writing, cancelled, 1, "cancelled", why="away")
    ahead = picture(book, act, keys).ponds[0].next_visit
    assert ahead is not None
    assert ahead.on_day == TODAY + 4 * DAY


def test_a_ring_back_stands_until_the_client_was_reached(book: Book, act: Act) -> None:
    keys = add_client(book, act, "Alder Row")
    with book.writing(Act(act.by, act.at - DAY)) as writing:
        log_attempt(writing, keys[""], "ring back", ring_on=TODAY + 90 * DAY, ring_at=time(17, 30))
    with book.writing(Act(act.by, act.at - DAY / 2)) as writing:
        log_attempt(writing, keys[""], "no answer")
    seen = picture(book, act, keys)
    assert (seen.ring_on, seen.ring_at) == (TODAY + 90 * DAY, time(17, 30))
    assert [one.outcome for one in seen.attempts] == ["no answer", "ring back"]
    with book.writing(act) as writing:
        reached = log_attempt(writing, keys[""], "reached")
    assert picture(book, act, keys).ring_on is None
    with book.writing(act) as writing:
        strike_attempt(writing, reached, "taken back at once")
    assert picture(book, act, keys).ring_on == TODAY + 90 * DAY


def test_what_is_struck_through_is_no_part_of_the_picture(book: Book, act: Act) -> None:
    keys = add_client(book, act, "Alder Row", "one", "two")
    with book.writing(act) as writing:
        writing.strike("pond", keys["two"], "filled in")
    assert [one.card.pond.name for one in picture(book, act, keys).ponds] == ["one"]
    with book.writing(act) as writing:
        writing.strike("client", keys[""], "moved away")
    seen = picture(book, act, keys)
    assert seen.client.struck_why == "moved away"
    assert seen.all_due == ()


# Where a promise is kept


def promised_as(about: About, pond: UUID | None = None) -> Promised:
    return Promised(
        str(about), "finding", uuid4(), None, pond, "", "", "examination", "", None, TODAY, TODAY,
        TODAY, "vet",
    )  # fmt: skip


def test_a_finding_leads_to_the_newest_examination_in_which_it_stands(book: Book, act: Act) -> None:
    keys = add_client(book, act, "Alder Row", "lower pond")
    pond = keys["lower pond"]
    about = About("finding", pond, "gill_flukes")
    # Without an examination only a laboratory can have said so.
    assert lead_of(book, promised_as(about, pond)) == Lead("samples", pond)
    looked(book, act, pond, act.at - 3 * DAY)
    newest = looked(book, act, pond, act.at - 2 * DAY)
    looked(book, act, pond, act.at - DAY, score=0)  # there it was looked for, and was not there
    assert lead_of(book, promised_as(about, pond)) == Lead("examination", newest)
    other = About("finding", pond, "costia")
    assert lead_of(book, promised_as(other, pond)) == Lead("samples", pond)


def test_each_thing_leads_to_the_record_that_keeps_it(book: Book, act: Act) -> None:
    key, pond = uuid4(), uuid4()
    leads = {
        thing: lead_of(book, promised_as(About(thing, key, day=day), pond))
        for thing, day in (
            ("control", None), ("turn", None), ("concern", None), ("test", None),
            ("sample", None), ("hand", TODAY), ("call", None), ("ring", None), ("dose", None),
        )
    }  # fmt: skip
    assert leads == {
        "control": Lead("course", key), "turn": Lead("course", key),
        "concern": Lead("concern", key), "test": Lead("water test", key),
        "sample": Lead("samples", pond), "hand": Lead("by hand", key), "call": Lead("call", key),
        "ring": Lead("ring", key), "dose": None,
    }  # fmt: skip


# Finding


def test_what_is_due_comes_first_and_the_others_once_each(book: Book, act: Act) -> None:
    first = add_client(book, act, "Alder Row", "one", "two", phone="01632 960 123")
    second = add_client(book, act, "Alder Hill Hotel", "atrium", phone="01632 960 456")
    add_client(book, act, "Mossgate Nursery", "vat 1", phone="07700 900 789")
    with book.writing(act) as writing:
        promise(writing, client_id=second[""], kind="ring", says="the quote", first_on=TODAY)
    listed = desk_list(book, act.at)
    found = seek(book, listed, "ald")
    assert [one.promised.client_id for one in found.lines] == [second[""]]
    assert [one.client_id for one in found.quiet] == [first[""]]
    assert seek(book, listed, "960123").quiet[0].reason == "telephone has 960123"
    assert [one.client for one in seek(book, listed, "mosgate").quiet] == ["Mossgate Nursery"]
    nothing = seek(book, listed, "zzzz")
    assert (nothing.lines, nothing.quiet) == ((), ())


def test_the_best_hit_stands_first_whatever_weighs_more(book: Book, act: Act) -> None:
    heavy = add_client(book, act, "Row of Alders", "one")
    named = add_client(book, act, "Alder Row", "one")
    then = Act(act.by, act.at - 9 * DAY)
    with book.writing(then) as writing:
        for keys, day in ((heavy, TODAY - 8 * DAY), (named, TODAY)):
            promise(writing, client_id=keys[""], kind="ring", says="the quote", first_on=day)
    listed = desk_list(book, act.at)
    assert [one.client for one in listed.lines] == ["Row of Alders", "Alder Row"]
    assert seek(book, listed, "alder").lines[0].client == "Alder Row"
