"""The page behind F1: the question a screen answers, and the keys that work there."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

from textual.app import App, ComposeResult
from textual.binding import ActiveBinding, Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.dom import DOMNode
from textual.events import Resize
from textual.screen import ModalScreen, Screen

from tui.widgets.hanging import beside
from tui.widgets.literal import fit, literal, one_line
from tui.widgets.reading import Reading
from tui.widgets.static import Static

HELP = Binding("f1", "help", "help", key_display="F1", id="anywhere.help",
               tooltip="What this screen is for, and its keys")  # fmt: skip
"""The binding of the application; its `action_help` calls `open_help`."""

_TITLES = ("On this screen", "Where the cursor is", "Anywhere")
_KEY_CELLS = 14
_SAID = {
    "up": "↑", "down": "↓", "left": "←", "right": "→", "pageup": "page up",
    "pagedown": "page down", "escape": "esc", "slash": "/", "plus": "+", "minus": "−",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class KeyLine:
    """Keys that do the same, what they are called and what they do."""

    keys: str
    name: str
    does: str


@dataclass(frozen=True, slots=True)
class KeyGroup:
    """The keys of one part of the screen."""

    title: str
    lines: tuple[KeyLine, ...]


def key_groups(screen: Screen[Any]) -> tuple[KeyGroup, ...]:
    """The keys that work now: the screen's own, those of the focused part, the application's.

    Only bindings of our own are told, which have an identity and a tooltip: those of text fields
    are known from everywhere else.
    """
    found: dict[str, dict[str, tuple[list[str], ActiveBinding]]] = {}
    for key, active in screen.active_bindings.items():
        binding = active.binding
        if not (binding.tooltip and binding.id and active.enabled):
            continue
        lines = found.setdefault(_title(active.node, screen), {})
        lines.setdefault(binding.id or binding.action, ([], active))[0].append(key)
    return tuple(
        KeyGroup(
            title,
            tuple(
                KeyLine(_keys_said(keys), active.binding.description, active.binding.tooltip)
                for keys, active in lines.values()
            ),
        )
        for title, lines in sorted(found.items(), key=lambda entry: _TITLES.index(entry[0]))
    )


def _title(node: DOMNode, screen: Screen[Any]) -> str:
    if node is screen:
        return _TITLES[0]
    return _TITLES[2] if isinstance(node, App) else _TITLES[1]


def _keys_said(keys: Iterable[str]) -> str:
    return " ".join(_SAID.get(key, key.upper() if key[1:].isdigit() else key) for key in keys)


def open_help(app: App[Any]) -> None:
    """Open the help of the topmost screen; where it is open already, nothing happens."""
    screen = app.screen
    if isinstance(screen, Help):
        return
    question = getattr(screen, "QUESTION", "")
    about = getattr(screen, "ABOUT", "")
    app.push_screen(Help(str(question), str(about), key_groups(screen)))


class KeyRow(Static):
    """Keys in a gutter, and what they do beside it."""

    def __init__(self, line: KeyLine) -> None:
        super().__init__(classes="key")
        self._line = line

    def on_mount(self) -> None:
        """Something to measure before the first layout."""
        self._lay_out(0)

    def on_resize(self, event: Resize) -> None:
        """Lines are broken for the width there is."""
        self._lay_out(event.size.width)

    def _lay_out(self, width: int) -> None:
        gutter = _KEY_CELLS + 1
        text = beside(fit(self._line.keys, _KEY_CELLS), self._line.does, width, gutter)
        self.update(Content.assemble((text[:gutter], "$primary"), text[gutter:]))


class Help(ModalScreen[None]):
    """What a screen answers, and its keys.

    A screen states its question in `QUESTION` and, if more is to be said, some sentences in
    `ABOUT`.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,f1,q,enter", "dismiss", "back", id="help.back", tooltip="Close the help"),
        Binding("down,j", "page_line(1)", "down", show=False, id="help.down",
                tooltip="Further down"),
        Binding("up,k", "page_line(-1)", "up", show=False, id="help.up", tooltip="Further up"),
        Binding("pagedown,space", "page(1)", "page down", show=False, id="help.page_down",
                tooltip="One page down"),
        Binding("pageup", "page(-1)", "page up", show=False, id="help.page_up",
                tooltip="One page up"),
    ]  # fmt: skip

    def __init__(self, question: str, about: str, groups: Iterable[KeyGroup]) -> None:
        super().__init__()
        self._question = question or "What can be done here?"
        self._about = about
        self._groups = tuple(groups)

    def compose(self) -> ComposeResult:
        """The question, the sentences, the keys by part."""
        with Vertical(id="help"):
            yield Static(Content(one_line(self._question)), id="question")
            with Reading(id="keys"):
                if self._about:
                    yield Static(literal(self._about), classes="about")
                for group in self._groups:
                    yield Static(Content(group.title), classes="part")
                    for line in group.lines:
                        yield KeyRow(line)
            yield Static(Content("esc goes back, here and everywhere"), classes="about")

    def action_page_line(self, by: int) -> None:
        """Move the page by a line."""
        self.query_one(Reading).scroll_relative(y=by, animate=False)

    def action_page(self, by: int) -> None:
        """Move the page by most of what is in sight."""
        self.query_one(Reading).read(by)
