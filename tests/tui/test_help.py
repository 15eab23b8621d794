"""The help page, and the rules every key of the application keeps."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from collections.abc import Iterator

import pytest
from paper import Paper
from screen_text import looks_as, screen_text
from textual.app import ComposeResult
from textual.binding import Binding
from textual.dom import DOMNode
from textual.screen import Screen

import tui
from tui.screens.parts.help import HELP, Help, key_groups, open_help
from tui.themes import DAY
from tui.widgets.columns import Column
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid, Row

SAFE_KEY = re.compile(
    r"[a-z0-9]|[A-Z]|upper_[a-z]|backspace|f([1-9]|10)|enter|escape|tab|shift\+tab|slash|plus|minus|space"
    r"|up|down|left|right|pageup|pagedown|home|end"
)


def own_nodes() -> Iterator[type[DOMNode]]:
    """Every screen, widget and application of ours."""
    for module in pkgutil.walk_packages(tui.__path__, "tui."):
        if module.name.endswith("__main__"):
            continue
        for _, found in inspect.getmembers(importlib.import_module(module.name), inspect.isclass):
            if issubclass(found, DOMNode) and found.__module__ == module.name:
                yield found


def own_bindings() -> list[tuple[type[DOMNode], Binding]]:
    return [
        (node, binding)
        for node in own_nodes()
        for entry in node.__dict__.get("BINDINGS", ())
        for binding in Binding.make_bindings([entry])
    ]


def test_every_binding_says_what_it_does() -> None:
    bindings = own_bindings()
    assert len(bindings) > 20
    poor = [
        f"{node.__name__}: {binding.key}"
        for node, binding in bindings
        if not (binding.id and binding.description and binding.tooltip)
    ]
    assert not poor


def test_an_id_means_one_thing() -> None:
    meanings: dict[str, set[str]] = {}
    for _, binding in own_bindings():
        meanings.setdefault(binding.id or "", set()).add(binding.action)
    assert not {name: actions for name, actions in meanings.items() if len(actions) > 1}


def test_only_keys_that_every_terminal_passes_on() -> None:
    unsafe = [
        f"{node.__name__}: {binding.key}"
        for node, binding in own_bindings()
        if not SAFE_KEY.fullmatch(binding.key)
    ]
    assert not unsafe


@pytest.mark.parametrize("node", list(own_nodes()), ids=lambda node: node.__name__)
def test_the_footer_of_each_part_has_room(node: type[DOMNode]) -> None:
    shown = {
        binding.action: binding
        # What a screen says of a key goes before what the one that it is a kind of says.
        for parent in reversed(node.__mro__)
        for entry in parent.__dict__.get("BINDINGS", ())
        if parent.__module__.startswith("tui.")
        for binding in Binding.make_bindings([entry])
        if binding.show
    }
    assert len(shown) <= 7
    width = sum(len(binding.key) + len(binding.description) + 3 for binding in shown.values())
    assert width <= 80


class Morning(Screen[None]):
    """A screen with as many keys as a footer may show."""

    QUESTION = "Who needs me today?"
    ABOUT = "Every pond that needs somebody, worst first."
    BINDINGS = [  # noqa: RUF012
        Binding("e", "no", "explain", id="t.explain", tooltip="The rule, readings and source"),
        Binding("r", "no2", "rest", id="t.rest", tooltip="Put the concern to rest until a date"),
        Binding("t", "no3", "test", id="t.test", tooltip="Enter a water test"),
        Binding("slash", "no4", "find", id="t.find", tooltip="Find a client or pond"),
        Binding("f", "no5", "filter", id="t.filter", tooltip="Show some levels only"),
        HELP,
    ]

    def compose(self) -> ComposeResult:
        """A list and a footer."""
        yield LineGrid([Column("pond", "Pond", 10)])
        yield Foot()

    def action_help(self) -> None:
        """As the application does."""
        open_help(self.app)


async def test_help_tells_the_question_and_the_keys_that_work_here() -> None:
    app = Paper(theme=DAY)
    async with app.run_test(size=(80, 24)) as pilot:
        app.push_screen(Morning())
        await pilot.pause()
        app.screen.query_one(LineGrid).show([Row(1, ("Mill Lane",), "act")])
        await pilot.pause()
        footer = screen_text(app).splitlines()[-1]
        assert all(word in footer for word in ("open", "explain", "rest", "find", "filter", "help"))
        told = " ".join(line.keys for group in key_groups(app.screen) for line in group.lines)
        assert "F1" in told
        assert "ctrl" not in told, "keys that are not ours are not told"
        await pilot.press("f1")
        await pilot.pause()
        assert isinstance(app.screen, Help)
        await looks_as(pilot, "help")
        open_help(app)
        assert len(app.screen_stack) == 3
        await pilot.press("f1")
        assert isinstance(app.screen, Morning)


async def test_help_is_scrolled_by_keys_on_a_small_terminal() -> None:
    app = Paper()
    async with app.run_test(size=(60, 20)) as pilot:
        app.push_screen(Morning())
        await pilot.pause()
        await pilot.press("f1")
        await pilot.pause()
        first = screen_text(app)
        assert "Who needs me today?" in first
        await pilot.press("j", "down")
        await pilot.pause()
        assert screen_text(app) != first
        await pilot.press("escape")
        assert isinstance(app.screen, Morning)
