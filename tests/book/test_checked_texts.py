"""A text is checked against its room: nothing that fits is refused, and a megabyte at once."""

from __future__ import annotations

import sys
import unicodedata

import pytest

from store.book import checked as module
from store.book.checked import checked
from store.book.columns import Base
from store.errors import BadInput

NAME = Base.metadata.tables["client"].c.name
ROOM = NAME.info["longest"]
MOST = "\u03b1\u0313\u0300\u0345"
"""Four characters that are one: alpha with breathing, grave and iota below, U+1F82."""


def test_what_fits_when_it_is_composed_is_kept() -> None:
    assert checked(NAME, MOST * ROOM) == "\u1f82" * ROOM
    assert checked(NAME, " \t" * 9 * ROOM + "koi" + "\t" * 9 * ROOM) == "koi"
    with pytest.raises(BadInput, match=rf"longer than {ROOM} characters \({ROOM + 1}\)"):
        checked(NAME, MOST * (ROOM - 1) + "xx")


def test_no_letter_is_made_of_more() -> None:
    """Of all that Unicode composes, nothing is made of more than four characters."""
    longest = max(
        len(unicodedata.normalize("NFD", letter))
        for letter in map(chr, range(0xC0, sys.maxunicode + 1))
        if unicodedata.decomposition(letter) and unicodedata.is_normalized("NFC", letter)
    )
    assert longest == module._COMPOSED


def test_a_megabyte_is_refused_before_it_is_composed(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[int] = []
    plain = module.plain
    monkeypatch.setattr(module, "plain", lambda text, **_: seen.append(len(text)) or plain(text))
    with pytest.raises(BadInput, match=rf"longer than {ROOM} characters \(1000000\)"):
        checked(NAME, "\u9bc9" * 1_000_000)
    with pytest.raises(BadInput, match="should be one of ornamental, food, not asked; '鯉鯉"):
        checked(Base.metadata.tables["pond"].c.use, "\u9bc9" * 1_000_000)
    assert max(seen) <= 40
