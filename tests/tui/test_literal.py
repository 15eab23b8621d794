"""Text is cut, filled and broken by cells."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from paper import HARMFUL, HOSTILE
from rich.cells import cell_len

from tui.widgets.literal import cut, fit, literal, one_line, wrapped


@pytest.mark.parametrize("text", HOSTILE)
def test_one_line_holds_nothing_harmful(text: str) -> None:
    assert not HARMFUL & set(one_line(text))
    assert not (HARMFUL - {"\n"}) & set(literal(text).plain)
    assert not literal(text).spans


def test_markup_is_kept_as_it_stands() -> None:
    assert literal("[red]x[/red] [/nope]").plain == "[red]x[/red] [/nope]"


@given(st.text(max_size=80), st.integers(0, 40))
def test_a_fitted_text_takes_exactly_its_cells(text: str, width: int) -> None:
    line = one_line(text)
    assert cell_len(fit(line, width)) == width
    assert cell_len(fit(line, width, "right")) == width
    assert cell_len(cut(line, width)) <= width


def test_a_wide_character_on_the_edge_is_left_out() -> None:
    assert cut("鯉鯉鯉", 4) == "鯉…"
    assert fit("鯉鯉鯉", 4) == "鯉… "


@given(st.text(max_size=200), st.integers(2, 40))
def test_wrapped_lines_fit_and_lose_nothing(text: str, width: int) -> None:
    line = one_line(text)
    lines = wrapped(line, width)
    assert all(cell_len(part) <= width for part in lines)
    assert "".join(lines).replace(" ", "") == "".join(line.split()).replace(" ", "")


def test_a_single_cell_still_ends() -> None:
    assert wrapped("鯉a", 1) == ["鯉", "a"]
    assert wrapped("anything", 0) == []
