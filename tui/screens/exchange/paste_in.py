"""What an owner told, pasted or out of a file: values are ticked by hand, the words are kept."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.screen import Screen
from textual.widgets import TextArea

from store.errors import PondroundError
from tui.said import said_head
from tui.screens.exchange.paste_deciding import Confirmed, decide
from tui.screens.exchange.paste_lines import (
    ASKED,
    COLUMNS,
    Decided,
    day_short,
    decided_from,
    decided_text,
    done_said,
    line_of,
    not_ticked,
    rows_of,
    saved_lines,
    state_said,
    takes_from,
    told,
)
from tui.screens.exchange.paste_store import begun, day_from, looked_through, saved
from tui.screens.exchange.paste_when import WhenTold
from tui.screens.parts.abstract import drafts_of
from tui.screens.parts.dialogs import Ask
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.once import once
from tui.widgets.entry import TextBox
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.literal import one_line
from tui.widgets.static import Static
from tui.widgets.strip import BottomStrip
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.exchange.columns import Question
    from store.exchange.told.found import Found, Looked, Setting
    from tui.app import PondroundApp
    from tui.drafts import Draft

_REST_S = 0.25
"""How long nothing is typed before the text is looked through [s]."""
_SAID_S = 20.0
"""How long it stands there what was saved [s]."""
_LONG = 30_000
"""From how long on a look takes so long that it is told [characters]."""
NOTHING = "Nothing in the text looks like a value. F2 keeps it in words."
TO_THE_LINES = "Tab goes to the lines; there space takes one and enter changes it."


class PasteScreen(Screen["PondroundError | None"]):
    """An owner's text, and what could be taken from it.

    Parameters
    ----------
    path
        A file with the text; None where it is pasted or typed.
    pond
        Key of the pond it tells of; asked for where it is None.
    """

    CSS_PATH = "../sheets/paste.tcss"
    QUESTION = "What did the owner tell, and what of it becomes a value?"
    ABOUT = (
        "Paste messages or a diary into the text, with the terminal's own key for pasting; tab "
        "goes to the lines below. What looks like a reading, dead fish, a water change or a sign "
        "is a line with an empty box; [?] marks a doubt, which is told below. Space ticks a line: "
        "a day or an hour that does not stand in the text, or was reckoned from Sat or yesterday, "
        "is shown for you to confirm. What went into the pond stays words, it is never a dose that "
        "was given. F2 keeps the whole text in words on the pond, and what is ticked, in one go; "
        "each value says in its note that it was told, with the phrase. The same text again adds "
        "nothing twice. Esc leaves; text and ticks are kept as a draft."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f2", "save", "save", key_display="F2", id="paste.save",
                tooltip="Keep the words, and what is ticked"),
        Binding("space", "tick", "tick", id="paste.tick", tooltip="Take this line, or leave it"),
        Binding("a", "all", "all sure", id="paste.all",
                tooltip="Tick every reading beyond doubt"),
        Binding("d", "sent", "written on", id="paste.sent",
                tooltip="When what bears no day was written"),
        HELP,
        Binding("f8", "anew", "begin anew", show=False, key_display="F8", id="paste.anew",
                tooltip="Forget the text and the ticks that stand here"),
        Binding("escape", "back", "back", key_display="esc", id="paste.back",
                tooltip="Back; text and ticks are kept as a draft"),
    ]  # fmt: skip

    def __init__(self, path: Path | None, pond: UUID | None) -> None:
        super().__init__()
        self._path = path
        self._pond = pond
        self._named = ""
        """Client and pond, once they are known."""
        self._setting: Setting | None = None
        self.looked: Looked | None = None
        self.taken: dict[str, Decided] = {}
        self._sent: date | None = None
        self._order = ""
        self._year: int | None = None
        self._asked: dict[str, Question] = {}
        """Questions that were answered, with the answer in their text."""
        self._confirmed: Confirmed = {}
        self._kept_draft = False

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, the text, what was seen, the lines, the strip."""
        yield Top("What was told", id="paste-head")
        yield Line()
        box = TextBox("", id="paste-text")
        box.match_cursor_bracket = False
        yield box
        yield Line()
        yield Static("", id="paste-state", markup=False)
        yield LineGrid(COLUMNS, empty="", header=True, gutter="mark", id="paste-list")
        yield Line()
        yield BottomStrip(id="paste-strip")
        yield Foot()

    def on_mount(self) -> None:
        """The text has the keys until there is one."""
        app = self.ponds_app
        self.query_one(Top).moment = said_head(app.now(), app.book.zone)
        self.query_one(TextBox).focus()
        self._begin()

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)

    def action_back(self) -> None:
        """Back; what was pasted and ticked is kept as a draft."""
        self.dismiss(None)

    @once("paste-act")
    async def action_anew(self) -> None:
        """Forget what stands here and was not saved."""
        box = self.query_one(TextBox)
        if not box.text.strip():
            return
        sure = await self.app.push_screen_wait(
            Ask("Begin anew?", "The text and the ticks are forgotten; nothing of them was saved.",
                yes="Begin anew", no="Keep them")
        )  # fmt: skip
        if sure:
            self.taken, self._sent, self._order, self._year = {}, None, "", None
            self._asked.clear()
            self._confirmed.clear()
            box.load_text("")
            box.focus()
            self._keep()
            self._look()

    # Beginning

    def _draft(self) -> Draft:
        where = "paste-in" if self._path is None else f"told-{self._path.resolve()}"
        return drafts_of(self.app).of(where, self._pond)

    @work(group="entry-read", exclusive=True)
    async def _begin(self) -> None:
        """The pond, the text of the file or of the draft."""
        app = self.ponds_app
        if self._pond is None:
            from tui.screens.exchange.plan_answer import WhichPond

            line = await self.app.push_screen_wait(WhichPond("Which pond does the text tell of?"))
            if line is None or line.pond_id is None:
                self.dismiss(None)
                return
            self._pond = line.pond_id
        try:
            self._named, self._setting, text = await app.ask_store(
                begun, app.book, self._pond, app.now(), self._path
            )
        except PondroundError as trouble:
            # The form that asked for the file tells what is wrong with it.
            self.dismiss(trouble)
            return
        self.query_one(Top).place = one_line(f"Told of {self._named}")
        kept = self._draft().values
        self.taken = decided_from(kept.get("taken", ""))
        self._sent = day_from(kept.get("sent", ""))
        self._order = kept.get("order", "")
        self._year = int(kept["year"]) if kept.get("year", "").isdecimal() else None
        box = self.query_one(TextBox)
        self._kept_draft = True
        if begin := kept.get("text") or text:
            box.load_text(begin)
            self.query_one(LineGrid).focus()
            if kept.get("text"):
                self.notify("Taken up again from what you left.", markup=False)
        self._look()

    # Looking

    @on(TextArea.Changed)
    def _typed(self) -> None:
        if self._kept_draft:
            self._keep()
            self._look()

    def _keep(self) -> None:
        self._draft().keep(
            {
                "text": self.query_one(TextBox).text,
                "taken": decided_text(self.taken),
                "sent": "" if self._sent is None else str(self._sent),
                "order": self._order,
                "year": "" if self._year is None else str(self._year),
            }
            if self.query_one(TextBox).text.strip()
            else {}
        )

    @work(group="paste-look", exclusive=True)
    async def _look(self, rest_s: float = _REST_S) -> None:
        """Look through the text once nobody types."""
        from asyncio import sleep

        await sleep(rest_s)
        await self._look_now()

    async def _look_now(self) -> None:
        app = self.ponds_app
        if self._setting is None:
            return
        self._setting = replace(self._setting, now=app.now())
        text = self.query_one(TextBox).text
        if len(text) > _LONG:
            self.query_one("#paste-state", Static).update("looking through the text …")
        try:
            self.looked = await app.ask_store(
                looked_through, text, self._setting, self._sent, self._order, self._year
            )
        except PondroundError as trouble:
            app.tell(trouble)
            return
        self._show()

    def _show(self) -> None:
        if self.looked is None:
            return
        grid = self.query_one(LineGrid)
        grid.empty = NOTHING if self.looked.messages else ""
        asked = {one.field for one in self.looked.questions}
        answered = [one for field, one in self._asked.items() if field not in asked]
        grid.show(rows_of(self.looked, self.taken, answered, self.ponds_app.today()))
        self.query_one("#paste-state", Static).update(
            Content(one_line(state_said(self.looked, self.taken)))
        )
        self._explain()

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        if self.looked is None:
            return
        key = self.query_one(LineGrid).cursor_key
        decided = self.taken.get(key) if isinstance(key, str) else None
        one = self._under_cursor()
        box = self.query_one(TextBox)
        shown = told(self.looked, key, decided)
        if shown is not None and box.has_focus:
            # While the text has the keys, a space is a space.
            shown = replace(shown, advice=TO_THE_LINES)
        self.query_one(BottomStrip).show(shown)
        if one is not None and not box.has_focus:
            # The message of the line stands in sight.
            box.move_cursor((line_of(self.looked, one), 0))

    def on_descendant_focus(self) -> None:
        """The line under the cursor is told once the lines have the keys."""
        self._explain()

    # Deciding

    def _under_cursor(self) -> Found | None:
        key = self.query_one(LineGrid).cursor_key
        if self.looked is None:
            return None
        return next((one for one in self.looked.found if one.key == key), None)

    @on(LineGrid.Opened)
    def _opened(self) -> None:
        key = self.query_one(LineGrid).cursor_key
        if isinstance(key, tuple) and key[0] == ASKED:
            self._answer(str(key[1]))
        else:
            self._change()

    @once("paste-act")
    async def _answer(self, field: str) -> None:
        await self._answered(field)

    @once("paste-act")
    async def action_sent(self) -> None:
        """When what bears no day was written."""
        await self._answered("sent")

    async def _answered(self, field: str) -> None:
        """Ask what the whole text leaves open, and look through it anew."""
        from store.exchange.columns import Question
        from tui.screens.exchange.plan_answer import answer_to

        if self.looked is None:
            return
        asked = {one.field: one for one in self.looked.questions}
        one = asked.get(field) or self._asked.get(field)
        if field == "sent":
            about = "Days such as yesterday and Sat are reckoned from it."
            answer = await self.app.push_screen_wait(
                WhenTold("When was it written?", about, self._sent, None, needs_clock=False,
                         today=self.ponds_app.today())
            )  # fmt: skip
            if answer is None:
                return
            self._sent = answer[0]
            self._asked[field] = Question(
                field, f"on {day_short(answer[0], self.ponds_app.today())}"
            )
        elif one is not None:
            title = "What the text leaves open"
            chosen = await answer_to(self.ponds_app, one, title=title)
            if chosen is None:
                return
            if field == "order":
                self._order = chosen[0]
            elif chosen[0].isdecimal():
                self._year = int(chosen[0])
            self._asked[field] = replace(one, text=chosen[1])
        self._confirmed.clear()
        self._keep()
        await self._look_now()

    @once("paste-act")
    async def action_tick(self) -> None:
        """Take the line under the cursor, or leave it."""
        one = self._under_cursor()
        if one is None:
            return
        if self.taken.pop(one.key, None) is None:
            if not one.takeable:
                return  # the strip tells why
            await self._take(one)
        self._keep()
        self._show()

    @once("paste-act")
    async def _change(self) -> None:
        """Day, hour and value of the line under the cursor, asked anew."""
        one = self._under_cursor()
        if one is None or not one.takeable:
            return
        await self._take(one, anew=True)
        self._keep()
        self._show()

    @once("paste-act")
    async def action_all(self) -> None:
        """Tick every reading beyond doubt; what is asked of one counts for its message."""
        for one in self.looked.found if self.looked is not None else ():
            sure = one.kind == "reading" and one.takeable and not one.doubt
            if sure and one.key not in self.taken and not await self._take(one):
                break
        self._keep()
        self._show()

    async def _take(self, one: Found, *, anew: bool = False) -> bool:
        """Take a line once a person has said what is open about it; whether it was taken."""
        had = self.taken.get(one.key)
        decided = await decide(self.ponds_app, one, had, self._confirmed, anew=anew)
        if decided is not None:
            self.taken[one.key] = decided
        return decided is not None

    # Saving

    @once("paste-act")
    async def action_save(self) -> None:
        """Keep the words, and what is ticked."""
        from store.exchange.told.texts import word_parts

        app = self.ponds_app
        await self._look_now()
        looked = self.looked
        if looked is None or self._pond is None:
            return
        if not looked.messages:
            self.notify("There are no words yet. Paste or type what was told.", markup=False)
            return
        takes = takes_from(looked, self.taken)
        days = [day for day, _ in word_parts(looked, app.today())]
        act = await app.acting()
        if act is None:
            return
        text = saved_lines(takes, days, app.today())
        if left := not_ticked(looked, self.taken):
            text += f"\n{left}"
        sure = await self.app.push_screen_wait(
            Ask(f"Save what was told of {self._named}?", text, yes="Save")
        )
        if not sure:
            return
        name = "" if self._path is None else self._path.name
        try:
            done = await app.ask_store(saved, app.book, act, self._pond, looked, takes, name, False)
            if done.doubts:
                others = await self.app.push_screen_wait(
                    Ask("Are these others?", "\n".join(done.doubts), yes="They are, save")
                )
                if not others:
                    return
                done = await app.ask_store(
                    saved, app.book, act, self._pond, looked, takes, name, True
                )
        except PondroundError as trouble:
            app.tell(trouble)
            return
        self._kept_draft = False
        self._draft().drop()
        app.changed()
        self.notify(done_said(done), title="Told", markup=False, timeout=_SAID_S)
        self.dismiss(None)
