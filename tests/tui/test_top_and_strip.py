"""The head, the rule and the strip that explains."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from paper import HARMFUL, HOSTILE, Paper
from rich.cells import cell_len
from screen_text import screen_lines

from tui.widgets.strip import BottomStrip, Told, arranged
from tui.widgets.top import Line, Top

TOLD = Told(
    "Un-ionised ammonia over its limit since Mon 23 Nov",
    "TAN 1.5 mg/L as N × 7.2 % (pH 8.2, 23.0 °C) = 0.11 mg/L NH3-N; limit 0.05",
    "Emerson et al. 1975. Valid 0–30 °C",
    "Next: stop feeding, change 30 % of the water, test again tomorrow. Vet decides.",
)


async def test_the_head_has_place_and_moment_at_its_ends() -> None:
    top = Top("Pondround", "Wed 25 Nov 07:31")
    async with Paper(top, Line()).run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        head, rule = screen_lines(pilot.app)[:2]
        assert head.startswith(" Pondround ")
        assert head.endswith(" Wed 25 Nov 07:31")
        assert len(head) == 79
        assert rule == "─" * 80
        top.place = "Alder Row, lower pond " * 4
        await pilot.pause()
        assert "…  Wed 25 Nov 07:31" in screen_lines(pilot.app)[0]


async def test_the_strip_keeps_its_height_whatever_it_tells() -> None:
    strip = BottomStrip()
    async with Paper(strip).run_test(size=(80, 24)) as pilot:
        for told in (None, Told("x"), TOLD):
            strip.show(told)
            await pilot.pause()
            assert strip.size.height == 5
        assert [line.strip() for line in screen_lines(pilot.app)[:4]] == [
            TOLD.head, TOLD.arithmetic, TOLD.source, TOLD.advice,
        ]  # fmt: skip
        await pilot.resize_terminal(60, 20)
        await pilot.pause()
        assert strip.size.height == 2
        assert screen_lines(pilot.app)[0].strip() == TOLD.head
        assert screen_lines(pilot.app)[1].startswith(" Next: stop feeding")
        assert screen_lines(pilot.app)[1].endswith("…")


def test_a_long_advice_takes_the_line_that_is_left_over() -> None:
    long = Told("head", "1 + 1 = 2", "Somebody 1975", "word " * 30)
    assert [part for part, _ in arranged(long, 79, 5)] == [
        "head",
        "arithmetic",
        "source",
        "advice",
        "advice",
    ]
    bare = Told("head", advice="word " * 60)
    assert [part for part, _ in arranged(bare, 79, 4)] == ["head", "advice", "advice", "advice"]


@given(st.builds(Told, *[st.text(max_size=200)] * 4), st.integers(5, 120), st.integers(2, 4))
def test_the_strip_never_outgrows_its_place(told: Told, width: int, lines: int) -> None:
    shown = arranged(told, width, lines)
    assert len(shown) <= lines
    assert all(cell_len(line) <= width for _, line in shown)


@pytest.mark.parametrize("text", HOSTILE)
async def test_strange_text_is_shown_literally(text: str) -> None:
    strip, top = BottomStrip(), Top(text, text[:20])
    async with Paper(top, strip).run_test(size=(80, 24), notifications=True) as pilot:
        strip.show(Told(text, text, text, text))
        await pilot.pause()
        lines = screen_lines(pilot.app)
        assert not any(HARMFUL & set(line) for line in lines)
        if text == "[/nope]":
            assert sum(line.count(text) for line in lines) == 6
