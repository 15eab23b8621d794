"""Calendar files against what RFC 5545 prints, and against two readers that are not ours.

- RFC 5545, B. Desruisseaux (ed.), Internet Calendaring and Scheduling Core Object Specification
  (iCalendar), 2009: examples of 3.1 (folding), 3.3.5 (times that are left out or come twice),
  3.3.6 (durations), 3.3.11 (text), 3.6.1 (events), 3.6.5 (time zones), 3.8.5.3 (recurrence).
- The packages `ical` and `dateutil` read the files that are written; the time zone database, by
  `zoneinfo`, says which instant a local time is.
"""

from __future__ import annotations

import io
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from dateutil.tz import tzical
from ical.calendar import Calendar
from ical.calendar_stream import IcsCalendarStream

from store.diary.calendar.lines import Component, ContentLine, components
from store.diary.calendar.moments import Zones, length_of, moment_of
from store.diary.calendar.read import read_absences
from store.diary.calendar.write import Event, calendar_bytes

NOW = datetime(2026, 1, 1, tzinfo=UTC)
NEW_YORK = ZoneInfo("America/New_York")

ZONES = (
    "Europe/London", "Europe/Berlin", "America/New_York", "America/Los_Angeles",  # east and west
    "America/St_Johns", "Australia/Adelaide", "Asia/Kolkata", "Asia/Kathmandu",  # half and quarter hours
    "Australia/Sydney", "America/Santiago", "Pacific/Auckland", "Antarctica/Troll",  # southern
    "Australia/Lord_Howe",  # moves by half an hour
    "Asia/Tokyo", "UTC", "America/Phoenix",  # without changes
    "Africa/Casablanca", "Europe/Dublin",  # runs backwards, for a month or for a winter
    "Pacific/Apia", "Pacific/Kiritimati",  # at the date line
)  # fmt: skip


def calendar(data: bytes) -> Calendar:
    (found,) = IcsCalendarStream.from_ics(data.decode()).calendars
    return found


def a_year(zone: ZoneInfo) -> list[Event]:
    """Visits around each change of the clock, by night and by day, and on every tenth day."""
    days = {date(2026, 1, 1) + timedelta(days=10 * n) for n in range(43)}
    at = datetime(2026, 1, 1, tzinfo=UTC)
    while at.year < 2027:
        if (
            at.astimezone(zone).utcoffset()
            != (at + timedelta(hours=6)).astimezone(zone).utcoffset()
        ):
            days |= {at.astimezone(zone).date() + timedelta(days=n) for n in (-1, 0, 1)}
        at += timedelta(hours=6)
    hours = [time(hour, minute) for hour in range(5) for minute in (0, 30)]
    return [
        Event(f"{day}-{hour}", 0, "visit", day, NOW, NOW, hour, 45)
        for day in sorted(days)
        for hour in (*hours, time(9), time(16, 30))
    ]


@pytest.mark.parametrize("name", ZONES)
def test_every_event_is_at_the_instant_that_the_zone_database_says(name: str) -> None:
    zone = ZoneInfo(name)
    events = a_year(zone)
    written = {one.uid: one for one in events}
    data = calendar_bytes("a year", "x", events, zone, NOW)
    # Under a name that nobody knows the reader has nothing but our description of the zone.
    unknown = data.replace(name.encode(), b"Nowhere/Known") if name != "UTC" else data
    for each in (data, unknown):
        read = calendar(each).events
        assert len(read) == len(written)
        for event in read:
            asked = written[event.uid]
            begins = datetime.combine(asked.on_day, asked.at_time or time(), zone).astimezone(UTC)
            assert event.dtstart.astimezone(UTC) == begins, (name, asked)
            assert event.dtend.astimezone(UTC) == begins + timedelta(minutes=45), (name, asked)


@pytest.mark.parametrize("name", ZONES)
def test_the_zone_as_it_is_described_is_the_zone(name: str) -> None:
    zone = ZoneInfo(name)
    text = calendar_bytes("a year", "x", a_year(zone), zone, NOW).decode()
    described = text[text.index("BEGIN:VTIMEZONE") : text.index("BEGIN:VEVENT")]
    theirs = tzical(io.StringIO(described)).get()
    at = datetime(2026, 1, 1, 0, 15, tzinfo=UTC)
    while at.year < 2027:
        local = at.astimezone(zone)
        if local.replace(fold=1).utcoffset() == local.replace(fold=0).utcoffset():
            wall = local.replace(tzinfo=None)
            assert theirs.utcoffset(wall) == local.utcoffset(), (name, wall)
        at += timedelta(hours=5, minutes=20)


def test_a_series_of_a_month_that_the_clock_runs_backwards_is_not_stepped_over() -> None:
    # Ramadan 2026, 15 February to 22 March, shorter than a search by pairs of months would see.
    zone = ZoneInfo("Africa/Casablanca")
    one, other = (
        Event(str(day), 0, "", day, NOW, NOW, time(9), 30)
        for day in (date(2026, 1, 20), date(2026, 3, 30))
    )
    assert calendar_bytes("", "", [one, other], zone, NOW).count(b"TZOFFSETFROM") == 3


# --- 3.1, 3.3.11: lines and text -----------------------------------------------------------------

LONG = "This is a long description that exists on a long line."


@pytest.mark.parametrize(
    "folded",
    [
        "DESCRIPTION:This is a long description that exists on a long line.",
        "DESCRIPTION:This is a lo\r\n ng description\r\n  that exists on a long line.",
    ],
)
def test_folded_lines_3_1(folded: str) -> None:
    data = f"BEGIN:VCALENDAR\r\n{folded}\r\nEND:VCALENDAR\r\n".encode()
    ((found,), faults) = components(data)
    assert (found.text("DESCRIPTION"), faults) == (LONG, ())


def test_lines_that_are_written_have_at_most_75_octets_and_lose_nothing() -> None:
    text = "Zwölf Boxkämpfer jagen Viktor 鯉と金魚 🐟 " * 90
    event = Event("a", 0, text[:180].strip(), date(2026, 5, 4), NOW, NOW, text=text[:3900].strip())
    data = calendar_bytes("ä" * 150, "x", [event], ZoneInfo("Europe/London"), NOW)
    lines = data.split(b"\r\n")
    assert lines[-1] == b""
    assert max(map(len, lines)) <= 75
    assert all(line.decode() for line in lines[:-1])  # no letter is cut in two
    (read,) = calendar(data).events
    assert read.summary == event.title
    assert read.description == " ".join(event.text.split(" "))


def test_text_3_3_11() -> None:
    printed = r"Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
    meant = "Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
    data = f"BEGIN:VCALENDAR\r\nDESCRIPTION:{printed}\r\nEND:VCALENDAR\r\n".encode()
    assert components(data)[0][0].text("DESCRIPTION") == meant
    event = Event("a", 0, "x", date(2026, 5, 4), NOW, NOW, text=meant)
    written = calendar_bytes("", "", [event], ZoneInfo("UTC"), NOW)
    assert f"DESCRIPTION:{printed}".encode() in written.replace(b"\r\n ", b"")


def test_parameters_3_2() -> None:
    data = (
        b'BEGIN:VCALENDAR\r\nATTENDEE;DELEGATED-TO="mailto:jdoe@example.com","mailto:jqpublic\r\n'
        b' @example.com":mailto:jsmith@example.com\r\nEND:VCALENDAR\r\n'
    )
    line = components(data)[0][0].one("ATTENDEE")
    assert line is not None
    assert line.parameters["DELEGATED-TO"] == (
        "mailto:jdoe@example.com", "mailto:jqpublic@example.com"
    )  # fmt: skip
    assert line.value == "mailto:jsmith@example.com"


# --- 3.3.5, 3.3.6: times and lengths ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("wall", "utc"),
    [
        ("20070311T023000", datetime(2007, 3, 11, 7, 30, tzinfo=UTC)),  # 3:30 EDT, UTC-04:00
        ("20071104T013000", datetime(2007, 11, 4, 5, 30, tzinfo=UTC)),  # 1:30 EDT, UTC-04:00
        ("19970714T133000", datetime(1997, 7, 14, 17, 30, tzinfo=UTC)),
    ],
)
def test_local_times_3_3_5(wall: str, utc: datetime) -> None:
    line = ContentLine(1, "DTSTART", {"TZID": ("America/New_York",)}, wall)
    assert moment_of(line, Zones(Component("VCALENDAR", 0))).instant(UTC) == utc
    day, at = date(int(wall[:4]), int(wall[4:6]), int(wall[6:8])), time(int(wall[9:11]), 30)
    (read,) = calendar(
        calendar_bytes("", "", [Event("a", 0, "", day, NOW, NOW, at, 15)], NEW_YORK, NOW)
    ).events
    assert read.dtstart.astimezone(UTC) == utc


def test_lengths_3_3_6() -> None:
    assert (length_of("P15DT5H0M20S").days, length_of("P15DT5H0M20S").time) == (
        15, timedelta(hours=5, seconds=20)
    )  # fmt: skip
    assert length_of("P7W").days == 49


# --- 3.6.1, 3.6.5: events and zones ----------------------------------------------------------------


def absences(event: str, since: date, until: date, *, zones: str = "") -> list[date]:
    text = f"BEGIN:VCALENDAR\n{zones}BEGIN:VEVENT\n{event.strip()}\nEND:VEVENT\nEND:VCALENDAR\n"
    found = read_absences(text.encode(), NEW_YORK, since, until)
    assert found.faults == ()
    return [one.first_day for absence in found.absences for one in absence.stretches]


def test_events_3_6_1() -> None:
    # The festival lasts from 28 June to 8 July 2007 and is marked as free time.
    festival = (
        "UID:20070423T123432Z-541111@example.com\nDTSTAMP:20070423T123432Z\n"
        "DTSTART;VALUE=DATE:20070628\nDTEND;VALUE=DATE:20070709\n"
        "SUMMARY:Festival International de Jazz de Montreal"
    )
    data = f"BEGIN:VCALENDAR\nBEGIN:VEVENT\n{festival}\nEND:VEVENT\nEND:VCALENDAR".encode()
    ((absence,), years) = (
        read_absences(data, NEW_YORK, date(2007, 1, 1), date(2007, 12, 31)).absences,
        (date(2007, 1, 1), date(2007, 12, 31)),
    )
    (stretch,) = absence.stretches
    assert (stretch.last_day - stretch.first_day).days + 1 == 11
    assert absences(festival + "\nTRANSP:TRANSPARENT", *years) == []
    # One day, every year, without an end.
    anniversary = "UID:1@example.com\nDTSTART;VALUE=DATE:19971102\nRRULE:FREQ=YEARLY"
    assert absences(anniversary, *years) == [date(2007, 11, 2)]


# The zone of New York since 1967, as the section prints it for its new rules.
PRINTED_ZONE = """BEGIN:VTIMEZONE
TZID:Printed
LAST-MODIFIED:20050809T050000Z
BEGIN:STANDARD
DTSTART:20071104T020000
RRULE:FREQ=YEARLY;BYMONTH=11;BYDAY=1SU
TZOFFSETFROM:-0400
TZOFFSETTO:-0500
TZNAME:EST
END:STANDARD
BEGIN:DAYLIGHT
DTSTART:20070311T020000
RRULE:FREQ=YEARLY;BYMONTH=3;BYDAY=2SU
TZOFFSETFROM:-0500
TZOFFSETTO:-0400
TZNAME:EDT
END:DAYLIGHT
END:VTIMEZONE
"""


def test_zones_3_6_5() -> None:
    ((found,), _faults) = components(f"BEGIN:VCALENDAR\n{PRINTED_ZONE}END:VCALENDAR".encode())
    zone = Zones(found).of("Printed")
    for year in (2008, 2019, 2026):
        for day in range(365):
            wall = datetime(year, 1, 1, 12) + timedelta(days=day)  # noqa: DTZ001
            assert zone.utcoffset(wall) == NEW_YORK.utcoffset(wall)


# --- 3.8.5.3: recurrence, days and years as they are printed ----------------------------------------

AUG, SEP, OCT, NOV, DEC = 8, 9, 10, 11, 12
PRINTED = (
    ("19970902", "FREQ=DAILY;INTERVAL=10;COUNT=5", 1997, {SEP: [2, 12, 22], OCT: [2, 12]}),
    ("19970902", "FREQ=WEEKLY;COUNT=10", 1997,
     {SEP: [2, 9, 16, 23, 30], OCT: [7, 14, 21, 28], NOV: [4]}),
    ("19970902", "FREQ=WEEKLY;UNTIL=19971007T000000Z;WKST=SU;BYDAY=TU,TH", 1997,
     {SEP: [2, 4, 9, 11, 16, 18, 23, 25, 30], OCT: [2]}),
    ("19970901", "FREQ=WEEKLY;INTERVAL=2;UNTIL=19971224T000000Z;WKST=SU;BYDAY=MO,WE,FR", 1997,
     {SEP: [1, 3, 5, 15, 17, 19, 29], OCT: [1, 3, 13, 15, 17, 27, 29, 31],
      NOV: [10, 12, 14, 24, 26, 28], DEC: [8, 10, 12, 22]}),
    ("19970902", "FREQ=WEEKLY;INTERVAL=2;COUNT=8;WKST=SU;BYDAY=TU,TH", 1997,
     {SEP: [2, 4, 16, 18, 30], OCT: [2, 14, 16]}),
    ("19970905", "FREQ=MONTHLY;COUNT=10;BYDAY=1FR", 1998, {1: [2], 2: [6], 3: [6], 4: [3], 5: [1], 6: [5]}),
    ("19970905", "FREQ=MONTHLY;UNTIL=19971224T000000Z;BYDAY=1FR", 1997,
     {SEP: [5], OCT: [3], NOV: [7], DEC: [5]}),
    ("19970805", "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=MO", 1997, {AUG: [5, 10, 19, 24]}),
    ("19970805", "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=SU", 1997, {AUG: [5, 17, 19, 31]}),
    ("20070115", "FREQ=MONTHLY;BYMONTHDAY=15,30;COUNT=5", 2007, {1: [15, 30], 2: [15], 3: [15, 30]}),
)  # fmt: skip


@pytest.mark.parametrize(
    ("start", "rule", "year", "printed"), PRINTED, ids=[one[1] for one in PRINTED]
)
def test_recurrence_3_8_5_3(
    start: str, rule: str, year: int, printed: dict[int, list[int]]
) -> None:
    found = absences(
        f"UID:a\nDTSTART;TZID=America/New_York:{start}T090000\nDURATION:PT1H\nRRULE:{rule}",
        date(year, 1, 1), date(year, 12, 31),
    )  # fmt: skip
    assert found == [date(year, month, day) for month, days in printed.items() for day in days]
