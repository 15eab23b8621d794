"""Listed and named values as a file keeps them: text in SQLite, read by one function."""

from __future__ import annotations

import json
from typing import Any

from store.errors import BookTrouble


def kept_json(text: str) -> Any:
    """Listed or named values out of the text that a file keeps of them.

    Parameters
    ----------
    text
        As it stands in the file.

    Raises
    ------
    BookTrouble
        It is no JSON: another program wrote it.
    """
    try:
        return json.loads(text)
    except (ValueError, TypeError, RecursionError) as error:
        raise BookTrouble(
            "A row of the book holds values that cannot be read: another program wrote there. "
            "Nothing was changed. “pondround check” says where, and what to do.",
            title="A row that cannot be read",
        ) from error
