"""Every column of a book is described, from the models: the dictionary cannot go stale."""

from __future__ import annotations

import pytest
from sqlalchemy import Double

from store.book.columns import Base
from store.errors import FactsTrouble
from store.exchange.out import described as room
from store.exchange.out.described import (
    described,
    meaning_of,
    meanings,
    table_meaning,
    table_names,
    unit_of,
)
from store.exchange.out.folder_said import dictionary_rows
from store.water.parameters import PARAMETERS

COLUMNS = [(name, one) for name in table_names() for one in Base.metadata.tables[name].columns]


@pytest.mark.parametrize("name", table_names())
def test_every_column_has_a_meaning_and_every_table_too(name: str) -> None:
    assert table_meaning(name).endswith((".", ";"))
    for one in described(name):
        assert one.meaning, f"write what {name}.{one.column} holds into meanings.toml"
        assert not one.meaning.endswith("."), one
        assert one.kind


def test_no_meaning_is_left_over() -> None:
    known = {(name, one.name) for name, one in COLUMNS}
    anywhere = {one.name for _, one in COLUMNS}
    said = dict(meanings())
    assert set(said.pop("everywhere")) <= anywhere
    for name in said.pop("units"):
        table, _, column = name.partition(".")
        assert column in anywhere if table == "*" else (table, column) in known, name
    left_over = {(t, c) for t, columns in said.items() for c in columns} - known
    assert left_over == set()


def test_every_measured_number_has_a_unit() -> None:
    without = [
        f"{name}.{one.name}"
        for name, one in COLUMNS
        if isinstance(one.type, Double) and not unit_of(name, one)
    ]
    assert without == []


@pytest.mark.parametrize(
    ("table", "column", "unit"),
    [
        ("pond", "depth_m", "m"), ("pond", "volume_l", "L"), ("own_dose", "temp_low_c", "°C"),
        ("examination", "contact_min", "min"), ("product", "density_g_ml", "g/mL"),
        ("feed_ration", "feed_kg", "kg"), ("product", "withdrawal_degree_days", "°C·days"),
        ("pond", "test_every_days", "days"), ("visit_length", "minutes", "min"),
        ("site", "latitude", "degrees"), ("course_step", "half_life_h", "h"),
        ("import_file", "shift_s", "s"), ("examined_fish", "weight_g", "g"),
    ],
)  # fmt: skip
def test_units_by_name(table: str, column: str, unit: str) -> None:
    assert unit_of(table, Base.metadata.tables[table].c[column]) == unit


def test_kind_allowed_and_target_come_from_the_model() -> None:
    by_name = {(one.table, one.column): one for name in table_names() for one in described(name)}
    role = by_name["staff", "role"]
    assert role.allowed == "vet | receptionist | travelling vet"
    site = by_name["pond", "site_id"]
    assert (site.points_to, site.kind, site.needed) == ("site.id", "key (UUID)", True)
    depth = by_name["pond", "depth_m"]
    assert (depth.allowed, depth.needed) == ("0 to 200", False)
    assert by_name["pond", "indoor"].allowed == "yes | no"
    assert set(by_name["reading", "parameter"].allowed.split(" | ")) == set(PARAMETERS)
    assert by_name["client", "created_at"].kind == "instant, UTC"
    assert described("pond")[0].column == "id"


def test_the_dictionary_has_a_row_a_column() -> None:
    rows = list(dictionary_rows())
    assert {(row[0], row[1]) for row in rows} == {(name, one.name) for name, one in COLUMNS}
    assert len(rows) == len(COLUMNS)


def test_a_column_without_a_meaning_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(room, "meanings", lambda: {"everywhere": {}, "units": {}})
    assert meaning_of("pond", "depth_m") == ""
    with pytest.raises(FactsTrouble, match=r"meanings\.toml"):
        described("pond")
