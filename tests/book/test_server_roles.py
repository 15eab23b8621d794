"""Roles at a PostgreSQL server: they hold against raw SQL, and the application works under them."""

from __future__ import annotations

import secrets
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import NamedTuple
from uuid import UUID, uuid4

import psycopg
import pytest
from psycopg import sql
from sqlalchemy import URL

from store.book.act import Act
from store.book.allowed import OFFICE_RULES, VETS_ALONE
from store.book.book import Book
from store.book.opening import open_book
from store.book.people import enter
from store.book.schema import HEAD
from store.book.server.server_roles import (
    GROUPS,
    good_login,
    prefix_there,
    rights,
    roles_missing,
    table_names,
)
from store.book.server.server_script import Login, logins, script
from store.book.sign_in import asks_passphrase, known_to_server, set_login, set_passphrase, sign_ins
from store.book.writing import Writing
from store.courses.kept.dose_log import log_dose
from store.diary.kept.visits.bookings import keep_others_out
from store.errors import BadInput, BookTrouble, NotAllowed
from store.exchange.bag.unpacking import unpack
from store.exchange.logger.days import renew_days
from store.facts.rules import rules
from store.guard.check import check
from tests.conftest import NOW, _run, _text

LATER = NOW + timedelta(minutes=5)


class Shared(NamedTuple):
    """A shared book with its script run, and who comes by which login."""

    server: URL
    prefix: str
    vet: UUID
    desk: UUID
    site: UUID
    pond: UUID
    dose: UUID
    script: str

    def login(self, who: str) -> str:
        return f"{self.prefix}.{who}"

    def raw(self, who: str) -> psycopg.Connection:
        address = _text(self.server.set(drivername="postgresql", username=self.login(who)))
        return psycopg.connect(address, autocommit=True)

    def book(self, who: str) -> Book:
        return open_book(_text(self.server.set(username=self.login(who))), now=NOW)


def a_dose_due(writing: Writing, pond: UUID) -> UUID:
    """The one dose of a running course of salt."""
    course = writing.add(
        "course", pond_id=pond, state="running", reason="flukes", volume_l=1000.0,
        volume_low_l=900.0, volume_high_l=1100.0, use="ornamental", started_on=NOW.date(),
    )  # fmt: skip
    step = writing.add(
        "course_step", course_id=course, place=1, agent="sodium_chloride", route="bath", dose=3.0,
        unit="g/L", strength_percent=100.0, strength_basis="product", volume_l=1000.0,
        standing="common practice",
    )  # fmt: skip
    return writing.add(
        "course_dose", step_id=step, nth=1, due_on=NOW.date(), dose=3.0, amount=3000.0,
        amount_unit="g",
    )  # fmt: skip


def run(server: URL, script: str) -> None:
    """The script as psql runs it: its own commands left out."""
    lines = [line for line in script.splitlines() if not line.startswith("\\")]
    with psycopg.connect(_text(server.set(drivername="postgresql")), autocommit=True) as connection:
        connection.execute("\n".join(lines).encode())


@pytest.fixture(scope="module")
def shared(postgres_template: tuple[URL, str]) -> Iterator[Shared]:
    server, template = postgres_template
    prefix = f"t{secrets.token_hex(4)}"
    _run(server, f"CREATE DATABASE {prefix} TEMPLATE {template}")
    place = server.set(database=prefix)
    with open_book(_text(place), now=NOW) as book:
        with book.reading() as connection:
            ada = connection.exec_driver_sql("SELECT id FROM staff").scalar_one()
        act = Act(ada, NOW)
        bo = enter(book, act, "Bo Desk", "receptionist")
        with book.writing(act) as writing:
            client = writing.add("client", name="Brook Farm")
            site = writing.add("site", client_id=client, name="Garden")
            pond = writing.add("pond", site_id=site, name="Lower pond")
            dose = a_dose_due(writing, pond)
        set_login(book, act, ada, f"{prefix}.ada")
        set_login(book, act, bo, f"{prefix}.bo")
        set_passphrase(book, act, ada, "four words that are mine")
        made = script(logins(book), prefix)
        assert roles_missing(book, prefix) == ()  # it was never run here
        run(place, made)
        assert roles_missing(book, prefix) == ()
    yield Shared(place, prefix, ada, bo, site, pond, dose, made)
    _run(server, f"DROP DATABASE {prefix} WITH (FORCE)")
    for name in ("ada", "bo", "guest"):
        _run(server, f'DROP ROLE IF EXISTS "{prefix}.{name}"')
    for group in GROUPS:
        _run(server, f"DROP ROLE IF EXISTS {prefix}_{group}")


ROW = {
    "rev": 1, "created_at": 1, "changed_at": 1, "struck_why": "", "pond_id": None, "reason": "koi",
    "state": "running", "hazards": "[]", "volume_l": 1, "volume_low_l": 1, "volume_high_l": 1,
    "use": "food", "water": "{}", "end_why": "", "remarks": "[]", "note": "",
}  # fmt: skip


def put(connection: psycopg.Connection, table: str, by: UUID, **values: object) -> None:
    """A row past every rule of the application."""
    whole = {"id": uuid4(), "created_by": by, "changed_by": by, **values}
    statement = sql.SQL("INSERT INTO {} ({}) VALUES ({})").format(
        sql.Identifier(table),
        sql.SQL(", ").join(map(sql.Identifier, whole)),
        sql.SQL(", ").join(sql.Placeholder() * len(whole)),
    )
    connection.execute(statement, list(whole.values()))


def client(name: str) -> dict[str, object]:
    return {
        "rev": 1, "created_at": 1, "changed_at": 1, "struck_why": "", "name": name, "phone": "",
        "phone2": "", "email": "", "notes": "",
    }  # fmt: skip


@pytest.mark.postgres
def test_the_desk_cannot_prescribe_alter_the_log_or_write_as_another(shared: Shared) -> None:
    with shared.raw("bo") as desk:
        put(desk, "client", shared.desk, **client("Own"))
        refused = psycopg.errors.InsufficientPrivilege
        for table in VETS_ALONE:
            with pytest.raises(refused, match=f"permission denied for table {table}"):
                desk.execute(f"INSERT INTO {table} DEFAULT VALUES".encode())
        for statement in (
            "UPDATE change SET why = 'never'",
            "DELETE FROM change",
            "DELETE FROM client",
            "DELETE FROM reading",
            "TRUNCATE client CASCADE",
            "UPDATE reading SET value = 7",
            "UPDATE change_link SET hash = ''",
            "UPDATE course SET state = 'completed'",
            "UPDATE course_dose SET amount = 0",
            "UPDATE staff SET role = 'vet'",
            "INSERT INTO staff (id, name, role) VALUES (gen_random_uuid(), 'Bo', 'vet')",
            "UPDATE sign_in SET login = session_user",
            "UPDATE sign_in SET passphrase = ''",
            "SELECT passphrase FROM sign_in",
            "SELECT * FROM sign_in",
            "UPDATE rest SET until_day = '2100-01-01'",
            "UPDATE alembic_version SET version_num = '0001'",
            "UPDATE book_meta SET value = '7 never' WHERE key = 'chain'",
            "UPDATE book_meta SET value = (SELECT nth || ' ' || hash FROM change_link WHERE nth = 1)"
            " WHERE key = 'chain'",
            "UPDATE book_meta SET value = 'x' WHERE key = 'copy'",
            "UPDATE book_meta SET key = 'gone' WHERE key = 'stamp'",
            "INSERT INTO book_meta VALUES ('bag', '{}')",
            "DELETE FROM book_meta",
            "CREATE TABLE mine (a int)",
            "CREATE TEMPORARY TABLE staff (a int)",
            "ALTER TABLE client DISABLE TRIGGER ALL",
            f"SET ROLE {shared.prefix}_vet",
        ):
            with pytest.raises(psycopg.Error) as caught:
                desk.execute(statement.encode())
            assert isinstance(caught.value, refused), statement
        with pytest.raises(refused, match="another person's name: created_by of client"):
            put(desk, "client", shared.vet, **client("Not mine"))
        with pytest.raises(refused, match="another person's name: changed_by"):
            desk.execute("UPDATE site SET name = 'Elsewhere'")  # it still says that Ada did it
        with pytest.raises(refused, match="who made a row"):
            desk.execute("UPDATE site SET created_by = %s, changed_by = %s", [shared.desk] * 2)
        line = (
            "INSERT INTO change (id, at, by, table_name, row_id, rev, what, why) VALUES "
            "(gen_random_uuid(), 1, %s, %s, gen_random_uuid(), 1, 'add', '')"
        )
        with pytest.raises(refused, match="by of change"):
            desk.execute(line, [shared.vet, "client"])
        with pytest.raises(refused, match="for a vet"):
            desk.execute(line, [shared.desk, "course"])
        rest = {
            "rev": 1, "created_at": 1, "changed_at": 1, "struck_why": "", "pond_id": shared.pond,
            "until_day": date(2026, 4, 1), "reason": "later", "level": "watch",
        }  # fmt: skip
        with pytest.raises(refused, match="for a vet"):
            put(desk, "rest", shared.desk, rule="nitrite", **rest)
        put(desk, "rest", shared.desk, rule=OFFICE_RULES[0], **rest)
        # Rows of a dose can be held fast, which logging one needs, and not altered.
        desk.execute("SELECT id FROM course_dose FOR UPDATE")
        assert desk.execute("SELECT login FROM sign_in ORDER BY login").fetchall() == [
            (shared.login("ada"),), (shared.login("bo"),),
        ]  # fmt: skip


@pytest.mark.postgres
def test_a_vet_prescribes_and_can_neither_take_away_nor_write_as_another(shared: Shared) -> None:
    with shared.raw("ada") as vet:
        put(vet, "course", shared.vet, **(ROW | {"pond_id": shared.pond}))
        refused = psycopg.errors.InsufficientPrivilege
        for statement in (
            "DELETE FROM course",
            "UPDATE change SET why = ''",
            "UPDATE course_turn SET said = ''",
            "UPDATE sign_in SET login = ''",
            "SELECT passphrase FROM sign_in",
        ):
            with pytest.raises(refused):
                vet.execute(statement.encode())
        with pytest.raises(refused, match="another person's name"):
            put(vet, "course", shared.desk, **(ROW | {"pond_id": shared.pond}))
        with pytest.raises(refused, match="struck_by"):
            vet.execute(
                "UPDATE course SET struck_at = 1, struck_by = %s, changed_by = %s",
                [shared.desk, shared.vet],
            )


@pytest.mark.postgres
def test_the_application_works_as_desk_and_as_vet(shared: Shared) -> None:
    with shared.book("bo") as book:
        bo = Act(shared.desk, LATER)
        assert known_to_server(book) == shared.desk
        assert not asks_passphrase(book, shared.desk)
        assert {one.passphrase for one in sign_ins(book).values()} == {None}
        assert roles_missing(book, shared.prefix) == ()
        with book.writing(bo) as writing:
            farm = writing.add("client", name="Mill")
            test = writing.add("water_test", pond_id=shared.pond, taken_at=NOW, way="line")
            writing.add_many(
                "reading", [{"test_id": test, "parameter": "ph", "value": 7.5, "unit": ""}]
            )
            writing.change("client", farm, 1, phone="01632 960 111")
            writing.strike("water_test", test, "the wrong pond")
            log_dose(
                writing, shared.dose, given_at=NOW, amount=3000.0, amount_unit="g",
                water_change_percent=0.0, given_by="the owner",
            )  # fmt: skip
            value = {"pond_id": shared.pond, "parameter": "temperature", "at": NOW, "value": 9.0}
            writing.add_many("logger_reading", [value])
            for _again in range(2):  # the days of a logger are replaced when they grow
                assert renew_days(writing, shared.pond, "temperature", NOW, NOW, book.zone) == 1
        with book.writing(bo) as writing:
            keep_others_out(writing.connection)
            visit = writing.add("visit", site_id=shared.site, on_day=NOW.date())
            writing.change("visit", visit, 1, why="she rang", state="cancelled")
        with (
            pytest.raises(NotAllowed, match=r"Only a vet can plan a course; Bo Desk"),
            book.writing(bo) as writing,
        ):
            writing.add("course", pond_id=shared.pond)
        # Past the application's own rule the server says the same.
        for name, said in (("course", "start, change or end a course"), ("staff", "enter people")):
            with (
                pytest.raises(NotAllowed, match=f"Only a vet can {said}.*your login"),
                book.writing(bo) as writing,
            ):
                writing.connection.exec_driver_sql(f"INSERT INTO {name} DEFAULT VALUES")
        with (
            pytest.raises(NotAllowed, match="knows you by your login"),
            book.writing(replace(bo, by=shared.vet)) as writing,
        ):
            writing.add("client", name="As Ada")
        with pytest.raises(NotAllowed, match="psql"):
            set_passphrase(book, bo, shared.desk, "four other long words")
    with shared.book("ada") as book:
        ada = Act(shared.vet, LATER)
        assert known_to_server(book) == shared.vet
        assert not asks_passphrase(book, shared.vet)  # hers is set, and the server knows her
        cy = enter(book, ada, "Cy Desk", "receptionist")
        with pytest.raises(NotAllowed, match="owner of the book"):
            set_login(book, ada, cy, "cy")
        with book.writing(ada) as writing:
            writing.add("rule_change", rule="nitrite", params={}, why="soft water here")


@pytest.mark.postgres
def test_a_bag_is_brought_back_by_the_owner(shared: Shared, tmp_path: Path) -> None:
    for who, key in (("ada", shared.vet), ("bo", shared.desk)):
        with (
            shared.book(who) as book,
            pytest.raises(NotAllowed, match=f"“{shared.server.username}”"),
        ):
            unpack(book, Act(key, LATER), tmp_path / "bag.pondround")


@pytest.mark.postgres
def test_run_again_it_follows_the_staff_and_misses_nothing(shared: Shared) -> None:
    run(shared.server, shared.script)
    with open_book(_text(shared.server), now=NOW) as book:
        assert roles_missing(book, shared.prefix) == ()
        assert prefix_there(book) == shared.prefix
        for statement, said in (
            ("GRANT INSERT ON course TO {0}_desk", "{0}_desk may INSERT course, which is not"),
            ("GRANT SELECT ON sign_in TO {0}_reader", "{0}_reader may SELECT other columns"),
            ("REVOKE UPDATE ON pond FROM {0}_vet", "{0}_vet may not UPDATE pond."),
            ("DROP TRIGGER {0}_own_name ON pond", "Nothing keeps pond from"),
            ('REVOKE {0}_desk FROM "{0}.bo"', "{0}.bo is not of {0}_desk alone"),
            ('GRANT {0}_vet TO "{0}.bo"', "{0}.bo is not of {0}_desk alone"),
        ):
            with psycopg.connect(
                _text(shared.server.set(drivername="postgresql")), autocommit=True
            ) as owner:
                owner.execute(statement.format(shared.prefix).encode())
            (missing,) = roles_missing(book, shared.prefix)
            if "TRIGGER" in statement:
                found = check(book, NOW).findings
                assert [one.said for one in found if one.kind == "roles"] == [missing]
                assert not any("did not make" in one.said for one in found)
            assert missing.startswith(said.format(shared.prefix))
            run(shared.server, shared.script)
            assert roles_missing(book, shared.prefix) == ()
    gone = [
        Login(shared.login("ada"), "Ada Vet", "vet", False),
        Login(shared.login("bo"), "Bo Desk", "receptionist", True),
    ]
    run(shared.server, script(gone, shared.prefix))
    with pytest.raises(BookTrouble):
        shared.book("bo")
    run(shared.server, shared.script)
    _run(shared.server, "UPDATE alembic_version SET version_num = '0008'")
    with pytest.raises(BookTrouble, match="only its owner at the server may bring it up to date"):
        shared.book("bo")
    _run(shared.server, f"UPDATE alembic_version SET version_num = '{HEAD:04}'")
    guest = shared.login("guest")
    _run(shared.server, f'CREATE ROLE "{guest}" LOGIN IN ROLE {shared.prefix}_reader')
    with shared.book("guest") as book:
        assert known_to_server(book) is None
        with (
            pytest.raises(BookTrouble, match="only be read by you"),
            book.writing(Act(shared.vet, LATER)) as writing,
        ):
            writing.add("client", name="No")


def test_the_script_names_every_table_and_nothing_hostile_gets_into_it() -> None:
    told = {one.table for one in rights()}
    assert told == set(table_names())
    assert {one.table for one in rights() if one.what in ("DELETE", "TRUNCATE")} == {
        "air_day", "logger_day",
    }  # fmt: skip
    for login in ("bo; DROP TABLE pond", "pg_monitor", 'a"b', "a$$b", "a\\b", "", "é", "x" * 64):
        with pytest.raises(BadInput):
            good_login(login)
    with pytest.raises(BadInput):
        script([], "a b")
    said = script([Login("bo", "Bo\nDROP TABLE pond;", "receptionist", False)])
    assert "\n-- Bo DROP TABLE pond;, receptionist\n" in said
    assert "PASSWORD '" not in said


def test_what_the_desk_lets_rest_are_rules_that_tell_nothing_of_the_fish() -> None:
    kinds = {code: rule.kind for code, rule in rules().items()}
    assert {kinds[code] for code in OFFICE_RULES} <= {"overdue", "stale", "promise"}
