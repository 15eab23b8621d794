"""Adding, changing, striking: each leaves before, after, who and when, and nothing is half saved."""

from __future__ import annotations

import json
import threading
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta, timezone
from typing import Any
from uuid import uuid4

import pytest
from entries import NOW, add_pond, log_of, row_of
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import insert, select, text

from store.book.act import Act
from store.book.book import Book
from store.book.tables import table
from store.book.triggers import ONLY_ADDED_TO
from store.errors import (
    BadInput,
    BookTrouble,
    ChangedMeanwhile,
    NotAllowed,
    NotFound,
    PondroundError,
)
from store.text import plain


def test_every_kind_of_value_comes_back_as_it_went_in(book: Book, act: Act) -> None:
    seasons = [{"from": "04-01", "to": "09-30", "every_days": 7}]
    pond = add_pond(
        book, act, volume_l=12_500.5, indoor=True, test_every_days=14, test_seasons=seasons,
        use="food", notes="first\nsecond",
    )  # fmt: skip
    row = row_of(book, "pond", pond)
    assert (row.volume_l, row.indoor, row.test_every_days) == (12_500.5, True, 14)
    assert (row.test_seasons, row.use, row.notes) == (seasons, "food", "first\nsecond")
    assert (row.depth_m, row.kit_id, row.struck_at) == (None, None, None)
    assert (row.id, row.rev, row.created_by, row.created_at) == (pond, 1, act.by, act.at)
    site = row.site_id
    with book.writing(act) as writing:
        visit = writing.add(
            "visit", site_id=site, on_day=date(2024, 2, 29), at_time=time(9, 45), kind="check"
        )
    row = row_of(book, "visit", visit)
    assert (row.on_day, row.at_time, row.state) == (date(2024, 2, 29), time(9, 45), "planned")


def test_instants_keep_the_moment_and_come_back_in_utc(book: Book, act: Act) -> None:
    pond = add_pond(book, act)
    summer = datetime(2026, 7, 1, 8, 15, 30, 123456, timezone(timedelta(hours=1)))
    with book.writing(act) as writing:
        test = writing.add("water_test", pond_id=pond, taken_at=summer, way="form")
    taken_at = row_of(book, "water_test", test).taken_at
    assert taken_at == datetime(2026, 7, 1, 7, 15, 30, 123000, UTC)
    assert taken_at.tzinfo is UTC


@pytest.mark.parametrize(
    ("values", "field", "says"),
    [
        ({"name": ""}, "name", "is needed"),
        ({"name": "  "}, "name", "is needed"),
        ({"name": None}, "name", "is needed"),
        ({"name": "n" * 501}, "name", "longer than 500"),
        ({"name": 5}, "name", "should be text"),
        ({"volume_l": "seven"}, "volume_l", "should be a number"),
        ({"volume_l": float("nan")}, "volume_l", "should lie between"),
        ({"volume_l": float("inf")}, "volume_l", "should lie between"),
        ({"volume_l": 10**400}, "volume_l", "should lie between"),
        ({"volume_l": -1.0}, "volume_l", "should lie between"),
        ({"volume_l": True}, "volume_l", "should be a number"),
        ({"depth_m": 400.0}, "depth_m", "Depth (m) should lie between 0 and 200"),
        ({"test_every_days": 0}, "test_every_days", "should lie between"),
        ({"test_every_days": 7.0}, "test_every_days", "whole number"),
        ({"use": "aquarium"}, "use", "ornamental, food, not asked"),
        ({"indoor": "yes"}, "indoor", "yes or no"),
        ({"test_seasons": {}}, None, "a list"),
        ({"test_seasons": [{"from": "02-30", "to": "03-01", "every_days": 7}]}, "test_seasons",
         "no day of the year"),
        ({"test_seasons": [{"from": "02-29", "to": "03-01", "every_days": 0}]}, "test_seasons",
         "whole number from 1"),
        ({"test_seasons": [{"from": "02-29"}]}, "test_seasons", "first day"),
    ],
)  # fmt: skip
def test_a_value_that_cannot_be_kept_is_refused_by_name(
    sqlite_book: Book, act: Act, values: dict[str, Any], field: str | None, says: str
) -> None:
    with pytest.raises(BadInput, match=says.replace("(", r"\(").replace(")", r"\)")) as caught:
        add_pond(sqlite_book, act, **values)
    assert caught.value.field == field
    with sqlite_book.reading() as connection:
        assert connection.execute(select(table("client"))).all() == [], "nothing half saved"


def test_time_without_zone_and_wrong_days_are_refused(sqlite_book: Book, act: Act) -> None:
    pond = add_pond(sqlite_book, act)
    naive = datetime(2026, 3, 1, 8, 0)  # noqa: DTZ001
    with pytest.raises(BadInput, match="time zone"), sqlite_book.writing(act) as writing:
        writing.add("water_test", pond_id=pond, taken_at=naive, way="form")
    with pytest.raises(BadInput, match="time zone"):
        Act(act.by, naive)
    with pytest.raises(BadInput, match="time zone"):
        sqlite_book.today(naive)
    with pytest.raises(BadInput, match="calendar day"), sqlite_book.writing(act) as writing:
        writing.add("pond_event", pond_id=pond, kind="water_changed", on_day=NOW)
    far = datetime(2300, 1, 1, tzinfo=UTC)
    with pytest.raises(BadInput, match="year 2300"), sqlite_book.writing(act) as writing:
        writing.add("water_test", pond_id=pond, taken_at=far, way="form")


def test_past_the_checks_the_types_and_the_database_refuse_too(book: Book, act: Act) -> None:
    pond = add_pond(book, act)
    naive = datetime(2026, 3, 1, 8, 0)  # noqa: DTZ001
    target = table("logger_reading")
    good = {"pond_id": pond, "parameter": "temperature_c", "at": NOW, "value": 7.5}
    for wrong, error in (
        ({"at": naive}, BadInput),
        ({"value": float("nan")}, BadInput),
        ({"value": 1e12}, BadInput),
        ({"parameter": ""}, BadInput),
        ({"pond_id": uuid4()}, BadInput),
        ({"pond_id": "pond"}, BadInput),
    ):
        with pytest.raises(error), book.writing(act) as writing:
            writing.connection.execute(insert(target), [good | wrong])
    if book.engine.dialect.name == "sqlite":  # keeps text in a number column if let
        raw = "INSERT INTO logger_reading SELECT id, 'ph', 0, 'seven', NULL FROM pond"
        with pytest.raises(BadInput, match="outside"), book.writing(act) as writing:
            writing.connection.execute(text(raw))
    with book.writing(act) as writing:
        writing.connection.execute(insert(target), [good])
    with pytest.raises(BadInput, match="already"), book.writing(act) as writing:
        writing.connection.execute(insert(target), [good])


def test_a_change_keeps_before_after_who_when_and_why(book: Book, act: Act) -> None:
    pond = add_pond(book, act, depth_m=1.2)
    with book.writing(act) as writing:
        second = writing.add("staff", name="Tom Desk", role="receptionist")
    later = Act(second, NOW + timedelta(hours=2))
    with book.writing(later) as writing:
        rev = writing.change("pond", pond, 1, why="measured again", depth_m=1.5, name="Lower pond")
    assert rev == 2
    row = row_of(book, "pond", pond)
    assert (row.depth_m, row.rev, row.changed_by, row.changed_at) == (1.5, 2, second, later.at)
    assert (row.created_by, row.created_at) == (act.by, act.at)
    added, changed = log_of(book, pond)
    assert (added.what, added.before, added.by) == ("add", None, act.by)
    assert added.after["name"] == "Lower pond"
    assert (changed.what, changed.why) == ("change", "measured again")
    assert (changed.before, changed.after) == ({"depth_m": 1.2}, {"depth_m": 1.5})
    assert (changed.by, changed.at, changed.rev) == (second, later.at, 2)


def test_a_change_to_what_stands_there_already_is_none(book: Book, act: Act) -> None:
    pond = add_pond(book, act, depth_m=1.2)
    with book.writing(act) as writing:
        assert writing.change("pond", pond, 1, depth_m=1.2, name=" Lower pond ") == 1
    assert row_of(book, "pond", pond).rev == 1
    assert len(log_of(book, pond)) == 1


def test_who_came_second_is_told_who_was_first(book: Book, act: Act) -> None:
    pond = add_pond(book, act)
    with book.writing(act) as writing:
        second = writing.add("staff", name="Tom Desk", role="receptionist")
    summer = datetime(2026, 7, 1, 8, 0, tzinfo=UTC)  # nine o'clock in London
    with book.writing(Act(second, summer)) as writing:
        writing.change("pond", pond, 1, name="Upper pond")

    def too_late() -> None:
        with book.writing(act) as writing:
            writing.add("client", name="Saved with it")
            writing.change("pond", pond, 1, name="Middle pond")

    with pytest.raises(ChangedMeanwhile, match="Tom Desk changed this pond at 09:00 on 2026-07-01"):
        too_late()
    assert row_of(book, "pond", pond).name == "Upper pond"
    with book.reading() as connection:
        names = connection.execute(select(table("client").c.name)).scalars().all()
    assert names == ["Brook House"], "one action is saved whole or not at all"


def test_a_struck_row_stays_with_its_reason_and_comes_back(book: Book, act: Act) -> None:
    pond = add_pond(book, act)
    with pytest.raises(BadInput, match="needs a reason"), book.writing(act) as writing:
        writing.strike("pond", pond, "  ")
    with book.writing(act) as writing:
        assert writing.strike("pond", pond, "filled in", rev=1) == 2
    row = row_of(book, "pond", pond)
    assert (row.struck_at, row.struck_by, row.struck_why) == (NOW, act.by, "filled in")
    with pytest.raises(NotAllowed, match="struck through"), book.writing(act) as writing:
        writing.change("pond", pond, 2, name="Other")
    with pytest.raises(NotAllowed, match="already"), book.writing(act) as writing:
        writing.strike("pond", pond, "again")
    with book.writing(act) as writing:
        assert writing.restore("pond", pond, "wrong pond") == 3
    assert row_of(book, "pond", pond).struck_at is None
    assert [(line.what, line.why) for line in log_of(book, pond)] == [
        ("add", ""), ("strike", "filled in"), ("restore", "wrong pond"),
    ]  # fmt: skip
    assert log_of(book, pond)[1].after["struck_by"] == str(act.by)


def test_rows_that_are_not_there_and_columns_that_are_not(sqlite_book: Book, act: Act) -> None:
    nowhere = pytest.raises(NotFound, match="no such volume estimate")
    with nowhere, sqlite_book.writing(act) as writing:
        writing.change("volume_estimate", uuid4(), 1, litres=5.0)
    for strange in ({"nme": "x"}, {"rev": 7}, {"created_by": act.by}):
        with pytest.raises(TypeError, match="no column"), sqlite_book.writing(act) as writing:
            writing.add("client", name="x", **strange)


def test_a_person_who_is_not_in_the_book_writes_nothing(book: Book) -> None:
    with (
        pytest.raises(NotAllowed, match="not on the staff of this book"),
        book.writing(Act(uuid4(), NOW)) as writing,
    ):
        writing.add("client", name="Brook House")


def test_the_log_and_readings_are_never_rewritten(book: Book, act: Act) -> None:
    pond = add_pond(book, act)
    with book.writing(act) as writing:
        test = writing.add("water_test", pond_id=pond, taken_at=NOW, way="line")
        reading = {"test_id": test, "parameter": "ph", "value": 7.4, "typed": "7.4"}
        writing.add_many("reading", [reading])
        rule = writing.add("rule_change", rule="ph_high", params={"act": 9.5}, why="soft water")
        litres = {"volume_l": 9000.0, "volume_low_l": 8000.0, "volume_high_l": 10_000.0}
        course = writing.add("course", pond_id=pond, reason="flukes", use="ornamental", **litres)
        caution = {"course_id": course, "code": "no_ph", "level": "stop", "said": "No pH."}
        writing.add("caution_answer", **caution, reason="read at the pond")
        writing.add("course_turn", course_id=course, said="Dose 2 is two days late.")
    for name in ONLY_ADDED_TO:
        for statement in (f"DELETE FROM {name}", f"UPDATE {name} SET {_some_column(name)}"):
            with pytest.raises(NotAllowed, match="never rewritten"), book.writing(act) as writing:
                writing.connection.execute(text(statement))
    if book.engine.dialect.name == "sqlite":
        with pytest.raises(NotAllowed), book.writing(act) as writing:
            writing.connection.execute(text("INSERT OR REPLACE INTO reading SELECT * FROM reading"))
    else:
        with pytest.raises(NotAllowed), book.writing(act) as writing:
            writing.connection.execute(text("TRUNCATE reading"))
    for attempt in ("change", "strike"):
        with pytest.raises(NotAllowed, match="never rewritten"), book.writing(act) as writing:
            getattr(writing, attempt)("rule_change", rule, 1)
    with book.reading() as connection:
        assert connection.execute(select(table("reading").c.value)).scalars().all() == [7.4]


def _some_column(name: str) -> str:
    return {
        "change": "why = 'x'",
        "reading": "value = 1",
        "rule_change": "enabled = true",
        "caution_answer": "reason = 'x'",
        "course_turn": "said = 'x'",
        "change_link": "nth = 1",
    }[name]


def test_a_row_that_others_belong_to_cannot_be_deleted(book: Book, act: Act) -> None:
    add_pond(book, act)
    with pytest.raises(BadInput, match="belong"), book.writing(act) as writing:
        writing.connection.execute(text("DELETE FROM site"))


def test_reading_cannot_write(book: Book, act: Act) -> None:
    pond = add_pond(book, act)
    with pytest.raises(BookTrouble, match="only be read"), book.reading() as connection:
        connection.execute(text("UPDATE pond SET name = 'x'"))
    assert row_of(book, "pond", pond).name == "Lower pond"


def test_an_error_of_the_caller_undoes_the_writing_and_passes_through(book: Book, act: Act) -> None:
    def fail_halfway() -> None:
        with book.writing(act) as writing:
            writing.add("client", name="Brook House")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail_halfway()
    with book.reading() as connection:
        assert connection.execute(select(table("client"))).all() == []


def test_a_reading_sees_one_state(book: Book, act: Act) -> None:
    pond = add_pond(book, act)
    query = select(table("pond").c.name)
    with book.reading() as connection:
        assert connection.execute(query).scalars().all() == ["Lower pond"]
        with book.writing(act) as writing:
            writing.change("pond", pond, 1, name="Upper pond")
        assert connection.execute(query).scalars().all() == ["Lower pond"]
    assert row_of(book, "pond", pond).name == "Upper pond"


def test_threads_that_read_and_then_write_lose_nothing(book_address: str) -> None:
    from store.book.opening import open_book
    from store.book.people import staff

    with open_book(book_address, now=NOW, patience_s=20.0) as book:
        act = Act(staff(book)[0].id, NOW)
        pond = add_pond(book, act, test_every_days=1)
        columns = table("pond").c

        def count_up() -> None:
            for _ in range(10):
                with book.writing(act) as writing:
                    query = select(columns.rev, columns.test_every_days).where(columns.id == pond)
                    query = query.with_for_update()
                    rev, days = writing.connection.execute(query).one()
                    writing.change("pond", pond, rev, test_every_days=days + 1)

        threads = [threading.Thread(target=count_up) for _ in range(4)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert row_of(book, "pond", pond).test_every_days == 41
        assert len(log_of(book, pond)) == 41


def test_stamps_change_with_what_was_written(book: Book, act: Act) -> None:
    add_pond(book, act)
    everything, ponds, clients = book.stamp(), book.stamp("pond"), book.stamp("client")
    assert (everything, ponds) == (book.stamp(), book.stamp("pond"))
    with book.writing(act) as writing:
        writing.add("client", name="Mill House")
    assert book.stamp() != everything
    assert book.stamp("pond") == ponds
    assert book.stamp("client") != clients
    assert book.stamp("pond", "client") != book.stamp("client")


def test_days_are_reckoned_in_the_zone_of_the_practice(sqlite_book: Book) -> None:
    assert sqlite_book.zone.key == "Europe/London"
    late = datetime(2026, 7, 1, 23, 30, tzinfo=UTC)
    assert sqlite_book.today(late) == date(2026, 7, 2)
    assert sqlite_book.today(late.replace(month=1)) == date(2026, 1, 1)


HOSTILE = [
    "[/nope]", "[@click=app.quit]x[/]", "\x1b]0;title\x07", "\x9b2J", "a\u202eb\u200bc", "🐟" * 500,
    "x" * 500, "بركة الحديقة", "a\x00b", "'; DROP TABLE pond; --", "%s %(a)s {0} :name", "\ud800",
]  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_text_is_kept_harmless_and_whole(book: Book, act: Act, name: str) -> None:
    seasons = [{"from": "04-01", "to": "09-30", "every_days": 7}]
    pond = add_pond(book, act, name=name, notes=name, test_seasons=seasons)
    with book.writing(act) as writing:
        writing.change("pond", pond, 1, why=name, species=name)
        rule = writing.add("rule_change", rule="r", params={"said": name}, why="w")
    row = row_of(book, "pond", pond)
    assert row.name == row.species == plain(name)
    assert row_of(book, "rule_change", rule).params == {"said": plain(name, lines=True)}
    assert log_of(book, pond)[1].after["species"] == plain(name)


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(name=st.text(max_size=600))
def test_any_text_is_kept_as_shown_or_refused_with_a_sentence(
    sqlite_book: Book, act: Act, name: str
) -> None:
    kept = plain(name).strip()
    if 1 <= len(kept) <= 500:
        pond = add_pond(sqlite_book, act, name=name)
        assert row_of(sqlite_book, "pond", pond).name == kept
    else:
        with pytest.raises(BadInput, match="Name is"):
            add_pond(sqlite_book, act, name=name)


def test_the_log_is_plain_json(sqlite_book: Book, act: Act) -> None:
    add_pond(sqlite_book, act)
    with sqlite_book.reading() as connection:
        raw = connection.execute(text("SELECT after FROM change")).scalars().all()
    assert all(isinstance(json.loads(line), dict) for line in raw)


def test_an_act_does_not_change(act: Act) -> None:
    assert replace(act, at=NOW + timedelta(1)).by == act.by
    with pytest.raises(AttributeError):
        act.by = uuid4()  # type: ignore[misc]


def test_all_errors_are_of_one_family() -> None:
    for error in (BadInput, BookTrouble, ChangedMeanwhile, NotAllowed, NotFound):
        assert issubclass(error, PondroundError)
