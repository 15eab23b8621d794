"""A day that no calendar has, in an owner's words."""

from __future__ import annotations

from datetime import UTC, date, datetime

from store.exchange.told.found import Setting
from store.exchange.told.look import look
from store.water.understood import KitForms


def test_a_day_that_is_none_gives_no_day_and_no_fault() -> None:
    setting = Setting(KitForms(), UTC, datetime(2026, 3, 14, 7, 30, tzinfo=UTC))
    looked = look("0000-00-00 pH 7.8", setting, sent=date(2026, 3, 13))
    assert [one.becomes for one in looked.found] == ["pH 7.8"]
