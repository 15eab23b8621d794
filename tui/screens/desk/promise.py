"""The form that promises something to a client by hand, once or again and again."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, ClassVar
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content

from store.errors import BadInput, PondroundError
from tui.said import said_since
from tui.screens.parts.edit import FormScreen
from tui.widgets.fields import Field, Form
from tui.widgets.foot import Foot
from tui.widgets.literal import literal, one_line
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.diary.kept.promised.promise_typed import PromiseAsked

ALL = "the client, no pond"
SELF = "who saves this"
HINT = "The days on which it falls due stand here while you type."
_ECHOED = frozenset({"kind", "first_on", "repeats", "early_days", "late_days"})


class PromiseScreen(FormScreen):
    """What is promised, to whom, when, how often; the next days stand under it while typing.

    Parameters
    ----------
    client_id
        Key of the client.
    pond_id
        The pond that is proposed; None where none is.
    begun
        Texts that are proposed, by the name of their field.
    """

    CSS_PATH = [*FormScreen.CSS_PATH, "../sheets/promise.tcss"]  # noqa: RUF012
    QUESTION = "What do we promise, and when is it due?"
    ABOUT = (
        "Say what was promised as it was said to the client, and the first day: Mon, 2 weeks, "
        "12 Dec. Empty in Again is once; else type it in words: weekly, every 10 days, first Mon, "
        "every 2 weeks on Tue until 30 Sep, March and October, monthly on the 31st, 6 times. The "
        "days it gives stand below. A day is kept in time from so many days before to so many "
        "after it; left empty, that is usual for its kind. F2 saves; it comes up on the desk by "
        "itself. What was promised is not rewritten later: it is moved, dropped or ended with a "
        "reason, and promised anew."
    )
    BINDINGS: ClassVar[list[BindingType]] = []

    def __init__(
        self, client_id: UUID, pond_id: UUID | None = None, begun: Mapping[str, str] | None = None
    ) -> None:
        super().__init__("Promise", (), f"promise-{client_id}")
        self._client_id, self._pond_id = client_id, pond_id
        self._begun = dict(begun or {})

    def compose(self) -> ComposeResult:
        """Head, the days it gives, keys; the form comes once its choices are read."""
        yield Top(self._title, id="edit-head")
        yield Line()
        yield Line()
        yield Static(Content(HINT), id="promise-days")
        yield Foot()

    def on_mount(self) -> None:
        """Read behind the first paint."""
        self._ask()

    @work(exclusive=True, group="promise-ask")
    async def _ask(self) -> None:
        from store.diary.kept.promised.promise_typed import promise_asked

        app = self.ponds_app
        try:
            asked = await app.ask_store(promise_asked, app.book, self._client_id)
        except PondroundError as trouble:
            self.dismiss(None)
            app.tell(trouble)
            return
        self.query_one(Top).place = f"Promise to {one_line(asked.client)}"
        form = Form(self._asked_fields(asked), draft=self._draft(), id="edit-form")
        await self.mount(form, after=self.query(Line).first())
        self._understood()

    def _asked_fields(self, asked: PromiseAsked) -> tuple[Field, ...]:
        ponds = dict(asked.ponds)
        pond = str(self._pond_id) if str(self._pond_id) in ponds else ""
        if not pond and len(ponds) == 1 and self._pond_id is None:
            pond = next(iter(ponds))
        texts = {"pond_id": pond, "kind": asked.kinds[0][0], "promised_by": ""} | self._begun
        return (
            Field("pond_id", "For", choices=(("", ALL), *asked.ponds), width=40,
                  value=texts["pond_id"]),
            Field("kind", "What", choices=asked.kinds, width=40, value=texts["kind"]),
            Field("says", "In words", "as it was said", texts.get("says", ""), width=40),
            Field("first_on", "First day", "Mon, 2 weeks, 12 Dec", texts.get("first_on", ""),
                  width=24),
            Field("repeats", "Again", "empty is once; weekly, first Mon", texts.get("repeats", ""),
                  width=32),
            Field("early_days", "Days before", "in time already", texts.get("early_days", ""),
                  width=8),
            Field("late_days", "Days after", "in time still", texts.get("late_days", ""), width=8),
            Field("promised_by", "Promised by", choices=(("", SELF), *asked.people), width=40,
                  value=texts["promised_by"]),
            Field("note", "Note", "for us", texts.get("note", ""), width=40),
        )  # fmt: skip

    @on(Form.Changed)
    def _changed(self, changed: Form.Changed) -> None:
        if changed.name in _ECHOED:
            self._understood()

    def _understood(self) -> None:
        """What was understood so far, at the fields and below; a fault waits until it is saved."""
        from store.diary.kept.promised.promise_typed import promise_typed

        form, today = self.query_one(Form), self.ponds_app.today()
        self._remark_usual(form)
        try:
            typed = promise_typed(form.values, today)
        except BadInput as trouble:
            begun = bool(form.values["first_on"].strip()) and trouble.field in _ECHOED
            self._remark_day(form)
            self._show_days(trouble.message if begun else HINT, quiet=True)
            return
        form.remark("first_on", said_since(typed.first_on, today))
        self._show_days(f"{typed.days_said} {typed.window_said}", quiet=False)

    def _remark_day(self, form: Form) -> None:
        """The day by itself, where something else is not understood yet."""
        from store.diary.kept.promised.promise_typed import promise_typed

        texts, today = form.values, self.ponds_app.today()
        try:
            typed = promise_typed({name: texts[name] for name in ("kind", "first_on")}, today)
        except BadInput:
            form.remark("first_on", None)
        else:
            form.remark("first_on", said_since(typed.first_on, today))

    def _remark_usual(self, form: Form) -> None:
        from store.facts.follow_ups import follow_up_kinds

        kind = follow_up_kinds().get(form.values["kind"])
        for name, days in (
            ("early_days", None if kind is None else kind.early_days),
            ("late_days", None if kind is None else kind.late_days),
        ):
            empty = not form.values[name].strip()
            form.remark(name, f"empty is the usual {days}" if days is not None and empty else None)

    def _show_days(self, text: str, *, quiet: bool) -> None:
        days = self.query_one("#promise-days", Static)
        days.update(literal(text))
        days.set_class(quiet, "-quiet")

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """Promise it."""
        from store.diary.kept.promised.promise_typed import save_promise

        app = self.ponds_app
        return await app.ask_store(save_promise, app.book, act, self._client_id, texts)
