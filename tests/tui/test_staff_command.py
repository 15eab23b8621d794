"""People and passphrases on the command line, and the script of the roles."""

from __future__ import annotations

import getpass
import json
import sys
from functools import partial
from pathlib import Path

import argon2
import pytest
from called import NOW, Call, one_sentence
from sqlalchemy import make_url

from store.book.opening import open_book
from store.book.people import person_named, staff
from store.book.sign_in import prove
from tests.conftest import _text
from tui.commands import passphrase, roles
from tui.commands import staff as staff_command

WORDS = "slow carp under ice"


@pytest.fixture(autouse=True)
def clock(monkeypatch: pytest.MonkeyPatch) -> None:
    for module in (staff_command, roles):
        monkeypatch.setattr(module, "now", lambda: NOW)
    quick = partial(argon2.PasswordHasher, time_cost=1, memory_cost=8, parallelism=1)
    monkeypatch.setattr(argon2, "PasswordHasher", quick)
    monkeypatch.setattr(passphrase.time, "sleep", lambda _seconds: None)


@pytest.fixture
def typed(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What is typed at the terminal, in turn."""
    answers: list[str] = []

    class Terminal:
        def isatty(self) -> bool:
            return True

    def asked(prompt: str) -> str:
        assert prompt.endswith(": ")
        return answers.pop(0)

    monkeypatch.setattr(sys, "stdin", Terminal())
    monkeypatch.setattr(getpass, "getpass", asked)
    return answers


def test_people_are_entered_changed_and_sign_in(
    call: Call, own: Path, typed: list[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    book = ("--book", own)
    with open_book(own, now=NOW) as opened:
        vet = next(one.name for one in staff(opened) if one.role == "vet")
    code, out, err = call("staff", "add", "Cy Moss", "--role", "receptionist", "--as", vet, *book)
    assert (code, out, err) == (0, "Cy Moss is on the staff as receptionist.\n", "")
    code, out, err = call("staff", "add", "Di Fen", "--role", "vet", "--as", "Cy Moss", *book)
    assert code == 1
    assert "Only a vet can enter people or change what they are; Cy Moss is not entered" in err
    assert one_sentence(err.replace(". N", "; n"))

    typed += [WORDS, "another thing"]
    code, _out, err = call("staff", "passphrase", "Cy Moss", *book)
    assert (err, code) == ("The two were not the same; nothing was changed.\n", 2)
    typed += [WORDS, WORDS]
    assert call("staff", "passphrase", "Cy Moss", *book)[0] == 0
    code, out, _err = call("staff", *book)
    assert "Cy Moss" in out
    assert "passphrase set" in out
    code, out, _err = call("staff", "--json", *book)
    cy = next(one for one in json.loads(out)["staff"] if one["name"] == "Cy Moss")
    assert (cy["role"], cy["passphrase"], cy["login"]) == ("receptionist", True, "")

    # Whoever writes as Cy shows it first; three tries, then nothing.
    deed = ("staff", "left", "Cy Moss", "--why", "moved", "--as", "Cy Moss", *book)
    typed += ["wrong", "wrong again", "wrong once more"]
    code, out, err = call(*deed)
    assert code == 2
    assert err.count("do not fit together") == 3
    assert "wrong" not in out + err
    typed += ["wrong", WORDS]
    assert "Only a vet" in call(*deed)[2]

    # A script gives it in a file that nobody else may read.
    kept = tmp_path / "passphrase"
    kept.write_text(f"{WORDS}\n")
    kept.chmod(0o644)
    monkeypatch.setenv(passphrase.FILE, str(kept))
    assert "chmod 600" in call(*deed)[2]
    kept.chmod(0o600)
    assert "Only a vet" in call(*deed)[2]
    monkeypatch.delenv(passphrase.FILE)
    assert typed == []
    monkeypatch.setattr(sys, "stdin", open("/dev/null"))  # noqa: PTH123, SIM115
    code, _out, err = call(*deed)
    assert code == 2
    assert f"name a file that only you can read in {passphrase.FILE}" in err

    assert call("staff", "role", "Cy Moss", "vet", "--as", vet, *book)[0] == 0
    assert call("staff", "login", "Cy Moss", "cy", "--as", vet, *book)[0] == 0
    assert call("staff", "login", "Cy Moss", "a b", "--as", vet, *book)[0] == 2
    assert call("staff", "left", "Cy Moss", "--why", "moved", "--as", vet, *book)[0] == 0
    assert "Cy Moss" not in call("staff", *book)[1]
    assert call("roles", *book)[0] == 2


@pytest.mark.postgres
def test_the_script_is_printed_and_never_run(call: Call, postgres_url: str) -> None:
    code, _out, err = call("staff", "login", "Ada Vet", "ada", "--book", postgres_url)
    assert code == 0, err
    code, out, _err = call("roles", "--book", postgres_url, "--prefix", "brook")
    assert code == 0
    assert out.count("\nGRANT SELECT") > 100
    assert 'GRANT brook_vet TO "ada";' in out
    assert out.endswith('\\password "ada"\n')
    assert str(make_url(postgres_url).password) not in out or not make_url(postgres_url).password
    assert call("roles", "--check", "--book", postgres_url)[0] == 0
    with open_book(_text(make_url(postgres_url)), now=NOW) as book:
        ada = person_named(book, "Ada Vet")
        assert ada is not None
        prove(book, ada.id, "")
        with book.reading() as connection:
            found = connection.exec_driver_sql("SELECT 1 FROM pg_roles WHERE rolname = 'brook_vet'")
            assert found.first() is None
