"""The screen of a running application as lines of text, compared with a golden file.

A golden file is written by running the tests with `PONDROUND_WRITE_GOLDEN=1`, after having looked
at the picture. When a screen differs, its picture is left as SVG under `tests/failed_screens/`.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from textual.app import App

GOLDEN = Path(__file__).with_name("golden")
FAILED = Path(__file__).parents[1] / "failed_screens"


def screen_lines(app: App[Any]) -> list[str]:
    """Every line of the topmost screen, without the spaces at its end."""
    return [
        "".join(segment.text for segment in strip).rstrip()
        for strip in app.screen._compositor.render_strips()
    ]


def screen_text(app: App[Any]) -> str:
    """The topmost screen as one text."""
    return "\n".join(screen_lines(app)) + "\n"


def assert_screen(app: App[Any], name: str) -> None:
    """The topmost screen looks as in the golden file of that name.

    Raises
    ------
    AssertionError
        It differs, or there is no golden file; the picture is kept.
    """
    shown = screen_text(app)
    golden = GOLDEN / f"{name}.txt"
    if os.environ.get("PONDROUND_WRITE_GOLDEN"):
        golden.parent.mkdir(exist_ok=True)
        golden.write_text(shown, encoding="utf-8")
        return
    expected = golden.read_text(encoding="utf-8") if golden.exists() else None
    if shown != expected:
        FAILED.mkdir(exist_ok=True)
        picture = FAILED / f"{name}.svg"
        picture.write_text(app.export_screenshot(), encoding="utf-8")
        (FAILED / f"{name}.txt").write_text(shown, encoding="utf-8")
    assert expected is not None, f"No golden file {golden}; the picture is in {FAILED}."
    assert shown == expected, f"The screen differs from {golden}; the picture is in {FAILED}."


async def still(pilot: Any) -> None:
    """Nothing on the screen moves any more: what a form scrolls to comes after what it shows."""
    before, same = "", 0
    for _ in range(200):
        await pilot.pause(0.02)
        shown = screen_text(pilot.app)
        same, before = (same + 1 if shown == before else 0), shown
        if same == 5:
            return
    raise AssertionError(f"The screen never rests:\n{before}")
