"""Days off out of a calendar file, into the book."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest
from calendar_entries import NOW, SERIES, SINCE, UNTIL, garden, ics, parsed, read

from store.book.act import Act
from store.book.book import Book
from store.diary.calendar.read import Stretch
from store.diary.kept.files.calendar_in import DaysOffDone, read_days_off, save_days_off
from store.diary.kept.files.calendar_out import calendar_of
from store.diary.kept.roster.days_off import DayOff, add_day_off, days_off, drop_day_off
from store.diary.kept.visits.bookings import objections
from store.diary.kept.visits.wishes import wish_of
from store.errors import BadInput, NotFound

LATER = NOW + timedelta(days=1)


# --- into the book -------------------------------------------------------------------------------


def bring(
    book: Book, act: Act, tmp_path: Path, data: bytes, *, at: datetime = NOW, whole: bool = False
) -> DaysOffDone:
    path = tmp_path / "leave.ics"
    path.write_bytes(data)
    plan = read_days_off(path, book, None if whole else act.by, at)
    return save_days_off(book, replace(act, at=at), plan)


def stands(book: Book) -> list[DayOff]:
    return list(days_off(book, SINCE, UNTIL))


LEAVE = "UID:leave-1\nDTSTART;VALUE=DATE:20260504\nDTEND;VALUE=DATE:20260509\nSUMMARY:Leave"


def test_days_off_come_in_once(book: Book, act: Act, tmp_path: Path) -> None:
    data = ics(LEAVE, SERIES)
    assert bring(book, act, tmp_path, data) == DaysOffDone(5, 0, 0, 0)
    before = stands(book)
    assert [row.uid for row in before].count("a") == 4
    leave = next(row for row in before if row.uid == "leave-1")
    assert (leave.first_day, leave.last_day, leave.says) == (
        date(2026, 5, 4), date(2026, 5, 8), "Leave"
    )  # fmt: skip
    assert leave.import_file_id is not None
    assert bring(book, act, tmp_path, data, at=LATER) == DaysOffDone(0, 0, 0, 5)
    assert stands(book) == before


def test_a_dry_run_changes_nothing(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    path = tmp_path / "leave.ics"
    path.write_bytes(ics(LEAVE))
    stamp = sqlite_book.stamp()
    plan = read_days_off(path, sqlite_book, act.by, NOW)
    assert (plan.added, plan.moved, plan.struck, plan.who) == (1, 0, 0, "Ada Vet")
    assert sqlite_book.stamp() == stamp


def test_a_newer_version_changes_the_entry(book: Book, act: Act, tmp_path: Path) -> None:
    bring(book, act, tmp_path, ics(LEAVE))
    (old,) = stands(book)
    newer = LEAVE.replace("20260509", "20260511") + "\nSEQUENCE:1"
    assert bring(book, act, tmp_path, ics(newer), at=LATER) == DaysOffDone(0, 1, 0, 0)
    (new,) = stands(book)
    assert (new.id, new.last_day, new.sequence) == (old.id, date(2026, 5, 10), 1)
    # The file of yesterday says nothing any more.
    assert bring(book, act, tmp_path, ics(LEAVE), at=LATER) == DaysOffDone(0, 0, 0, 1)
    assert stands(book) == [new]


def test_the_same_sequence_counts_when_it_was_changed_later(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    bring(sqlite_book, act, tmp_path, ics(LEAVE))
    (old,) = stands(sqlite_book)
    other = LEAVE.replace("20260509", "20260511")
    for stamp in ("", "\nDTSTAMP:20260313T000000Z"):
        path = tmp_path / "leave.ics"
        path.write_bytes(ics(other + stamp))
        plan = read_days_off(path, sqlite_book, act.by, LATER)
        assert plan.steps == ()
        assert "neither a higher SEQUENCE" in plan.faults[0].says
        assert stands(sqlite_book) == [old]
    later = ics(other + "\nDTSTAMP:20260310T000000Z\nLAST-MODIFIED:20260314T120000Z")
    assert bring(sqlite_book, act, tmp_path, later, at=LATER).moved == 1
    assert stands(sqlite_book)[0].last_day == date(2026, 5, 10)


def test_a_cancelled_one_is_struck_through_and_stays_so(
    book: Book, act: Act, tmp_path: Path
) -> None:
    bring(book, act, tmp_path, ics(LEAVE))
    gone = ics(LEAVE + "\nSEQUENCE:1\nSTATUS:CANCELLED")
    assert bring(book, act, tmp_path, gone, at=LATER) == DaysOffDone(0, 0, 1, 0)
    assert stands(book) == []
    assert bring(book, act, tmp_path, gone, at=LATER) == DaysOffDone(0, 0, 0, 0)
    assert bring(book, act, tmp_path, ics(LEAVE), at=LATER).added == 0
    back = ics(LEAVE + "\nSEQUENCE:2")
    assert bring(book, act, tmp_path, back, at=LATER).added == 1


def test_one_week_of_a_series_falls_away(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    bring(sqlite_book, act, tmp_path, ics(SERIES))
    fewer = SERIES + "EXDATE;TZID=Europe/London:20260511T090000\nSEQUENCE:3"
    assert bring(sqlite_book, act, tmp_path, ics(fewer), at=LATER) == DaysOffDone(0, 0, 1, 3)
    assert [row.first_day.day for row in stands(sqlite_book)] == [4, 18, 25]
    assert {row.sequence for row in stands(sqlite_book)} == {3}


def test_what_a_person_struck_does_not_come_back(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    bring(sqlite_book, act, tmp_path, ics(LEAVE))
    (row,) = stands(sqlite_book)
    with sqlite_book.writing(act) as writing:
        drop_day_off(writing, row.id, row.rev, "works after all")
    assert bring(sqlite_book, act, tmp_path, ics(LEAVE), at=LATER).added == 0
    assert stands(sqlite_book) == []


def test_what_was_entered_by_hand_is_not_doubled(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    with sqlite_book.writing(act) as writing:
        add_day_off(writing, act.by, date(2026, 5, 4), date(2026, 5, 8))
    assert bring(sqlite_book, act, tmp_path, ics(LEAVE)) == DaysOffDone(0, 0, 0, 1)


def test_two_people_may_bring_the_same_event(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    bring(sqlite_book, act, tmp_path, ics(LEAVE))
    assert bring(sqlite_book, act, tmp_path, ics(LEAVE), whole=True).added == 1
    assert {row.staff_id for row in stands(sqlite_book)} == {act.by, None}


def test_who_has_left_is_refused(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    with sqlite_book.writing(act) as writing:
        gone = writing.add("staff", name="Ben Vet", role="vet")
        writing.strike("staff", gone, "left")
    path = tmp_path / "leave.ics"
    path.write_bytes(ics(LEAVE))
    for who in (gone, UUID(int=5)):
        with pytest.raises(NotFound):
            read_days_off(path, sqlite_book, who, NOW)
    with pytest.raises(BadInput, match="cannot be read"):
        read_days_off(tmp_path / "none.ics", sqlite_book, act.by, NOW)


def test_the_desk_hears_of_it(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    pond = garden(sqlite_book, act)[1]
    bring(sqlite_book, act, tmp_path, ics(LEAVE))
    wish = wish_of(sqlite_book, pond_id=pond, kind="examination")
    said = [
        each.says for each in objections(sqlite_book, wish, date(2026, 5, 5), time(10), act.by, NOW)
    ]
    assert any("Leave" in each or "away" in each for each in said)


def test_what_we_write_we_read_again(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    with sqlite_book.writing(act) as writing:
        add_day_off(writing, act.by, date(2026, 3, 28), date(2026, 3, 30), from_time=time(12))
        add_day_off(writing, act.by, date(2026, 10, 24), date(2026, 10, 26), says="away; far, \\o/")
    written = calendar_of(sqlite_book, NOW, staff_id=act.by, last=UNTIL)
    found = [absence.stretches for absence in read(written).absences]
    assert found == [
        (Stretch(date(2026, 3, 28), date(2026, 3, 30), time(12), None),),
        (Stretch(date(2026, 10, 24), date(2026, 10, 26)),),
    ]
    assert parsed(written).events[1].summary == "Ada Vet away: away; far, \\o/"


def test_hours_of_another_zone_as_utc_has_them() -> None:
    tokyo = ZoneInfo("Asia/Tokyo")
    (absence,) = read(ics("UID:a\nDTSTART:20260504T160000Z\nDURATION:PT1H"), tokyo).absences
    at = datetime(2026, 5, 4, 16, tzinfo=UTC).astimezone(tokyo)
    assert (absence.stretches[0].first_day, absence.stretches[0].from_time) == (
        at.date(),
        at.time(),
    )
