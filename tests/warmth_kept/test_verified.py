"""The past of a book replayed: from when on, how often, which readings are not scored."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from uuid import UUID

import pytest

from store.book.act import Act
from store.book.book import Book
from store.errors import BadInput
from store.exchange.plain.spans_csv import read_spans
from store.warmth.kept import verify as verifying
from store.warmth.kept.verify import Span, Verified, how_often, verify
from store.warmth.proof_words import NO_BETTER, TOO_SHORT

NOW = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)
TODAY = date(2026, 3, 14)
LAST = date(2024, 6, 1)
"""The record of these ponds ended long before today."""


@pytest.fixture(autouse=True)
def _seldom(monkeypatch: pytest.MonkeyPatch) -> None:
    """Learnt anew every 90 days, so that it ends sooner."""
    monkeypatch.setattr(verifying, "OFTEN_DAYS", 90)


def water(day: date, pond: int) -> float:
    """An invented year with weather that all ponds share; no fact rests on it."""
    n = day.toordinal()
    weather = 1.5 * math.sin(n / 9.0) + 1.0 * math.sin(n / 23.0)
    return 11.0 - 7.0 * math.cos(2 * math.pi * (n - 738_170) / 365.25) + weather + 0.2 * pond


def _read(book: Book, act: Act, days: int, ponds: int = 3, every: int = 4) -> list[UUID]:
    with book.writing(act) as writing:
        client = writing.add("client", name="Brook House")
        site = writing.add("site", client_id=client, name="Garden", latitude=51.5, longitude=-0.1)
        keys = [writing.add("pond", site_id=site, name=f"Pond {at}") for at in range(ponds)]
        rows = []
        for at, pond in enumerate(keys):
            for back in range(at, days, every):
                day = LAST - timedelta(days=back)
                mean = round(water(day, at), 2)
                rows.append({"pond_id": pond, "parameter": "temperature_c", "day": day, "n": 24,
                             "mean": mean, "low": mean, "high": mean})  # fmt: skip
        writing.add_many("logger_day", rows)
    return keys


def _n(found: Verified) -> int:
    assert found.replayed is not None
    return found.replayed.leads[2].n


def test_a_record_that_ended_is_replayed_to_its_end(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    ponds = _read(sqlite_book, act, 560)
    told: list[float] = []
    found = verify(sqlite_book, NOW, told.append)
    assert (found.last, found.ponds, found.every_days, found.nth) == (LAST, 3, 90, 1)
    assert found.first == LAST - timedelta(days=278)  # the second half of the record of all three
    assert found.share == told[-1] == 1.0
    assert found.replayed is not None
    week = found.replayed.leads[2]
    assert (week.days, week.n) == (7, 3 * 70)
    assert week.rmse is not None
    assert week.rmse < 0.8 * (week.rmse_season or 0.0)
    assert set(found.names.values()) == {f"Brook House, Pond {at}" for at in range(3)}
    assert found.says[0].startswith("Readings of 28 Aug 2023 to 1 Jun 2024 were estimated")
    assert "less than a year" in found.says[1]
    assert any(said.startswith("7 days ahead: off by ") for said in found.says)

    sheet = tmp_path / "bad.csv"
    sheet.write_text("pond,first,last,why\nPond 1,2024-03-01,2024-06-01,in the air\n")
    spans = read_spans(sheet, sqlite_book)
    assert spans == (Span(ponds[1], date(2024, 3, 1), LAST),)
    assert _n(verify(sqlite_book, NOW, not_scored=spans)) == 3 * 70 - 23
    for wrong, why in (("Pond 9,2024-03-01,2024-06-01", "No pond goes by “Pond 9”"),
                       ("Pond 1,2024-06-01,2024-03-01", "lies before the first")):  # fmt: skip
        sheet.write_text(f"pond,first,last\n{wrong}\n")
        with pytest.raises(BadInput, match=f"^Line 2 of bad.csv: .*{why}"):
            read_spans(sheet, sqlite_book)


def test_stopped_early_keeps_what_is_done(sqlite_book: Book, act: Act) -> None:
    _read(sqlite_book, act, 560)
    told: list[float] = []
    found = verify(sqlite_book, NOW, told.append, lambda: len(told) >= 3)
    assert len(told) == 3
    assert 0.0 < found.share == told[-1] < 1.0
    assert 0 < _n(found) < 3 * 70
    assert any("Stopped early" in said for said in found.says)
    nothing = verify(sqlite_book, NOW, None, lambda: True)
    assert (nothing.replayed, nothing.share) == (None, 0.0)
    assert nothing.says == ("Stopped before any reading was estimated.",)


def test_too_short_a_record_is_said(book: Book, act: Act) -> None:
    assert verify(book, NOW).says == (
        "No pond of the book has a temperature; there is nothing to replay.",
    )
    _read(book, act, 60)
    (said,) = verify(book, NOW).says
    assert said.startswith(TOO_SHORT.capitalize())
    assert said.endswith("from 5 Jul 2024 on.")


def test_large_practices_are_thinned_out(
    sqlite_book: Book, act: Act, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert how_often(32, 2400, 1096) == 90
    assert how_often(10_000, 2400, 1096) == 365
    _read(sqlite_book, act, 560)
    monkeypatch.setattr(verifying, "MOST_READINGS", 100)
    found = verify(sqlite_book, NOW)
    assert found.nth == 3
    assert _n(found) == 70
    assert any("one in 3" in said for said in found.says)


def test_water_without_weather_is_no_better_than_the_season(sqlite_book: Book, act: Act) -> None:
    """Readings that scatter about their season by nothing but chance: nothing else helps."""
    with sqlite_book.writing(act) as writing:
        client = writing.add("client", name="Brook House")
        site = writing.add("site", client_id=client, name="Garden")
        pond = writing.add("pond", site_id=site, name="Barrel")
        rows = []
        for back in range(0, 500, 2):
            day = LAST - timedelta(days=back)
            chance = 2.0 if day.toordinal() * 2654435761 % 2**32 < 2**31 else -2.0
            mean = 12.0 + chance
            rows.append({"pond_id": pond, "parameter": "temperature_c", "day": day, "n": 24,
                         "mean": mean, "low": mean, "high": mean})  # fmt: skip
        writing.add_many("logger_day", rows)
    said = " ".join(verify(sqlite_book, NOW).says)
    assert f"the estimate is {NO_BETTER}." in said
    assert f"{NO_BETTER.capitalize()} at 1 of 1 pond: Brook House, Barrel." in said
