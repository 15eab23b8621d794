"""The alert rules in force, for the practice or for one pond."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from rich.cells import cell_len
from rich.text import Text
from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen

from store.errors import PondroundError
from tui.backing import said_backing
from tui.said import said_head
from tui.screens.parts.help import HELP, open_help
from tui.widgets.columns import Column
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid, Row
from tui.widgets.literal import one_line
from tui.widgets.strip import BottomStrip, Told
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.watch.rule_page import RuleLine
    from tui.app import PondroundApp

COLUMNS = (
    Column("group", "Group", 7, drop_order=1),
    Column("title", "Rule", 20, weight=2),
    Column("numbers", "In force", 24, weight=5),
    Column("state", "State", 9),
)
OF_POND = (*COLUMNS[:-1], Column("state", "State", 12))
"""A pond's own numbers say so: `changed here`."""
_BESIDE = re.compile(r" \([^)]*\)")
"""A limit in the other of its two units."""


class RulesScreen(Screen[None]):
    """Every rule with its numbers, published or changed.

    Parameters
    ----------
    pond
        The one pond whose rules are shown; None for the practice.
    """

    QUESTION = "When does a pond speak up in the morning?"
    ABOUT = (
        "Every rule with the numbers in force. Published numbers stand until somebody of the "
        "practice changes them, with a reason that the record keeps. Opened from a pond, changes "
        "are for that pond alone. Enter opens a rule; there t tries it on the past year. v shows "
        "what was found over all ponds, and whether the windows had spoken before."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", show=False, id="rules.back", tooltip="Back one step"),
        Binding("n", "next_group", "next group", id="rules.next_group",
                tooltip="To the next group: water, change, windows, time, events"),
        Binding("c", "changed_only", "changed", id="rules.changed_only",
                tooltip="Show only the rules that were changed or silenced, or all again"),
        Binding("v", "findings", "findings", id="rules.findings",
                tooltip="What was found over all ponds, and had the windows spoken before"),
        Binding("f5", "again", "look again", show=False, id="rules.again",
                tooltip="Read the rules anew"),
    ]  # fmt: skip

    def __init__(self, pond: UUID | None = None) -> None:
        super().__init__()
        self.pond = pond
        self._lines: tuple[RuleLine, ...] = ()
        self._changed_only = False

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, the rules, the strip."""
        yield Top("Rules", id="rules-head")
        yield Line()
        columns = COLUMNS if self.pond is None else OF_POND
        yield LineGrid(columns, empty="reading the rules …", header=True, gutter="mark",
                       id="rules-list")  # fmt: skip
        yield Line()
        yield BottomStrip(id="rules-strip")
        yield Foot()

    def on_mount(self) -> None:
        """The list has the keys; it fills behind the first paint."""
        self.query_one(LineGrid).focus()
        self._read()

    def on_screen_resume(self) -> None:
        """A rule may have been changed meanwhile."""
        self._read()

    def on_book_opened(self) -> None:
        """The book can be asked now."""
        self._read()

    def on_book_changed(self) -> None:
        """The book has grown: read the rules anew."""
        self._read()

    def _read(self) -> None:
        if getattr(self.app, "book_is_open", True):
            self._read_rules()

    @work(exclusive=True, group="rules")
    async def _read_rules(self) -> None:
        from tui.screens.rules.rule_asked import rules_of

        app = self.ponds_app
        try:
            name, self._lines = await app.ask_store(rules_of, app.book, self.pond)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        where = f"for {name}" if name else "of the practice"
        changed = sum(line.state != "published" for line in self._lines)
        top = self.query_one(Top)
        top.place = f"{len(self._lines)} rules {where}, {changed or 'none'} changed"
        if self.pond is None:
            top.moment = said_head(app.now(), app.book.zone)
        self._show()

    def _shown(self) -> list[RuleLine]:
        return [line for line in self._lines if not self._changed_only or line.state != "published"]

    def _show(self) -> None:
        lines = self._shown()
        grid = self.query_one(LineGrid)
        grid.empty = "Every rule stands as published. Press c to see them all."
        grid.show(_rows(lines, self.pond, grid.cells_of("numbers")))
        self._explain()

    def on_resize(self) -> None:
        """As many numbers as can be read whole in the width there is."""
        if self._lines:
            self.call_after_refresh(self._show)

    def _here(self) -> RuleLine | None:
        key = self.query_one(LineGrid).cursor_key
        return next((line for line in self._lines if line.rule.code == key), None)

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        line = self._here()
        self.query_one(BottomStrip).show(None if line is None else told(line))

    @on(LineGrid.Opened)
    def _opened(self) -> None:
        from tui.screens.rules.rule import RuleScreen

        line = self._here()
        if line is not None:
            self.app.push_screen(RuleScreen(line.rule.code, self.pond))

    def action_next_group(self) -> None:
        """To the first rule of the next group, from the last to the first."""
        here, lines = self._here(), self._shown()
        if here is None:
            return
        after = lines[lines.index(here) :]
        wanted = next((line for line in after if line.group != here.group), lines[0])
        self.query_one(LineGrid).move_to(wanted.rule.code, at_top=True)

    def action_changed_only(self) -> None:
        """Only what was changed or silenced, or all again."""
        self._changed_only = not self._changed_only
        self._show()

    def action_findings(self) -> None:
        """What was found over all ponds."""
        from tui.screens.rules.across import FindingsScreen

        if getattr(self.app, "book_is_open", True):
            self.app.push_screen(FindingsScreen())

    def action_again(self) -> None:
        """Read the rules anew."""
        self._read()

    def action_back(self) -> None:
        """To all rules, where only the changed ones are shown; else back to the pond."""
        if self._changed_only:
            self.action_changed_only()
        elif self.pond is not None:
            self.dismiss(None)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)


def whole_clauses(numbers: str, cells: int) -> str:
    """The clauses that fit, so that no number is cut: half of one would be read as another.

    Examples
    --------
    >>> whole_clauses("watch above 22 °C; act above 26.7 °C", 33)
    'watch > 22 °C; act > 26.7 °C'
    >>> whole_clauses("watch below 75 mg/L (4.2 dKH); act below 20 mg/L (1.1 dKH)", 24)
    'watch below 75 mg/L; …'
    """
    alone = _BESIDE.sub("", numbers)
    signs = alone.replace("above", ">").replace("below", "<")
    for said in (numbers, alone, signs):
        if cell_len(said) <= cells:
            return said
    for said, ends in ((numbers, ",;"), (alone, ",;"), (alone, " ")):
        for place in range(min(cells, len(said)) - 1, 0, -1):
            kept = f"{said[:place].rstrip()}{'' if ends == ' ' else said[place]} …"
            if said[place] in ends and cell_len(kept) <= cells:
                return kept
    return numbers


def _rows(lines: list[RuleLine], pond: UUID | None, cells: int) -> list[Row]:
    rows = []
    above = ""
    for line in lines:
        group = "" if line.group == above else line.group
        state = line.state
        if pond is not None and line.of_pond:
            state_said = f"{state} here" if state != "published" else "own"
        else:
            state_said = state
        shown = Text.assemble((state_said, "quiet" if state == "published" else "watch"), end="")
        quiet = "quiet" if state == "silent" else ""
        numbers = Text.assemble((whole_clauses(one_line(line.numbers), cells), quiet), end="")
        # Under the group of the windows every title says so once more.
        title = one_line(line.rule.title).removesuffix(": temperature window")
        rows.append(Row(line.rule.code, (group, title, numbers, shown)))
        above = line.group
    return rows


def told(line: RuleLine) -> Told:
    """The rule, what it rests on, what to do when it speaks."""
    rule = line.rule
    backing = rule.backing[""]
    rests_on = said_backing(backing.source, backing.standing)
    source = rests_on if line.state == "published" else one_line(rule.changed)
    advice = f"Next: {rule.advice}" if rule.advice else ""
    return Told(f"{one_line(rule.title)}: {line.numbers}", "", source, advice)
