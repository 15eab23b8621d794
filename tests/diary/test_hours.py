"""Weekly hours as people type them: understood, or handed back as they stand."""

from __future__ import annotations

import csv
from datetime import date, time
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from store.diary.times.hours import WeekHours, read_hours, said_hours, spells_on
from store.diary.times.spell import MIDNIGHT, Spell, minute_of

PONDS = Path(__file__).parents[2] / "demo_sites" / "ponds.csv"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Mon-Sat 08:00-18:00", "Mon-Sat 08:00-18:00"),
        ("Mon-Fri after 17:00; Sat 09:00-13:00", "Mon-Fri 17:00-24:00; Sat 09:00-13:00"),
        ("daily 06:30-10:30", "daily 06:30-10:30"),
        ("06:30-10:30", "daily 06:30-10:30"),
        ("9am-5pm", "daily 09:00-17:00"),
        ("9-5pm", "daily 09:00-17:00"),
        ("1-5pm", "daily 13:00-17:00"),
        ("11-1pm", "daily 11:00-13:00"),
        ("9 a.m. to 5 p.m.", "daily 09:00-17:00"),
        ("12am-12pm", "daily 00:00-12:00"),
        ("12pm-12am", "daily 12:00-24:00"),
        ("10am - midnight", "daily 10:00-24:00"),
        ("8.30 - 12 noon and 2pm-6pm", "daily 08:30-12:00, 14:00-18:00"),
        ("0900-1700 hrs", "daily 09:00-17:00"),
        ("9h30-17h", "daily 09:30-17:00"),
        ("between 9 and 17", "daily 09:00-17:00"),
        ("from 9 to 17", "daily 09:00-17:00"),
        ("after 9 until 17", "daily 09:00-17:00"),
        ("any day after 16:00", "daily 16:00-24:00"),
        ("daily after 12:00", "daily 12:00-24:00"),
        ("not before 10", "daily 10:00-24:00"),
        ("from 10:00 onwards", "daily 10:00-24:00"),
        ("10:00 onwards", "daily 10:00-24:00"),
        ("any time after 10", "daily 10:00-24:00"),
        ("before 10am", "daily 00:00-10:00"),
        ("not after 16:00", "daily 00:00-16:00"),
        ("before 9 and after 17", "daily 00:00-09:00, 17:00-24:00"),
        ("weekdays 9-17", "Mon-Fri 09:00-17:00"),
        ("every weekday from 9 to 17", "Mon-Fri 09:00-17:00"),
        ("Weekends 10:00-16:00", "Sat-Sun 10:00-16:00"),
        ("Mon, Wed, Fri 09:00-15:00", "Mon, Wed, Fri 09:00-15:00"),
        ("Mon/Wed & Fri 9-15", "Mon, Wed, Fri 09:00-15:00"),
        ("Mondays and Thursdays 9-12", "Mon, Thu 09:00-12:00"),
        ("Tues. - Thurs. 9–12", "Tue-Thu 09:00-12:00"),
        ("Monday to Friday: 08:00 - 17:00", "Mon-Fri 08:00-17:00"),
        ("Fri-Mon 10-12", "Mon, Fri-Sun 10:00-12:00"),
        ("Mon-Fri 9-17, Sat 10-12", "Mon-Fri 09:00-17:00; Sat 10:00-12:00"),
        ("Mon 9-17 Tue 9-12", "Mon 09:00-17:00; Tue 09:00-12:00"),
        ("Mon-Fri 8-12, 14-18", "Mon-Fri 08:00-12:00, 14:00-18:00"),
        ("Mon 8-12; Mon 14-18", "Mon 08:00-12:00, 14:00-18:00"),
        ("9-17 Mon-Fri, 10-12 Sat", "Mon-Fri 09:00-17:00; Sat 10:00-12:00"),
        ("Mon-Fri 8-12\nSat 9-11", "Mon-Fri 08:00-12:00; Sat 09:00-11:00"),
        ("weekdays", "Mon-Fri"),
        ("Sat only", "Sat"),
        ("not Wed", "Mon-Tue, Thu-Sun"),
        ("closed Sun", "Mon-Sat"),
        ("no Sundays", "Mon-Sat"),
        ("not Sat or Sun", "Mon-Fri"),
        ("Sat or Sun 9-12", "Sat-Sun 09:00-12:00"),
        (
            "Mon-Fri 9-17 or by appointment",
            "Mon-Fri 09:00-17:00; not understood: “or by appointment”",
        ),
        ("not Sat and Sun", "Mon-Fri"),
        ("daily except Wed", "Mon-Tue, Thu-Sun"),
        ("Mon-Sat 9-17 except Wed", "Mon-Tue, Thu-Sat 09:00-17:00"),
        ("Mon-Sat 9-17; not Wed", "Mon-Tue, Thu-Sat 09:00-17:00"),
        ("Sun closed, Mon-Fri 9-17", "Mon-Fri 09:00-17:00"),
        ("closed Sun, Sat 9-12", "Sat 09:00-12:00"),
        ("Sun: closed", "Mon-Sat"),
        ("any time", "any time"),
        ("anytime", "any time"),
        ("24/7", "any time"),
        ("Mon all day; Tue 9-12", "Mon any time; Tue 09:00-12:00"),
        ("Mon-Fri 00:00-24:00", "Mon-Fri any time"),
        ("any day", "any day"),
        ("", "any day"),
        (" \n ; ", "any day"),
    ],
)
def test_hours_are_understood(text: str, said: str) -> None:
    assert said_hours(read_hours(text)) == said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        # Nothing is limited by words that were not understood, and nothing is put in their place.
        ("by appointment", "any day; not understood: “by appointment”"),
        ("any day in daylight", "any day; not understood: “in daylight”"),
        ("mornings", "any day; not understood: “mornings”"),
        ("ask Bert first", "any day; not understood: “ask Bert first”"),
        ("9:00", "any day; not understood: “9:00”"),
        # A clock that runs backwards may be one of twelve hours, or a night: not for us to choose.
        ("9-5", "any day; not understood: “9-5”"),
        ("Mon 22:00-02:00", "any day; not understood: “Mon 22:00-02:00”"),
        ("Mon 9-9", "any day; not understood: “Mon 9-9”"),
        ("Mon 25:00-26:00", "any day; not understood: “Mon 25:00-26:00”"),
        ("Mon 9:60-10:00", "any day; not understood: “Mon 9:60-10:00”"),
        ("13pm-14pm", "any day; not understood: “13pm-14pm”"),
        ("after 9:00, before 17:00", "any day; not understood: “after 9:00, before 17:00”"),
        # Words before the hours, or behind them, may turn them round.
        ("no visits Mon-Fri 9-12", "any day; not understood: “no visits Mon-Fri 9-12”"),
        ("Mon-Fri 9-17 forbidden", "any day; not understood: “Mon-Fri 9-17 forbidden”"),
        ("closed Mon 9-12", "any day; not understood: “closed Mon 9-12”"),
        # Words that narrow the hours before them leave the hours standing.
        ("Mon-Fri 08:30-15:30 in term", "Mon-Fri 08:30-15:30; not understood: “in term”"),
        ("Mon-Fri 9-17 (ring first), Sat 10-12",
         "Mon-Fri 09:00-17:00; Sat 10:00-12:00; not understood: “(ring first)”"),
        ("Mon-Fri 9-17, ring first, Sat 10-12",
         "Mon-Fri 09:00-17:00; Sat 10:00-12:00; not understood: “ring first”"),
        ("Mon-Fri 9-17, not 12-13", "Mon-Fri 09:00-17:00; not understood: “not 12-13”"),
        ("Mon-Fri 9-17 except public holidays",
         "Mon-Fri 09:00-17:00; not understood: “except public holidays”"),
        ("weekdays 9-17, weekends by appointment",
         "Mon-Fri 09:00-17:00; Sat-Sun; not understood: “by appointment”"),
        # The other parts of a text stand.
        ("Mon-Fri 9-17; Sat if Bert is in", "Mon-Fri 09:00-17:00; Sat; not understood: “if Bert is in”"),
        ("dogs loose; Mon-Fri 9-17", "Mon-Fri 09:00-17:00; not understood: “dogs loose”"),
        # Two hours for one day: the first stand, the second are handed back.
        ("Mon-Sat 9-17; Wed 9-12", "Mon-Sat 09:00-17:00; not understood: “Wed 9-12”"),
    ],
)  # fmt: skip
def test_what_is_not_understood_is_handed_back(text: str, said: str) -> None:
    assert said_hours(read_hours(text)) == said


def test_all_hours_of_the_demo_are_understood_or_said_to_be_unknown() -> None:
    with PONDS.open(encoding="utf-8", newline="") as lines:
        texts = {row["access_hours"] for row in csv.DictReader(lines)}
    assert len(texts) > 15
    unknown = {text: read_hours(text).unknown for text in texts if read_hours(text).unknown}
    assert unknown == {
        "any day in daylight": "in daylight",
        "Mon-Fri 08:30-15:30 in term": "in term",
    }
    for text in texts - {"any time", "any day in daylight"}:
        assert read_hours(text).limits, text


def test_hours_of_one_day() -> None:
    hours = read_hours("Mon-Fri after 17:00; Sat 09:00-13:00")
    assert spells_on(hours, date(2026, 3, 13)) == (Spell(time(17), MIDNIGHT),)  # a Friday
    assert spells_on(hours, date(2026, 3, 14)) == (Spell(time(9), time(13)),)
    assert spells_on(hours, date(2026, 3, 15)) == ()
    assert hours.minutes == 5 * 420 + 240


@pytest.mark.parametrize(
    ("text", "limits", "days_only"),
    [
        ("", False, range(7)),
        ("by appointment", False, range(7)),
        ("any day in daylight", False, range(7)),
        ("any time", False, ()),
        ("daily 00:00-24:00", False, ()),
        ("weekdays", True, range(5)),
        ("not Wed", True, (0, 1, 3, 4, 5, 6)),
        ("Mon-Fri 9-17; Sat", True, (5,)),
        ("Sat; Sat 9-12", True, ()),
    ],
)
def test_days_without_hours_are_told_apart(
    text: str, limits: bool, days_only: range | tuple[int, ...]
) -> None:
    hours = read_hours(text)
    assert hours.limits is limits
    assert hours.days_only == set(days_only)


def test_hours_that_touch_are_one() -> None:
    assert read_hours("Mon 9-12; Mon 12-15").spells[0] == (Spell(time(9), time(15)),)


def test_what_could_drive_a_terminal_is_made_visible() -> None:
    assert "\x1b" not in read_hours("Mon 9-12, ring \x1b[2J").unknown


# --- properties ----------------------------------------------------------------------------------

MINUTES = st.integers(0, 1440).filter(lambda minute: minute != 1439)


def spell_of(begins: int, ends: int) -> Spell:
    return Spell(
        time(begins // 60, begins % 60), MIDNIGHT if ends == 1440 else time(ends // 60, ends % 60)
    )


@st.composite
def days(draw: st.DrawFn) -> tuple[Spell, ...]:
    edges = sorted(draw(st.sets(MINUTES, max_size=6)))
    return tuple(spell_of(*pair) for pair in zip(edges[::2], edges[1::2], strict=False))


@settings(deadline=None)
@given(st.tuples(*[days()] * 7).filter(any))
def test_hours_are_read_back_from_their_own_words(spells: tuple[tuple[Spell, ...], ...]) -> None:
    hours = WeekHours(spells, "")
    assert read_hours(said_hours(hours)) == hours


@settings(deadline=None)
@given(st.sets(st.integers(0, 6), min_size=1))
def test_days_without_hours_are_read_back(some: set[int]) -> None:
    whole = (Spell(time(0), MIDNIGHT),)
    hours = WeekHours(tuple(whole if day in some else () for day in range(7)), "", frozenset(some))
    assert read_hours(said_hours(hours)) == hours


WORDS = st.lists(
    st.sampled_from([
        "Mon", "Tue", "Fri", "Sat", "-", "to", ",", ";", "and", "9", "17", "09:30", "5pm", "12",
        "noon", "after", "before", "until", "not", "closed", "daily", "weekdays", "any time",
        "by appointment", "(", ")", "in term", "dogs", ".", "from", "except", "no", "9-17",
    ]),
    max_size=12,
).map(" ".join)  # fmt: skip


@settings(deadline=None)
@given(st.one_of(st.text(max_size=60), WORDS))
def test_any_text_gives_seven_days_in_order_without_overlaps(text: str) -> None:
    hours = read_hours(text)
    assert len(hours.spells) == 7
    for spells in hours.spells:
        edges = [
            edge for spell in spells for edge in (minute_of(spell.begins), minute_of(spell.ends))
        ]
        assert edges == sorted(set(edges))
    said = said_hours(hours)
    assert said
    if any(hours.spells):
        again = read_hours(said.partition("; not understood")[0])
        assert (again.spells, again.days_only) == (hours.spells, hours.days_only)
