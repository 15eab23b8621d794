"""Days off out of calendar files of our own making, in the shapes that RFC 5545 allows."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from calendar_entries import LONDON, NOW, SERIES, SINCE, UNTIL, ics, parsed, read
from hypothesis import given, settings
from hypothesis import strategies as st

from store.diary.calendar.lines import MOST_BYTES, components
from store.diary.calendar.moments import length_of
from store.diary.calendar.read import Stretch, read_absences
from store.errors import BadInput

LATER = NOW + timedelta(days=1)


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
