"""What a chart of one pond is made of, on both databases."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.events import record_event
from store.errors import BadInput, NotFound
from store.watch.chart import CHART_CODES, MOST_BANDS, pond_series
from store.watch.rulebook import change_rule
from store.water.ammonia import un_ionised_fraction
from store.water.understood import ReadingValue
from store.water.water_tests import NewTest, save_test, strike_test

NOW = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)


def reading(code: str, value: float) -> ReadingValue:
    return ReadingValue(code, value, None, None, "=", f"{value:g}", "", "")


@pytest.fixture
def pond_of() -> Callable[[Book, Act], UUID]:
    def add(book: Book, act: Act) -> UUID:
        with book.writing(act) as writing:
            client = writing.add("client", name="Brook House")
            site = writing.add("site", client_id=client, name="Garden")
            return writing.add("pond", site_id=site, name="Lower pond")

    return add


def enter(book: Book, act: Act, pond: UUID, at: datetime, **values: float) -> UUID:
    readings = tuple(reading(code, value) for code, value in values.items())
    return save_test(book, act, pond, NewTest(at, readings))


def asked(book: Book, pond: UUID, *codes: str, days: int = 90) -> Any:
    return pond_series(
        book, pond, codes or CHART_CODES, NOW - timedelta(days=days), NOW, now=NOW
    )  # fmt: skip


def test_measured_and_reckoned_series_with_their_limits(
    book: Book, act: Act, pond_of: Callable[[Book, Act], UUID]
) -> None:
    pond = pond_of(book, act)
    enter(book, act, pond, NOW - timedelta(days=8), temperature_c=9.0, ph=7.5, tan_mg_l=0.2)
    enter(book, act, pond, NOW - timedelta(days=1), temperature_c=10.0, ph=8.0, tan_mg_l=1.0,
           alkalinity_mg_l=71.392)  # fmt: skip
    struck = enter(book, act, pond, NOW - timedelta(days=3), temperature_c=44.0)
    strike_test(book, act, struck, 1, "slip of the pen")
    chart = asked(book, pond)
    by_code = {series.code: series for series in chart.series}
    assert list(by_code) == [code for code in CHART_CODES if code in by_code]
    assert by_code["temperature_c"].values == (9.0, 10.0)
    assert by_code["temperature_c"].times[1] == datetime(2026, 3, 13, 7, 30)  # noqa: DTZ001
    assert by_code["alkalinity_mg_l"].values == pytest.approx((4.0,), abs=1e-3)
    assert by_code["alkalinity_mg_l"].unit == "dKH"
    assert {limit.label for limit in by_code["alkalinity_mg_l"].limits} >= {"watch below 4.2"}
    nh3 = by_code["nh3_n_mg_l"]
    assert nh3.values[1] == pytest.approx(un_ionised_fraction(8.0, 10.0))
    assert [(limit.level, round(limit.value, 4)) for limit in nh3.limits] == [
        ("act", 0.05), ("watch", 0.0164),
    ]  # fmt: skip
    # Rounded as the rule rounds it, with the number as it was set beside it.
    assert [limit.label for limit in nh3.limits] == [
        "act above 0.05", "watch above 0.016 (0.02 as NH3)",
    ]  # fmt: skip
    assert len(by_code["acute_tan_mg_l"].values) == 2
    assert [series.code for series in asked(book, pond, "ph").series] == ["ph"]
    assert asked(book, pond, days=2).series[0].code == "temperature_c"
    assert asked(book, pond, "ph", days=2).series[0].values == (8.0,)


def test_limits_are_those_in_force_at_the_pond(
    book: Book, act: Act, pond_of: Callable[[Book, Act], UUID]
) -> None:
    pond = pond_of(book, act)
    enter(book, act, pond, NOW - timedelta(days=1), ph=7.5)
    before = {limit.label for limit in asked(book, pond, "ph").series[0].limits}
    assert before == {"act below 6.0", "act above 9.0", "watch below 6.7", "watch above 8.5"}
    change_rule(book, act, "ph_range", params={"watch_above_ph": 8.8}, why="marl", pond=pond)
    after = {limit.label for limit in asked(book, pond, "ph").series[0].limits}
    assert after == before - {"watch above 8.5"} | {"watch above 8.8"}
    change_rule(book, act, "ph_range", params={}, why="silent", enabled=False, pond=pond)
    assert asked(book, pond, "ph").series[0].limits == ()


def test_a_loggers_day_stands_in_the_place_of_its_tests(
    book: Book, act: Act, pond_of: Callable[[Book, Act], UUID]
) -> None:
    pond = pond_of(book, act)
    enter(book, act, pond, NOW - timedelta(days=1), temperature_c=10.0)
    enter(book, act, pond, NOW - timedelta(days=2), temperature_c=8.0)
    with book.writing(act) as writing:
        writing.add_many("logger_day", [
            {"pond_id": pond, "parameter": "temperature_c", "day": date(2026, 3, 13), "n": 24,
             "mean": 9.5, "low": 9.0, "high": 10.2},
        ])  # fmt: skip
    series = asked(book, pond, "temperature_c").series[0]
    assert series.values == (8.0, 9.5)
    assert series.times[1] == datetime(2026, 3, 13, 12)  # noqa: DTZ001


def test_windows_that_hold_and_events(
    book: Book, act: Act, pond_of: Callable[[Book, Act], UUID]
) -> None:
    pond = pond_of(book, act)
    for ago in range(12, 0, -1):
        enter(book, act, pond, NOW - timedelta(days=ago), temperature_c=18.0 - ago / 2, ph=7.5)
    with book.writing(act) as writing:
        record_event(writing, pond, "water_changed", date(2026, 3, 10), amount=800.0)
        record_event(writing, pond, "hazard_seen", date(2026, 3, 12), hazard="costia")
        record_event(writing, pond, "heavy_rain", date(2024, 3, 12))
    chart = asked(book, pond)
    warm, sour = (
        next(series for series in chart.series if series.code == code)
        for code in ("temperature_c", "ph")
    )
    assert 1 <= len(warm.bands) <= MOST_BANDS
    assert all(band.low - 3.0 <= 18.0 and band.high >= 10.0 for band in warm.bands)
    assert sour.bands == ()
    assert [(event.kind, event.time.day) for event in chart.events] == [
        ("water_changed", 10), ("hazard_seen", 12),
    ]  # fmt: skip
    assert chart.events[1].label.endswith(" seen")


def test_what_cannot_be_charted(
    sqlite_book: Book, act: Act, pond_of: Callable[[Book, Act], UUID]
) -> None:
    pond = pond_of(sqlite_book, act)
    assert asked(sqlite_book, pond).series == ()
    with pytest.raises(BadInput, match="nothing that can be charted"):
        asked(sqlite_book, pond, "party")
    with pytest.raises(BadInput, match="end after its start"):
        asked(sqlite_book, pond, days=0)
    with pytest.raises(NotFound):
        asked(sqlite_book, uuid4())


def test_a_line_breaks_where_another_kit_or_batch_begins(
    book: Book, act: Act, pond_of: Callable[[Book, Act], UUID]
) -> None:
    pond = pond_of(book, act)
    with book.writing(Act(act.by, NOW - timedelta(days=100))) as writing:
        old = writing.add("kit", name="Drops", batch="A1")
        new = writing.add("kit", name="Strips")
    with book.writing(Act(act.by, NOW - timedelta(days=25))) as writing:
        writing.change("kit", old, 1, batch="B7")
    kits = {50: old, 40: old, 35: None, 30: old, 20: old, 10: new, 5: None, 2: new}
    for days, kit in kits.items():
        values = (reading("nitrite_mg_l", 0.1), reading("temperature_c", 8.0))
        save_test(book, act, pond, NewTest(NOW - timedelta(days=days), values, kit_id=kit))
    by_code = {series.code: series for series in asked(book, pond).series}
    assert len(by_code["nitrite_mg_l"].values) == 8
    assert by_code["nitrite_mg_l"].breaks == (4, 5)  # another batch, then another kit
    assert by_code["temperature_c"].breaks == ()  # a thermometer belongs to no kit
