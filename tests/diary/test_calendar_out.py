"""The diary as a calendar file, read again by a parser that is not ours."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest
from calendar_entries import NOW, booked, garden, parsed

from store.book.act import Act
from store.book.book import Book
from store.diary.calendar.save import save_calendar
from store.diary.calendar.way_in import LEFT_OUT, without_codes
from store.diary.calendar.write import Event, calendar_bytes, changes
from store.diary.kept.files.calendar_out import calendar_of, calendar_out
from store.diary.kept.roster.days_off import add_day_off, drop_day_off
from store.diary.kept.visits.bookings import cancel_visit, move_visit
from store.diary.kept.visits.diary import visiting
from store.errors import BadInput, NotFound

TUESDAY, WEDNESDAY = date(2026, 3, 17), date(2026, 3, 18)
LATER = NOW + timedelta(days=1)


@pytest.fixture
def pond(sqlite_book: Book, act: Act) -> UUID:
    return garden(
        sqlite_book, act, address="3 Mill Lane\nHexby", town="Hexby", latitude=54.5, longitude=-1.25,
        access_notes="Dog is friendly. Gate code 4471.", access_hours="daily 8-18",
    )[1]  # fmt: skip


def with_vet(book: Book, act: Act, name: str = "Ben Vet") -> UUID:
    with book.writing(act) as writing:
        return writing.add("staff", name=name, role="travelling vet", initials="BV")


def again(book: Book, act: Act, visit: UUID, **values: object) -> None:
    seen = visiting(book, visit)
    with book.writing(replace(act, at=LATER)) as writing:
        move_visit(
            writing, visit, seen.rev, values.get("on_day", seen.on_day),
            values.get("at_time", seen.at_time), values.get("staff_id", seen.staff_id),
            why="asked for", in_spite="as agreed",
        )  # fmt: skip


def test_a_visit_says_when_where_and_why(sqlite_book: Book, act: Act, pond: UUID) -> None:
    visit = booked(sqlite_book, act, pond, TUESDAY, time(9, 30))
    calendar = parsed(calendar_of(sqlite_book, NOW))
    (event,) = calendar.events
    assert event.uid == str(visit)
    assert event.summary == "examination: Alder House, Garden, Long pond"
    assert event.location == "3 Mill Lane, Hexby"
    assert (event.geo.lat, event.geo.lng) == (54.5, -1.25)
    assert event.dtstart == datetime(2026, 3, 17, 9, 30, tzinfo=ZoneInfo("Europe/London"))
    assert event.dtend - event.dtstart == timedelta(minutes=60)
    assert event.dtstamp == NOW
    assert event.description is not None
    assert "Telephone: 01632 960 001" in event.description
    assert "Dog is friendly." in event.description
    assert "Goes: Ada Vet" in event.description
    assert "4471" not in event.description


def test_what_opens_a_gate_is_there_when_it_is_asked_for(
    sqlite_book: Book, act: Act, pond: UUID
) -> None:
    booked(sqlite_book, act, pond, TUESDAY, time(9, 30))
    assert b"4471" not in calendar_of(sqlite_book, NOW)
    assert b"4471" in calendar_of(sqlite_book, NOW, codes=True)


def test_a_visit_without_an_hour_is_a_day_that_takes_no_time(
    sqlite_book: Book, act: Act, pond: UUID
) -> None:
    booked(sqlite_book, act, pond, TUESDAY, None)
    (event,) = parsed(calendar_of(sqlite_book, NOW)).events
    assert (event.dtstart, event.dtend) == (TUESDAY, WEDNESDAY)
    assert event.transparency == "TRANSPARENT"


def test_a_move_keeps_the_uid_and_raises_the_sequence(
    sqlite_book: Book, act: Act, pond: UUID
) -> None:
    visit = booked(sqlite_book, act, pond, TUESDAY, time(9, 30))
    (before,) = parsed(calendar_of(sqlite_book, NOW)).events
    again(sqlite_book, act, visit, on_day=WEDNESDAY, at_time=time(14))
    (after,) = parsed(calendar_of(sqlite_book, LATER)).events
    assert before.uid == after.uid
    assert after.sequence > before.sequence
    assert after.dtstart.date() == WEDNESDAY
    assert after.dtstamp > before.dtstamp


def test_a_longer_visit_raises_the_sequence_as_well(
    sqlite_book: Book, act: Act, pond: UUID
) -> None:
    visit = booked(sqlite_book, act, pond, TUESDAY, time(9, 30))
    (before,) = parsed(calendar_of(sqlite_book, NOW)).events
    seen = visiting(sqlite_book, visit)
    with sqlite_book.writing(replace(act, at=LATER)) as writing:
        move_visit(
            writing, visit, seen.rev, seen.on_day, seen.at_time, seen.staff_id, minutes=90,
            why="two ponds", in_spite="as agreed",
        )  # fmt: skip
    (after,) = parsed(calendar_of(sqlite_book, LATER)).events
    assert after.dtend - after.dtstart == timedelta(minutes=90)
    assert after.sequence > before.sequence


def test_nothing_changed_is_the_same_file_but_for_its_stamp(
    sqlite_book: Book, act: Act, pond: UUID
) -> None:
    booked(sqlite_book, act, pond, TUESDAY, time(9, 30))
    one, two = (calendar_of(sqlite_book, at).splitlines() for at in (NOW, LATER))
    days = ["--"] if len(one) != len(two) else [
        a.split(b":")[0].decode() for a, b in zip(one, two, strict=True) if a != b
    ]  # fmt: skip
    assert days == ["DTSTAMP"]


def test_a_cancelled_visit_stays_for_a_while_as_cancelled(
    sqlite_book: Book, act: Act, pond: UUID
) -> None:
    visit = booked(sqlite_book, act, pond, TUESDAY, time(9, 30))
    before = parsed(calendar_of(sqlite_book, NOW)).events[0].sequence
    with sqlite_book.writing(replace(act, at=LATER)) as writing:
        cancel_visit(writing, visit, visiting(sqlite_book, visit).rev, "owner is ill")
    found = calendar_out(sqlite_book, LATER)
    (event,) = parsed(found.data).events
    assert (event.uid, event.status) == (str(visit), "CANCELLED")
    assert event.sequence > before
    assert (found.visits, found.removed) == (0, 1)
    assert parsed(calendar_of(sqlite_book, LATER + timedelta(days=61))).events == []


def test_a_visit_given_to_another_vet_is_taken_out_of_the_first_diary(
    sqlite_book: Book, act: Act, pond: UUID
) -> None:
    other = with_vet(sqlite_book, act)
    visit = booked(sqlite_book, act, pond, TUESDAY, time(9, 30))
    (before,) = parsed(calendar_of(sqlite_book, NOW, staff_id=act.by)).events
    again(sqlite_book, act, visit, staff_id=other)
    (mine,) = parsed(calendar_of(sqlite_book, LATER, staff_id=act.by)).events
    (theirs,) = parsed(calendar_of(sqlite_book, LATER, staff_id=other)).events
    assert (mine.uid, mine.status) == (str(visit), "CANCELLED")
    assert (theirs.uid, theirs.status) == (str(visit), "CONFIRMED")
    (whole,) = parsed(calendar_of(sqlite_book, LATER)).events
    assert whole.status == "CONFIRMED"
    # Read into one calendar in any order, the visit of the other vet stays.
    assert before.sequence < mine.sequence < theirs.sequence == whole.sequence


def test_a_visit_of_another_vet_never_stands_in_a_diary(
    sqlite_book: Book, act: Act, pond: UUID
) -> None:
    other = with_vet(sqlite_book, act)
    booked(sqlite_book, act, pond, TUESDAY, time(9, 30), other)
    assert parsed(calendar_of(sqlite_book, NOW, staff_id=act.by)).events == []


def test_a_visit_moved_behind_the_last_day_is_still_told(
    sqlite_book: Book, act: Act, pond: UUID
) -> None:
    visit = booked(sqlite_book, act, pond, TUESDAY, time(9, 30))
    again(sqlite_book, act, visit, on_day=date(2026, 6, 1))
    (event,) = parsed(calendar_of(sqlite_book, LATER, last=WEDNESDAY)).events
    assert event.dtstart.date() == date(2026, 6, 1)


def test_a_struck_visit_is_taken_out(sqlite_book: Book, act: Act, pond: UUID) -> None:
    visit = booked(sqlite_book, act, pond, TUESDAY, time(9, 30))
    with sqlite_book.writing(replace(act, at=LATER)) as writing:
        writing.strike("visit", visit, "typed twice")
    (event,) = parsed(calendar_of(sqlite_book, LATER)).events
    assert (event.uid, event.status) == (str(visit), "CANCELLED")


def test_days_of_the_file_and_one_site(sqlite_book: Book, act: Act, pond: UUID) -> None:
    booked(sqlite_book, act, pond, TUESDAY, time(9, 30))
    site, other = garden(sqlite_book, act, "Birch Farm")
    booked(sqlite_book, act, other, WEDNESDAY, time(9, 30))
    (event,) = parsed(calendar_of(sqlite_book, NOW, site_id=site)).events
    assert "Birch Farm" in (event.summary or "")
    (event,) = parsed(calendar_of(sqlite_book, NOW, first=TUESDAY, last=TUESDAY)).events
    assert "Alder House" in (event.summary or "")
    with pytest.raises(BadInput, match="lies before"):
        calendar_of(sqlite_book, NOW, first=WEDNESDAY, last=TUESDAY)
    with pytest.raises(NotFound):
        calendar_of(sqlite_book, NOW, site_id=UUID(int=4))


def test_days_off_stand_in_a_vets_diary(sqlite_book: Book, act: Act) -> None:
    with sqlite_book.writing(act) as writing:
        away = add_day_off(writing, act.by, TUESDAY, WEDNESDAY, says="course")
        add_day_off(writing, None, date(2026, 5, 1), date(2026, 5, 1), from_time=time(12))
        other = writing.add("staff", name="Ben Vet", role="vet")
        add_day_off(writing, other, TUESDAY, TUESDAY)
    found = {
        one.summary: one for one in parsed(calendar_of(sqlite_book, NOW, staff_id=act.by)).events
    }
    assert set(found) == {"Ada Vet away: course", "practice closed"}
    assert found["Ada Vet away: course"].dtend == date(2026, 3, 19)
    rests = found["practice closed"]
    assert rests.dtend.astimezone(UTC) == datetime(2026, 5, 1, 23, tzinfo=UTC)
    assert parsed(calendar_of(sqlite_book, NOW, staff_id=act.by, days_off=False)).events == []
    with sqlite_book.writing(replace(act, at=LATER)) as writing:
        drop_day_off(writing, away, 1, "the course was called off")
    events = parsed(calendar_of(sqlite_book, LATER, staff_id=act.by)).events
    assert {one.summary: one.status for one in events} == {
        "Ada Vet away: course": "CANCELLED", "practice closed": "CONFIRMED"
    }  # fmt: skip


def test_on_both_databases(book: Book, act: Act) -> None:
    pond = garden(book, act)[1]
    visit = booked(book, act, pond, TUESDAY, time(9, 30))
    again(book, act, visit, on_day=date(2026, 8, 1))
    other = booked(book, act, pond, WEDNESDAY, None)
    with book.writing(replace(act, at=LATER)) as writing:
        cancel_visit(writing, other, 1, "frost")
        add_day_off(writing, act.by, TUESDAY, TUESDAY)
    events = parsed(calendar_of(book, LATER, last=WEDNESDAY, staff_id=act.by)).events
    assert {one.uid: one.status for one in events if len(one.summary or "") > 12} == {
        str(visit): "CONFIRMED", str(other): "CANCELLED"
    }  # fmt: skip


HOSTILE = (
    "a;b,c\\d\nEND:VEVENT\r\nBEGIN:VEVENT\nSUMMARY:mine",
    "\u202elive\u202c\u2066x",
    "\x1b]0;owned\x07",
    "x" * 1_000_000,
    "é" * 300,
    "鯉" * 300,
    "\ud800",
    '"quoted": ;=',
)


@pytest.mark.parametrize("text", HOSTILE, ids=lambda text: ascii(text[:12]))
def test_no_text_can_become_another_event(text: str) -> None:
    event = Event(
        "a", 0, text, TUESDAY, NOW, NOW, time(9), 30, place=text, text=text, latitude=1.0,
        longitude=2.0,
    )  # fmt: skip
    data = calendar_bytes(text, "vet x", [event], ZoneInfo("Europe/London"), NOW)
    assert max(map(len, data.split(b"\r\n"))) <= 75
    assert b"\n" not in data.replace(b"\r\n", b"")
    assert not {chr(code).encode() for code in (0x1B, 0x07)} & {bytes([one]) for one in data}
    (read,) = parsed(data).events
    assert "\u202e" not in (read.summary or "") + (read.location or "") + (read.description or "")
    assert 0 < len(read.summary or "") <= 200
    assert len(read.description or "") <= 4000


@pytest.mark.parametrize(
    ("notes", "kept"),
    [
        ("", ""),
        ("Two steps down, park on the verge", "Two steps down, park on the verge"),
        ("Gate code: 4711#", LEFT_OUT),
        ("Keypad at the left. 12 then 34. Dogs.", f"Dogs. {LEFT_OUT}"),
        ("Gate 4 4 7 1, then straight on", f"then straight on. {LEFT_OUT}"),
        ("key under the third stone\nsecond drive", f"second drive. {LEFT_OUT}"),
        ("Alarm off with 12", LEFT_OUT),
        ("Keyboard player practises in house 7", "Keyboard player practises in house 7"),
    ],
)
def test_notes_without_what_opens_a_gate(notes: str, kept: str) -> None:
    assert without_codes(notes) == kept


def test_changes_of_the_clock_to_the_second() -> None:
    # 29 March and 25 October 2026, 01:00 UTC: Directive 2000/84/EC.
    first, last = datetime(2026, 1, 1, tzinfo=UTC), datetime(2027, 1, 1, tzinfo=UTC)
    found = list(changes(ZoneInfo("Europe/London"), first, last))
    assert [one.at for one in found] == [
        datetime(2026, 3, 29, 1, tzinfo=UTC), datetime(2026, 10, 25, 1, tzinfo=UTC)
    ]  # fmt: skip
    assert [one.summer for one in found] == [True, False]
    assert list(changes(ZoneInfo("Asia/Kolkata"), first, last)) == []


def test_a_file_is_written_over_only_by_the_same_diary(
    tmp_path: Path, sqlite_book: Book, act: Act, pond: UUID
) -> None:
    path = tmp_path / "ada.ics"
    mine = calendar_of(sqlite_book, NOW, staff_id=act.by)
    save_calendar(path, mine)
    booked(sqlite_book, act, pond, TUESDAY, time(9, 30))
    newer = calendar_of(sqlite_book, LATER, staff_id=act.by)
    save_calendar(path, newer)
    assert path.read_bytes() == newer
    with pytest.raises(BadInput, match="somebody else"):
        save_calendar(path, calendar_of(sqlite_book, NOW))
    for text in (b"shopping list", b"", b"BEGIN:VCALENDAR\r\nPRODID:-//Other//EN\r\n"):
        path.write_bytes(text)
        with pytest.raises(BadInput, match="no calendar of Pondround"):
            save_calendar(path, newer)
        assert path.read_bytes() == text
    save_calendar(path, newer, over=True)
    assert path.read_bytes() == newer
    assert [one.name for one in tmp_path.glob("*.ics")] == ["ada.ics"]
    for wrong in (tmp_path, tmp_path / "none" / "a.ics"):
        with pytest.raises(BadInput, match=r"folder|cannot be written"):
            save_calendar(wrong, newer)
