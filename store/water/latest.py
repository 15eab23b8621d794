"""The newest tests of every pond in one query: what the whole caseload is looked at with.

Readings lie in a narrow table, one row a value. Handed over as rows, the last tests of thousands of
ponds are hundreds of thousands of them; here the database packs the readings of a test into one
JSON object, which is unpacked only when somebody asks for that test.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from sqlalchemy import Connection

from store.book.columns import EARLIEST, milliseconds
from store.water.packed import PackedTest

NEWEST_TESTS = 12
"""How many tests of a pond the morning list looks at."""


# SQLite has no LATERAL: the instant of the oldest test that is wanted bounds a walk along the
# index. CROSS JOIN keeps its planner from starting with the tests. Tests of one instant may come on
# top.
_SQLITE = """
SELECT p.id, t.taken_at,
       (SELECT r.value FROM reading r WHERE r.test_id = t.id AND r.parameter = 'temperature_c'),
       (SELECT json_group_object(r.parameter, r.value) FROM reading r WHERE r.test_id = t.id)
FROM pond p
CROSS JOIN water_test t ON t.pond_id = p.id AND t.struck_at IS NULL AND t.taken_at >= coalesce(
    (SELECT n.taken_at FROM water_test n WHERE n.pond_id = p.id AND n.struck_at IS NULL
     ORDER BY n.taken_at DESC LIMIT 1 OFFSET {last}), {earliest})
WHERE {chosen}
"""

_POSTGRESQL = """
SELECT p.id, t.taken_at,
       (SELECT r.value FROM reading r WHERE r.test_id = t.id AND r.parameter = 'temperature_c'),
       (SELECT coalesce(json_object_agg(r.parameter, r.value)::text, '{{}}')
        FROM reading r WHERE r.test_id = t.id)
FROM pond p
CROSS JOIN LATERAL (
    SELECT n.id, n.taken_at FROM water_test n
    WHERE n.pond_id = p.id AND n.struck_at IS NULL
    ORDER BY n.taken_at DESC LIMIT {newest}) t
WHERE {chosen}
"""


def caseload_statement(dialect: str, newest: int, one_pond: bool) -> str:
    """The query, in the words of the database.

    Parameters
    ----------
    dialect
        `sqlite` or `postgresql`.
    newest
        How many tests of each pond, newest first [tests].
    one_pond
        Whether one pond is asked for (bound as the only parameter) or all that stand.

    Returns
    -------
    str
        A statement that yields pond key, instant [ms since 1970], temperature [°C] and the packed
        readings.
    """
    pattern = _POSTGRESQL if dialect == "postgresql" else _SQLITE
    mark = "%s" if dialect == "postgresql" else "?"
    return pattern.format(
        newest=newest,
        last=newest - 1,
        earliest=milliseconds(EARLIEST),
        chosen=f"p.id = {mark}" if one_pond else "p.struck_at IS NULL",
    )


def newest_tests(
    connection: Connection, newest: int = NEWEST_TESTS, pond: UUID | None = None
) -> dict[UUID, list[PackedTest]]:
    """The newest tests of every pond, or of one.

    Parameters
    ----------
    connection
        A reading connection of the book.
    newest
        How many tests of each pond [tests].
    pond
        The one pond that is wanted; None for all.

    Returns
    -------
    dict
        Pond to its tests, newest first. A pond without a test is missing.
    """
    dialect = connection.dialect.name
    statement = caseload_statement(dialect, newest, pond is not None)
    chosen: tuple[Any, ...] = ()
    if pond is not None:
        chosen = (pond if dialect == "postgresql" else pond.bytes,)
    # The driver's own cursor: wrapping tens of thousands of rows once more costs as much as reading
    # them.
    cursor = connection.connection.cursor()
    try:
        rows: Sequence[Any] = cursor.execute(statement, chosen).fetchall()
    finally:
        cursor.close()
    by_key: dict[Any, list[PackedTest]] = {}
    tests: list[PackedTest] = []
    last: Any = None
    for key, at_ms, temperature_c, packed in rows:
        if key != last:
            tests = by_key.setdefault(key, [])
            last = key
        tests.append(PackedTest(at_ms, temperature_c, packed))
    found: dict[UUID, list[PackedTest]] = {}
    for key, tests in by_key.items():
        tests.sort(key=_instant, reverse=True)
        del tests[newest:]
        found[key if isinstance(key, UUID) else UUID(bytes=key)] = tests
    return found


def _instant(test: PackedTest) -> int:
    return test.at_ms
