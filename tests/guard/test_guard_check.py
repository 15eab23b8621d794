"""A check finds what was done past the application, and nothing where nothing was."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from sqlalchemy import Connection, insert, text, update

from store.book.act import Act
from store.book.book import Book
from store.book.copies.joining import join
from store.book.opening import open_book
from store.book.tables import table
from store.errors import BookTrouble
from store.exchange.logger.days import renew_days
from store.guard.check import check
from store.guard.found import MOST_OF_A_KIND, Found, Progress, Report

NOW = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)


def _entered(book: Book, act: Act) -> dict[str, UUID]:
    with book.writing(act) as writing:
        client = writing.add("client", name="Brook House")
        site = writing.add("site", client_id=client, name="Garden")
        pond = writing.add("pond", site_id=site, name="Lower pond", notes="Größe von Hand")
        test = writing.add("water_test", pond_id=pond, taken_at=NOW, way="line")
        writing.add_many("reading", [
            {"test_id": test, "parameter": name, "value": value, "typed": "7", "unit": "", "form": ""}
            for name, value in (("ph", 7.0), ("temperature_c", 11.5))
        ])  # fmt: skip
        file = writing.add(
            "import_file", name="l.csv", sha256="0" * 64, kind="logger", rows_read=2,
            rows_saved=2, rows_refused=0,
        )  # fmt: skip
        writing.add_many("logger_reading", [
            {"pond_id": pond, "parameter": "temperature_c", "at": NOW + timedelta(hours=hour),
             "value": 10.0 + hour, "import_file_id": file}
            for hour in range(2)
        ])  # fmt: skip
        renew_days(writing, pond, "temperature_c", NOW, NOW + timedelta(hours=1), book.zone)
    with book.writing(act) as writing:
        writing.change("pond", pond, 1, name="Koi house", depth_m=1.5)
        writing.strike("client", client, "moved away")
        writing.restore("client", client, "came back")
    return {"client": client, "site": site, "pond": pond, "test": test, "file": file}


def _past(book: Book, *statements: Any) -> None:
    """Past the application, as somebody with a database tool would."""
    server = book.engine.dialect.name == "postgresql"
    with (
        book.engine.connect().execution_options(pondround_writes=True) as connection,
        connection.begin(),
    ):
        made = [] if server else _taken_off(connection)
        for name in ("change", "reading", "change_link") if server else ():
            connection.execute(text(f"ALTER TABLE {name} DISABLE TRIGGER USER"))
        for one in statements:
            connection.execute(text(one) if isinstance(one, str) else one)
        for name in ("change", "reading", "change_link") if server else ():
            connection.execute(text(f"ALTER TABLE {name} ENABLE TRIGGER USER"))
        for one in made:
            connection.execute(text(one))


def _taken_off(connection: Connection) -> list[str]:
    found = connection.execute(
        text("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
    ).all()
    for name, _sql in found:
        connection.execute(text(f"DROP TRIGGER {name}"))
    return [sql for _name, sql in found]


def _said(report: Report) -> str:
    return "\n".join(f"{one.level} {one.said}" for one in report.findings)


def test_what_was_done_past_the_application_is_found_in_words(book: Book, act: Act) -> None:
    keys = _entered(book, act)
    first = check(book, NOW)
    assert first.findings == ()
    assert first.looked_at["readings"] == 2
    assert first.looked_at["logger values"] == 2

    pond, reading = table("pond"), table("reading")
    change, link = table("change"), table("change_link")

    _past(book, update(pond).where(pond.c.id == keys["pond"]).values(depth_m=2.5))
    (altered,) = check(book, NOW).findings
    assert altered.said == (
        "The pond Koi house was altered outside Pondround: depth is “2.5 m” in the book, and "
        "“1.5 m” by the record, where it was last changed by Ada Vet on 14 Mar 2026 07:30."
    )
    _past(book, update(pond).where(pond.c.id == keys["pond"]).values(depth_m=1.5))

    _past(
        book,
        update(reading).where(reading.c.parameter == "ph").values(value=7.1),
        "UPDATE logger_reading SET value = value + 1",
    )
    said = _said(check(book, NOW))
    assert said.count("fault") == 2
    assert "Readings of the water test of Koi house, 14 Mar 2026 were altered" in said
    assert "1 day of the logger at the pond Koi house" in said
    _past(
        book,
        update(reading).where(reading.c.parameter == "ph").values(value=7.0),
        "UPDATE logger_reading SET value = value - 1",
    )

    _past(book, update(change).where(change.c.what == "strike").values(why="fell in"))
    said = _said(check(book, NOW, quick=True))
    assert said == (
        "fault A line of the record is not as it was written: client Brook House, struck through "
        "by Ada Vet on 14 Mar 2026 07:30."
    )
    _past(book, update(change).where(change.c.what == "strike").values(why="moved away"))
    assert check(book, NOW).findings == ()

    strange = {
        "id": UUID(int=7), "rev": 1, "created_at": NOW, "created_by": act.by, "changed_at": NOW,
        "changed_by": act.by, "struck_why": "", "name": "Nobody's", "phone": "", "phone2": "",
        "email": "", "notes": "",
    }  # fmt: skip
    _past(
        book, insert(table("client")).values(strange), "DELETE FROM reading WHERE parameter = 'ph'"
    )
    said = _said(check(book, NOW))
    assert "The client Nobody's stands in the book, but the record has no line of it" in said
    assert said.count("fault") == 2

    last = "(SELECT max(nth) FROM change_link)"
    _past(
        book,
        f"DELETE FROM change_link WHERE nth = {last}",
        "DELETE FROM change WHERE id NOT IN (SELECT change_id FROM change_link)",
    )
    said = _said(check(book, NOW))
    assert "but the book says that it wrote link" in said
    assert "client Brook House was altered outside Pondround" in said
    _past(book, update(link).where(link.c.nth == 3).values(nth=99))
    assert "1 link before place 4 of the chain of this copy is missing" in _said(check(book, NOW))


def test_what_guards_the_record_is_missed(book: Book) -> None:
    server = book.engine.dialect.name == "postgresql"
    statements = (
        ("ALTER TABLE change DISABLE TRIGGER tr_change_no_update", "DROP INDEX ix_site_client_id",
         "ALTER TABLE pond DROP CONSTRAINT ck_pond_volume")
        if server
        else ("DROP TRIGGER tr_change_no_update", "DROP INDEX ix_site_client_id")
    )  # fmt: skip
    with (
        book.engine.connect().execution_options(pondround_writes=True) as connection,
        connection.begin(),
    ):
        for one in statements:
            connection.execute(text(one))
        connection.execute(text("CREATE TABLE strange (id INTEGER)"))
    report = check(book, NOW, quick=True)
    said = _said(report)
    assert not report.clean
    assert "trigger tr_change_no_update" in said
    assert "which keeps records from being rewritten" in said
    assert "index ix_site_client_id is missing" in said
    assert "remark There is a table strange" in said
    assert not server or "ck_pond_volume of pond is missing" in said


def test_what_cannot_be_right_is_remarked(book: Book, act: Act) -> None:
    keys = _entered(book, act)
    with book.writing(act) as writing:
        for taken in (NOW + timedelta(days=3), datetime(1969, 7, 20, tzinfo=UTC)):
            writing.add("water_test", pond_id=keys["pond"], taken_at=taken, way="line")
    report = check(book, NOW)
    assert report.clean
    said = _said(report)
    assert "taken at lies ahead (2026-03-17)" in said
    assert "it is said to be taken in 1969" in said
    assert len(report.findings) == 2


def test_a_row_that_points_nowhere_and_a_key_that_is_none(sqlite_book: Book, act: Act) -> None:
    keys = _entered(sqlite_book, act)
    with sqlite_book.engine.connect().execution_options(pondround_writes=True) as connection:
        raw: Any = connection.connection.driver_connection
        raw.execute("PRAGMA foreign_keys = OFF")
        raw.execute("DELETE FROM pond WHERE id = ?", (keys["pond"].bytes,))
        raw.execute("UPDATE site SET id = x'01' WHERE id = ?", (keys["site"].bytes,))
        connection.detach()
    said = _said(check(sqlite_book, NOW))
    assert "rows of logger_reading point by pond_id at a row of pond that is not there" in said
    assert "The pond Koi house is missing: the record says that it is there" in said
    assert "could not be looked at to the end" in said


def test_two_copies_that_were_both_written_to(
    sqlite_url: str, act_of: Callable[[Book], Act]
) -> None:
    other = Path(sqlite_url).with_name("other.pondround")
    shutil.copyfile(sqlite_url, other)
    with open_book(sqlite_url, now=NOW) as here, open_book(other, now=NOW) as there:
        for book, names in ((here, ("Bo",)), (there, ("Cy", "Di"))):
            for name in names:
                with book.writing(act_of(book)) as writing:
                    writing.add("client", name=name)
        with there.reading() as connection, here.writing(act_of(here)) as writing:
            join(writing, connection)
        report = check(here, NOW)
        assert report.clean
        assert "Two copies of this file were written to" in _said(report)


def test_onto_an_end_of_the_record_that_is_none_nothing_is_written(
    sqlite_book: Book, act: Act
) -> None:
    _past(sqlite_book, "UPDATE book_meta SET value = 'x' WHERE key = 'chain'")
    with (
        pytest.raises(BookTrouble, match="altered outside Pondround; nothing was saved"),
        sqlite_book.writing(act) as writing,
    ):
        writing.add("client", name="Brook House")
    assert "says that it wrote link 0" in _said(check(sqlite_book, NOW))


def test_many_of_a_kind_are_counted() -> None:
    found = Found()
    for place in range(MOST_OF_A_KIND + 3):
        found.fault("row altered", "Look.", f"Row {place}.")
    said = [one.said for one in found.report().findings]
    assert len(said) == MOST_OF_A_KIND + 1
    assert said[-1] == "3 more of the same kind."


def test_the_demo_is_as_it_was_written(demo_file: Path, tmp_path: Path) -> None:
    told: list[Progress] = []
    path = tmp_path / "demo.pondround"
    shutil.copyfile(demo_file, path)
    with open_book(path, now=NOW) as book:
        report = check(book, NOW, told=told.append)
    assert report.findings == ()
    assert report.looked_at["readings"] > 1000
    assert "readings beside their tests" in {one.what for one in told}
