"""The form that promises something by hand, typed on the keyboard alone."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from screen_text import a_moment, looks_as, screen_text
from small_app import SmallApp

from store.book.act import Act
from store.book.book import Book
from store.diary.kept.promised.follow_ups import follow_ups_of
from store.diary.kept.promised.promise_typed import promise_asked, promise_typed, save_promise
from store.errors import BadInput, NotFound
from tests.book.entries import row_of
from tui.screens.desk.promise import HINT, PromiseScreen
from tui.widgets.fields import Form

TODAY = date(2026, 3, 14)


def owned(book: Book, act: Act, *ponds: str) -> tuple[Any, list[Any]]:
    with book.writing(act) as writing:
        client = writing.add("client", name="Brook House")
        site = writing.add("site", client_id=client, name="Garden")
        keys = [writing.add("pond", site_id=site, name=name) for name in ponds or ("Lower pond",)]
    return client, keys


async def open_form(pilot: Any) -> Form:
    for _ in range(200):
        await a_moment(0.02)
        found = pilot.app.screen.query(Form)
        if found and pilot.app.screen.focused is not None:
            await pilot.pause()
            return found.first()
    raise AssertionError(screen_text(pilot.app))


async def typed(pilot: Any, *words: str) -> None:
    """Words into the fields, one after the other from the one with the focus."""
    for text in words:
        await pilot.press(*("space" if sign == " " else sign for sign in text), "tab")
        await pilot.pause()


class TestUnderstood:
    """What the texts mean, with the next days."""

    def test_a_repeat_in_words_with_its_days_and_window(self) -> None:
        texts = {"kind": "seasonal", "first_on": "15 Mar", "repeats": "March and October"}
        found = promise_typed(texts, TODAY)
        assert (found.early_days, found.late_days) == (7, 14)
        assert [str(day) for day in found.days] == [
            "2026-03-15", "2026-10-15", "2027-03-15", "2027-10-15", "2028-03-15",
        ]  # fmt: skip
        assert found.more
        assert found.days_said.endswith("Wed 15 Mar 2028, and so on.")
        assert found.window_said == "In time is the first from 8 Mar 2026 to 29 Mar 2026."

    def test_once_and_a_few_times(self) -> None:
        once = promise_typed({"kind": "ring", "first_on": "tomorrow"}, TODAY)
        assert once.days_said == "Once: Sun 15 Mar 2026."
        assert once.window_said == "In time is the day itself."
        twice = promise_typed(
            {"kind": "ring", "first_on": "tomorrow", "repeats": "weekly, 2 times"}, TODAY
        )
        assert (len(twice.days), twice.more) == (2, False)
        assert not twice.days_said.endswith("and so on.")

    def test_days_over_the_change_of_the_clocks_and_the_end_of_february(self) -> None:
        clocks = promise_typed({"kind": "ring", "first_on": "22 Mar", "repeats": "weekly"}, TODAY)
        assert [day.day for day in clocks.days] == [22, 29, 5, 12, 19]
        month = promise_typed(
            {"kind": "ring", "first_on": "31 Dec", "repeats": "monthly on the 31st"}, TODAY
        )
        assert [day.month for day in month.days] == [12, 1, 3, 5, 7]

    @pytest.mark.parametrize(
        ("texts", "field"),
        [
            ({"kind": ""}, "kind"),
            ({"first_on": " "}, "first_on"),
            ({"first_on": "someday"}, "first_on"),
            ({"first_on": "2026-03-13"}, "first_on"),
            ({"repeats": "when it rains"}, "repeats"),
            ({"early_days": "two"}, "early_days"),
            ({"early_days": "-1"}, "early_days"),
            ({"late_days": "367"}, "late_days"),
            ({"late_days": "1.5"}, "late_days"),
        ],
    )
    def test_what_is_not_understood_is_told_at_its_field(
        self, texts: dict[str, str], field: str
    ) -> None:
        with pytest.raises(BadInput) as told:
            promise_typed({"kind": "ring", "first_on": "Mon"} | texts, TODAY)
        assert told.value.field == field

    @pytest.mark.parametrize("text", ["0", "0 d", "0 days", "0d"])
    def test_no_days_is_not_the_usual(self, text: str) -> None:
        found = promise_typed({"kind": "seasonal", "first_on": "Mon", "early_days": text}, TODAY)
        assert (found.early_days, found.late_days) == (0, 14)

    def test_saved_with_every_text(self, sqlite_book: Book, act: Act) -> None:
        client, (pond,) = owned(sqlite_book, act)
        texts = {
            "pond_id": str(pond), "kind": "visit", "says": "Look at the filter", "first_on": "Mon",
            "repeats": "every 2 weeks", "early_days": "1", "late_days": "2", "note": "Gate 12.",
            "promised_by": str(act.by),
        }  # fmt: skip
        save_promise(sqlite_book, act, client, texts)
        (one,) = follow_ups_of(sqlite_book, client)
        assert (one.pond_id, one.says, one.note) == (pond, "Look at the filter", "Gate 12.")
        assert (one.first_on, one.early_days, one.late_days) == (date(2026, 3, 16), 1, 2)
        assert one.repeats.startswith("FREQ=WEEKLY;INTERVAL=2")

    def test_nothing_is_promised_to_a_client_that_was_struck_through(
        self, sqlite_book: Book, act: Act
    ) -> None:
        client, (pond,) = owned(sqlite_book, act)
        with sqlite_book.writing(act) as writing:
            writing.strike("pond", pond, "Filled in.")
        assert promise_asked(sqlite_book, client).ponds == ()
        with sqlite_book.writing(act) as writing:
            writing.strike("client", client, "They moved away.")
        with pytest.raises(NotFound):
            promise_asked(sqlite_book, client)


class TestTheForm:
    """Typed, understood while typing, saved; nothing typed is lost."""

    async def test_typed_and_saved(self, sqlite_book: Book, act: Act, tmp_path: Path) -> None:
        client, (pond,) = owned(sqlite_book, act)
        app = SmallApp(sqlite_book, act, lambda: PromiseScreen(client), tmp_path / "d.json")
        async with app.run_test(size=(80, 24), notifications=True) as pilot:
            await open_form(pilot)
            assert HINT in screen_text(app)
            await pilot.press("tab", "tab")
            await typed(pilot, "Ask how the koi eat", "Mon", "first Mon until 30 Sep")
            await looks_as(pilot, "promise_80")
            await pilot.press("f2")
            for _ in range(100):
                await a_moment(0.02)
                if not isinstance(app.screen, PromiseScreen):
                    break
        (one,) = follow_ups_of(sqlite_book, client)
        assert (one.says, one.first_on, one.pond_id) == (
            "Ask how the koi eat", date(2026, 3, 16), pond,
        )  # fmt: skip
        assert (one.promised_by, one.kind) == (act.by, "ring")
        assert app.changes == 1

    async def test_faults_stand_at_their_field_and_nothing_is_lost(
        self, sqlite_book: Book, act: Act, tmp_path: Path
    ) -> None:
        client, _ponds = owned(sqlite_book, act)
        app = SmallApp(sqlite_book, act, lambda: PromiseScreen(client), tmp_path / "d.json")
        async with app.run_test(size=(80, 24), notifications=True) as pilot:
            await open_form(pilot)
            await pilot.press("tab", "tab")
            await typed(pilot, "Ask how the koi eat", "Mon", "twice a week")
            await pilot.press("f2")
            for _ in range(100):
                await a_moment(0.02)
                if "Mon and Thu" in screen_text(app):
                    break
            assert "On which days?" in screen_text(app)
            assert "Mon 16 Mar" in screen_text(app)
            assert follow_ups_of(sqlite_book, client) == ()
            await pilot.press("escape")
            await pilot.pause()
        # The draft is offered again.
        again = SmallApp(sqlite_book, act, lambda: PromiseScreen(client), tmp_path / "d.json")
        async with again.run_test(size=(80, 24), notifications=True) as pilot:
            form = await open_form(pilot)
            assert form.values["says"] == "Ask how the koi eat"
            assert form.values["repeats"] == "twice a week"

    async def test_the_usual_window_follows_the_kind(
        self, sqlite_book: Book, act: Act, tmp_path: Path
    ) -> None:
        client, ponds = owned(sqlite_book, act, "Lower pond", "Upper pond")
        app = SmallApp(
            sqlite_book, act, lambda: PromiseScreen(client, ponds[1], {"kind": "seasonal"}),
            tmp_path / "d.json",
        )  # fmt: skip
        async with app.run_test(size=(80, 24), notifications=True) as pilot:
            form = await open_form(pilot)
            assert form.values["pond_id"] == str(ponds[1])
            text = screen_text(app)
            assert "empty is the usual 7" in text
            assert "empty is the usual 14" in text
            assert "Upper pond" in text

    async def test_it_fits_the_smallest_window(
        self, sqlite_book: Book, act: Act, tmp_path: Path
    ) -> None:
        client, _ponds = owned(sqlite_book, act)
        app = SmallApp(sqlite_book, act, lambda: PromiseScreen(client), tmp_path / "d.json")
        async with app.run_test(size=(60, 20), notifications=True) as pilot:
            await open_form(pilot)
            await pilot.press("tab", "tab")
            await typed(pilot, "Ask", "Mon", "weekly")
            await looks_as(pilot, "promise_60")

    async def test_text_of_people_is_shown_as_it_is(
        self, sqlite_book: Book, act: Act, tmp_path: Path
    ) -> None:
        client, _ponds = owned(sqlite_book, act)
        with sqlite_book.writing(act) as writing:
            writing.change("client", client, 1, name="[bold]Brook[/")
        app = SmallApp(sqlite_book, act, lambda: PromiseScreen(client), tmp_path / "d.json")
        async with app.run_test(size=(80, 24), notifications=True) as pilot:
            await open_form(pilot)
            assert "[bold]Brook[/" in screen_text(app)


def test_the_clock_of_the_practice_says_what_is_today(sqlite_book: Book, act: Act) -> None:
    """At 23:30 UTC in summer `today` is the next day in London."""
    client, _ponds = owned(sqlite_book, act)
    night = Act(act.by, datetime(2026, 6, 30, 23, 30, tzinfo=UTC))
    save_promise(
        sqlite_book, night, client, {"kind": "ring", "says": "Ring", "first_on": "today"}
    )  # fmt: skip
    (one,) = follow_ups_of(sqlite_book, client)
    assert one.first_on == date(2026, 7, 1)
    assert row_of(sqlite_book, "follow_up", one.id).promised_on == date(2026, 7, 1)
