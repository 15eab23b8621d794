"""No sentence, title, log or fault file shows a password, however it is written."""

from __future__ import annotations

import traceback
from pathlib import Path
from urllib.parse import quote

import pytest
from called import Call
from hypothesis import example, given
from hypothesis import strategies as st
from sqlalchemy.exc import SQLAlchemyError

from store.book.address import without_passwords
from store.book.opening import open_book
from store.errors import NoAnswer, PondroundError
from tests.conftest import NOW
from tui.commands.trouble import keep_fault

_SECRET = "Carp & @night/7"
_WRITTEN = quote(_SECRET, safe="")
_CLOSED = "127.0.0.1:1"  # nobody listens there
_ADDRESSES = (
    f"postgresql://ada:{_WRITTEN}@{_CLOSED}/ponds",
    f"postgresql+psycopg://ada@{_CLOSED}/ponds?password={_WRITTEN}",
    f"postgresql://{_CLOSED}/ponds?user=ada&sslpassword=x&password={_WRITTEN}&sslmode=require",
    f"postgresql://ada:{_WRITTEN}@{_CLOSED}/ponds?passwort={_WRITTEN}",
)


def _holds_none(text: str) -> None:
    for part in (_SECRET, _WRITTEN, "night"):
        assert part not in text


@pytest.mark.parametrize("address", _ADDRESSES)
def test_on_the_command_line_it_is_refused_and_in_the_environment_not_told(
    address: str, call: Call, monkeypatch: pytest.MonkeyPatch
) -> None:
    for words in (
        ("morning", "--book", address), ("desk", "--book", address),
        ("restore", "backup.pondround", "--to", address),
    ):  # fmt: skip
        code, out, err = call(*words)
        assert code == 2
        assert "~/.pgpass" in err
        _holds_none(out + err)
    code, out, err = call("morning", "--bok", address)
    assert code == 2
    _holds_none(out + err)
    monkeypatch.setenv("PONDROUND_BOOK", address)
    code, out, err = call("morning")
    assert code == 1
    assert "127.0.0.1" in err or "sslmode" in err or "did not answer" in err
    _holds_none(out + err)


@pytest.mark.parametrize("address", _ADDRESSES)
def test_no_error_of_the_store_tells_it_nor_where_it_came_from(address: str) -> None:
    with pytest.raises(PondroundError) as told:
        open_book(address, now=NOW, patience_s=0.2)
    _holds_none(told.value.message + told.value.title)
    particulars = "".join(traceback.format_exception(told.value))
    _holds_none(without_passwords(particulars, address))
    if "passwort" not in address:
        assert isinstance(told.value, NoAnswer)
        assert isinstance(told.value.__cause__, SQLAlchemyError)


def test_the_file_of_faults_holds_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    address = _ADDRESSES[0]
    monkeypatch.setenv("PONDROUND_BOOK", address)
    file = tmp_path / "faults.log"
    keep_fault(file, f"ValueError: {address} and {_SECRET} and password='{_SECRET}' at host=db")
    _holds_none(file.read_text("utf-8"))
    assert "host=db" in file.read_text("utf-8")


@given(st.text(st.characters(codec="ascii", categories=("L", "N", "P", "S")), min_size=9))
@example("a:b@c/d?e#f%20g")
@example("postgres")
def test_any_password_of_an_address_is_left_out(secret: str) -> None:
    written = quote(secret, safe="")
    for address in (
        f"postgresql://ada:{written}@db/ponds",
        f"postgresql://db/ponds?password={written}",
    ):
        shown = without_passwords(f"see {address}, it says {secret}", address)
        assert written not in shown.replace("postgresql", "").replace("***", "")
        assert secret not in shown.replace("postgresql", "").replace("***", "")
