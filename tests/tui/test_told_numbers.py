"""Which lines of a message are meant, as it is named on the command line."""

from __future__ import annotations

import pytest

from store.errors import BadInput
from tui.commands.bring_told import _numbered
from tui.commands.main import main


@pytest.mark.parametrize("number", ["9" * 5000, "x", "1e3", "-1"])
def test_what_is_no_number_of_a_line_is_refused_in_a_sentence(number: str) -> None:
    with pytest.raises(BadInput, match="does not say which line"):
        list(_numbered([f"{number}=1 May"], "--on"))


def test_numbers_of_lines_are_read() -> None:
    assert list(_numbered(["3=1 May", "2 May"], "--on")) == [(3, "1 May"), (0, "2 May")]


@pytest.mark.parametrize("word", ["--take=--", "--person=--"])
def test_two_dashes_are_no_value(word: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Else an empty list would stand where a text is awaited."""
    with pytest.raises(SystemExit) as ended:
        main(["import", "told", "message.txt", word])
    assert ended.value.code == 2
    assert "no value of" in capsys.readouterr().err
