"""What of the notes on a site's access may stand in a calendar that others can see."""

from __future__ import annotations

import re

LEFT_OUT = "More on the way in stands in the book."

_CLAUSE = re.compile(r"[^.;,\n!?]+(?:[.;,!?]+|\n|$)")
_SECRET = re.compile(
    r"\b(?:codes?|pins?|keypads?|keys?|key ?safe|keybox|lock\w*|padlocks?|alarms?|combinations?|"
    r"passwords?|passcodes?|fobs?|safe)\b",
    re.IGNORECASE,
)
_LONG_NUMBER = re.compile(r"[0-9](?:[\s*#-]?[0-9]){2,}")
_DIGIT = re.compile(r"[0-9]")


def without_codes(notes: str) -> str:
    """Notes on the way in without whatever may open a gate, and a word where something is left out.

    A clause goes that speaks of a code, a key, a lock or an alarm, or that holds three figures in a
    row. Where one speaks of them, every clause with a figure goes: a code may stand in the next
    one. Rather too much is left out than too little.

    Parameters
    ----------
    notes
        As they stand in the book.

    Examples
    --------
    >>> without_codes("Ring at the lodge. Gate code 47, then 11. Dog is friendly.")
    'Ring at the lodge. Dog is friendly. More on the way in stands in the book.'
    >>> without_codes("Two steps down; pump house on the left")
    'Two steps down; pump house on the left'
    """
    clauses = _CLAUSE.findall(notes)
    secret = any(_SECRET.search(one) for one in clauses)
    kept = [
        one for one in clauses
        if not _SECRET.search(one)
        and not _LONG_NUMBER.search(one)
        and not (secret and _DIGIT.search(one))
    ]  # fmt: skip
    if len(kept) == len(clauses):
        return notes.strip()
    said = "".join(kept).strip()
    said = re.sub(r"[,;]+$", ".", said)
    if said and said[-1] not in ".!?":
        said += "."
    return f"{said} {LEFT_OUT}".strip()
