"""A cell says what stood in the book, no spreadsheet runs it, and nothing is lost on the way back."""

from __future__ import annotations

import csv
import io
import json
import math
from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest
from any_book import HOSTILE
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import String

from store.book.columns import Base
from store.errors import BadInput
from store.exchange.out.cells import cell_of, instant_text, key_text, raw_of, safe, unsafe
from store.exchange.out.described import table_names

TEXTS = st.text(
    st.sampled_from("=+-@＝＋－＠'\t\r\n;,\" ab\u00a0鯉") | st.characters(exclude_categories=["Cs"])
)
COLUMNS = {
    kind: next(
        one
        for name in table_names()
        for one in Base.metadata.tables[name].columns
        if (f"{name}.{one.name}") == kind
    )
    for kind in (
        "pond.depth_m", "pond.notes", "pond.indoor", "pond.id", "pond.test_seasons", "visit.at_time",
        "visit.on_day", "client.created_at", "pond_event.hazard", "import_file.shift_s",
        "change.before",
    )
}  # fmt: skip


@given(TEXTS)
def test_what_is_made_safe_comes_back(text: str) -> None:
    cell = safe(text)
    assert unsafe(cell) == text
    assert cell.lstrip(' \u00a0"')[:1] not in set("=+-@＝＋－＠\t\r\n")
    assert cell == text or "'" in cell


@given(st.lists(TEXTS, min_size=1))
def test_a_whole_line_comes_back_and_is_safe_however_it_is_parted(texts: list[str]) -> None:
    file = io.StringIO()
    csv.writer(file, lineterminator="\r\n").writerow([safe(one) for one in texts])
    (cells,) = csv.reader(io.StringIO(file.getvalue(), newline=""), strict=True)
    assert [unsafe(one) for one in cells] == texts
    for other in ",;\t":  # a spreadsheet of another region parts the same line there
        for line in csv.reader(io.StringIO(file.getvalue(), newline=""), delimiter=other):
            for one in line:  # some take blanks and quotes before a formula away
                assert one.lstrip(' \u00a0"')[:1] not in set("=+-@＝＋－＠"), one


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_texts_come_back(text: str) -> None:
    assert unsafe(safe(text)) == text


@pytest.mark.parametrize(
    ("text", "cell"),
    [
        ("=SUM(A1:A9)", "'=SUM(A1:A9)"), ("+44 1632 960001", "'+44 1632 960001"),
        ("-5", "'-5"), ("@x", "'@x"), ("\t=1", "'\t'=1"), ("\rx", "'\rx"), ("'=1", "''=1"),
        ("koi; =1", "koi;' =1"), ("koi;=1", "koi;'=1"), ("a\n- b", "a\n'- b"), ("'tis", "''tis"),
        ('"=1', "'\"=1"), (' "=1', "' \"=1"), (' =1', "' =1"), ('koi;"=1', "koi;'\"=1"),
        ("koi; '=1", "koi;' '=1"), ('"koi" = 1', '"koi" = 1'), ('koi; "lily"', 'koi; "lily"'),
        ("koi's pond", "koi's pond"), ("a=b", "a=b"), ("", ""),
    ],
)  # fmt: skip
def test_the_rule_as_the_readme_tells_it(text: str, cell: str) -> None:
    assert safe(text) == cell


def there_and_back(kind: str, raw: object, *, sqlite: bool = True) -> object:
    column = COLUMNS[kind]
    made = cell_of(column, sqlite=sqlite)
    file = io.StringIO()
    csv.writer(file).writerow(["x", raw if made is None or raw is None else made(raw)])
    (cells,) = csv.reader(io.StringIO(file.getvalue(), newline=""))
    return raw_of(column, sqlite=sqlite)(cells[1])


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_numbers_come_back_to_the_last_digit(value: float) -> None:
    found = there_and_back("pond.depth_m", value)
    assert isinstance(found, float)
    assert found == value
    assert math.copysign(1.0, found) == math.copysign(1.0, value)


def test_a_negative_number_stays_a_number() -> None:
    assert cell_of(COLUMNS["pond.depth_m"], sqlite=True) is None
    assert cell_of(COLUMNS["import_file.shift_s"], sqlite=True) is None


@given(st.integers(-2_208_988_800_000, 7_258_118_400_000))
def test_instants_come_back_and_say_their_offset(at_ms: int) -> None:
    text = instant_text(at_ms)
    told = datetime.fromisoformat(text)
    assert told.utcoffset() == timedelta(0)
    assert told - datetime(1970, 1, 1, tzinfo=UTC) == timedelta(milliseconds=at_ms)
    assert there_and_back("client.created_at", at_ms) == at_ms


def test_a_time_with_another_offset_is_the_same_instant() -> None:
    read = raw_of(COLUMNS["client.created_at"], sqlite=True)
    assert read("2026-03-14T08:30:00+01:00") == read("2026-03-14T07:30:00+00:00")


@given(st.uuids())
def test_keys_come_back(key: UUID) -> None:
    assert key_text(key.bytes) == key_text(key) == str(key)
    assert there_and_back("pond.id", key.bytes) == key.bytes


JSONS = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | TEXTS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXTS, inner, max_size=3),
    max_leaves=8,
)


@given(st.lists(JSONS, max_size=3) | st.dictionaries(TEXTS, JSONS, max_size=3))
def test_json_comes_back_and_is_plain_json(value: object) -> None:
    raw = json.dumps(value)
    made = cell_of(COLUMNS["pond.test_seasons"], sqlite=True)
    assert made is not None
    cell = made(raw)
    assert json.loads(cell) == value  # for any other program as well
    assert not any(f";{sign}" in cell for sign in "=+-@＝＋－＠")
    # Named values come in the order of their names, since PostgreSQL keeps no other.
    assert there_and_back("pond.test_seasons", raw) == json.dumps(value, sort_keys=True)


@pytest.mark.parametrize(
    ("kind", "raw"),
    [
        ("visit.at_time", "07:30:00.000000"), ("visit.at_time", "23:59:59.999999"),
        ("visit.on_day", "2026-03-14"), ("pond.indoor", 1), ("pond.indoor", 0),
        ("pond_event.hazard", "=x"), ("import_file.shift_s", -3600),
    ],
)  # fmt: skip
def test_the_other_kinds_come_back(kind: str, raw: object) -> None:
    assert there_and_back(kind, raw) == raw


@pytest.mark.parametrize(
    "kind", ["visit.at_time", "pond.depth_m", "pond_event.hazard", "change.before"]
)
def test_not_known_stays_not_known(kind: str) -> None:
    assert there_and_back(kind, None) is None


def test_an_empty_text_and_not_known_are_never_both_possible() -> None:
    """Both are an empty cell: a text that may be unknown must not be empty."""
    for name in table_names():
        for one in Base.metadata.tables[name].columns:
            if isinstance(one.type, String) and one.nullable:
                assert one.info["shortest"] > 0, f"{name}.{one.name}"


@pytest.mark.parametrize(
    ("kind", "cell"),
    [
        ("pond.depth_m", "nan"), ("pond.depth_m", "inf"), ("pond.depth_m", "1,5"), ("pond.id", "7"),
        ("pond.id", "0195c2f06a007cc398c4dc0c0c07398f"), ("pond.indoor", "true"),
        ("client.created_at", "2026-03-14T07:30:00"), ("client.created_at", "today"),
        ("client.created_at", "2026-03-14T07:30:00.0001+00:00"), ("visit.on_day", "14.3.2026"),
        ("visit.at_time", "25:00"), ("pond.test_seasons", "[NaN]"), ("pond.test_seasons", "["),
        ("import_file.shift_s", "1.5"),
    ],
)  # fmt: skip
def test_a_cell_that_is_no_such_value_is_refused(kind: str, cell: str) -> None:
    with pytest.raises(BadInput):
        raw_of(COLUMNS[kind], sqlite=True)(cell)
