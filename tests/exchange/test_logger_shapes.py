"""Loggers' files in the shapes that people have: every one gives the same series."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from sheets import NOW, add_ponds
from sqlalchemy import select

from store.book.act import Act
from store.book.book import Book
from store.book.tables import table
from store.errors import BadInput
from store.exchange.logger.asks import Unclear
from store.exchange.logger.csv_file import LoggerPlan, read_logger, save_logger
from store.exchange.plain.planned import write_refused

FIRST = datetime(2026, 1, 20, 11, 30, tzinfo=UTC)
CELSIUS = [5.0, 5.5, 5.4, 5.0, 4.5, 4.5]
AT = [FIRST + timedelta(minutes=30 * place) for place in range(len(CELSIUS))]
EXPECTED = list(zip(AT, CELSIUS, strict=True))


def kept(book: Book, pond: UUID, parameter: str = "temperature_c") -> list[tuple[datetime, float]]:
    reading = table("logger_reading").c
    query = select(reading.at, reading.value).where(
        reading.pond_id == pond, reading.parameter == parameter
    )
    with book.reading() as connection:
        rows = connection.execute(query.order_by(reading.at)).all()
    return [(row.at, round(row.value, 9)) for row in rows]


def brought(
    book: Book, act: Act, folder: Path, data: bytes | str, **options: Any
) -> tuple[UUID, LoggerPlan]:
    (pond,) = add_ponds(book, act, "Upper pond")
    path = folder / "logger.csv"
    path.write_bytes(data.encode() if isinstance(data, str) else data)
    planned = read_logger(path, book, NOW, pond, **options)
    careful = read_logger(path, book, NOW, pond, careful=True, **options)
    assert careful.plan == planned.plan
    assert careful.left == planned.left
    save_logger(book, act, planned)
    return pond, planned


def rows(form: str, **more: Any) -> str:
    """A row for every value; `form` names at, day, clock, c, f, k, n, comma."""
    return "".join(
        form.format(
            at=at, c=f"{c:.1f}", f=f"{c * 1.8 + 32:.2f}", comma=f"{c:.1f}".replace(".", ","),
            tenths=round(c * 10), unix=round(at.timestamp()), cet=at + timedelta(hours=1),
            ny=at + timedelta(hours=13), k=f"{c + 273.15:.2f}", n=place, **more,
        )
        + "\n"
        for place, (at, c) in enumerate(EXPECTED, start=1)
    )  # fmt: skip


SHAPES = {
    "plain": "time,temperature C\n" + rows("{at:%Y-%m-%d %H:%M},{c}"),
    "seconds and an offset": "time,temp °C\n" + rows("{at:%Y-%m-%dT%H:%M:%S}Z,{c}"),
    "thousandths": "time,temp °C\n" + rows("{at:%Y-%m-%dT%H:%M:%S}.000+00:00,{c}"),
    "quoted headers with unit, serial number and offset": '"Mill pond"\n"#","Date Time, GMT+00:00",'
    '"Temp, °F (LGR S/N: 2012345, SEN S/N: 2012345)","Host Connected","Stopped"\n'
    + rows("{n},{at:%m/%d/%y %I:%M:%S %p},{f},,")
    + '7,01/20/26 02:31:00 PM,,Logged,\n8,01/20/26 02:32:00 PM,,,Logged\n',
    "everything quoted": '"Date","Time","Temp (F)"\n'
    + rows('"{at:%d.%m.%Y}","{at:%H:%M:%S}","{f}"'),
    "titles, a line of units, decimal comma": "Site;Mill pond\nSerial number;A-4711\n"
    "UTC offset;0\n\nDatum;Uhrzeit;Temperatur;Batterie\ntt.mm.jjjj;hh:mm;°C;V\n"
    + rows("{at:%d.%m.%Y};{at:%H:%M};{comma};3,1"),
    "tabs": "Logger 7\nDate-time\tTemp\tDepth\nyyyy-mm-dd hh:mm\tdeg C\tm\n"
    + rows("{at:%Y-%m-%d %H:%M}\t{c}\t1.0"),
    "commented titles": "# station 12\n# lat 52.1\n# date time,water temperature (°C),quality\n"
    + rows("{at:%Y%m%d %H:%M},{c},ok"),
    "twenty-eight title lines": "".join(f"line {n}: a word\n" for n in range(28))
    + "time,temp C\n" + rows("{at:%Y/%m/%d %H:%M},{c}"),
    "degree sign in a wrong encoding": "time,Temp (Â°F)\n" + rows("{at:%Y-%m-%d %H:%M},{f}"),
    "degree sign lost": "time,Temp (\ufffdF)\n" + rows("{at:%Y-%m-%d %H:%M},{f}"),
    "kelvin": "time,Temp (K)\n" + rows("{at:%Y-%m-%d %H:%M},{k}"),
    "tenths of a degree": "time,water temp (0.1 °C)\n" + rows("{at:%Y-%m-%d %H:%M},{tenths}"),
    "blanks round the cells": "time , temp C \n" + rows(" {at:%Y-%m-%d %H:%M} ,  {c} "),
    "carriage returns": ("time,temp C\n" + rows("{at:%Y-%m-%d %H:%M},{c}")).replace("\n", "\r"),
    "both ends of lines": ("time,temp C\n" + rows("{at:%Y-%m-%d %H:%M},{c}")).replace("\n", "\r\n"),
    "month in words": "time,temp C\n" + rows("{at:%d-%b-%Y %H:%M},{c}"),
    "the newest first": "time,temp C\n"
    + "".join(f"{line}\n" for line in reversed(rows("{at:%Y-%m-%d %H:%M},{c}").splitlines())),
    "twice over": "time,temp C\n" + 2 * rows("{at:%Y-%m-%d %H:%M},{c}"),
    "columns the other way round": "temp C,battery V,time\n"
    + rows("{c},3.1,{at:%Y-%m-%d %H:%M}"),
    "a serial number that looks like a day": "logger,time,temp C,open\n"
    + rows("20120304,{at:%Y-%m-%d %H:%M},{c},05:30"),
    "unit in the cell": "time,temperature\n" + rows("{at:%Y-%m-%d %H:%M},{c} °C"),
    "seconds since 1970": "sensor,unix time,temp C\n" + rows("2012345678,{unix},{c}"),
    "seconds since 1970 beside a local time": "local time,epoch (s),temp C\n"
    + rows("{cet:%Y-%m-%d %H:%M},{unix},{c}"),
    "thousandths since 1970": "timestamp (ms);temp C\n" + rows("{unix}000;{c}"),
    "seconds with a fraction": "timestamp,temp C\n" + rows("{unix}.000,{c}"),
    "short name of a clock in the row": "time,temp C\n" + rows("{at:%d.%m.%Y %H:%M} GMT,{c}"),
    "short name of a clock far away": "time,temp C\n" + rows("{ny:%Y-%m-%d %H:%M} NZDT,{c}"),
    "short name of a clock in the heading": '"Date Time, CET",temp C\n'
    + rows("{cet:%Y-%m-%d %H:%M},{c}"),
    "short name of a clock in a title": "Time zone: CET\ntime,temp C\n"
    + rows("{cet:%Y-%m-%d %H:%M},{c}"),
    "an offset in a column": "local time,UTC offset,temp C\n"
    + rows("{cet:%Y-%m-%d %H:%M},+01:00,{c}"),
    "an offset in minutes": "local time,temp C,tz (min)\n" + rows("{cet:%Y-%m-%d %H:%M},{c},60"),
    "an offset beside UTC tells of another clock": "UTC time,utc offset,temp C\n"
    + rows("{at:%Y-%m-%d %H:%M},+05:30,{c}"),
    "a note over three lines": "time,temp C,note\n"
    + rows('{at:%Y-%m-%d %H:%M},{c},"seen by the owner;\nleaves, and\na heron"'),
    "a note with a blank line": "time;note;temp C\n"
    + rows('{at:%Y-%m-%d %H:%M};"leaves\n\non top";{c}'),
    "events in the column of values": "Host connected\ntime,temp C\n"
    + rows("{at:%Y-%m-%d %H:%M},{c}") + "2026-01-20 15:00,Host Connected\n,Stopped\nEnd of file,\n",
    "day with a midnight, time apart": "date,time,temp C\n"
    + rows("{at:%Y-%m-%d} 00:00:00,{at:%H:%M},{c}"),
}  # fmt: skip


@pytest.mark.parametrize("shape", SHAPES)
def test_every_shape_gives_the_same_series(
    sqlite_book: Book, act: Act, tmp_path: Path, shape: str
) -> None:
    pond, planned = brought(sqlite_book, act, tmp_path, SHAPES[shape])
    assert kept(sqlite_book, pond) == EXPECTED
    assert planned.plan.refused == ()
    assert planned.asks == ()


@pytest.mark.parametrize(
    "encoding", ["utf-16", "utf-16-le", "utf-16-be", "utf-8-sig", "cp1252", "utf-8"]
)
def test_encodings(sqlite_book: Book, act: Act, tmp_path: Path, encoding: str) -> None:
    text = "Teich: Mühle\nDatum;Temp. [°F]\n" + rows("{at:%d.%m.%Y %H:%M};{f}").replace(
        ".2026", "/x"
    )
    text = text.replace("/x", ".2026")
    pond, _ = brought(sqlite_book, act, tmp_path, text.encode(encoding))
    assert kept(sqlite_book, pond) == EXPECTED


@pytest.mark.parametrize(
    ("am", "pm", "before"),
    [
        ("AM", "PM", False), ("a.m.", "p.m.", False), ("a. m.", "p. m.", False),
        ("vorm.", "nachm.", False), ("πμ", "μμ", False), ("上午", "下午", True),
        ("午前", "午後", True), ("오전", "오후", True), ("fm", "em", False), ("de.", "du.", False),
        ("dop.", "odp.", False), ("ÖÖ", "ÖS", False), ("ДП", "ПП", False), ("SA", "CH", False),
        ("ص", "م", False),
    ],
)  # fmt: skip
def test_clocks_of_twelve_hours(
    sqlite_book: Book, act: Act, tmp_path: Path, am: str, pm: str, before: bool
) -> None:
    text = "time,temp C\n"
    for at, value in EXPECTED:
        mark = am if at.hour < 12 else pm
        clock = f"{at:%I:%M}"
        said = f"{mark} {clock}" if before else f"{clock} {mark}"
        text += f"{at:%Y-%m-%d} {said},{value}\n"
    pond, _ = brought(sqlite_book, act, tmp_path, text)
    assert kept(sqlite_book, pond) == EXPECTED


def test_a_time_without_its_half_of_the_day_is_refused(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    text = "time,temp C\n2026-01-20 11:30 AM,5\n2026-01-20 12:30 PM,5\n2026-01-20 01:30,5\n"
    pond, planned = brought(sqlite_book, act, tmp_path, text)
    assert [one.reason for one in planned.plan.refused] == [
        "The time does not say which half of the day is meant."
    ]
    assert len(kept(sqlite_book, pond)) == 2


def test_the_order_of_day_and_month_is_found_or_asked(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    early = "".join(
        f"02/0{1 + n // 600}/2026 {n // 60 % 10:02}:{n % 60:02},5\n" for n in range(900)
    )
    path = tmp_path / "a.csv"
    path.write_text(f"time,temp C\n{early}")
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    with pytest.raises(Unclear, match="--dates dmy or --dates mdy") as unclear:
        read_logger(path, sqlite_book, NOW, pond)
    assert unclear.value.choices == ("dmy", "mdy")
    path.write_text(f"time,temp C\n{early}02/13/2026 00:00,5\n")
    planned = read_logger(path, sqlite_book, NOW, pond)
    assert planned.plan.items[0].first == datetime(2026, 2, 1, tzinfo=UTC)
    assert any("month before day" in told for told in planned.plan.told)
    path.write_text(f"time,temp C\n{early}02/13/2026 00:00,5\n45/45/2026 00:00,5\n")
    spoilt = read_logger(path, sqlite_book, NOW, pond)  # one spoilt day tells nothing of the others
    assert [one.line for one in spoilt.plan.refused] == [903]
    path.write_text(f"time,temp C\n{early}13/02/2026 00:00,5\n02/13/2026 00:00,5\n")
    with pytest.raises(Unclear):
        read_logger(path, sqlite_book, NOW, pond)
    said = read_logger(path, sqlite_book, NOW, pond, order="dmy")
    assert len(said.plan.refused) == 1


def test_two_figures_of_a_year_may_stand_first_or_last(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    text = "time,temp C\n" + rows("{at:%y-%m-%d %H:%M},{c}")
    with pytest.raises(Unclear) as unclear:
        brought(sqlite_book, act, tmp_path, text)
    assert unclear.value.choices == ("dmy", "ymd")
    pond, _ = brought(sqlite_book, act, tmp_path, text, order="ymd")
    assert kept(sqlite_book, pond) == EXPECTED


def test_daily_files_of_a_weather_station(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    text = (
        "# Station 260\n# TG: daily mean in 0.1 °C, -9999 is missing\n#\n"
        "# STN,YYYYMMDD,TG (0.1 °C),Q\n"
        "260,20260101,51,0\n260,20260102,-9999,9\n260,20260103,-12,0\n260,20260104,48,0\n"
    )
    pond, planned = brought(sqlite_book, act, tmp_path, text, column="TG (0.1 °C)")
    assert [value for _, value in kept(sqlite_book, pond)] == [5.1, -1.2, 4.8]
    told = " ".join(planned.plan.told)
    assert "4 rows with a day and no time, taken as of noon" in told
    assert "1 value left out that a probe sends" in told


def test_air_is_not_taken_for_water(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    text = "time,Air temp C,TX,water temp C\n2026-01-01 00:00,-3,8,5\n"
    pond, planned = brought(sqlite_book, act, tmp_path, text)
    assert [value for _, value in kept(sqlite_book, pond)] == [5.0]
    assert any("“Air temp C”, “TX”" in told for told in planned.plan.told)
    with pytest.raises(BadInput, match="no column of values"):
        brought(sqlite_book, act, tmp_path, "time,Lufttemperatur (°C)\n2026-01-01 00:00,-3\n")


def test_what_the_logger_marks_as_bad(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    text = "time,temp C,status\n" + rows("{at:%Y-%m-%d %H:%M},{c},ok")
    text = text.replace("5.4,ok", "5.4,Sensor fault")
    pond, planned = brought(sqlite_book, act, tmp_path, text)
    assert kept(sqlite_book, pond) == [one for one in EXPECTED if one[1] != 5.4]
    (marked,) = planned.left
    assert (marked.reason, marked.n, marked.first[0].line) == ("marked", 1, 4)


def test_rows_of_one_instant(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    text = (
        "time,temp C\n2026-01-01 00:00,5\n2026-01-01 00:00,5\n2026-01-01 00:30,5.1\n"
        "2026-01-01 00:30,5.3\n2026-01-01 00:00,9\n"
    )
    pond, planned = brought(sqlite_book, act, tmp_path, text)
    assert [value for _, value in kept(sqlite_book, pond)] == [5.0, 5.1]
    assert {one.reason: (one.n, [first.line for first in one.first]) for one in planned.left} == {
        "twice": (2, [3, 5]), "other": (1, [5]), "again": (1, [6]), "backward": (1, [6])
    }  # fmt: skip


def test_thousands_are_not_taken_for_decimals(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    text = "time;conductivity µS/cm\n2026-01-01 00:00;1,234\n2026-01-01 00:30;980\n"
    pond, planned = brought(sqlite_book, act, tmp_path, text)
    assert [one.reason for one in planned.plan.refused] == [
        "“1,234” may be a thousand or a decimal."
    ]
    assert [value for _, value in kept(sqlite_book, pond, "conductivity_us_cm")] == [980.0]
    # 999 is a common reading of a meter of conductivity, and no water is as warm.
    text = "time,EC µS/cm,temp C\n2026-01-01 00:00,999,999\n"
    pond, _ = brought(sqlite_book, act, tmp_path, text)
    assert [value for _, value in kept(sqlite_book, pond, "conductivity_us_cm")] == [999.0]
    assert kept(sqlite_book, pond) == []


def test_fahrenheit_without_a_unit_is_asked(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    text = "time,temp\n" + rows("{at:%Y-%m-%d %H:%M},{f}")
    path = tmp_path / "f.csv"
    path.write_text(text)
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    planned = read_logger(path, sqlite_book, NOW, pond)
    assert [(ask.field, ask.choices) for ask in planned.asks] == [("unit", ("F", "C"))]
    with pytest.raises(BadInput, match="--unit F"):
        save_logger(sqlite_book, act, planned)
    assert kept(sqlite_book, pond) == []
    save_logger(sqlite_book, act, read_logger(path, sqlite_book, NOW, pond, unit="F"))
    assert kept(sqlite_book, pond) == EXPECTED


def test_gaps_are_told(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    text = "time,temp C\n" + "".join(
        f"{FIRST + timedelta(minutes=10 * n):%Y-%m-%d %H:%M},5\n"
        for n in range(100) if not 40 < n < 60
    )  # fmt: skip
    _, planned = brought(sqlite_book, act, tmp_path, text)
    assert any(
        "1 gap in temperature from 2026-01-20 18:10 to 2026-01-20 21:30" in told
        and "every 10 min" in told
        for told in planned.plan.told
    )


def test_refused_rows_can_be_corrected_and_brought_in(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    text = (
        "UTC offset;+2\nDatum;Temperatur\n;°F\n"
        "20.01.2026 13:30;41,0\n20.01.2026 14:00;warm\n31.02.2026 14:00;41\n"
    )
    pond, planned = brought(sqlite_book, act, tmp_path, text)
    beside = write_refused(planned.plan)
    assert beside is not None
    mended = (
        beside.read_text()
        .replace("warm", "41,9")
        .replace("31.02", "20.01")
        .replace("14:00;41\n", "14:30;41,72\n")
    )
    again = tmp_path / "again.csv"
    again.write_text(mended)
    done = save_logger(sqlite_book, act, read_logger(again, sqlite_book, NOW, pond))
    assert (done.added, done.refused) == (2, 0)
    assert kept(sqlite_book, pond) == EXPECTED[:3]
