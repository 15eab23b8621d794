"""From a promise over slot, visit, diary and calendar file to the owner's text, by the wall.

Zones east and west of Greenwich, with both changes of the clock and with none; the present is
twenty minutes before midnight there, when the day in UTC is another one.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from calendar_entries import garden, parsed

from store.book.act import Act
from store.book.clients import sites
from store.book.opening import open_book
from store.book.practice import begin
from store.diary.kept.due.desk import desk_list
from store.diary.kept.files.calendar_out import calendar_of
from store.diary.kept.files.reminders import reminders
from store.diary.kept.promised.follow_ups import promise
from store.diary.kept.roster.staff_hours import set_hours
from store.diary.kept.visits.bookings import book_visit, objections, propose, visiting, wish_for
from store.diary.kept.visits.diary import diary
from store.diary.times.spell import MIDNIGHT, Spell
from store.paper.paper import date_in_words


@pytest.mark.parametrize(
    ("name", "day", "offset_h", "ends", "work_min"),
    [
        ("Pacific/Auckland", date(2026, 4, 5), 13.0, time(2, 30), 25 * 60),  # 03:00 becomes 02:00
        ("Pacific/Auckland", date(2026, 9, 27), 12.0, time(4, 30), 23 * 60),  # 02:00 becomes 03:00
        ("America/St_Johns", date(2028, 3, 12), -3.5, time(4, 30), 23 * 60),
        ("America/St_Johns", date(2026, 11, 1), -2.5, time(2, 30), 25 * 60),
        ("Asia/Kathmandu", date(2028, 2, 29), 5.75, time(3, 30), 24 * 60),
    ],
)
def test_from_the_promise_to_the_owner_the_wall_says_the_same(
    tmp_path: Path, name: str, day: date, offset_h: float, ends: time, work_min: int
) -> None:
    zone, before = ZoneInfo(name), day - timedelta(days=1)
    now = datetime.combine(before, time(23, 40), zone).astimezone(UTC)
    at, minutes = time(1, 30), 120
    with open_book(tmp_path / "new.pondround", now=now, create=True) as book:
        act = begin(book, now, practice="P", time_zone=name, person="Ada Vet", role="vet")
        assert isinstance(act, Act)
        place, pond = garden(book, act)
        owner = next(one.client_id for one in sites(book) if one.id == place)
        with book.writing(act) as writing:
            set_hours(writing, act.by, "daily 0-24", before)
            promise(
                writing, client_id=owner, pond_id=pond, kind="look_again", says="look again",
                first_on=day, early_days=0, late_days=0,
            )  # fmt: skip
        (line,) = desk_list(book, now).lines
        assert (line.promised.due_on, line.late_days) == (day, -1), "tomorrow, by the wall"
        wish = wish_for(book, [line.promised])
        slots = propose(book, wish, now).slots
        assert {one.on_day for one in slots} == {day}
        assert objections(book, wish, day, at, act.by, now, minutes=minutes) == ()
        with book.writing(act) as writing:
            visit = book_visit(writing, wish, day, at, act.by, minutes=minutes)
        assert visiting(book, visit).ends == ends
        (vet,) = diary(book, day, day)
        assert vet.free == (Spell(time(0), at), Spell(ends, MIDNIGHT))
        assert (vet.work_min, vet.booked_min) == (work_min, minutes)
        (event,) = parsed(calendar_of(book, now)).events
        begins = datetime.combine(day, at, UTC) - timedelta(hours=offset_h)
        assert event.dtstart.astimezone(UTC) == begins
        assert event.dtend.astimezone(UTC) == begins + timedelta(minutes=minutes)
        assert event.dtend.astimezone(zone).replace(tzinfo=None) == datetime.combine(day, ends)
        (told,) = reminders(book, now)
        assert f"- {date_in_words(day)} at 01:30: Ada Vet comes for look again" in told.text
        assert f"written on {date_in_words(before)}" in told.text
        evening = datetime.combine(day, time(23, 40), zone).astimezone(UTC)
        (kept,) = desk_list(book, evening).lines
        assert (kept.late_days, kept.booked is not None and kept.booked.in_window) == (0, True)
