"""What the book hands to estimates, the fit that is kept, and estimates out of both."""

from __future__ import annotations

import math
import os
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from threading import Thread
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.merging.merge_ponds import merge_ponds
from store.book.opening import open_book
from store.book.tables import table
from store.warmth.estimate import RECENT_DAYS
from store.warmth.kept import estimates as kept_estimates
from store.warmth.kept import fits
from store.warmth.kept.estimates import estimate_of, estimates, estimates_about
from store.warmth.kept.fits import fit_at_hand, fit_is_old, make_fit, said_unkept
from store.warmth.kept.readings import AIR_DAY_C, LOGGER_DAY_C, ONE_READING_C, values
from store.warmth.kept.traits import traits
from store.watch.look import look

LONDON = ZoneInfo("Europe/London")
NOW = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)
TODAY = date(2026, 3, 14)


def add_ponds(book: Book, act: Act, many: int = 1, **site: Any) -> list[UUID]:
    with book.writing(act) as writing:
        client = writing.add("client", name="Brook House")
        place = writing.add("site", client_id=client, name="Garden", **site)
        return [writing.add("pond", site_id=place, name=f"Pond {at}") for at in range(many)]


def read(
    book: Book, act: Act, rows: list[tuple[UUID, datetime, float]], bound: str = "="
) -> list[UUID]:
    """Tests with a temperature, all of them in one action."""
    with book.writing(act) as writing:
        keys = writing.add_many(
            "water_test",
            [{"pond_id": pond, "taken_at": at, "way": "form"} for pond, at, _ in rows],
        )
        writing.add_many(
            "reading",
            [
                {"test_id": key, "parameter": "temperature_c", "value": value, "bound": bound}
                for key, (_, _, value) in zip(keys, rows, strict=True)
            ],
        )
    return keys


def at_noon(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, 12, tzinfo=UTC)


def water(day: date, pond: int) -> float:
    """An invented year with weather that all ponds share; no fact rests on it."""
    n = day.toordinal()
    weather = 1.5 * math.sin(n / 9.0) + 1.0 * math.sin(n / 23.0)
    return 11.0 - 7.0 * math.cos(2 * math.pi * (n - 738_170) / 365.25) + weather + 0.2 * pond


def weekly(
    ponds: list[UUID], weeks: int, until: date = TODAY
) -> list[tuple[UUID, datetime, float]]:
    return [
        (pond, at_noon(day), round(water(day, at), 1))
        for at, pond in enumerate(ponds)
        for back in range(weeks)
        for day in [until - timedelta(days=7 * back + at)]
    ]


@pytest.fixture
def read_ponds(sqlite_book: Book, act: Act) -> list[UUID]:
    """Four ponds of one site with two years of weekly readings; that of the last is 40 days old."""
    ponds = add_ponds(sqlite_book, act, 4, latitude=51.5, longitude=-0.1)
    rows = [
        one for one in weekly(ponds, 110)
        if one[0] != ponds[3] or one[1] < NOW - timedelta(days=40)
    ]  # fmt: skip
    read(sqlite_book, act, rows)
    return ponds


@pytest.mark.parametrize(("apart", "noise_c"), [(1, LOGGER_DAY_C), (7, ONE_READING_C)])
def test_a_file_of_daily_means_says_more_of_a_day_than_one_reading(
    book: Book, act: Act, apart: int, noise_c: float
) -> None:
    (pond,) = add_ponds(book, act, 1)
    first = date(2026, 1, 5)
    with book.writing(act) as writing:
        writing.add_many(
            "logger_day",
            [
                {"pond_id": pond, "parameter": "temperature_c", "n": 1, "mean": 6.0, "low": 6.0,
                 "high": 6.0, "day": first + timedelta(days=apart * at)}
                for at in range(20)
            ],
        )  # fmt: skip
    n = first.toordinal()
    with book.reading() as connection:
        found = values(connection, LONDON, n, n + 200)
    assert {one.noise_c for one in found} == {noise_c}


def test_what_is_read_of_a_day(book: Book, act: Act) -> None:
    """Common practice: one reading says less of its day than several, a logger most of all."""
    (pond, other) = add_ponds(book, act, 2)
    day = date(2026, 3, 10)
    struck, *_ = read(
        book, act,
        [(pond, at_noon(day), 30.0), (pond, at_noon(day), 8.0),
         (pond, at_noon(day) + timedelta(hours=3), 10.0), (other, at_noon(day), 5.0),
         (other, at_noon(day + timedelta(days=1)), 1e6)],
    )  # fmt: skip
    read(book, act, [(other, at_noon(day) + timedelta(days=2), 4.0)], bound="<")
    station_day = {"day": day, "n": 1, "mean_c": -12.5}
    with book.writing(act) as writing:
        writing.strike("water_test", struck, "another pond")
        file = writing.add(
            "import_file", name="logger.csv", sha256="0" * 64, kind="logger",
            rows_read=1, rows_saved=1, rows_refused=0,
        )  # fmt: skip
        station = writing.add("air_station", name="Hill", latitude=51.0, longitude=0.0)
        days = [
            {"pond_id": other, "parameter": "temperature_c", "day": day, "n": n, "mean": mean,
             "low": mean, "high": mean}
            for day, n, mean in ((day, 96, 6.5), (day + timedelta(days=3), 1, 7.5))
        ]  # fmt: skip
        writing.add_many("logger_day", days)
        writing.add_many(
            "air_day", [{"station_id": station, "import_file_id": file, **station_day}]
        )
    n = day.toordinal()
    with book.reading() as connection:
        found = {(one.pond, one.day): one for one in values(connection, LONDON, n - 9, n + 9)}
        of_one = values(connection, LONDON, n - 9, n + 9, [pond])
        assert values(connection, LONDON, n + 1, n) == []
        assert traits(connection)[station].air
    assert set(found) == {(pond, n), (other, n), (other, n + 3), (station, n)}
    assert found[pond, n].temp_c == 9.0
    assert found[pond, n].noise_c == pytest.approx(ONE_READING_C / math.sqrt(2))
    assert found[other, n].temp_c, found[other, n].noise_c == (6.5, LOGGER_DAY_C)
    assert found[other, n + 3].noise_c == ONE_READING_C
    assert (found[station, n].temp_c, found[station, n].noise_c) == (-12.5, AIR_DAY_C)
    assert of_one == [found[pond, n]]
    with book.reading() as connection:
        seen = look(connection, NOW, LONDON).seen
    same = {(key, day): mean for key in seen for day, mean in seen[key].daily_temperatures()}
    assert {at: one.temp_c for at, one in found.items() if at[0] != station} == {
        at: mean for at, mean in same.items() if mean < 1e5 and at != (other, n + 2)
    }


@pytest.mark.parametrize(
    ("at", "day"),
    [
        (datetime(2026, 6, 10, 22, 59, 59, tzinfo=UTC), date(2026, 6, 10)),
        (datetime(2026, 6, 10, 23, 0, tzinfo=UTC), date(2026, 6, 11)),
        (datetime(2026, 10, 25, 23, 59, tzinfo=UTC), date(2026, 10, 25)),
        (datetime(2026, 12, 31, 23, 59, tzinfo=UTC), date(2026, 12, 31)),
    ],
)
def test_the_day_is_that_of_the_practice(
    sqlite_book: Book, act: Act, at: datetime, day: date
) -> None:
    (pond,) = add_ponds(sqlite_book, act)
    read(sqlite_book, act, [(pond, at, 12.0)])
    n = day.toordinal()
    with sqlite_book.reading() as connection:
        (found,) = values(connection, LONDON, n - 1, n + 1)
        assert found.day == n
        assert len(values(connection, LONDON, n, n)) == 1
        assert values(connection, LONDON, n + 1, n + 1) == []
        assert values(connection, LONDON, n - 1, n - 1) == []


def test_what_is_known_of_a_pond(book: Book, act: Act) -> None:
    """What nobody typed is None; water that follows no weather stands apart; the struck are gone."""
    plain, indoor, heated, struck = add_ponds(book, act, 4, latitude=51.5, elevation_m=80.0)
    with book.writing(act) as writing:
        writing.change("pond", indoor, 1, indoor=True)
        writing.change("pond", heated, 1, heated=True, shade="most of the day", depth_m=1.2)
        writing.strike("pond", struck, "filled in")
    with book.reading() as connection:
        found = traits(connection)
        some = traits(connection, [plain])
    assert set(found) == {plain, indoor, heated}
    assert some == {plain: found[plain]}
    assert (found[plain].latitude, found[plain].longitude, found[plain].shade) == (51.5, None, None)
    assert (found[plain].apart, found[indoor].apart, found[heated].apart) == (
        "",
        "indoor",
        "heated",
    )
    assert (found[heated].shade, found[heated].depth_m, found[heated].elevation_m) == (0.8, 1.2, 80)


def test_a_fit_is_kept_found_and_thrown_away(
    sqlite_book: Book, act: Act, read_ponds: list[UUID], tmp_path: Path
) -> None:
    """Kept in a file it is found by another program; damaged, deleted or of another book it is
    none, and nobody's book is changed by it."""
    book, stamp = sqlite_book, sqlite_book.stamp()
    book.throwaway = tmp_path / "cache" / "warmth"
    assert fit_at_hand(book, NOW) is None
    assert fit_is_old(book, NOW)
    told: list[float] = []
    made = make_fit(book, NOW, told.append)
    assert made is not None
    assert made.ponds == tuple(sorted(read_ponds))
    assert told == sorted(told)
    assert (told[0], told[-1]) == (0.0, 1.0)
    assert fit_at_hand(book, NOW) is made
    assert not fit_is_old(book, NOW)
    assert book.stamp() == stamp
    (file,) = book.throwaway.iterdir()
    assert file.stat().st_mode & 0o077 == 0
    with open_book(book.name, now=NOW) as other:
        assert fit_at_hand(other, NOW) is None
        other.throwaway = book.throwaway
        found = fit_at_hand(other, NOW)
        assert found is not None
        assert found is fit_at_hand(other, NOW)
        for name in ("season", "likeness", "neighbours", "width", "doubted"):
            np.testing.assert_array_equal(getattr(found, name), getattr(made, name))
        assert not fit_is_old(other, NOW)
        # What the other makes is found here as well.
        make_fit(other, NOW + timedelta(days=1))
    later = fit_at_hand(book, NOW + timedelta(days=1))
    assert later is not None
    assert later.until == made.until + 1
    assert fit_at_hand(book, NOW) is None  # it has looked at a day that has not come
    whole = file.read_bytes()
    for wrong in (b"", whole[:-1], whole[:40], whole[:200] + b"x" + whole[201:], b"x" * 400):
        file.write_bytes(wrong)
        with open_book(book.name, now=NOW) as other:
            other.throwaway = book.throwaway
            assert fit_at_hand(other, NOW) is None
            assert fit_is_old(other, NOW)
    file.unlink()
    assert fit_at_hand(book, NOW + timedelta(days=1)) is later


def test_two_programs_write_at_once_and_a_third_reads(
    sqlite_book: Book, read_ponds: list[UUID], tmp_path: Path
) -> None:
    """The file is one of both at any time, never a part of one and never none."""
    sqlite_book.throwaway = tmp_path / "cache"
    fitted = make_fit(sqlite_book, NOW)
    assert fitted is not None
    (place,) = sqlite_book.throwaway.iterdir()

    def write() -> None:
        for tests in range(20):
            fits._into_file(sqlite_book, fits._Held(fitted, fitted.until, tests, 0))

    writers = [Thread(target=write) for _ in range(2)]
    for one in writers:
        one.start()
    while any(one.is_alive() for one in writers):
        assert fits._from_file(place) is not None
    assert list(place.parent.iterdir()) == [place]


def test_nobody_has_read_for_months(sqlite_book: Book, read_ponds: list[UUID]) -> None:
    """Then the season alone speaks, as wide as it is: of some ponds, or of none."""
    late = NOW + timedelta(days=120)
    assert make_fit(sqlite_book, late) is not None
    found = estimates(sqlite_book, late)
    assert found is not None
    told = found.told(read_ponds[0])
    assert told is None or (told.own_last_on is None and told.neighbours == ())
    assert (told is None) == bool(found.why_not(read_ponds[0]))


def test_a_folder_that_cannot_be_written_is_done_without(
    sqlite_book: Book, read_ponds: list[UUID], tmp_path: Path
) -> None:
    (tmp_path / "cache").write_text("a file where the folder should be")
    sqlite_book.throwaway = tmp_path / "cache"
    made = make_fit(sqlite_book, NOW)
    assert made is not None
    assert fit_at_hand(sqlite_book, NOW) is made
    assert said_unkept(sqlite_book).startswith("What was learnt")
    sqlite_book.throwaway = tmp_path / "other"
    make_fit(sqlite_book, NOW)
    assert said_unkept(sqlite_book) == ""


def test_what_is_left_over_is_removed(
    sqlite_book: Book, read_ponds: list[UUID], tmp_path: Path
) -> None:
    """Fits of bags that are gone, and of programs that were ended while writing."""
    old, young = tmp_path / "a.warmth", tmp_path / "b.warmth.being-made-1"
    others = tmp_path / "notes.txt"
    for one in (old, young, others):
        one.write_bytes(b"")
    long_ago = old.stat().st_mtime - (fits.LEFT_OVER_DAYS + 1) * 86_400
    os.utime(old, (long_ago, long_ago))
    os.utime(others, (long_ago, long_ago))
    sqlite_book.throwaway = tmp_path
    make_fit(sqlite_book, NOW)
    assert not old.exists()
    assert young.exists()
    assert others.exists()


def test_a_fit_that_is_stopped_leaves_what_was_there(
    sqlite_book: Book, read_ponds: list[UUID]
) -> None:
    made = make_fit(sqlite_book, NOW)
    answers: Iterator[bool] = iter([False, False, False, True])
    assert make_fit(sqlite_book, NOW, halt=lambda: next(answers)) is None
    assert fit_at_hand(sqlite_book, NOW) is made


def test_when_a_fit_is_old(sqlite_book: Book, act: Act, read_ponds: list[UUID]) -> None:
    book = sqlite_book
    make_fit(book, NOW)
    assert not fit_is_old(book, NOW + timedelta(days=7))
    assert fit_is_old(book, NOW + timedelta(days=8))
    assert fit_is_old(book, NOW - timedelta(days=1))  # made while a clock was ahead
    read(book, act, [(read_ponds[0], NOW - timedelta(minutes=at), 8.0) for at in range(20)])
    assert not fit_is_old(book, NOW)
    read(book, act, [(read_ponds[0], NOW - timedelta(minutes=at), 8.0) for at in range(40)])
    assert fit_is_old(book, NOW)
    make_fit(book, NOW)
    with book.writing(act) as writing:
        writing.change("pond", read_ponds[1], 1, heated=True)
    assert fit_is_old(book, NOW)  # one pond of four
    make_fit(book, NOW)
    assert not fit_is_old(book, NOW)


def test_nothing_to_learn_is_not_tried_again_all_day(sqlite_book: Book, act: Act) -> None:
    add_ponds(sqlite_book, act, 2)
    assert make_fit(sqlite_book, NOW) is None
    assert fit_at_hand(sqlite_book, NOW) is None
    assert estimates(sqlite_book, NOW) is None
    assert not fit_is_old(sqlite_book, NOW)


def test_a_pond_that_nobody_read_is_estimated(
    sqlite_book: Book, act: Act, read_ponds: list[UUID]
) -> None:
    """By its neighbours; a reading moves it at once, and asking again costs nothing."""
    book, (*_, silent) = sqlite_book, read_ponds
    assert estimates(book, NOW) is None
    assert estimate_of(book, silent, NOW) is None
    make_fit(book, NOW)
    found = estimates(book, NOW)
    assert found is not None
    assert estimates(book, NOW) is found
    assert estimates_about(book, silent, NOW) is found
    before = found.told(silent)
    assert before is not None
    assert abs(before.of_today.mean_c - water(TODAY, 3)) < 1.5
    assert {one.pond for one in before.neighbours} <= set(read_ponds)
    warm = before.of_today.mean_c + 3.0
    read(book, act, [(silent, NOW - timedelta(hours=1), warm)])
    after = estimate_of(book, silent, NOW)
    assert after is not None
    assert after.of_today.mean_c > before.of_today.mean_c + 0.5
    assert after.own_last_on == TODAY
    # The next day the same readings are one day older.
    tomorrow = estimates(book, NOW + timedelta(days=1))
    assert tomorrow is not None
    assert tomorrow.today == found.today + 1
    # Of a pond that the fit does not know.
    (new,) = add_ponds(book, act)
    assert estimate_of(book, new, NOW) is None


def test_of_one_pond_the_same_is_told_as_of_all(
    sqlite_book: Book, act: Act, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ponds of twelve sites far apart: each has neighbours, and none is everybody's."""
    book, ponds = sqlite_book, []
    for at in range(12):
        ponds += add_ponds(book, act, 2, latitude=36.0 + 3 * at, longitude=2.0 * at)
    read(book, act, weekly(ponds, 60))
    fitted = make_fit(book, NOW)
    assert fitted is not None
    wild = at_noon(TODAY - timedelta(days=2))
    read(book, act, [(ponds[4], wild, 29.0), (ponds[5], wild, 3.0)])
    late = NOW + timedelta(days=3)
    whole = estimates(book, late)
    assert whole is not None
    kept_estimates._KNOWN.clear()
    for pond in ponds:
        about = estimates_about(book, pond, late)
        assert about is not None
        assert about is not whole
        one, other = about.told(pond), whole.told(pond)
        assert one is not None
        assert other is not None
        assert one.days[14] == pytest.approx(other.days[14])
        assert [near.pond for near in one.neighbours] == [near.pond for near in other.neighbours]
        assert about.doubts(pond) == whole.doubts(pond)
        assert about.why_not(pond) == whole.why_not(pond)


def test_ponds_that_are_gone_or_heated_since_the_fit(
    sqlite_book: Book, act: Act, read_ponds: list[UUID]
) -> None:
    """They have no estimate, nobody leans on them; the readings of two that are one stay in use."""
    book, (first, second, third, silent) = sqlite_book, read_ponds
    make_fit(book, NOW)
    with book.writing(act) as writing:
        writing.change("pond", second, 1, heated=True)
        writing.strike("pond", third, "filled in")
    found = estimates(book, NOW)
    assert found is not None
    assert found.ahead(second) is None
    assert found.ahead(third) is None
    told = found.told(silent)
    assert told is not None
    assert {one.pond for one in told.neighbours} == {first}
    assert fit_is_old(book, NOW)
    merge_ponds(book, act, first, silent, "the same pond")
    joined = estimates(book, NOW)
    assert joined is not None
    assert joined.ahead(silent) is None or joined.ahead(first) is None
    with book.reading() as connection:
        stands = table("pond").c
        query = stands.id.table.select().where(stands.struck_at.is_(None))
        left = {row.id for row in connection.execute(query)}
    assert {pond for pond in (first, silent) if joined.told(pond)} <= left


def test_a_book_only_for_reading_is_estimated_too(
    sqlite_book: Book, act: Act, read_ponds: list[UUID], tmp_path: Path
) -> None:
    path = Path(sqlite_book.name)
    sqlite_book.close()
    path.chmod(0o400)
    with open_book(path, now=NOW) as book:
        book.throwaway = tmp_path / "cache"
        assert make_fit(book, NOW) is not None
        assert estimate_of(book, read_ponds[3], NOW) is not None
        assert [one.suffix for one in book.throwaway.iterdir()] == [".warmth"]


def test_readings_before_the_recent_are_not_asked_for(
    sqlite_book: Book, act: Act, read_ponds: list[UUID], monkeypatch: pytest.MonkeyPatch
) -> None:
    make_fit(sqlite_book, NOW)
    spans: list[int] = []

    def counted(connection: Any, zone: Any, first: int, last: int, ponds: Any = None) -> Any:
        spans.append(last - first + 1)
        return values(connection, zone, first, last, ponds)

    monkeypatch.setattr(kept_estimates, "values", counted)
    assert estimates(sqlite_book, NOW) is not None
    assert estimates(sqlite_book, NOW) is not None
    assert spans == [RECENT_DAYS]
