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

from store.book.columns import EARLIEST, milliseconds
from store.water.packed import PackedTest

NEWEST_TESTS = 12
"""How many tests of a pond the morning list looks at, however old they are."""
LOOK_BACK_DAYS = 60
"""Of how many days it looks at all tests: as far back as any rule on a course of readings goes."""
MOST_TESTS = 240
"""At how many it stops all the same: four a day."""
PACKED_TESTS = 5
"""Of how many of them it asks for all readings at first; of the others for the temperature."""
_AT_ONCE = 500
"""Ponds named in one statement."""


# One row a pond. LIMIT keeps the order of the inner query through the aggregate; tests of one
# instant come in the order of the index both times. MATERIALIZED, or the oldest instant would be
# looked for again at every test.
_SQLITE = """
WITH o AS MATERIALIZED (
    SELECT p.id, min({since_ms}, coalesce(
        (SELECT m.taken_at FROM water_test m WHERE m.pond_id = p.id AND m.struck_at IS NULL
         ORDER BY m.taken_at DESC LIMIT 1 OFFSET {last}), {earliest_ms})) AS oldest
    FROM pond p WHERE {chosen})
SELECT o.id,
       (SELECT json_group_array(x.taken_at) || char(10) || json_group_array(x.temperature_c) FROM (
            SELECT n.taken_at, (SELECT r.value FROM reading r WHERE r.test_id = n.id
                                AND r.parameter = 'temperature_c') AS temperature_c
            FROM water_test n WHERE n.pond_id = o.id AND n.struck_at IS NULL
            AND n.taken_at >= o.oldest
            ORDER BY n.taken_at DESC LIMIT {most}) x),
       (SELECT group_concat(x.packed, char(10)) FROM (
            SELECT (SELECT json_group_object(r.parameter, r.value)
                    FROM reading r WHERE r.test_id = n.id) AS packed
            FROM water_test n WHERE n.pond_id = o.id AND n.struck_at IS NULL
            AND n.taken_at >= o.oldest
            ORDER BY n.taken_at DESC LIMIT {packed}) x)
FROM o
"""

_POSTGRESQL = """
SELECT p.id,
       json_agg(t.taken_at ORDER BY t.taken_at DESC, t.id DESC)::text || chr(10)
       || json_agg(t.temperature_c ORDER BY t.taken_at DESC, t.id DESC)::text,
       string_agg(t.packed, chr(10) ORDER BY t.taken_at DESC, t.id DESC)
FROM pond p
CROSS JOIN LATERAL (
    SELECT n.id, n.taken_at,
           (SELECT r.value FROM reading r
            WHERE r.test_id = n.id AND r.parameter = 'temperature_c') AS temperature_c,
           CASE WHEN row_number() OVER (ORDER BY n.taken_at DESC, n.id DESC) <= {packed} THEN
               (SELECT coalesce(json_object_agg(r.parameter, r.value)::text, '{{}}')
                FROM reading r WHERE r.test_id = n.id)
           END AS packed
    FROM water_test n
    WHERE n.pond_id = p.id AND n.struck_at IS NULL
    AND n.taken_at >= least({since_ms}, coalesce(
        (SELECT m.taken_at FROM water_test m
         WHERE m.pond_id = p.id AND m.struck_at IS NULL
         ORDER BY m.taken_at DESC LIMIT 1 OFFSET {last}), {earliest_ms}))
    ORDER BY n.taken_at DESC, n.id DESC LIMIT {most}) t
WHERE {chosen}
GROUP BY p.id
"""


def caseload_statement(
    dialect: str, newest: int, packed: int, since_ms: int, ponds: int | None = None
) -> str:
    """The query, in the words of the database.

    Parameters
    ----------
    dialect
        `sqlite` or `postgresql`.
    newest
        How many tests of each pond, newest first, however old they are [tests].
    packed
        Of how many of them the readings come packed [tests].
    since_ms
        The instant since which all tests are wanted [ms since 1970].
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
        last=newest - 1,
        packed=min(packed, max(newest, MOST_TESTS)),
        most=max(newest, MOST_TESTS),
        since_ms=int(since_ms),
        earliest_ms=milliseconds(EARLIEST),
        chosen="p.struck_at IS NULL" if ponds is None else f"p.id IN ({', '.join([mark] * ponds)})",
    )


def newest_tests(
    connection: Connection,
    since_ms: int,
    newest: int = NEWEST_TESTS,
    packed: int = PACKED_TESTS,
    ponds: Sequence[UUID] | None = None,
) -> dict[UUID, list[PackedTest]]:
    """The newest tests of every pond, or of some.

    Parameters
    ----------
    connection
        A reading connection of the book.
    since_ms
        The instant since which all tests are wanted, up to `MOST_TESTS` [ms since 1970].
    newest
        How many tests of each pond, however old they are [tests].
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
                dialect, newest, packed, since_ms, None if ponds is None else len(some)
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
