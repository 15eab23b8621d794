"""Text from people and files, made harmless once and the same way everywhere."""

from __future__ import annotations

import unicodedata

_REPLACED = "\N{REPLACEMENT CHARACTER}"
_HARMFUL_CATEGORIES = frozenset({"Cc", "Cs", "Co", "Cn", "Zl", "Zp"})
# Bidirectional overrides, zero-width marks, soft hyphen, Mongolian vowel separator: they are
# category Cf, change what a reader sees, and show nothing of themselves. Joiners U+200C and U+200D
# stay: Persian and emoji need them.
_HARMFUL_MARKS = frozenset(
    chr(code)
    for code in (
        0x00AD, 0x061C, 0x180E, 0x200B, 0x200E, 0x200F, 0x2060, 0xFEFF,
        *range(0x202A, 0x202F), *range(0x2066, 0x206A), *range(0xE0000, 0xE0080),
    )
)  # fmt: skip


def plain(text: str, *, lines: bool = False) -> str:
    """The text in composed form, with every character that could drive a terminal made visible.

    Parameters
    ----------
    text
        Anything a person typed or a file held.
    lines
        Keep line feeds (and turn carriage returns into them); for notes of several lines.

    Returns
    -------
    str
        NFC text without control, unassigned, private or surrogate characters, without
        bidirectional and zero-width marks; each of them became U+FFFD. A tab became a space.

    Examples
    --------
    >>> plain("Mill\\tLane")
    'Mill Lane'
    >>> plain("a\\x1b[2Jb")
    'a�[2Jb'
    """
    if text.isascii() and text.isprintable():
        return text
    text = unicodedata.normalize("NFC", text).replace("\t", " ")
    if lines:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    return "".join(
        character
        if (lines and character == "\n")
        or (
            unicodedata.category(character) not in _HARMFUL_CATEGORIES
            and character not in _HARMFUL_MARKS
        )
        else _REPLACED
        for character in text
    )
