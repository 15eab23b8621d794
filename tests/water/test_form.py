"""The form of a water test: how it was taken, read and written back."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest

from store.errors import BadInput
from store.water.doubtful import doubts_of
from store.water.form import DETAILS, detail_texts, read_details, said_details
from store.water.line import understand
from store.water.understood import KitForms
from store.water.water_tests import NewTest, WaterTest

NOW = datetime(2026, 3, 14, 12, 0, tzinfo=UTC)
TAKEN = datetime(2026, 3, 14, 9, 30, tzinfo=UTC)
LONDON = ZoneInfo("Europe/London")


def read(taken_at: datetime = TAKEN, **texts: str):
    return read_details(texts, taken_at=taken_at, now=NOW, zone=LONDON)


@pytest.mark.parametrize(
    ("typed", "after"),
    [
        ("10:20", timedelta(minutes=50)),
        ("at 10:20", timedelta(minutes=50)),
        ("9.30 am", None),
        ("40 min", timedelta(minutes=40)),
        ("2 h later", timedelta(hours=2)),
        ("2026-03-14 09:30", timedelta()),
    ],
)
def test_the_time_of_testing_is_a_clock_time_or_a_wait(typed: str, after: timedelta | None) -> None:
    if after is None:
        with pytest.raises(BadInput) as told:
            read(tested_at=typed)
        assert told.value.field == "tested_at"
    else:
        assert read(tested_at=typed).tested_at == TAKEN + after


def test_a_test_at_once_is_not_before_its_sample() -> None:
    taken = TAKEN + timedelta(seconds=35)
    assert read(taken, tested_at="09:30").tested_at == taken


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("tested_at", "09:10", "before it was taken, at 09:30 on 14 Mar 2026"),
        ("tested_at", "3 h", "still to come"),
        ("tested_at", "16:20", "Please type the day before the time."),
        ("tested_at", "20", "is no time"),
        ("tested_at", "soon", "is no time"),
        ("depth", "deep", "not a number"),
        ("depth", "-1", "cannot be less than 0 m"),
        ("depth", "300", "cannot be more than 200 m"),
        ("depth", "2 L", "is not known for the length"),
        ("since_feeding", "900 d", "over 694 days"),
        ("since_water_change", "-2 h", "is not understood"),
        ("binder_days", "1200", "over 1000 days"),
    ],
)
def test_what_cannot_be_is_a_sentence_at_its_field(field: str, typed: str, says: str) -> None:
    with pytest.raises(BadInput) as told:
        read(**{field: typed})
    assert told.value.field == field
    said = said_details({field: typed}, taken_at=TAKEN, now=NOW, zone=LONDON)
    assert said == {field: told.value.message}
    assert says in told.value.message


def a_test(**taken: object) -> WaterTest:
    line = understand("19C TAN 0.5 DO 8", kit=KitForms("n", "no2", "no3"), now=NOW, zone=UTC)
    blank = WaterTest(
        uuid4(), 1, uuid4(), TAKEN, {one.parameter: one for one in line.readings}, "", "form", "",
        None, None, None, None, None, None, "AV", None, "",
    )  # fmt: skip
    return replace(blank, **taken)


def test_how_a_test_was_taken_is_written_and_read_the_same_again() -> None:
    test = a_test(
        place="by the skimmer", depth_m=0.6096, tested_at=TAKEN + timedelta(minutes=40),
        since_feeding_min=90.0, since_water_change_min=4320.0, binder_days=0.5,
    )  # fmt: skip
    texts = detail_texts(test, LONDON)
    assert set(texts) == set(DETAILS)
    details = read_details(texts, taken_at=TAKEN, now=NOW, zone=LONDON)
    for name in (
        "place", "depth_m", "tested_at", "since_feeding_min", "since_water_change_min",
        "binder_days",
    ):  # fmt: skip
        assert getattr(details, name) == getattr(test, name)


def test_nothing_known_is_no_text() -> None:
    assert detail_texts(a_test(), LONDON) == {}
    details = read()
    assert (details.place, details.depth_m, details.tested_at) == ("", None, None)


def test_what_was_understood_is_said_beside_the_field() -> None:
    texts = {"tested_at": "40 min", "depth": "2 ft", "since_feeding": "5 h", "place": "inlet"}
    assert said_details(texts, taken_at=TAKEN, now=NOW, zone=LONDON) == {
        "tested_at": "at 10:10 on 14 Mar 2026", "depth": "0.61 m", "since_feeding": "5 h",
        "place": "",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("waited", "says"),
    [
        (5, ""),
        (30, "stood 30 min before it was tested: oxygen may have changed."),
        (180, "stood 3 h before it was tested: oxygen and ammonia may have changed."),
    ],
)
def test_an_old_sample_is_doubted_before_and_after_saving(waited: int, says: str) -> None:
    """Ten minutes for oxygen and two hours for ammonia are common practice, without a source."""
    test = a_test(tested_at=TAKEN + timedelta(minutes=waited))
    new = NewTest(TAKEN, tuple(test.readings.values()), tested_at=test.tested_at)
    assert doubts_of(test) == doubts_of(new)
    assert says in " ".join(doubts_of(new))
    assert bool(doubts_of(new)) == bool(says)
