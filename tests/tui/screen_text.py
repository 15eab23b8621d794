"""The screen of a running application as lines of text, compared with a golden file.

A golden file is written by running the tests with `PONDROUND_WRITE_GOLDEN=1`, after having looked
at the picture. When a screen differs, its picture is left as SVG under `tests/failed_screens/`.
"""

from __future__ import annotations

import asyncio
import os
from pathlib import Path
from typing import Any

from textual.app import App
from textual.pilot import Pilot

GOLDEN = Path(__file__).with_name("golden")
FAILED = Path(__file__).parents[1] / "failed_screens"
_TURNS, _TURN_S, _STILL, _HOPS = 250, 0.02, 15, 10


def screen_lines(app: App[Any]) -> list[str]:
    """Every line of the topmost screen, without the spaces at its end."""
    return [
        "".join(segment.text for segment in strip).rstrip()
        for strip in app.screen._compositor.render_strips()
    ]


def screen_text(app: App[Any]) -> str:
    """The topmost screen as one text."""
    return "\n".join(screen_lines(app)) + "\n"


async def a_moment(seconds: float = 0.01) -> None:
    """Let the application go on for that long, without asking every widget whether it has done so.

    For loops that wait until something is there: what was asked hops from widget to widget.
    """
    await asyncio.sleep(seconds)
    for _ in range(_HOPS):
        await asyncio.sleep(0)


async def looks_as(pilot: Pilot[Any], name: str) -> None:
    """The topmost screen comes to look as in the golden file of that name.

    What is laid out or scrolled to last comes some turns after what is shown: it is waited for.

    Raises
    ------
    AssertionError
        It rests and differs, or there is no golden file; the picture is kept.
    """
    golden = GOLDEN / f"{name}.txt"
    if os.environ.get("PONDROUND_WRITE_GOLDEN"):
        golden.parent.mkdir(exist_ok=True)
        golden.write_text(await _rested(pilot), encoding="utf-8")
        return
    expected = golden.read_text(encoding="utf-8") if golden.exists() else None
    for _ in range(_TURNS):
        if screen_text(pilot.app) == expected:
            return
        await a_moment(_TURN_S)
    shown = screen_text(pilot.app)
    FAILED.mkdir(exist_ok=True)
    picture = FAILED / f"{name}.svg"
    picture.write_text(pilot.app.export_screenshot(), encoding="utf-8")
    (FAILED / f"{name}.txt").write_text(shown, encoding="utf-8")
    assert expected is not None, f"No golden file {golden}; the picture is in {FAILED}."
    assert shown == expected, f"The screen differs from {golden}; the picture is in {FAILED}."


async def _rested(pilot: Pilot[Any]) -> str:
    """The screen once nothing on it has moved for a while."""
    before, same = "", 0
    for _ in range(_TURNS):
        await a_moment(_TURN_S)
        shown = screen_text(pilot.app)
        same, before = (same + 1 if shown == before else 0), shown
        if same == _STILL:
            return shown
    raise AssertionError(f"The screen never rests:\n{before}")
