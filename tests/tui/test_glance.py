"""A pond at a glance: what survives where it is cut, and what shares a line."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from called import NOW
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from store.book.book import Book
from store.book.opening import open_book
from store.courses.kept.morning import morning_list
from store.watch.concern import MorningLine
from tui.said import began, since_column
from tui.screens.morning.glance import (
    PANEL_CELLS,
    flowing,
    joined,
    panel,
    read_glance,
    said_notes,
    said_source,
    told_of,
)
from tui.screens.morning.morning_rows import COLUMNS, alone, said_counts, where_in
from tui.widgets.columns import lay_out
from tui.widgets.strip import FULL_LINES, SHORT_LINES, arranged


@pytest.fixture
def book(demo_file: Path) -> Book:
    return open_book(demo_file, now=NOW)


def lines_of(book: Book) -> tuple[MorningLine, ...]:
    return morning_list(book, NOW).lines


@pytest.mark.parametrize(("width", "lines"), [(78, FULL_LINES), (58, SHORT_LINES)])
def test_the_strip_always_says_since_when(book: Book, width: int, lines: int) -> None:
    told = 0
    for line in lines_of(book):
        glance = read_glance(book, line.pond, NOW)
        if line.since is None or not glance.watch.concerns:
            continue
        told += 1
        rule = next(one for one in glance.watch.concerns if one.rule == line.rule)
        for known, since, what in (
            (None, line.since, line.what), (glance, rule.since, rule.what),
        ):  # fmt: skip
            part, head = arranged(told_of(line, known, glance.today), width, lines)[0]
            assert part == "head"
            if what.endswith("due today"):  # the day is said once
                assert "since" not in head
            else:
                assert began(since, glance.today) in head
    assert told > 5


def test_the_standing_of_a_source_is_on_the_line_that_is_left(book: Book) -> None:
    seen = set()
    for line in lines_of(book):
        glance = read_glance(book, line.pond, NOW)
        for concern in (*glance.watch.concerns, *glance.watch.notes):
            seen.add(concern.standing)
            assert concern.standing in said_source(concern)[:40].casefold()
    assert seen == {"published", "from memory", "common practice"}


def test_windows_in_which_a_pond_stays_share_a_line(book: Book) -> None:
    merged = 0
    for line in lines_of(book):
        notes = read_glance(book, line.pond, NOW).watch.notes
        said = said_notes(notes)
        staying = [note for note in notes if note.rule.startswith("window_")]
        assert sum("in window time" in one for one in said) <= 1
        assert len(said) == len(notes) - max(0, len(staying) - 1)
        for note in staying:
            assert any(note.stays_in in one for one in said)
        merged += len(staying) > 3
    assert merged > 3


def test_a_stayed_window_is_known_by_its_finding_not_by_its_words(book: Book) -> None:
    notes = [
        note
        for line in lines_of(book)
        for note in read_glance(book, line.pond, NOW).watch.notes
        if note.stays_in
    ]
    reworded = replace(notes[0], what="in other words")
    other = replace(notes[0], stays_in="", what="the fish are still, 9.0 °C")
    assert said_notes([reworded, other]) == [
        other.what,
        f"still in window time at {notes[0].value:.1f} °C: {notes[0].stays_in}",
    ]
    likely = replace(notes[0], by_estimate=True, value=97.0, unit="%", stays_in="costia")
    assert said_notes([likely, notes[0], replace(likely, stays_in="white spot")])[1:] == [
        "still in window time by estimate: costia, white spot"
    ], "a chance is no temperature"


def test_the_list_and_the_page_agree_on_since_when_or_the_list_says_or_earlier(book: Book) -> None:
    earlier = 0
    for line in lines_of(book):
        glance = read_glance(book, line.pond, NOW)
        told = next((one for one in glance.watch.concerns if one.rule == line.rule), None)
        if told is None or line.since is None or told.since is None:
            continue
        assert told.since == line.since or (line.or_earlier and told.since < line.since)
        column = since_column(line.since, glance.today, or_earlier=line.or_earlier)
        assert column.startswith("≤") == line.or_earlier
        _, head = arranged(told_of(line, None, glance.today), 200, FULL_LINES)[0]
        assert ("or earlier" in head) == line.or_earlier
        earlier += line.or_earlier
    assert earlier


def test_the_panel_never_breaks_under_its_gutter(book: Book) -> None:
    for line in lines_of(book):
        glance = read_glance(book, line.pond, NOW)
        shown = panel(line, glance).plain.splitlines()
        concerns = [one for one in shown if one[:7].strip() in ("act", "watch", "unknown", "calm")]
        assert len(concerns) >= len(glance.watch.concerns)
        below = shown[shown.index(concerns[0]) :] if concerns else []
        for one in below:
            assert cell_len(one) <= PANEL_CELLS
            assert one in concerns or one.startswith((" " * 9, "at rest")), one


@given(st.lists(st.text("abc 1", min_size=1, max_size=12), max_size=8), st.integers(14, 40))
def test_a_line_ends_between_two_texts(items: list[str], width: int) -> None:
    shown = flowing(items, width)
    assert all(cell_len(line) <= width for line in shown.splitlines())
    assert "".join(shown.split()) == "".join("".join(items).split())


def test_a_sentence_follows_a_full_stop() -> None:
    assert joined(()) == ""
    assert joined(("KH 2.0 is below 4.2", "TAN 0.95", "At this pH")) == (
        "KH 2.0 is below 4.2; TAN 0.95. At this pH"
    )


def test_the_only_pond_of_a_client_is_told_by_the_client(book: Book) -> None:
    lines = lines_of(book)
    single = alone(lines)
    by_client = {
        client: [line for line in lines if line.client == client]
        for client in {line.client for line in lines}
    }
    assert single == {client for client, ponds in by_client.items() if len(ponds) == 1}
    for client, ponds in by_client.items():
        shown = [where_in(line, 16, only_pond=client in single) for line in ponds]
        if client in single:
            assert ponds[0].where.startswith(shown[0].rstrip("…"))
        assert len(set(shown)) == len(shown), "two ponds of a client look the same"


def test_no_number_of_the_counts_is_cut(book: Book) -> None:
    listed = morning_list(book, NOW)
    whole = said_counts(listed, 3, "act", False, sort="age").split("   ")
    assert whole[:2] == ["act only, oldest test first", f"3 of {listed.total} ponds"]
    for cells in range(40, 120):
        said = said_counts(listed, 3, "act", False, sort="age", cells=cells)
        assert cell_len(said) <= cells
        assert said.split("   ") == whole[: said.count("   ") + 1]
    assert said_counts(listed, listed.total, "all", False).startswith(f"{listed.total} ponds   ")
    usual = said_counts(listed, 11, "needing", False, cells=58)
    assert usual.endswith(f"{listed.calm} calm not shown")


@pytest.mark.parametrize(
    ("screen", "columns"),
    [(60, ["where", "what", "age"]), (80, ["where", "what", "spark", "age", "visit"])],
)
def test_the_age_of_the_last_test_stays_to_the_least_width(screen: int, columns: list[str]) -> None:
    # Beside the gutter of the level stand a free cell at the right and the bar to scroll.
    placed = lay_out(COLUMNS, screen - 10 - 2)
    assert [one.column.key for one in placed] == columns


def test_dates_ahead_are_not_told_as_past() -> None:
    today = date(2026, 11, 25)
    assert began(date(2026, 11, 26), today) == "from Thu 26 Nov"
    assert began(today, today) == "since today"
    assert began(None, today) == ""
