"""The backups there are, making one, and looking whether the book is as it was written."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from datetime import datetime, tzinfo
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar, cast

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from store.errors import PondroundError
from tui.said import said_head, said_moment
from tui.screens.guard.guard_said import (
    LEVELS,
    WHYS,
    said_age,
    said_looked_at,
    said_progress,
    said_result,
)
from tui.screens.parts.help import HELP, open_help
from tui.widgets.foot import Foot
from tui.widgets.literal import one_line
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.backup.marked import Backup
    from store.guard.found import Report
    from store.warmth.kept.verify import Verified
    from tui.app import PondroundApp

Part = tuple[str, str]
_MOST = 40
"""So many backups are listed; the older ones are counted."""
_MB = 1_000_000
_TICK_S = 0.2
NONE_WANTED = (
    "No folder for backups: PONDROUND_BACKUPS says “none”, or this is the demo, which is thrown "
    "away. “pondround backup --to FOLDER” makes one where you say."
)


class _Left(Exception):
    """The page was left, or the check was stopped."""


class GuardScreen(Screen[None]):
    """Backups, and a look at the whole book."""

    CSS_PATH = "../sheets/guard.tcss"
    QUESTION = "Is the book safe, and is it as it was written?"
    ABOUT = (
        "Backups with their age. One is made by itself each day the book is open, compared with "
        "the book and looked through; of those the last 7 days, 5 weeks and 12 months are kept. "
        "Made by hand or before an upgrade they stay until you delete them. Keep some on another "
        "disk: PONDROUND_BACKUPS names a folder. “pondround restore FILE --to NEW” makes a book "
        "out of one. The check reads everything, compares every row with the record of changes "
        "and says in words what was altered outside Pondround; it changes nothing."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("b", "backup", "make a backup", id="guard.backup",
                tooltip="Make a backup now and compare it with the book"),
        Binding("c", "check(False)", "check", id="guard.check",
                tooltip="Look at every row and value of the book"),
        Binding("C", "check(True)", "quick check", id="guard.quick",
                tooltip="Look at the file, its tables and the chain of the record"),
        Binding("e", "estimates", "estimates", id="guard.estimates",
                tooltip="Whether estimates of temperature can be believed, by the book's past"),
        Binding("escape", "back", "stop", show=False, id="guard.back",
                tooltip="Stop the check, or back"),
        Binding("f5", "again", "look again", show=False, id="guard.again",
                tooltip="Look for backups again"),
    ]  # fmt: skip

    def __init__(self) -> None:
        super().__init__()
        self._backups: tuple[Backup, ...] | None = None
        self._report: Report | None = None
        self._verified: Verified | None = None
        self._said, self._progress = "", ""
        self._stop = False

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, what is done, the text, keys."""
        yield Top("Backups and check")
        yield Static("", id="guard-doing", markup=False)
        yield Line()
        with VerticalScroll(id="guard-page"):
            yield Static("", id="guard-text", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """The text has the keys."""
        self.query_one("#guard-page").focus()
        self.set_interval(_TICK_S, self._tick)
        self._look()

    def on_book_opened(self) -> None:
        """The book can be asked now."""
        self._look()

    def on_screen_resume(self) -> None:
        """A backup may have been made meanwhile."""
        self._look()

    def _tick(self) -> None:
        app = self.ponds_app
        if app.book_is_open and app.book.known_zone is not None:
            self.query_one(Top).moment = said_head(app.now(), app.book.known_zone)
        self.query_one("#guard-doing", Static).update(self._progress or self._said)

    @work(group="guard-look", exclusive=True)
    async def _look(self) -> None:
        app = self.ponds_app
        if not app.book_is_open:
            return
        self._backups = await asyncio.to_thread(_found, app.backups, app.book.name)
        if self.is_mounted:
            self._show()

    def _show(self) -> None:
        app = self.ponds_app
        parts = list(report_parts(self._report)) if self._report is not None else []
        if self._backups is not None:
            zone = app.book.zone
            parts += list(backup_parts(self._backups, app.backups, app.now(), zone))
        text = Content("\n").join(Content.styled(line, style) for line, style in parts)
        self.query_one("#guard-text", Static).update(text)

    @work(group="guard-work", exclusive=True)
    async def action_backup(self) -> None:
        """Make a backup now."""
        app = self.ponds_app
        if not app.book_is_open or self._busy():
            return
        if app.backups is None:
            self._said = NONE_WANTED
            return
        from store.book.backup.making import back_up

        book, to, now = app.book, app.backups, app.now()
        try:
            made = await asyncio.to_thread(
                back_up, book.engine, book.name, to, now, "hand", told=self._tell
            )
            self._said = f"Backup made and compared with the book: {made.rows:,} rows."
        except PondroundError as trouble:
            self._said = ""
            app.tell(trouble)
        finally:
            self._progress = ""
        self._look()

    @work(group="guard-work", exclusive=True)
    async def action_check(self, quick: bool) -> None:
        """Look at the book."""
        app = self.ponds_app
        if not app.book_is_open or self._busy():
            return
        from store.guard.check import check

        self._stop, self._progress = False, "Looking at the book …"

        def told(progress: Any) -> None:
            self._tell(said_progress(progress))
            if self._stop or not app.is_running:
                raise _Left

        try:
            self._report = await asyncio.to_thread(
                check, app.book, app.now(), told=told, quick=quick
            )
            self._said = ""
        except _Left:
            self._said = "The check was stopped; nothing is known of what it did not reach."
        except PondroundError as trouble:
            app.tell(trouble)
        finally:
            self._progress = ""
        if self.is_mounted:
            self._show()
            self.query_one("#guard-page").scroll_home(animate=False)

    def action_estimates(self) -> None:
        """How far off estimates of temperature would have been."""
        if not self.ponds_app.book_is_open or self._busy():
            return
        from tui.screens.guard.proof import ProofScreen

        def kept(verified: Verified | None) -> None:
            self._verified = verified

        self.app.push_screen(ProofScreen(self._verified), kept)

    def _busy(self) -> bool:
        return bool(self._progress)

    def _tell(self, what: str) -> None:
        self._progress = what if what.startswith("Looking") else f"{what.capitalize()} …"

    def action_again(self) -> None:
        """Look for backups again."""
        self._look()

    def action_back(self) -> None:
        """Stop the check, or go back one step."""
        if self._busy():
            self._stop = True
        elif len(self.app.screen_stack) > 1 and self.app.screen_stack[0] is not self:
            self.dismiss(None)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)


def _found(folder: Path | None, name: str) -> tuple[Backup, ...]:
    from store.book.backup.keeping import backups_in

    found = list(backups_in(folder, name))
    if "://" not in name and Path(name).parent != folder:
        found += backups_in(Path(name).parent, name)  # those before an upgrade
    return tuple(sorted(found, key=lambda one: one.at, reverse=True))


def report_parts(report: Report) -> Iterator[Part]:
    """What a check found, line by line with its style.

    Parameters
    ----------
    report
        From the check.
    """
    yield said_result(report), "bold"
    for one in report.findings:
        style = "$level-act" if one.level == "fault" else "$level-watch"
        yield f"{LEVELS[one.level]}  {one_line(one.said)}", style
        yield f"       {one.to_do}", ""
    yield f"Looked at {said_looked_at(report)}.", "$quiet"
    yield "", ""


def backup_parts(
    backups: tuple[Backup, ...], folder: Path | None, now: datetime, zone: tzinfo
) -> Iterator[Part]:
    """The backups, line by line with its style.

    Parameters
    ----------
    backups
        The newest first.
    folder
        Where they lie; None where there are to be none.
    now
        The present instant.
    zone
        Of the practice.
    """
    today = now.astimezone(zone).date()
    if folder is None:
        yield NONE_WANTED, "$level-watch"
    else:
        yield f"Backups in {folder}", "bold"
    if folder is not None and not backups:
        yield "There is none yet.", "$level-watch"
    for one in backups[:_MOST]:
        yield (
            (
                f"{said_moment(one.at, zone, today):<13} {said_age(one.at, now):<13} "
                f"{WHYS[one.why]:<16} {one.rows:>9,} rows {one.size_bytes / _MB:>8,.1f} MB"
            ),
            "",
        )
    if len(backups) > _MOST:
        yield f"… and {len(backups) - _MOST} older ones", "$quiet"
