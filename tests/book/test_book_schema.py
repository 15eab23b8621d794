"""The migration makes exactly what the tables say, on both databases."""

from __future__ import annotations

import re

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from entries import NOW
from sqlalchemy import Engine, create_engine, inspect, text
from sqlalchemy.engine import make_url

from store.book import schema
from store.book.book import Book
from store.book.columns import Base
from store.book.opening import open_book
from store.book.tables import Kept, table
from store.book.triggers import ONLY_ADDED_TO, statements


def test_alembic_finds_no_difference(book: Book) -> None:
    with book.reading() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, Base.metadata) == []


def test_alembic_would_find_one(book: Book) -> None:
    """The check above can fail: it sees a column, an index and a foreign key go missing."""
    with book.writing(_act(book)) as writing:
        for statement in (
            "ALTER TABLE client ADD COLUMN strange VARCHAR(5)",
            "DROP INDEX ix_site_client_id",
        ):
            writing.connection.execute(text(statement))
    with book.reading() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        kinds = {difference[0] for difference in compare_metadata(context, Base.metadata)}
    assert kinds == {"remove_column", "add_index"}


def _act(book: Book) -> object:
    from store.book.act import Act
    from store.book.people import staff

    return Act(staff(book)[0].id, NOW)


def _constraints(engine: Engine) -> dict[str, set[str]]:
    """Everything that stands in the database, as the database itself tells it, piece by piece."""
    if engine.dialect.name == "sqlite":
        query = "SELECT tbl_name, sql FROM sqlite_master WHERE sql IS NOT NULL"
    else:
        query = """
            SELECT conrelid::regclass::text, conname || ' ' || pg_get_constraintdef(oid)
            FROM pg_constraint WHERE connamespace = 'public'::regnamespace
            UNION ALL SELECT tablename, indexdef FROM pg_indexes WHERE schemaname = 'public'
            UNION ALL SELECT tgrelid::regclass::text, pg_get_triggerdef(oid)
            FROM pg_trigger WHERE NOT tgisinternal
            UNION ALL SELECT table_name::text, column_name || ' ' || data_type || ' ' || is_nullable
            || ' ' || coalesce(character_maximum_length, 0)
            FROM information_schema.columns WHERE table_schema = 'public'
        """
    found: dict[str, set[str]] = {}
    with engine.connect() as connection:
        for name, told in connection.execute(text(query)):
            if name != "alembic_version":
                # A column that came later stands behind a comma, without a line feed.
                pieces = re.split(r",\s*\n|\n|, (?=\w+ [A-Z])", told)
                found.setdefault(name, set()).update(piece.strip(" \t,()") for piece in pieces)
    return found


def test_checks_triggers_and_all_are_the_same(
    empty_address: str, request: pytest.FixtureRequest
) -> None:
    """Alembic does not compare CHECKs and triggers; the databases' own words do."""
    server = "://" in empty_address
    migrated = request.getfixturevalue("postgres_url" if server else "sqlite_url")
    url = make_url(empty_address if server else f"sqlite:///{empty_address}")
    straight = create_engine(url)
    with straight.begin() as connection:
        Base.metadata.create_all(connection)
        for statement in statements(straight.dialect.name):
            connection.execute(text(statement))
    with open_book(migrated, now=NOW) as book:
        wanted, found = _constraints(straight), _constraints(book.engine)
    straight.dispose()
    assert set(found) == set(wanted) == set(Base.metadata.tables)
    for name, pieces in wanted.items():
        assert found[name] == pieces


def test_the_head_is_the_newest_file() -> None:
    newest = max(path.name for path in schema.VERSIONS[0].glob("[0-9]*.py"))
    assert int(newest[:4]) == schema.HEAD


def test_every_constraint_has_a_name_and_every_number_two_bounds() -> None:
    for each in Base.metadata.tables.values():
        assert all(constraint.name for constraint in each.constraints)
        checks = {str(constraint.name) for constraint in each.constraints}
        for column in each.columns:
            if column.info.keys() & {"low", "choices", "longest"}:
                assert f"ck_{each.name}_{column.name}" in checks, column
            for key in column.foreign_keys:
                assert key.ondelete == "RESTRICT"


def test_every_number_has_bounds() -> None:
    from sqlalchemy import Double, Integer

    for each in Base.metadata.tables.values():
        for column in each.columns:
            if isinstance(column.type, Double | Integer):
                assert {"low", "high"} <= column.info.keys(), column


BARE = (
    "reading", "logger_reading", "logger_day", "change", "book_meta", "change_link", "sign_in",
    "air_day",
)  # fmt: skip
"""What is measured, and what the book says of itself."""


def test_all_but_measured_values_carry_who_and_when() -> None:
    kept = {name for name in vars(Kept) if not name.startswith("_")}
    for each in Base.metadata.tables.values():
        if each.name in BARE:
            assert "rev" not in each.c or each.name == "change"
        else:
            assert kept <= set(each.c.keys())


def test_tables_that_are_only_added_to_are_known() -> None:
    assert all(name in Base.metadata.tables for name in ONLY_ADDED_TO)


def test_the_newest_tests_of_a_pond_come_from_the_index_alone(sqlite_book: Book) -> None:
    query = (
        "EXPLAIN QUERY PLAN SELECT id FROM water_test WHERE pond_id = x'00' "
        "AND struck_at IS NULL ORDER BY taken_at DESC LIMIT 12"
    )
    with sqlite_book.reading() as connection:
        plan = " ".join(str(row) for row in connection.execute(text(query)))
    assert "COVERING INDEX" in plan
    assert "TEMP B-TREE" not in plan


@pytest.mark.postgres
def test_two_that_make_the_same_book_at_once_make_one(postgres_url: str) -> None:
    """The second waits for the first and finds its work done."""
    import threading

    with open_book(postgres_url, now=NOW) as book, book.engine.connect() as connection:
        connection.execute(text("DROP SCHEMA public CASCADE"))
        connection.execute(text("CREATE SCHEMA public"))
        connection.commit()
    failures: list[BaseException] = []

    def make() -> None:
        try:
            open_book(postgres_url, now=NOW, create=True).close()
        except BaseException as error:
            failures.append(error)

    threads = [threading.Thread(target=make) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []
    with open_book(postgres_url, now=NOW) as book:
        assert set(Base.metadata.tables) < set(inspect(book.engine).get_table_names())
        assert table("pond").name in inspect(book.engine).get_table_names()
