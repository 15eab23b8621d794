"""Who may write what in any book, and how a person shows to be themselves."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any
from uuid import UUID

import argon2
import pytest

from store.book.act import Act
from store.book.allowed import FREE, OFFICE_RULES, VETS_ALONE
from store.book.book import Book
from store.book.keys import new_key
from store.book.merging.merge_ponds import merge_ponds
from store.book.people import change_role, enter, left, person, staff
from store.book.sign_in import (
    asks_passphrase,
    known_to_server,
    line_key,
    pause_s,
    prove,
    set_login,
    set_passphrase,
    sign_ins,
)
from store.book.tables import table
from store.book.told.history import history
from store.errors import BadInput, NotAllowed, PondroundError
from store.exchange.out.book_folder import export_book
from store.exchange.out.json_lines import export_json
from tests.conftest import NOW

OWN = "slow carp under ice"
OTHER = "heron on the far bank"


@pytest.fixture(autouse=True)
def quick_hashes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hashes that cost next to nothing; what they cost else is looked at by itself."""
    quick = partial(argon2.PasswordHasher, time_cost=1, memory_cost=8, parallelism=1)
    monkeypatch.setattr(argon2, "PasswordHasher", quick)


def test_a_hash_costs_what_rfc_9106_recommends_where_memory_is_short(
    sqlite_book: Book, act: Act, monkeypatch: pytest.MonkeyPatch
) -> None:
    """RFC 9106 (2021), section 4, second recommended option: Argon2id, t=3, 64 MiB, 4 lanes."""
    monkeypatch.undo()
    set_passphrase(sqlite_book, act, act.by, OWN)
    with sqlite_book.reading() as connection:
        kept = connection.exec_driver_sql("SELECT passphrase FROM sign_in").scalar_one()
    assert kept.startswith("$argon2id$v=19$m=65536,t=3,p=4$")


@pytest.fixture
def desk(book: Book, act: Act) -> Act:
    return replace(act, by=enter(book, act, "Bo Desk", "receptionist", "BD"))


def test_what_is_prescribed_is_refused_to_everybody_but_vets(
    book: Book, act: Act, desk: Act
) -> None:
    for name, alone in VETS_ALONE.items():
        with (
            pytest.raises(NotAllowed, match=f"Only a vet can {alone.add}; Bo Desk is not"),
            book.writing(desk) as writing,
        ):
            writing.add(name)
    with (
        pytest.raises(NotAllowed, match="change a product of the shelf; Bo Desk"),
        book.writing(desk) as writing,
    ):
        writing.change("product", new_key(NOW), 1, name="x")
    with (
        pytest.raises(NotAllowed, match="take a product off the shelf"),
        book.writing(desk) as writing,
    ):
        writing.strike("product", new_key(NOW), "gone")
    # Past add and change, the line of the log is refused, and with it the whole action.
    with pytest.raises(NotAllowed):  # noqa: PT012, SIM117 - all of it is one action
        with book.writing(desk) as writing:
            writing.add("client", name="Not kept")
            writing.rewrite("course", new_key(NOW), 1, {}, {})
    with book.writing(desk) as writing:
        assert not writing.has("client")
        client = writing.add("client", name="Brook")
        site = writing.add("site", client_id=client, name="Garden")
        pond = writing.add("pond", site_id=site, name="Lower")
        rest = {"pond_id": pond, "until_day": NOW.date(), "reason": "later", "level": "watch"}
        key = writing.add("rest", rule=OFFICE_RULES[0], **rest)
        with pytest.raises(NotAllowed, match="put this concern to rest; Bo Desk"):
            writing.add("rest", rule="nitrite", **rest)
        writing.strike("rest", key, "speaks again")
        other = writing.add("pond", site_id=site, name="Lower pond")
    with pytest.raises(NotAllowed, match="Only a vet can make two ponds one; Bo Desk"):
        merge_ponds(book, desk, pond, other, "the same water")
    assert set(FREE) == {"rest", "caution_answer"}
    with book.writing(act) as writing:
        writing.add("rest", rule="nitrite", **rest)


def test_people_are_entered_by_a_vet_or_while_there_is_none(
    book: Book, act: Act, desk: Act
) -> None:
    with pytest.raises(NotAllowed, match=r"Only a vet can enter people.*Bo Desk"):
        enter(book, desk, "Cy Moss", "vet")
    with pytest.raises(NotAllowed, match="Bo Desk"):
        change_role(book, desk, desk.by, "vet")
    with pytest.raises(BadInput, match="on the staff already"):
        enter(book, act, " bo desk ", "vet")
    change_role(book, act, desk.by, "travelling vet")
    assert person(book, desk.by).is_vet
    left(book, act, desk.by, "moved away")
    with (
        pytest.raises(NotAllowed, match=r"Bo Desk is no longer on the staff \(moved away\)"),
        book.writing(desk) as writing,
    ):
        writing.add("client", name="Late")
    with (
        pytest.raises(NotAllowed, match="not on the staff of this book"),
        book.writing(replace(act, by=new_key(NOW))) as writing,
    ):
        writing.add("client", name="Unknown")
    with (
        pytest.raises(NotAllowed, match="not on the staff of this book"),
        book.writing(replace(act, by=(own := new_key(NOW)))) as writing,
    ):
        writing.add("staff", key=own, name="Myself", role="vet")
    change_role(book, act, act.by, "receptionist")  # the last vet; nobody is one now
    enter(book, act, "Di Vet", "vet")
    with pytest.raises(NotAllowed):
        enter(book, act, "Ed Vet", "vet")


def test_a_passphrase_is_asked_for_and_stands_nowhere(
    book: Book, act: Act, desk: Act, tmp_path: Path
) -> None:
    assert not asks_passphrase(book, act.by)
    prove(book, act.by, "anything")  # none is set
    for new, said in (("short", "at least 10"), ("", "by its person alone"), ("x" * 1001, "1,000")):
        with pytest.raises(PondroundError, match=said):
            set_passphrase(book, act, desk.by, new)
    with book.writing(act) as writing:
        long_name = writing.add("staff", name="Maximiliane", role="vet")
    with pytest.raises(BadInput, match="A name is no passphrase"):
        set_passphrase(book, act, long_name, "MAXIMILIANE")
    with pytest.raises(NotAllowed, match="set another person's passphrase; Bo Desk"):
        set_passphrase(book, desk, act.by, OTHER)
    set_passphrase(book, desk, desk.by, OWN)
    assert asks_passphrase(book, desk.by)
    prove(book, desk.by, OWN)
    with pytest.raises(BadInput, match="do not fit together") as wrong:
        prove(book, desk.by, OWN + " ")
    assert OWN not in wrong.value.message
    with pytest.raises(BadInput, match="do not fit"):
        set_passphrase(book, desk, desk.by, OTHER, "not the old one")
    set_passphrase(book, act, desk.by, OTHER)  # Bo forgot it; a vet needs no old one
    prove(book, desk.by, OTHER)
    set_login(book, act, desk.by, "bo")
    assert {one.login: one.passphrase for one in sign_ins(book).values()} == {"bo": True}
    with pytest.raises(BadInput, match="another person's"):
        set_login(book, act, act.by, "bo")
    with pytest.raises(NotAllowed):
        set_login(book, desk, act.by, "ada")
    assert known_to_server(book) is None

    lines = history(book, "sign_in", line_key(desk.by))
    assert sorted((one.rev, one.what, one.by) for one in _raw(book, desk.by)) == [
        (1, "change", desk.by), (2, "change", act.by), (3, "change", act.by),
    ]  # fmt: skip
    assert len(lines) == 3
    said = [one.after for one in sorted(_raw(book, desk.by), key=lambda one: one.rev)]
    assert said == [{"passphrase": "set"}, {"passphrase": "set"}, {"login": "bo"}]
    _nowhere_in_files(book, tmp_path / "files")
    set_passphrase(book, desk, desk.by, "", OTHER)
    assert not asks_passphrase(book, desk.by)
    assert staff(book)[0].name == "Ada Vet"
    assert [pause_s(n) for n in (0, 1, 5, 99)] == [0.0, 1.0, 16.0, 30.0]


def _raw(book: Book, who: UUID) -> list[Any]:
    change = table("change")
    with book.reading() as connection:
        query = change.select().where(change.c.row_id == line_key(who))
        return list(connection.execute(query))


def _nowhere_in_files(book: Book, tmp_path: Path) -> None:
    tmp_path.mkdir()
    export_book(book, tmp_path / "out", NOW)
    export_json(book, tmp_path / "out.jsonl", NOW)
    written = {path: path.read_text() for path in tmp_path.rglob("*") if path.is_file()}
    assert len(written) > 50
    assert not [path for path, text in written.items() if "argon2" in text or OTHER in text]
    rows = [json.loads(line) for line in io.StringIO(written[tmp_path / "out.jsonl"])]
    (kept,) = [row["row"] for row in rows if row.get("table") == "sign_in"]
    assert (kept["passphrase"], kept["login"]) == ("", "bo")
