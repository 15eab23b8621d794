"""A logger's file before it goes into the book: what it says, what is asked, the series."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from threading import Event
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.message import Message
from textual.screen import Screen

from store.errors import PondroundError
from tui.said import said_head
from tui.screens.exchange.logger_in_answer import answer_to
from tui.screens.exchange.logger_in_lines import (
    COLUMNS,
    SETTINGS,
    before_saving,
    capital,
    chart_of,
    everything_of,
    first_of,
    groups_of,
    progress_said,
    rows_of,
    said_at,
    said_series,
    sentence_of,
    state_said,
    told_of,
    word_of,
)
from tui.screens.exchange.logger_in_work import Looked, Said, look_at
from tui.screens.exchange.plan_answer import WhichPond
from tui.screens.parts.dialogs import Ask, Tell
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.once import once
from tui.widgets.chart import TimeChart
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.literal import cut, one_line, wrapped
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.act import Act
    from store.exchange.logger.read import Progress
    from tui.app import PondroundApp

_STRIP_LINES = 3
_SAID_S = 20.0
"""How long it stands there what was saved [s]."""


class LoggerInScreen(Screen[PondroundError | None]):
    """What a logger's file would bring, what it leaves open, and what of it is left out.

    It is left with the trouble where the file cannot be read at all.

    Parameters
    ----------
    path
        The file.
    pond
        Key of the pond in which the logger hung; asked where it is None.
    """

    CSS_PATH = "../sheets/logger_in.tcss"
    VERTICAL_BREAKPOINTS = [(0, "-low"), (34, "-tall")]  # noqa: RUF012
    QUESTION = "Which series does this logger's file bring, and what of it is left out?"
    ABOUT = (
        "What is asked stands first: nothing is saved before it is said. Then the series as it "
        "would be saved, with its chart: a line for what is kept, dim dots for what was left out, "
        "marks where that was. Then all that was left out or doubted, by reason, and what the file "
        "was taken for: enter on a line changes it, or shows more. F2 saves in one go; esc while "
        "it saves stops that, and nothing is saved. Every row that was left out is listed in a "
        "file beside the source, every row that cannot be read in another, to be corrected and "
        "brought in from there. The same file again adds nothing twice."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f2", "save", "save", key_display="F2", id="logger_in.save",
                tooltip="Save the series; what is left out is listed in a file beside the source"),
        Binding("a", "next_open", "next asked", id="logger_in.next",
                tooltip="To the next line that is asked"),
        Binding("t", "told", "remarks", id="logger_in.told",
                tooltip="All that the file says of itself, and what was supposed"),
        HELP,
        Binding("escape", "back", "back", key_display="esc", id="logger_in.back",
                tooltip="Back to the file; while it saves: stop, and save nothing"),
    ]  # fmt: skip

    class Progressed(Message, bubble=True):
        """A piece of long work is done."""

        def __init__(self, progress: Progress, work: Event) -> None:
            super().__init__()
            self.progress, self.work = progress, work

        def can_replace(self, message: Message) -> bool:
            """Only the newest matters."""
            return isinstance(message, LoggerInScreen.Progressed)

    def __init__(self, path: Path, pond: UUID | None = None) -> None:
        super().__init__()
        self._path, self.pond = path, pond
        self.said = Said()
        self.looked: Looked | None = None
        self.busy = ""
        """`reading` or `saving`, while that runs."""
        self.saved = ""
        self._stop = Event()

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, how much, the lines, the chart, two lines that explain."""
        name = one_line(self._path.name)
        yield Top(f"Logger's file {name}", id="logger-in-head")
        yield Static("", id="logger-in-state", markup=False)
        yield Line()
        yield LineGrid(COLUMNS, empty=f"reading {name} …", gutter="mark", id="logger-in-list")
        yield TimeChart(id="logger-in-chart")
        yield Line()
        yield Static("", id="logger-in-strip", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """The lines have the keys; the file is read behind the first paint."""
        app = self.ponds_app
        self.query_one(Top).moment = said_head(app.now(), app.book.zone)
        self.query_one(LineGrid).focus()
        self._begin()

    def on_unmount(self) -> None:
        """Nothing goes on behind a page that is gone."""
        self._stop.set()

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)

    def action_back(self) -> None:
        """Back; while it saves, stop that."""
        self._stop.set()
        if self.busy == "saving":
            self._say("stopping …")
        else:
            self.dismiss(None)

    # Reading

    @once("logger-in-act")
    async def _begin(self) -> None:
        if self.pond is None:
            said = f"In which pond did the logger of {self._path.name} hang? The file does not say."
            line = await self.app.push_screen_wait(WhichPond(said))
            if line is None or line.pond_id is None:
                self.dismiss(None)
                return
            self.pond = line.pond_id
        self._read(self.pond, self.said)

    @work(group="logger-in-read", exclusive=True)
    async def _read(self, pond: UUID, said: Said) -> None:
        """Read the file as a person says; what ran before is stopped."""
        from store.exchange.logger.read import Stopped

        self._stop.set()
        self._stop = stop = Event()
        self.busy = "reading"
        self._say(f"reading {one_line(self._path.name)} …")
        app = self.ponds_app
        try:
            looked = await app.ask_store(
                look_at,
                app.book,
                app.now(),
                self._path,
                pond,
                said,
                self._teller(stop),
                self.looked,
            )
        except Stopped:
            return
        except PondroundError as trouble:
            self.busy = ""
            if self.looked is None:
                self.dismiss(trouble)
                return
            app.tell(trouble)
        else:
            self.busy = ""
            self.looked, self.said, self.pond = looked, said, pond
        self._show()

    def _teller(self, stop: Event) -> Callable[[Progress], None]:
        """What a thread calls after every piece: it tells the page, or stops the work."""
        from store.exchange.logger.read import Stopped

        def tell(progress: Progress) -> None:
            if stop.is_set():
                raise Stopped("Stopped; nothing was saved. The file is as it was.")
            self.post_message(self.Progressed(progress, stop))

        return tell

    @on(Progressed)
    def _progressed(self, message: Progressed) -> None:
        if self.busy and message.work is self._stop and not message.work.is_set():
            self._say(progress_said(message.progress, self.busy))

    # Showing

    def _say(self, text: str) -> None:
        self.query_one("#logger-in-state", Static).update(Content(f"{text}"))

    def _show(self) -> None:
        if self.looked is None:
            return
        self._say(self.saved or state_said(self.looked))
        self.query_one(LineGrid).show(rows_of(self.looked, self.said))
        first = self.looked.series[0] if self.looked.series else None
        chart = self.query_one(TimeChart)
        chart.display = first is not None
        chart.show(chart_of(first))
        self._explain()

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        if self.looked is None:
            return
        key = self.query_one(LineGrid).cursor_key
        said, advice = told_of(self.looked, key)
        strip = self.query_one("#logger-in-strip", Static)
        width = max(20, strip.content_size.width or self.size.width - 2)
        lines = wrapped(one_line(f"{said} {advice}"), width)
        if len(lines) > _STRIP_LINES:
            # What to do stays in sight.
            first = wrapped(one_line(said), width)[: _STRIP_LINES - 1]
            lines = [*first[:-1], cut(f"{first[-1]} …", width), advice]
        strip.update(Content("\n".join(lines)))
        if isinstance(key, tuple) and key[0] == "series":
            self.query_one(TimeChart).show(chart_of(self.looked.series[key[1]]))

    def on_resize(self) -> None:
        """The strip is broken anew."""
        self.call_after_refresh(self._explain)

    def action_told(self) -> None:
        """All that the file says of itself, and what was supposed."""
        if self.looked is not None:
            self.app.push_screen(
                Tell("What there is to say of the file", everything_of(self.looked))
            )

    def action_next_open(self) -> None:
        """To the next line that is asked."""
        if self.looked is None:
            return
        grid, keys = self.query_one(LineGrid), [("ask", one.field) for one in self.looked.open]
        if not keys:
            self.notify("Nothing is asked any more. F2 saves.", markup=False)
            return
        at = keys.index(grid.cursor_key) + 1 if grid.cursor_key in keys else 0
        grid.move_to(keys[at % len(keys)])

    # Saying

    @on(LineGrid.Opened)
    def _opened(self, opened: LineGrid.Opened) -> None:
        kind, of = cast("tuple[str, object]", opened.key)
        if kind in ("ask", "set") and of in SETTINGS:
            self._answer(str(of))
        elif kind == "left":
            self._tell_group(str(of))
        elif kind == "series":
            self._tell_series(int(str(of)))
        else:
            self.action_told()

    def _tell_group(self, reason: str) -> None:
        assert self.looked is not None
        group = next(one for one in groups_of(self.looked) if one.reason == reason)
        lines = [sentence_of(group), "", *first_of(group)]
        if group.n > len(group.first):
            lines.append(f"and {group.n - len(group.first):,} more")
        self.app.push_screen(Tell(word_of(group).capitalize(), "\n".join(lines)))

    def _tell_series(self, at: int) -> None:
        assert self.looked is not None
        one = self.looked.series[at]
        lines = [
            f"{one.n:,} values from {said_at(one.first)} to {said_at(one.last)} on the clock of "
            f"{self.looked.zone}.",
            f"{capital(said_series(one))}.",
        ]
        gone = [f"{said_at(each.at)}: {each.word}, {each.n:,}" for each in one.gone[:200]]
        self.app.push_screen(
            Tell("The series as it would be saved", "\n".join([*lines, "", *gone]).strip())
        )

    @once("logger-in-act")
    async def _answer(self, field: str) -> None:
        if self.looked is None:
            return
        if self.saved:
            self.notify("It is saved. Esc goes back.", markup=False)
            return
        if field == "pond":
            line = await self.app.push_screen_wait(WhichPond("In which pond did the logger hang?"))
            if line is not None and line.pond_id is not None:
                self._read(line.pond_id, self.said)
            return
        answered = await answer_to(self.ponds_app, self.looked, self.said, field)
        if answered is not None and self.pond is not None:
            self._read(self.pond, replace(self.said, **answered))

    # Saving

    @once("logger-in-act")
    async def action_save(self) -> None:
        """Save the series, and list what was left out."""
        app, looked = self.ponds_app, self.looked
        if looked is None or self.busy:
            self.notify("The file is still being read; a moment.", markup=False)
            return
        if self.saved:
            self.notify("It is saved. Esc goes back.", markup=False)
            return
        if looked.planned is None or looked.open:
            self.action_next_open()
            self.notify("First say what is asked: enter on its line.", markup=False)
            return
        if not looked.series or looked.planned.plan.already == sum(one.n for one in looked.series):
            self.notify("There is nothing to save: see the lines for what is left out.",
                        markup=False)  # fmt: skip
            return
        act = await app.acting()
        if act is None:
            return
        sure = await self.app.push_screen_wait(
            Ask(f"Save to {one_line(looked.pond)}?", before_saving(looked), yes="Save")
        )
        if sure:
            await self._save(act)

    async def _save(self, act: Act) -> None:
        from store.exchange.logger.beside import save_and_list

        app, looked = self.ponds_app, self.looked
        assert looked is not None
        assert looked.planned is not None
        self._stop = stop = Event()
        self.busy = "saving"
        self._say("saving …")
        try:
            done, beside = await app.ask_store(
                save_and_list, app.book, act, looked.planned, self._teller(stop)
            )
        except PondroundError as trouble:
            self.busy = ""
            self._show()
            if stop.is_set():
                self.notify("Stopped; nothing was saved.", markup=False)
            else:
                app.tell(trouble)
            return
        self.busy = ""
        files = [one_line(one.name) for one in (beside.refused, beside.left) if one is not None]
        listed = f" Left out, with the reasons: {', '.join(files)}, beside it." if files else ""
        self.saved = f"Saved {done.added:,} values. Esc goes back.{listed}"
        app.changed()
        self.notify(f"Saved {done.added:,} values.{listed}", markup=False, timeout=_SAID_S)
        self._show()
