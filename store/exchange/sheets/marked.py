"""Cells of a sheet that goes back to a person: no spreadsheet runs them, and they come in again.

A number and a telephone number begin with a sign too and are left as they are, since the sheet is
to be corrected and read again.
"""

from __future__ import annotations

import re

_MARK = "'"
_RUNS = re.compile(r"[\s\"]*+(?:[=@＝＠]|[+\-＋－].*[(|!])", re.DOTALL)


def marked(cell: str) -> str:
    """A cell that no spreadsheet takes for a formula: an apostrophe before what would run.

    Parameters
    ----------
    cell
        As it stood in the file.

    Examples
    --------
    >>> marked("=1+1"), marked("-2+cmd|' /C calc'!A0"), marked("+44 1632 960001"), marked("-5")
    ("'=1+1", "'-2+cmd|' /C calc'!A0", '+44 1632 960001', '-5')
    """
    return f"{_MARK}{cell}" if _RUNS.match(cell) else cell


def unmarked(cell: str) -> str:
    """The cell that was marked; any other is left as it is.

    Parameters
    ----------
    cell
        As it stands in the file.

    Examples
    --------
    >>> unmarked(marked("=1+1")), unmarked("'tis")
    ('=1+1', "'tis")
    """
    return cell[1:] if cell[:1] == _MARK and _RUNS.match(cell, 1) else cell
