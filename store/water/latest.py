"""The newest tests of every pond in one query: what the whole caseload is looked at with.

Readings lie in a narrow table, one row a value. Handed over as rows, the last tests of thousands of
ponds are hundreds of thousands of them; here the database packs the readings of a test into one
JSON object, which is unpacked only when somebody asks for that test. Of most ponds nobody asks for
more than the newest: only these are packed at once, and the rest for the ponds that need it.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from typing import Any
from uuid import UUID

from sqlalchemy import Connection

from store.water.packed import PackedTest

NEWEST_TESTS = 12
"""How many tests of a pond the morning list looks at."""
PACKED_TESTS = 5
"""Of how many of them it asks for all readings at first; of the others for the temperature."""
_AT_ONCE = 500
"""Ponds named in one statement."""


# One row a pond. LIMIT keeps the order of the inner query through the aggregate; tests of one
# instant come in the order of the index both times.
_SQLITE = """
SELECT o.id,
       (SELECT json_group_array(x.taken_at) || char(10) || json_group_array(x.temperature_c) FROM (
            SELECT n.taken_at, (SELECT r.value FROM reading r WHERE r.test_id = n.id
                                AND r.parameter = 'temperature_c') AS temperature_c
            FROM water_test n WHERE n.pond_id = o.id AND n.struck_at IS NULL
            ORDER BY n.taken_at DESC LIMIT {newest}) x),
       (SELECT group_concat(x.packed, char(10)) FROM (
            SELECT (SELECT json_group_object(r.parameter, r.value)
                    FROM reading r WHERE r.test_id = n.id) AS packed
            FROM water_test n WHERE n.pond_id = o.id AND n.struck_at IS NULL
            ORDER BY n.taken_at DESC LIMIT {packed}) x)
FROM pond o WHERE {chosen}
"""

_POSTGRESQL = """
SELECT o.id,
       json_agg(t.taken_at ORDER BY t.taken_at DESC, t.id DESC)::text || chr(10)
       || json_agg(t.temperature_c ORDER BY t.taken_at DESC, t.id DESC)::text,
       string_agg(t.packed, chr(10) ORDER BY t.taken_at DESC, t.id DESC)
FROM pond o
CROSS JOIN LATERAL (
    SELECT n.id, n.taken_at,
           (SELECT r.value FROM reading r
            WHERE r.test_id = n.id AND r.parameter = 'temperature_c') AS temperature_c,
           CASE WHEN row_number() OVER (ORDER BY n.taken_at DESC, n.id DESC) <= {packed} THEN
               (SELECT coalesce(json_object_agg(r.parameter, r.value)::text, '{{}}')
                FROM reading r WHERE r.test_id = n.id)
           END AS packed
    FROM water_test n
    WHERE n.pond_id = o.id AND n.struck_at IS NULL
    ORDER BY n.taken_at DESC, n.id DESC LIMIT {newest}) t
WHERE {chosen}
GROUP BY o.id
"""


def caseload_statement(dialect: str, newest: int, packed: int, ponds: int | None = None) -> str:
    """The query, in the words of the database.

    Parameters
    ----------
    dialect
        `sqlite` or `postgresql`.
    newest
        How many tests of each pond, newest first [tests].
    packed
        Of how many of them the readings come packed [tests].
    ponds
        How many ponds are asked for, bound as the only parameters [ponds]; None asks for all that
        stand in the book.

    Returns
    -------
    str
        A statement that yields pond key; two lines, a JSON array of instants [ms since 1970],
        newest first, and one of temperatures [°C]; and the packed readings, one line a test.
    """
    pattern, mark = (_POSTGRESQL, "%s") if dialect == "postgresql" else (_SQLITE, "?")
    return pattern.format(
        newest=newest,
        packed=min(packed, newest),
        chosen="o.struck_at IS NULL" if ponds is None else f"o.id IN ({', '.join([mark] * ponds)})",
    )


def newest_tests(
    connection: Connection,
    newest: int = NEWEST_TESTS,
    packed: int = PACKED_TESTS,
    ponds: Sequence[UUID] | None = None,
) -> dict[UUID, list[PackedTest]]:
    """The newest tests of every pond, or of some.

    Parameters
    ----------
    connection
        A reading connection of the book.
    newest
        How many tests of each pond [tests].
    packed
        Of how many of them the readings come along [tests].
    ponds
        Keys of the ponds that are wanted; None for all.

    Returns
    -------
    dict
        Pond to its tests, newest first. A pond without a test is missing.
    """
    dialect = connection.dialect.name
    rows: list[Any] = []
    # The driver's own cursor: wrapping tens of thousands of rows once more costs as much as reading
    # them.
    cursor = connection.connection.cursor()
    try:
        for some in _some_at_once(ponds):
            keys = some if dialect == "postgresql" else [one.bytes for one in some]
            asked = caseload_statement(
                dialect, newest, packed, None if ponds is None else len(some)
            )
            rows += cursor.execute(asked, tuple(keys)).fetchall()
    finally:
        cursor.close()
    return {
        key if isinstance(key, UUID) else UUID(bytes=key): _tests(courses, texts)
        for key, courses, texts in rows
        if texts is not None
    }


def _tests(courses: str, packed: str) -> list[PackedTest]:
    instants, temperatures = map(json.loads, courses.split("\n"))
    texts: list[str | None] = [*packed.split("\n")]
    texts += [None] * (len(instants) - len(texts))
    return list(map(PackedTest._make, zip(instants, temperatures, texts, strict=True)))


def _some_at_once(ponds: Sequence[UUID] | None) -> Iterator[Sequence[UUID]]:
    """Ponds in parts that fit into a statement; None is one part without any."""
    if ponds is None:
        yield ()
    else:
        for first in range(0, len(ponds), _AT_ONCE):
            yield ponds[first : first + _AT_ONCE]
