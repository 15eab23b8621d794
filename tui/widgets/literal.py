"""Text of people and files on its way to the screen: harmless, on one line, cut by cells."""

from __future__ import annotations

from rich.cells import cell_len, set_cell_size
from textual.content import Content

from store.text import plain

MORE = "…"


def one_line(text: str) -> str:
    """The text made harmless and put on one line; line ends and tabs become single spaces.

    Examples
    --------
    >>> one_line("gate code\\n4711")
    'gate code 4711'
    """
    if text.isascii() and text.isprintable():
        return text
    return plain(text.replace("\r\n", " ").replace("\n", " ").replace("\r", " "))


def literal(text: str, style: str = "") -> Content:
    """The text as it stands, of any number of lines, never read as markup."""
    harmless = plain(text, lines=True)
    return Content.styled(harmless, style) if style else Content(harmless)


def cut(text: str, width: int) -> str:
    """The text in at most `width` cells, with `…` where something was left out.

    Parameters
    ----------
    text
        One line, already harmless.
    width
        Cells of the terminal; a wide character takes two.

    Examples
    --------
    >>> cut("Alder Row, lower pond", 12)
    'Alder Row,…'
    """
    if width <= 0:
        return ""
    if cell_len(text) <= width:
        return text
    # A wide character on the edge is replaced by a space, which would stand before the ellipsis.
    return set_cell_size(text, width - 1).rstrip() + MORE


def cut_name(text: str, width: int) -> str:
    """A client with the pond in at most `width` cells; where it is cut, both can be told apart.

    Parameters
    ----------
    text
        One line, already harmless; the pond stands behind the last comma.
    width
        Cells of the terminal.

    Examples
    --------
    >>> cut_name("Alder Row, lower pond", 18)
    'Alder…, lower pond'
    >>> cut_name("Alder Row, the pond behind the mill", 18)
    'Alder…, the pond…'
    """
    client, comma, pond = text.rpartition(", ")
    if not comma or cell_len(text) <= width:
        return cut(text, width)
    room = max(width // 3, width - cell_len(pond) - 2)
    return cut(f"{cut(client, room)}, {pond}", width)


def fit(text: str, width: int, align: str = "left") -> str:
    """The text in exactly `width` cells, cut or filled with spaces.

    Examples
    --------
    >>> fit("3 d", 5, "right")
    '  3 d'
    """
    shown = cut(text, width)
    spaces = " " * max(0, width - cell_len(shown))
    return spaces + shown if align == "right" else shown + spaces


def wrapped(text: str, width: int) -> list[str]:
    """The text broken at spaces into lines of at most `width` cells; a longer word is broken."""
    if width <= 0:
        return []
    lines: list[str] = []
    line = ""
    for word in text.split():
        rest = word
        if line and cell_len(line) + 1 + cell_len(rest) <= width:
            line = f"{line} {rest}"
            continue
        if line:
            lines.append(line)
        while cell_len(rest) > width:
            head = _head(rest, width)
            lines.append(head)
            rest = rest[len(head) :]
        line = rest
    return [*lines, line] if line else lines


def _head(text: str, width: int) -> str:
    # At least one character, so that the loop ends even where a wide one exceeds the width.
    taken = 1
    while taken < len(text) and cell_len(text[: taken + 1]) <= width:
        taken += 1
    return text[:taken]
