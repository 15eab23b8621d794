"""A few of the hostile texts in calendars of days off; the long run tries them all."""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfo

from store.diary.calendar.read import read_absences
from store.errors import BadInput
from tests.faults.hostile import harmful, hostile, one_sentence
from tests.faults.hostile_texts import calendars

ZONE = ZoneInfo("Europe/London")
SINCE, UNTIL = date(2026, 2, 1), date(2026, 6, 1)
GOOD = {date(2026, 5, 4), date(2026, 5, 20)}


def test_what_stands_beside_a_hostile_event_is_read() -> None:
    for what, data, _ in calendars(hostile(17, huge=False)):
        try:
            read = read_absences(data, ZONE, SINCE, UNTIL)
        except BadInput as trouble:
            assert what == "the file", what
            one_sentence(trouble.message)
            continue
        for one in read.absences:
            assert not harmful(one.says), what
        for fault in read.faults:
            assert not harmful(fault.says, lines=False), what
        days = {each.first_day for one in read.absences for each in one.stretches}
        assert days >= GOOD or what in {"a part", "the head"}, what
