"""The tests of a span of days with the readings packed, as the rules are tried on the past."""

from __future__ import annotations

from datetime import datetime, timedelta
from uuid import UUID

from sqlalchemy import BigInteger, Connection, Double, Text, bindparam, text

from store.book.columns import Key, milliseconds
from store.water.latest import LOOK_BACK_DAYS, NEWEST_TESTS
from store.water.packed import PackedTest

# As for the newest tests: CROSS JOIN keeps SQLite from starting with the tests, and the oldest
# instant that is wanted is found once a pond, in the index.
_PATTERN = """
SELECT p.id AS pond, t.taken_at AS at_ms,
       (SELECT r.value FROM reading r WHERE r.test_id = t.id AND r.parameter = 'temperature_c')
           AS temperature_c,
       (SELECT {packed} FROM reading r WHERE r.test_id = t.id) AS packed
FROM pond p
CROSS JOIN water_test t
WHERE {chosen} AND t.pond_id = p.id AND t.struck_at IS NULL
  AND t.taken_at < :until_ms
  AND t.taken_at >= {least}(:back_ms, coalesce(
      (SELECT n.taken_at FROM water_test n
       WHERE n.pond_id = p.id AND n.struck_at IS NULL AND n.taken_at < :first_ms
       ORDER BY n.taken_at DESC LIMIT 1 OFFSET :before), :earliest_ms))
"""
_EARLIEST_MS = -(1 << 60)


def span_of_tests(
    connection: Connection,
    first: datetime,
    until: datetime,
    pond: UUID | None = None,
    *,
    before: int = NEWEST_TESTS,
) -> dict[UUID, list[PackedTest]]:
    """The tests taken from `first` until before `until`, and those before that which count then.

    Parameters
    ----------
    connection
        A reading connection of the book.
    first, until
        Instants with a time zone.
    pond
        The one pond that is wanted; None for all.
    before
        How many tests of each pond that are older than `first` come along, however old they are
        [tests]; those of the last `LOOK_BACK_DAYS` before it come in any case.

    Returns
    -------
    dict
        Pond to its tests, newest first. A pond without a test is missing.
    """
    packed, least = "json_group_object(r.parameter, r.value)", "min"
    if connection.dialect.name == "postgresql":
        packed = "coalesce(json_object_agg(r.parameter, r.value)::text, '{}')"
        least = "least"
    # The pattern and both choices are ours; everything from outside is bound.
    statement = text(
        _PATTERN.replace("{packed}", packed.replace(":", "\\:"))
        .replace("{least}", least)
        .replace("{chosen}", "p.struck_at IS NULL" if pond is None else "p.id = :pond")
    ).columns(pond=Key, at_ms=BigInteger, temperature_c=Double, packed=Text)
    values: dict[str, object] = {
        "first_ms": milliseconds(first),
        "until_ms": milliseconds(until),
        "before": before - 1,
        "back_ms": milliseconds(first - timedelta(days=LOOK_BACK_DAYS)),
        "earliest_ms": _EARLIEST_MS,
    }
    if pond is not None:
        statement = statement.bindparams(bindparam("pond", type_=Key))
        values["pond"] = pond
    found: dict[UUID, list[PackedTest]] = {}
    for key, at_ms, temperature_c, readings in connection.execute(statement, values):
        found.setdefault(key, []).append(PackedTest(at_ms, temperature_c, readings))
    for tests in found.values():
        tests.sort(key=_instant, reverse=True)
    return found


def _instant(test: PackedTest) -> int:
    return test.at_ms
