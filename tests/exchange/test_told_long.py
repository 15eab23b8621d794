"""Long texts without the marks that people set are told of, and take no time."""

from __future__ import annotations

import time
from datetime import UTC, date, datetime

import pytest

from store.errors import BadInput
from store.exchange.told import look as module
from store.exchange.told.clauses import LONGEST_CLAUSE
from store.exchange.told.found import Setting
from store.exchange.told.look import look
from store.water.understood import KitForms

SETTING = Setting(KitForms(), UTC, datetime(2026, 3, 14, 7, 30, tzinfo=UTC))


@pytest.mark.parametrize("text", ["1", "1 ", "KH and ", "pH 7.4 ", "lost 2 koi "])
def test_what_has_no_end_is_told_and_not_read(text: str) -> None:
    """Forty thousand characters took up to a hundred seconds, and ten times as many a hundredfold."""
    begun = time.perf_counter()
    first, *_ = look(text * (40_000 // len(text)), SETTING, sent=date(2026, 3, 12)).found
    assert time.perf_counter() - begun < 5
    assert (first.becomes, first.takeable) == ("stays words", False)
    assert "without a comma or a full stop are not read" in first.why
    assert len(first.raw) < LONGEST_CLAUSE
    assert first.raw.startswith(text.strip())


def test_what_stands_beside_it_is_read() -> None:
    found = look(f"temp 17.5\n{'koi 7 ' * 400}\npH 7.8", SETTING, sent=date(2026, 3, 12)).found
    assert [one.becomes for one in found] == ["17.5 °C", "stays words", "pH 7.8"]


def test_more_than_anybody_looks_through_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "_MOST_FOUND", 3)
    text = "temp 17\n" * 3
    assert len(look(text, SETTING).found) == 3
    with pytest.raises(BadInput, match="More than 3 places of the text look like a value; nothing"):
        look(f"{text}pH 7.8", SETTING)


def test_a_day_that_is_none_is_a_part_without_a_day() -> None:
    for day in ("00/00/2026", "0000-00-00", "99/99/9999", "0/2026", "00 00 26"):
        for order in ("dmy", "mdy", "ymd"):
            text = f"[{day}, 09:14] Ann Reed: temp 17\n[2 May, 09:14] Ann Reed: pH 7.8\n"
            assert look(text, SETTING, order=order, year=2026).text == text


def test_a_text_may_be_said_to_be_as_old_as_days_are() -> None:
    text = "[10/03, 09:14] Ann Reed: temp 17\n"
    assert look(text, SETTING, sent=date.min, order="dmy").text == text
