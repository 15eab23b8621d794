"""One water test opened: readings as typed, what follows from them, doubts, corrections."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date, tzinfo
from functools import partial
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen

from store.errors import PondroundError
from tui.said import began, said_moment
from tui.screens.parts.dialogs import AskReason, Reason
from tui.screens.parts.help import HELP, open_help
from tui.screens.water.water_said import circumstances, on_the_point, typed_said, value_said
from tui.widgets.foot import Foot
from tui.widgets.hanging import hanging
from tui.widgets.literal import fit, literal, one_line
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.water.derived import Derived
    from store.water.opened import OpenedTest
    from tui.app import PondroundApp
    from tui.screens.water.water_saving import Saved

_LABEL_CELLS = 20
_LEVEL_CELLS = 9
_FEW = 2
"""Up to so many new concerns are told with all their advice."""


class OpenedTestScreen(Screen[None]):
    """A water test in full.

    Parameters
    ----------
    pond
        Key of the pond.
    key
        Of the test.
    saved
        What the test changed, where it has just been saved.
    """

    CSS_PATH = "../sheets/pond.tcss"
    QUESTION = "What did this test show?"
    ABOUT = (
        "Each reading, with what was typed where that differs, then what follows from the readings "
        "with the arithmetic and its source, then what makes them doubtful, and every correction. "
        "A test is never rewritten: c puts a corrected one in its place, x strikes it through; "
        "both stay readable."
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape,enter", "back", "back", id="opened.back", tooltip="Back to the pond"),
        Binding("c", "correct", "correct", id="opened.correct",
                tooltip="Put a corrected test in its place"),
        Binding("x", "strike", "strike through", id="opened.strike",
                tooltip="Strike the test through, with a reason"),
        Binding("down,j", "read_line(1)", "down", show=False, id="opened.down",
                tooltip="Further down"),
        Binding("up,k", "read_line(-1)", "up", show=False, id="opened.up", tooltip="Further up"),
        Binding("pagedown,space", "read_page(1)", "page down", show=False, id="opened.page_down",
                tooltip="One page down"),
        Binding("pageup", "read_page(-1)", "page up", show=False, id="opened.page_up",
                tooltip="One page up"),
    ]  # fmt: skip

    def __init__(self, pond: UUID, key: UUID, *, saved: Saved | None = None) -> None:
        super().__init__()
        self.pond = pond
        self.key = key
        self._saved = saved
        self._opened: OpenedTest | None = None
        self._lay_out: Callable[[int], Iterator[Content]] | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head and a page to scroll."""
        yield Top("Water test", id="opened-head")
        yield Line()
        with VerticalScroll(id="opened-page", can_focus=False):
            yield Static("", id="opened-text", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """Read the test behind the first paint."""
        self._read()

    def on_book_changed(self) -> None:
        """Something was written: read it anew."""
        self._read()

    @work(group="opened-read", exclusive=True)
    async def _read(self) -> None:
        from store.water.opened import open_test

        app = self.ponds_app
        try:
            opened = await app.ask_store(open_test, app.book, self.key)
            zone = await app.ask_store(lambda: app.book.zone)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        self._opened = opened
        today = app.now().astimezone(zone).date()
        test = opened.test
        top = self.query_one(Top)
        top.place = f"Water test of {said_moment(test.taken_at, zone, today)}"
        top.moment = f"{one_line(test.by)}, {test.way}"
        self._lay_out = partial(_page, opened, self._saved, zone, today)
        self._show()
        self.refresh_bindings()

    def _show(self) -> None:
        if self._lay_out is not None:
            # Without the empty cell at either side and the bar to scroll with.
            page = Content("\n").join(self._lay_out(self.size.width - 3))
            self.query_one("#opened-text", Static).update(page)

    def on_resize(self) -> None:
        """Lines are broken for the width there is."""
        self._show()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """A test that was struck through cannot be corrected or struck again."""
        if action in ("correct", "strike"):
            return None if self._opened is None or self._opened.test.struck else True
        return super().check_action(action, parameters)

    def action_back(self) -> None:
        """Back to the pond."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this screen is for, and its keys."""
        open_help(self.app)

    def action_read_line(self, by: int) -> None:
        """Move the page by a line."""
        self.query_one("#opened-page").scroll_relative(y=by, animate=False)

    def action_read_page(self, by: int) -> None:
        """Move the page by most of what is in sight."""
        page = self.query_one("#opened-page")
        page.scroll_relative(y=by * max(1, page.size.height - 1), animate=False)

    def action_correct(self) -> None:
        """Enter a corrected test."""
        from tui.screens.water.water_test import WaterTestScreen

        if self._opened is not None:
            self.app.switch_screen(WaterTestScreen(self.pond, self._opened.test))

    @work(group="opened-strike", exclusive=True)
    async def action_strike(self) -> None:
        """Strike the test through."""
        from store.water.water_tests import strike_test

        if self._opened is None:
            return
        test = self._opened.test
        app = self.ponds_app
        reason = await self.app.push_screen_wait(
            AskReason(
                "Strike this test through",
                "Why? It stays readable and no longer counts. To change it, correct it instead.",
                accept="Strike",
            )
        )
        if not isinstance(reason, Reason):
            return
        act = await app.acting()
        if act is None:
            return
        try:
            await app.ask_store(strike_test, app.book, act, test.key, test.rev, reason.text)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        app.changed()
        self.dismiss(None)


def _page(
    opened: OpenedTest, saved: Saved | None, zone: tzinfo, today: date, width: int
) -> Iterator[Content]:
    test = opened.test
    if saved is not None:
        yield from _what_it_means(saved, today, width)
    if test.struck:
        yield Content.styled(f"Struck through: {one_line(test.struck_why)}", "bold $level-act")
        if opened.corrected_by is not None:
            yield Content.styled("A corrected test stands in its place.", "$quiet")
        yield Content("")
    yield from _readings(opened, width)
    for doubt in opened.doubts:
        yield Content.styled(doubt, "$level-watch")
    if test.note:
        yield literal(f"note: {test.note}")
    taken = circumstances(test, zone, today, opened.kit)
    if taken:
        yield Content.styled(hanging(taken, width, 0), "$quiet")
    yield Content("")
    for derived in opened.derived:
        yield from _derived(derived, width)
    yield from _history(opened, zone, today)


def _what_it_means(saved: Saved, today: date, width: int) -> Iterator[Content]:
    yield Content.styled("Saved.", "bold")
    for concern in saved.new:
        said = began(concern.since, today, or_earlier=concern.or_earlier, what=concern.what)
        since = f"  {said}" if said else ""
        told = hanging(f"{concern.what}{since}", width, _LEVEL_CELLS)[_LEVEL_CELLS:]
        level = (f"{concern.level:<{_LEVEL_CELLS}}", f"bold $level-{concern.level}")
        yield Content.assemble(level, told)
        # Many windows may open with one warm day; the readings are to stay in sight.
        if concern.level == "act" or len(saved.new) <= _FEW:
            yield Content.styled(hanging(concern.advice, width, _LEVEL_CELLS), "$quiet")
    if len(saved.new) > _FEW:
        yield Content.styled("         e on the pond's page explains each of them.", "$quiet")
    for concern in saved.gone:
        yield Content.assemble(("ended    ", "$level-calm"), one_line(concern.title))
    if not saved.new:
        yield Content.styled("No new concern.", "$quiet")
    yield Content("")


def _readings(opened: OpenedTest, width: int) -> Iterator[Content]:
    from store.water.parameters import PARAMETERS

    values = [value_said(reading) for reading in opened.test.readings.values()]
    said = dict(zip(opened.test.readings, on_the_point(values), strict=True))
    widest = max(map(len, said.values()), default=0)
    for code, reading in opened.test.readings.items():
        typed = typed_said(reading)
        typed = f"typed: {typed}" if typed and reading.typed not in said[code] else ""
        beside = _LABEL_CELLS + 1 + widest + 2 + len(typed) <= width
        under = f"\n{' ' * (_LABEL_CELLS + 1)}"
        yield Content.assemble(
            (fit(PARAMETERS[code].label, _LABEL_CELLS), "$quiet"), " ", fit(said[code], widest),
            (f"{'  ' if beside else under}{typed}" if typed else "", "$quiet"),
        )  # fmt: skip
    if not opened.test.readings:
        yield Content.styled("No reading; a note only.", "$quiet")


def _derived(derived: Derived, width: int) -> Iterator[Content]:
    if derived.value is None:
        why = " ".join(derived.remarks)
        yield Content.styled(f"{derived.label}: {one_line(why)}", "$quiet")
        return
    value = f"{derived.value:.{derived.decimals}f} {derived.unit}".rstrip()
    yield Content.assemble((f"{derived.label} ", ""), (value, "bold"))
    for text in (derived.arithmetic, derived.source, *derived.remarks):
        if text:
            yield Content.styled(hanging(text, width), "$quiet")


def _history(opened: OpenedTest, zone: tzinfo, today: date) -> Iterator[Content]:
    from store.water.understood import shown

    yield Content("")
    yield Content.styled("What was done to this test", "bold")
    words = {"add": "entered", "change": "changed", "strike": "struck through",
             "restore": "restored"}  # fmt: skip
    for change in opened.changes:
        why = f": {one_line(change.why)}" if change.why else ""
        at = said_moment(change.at, zone, today)
        yield literal(f"{at}  {words[change.what]} by {one_line(change.by_name)}{why}")
    for earlier in opened.earlier:
        said = " · ".join(shown(reading) for reading in earlier.readings.values())
        yield Content.styled(
            f"before the correction ({one_line(earlier.struck_why)}): {one_line(said)}", "$quiet"
        )
