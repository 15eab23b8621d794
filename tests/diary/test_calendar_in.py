"""Days off out of calendar files of our own making, in the shapes that RFC 5545 allows."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest
from calendar_entries import NOW, garden, ics, parsed
from hypothesis import given, settings
from hypothesis import strategies as st

from store.book.act import Act
from store.book.book import Book
from store.diary.calendar.lines import MOST_BYTES, components
from store.diary.calendar.moments import length_of
from store.diary.calendar.read import CalendarRead, Stretch, read_absences
from store.diary.kept.files.calendar_in import DaysOffDone, read_days_off, save_days_off
from store.diary.kept.files.calendar_out import calendar_of
from store.diary.kept.roster.days_off import DayOff, add_day_off, days_off, drop_day_off
from store.diary.kept.visits.bookings import objections
from store.diary.kept.visits.wishes import wish_of
from store.errors import BadInput, NotFound

LONDON = ZoneInfo("Europe/London")
SINCE, UNTIL = date(2026, 1, 1), date(2026, 12, 31)
LATER = NOW + timedelta(days=1)


def read(data: bytes, zone: ZoneInfo = LONDON) -> CalendarRead:
    return read_absences(data, zone, SINCE, UNTIL)


def one(*lines: str, zone: ZoneInfo = LONDON) -> Any:
    """The only absence of a file with one event."""
    found = read(ics("\n".join(["UID:a", *lines])), zone)
    assert found.faults == ()
    (absence,) = found.absences
    return absence


def days(*lines: str, zone: ZoneInfo = LONDON) -> list[tuple[str, str, str, str]]:
    return [
        (
            str(each.first_day), str(each.last_day),
            f"{each.from_time:%H:%M}" if each.from_time else "",
            f"{each.until_time:%H:%M}" if each.until_time else "",
        )
        for each in one(*lines, zone=zone).stretches
    ]  # fmt: skip


def whole(*pairs: str) -> list[tuple[str, str, str, str]]:
    return [(*pair.split("/"), "", "") if "/" in pair else (pair, pair, "", "") for pair in pairs]  # type: ignore[misc]


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        pytest.param(["DTSTART;VALUE=DATE:20260504"], whole("2026-05-04"), id="a day"),
        pytest.param(
            ["DTSTART;VALUE=DATE:20260504", "DTEND;VALUE=DATE:20260509"],
            whole("2026-05-04/2026-05-08"), id="days, the end is the day after",
        ),
        pytest.param(
            ["DTSTART;VALUE=DATE:20260504", "DTEND;VALUE=DATE:20260504"],
            whole("2026-05-04"), id="the same day twice",
        ),
        pytest.param(
            ["DTSTART;VALUE=DATE:20260504", "DURATION:P1W"],
            whole("2026-05-04/2026-05-10"), id="a week long",
        ),
        pytest.param(["DTSTART:20260504"], whole("2026-05-04"), id="a day without its VALUE"),
        pytest.param(
            ["DTSTART:20260504T090000", "DTEND:20260504T120000"],
            [("2026-05-04", "2026-05-04", "09:00", "12:00")], id="floating",
        ),
        pytest.param(
            ["DTSTART:20260504T090000Z", "DTEND:20260504T120000Z"],
            [("2026-05-04", "2026-05-04", "10:00", "13:00")], id="UTC, summer here",
        ),
        pytest.param(
            ["DTSTART:20260304T090000Z", "DURATION:PT1H30M"],
            [("2026-03-04", "2026-03-04", "09:00", "10:30")], id="UTC, winter here",
        ),
        pytest.param(
            ["DTSTART;TZID=America/New_York:20260504T200000",
             "DTEND;TZID=America/New_York:20260504T210000"],
            [("2026-05-05", "2026-05-05", "01:00", "02:00")], id="a zone to the west, next day here",
        ),
        pytest.param(
            ['DTSTART;TZID="Europe/Berlin":20260504T000000', "DTEND;TZID=Europe/Berlin:20260505T000000"],
            [("2026-05-03", "2026-05-04", "23:00", "23:00")], id="a day of another zone",
        ),
        pytest.param(
            ["DTSTART:20260504T000000", "DTEND:20260506T000000"],
            whole("2026-05-04/2026-05-05"), id="midnight to midnight",
        ),
        pytest.param(
            ["DTSTART:20260504T140000", "DTEND:20260506T120000"],
            [("2026-05-04", "2026-05-06", "14:00", "12:00")], id="from an afternoon to a noon",
        ),
        pytest.param(
            ["DTSTART:20260504T000000", "DTEND:20260504T120000"],
            [("2026-05-04", "2026-05-04", "", "12:00")], id="the morning",
        ),
        pytest.param(
            ["DTSTART:20260504T090030", "DTEND:20260504T100001"],
            [("2026-05-04", "2026-05-04", "09:00", "10:01")], id="seconds are rounded outwards",
        ),
        pytest.param(
            ["DTSTART;TZID=/example.org/20240101_1/Europe/Oslo:20260504T100000", "DURATION:PT1H"],
            [("2026-05-04", "2026-05-04", "09:00", "10:00")], id="a zone with its writer before it",
        ),
        pytest.param(
            ["DTSTART;TZID=W. Europe Standard Time:20260504T100000", "DURATION:PT1H"],
            [("2026-05-04", "2026-05-04", "09:00", "10:00")], id="a zone by another table",
        ),
        pytest.param(
            ["DTSTART;TZID=Europe/London:20260329T003000", "DURATION:PT2H"],
            [("2026-03-29", "2026-03-29", "00:30", "03:30")], id="two hours across the hour left out",
        ),
        pytest.param(
            ["DTSTART;TZID=Europe/London:20260329T013000", "DURATION:PT1H"],
            [("2026-03-29", "2026-03-29", "02:30", "03:30")], id="begins in the hour left out",
        ),
        pytest.param(
            ["DTSTART;TZID=Europe/London:20260328T120000", "DURATION:P1D"],
            [("2026-03-28", "2026-03-29", "12:00", "12:00")], id="a day by the calendar, of 23 h",
        ),
        pytest.param(
            ["DTSTART;TZID=Europe/London:20260328T120000", "DURATION:PT24H"],
            [("2026-03-28", "2026-03-29", "12:00", "13:00")], id="24 hours by the clock",
        ),
        pytest.param(
            ["DTSTART;TZID=Europe/London:20261025T014500", "DURATION:PT30M"],
            [("2026-10-25", "2026-10-25", "01:15", "01:45")], id="into the hour that comes twice",
        ),
        pytest.param(["DTSTART;VALUE=DATE:20280229"], whole("2028-02-29"), id="29 February"),
    ],
)  # fmt: skip
def test_one_event(lines: list[str], expected: list[tuple[str, str, str, str]]) -> None:
    assert days(*lines) == expected


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        pytest.param(
            ["DTSTART;VALUE=DATE:20260130", "RRULE:FREQ=MONTHLY;BYMONTHDAY=30;COUNT=4"],
            whole("2026-01-30", "2026-03-30", "2026-04-30", "2026-05-30"), id="no 30 February",
        ),
        pytest.param(
            ["DTSTART;VALUE=DATE:20251225", "RRULE:FREQ=YEARLY"], whole("2026-12-25"),
            id="only within the days that are read",
        ),
        pytest.param(
            ["DTSTART;VALUE=DATE:20260504", "DTEND;VALUE=DATE:20260506",
             "RRULE:FREQ=WEEKLY;COUNT=3", "EXDATE;VALUE=DATE:20260511"],
            whole("2026-05-04/2026-05-05", "2026-05-18/2026-05-19"), id="a week is left out",
        ),
        pytest.param(
            ["DTSTART;VALUE=DATE:20260504", "RDATE;VALUE=DATE:20260601,20260603",
             "RDATE;VALUE=DATE:20260801"],
            whole("2026-05-04", "2026-06-01", "2026-06-03", "2026-08-01"), id="single days more",
        ),
        pytest.param(
            ["DTSTART;TZID=Europe/London:20260323T140000", "DURATION:PT2H",
             "RRULE:FREQ=WEEKLY;UNTIL=20260406T130000Z"],
            [(day, day, "14:00", "16:00") for day in ("2026-03-23", "2026-03-30", "2026-04-06")],
            id="stays in the afternoon across the change; until that very instant",
        ),
        pytest.param(
            ["DTSTART;TZID=Europe/London:20260323T140000", "DURATION:PT2H",
             "RRULE:FREQ=WEEKLY;UNTIL=20260406T125959Z"],
            [(day, day, "14:00", "16:00") for day in ("2026-03-23", "2026-03-30")],
            id="until a second before",
        ),
        pytest.param(
            ["DTSTART;TZID=Europe/London:20260504T140000", "DURATION:PT2H",
             "RRULE:FREQ=DAILY;COUNT=4", "EXDATE:20260505T130000Z",
             "EXDATE;TZID=Europe/London:20260506T140000"],
            [(day, day, "14:00", "16:00") for day in ("2026-05-04", "2026-05-07")],
            id="left out by UTC and by local time",
        ),
        pytest.param(
            ["DTSTART;TZID=Europe/London:20260504T140000", "DURATION:PT2H",
             "RRULE:FREQ=DAILY;COUNT=3", "EXDATE;VALUE=DATE:20260505"],
            [(day, day, "14:00", "16:00") for day in ("2026-05-04", "2026-05-06")],
            id="left out by its day",
        ),
        pytest.param(
            ["DTSTART:20260504T140000", "DURATION:PT2H",
             "RDATE;VALUE=PERIOD:20260601T080000/PT1H,20260602T080000/20260602T103000"],
            [("2026-05-04", "2026-05-04", "14:00", "16:00"),
             ("2026-06-01", "2026-06-01", "08:00", "09:00"),
             ("2026-06-02", "2026-06-02", "08:00", "10:30")], id="periods of their own length",
        ),
        pytest.param(
            ["DTSTART;VALUE=DATE:20260504", "RRULE:FREQ=DAILY;COUNT=5",
             "EXRULE:FREQ=DAILY;INTERVAL=2;COUNT=3"],
            whole("2026-05-05", "2026-05-07"), id="an old rule of what is left out",
        ),
        pytest.param(
            ["DTSTART;VALUE=DATE:20251228", "DTEND;VALUE=DATE:20260104", "RRULE:FREQ=YEARLY"],
            whole("2025-12-28/2026-01-03", "2026-12-28/2027-01-03"),
            id="begun before the days that are read",
        ),
    ],
)  # fmt: skip
def test_what_repeats(lines: list[str], expected: list[tuple[str, str, str, str]]) -> None:
    assert days(*lines) == expected


SERIES = """
UID:a
DTSTART;TZID=Europe/London:20260504T090000
DURATION:PT1H
RRULE:FREQ=WEEKLY;COUNT=4
"""


def hours(data: bytes) -> list[str]:
    (absence,) = read(data).absences
    return [
        f"{each.first_day:%d %b} {each.from_time:%H:%M}-{each.until_time:%H:%M}"
        for each in absence.stretches
    ]


def test_one_day_of_a_series_is_moved() -> None:
    moved = """
        UID:a
        RECURRENCE-ID;TZID=Europe/London:20260511T090000
        DTSTART;TZID=Europe/London:20260512T130000
        DTEND;TZID=Europe/London:20260512T150000
    """
    expected = ["04 May 09:00-10:00", "12 May 13:00-15:00", "18 May 09:00-10:00",
                "25 May 09:00-10:00"]  # fmt: skip
    assert hours(ics(SERIES, moved)) == expected
    assert hours(ics(moved, SERIES)) == expected
    assert (
        hours(
            ics(SERIES, moved.replace(";TZID=Europe/London:20260511T090000", ":20260511T080000Z"))
        )
        == expected
    )


def test_one_day_of_a_series_is_cancelled() -> None:
    gone = "UID:a\nRECURRENCE-ID:20260511T080000Z\nDTSTART:20260511T080000Z\nSTATUS:CANCELLED"
    assert hours(ics(SERIES, gone)) == [
        "04 May 09:00-10:00", "18 May 09:00-10:00", "25 May 09:00-10:00"
    ]  # fmt: skip


def test_a_day_and_all_later_ones_are_moved() -> None:
    moved = """
        UID:a
        RECURRENCE-ID;RANGE=THISANDFUTURE;TZID=Europe/London:20260518T090000
        DTSTART;TZID=Europe/London:20260519T100000
        DURATION:PT30M
    """
    assert hours(ics(SERIES, moved)) == [
        "04 May 09:00-10:00", "11 May 09:00-10:00", "19 May 10:00-10:30", "26 May 10:00-10:30"
    ]  # fmt: skip


def test_of_two_versions_the_newest_counts() -> None:
    old = "UID:a\nSEQUENCE:1\nDTSTART;VALUE=DATE:20260504"
    new = "UID:a\nSEQUENCE:2\nDTSTART;VALUE=DATE:20260505"
    for order in ((old, new), (new, old)):
        (absence,) = read(ics(*order)).absences
        assert (absence.sequence, absence.stretches) == (2, (Stretch(*[date(2026, 5, 5)] * 2),))


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("TRANSP:TRANSPARENT", "marked as free time"),
        ("STATUS:CANCELLED", "cancelled"),
        ("DURATION:PT0S", "of no length"),
    ],
)
def test_what_is_no_absence(line: str, why: str) -> None:
    absence = one("DTSTART:20260504T090000", line)
    assert (absence.stretches, absence.why_not) == ((), why)


def test_busy_is_what_nobody_marks() -> None:
    assert one("DTSTART;VALUE=DATE:20260504", "TRANSP:OPAQUE", "STATUS:TENTATIVE").stretches


def test_a_file_that_takes_back() -> None:
    (absence,) = read(ics("UID:a\nDTSTART;VALUE=DATE:20260504", head="METHOD:CANCEL")).absences
    assert absence.why_not == "cancelled"


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        (["SUMMARY:x"], "no beginning"),
        (["DTSTART:2026-05-04"], "no day and no time"),
        (["DTSTART;VALUE=DATE:20260230"], "no day and no time"),
        (["DTSTART:20260504T250000"], "no day and no time"),
        (["DTSTART:00010101"], "the year 1,"),
        (["DTSTART:20260504T100000", "DTEND:20260504T090000"], "ends before it begins"),
        (["DTSTART;VALUE=DATE:20260504", "DTEND;VALUE=DATE:20260503"], "ends before it begins"),
        (["DTSTART;VALUE=DATE:20260504", "DTEND:20260504T100000Z"], "begins with a day"),
        (["DTSTART:20260504T100000", "DTEND:20260504T120000Z"], "at one end only"),
        (["DTSTART:20260504T100000", "DURATION:-PT1H"], "less than nothing"),
        (["DTSTART:20260504T100000", "DURATION:one hour"], "no length of time"),
        (["DTSTART:20260504T100000", "DURATION:P"], "no length of time"),
        (["DTSTART;TZID=Moon/Tranquility:20260504T100000"], "“Moon/Tranquility”, which is not known"),
        (["DTSTART;TZID=../../etc/passwd:20260504T100000"], "which is not known"),
        (["DTSTART:20260504T100000", "SEQUENCE:lots"], "SEQUENCE"),
        (["DTSTART:20260504T100000", "DURATION:PT1H", "RRULE:FREQ=SECONDLY"], "not read here"),
        (["DTSTART:20260504T100000", "DURATION:PT1H", "RRULE:FREQ=DAILY;INTERVAL=0"], "not read here"),
        (["DTSTART:20260504T100000", "DURATION:PT1H", "RRULE:every day"], "not read here"),
        (["DTSTART:20260504T100000", "DURATION:PT1H", "RRULE:FREQ=DAILY;UNTIL=20260230T000000Z"], "no day and no time"),
        (["DTSTART:20260504T100000", "EXDATE:never"], "no day and no time"),
    ],
)  # fmt: skip
def test_a_broken_event_is_told_with_its_line_and_the_others_are_read(
    lines: list[str], says: str
) -> None:
    good = "UID:good\nDTSTART;VALUE=DATE:20260504"
    found = read(ics(good, "\n".join(["UID:bad", *lines]), good.replace("good", "also")))
    assert [absence.uid for absence in found.absences] == ["good", "also"]
    ((line, told),) = [(fault.line, fault.says) for fault in found.faults]
    assert line == 8
    assert told.startswith("The event ")
    assert says in told


@pytest.mark.parametrize(
    ("change", "line", "says"),
    [
        (lambda data: data.replace(b"SUMMARY:x", b"SUMMARY x"), 7, "no line of a calendar"),
        (lambda data: data.replace(b"SUMMARY:x", b"\xff\xfe:x"), 7, "not UTF-8"),
        (lambda data: data.replace(b"SUMMARY:x", b"SUMMARY:\xe9t\xe9"), 7, "not UTF-8"),
        (lambda data: data.replace(b"SUMMARY:x", b"END:VALARM"), 7, "nothing began"),
        (lambda data: data[: data.rindex(b"END:VEVENT")], 9, "not ended"),
    ],
)
def test_a_broken_line_is_told(change: Any, line: int, says: str) -> None:
    first = "UID:a\nDTSTART;VALUE=DATE:20260504\nSUMMARY:x"
    found = read(change(ics(first, first.replace("UID:a", "UID:b"))))
    assert found.absences[0].uid == "a"
    assert line in [fault.line for fault in found.faults]
    assert any(says in fault.says for fault in found.faults)


@pytest.mark.parametrize("data", [b"", b"hello", b"BEGIN:VEVENT\r\nEND:VEVENT\r\n", b"\0" * 100])
def test_what_is_no_calendar_is_refused(data: bytes) -> None:
    with pytest.raises(BadInput, match="no calendar"):
        read(data)
    with pytest.raises(BadInput, match="larger"):
        components(b" " * (MOST_BYTES + 1))


def test_a_file_of_nothing_but_faults_is_refused() -> None:
    with pytest.raises(BadInput, match="the first of them line 2"):
        read(b"BEGIN:VCALENDAR\n" + b"x\n" * 2000 + b"END:VCALENDAR")


def test_an_event_with_too_many_single_times_is_told() -> None:
    found = read(ics("UID:a\nDTSTART;VALUE=DATE:20260504\nRDATE:" + ",".join(["20260505"] * 6000)))
    assert "more than 5,000 single times" in found.faults[0].says


def test_line_ends_folds_and_letters_cut_in_two() -> None:
    event = "UID:a\nDTSTART;VALUE=DATE:20260504\nSUMMARY:Fähre\\, Öre\\;\\nzurück"
    data = ics(event)
    cut = data.replace("ä".encode(), "ä".encode()[:1] + b"\r\n " + "ä".encode()[1:])
    for each in (data, cut, cut.replace(b"\r\n", b"\n"), cut.replace(b"\r\n", b"\r"),
                 b"\xef\xbb\xbf" + data, data.replace(b"SUMMARY", b"summary;LANGUAGE=de")):  # fmt: skip
        found = read(each)
        assert found.faults == ()
        assert found.absences[0].says == "Fähre, Öre; zurück"


def test_an_alarm_within_an_event_changes_nothing() -> None:
    event = "UID:a\nDTSTART;VALUE=DATE:20260504\nBEGIN:VALARM\nTRIGGER:-PT1H\nSUMMARY:no\nDURATION:PT5M\nEND:VALARM"
    assert one(*event.splitlines()[1:]).stretches == (Stretch(*[date(2026, 5, 4)] * 2),)


def test_tasks_and_journals_are_told_and_left() -> None:
    data = ics("UID:a\nDTSTART;VALUE=DATE:20260504").replace(
        b"END:VCALENDAR", b"BEGIN:VTODO\r\nUID:t\r\nEND:VTODO\r\nBEGIN:VTODO\r\nEND:VTODO\r\nEND:VCALENDAR"
    )  # fmt: skip
    found = read(data)
    assert len(found.absences) == 1
    assert "Not read, as they are no events: 2 tasks." in found.told


def test_a_zone_that_only_the_file_describes() -> None:
    zone = """BEGIN:VTIMEZONE
TZID:Ours
BEGIN:STANDARD
DTSTART:20001029T030000
RRULE:FREQ=YEARLY;BYMONTH=10;BYDAY=-1SU
TZOFFSETFROM:+0200
TZOFFSETTO:+0100
END:STANDARD
BEGIN:DAYLIGHT
DTSTART:20000326T020000
RRULE:FREQ=YEARLY;BYMONTH=3;BYDAY=-1SU
TZOFFSETFROM:+0100
TZOFFSETTO:+0200
END:DAYLIGHT
END:VTIMEZONE""".replace("\n", "\r\n").encode()
    event = "UID:a\nDTSTART;TZID=Ours:20260303T100000\nDURATION:PT1H\nRRULE:FREQ=MONTHLY;COUNT=2"
    data = ics(event).replace(b"BEGIN:VEVENT", zone + b"\r\nBEGIN:VEVENT")
    assert hours(data) == ["03 Mar 09:00-10:00", "03 Apr 09:00-10:00"]
    assert any("“Ours” is not known here" in told for told in read(data).told)
    endless = data.replace(b"FREQ=YEARLY;BYMONTH=3;BYDAY=-1SU", b"FREQ=SECONDLY")
    assert "not known" in read(endless).faults[0].says


RULES = (
    "FREQ=DAILY;INTERVAL=3", "FREQ=WEEKLY;BYDAY=MO,FR", "FREQ=WEEKLY;INTERVAL=2;WKST=SU;BYDAY=SU",
    "FREQ=MONTHLY;BYMONTHDAY=31", "FREQ=MONTHLY;BYDAY=-1FR", "FREQ=MONTHLY;BYDAY=2TU;COUNT=5",
    "FREQ=YEARLY;BYMONTH=3,10;BYDAY=1MO", "FREQ=DAILY;COUNT=200",
)  # fmt: skip
ZONES = ("Europe/London", "America/Los_Angeles", "Australia/Lord_Howe", "Asia/Kolkata", "UTC")


@settings(max_examples=40, deadline=None)
@given(
    rule=st.sampled_from(RULES),
    zone=st.sampled_from(ZONES),
    start=st.datetimes(datetime(2026, 1, 1), datetime(2026, 4, 1)),  # noqa: DTZ001
    minutes=st.integers(15, 600),
    without=st.integers(0, 30),
)
def test_repeats_as_another_library_expands_them(
    rule: str, zone: str, start: datetime, minutes: int, without: int
) -> None:
    start = start.replace(second=0, microsecond=0, hour=start.hour % 20 + 3)
    left_out = (start + timedelta(days=without)).strftime("%Y%m%dT%H%M%S")
    from dateutil.rrule import rrulestr

    first = rrulestr(rule, dtstart=start)[0]  # what begins off its own rule is nobody's agreement
    data = ics(
        f"UID:a\nDTSTAMP:20260101T000000Z\nDTSTART;TZID={zone}:{first:%Y%m%dT%H%M%S}\n"
        f"DTEND;TZID={zone}:{first + timedelta(minutes=minutes):%Y%m%dT%H%M%S}\n"
        f"RRULE:{rule}\nEXDATE;TZID={zone}:{left_out}"
    )
    own = ZoneInfo(zone)
    expected = []
    for each in parsed(data).timeline_tz(own):
        if each.dtstart.date() > UNTIL:
            break
        if each.dtend.date() >= SINCE:
            expected.append(each.dtstart.astimezone(own).replace(tzinfo=None))
    (absence,) = read_absences(data, own, SINCE, UNTIL).absences
    found = [
        datetime.combine(each.first_day, each.from_time or time()) for each in absence.stretches
    ]
    assert found == expected


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=300), st.integers(0, 200), st.integers(0, 60))
def test_no_file_brings_the_reader_down(noise: bytes, at: int, cut: int) -> None:
    data = ics(SERIES, "UID:b\nDTSTART;VALUE=DATE:20260504\nRDATE;VALUE=DATE:20260505")
    broken = data[:at] + noise + data[at + cut :]
    try:
        found = read(broken)
    except BadInput:
        return
    assert len(found.absences) <= 12
    assert all(fault.line >= 1 for fault in found.faults)


def test_lengths_of_the_standard() -> None:
    assert length_of("P7W").days == 49
    assert length_of("+P15DT5H0M20S").time == timedelta(hours=5, seconds=20)


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
