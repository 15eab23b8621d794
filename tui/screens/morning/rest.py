"""Putting a concern to rest until a day, or letting one speak again."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen

from store.errors import BadInput, PondroundError
from store.watch.until import typed_until
from tui.said import said_date, said_since
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.once import once
from tui.widgets.fields import Field, Form
from tui.widgets.literal import literal
from tui.widgets.static import Static

if TYPE_CHECKING:
    from store.watch.concern import PondWatch
    from tui.app import PondroundApp

WAKE = "wake:"
UNTIL_HINT = "3 d, 2 weeks, Mon, 12 Dec"


class RestScreen(ModalScreen[None]):
    """A concern, a day, a reason.

    Parameters
    ----------
    pond
        Key of the pond.
    rule
        Code of the rule on which the choice stands at first; empty for the worst.
    """

    CSS_PATH = "../sheets/questions.tcss"
    QUESTION = "How long may this concern rest, and why?"
    ABOUT = (
        "A concern at rest leaves the morning list until its day, and comes back earlier when it "
        "gets worse. One that is at rest can be woken here."
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", id="rest.back", tooltip="Back; what was typed is kept"),
    ]  # fmt: skip

    def __init__(self, pond: UUID, rule: str = "") -> None:
        super().__init__()
        self.pond, self._rule = pond, rule
        self._watch: PondWatch | None = None
        self._today: date | None = None
        self._form: Form | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """The sheet, filled when the pond has been read."""
        with Vertical(id="sheet"):
            yield Static(Content("Put to rest"), id="title")
            yield Static(Content("Reading the pond …"), id="about")
            yield Static(Content("F2 saves   esc goes back   F1 help"), id="keys")

    def on_mount(self) -> None:
        """Read the pond."""
        self._read()

    @work(group="rest-read", exclusive=True)
    async def _read(self) -> None:
        from store.courses.kept.morning import watch_pond

        app = self.ponds_app
        try:
            self._watch = await app.ask_store(watch_pond, app.book, self.pond, app.now())
        except PondroundError as trouble:
            self.dismiss(None)
            app.tell(trouble)
            return
        self._today = await app.ask_store(app.today)
        await self._offer(self._watch, self._today)

    async def _offer(self, watch: PondWatch, today: date) -> None:
        about = self.query_one("#about", Static)
        choices = [(one.rule, f"{one.level}: {one.title}") for one in watch.concerns]
        choices += [
            (
                f"{WAKE}{one.rule}",
                f"wake: {one.title}, resting to {said_date(rest.until, today)}",
            )
            for one, rest in watch.at_rest
        ]
        if not choices:
            about.update(Content("No rule speaks of this pond: there is nothing to put to rest."))
            return
        about.update(
            literal(
                f"Until a day, such as {UNTIL_HINT}. It returns to the list then, or earlier when "
                "it gets worse."
            )
        )  # fmt: skip
        keys = [key for key, _ in choices]
        self._form = Form(
            (
                Field("rule", "Concern", value=self._rule if self._rule in keys else keys[0],
                      choices=tuple(choices), width=48),
                Field("until", "Until", width=16),
                Field("reason", "Reason", width=48),
            ),
            draft=self.ponds_app.drafts.of("rest", self.pond),
        )  # fmt: skip
        await self.query_one("#sheet").mount(self._form, after=about)
        self.call_after_refresh(self._to_first)

    def _to_first(self) -> None:
        fields = list(self.query("FormField TextLine"))
        if fields:
            fields[0].focus()

    @on(Form.Changed)
    def _changed(self, changed: Form.Changed) -> None:
        if changed.name != "until" or self._today is None:
            return
        try:
            until = typed_until(changed.values["until"], self._today)
        except BadInput:
            changed.form.remark("until", None)
        else:
            changed.form.remark("until", f"it returns {said_since(until, self._today)}")

    @on(Form.Submitted)
    def _submitted(self, submitted: Form.Submitted) -> None:
        self._save(submitted.values)

    @once("rest-save")
    async def _save(self, values: Mapping[str, str]) -> None:
        app, form, watch, today = self.ponds_app, self._form, self._watch, self._today
        assert form is not None
        assert watch is not None
        assert today is not None
        try:
            said = await self._saved(watch, values, today)
        except BadInput as trouble:
            form.show_error(trouble)
            return
        except PondroundError as trouble:
            app.tell(trouble)
            return
        if said is None:
            return
        form.saved()
        app.notify(said, markup=False)
        app.changed()
        self.dismiss(None)

    async def _saved(self, watch: PondWatch, values: Mapping[str, str], today: date) -> str | None:
        """Save it; what is said about it, or None when nobody was chosen."""
        from store.watch.rests import put_to_rest, wake

        app, rule, reason = self.ponds_app, values["rule"], values["reason"].strip()
        if not reason:
            raise BadInput("Please say why in a few words. Nothing was saved.", field="reason")
        if rule.startswith(WAKE):
            act = await app.acting()
            if act is None:
                return None
            await app.ask_store(wake, app.book, act, self.pond, rule.removeprefix(WAKE), reason)
            return "It speaks again."
        until = typed_until(values["until"], today)
        concern = next((one for one in watch.concerns if one.rule == rule), None)
        if concern is None:
            raise BadInput("Please choose a concern.", field="rule")
        act = await app.acting()
        if act is None:
            return None
        await app.ask_store(put_to_rest, app.book, act, self.pond, concern, until, reason)
        return (
            f"At rest: {concern.title}. It returns {said_since(until, today)}, or earlier when it "
            "gets worse."
        )

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this sheet is for, and its keys."""
        open_help(self.app)
