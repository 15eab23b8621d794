"""A bag that came back: what it would bring in, and afterwards what came."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen

from store.errors import PondroundError
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.once import once
from tui.widgets.foot import Foot
from tui.widgets.literal import one_line
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.exchange.bag.unpacking import Looked
    from store.record.brought import BroughtTold
    from tui.app import PondroundApp


class UnpackScreen(Screen[PondroundError | None]):
    """What a bag holds beyond the book, and bringing it in.

    Parameters
    ----------
    path
        The file.
    pond
        Of no use here; every kind of file is opened alike.
    """

    CSS_PATH = "../sheets/bag.tcss"
    QUESTION = "What came back with the bag?"
    ABOUT = (
        "First what the file is and how much in it is new: nothing is saved by looking. y brings "
        "it in, all of it or nothing. Rows of both sides are kept; what both sides changed waits "
        "for a choice behind D. Brought in once more, a bag adds only what is new. The file itself "
        "is only read, and stays."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("y", "bring", "bring in", id="unpack.bring",
                tooltip="Bring in what is new, all of it or nothing"),
        Binding("D", "differs", "what differs", id="unpack.differs",
                tooltip="Records that both sides changed: both beside each other, and which holds"),
        Binding("escape", "back", "back", id="unpack.back", tooltip="Back"),
    ]  # fmt: skip

    def __init__(self, path: Path | None, pond: UUID | None = None) -> None:
        super().__init__()
        self._path = path or Path()
        self._looked: Looked | None = None
        self._told: BroughtTold | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, the text, keys."""
        yield Top("A bag that came back")
        yield Line()
        with VerticalScroll(id="unpack-page"):
            yield Static("reading the file …", id="unpack-text", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """The text has the keys; the file is read behind the first paint."""
        self.query_one("#unpack-page").focus()
        self._look()

    @work(group="unpack", exclusive=True)
    async def _look(self) -> None:
        from store.exchange.bag.unpacking import look_into

        app = self.ponds_app
        try:
            self._looked = await app.ask_store(look_into, app.book, self._path, app.now())
        except PondroundError as trouble:
            self.dismiss(trouble)
            return
        self._show(self._looked_lines(self._looked))
        self.refresh_bindings()

    def _looked_lines(self, looked: Looked) -> list[tuple[str, str]]:
        from store.exchange.bag.marks import said_age
        from store.record.brought import counted

        bag = looked.bag
        head = f"A copy of the book of {looked.practice}"
        if bag is not None:
            head = f"A {bag.said}, packed {said_age(bag, self.ponds_app.now())} by {bag.by}"
        if looked.unwritten:
            said = [
                "Nothing was entered in this file since it was packed. If the day was entered in "
                "a bag, it was in another file: look for it on the laptop."
            ]
        elif looked.nothing_new:
            said = [
                "Nothing in it is new: all of it is in the book already."
                + (" The file may be deleted once nobody writes in it any more." if bag else "")
            ]
        else:
            parts = (("Entered there", looked.entered), ("Changed there", looked.changed))
            said = [f"{word}: {counted(rows)}" for word, rows in parts if rows]
            said += ["", looked.not_yours or "y brings it in: all of it, or nothing."]
        return [
            (head, "bold"),
            (str(looked.path), "$quiet"),
            ("", ""),
            *((one, "") for one in said),
        ]

    def _show(self, lines: Iterable[tuple[str, str]]) -> None:
        text = Content("\n").join(Content.styled(one_line(line), style) for line, style in lines)
        self.query_one("#unpack-text", Static).update(text)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """What is new is brought in once; what differs is shown where something does."""
        if action == "bring":
            looked = self._looked
            may = looked is not None and not looked.nothing_new and not looked.not_yours
            return self._told is None and may
        if action == "differs":
            return self._told is not None and bool(self._told.differing)
        return super().check_action(action, parameters)

    @once("unpack-bring")
    async def action_bring(self) -> None:
        """Bring it in, and tell what came."""
        from store.exchange.bag.unpacking import unpack
        from store.record.brought import told_brought

        app = self.ponds_app
        act = await app.acting()
        if act is None:
            return
        try:
            found = await app.ask_store(unpack, app.book, act, self._path)
            self._told = told = await app.ask_store(told_brought, app.book, found)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        app.changed()
        self._show(_brought_lines(told))
        self.query_one("#unpack-page").scroll_home(animate=False)
        self.refresh_bindings()

    def action_differs(self) -> None:
        """What both sides changed."""
        from tui.screens.bag.differs import DiffersScreen

        self.app.push_screen(DiffersScreen())

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)


def _brought_lines(told: BroughtTold) -> list[tuple[str, str]]:
    lines = [(told.head, "bold")]
    lines += [(f"  {place}: {said}", "") for place, said in told.places]
    for one in told.look:
        lines += [("", ""), (one, "")]
    if told.differing:
        many = len(told.differing)
        lines += [("", ""), (
            f"{many} record{' was' if many == 1 else 's were'} changed on both sides to different "
            "things; what was written last stands until you choose: D.", "$level-watch",
        )]  # fmt: skip
        lines += [
            (f"  {row.what}: {', '.join(one.labels[0] for one in row.groups)}", "")
            for row in told.differing
        ]
    return [*lines, ("", ""), (told.file, "$quiet")]
