"""One rule: its numbers with their sources, changed with a reason, tried before that."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from rich.text import Text
from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen

from store.errors import PondroundError
from tui.backing import said_backing
from tui.screens.parts.dialogs import AskReason, Reason
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.number import AskNumber, TypedNumber
from tui.screens.rules.rule_asked import page_of
from tui.widgets.columns import Column
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid, Row
from tui.widgets.hanging import hanging
from tui.widgets.literal import one_line
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.watch.rule_page import Number, RulePage
    from tui.app import PondroundApp

COLUMNS = (
    Column("label", "Number", 22, weight=3),
    Column("value", "In force", 18, weight=1),
    Column("usual", "Published", 12, drop_order=2),
    Column("standing", "Standing", 15, drop_order=1),
)
_MOST_LINES = 10


class RuleScreen(Screen[None]):
    """A rule with each of its numbers.

    Parameters
    ----------
    code
        The rule.
    pond
        The one pond it is changed for; None for the practice.
    """

    CSS_PATH = "../sheets/rule.tcss"
    QUESTION = "When does this rule speak, and who says so?"
    ABOUT = (
        "Enter changes the number under the cursor; nothing is saved by that. t tries the rule on "
        "the past year, as it is in force and with the changed numbers beside it. w puts the "
        "changed numbers in force, with a reason. Below the numbers stands what each rests on, "
        "and what other publications say: nothing is averaged."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", show=False, id="rule.back",
                tooltip="Back one step; changed numbers that were not saved are let go"),
        Binding("t", "try_out", "try", id="rule.try", tooltip="Try it on the past year"),
        Binding("w", "save", "save", id="rule.save",
                tooltip="Put the changed numbers in force, with a reason"),
        Binding("m", "silence", "silence", id="rule.silence",
                tooltip="Silence the rule, or let it speak again, with a reason"),
        Binding("b", "published", "back to published", show=False, id="rule.published",
                tooltip="Back to the published numbers (for one pond: to the practice's)"),
        Binding("space", "read(1)", "read on", show=False, id="rule.read_on",
                tooltip="Further down in the text below"),
        Binding("backspace", "read(-1)", "read back", show=False, id="rule.read_back",
                tooltip="Further up in the text below"),
    ]  # fmt: skip

    def __init__(self, code: str, pond: UUID | None = None) -> None:
        super().__init__()
        self._code = code
        self._pond = pond
        self._where = ""
        self.page: RulePage | None = None
        self.staged: dict[str, float] = {}

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, numbers, what they rest on."""
        yield Top("reading the rule …", id="rule-head")
        yield Line()
        yield LineGrid(COLUMNS, empty="", header=True, gutter="mark", id="rule-numbers")
        yield Line()
        with VerticalScroll(id="rule-text", can_focus=False):
            yield Static("", id="rule-number", markup=False)
            yield Static("", id="rule-about", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """The numbers have the keys; they are read behind the first paint."""
        self.query_one(LineGrid).focus()
        self._read()

    def on_book_changed(self) -> None:
        """The book has grown: read the rule anew."""
        self._read()

    @work(exclusive=True, group="rule")
    async def _read(self) -> None:
        app = self.ponds_app
        try:
            self._where, self.page = await app.ask_store(page_of, app.book, self._code, self._pond)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        self._show()

    # Showing

    def _show(self) -> None:
        page = self.page
        if page is None:
            return
        state = page.line.state
        where = f" for {one_line(self._where)}" if self._where else ""
        unsaved = f", {len(self.staged)} not saved" if self.staged else ""
        self.query_one(Top).place = f"{one_line(page.line.rule.title)}{where}   {state}{unsaved}"
        grid = self.query_one(LineGrid)
        below = "Published" if self._pond is None else "Practice's"
        grid.show_columns(
            [Column(c.key, below if c.key == "usual" else c.title, c.width, c.weight, c.align,
                    c.drop_order) for c in COLUMNS]
        )  # fmt: skip
        most = max(3, min(_MOST_LINES, self.size.height // 2 - 2))
        grid.styles.height = min(len(page.numbers), most) + 1
        grid.show([self._row(number) for number in page.numbers])
        self._explain()
        self._show_about()
        self.refresh_bindings()

    def _show_about(self) -> None:
        if self.page is not None:
            # Without the empty cell at either side and the bar to scroll with.
            said = about(self.page, self.size.width - 3)
            self.query_one("#rule-about", Static).update(said)

    def on_resize(self) -> None:
        """Lines are broken for the width there is."""
        self._show_about()

    def _row(self, number: Number) -> Row:
        value = Text.assemble((number.said, "watch" if number.changed else ""), end="")
        if number.name in self.staged:
            new = number.say(self.staged[number.name], both=False)
            value = Text.assemble((f"{new}, not saved", "watch"), end="")
        # A number that was not changed is said once.
        usual = Text.assemble(
            (number.say(number.usual, both=False), "") if number.changed else ("same", "quiet"),
            end="",
        )
        return Row(number.name, (number.label, value, usual, number.standing))

    def _here(self) -> Number | None:
        key = self.query_one(LineGrid).cursor_key
        if self.page is None:
            return None
        return next((number for number in self.page.numbers if number.name == key), None)

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        number = self._here()
        if number is None:
            return
        parts: list[Content | str | tuple[str, str]] = [
            (f"{number.label}: {number.said}", "bold"),
            f"\n{one_line(said_backing(number.source, number.standing))}",
        ]
        if number.note:
            parts.append((f"\n{one_line(number.note)}", "$quiet"))
        self.query_one("#rule-number", Static).update(Content.assemble(*parts))

    # Keys

    @on(LineGrid.Opened)
    def _opened(self) -> None:
        self._change_number()

    @work(exclusive=True, group="rule-act")
    async def _change_number(self) -> None:
        number = self._here()
        page = self.page
        if number is None or page is None:
            return

        def check(text: str) -> float:
            from store.watch.rule_page import read_number
            from store.watch.rulebook import check_params

            value = read_number(number.name, text, number.parameter)
            check_params(page.line.rule, {**self.staged, number.name: value})
            return value

        start = self.staged.get(number.name, number.value)
        answer = await self.app.push_screen_wait(AskNumber(number, start, check))
        if not isinstance(answer, TypedNumber):
            return
        if answer.value == number.value:
            self.staged.pop(number.name, None)
        else:
            self.staged[number.name] = answer.value
        self._show()

    @work(exclusive=True, group="rule-act")
    async def action_save(self) -> None:
        """Put the changed numbers in force."""
        if not self.staged:
            self.notify("No number was changed. Enter changes the one under the cursor.",
                        markup=False)  # fmt: skip
            return
        await self._write("Put these numbers in force", self.staged, enabled=None)

    @work(exclusive=True, group="rule-act")
    async def action_silence(self) -> None:
        """Silence the rule, or let it speak again."""
        if self.page is None:
            return
        speaks = self.page.line.rule.enabled
        await self._write("Silence the rule" if speaks else "Let the rule speak again", {},
                          enabled=not speaks)  # fmt: skip

    @work(exclusive=True, group="rule-act")
    async def action_published(self) -> None:
        """Back to the numbers below."""
        page = self.page
        if page is None:
            return
        below = "practice's" if self._pond is not None else "published"
        if not page.own and page.line.rule.enabled:
            self.staged.clear()
            self._show()
            self.notify(f"The {below} numbers are in force already.", markup=False)
            return
        usual = {number.name: number.usual for number in page.numbers}
        await self._write(f"Back to the {below} numbers", usual, enabled=True)

    async def _write(self, what: str, staged: dict[str, float], *, enabled: bool | None) -> None:
        page, app = self.page, self.ponds_app
        if page is None:
            return
        where = f"for {one_line(self._where)}" if self._where else "for all ponds of the practice"
        prompt = f"{_said(page, staged)}It holds {where} at once, and the record keeps it. Why?"
        answer = await app.push_screen_wait(AskReason(what, prompt, accept="Save"))
        act = await app.acting() if isinstance(answer, Reason) else None
        if not isinstance(answer, Reason) or act is None:
            return
        from store.watch.rule_page import save_numbers

        try:
            await app.ask_store(
                save_numbers, app.book, act, page, staged, answer.text, pond=self._pond,
                enabled=enabled,
            )  # fmt: skip
        except PondroundError as trouble:
            app.tell(trouble)
            return
        if enabled is None or staged:
            self.staged.clear()
        app.changed()
        self._read()
        self.notify("Saved.", markup=False)

    def action_try_out(self) -> None:
        """Try it on the past year."""
        from tui.screens.rules.trial import TrialScreen

        if self.page is not None:
            self.app.push_screen(TrialScreen(self.page, dict(self.staged), self._pond, self._where))

    def action_read(self, by: int) -> None:
        """Move the text below by most of what is in sight."""
        text = self.query_one("#rule-text", VerticalScroll)
        text.scroll_relative(y=by * max(1, text.size.height - 1), animate=False)

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)


def _said(page: RulePage, staged: dict[str, float]) -> str:
    changes = [
        f"{number.label}: {number.said} becomes {number.say(staged[number.name])}"
        for number in page.numbers
        if number.name in staged and staged[number.name] != number.value
    ]
    return "".join(f"{change}\n" for change in changes)


def about(page: RulePage, width: int) -> Content:
    """What the rule waits for and warns of, what others publish, and its record."""
    parts: list[Content | str | tuple[str, str]] = [
        f"\n{one_line(sentence)}" for sentence in page.about
    ]
    if page.statements:
        parts.append(("\n\nWhat publications say of it; nothing is averaged", "bold"))
        for one in page.statements:
            parts.append(f"\n{one_line(one.said)}")
            said = said_backing(one.source, one.standing)
            parts.append(("\n" + hanging(said, width), "$quiet"))
    parts.append(("\n\nRecord of changes", "bold"))
    parts += [f"\n{one_line(said)}" for said in page.record] or ["\nNever changed here."]
    return Content.assemble(*parts)
