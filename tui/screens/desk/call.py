"""A new call: the questions filled in while talking, in any order, with the urgency in sight."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, tzinfo
from typing import TYPE_CHECKING, Any, ClassVar, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.events import DescendantFocus, Key

from store.errors import BadInput, PondroundError
from tui.screens.desk.call_begin import call_fields, given
from tui.screens.desk.call_lines import ask_lines, said_found, told_text, urgency_lines
from tui.screens.parts.dialogs import Choose, Option, Tell
from tui.screens.parts.edit import FormScreen
from tui.screens.parts.once import once
from tui.widgets.fields import Form, FormField
from tui.widgets.foot import Foot
from tui.widgets.literal import one_line
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.find import Found
    from store.diary.calling.sheet import Told
    from store.diary.calling.triage import Triage
    from store.facts.call_questions import Urgency

_LOW_LINES = 24
_FITS_WELL = 0.9
"""Share from which somebody found is asked about before a new client is entered."""
_WHO = ("caller", "phone", "address")
_NEW = "new"
_CHOSEN = "call-whom"
_RAISED = "call-raised"


class AskNow(Static, can_focus=True):
    """The question to read out; while it has the focus it waits for the letter of another."""

    def __init__(self) -> None:
        super().__init__("", id="call-ask", markup=False)


class CallScreen(FormScreen):
    """The sheet of a new call.

    Parameters
    ----------
    client_id
        Whose call it is, where that is known before.
    pond_id
        Which pond it is about, where that is known before.
    """

    CSS_PATH = [  # noqa: RUF012
        "../sheets/edit.tcss", "../sheets/narrow.tcss", "../sheets/call.tcss",
    ]  # fmt: skip
    QUESTION = "What does the caller tell, and how soon must somebody go?"
    ABOUT = (
        "Type while you talk, in any order: enter or down goes to the next question, F3 and the "
        "letter before a question jumps to it. Above stands how urgent it is and why; F4 raises "
        "that with a reason, and nothing lowers it. Below stand the question to read out, whom the "
        "book knows by that name or number, and what the van still misses. A number told is not a "
        "water test; that is made from the page of the call. Advise nothing but the numbered list, "
        "no dose and no name for what it is: write its numbers under “Told them”. F2 saves, a name "
        "is enough; a caller who is not in the book is entered with site and pond. Escape leaves, "
        "and what was typed is kept."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f3", "jump", "jump", key_display="F3", id="call.jump",
                tooltip="To a question by its letter"),
        Binding("f5", "whom", "whom", key_display="F5", id="call.whom",
                tooltip="Choose whom in the book it is about, or that nobody fits"),
        Binding("f7", "why", "why, say", key_display="F7", id="call.why",
                tooltip="Why it is so urgent, with sources, and all that a caller may be told"),
        Binding("f4", "raise", "raise", key_display="F4", id="call.raise",
                tooltip="Make it more urgent than what was told, with a reason"),
    ]  # fmt: skip

    def __init__(self, client_id: UUID | None = None, pond_id: UUID | None = None) -> None:
        super().__init__("New call", call_fields(), f"call-{pond_id or client_id or ''}")
        self._given = client_id, pond_id
        self._whom: dict[str, str] = {}
        self._raised: dict[str, str] = {}
        self._found: tuple[Found, ...] = ()
        self._question = "caller"
        self._told: tuple[Told, Triage] | None = None
        self._zone: tzinfo = UTC

    def compose(self) -> ComposeResult:
        """Head, urgency, questions, what is read out, keys."""
        yield Top("New call", id="call-head")
        yield Static("", id="call-urgency", markup=False)
        yield Line()
        yield Form(self._fields, draft=self._draft(), id="call-form")
        yield Line()
        yield AskNow()
        yield Foot()

    def on_mount(self) -> None:
        """What was typed before is understood; whom it is about is read."""
        self._zone, drafts = self.ponds_app.book.zone, self.ponds_app.drafts
        self._whom = drafts.of(f"{_CHOSEN}-{self._draft_name}").values
        self._raised = drafts.of(f"{_RAISED}-{self._draft_name}").values
        form = self.query_one(Form)
        for name, text in form.values.items():
            if text:
                self._echo(form, name, text)
        self._reckon()
        if any(self._given) and not self._whom:
            self._read_given()
        else:
            self._seek()

    # --- understanding ---------------------------------------------------------------------------

    @property
    def _form(self) -> Form:
        return self.query_one(Form)

    def _echo(self, form: Form, name: str, text: str) -> None:
        from store.diary.calling.sheet import echo

        app = self.ponds_app
        form.remark(name, echo(name, text, now=app.now(), zone=self._zone))

    def _reckon(self) -> None:
        from store.diary.calling.sheet import told
        from store.diary.calling.triage import triage

        app = self.ponds_app
        one = told(self._form.values, now=app.now(), zone=self._zone)
        self._told = one, triage(one)
        self._show()

    def _show(self) -> None:
        from store.facts.call_questions import questions

        if self._told is None:
            return
        one, found = self._told
        width = max(20, self.size.width - 2)
        because = [each.because for each in found.raised]
        to, urgency = self._raised_to(), found.urgency
        if to is not None:
            because.insert(0, f"{self._raised['why']} (raised by hand)")
            urgency = to
        self.query_one("#call-urgency", Static).update(
            urgency_lines(urgency, because, found.vet_at_once, width)
        )
        ask = self.query_one(AskNow)
        now = None if ask.has_focus else questions()[self._question]
        low = self.size.height < _LOW_LINES
        ask.update(ask_lines(now, one, found, self._said_whom(), width, low=low))
        self.call_after_refresh(self._keep_in_sight)

    def _keep_in_sight(self) -> None:
        """What is read out may have taken lines from the form."""
        if self.focused is not None and self.focused.is_attached:
            self.focused.scroll_visible(animate=False)

    def _said_whom(self) -> str:
        if self._whom.get("name"):
            return f"{self._whom['name']} (F5 chooses another)"
        if self._found and self._whom.get(_NEW) != "yes":
            more = f", and {len(self._found) - 1} more" if len(self._found) > 1 else ""
            return f"F5: in the book is {said_found(self._found[0])}{more}"
        if self._form.values["caller"].strip():
            return "not in the book: F2 enters client, site and pond"
        return "nobody yet"

    def _raised_to(self) -> Urgency | None:
        """What it was raised to by hand, where that is above what was told."""
        from store.diary.kept.calls.call_urgency import above

        if self._told is None:
            return None
        steps = above(self._told[1].urgency)
        return next((one for one in steps if one == self._raised.get("to")), None)

    @on(Form.Changed)
    def _typed(self, changed: Form.Changed) -> None:
        changed.stop()
        if not changed.form.changed and not any(self._given):
            self._choose({})  # begun anew: the next caller is somebody else
        if not changed.form.changed:
            self._keep_raised({})
        self._echo(changed.form, changed.name, changed.values[changed.name])
        self._reckon()
        if changed.name in _WHO:
            self._seek()

    def on_descendant_focus(self, focus: DescendantFocus) -> None:
        """The question that is filled in is the one to read out."""
        for field in focus.widget.ancestors_with_self:
            if isinstance(field, FormField):
                self._question = field.field.name
        self._show()

    def on_resize(self) -> None:
        """Lines are cut to the width there is."""
        self.call_after_refresh(self._show)

    # --- whom it is about ------------------------------------------------------------------------

    @work(group="call-seek", exclusive=True)
    async def _seek(self) -> None:
        from store.diary.kept.calls.callers import matches

        values = self._form.values
        texts = [values[name] for name in _WHO]
        try:
            self._found = await self.ponds_app.ask_store(matches, self.ponds_app.book, *texts)
        except PondroundError as trouble:
            self.ponds_app.tell(trouble)
            return
        self._show()

    @work(group="call-given", exclusive=True)
    async def _read_given(self) -> None:
        app = self.ponds_app
        try:
            whom, texts = await app.ask_store(given, app.book, *self._given)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        self._choose(whom)
        typed = self._form.values
        self._form.fill({name: text for name, text in texts.items() if not typed[name].strip()})

    @work(group="call-whom", exclusive=True)
    async def action_whom(self) -> None:
        """Choose whom it is about."""
        await self._ask_whom()

    async def _ask_whom(self) -> bool:
        """Whether somebody was chosen, or that nobody fits."""
        found = self._found
        options = [Option(place, said_found(one)) for place, one in enumerate(found)]
        options.append(Option(_NEW, "nobody of these", "entered as a new client when it is saved"))
        chosen = await self.app.push_screen_wait(Choose("Whom is the call about?", options))
        if chosen == _NEW:
            self._choose({_NEW: "yes"})
        elif isinstance(chosen, int):
            one = found[chosen]
            keys = {
                "client_id": str(one.client_id),
                "site_id": str(one.site_id or ""),
                "pond_id": str(one.pond_id or ""),
            }
            name = ", ".join(part for part in (one.client, one.pond) if part)
            self._choose({**keys, "name": one_line(name)})
            if one.phone and not self._form.values["phone"].strip():
                self._form.fill({"phone": one.phone})
        return chosen is not None

    def _may_be_known(self) -> bool:
        """Whether somebody in the book fits well and nobody said yet whether it is the same."""
        return not self._whom and any(one.score >= _FITS_WELL for one in self._found)

    def _choose(self, whom: Mapping[str, str]) -> None:
        self._whom = dict(whom)
        self.ponds_app.drafts.of(f"{_CHOSEN}-{self._draft_name}").keep(self._whom)
        self._show()

    @work(group="call-raise", exclusive=True)
    async def action_raise(self) -> None:
        """Make it more urgent than what was told, with a reason; or go by what was told again."""
        from tui.screens.desk.call_raise import ask_raised

        if self._told is None:
            return
        raised = self._raised
        answer = await ask_raised(
            self, self._told[1].urgency, start=raised.get("typed") or raised.get("why", ""),
            raised="to" in raised,
            typed=lambda text: self._keep_raised(self._raised | {"typed": text}),
        )  # fmt: skip
        if isinstance(answer, tuple):
            self._keep_raised({"to": answer[0], "why": answer[1]})
        elif answer is not None:  # by what was told
            self._keep_raised({})
        self._show()

    def _keep_raised(self, raised: Mapping[str, str]) -> None:
        self._raised = dict(raised)
        self.ponds_app.drafts.of(f"{_RAISED}-{self._draft_name}").keep(self._raised)

    # --- keys ------------------------------------------------------------------------------------

    def action_jump(self) -> None:
        """Wait for the letter of a question."""
        self.query_one(AskNow).focus()

    def action_back(self) -> None:
        """From the wait for a letter to the question; from the sheet to where one was."""
        if self.query_one(AskNow).has_focus:
            self._to(self._question)
        else:
            super().action_back()

    def on_key(self, key: Key) -> None:
        """The letter of a question, while one is waited for."""
        from store.facts.call_questions import questions

        if not self.query_one(AskNow).has_focus or key.character is None:
            return
        for code, question in questions().items():
            if question.letter == key.character.casefold():
                key.stop()
                key.prevent_default()
                self._to(code)
                return
        if key.character.isprintable():
            # A digit or another letter would take the person to another place.
            key.stop()
            key.prevent_default()

    def _to(self, code: str) -> None:
        for field in self.query(FormField):
            if field.field.name == code:
                field.entry.focus()

    def action_why(self) -> None:
        """Why it is so urgent, and all that a caller may be told."""
        if self._told is not None:
            text, to = told_text(*self._told), self._raised_to()
            if to is not None:
                text = f"Raised by hand to {to}: {self._raised['why']}\n\n{text}"
            self.app.push_screen(Tell("How urgent, and what to say", text))

    @once("edit")
    async def _saving(self, texts: dict[str, str]) -> None:
        from tui.screens.desk.call_page import CallPageScreen
        from tui.screens.desk.desk_acts import call_was_taken

        if texts["caller"].strip() and self._may_be_known() and not await self._ask_whom():
            return
        act = await self.ponds_app.acting()
        if act is None:
            return
        form, texts = self._form, self._form.values
        form.clear_errors()
        try:
            key = await self.save(act, texts)
        except BadInput as trouble:
            form.show_error(trouble)
            return
        except PondroundError as trouble:
            self.ponds_app.tell(trouble)
            return
        form.saved()
        for name in (_CHOSEN, _RAISED):
            self.ponds_app.drafts.of(f"{name}-{self._draft_name}").drop()
        call_was_taken(self.app, key)
        self.ponds_app.changed()
        self.app.switch_screen(CallPageScreen(key))

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """Keep the call, and enter a caller who is new."""
        app, whom, raised = self.ponds_app, self._whom, self._raised
        to = cast("Urgency | None", raised.get("to"))

        def key(name: str) -> UUID | None:
            return UUID(whom[name]) if whom.get(name) else None

        def keep() -> UUID:
            from store.diary.kept.calls.call_notes import NewCall, take_call

            call = NewCall(
                texts, client_id=key("client_id"), site_id=key("site_id"), pond_id=key("pond_id"),
                raised_to=to, raised_why=raised.get("why", ""),
            )  # fmt: skip
            with app.book.writing(act) as writing:
                return take_call(writing, call)

        return await app.ask_store(keep)
