"""Volumes from what was typed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.errors import BadInput
from store.water.finding import WAYS, find_volume

GOOD = {
    "rectangle": ({"length": "5m", "width": "300 cm", "depth": "1,2"}, 18_000.0),
    "circle": ({"diameter": "4", "depth": "1"}, 12_566.37),
    "ellipse": ({"length": "4", "width": "2", "depth": "1"}, 6_283.185),
    "l_shape": (
        {"length": "4", "width": "4", "corner_length": "2", "corner_width": "2", "depth": "1"},
        12_000.0,
    ),
    "sloping_floor": ({"length": "8", "width": "4", "shallow": "0.5", "deep": "1.5"}, 32_000.0),
    "depth_grid": ({"cell_length": "1", "cell_width": "1", "grid": "0 0,5\n1; 1.5\n"}, 3_000.0),
    "salt": ({"salt": "15 kg", "before": "0.2 g/L", "after": "1.2 g/L"}, 15_000.0),
    "stated": ({"litres": "5000 USgal"}, 18_927.06),
}


def test_every_way_has_its_check() -> None:
    assert set(GOOD) == set(WAYS)


@pytest.mark.parametrize("way", GOOD)
def test_litres_by_every_way(way: str) -> None:
    texts, litres = GOOD[way]
    found = find_volume(way, texts)
    assert found.litres == pytest.approx(litres, rel=1e-5)
    assert found.low_l <= found.litres <= found.high_l


@pytest.mark.parametrize("way", GOOD)
def test_what_is_missing_is_told_at_its_field(way: str) -> None:
    texts, _ = GOOD[way]
    for name in texts:
        with pytest.raises(BadInput, match="missing") as trouble:
            find_volume(way, {**texts, name: "  "})
        assert trouble.value.field == name


@pytest.mark.parametrize("way", GOOD)
@given(text=st.text(max_size=20))
def test_any_text_gives_a_volume_or_a_sentence_at_a_field(way: str, text: str) -> None:
    texts, _ = GOOD[way]
    names = {field.name for field in WAYS[way].fields}
    for name in names:
        try:
            found = find_volume(way, {**texts, name: text})
        except BadInput as trouble:
            assert trouble.field in names, trouble.message  # noqa: PT017 - a volume would do as well
        else:
            assert 0.0 <= found.low_l <= found.litres <= found.high_l


@pytest.mark.parametrize(
    ("way", "changed", "field"),
    [
        ("rectangle", {"depth": "0"}, "depth"),
        ("rectangle", {"filter": "20 gal"}, "filter"),
        ("rectangle", {"length": "5 furlongs"}, "length"),
        ("sloping_floor", {"shallow": "-1"}, "shallow"),
        ("depth_grid", {"grid": "0 0"}, "grid"),
        ("depth_grid", {"grid": "1 deep"}, "grid"),
        ("depth_grid", {"cell_length": "0"}, "cell_length"),
        ("salt", {"after": "0.1 g/L"}, "after"),
        ("salt", {"after": "0.3 g/L", "resolution": "0.1 g/L"}, "after"),
        ("salt", {"purity": "2"}, "purity"),
        ("salt", {"hours": "-3"}, "hours"),
        ("stated", {"litres": "0"}, "litres"),
        ("stated", {"litres": "500 gal"}, "litres"),
        ("stated", {"percent": "400"}, "percent"),
    ],
)
def test_what_cannot_be_is_told_where_it_was_typed(
    way: str, changed: dict[str, str], field: str
) -> None:
    with pytest.raises(BadInput) as trouble:
        find_volume(way, {**GOOD[way][0], **changed})
    assert trouble.value.field == field


def test_the_step_of_the_meter_is_read_from_what_was_typed() -> None:
    fine = find_volume("salt", GOOD["salt"][0] | {"before": "0.20 g/L", "after": "1.20 g/L"})
    coarse = find_volume("salt", GOOD["salt"][0])
    assert fine.high_l - fine.low_l < coarse.high_l - coarse.low_l
    assert find_volume("salt", GOOD["salt"][0] | {"hours": "2 d"}).remarks == ()


def test_an_unknown_way_is_refused() -> None:
    with pytest.raises(BadInput, match="no way"):
        find_volume("by eye", {})
