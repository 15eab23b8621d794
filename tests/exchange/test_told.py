"""What owners tell: found phrase by phrase, kept in words, values only where a person took them."""

from __future__ import annotations

import random
from collections.abc import Sequence
from datetime import UTC, date, datetime, time
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sheets import NOW, add_ponds, sheet

from store.book.act import Act
from store.book.book import Book
from store.book.events import events
from store.errors import BadInput
from store.exams.deaths import deaths_of
from store.exchange.told.found import Found, Looked, Setting
from store.exchange.told.keep import Take, keep_told, takes_of
from store.exchange.told.look import look
from store.exchange.told.phrases import SENTENCE_ENDS
from store.exchange.told.pieces import pieces_of
from store.exchange.told.texts import setting_of, text_of, word_parts
from store.water.understood import KitForms
from store.water.water_tests import list_tests

TODAY = date(2026, 3, 14)  # a Saturday
THURSDAY = date(2026, 3, 12)
MESSAGE = "temp 17.5 this morning, ammonia 0.25, two koi flashing, did a 20 % change on Sat"
CHAT = """[10/03/2026, 19:02:11] Ann Reed: Pond is cloudy. Temp 16, pH 8.1 and nitrite 0
[10/03/2026, 19:05:40] Otto Vale: Keep the pH below 8.5. Change 20% tomorrow
[13/03/2026, 08:15:02] Ann Reed: Lost 2 koi overnight :( I changed 300 litres yesterday
and added 2 bags of salt so salt is 0.2%
\u200e[13/03/2026, 08:16:30] Ann Reed: <picture left out>
"""


def setting(**kit: str) -> Setting:
    return Setting(KitForms(**kit), UTC, NOW, frozenset({"otto vale"}))  # type: ignore[arg-type]


def seen(text: str, sent: date | None = THURSDAY) -> list[tuple[str, str, str]]:
    return [
        (one.kind, one.becomes, "" if one.day is None else f"{one.day:%a %d}")
        for one in look(text, setting(), sent=sent).found
    ]


def one_found(text: str, sent: date | None = THURSDAY) -> Found:
    (found,) = look(text, setting(), sent=sent).found
    return found


def take(looked: Looked, *numbers: int, clock: time | None = time(8)) -> list[Take]:
    found = [looked.found[one] for one in numbers]
    return [
        Take(
            one, one.day or TODAY, one.clock or (clock if one.needs_clock else None),
            one.choices[0] if one.choices else None,
        )
        for one in found
    ]  # fmt: skip


def test_a_message_is_read_clause_by_clause() -> None:
    assert seen(MESSAGE) == [
        ("reading", "17.5 °C", "Thu 12"),
        ("reading", "TAN 0.25 mg/L N (0.25, form not known: 0.19–0.25)", "Thu 12"),
        ("sign", "another sign seen: rubs or flashes", "Thu 12"),
        ("water change", "water changed", "Sat 07"),
    ]
    temp, ammonia, _, change = look(MESSAGE, setting(), sent=THURSDAY).found
    assert (temp.raw, temp.clock, temp.clock_part) == (
        "temp 17.5 this morning", time(9), "this morning",
    )  # fmt: skip
    assert (ammonia.clock, ammonia.clock_how) == (time(9), "reckoned")
    assert (change.day_how, change.litres) == ("reckoned", None)
    assert change.when_why == "“on Sat” is 7 Mar 2026, reckoned from 12 Mar 2026."


def test_without_a_day_of_writing_relative_days_are_asked() -> None:
    looked = look(MESSAGE, setting())
    assert [one.field for one in looked.questions] == ["sent"]
    assert {(one.day, one.day_how) for one in looked.found} == {(None, "asked")}
    assert "which day was that" in looked.found[3].when_why
    # A weekday that is the day of writing itself may be a week ago.
    assert one_found("pH 7.8 on Sat", TODAY).day is None
    assert one_found("pH 7.8 last Sat", TODAY).day == date(2026, 3, 7)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("pH 7.8 yesterday", "11"), ("pH 7.8 two days ago", "10"), ("pH 7.8 on 2 March", "02"),
        ("pH 7.8 on 2026-03-01", "01"), ("pH 7.8 last night", "11"), ("pH 7.8 a week ago", "05"),
        ("pH 7.8 on 14 March", ""), ("pH 7.8 on Monday or Tuesday", ""),
        ("the fish sat there, pH 7.8", "12"),
        ("pH 7.8 last week", ""), ("Jan: pH 7.8", ""), ("pH 7.8 in March", ""),
        ("pH 7.8 a few days ago", ""), ("pH 7.8 this am", "12"),
    ],
)  # fmt: skip
def test_days_in_words(text: str, day: str) -> None:
    readings = [one for one in look(text, setting(), sent=THURSDAY).found if one.kind == "reading"]
    assert {"" if one.day is None else f"{one.day:%d}" for one in readings} == {day}


def test_readings_of_one_sentence_stand_on_the_day_it_names() -> None:
    assert [day for _, _, day in seen("Yesterday temp 17, pH 8, KH 6. Today nitrite 0.1")] == [
        "Wed 11", "Wed 11", "Wed 11", "Thu 12",
    ]  # fmt: skip
    assert [day for _, _, day in seen("temp 17 yesterday, pH 8.1 on Monday, KH 6")] == [
        "Wed 11", "Mon 09", "",
    ]  # fmt: skip
    assert seen("Tested yesterday evening:\nph 7.8")[0][2] == ""
    assert seen("Tested this morning:\nph 7.8")[0][2] == "Thu 12"
    assert seen("12 March 2026\nIt rained yesterday. pH 7.8", None)[0][2] == "Thu 12"
    # A number begins a sentence where the word before it is none that is cut short.
    parted = seen("Water changed yesterday evening. 1 koi dead today")
    assert [(what, day) for _, what, day in parted] == [
        ("water changed", "Wed 11"), ("1 koi dead", "Thu 12"),
    ]  # fmt: skip
    assert SENTENCE_ENDS.split("evening. 1 koi") == ["evening.", "1 koi"]
    assert len(SENTENCE_ENDS.split("with approx. 300 litres at temperature. 12 degrees")) == 1
    (both,) = look("temp 17 yesterday, 18 C today", setting(), sent=THURSDAY).found
    assert (len(both.choices), both.day) == (2, None)


def test_a_chat_is_cut_by_its_stamps() -> None:
    looked = look(CHAT, setting())
    assert [(one.sender, one.own) for one in looked.messages] == [
        ("Ann Reed", False), ("Otto Vale", True), ("Ann Reed", False), ("Ann Reed", False),
    ]  # fmt: skip
    assert looked.questions == ()
    assert [(one.kind, one.becomes) for one in looked.found] == [
        ("reading", "16.0 °C"), ("reading", "pH 8.1"), ("reading", "NO2 0.00 mg/L"),
        ("reading", "pH <8.5"), ("deaths", "2 koi dead"),
        ("water change", "water changed 300 L"), ("dose", "stays words"),
    ]  # fmt: skip
    temp, advice, dead, change = (looked.found[one] for one in (0, 3, 4, 5))
    assert (temp.day, temp.clock, temp.clock_how) == (date(2026, 3, 10), time(19, 2), "message")
    assert advice.doubt == "Otto Vale of the practice wrote this, not the owner."
    assert (dead.dead, dead.species, dead.day) == (2, "koi", date(2026, 3, 13))
    assert (change.litres, change.day) == (300.0, date(2026, 3, 12))


@pytest.mark.parametrize(
    ("stamp", "sender", "clock"),
    [
        ("[10/13/26, 7:02 PM] Ann: ", "Ann", time(19, 2)),
        ("[19:02, 13/10/2026] Ann Reed: ", "Ann Reed", time(19, 2)),
        ("13.10.26, 19:02 - Ann: ", "Ann", time(19, 2)),
        ("13 Oct 2026 at 19:02 - Ann: ", "Ann", time(19, 2)),
        ("Ann Reed, [13.10.26 19:02]\n", "Ann Reed", time(19, 2)),
        ("On Tue, 13 Oct 2026 at 19:02, Ann Reed <a@example.org> wrote:\n", "Ann Reed",
         time(19, 2)),
        ("From: Ann Reed <a@example.org>\nDate: Tue, 13 Oct 2026 19:02:00 +0100\nTo: us\n\n",
         "Ann Reed", time(19, 2)),
        ("13 Oct 2026:\n", "", None), ("Tue 13 October 2026\n", "", None),
        ("2026-10-13 - ", "", None),
    ],
)  # fmt: skip
def test_shapes_of_stamps(stamp: str, sender: str, clock: time | None) -> None:
    at = Setting(KitForms(), UTC, datetime(2026, 10, 20, 9, tzinfo=UTC))
    looked = look(f"{stamp}pH 7.8", at)
    (message,) = looked.messages
    assert (message.written_on, message.written_at) == (date(2026, 10, 13), clock)
    assert message.sender == sender
    assert [one.becomes for one in looked.found] == ["pH 7.8"]


def test_an_order_of_days_that_nothing_shows_is_asked_once() -> None:
    text = "[02/01/2026, 09:14] Ann: temp 7\n[03/01/2026, 09:14] Ann: temp 8"
    looked = look(text, setting())
    (question,) = looked.questions
    assert (question.field, [one.value for one in question.answers]) == ("order", ["dmy", "mdy"])
    assert {one.day for one in looked.found} == {None}
    said = look(text, setting(), order="mdy")
    assert [one.day for one in said.found] == [date(2026, 2, 1), date(2026, 3, 1)]


def test_a_diary_without_years_asks_for_the_first() -> None:
    text = "30 Dec\ntemp 6, fed a spoonful\n31 Dec\npH 7.8\n2 Jan: one koi dead"
    assert [one.field for one in look(text, setting()).questions] == ["year"]
    looked = look(text, setting(), year=2025)
    assert looked.questions == ()
    assert [(one.kind, one.day) for one in looked.found if one.takeable] == [
        ("reading", date(2025, 12, 30)), ("reading", date(2025, 12, 31)),
        ("deaths", date(2026, 1, 2)),
    ]  # fmt: skip


@pytest.mark.parametrize(
    "text",
    [
        "added salt to 0.3 %", "gave 20 ml per 1000 l", "dosed at 15 ppm", "put 2 kg salt in",
        "Should I change 30 %?", "will do a 20 % change tomorrow", "I change 10% every week",
        "no water change done", "a few koi died", "fed 2 scoops", "if 2 koi dead I will ring",
        "call me on 07700 900123", "12 koi in 5000 gal", "oxygen is low",
    ],
)  # fmt: skip
def test_what_stays_words(text: str) -> None:
    assert [one.becomes for one in look(text, setting(), sent=THURSDAY).found if one.takeable] == []


@pytest.mark.parametrize(
    ("text", "doubt"),
    [
        ("pH 68", "cannot be"), ("water 20 lilies", "everyday word"),
        ("KH and GH 6", "stands beside it"), ("is 0.5 ammonia bad?", "asks"),
        ("normally pH is 8", "habit"), ("pH 8 is not right", "denied"),
        ("lost 12 koi since Friday", "several days"), ("about 12 koi died", "no count"),
        ("tap pH 7.2", "water of this pond"), ("ammonia is 0 - 2 koi flash", "count fish"), ("heater set to 15 C", "what was done"),
        ("lost 3 fish to the heron", "found dead"), ("topped up 300 l", "against chlorine"),
    ],
)  # fmt: skip
def test_what_is_doubtful_is_never_among_all(text: str, doubt: str) -> None:
    found = [one for one in look(text, setting(), sent=THURSDAY).found if one.takeable]
    assert any(doubt in one.doubt for one in found), found
    assert list(takes_of([one for one in found if one.doubt])) == []


@pytest.mark.parametrize(
    ("text", "number", "species"),
    [
        ("two goldfish died", 2, "goldfish"), ("found one dead", 1, ""), ("lost another", 1, ""),
        ("lost a koi", 1, "koi"), ("3 dead fish this morning", 3, ""), ("no deaths", 0, ""),
        ("deaths: 4", 4, ""), ("two of my big koi were found dead", 2, "koi"),
        ("both goldfish died", 2, "goldfish"), ("one died in the night", 1, ""),
        ("a dead koi by the skimmer", 1, "koi"), ("2 dead this morning", 2, ""),
    ],
)  # fmt: skip
def test_dead_fish_by_number(text: str, number: int, species: str) -> None:
    found = one_found(text)
    assert (found.kind, found.dead, found.species, found.doubt) == ("deaths", number, species, "")


@pytest.mark.parametrize(
    "text",
    [
        "lost 2 kg",
        "found 3 koi at the shallow end",
        "lost 200 litres",
        "a dead frog",
        "3 dead leaves",
        "the 3 year old koi died",
        "one dead spot by the inlet",
    ],
)
def test_no_fish_died(text: str) -> None:
    assert [one for one in look(text, setting(), sent=THURSDAY).found if one.dead is not None] == []


def test_the_whole_text_is_kept_in_words_and_values_only_where_taken(book: Book, act: Act) -> None:
    (pond,) = add_ponds(book, act, "Upper pond")
    looked = look(CHAT, setting_of(book, pond, NOW))
    done = keep_told(book, act, pond, looked, [])
    assert (done.words, done.readings, done.deaths, done.events) == (2, 0, 0, 0)
    assert list_tests(book, pond) == ()
    notes = [(one.on_day, one.note) for one in reversed(events(book, pond))]
    assert [one for one, _ in notes] == [date(2026, 3, 10), date(2026, 3, 13)]
    assert [text for _, text in notes] == [
        text.strip() for _, text in word_parts(looked, TODAY)
    ]  # fmt: skip

    done = keep_told(book, act, pond, looked, take(looked, 0, 1, 4, 5), sure=True)
    assert (done.words, done.words_already) == (0, 2)
    assert (done.readings, done.deaths, done.events, done.already) == (2, 1, 1, 0)
    (test,) = list_tests(book, pond)
    assert {one: value.value for one, value in test.readings.items()} == {
        "temperature_c": 16.0, "ph": 8.1,
    }  # fmt: skip
    assert test.note == (
        "told by the owner (Ann Reed, 10 Mar 2026 19:02): “Temp 16”, “pH 8.1”; hour of the message"
    )
    assert test.way == "file"
    (dead,) = deaths_of(book, pond)
    assert (dead.dead, dead.species, dead.on_day) == (2, "koi", date(2026, 3, 13))
    assert "“Lost 2 koi overnight”" in dead.note
    changed = next(one for one in events(book, pond) if one.kind == "water_changed")
    assert (changed.amount, changed.unit, changed.on_day) == (300.0, "L", date(2026, 3, 12))


def test_the_same_text_twice_adds_nothing_twice(sqlite_book: Book, act: Act) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    looked = look(CHAT, setting_of(sqlite_book, pond, NOW))
    taken = take(looked, 0, 1, 4, 5)
    keep_told(sqlite_book, act, pond, looked, taken, sure=True)
    # Another hour makes it no other reading.
    again = [Take(one.found, one.day, time(11), one.reading) for one in taken]
    done = keep_told(sqlite_book, act, pond, looked, again)
    assert (done.words, done.readings, done.deaths, done.events) == (0, 0, 0, 0)
    assert (done.already, done.words_already, done.doubts) == (4, 2, ())
    assert len(list_tests(sqlite_book, pond)) == 1
    # What was left the first time can be taken the second time.
    done = keep_told(sqlite_book, act, pond, looked, take(looked, 1, 2))
    assert (done.readings, done.already) == (1, 1)
    # A longer copy of the same chat brings only what is new.
    longer = look(
        f"{CHAT}[13/03/2026, 20:00:00] Ann Reed: pH 7.9 now", setting_of(sqlite_book, pond, NOW)
    )
    done = keep_told(sqlite_book, act, pond, longer, take(longer, 0, 1, 7))
    assert (done.words, done.readings, done.already) == (1, 1, 2)


def test_dead_fish_entered_before_are_asked_about_and_nothing_is_saved(
    sqlite_book: Book, act: Act
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    for text in ("lost 2 koi", "yes, 2 koi died"):
        looked = look(text, setting_of(sqlite_book, pond, NOW), sent=THURSDAY)
        done = keep_told(sqlite_book, act, pond, looked, take(looked, 0))
    assert "Are these others?" in done.doubts[0]
    assert len(deaths_of(sqlite_book, pond)) == 1
    assert len(events(sqlite_book, pond)) == 1
    assert keep_told(sqlite_book, act, pond, looked, take(looked, 0), sure=True).deaths == 1


def test_one_value_twice_at_one_hour_is_refused_with_everything(
    sqlite_book: Book, act: Act
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    looked = look("pH 7.8. pH 8.1", setting_of(sqlite_book, pond, NOW), sent=THURSDAY)
    with pytest.raises(BadInput, match="Two values of pH"):
        keep_told(sqlite_book, act, pond, looked, take(looked, 0, 1))
    assert events(sqlite_book, pond) == ()


def test_an_hour_that_is_not_known_is_said_in_the_note(sqlite_book: Book, act: Act) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    looked = look("pH 7.8. temp 12 this morning", setting_of(sqlite_book, pond, NOW), sent=THURSDAY)
    keep_told(sqlite_book, act, pond, looked, take(looked, 0, 1, clock=None))
    noon, nine = list_tests(sqlite_book, pond)
    assert (noon.taken_at.hour, nine.taken_at.hour) == (12, 9)
    assert noon.note.endswith("“pH 7.8”; time of day not stated, noon supposed")
    assert nine.note.endswith("09:00 supposed for “this morning”")


def test_only_a_kit_of_the_pond_itself_says_the_form(sqlite_book: Book, act: Act) -> None:
    first, second = add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    with sqlite_book.writing(act) as writing:
        kit = writing.add("kit", name="Case 1", ammonia_form="nh3")
        row = writing.add("site", client_id=writing.add("client", name="Alder"), name="Garden")
        third = writing.add("pond", site_id=row, name="Own kit", kit_id=kit)
    assert setting_of(sqlite_book, first, NOW).kit.ammonia == "unknown"
    assert setting_of(sqlite_book, third, NOW).kit.ammonia == "nh3"
    assert second != first


def test_a_file_is_read_in_any_letters_and_refused_when_it_is_none(tmp_path: Path) -> None:
    assert text_of(sheet(tmp_path, "17 °C\r\n", "a.txt", "utf-16")) == "17 °C\n"
    assert text_of(sheet(tmp_path, "17 °C", "b.txt", "cp1252")) == "17 °C"
    (tmp_path / "c.txt").write_bytes(b"%PDF-1.7 ...")
    for name in ("c.txt", "none.txt"):
        with pytest.raises(BadInput):
            text_of(tmp_path / name)


def test_a_long_day_has_several_notes(sqlite_book: Book, act: Act) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    text = "\n".join(["rain " * 1000] * 9)
    looked = look(text, setting_of(sqlite_book, pond, NOW), sent=THURSDAY)
    assert keep_told(sqlite_book, act, pond, looked, []).words == 3
    assert keep_told(sqlite_book, act, pond, looked, []).words_already == 3


_BITS = (
    "temp 17.5", "pH", "7,8", "0.25 ", "lost 2 koi", "[10/03/2026, 19:02] Ann: ", "10/3/26", "\n",
    "yesterday", "on Sat", "at 7:40", " and ", ", ", "?", "20 % change", "2 May", "31 Feb", "//",
    "From: x\n", "Date: 1 May 2026\n", "[", "]:", "\ufffd", "añ°", "99999999999", ";", "nh3-n", "(",
)  # fmt: skip


@settings(max_examples=25, deadline=None)
@given(st.lists(st.sampled_from(_BITS), max_size=40), st.integers(0, 2**32))
def test_any_text_is_kept_whole_and_never_breaks(bits: Sequence[str], seed: int) -> None:
    text = "".join(bits) + "".join(random.Random(seed).choices(_BITS, k=6))
    for sent in (None, THURSDAY):
        looked = look(text, setting(), sent=sent)
        assert "".join(part for _, part in word_parts(looked, TODAY)) in (looked.text, "")
        assert looked.messages or not looked.text.strip()
        assert len({one.key for one in looked.found}) == len(looked.found)
        for one in looked.found:
            assert one.takeable or one.why
            assert one.day is None or one.day <= TODAY
            assert one.raw in " ".join(looked.text.split())
    pieces = pieces_of(looked.text)
    assert all(one.end == after.start for one, after in pairwise(pieces))


_NAMED = {
    "temperature_c": (("temp", "water temp"), ("4.5", "17,5", "12")),
    "ph": (("pH", "ph"), ("7", "7.8", "8,1")),
    "tan_mg_l": (("ammonia", "NH3-N"), ("0", "0.25", ".5")),
    "nitrite_mg_l": (("nitrite", "NO2"), ("0", "0.1")),
    "nitrate_mg_l": (("nitrate", "NO3"), ("5", "40")),
}
_BESIDE = (
    "2 koi flashing", "fed 3 scoops", "added 2 kg salt", "did a 20 % change", "lost 1 koi",
    "12 fish in 5000 l", "on 2 March", "at 7:40", "yesterday", "5 bags of carbon",
    "call 01632 960123", "filter 2 cleaned", "30 min later", "3/4 of the pond", "10 days ago",
)  # fmt: skip


@settings(max_examples=25, deadline=None)
@given(st.randoms(use_true_random=False))
def test_a_reading_beyond_doubt_is_what_was_written(chance: random.Random) -> None:
    truth: dict[str, float] = {}
    parts: list[str] = []
    for code in chance.sample(sorted(_NAMED), chance.randint(1, 4)):
        names, values = _NAMED[code]
        name, value = chance.choice(names), chance.choice(values)
        truth[code] = float(value.replace(",", "."))
        between = chance.choice((" ", ": ", " is ", " was ", " = "))
        parts.append(f"{name}{between}{value}" if chance.random() < 0.8 else f"{value} {name}")
    for more in chance.sample(_BESIDE, chance.randint(0, 3)):
        parts.insert(chance.randint(0, len(parts)), more)
    ends = (", ", " and ", ". ", "\n", " - ", "; ", " ", " but ")
    text = "".join(part + chance.choice(ends) for part in parts)
    for one in look(text, setting(ammonia="n", nitrite="no2", nitrate="no3"), sent=THURSDAY).found:
        if one.choices and not one.doubt:
            (reading,) = one.choices
            assert reading.value == pytest.approx(truth[reading.parameter]), text


def test_ticks_are_known_again_when_the_text_grows() -> None:
    before = {one.key for one in look("pH 7.8. temp 12", setting()).found}
    assert before <= {one.key for one in look("pH 7.8. temp 12. KH 6", setting()).found}
